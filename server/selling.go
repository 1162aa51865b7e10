package server

import (
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) sellingRoutes(r chi.Router) {
	r.Get("/orders/fair", s.handle(s.showFair))
	r.Post("/orders/fair", s.handle(s.sell))
	r.Post("/orders/{id}/take-back", s.handle(s.takeBack))
	r.Post("/orders/{id}/sell-again", s.handle(s.sellAgain))
	r.Post("/orders/{id}/state", s.handle(s.moveOrder))
	r.Post("/orders/{id}/payments", s.handle(s.takePayment))
	r.Post("/orders/{id}/payments/{payment}/remove", s.handle(s.removePayment))
	r.Post("/orders/{id}/payments/{payment}/restore", s.handle(s.restorePayment))
}

// orderMoves are the buttons of an order in a state.
func orderMoves(state string) []page.OrderMove {
	switch state {
	case workshop.StateOpen:
		return []page.OrderMove{{To: workshop.StateMade, Label: "It is made"}, {To: workshop.StateCancelled, Label: "Cancel the order"}}
	case workshop.StateMade:
		return []page.OrderMove{{To: workshop.StateDelivered, Label: "Handed over"}}
	case workshop.StateDelivered:
		return []page.OrderMove{{To: workshop.StateMade, Label: "Not handed over yet"}}
	case workshop.StateCancelled:
		return []page.OrderMove{{To: workshop.StateOpen, Label: "Take the order up again"}}
	}
	return []page.OrderMove{{To: workshop.StateMade, Label: "It is made"}}
}

func (s *Server) moveOrder(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	version := f.Int("version", 0, 1<<30)
	before, err := s.service.MoveOrder(r.Context(), s.workshop, number, version, f.Text("to"))
	if err != nil {
		return err
	}
	place := fmt.Sprintf("/orders/%d", number)
	return s.doneUndo(w, r, place, "moved", place+"/state", "to", before, "version", strconv.Itoa(version+1))
}

// till reads what is agreed and paid for an order; nil for those who see no money.
func (s *Server) till(r *http.Request, order store.Order) (*page.Till, error) {
	if whoOf(r.Context()).Role == store.Helper {
		return nil, nil
	}
	read, err := s.service.OrderMoney(r.Context(), s.workshop, order.ID)
	if err != nil {
		return nil, err
	}
	till := &page.Till{Key: rand.Text(), Price: read.Price, Payments: read.Payments, How: store.PaidHow, HasBalance: read.Price != nil}
	for _, p := range read.Payments {
		if till.Paid, err = till.Paid.Add(p.Amount); err != nil {
			return nil, err
		}
	}
	switch {
	case order.State == workshop.StateCancelled:
		till.Closed, till.HasBalance = true, false
	case read.Price != nil:
		till.Balance, err = read.Price.Sub(till.Paid)
	default:
		till.Suggested, err = s.service.SuggestedPrice(r.Context(), s.workshop, order)
	}
	return till, err
}

func (s *Server) agreePrice(r *http.Request, f *form.Form, view *page.Order) (saved, error) {
	price := priceOf(f, "price")
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.AgreeOrderPrice(r.Context(), s.workshop, view.Order.ID, f.Int("version", 0, 1<<30), price)
	return saved{fmt.Sprintf("/orders/%d", view.Order.ID), "agreed"}, err
}

// priceOf reads an amount that may be left empty.
func priceOf(f *form.Form, field string) *money.Decimal {
	if f.Text(field) == "" {
		return nil
	}
	price := f.Coins(field)
	if price.Sign() < 0 {
		f.Wrong(field, "Write a price of 0 or more.")
	}
	return &price
}

func (s *Server) takePayment(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	payment := store.Payment{Amount: f.Coins("amount"), How: f.Text("how"), PaidOn: f.Day("paid_on")}
	if f.OK() {
		made, again, refused := s.service.TakePaymentOnce(r.Context(), s.workshop, number, formKey(f), payment)
		if err = refused; err == nil {
			place := fmt.Sprintf("/orders/%d", number)
			if again {
				return done(w, r, place, "paid_before")
			}
			return s.doneUndo(w, r, place, "paid", fmt.Sprintf("%s/payments/%d/remove", place, made))
		}
	}
	problems, err := problemsOf(f, err)
	if err != nil {
		return err
	}
	view, err := s.orderView(r)
	if err != nil {
		return err
	}
	view.Refuse(r.URL.Path, f.Values, problems)
	return s.refuse(w, r, view)
}

func (s *Server) removePayment(w http.ResponseWriter, r *http.Request) error {
	return s.setPayment(w, r, false, "unpaid", "restore")
}

func (s *Server) restorePayment(w http.ResponseWriter, r *http.Request) error {
	return s.setPayment(w, r, true, "paid", "remove")
}

func (s *Server) setPayment(w http.ResponseWriter, r *http.Request, back bool, notice, opposite string) error {
	order, err := id(r, "id")
	if err != nil {
		return err
	}
	payment, err := id(r, "payment")
	if err != nil {
		return err
	}
	if err := s.service.RemovePayment(r.Context(), s.workshop, order, payment, back); err != nil {
		return err
	}
	place := fmt.Sprintf("/orders/%d", order)
	return s.doneUndo(w, r, place, notice, fmt.Sprintf("%s/payments/%d/%s", place, payment, opposite))
}

// showFair shows what can be sold. What was tapped so far stands in the address, so that a
// reload, or the button back, loses nothing.
func (s *Server) showFair(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Sell at the fair", "orders")
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	if f.Text("price") != "" { // a correction begins with what was paid
		base.Raw = url.Values{"price": f.Values["price"], "how": f.Values["how"]}
	}
	step(f, f.Text("add"), 1)
	step(f, f.Text("less"), -1)
	view, err := s.fairView(r.Context(), base, f)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// step adds to the count of a box of the running list, or takes away from it.
func step(f *form.Form, box string, by int) {
	if box == "" {
		return
	}
	count, err := strconv.Atoi(f.Text(box))
	if err != nil {
		count = 0
	}
	if count = min(10_000, count+by); count > 0 {
		f.Values.Set(box, strconv.Itoa(count))
	} else {
		f.Values.Del(box)
	}
}

// formKey is the key of a form, which makes that it is done once, however often it is sent.
func formKey(f *form.Form) string {
	key := f.Text("key")
	if len(key) < 16 || len(key) > 64 {
		return ""
	}
	return key
}

// sold leads to what was sold, and offers to take it back.
func (s *Server) sold(w http.ResponseWriter, r *http.Request, order int64) error {
	place := fmt.Sprintf("/orders/%d", order)
	made, err := s.service.Order(r.Context(), s.workshop, order)
	if err != nil {
		return err
	}
	if !workshop.CanTakeBack(made) {
		return done(w, r, place, "sold")
	}
	return s.doneUndo(w, r, place, "sold", place+"/take-back", "version", strconv.Itoa(made.Version))
}

func (s *Server) takeBack(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	version := f.Int("version", 0, 1<<30)
	payments, err := s.service.TakeBackSale(r.Context(), s.workshop, number, version)
	if err != nil {
		return err
	}
	fields := []string{"version", strconv.Itoa(version + 1)}
	for _, payment := range payments {
		fields = append(fields, "payment", strconv.FormatInt(payment, 10))
	}
	place := fmt.Sprintf("/orders/%d", number)
	return s.doneUndo(w, r, place, "taken_back", place+"/sell-again", fields...)
}

func (s *Server) sellAgain(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	if err := s.service.SellAgain(r.Context(), s.workshop, number, f.Int("version", 0, 1<<30), f.IDs("payment")); err != nil {
		return err
	}
	return done(w, r, fmt.Sprintf("/orders/%d", number), "sold")
}

// correction is the address of the till with what was sold, to be sold again with other garments,
// another price or another way of paying.
func correction(order store.Order, till *page.Till) string {
	query := url.Values{"customer": {strconv.FormatInt(order.CustomerID, 10)}, "corrects": {strconv.FormatInt(order.ID, 10)}}
	for field, count := range quantitiesOf(order) {
		query.Set(field, count)
	}
	if till.Price != nil {
		query.Set("price", till.Price.String())
	}
	if len(till.Payments) > 0 {
		query.Set("how", till.Payments[0].How)
	}
	return "/orders/fair?" + query.Encode()
}

// keyed gives the page of the till its key, and tells whether what it lists was sold already.
func (s *Server) keyed(ctx context.Context, view *page.Fair, f *form.Form) error {
	if view.Key = formKey(f); view.Key == "" {
		view.Key = rand.Text()
	}
	sold, err := s.service.Sent(ctx, s.workshop, view.Key)
	if err != nil {
		return err
	}
	if view.Sold, err = strconv.ParseInt(cmp.Or(sold, "0"), 10, 64); err != nil {
		return err
	}
	if view.Corrects = f.ID("corrects"); view.Corrects == 0 {
		return nil
	}
	order, err := s.service.Order(ctx, s.workshop, view.Corrects)
	view.CorrectsNumber = order.Number
	return err
}

func (s *Server) fairView(ctx context.Context, base page.Base, f *form.Form) (page.Fair, error) {
	view := page.Fair{Base: base, How: store.PaidHow, Customer: f.ID("customer")}
	if err := s.keyed(ctx, &view, f); err != nil {
		return view, err
	}
	customers, err := s.service.Customers(ctx, s.workshop)
	if err != nil {
		return view, err
	}
	view.Customers = slices.DeleteFunc(customers, func(c store.Customer) bool { return c.Kind != "fair" })
	if len(view.Customers) == 1 && view.Customer == 0 {
		view.Customer = view.Customers[0].ID
	}
	prices, err := s.service.TagPrices(ctx, s.workshop, "fair")
	if err != nil {
		return view, err
	}
	typed := map[string]string{}
	for _, field := range sizeFields(f) {
		typed[field] = f.Raw(field)
	}
	of, err := s.orderable(ctx)
	if err != nil {
		return view, err
	}
	for _, run := range base.Runs(of, typed) {
		style := page.FairStyle{Name: run.Style}
		for _, row := range run.Rows {
			way := page.FairWay{ID: row.Colourway, Name: row.Name, Count: row.Total, Open: row.Total > 0}
			for _, cell := range row.Cells {
				size, err := fairSize(&view, run.Style, row, cell, prices[row.Colourway])
				if err != nil {
					return view, err
				}
				way.Sizes = append(way.Sizes, size)
			}
			style.Ways = append(style.Ways, way)
		}
		view.Styles = append(view.Styles, style)
	}
	return view, nil
}

// fairSize is one size to tap; what was tapped of it goes into the running list.
func fairSize(view *page.Fair, style string, row page.RunRow, cell page.RunCell, prices map[string]money.Decimal) (page.FairSize, error) {
	size := page.FairSize{Size: cell.Size, Field: cell.Name}
	if price, ok := prices[cell.Size]; ok {
		size.Price = &price
	}
	count, err := strconv.Atoi(cell.Value)
	if err != nil || count < 1 {
		return size, nil
	}
	size.Count = count
	view.Garments += count
	view.List = append(view.List, page.FairLine{Field: cell.Name, Way: row.Colourway, Name: row.Name + " " + style + ", " + cell.Size, Count: count, Each: size.Price})
	if size.Price == nil {
		view.Unpriced += count
		return size, nil
	}
	sum, err := size.Price.Mul(money.Int(int64(count)))
	if err == nil {
		view.Sum, err = view.Sum.Add(sum)
	}
	return size, err
}

func (s *Server) sell(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	draft, fields := readOrder(f)
	sale := workshop.Sale{
		Customer: draft.Customer, Lines: draft.Lines, Note: draft.Note, Price: priceOf(f, "price"), How: f.Text("how"),
		Taken: f.Text("sold") == "taken", DueOn: draft.DueOn, Paid: f.Coins("paid"), Key: formKey(f), Corrects: f.ID("corrects"),
	}
	if sale.Taken && f.Text("paid") == "" && sale.Price != nil {
		sale.Paid = *sale.Price
	}
	if f.OK() {
		made, again, refused := s.service.Sell(r.Context(), s.workshop, sale)
		switch err = refused; {
		case err == nil && again:
			return done(w, r, fmt.Sprintf("/orders/%d", made), "sold_before")
		case err == nil:
			return s.sold(w, r, made)
		}
	}
	problems, err := problemsOf(f, atBoxes(err, fields))
	if err != nil {
		return err
	}
	base, err := s.refusedBase(r, "Sell at the fair", "orders", f, problems)
	if err != nil {
		return err
	}
	view, err := s.fairView(r.Context(), base, f)
	if err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

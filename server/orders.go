package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) orderRoutes(r chi.Router) {
	r.Get("/orders", s.handle(s.listOrders))
	fresh := editing[*page.OrderEdit]{s.newOrder, (*page.OrderEdit).Form, s.takeOrder}
	r.Get("/orders/new", fresh.showing(s))
	r.Post("/orders", fresh.saving(s))
	change := editing[*page.OrderEdit]{s.orderEdit, (*page.OrderEdit).Form, s.changeOrder}
	r.Get("/orders/{id}/edit", change.showing(s))
	r.Post("/orders/{id}", change.saving(s))
	price := editing[*page.Order]{s.orderView, (*page.Order).PriceForm, s.agreePrice}
	r.Get("/orders/{id}", price.showing(s))
	r.Post("/orders/{id}/price", price.saving(s))
	s.sellingRoutes(r)
}

// orderStates are the lists that can be looked at; empty is all.
var orderStates = []string{store.Due, "open", "in a batch", "being cut", "being sewn", "made", "delivered", "cancelled", ""}

// channelKinds are the ways of selling.
var channelKinds = []string{"fair", "shop", "online"}

func (s *Server) listOrders(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Orders", "orders")
	if err != nil {
		return err
	}
	view := page.Orders{Base: base, State: store.Due, States: orderStates}
	if query := r.URL.Query(); query.Has("state") && slices.Contains(orderStates, query.Get("state")) {
		view.State = query.Get("state")
	}
	number, err := strconv.Atoi(r.URL.Query().Get("page"))
	if err != nil || number < 1 || number > mostRows {
		number = 1
	}
	view.Pager = page.Pager{Number: number, State: view.State, Text: strings.TrimSpace(r.URL.Query().Get("q"))}
	search := store.OrderSearch{State: view.State, Text: view.Pager.Text, Most: ordersShown, Skip: (number - 1) * ordersShown}
	if view.Orders, view.Pager.All, err = s.service.FindOrders(r.Context(), s.workshop, search); err != nil {
		return err
	}
	view.Pager.Pages = (view.Pager.All + ordersShown - 1) / ordersShown
	counts, err := s.service.Counts(r.Context(), s.workshop)
	view.Ready = counts.Colourways > 0
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// ordersShown is how many orders a page of the list has.
const ordersShown = 50

func (s *Server) orderView(r *http.Request) (*page.Order, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	order, err := s.service.Order(r.Context(), s.workshop, number)
	if err != nil {
		return nil, err
	}
	base, err := s.base(r, "Order "+order.Number, "orders")
	if err != nil {
		return nil, err
	}
	of, err := s.orderable(r.Context())
	if err != nil {
		return nil, err
	}
	view := &page.Order{Base: base, Order: order, Runs: filled(base.Runs(of, quantitiesOf(order))), Locked: locked(order), Moves: orderMoves(order.State)}
	if view.Till, err = s.till(r, order); err == nil && view.Till != nil && workshop.CanTakeBack(order) {
		view.Till.Correction = correction(order, view.Till)
	}
	return view, err
}

func locked(order store.Order) bool {
	return slices.ContainsFunc(order.Lines, func(l store.OrderLine) bool { return l.BatchID != nil })
}

func quantitiesOf(order store.Order) map[string]string {
	typed := map[string]string{}
	for _, line := range order.Lines {
		typed[page.RunField(line.ColourwayID, line.Size)] = strconv.Itoa(line.Quantity)
	}
	return typed
}

// orderable lists what can be ordered.
func (s *Server) orderable(ctx context.Context) ([]page.Orderable, error) {
	ways, err := s.service.Colourways(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	styles, err := s.service.Styles(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	charts, err := s.service.Charts(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	var list []page.Orderable
	for _, style := range styles {
		chart := slices.IndexFunc(charts, func(c store.Chart) bool { return c.ID == style.ChartID })
		of := page.Orderable{Style: style.Name, Sizes: charts[chart].SizeNames()}
		for _, way := range ways {
			if way.StyleID == style.ID {
				of.Ways = append(of.Ways, way)
			}
		}
		if len(of.Ways) > 0 {
			list = append(list, of)
		}
	}
	return list, nil
}

// filled keeps the rows and columns that have something in them.
func filled(runs []page.Run) []page.Run {
	var kept []page.Run
	for _, run := range runs {
		if run.Total == 0 {
			continue
		}
		slim := page.Run{Style: run.Style, Total: run.Total}
		for i, total := range run.Totals {
			if total > 0 {
				slim.Sizes, slim.Totals = append(slim.Sizes, run.Sizes[i]), append(slim.Totals, total)
			}
		}
		for _, row := range run.Rows {
			if row.Total == 0 {
				continue
			}
			cells := row.Cells
			row.Cells = nil
			for i, total := range run.Totals {
				if total > 0 {
					row.Cells = append(row.Cells, cells[i])
				}
			}
			slim.Rows = append(slim.Rows, row)
		}
		kept = append(kept, slim)
	}
	return kept
}

// newOrder is the page of a new order, begun like another one where that is asked for.
func (s *Server) newOrder(r *http.Request) (*page.OrderEdit, error) {
	order, quantities := store.Order{DueOn: s.service.Today().AddDate(0, 0, 14)}, map[string]string(nil)
	if copied := form.FromQuery(r).ID("copy"); copied != 0 {
		like, err := s.service.Order(r.Context(), s.workshop, copied)
		if err != nil {
			return nil, err
		}
		order.CustomerID, order.Note, quantities = like.CustomerID, like.Note, quantitiesOf(like)
	}
	return s.orderForm(r, "New order", order, quantities)
}

func (s *Server) orderEdit(r *http.Request) (*page.OrderEdit, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	order, err := s.service.Order(r.Context(), s.workshop, number)
	if err != nil {
		return nil, err
	}
	return s.orderForm(r, "Change order "+order.Number, order, quantitiesOf(order))
}

func (s *Server) orderForm(r *http.Request, title string, order store.Order, quantities map[string]string) (*page.OrderEdit, error) {
	base, err := s.base(r, title, "orders")
	if err != nil {
		return nil, err
	}
	view := &page.OrderEdit{Base: base, Order: order, Quantities: quantities, Kinds: channelKinds}
	if view.Customers, err = s.service.Customers(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if view.Of, err = s.orderable(r.Context()); err != nil || len(view.Of) > 0 {
		return view, err
	}
	view.First, err = s.firstStep(r.Context())
	return view, err
}

// readOrder turns the form into a draft; fields says for each line which box it came from.
func readOrder(f *form.Form) (draft workshop.OrderDraft, fields []string) {
	draft = workshop.OrderDraft{Customer: f.ID("customer"), Number: f.Name("number"), DueOn: f.Day("due_on"), Note: f.Note("note")}
	for _, field := range sizeFields(f) {
		text := f.Text(field)
		if text == "" || text == "0" {
			continue
		}
		parts := strings.SplitN(field, ".", 3)
		colourway, err := strconv.ParseInt(parts[1], 10, 64)
		quantity, quantityErr := strconv.Atoi(text)
		if err != nil || quantityErr != nil || quantity < 0 || quantity > page.MaxOfOne {
			f.Wrong(field, fmt.Sprintf("%q is not a quantity; write a whole number from 1 to 10,000.", text))
			continue
		}
		if quantity == 0 {
			continue // written as 00 or +0: none
		}
		draft.Lines = append(draft.Lines, workshop.LineDraft{Colourway: colourway, Size: parts[2], Quantity: quantity})
		fields = append(fields, field)
	}
	return draft, fields
}

// sizeFields lists the boxes of the size run, in a fixed order.
func sizeFields(f *form.Form) []string {
	var fields []string
	for field := range f.Values {
		if strings.HasPrefix(field, "q.") && strings.Count(field, ".") >= 2 {
			fields = append(fields, field)
		}
	}
	slices.Sort(fields)
	return fields
}

func (s *Server) takeOrder(r *http.Request, f *form.Form, _ *page.OrderEdit) (saved, error) {
	draft, fields := readOrder(f)
	newCustomer := s.readCustomer(f, &draft)
	if !f.OK() {
		return saved{}, nil
	}
	made, err := s.service.TakeOrderFrom(r.Context(), s.workshop, newCustomer, draft)
	return saved{fmt.Sprintf("/orders/%d", made), "order"}, atBoxes(err, fields)
}

// readCustomer reads the new customer of an order form; nil if one was chosen instead.
func (s *Server) readCustomer(f *form.Form, draft *workshop.OrderDraft) *store.Customer {
	name := f.Name("new_customer")
	if name == "" || draft.Customer != 0 {
		return nil
	}
	return &store.Customer{Name: f.Needed("new_customer", "Write the name of the customer."), Kind: f.Choice("new_kind", channelKinds...)}
}

func (s *Server) changeOrder(r *http.Request, f *form.Form, view *page.OrderEdit) (saved, error) {
	draft, fields := readOrder(f)
	draft.TakenOn = view.Order.TakenOn
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.ChangeOrder(r.Context(), s.workshop, view.Order.ID, f.Int("version", 0, 1<<30), draft)
	return saved{fmt.Sprintf("/orders/%d", view.Order.ID), "order"}, atBoxes(err, fields)
}

// atBoxes moves what is wrong with a line to the box that it came from.
func atBoxes(err error, fields []string) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	moved := *fault
	moved.Problems = slices.Clone(fault.Problems)
	for i, problem := range moved.Problems {
		var line int
		if _, scanErr := fmt.Sscanf(problem.Field, "lines[%d]", &line); scanErr == nil && line < len(fields) {
			moved.Problems[i].Field = fields[line]
		}
	}
	return &moved
}

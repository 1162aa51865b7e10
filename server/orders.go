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
	r.Get("/orders/new", s.handle(s.newOrder))
	r.Post("/orders", s.handle(s.takeOrder))
	r.Get("/orders/{id}", s.handle(s.showOrder))
	r.Get("/orders/{id}/edit", s.handle(s.editOrder))
	r.Post("/orders/{id}", s.handle(s.changeOrder))
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

func (s *Server) showOrder(w http.ResponseWriter, r *http.Request) error {
	view, err := s.orderView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) orderView(r *http.Request) (page.Order, error) {
	number, err := id(r, "id")
	if err != nil {
		return page.Order{}, err
	}
	order, err := s.service.Order(r.Context(), s.workshop, number)
	if err != nil {
		return page.Order{}, err
	}
	base, err := s.base(r, "Order "+order.Number, "orders")
	if err != nil {
		return page.Order{}, err
	}
	runs, err := s.runs(r.Context(), quantitiesOf(order), nil)
	if err != nil {
		return page.Order{}, err
	}
	view := page.Order{Base: base, Order: order, Runs: filled(runs), Locked: locked(order), Moves: orderMoves(order.State)}
	if view.Till, err = s.till(r, number); err == nil && view.Till != nil && workshop.CanTakeBack(order) {
		view.Till.Correction = correction(order, view.Till)
	}
	return view, err
}

func locked(order store.Order) bool {
	return slices.ContainsFunc(order.Lines, func(l store.OrderLine) bool { return l.BatchID != nil })
}

// cell names one box of the size run.
func cell(colourway int64, size string) string { return fmt.Sprintf("q.%d.%s", colourway, size) }

func quantitiesOf(order store.Order) map[string]string {
	typed := map[string]string{}
	for _, line := range order.Lines {
		typed[cell(line.ColourwayID, line.Size)] = strconv.Itoa(line.Quantity)
	}
	return typed
}

// runs lays out the size run of every style, filled with what was typed.
func (s *Server) runs(ctx context.Context, typed map[string]string, problems []page.Problem) ([]page.Run, error) {
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
	var runs []page.Run
	for _, style := range styles {
		chart := slices.IndexFunc(charts, func(c store.Chart) bool { return c.ID == style.ChartID })
		run := page.Run{Style: style.Name, Sizes: charts[chart].SizeNames()}
		run.Totals = make([]int, len(run.Sizes))
		for _, way := range ways {
			if way.StyleID == style.ID && (!way.PutAway || ordered(way, run.Sizes, typed)) {
				run.Rows = append(run.Rows, runRow(&run, way, typed, problems))
			}
		}
		if len(run.Rows) > 0 {
			runs = append(runs, run)
		}
	}
	if len(runs) > 0 && !slices.ContainsFunc(runs, func(run page.Run) bool { return run.Open }) {
		for i := range runs {
			runs[i].Open = i == 0 || len(runs) <= mostOpenRuns
		}
	}
	return runs, nil
}

// ordered tells whether something stands in a box of a colourway.
func ordered(way store.Colourway, sizes []string, typed map[string]string) bool {
	return slices.ContainsFunc(sizes, func(size string) bool { return typed[cell(way.ID, size)] != "" })
}

// mostOpenRuns is up to how many styles a new order shows all at once.
const mostOpenRuns = 6

func runRow(run *page.Run, way store.Colourway, typed map[string]string, problems []page.Problem) page.RunRow {
	row := page.RunRow{Colourway: way.ID, Name: way.Name}
	for i, size := range run.Sizes {
		box := page.RunCell{Field: cell(way.ID, size), Size: size}
		box.Value = typed[box.Field]
		for _, problem := range problems {
			if problem.Field == box.Field {
				box.Wrong = problem.Message
			}
		}
		if count, err := strconv.Atoi(strings.TrimSpace(box.Value)); err == nil && count > 0 && count <= mostOfOne {
			row.Total += count
			run.Totals[i] += count
			run.Total += count
		}
		run.Open = run.Open || box.Value != "" || box.Wrong != ""
		row.Cells = append(row.Cells, box)
	}
	return row
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

func (s *Server) newOrder(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "New order", "orders")
	if err != nil {
		return err
	}
	draft, typed := store.Order{DueOn: s.service.Today().AddDate(0, 0, 14)}, map[string]string(nil)
	if copied := form.FromQuery(r).ID("copy"); copied != 0 {
		like, err := s.service.Order(r.Context(), s.workshop, copied)
		if err != nil {
			return err
		}
		draft.CustomerID, draft.Note, typed = like.CustomerID, like.Note, quantitiesOf(like)
	}
	view, err := s.orderForm(r.Context(), base, draft, typed)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) orderForm(ctx context.Context, base page.Base, order store.Order, typed map[string]string) (page.OrderEdit, error) {
	view := page.OrderEdit{Base: base, Order: order, Kinds: channelKinds}
	var err error
	if view.Customers, err = s.service.Customers(ctx, s.workshop); err != nil {
		return view, err
	}
	if view.Runs, err = s.runs(ctx, typed, base.Problems); err != nil || len(view.Runs) > 0 {
		return view, err
	}
	view.First, err = s.firstStep(ctx)
	return view, err
}

func (s *Server) editOrder(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	order, err := s.service.Order(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	base, err := s.base(r, "Change order "+order.Number, "orders")
	if err != nil {
		return err
	}
	view, err := s.orderForm(r.Context(), base, order, quantitiesOf(order))
	if err != nil {
		return err
	}
	return s.show(w, r, view)
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
		if err != nil || quantityErr != nil || quantity < 0 || quantity > mostOfOne {
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

// mostOfOne is how many of one size an order line may want.
const mostOfOne = 10_000

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

func (s *Server) takeOrder(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	draft, fields := readOrder(f)
	newCustomer := s.readCustomer(f, &draft)
	var made int64
	if f.OK() {
		made, err = s.service.TakeOrderFrom(r.Context(), s.workshop, newCustomer, draft)
		if err == nil {
			return done(w, r, fmt.Sprintf("/orders/%d", made), "order")
		}
	}
	return s.refuseOrder(w, r, f, store.Order{}, "New order", atBoxes(err, fields))
}

// readCustomer reads the new customer of an order form; nil if one was chosen instead.
func (s *Server) readCustomer(f *form.Form, draft *workshop.OrderDraft) *store.Customer {
	name := f.Name("new_customer")
	if name == "" || draft.Customer != 0 {
		return nil
	}
	return &store.Customer{Name: f.Needed("new_customer", "Write the name of the customer."), Kind: f.Choice("new_kind", channelKinds...)}
}

func (s *Server) changeOrder(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	draft, fields := readOrder(f)
	version := f.Int("version", 0, 1<<30)
	order, err := s.service.Order(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	draft.TakenOn = order.TakenOn
	var refused error
	if f.OK() {
		refused = s.service.ChangeOrder(r.Context(), s.workshop, number, version, draft)
		if refused == nil {
			return done(w, r, fmt.Sprintf("/orders/%d", number), "order")
		}
	}
	order.Version = version
	return s.refuseOrder(w, r, f, order, "Change order "+order.Number, atBoxes(refused, fields))
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

func (s *Server) refuseOrder(w http.ResponseWriter, r *http.Request, f *form.Form, order store.Order, title string, refused error) error {
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	base, err := s.refusedBase(r, title, "orders", f, problems)
	if err != nil {
		return err
	}
	typed := map[string]string{}
	for _, field := range sizeFields(f) {
		typed[field] = f.Raw(field)
	}
	view, err := s.orderForm(r.Context(), base, order, typed)
	if err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

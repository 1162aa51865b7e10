package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"yardwright/batch/garment"
	"yardwright/server/store"
)

// OrderDraft is an order as somebody enters it.
type OrderDraft struct {
	Customer int64
	// Number may be empty: the next free one is taken.
	Number  string
	TakenOn time.Time
	DueOn   time.Time
	Note    string
	Lines   []LineDraft
}

// LineDraft is one cell of a size run.
type LineDraft struct {
	Colourway int64
	Size      string
	Quantity  int
}

// TakeOrder checks and stores a new order.
func (s *Service) TakeOrder(ctx context.Context, workshop int64, draft OrderDraft) (id int64, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		id, err = s.takeOrder(ctx, tx, workshop, draft)
		return err
	})
	return id, err
}

// TakeOrderFrom is TakeOrder with a customer who is new, if one is given; either both are
// stored or neither.
func (s *Service) TakeOrderFrom(ctx context.Context, workshop int64, customer *store.Customer, draft OrderDraft) (id int64, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		if customer != nil {
			if draft.Customer, err = tx.AddCustomer(ctx, workshop, *customer); err != nil {
				return atField(err, "name", "new_customer")
			}
		}
		id, err = s.takeOrder(ctx, tx, workshop, draft)
		return err
	})
	return id, err
}

// atField renames the field of a fault to the one on the form.
func atField(err error, from, to string) error {
	var fault *store.Fault
	if errors.As(err, &fault) {
		for i := range fault.Problems {
			if fault.Problems[i].Field == from {
				fault.Problems[i].Field = to
			}
		}
	}
	return err
}

func (s *Service) takeOrder(ctx context.Context, tx *store.Store, workshop int64, draft OrderDraft) (int64, error) {
	sizes, err := sizesByColourway(ctx, tx, workshop)
	if err != nil {
		return 0, err
	}
	order, err := s.checkOrder(draft, sizes)
	if err != nil {
		return 0, err
	}
	if order.Number == "" {
		if order.Number, err = nextNumber(ctx, tx, workshop, s.Today()); err != nil {
			return 0, err
		}
	}
	return tx.AddOrder(ctx, workshop, order)
}

// ChangeOrder stores an order anew if nobody else has in the meantime.
func (s *Service) ChangeOrder(ctx context.Context, workshop, id int64, version int, draft OrderDraft) error {
	sizes, err := sizesByColourway(ctx, s.store, workshop)
	if err != nil {
		return err
	}
	order, err := s.checkOrder(draft, sizes)
	if err != nil {
		return err
	}
	if order.Number == "" {
		return store.Wrong("number", "Write a number for the order.")
	}
	order.ID, order.Version = id, version
	return s.store.SaveOrder(ctx, workshop, order)
}

// sizesByColourway says in which sizes each colourway can be ordered.
func sizesByColourway(ctx context.Context, tx *store.Store, workshop int64) (map[int64][]string, error) {
	ways, err := tx.Colourways(ctx, workshop)
	if err != nil {
		return nil, err
	}
	styles, err := tx.Styles(ctx, workshop)
	if err != nil {
		return nil, err
	}
	charts, err := tx.Charts(ctx, workshop)
	if err != nil {
		return nil, err
	}
	sizes := map[int64][]string{}
	for _, way := range ways {
		style := slices.IndexFunc(styles, func(style store.Style) bool { return style.ID == way.StyleID })
		chart := slices.IndexFunc(charts, func(c store.Chart) bool { return c.ID == styles[style].ChartID })
		sizes[way.ID] = charts[chart].SizeNames()
	}
	return sizes, nil
}

// mostLines keeps one order to what a page can show.
const mostLines = 2000

func (s *Service) checkOrder(draft OrderDraft, sizes map[int64][]string) (store.Order, error) {
	fault := &store.Fault{Kind: store.Invalid}
	wrong := func(field, message string) {
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: message})
	}
	if draft.Customer == 0 {
		wrong("customer", "Choose a customer.")
	}
	if draft.TakenOn.IsZero() {
		draft.TakenOn = s.Today()
	}
	switch {
	case draft.DueOn.IsZero():
		wrong("due_on", "Enter a due date.")
	case draft.DueOn.Before(draft.TakenOn):
		wrong("due_on", "The due day is before the day on which the order was taken.")
	case draft.DueOn.After(draft.TakenOn.AddDate(10, 0, 0)):
		wrong("due_on", "The due day is more than ten years away; check the year.")
	}
	order := store.Order{CustomerID: draft.Customer, Number: strings.TrimSpace(draft.Number), TakenOn: draft.TakenOn, DueOn: draft.DueOn, Note: draft.Note}
	for i, line := range draft.Lines {
		field := fmt.Sprintf("lines[%d]", i)
		known, ok := sizes[line.Colourway]
		switch {
		case !ok:
			wrong(field+".colourway", "Choose a colourway.")
		case !slices.Contains(known, line.Size):
			wrong(field+".size", fmt.Sprintf("%q is not a size of this style; its sizes are %s.", line.Size, strings.Join(known, ", ")))
		case line.Quantity < 1 || line.Quantity > 10_000:
			wrong(field+".quantity", "Write a quantity from 1 to 10,000.")
		}
		order.Lines = append(order.Lines, store.OrderLine{ColourwayID: line.Colourway, Size: line.Size, Quantity: line.Quantity})
	}
	if len(draft.Lines) == 0 {
		wrong("lines", "Enter a quantity for at least one size.")
	}
	if len(draft.Lines) > mostLines {
		wrong("lines", fmt.Sprintf("An order has at most %d lines; make two of it.", mostLines))
	}
	if len(fault.Problems) > 0 {
		return store.Order{}, fault
	}
	return order, nil
}

// nextNumber is the year and the next number that is free in it.
func nextNumber(ctx context.Context, tx *store.Store, workshop int64, today time.Time) (string, error) {
	last, err := tx.LastOrderNumber(ctx, workshop, today.Format("2006")+"-")
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s-%03d", today.Format("2006"), last+1), nil
}

// SaveStyleDraft checks a style over its chart, in every size, and stores it; a style with
// an ID is changed, one without is new.
func (s *Service) SaveStyleDraft(ctx context.Context, workshop int64, style store.Style) (int64, error) {
	chart, err := s.Chart(ctx, workshop, style.ChartID)
	if err != nil {
		return 0, store.Wrong("chart", "Choose a size chart.")
	}
	style.Chart = chart.Name
	if err := style.Check(chart.SizeChart); err != nil {
		return 0, asFault(err)
	}
	if style.ID != 0 {
		return style.ID, s.store.SaveStyle(ctx, workshop, style)
	}
	return s.store.AddStyle(ctx, workshop, style)
}

// SaveChartDraft checks and stores a size chart; the styles that use it must still grade in
// every size. A shipped chart doesn't change: copy it.
func (s *Service) SaveChartDraft(ctx context.Context, workshop int64, chart store.Chart) (int64, error) {
	if err := chart.Check(); err != nil {
		return 0, asFault(err)
	}
	if chart.ID == 0 {
		return s.store.AddChart(ctx, workshop, chart)
	}
	before, err := s.Chart(ctx, workshop, chart.ID)
	if err != nil {
		return 0, err
	}
	if before.Shipped {
		return 0, &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Message: "A shipped size chart doesn't change. Copy it and change the copy."}}}
	}
	styles, err := s.Styles(ctx, workshop)
	if err != nil {
		return 0, err
	}
	for _, style := range styles {
		if style.ChartID != chart.ID {
			continue
		}
		if err := style.Check(chart.SizeChart); err != nil {
			return 0, store.Wrong("sizes", fmt.Sprintf("The style %s would no longer grade on this chart: %v", style.Name, err))
		}
	}
	return chart.ID, s.store.SaveChart(ctx, workshop, chart)
}

// CopyChart makes a chart of the maker's own out of another one.
func (s *Service) CopyChart(ctx context.Context, workshop, id int64, name string) (int64, error) {
	chart, err := s.Chart(ctx, workshop, id)
	if err != nil {
		return 0, err
	}
	chart.ID, chart.Shipped, chart.Name = 0, false, strings.TrimSpace(name)
	return s.SaveChartDraft(ctx, workshop, chart)
}

// StartStyle makes a style from a starter, over the shipped chart that suits it or another
// one that has the measures it needs.
func (s *Service) StartStyle(ctx context.Context, workshop int64, starter, name string, chart int64, options map[string]bool) (int64, error) {
	at := slices.IndexFunc(garment.Starters(), func(st garment.Starter) bool { return st.Name == starter })
	if at < 0 {
		return 0, store.Wrong("starter", "Choose what to start from.")
	}
	style := garment.Starters()[at].Style(options)
	style.Name = strings.TrimSpace(name)
	return s.SaveStyleDraft(ctx, workshop, store.Style{ChartID: chart, Style: style})
}

// SaveColourwayDraft checks that every role has a cloth and every need a notion, and stores.
func (s *Service) SaveColourwayDraft(ctx context.Context, workshop int64, way store.Colourway) (int64, error) {
	style, err := s.Style(ctx, workshop, way.StyleID)
	if err != nil {
		return 0, store.Wrong("style", "Choose a style.")
	}
	fault := &store.Fault{Kind: store.Invalid}
	for _, role := range style.Roles() {
		if way.Cloths[role] == 0 {
			fault.Problems = append(fault.Problems, store.Problem{Field: "cloth." + string(role), Message: fmt.Sprintf("Choose a cloth for the %s.", role)})
		}
	}
	for _, need := range style.Notions {
		if way.Notions[need.Notion] == 0 {
			fault.Problems = append(fault.Problems, store.Problem{Field: "notion." + need.Notion, Message: fmt.Sprintf("Choose the %s.", need.Notion)})
		}
	}
	if len(fault.Problems) > 0 {
		return 0, fault
	}
	if way.ID != 0 {
		return way.ID, s.store.SaveColourway(ctx, workshop, way)
	}
	return s.store.AddColourway(ctx, workshop, way)
}

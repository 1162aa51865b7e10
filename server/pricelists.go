package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) priceListsView(r *http.Request, f *form.Form) (page.PriceLists, error) {
	base, err := s.base(r, "Price lists", "prices")
	if err != nil {
		return page.PriceLists{}, err
	}
	view := page.PriceLists{Base: base}
	if f != nil {
		view.Raw, view.Problems = f.Values, pageProblems(f)
	}
	if view.Lists, err = s.service.PriceLists(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if view.Kept, err = s.service.KeptPrices(r.Context(), s.workshop, 0, keptShown); err != nil {
		return view, err
	}
	if view.Channels, err = s.channelOptions(r); err != nil {
		return view, err
	}
	ways, err := s.service.Colourways(r.Context(), s.workshop)
	view.Colourways = slices.DeleteFunc(ways, func(w store.Colourway) bool { return w.PutAway })
	return view, err
}

func (s *Server) channelOptions(r *http.Request) ([]page.Option, error) {
	channels, err := s.service.Channels(r.Context(), s.workshop)
	var options []page.Option
	for _, c := range channels {
		options = append(options, page.Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Settings.Name})
	}
	return options, err
}

func (s *Server) listPriceLists(w http.ResponseWriter, r *http.Request) error {
	view, err := s.priceListsView(r, nil)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) issuePriceList(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	if f.ID("channel") == 0 {
		f.Wrong("channel", "Choose a channel.")
	}
	if f.OK() {
		made, err := s.service.IssuePriceList(r.Context(), s.workshop, f.ID("channel"), f.IDs("colourways"))
		if err == nil {
			return done(w, r, fmt.Sprintf("/prices/lists/%d", made), "list")
		}
		if err := saySo(f, err); err != nil {
			return err
		}
	}
	view, err := s.priceListsView(r, f)
	if err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

func (s *Server) showPriceList(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	list, err := s.service.PriceList(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	base, err := s.base(r, "Prices "+list.Channel, "prices")
	if err != nil {
		return err
	}
	view := page.PriceList{Base: base, List: list}
	for _, line := range list.List.Lines() {
		last := len(view.Groups) - 1
		if last < 0 || view.Groups[last].Style != line.Style || view.Groups[last].Colourway != line.Colourway {
			view.Groups = append(view.Groups, page.ListGroup{Style: line.Style, Colourway: line.Colourway})
			last++
		}
		view.Groups[last].Lines = append(view.Groups[last].Lines, line)
		view.Suggested = view.Suggested || line.Suggested.Sign() > 0
	}
	all, err := s.service.PriceLists(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	for _, other := range all {
		if other.Channel == list.Channel && other.ID != list.ID {
			view.Older = append(view.Older, other)
		}
	}
	return s.show(w, r, view)
}

// basketRows is how many kinds of garment a mixed sale may hold.
const basketRows = 5

func (s *Server) showBasket(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "A mixed sale", "prices")
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	view := page.Basket{Base: base, Garments: []page.Option{{Value: "", Text: "choose"}}}
	if view.Channels, err = s.channelOptions(r); err != nil {
		return err
	}
	if err := s.garmentOptions(r, &view); err != nil {
		return err
	}
	for row := range basketRows {
		view.Rows = append(view.Rows, row)
	}
	if f.Values.Has("channel") {
		lines := readBasket(f, base.Currency)
		if f.OK() {
			result, err := s.service.Basket(r.Context(), s.workshop, f.ID("channel"), lines)
			var fault *store.Fault
			switch {
			case err == nil:
				view.Result = &result
			case errors.As(err, &fault) && fault.Kind == store.NotFound:
				f.Wrong("channel", "Choose a channel.")
			default:
				if err := saySo(f, atRows(err, "item", basketFilled(f))); err != nil {
					return err
				}
			}
		}
	}
	view.Raw, view.Problems = f.Values, pageProblems(f)
	return s.showOrRefuse(w, r, view.Problems, view)
}

func (s *Server) garmentOptions(r *http.Request, view *page.Basket) error {
	rows, err := s.styleRows(r)
	if err != nil {
		return err
	}
	charts, err := s.service.Charts(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	for _, row := range rows {
		at := slices.IndexFunc(charts, func(c store.Chart) bool { return c.ID == row.Style.ChartID })
		if at < 0 {
			continue
		}
		for _, way := range row.InUse() {
			for _, size := range charts[at].SizeNames() {
				view.Garments = append(view.Garments, page.Option{Value: fmt.Sprintf("%d:%s", way.ID, size), Text: row.Style.Name + ", " + way.Name + ", " + size})
			}
		}
	}
	return nil
}

func basketFilled(f *form.Form) []int { return filledRows(f, "item", basketRows, "garment") }

func readBasket(f *form.Form, currency money.Currency) []workshop.BasketLine {
	var lines []workshop.BasketLine
	for _, row := range basketFilled(f) {
		field := func(part string) string { return fmt.Sprintf("item.%d.%s", row, part) }
		way, size, _ := strings.Cut(f.Text(field("garment")), ":")
		number, err := strconv.ParseInt(way, 10, 64)
		if err != nil {
			f.Wrong(field("garment"), "Choose a garment and its size.")
		}
		line := workshop.BasketLine{Colourway: number, Size: size, Count: 1}
		if f.Text(field("count")) != "" {
			line.Count = f.Int(field("count"), 1, 10_000)
		}
		if f.Text(field("price")) != "" {
			price, err := money.ParseTypedAmount(f.Text(field("price")), currency)
			if err != nil || price.Sign() < 0 {
				f.Wrong(field("price"), "Write an amount of 0 or more, such as 24.50.")
			}
			line.Price = &price
		}
		lines = append(lines, line)
	}
	return lines
}

// clothValueForm fills the page of what the cloth on the shelf is worth.
func (s *Server) clothValueForm(r *http.Request) (*page.ClothValue, error) {
	view := &page.ClothValue{}
	var err error
	if view.Base, err = s.base(r, "Cloth on the shelf, and what it is worth", "prices"); err != nil {
		return view, err
	}
	if view.Values, err = s.service.ClothValues(r.Context(), s.workshop); err != nil {
		return view, err
	}
	view.Total = view.Currency.Zero()
	for _, v := range view.Values {
		view.Valuation = v.Stock.Valuation
		if view.Total, err = view.Total.Add(v.Value); err != nil {
			return view, err
		}
	}
	return view, nil
}

func (s *Server) saveClothValue(r *http.Request, f *form.Form, view *page.ClothValue) (saved, error) {
	var costs []store.BoltCost
	for _, cloth := range view.Values {
		for _, b := range cloth.Bolts {
			bought, worth := fmt.Sprintf("bought.%d", b.Bolt.ID), fmt.Sprintf("worth.%d", b.Bolt.ID)
			if !f.Values.Has(bought) && !f.Values.Has(worth) {
				continue
			}
			cost := store.BoltCost{BoltID: b.Bolt.ID}
			if day := f.Day(bought); !day.IsZero() {
				cost.BoughtOn = &day
				if day.After(s.service.Today()) {
					f.Wrong(bought, "This day is still to come.")
				}
			}
			if f.Text(worth) != "" {
				price := f.Money(worth)
				cost.Worth = &price
				if price.Sign() < 0 {
					f.Wrong(worth, "Write a price of 0 or more.")
				}
			}
			costs = append(costs, cost)
		}
	}
	if !f.OK() {
		return saved{}, nil
	}
	return saved{"/prices/cloth", "value"}, s.service.SaveClothValues(r.Context(), s.workshop, costs)
}

func (s *Server) showBatchCosts(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	costs, err := s.service.BatchCosts(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	base, err := s.base(r, "What "+costs.Batch.Name+" costs", "batches")
	if err != nil {
		return err
	}
	whole, err := s.service.Whole(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	choices, err := workshop.Choices(whole.Settings)
	if err != nil {
		return err
	}
	view := page.BatchCosts{Base: base, Costs: costs, Valued: workshop.ValuedAt(choices.Valuation), OddCent: whole.Settings.OddCent}
	if err := sharedOut(&view); err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) keepBatchCosts(w http.ResponseWriter, r *http.Request) error {
	number, _, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	if err := s.service.KeepBatchCosts(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return done(w, r, fmt.Sprintf("/batches/%d/costs", number), "batch_costs")
}

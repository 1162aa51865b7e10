package server

import (
	"fmt"
	"io"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) priceRoutes(r chi.Router) {
	r.Get("/prices", s.handle(s.listPrices))
	r.Get("/prices/all.xlsx", s.handle(s.wholeWorkbook))
	r.Get("/prices/lists", s.handle(s.listPriceLists))
	r.Post("/prices/lists", s.handle(s.issuePriceList))
	r.Get("/prices/lists/{id}", s.handle(s.showPriceList))
	r.Get("/prices/basket", s.handle(s.showBasket))
	editsAt(s, r, "/prices/cloth", editing[*page.ClothValue]{s.clothValueForm, (*page.ClothValue).Form, s.saveClothValue})
	r.Get("/prices/{id}", s.handle(s.showPrice))
	r.Post("/prices/{id}", editing[*page.Price]{s.priceForm, (*page.Price).OnePriceForm, s.saveOnePrice}.saving(s))
	r.Post("/prices/{id}/typed", editing[*page.Price]{s.priceForm, (*page.Price).TypedForm, s.saveTypedPrices}.saving(s))
	r.Get("/prices/{id}/size/{size}", s.handle(s.showCostSheet))
	r.Get("/prices/{id}/markers", s.handle(s.showCostingMarkers))
	r.Get("/prices/{id}/minutes", s.handle(s.showMinutes))
	r.Post("/prices/{id}/minutes", editing[*page.Minutes]{s.minutesForm, (*page.Minutes).SalesForm, s.saveSales}.saving(s))
	r.Post("/prices/{id}/learning", editing[*page.Minutes]{s.minutesForm, (*page.Minutes).LearningForm, s.saveLearning}.saving(s))
	r.Post("/prices/{id}/issue", s.handle(s.issuePrices))
	r.Get("/prices/{id}/pricing.xlsx", s.handle(s.pricingWorkbook))
	r.Get("/batches/{id}/costs", s.handle(s.showBatchCosts))
	r.Post("/batches/{id}/costs", s.handle(s.keepBatchCosts))
	s.costingRoutes(r)
	s.directCostRoutes(r)
	s.keptPriceRoutes(r)
}

// readChange reads a what-if from the query; asked tells whether there is one.
func readChange(f *form.Form) (change costing.Change, asked bool) {
	percent := func(field string) money.Rate {
		asked = asked || f.Text(field) != ""
		return money.Percent(f.Decimal(field))
	}
	change = costing.Change{
		Cloth: percent("cloth"), Notions: percent("notions"), Wage: percent("wage"), Overhead: percent("overhead"),
		Minutes: percent("minutes"), Postage: percent("postage"),
	}
	if f.Text("batch") != "" {
		asked = true
		change.Batch = f.Decimal("batch")
	}
	if !f.OK() {
		return costing.Change{}, false
	}
	return change, asked
}

// listPrices lists all colourways with what they cost and sell at, and answers what if for all
// of them at once.
func (s *Server) listPrices(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Prices", "prices")
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	view := page.Prices{Base: base}
	view.Change, view.Asked = readChange(f)
	lines, lineErr := s.service.PriceLine(r.Context(), s.workshop, view.Change)
	if lineErr != nil && view.Asked {
		if err := saySo(f, lineErr); err != nil {
			return err
		}
		view.Change, view.Asked = costing.Change{}, false
		lines, lineErr = s.service.PriceLine(r.Context(), s.workshop, costing.Change{})
	}
	if lineErr != nil {
		return lineErr
	}
	view.Raw, view.Problems = f.Values, pageProblems(f)
	view.WhatIf.Form = view.AskWhatIf("/prices")
	whole, err := s.service.Whole(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	view.Channels = whole.Channels
	for _, line := range lines {
		if line.Problem == "" && line.Asked.Asked == nil {
			line.Asked = line.Now
		}
		view.Lines = append(view.Lines, pricedLine(line))
	}
	if view.Steps, err = s.firstSteps(r.Context(), base, whole); err != nil {
		return err
	}
	return s.showOrRefuse(w, r, view.Problems, view)
}

// saySo notes at the fields of a form what a use case refused.
func saySo(f *form.Form, refused error) error {
	problems, err := problemsOf(&form.Form{Values: f.Values}, refused)
	for _, p := range problems {
		f.Wrong(p.Field, p.Message)
	}
	return err
}

// alsoWrong adds what a use case would refuse to a form that is refused anyhow, at the fields that
// nothing is said of yet, so that everything is told at once.
func alsoWrong(f *form.Form, refused error) error {
	problems, err := problemsOf(&form.Form{Values: f.Values}, refused)
	for _, p := range problems {
		if p.Field != "" && !f.WrongAt(p.Field) {
			f.Wrong(p.Field, p.Message)
		}
	}
	return err
}

func pageProblems(f *form.Form) []page.Problem {
	var problems []page.Problem
	for _, p := range f.Problems() {
		problems = append(problems, page.Problem{Field: p.Field, Message: p.Message})
	}
	return problems
}

// showOrRefuse shows a page, as refused if something is wrong with its question.
func (s *Server) showOrRefuse(w http.ResponseWriter, r *http.Request, problems []page.Problem, view page.View) error {
	if len(problems) > 0 {
		return s.refuse(w, r, view)
	}
	return s.show(w, r, view)
}

func pricedLine(line workshop.LinePrices) page.PricedLine {
	shown := page.PricedLine{LinePrices: line}
	if line.Problem != "" {
		return shown
	}
	shown.Cost, shown.Prices = spans(line.Now)
	shown.CostAsked, shown.PricesAsked = spans(line.Asked)
	return shown
}

func spans(prices workshop.StylePrices) (cost page.Span, asked []page.Span) {
	asked = make([]page.Span, len(prices.Channels))
	for i, pricing := range prices.Pricings {
		cost.Widen(pricing.Sheet.Total, i == 0)
		for c := range asked {
			asked[c].Widen(prices.Asked[i][c].Price, i == 0)
		}
	}
	return cost, asked
}

func (s *Server) showPrice(w http.ResponseWriter, r *http.Request) error {
	view, err := s.priceForm(r)
	if err != nil {
		return err
	}
	return s.showOrRefuse(w, r, view.Problems, view)
}

// priceForm fills the page of a colourway's prices, with the questions of the address.
func (s *Server) priceForm(r *http.Request) (*page.Price, error) {
	return s.priceView(r, form.FromQuery(r))
}

// priceView shows a colourway's prices with the questions of a form.
func (s *Server) priceView(r *http.Request, f *form.Form) (*page.Price, error) {
	view := &page.Price{}
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	view.Change, view.Asked = readChange(f)
	prices, priceErr := s.service.PriceStyle(r.Context(), s.workshop, number, view.Change)
	if priceErr != nil && view.Asked {
		// The question was at fault: show the real prices, and what is wrong beside the form.
		if err := saySo(f, priceErr); err != nil {
			return view, err
		}
		view.Change, view.Asked = costing.Change{}, false
		prices, priceErr = s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	}
	if priceErr != nil {
		return view, priceErr
	}
	view.Prices = prices
	if view.Base, err = s.base(r, prices.Style.Name+", "+prices.Colourway.Name, "prices"); err != nil {
		return view, err
	}
	if err := s.fillPrice(r, view, f); err != nil {
		return view, err
	}
	view.Raw, view.Problems = f.Values, pageProblems(f)
	view.WhatIf.Form = view.AskWhatIf(view.Place())
	return view, nil
}

func (s *Server) fillPrice(r *http.Request, view *page.Price, f *form.Form) error {
	prices := view.Prices
	settings, err := workshop.Choices(prices.Settings)
	if err != nil {
		return err
	}
	view.ProfitFormula = settings.Profit.Formula()
	for i, size := range prices.Sizes {
		row := page.PriceRow{Size: size, Sheet: prices.Pricings[i].Sheet}
		for c, quote := range prices.Tagged(i) {
			row.Cells = append(row.Cells, priceCell(view.Base, quote, prices.Asked[i][c], settings.Profit))
		}
		view.Rows = append(view.Rows, row)
	}
	if view.Keystones, err = prices.RetailChecks(); err != nil {
		return err
	}
	if view.Minimums, err = prices.MinimumOrders(); err != nil {
		return err
	}
	if f.Text("try") != "" {
		tried, err := tryPrice(f, view.Base, prices)
		if err != nil {
			return err
		}
		view.Tried = tried
	}
	if view.Batches, err = s.service.PlannedBatches(r.Context(), s.workshop, prices.Colourway.ID, "", mostBatches); err != nil {
		return err
	}
	kept, err := s.service.KeptPrices(r.Context(), s.workshop, prices.Style.ID, keptShown)
	view.Issued = slices.DeleteFunc(kept, func(k store.KeptPrices) bool { return *k.ColourwayID != prices.Colourway.ID })
	return err
}

func priceCell(base page.Base, quote costing.Quote, asked workshop.Asked, rule costing.ProfitRule) page.PriceCell {
	cell := page.PriceCell{Quote: quote, Asked: asked, Profit: asked.Sale.Markup, Why: quote.Why(base.Locale)}
	if rule == costing.Margin {
		cell.Profit = asked.Sale.Margin
	}
	return cell
}

func tryPrice(f *form.Form, base page.Base, prices workshop.StylePrices) (*workshop.Tried, error) {
	price, err := money.ParseTypedAmount(f.Text("try"), base.Currency)
	if err != nil {
		f.Wrong("try", "Write an amount, such as 24.50.")
		return nil, nil
	}
	channel := f.ID("try_channel")
	if channel == 0 && len(prices.Channels) > 0 {
		channel = prices.Channels[0].ID
	}
	tried, err := prices.TryPrice(channel, price)
	if err != nil {
		return nil, saySo(f, err)
	}
	return &tried, nil
}

// mostBatches is how many batches a colourway's page names.
const mostBatches = 8

// saveOnePrice stores whether all sizes share a price.
func (s *Server) saveOnePrice(r *http.Request, f *form.Form, view *page.Price) (saved, error) {
	costs := view.Prices.Costs
	costs.OnePrice = f.Choice("one_price", workshop.OnePriceRules()...)
	return s.saveStyleCosts(r, f, view.Place(), costs)
}

// saveSales stores how many of a style sell in a year.
func (s *Server) saveSales(r *http.Request, f *form.Form, view *page.Minutes) (saved, error) {
	costs := view.Prices.Costs
	costs.YearSales = f.Int("year_sales", 0, 1_000_000)
	return s.saveStyleCosts(r, f, r.URL.Path, costs)
}

// saveLearning stores whether, and how, a style learns.
func (s *Server) saveLearning(r *http.Request, f *form.Form, view *page.Minutes) (saved, error) {
	costs := view.Prices.Costs
	readLearning(f, &costs)
	return s.saveStyleCosts(r, f, fmt.Sprintf("/prices/%d/minutes", view.Prices.Colourway.ID), costs)
}

func (s *Server) saveStyleCosts(r *http.Request, f *form.Form, place string, costs store.StyleCosts) (saved, error) {
	if !f.OK() {
		return saved{}, nil
	}
	return saved{place, "style_costs"}, s.service.ChangeStyleCosts(r.Context(), s.workshop, costs.StyleID, f.Text("version"), costs)
}

// readLearning reads the curve of a style.
func readLearning(f *form.Form, costs *store.StyleCosts) {
	costs.Learning = f.Choice("learning", store.LearningOff, costing.UnitCurve.String(), costing.AverageCurve.String())
	costs.LearningRate = money.Percent(f.Decimal("learning_rate")).Fraction()
	if half := money.MustParse("0.5"); f.OK() && (!half.Less(costs.LearningRate) || money.Int(1).Less(costs.LearningRate)) {
		f.Wrong("learning_rate", "Write more than 50 % and at most 100 %.")
	}
	costs.TimedGarment = f.Int("timed_garment", 1, 100_000)
}

func (s *Server) issuePrices(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	change, _ := readChange(f)
	if !f.OK() {
		view, err := s.priceView(r, f)
		return s.refused(w, r, view, err)
	}
	kept, err := s.service.IssueCosts(r.Context(), s.workshop, number, change)
	if err != nil {
		return err
	}
	return done(w, r, fmt.Sprintf("/prices/kept/%d", kept), "prices")
}

func (s *Server) pricingWorkbook(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	return s.download(w, "pricing.xlsx", func(out io.Writer) error {
		return s.service.PricingWorkbook(r.Context(), out, s.workshop, number, paperOf(r))
	})
}

func (s *Server) wholeWorkbook(w http.ResponseWriter, r *http.Request) error {
	return s.download(w, "pricing.xlsx", func(out io.Writer) error {
		return s.service.PricingWorkbook(r.Context(), out, s.workshop, 0, paperOf(r))
	})
}

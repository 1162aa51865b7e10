package server

import (
	"fmt"
	"io"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/words"
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
	r.Post("/prices/{id}", s.handle(s.saveStyleCosts))
	r.Get("/prices/{id}/size/{size}", s.handle(s.showCostSheet))
	r.Get("/prices/{id}/markers", s.handle(s.showCostingMarkers))
	r.Get("/prices/{id}/minutes", s.handle(s.showMinutes))
	r.Post("/prices/{id}/issue", s.handle(s.issuePrices))
	r.Post("/prices/{id}/typed", s.handle(s.saveTypedPrices))
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
	view := page.Prices{Base: base, WhatIf: page.WhatIf{Action: "/prices"}}
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
	view.Raw = f.Values
	view.Problems = pageProblems(f)
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
		widen(&cost, pricing.Sheet.Total, i == 0)
		for c := range asked {
			widen(&asked[c], prices.Asked[i][c].Price, i == 0)
		}
	}
	return cost, asked
}

func widen(s *page.Span, a money.Amount, first bool) {
	if first {
		s.Least, s.Most = a, a
		return
	}
	if a.Number().Less(s.Least.Number()) {
		s.Least = a
	}
	if s.Most.Number().Less(a.Number()) {
		s.Most = a
	}
}

func (s *Server) showPrice(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	return s.pricePage(w, r, number, f)
}

// pricePage shows a colourway's prices with the questions of a form.
func (s *Server) pricePage(w http.ResponseWriter, r *http.Request, number int64, f *form.Form) error {
	change, asked := readChange(f)
	prices, priceErr := s.service.PriceStyle(r.Context(), s.workshop, number, change)
	if priceErr != nil && asked {
		// The question was at fault: show the real prices, and what is wrong beside the form.
		if err := saySo(f, priceErr); err != nil {
			return err
		}
		change, asked = costing.Change{}, false
		prices, priceErr = s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	}
	if priceErr != nil {
		return priceErr
	}
	base, err := s.base(r, prices.Style.Name+", "+prices.Colourway.Name, "prices")
	if err != nil {
		return err
	}
	view := page.Price{Base: base, WhatIf: page.WhatIf{Change: change, Asked: asked, Action: fmt.Sprintf("/prices/%d", number)}, Prices: prices}
	if err := s.fillPrice(r, &view, f); err != nil {
		return err
	}
	view.Raw, view.Problems = f.Values, pageProblems(f)
	view.Typed, view.TypedVersion = typedScopes(view.Base, prices), store.ContentVersion(prices.Typed)
	return s.showOrRefuse(w, r, view.Problems, view)
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
	for _, rule := range workshop.OnePriceRules() {
		view.Rules = append(view.Rules, page.Option{Value: rule, Text: oneRuleWords[rule]})
	}
	if view.Keystones, err = keystones(prices); err != nil {
		return err
	}
	if view.Minimums, err = minimums(view.Base, prices); err != nil {
		return err
	}
	for _, c := range prices.Channels {
		view.TryChannels = append(view.TryChannels, page.Option{Value: fmt.Sprint(c.ID), Text: c.Settings.Name})
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

// oneRuleWords explain the rules for one price.
var oneRuleWords = map[string]string{
	workshop.EachItsOwn:            "each size has its own price",
	costing.EverySizePays.String(): "one price: what the dearest size needs",
	costing.MixPays.String():       "one price: what the usual mix of sizes needs",
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

// keystones compares every retail channel with the wholesale price, in the size where it comes
// out least.
func keystones(prices workshop.StylePrices) ([]page.KeystoneRow, error) {
	shop := slices.IndexFunc(prices.Channels, func(c store.Channel) bool { return c.Settings.Kind == costing.Shop })
	if shop < 0 {
		return nil, nil
	}
	var rows []page.KeystoneRow
	for c, channel := range prices.Channels {
		if channel.Settings.Kind == costing.Shop {
			continue
		}
		var worst *page.KeystoneRow
		for i, size := range prices.Sizes {
			wholesale, err := withoutTax(prices.Asked[i][shop].Price, prices.Channels[shop].Settings.Tax)
			if err != nil {
				return nil, err
			}
			if wholesale.Sign() <= 0 || prices.Asked[i][c].Price.Sign() <= 0 {
				continue
			}
			check, err := costing.CheckKeystone(wholesale, prices.Asked[i][c].Price, channel.Settings.Tax, costing.KeystoneMultiple)
			if err != nil {
				return nil, err
			}
			if worst == nil || check.Multiple.Less(worst.Check.Multiple) {
				worst = &page.KeystoneRow{Channel: channel.Settings.Name, Size: size, Check: check}
			}
		}
		if worst != nil {
			rows = append(rows, *worst)
		}
	}
	return rows, nil
}

func withoutTax(price money.Amount, tax costing.Tax) (money.Amount, error) {
	if !tax.Included || tax.Rate.IsZero() {
		return price, nil
	}
	taxed, err := costing.TaxWithin(price, tax.Rate, money.HalfUp)
	return taxed.Net, err
}

// minimums says how many garments reach a shop's minimum order.
func minimums(base page.Base, prices workshop.StylePrices) ([]string, error) {
	var said []string
	for c, channel := range prices.Channels {
		least := channel.Settings.Terms.MinimumOrder
		if channel.Settings.Kind != costing.Shop || least.Sign() <= 0 || len(prices.Sizes) == 0 {
			continue
		}
		middle := len(prices.Sizes) / 2
		price := prices.Asked[middle][c].Price
		if price.Sign() <= 0 {
			continue
		}
		count, err := money.Ratio(least.Number(), price.Number(), 0, money.Up)
		if err != nil {
			return nil, err
		}
		said = append(said, fmt.Sprintf("%s: an order of at least %s is %s of size %s. %s", channel.Settings.Name, base.Money(least), count, prices.Sizes[middle], terms(base, channel.Settings.Terms)))
	}
	return said, nil
}

// terms says when a shop pays.
func terms(base page.Base, t costing.Terms) string {
	text := "It pays on delivery."
	if t.Days > 0 {
		text = "It pays within " + words.Count(t.Days, "day") + "."
	}
	if !t.Discount.IsZero() {
		text += fmt.Sprintf(" %s less within %s.", t.Discount.Format(base.Locale), words.Count(t.DiscountDays, "day"))
	}
	return text
}

// mostBatches is how many batches a colourway's page names.
const mostBatches = 8

// saveStyleCosts stores whether all sizes share a price, and how many sell in a year.
func (s *Server) saveStyleCosts(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	prices, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	if err != nil {
		return err
	}
	costs := prices.Costs
	if f.Text("one_price") != "" {
		costs.OnePrice = f.Choice("one_price", workshop.OnePriceRules()...)
	}
	back := fmt.Sprintf("/prices/%d", number)
	minutes := f.Values.Has("year_sales") || f.Values.Has("learning")
	if minutes {
		back += "/minutes"
	}
	if f.Values.Has("year_sales") {
		costs.YearSales = f.Int("year_sales", 0, 1_000_000)
	}
	if f.Values.Has("learning") {
		readLearning(f, &costs)
	}
	if f.OK() {
		err := s.service.ChangeStyleCosts(r.Context(), s.workshop, prices.Style.ID, f.Text("version"), costs)
		if err == nil {
			return done(w, r, back, "style_costs")
		}
		if err := saySo(f, err); err != nil {
			return err
		}
	}
	if minutes {
		return s.minutesPage(w, r, number, f)
	}
	return s.pricePage(w, r, number, f)
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
		return s.pricePage(w, r, number, f)
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

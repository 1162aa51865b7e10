package server

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// showCostSheet shows what one size costs, line by line, each number with where it was entered.
func (s *Server) showCostSheet(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	size, err := url.PathUnescape(chi.URLParam(r, "size"))
	if err != nil {
		return notFound("size")
	}
	prices, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{}, size)
	if err != nil {
		return err
	}
	at := slices.Index(prices.Sizes, size)
	if at < 0 {
		return notFound("size")
	}
	base, err := s.base(r, prices.Style.Name+", "+prices.Colourway.Name+", size "+size, "prices")
	if err != nil {
		return err
	}
	view := page.CostSheet{Base: base, Prices: prices, Size: size, Sheet: prices.Pricings[at].Sheet}
	if view.Batches, err = s.service.PlannedBatches(r.Context(), s.workshop, number, size, mostBatches); err != nil {
		return err
	}
	if err := s.chooseBatch(r, &view); err != nil {
		return err
	}
	if err := s.fillSheet(r, &view, at); err != nil {
		return err
	}
	return s.show(w, r, view)
}

// chooseBatch puts the actual cost sheet of a batch beside the standard: the one that was
// asked for, or the newest that makes this size.
func (s *Server) chooseBatch(r *http.Request, view *page.CostSheet) error {
	asked := r.URL.Query().Get("batch")
	if asked == "none" {
		return nil
	}
	at := slices.IndexFunc(view.Batches, func(b store.Batch) bool { return asked == "" || asked == strconv.FormatInt(b.ID, 10) })
	if at < 0 {
		return nil
	}
	costs, err := s.service.BatchCosts(r.Context(), s.workshop, view.Batches[at].ID)
	if err != nil {
		return err
	}
	for _, g := range costs.Garments {
		if g.Colourway == view.Prices.Colourway.ID && g.Size == view.Size {
			view.Batch, view.Actual, view.Costs = &view.Batches[at], &g, costs
		}
	}
	return nil
}

func (s *Server) fillSheet(r *http.Request, view *page.CostSheet, at int) error {
	settings, err := workshop.Choices(view.Prices.Settings)
	if err != nil {
		return err
	}
	whole, err := s.service.Whole(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	thread, err := threadNotes(whole, view, at)
	if err != nil {
		return err
	}
	origin := origins{prices: view.Prices, base: view.Base, thread: thread, yearEntered: len(whole.YearCosts) > 0, costs: view.Costs, size: at}
	if view.Batch != nil {
		origin.garment = slices.IndexFunc(view.Costs.Garments, func(g workshop.BatchGarment) bool {
			return g.Colourway == view.Prices.Colourway.ID && g.Size == view.Size
		})
	}
	var actual []costing.Line
	if view.Actual != nil {
		actual = slices.Clone(view.Actual.Sheet.Lines)
	}
	for i := range view.Sheet.Lines {
		line := &view.Sheet.Lines[i]
		shown := page.SheetLine{Line: line, Factors: origin.factors(line, nil), Notes: origin.notes(line)}
		if n := slices.IndexFunc(actual, func(l costing.Line) bool { return l.Kind == line.Kind && l.Label == line.Label && l.Role == line.Role }); n >= 0 {
			found := actual[n]
			actual = slices.Delete(actual, n, n+1)
			shown.Actual, shown.ActualFactors = &found, origin.factors(&found, view.Batch)
		}
		if view.Actual != nil && i < len(view.Actual.Compared.Lines) {
			v := view.Actual.Compared.Lines[i]
			shown.Difference, shown.ByPrice, shown.ByUse = v.Difference, v.ByPrice, v.ByUse
		}
		view.Lines = append(view.Lines, shown)
	}
	for i := range actual {
		line, none := &actual[i], actual[i]
		none.Quantity, none.Amount = money.Decimal{}, view.Sheet.Inputs.Currency.Zero()
		view.Lines = append(view.Lines, page.SheetLine{
			Line: &none, Actual: line, ActualFactors: origin.factors(line, view.Batch), Unplanned: true,
			Difference: line.Amount, ByPrice: none.Amount, ByUse: line.Amount,
		})
	}
	view.Totals = sheetTotals(view)
	view.Followed = []page.Followed{
		{Name: "Wastage", Formula: "bought = " + settings.Wastage.Formula(), Link: "/workshop/choices#wastage_rule"},
		{Name: "Rounding", Formula: "each line to the smallest coin, " + settings.Rounding.String(), Link: "/workshop/choices#rounding"},
		{Name: "Cloth from the shelf", Formula: workshop.ValuedAt(settings.Valuation), Link: "/workshop/choices#valuation"},
		{Name: "Landed price", Formula: costing.LandedFormula, Link: "/shelf"},
		{Name: "Overhead of an hour", Formula: costing.OverheadFormula, Link: "/workshop/year"},
	}
	if view.Batch != nil {
		view.Followed = append(view.Followed, page.Followed{Name: "Difference", Formula: costing.VarianceFormula, Link: fmt.Sprintf("/batches/%d/costs", view.Batch.ID)})
	}
	return nil
}

// sheetTotals are the sums below the lines, each with the lines that it adds up.
func sheetTotals(view *page.CostSheet) []page.SheetTotal {
	var actual costing.Sheet
	if view.Actual != nil {
		actual = view.Actual.Sheet
	}
	standard := view.Sheet
	sum := func(name string, planned, taken money.Amount, kinds ...costing.LineKind) page.SheetTotal {
		total := page.SheetTotal{Name: name, Standard: view.Money(planned), Actual: view.Money(taken)}
		for i := range view.Lines {
			if line := view.Lines[i].Line; slices.Contains(kinds, line.Kind) && !view.Lines[i].Unplanned {
				total.Parts = append(total.Parts, page.SheetPart{Text: view.Money(line.Amount), Link: lineLink(i)})
			}
		}
		return total
	}
	totals := []page.SheetTotal{
		sum("Materials", standard.Materials, actual.Materials, costing.ClothLine, costing.NotionLine),
		sum("Your work", standard.Labour, actual.Labour, costing.LabourLine),
	}
	if standard.Expenses.Sign() > 0 || actual.Expenses.Sign() > 0 {
		totals = append(totals, sum("Direct expenses", standard.Expenses, actual.Expenses, costing.ExpenseLine))
	}
	totals = append(totals,
		sum("Overhead", standard.Overhead, actual.Overhead, costing.OverheadLine),
		sum("Packing", standard.Packing, actual.Packing, costing.PackingLine))
	all := page.SheetTotal{Name: "All, ready to sell", Standard: view.Money(standard.Total), Actual: view.Money(actual.Total), Last: true}
	for _, total := range totals {
		all.Parts = append(all.Parts, page.SheetPart{Text: total.Standard, Link: "#together"})
	}
	minutes := page.SheetTotal{Name: "Minutes of your work", Standard: view.Number(standard.MinutesPaid, 1) + " min", Actual: view.Number(actual.MinutesPaid, 1) + " min"}
	for i := range view.Lines {
		if line := view.Lines[i].Line; line.Kind == costing.LabourLine && !view.Lines[i].Unplanned {
			minutes.Parts = append(minutes.Parts, page.SheetPart{Text: view.Number(line.Quantity, 3), Link: lineLink(i)})
		}
	}
	return append(totals, all, minutes)
}

// lineLink leads to the numbers of a line, and so opens it.
func lineLink(at int) string { return fmt.Sprintf("#line-%d", at) }

// threadNotes say, for the thread line, which seams its length is made up of.
func threadNotes(whole *store.Whole, view *page.CostSheet, at int) ([]page.Note, error) {
	style := view.Prices.Style
	link := fmt.Sprintf("/styles/%d/seams", style.ID)
	seams := whole.SeamsOf(style.ID)
	chart := slices.IndexFunc(whole.Charts, func(c store.Chart) bool { return c.ID == style.ChartID })
	if len(seams) == 0 || chart < 0 {
		return []page.Note{{Text: "The thread is a rule of thumb of the draft. List your seams by stitch to have it worked out.", Link: link, Label: "Seams and thread"}}, nil
	}
	measured, err := workshop.MeasureSeams(style.Style, whole.Charts[chart].SizeChart, seams)
	if err != nil {
		return nil, err
	}
	var notes []page.Note
	for i, seam := range seams {
		one := measured[view.Prices.Sizes[at]][i]
		notes = append(notes, page.Note{
			Text: fmt.Sprintf("%s, stitch %s: %s of seam × %s = %s", seam.Name, seam.Class, view.Cut(one.Length), view.Number(workshop.SeamRatio(seam), 2), view.Cut(one.Thread)),
			Link: link, Label: "Seams and thread",
		})
	}
	return notes, nil
}

// origins know where the numbers of a cost sheet were entered.
type origins struct {
	prices      workshop.StylePrices
	base        page.Base
	thread      []page.Note
	yearEntered bool
	// costs are those of the batch beside the standard, and garment the place in it.
	costs   workshop.BatchCosts
	garment int
	// size is the place among the sizes of the style.
	size int
}

// factors are the numbers of a line with their links; batch is set for an actual sheet.
func (o origins) factors(line *costing.Line, batch *store.Batch) []page.FactorView {
	shown := make([]page.FactorView, len(line.Factors))
	for i, factor := range line.Factors {
		view := page.FactorView{Name: factor.Name, Value: o.value(factor)}
		view.Link, view.From = o.origin(line, factor.Field)
		o.perUnit(&view, line, factor, batch)
		if batch != nil {
			if link, from := o.ofBatch(line, factor, *batch); link != "" {
				view.Link, view.From = link, from
			}
		}
		shown[i] = view
	}
	return shown
}

// value writes a number that a line was computed from, with the places that it takes to work the line
// out again from what is shown.
func (o origins) value(factor costing.Factor) string {
	if factor.Currency.IsZero() {
		return strings.TrimSpace(o.base.Fine(factor.Value) + " " + factor.Unit)
	}
	text := o.base.ExactMoney(money.NewAmount(factor.Value, factor.Currency))
	if factor.Unit != "" && (factor.Name == "wage" || factor.Name == "overhead") {
		text += " an hour"
	}
	return text
}

// perUnit writes the price of a cloth as it was entered, by the unit; the cost sheet counts with
// that of the length that the freight was paid for, or of the whole batch.
func (o origins) perUnit(view *page.FactorView, line *costing.Line, factor costing.Factor, batch *store.Batch) {
	if line.Kind != costing.ClothLine {
		return
	}
	at := slices.IndexFunc(line.Factors, func(f costing.Factor) bool { return f.Field == "cloths[].price.for" })
	if at < 0 {
		return
	}
	units := line.Factors[at]
	switch {
	case batch != nil && factor.Field == "cloths[].price.list":
		view.Name = "what all of them in the batch take of this cloth"
	case batch != nil && factor.Field == units.Field:
		view.Name = "length of that"
	case factor.Field == "cloths[].price.list":
		each, err := factor.Value.Div(units.Value)
		if err != nil {
			return
		}
		view.Value = fmt.Sprintf("%s a %s × %s %s", o.base.ExactMoney(money.NewAmount(each, factor.Currency)), units.Unit, o.base.Fine(units.Value), units.Unit)
	case factor.Field == "cloths[].price.freight":
		view.Name = "freight for that length"
	case factor.Field == units.Field:
		view.Name = "length that the freight was for"
	}
}

// ofBatch is where a number of an actual sheet comes from, if not from where the standard's does.
func (o origins) ofBatch(line *costing.Line, factor costing.Factor, batch store.Batch) (link, from string) {
	field, plan := factor.Field, fmt.Sprintf("/batches/%d", batch.ID)
	switch {
	case line.Kind == costing.ClothLine && field == "cloths[].wastage":
		return fmt.Sprintf("%s/costs#cloth-%d", plan, o.costs.ClothNamed(line.Label)), "cloth of the batch"
	case line.Kind == costing.ClothLine:
		return plan + "/costs#" + sharedAnchor(o.costs.ClothNamed(line.Label), o.garment), "cloth of the batch, shared out"
	case line.Kind == costing.ExpenseLine && o.costs.OwnExpense(line.Label):
		return plan + "/took#expenses", "what the batch took"
	case strings.HasPrefix(factor.Name, "minutes worked"):
		return plan + "/took#stages", "what the batch took"
	case field == "expenses[].garments" && !o.perBatch(line.Index):
		return "", ""
	case field == "garments", field == "expenses[].garments":
		return plan, "plan of " + batch.Name
	case strings.HasPrefix(field, "operations[].") && (line.Label == workshop.CuttingName || line.Label == workshop.BundlingName) && field != "operations[].wage":
		return plan + "/costs#" + cuttingAnchor(o.garment), "lays of " + batch.Name
	}
	return "", ""
}

// perBatch tells whether a direct expense of the style is paid anew for each batch.
func (o origins) perBatch(at int) bool {
	expenses := o.prices.Pricings[0].Sheet.Inputs.Expenses
	return at < len(expenses) && expenses[at].PerBatch
}

// origin is the page, and the box on it, where a number was entered.
func (o origins) origin(line *costing.Line, field string) (link, from string) {
	sources, style := o.prices.Sources, o.prices.Style.ID
	part := field[strings.LastIndex(field, ".")+1:]
	switch {
	case strings.HasPrefix(field, "cloths[]"):
		if line.Index >= len(sources.Cloths) {
			return "", ""
		}
		cloth := fmt.Sprintf("/shelf/cloths/%d", sources.Cloths[line.Index])
		switch part {
		case "length", "ends_and_losses":
			return fmt.Sprintf("/prices/%d/markers#%s", o.prices.Colourway.ID, sharedAnchor(sources.Cloths[line.Index], o.size)), "lays of your usual batch"
		case "for":
			return cloth + "#freight_length", "your cloth"
		case "list":
			return cloth + "#price", "your cloth"
		}
		return cloth + "#" + part, "your cloth"
	case strings.HasPrefix(field, "notions[]"):
		return o.notion(sources.Notions, line.Index, part, fmt.Sprintf("/styles/%d#needs", style), "your style")
	case strings.HasPrefix(field, "packing[]"):
		return o.notion(sources.Packing, line.Index, part, "", "your notion")
	case strings.HasPrefix(field, "operations[]."):
		return o.operation(line.Index, part)
	case strings.HasPrefix(field, "expenses[]."):
		return o.expense(line.Index, part)
	case field == "learning":
		return fmt.Sprintf("/prices/%d/minutes#learning", o.prices.Colourway.ID), "learning, by your choice"
	case field == "operations":
		return "#lines", "the minutes above"
	case field == "overhead":
		if o.yearEntered {
			return "/workshop/year", "costs of your year"
		}
		return "/workshop#overhead_year", "your workshop"
	case field == "productive":
		return "/workshop/year#productive", "hours of your year"
	case field == "garments":
		return "/workshop#usual_batch", "your usual batch"
	}
	return "/workshop#" + field, "your workshop" // wage, efficiency
}

func (o origins) notion(ids []int64, at int, part, quantity, from string) (link, origin string) {
	if at >= len(ids) {
		return "", ""
	}
	notion := fmt.Sprintf("/shelf/notions/%d", ids[at])
	switch part {
	case "quantity":
		if quantity == "" {
			return notion + "#packing", "goes out with every garment"
		}
		return quantity, from
	case "list":
		return notion + "#buy_price", "your notion"
	case "for":
		return notion + "#buy_length", "your notion"
	}
	return notion + "#" + part, "your notion"
}

func (o origins) expense(at int, part string) (link, from string) {
	if at >= len(o.prices.Sources.Expenses) {
		return "", ""
	}
	return fmt.Sprintf("/prices/%d/expenses#expense.%d.%s", o.prices.Colourway.ID, o.prices.Sources.Expenses[at], part), "direct expenses"
}

func (o origins) operation(at int, part string) (link, from string) {
	if at >= len(o.prices.Sources.Operations) {
		return "", ""
	}
	switch step := o.prices.Sources.Operations[at]; {
	case step == workshop.CuttingWork, step == workshop.BundlingWork:
		return fmt.Sprintf("/prices/%d/markers#%s", o.prices.Colourway.ID, usualCuttingAnchor(o.size)), "lays of your usual batch"
	case part == "run":
		return fmt.Sprintf("/styles/%d#step.%d.each", o.prices.Style.ID, step), "steps of your style"
	default:
		return fmt.Sprintf("/styles/%d#step.%d.set_up", o.prices.Style.ID, step), "steps of your style"
	}
}

// notes say more of where a line comes from.
func (o origins) notes(line *costing.Line) []page.Note {
	style := o.prices.Style
	switch line.Kind {
	case costing.ClothLine:
		return []page.Note{{
			Text: fmt.Sprintf("The length is this size's share, by area, of the lays that it lies in when you make %s; ends of plies and losses are shared likewise.", words.Count(o.prices.Use.Garments, "garment")),
			Link: fmt.Sprintf("/prices/%d/markers", o.prices.Colourway.ID), Label: "See the lays",
		}}
	case costing.NotionLine:
		if line.Index < len(style.Notions) && style.Notions[line.Index].Notion == workshop.ThreadNeed {
			return o.thread
		}
		if line.Index < len(style.Notions) && style.Notions[line.Index].Length != "" {
			need := style.Notions[line.Index]
			return []page.Note{{Text: fmt.Sprintf("%d × %s", need.Count, need.Length), Link: fmt.Sprintf("/styles/%d#needs", style.ID), Label: "How it is worked out"}}
		}
	case costing.LabourLine:
		at := -1
		if line.Index < len(o.prices.Sources.Operations) {
			at = o.prices.Sources.Operations[line.Index]
		}
		if at >= 0 && at < len(style.Operations) {
			return []page.Note{{Text: "These minutes are " + style.Operations[at].Basis + ".", Link: fmt.Sprintf("/styles/%d/steps/%d/study", style.ID, at), Label: "Time it yourself"}}
		}
		return []page.Note{{Text: "From the minutes of your workshop to set up a lay, to spread, to cut and to bundle.", Link: "/workshop#lay_set_up_minutes", Label: "Minutes of cutting"}}
	case costing.ExpenseLine:
		return []page.Note{{Text: "What this style costs besides its materials and minutes.", Link: fmt.Sprintf("/prices/%d/expenses", o.prices.Colourway.ID), Label: "Direct expenses"}}
	case costing.OverheadLine:
		w := o.prices.Workshop
		if line.Index == costing.UnpaidIndex {
			return []page.Note{{
				Text: fmt.Sprintf("You work %s hours a year, and %s of them make garments. Buying, books and repairs take the others; these minutes are your garment's part of them.", o.base.Number(w.HoursWorked, 0), o.base.Number(w.ProductiveHours, 0)),
				Link: "/workshop/year#hours", Label: "Hours of your year",
			}}
		}
		return []page.Note{{
			Text: fmt.Sprintf("%s a year ÷ %s productive hours: what each hour of work must bear of rent, machines and power.", o.base.Price(w.OverheadYear), o.base.Number(w.ProductiveHours, 1)),
			Link: "/workshop/year", Label: "Costs of your year",
		}}
	}
	return nil
}

// showCostingMarkers shows the lays that standard cost sheets take their cloth from.
func (s *Server) showCostingMarkers(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	prices, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	if err != nil {
		return err
	}
	base, err := s.base(r, "Lays of the usual batch: "+prices.Style.Name+", "+prices.Colourway.Name, "prices")
	if err != nil {
		return err
	}
	view := page.CostingMarkers{Base: base, Prices: prices}
	if err := fillMarkers(&view); err != nil {
		return err
	}
	return s.show(w, r, view)
}

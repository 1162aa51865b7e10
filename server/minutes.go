package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) showMinutes(w http.ResponseWriter, r *http.Request) error {
	view, err := s.minutesForm(r)
	if err != nil {
		return err
	}
	return s.showOrRefuse(w, r, view.Problems, view)
}

// minutesForm fills the page of set-up against run and of learning, for the middle size of a
// colourway, with the question of the address.
func (s *Server) minutesForm(r *http.Request) (*page.Minutes, error) {
	view, f := &page.Minutes{}, form.FromQuery(r)
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	if view.Prices, err = s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{}); err != nil {
		return view, err
	}
	prices := view.Prices
	if view.Base, err = s.base(r, "Minutes and batch size: "+prices.Style.Name+", "+prices.Colourway.Name, "prices"); err != nil {
		return view, err
	}
	view.Raw = f.Values
	if len(prices.Sizes) == 0 {
		return view, notFound("size")
	}
	at := len(prices.Sizes) / 2
	view.Size = prices.Sizes[at]
	sheet := prices.Pricings[at].Sheet
	if view.Learnt, err = sheet.Inputs.Learning.Share(int64(prices.Use.Garments)); err != nil {
		return view, err
	}
	if err := fillOperations(view, sheet); err != nil {
		return view, err
	}
	if view.Sizes, err = prices.BatchSizes(sheet); err != nil {
		return view, err
	}
	view.Table, view.Chart = batchTable(view.Sizes), batchChart(view.Base, view.Sizes)
	if err := fillLearning(view, f); err != nil {
		return view, err
	}
	view.Problems = pageProblems(f)
	return view, nil
}

func fillOperations(view *page.Minutes, sheet costing.Sheet) error {
	prices := view.Prices
	for i, o := range prices.AverageWork(sheet.Inputs.Operations) {
		row := page.MinuteRow{Name: o.Name, SetUp: o.SetUp, Run: o.Run, Link: fmt.Sprintf("/prices/%d/markers#minutes", prices.Colourway.ID), Basis: "from the lays of your usual batch", Learns: o.Learns}
		if step := prices.Sources.Operations[i]; step >= 0 {
			row.Link = fmt.Sprintf("/styles/%d/steps/%d/study", prices.Style.ID, step)
			row.Basis = prices.Style.Operations[step].Basis
		}
		each, err := o.SetUp.Div(sheet.Inputs.Garments)
		if err != nil {
			return err
		}
		run := o.Run
		if o.Learns && sheet.Inputs.Learning.On() {
			if run, err = run.Mul(view.Learnt); err != nil {
				return err
			}
		}
		if row.Share, err = each.Add(run); err != nil {
			return err
		}
		view.Operations = append(view.Operations, row)
	}
	view.SetUp, view.Run = sumMinutes(view.Operations)
	return nil
}

func sumMinutes(rows []page.MinuteRow) (setUp, run money.Decimal) {
	var setUps, runs []money.Decimal
	for _, row := range rows {
		setUps, runs = append(setUps, row.SetUp), append(runs, row.Run)
	}
	setUp, _ = money.Sum(setUps...) // minutes of a day each: far from too large
	run, _ = money.Sum(runs...)
	return setUp, run
}

// batchTable picks the sizes that say most.
func batchTable(sizes workshop.BatchSizes) []costing.BatchPoint {
	wanted := []int64{1, 2, 4, 6, 12, 24, 48, 96, 192, sizes.Usual.Garments, sizes.Cheapest.Garments}
	var table []costing.BatchPoint
	for _, point := range sizes.Points {
		if slices.Contains(wanted, point.Garments) {
			table = append(table, point)
		}
	}
	return table
}

// The chart's box, in its own units.
const (
	chartWide, chartHigh = 420.0, 230.0
	chartLeft, chartTop  = 58.0, 16.0
	chartDown            = 34.0
)

// batchChart draws what one garment costs by batch size. The table below says the same.
func batchChart(base page.Base, sizes workshop.BatchSizes) template.HTML {
	if len(sizes.Points) < 2 {
		return ""
	}
	last := float64(sizes.Points[len(sizes.Points)-1].Garments)
	least, most := chartRange(sizes)
	x := func(n int64) float64 { return chartLeft + (float64(n)-1)/(last-1)*(chartWide-chartLeft-14) }
	y := func(a money.Amount) float64 {
		return chartTop + (most-a.Number().Float64())/(most-least)*(chartHigh-chartTop-chartDown)
	}
	var svg bytes.Buffer
	fmt.Fprintf(&svg, `<svg class="chart" role="img" viewBox="0 0 %.0f %.0f" aria-label="What work, expenses of the batch and keeping cost one garment, by batch size: %s alone, %s in the usual batch of %d, least %s at %d">`,
		chartWide, chartHigh, template.HTMLEscapeString(base.Money(sizes.Points[0].Total)), template.HTMLEscapeString(base.Money(sizes.Usual.Total)), sizes.Usual.Garments,
		template.HTMLEscapeString(base.Money(sizes.Cheapest.Total)), sizes.Cheapest.Garments)
	for _, share := range []float64{0, 0.5, 1} {
		value := money.NewAmount(money.New(int64((least+(most-least)*share)*100), 2), base.Currency)
		fmt.Fprintf(&svg, `<line class="grid" x1="%.0f" x2="%.0f" y1="%.1f" y2="%.1f"/><text class="axis end" x="%.0f" y="%.1f">%s</text>`,
			chartLeft, chartWide-14, y(value), y(value), chartLeft-6, y(value)+4, template.HTMLEscapeString(base.Money(value)))
	}
	svg.WriteString(`<polyline class="line" points="`)
	for _, p := range sizes.Points {
		fmt.Fprintf(&svg, "%.1f,%.1f ", x(p.Garments), y(p.Total))
	}
	svg.WriteString(`"/>`)
	fmt.Fprintf(&svg, `<text class="axis" x="%.0f" y="%.0f">1</text><text class="axis end" x="%.0f" y="%.0f">%.0f garments</text>`, chartLeft, chartHigh-chartDown+18, chartWide-6, chartHigh-chartDown+18, last)
	mark := func(p costing.BatchPoint, class, word string, up float64) {
		if float64(p.Garments) > last {
			return
		}
		place := ""
		if x(p.Garments) > chartWide*0.66 {
			place = " end"
		}
		fmt.Fprintf(&svg, `<circle class="%s" cx="%.1f" cy="%.1f" r="5"/><text class="%s%s" x="%.1f" y="%.1f">%s %d</text>`,
			class, x(p.Garments), y(p.Total), class, place, x(p.Garments)+4, y(p.Total)-up, word, p.Garments)
	}
	mark(sizes.Usual, "usual", "usual", 24)
	mark(sizes.Cheapest, "cheapest", "cheapest", 9)
	svg.WriteString(`</svg>`)
	return template.HTML(svg.String()) //nolint:gosec // numbers, and money that was escaped
}

func chartRange(sizes workshop.BatchSizes) (least, most float64) {
	least = sizes.Points[0].Total.Number().Float64()
	most = least
	for _, p := range sizes.Points {
		least, most = min(least, p.Total.Number().Float64()), max(most, p.Total.Number().Float64())
	}
	room := max((most-least)*0.12, 0.05)
	return max(0, least-room), most + room
}

// longestLearned is the longest run that the page works out.
const longestLearned = 100_000

func fillLearning(view *page.Minutes, f *form.Form) error {
	learning, err := startOfLearning(view)
	if err != nil {
		return err
	}
	view.Defaults = page.LearningDefaults{
		Minutes: learning.First.String(), Rate: learning.Rate.Percent().String(), At: fmt.Sprint(view.Prices.Costs.TimedGarment),
		Run: fmt.Sprint(view.Prices.Use.Garments), Model: learning.Model.String(),
	}
	at, run := view.Prices.Costs.TimedGarment, view.Prices.Use.Garments
	if f.Values.Has("learn_minutes") {
		learning.First, learning.Rate = f.Minutes("learn_minutes"), money.Percent(f.Decimal("learn_rate"))
		at, run = f.Int("learn_at", 1, longestLearned), f.Int("learn_run", 1, longestLearned)
		if err := learning.Model.UnmarshalText([]byte(f.Text("learn_model"))); err != nil {
			f.Wrong("learn_model", "Choose what gets shorter.")
		}
		if learning.First.Sign() <= 0 || money.Int(100_000).Less(learning.First) {
			f.Wrong("learn_minutes", "Write minutes above 0.")
		}
		if view.Late = f.Text("late_minutes") != "" || f.Text("late_at") != ""; view.Late {
			readLate(f, &learning, int64(at))
		} else if err := learning.Check(); err != nil && f.OK() {
			f.Wrong("learn_rate", "Write more than 50 % and at most 100 %.")
		}
		if !f.OK() {
			return nil
		}
	}
	if learning, err = learning.Reaching(learning.First, int64(at)); err != nil {
		return err
	}
	view.Learning = learning
	var counts []int64
	for n := int64(1); n < int64(run); n *= 2 {
		counts = append(counts, n)
	}
	for _, n := range append(counts, int64(run)) {
		row, err := learned(view, n)
		if err != nil {
			return err
		}
		view.Learned = append(view.Learned, row)
	}
	return nil
}

// readLate takes the rate of learning from a later garment that was timed.
func readLate(f *form.Form, learning *costing.Learning, at int64) {
	late := costing.Timed{N: int64(f.Int("late_at", 1, longestLearned)), Minutes: f.Minutes("late_minutes")}
	if !f.OK() {
		return
	}
	curve, err := costing.LearningBetween(costing.Timed{N: at, Minutes: learning.First}, late)
	var wrong costing.InputErrors
	switch {
	case err == nil:
		learning.Rate, learning.Model = curve.Rate, costing.UnitCurve
		return
	case errors.As(err, &wrong) && wrong[0].Field == "late.n":
		f.Wrong("late_at", fmt.Sprintf("Write a number after %d.", at))
	case errors.As(err, &wrong) && wrong[0].Field == "rate":
		f.Wrong("late_minutes", "No curve of learning goes through these two: the minutes must fall, but by less than half at each doubling.")
	default:
		f.Wrong("late_minutes", "Write minutes above 0.")
	}
}

// startOfLearning is the curve that the page begins with: that of the style where it learns, or
// else the workshop's, over the minutes of the steps that learn.
func startOfLearning(view *page.Minutes) (learning costing.Learning, err error) {
	for _, row := range view.Operations {
		if row.Learns {
			if learning.First, err = learning.First.Add(row.Run); err != nil {
				return learning, err
			}
		}
	}
	costs, model := view.Prices.Costs, view.Prices.Settings.LearningModel
	learning.Rate = money.Fraction(view.Prices.Settings.LearningRate)
	if costs.Learning != store.LearningOff {
		learning.Rate, model = money.Fraction(costs.LearningRate), costs.Learning
	}
	return learning, learning.Model.UnmarshalText([]byte(model))
}

func learned(view *page.Minutes, n int64) (row page.LearnedRow, err error) {
	row.Count = n
	if row.Nth, err = view.Learning.Nth(n); err != nil {
		return row, err
	}
	if row.Average, err = view.Learning.Average(n); err != nil {
		return row, err
	}
	if row.Total, err = view.Learning.Total(n); err != nil {
		return row, err
	}
	row.Cost, err = costing.LabourCost(row.Average.Round(6, money.HalfUp), view.Sizes.Cost.HourlyCost, money.HalfUp)
	return row, err
}

// firstSteps lead somebody who has never costed anything to a first price.
func (s *Server) firstSteps(ctx context.Context, base page.Base, whole *store.Whole) ([]page.FirstStep, error) {
	w, err := s.service.Workshop(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	priced := len(whole.Cloths) > 0 && !slices.ContainsFunc(whole.Cloths, func(c store.Cloth) bool { return c.Price.IsZero() })
	steps := []page.FirstStep{
		{Done: w.Wage.Sign() > 0, Text: fmt.Sprintf("Your hour: what you want to be paid for an hour of work. It is %s now.", base.Price(w.Wage)), Link: "/workshop#wage", Label: "Your hour"},
		{Done: len(whole.YearCosts) > 0 || w.OverheadYear.Sign() > 0, Text: "Your year: rent, power, machines, insurance. Each hour of work must bear its part.", Link: "/workshop/year", Label: "Costs of your year"},
		{Done: priced, Text: "Your cloth: what you really pay for it, with postage and tax.", Link: "/shelf", Label: "Your shelf"},
	}
	for _, step := range append(steps, styleSteps(whole)...) {
		if !step.Done {
			return append(steps, styleSteps(whole)...), nil
		}
	}
	return nil, nil
}

// styleSteps are the steps from a draft to a style in its cloths.
func styleSteps(whole *store.Whole) []page.FirstStep {
	steps := []page.FirstStep{{Done: len(whole.Styles) > 0, Text: "Your style: what it is cut from, and how long each step takes.", Link: "/styles/new", Label: "Start a style"}}
	colourway := page.FirstStep{Done: len(whole.Colourways) > 0, Text: "Your style in its cloth: that is what has a price.", Link: "/styles", Label: "Your styles"}
	if len(whole.Styles) == 0 {
		return append(steps, colourway)
	}
	style := whole.Styles[0]
	steps[0].Link, steps[0].Label = fmt.Sprintf("/styles/%d", style.ID), style.Name
	colourway.Link, colourway.Label = fmt.Sprintf("/styles/%d/colourways/new", style.ID), "Choose its cloths"
	if len(style.Notions) > 0 {
		step := page.FirstStep{
			Done: colourway.Done || len(whole.Notions) >= len(style.Notions), Link: "/shelf", Label: "Your shelf",
			Text: fmt.Sprintf("Its notions: %s takes %s besides its cloth.", style.Name, needsInWords(style)),
		}
		if missing := missingNotions(style, whole.Notions); len(missing) > 0 && !step.Done {
			step.Link, step.Label = missing[0].Link, missing[0].Label
		}
		steps = append(steps, step)
	}
	return append(steps, colourway)
}

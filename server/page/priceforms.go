package page

import (
	"fmt"
	"html/template"
	"strings"

	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// AskWhatIf is the form that asks what if of a page of prices.
func (b Base) AskWhatIf(page string) Form {
	percent := func(name, label string) Field { return b.NumberField(name, label, "", "") }
	return b.Question(page, []Field{
		percent("cloth", "Cloth dearer by, %"), percent("notions", "Notions dearer by, %"), percent("wage", "Wage up by, %"),
		percent("overhead", "Overhead up by, %"), percent("minutes", "Minutes up by, %"), percent("postage", "Postage up by, %"),
		b.NumberField("batch", "Batch size ×", "0.5 is half", ""),
	})
}

// Price is a style-colourway costed and priced by size.
type Price struct {
	Base
	WhatIf
	Prices    workshop.StylePrices
	Rows      []PriceRow
	Keystones []workshop.RetailCheck
	Minimums  []workshop.MinimumOrder
	// ProfitFormula is how profit is spoken of.
	ProfitFormula string
	Tried         *workshop.Tried
	Issued        []store.KeptPrices
	Batches       []store.Batch
}

func (Price) page() string { return "price" }

// Place is the address of the page.
func (v Price) Place() string { return fmt.Sprintf("/prices/%d", v.Prices.Colourway.ID) }

// AskedFields are the fields of the what-if that the page answers.
func (v Price) AskedFields() []UndoField {
	var fields []UndoField
	for field := range v.WhatIf.Form.all {
		if field.Value != "" {
			fields = append(fields, UndoField{Name: field.Name, Value: field.Value})
		}
	}
	return fields
}

// oneRuleWords explain the rules for one price.
var oneRuleWords = map[string]string{
	workshop.EachItsOwn:            "each size has its own price",
	costing.EverySizePays.String(): "one price: what the dearest size needs",
	costing.MixPays.String():       "one price: what the usual mix of sizes needs",
}

// OnePriceForm is the form that says whether all sizes share a price.
func (v Price) OnePriceForm() Form {
	var rules []Option
	for _, rule := range workshop.OnePriceRules() {
		rules = append(rules, Option{Value: rule, Text: oneRuleWords[rule]})
	}
	costs := v.Prices.Costs
	return v.Base.Form(v.Place(), v.Place(), costs.Version(), []Field{v.Choose("one_price", "For every colourway of this style", "", costs.OnePrice, rules)})
}

// TryForm is the form that asks what a price would leave.
func (v Price) TryForm() Form {
	var channels []Option
	for _, c := range v.Prices.Channels {
		channels = append(channels, Option{Value: fmt.Sprint(c.ID), Text: c.Settings.Name})
	}
	return v.Question(v.Place(), []Field{v.NumberField("try", "What if it sold for", "the price on the tag", ""), v.Choose("try_channel", "at", "", "", channels)})
}

// TypedScope are the maker's own prices of one colourway, or of every colourway of its style.
type TypedScope struct {
	// List is the list of the form.
	List, Name string
	Every      bool
}

// Scopes are those of the maker's own prices.
func (v Price) Scopes() []TypedScope {
	return []TypedScope{
		{List: "own", Name: "Only " + v.Prices.Colourway.Name},
		{List: "every", Name: "Every colourway of " + v.Prices.Style.Name, Every: true},
	}
}

// TypedSizes are the rows of a scope: all sizes, which is "", and each.
func (v Price) TypedSizes() []string { return append([]string{""}, v.Prices.Sizes...) }

// TypedForm is the form of the maker's own prices: a list for each scope, a row for each size, a box
// for each channel. An empty box asks for what is worked out.
func (v Price) TypedForm() Form {
	form := v.Base.Form(v.Place(), v.Place()+"/typed", store.ContentVersion(v.Prices.Typed))
	for _, scope := range v.Scopes() {
		var rows [][]Field
		for at, size := range v.TypedSizes() {
			var row []Field
			for c := range v.Prices.Channels {
				row = append(row, v.typed(scope, size, c, at-1))
			}
			rows = append(rows, row)
		}
		form = form.With(scope.List, rows)
	}
	return form
}

// typed is the box of one price; at is the place of its size, −1 for all sizes.
func (v Price) typed(scope TypedScope, size string, channel, at int) Field {
	sizes, of := "all sizes", v.Prices.Channels[channel]
	if size != "" {
		sizes = "size " + size
	}
	saved := ""
	for _, p := range v.Prices.Typed {
		if (p.ColourwayID == nil) == scope.Every && p.Size == size && p.ChannelID == of.ID {
			saved = v.InCoins(p.Price)
		}
	}
	label := strings.Join([]string{scope.Name, sizes, of.Settings.Name}, ", ")
	field := v.NumberField(TypedField(scope.Every, size, of.ID), label, "worked out "+v.workedOut(channel, at), saved)
	field.Class = "short"
	return field
}

// workedOut is what would be asked of a size without a typed price; of all sizes from the least to
// the most if it is −1.
func (v Price) workedOut(channel, size int) string {
	var span Span
	first := true
	for i := range v.Prices.Sizes {
		if size >= 0 && i != size {
			continue
		}
		asked := v.Prices.Asked[i][channel]
		if asked.IsTyped() {
			asked.Price = asked.Worked
		}
		span.Widen(asked.Price, first)
		first = false
	}
	return v.Span(span)
}

// Widen takes an amount into a span; the first one begins it.
func (s *Span) Widen(a money.Amount, first bool) {
	if first || a.Number().Less(s.Least.Number()) {
		s.Least = a
	}
	if first || s.Most.Number().Less(a.Number()) {
		s.Most = a
	}
}

// TypedField names the box of a typed price.
func TypedField(every bool, size string, channel int64) string {
	scope := "own"
	if every {
		scope = "every"
	}
	return fmt.Sprintf("typed.%s.%d.%s", scope, channel, size)
}

// AsksForStall reports whether a channel is a fair whose hours are not counted yet.
func (Price) AsksForStall(c costing.Channel) bool {
	return c.Kind == costing.Fair && c.Stall.Hours.IsZero()
}

// Terms say when a shop pays.
func (b Base) Terms(t costing.Terms) string {
	text := "It pays on delivery."
	if t.Days > 0 {
		text = "It pays within " + words.Count(t.Days, "day") + "."
	}
	if !t.Discount.IsZero() {
		text += fmt.Sprintf(" %s less within %s.", t.Discount.Format(b.Locale), words.Count(t.DiscountDays, "day"))
	}
	return text
}

// Minutes is set-up against run, and learning, for one colourway.
type Minutes struct {
	Base
	Prices     workshop.StylePrices
	Size       string
	Operations []MinuteRow
	SetUp, Run money.Decimal
	Sizes      workshop.BatchSizes
	Table      []costing.BatchPoint
	Chart      template.HTML
	Learning   costing.Learning
	Learned    []LearnedRow
	// Late tells that the rate was asked for from a later garment that was timed.
	Late     bool
	Defaults LearningDefaults
	// Learnt is the share of the minutes that learning leaves in the usual batch, where it is on.
	Learnt money.Decimal
}

func (Minutes) page() string { return "minutes" }

// LearningDefaults are what the form of learning starts with.
type LearningDefaults struct{ Minutes, Rate, At, Run, Model string }

func (v Minutes) place() string { return fmt.Sprintf("/prices/%d/minutes", v.Prices.Colourway.ID) }

// SalesForm is the form of how many sell in a year.
func (v Minutes) SalesForm() Form {
	costs := v.Prices.Costs
	return v.Form(v.place(), v.place(), costs.Version(),
		[]Field{v.NumberField("year_sales", "Garments of this style that sell in a year", "empty: not known", v.PlainInt(costs.YearSales))})
}

// LearningForm is the form that puts learning into the cost sheets. A style that has never learnt
// begins with the rate of the workshop.
func (v Minutes) LearningForm() Form {
	costs := v.Prices.Costs
	rate := costs.LearningRate
	if costs.Learning == store.LearningOff {
		rate = v.Prices.Settings.LearningRate
	}
	return v.Form(v.place(), fmt.Sprintf("/prices/%d/learning", v.Prices.Colourway.ID), costs.Version(), []Field{
		v.Choose("learning", "Learning", "unit: each garment gets quicker; average: the mean so far", costs.Learning, []Option{
			{Value: store.LearningOff, Text: "off"}, {Value: costing.UnitCurve.String(), Text: "on, for each garment"}, {Value: costing.AverageCurve.String(), Text: "on, for the average so far"},
		}),
		v.ShareField("learning_rate", "Each time the count doubles, one takes … % of the time", "100 is no learning", rate),
		v.NumberField("timed_garment", "Your minutes are those of garment number", "1: you timed the first one", max(1, costs.TimedGarment)),
	})
}

// RunForm is the form that asks how long the garments of a run take.
func (v Minutes) RunForm() Form {
	d := v.Defaults
	return v.Question(v.place(),
		[]Field{
			v.NumberField("learn_minutes", "Minutes of one garment", "without cutting and bundling", d.Minutes),
			v.NumberField("learn_at", "which was number", "1 is the first", d.At),
			v.NumberField("learn_rate", "Each time the count doubles, one takes … % of the time", "100 is no learning", d.Rate),
			v.Choose("learn_model", "What gets shorter", "", d.Model, []Option{
				{Value: costing.UnitCurve.String(), Text: "each garment (the second takes less time than the first)"}, {Value: costing.AverageCurve.String(), Text: "the average so far"},
			}),
			v.NumberField("learn_run", "Garments in the run", "", d.Run),
		},
		[]Field{v.NumberField("late_minutes", "Minutes of the later one", "", ""), v.NumberField("late_at", "which was number", "", "")},
	)
}

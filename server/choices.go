package server

import (
	"fmt"
	"net/http"
	"slices"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// locales are how money can be written; a workshop whose own is not among them keeps it.
var locales = []string{"en-US", "en-GB", "en-CA", "en-AU", "en-NZ", "en-IE", "de", "de-CH", "fr", "nl", "es", "it", "pt", "pl", "sv", "da", "nb", "fi", "ja"}

// choicesForm fills the page of the choices.
func (s *Server) choicesForm(r *http.Request) (*page.Choices, error) {
	view := &page.Choices{}
	var err error
	if view.Base, err = s.base(r, "How we count", "workshop"); err != nil {
		return view, err
	}
	if view.Settings, err = s.service.CostSettings(r.Context(), s.workshop); err != nil {
		return view, err
	}
	known := locales
	if !slices.Contains(known, view.Locale) {
		known = append([]string{view.Locale}, locales...)
	}
	for _, locale := range known {
		example := money.NewAmount(money.MustParse("1234.5"), view.Currency).Format(locale)
		view.Locales = append(view.Locales, page.Option{Value: locale, Text: example + " (" + locale + ")"})
	}
	view.Groups, err = choiceGroups(view)
	return view, err
}

func (s *Server) saveChoices(r *http.Request, f *form.Form, view *page.Choices) (saved, error) {
	c := view.Settings
	c.Version = f.Int("version", 0, 1<<30)
	for _, group := range view.Groups {
		*choiceOf(&c, group.Name) = f.Choice(group.Name, group.Values()...)
	}
	c.Allowance, c.Holding = money.Percent(f.Decimal("allowance")).Fraction(), money.Percent(f.Decimal("holding")).Fraction()
	c.LearningRate = money.Percent(f.Decimal("learning_rate")).Fraction()
	c.MixMonths = f.Int("mix_months", 1, 120)
	locale := f.Choice("locale", page.Field{Options: view.Locales}.Values()...)
	if !f.OK() {
		return saved{}, nil
	}
	return saved{"/workshop/choices", "choices"}, s.service.SaveChoices(r.Context(), s.workshop, c, locale)
}

// choiceOf is the setting that a group of the form chooses.
func choiceOf(c *store.CostSettings, name string) *string {
	return map[string]*string{
		"wastage_rule": &c.WastageRule, "allowance_rule": &c.AllowanceRule, "profit_rule": &c.ProfitRule, "rounding": &c.Rounding,
		"odd_cent": &c.OddCent, "valuation": &c.Valuation, "learning_model": &c.LearningModel,
	}[name]
}

// choiceGroups are the choices with their formulas and what each gives for one small example.
func choiceGroups(view *page.Choices) ([]page.Field, error) {
	wastage, err := wastageOptions(view)
	if err != nil {
		return nil, err
	}
	allowance, err := allowanceOptions(view)
	if err != nil {
		return nil, err
	}
	odd, err := oddOptions(view)
	if err != nil {
		return nil, err
	}
	first, average := costing.FirstInFirstOut, costing.WeightedAverage
	unit, cumulative := costing.UnitCurve, costing.AverageCurve
	amount := func(text string) string { return view.Money(money.NewAmount(money.MustParse(text), view.Currency)) }
	var rounding []page.Option
	for _, mode := range []money.Rounding{money.HalfUp, money.HalfEven, money.Up, money.Down} {
		half := money.NewAmount(money.New(25, view.Currency.Digits()+1), view.Currency)
		rounding = append(rounding, page.Option{Value: mode.String(), Text: mode.String(), Example: half.Number().String() + " becomes " + half.Round(mode).Format(view.Locale)})
	}
	groups := []page.Field{
		{Name: "wastage_rule", Label: "What 10 % wastage means", Hint: "Cloth and notions that are spoilt or left over.", Options: wastage},
		{Name: "allowance_rule", Label: "What an allowance means", Hint: "Time for rest, thread breaks and the telephone, which a stopwatch leaves out.", Options: allowance},
		{Name: "profit_rule", Label: "How profit is spoken of", Hint: "The money is the same; only the percentage differs.", Options: []page.Option{
			{Value: costing.Markup.String(), Text: "mark-up", Formula: costing.Markup.Formula(), Example: "cost " + amount("20") + ", price " + amount("25") + ": 25 %"},
			{Value: costing.Margin.String(), Text: "margin", Formula: costing.Margin.Formula(), Example: "cost " + amount("20") + ", price " + amount("25") + ": 20 %"},
		}},
		{Name: "rounding", Label: "How a line is rounded to the smallest coin", Hint: "Each line of a cost sheet; totals add the rounded lines.", Options: rounding},
		{Name: "odd_cent", Label: "Who gets the odd coin", Hint: "When a sum is shared out and doesn't come out even: the cloth of a batch, a mixed sale.", Options: odd},
		{Name: "valuation", Label: "What cloth from the shelf counts for", Hint: "When bolts of one cloth cost different amounts. A batch that is planned already keeps what it was planned with.", Options: []page.Option{
			{Value: first.String(), Text: first.String(), Formula: first.Formula(), Example: "a batch counts " + workshop.ValuedAt(first)},
			{Value: average.String(), Text: average.String(), Formula: average.Formula(), Example: "a batch counts " + workshop.ValuedAt(average)},
		}},
		{Name: "learning_model", Label: "What gets shorter as you learn a style", Hint: "The same rate means different times, so it is always named.", Options: []page.Option{
			{Value: unit.String(), Text: "each garment (the second takes less time than the first)", Formula: unit.Formula()},
			{Value: cumulative.String(), Text: "the average so far (cumulative average curve)", Formula: cumulative.Formula()},
		}},
	}
	for i := range groups {
		groups[i].Saved = *choiceOf(&view.Settings, groups[i].Name)
	}
	return groups, nil
}

func wastageOptions(view *page.Choices) ([]page.Option, error) {
	var options []page.Option
	for _, rule := range []costing.WastageRule{costing.WastageAdded, costing.WastageShare} {
		bought, err := costing.WithWastage(money.Int(9), money.MustPercent("10"), rule)
		if err != nil {
			return nil, err
		}
		text := map[costing.WastageRule]string{costing.WastageAdded: "a tenth more than is used", costing.WastageShare: "a tenth of what is bought"}[rule]
		unit := view.Units.System.Long().Symbol
		options = append(options, page.Option{Value: rule.String(), Text: text, Formula: rule.Formula(), Example: fmt.Sprintf("9 %s used: %s %s bought", unit, view.Number(bought, 2), unit)})
	}
	return options, nil
}

func allowanceOptions(view *page.Choices) ([]page.Option, error) {
	var options []page.Option
	for _, rule := range []costing.AllowanceRule{costing.AllowanceOfJob, costing.AllowanceOfDay} {
		minutes, err := costing.StandardMinutes(money.Int(10), money.MustPercent("15"), rule)
		if err != nil {
			return nil, err
		}
		text := map[costing.AllowanceRule]string{costing.AllowanceOfJob: "a share of the job's time, on top", costing.AllowanceOfDay: "a share of the working day"}[rule]
		options = append(options, page.Option{Value: rule.String(), Text: text, Formula: rule.Formula(), Example: fmt.Sprintf("10 min with 15 %%: %s min", view.Number(minutes, 2))})
	}
	return options, nil
}

func oddOptions(view *page.Choices) ([]page.Option, error) {
	var options []page.Option
	for _, rule := range []money.OddUnit{money.LargestRemainder, money.FirstParts, money.LastParts} {
		parts, err := money.AllocateBy(rule, money.FromMinor(100, view.Currency), []money.Decimal{money.Int(1), money.Int(2), money.Int(4)})
		if err != nil {
			return nil, err
		}
		text := map[money.OddUnit]string{money.LargestRemainder: "who lost most by rounding down", money.FirstParts: "the first in the list", money.LastParts: "the last in the list"}[rule]
		options = append(options, page.Option{
			Value: rule.String(), Text: text,
			Example: fmt.Sprintf("%s shared 1 : 2 : 4 is %s, %s, %s", view.Money(money.FromMinor(100, view.Currency)), view.Money(parts[0]), view.Money(parts[1]), view.Money(parts[2])),
		})
	}
	return options, nil
}

// yearForm fills the page of the costs and hours of a year.
func (s *Server) yearForm(r *http.Request) (*page.Year, error) {
	view := &page.Year{}
	var err error
	if view.Base, err = s.base(r, "Costs of your year", "workshop"); err != nil {
		return view, err
	}
	if view.Now, err = s.service.Workshop(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if view.Settings, err = s.service.CostSettings(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if view.Costs, err = s.service.YearCosts(r.Context(), s.workshop); err != nil {
		return view, err
	}
	list, year := workshop.YearOf(view.Costs, view.Now, view.Currency)
	if view.Rate, err = costing.Overhead(list, year, view.Currency); err != nil {
		return view, err
	}
	choices, err := workshop.Choices(view.Settings)
	if err != nil {
		return view, err
	}
	if view.Unpaid = choices.Unpaid; view.InOverhead() {
		err = fillUnpaid(view)
	}
	return view, err
}

// fillUnpaid works out what the unpaid hours of the year cost at the wage, and each productive hour.
func fillUnpaid(view *page.Year) error {
	unpaid, err := view.UnpaidHours()
	if err != nil {
		return err
	}
	cost, err := view.Now.Wage.Mul(unpaid)
	if err != nil {
		return err
	}
	view.UnpaidCost = money.NewAmount(cost, view.Currency).Round(money.HalfUp)
	each, err := cost.Div(view.Now.ProductiveHours)
	view.UnpaidEach = money.NewAmount(each, view.Currency)
	return err
}

func (s *Server) saveYear(r *http.Request, f *form.Form, view *page.Year) (saved, error) {
	settings := view.Settings
	settings.Version = f.Int("version", 0, 1<<30)
	settings.YearWeeks, settings.YearPeople = f.Decimal("weeks"), f.Decimal("people")
	settings.YearProductive = money.Percent(f.Decimal("productive")).Fraction()
	settings.UnpaidHours = f.Choice("unpaid_hours", costing.UnpaidInOverhead.String(), costing.UnpaidFromProfit.String())
	checkHours(f, settings)
	days := make([]int, len(view.Now.DayMinutes))
	for i := range days {
		days[i] = dayMinutes(f, fmt.Sprintf("day.%d", i))
	}
	costs := readYear(f)
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.SaveYear(r.Context(), s.workshop, costs, settings, days)
	return saved{"/workshop/year", "year"}, atRows(err, "cost", costRows(f))
}

// checkHours says at each box what no year of work has.
func checkHours(f *form.Form, c store.CostSettings) {
	if !f.WrongAt("weeks") && (c.YearWeeks.Sign() <= 0 || money.Int(53).Less(c.YearWeeks)) {
		f.Wrong("weeks", "Write more than 0 and at most 53 weeks.")
	}
	if !f.WrongAt("people") && c.YearPeople.Sign() <= 0 {
		f.Wrong("people", "Write how many work in the workshop.")
	}
	if !f.WrongAt("productive") && (c.YearProductive.Sign() <= 0 || money.Int(1).Less(c.YearProductive)) {
		f.Wrong("productive", "Write more than 0 % and at most 100 %.")
	}
}

func costRows(f *form.Form) []int { return filledRows(f, "cost", page.MostCosts, "name", "amount") }

// readYear reads the costs of a year; rows without a name and an amount are left out.
func readYear(f *form.Form) []store.YearCost {
	var costs []store.YearCost
	for _, row := range costRows(f) {
		field := func(part string) string { return fmt.Sprintf("cost.%d.%s", row, part) }
		cost := store.YearCost{Name: f.Needed(field("name"), "Say what it is for."), Amount: f.Money(field("amount")), Years: money.Int(1), Share: money.Int(1)}
		if f.Text(field("years")) != "" {
			if cost.Years = f.Decimal(field("years")); cost.Years.Sign() <= 0 {
				f.Wrong(field("years"), "Write how many years it lasts; 1 if it is paid every year.")
			}
		}
		if f.Text(field("share")) != "" {
			cost.Share = money.Percent(f.Decimal(field("share"))).Fraction()
			if cost.Share.Sign() <= 0 || money.Int(1).Less(cost.Share) {
				f.Wrong(field("share"), "Write more than 0 % and at most 100 %.")
			}
		}
		if cost.Amount.Sign() < 0 {
			f.Wrong(field("amount"), "Write an amount of 0 or more.")
		}
		costs = append(costs, cost)
	}
	return costs
}

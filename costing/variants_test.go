package costing

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
)

// Variants of the published examples in testdata/costing/examples.json, whose sources stand there:
// the same formulas at their edges, the answers worked out by hand in fractions.

// Price for a net: (target + fixed) ÷ (1 ÷ (1 + tax) − share), rounded up (examples F-04 and F-08).
func TestVariantsOfThePriceForANet(t *testing.T) {
	t.Parallel()
	yen, dinar := money.MustCurrency("JPY"), money.MustCurrency("KWD")
	for _, test := range []struct {
		name, target, share, fixed string
		tax                        Tax
		currency                   money.Currency
		want                       string
	}{
		{"as F-04", "20", "6.5", "0.3", Tax{}, usd, "21.72"},
		{"no share", "20", "0", "0.3", Tax{}, usd, "20.3"},
		{"no fee at all", "20", "0", "0", Tax{}, usd, "20"},
		{"nothing to keep", "0", "6.5", "0.3", Tax{}, usd, "0.33"}, // 0.3 ÷ 0.935 = 0.3208…
		{"as F-08", "20", "5", "0.3", Tax{percent("20"), true}, usd, "25.92"},
		{"tax of 0 % included", "20", "5", "0.3", Tax{percent("0"), true}, usd, "21.37"}, // 20.3 ÷ 0.95 = 21.3684…
		{"tax added at the till", "20", "5", "0.3", Tax{percent("20"), false}, usd, "21.6"},
		{"yen have no decimals", "2000", "3.6", "40", Tax{}, yen, "2117"},                 // 2116.18…
		{"dinars have three", "20", "6.5", "0.3", Tax{}, dinar, "21.712"},                 // 21.71122…
		{"exact to the cent stays", "18.7", "6.5", "0", Tax{}, usd, "20"},                 // 18.7 ÷ 0.935
		{"most of the price is fee", "1", "99", "0", Tax{}, usd, "100"},                   // 1 ÷ 0.01
		{"tax and fee leave a cent", "1", "80", "0", Tax{percent("20"), true}, usd, "30"}, // 1 ÷ (1/1.2 − 0.8)
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			p := pricerOf(t, Channel{
				Name: "Online", Kind: Online, Currency: test.currency, Tax: test.tax,
				Fees: []Fee{{Name: "Fee", Rate: percent(test.share), Fixed: money.NewAmount(num(test.fixed), test.currency)}},
			})
			floor, err := p.Floor(Garment{Cost: money.NewAmount(num(test.target), test.currency)})
			require.NoError(t, err)
			require.Equal(t, money.NewAmount(num(test.want), test.currency), floor)
		})
	}
}

// Mark-up and margin (examples P-04, P-05), down to a sale below cost.
func TestVariantsOfMarkupAndMargin(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ name, cost, price, markup, margin string }{
		{"keystone", "10", "20", "100", "50"},
		{"no profit", "10", "10", "0", "0"},
		{"a quarter lost", "20", "15", "-25", "-33.3333"},
		{"a cent on a cent", "0.01", "0.02", "100", "50"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			cost, price := dollars(test.cost), dollars(test.price)
			profit, err := ProfitOf(cost, price)
			require.NoError(t, err)
			require.Equal(t, percent(test.markup), profit.Markup.Round(4))
			require.Equal(t, percent(test.margin), profit.Margin.Round(4))
			margin, err := MarginFromMarkup(profit.Markup)
			require.NoError(t, err)
			require.Equal(t, percent(test.margin), margin.Round(4))
			markup, err := MarkupFromMargin(profit.Margin)
			require.NoError(t, err)
			require.Equal(t, percent(test.markup), markup.Round(4))
			again, err := PriceAtMarkup(cost, profit.Markup, money.HalfUp)
			require.NoError(t, err)
			require.Equal(t, price, again)
			again, err = PriceAtMargin(cost, profit.Margin, money.HalfUp)
			require.NoError(t, err)
			require.Equal(t, price, again)
		})
	}
}

// Time study (examples W-02 and W-03) under the other convention than theirs.
func TestVariantsOfStandardMinutes(t *testing.T) {
	t.Parallel()
	readings := []money.Decimal{num("27"), num("19"), num("20"), num("21"), num("13")}
	for _, test := range []struct {
		name, rating, allowance string
		rule                    AllowanceRule
		want                    string
	}{
		{"of the day, as W-02", "120", "20", AllowanceOfDay, "30"},
		{"of the job", "120", "20", AllowanceOfJob, "28.8"},
		{"no allowance, by the day", "120", "0", AllowanceOfDay, "24"},
		{"no allowance, by the job", "120", "0", AllowanceOfJob, "24"},
		{"steady pace", "100", "0", AllowanceOfJob, "20"},
		{"as long again", "100", "100", AllowanceOfJob, "40"},
		{"half the day", "100", "50", AllowanceOfDay, "40"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			found, err := Study{Elements: []Element{{Rating: percent(test.rating), Readings: readings}}, Allowance: percent(test.allowance), Rule: test.rule}.Time()
			require.NoError(t, err)
			require.Equal(t, num(test.want), found.Standard)
		})
	}
	found, err := Study{Elements: []Element{{Readings: readings[:1]}}}.Time()
	require.NoError(t, err)
	require.Equal(t, num("27"), found.Standard, "one cycle is a study, if a poor one")
	same, err := CyclesILO([]money.Decimal{num("5"), num("5"), num("5")})
	require.NoError(t, err)
	require.Zero(t, same.Count, "what never varies needs no more cycles")
}

// The cost sheet of example C-03 at its edges.
func TestVariantsOfACostSheet(t *testing.T) {
	t.Parallel()
	of := func(change func(*Inputs)) Sheet {
		in := Inputs{
			Currency: usd, Garments: num("1"), Wage: dollars("18"), Overhead: dollars("7.5"),
			Cloths:     []Cloth{{Role: "body", Name: "Fabric", Length: num("0.9"), Unit: "m", Price: Priced(dollars("8")), Wastage: percent("10")}},
			Operations: []Operation{{Name: "Make", Run: num("24"), SetUp: num("6")}},
		}
		change(&in)
		sheet, err := NewSheet(in)
		require.NoError(t, err)
		return sheet
	}
	for _, test := range []struct {
		name                                   string
		change                                 func(*Inputs)
		materials, labour, overhead, all, paid string
	}{
		{"one garment bears all the set-up", func(*Inputs) {}, "7.92", "9", "3.75", "20.67", "30"},
		{"six share it", func(in *Inputs) { in.Garments = num("6") }, "7.92", "7.5", "3.13", "18.55", "25"}, // 25 ÷ 60 × 7.5 = 3.125
		{"no labour", func(in *Inputs) { in.Operations = nil }, "7.92", "0", "0", "7.92", "0"},
		{"unpaid labour bears overhead all the same", func(in *Inputs) { in.Wage = usd.Zero() }, "7.92", "0", "3.75", "11.67", "30"},
		{"no cloth", func(in *Inputs) { in.Cloths = nil }, "0", "9", "3.75", "12.75", "30"},
		{"nothing at all", func(in *Inputs) { in.Cloths, in.Operations = nil, nil }, "0", "0", "0", "0", "0"},
		{"wastage as a share", func(in *Inputs) { in.Settings.Wastage = WastageShare }, "8", "9", "3.75", "20.75", "30"}, // 0.9 ÷ 0.9 × 8
		{"half the cloth wasted, added", func(in *Inputs) { in.Cloths[0].Wastage = percent("50") }, "10.8", "9", "3.75", "23.55", "30"},
		{"half the cloth wasted, as a share", func(in *Inputs) {
			in.Cloths[0].Wastage, in.Settings.Wastage = percent("50"), WastageShare
		}, "14.4", "9", "3.75", "27.15", "30"},
		{"slower than standard", func(in *Inputs) { in.Efficiency = percent("50") }, "7.92", "18", "7.5", "33.42", "60"},
		{"rounded down", func(in *Inputs) {
			in.Garments, in.Settings.Rounding = num("6"), money.Down
		}, "7.92", "7.5", "3.12", "18.54", "25"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			sheet := of(test.change)
			require.Equal(t, dollars(test.materials), sheet.Materials)
			require.Equal(t, dollars(test.labour), sheet.Labour)
			require.Equal(t, dollars(test.overhead), sheet.Overhead)
			require.Equal(t, dollars(test.all), sheet.Total)
			require.Equal(t, num(test.paid), sheet.MinutesPaid)
		})
	}
}

// Break-even in money: fixed ÷ (contribution ÷ price), with the numbers of example P-08.
func TestVariantsOfBreakEven(t *testing.T) {
	t.Parallel()
	even, err := BreakEvenOf(dollars("20000"), usd.Zero(), dollars("400"), dollars("250"))
	require.NoError(t, err)
	require.Equal(t, percent("37.5"), even.Ratio)
	require.Equal(t, dollars("53333.33"), even.ExactRevenue.Round(money.HalfUp), "20,000 ÷ 0.375")
	require.Equal(t, dollars("53600"), even.Revenue, "134 whole ones")
	with, err := BreakEvenOf(dollars("20000"), dollars("10000"), dollars("400"), dollars("250"))
	require.NoError(t, err)
	require.Equal(t, int64(200), with.Units)
	require.Equal(t, dollars("80000"), with.ExactRevenue)
	none, err := BreakEvenOf(usd.Zero(), usd.Zero(), dollars("400"), dollars("250"))
	require.NoError(t, err)
	require.Zero(t, none.Units)
}

// The curve through two timed garments is the one that examples L-10 were taken from.
func TestLearningBetween(t *testing.T) {
	t.Parallel()
	curve, err := LearningBetween(Timed{4, num("64000")}, Timed{32, num("32768")})
	require.NoError(t, err)
	require.Equal(t, percent("80"), curve.Rate.Round(6))
	require.Equal(t, num("100000"), curve.First.Round(2, money.HalfUp))
	same, err := LearningBetween(Timed{1, num("20")}, Timed{9, num("20")})
	require.NoError(t, err)
	require.Equal(t, percent("100"), same.Rate)
	for _, test := range []struct {
		name, field string
		early, late Timed
	}{
		{"the wrong way round", "late.n", Timed{8, num("20")}, Timed{2, num("30")}},
		{"the same one twice", "late.n", Timed{8, num("20")}, Timed{8, num("20")}},
		{"slower and slower", "rate", Timed{1, num("20")}, Timed{2, num("21")}},
		{"in no time", "late.minutes", Timed{1, num("20")}, Timed{2, num("0")}},
		{"half at each doubling", "rate", Timed{1, num("20")}, Timed{2, num("10")}},
	} {
		_, err := LearningBetween(test.early, test.late)
		var found InputErrors
		require.ErrorAs(t, err, &found, test.name)
		require.Equal(t, test.field, found[0].Field, test.name)
	}
}

// A price says why, also where there is no work in it, or nothing at all.
func TestWhyWithoutWork(t *testing.T) {
	t.Parallel()
	ch := Channel{Name: "Fair", Currency: usd, Target: Target{Kind: TargetProfit, Amount: dollars("5")}}
	bought, err := pricerOf(t, ch).Quote(Garment{Cost: dollars("10")})
	require.NoError(t, err)
	require.Equal(t, "$15.00 is $10.00 to make it and $5.00 profit, because you want to keep $5.00 more than it costs: no work of yours is in it.", bought.Why("en-US"))
	ch.Target = Target{Kind: TargetMarkup}
	free, err := pricerOf(t, ch).Quote(Garment{})
	require.NoError(t, err)
	require.Equal(t, "$0.00 is nothing at all, because you want it to pay for itself: no work of yours is in it.", free.Why("en-US"))
}

// What makes no sense is refused at its field, in words, and never answered with a number.
func TestNonsenseIsRefusedAtItsField(t *testing.T) {
	t.Parallel()
	sheet := func(change func(*Inputs)) error {
		in := Inputs{Currency: usd, Garments: num("1"), Wage: dollars("18"), Cloths: []Cloth{{Role: "body", Unit: "m", Length: num("1"), Price: Priced(dollars("8"))}}}
		change(&in)
		_, err := NewSheet(in)
		return err
	}
	quote := func(change func(*Channel)) error {
		ch := Channel{Name: "Fair", Currency: usd, Fees: []Fee{{Name: "Card"}}}
		change(&ch)
		_, err := ch.Pricer()
		return err
	}
	yen := money.NewAmount(num("4"), money.MustCurrency("JPY"))
	second := func(_ any, err error) error { return err }
	for _, test := range []struct {
		name, field, words string
		err                error
	}{
		{"no currency, said once", "currency", "is missing", sheet(func(in *Inputs) { in.Currency = money.Currency{} })},
		{"wastage rule", "settings.wastage", "choose added, share", sheet(func(in *Inputs) { in.Settings.Wastage = 9 })},
		{"allowance rule", "settings.allowance", "choose job, day", sheet(func(in *Inputs) { in.Settings.Allowance = 9 })},
		{"profit rule", "settings.profit", "choose mark-up, margin", sheet(func(in *Inputs) { in.Settings.Profit = 9 })},
		{"valuation", "settings.valuation", "weighted average", sheet(func(in *Inputs) { in.Settings.Valuation = 9 })},
		{"rounding", "settings.rounding", "half up", sheet(func(in *Inputs) { in.Settings.Rounding = 9 })},
		{"odd cent", "settings.odd_cent", "largest remainder", sheet(func(in *Inputs) { in.Settings.OddCent = 9 })},
		{"all of it wasted", "cloths[0].wastage", "below 100 %", sheet(func(in *Inputs) { in.Settings.Wastage, in.Cloths[0].Wastage = WastageShare, percent("100") })},
		{"negative pace", "efficiency", "less than 0 %, but is -5 %", sheet(func(in *Inputs) { in.Efficiency = percent("-5") })},
		{"margin of everything", "target.rate", "below 100 %", quote(func(ch *Channel) { ch.Target = Target{Kind: TargetMargin, Rate: percent("100")} })},
		{"negative mark-up", "target.rate", "less than 0 %", quote(func(ch *Channel) { ch.Target = Target{Kind: TargetMarkup, Rate: percent("-1")} })},
		{"negative pay", "target.amount", "less than 0", quote(func(ch *Channel) { ch.Target = Target{Kind: TargetHourly, Amount: dollars("-1")} })},
		{"kind of channel", "kind", "choose fair, shop, online", quote(func(ch *Channel) { ch.Kind = 9 })},
		{"base of a fee", "fees[0].on", "choose gross, net", quote(func(ch *Channel) { ch.Fees[0].On = 9 })},
		{"unit of a fee", "fees[0].per", "choose sale, item", quote(func(ch *Channel) { ch.Fees[0].Per = 9 })},
		{"negative fee", "fees[0].rate", "from 0 % to below 100 %", quote(func(ch *Channel) { ch.Fees[0].Rate = percent("-1") })},
		{"negative tax on top", "rate", "less than 0 %", second(AddTax(dollars("10"), percent("-20"), money.HalfUp))},
		{"negative tax within", "rate", "less than 0 %", second(TaxWithin(dollars("10"), percent("-20"), money.HalfUp))},
		{"share of everything", "rate", "below 100 %", second(GrossUp(dollars("10"), percent("100"), money.HalfUp))},
		{"no cost to compare with", "cost", "more than 0", second(ProfitOf(usd.Zero(), dollars("5")))},
		{"price in another currency", "price", "is in JPY, but must be in USD", second(ProfitOf(dollars("5"), yen))},
		{"a mark-up that leaves no price", "markup", "more than -100 %", second(MarginFromMarkup(percent("-100")))},
		{"a margin of everything", "margin", "below 100 %", second(MarkupFromMargin(percent("100")))},
		{"a price below nothing", "markup", "-100 % or more", second(PriceAtMarkup(dollars("10"), percent("-150"), money.HalfUp))},
		{"no price at 100 %", "margin", "below 100 %", second(PriceAtMargin(dollars("10"), percent("100"), money.HalfUp))},
		{"break-even in two currencies", "variable", "must be in USD", second(BreakEvenOf(dollars("9"), usd.Zero(), dollars("5"), yen))},
		{"break-even that never comes", "price", "never covers", second(BreakEvenOf(dollars("9"), usd.Zero(), dollars("4"), dollars("4")))},
		{"negative rating", "rating", "less than 0 %", second(BasicMinutes(num("2"), percent("-10")))},
		{"negative minutes watched", "observed", "less than 0", second(BasicMinutes(num("-2"), percent("100")))},
		{"negative standard", "standard", "less than 0", second(MinutesPaid(num("-2"), percent("80")))},
		{"no pace", "efficiency", "more than 0 %", second(MinutesPaid(num("2"), money.Rate{}))},
		{"negative minutes paid", "minutes", "less than 0", second(LabourCost(num("-2"), dollars("18"), money.HalfUp))},
		{"mean of nothing", "mean", "more than 0", second(CyclesForAccuracy(num("2"), num("0.1"), num("0"), percent("5")))},
		{"accuracy of nothing", "accuracy", "more than 0 %", second(CyclesForAccuracy(num("2"), num("0.1"), num("3"), money.Rate{}))},
		{"error of nothing", "error", "more than 0 %", second(CyclesForShare(num("2"), percent("30"), money.Rate{}))},
		{"a day that is all rest", "allowance", "below 100 %", second(StandardMinutes(num("2"), percent("100"), AllowanceOfDay))},
		{"negative quantity", "quantity", "less than 0", second(WithWastage(num("-1"), percent("10"), WastageAdded))},
		{"rule of wastage", "rule", "choose added, share", second(WithWastage(num("1"), percent("10"), 9))},
		{"sold at a loss", "under", "take none", second(Stake{Under: dollars("-3"), Over: dollars("7")}.Ratio())},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			var found InputErrors
			require.ErrorAs(t, test.err, &found)
			require.Len(t, found, 1)
			require.Equal(t, test.field, found[0].Field)
			require.Contains(t, found[0].Message, test.words)
		})
	}
	_, err := money.AllocateUnits(money.OddUnit(9), 10, []money.Decimal{num("1")})
	require.ErrorIs(t, err, money.ErrOddUnit)
}

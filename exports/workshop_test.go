package exports

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/costing"
	"yardwright/costing/money"
)

// awkward are texts that a spreadsheet could take for something else, after the list of the
// OWASP page on CSV injection, and others that files choke on.
var awkward = []string{
	"=1+1", "+1-1", "-2+3", "@SUM(A1:A9)", "=HYPERLINK(\"x\",\"y\")", "\tTab first", "'quoted", "=cmd|' /C calc'!A0",
	"Rød & grøn <b>\"stribe\"</b>", "麻布 藍", "Émile’s 🪡 linen", "1/2", "TRUE", "3-4", "#REF!", "{=1}", "a&b&&c", "_x0041_", "long " + "name name name name name name name",
	"*", "?", "~x", ">5", "100%", "1e5", "new\nline", "R1C1",
}

// testWorkshop is a made-up workshop: what a batch is planned from, what is priced, and how it
// is written.
type testWorkshop struct {
	seed     uint64
	options  Options
	input    batch.Input
	pricing  []costing.Inputs
	channels []costing.Channel
}

// maker draws everything of a workshop from one seed.
type maker struct {
	*rand.Rand
	currency money.Currency
}

func (m *maker) pick(texts ...string) string { return texts[m.IntN(len(texts))] }

// name is a plain name or an awkward one, always another one.
func (m *maker) name(what string, i int) string {
	if m.IntN(2) == 0 {
		return fmt.Sprintf("%s %s %d", awkward[m.IntN(len(awkward))], what, i)
	}
	return fmt.Sprintf("%s %d", what, i)
}

// decimal is a number below most with up to places decimals.
func (m *maker) decimal(most int64, places int) money.Decimal {
	for range places {
		most *= 10
	}
	return money.New(m.Int64N(most)+1, places)
}

func (m *maker) amount(most int64) money.Amount {
	return money.NewAmount(m.decimal(most, m.IntN(3)+1).Round(m.currency.Digits()+1, money.HalfUp), m.currency)
}

func (m *maker) payable(most int64) money.Amount {
	return money.NewAmount(m.decimal(most, m.currency.Digits()), m.currency)
}

func (m *maker) percent(most int64) money.Rate { return money.Percent(m.decimal(most, 1)) }

// maybe returns a rate or none.
func (m *maker) maybe(most int64) money.Rate {
	if m.IntN(2) == 0 {
		return money.Rate{}
	}
	return m.percent(most)
}

func newTestWorkshop(t testing.TB, seed uint64) testWorkshop {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, 11))}
	m.currency = money.MustCurrency(m.pick("USD", "EUR", "GBP", "JPY", "KWD", "SEK"))
	w := testWorkshop{seed: seed}
	w.options = Options{
		Workshop: m.name("Workroom", 1), Lengths: length.Style{System: length.Imperial, Fraction: 8 * (1 + m.IntN(2))},
		Locale: m.pick("en-US", "de", "fr-CA", "sv", "ja", "en-GB"), Currency: m.currency, Date: time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC),
	}
	if m.IntN(2) == 0 {
		w.options.Lengths.System = length.Metric
	}
	w.input = m.input(t)
	w.channels = m.channels()
	w.pricing = m.pricings(w.options.long().Symbol)
	return w
}

// input is a small workshop with a few orders.
func (m *maker) input(t testing.TB) batch.Input {
	in := batch.Input{Name: m.name("Batch", 1), Start: time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)}
	in.Workroom = batch.Workroom{
		TableLength: 3 * length.Metre, MaxPlies: map[batch.Thickness]int{batch.Thin: 6, batch.Medium: 4, batch.Thick: 2}, EndLoss: length.Length(m.IntN(3)) * length.Inch / 2,
		KeepLength: 30 * length.Centimetre, CutStep: length.Inch / 8, BuyStep: length.Yard / 8, BundleSize: 1 + m.IntN(5), PerBundle: time.Duration(m.IntN(90)) * time.Second,
		Rates:      lay.Rates{SetUp: time.Duration(m.IntN(600)) * time.Second, SpreadPerMetre: 30 * time.Second, CutPerMetre: time.Duration(20+m.IntN(40)) * time.Second, PerHour: 20_000_000},
		Spread:     []lay.Spread{lay.FaceOneWay, lay.FaceToFace, lay.FoldedLengthwise}[m.IntN(3)],
		Efficiency: 700 + m.IntN(500), Calendar: batch.Calendar{Minutes: [7]int{0, 300, 300, 300, 300, 300, 0}},
	}
	for i := range 2 + m.IntN(3) {
		cloth := batch.Cloth{
			ID: int64(i + 1), Name: m.name("cloth", i), FullWidth: length.Length(42+m.IntN(20)) * length.Inch, Selvage: length.Inch / 2, PricePerMetre: lay.Money(m.IntN(20_000_000)),
			Nap:       []batch.Nap{batch.NapEitherWay, batch.NapOneWay, batch.NapUpAndDown}[m.IntN(3)],
			Thickness: []batch.Thickness{batch.Thin, batch.Medium, batch.Thick}[m.IntN(3)], CanBuy: m.IntN(4) > 0, Shrink: garment.Shrinkage{Lengthwise: m.IntN(500), Crosswise: m.IntN(300)},
		}
		if m.IntN(3) == 0 {
			cloth.Repeat = marker.Repeat{Length: length.Length(2+m.IntN(6)) * length.Inch}
		}
		in.Cloths = append(in.Cloths, cloth)
		for j := range m.IntN(3) {
			in.Bolts = append(in.Bolts, batch.Bolt{
				ID: int64(10*i + j + 1), Cloth: cloth.ID, Name: m.name("bolt", 10*i+j), Lot: m.pick("A", "B", "24-07", "=2"),
				Length: length.Length(1+m.IntN(8)) * length.Yard, PricePerMetre: cloth.PricePerMetre, Place: m.name("shelf", j),
			})
		}
	}
	in.Notions = []batch.Notion{
		{ID: 1, Name: m.name("elastic", 1), Kind: batch.FromRoll, Rolls: []batch.Roll{{Length: 5 * length.Metre, Count: m.IntN(3)}, {Length: 90 * length.Centimetre, Count: m.IntN(2)}}, BuyLength: 10 * length.Metre, BuyPrice: lay.Money(m.IntN(9_000_000))},
		{ID: 2, Name: m.name("thread", 2), Kind: batch.ByLength, Rolls: []batch.Roll{{Length: 100 * length.Metre, Count: 1}}, BuyLength: 1000 * length.Yard, BuyPrice: 4_800_000},
		{ID: 3, Name: m.name("label", 3), Kind: batch.ByCount, Count: m.IntN(5), BuyCount: 50, BuyPrice: 7_333_333},
	}
	starters := garment.Starters()
	for i := range 1 + m.IntN(2) {
		starter := starters[m.IntN(len(starters))]
		style := starter.Style(nil)
		style.Name = m.name(starter.Name, i)
		chart := chartNamed(t, starter.Chart)
		in.Styles = append(in.Styles, batch.Style{ID: int64(i + 1), Style: style, Chart: chart})
		way := batch.Colourway{ID: int64(i + 1), Style: int64(i + 1), Name: m.name("colourway", i), Cloths: map[garment.Role]int64{}, Notions: map[string]int64{}}
		for _, role := range style.Roles() {
			way.Cloths[role] = in.Cloths[m.IntN(len(in.Cloths))].ID
		}
		for _, need := range style.Notions {
			way.Notions[need.Notion] = map[string]int64{"thread": 2, "label": 3}[need.Notion]
			if way.Notions[need.Notion] == 0 {
				way.Notions[need.Notion] = 1
			}
		}
		in.Colourways = append(in.Colourways, way)
		sizes := chart.SizeNames()
		for j := range 1 + m.IntN(4) {
			in.Lines = append(in.Lines, batch.Line{
				OrderLine: int64(j), Order: m.name("order", j), Customer: m.name("customer", j), Due: in.Start.AddDate(0, 0, m.IntN(9)),
				Colourway: way.ID, Size: sizes[m.IntN(len(sizes))], Quantity: 1 + m.IntN(4),
			})
		}
	}
	return in
}

// landed is a landed price with any of its parts.
func (m *maker) landed(most int64) costing.LandedPrice {
	p := costing.LandedPrice{List: m.amount(most), Discount: m.maybe(40), Tax: m.maybe(25)}
	if m.IntN(2) == 0 {
		p.For = m.decimal(200, 1)
	}
	if m.IntN(2) == 0 {
		p.Freight = m.amount(2)
	}
	return p
}

// pricings are the cost sheets' inputs of a few sizes of a style or two.
func (m *maker) pricings(unit string) []costing.Inputs {
	base := costing.Inputs{
		Currency: m.currency, Garments: m.decimal(40, 0), Wage: m.amount(40), Efficiency: money.Percent(m.decimal(60, 1)), Overhead: m.amount(15),
		Settings: costing.Settings{Wastage: costing.WastageRule(m.IntN(2)), Rounding: money.Rounding(m.IntN(4)), Unpaid: costing.UnpaidRule(m.IntN(2))},
	}
	if m.IntN(3) > 0 {
		base.Productive = money.Percent(money.Int(30 + m.Int64N(71)))
	}
	if m.IntN(4) == 0 {
		base.Efficiency = money.Rate{}
	}
	if m.IntN(4) == 0 {
		base.Overhead = money.Amount{}
	}
	learns := m.IntN(2) == 0
	var all []costing.Inputs
	for style := range 1 + m.IntN(2) {
		in := base
		in.Style, in.Colourway = m.name("style", style), m.name("colourway", style)
		if m.IntN(3) == 0 {
			in.Garments = m.decimal(40, 0)
		}
		if learns && m.IntN(3) > 0 {
			in.Learning = costing.Learned{Rate: money.Percent(money.Int(60 + m.Int64N(40))), Model: costing.LearningModel(m.IntN(2)), At: m.Int64N(30)}
		}
		for i := range 1 + m.IntN(3) {
			in.Cloths = append(in.Cloths, costing.Cloth{Role: m.pick("body", "band", "=lining"), Name: m.name("cloth", i), Unit: unit, Price: m.landed(30), Wastage: m.maybe(20)})
		}
		for i := range m.IntN(4) {
			in.Notions = append(in.Notions, costing.Notion{Name: m.name("notion", i), Unit: m.pick("pc", unit), Price: m.landed(12), Wastage: m.maybe(10)})
		}
		for i := range 1 + m.IntN(5) {
			o := costing.Operation{Name: m.name("operation", i), SetUp: m.decimal(15, 1), Run: m.decimal(25, 2), Learns: m.IntN(3) > 0}
			if m.IntN(5) == 0 {
				o.Learns, o.Worked = false, true
			}
			if m.IntN(4) == 0 {
				o.Wage = m.amount(30)
			}
			in.Operations = append(in.Operations, o)
		}
		for i := range m.IntN(3) {
			e := costing.Expense{Name: m.name("expense", i), Amount: m.amount(60)}
			if m.IntN(2) == 0 {
				e.Garments = m.decimal(50, 0)
			} else if m.IntN(2) == 0 {
				e.PerBatch = true
			}
			in.Expenses = append(in.Expenses, e)
		}
		for i := range m.IntN(3) {
			in.Packing = append(in.Packing, costing.Notion{Name: m.name("packing", i), Unit: "pc", Price: m.landed(9)})
		}
		for size := range 1 + m.IntN(4) {
			all = append(all, m.sized(in, m.name("size", size)))
		}
	}
	return all
}

// sized gives inputs a size, with its own lengths and quantities.
func (m *maker) sized(in costing.Inputs, size string) costing.Inputs {
	in.Size = size
	in.Cloths = append([]costing.Cloth(nil), in.Cloths...)
	for i := range in.Cloths {
		in.Cloths[i].Length, in.Cloths[i].EndsAndLosses = m.decimal(2, 6), m.decimal(1, 4)
	}
	in.Notions = append([]costing.Notion(nil), in.Notions...)
	for i := range in.Notions {
		in.Notions[i].Quantity = m.decimal(9, 3)
	}
	in.Packing = append([]costing.Notion(nil), in.Packing...)
	for i := range in.Packing {
		in.Packing[i].Quantity = money.Int(1 + m.Int64N(2))
	}
	return in
}

// channels are a fair, a shop and a web shop, in any order, perhaps with a second fair.
func (m *maker) channels() []costing.Channel {
	kinds := []costing.ChannelKind{costing.Fair, costing.Shop, costing.Online}
	if m.IntN(3) == 0 {
		kinds = append(kinds, costing.Fair)
	}
	m.Shuffle(len(kinds), func(i, j int) { kinds[i], kinds[j] = kinds[j], kinds[i] })
	var all []costing.Channel
	for i, kind := range kinds {
		all = append(all, m.channel(kind, i))
	}
	return all
}

func (m *maker) channel(kind costing.ChannelKind, i int) costing.Channel {
	ch := costing.Channel{Name: m.name("channel", i), Kind: kind, Currency: m.currency, Tax: costing.Tax{Rate: m.maybe(25), Included: m.IntN(2) == 0}}
	for j := range m.IntN(4) {
		fee := costing.Fee{Name: m.name("fee", j), Rate: m.percent(8), On: costing.FeeBase(m.IntN(2)), Per: costing.FeePer(m.IntN(2))}
		if m.IntN(2) == 0 {
			fee.Fixed = m.amount(1)
		}
		ch.Fees = append(ch.Fees, fee)
	}
	switch kind {
	case costing.Shop:
		ch.Terms = costing.Terms{Days: 30, Discount: m.maybe(4), DiscountDays: 10}
	case costing.Online:
		ch.Listing = costing.Listing{Fee: m.amount(1), PerItem: m.decimal(3, 1)}
		ch.Postage = costing.Postage{Cost: m.payable(6), Charged: m.payable(5)}
		ch.HandlingMinutes = m.decimal(9, 1)
		if m.IntN(2) == 0 {
			ch.Stall = costing.Stall{Hours: m.decimal(12, 1), Sales: money.Int(1 + m.Int64N(40))}
		}
	}
	if m.IntN(2) == 0 {
		ch.ItemsPerSale = money.Int(1 + m.Int64N(3))
	}
	ch.Target = m.target(kind)
	switch m.IntN(3) {
	case 0:
		ch.PricePoint = money.PricePoint{Step: money.Int(1)}
	case 1:
		if m.currency.Digits() >= 2 {
			ch.PricePoint = money.PricePoint{Step: money.MustParse("0.5"), Ending: money.MustParse("0.45")}
		}
	}
	return ch
}

func (m *maker) target(kind costing.ChannelKind) costing.Target {
	switch m.IntN(6) {
	case 0:
		return costing.Target{Kind: costing.TargetMarkup, Rate: m.percent(150)}
	case 1:
		return costing.Target{Kind: costing.TargetMargin, Rate: m.percent(30)}
	case 2:
		return costing.Target{Kind: costing.TargetHourly, Amount: m.amount(40)}
	case 3:
		return costing.Target{Kind: costing.TargetProfit, Amount: m.amount(20)}
	case 4:
		if kind != costing.Shop {
			return costing.Target{Kind: costing.TargetWholesale, Multiple: m.decimal(3, 1)}
		}
	}
	return costing.Target{}
}

// plan plans the batch; the search is kept short.
func (w testWorkshop) plan(t testing.TB) batch.Plan {
	plan, err := batch.Make(context.Background(), w.input, batch.Params{Seed: w.seed, Iterations: 20, MarkerIterations: 60})
	require.NoError(t, err, "workshop %d", w.seed)
	return plan
}

// prices are the cost sheets and prices of the workshop.
func (w testWorkshop) prices(t testing.TB) []costing.Pricing {
	priced, err := costing.Reprice(w.pricing, w.channels, costing.Change{})
	require.NoError(t, err, "workshop %d", w.seed)
	return priced
}

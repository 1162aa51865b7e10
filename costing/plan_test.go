package costing

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

func TestNewsvendorTies(t *testing.T) {
	t.Parallel()
	// N-08: the critical ratio 6/9 is F(14) = 4/6 exactly, so 14 to 16 are as good.
	demand := Demand{{10, num("1")}, {12, num("1")}, {14, num("2")}, {16, num("1")}, {18, num("0")}, {20, num("1")}}
	stake := Stake{dollars("6"), dollars("3")}
	best, err := demand.Best(stake)
	require.NoError(t, err)
	mean, err := demand.Mean()
	require.NoError(t, err)
	require.Equal(t, best.Mean, mean)
	require.EqualValues(t, 14, best.Quantity)
	require.EqualValues(t, 16, best.TiesUpTo)
	for _, quantity := range []int64{14, 15, 16} {
		cost, err := demand.ExpectedCost(quantity, stake)
		require.NoError(t, err)
		require.Equal(t, best.ExpectedCost, cost)
	}
	best, err = demand.Best(Stake{usd.Zero(), dollars("3")})
	require.NoError(t, err)
	require.Zero(t, best.Quantity, "nothing is lost by taking none")
	best, err = demand.Best(Stake{dollars("3"), usd.Zero()})
	require.NoError(t, err)
	require.EqualValues(t, 20, best.Quantity, "nothing is lost by taking all that may sell")
}

func TestNewsvendorErrors(t *testing.T) {
	t.Parallel()
	demand := Demand{{1, num("1")}}
	_, err := demand.Best(Stake{dollars("3"), dollars("-1")})
	require.ErrorContains(t, err, "take all you can")
	_, err = demand.Best(Stake{})
	require.ErrorContains(t, err, "nothing is at stake")
	_, err = Demand{{2, num("1")}, {1, num("1")}}.Best(Stake{dollars("3"), dollars("1")})
	require.ErrorContains(t, err, "demand[1].demand: must be more than the one before")
	_, err = Demand{}.Best(Stake{dollars("3"), dollars("1")})
	require.ErrorContains(t, err, "at least one outcome")
	_, err = Normal{Mean: 10}.Best(Stake{dollars("3"), dollars("1")})
	require.ErrorContains(t, err, "deviation above 0")
	_, err = Poisson{}.Best(Stake{dollars("3"), dollars("1")})
	require.ErrorContains(t, err, "above 0")
}

func drawDemand(t *rapid.T) Demand {
	var demand Demand
	at := int64(-1)
	for range rapid.IntRange(1, 7).Draw(t, "outcomes") {
		at += rapid.Int64Range(1, 4).Draw(t, "step")
		demand = append(demand, Outcome{at, money.Int(rapid.Int64Range(0, 5).Draw(t, "weight"))})
	}
	demand[0].Weight = one
	return demand
}

func drawStake(t *rapid.T) Stake {
	return Stake{
		money.NewAmount(money.Int(rapid.Int64Range(1, 12).Draw(t, "under")), usd),
		money.NewAmount(money.Int(rapid.Int64Range(1, 12).Draw(t, "over")), usd),
	}
}

func TestNewsvendorIsBest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		demand, stake := drawDemand(t), drawStake(t)
		best, err := demand.Best(stake)
		require.NoError(t, err)
		for quantity := int64(0); quantity <= demand[len(demand)-1].Demand+2; quantity++ {
			cost, err := demand.ExpectedCost(quantity, stake)
			require.NoError(t, err)
			order := cost.Number().Round(12, money.HalfUp).Cmp(best.ExpectedCost.Number().Round(12, money.HalfUp))
			if quantity >= best.Quantity && quantity <= best.TiesUpTo {
				require.Zero(t, order, "%d ties with %d", quantity, best.Quantity)
			} else {
				require.Positive(t, order, "%d is worse than %d", quantity, best.Quantity)
			}
		}
	})
}

// Cumulative Poisson to 3 places, computed; the row of mean 4 agrees with Stevenson's table.
func TestPoisson(t *testing.T) {
	t.Parallel()
	for mean, row := range map[float64][]float64{
		1: {0.368, 0.736, 0.920, 0.981, 0.996, 0.999},
		4: {0.018, 0.092, 0.238, 0.433, 0.629, 0.785, 0.889, 0.949, 0.979, 0.992, 0.997},
		9: {0.000, 0.001, 0.006, 0.021, 0.055, 0.116, 0.207, 0.324, 0.456, 0.587, 0.706, 0.803, 0.876},
	} {
		for k, want := range row {
			require.InDelta(t, want, Poisson{mean}.CDF(float64(k)), 0.0005001)
		}
	}
	require.Zero(t, Poisson{4}.CDF(-1))
	require.InDelta(t, 0.5, Poisson{100000}.CDF(100000), 0.01)
}

func TestNormalLeftAndShort(t *testing.T) {
	t.Parallel()
	// Against adding up the density in small steps.
	demand := Normal{Mean: 40, Deviation: 9}
	best, err := demand.Best(Stake{dollars("7"), dollars("3")})
	require.NoError(t, err)
	left, short := 0.0, 0.0
	const step = 0.001
	for x := -40.0; x < 120; x += step {
		chance := demand.Between(x, x+step)
		left += chance * math.Max(0, best.Quantity-x-step/2)
		short += chance * math.Max(0, x+step/2-best.Quantity)
	}
	require.InDelta(t, left, best.ExpectedLeft, 1e-3)
	require.InDelta(t, short, best.ExpectedShort, 1e-3)
	require.EqualValues(t, math.Ceil(best.Quantity), best.Whole)
}

func TestShareKnown(t *testing.T) {
	t.Parallel()
	items := []KnownItem{
		{"Skirt", dollars("12"), num("0.75"), num("20")},
		{"Apron", dollars("9"), num("0.5"), num("30")},
		{"Bag", dollars("2"), num("0.25"), num("40")},
	}
	mix, err := ShareKnown(items, num("20.1"))
	require.NoError(t, err)
	// 18 an hour the apron, 16 the skirt, 8 the bag: 15 h of aprons, then 5.1 h of skirts.
	require.Equal(t, []money.Decimal{num("6.8"), num("30"), num("0")}, mix.Exact)
	require.Equal(t, []int64{6, 30, 2}, mix.Whole, "what whole skirts leave is enough for two bags")
	require.Equal(t, dollars("346"), mix.Earned)
	require.Equal(t, num("0.1"), mix.Left)
	_, err = ShareKnown([]KnownItem{{"Skirt", dollars("12"), num("0"), num("20")}}, num("1"))
	require.ErrorContains(t, err, "items[0].use")
}

func TestShareWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		items := make([]UncertainItem, rapid.IntRange(1, 2).Draw(t, "items"))
		demands := make([]Demand, len(items))
		for i := range items {
			demands[i] = drawDemand(t)
			items[i] = UncertainItem{Demand: demands[i], Stake: drawStake(t), Use: one}
		}
		limit := rapid.Int64Range(0, 12).Draw(t, "limit")
		take, left, err := ShareWhole(items, money.Int(limit))
		require.NoError(t, err)
		cost := func(take []int64) float64 {
			total := 0.0
			for i := range take {
				one, err := demands[i].ExpectedCost(take[i], items[i].Stake)
				require.NoError(t, err)
				total += one.Number().Float64()
			}
			return total
		}
		used := int64(0)
		for _, count := range take {
			used += count
		}
		require.Equal(t, money.Int(limit-used), left)
		// When all use the limit alike, one at a time is best: try every other way.
		found := cost(take)
		try := make([]int64, len(items))
		var every func(i int, room int64)
		every = func(i int, room int64) {
			if i == len(try) {
				require.LessOrEqual(t, found, cost(try)+1e-9, "%v is better than %v", try, take)
				return
			}
			for try[i] = 0; try[i] <= room; try[i]++ {
				every(i+1, room-try[i])
			}
		}
		every(0, limit)
	})
	_, _, err := ShareWhole([]UncertainItem{{Stake: Stake{dollars("1"), dollars("1")}, Use: one}}, one)
	require.ErrorContains(t, err, "items[0].demand")
}

func TestShareNormal(t *testing.T) {
	t.Parallel()
	items := []NormalItem{
		{"Skirt", Normal{40, 10}, Stake{dollars("12"), dollars("4")}, num("0.75")},
		{"Apron", Normal{30, 12}, Stake{dollars("9"), dollars("2")}, num("0.5")},
	}
	free, err := ShareNormal(items, num("1000"))
	require.NoError(t, err)
	require.Zero(t, free.Price)
	single, err := items[0].Demand.Best(items[0].Stake)
	require.NoError(t, err)
	require.InDelta(t, single.Quantity, free.Quantities[0], 1e-9)
	tight, err := ShareNormal(items, num("30"))
	require.NoError(t, err)
	require.InDelta(t, 30, tight.Used, 1e-6)
	require.LessOrEqual(t, tight.Used, 30.0)
	for i, item := range items { // each meets F(Q) = (under − λ use) ÷ (under + over)
		under, over := item.Stake.Under.Number().Float64(), item.Stake.Over.Number().Float64()
		require.InDelta(t, (under-tight.Price*item.Use.Float64())/(under+over), item.Demand.CDF(tight.Quantities[i]), 1e-6)
	}
	none, err := ShareNormal(items, num("0"))
	require.NoError(t, err)
	require.InDelta(t, 0, none.Used, 1e-9)
	items[0].Demand.Deviation = 0
	_, err = ShareNormal(items, num("30"))
	require.ErrorContains(t, err, "items[0].demand")
}

func TestSizeShares(t *testing.T) {
	t.Parallel()
	sold := []money.Decimal{num("2"), num("0"), num("4")}
	shares, err := SizeShares(sold, []money.Decimal{num("1"), num("2"), num("1")}, num("8"))
	require.NoError(t, err)
	require.Equal(t, []money.Decimal{num("4"), num("4"), num("6")}, shares)
	parts, err := AllocateSizes(7, shares)
	require.NoError(t, err)
	require.Equal(t, []int64{2, 2, 3}, parts)
	shares, err = SizeShares(sold, nil, money.Decimal{})
	require.NoError(t, err)
	require.Equal(t, sold, shares)
	_, err = SizeShares(sold, []money.Decimal{one}, one)
	require.ErrorContains(t, err, "scale")
	_, _, err = PerGarment(num("39"), nil)
	require.ErrorContains(t, err, "scale")
}

func TestBreakEven(t *testing.T) {
	t.Parallel()
	_, err := BreakEvenOf(dollars("100"), usd.Zero(), dollars("5"), dollars("5"))
	require.ErrorContains(t, err, "never covers")
	even, err := BreakEvenOf(dollars("100"), dollars("20"), dollars("9"), dollars("5"))
	require.NoError(t, err)
	require.EqualValues(t, 30, even.Units, "exactly 30 is not rounded up")
	require.Equal(t, dollars("270"), even.Revenue)

	fair := FairPlan{
		Costs: []FairCost{{"Pitch", dollars("85")}, {"Fuel", dollars("23.5")}}, Hours: num("11"), Hourly: dollars("18"),
		Items: []FairItem{{"Skirt", dollars("33"), dollars("20"), num("2")}, {"Apron", dollars("24"), dollars("16"), num("1")}},
	}
	result, err := fair.BreakEven(usd)
	require.NoError(t, err)
	require.Equal(t, dollars("306.5"), result.Fixed)
	require.EqualValues(t, 28, result.Units, "306.50 ÷ ((2 × 13 + 8) ÷ 3) = 27.04...")
	require.Equal(t, []int64{19, 9}, result.ByItem)
	fair.Items[0].Kept, fair.Items[1].Kept = dollars("10"), dollars("10")
	_, err = fair.BreakEven(usd)
	require.ErrorContains(t, err, "never pays for the fair")
	fair.Items = nil
	_, err = fair.BreakEven(usd)
	require.ErrorContains(t, err, "at least one garment")
}

func drawJobs(t *rapid.T) []Job {
	jobs := make([]Job, rapid.IntRange(1, 6).Draw(t, "jobs"))
	for i := range jobs {
		jobs[i] = Job{Work: money.Int(rapid.Int64Range(0, 9).Draw(t, "work")), Due: money.Int(rapid.Int64Range(0, 30).Draw(t, "due"))}
	}
	return jobs
}

func TestArrangeIsBest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		jobs := drawJobs(t)
		arrange := func(jobs []Job, rule SequenceRule) Sequence {
			s, err := Arrange(jobs, money.Decimal{}, rule)
			require.NoError(t, err)
			return s
		}
		due, short, few := arrange(jobs, EarliestDue), arrange(jobs, ShortestFirst), arrange(jobs, FewestLate)
		for _, job := range few.Jobs[:len(few.Jobs)-few.Late] {
			require.Zero(t, job.Tardiness.Sign())
		}
		permute(jobs, func(order []Job) {
			s := arrange(order, FirstCome)
			require.LessOrEqual(t, due.MaxTardiness.Cmp(s.MaxTardiness), 0, "earliest due first")
			require.LessOrEqual(t, short.Completion.Cmp(s.Completion), 0, "shortest first")
			require.LessOrEqual(t, few.Late, s.Late, "fewest late")
		})
		for rule := FirstCome; rule <= FewestLate; rule++ {
			s := arrange(jobs, rule)
			seen := map[int]bool{}
			for _, job := range s.Jobs {
				seen[job.Job] = true
			}
			require.Len(t, seen, len(jobs), "%s does every job once", rule)
		}
	})
}

// permute calls visit with every order of the jobs.
func permute(jobs []Job, visit func([]Job)) {
	order := slices.Clone(jobs)
	var place func(int)
	place = func(i int) {
		if i == len(order) {
			visit(order)
			return
		}
		for n := i; n < len(order); n++ {
			order[i], order[n] = order[n], order[i]
			place(i + 1)
			order[i], order[n] = order[n], order[i]
		}
	}
	place(0)
}

func TestArrangeErrors(t *testing.T) {
	t.Parallel()
	_, err := Arrange(nil, money.Decimal{}, EarliestDue)
	require.ErrorContains(t, err, "nothing to put in order")
	_, err = Arrange([]Job{{Work: num("-1")}}, money.Decimal{}, EarliestDue)
	require.ErrorContains(t, err, "jobs[0].work")
	_, err = Arrange([]Job{{Work: num("1")}}, money.Decimal{}, 99)
	require.ErrorContains(t, err, "rule")
	_, err = Capacity([]PlannedWork{{Pieces: []money.Decimal{one}}}, []money.Decimal{one, two})
	require.ErrorContains(t, err, "plan[0].pieces")
}

func TestCriticalRatio(t *testing.T) {
	t.Parallel()
	jobs := []Job{{"a", num("4"), num("20")}, {"b", num("5"), num("10")}, {"c", num("0"), num("50")}, {"d", num("2"), num("9")}}
	s, err := Arrange(jobs, num("1"), CriticalRatio)
	require.NoError(t, err)
	var order []string
	for _, job := range s.Jobs {
		order = append(order, jobs[job.Job].Name)
	}
	require.Equal(t, []string{"c", "b", "d", "a"}, order, "ratios 9/5, 8/2, 19/4; no work is done at once")
}

func TestStock(t *testing.T) {
	t.Parallel()
	stock := Stock{Currency: usd, Unit: "yd", Layers: []Layer{
		{Label: "A1", Quantity: num("3"), UnitCost: dollars("8")}, {Label: "A2", Quantity: num("10"), UnitCost: dollars("9.5")},
	}}
	draw, left, err := stock.Take(num("4.5"))
	require.NoError(t, err)
	require.Equal(t, dollars("38.25"), draw.Cost, "3 × 8 + 1.5 × 9.5")
	require.Equal(t, []Drawn{{0, "A1", num("3"), dollars("8")}, {1, "A2", num("1.5"), dollars("9.5")}}, draw.Drawn)
	require.Len(t, left.Layers, 1)
	require.Len(t, stock.Layers, 2, "the shelf itself is not changed")
	require.Equal(t, num("3"), stock.Layers[0].Quantity)

	left = left.Return("A2 end", num("0.4"), dollars("9.5"), dollars("2"))
	value, err := left.Value()
	require.NoError(t, err)
	require.Equal(t, dollars("81.55"), value, "8.5 × 9.5 + 0.4 × 2: a remnant that won't be used is worth what it fetches")

	price, err := draw.ClothPrice().PerUnit()
	require.NoError(t, err)
	require.Equal(t, dollars("8.5"), price)
	_, _, err = stock.Take(num("13.5"))
	require.ErrorContains(t, err, "13.5 yd are asked for, but only 13 are on the shelf")
	_, _, err = stock.Take(num("-1"))
	require.ErrorContains(t, err, "less than 0")
	stock.Layers[0].UnitCost = money.MustParseAmount("8 EUR")
	_, err = stock.Value()
	require.ErrorContains(t, err, "layers[0].unit_cost")
	empty, err := Stock{Currency: usd}.UnitCost()
	require.NoError(t, err)
	require.True(t, empty.IsZero())
}

func TestStockKeepsItsValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		stock := Stock{Currency: usd, Valuation: Valuation(rapid.IntRange(0, 2).Draw(t, "valuation"))}
		for range rapid.IntRange(1, 5).Draw(t, "layers") {
			stock.Layers = append(stock.Layers, Layer{Quantity: drawDecimal(t, "quantity", 9000, 2), UnitCost: drawAmount(t, "cost", 3000)})
		}
		all, err := stock.Quantity()
		require.NoError(t, err)
		part := all
		if half, err := all.Div(two); err == nil && rapid.Bool().Draw(t, "half") {
			part = half
		}
		before, err := stock.Value()
		require.NoError(t, err)
		parts, err := stock.Values(rapid.SampledFrom([]money.OddUnit{money.LargestRemainder, money.FirstParts, money.LastParts}).Draw(t, "odd cent"))
		require.NoError(t, err)
		require.Len(t, parts, len(stock.Layers))
		sum, err := money.SumAmounts(append(parts, usd.Zero())...)
		require.NoError(t, err)
		require.Equal(t, before, sum, "the layers sum to the whole")
		draw, left, err := stock.Take(part)
		require.NoError(t, err)
		after, err := left.Value()
		require.NoError(t, err)
		together := more(t, draw.Cost, after)
		off, err := together.Sub(before)
		require.NoError(t, err)
		require.LessOrEqual(t, off.Abs().Number().Cmp(num("0.01")), 0, "%s drawn and %s left are not %s", draw.Cost, after, before)
		if part == all {
			require.Equal(t, before, draw.Cost)
			require.Empty(t, left.Layers)
		}
	})
}

func TestCompare(t *testing.T) {
	t.Parallel()
	planned, err := NewSheet(skirt())
	require.NoError(t, err)
	in := skirt()
	in.Cloths[0].Price.List, in.Cloths[0].Length = dollars("9"), num("0.5")
	in.Operations[1].Run = num("20")
	in.Notions = append(in.Notions[:1], Notion{Name: "Rickrack", Quantity: one, Unit: "yd", Price: Priced(dollars("0.8"))})
	actual, err := NewSheet(in)
	require.NoError(t, err)
	result, err := Compare(planned, actual)
	require.NoError(t, err)
	sum := usd.Zero()
	byLabel := map[string]Variance{}
	for _, line := range result.Lines {
		sum = more(t, sum, line.Difference)
		require.Equal(t, line.Difference, more(t, line.ByPrice, line.ByUse))
		byLabel[line.Label] = line
	}
	require.Equal(t, result.Difference, sum)
	require.Equal(t, result.Difference, more(t, result.ByPrice, result.ByUse))
	require.Equal(t, dollars("0.29"), byLabel["Fern print"].ByPrice, "0.52 × 1.05 yd, each 0.53 dearer, tax included")
	require.Equal(t, dollars("0.8"), byLabel["Rickrack"].ByUse)
	require.Equal(t, dollars("-0.2"), byLabel["Thread"].ByUse)
	require.True(t, byLabel["Sew"].ByPrice.IsZero())
	in.Currency = money.MustCurrency("EUR")
	_, err = Compare(planned, Sheet{Inputs: in})
	require.ErrorContains(t, err, "currency")
}

func TestPriceList(t *testing.T) {
	t.Parallel()
	day := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	q, err := pricerOf(t, shop()).Quote(skirtGarment(t))
	require.NoError(t, err)
	lines := []PriceLine{q.ListPrice()}
	list, err := IssuePriceList(shop(), day, lines)
	require.NoError(t, err)
	lines[0].Price = dollars("1")
	list.Lines()[0].Price = dollars("2")
	price, ok := list.Price("Gathered skirt", "Fern", "104")
	require.True(t, ok)
	require.Equal(t, q.Price, price, "an issued list never changes")
	_, ok = list.Price("Gathered skirt", "Fern", "110")
	require.False(t, ok)

	require.Equal(t, shop().Name, list.Channel())
	require.Equal(t, Shop, list.Kind())
	require.Equal(t, usd, list.Currency())
	require.Equal(t, shop().Terms, list.Terms())
	require.Equal(t, Tax{}, list.Tax())
	require.Equal(t, day, list.Issued())

	next, err := list.Revise(day.AddDate(0, 1, 0), []PriceLine{{Style: "Gathered skirt", Colourway: "Fern", Size: "104", Price: dollars("31")}})
	require.NoError(t, err)
	require.Equal(t, 2, next.Revision())
	require.Equal(t, 1, list.Revision())
	text, err := json.Marshal(next)
	require.NoError(t, err)
	var read PriceList
	require.NoError(t, json.Unmarshal(text, &read))
	require.Equal(t, next, read)

	_, err = list.Revise(day.AddDate(0, -1, 0), lines)
	require.ErrorContains(t, err, "is before revision 1 of 2026-03-02")
	_, err = IssuePriceList(shop(), time.Time{}, nil)
	var all InputErrors
	require.ErrorAs(t, err, &all)
	require.Len(t, all, 2)
	_, err = IssuePriceList(shop(), day, []PriceLine{lines[0], lines[0]})
	require.ErrorContains(t, err, "lines[1].size: stands on the list already, in line 1")
	_, err = IssuePriceList(shop(), day, []PriceLine{{Price: dollars("0.005")}})
	require.ErrorContains(t, err, "can be paid")
}

func TestTax(t *testing.T) {
	t.Parallel()
	// 28 % of 567 is 158.76, but its gross-up is 220.50 (figures of the reference's fee rules).
	tax, err := TaxOnTop(dollars("567"), percent("28"), money.HalfUp)
	require.NoError(t, err)
	require.Equal(t, dollars("220.5"), tax)
	_, err = GrossUp(dollars("567"), percent("100"), money.HalfUp)
	require.ErrorContains(t, err, "below 100 %")
	// VAT inside a gross price is a sixth of it at 20 %.
	taxed, err := TaxWithin(dollars("50"), percent("20"), money.HalfUp)
	require.NoError(t, err)
	require.Equal(t, Taxed{dollars("41.67"), dollars("8.33"), dollars("50")}, taxed)
	deposit, balance, err := Deposit(dollars("99.99"), percent("30"))
	require.NoError(t, err)
	require.Equal(t, dollars("30"), deposit)
	require.Equal(t, dollars("69.99"), balance)
	_, _, err = Deposit(dollars("99.99"), percent("130"))
	require.ErrorContains(t, err, "share")
	price, err := PriceAtMargin(dollars("10"), percent("60"), money.HalfUp)
	require.NoError(t, err)
	require.Equal(t, dollars("25"), price, "cost ÷ 0.40 for 60 % of wholesale, the rule printed with C-02")
	bought, err := WithWastage(num("0.9"), percent("10"), WastageShare)
	require.NoError(t, err)
	require.Equal(t, num("1"), bought)
	_, err = ProfitOf(usd.Zero(), dollars("1"))
	require.ErrorContains(t, err, "cost")
	twice, err := MarkupTimes(num("2"))
	require.NoError(t, err)
	require.Equal(t, percent("100"), twice.Rate)
}

// name is an enumeration that is kept by name.
type name[T any] interface {
	*T
	UnmarshalText([]byte) error
}

func roundTrips[T interface {
	~int
	MarshalText() ([]byte, error)
	String() string
}, P name[T]](t *testing.T, last T) {
	t.Helper()
	names := map[string]bool{}
	for value := T(0); value <= last; value++ {
		text, err := value.MarshalText()
		require.NoError(t, err)
		require.Equal(t, value.String(), string(text))
		var again T
		require.NoError(t, P(&again).UnmarshalText(text))
		require.Equal(t, value, again)
		names[string(text)] = true
	}
	require.Len(t, names, int(last)+1)
	var none T
	require.ErrorContains(t, P(&none).UnmarshalText([]byte("something else")), "choose")
	require.Contains(t, (last + 1).String(), strconv.Itoa(int(last)+1), "a value without a name shows its number")
}

func TestNamesRoundTrip(t *testing.T) {
	t.Parallel()
	roundTrips[WastageRule](t, WastageShare)
	roundTrips[AllowanceRule](t, AllowanceOfDay)
	roundTrips[ProfitRule](t, Margin)
	roundTrips[Valuation](t, LastInFirstOut)
	roundTrips[LineKind](t, PackingLine)
	roundTrips[ChannelKind](t, Online)
	roundTrips[FeeBase](t, OnNet)
	roundTrips[FeePer](t, PerItem)
	roundTrips[TargetKind](t, TargetWholesale)
	roundTrips[OnePriceRule](t, MixPays)
	roundTrips[LearningModel](t, AverageCurve)
	roundTrips[SequenceRule](t, FewestLate)
	roundTrips[UnpaidRule](t, UnpaidFromProfit)
}

func TestSettingsRoundTrip(t *testing.T) {
	t.Parallel()
	want := Settings{
		Wastage: WastageShare, Allowance: AllowanceOfDay, Profit: Margin, Rounding: money.HalfEven,
		OddCent: money.LastParts, Valuation: WeightedAverage, Unpaid: UnpaidFromProfit,
	}
	text, err := json.Marshal(want)
	require.NoError(t, err)
	require.JSONEq(t, `{"wastage":"share","allowance":"day","profit":"margin","rounding":"half even","odd_cent":"last parts","valuation":"weighted average","unpaid":"from profit"}`, string(text))
	var got Settings
	require.NoError(t, json.Unmarshal(text, &got))
	require.Equal(t, want, got)
	require.ErrorContains(t, json.Unmarshal([]byte(`{"wastage":"some"}`), &got), "choose added, share")
	for _, formula := range []string{
		Settings{}.Wastage.Formula(), want.Wastage.Formula(), Settings{}.Allowance.Formula(), want.Allowance.Formula(),
		Settings{}.Profit.Formula(), want.Profit.Formula(), FirstInFirstOut.Formula(), WeightedAverage.Formula(), LastInFirstOut.Formula(),
		UnitCurve.Formula(), AverageCurve.Formula(),
	} {
		require.NotEmpty(t, formula)
	}
}

package workshop_test

import (
	"bytes"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func dec(text string) money.Decimal { return money.MustParse(text) }

// Freight, discount, tax and wastage of a notion reach its cost sheets too.
func TestLandedPricesOfNotions(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Rust")
	notions, err := b.Notions(ctx, b.id)
	require.NoError(t, err)
	label := notions[slices.IndexFunc(notions, func(n store.Notion) bool { return n.Name == "Woven label" })]
	require.Equal(t, 100, label.BuyCount)
	label.BuyPrice, label.Discount, label.Freight, label.Tax, label.Wastage = dec("20"), dec("0.1"), dec("4"), dec("0.05"), dec("0.5")
	require.NoError(t, b.SaveNotion(ctx, b.id, label))
	prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	line := lineNamed(t, prices.Pricings[0].Sheet, "Woven label")
	// (20 × 0.9 + 4) × 1.05 ÷ 100 = 0.231, and half as much again is spoilt.
	require.Equal(t, "0.231", line.Price.Number().String())
	require.Equal(t, "1.5", line.Quantity.String())
	require.Equal(t, "0.35", line.Amount.Number().StringFixed(2))
	names := map[string]bool{}
	for _, f := range line.Factors {
		names[f.Name] = true
	}
	for _, want := range []string{"list price", "units in the price", "discount", "freight", "tax not claimed back", "wastage"} {
		require.True(t, names[want], want)
	}
}

// Freight, discount, tax and wastage of a cloth reach its cost sheets, by the rule chosen.
func TestLandedPricesReachTheCostSheet(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Rust")
	// clothLine returns the line of the cloth, and how much more of it is bought than used.
	clothLine := func() (costing.Line, float64) {
		prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
		require.NoError(t, err)
		sheet := prices.Pricings[0].Sheet
		used, err := sheet.Inputs.Cloths[0].Length.Add(sheet.Inputs.Cloths[0].EndsAndLosses)
		require.NoError(t, err)
		return sheet.Lines[0], sheet.Lines[0].Quantity.Float64() / used.Float64()
	}
	before, times := clothLine()
	require.Equal(t, "13.6", before.Price.Number().String())
	require.InDelta(t, 1, times, 1e-12)
	cloths, err := b.Cloths(ctx, b.id)
	require.NoError(t, err)
	cloth := cloths[slices.IndexFunc(cloths, func(c store.Cloth) bool { return c.Name == "Rust linen" })]
	cloth.Discount, cloth.Freight, cloth.FreightLength, cloth.Tax, cloth.Wastage = dec("0.1"), dec("6"), 5*length.Yard, dec("0.05"), dec("0.1")
	require.NoError(t, b.SaveCloth(ctx, b.id, cloth))
	after, times := clothLine()
	// (13.60 × 0.9 + 6 ÷ 5) × 1.05 = 14.112
	require.Equal(t, "14.112", after.Price.Number().String())
	require.InDelta(t, 1.1, times, 1e-12)
	settings, err := b.CostSettings(ctx, b.id)
	require.NoError(t, err)
	settings.WastageRule = "share"
	require.NoError(t, b.SaveChoices(ctx, b.id, settings, "en-US"))
	_, times = clothLine()
	require.InDelta(t, 1/0.9, times, 1e-12)
	cloth.Version++
	cloth.FreightLength = 0
	requireFault(t, b.SaveCloth(ctx, b.id, cloth), "freight_length", "how much cloth")
}

// The overhead of a year is made up of its costs, and reaches every cost sheet.
func TestTheCostsOfAYear(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	w, err := b.Workshop(ctx, b.id)
	require.NoError(t, err)
	require.Equal(t, "6400", w.OverheadYear.String())
	require.Equal(t, "2438", w.HoursWorked.String(), "53 h a week, 46 weeks")
	require.Equal(t, "1462.8", w.ProductiveHours.String())
	settings, err := b.CostSettings(ctx, b.id)
	require.NoError(t, err)
	settings.YearWeeks, settings.YearPeople, settings.YearProductive = dec("50"), dec("1"), dec("0.5")
	days := []int{0, 480, 480, 480, 480, 480, 0}
	costs := []store.YearCost{{Name: "Rent", Amount: dec("2400"), Years: dec("1"), Share: dec("0.25")}, {Name: "Machine", Amount: dec("1000"), Years: dec("3"), Share: dec("1")}}
	require.NoError(t, b.SaveYear(ctx, b.id, costs, settings, days))
	w, err = b.Workshop(ctx, b.id)
	require.NoError(t, err)
	require.Equal(t, "933.33", w.OverheadYear.String())
	require.Equal(t, "1000", w.ProductiveHours.String())
	prices, err := b.PriceStyle(ctx, b.id, b.way(t, "Rust").ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, "0.93333", prices.Pricings[0].Sheet.Inputs.Overhead.Number().String())
	settings.Version++
	days[2] = 2000
	requireFault(t, b.SaveYear(ctx, b.id, costs, settings, days), "day.2", "A Tuesday has 1440 minutes, and 1 person works here")
	requireFault(t, b.SaveYear(ctx, b.id, costs, settings, make([]int, 7)), "day.1", "on which days you work")
	settings.Version--
	days[2] = 480
	requireFault(t, b.SaveYear(ctx, b.id, costs, settings, days), "", "Someone else")
}

// Seams add up to the thread of a style: in its formula, on its cost sheet, in its batches.
func TestSeamsMakeTheThread(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Rust")
	style, err := b.Style(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	chart, err := b.Chart(ctx, b.id, style.ChartID)
	require.NoError(t, err)
	seams := []store.Seam{
		{Name: "side", Class: "504", Length: "20*inch", Count: 2},
		{Name: "hem", Class: "301", Length: "waist", Count: 1, Ratio: dec("3")},
	}
	require.NoError(t, b.SaveSeams(ctx, b.id, style, seams))
	measured, err := workshop.MeasureSeams(style.Style, chart.SizeChart, seams)
	require.NoError(t, err)
	size := chart.SizeNames()[0]
	waist := chart.Sizes[0].Values["waist"].Length
	require.Equal(t, workshop.SeamLength{Length: 40 * length.Inch, Thread: 560 * length.Inch}, measured[size][0], "three-thread overedge takes 14 × the seam")
	require.InDelta(t, float64(3*waist), float64(measured[size][1].Thread), 2)
	prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	in := prices.Pricings[0].Sheet.Inputs
	thread := in.Notions[slices.IndexFunc(in.Notions, func(n costing.Notion) bool { return n.Name == "Polyester thread" })]
	want := float64(measured[size][0].Thread+measured[size][1].Thread) / float64(length.Yard)
	require.InDelta(t, want, thread.Quantity.Float64(), 1e-4)

	style.Version++
	for _, test := range []struct {
		name, field, message string
		seam                 store.Seam
	}{
		{"unknown name", "seam.0.length", "is not a measure", store.Seam{Name: "x", Class: "301", Length: "wiast", Count: 1}},
		{"bare number", "seam.0.length", "not a length", store.Seam{Name: "x", Class: "301", Length: "waist + 3", Count: 1}},
		{"unknown stitch", "seam.0.class", "Choose a stitch", store.Seam{Name: "x", Class: "999", Length: "waist", Count: 1}},
		{"nothing", "seam.0.length", "nothing or less", store.Seam{Name: "x", Class: "301", Length: "waist - waist", Count: 1}},
	} {
		t.Run(test.name, func(t *testing.T) {
			requireFault(t, b.SaveSeams(ctx, b.id, style, []store.Seam{test.seam}), test.field, test.message)
		})
	}
}

// A time study is kept, worked out by its rule, and taken over into its step.
func TestATimeStudyIsTakenOver(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	style, err := b.Style(ctx, b.id, b.way(t, "Rust").StyleID)
	require.NoError(t, err)
	operation := style.Operations[0].Name
	study := store.TimeStudy{Operation: operation, WatchedOn: b.Today(), Study: costing.Study{
		Elements:  []costing.Element{{Name: operation, Rating: money.MustPercent("90"), Readings: []money.Decimal{dec("2"), dec("2.2"), dec("1.8")}}},
		Allowance: money.MustPercent("20"), Rule: costing.AllowanceOfDay,
	}}
	_, err = b.AddStudy(ctx, b.id, style.ID, study)
	require.NoError(t, err)
	kept, err := b.TimeStudies(ctx, b.id, style.ID)
	require.NoError(t, err)
	require.Len(t, kept, 1)
	require.Equal(t, study.Study, kept[0].Study)
	require.NoError(t, b.TakeStudy(ctx, b.id, style, kept[0]))
	style, err = b.Style(ctx, b.id, style.ID)
	require.NoError(t, err)
	require.Equal(t, 135*time.Second, style.Operations[0].Each, "2 min × 0.9 ÷ (1 − 0.2) = 2.25 min")
	require.Contains(t, style.Operations[0].Basis, "timed by you, 15 May 2030: 3 cycles, allowance 20% of the day")
	kept, err = b.TimeStudies(ctx, b.id, style.ID)
	require.NoError(t, err)
	require.True(t, kept[0].TakenOver)
	study.Study.Elements[0].Readings = nil
	_, err = b.AddStudy(ctx, b.id, style.ID, study)
	requireFault(t, err, "element.0.readings", "at least one cycle")
	study.Study.Elements[0].Readings = []money.Decimal{dec("0")}
	_, err = b.AddStudy(ctx, b.id, style.ID, study)
	requireFault(t, err, "element.0.readings", "more than 0")
}

func TestChannelsAreChecked(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	channels, err := b.Channels(ctx, b.id)
	require.NoError(t, err)
	shop := channels[1]
	require.Equal(t, costing.Shop, shop.Settings.Kind)
	requireFault(t, b.DropChannel(ctx, b.id, shop.ID), "kind", "wholesale price, which would then be gone")
	spoilt := shop
	spoilt.Settings.Target = costing.Target{Kind: costing.TargetWholesale, Multiple: money.Int(2)}
	_, err = b.SaveChannelDraft(ctx, b.id, spoilt)
	requireFault(t, err, "target", "sets the wholesale price itself")
	spoilt = channels[2]
	spoilt.Settings.Fees = slices.Clone(spoilt.Settings.Fees)
	spoilt.Settings.Fees[1].Rate = money.MustPercent("120")
	_, err = b.SaveChannelDraft(ctx, b.id, spoilt)
	requireFault(t, err, "fee.1.rate", "below 100")
	spoilt.Settings.Fees[1].Rate = money.MustPercent("3")
	spoilt.Settings.Target = costing.Target{Kind: costing.TargetMargin, Rate: money.MustPercent("95")}
	_, err = b.SaveChannelDraft(ctx, b.id, spoilt)
	requireFault(t, err, "target_value", "no price can reach")
	still, err := b.Channels(ctx, b.id)
	require.NoError(t, err)
	require.Equal(t, channels, still)

	made, err := b.SaveChannelDraft(ctx, b.id, store.Channel{Settings: costing.Channel{Name: "Second fair", Kind: costing.Fair, Currency: shop.Settings.Currency}})
	require.NoError(t, err)
	prices, err := b.PriceStyle(ctx, b.id, b.way(t, "Rust").ID, costing.Change{})
	require.NoError(t, err)
	require.Len(t, prices.Asked[0], 4)
	require.NoError(t, b.DropChannel(ctx, b.id, made))
}

// One price for all sizes: no size loses by the first rule, the mix as a whole by the second.
func TestOnePriceForAllSizes(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Meadow on slate")
	own, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.False(t, own.Shared())
	last := len(own.Sizes) - 1
	for _, rule := range workshop.OnePriceRules()[1:] {
		require.NoError(t, b.SetStyleCosts(ctx, b.id, way.StyleID, store.StyleCosts{OnePrice: rule, Learning: store.LearningOff, LearningRate: dec("0.9"), TimedGarment: 1}))
		prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
		require.NoError(t, err)
		require.True(t, prices.Shared())
		for i := range prices.Sizes {
			for c := range prices.Channels {
				require.Equal(t, prices.Asked[0][c].Price, prices.Asked[i][c].Price)
				tagged := prices.Tagged(i)[c]
				require.Equal(t, prices.Asked[i][c].Price, tagged.Price)
				why := tagged.Why("en-US")
				require.Contains(t, why, prices.Asked[i][c].Price.Format("en-US"))
				if tagged.Price != prices.Asked[i][c].Own {
					require.Contains(t, why, "because every size sells at what")
				}
				if tagged.Target.Kind == costing.TargetWholesale {
					require.Contains(t, why, "the wholesale price of "+prices.Asked[i][1].Price.Format("en-US"), "a multiple of the one price to shops")
				}
				requireAddsUp(t, tagged)
				if rule == costing.EverySizePays.String() {
					require.Equal(t, own.Asked[last][c].Price, prices.Asked[i][c].Price, "the largest size is the dearest")
					require.GreaterOrEqual(t, prices.Asked[i][c].Sale.Profit.Sign(), 0)
				}
			}
		}
		require.GreaterOrEqual(t, prices.OnePrices[1].Mix.Profit.Sign(), 0)
		require.Positive(t, prices.Asked[0][1].Sale.Hourly.Number().Cmp(prices.Asked[last][1].Sale.Hourly.Number()), "small sizes earn more an hour")
		var book bytes.Buffer
		require.NoError(t, b.PricingWorkbook(ctx, &book, b.id, way.ID, ""))
		id, err := b.IssuePriceList(ctx, b.id, prices.Channels[0].ID, []int64{way.ID})
		require.NoError(t, err)
		list, err := b.PriceList(ctx, b.id, id)
		require.NoError(t, err)
		price, ok := list.List.Price("Puddle skirt", "Meadow on slate", own.Sizes[0])
		require.True(t, ok)
		require.Equal(t, prices.Asked[0][0].Price, price)
		_, err = b.IssueCosts(ctx, b.id, way.ID, costing.Change{})
		require.NoError(t, err)
		tags, err := b.TagPrices(ctx, b.id, "fair")
		require.NoError(t, err)
		for i, size := range prices.Sizes {
			require.Equal(t, prices.Asked[i][0].Price.Number(), tags[way.ID][size], "what is asked at the fair is on the tag")
		}
	}
}

// Issued lists stay as they were issued, whatever happens to costs, channels and the database.
func TestPriceListsStay(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	channels, err := b.Channels(ctx, b.id)
	require.NoError(t, err)
	ways := []int64{b.way(t, "Rust").ID, b.way(t, "Ticking").ID}
	first, err := b.IssuePriceList(ctx, b.id, channels[1].ID, ways)
	require.NoError(t, err)
	issued, err := b.PriceList(ctx, b.id, first)
	require.NoError(t, err)
	require.Equal(t, 1, issued.Revision)
	require.Equal(t, b.Today(), issued.IssuedOn.UTC())
	for _, line := range issued.List.Lines() {
		require.Positive(t, line.Suggested.Number().Cmp(line.Price.Number()), "shops see what we ask at retail")
	}
	w, err := b.Workshop(ctx, b.id)
	require.NoError(t, err)
	w.Wage, w.Currency = money.Int(30), "EUR"
	require.NoError(t, b.SaveSettings(ctx, w, workshop.KeepNumbers))
	second, err := b.IssuePriceList(ctx, b.id, channels[1].ID, ways)
	require.NoError(t, err)
	again, err := b.PriceList(ctx, b.id, first)
	require.NoError(t, err)
	require.Equal(t, issued, again)
	next, err := b.PriceList(ctx, b.id, second)
	require.NoError(t, err)
	require.Equal(t, 2, next.Revision)
	require.Equal(t, "EUR", next.List.Currency().String())
	for _, statement := range []string{`UPDATE price_lists SET revision = 9`, `DELETE FROM price_lists`} {
		_, err = b.pool.Exec(ctx, statement)
		require.ErrorContains(t, err, "does not change")
	}
	_, err = b.IssuePriceList(ctx, b.id, channels[1].ID, nil)
	requireFault(t, err, "colourways", "at least one")
	require.NoError(t, b.RemoveWorkshop(ctx, b.id), "lists go with their workshop")
}

// What if is asked of all prices at once, beside what they are, and saves nothing.
func TestWhatIfOfTheWholeLine(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	_, err := b.pool.Exec(ctx, `DELETE FROM colourway_notions WHERE colourway_id = $1 AND need = 'elastic'`, b.way(t, "Rust").ID)
	require.NoError(t, err)
	lines, err := b.PriceLine(ctx, b.id, costing.Change{Cloth: money.MustPercent("10"), Batch: dec("0.5")})
	require.NoError(t, err)
	require.Len(t, lines, 7)
	for _, line := range lines {
		if line.Colourway.Name == "Rust" {
			require.Contains(t, line.Problem, "Choose the elastic", "one that can't be priced is not in the way of the others")
			continue
		}
		for i := range line.Now.Sizes {
			require.Positive(t, line.Asked.Pricings[i].Sheet.Total.Number().Cmp(line.Now.Pricings[i].Sheet.Total.Number()))
			require.Equal(t, "12", line.Asked.Pricings[i].Sheet.Inputs.Garments.String())
		}
	}
	_, err = b.PriceLine(ctx, b.id, costing.Change{Wage: money.MustPercent("-101")})
	requireFault(t, err, "wage", "more than 100")
}

// Cloth on the shelf is valued by both ways, a remnant that won't be used by what it fetches.
func TestClothValues(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	linen := func() workshop.ClothValue {
		values, err := b.ClothValues(ctx, b.id)
		require.NoError(t, err)
		return values[slices.IndexFunc(values, func(v workshop.ClothValue) bool { return v.Cloth.Name == "Rust linen" })]
	}
	values, err := b.ClothValues(ctx, b.id)
	require.NoError(t, err)
	for _, v := range values {
		var parts []money.Amount
		for _, bolt := range v.Bolts {
			parts = append(parts, bolt.Value)
		}
		sum, err := money.SumAmounts(parts...)
		require.NoError(t, err)
		require.Equal(t, v.Value.Number(), sum.Number(), "the bolts of %s sum to what they are worth together", v.Cloth.Name)
	}
	v := linen()
	require.Equal(t, "125.6", v.Value.Number().String(), "5 yd at 13.60 and 4 1/2 yd at 12.80")
	require.Equal(t, "13.6", v.NextFirstIn.Number().String())
	require.InDelta(t, 125.6/9.5, v.NextAverage.Number().Float64(), 1e-9)
	day, worth := b.Today().AddDate(0, -1, 0), dec("4")
	require.NoError(t, b.SaveClothValues(ctx, b.id, []store.BoltCost{{BoltID: v.Bolts[0].Bolt.ID, BoughtOn: &day, Worth: &worth}}))
	v = linen()
	require.Equal(t, "R2", v.Bolts[0].Bolt.Name, "a bolt without a day counts as older")
	require.Equal(t, "77.6", v.Value.Number().String(), "5 yd at 4.00 and 4 1/2 yd at 12.80")
	late := b.Today().AddDate(0, 0, 1)
	requireFault(t, b.SaveClothValues(ctx, b.id, []store.BoltCost{{BoltID: v.Bolts[0].Bolt.ID, BoughtOn: &late}}), "", "still to come")
}

// What a batch costs follows the shelf: lengths sum to what the plan takes, the cloth's cost
// to its parts, and the way of valuing changes it.
func TestWhatABatchCosts(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id := b.openBatch(t)
	plan, err := b.PlanNow(ctx, b.id, id, 1)
	require.NoError(t, err)
	for _, planned := range plan.Cloths {
		taken, err := batch.TakenOf(planned)
		require.NoError(t, err)
		var sum length.Length
		for _, one := range taken {
			sum += one.Marker + one.Losses
		}
		require.Equal(t, batch.ClothTaken(planned), sum)
	}
	costs, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	garments := 0
	parts := costs.Cloth.Currency().Zero()
	actual := parts
	for _, g := range costs.Garments {
		garments += g.Quantity
		parts, err = parts.Add(g.Cloth)
		require.NoError(t, err)
		several, err := g.Sheet.Total.Mul(money.Int(int64(g.Quantity)))
		require.NoError(t, err)
		actual, err = actual.Add(several)
		require.NoError(t, err)
		difference, err := g.Compared.ByPrice.Add(g.Compared.ByUse)
		require.NoError(t, err)
		require.Equal(t, g.Compared.Difference, difference)
		require.Equal(t, g.Sheet.Total, g.Compared.Actual)
	}
	require.Equal(t, 120, garments)
	require.Equal(t, costs.Cloth, parts, "the parts sum to the cloth to the cent")
	require.Equal(t, costs.Actual, actual)
	linen := func(c workshop.BatchCosts) workshop.BatchCloth {
		return c.Cloths[slices.IndexFunc(c.Cloths, func(c workshop.BatchCloth) bool { return c.Cloth == "Rust linen" })]
	}
	require.Equal(t, "R1", linen(costs).Drawn.Draw.Drawn[0].Label)

	require.Equal(t, "As planned", costs.Heading())
	require.Equal(t, workshop.InCoins(plan.Cloths[slices.IndexFunc(plan.Cloths, func(c batch.ClothPlan) bool { return c.Cloth.Name == "Rust linen" })].Plan.ClothCost, costs.Cloth.Currency()), linen(costs).Drawn.Cost, "what the plan counts the cloth for, what is bought whole")

	// By the average, all bolts of a cloth count alike in what is planned from then on.
	settings, err := b.CostSettings(ctx, b.id)
	require.NoError(t, err)
	settings.Valuation = "weighted average"
	require.NoError(t, b.SaveChoices(ctx, b.id, settings, "en-US"))
	still, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, costs.Cloth, still.Cloth, "what is planned keeps what it was planned with")
	_, err = b.pool.Exec(ctx, `WITH free AS (UPDATE batches SET plan_id = NULL) UPDATE batch_plans SET state = 'failed'`) // or the plan that is chosen would stay so
	require.NoError(t, err)
	_, err = b.PlanNow(ctx, b.id, id, 1)
	require.NoError(t, err)
	average, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	for _, from := range linen(average).Drawn.Draw.Drawn {
		require.InDelta(t, 125.6/9.5, from.UnitCost.Number().Float64(), 1e-4, "5 yd at 13.60 and 4 1/2 yd at 12.80")
	}

	// Kept costs stay when the shelf changes.
	require.NoError(t, b.KeepBatchCosts(ctx, b.id, id))
	_, err = b.pool.Exec(ctx, `UPDATE bolts SET price = 99`)
	require.NoError(t, err)
	kept, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	require.NotNil(t, kept.Kept)
	require.Equal(t, average.Actual, kept.Actual)
	require.Equal(t, average.Garments, kept.Garments)
	require.NoError(t, b.KeepBatchCosts(ctx, b.id, id), "keeping twice keeps the first")

	// Only what is cut is called actual.
	_, err = b.pool.Exec(ctx, `UPDATE batches SET state = 'cut', released_at = now(), plan_id = (SELECT max(p.id) FROM batch_plans p WHERE p.batch_id = batches.id)`)
	require.NoError(t, err)
	cut, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, "Actual", cut.Heading())
}

// Baskets pay what is taken per sale once.
func TestAMixedSale(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	channels, err := b.Channels(ctx, b.id)
	require.NoError(t, err)
	lines := []workshop.BasketLine{{Colourway: b.way(t, "Rust").ID, Size: "98", Count: 1}, {Colourway: b.way(t, "Ticking").ID, Size: "10", Count: 2}}
	result, err := b.Basket(ctx, b.id, channels[0].ID, lines)
	require.NoError(t, err)
	require.InDelta(t, 0.20, result.Basket.Saved.Number().Float64(), 0.011, "the card fee's 0.10 is taken once, not three times")
	sum, err := money.SumAmounts(result.Basket.Kept...)
	require.NoError(t, err)
	require.Equal(t, result.Basket.Sale.Kept, sum)
	result, err = b.Basket(ctx, b.id, channels[1].ID, lines[:1])
	require.NoError(t, err)
	require.Positive(t, result.Short.Sign(), "one skirt doesn't reach a shop's least order")
	_, err = b.Basket(ctx, b.id, channels[0].ID, []workshop.BasketLine{{Colourway: lines[0].Colourway, Size: "XXL", Count: 1}})
	requireFault(t, err, "item.0.garment", "Choose")
	_, err = b.Basket(ctx, b.id, channels[0].ID, nil)
	requireFault(t, err, "item.0.garment", "at least one")
}

// A yen workshop has no fractions of a coin anywhere; a euro one with tax in the price keeps
// its floor.
func TestOtherCurrencies(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	for _, code := range []string{"JPY", "EUR", "KWD"} {
		w, err := b.Workshop(ctx, b.id)
		require.NoError(t, err)
		w.Currency = code
		require.NoError(t, b.SaveSettings(ctx, w, workshop.KeepNumbers))
		channels, err := b.Channels(ctx, b.id)
		require.NoError(t, err)
		for _, c := range channels {
			c.Settings.Tax = costing.Tax{Rate: money.MustPercent("19"), Included: true}
			_, err := b.SaveChannelDraft(ctx, b.id, c)
			require.NoError(t, err, code)
		}
		prices, err := b.PriceStyle(ctx, b.id, b.way(t, "Rust").ID, costing.Change{})
		require.NoError(t, err)
		for _, pricing := range prices.Pricings {
			for _, line := range pricing.Sheet.Lines {
				require.True(t, line.Amount.IsMinor())
			}
			for _, q := range pricing.Quotes {
				require.True(t, q.Price.IsMinor())
				require.Equal(t, code, q.Price.Currency().Code())
			}
		}
		var book bytes.Buffer
		require.NoError(t, b.PricingWorkbook(ctx, &book, b.id, 0, ""))
	}
}

// The cheapest batch is where set-up and keeping balance; without sales there is none.
func TestBatchSizes(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Meadow on slate")
	prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	sizes, err := prices.BatchSizes(prices.Pricings[0].Sheet)
	require.NoError(t, err)
	require.Equal(t, 140, prices.Costs.YearSales)
	for _, p := range sizes.Points {
		require.GreaterOrEqual(t, p.Total.Number().Cmp(sizes.Cheapest.Total.Number()), 0)
	}
	require.Greater(t, sizes.Cheapest.Garments, int64(1))
	lays := 0
	for _, planned := range prices.Use.Plans {
		lays += len(planned.Plan.Lays)
	}
	setUp := int64(5 * lays) // each lay of the demo takes 5 minutes to set up
	for _, o := range prices.Style.Operations {
		setUp += int64(o.SetUp.Minutes())
	}
	require.Equal(t, money.Int(setUp), sizes.Cost.SetUpMinutes, "setting up the lays and the steps")
	half, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{Batch: money.MustParse("0.5")})
	require.NoError(t, err)
	cutting := func(p workshop.StylePrices) costing.Line {
		lines := p.Pricings[0].Sheet.Lines
		return lines[slices.IndexFunc(lines, isCutting)]
	}
	more, err := cutting(half).Quantity.Sub(cutting(prices).Quantity)
	require.NoError(t, err)
	var all float64
	for i, size := range prices.Sizes {
		in := prices.Pricings[i].Sheet.Inputs
		all += in.Operations[0].SetUp.Float64() * float64(prices.Use.Counts[size])
	}
	require.InDelta(t, float64(5*lays)*24, all, 0.05, "what the sizes bear of setting up the lays sums to it")
	require.InDelta(t, prices.Pricings[0].Sheet.Inputs.Operations[0].SetUp.Float64()/24/0.9, more.Float64(), 1e-9, "half the batch bears twice the set-up of the lays, at a pace of 90 %")
	tried, err := prices.TryPrice(prices.Channels[0].ID, prices.Pricings[0].Quotes[0].Floor)
	require.NoError(t, err)
	require.GreaterOrEqual(t, tried.Sales[0].Profit.Sign(), 0)
	require.Negative(t, tried.Sales[len(tried.Sales)-1].Profit.Sign(), "the floor of a small size is too little for a large one")
	_, err = prices.TryPrice(1<<40, tried.Price)
	requireFault(t, err, "try_channel", "Choose")
}

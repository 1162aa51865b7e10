package workshop_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// lineNamed finds a line of a cost sheet.
func lineNamed(t *testing.T, sheet costing.Sheet, label string) costing.Line {
	t.Helper()
	at := slices.IndexFunc(sheet.Lines, func(l costing.Line) bool { return l.Label == label })
	require.GreaterOrEqual(t, at, 0, "no line %s", label)
	return sheet.Lines[at]
}

// Direct expenses reach the cost sheets of their colourway, shared as they were said to be.
func TestDirectExpensesReachTheCostSheet(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	slate, moss := b.way(t, "Meadow on slate"), b.way(t, "Rust")
	require.NotEqual(t, slate.StyleID, moss.StyleID)
	expenses := []store.StyleExpense{
		{Name: "Pattern licence", Amount: dec("45"), PaidFor: store.ForSoMany, Garments: 150},
		{Name: "Sample", Amount: dec("36"), PaidFor: store.ForEachBatch, ColourwayID: &slate.ID},
		{Name: "Label fee", Amount: dec("0.4"), PaidFor: store.ForEachGarment},
	}
	require.NoError(t, b.SetStyleExpenses(ctx, b.id, slate.StyleID, expenses))
	prices, err := b.PriceStyle(ctx, b.id, slate.ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, 24, prices.Use.Garments)
	sheet := prices.Pricings[0].Sheet
	require.Equal(t, "0.30", lineNamed(t, sheet, "Pattern licence").Amount.Number().StringFixed(2))
	require.Equal(t, "1.50", lineNamed(t, sheet, "Sample").Amount.Number().StringFixed(2))
	require.Equal(t, "2.20", sheet.Expenses.Number().StringFixed(2))
	half, err := b.PriceStyle(ctx, b.id, slate.ID, costing.Change{Batch: dec("0.5")})
	require.NoError(t, err)
	require.Equal(t, "3.00", lineNamed(t, half.Pricings[0].Sheet, "Sample").Amount.Number().StringFixed(2))
	other, err := b.PriceStyle(ctx, b.id, moss.ID, costing.Change{})
	require.NoError(t, err)
	require.True(t, other.Pricings[0].Sheet.Expenses.IsZero())
	sizes, err := prices.BatchSizes(sheet)
	require.NoError(t, err)
	require.Equal(t, "36", sizes.Cost.SetUpMoney.Number().String())

	requireFault(t, b.SetStyleExpenses(ctx, b.id, slate.StyleID, []store.StyleExpense{{Name: "x", Amount: dec("1"), PaidFor: store.ForEachBatch, ColourwayID: &moss.ID}}), "", "hasn't got")
	requireFault(t, b.SetStyleExpenses(ctx, b.id, slate.StyleID, []store.StyleExpense{{Name: "x", Amount: dec("1"), PaidFor: store.ForSoMany}}), "", "how many garments")
	again, err := b.PriceStyle(ctx, b.id, slate.ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, sheet.Total, again.Pricings[0].Sheet.Total, "what was refused changes nothing")
}

// Learning is off until the maker switches it on; then it changes the cost sheet with the batch.
func TestLearningIsSwitchedOn(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Meadow on slate")
	sheet := func(change costing.Change) costing.Sheet {
		prices, err := b.PriceStyle(ctx, b.id, way.ID, change)
		require.NoError(t, err)
		return prices.Pricings[0].Sheet
	}
	off := sheet(costing.Change{})
	costs, err := b.StyleCosts(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	require.Equal(t, store.LearningOff, costs.Learning)
	costs.Learning, costs.LearningRate, costs.TimedGarment = costing.UnitCurve.String(), dec("0.8"), 1
	require.NoError(t, b.SetStyleCosts(ctx, b.id, way.StyleID, costs))
	unit := sheet(costing.Change{})
	require.True(t, unit.Labour.Number().Less(off.Labour.Number()))
	require.Equal(t, off.Lines[slices.IndexFunc(off.Lines, isCutting)], unit.Lines[slices.IndexFunc(unit.Lines, isCutting)], "cutting by lays doesn't learn")
	larger := sheet(costing.Change{Batch: dec("2")})
	require.True(t, larger.Labour.Number().Less(unit.Labour.Number()))
	costs.Learning = costing.AverageCurve.String()
	require.NoError(t, b.SetStyleCosts(ctx, b.id, way.StyleID, costs))
	average := sheet(costing.Change{})
	require.True(t, average.Labour.Number().Less(unit.Labour.Number()), "the same rate is steeper when it shortens the average")

	prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	sizes, err := prices.BatchSizes(average)
	require.NoError(t, err)
	for _, p := range sizes.Points {
		require.GreaterOrEqual(t, p.Total.Number().Cmp(sizes.Cheapest.Total.Number()), 0)
	}
	var paid float64
	for i, size := range prices.Sizes {
		paid += float64(prices.Use.Counts[size]) * prices.Pricings[i].Sheet.MinutesPaid.Float64()
	}
	require.InDelta(t, paid/24*prices.Workshop.Efficiency.Float64(), sizes.Usual.Minutes.Float64(), 1e-3, "the chart goes through the cost sheets of a usual batch, on the average")
	costs.LearningRate = dec("0.5")
	requireFault(t, b.SetStyleCosts(ctx, b.id, way.StyleID, costs), "learning_rate", "more than 50 %")
}

func isCutting(l costing.Line) bool { return l.Label == "spread and cut" }

// Minutes worked take the place of the standard minutes of their stage, all of them and no more;
// expenses of a batch are shared by its garments; both still count when costs have been kept.
func TestWhatABatchTook(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id := b.openBatch(t)
	_, err := b.PlanNow(ctx, b.id, id, 1)
	require.NoError(t, err)
	before, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	stage := func(c workshop.BatchCosts, name string) workshop.StageMinutes {
		return c.Stages[slices.IndexFunc(c.Stages, func(m workshop.StageMinutes) bool { return m.Stage == name })]
	}
	require.False(t, stage(before, "sew").Noted())
	require.Positive(t, stage(before, "sew").Standard.Sign())
	// The stages sum to the minutes of the cost sheets.
	var stages, sheets float64
	for _, m := range before.Stages {
		stages += m.Expected.Float64()
	}
	for _, g := range before.Garments {
		sheets += g.Sheet.MinutesPaid.Float64() * float64(g.Quantity)
	}
	require.InDelta(t, sheets, stages, 1e-6)

	for _, minutes := range []string{"1200", "800.5"} {
		_, err = b.NoteMinutes(ctx, b.id, id, store.BatchMinutes{Stage: "sew", Minutes: dec(minutes)})
		require.NoError(t, err)
	}
	require.NoError(t, b.SetBatchExpenses(ctx, b.id, id, []store.BatchExpense{{Name: "Courier", Amount: dec("24")}}))
	after, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	sew := stage(after, "sew")
	require.Equal(t, "2000.5", sew.Worked.String())
	require.InDelta(t, sew.Standard.Float64()/2000.5, sew.Pace.Fraction().Float64(), 1e-9)
	var worked float64
	actual := after.Actual.Currency().Zero()
	for i, g := range after.Garments {
		require.Equal(t, "0.20", lineNamed(t, g.Sheet, "Courier").Amount.Number().StringFixed(2), "24.00 over 120 garments")
		for _, o := range g.Sheet.Inputs.Operations {
			if o.Worked {
				require.Equal(t, "sew", o.Stage)
				worked += o.Run.Float64() * float64(g.Quantity)
			}
		}
		require.Equal(t, before.Garments[i].Standard, g.Standard, "the standard stays")
		require.Equal(t, g.Sheet.Total, g.Compared.Actual)
		several, err := g.Sheet.Total.Mul(money.Int(int64(g.Quantity)))
		require.NoError(t, err)
		actual, err = actual.Add(several)
		require.NoError(t, err)
	}
	require.InDelta(t, 2000.5, worked, 0.01, "no minute is lost or counted twice")
	require.Equal(t, actual, after.Actual)

	require.NoError(t, b.KeepBatchCosts(ctx, b.id, id))
	_, err = b.pool.Exec(ctx, `UPDATE bolts SET price = 99`)
	require.NoError(t, err)
	kept, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, after.Actual, kept.Actual)
	require.NoError(t, b.RemoveBatchMinutes(ctx, b.id, id, after.Noted.Minutes[0].ID, false))
	less, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, "1200", stage(less, "sew").Worked.String())
	require.True(t, less.Actual.Number().Less(kept.Actual.Number()))

	_, err = b.NoteMinutes(ctx, b.id, id, store.BatchMinutes{Stage: "dream", Minutes: dec("1")})
	requireFault(t, err, "stage", "Choose a stage")
	_, err = b.NoteMinutes(ctx, b.id, id, store.BatchMinutes{Stage: "sew", Minutes: dec("0")})
	requireFault(t, err, "minutes", "above 0")
	_, err = b.NoteMinutes(ctx, b.id, id, store.BatchMinutes{Stage: "sew", Minutes: dec("5"), WorkedOn: b.Today().AddDate(0, 0, 1)})
	requireFault(t, err, "worked_on", "still to come")
	_, err = b.NoteMinutes(ctx, b.id, 1<<40, store.BatchMinutes{Stage: "sew", Minutes: dec("5")})
	requireFault(t, err, "", "was not found")
}

// An expense of a batch takes the place of the style's of the same name, and minutes of a stage that
// no style has are shared evenly.
func TestWhatABatchTookBesidesItsStandard(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Meadow on slate")
	require.NoError(t, b.SetStyleExpenses(ctx, b.id, way.StyleID, []store.StyleExpense{{Name: "Dyeing", Amount: dec("24"), PaidFor: store.ForEachBatch, ColourwayID: &way.ID}}))
	style, err := b.Style(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	require.NotEmpty(t, style.Operations)
	id := b.openBatch(t)
	_, err = b.PlanNow(ctx, b.id, id, 1)
	require.NoError(t, err)
	costs, err := b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	ofWay := 0
	for _, g := range costs.Garments {
		if g.Colourway == way.ID {
			ofWay += g.Quantity
		}
	}
	for _, g := range costs.Garments {
		if g.Colourway == way.ID {
			require.InDelta(t, 24/float64(ofWay), lineNamed(t, g.Sheet, "Dyeing").Amount.Number().Float64(), 0.005, "its own colourway alone pays")
		}
	}
	require.NoError(t, b.SetBatchExpenses(ctx, b.id, id, []store.BatchExpense{{Name: "dyeing", Amount: dec("60")}}))
	costs, err = b.BatchCosts(ctx, b.id, id)
	require.NoError(t, err)
	for _, g := range costs.Garments {
		name := "dyeing"
		if g.Colourway == way.ID {
			name = "Dyeing"
		}
		require.Equal(t, "0.50", lineNamed(t, g.Sheet, name).Amount.Number().StringFixed(2), "60.00 over 120 garments, once")
	}
	require.True(t, costs.OwnExpense("Dyeing"))
}

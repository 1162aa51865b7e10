package costing

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

// Total-time coefficients of an 80 % unit curve, as tables of learning curves print them, from
// memory; each is the sum of n^(log 0.8 ÷ log 2).
func TestLearnedShareAgreesWithTables(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		garments int64
		total    string
	}{{1, "1"}, {2, "1.8"}, {4, "3.142"}, {10, "6.315"}, {20, "10.485"}, {100, "32.651"}, {200, "52.720"}} {
		share, err := Learned{Rate: percent("80")}.Share(test.garments)
		require.NoError(t, err)
		require.InDelta(t, num(test.total).Float64(), share.Float64()*float64(test.garments), 6e-4)
	}
	average, err := Learned{Rate: percent("80"), Model: AverageCurve}.Share(8)
	require.NoError(t, err)
	require.Equal(t, "0.512", average.String(), "0.8³: the count doubled three times")
	// Timed at garment 8 of an 80 % unit curve, which takes 0.512 of the first: the first alone
	// takes 1 ÷ 0.512 of it.
	alone, err := Learned{Rate: percent("80"), At: 8}.Share(1)
	require.NoError(t, err)
	require.Equal(t, "1.953125", alone.String())
	off, err := Learned{}.Share(50)
	require.NoError(t, err)
	require.Equal(t, num("1"), off)
	_, err = Learned{Rate: percent("40")}.Share(5)
	require.ErrorContains(t, err, "more than 50 %")
	_, err = Learned{Rate: percent("80")}.Share(0)
	require.ErrorContains(t, err, "from 1 to")
}

// The formula that long runs are added up by agrees with adding up one by one.
func TestLongRunsAreAddedUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		curve := Learning{Rate: money.Percent(money.New(rapid.Int64Range(5001, 10000).Draw(t, "rate"), 2))}
		n := rapid.Int64Range(1, 3000).Draw(t, "n")
		sum := 0.0
		for i := n; i >= 1; i-- {
			sum += curve.factor(i)
		}
		require.InEpsilon(t, sum, curve.totalFactor(n), 1e-11)
	})
}

// A step that learns takes less time in a larger batch; the others and their set-up stay.
func TestLearningChangesTheSheet(t *testing.T) {
	t.Parallel()
	in := skirt()
	in.Garments = num("4")
	in.Operations[1].Learns = true
	flat, err := NewSheet(in)
	require.NoError(t, err)
	in.Learning = Learned{Rate: percent("80")}
	learnt, err := NewSheet(in)
	require.NoError(t, err)
	cut, sew := learnt.Lines[4], learnt.Lines[5]
	require.Equal(t, flat.Lines[4], cut)
	// 18.4 × 0.785526 = 14.4536..., + 10 ÷ 4 = 16.9536..., ÷ 0.85 × 0.3 = 5.98365...
	require.Equal(t, "5.98", sew.Amount.Number().StringFixed(2))
	require.Equal(t, Factor{Name: "share left by learning", Field: "learning", Value: num("0.785526")}, sew.Factors[1])
	require.Contains(t, sew.Formula, "learning")
	require.True(t, learnt.Total.Number().Less(flat.Total.Number()))

	// Twice the batch, asked as a what-if, goes on along the curve.
	double, err := Change{Batch: num("2")}.Inputs(in)
	require.NoError(t, err)
	larger, err := NewSheet(double)
	require.NoError(t, err)
	require.Equal(t, "0.66824", larger.Lines[5].Factors[1].Value.Round(5, money.HalfUp).String(), "5.3459 ÷ 8")

	in.Learning.Rate = percent("45")
	_, err = NewSheet(in)
	require.ErrorContains(t, err, "learning.rate")
	in.Learning = Learned{Rate: percent("80"), At: -1}
	_, err = NewSheet(in)
	require.ErrorContains(t, err, "learning.at")
	in.Learning.At, in.Garments = 1, num("20000000")
	_, err = NewSheet(in)
	require.ErrorContains(t, err, "garments")
}

// Minutes that were worked are paid as they are; efficiency is for standard minutes.
func TestMinutesWorked(t *testing.T) {
	t.Parallel()
	in := skirt()
	in.Operations = []Operation{{Name: "Sew", Run: num("30"), Worked: true}, {Name: "Press", Run: num("17")}}
	sheet, err := NewSheet(in)
	require.NoError(t, err)
	sew := sheet.Lines[4]
	require.Equal(t, "30", sew.Quantity.String())
	require.Equal(t, dollars("9"), sew.Amount, "30 min at 18.00 an hour")
	require.Equal(t, formulaWorked, sew.Formula)
	for _, factor := range sew.Factors {
		require.NotEqual(t, "efficiency", factor.Name)
	}
	require.Equal(t, "50", sheet.MinutesPaid.String(), "30 worked and 17 ÷ 0.85")
	require.Equal(t, "42.5", sheet.StandardMinutes.String())
	require.Equal(t, dollars("6.25"), sheet.Overhead, "50 min at 7.50 an hour")
}

// What is paid for each batch is shared by the garments of the batch, whatever its size.
func TestExpensesOfABatch(t *testing.T) {
	t.Parallel()
	in := skirt()
	in.Expenses = []Expense{
		{Name: "Label fee", Amount: dollars("0.4")},
		{Name: "Dyeing", Amount: dollars("18"), Garments: num("99"), PerBatch: true},
		{Name: "Licence", Amount: dollars("45"), Garments: num("150")},
	}
	amounts := func(in Inputs) []string {
		sheet, err := NewSheet(in)
		require.NoError(t, err)
		var found []string
		for _, line := range sheet.Lines {
			if line.Kind == ExpenseLine {
				found = append(found, line.Amount.Number().StringFixed(2))
			}
		}
		return found
	}
	require.Equal(t, []string{"0.40", "1.50", "0.30"}, amounts(in))
	half, err := Change{Batch: num("0.5")}.Inputs(in)
	require.NoError(t, err)
	require.Equal(t, []string{"0.40", "3.00", "0.30"}, amounts(half))
}

// The cheapest batch with learning is the cheapest of all that were looked at, and learning moves
// it: costs fall for longer.
func TestCheapestBatchWithLearning(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		batch := BatchCost{
			SetUpMinutes: drawDecimal(t, "set-up", 200, 1), RunMinutes: drawDecimal(t, "run", 50, 1), LearnedMinutes: drawDecimal(t, "learned", 500, 1),
			HourlyCost: dollars("24"), Demand: money.Int(rapid.Int64Range(1, 500).Draw(t, "demand")),
			Learning: Learned{
				Rate:  money.Percent(money.Int(rapid.Int64Range(51, 100).Draw(t, "rate"))),
				Model: LearningModel(rapid.IntRange(0, 1).Draw(t, "model")), At: rapid.Int64Range(0, 40).Draw(t, "at"),
			},
			Holding: money.NewAmount(money.New(rapid.Int64Range(1, 500).Draw(t, "holding"), 2), usd),
		}
		most := rapid.Int64Range(1, 60).Draw(t, "most")
		best, err := batch.Cheapest(most)
		require.NoError(t, err)
		for n := int64(1); n <= most; n++ {
			point, err := batch.At(n)
			require.NoError(t, err)
			require.False(t, point.Total.Number().Less(best.Total.Number()), "%d is cheaper than %d", n, best.Garments)
		}
	})
	batch := BatchCost{SetUpMinutes: num("30"), LearnedMinutes: num("40"), HourlyCost: dollars("24"), Demand: num("60"), Holding: dollars("4")}
	plain, err := batch.Cheapest(200)
	require.NoError(t, err)
	batch.Learning = Learned{Rate: percent("85")}
	learnt, err := batch.Cheapest(200)
	require.NoError(t, err)
	require.Greater(t, learnt.Garments, plain.Garments)
}

package costing

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

// A garment that costs more never has a lower price, whichever way channels hang together: retail
// at a multiple of the wholesale price too, and one price for all sizes.
func TestDearerInputsNeverLowerTheWholeLine(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		wholesale, retail := drawChannel(t), drawChannel(t)
		wholesale.Kind, wholesale.Target.Kind = Shop, rapid.SampledFrom([]TargetKind{TargetCost, TargetMarkup, TargetMargin, TargetProfit}).Draw(t, "shop's target")
		retail.Kind, retail.Target.Kind, retail.Target.Multiple = Fair, TargetWholesale, num("2")
		wholesale.Postage = Postage{} // it could pay for the garment all by itself
		channels := []Channel{retail, wholesale}
		line := make([]Inputs, rapid.IntRange(1, 3).Draw(t, "sizes"))
		mix := make([]money.Decimal, len(line))
		for i := range line {
			line[i], mix[i] = drawInputs(t), money.Int(rapid.Int64Range(1, 9).Draw(t, "count"))
			// A garment that costs nothing has no wholesale price to multiply.
			line[i].Expenses = append(line[i].Expenses, Expense{Name: "Label", Amount: dollars("1")})
		}
		change := Change{
			Cloth: money.Percent(drawDecimal(t, "cloth", 500, 1)), Packing: money.Percent(drawDecimal(t, "packing up", 500, 1)),
			Overhead: money.Percent(drawDecimal(t, "overhead up", 500, 1)), Batch: money.New(rapid.Int64Range(1, 10).Draw(t, "batch"), 1),
		}
		before, err := Reprice(line, channels, Change{})
		require.NoError(t, err)
		after, err := Reprice(line, channels, change)
		require.NoError(t, err)
		for i := range line {
			for c := range channels {
				was, is := before[i].Quotes[c], after[i].Quotes[c]
				require.LessOrEqual(t, was.Price.Number().Cmp(is.Price.Number()), 0, "size %d, channel %d", i, c)
				require.LessOrEqual(t, is.Floor.Number().Cmp(is.Price.Number()), 0, "floor ≤ price")
			}
		}
		was, err := OnePrices(before, channels, Change{}, mix, EverySizePays)
		require.NoError(t, err)
		is, err := OnePrices(after, channels, change, mix, EverySizePays)
		require.NoError(t, err)
		for c := range channels {
			require.LessOrEqual(t, was[c].Price.Number().Cmp(is[c].Price.Number()), 0, "one price, channel %d", c)
			for _, quote := range is[c].Quotes {
				require.LessOrEqual(t, quote.Floor.Number().Cmp(is[c].Price.Number()), 0, "one price covers the floor of every size")
			}
		}
	})
}

// A price stands on a price point, and no lower point would do.
func TestPricesStandOnPricePoints(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ch, g := drawChannel(t), drawGarment(t)
		step := rapid.SampledFrom([]string{"0.05", "0.5", "1", "2.5", "5"}).Draw(t, "step")
		ch.PricePoint = money.PricePoint{Step: num(step)}
		if rapid.Bool().Draw(t, "ends below") {
			ch.PricePoint.Ending = num(step)
			var err error
			ch.PricePoint.Ending, err = ch.PricePoint.Ending.Sub(num("0.01"))
			require.NoError(t, err)
		}
		q, err := pricerOf(t, ch).Quote(g)
		require.NoError(t, err)
		above, err := q.Price.Number().Sub(ch.PricePoint.Ending)
		require.NoError(t, err)
		steps, err := above.Div(ch.PricePoint.Step)
		require.NoError(t, err)
		require.Equal(t, steps, steps.Round(0, money.Down), "%s is no price point", q.Price)
		needed := q.Wanted.Number()
		if needed.Less(q.Floor.Number()) {
			needed = q.Floor.Number()
		}
		require.False(t, q.Price.Number().Less(needed))
		lower, err := q.Price.Number().Sub(ch.PricePoint.Step)
		require.NoError(t, err)
		require.True(t, lower.Less(needed), "%s, a point lower, would do for %s", lower, needed)
	})
}

// What is kept of a mixed sale is shared out to the cent, and never is less than if each garment
// were sold alone by a share of the fees per sale.
func TestBasketParts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ch := drawChannel(t)
		items := make([]BasketItem, rapid.IntRange(1, 5).Draw(t, "items"))
		for i := range items {
			items[i] = BasketItem{
				Counted: Counted{Garment: drawGarment(t), Count: money.Int(rapid.Int64Range(1, 6).Draw(t, "count"))},
				Price:   drawAmount(t, "price", 9000),
			}
		}
		items[0].Price = dollars("1")
		rule := rapid.SampledFrom([]money.OddUnit{money.LargestRemainder, money.FirstParts, money.LastParts}).Draw(t, "odd cent")
		basket, err := pricerOf(t, ch).Basket(items, rule)
		require.NoError(t, err)
		kept, err := money.SumAmounts(basket.Kept...)
		require.NoError(t, err)
		require.Equal(t, basket.Sale.Kept, kept)
		parts := []money.Amount{basket.Sale.Tax, basket.Sale.Kept, basket.Sale.Rounding}
		for _, taken := range basket.Sale.Taken {
			parts = append(parts, taken.Amount)
		}
		sum, err := money.SumAmounts(parts...)
		require.NoError(t, err)
		require.Equal(t, basket.Sale.Gross, sum)
	})
}

// Planned and actual cost sheets differ by the sum of their lines, price and use, to the cent.
func TestComparedLinesSum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		planned, err := NewSheet(drawInputs(t))
		require.NoError(t, err)
		actual, err := NewSheet(drawInputs(t))
		require.NoError(t, err)
		compared, err := Compare(planned, actual)
		require.NoError(t, err)
		sum := usd.Zero()
		for _, line := range compared.Lines {
			split, err := line.ByPrice.Add(line.ByUse)
			require.NoError(t, err)
			require.Equal(t, line.Difference, split)
			sum, err = sum.Add(line.Difference)
			require.NoError(t, err)
		}
		require.Equal(t, compared.Difference, sum)
		split, err := compared.ByPrice.Add(compared.ByUse)
		require.NoError(t, err)
		require.Equal(t, compared.Difference, split)
	})
}

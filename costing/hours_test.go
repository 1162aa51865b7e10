package costing

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

func drawStall(t *rapid.T) Stall {
	return Stall{Hours: money.Int(rapid.Int64Range(0, 14).Draw(t, "stall hours")), Sales: money.Int(rapid.Int64Range(1, 60).Draw(t, "sales of a day"))}
}

// By hand: of 2,000 hours worked 1,200 make garments, so that 40 minutes go with each hour paid. A
// garment of 30 minutes at $18 an hour costs $9.00 of labour, $2.50 of overhead at $5 an hour and
// 20 min × $18 ÷ 60 = $6.00 of unpaid hours.
func TestUnpaidHours(t *testing.T) {
	t.Parallel()
	in := Inputs{
		Currency: usd, Garments: one, Wage: dollars("18"), Overhead: dollars("5"), Productive: percent("60"),
		Operations: []Operation{{Name: "sew", Run: num("30")}},
	}
	sheet, err := NewSheet(in)
	require.NoError(t, err)
	require.Equal(t, dollars("8.5"), sheet.Overhead)
	require.Equal(t, dollars("6"), sheet.Unpaid)
	require.Equal(t, dollars("17.5"), sheet.Total)
	require.Equal(t, num("30"), sheet.MinutesPaid)
	require.Equal(t, num("50"), sheet.MinutesWorked)
	line := sheet.Lines[2]
	require.Equal(t, UnpaidLabel, line.Label)
	require.Equal(t, num("20"), line.Quantity)

	fair := Channel{Name: "Fair", Currency: usd}
	sale, err := pricerOf(t, fair).Sale(sheet.Garment(), dollars("27.50"))
	require.NoError(t, err)
	require.Equal(t, dollars("30"), sale.Hourly, "27.50 less $2.50 that is not the maker's, for 50 minutes really worked")
	atCost, err := pricerOf(t, fair).Sale(sheet.Garment(), dollars("17.50"))
	require.NoError(t, err)
	require.Equal(t, dollars("18"), atCost.Hourly, "at its cost, every hour worked earns the wage")

	// The other convention: the cost is lower, what an hour earns at a price is the same.
	in.Settings.Unpaid = UnpaidFromProfit
	other, err := NewSheet(in)
	require.NoError(t, err)
	require.Equal(t, dollars("11.5"), other.Total)
	require.True(t, other.Unpaid.IsZero())
	same, err := pricerOf(t, fair).Sale(other.Garment(), dollars("27.50"))
	require.NoError(t, err)
	require.Equal(t, sale.Hourly, same.Hourly)

	// A day of 8 hours at the stall that sells 24 is 20 minutes for each.
	fair.Stall = Stall{Hours: num("8"), Sales: num("24")}
	atStall, err := pricerOf(t, fair).Sale(sheet.Garment(), dollars("27.50"))
	require.NoError(t, err)
	require.Equal(t, num("70"), atStall.Minutes)
	require.Equal(t, dollars("23.5"), atStall.Cost, "17.50 and 20 min × $18 ÷ 60")
	require.Equal(t, "21.43", atStall.Hourly.Number().String(), "25 ÷ 70 min")
	floor, err := pricerOf(t, fair).Floor(sheet.Garment())
	require.NoError(t, err)
	require.Equal(t, dollars("23.5"), floor)
	fair.Stall.Sales = money.Decimal{}
	require.ErrorContains(t, fair.Check(), "stall.sales")

	in.Productive = percent("101")
	_, err = NewSheet(in)
	require.ErrorContains(t, err, "productive")
}

// A dearer hour raises the pay of unpaid hours with it.
func TestAWageRaisesUnpaidHours(t *testing.T) {
	t.Parallel()
	in := Inputs{Currency: usd, Garments: one, Wage: dollars("18"), Productive: percent("60"), Operations: []Operation{{Name: "sew", Run: num("30")}}}
	changed, err := Change{Wage: percent("10")}.Inputs(in)
	require.NoError(t, err)
	sheet, err := NewSheet(changed)
	require.NoError(t, err)
	require.Equal(t, dollars("6.6"), sheet.Unpaid)
}

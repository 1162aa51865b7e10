package costing

import (
	"encoding/json"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

var usd = money.MustCurrency("USD")

func num(text string) money.Decimal    { return money.MustParse(text) }
func dollars(text string) money.Amount { return money.NewAmount(num(text), usd) }
func percent(text string) money.Rate   { return money.MustPercent(text) }

// skirt is an invented garment with a line of every kind.
func skirt() Inputs {
	return Inputs{
		Style: "Gathered skirt", Colourway: "Fern", Size: "104", Currency: usd, Garments: num("12"),
		Cloths: []Cloth{
			{
				Role: "body", Name: "Fern print", Length: num("0.45"), EndsAndLosses: num("0.02"), Unit: "yd",
				Price: LandedPrice{List: dollars("8.5"), Freight: dollars("0.35"), Tax: percent("6")}, Wastage: percent("5"),
			},
			{Role: "band", Name: "Plain green", Length: num("0.2"), Unit: "yd", Price: Priced(dollars("6.25"))},
		},
		Notions: []Notion{
			{Name: "Elastic 3/4 in", Quantity: num("0.61"), Unit: "yd", Price: LandedPrice{List: dollars("12"), For: num("50")}},
			{Name: "Thread", Quantity: num("45"), Unit: "yd", Price: LandedPrice{List: dollars("4.8"), For: num("1094"), Discount: percent("10")}, Wastage: percent("15")},
		},
		Operations: []Operation{
			{Name: "Cut", SetUp: num("35"), Run: num("2.5")},
			{Name: "Sew", SetUp: num("10"), Run: num("18.4")},
			{Name: "Press", Run: num("3"), Wage: dollars("16")},
		},
		Expenses: []Expense{{Name: "Grading", Amount: dollars("60"), Garments: num("80")}},
		Packing:  []Notion{{Name: "Hang tag", Quantity: num("1"), Unit: "pc", Price: LandedPrice{List: dollars("9"), For: num("100")}}},
		Wage:     dollars("18"), Efficiency: percent("85"), Overhead: dollars("7.5"),
	}
}

func TestSheet(t *testing.T) {
	t.Parallel()
	sheet, err := NewSheet(skirt())
	require.NoError(t, err)
	got := map[string]string{}
	for _, line := range sheet.Lines {
		got[line.Label] = line.Amount.Number().StringFixed(2)
	}
	// Worked by hand: 0.47 × 1.05 × (8.5 + 0.35) × 1.06 = 4.6294..., and so on.
	require.Equal(t, map[string]string{
		"Fern print":     "4.63", // 0.4935 × 9.381 = 4.62952...
		"Plain green":    "1.25",
		"Elastic 3/4 in": "0.15", // 0.61 × 12 ÷ 50 = 0.1464
		"Thread":         "0.20", // 45 × 1.15 × 4.32 ÷ 1094 = 0.20435...
		"Cut":            "1.91", // (2.5 + 35/12) ÷ 0.85 × 0.3 = 1.91176...
		"Sew":            "6.79", // (18.4 + 10/12) ÷ 0.85 × 0.3 = 6.78823...
		"Press":          "0.94", // 3 ÷ 0.85 × 16 ÷ 60 = 0.94117...
		"Grading":        "0.75",
		"Overhead":       "4.07", // 27.65 ÷ 0.85 ÷ 60 × 7.5 = 4.06617...
		"Hang tag":       "0.09",
	}, got)
	require.Equal(t, dollars("6.23"), sheet.Materials)
	require.Equal(t, dollars("9.64"), sheet.Labour)
	require.Equal(t, dollars("16.62"), sheet.PrimeCost)
	require.Equal(t, dollars("20.69"), sheet.ProductionCost)
	require.Equal(t, dollars("20.78"), sheet.Total)
	require.Equal(t, "27.65", sheet.StandardMinutes.String())

	again, err := json.Marshal(sheet)
	require.NoError(t, err)
	var read Sheet
	require.NoError(t, json.Unmarshal(again, &read))
	require.Equal(t, sheet, read, "a cost sheet is kept as JSON and must come back the same")
}

func TestSheetFactorsLeadToInputs(t *testing.T) {
	t.Parallel()
	sheet, err := NewSheet(skirt())
	require.NoError(t, err)
	var document map[string]any
	text, err := json.Marshal(sheet.Inputs)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &document))
	for _, line := range sheet.Lines {
		require.NotEmpty(t, line.Formula)
		for _, factor := range line.Factors {
			require.NotNil(t, follow(document, factor.Field, line.Index), "%s: %s", line.Label, factor.Field)
		}
	}
}

// follow looks a path such as cloths[].price.list up in decoded JSON.
func follow(document any, path string, index int) any {
	for step := range splitPath(path) {
		switch node := document.(type) {
		case map[string]any:
			document = node[step]
		case []any:
			document = node[index].(map[string]any)[step]
		}
	}
	return document
}

func splitPath(path string) func(func(string) bool) {
	return func(yield func(string) bool) {
		start := 0
		for i := 0; i <= len(path); i++ {
			if i == len(path) || path[i] == '.' {
				step := path[start:i]
				if n := len(step); n > 2 && step[n-2:] == "[]" {
					step = step[:n-2]
				}
				if !yield(step) {
					return
				}
				start = i + 1
			}
		}
	}
}

func TestSheetSharesWastage(t *testing.T) {
	t.Parallel()
	in := skirt()
	in.Settings.Wastage = WastageShare
	in.Cloths[1].Wastage = percent("10")
	sheet, err := NewSheet(in)
	require.NoError(t, err)
	require.Equal(t, dollars("1.39"), sheet.Lines[1].Amount, "0.2 ÷ 0.9 × 6.25 = 1.3888...")
	require.Contains(t, sheet.Lines[1].Formula, "÷ (1 − wastage)")
}

func TestInputsCheck(t *testing.T) {
	t.Parallel()
	euro := money.MustParseAmount("1 EUR")
	for _, tt := range []struct {
		name    string
		spoil   func(*Inputs)
		field   string
		message string
	}{
		{"no currency", func(in *Inputs) { in.Currency = money.Currency{} }, "currency", "missing"},
		{"no garments", func(in *Inputs) { in.Garments = num("0") }, "garments", "more than 0"},
		{"negative length", func(in *Inputs) { in.Cloths[1].Length = num("-0.1") }, "cloths[1].length", "not be less than 0"},
		{"negative losses", func(in *Inputs) { in.Cloths[0].EndsAndLosses = num("-1") }, "cloths[0].ends_and_losses", "not be less"},
		{"other currency", func(in *Inputs) { in.Notions[1].Price.List = euro }, "notions[1].price.list", "is in EUR, but must be in USD"},
		{"negative price", func(in *Inputs) { in.Packing[0].Price.List = dollars("-1") }, "packing[0].price.list", "less than 0"},
		{"all wasted", func(in *Inputs) {
			in.Settings.Wastage = WastageShare
			in.Cloths[0].Wastage = percent("100")
		}, "cloths[0].wastage", "below 100 %"},
		{"negative minutes", func(in *Inputs) { in.Operations[2].Run = num("-3") }, "operations[2].run", "less than 0"},
		{"wage in another currency", func(in *Inputs) { in.Operations[0].Wage = euro }, "operations[0].wage", "EUR"},
		{"negative efficiency", func(in *Inputs) { in.Efficiency = percent("-5") }, "efficiency", "less than 0 %"},
		{"expense", func(in *Inputs) { in.Expenses[0].Garments = num("-1") }, "expenses[0].garments", "less than 0"},
		{"overhead", func(in *Inputs) { in.Overhead = dollars("-1") }, "overhead", "less than 0"},
		{"discount of everything", func(in *Inputs) { in.Notions[0].Price.Discount = percent("100") }, "notions[0].price.discount", "below 100 %"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			in := skirt()
			tt.spoil(&in)
			_, err := NewSheet(in)
			var found *InputError
			require.ErrorAs(t, err, &found)
			require.Equal(t, tt.field, found.Field)
			require.Contains(t, found.Message, tt.message)
		})
	}
	in := skirt()
	in.Garments, in.Cloths[0].Length, in.Wage = num("-1"), num("-1"), euro
	var all InputErrors
	require.ErrorAs(t, in.Check(), &all)
	require.Len(t, all, 3, "everything wrong is told at once")
}

func TestSheetTooLarge(t *testing.T) {
	t.Parallel()
	in := skirt()
	in.Cloths[0].Price.List = dollars("9999999999999999999")
	_, err := NewSheet(in)
	require.True(t, errors.Is(err, money.ErrOverflow), "%v", err)
}

// draw helpers for properties

func drawDecimal(t *rapid.T, label string, most int64, places int) money.Decimal {
	return money.New(rapid.Int64Range(0, most).Draw(t, label), places)
}

func drawAmount(t *rapid.T, label string, most int64) money.Amount {
	return money.NewAmount(drawDecimal(t, label, most, 2), usd)
}

func drawLanded(t *rapid.T, label string) LandedPrice {
	return LandedPrice{
		List: drawAmount(t, label+" list", 5000), For: drawDecimal(t, label+" for", 200, 0),
		Discount: money.Percent(drawDecimal(t, label+" discount", 400, 1)),
		Freight:  drawAmount(t, label+" freight", 100), Tax: money.Percent(drawDecimal(t, label+" tax", 250, 1)),
	}
}

func drawInputs(t *rapid.T) Inputs {
	in := Inputs{
		Style: "Style", Colourway: "Colourway", Size: "Size", Currency: usd,
		Garments: money.Int(rapid.Int64Range(1, 60).Draw(t, "garments")),
		Wage:     drawAmount(t, "wage", 4000), Overhead: drawAmount(t, "overhead", 2000),
		Efficiency: money.Percent(money.Int(rapid.Int64Range(40, 120).Draw(t, "efficiency"))),
		Productive: money.Percent(money.Int(rapid.Int64Range(0, 100).Draw(t, "productive"))),
		Settings: Settings{
			Wastage:  WastageRule(rapid.IntRange(0, 1).Draw(t, "wastage rule")),
			Rounding: money.Rounding(rapid.IntRange(0, 3).Draw(t, "rounding")),
		},
	}
	for range rapid.IntRange(0, 3).Draw(t, "cloths") {
		in.Cloths = append(in.Cloths, Cloth{
			Role: "body", Name: "Cloth", Length: drawDecimal(t, "length", 4000, 3), EndsAndLosses: drawDecimal(t, "ends", 200, 3),
			Unit: "yd", Price: drawLanded(t, "cloth"), Wastage: money.Percent(drawDecimal(t, "wastage", 300, 1)),
		})
	}
	for range rapid.IntRange(0, 3).Draw(t, "notions") {
		in.Notions = append(in.Notions, Notion{Name: "Notion", Quantity: drawDecimal(t, "quantity", 9000, 2), Unit: "pc", Price: drawLanded(t, "notion")})
	}
	for range rapid.IntRange(0, 4).Draw(t, "operations") {
		in.Operations = append(in.Operations, Operation{
			Name: "Step", SetUp: drawDecimal(t, "set-up", 600, 1), Run: drawDecimal(t, "run", 3000, 2),
			Learns: rapid.Bool().Draw(t, "learns"), Worked: rapid.Bool().Draw(t, "worked"),
		})
	}
	if rapid.Bool().Draw(t, "learning") {
		in.Learning = Learned{
			Rate:  money.Percent(money.Int(rapid.Int64Range(51, 100).Draw(t, "rate"))),
			Model: LearningModel(rapid.IntRange(0, 1).Draw(t, "model")), At: rapid.Int64Range(0, 50).Draw(t, "at"),
		}
	}
	for range rapid.IntRange(0, 2).Draw(t, "expenses") {
		in.Expenses = append(in.Expenses, Expense{
			Name: "Fee", Amount: drawAmount(t, "fee", 9000), Garments: money.Int(rapid.Int64Range(0, 90).Draw(t, "sharers")), PerBatch: rapid.Bool().Draw(t, "per batch"),
		})
	}
	for range rapid.IntRange(0, 2).Draw(t, "packing") {
		in.Packing = append(in.Packing, Notion{Name: "Bag", Quantity: money.Int(1), Unit: "pc", Price: drawLanded(t, "bag")})
	}
	return in
}

func TestSheetSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInputs(t)
		sheet, err := NewSheet(in)
		require.NoError(t, err)
		total := usd.Zero()
		for _, line := range sheet.Lines {
			require.True(t, line.Amount.IsMinor(), "%s is not rounded", line.Label)
			total, err = total.Add(line.Amount)
			require.NoError(t, err)
			if line.Kind == ClothLine || line.Kind == NotionLine || line.Kind == PackingLine {
				near, err := line.Price.Mul(line.Quantity)
				require.NoError(t, err)
				off, err := near.Sub(line.Amount)
				require.NoError(t, err)
				require.Negative(t, off.Abs().Number().Cmp(num("0.0100001")), "%s: %s is not %s × %s", line.Label, line.Amount, line.Quantity, line.Price)
			}
		}
		require.Equal(t, total, sheet.Total)
		parts, err := money.SumAmounts(sheet.Materials, sheet.Labour, sheet.Expenses, sheet.Overhead, sheet.Packing)
		require.NoError(t, err)
		require.Equal(t, total, parts)
	})
}

package costing

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

func TestStudyErrors(t *testing.T) {
	t.Parallel()
	good := Study{Elements: []Element{{Name: "Hem", Rating: percent("110"), Readings: []money.Decimal{num("2")}}}, Allowance: percent("15")}
	for _, tt := range []struct {
		name, field, message string
		spoil                func(*Study)
	}{
		{"nothing watched", "elements", "at least one element", func(s *Study) { s.Elements = nil }},
		{"no cycle", "elements[0].readings", "at least one cycle", func(s *Study) { s.Elements = []Element{{}} }},
		{"no time", "elements[0].readings[1]", "more than 0 minutes", func(s *Study) {
			s.Elements = []Element{{Readings: []money.Decimal{num("1"), num("0")}}}
		}},
		{"negative rating", "elements[0].rating", "less than 0 %", func(s *Study) {
			s.Elements = []Element{{Rating: percent("-1"), Readings: []money.Decimal{num("1")}}}
		}},
		{"whole day off", "allowance", "below 100 %", func(s *Study) { s.Rule, s.Allowance = AllowanceOfDay, percent("100") }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			study := good
			tt.spoil(&study)
			_, err := study.Time()
			var found *InputError
			require.ErrorAs(t, err, &found)
			require.Equal(t, tt.field, found.Field)
			require.Contains(t, found.Message, tt.message)
		})
	}
	found, err := Study{Elements: []Element{{Readings: []money.Decimal{num("2"), num("4")}, PerGarment: num("2")}}, Allowance: percent("10")}.Time()
	require.NoError(t, err)
	require.Equal(t, num("6.6"), found.Standard, "3 minutes, twice per garment, at 100 %, and 10 %")
}

func TestCycles(t *testing.T) {
	t.Parallel()
	// A value that is whole already is not rounded up: (2 × 3 ÷ 1)² = 36.
	cycles, err := CyclesForError(num("2"), num("3"), num("1"))
	require.NoError(t, err)
	require.EqualValues(t, 36, cycles.Count)
	// z² p (1 − p) ÷ e² = 1.96² × 0.25 ÷ 0.05² = 384.16, the usual figure of activity sampling.
	cycles, err = CyclesForShare(num("1.96"), percent("50"), percent("5"))
	require.NoError(t, err)
	require.Equal(t, num("384.16"), cycles.Exact)
	require.EqualValues(t, 385, cycles.Count)
	for level, z := range map[string]string{"95": "1.96", "99": "2.5758", "95.45": "2"} {
		got, err := ZForConfidence(percent(level))
		require.NoError(t, err)
		require.Equal(t, num(z), got, level)
	}
	_, err = ZForConfidence(percent("100"))
	require.ErrorContains(t, err, "between 0 % and 100 %")
	mean, deviation, err := Spread([]money.Decimal{num("2"), num("4"), num("4"), num("4"), num("5"), num("5"), num("7"), num("9")})
	require.NoError(t, err)
	require.Equal(t, num("5"), mean)
	require.Equal(t, "2.138", deviation.Round(3, money.HalfUp).String(), "√(32 ÷ 7)")
	_, _, err = Spread([]money.Decimal{num("2")})
	require.Error(t, err)
	_, err = CyclesILO([]money.Decimal{num("2")})
	require.ErrorContains(t, err, "two cycles")
	_, err = CyclesForAccuracy(num("2"), num("1"), num("0"), percent("5"))
	require.Error(t, err)
	// The General Electric guide (in Niebel, from memory): about 8 for a garment of 10 to 20 minutes.
	require.EqualValues(t, 8, CyclesByLength(num("15")))
	require.EqualValues(t, 200, CyclesByLength(num("0.05")))
	require.EqualValues(t, 3, CyclesByLength(num("41")))
}

// Stevenson 14e p.332 problem 6 (question read, answer computed from the ILO-derived table, which
// is from memory): 10 lb, standing, slightly awkward, light slightly low, intermittent loud noise,
// high monotony, with personal 5 and fatigue 4: 18 %.
func TestUsualAllowances(t *testing.T) {
	t.Parallel()
	wanted := map[string]bool{
		"personal needs": true, "basic fatigue": true, "standing": true, "slightly awkward": true, "10 lb": true,
		"slightly low": true, "intermittent, loud": true, "high": true,
	}
	var rates []money.Rate
	for _, allowance := range UsualAllowances() {
		if wanted[allowance.Name] {
			rates = append(rates, allowance.Rate)
		}
	}
	require.Len(t, rates, len(wanted))
	total, err := TotalAllowance(rates...)
	require.NoError(t, err)
	require.Equal(t, percent("18"), total)
}

func TestLearning(t *testing.T) {
	t.Parallel()
	for _, model := range []LearningModel{UnitCurve, AverageCurve} {
		curve := Learning{First: num("40"), Rate: percent("85"), Model: model}
		var sum float64
		for n := int64(1); n <= 60; n++ {
			each, err := curve.Nth(n)
			require.NoError(t, err)
			sum += each.Float64()
			total, err := curve.Total(n)
			require.NoError(t, err)
			require.InDelta(t, sum, total.Float64(), 1e-6, "%s: the garments up to %d", model, n)
			average, err := curve.Average(n)
			require.NoError(t, err)
			require.InDelta(t, sum/float64(n), average.Float64(), 1e-6)
		}
		again, err := curve.Reaching(num("25"), 20)
		require.NoError(t, err)
		twentieth, err := again.Nth(20)
		require.NoError(t, err)
		require.InDelta(t, 25, twentieth.Float64(), 1e-7)
	}
	_, err := Learning{First: num("40"), Rate: percent("50")}.Nth(1)
	require.ErrorContains(t, err, "more than 50 %")
	_, err = Learning{First: num("40"), Rate: percent("80")}.Total(0)
	require.ErrorContains(t, err, "from 1 to")
	flat, err := Learning{First: num("40"), Rate: percent("100")}.Total(7)
	require.NoError(t, err)
	require.Equal(t, num("280"), flat)
}

// Thread examples T1 to T7 of the trade reference.
func TestThread(t *testing.T) {
	t.Parallel()
	near := func(t *testing.T, want string, got money.Decimal, tolerance string) {
		t.Helper()
		off, err := got.Sub(num(want))
		require.NoError(t, err)
		require.LessOrEqual(t, off.Abs().Cmp(num(tolerance)), 0, "%s, want %s", got, want)
	}
	t.Run("T1", func(t *testing.T) { // American & Efird, Estimating Thread Consumption (archived 2008)
		t.Parallel()
		needle, err := RatioFromSample(num("9"), num("3"))
		require.NoError(t, err)
		looper, err := RatioFromSample(num("8"), num("3"))
		require.NoError(t, err)
		near(t, "2.67", looper, "0.005")
		each, total, err := Thread([]Seam{{Length: num("1.17"), Ratio: needle}, {Length: num("1.17"), Ratio: looper}}, percent("15"), WastageAdded)
		require.NoError(t, err)
		near(t, "3.51", each[0], "0.01")
		near(t, "3.12", each[1], "0.01")
		near(t, "7.62", total, "0.01")
	})
	for _, tt := range []struct{ name, class, stitches, thickness, want string }{
		{"T2", "401", "8", "0.075", "5.2"}, // Union Special chart in the same bulletin
		{"T3 0.055", "401", "8", "0.055", "4.88"},
		{"T3 0.06", "401", "8", "0.06", "4.96"},
		{"T3 0.065", "401", "8", "0.065", "5.04"},
		{"T3 0.07", "401", "8", "0.07", "5.12"},
		{"T4", "101", "9", "0.005", "3.09"}, // A. K. Das, 2015
		{"T5", "301", "10", "0.01", "2.2"},  // A. K. Das, 2015
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			stitch, ok := StitchOf(tt.class)
			require.True(t, ok)
			ratio, ok, err := stitch.PerSeam(num(tt.stitches), num(tt.thickness), money.Decimal{})
			require.NoError(t, err)
			require.True(t, ok)
			require.Equal(t, num(tt.want), ratio)
		})
	}
	t.Run("T6", func(t *testing.T) { // Apparel Science, worked factors of stitch class 401
		t.Parallel()
		_, total, err := Thread([]Seam{{Name: "Side", Class: "401", Length: num("100")}}, percent("15"), WastageAdded)
		require.NoError(t, err)
		require.Equal(t, num("621"), total)
	})
	t.Run("T7", func(t *testing.T) { // craft page quoting a thread maker's table
		t.Parallel()
		each, _, err := Thread([]Seam{{Class: "301", Length: num("220")}}, money.Rate{}, WastageAdded)
		require.NoError(t, err)
		require.Equal(t, num("550"), each[0])
	})
	_, _, err := Thread([]Seam{{Class: "999", Length: num("1")}}, money.Rate{}, WastageAdded)
	require.ErrorContains(t, err, "seams[0].class")
	// At the values of the reference's table (T 0.04, S 10, W 0.25 in) the formulas give these.
	for class, want := range map[string]string{"101": "3.8", "301": "2.8", "401": "4.8", "504": "14.6", "514": "17.4", "516": "21.4"} {
		stitch, _ := StitchOf(class)
		ratio, ok, err := stitch.PerSeam(num("10"), num("0.04"), num("0.25"))
		require.NoError(t, err)
		require.True(t, ok)
		require.Equal(t, num(want), ratio, class)
	}
	for _, stitch := range Stitches() {
		require.True(t, stitch.Ratio.Sign() > 0 && stitch.RatioSource != "", stitch.Class)
	}
}

func TestCheapestBatch(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		batch := BatchCost{
			SetUpMinutes: drawDecimal(t, "set-up", 2000, 1), RunMinutes: drawDecimal(t, "run", 500, 1), HourlyCost: drawAmount(t, "hourly", 4000),
			SetUpMoney: drawAmount(t, "money", 2000), Demand: money.Int(rapid.Int64Range(1, 500).Draw(t, "demand")),
			Holding: money.NewAmount(money.New(rapid.Int64Range(1, 500).Draw(t, "holding"), 2), usd),
		}
		most := rapid.Int64Range(1, 60).Draw(t, "most")
		best, err := batch.Cheapest(most)
		require.NoError(t, err)
		for n := int64(1); n <= most; n++ {
			point, err := batch.At(n)
			require.NoError(t, err)
			off, err := best.Total.Sub(point.Total)
			require.NoError(t, err)
			require.LessOrEqual(t, off.Number().Cmp(num("0.000000000001")), 0, "%d is cheaper than %d", n, best.Garments)
		}
	})
	points, err := BatchCost{SetUpMinutes: num("30"), RunMinutes: num("12"), HourlyCost: dollars("18")}.Curve([]int64{1, 20})
	require.NoError(t, err)
	require.Equal(t, "12.60 USD", points[0].Total.String())
	require.Equal(t, "4.05 USD", points[1].Total.String())
	best, err := BatchCost{SetUpMinutes: num("30"), HourlyCost: dollars("18")}.Cheapest(40)
	require.NoError(t, err)
	require.EqualValues(t, 40, best.Garments, "nothing speaks against the largest")
	_, err = BatchCost{}.Cheapest(0)
	require.Error(t, err)
	_, err = BatchCost{RunMinutes: num("-1")}.At(1)
	require.ErrorContains(t, err, "run_minutes")
}

func TestLots(t *testing.T) {
	t.Parallel()
	lot, err := OrderQuantity(num("9600"), dollars("75"), dollars("16"))
	require.NoError(t, err)
	require.EqualValues(t, 300, lot.Whole)
	require.Equal(t, lot.SetUp, lot.Holding, "both costs are equal at the cheapest lot")
	lot, err = OrderQuantity(num("365"), dollars("50"), dollars("2.3"))
	require.NoError(t, err)
	require.EqualValues(t, 126, lot.Whole)
	lot, err = ProductionQuantity(num("48000"), dollars("45"), dollars("1"), num("800"), num("200"))
	require.NoError(t, err)
	require.Equal(t, num("1800"), lot.Highest)
	_, err = ProductionQuantity(num("48000"), dollars("45"), dollars("1"), num("200"), num("200"))
	require.ErrorContains(t, err, "faster than use")
	_, err = OrderQuantity(num("0"), dollars("45"), dollars("1"))
	require.ErrorContains(t, err, "demand")
	_, err = OrderQuantity(num("5"), dollars("45"), money.MustParseAmount("1 EUR"))
	require.ErrorContains(t, err, "EUR")
}

func TestOverhead(t *testing.T) {
	t.Parallel()
	rate, err := Overhead([]YearCost{
		{Name: "Machine", Amount: dollars("1250"), Years: num("8")},
		{Name: "Heating", Amount: dollars("1800"), Share: percent("15")},
		{Name: "Insurance", Amount: dollars("240")},
	}, WorkingYear{Hours: num("2760"), Productive: percent("60")}, usd)
	require.NoError(t, err)
	require.Equal(t, []money.Amount{dollars("156.25"), dollars("270"), dollars("240")}, rate.Yearly)
	require.Equal(t, dollars("666.25"), rate.Total)
	require.Equal(t, num("1656"), rate.Productive)
	require.Equal(t, "0.4023", rate.PerHour.Number().Round(4, money.HalfUp).String())
	for name, year := range map[string]WorkingYear{
		"hours":      {Productive: percent("50")},
		"productive": {Hours: num("1380")},
	} {
		_, err := Overhead(nil, year, usd)
		require.ErrorContains(t, err, name)
	}
}

package lay_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// remnantProblem has skirts, a long bolt, and an end of the same shade lot that is worth nothing
// and too short for a whole skirt: panel, band and pocket lie 18 in long.
func remnantProblem(quantities ...int) lay.Problem {
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, quantities...), Rules: workroom(), Rates: rates}
	p.Rules.BuyWidth, p.Rules.MaxPlies, p.Rates.SetUp = 0, 1, 2*time.Minute
	p.Bolts = []lay.Bolt{
		{Name: "A", Lot: "1", Width: 43 * inch, Length: 12 * metre, PricePerMetre: 9_000_000},
		{Name: "end", Lot: "1", Width: 43 * inch, Length: 16 * inch},
	}
	return p
}

func withRemnants(t require.TestingT, p lay.Problem, params lay.Params) (plan, split lay.Plan, parts []lay.Part) {
	plan, err := lay.Solve(context.Background(), p, params)
	require.NoError(t, err)
	problem, split, parts, err := lay.WithRemnants(context.Background(), p, plan, params)
	require.NoError(t, err)
	require.NoError(t, lay.VerifyPlan(problem, split))
	if parts == nil {
		require.Equal(t, plan, split)
		return plan, split, nil
	}
	require.Less(t, split.Cost, plan.Cost)
	require.Equal(t, plan.Bound, split.Bound)
	require.GreaterOrEqual(t, split.Cost, split.Bound)
	requireEveryPiece(t, p, problem, split, parts)
	return plan, split, parts
}

// requireEveryPiece counts, for each garment as it was asked for, how often each of its pieces is
// cut, whole or in parts, and that parts come from one shade lot.
func requireEveryPiece(t require.TestingT, p, problem lay.Problem, plan lay.Plan, parts []lay.Part) {
	require.Len(t, parts, len(problem.Garments))
	cut := map[[2]int]int{}
	for _, l := range plan.Lays {
		for g, n := range l.PerPly {
			if part := parts[g]; part.Pieces == nil {
				require.Equal(t, g, part.Of)
				for i := range p.Garments[g].Pieces {
					cut[[2]int{g, i}] += n * l.Plies
				}
			} else {
				for _, i := range part.Pieces {
					cut[[2]int{part.Of, i}] += n * l.Plies
				}
			}
			for _, d := range l.Draws {
				if lot := problem.Garments[g].FromLot; n > 0 && lot != nil {
					require.Equal(t, *lot, p.Bolts[d.Bolt].Lot)
				}
			}
		}
	}
	for g, garment := range p.Garments {
		for i := range garment.Pieces {
			require.Equal(t, garment.Quantity, cut[[2]int{g, i}], "piece %d of %s", i, garment.Name)
		}
	}
}

func TestWithRemnants(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name  string
		harm  func(*lay.Problem)
		saves bool
	}{
		{"an end worth nothing", func(*lay.Problem) {}, true},
		{"an end of another shade lot", func(p *lay.Problem) { p.Bolts[1].Lot = "2" }, false},
		{"pieces of a garment must lie alike", func(p *lay.Problem) { p.Rules.NapUpAndDown = true }, false},
		{"a set-up that costs more than the cloth", func(p *lay.Problem) { p.Rates.SetUp = time.Hour }, false},
		{"an end too short for any piece", func(p *lay.Problem) { p.Bolts[1].Length = 5 * inch }, false},
		{"an end that is dear", func(p *lay.Problem) { p.Bolts[1].PricePerMetre = 90_000_000 }, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			p := remnantProblem(6)
			test.harm(&p)
			plan, split, parts := withRemnants(t, p, lay.Params{Seed: 1, Iterations: 300, MarkerIterations: 100})
			require.Equal(t, test.saves, parts != nil)
			if test.saves {
				require.Less(t, split.ClothCost, plan.ClothCost)
			}
		})
	}
}

// Whatever is cut from short ends, each piece is cut as often as it is needed, parts of a garment
// from one shade lot, the plan is cheaper than the whole one, and the same seed gives the same.
func TestWithRemnantsHoldsItsInvariants(t *testing.T) {
	t.Parallel()
	helped := 0
	rapid.Check(t, func(t *rapid.T) {
		p := remnantProblem(rapid.IntRange(1, 4).Draw(t, "first"), rapid.IntRange(0, 3).Draw(t, "second"))
		p.Rules.MaxPlies = rapid.IntRange(1, 3).Draw(t, "plies")
		p.Bolts[1].Length = drawLength(t, "end", 6, 30, inch)
		p.Bolts[1].PricePerMetre = lay.Money(rapid.IntRange(0, 9).Draw(t, "price")) * 1_000_000
		p.Bolts = append(p.Bolts, lay.Bolt{Name: "other", Lot: rapid.SampledFrom([]string{"1", "2"}).Draw(t, "lot"), Width: 43 * inch, Length: drawLength(t, "other", 6, 60, inch)})
		params := lay.Params{Seed: rapid.Uint64().Draw(t, "seed"), Iterations: 15, MarkerIterations: 10}
		_, split, parts := withRemnants(t, p, params)
		if parts != nil {
			helped++
		}
		_, again, _ := withRemnants(t, p, params)
		require.Equal(t, split, again)
	})
	require.Positive(t, helped, "some ends help, so that something was tested")
}

// Worked by hand: seven of a piece of 40 × 20 in and three of 40 × 30 in on 43 in, ends of ½ in,
// four plies at most. Each by itself, a garment is a lay of one ply: 7 × 21 + 3 × 31 = 240 in.
// Each size by itself takes the same cloth, in ⌈7/4⌉ + ⌈3/4⌉ = 3 lays. Spreading takes a minute
// for each 10 in of ply; cutting around takes 120 in for the short and 140 in for the long.
func TestPractice(t *testing.T) {
	t.Parallel()
	piece := func(long length.Length) []lay.Piece {
		return []lay.Piece{{Name: "panel", Copies: 1, Width: 40 * inch, Length: long, Turns: either}}
	}
	p := lay.Problem{
		Cloth:    "linen",
		Garments: []lay.Garment{{Name: "short", Quantity: 7, Pieces: piece(20 * inch)}, {Name: "long", Quantity: 3, Pieces: piece(30 * inch)}},
		Bolts:    []lay.Bolt{bolt("A", 43*inch, 20*metre)},
		Rules:    lay.Rules{TableLength: 3 * metre, MaxPlies: 4, Spread: lay.FaceOneWay, EndLoss: inch / 2},
		Rates:    lay.Rates{SetUp: 6 * time.Minute, SpreadPerMetre: time.Minute * 10_000 / 2540, CutPerMetre: time.Minute * 10_000 / 2540, PerHour: 60_000_000},
	}
	plan := solve(t, p)
	require.Equal(t, 240*inch, plan.ByGarment.Length)
	require.Equal(t, 240*inch, plan.BySize.Length)
	spread, near := 24*time.Minute, float64(time.Millisecond)
	require.InDelta(t, float64(10*6*time.Minute+spread+7*12*time.Minute+3*14*time.Minute), float64(plan.ByGarment.Work), near)
	require.InDelta(t, float64(3*6*time.Minute+spread+2*12*time.Minute+14*time.Minute), float64(plan.BySize.Work), near)
	require.InDelta(t, 210_000_000, float64(plan.ByGarment.CutCost), 50)
	require.InDelta(t, 80_000_000, float64(plan.BySize.CutCost), 50)
	// Cloth is valued at what a metre of the plan costs.
	perMetre := float64(plan.ClothCost) / (plan.LengthUsed.Millimetres() / 1000)
	require.InDelta(t, perMetre*6.096, float64(plan.BySize.ClothCost), 10)
	require.Equal(t, plan.BySize.ClothCost+plan.BySize.CutCost, plan.BySize.Cost)
	require.Equal(t, plan.ByGarment.ClothCost+plan.ByGarment.CutCost, plan.ByGarment.Cost)
	require.LessOrEqual(t, plan.Cost, plan.BySize.Cost)
	require.LessOrEqual(t, plan.BySize.Cost, plan.ByGarment.Cost)
}

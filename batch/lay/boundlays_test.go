package lay

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

func boundOf(p *Problem) (*layBound, []int) {
	l := newLayer(p, 1)
	var demand []int
	for _, g := range p.Garments {
		demand = append(demand, g.Quantity)
	}
	b := newLayBound(context.Background(), l, demand, 2_000)
	b.priced(p.Rules.BuyPricePerMetre)
	return b, demand
}

// skirtsOf is a problem of bought cloth on a table of 60 in, panels and bands of growing width.
func skirtsOf(maxPlies int, quantities ...int) Problem {
	inch := length.Inch
	p := Problem{
		Cloth: "linen",
		Rules: Rules{TableLength: 60 * inch, MaxPlies: maxPlies, Spread: FaceOneWay, EndLoss: inch / 2, BuyWidth: 43 * inch, BuyStep: 1, BuyPricePerMetre: 9_000_000},
		Rates: Rates{SetUp: 8 * time.Minute, SpreadPerMetre: 30 * time.Second, CutPerMetre: 40 * time.Second, PerHour: 15_000_000},
	}
	for i, n := range quantities {
		w := 16*inch + length.Length(i)*3*inch/2
		p.Garments = append(p.Garments, Garment{Name: "skirt", Quantity: n, Pieces: []Piece{
			{Name: "panel", Copies: 2, Width: w, Length: 12*inch + length.Length(i)*inch, Turns: []marker.Turn{0, 180}},
			{Name: "band", Copies: 2, Width: w, Length: 6 * inch, Turns: []marker.Turn{0, 180}},
		}})
	}
	return p
}

// Linear programming never proves more than whole lays cost, and what is left open is less than a
// seventh; no plan costs less than either, and the stronger one is what a plan is given.
func TestBoundsByLays(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		quantities := rapid.SliceOfN(rapid.IntRange(1, 5), 1, 3).Draw(t, "quantities")
		p := skirtsOf(rapid.IntRange(1, 4).Draw(t, "plies"), quantities...)
		exact, _ := boundOf(&p)
		states := exact.states()
		require.Positive(t, states)
		whole := exact.coverExactly(states)
		linear, _ := boundOf(&p)
		duals := linear.coverByDuals(0)
		require.LessOrEqual(t, duals, whole*(1+1e-6))
		require.Greater(t, duals, whole*6/7)
		plan, err := Solve(context.Background(), p, Params{Seed: 1, Iterations: 40, MarkerIterations: 30})
		require.NoError(t, err)
		require.LessOrEqual(t, whole, float64(plan.Cost)+20, "but for the rounding of each lay")
		require.LessOrEqual(t, plan.Bound, plan.Cost)
	})
}

// Worked by hand: three garments of a piece 40 × 20 in on 43 in, one to a marker on a table of 30
// in, two plies at most. Each ply is 21 in with its ends, so that they take 63 in of cloth; there
// are two lays, and two places are cut around, 120 in each. Spreading costs nothing.
func TestTheBoundByLaysOfOneGarment(t *testing.T) {
	t.Parallel()
	inch := length.Inch
	p := Problem{
		Cloth:    "linen",
		Garments: []Garment{{Name: "apron", Quantity: 3, Pieces: []Piece{{Name: "front", Copies: 1, Width: 40 * inch, Length: 20 * inch, Turns: []marker.Turn{0}}}}},
		Rules:    Rules{TableLength: 30 * inch, MaxPlies: 2, Spread: FaceOneWay, EndLoss: inch / 2, BuyWidth: 43 * inch, BuyPricePerMetre: 10_000_000},
		Rates:    Rates{SetUp: 6 * time.Minute, CutPerMetre: time.Minute, PerHour: 20_000_000},
	}
	want := 63*0.0254*10_000_000 + 2*6*20_000_000/60.0 + 2*120*0.0254*20_000_000/60.0
	exact, _ := boundOf(&p)
	require.InDelta(t, want, exact.coverExactly(exact.states()), 1)
	linear, _ := boundOf(&p)
	require.InDelta(t, want, linear.coverByDuals(0), 1)
	require.Nil(t, newLayBound(context.Background(), newLayer(&Problem{Rules: Rules{Spread: FoldedLengthwise, BuyWidth: inch}}, 1), nil, 100))
}

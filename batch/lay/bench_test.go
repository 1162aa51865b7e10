package lay_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// BenchmarkSolve plans one cloth for batches of growing size (invented sizes and quantities)
// and reports the gap of cost to its bound, the lays, and the share of cloth that is over the
// bound.
func BenchmarkSolve(b *testing.B) {
	for _, quantities := range [][]int{
		{3, 5, 4}, {7, 13, 11, 6, 3}, {10, 22, 30, 28, 17, 9, 4}, {40, 90, 130, 120, 70, 30, 20},
	} {
		total := 0
		for _, q := range quantities {
			total += q
		}
		p := lay.Problem{Cloth: "linen", Garments: skirts(either, quantities...), Rules: workroom(), Rates: rates}
		p.Bolts = []lay.Bolt{bolt("A", 43*inch, 5*metre), bolt("B", 43*inch, 12*metre)}
		b.Run(fmt.Sprintf("%d garments", total), func(b *testing.B) {
			for b.Loop() {
				plan, err := lay.Solve(context.Background(), p, lay.Params{Seed: 1})
				require.NoError(b, err)
				b.ReportMetric(100*(float64(plan.Cost)/float64(plan.Bound)-1), "%cost-gap")
				b.ReportMetric(100*(float64(plan.LengthUsed)/float64(plan.LengthBound)-1), "%length-gap")
				b.ReportMetric(float64(len(plan.Lays)), "lays")
			}
		})
	}
}

// generated is a batch of about so many garments for one cloth: up to 12 styles of two panels,
// two bands and now and then two pockets, in 6 to 9 sizes with the middle ones most wanted, and
// bolts of 1 to 25 m in three shade lots for about a quarter of it (all invented).
func generated(garments int, seed uint64) lay.Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	eighths := func(least, more int) length.Length { return length.Length(least+rng.IntN(more)) * inch / 8 }
	p := lay.Problem{Cloth: "linen", Rules: workroom(), Rates: rates}
	styles := min(12, 1+garments/60)
	for style := range styles {
		width, long := eighths(60, 90), eighths(60, 140)
		sizes := 6 + rng.IntN(4)
		for size := range sizes {
			fromMiddle := float64(size) - float64(sizes-1)/2
			g := lay.Garment{
				Name:     fmt.Sprintf("style %d size %d", style, size),
				Quantity: int(float64(garments)/float64(styles)*0.35/(1+fromMiddle*fromMiddle/2)) + rng.IntN(3),
			}
			w, l := width+length.Length(size)*inch*3/8, long+length.Length(size)*inch*5/8
			g.Pieces = []lay.Piece{
				{Name: "panel", Copies: 2, Width: w, Length: l, Turns: either},
				{Name: "band", Copies: 2, Width: w, Length: 6 * inch, Turns: either},
			}
			if style%2 == 0 {
				g.Pieces = append(g.Pieces, lay.Piece{Name: "pocket", Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: either})
			}
			p.Garments = append(p.Garments, g)
		}
	}
	for b := range 2 + garments/100 {
		p.Bolts = append(p.Bolts, bolt(fmt.Sprint(b%3), 43*inch, length.Length(1+rng.IntN(25))*metre))
	}
	return p
}

// BenchmarkSolveGenerated plans generated batches with the default budget.
func BenchmarkSolveGenerated(b *testing.B) {
	for _, garments := range []int{60, 250, 1000, 4000} {
		p := generated(garments, 7)
		b.Run(fmt.Sprintf("%d garments", garments), func(b *testing.B) {
			for b.Loop() {
				plan, err := lay.Solve(context.Background(), p, lay.Params{Seed: 1})
				require.NoError(b, err)
				b.ReportMetric(100*(float64(plan.Cost)/float64(plan.Bound)-1), "%cost-gap")
				b.ReportMetric(100*(float64(plan.LengthUsed)/float64(plan.LengthBound)-1), "%length-gap")
				b.ReportMetric(float64(len(plan.Lays)), "lays")
			}
		})
	}
}

// BenchmarkSolveRatio plans the published orders (testdata/cutplan) without over-cutting.
func BenchmarkSolveRatio(b *testing.B) {
	for _, row := range publishedRatios(b) {
		p := row.problem(lay.ObjectiveMarkers, 0)
		b.Run(row.Name, func(b *testing.B) {
			for b.Loop() {
				plan := solveRatio(b, p)
				b.ReportMetric(float64(len(plan.Markers)), "markers")
				b.ReportMetric(float64(plan.BoundMarkers), "bound")
			}
		})
	}
}

package lay_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/testdata/lay/generate"
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

// BenchmarkSolveGenerated plans generated batches with the default budget.
func BenchmarkSolveGenerated(b *testing.B) {
	for _, garments := range []int{60, 250, 1000, 4000} {
		p := generate.Batch(garments, 7)
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

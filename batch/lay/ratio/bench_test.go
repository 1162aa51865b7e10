package ratio_test

import (
	"testing"

	"yardwright/batch/lay/ratio"
)

// BenchmarkSolve plans the published orders (testdata/cutplan) without over-cutting.
func BenchmarkSolve(b *testing.B) {
	for _, row := range publishedRatios(b) {
		p := row.problem(ratio.ObjectiveMarkers, 0)
		b.Run(row.Name, func(b *testing.B) {
			for b.Loop() {
				plan := solve(b, p)
				b.ReportMetric(float64(len(plan.Markers)), "markers")
				b.ReportMetric(float64(plan.BoundMarkers), "bound")
			}
		})
	}
}

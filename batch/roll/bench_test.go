package roll_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/batch/roll"
)

// BenchmarkPublished reports, for each published set, the rolls opened and the bound.
func BenchmarkPublished(b *testing.B) {
	for _, row := range publishedRolls(b) {
		problem := row.problem()
		b.Run(row.Name, func(b *testing.B) {
			for b.Loop() {
				plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 1})
				require.NoError(b, err)
				b.ReportMetric(float64(plan.Opened), "rolls")
				b.ReportMetric(float64(plan.Bound), "bound")
			}
		})
	}
}

// BenchmarkElastic is a workshop's elastic: 12 sizes, 120 waists, rolls of 10 m and three ends.
func BenchmarkElastic(b *testing.B) {
	problem := roll.Problem{Stock: []roll.Stock{
		{Length: 1000 * cm}, {Length: 317 * cm, Count: 1}, {Length: 242 * cm, Count: 1}, {Length: 95 * cm, Count: 1},
	}}
	for size := range 12 {
		problem.Cuts = append(problem.Cuts, roll.Cut{Length: 45*cm + length.Length(size)*22*length.Millimetre, Count: 10})
	}
	for b.Loop() {
		plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 1})
		require.NoError(b, err)
		b.ReportMetric(float64(plan.OpenedLength)/float64(length.Metre), "metres")
		b.ReportMetric(float64(plan.BoundLength)/float64(length.Metre), "bound-metres")
	}
}

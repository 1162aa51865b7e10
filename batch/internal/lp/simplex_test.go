package lp_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/internal/lp"
)

// What is optimal is known from outside, by the duality theorem of linear programming: what is used gives every row
// what it needs, no column is worth more than it costs, and the rows are worth what the columns used cost.
func TestDualsProveTheOptimum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.IntRange(1, 6).Draw(t, "rows")
		var need []float64
		var columns []lp.Column
		add := func(c lp.Column) { columns = append(columns, c) }
		for r := range rows {
			need = append(need, float64(rapid.IntRange(0, 9).Draw(t, "need")))
			add(lp.Unit(r, 1, 10))
		}
		s := lp.New(need, columns[:rows:rows])
		for r := range rows {
			add(lp.Unit(r, -1, 0))
			s.Add(columns[len(columns)-1])
		}
		for range rapid.IntRange(1, 4).Draw(t, "rounds") {
			for range rapid.IntRange(1, 8).Draw(t, "columns") {
				c := lp.Column{Cost: float64(rapid.IntRange(0, 20).Draw(t, "cost")) / 10}
				for r := range rows {
					if n := rapid.IntRange(0, 3).Draw(t, "gives"); n > 0 {
						c.Row, c.Coef = append(c.Row, int32(r)), append(c.Coef, float64(n))
					}
				}
				add(c)
				s.Add(c)
			}
			require.True(t, s.Solve())
			requireOptimal(t, s, need, columns)
		}
		for i := range columns {
			columns[i].Cost += float64(rapid.IntRange(0, 3).Draw(t, "dearer"))
		}
		s.SetCosts(func(i int) float64 { return columns[i].Cost })
		require.True(t, s.Solve())
		requireOptimal(t, s, need, columns)
	})
}

func requireOptimal(t require.TestingT, s *lp.Simplex, need []float64, columns []lp.Column) {
	given, worth, cost := make([]float64, len(need)), 0.0, 0.0
	for i, used := range s.Used {
		require.GreaterOrEqual(t, used, 0.0)
		cost += used * columns[i].Cost
		for j, r := range columns[i].Row {
			given[r] += used * columns[i].Coef[j]
		}
	}
	for r, n := range need {
		require.InDelta(t, n, given[r], 1e-6)
		worth += n * s.Dual(r)
	}
	for _, c := range columns {
		total := 0.0
		for j, r := range c.Row {
			total += s.Dual(int(r)) * c.Coef[j]
		}
		require.LessOrEqual(t, total, c.Cost+1e-6)
	}
	require.InDelta(t, cost, worth, 1e-6)
	require.InDelta(t, cost, s.Objective(), 1e-6)
}

// Rolls of 100 in cut into 45, 36, 31 and 14 in: Chvátal 1983, "Linear Programming", chapter 13 (from memory; the
// sums can be checked by hand). The four patterns of the optimum take 452¼ rolls.
func TestTheRelaxationOfACuttingProblem(t *testing.T) {
	t.Parallel()
	need := []float64{97, 610, 395, 211}
	var basis []lp.Column
	for r, most := range []float64{2, 2, 3, 7} {
		basis = append(basis, lp.Unit(r, most, 1))
	}
	s := lp.New(need, basis)
	for _, pattern := range [][]float64{{2, 0, 0, 0}, {0, 2, 0, 2}, {0, 2, 0, 0}, {0, 1, 2, 0}, {1, 1, 0, 1}, {0, 1, 1, 2}, {1, 0, 1, 1}, {0, 0, 2, 2}} {
		c := lp.Column{Cost: 1}
		for r, n := range pattern {
			c.Row, c.Coef = append(c.Row, int32(r)), append(c.Coef, n)
		}
		s.Add(c)
	}
	require.True(t, s.Solve())
	require.InDelta(t, 452.25, s.Objective(), 1e-9)
	require.Equal(t, 12, s.Columns())
	require.Positive(t, s.Pivots())
}

func TestDependentColumnsAreNoBasis(t *testing.T) {
	t.Parallel()
	two := lp.Column{Row: []int32{0, 1}, Coef: []float64{1, 2}, Cost: 1}
	require.Nil(t, lp.New([]float64{1, 2}, []lp.Column{two, two}))
}

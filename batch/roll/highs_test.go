package roll_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/batch/roll"
	"yardwright/internal/testhighs"
)

// patternModel is a problem with one kind of roll as an integer program: one variable for each
// way to fill a roll.
func patternModel(p roll.Problem) testhighs.Model {
	m := testhighs.Model{Rows: make([]testhighs.Row, len(p.Cuts))}
	for i, cut := range p.Cuts {
		m.Rows[i].AtLeast, m.Rows[i].Sum = true, cut.Count
	}
	counts := make([]int, len(p.Cuts))
	var fill func(cut int, left length.Length)
	fill = func(cut int, left length.Length) {
		if cut < len(counts) {
			for n := 0; length.Length(n)*p.Cuts[cut].Length <= left && n <= p.Cuts[cut].Count; n++ {
				counts[cut] = n
				fill(cut+1, left-length.Length(n)*p.Cuts[cut].Length)
			}
			counts[cut] = 0
			return
		}
		m.Costs = append(m.Costs, 1)
		for i, n := range counts {
			m.Rows[i].Factors = append(m.Rows[i].Factors, n)
		}
	}
	fill(0, p.Stock[0].Length)
	return m
}

// HiGHS (npm package highs) on small roll problems: as many rolls opened, all of them proven.
func TestRollsAgainstIntegerProgramming(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 50))
	var problems []roll.Problem
	var models []testhighs.Model
	for range 50 {
		p := roll.Problem{Stock: []roll.Stock{{Name: "roll", Length: length.Length(100+rng.IntN(60)) * length.Millimetre}}}
		for i := range 2 + rng.IntN(4) {
			p.Cuts = append(p.Cuts, roll.Cut{Name: fmt.Sprint(i), Length: length.Length(20+rng.IntN(60)) * length.Millimetre, Count: 1 + rng.IntN(9)})
		}
		problems, models = append(problems, p), append(models, patternModel(p))
	}
	least := testhighs.Least(t, models)
	for i, p := range problems {
		plan, err := roll.Solve(context.Background(), p, roll.Params{Seed: 1})
		require.NoError(t, err)
		require.Equal(t, int(math.Round(least[i])), plan.Opened, "%+v", p)
		require.Equal(t, roll.StatusOptimal, plan.Status)
	}
}

package roll_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/batch/roll"
)

// patternModel is a problem with one kind of roll as an integer program: one variable for each
// way to fill a roll.
func patternModel(p roll.Problem) string {
	var names []string
	rows := make([][]string, len(p.Cuts))
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
		name := fmt.Sprintf("x%d", len(names))
		names = append(names, name)
		for i, n := range counts {
			if n > 0 {
				rows[i] = append(rows[i], fmt.Sprintf("%d %s", n, name))
			}
		}
	}
	fill(0, p.Stock[0].Length)
	text := "Minimize\n obj: " + strings.Join(names, " + ") + "\nSubject To\n"
	for i, row := range rows {
		text += fmt.Sprintf(" c%d: %s >= %d\n", i, strings.Join(row, " + "), p.Cuts[i].Count)
	}
	return text + "General\n " + strings.Join(names, " ") + "\nEnd\n"
}

// HiGHS (npm package highs) on small roll problems: as many rolls opened, all of them proven.
func TestRollsAgainstIntegerProgramming(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 50))
	var problems []roll.Problem
	var models []string
	for range 50 {
		p := roll.Problem{Stock: []roll.Stock{{Name: "roll", Length: length.Length(100+rng.IntN(60)) * length.Millimetre}}}
		for i := range 2 + rng.IntN(4) {
			p.Cuts = append(p.Cuts, roll.Cut{Name: fmt.Sprint(i), Length: length.Length(20+rng.IntN(60)) * length.Millimetre, Count: 1 + rng.IntN(9)})
		}
		problems, models = append(problems, p), append(models, patternModel(p))
	}
	in, err := json.Marshal(models)
	require.NoError(t, err)
	command := exec.CommandContext(t.Context(), "node", "../../testdata/lay/peers/solve.mjs")
	command.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	command.Stderr = &stderr
	out, err := command.Output()
	require.NoError(t, err, "node and `npm ci` in testdata/lay/peers are needed (.ci/check test-tools): %s", stderr.String())
	var least []float64
	require.NoError(t, json.Unmarshal(out, &least))
	for i, p := range problems {
		plan, err := roll.Solve(context.Background(), p, roll.Params{Seed: 1})
		require.NoError(t, err)
		require.Equal(t, int(math.Round(least[i])), plan.Opened, "%+v", p)
		require.Equal(t, roll.StatusOptimal, plan.Status)
	}
}

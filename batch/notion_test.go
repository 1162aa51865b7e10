package batch_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/batch/roll"
)

// printedIn reads back both lengths of a text such as `17⅜ in (44.1 cm)`.
func printedIn(t require.TestingT, text string) (own, other length.Length) {
	first, second, ok := strings.Cut(strings.TrimSuffix(text, ")"), " (")
	require.True(t, ok, text)
	own, err := length.Parse(first, length.Inches)
	require.NoError(t, err)
	other, err = length.Parse(second, length.Inches)
	require.NoError(t, err)
	return own, other
}

// drawnElastic is a small batch with rolls, ruler and allowances drawn.
func drawnElastic(t *rapid.T) batch.Input {
	quantities := map[string]int{}
	for _, size := range []string{"86", "98", "104", "116", "128"} {
		quantities[size] = rapid.IntRange(0, 9).Draw(t, size)
	}
	quantities["110"] = rapid.IntRange(1, 9).Draw(t, "110")
	in := skirts(t, quantities)
	in.Workroom.Units = rapid.SampledFrom([]length.Style{{}, {Fraction: 16}, {System: length.Metric}, {System: length.Metric, Fraction: 16}}).Draw(t, "units")
	in.Workroom.CutTolerance = length.Length(rapid.SampledFrom([]int64{0, 0, 3000, 25400}).Draw(t, "tolerance"))
	in.Workroom.RollEnd = length.Length(rapid.SampledFrom([]int64{0, 0, 203200}).Draw(t, "end"))
	in.Notions[0].Rolls = nil
	for range rapid.IntRange(0, 4).Draw(t, "rolls") {
		in.Notions[0].Rolls = append(in.Notions[0].Rolls, batch.Roll{Length: length.Length(rapid.Int64Range(4_000_000, 80_000_000).Draw(t, "roll")), Count: 1})
	}
	in.Notions[0].BuyLength = length.Length(rapid.Int64Range(12_000_000, 80_000_000).Draw(t, "bought roll"))
	return in
}

// Whoever cuts the lengths that are printed, each up to the tolerance too long, never runs out
// of the roll that is printed, less what is kept back at its ends; in both systems.
func TestPrintedCutsOfARollNeverSumToMoreThanTheRoll(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawnElastic(t)
		notions, err := batch.PlanNotions(context.Background(), in)
		require.NoError(t, err)
		elastic := notions[0]
		require.NoError(t, roll.Verify(elastic.Problem, elastic.Rolls))
		cuts, wanted := 0, 0
		for _, line := range in.Lines {
			wanted += line.Quantity
		}
		for _, opened := range elastic.Rolls.Rolls {
			own, other := printedIn(t, in.Workroom.Units.Roll(elastic.Problem.Stock[opened.Stock].Length))
			kept := in.Workroom.RollEnd
			for i, count := range opened.Counts {
				each, both := printedIn(t, in.Workroom.Units.PieceBoth(elastic.Problem.Cuts[i].Length))
				require.Equal(t, elastic.Problem.Cuts[i].Length, each, "what is planned is what is printed")
				own -= (each + in.Workroom.CutTolerance) * length.Length(count)
				other -= both * length.Length(count)
				cuts += count * opened.Times
			}
			// The roll is printed rounded down, by less than a step of the ruler.
			require.GreaterOrEqual(t, own+in.Workroom.Units.Step(), kept)
			require.GreaterOrEqual(t, other, length.Length(0))
			if in.Workroom.CutTolerance == 0 && kept == 0 {
				require.GreaterOrEqual(t, own, length.Length(0))
			}
		}
		require.Equal(t, wanted, cuts)
	})
}

// Worked by hand: a roll of 54 in holds three cuts of 18 in to the mark, but only two with an
// eighth of an inch for each cut, and two with an inch kept back.
func TestRollsKeepAToleranceAndTheirEnds(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name           string
		tolerance, end length.Length
		rolls          int
	}{
		{"to the mark", 0, 0, 1},
		{"a tolerance", inch / 8, 0, 2},
		{"ends", 0, inch, 2},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in := skirts(t, map[string]int{"104": 3})
			in.Workroom.Units = length.Style{System: length.Metric} // 18 in is 45.72 cm: cut 45.7
			in.Workroom.CutTolerance, in.Workroom.RollEnd = test.tolerance, test.end
			in.Notions[0].Rolls = []batch.Roll{{Length: 54*inch + 3*length.Millimetre, Count: 5}}
			elasticOf(&in, "18*inch")
			elastic := makePlan(t, in).Notions[0]
			require.Equal(t, 457*length.Millimetre, elastic.Cuts[0].Length)
			require.Equal(t, test.rolls, elastic.Rolls.Opened)
		})
	}
}

// elasticOf makes the elastic of the first style so long.
func elasticOf(in *batch.Input, formula string) {
	notions := append(in.Styles[0].Style.Notions[:0:0], in.Styles[0].Style.Notions...)
	for i := range notions {
		if notions[i].Notion == "elastic" {
			notions[i].Length = formula
		}
	}
	in.Styles[0].Style.Notions = notions
}

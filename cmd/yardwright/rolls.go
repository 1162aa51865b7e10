package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"strings"

	"yardwright/batch/length"
	"yardwright/batch/roll"
	"yardwright/batch/words"
)

const rollsUsage = `Usage: yardwright rolls [flags] FILE.json

Plans which rolls to open and what to cut from each, for the lengths in FILE.json
(or in standard input, if FILE is -), and writes the plan as JSON.

`

// runRolls is the command `yardwright rolls`. It returns 0 if everything is cut, 1 if the
// job failed or the stock cannot hold everything (what is unmet stands in the plan and on
// stderr), 2 if the input or a flag is wrong; then the line or field is on stderr.
func runRolls(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags, code, ok := readSolveFlags("rolls", rollsUsage, args, stderr)
	if !ok {
		return code
	}
	in, err := readInput(flags.file, stdin)
	if err != nil {
		return failSolve("rolls", in, err, stderr)
	}
	p, unit, err := roll.ReadProblem(bytes.NewReader(in.data))
	if err != nil {
		return failSolve("rolls", in, err, stderr)
	}
	ctx, cancel := flags.limit(ctx)
	defer cancel()
	plan, err := roll.Solve(ctx, p, roll.Params{Seed: flags.seed, Iterations: flags.iterations})
	if err != nil {
		return failSolve("rolls", in, err, stderr)
	}
	if err := roll.WritePlan(stdout, p, unit, plan); err != nil {
		return failSolve("rolls", in, err, stderr)
	}
	if err := flags.draw(func(w io.Writer) error { return roll.DrawPlan(w, p, unit, plan) }); err != nil {
		return failSolve("rolls", in, err, stderr)
	}
	_, _ = fmt.Fprintln(stderr, rollsSummary(p, unit, plan))
	if plan.Status == roll.StatusShort {
		return exitFailed
	}
	return exitGood
}

// rollsSummary says in words what was reached.
func rollsSummary(p roll.Problem, unit length.Measure, plan roll.Plan) string {
	text := fmt.Sprintf("%s opened, %s %s; longest leftover %s %s", words.Count(plan.Opened, "roll"), plan.OpenedLength.In(unit), unit.Symbol, plan.LongestLeft.In(unit), unit.Symbol)
	switch plan.Status {
	case roll.StatusOptimal:
		return text + "; no plan opens less"
	case roll.StatusShort:
		for c, n := range plan.Unmet {
			if n > 0 {
				why := "no roll is left for"
				if longestRoll(p) < p.Cuts[c].Length {
					why = "every roll is shorter than"
				}
				text += strings.TrimRight(fmt.Sprintf("\n%s %d × %s %s %s", why, n, p.Cuts[c].Length.In(unit), unit.Symbol, p.Cuts[c].Name), " ")
			}
		}
		return text
	}
	return text + fmt.Sprintf("; no plan opens less than %s %s", plan.BoundLength.In(unit), unit.Symbol)
}

func longestRoll(p roll.Problem) length.Length {
	longest := length.Length(0)
	for _, stock := range p.Stock {
		longest = max(longest, stock.Length)
	}
	return longest
}

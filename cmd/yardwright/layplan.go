package main

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"yardwright/batch/lay/ratio"
	"yardwright/batch/words"
)

const layplanUsage = `Usage: yardwright layplan [flags] FILE.json

Plans which sizes to cut together and in how many plies, from the demand by size
in FILE.json (or in standard input, if FILE is -), and writes the plan as JSON.

`

// runLayplan is the command `yardwright layplan`. It returns 0 if the plan was written, 1 if
// the job failed or no plan is possible, 2 if the input or a flag is wrong; then the line or
// field is on stderr.
func runLayplan(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags, code, ok := readSolveFlags("layplan", layplanUsage, args, stderr)
	if !ok {
		return code
	}
	in, err := readInput(flags.file, stdin)
	if err != nil {
		return failSolve("layplan", in, err, stderr)
	}
	p, unit, err := ratio.Read(bytes.NewReader(in.data))
	if err != nil {
		return failSolve("layplan", in, err, stderr)
	}
	ctx, cancel := flags.limit(ctx)
	defer cancel()
	plan, err := ratio.Solve(ctx, p, ratio.Params{Seed: flags.seed, Iterations: flags.iterations})
	if err != nil {
		return failSolve("layplan", in, err, stderr)
	}
	if err := ratio.Write(stdout, p, unit, plan); err != nil {
		return failSolve("layplan", in, err, stderr)
	}
	if err := flags.draw(func(w io.Writer) error { return ratio.Draw(w, p, unit, plan) }); err != nil {
		return failSolve("layplan", in, err, stderr)
	}
	_, _ = fmt.Fprintln(stderr, ratioSummary(plan))
	return exitGood
}

// ratioSummary says in words what was reached.
func ratioSummary(plan ratio.Plan) string {
	text := words.Count(len(plan.Markers), "marker") + ", " + words.Count(plan.OverCut, "garment") + " beyond the demand"
	switch plan.Status {
	case ratio.StatusOptimal:
		return text + "; no plan is better"
	default:
		return text + "; no plan has fewer than " + words.Count(plan.BoundMarkers, "marker")
	}
}

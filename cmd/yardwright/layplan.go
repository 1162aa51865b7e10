package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"yardwright/batch/lay"
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
	data, err := readInput(flags.file, stdin)
	if err != nil {
		return failSolve("layplan", err, stderr)
	}
	p, unit, err := lay.ReadRatioProblem(bytes.NewReader(data))
	if err != nil {
		return failSolve("layplan", err, stderr)
	}
	ctx, cancel := flags.limit(ctx)
	defer cancel()
	plan, err := lay.SolveRatio(ctx, p, lay.Params{Seed: flags.seed, Iterations: flags.iterations})
	if err != nil {
		return failSolve("layplan", err, stderr)
	}
	if err := lay.WriteRatioPlan(stdout, p, unit, plan); err != nil {
		return failSolve("layplan", err, stderr)
	}
	if err := flags.draw(func(w io.Writer) error { return lay.DrawRatioPlan(w, p, unit, plan) }); err != nil {
		return failSolve("layplan", err, stderr)
	}
	_, _ = fmt.Fprintln(stderr, ratioSummary(plan))
	return exitGood
}

// ratioSummary says in words what was reached.
func ratioSummary(plan lay.RatioPlan) string {
	text := fmt.Sprintf("%d markers, %d garments beyond the demand", len(plan.Markers), plan.OverCut)
	switch plan.Status {
	case lay.StatusOptimal:
		return text + "; no plan is better"
	default:
		return text + fmt.Sprintf("; no plan has fewer than %d markers", plan.BoundMarkers)
	}
}

// solveFlags are the flags of the commands that plan from a file.
type solveFlags struct {
	seconds    float64
	iterations int
	seed       uint64
	svg, file  string
}

// readSolveFlags reads them; if ok is false the command ends with the code.
func readSolveFlags(name, usage string, args []string, stderr io.Writer) (f solveFlags, code int, ok bool) {
	flags := flag.NewFlagSet("yardwright "+name, flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.Float64Var(&f.seconds, "seconds", 0, "longest time to plan; 0 means no limit but the iterations")
	flags.IntVar(&f.iterations, "iterations", 0, "most steps of the search; 0 means a fixed budget")
	flags.Uint64Var(&f.seed, "seed", 1, "seed of random choices; the same seed and iterations give the same plan")
	flags.StringVar(&f.svg, "svg", "", "also draw the plan to this SVG `file`")
	flags.Usage = func() {
		_, _ = fmt.Fprint(stderr, usage)
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); errors.Is(err, flag.ErrHelp) {
		return f, exitGood, false
	} else if err != nil {
		return f, exitBadInput, false
	}
	if flags.NArg() != 1 || !(f.seconds >= 0 && f.seconds <= 1e6) || f.iterations < 0 {
		_, _ = fmt.Fprintf(stderr, "yardwright %s: give one FILE.json (or -), and no limit below zero or above 1000000 s\n", name)
		return f, exitBadInput, false
	}
	f.file = flags.Arg(0)
	// With a time but no iterations, the time alone is the limit.
	if f.seconds > 0 && f.iterations == 0 {
		f.iterations = 1 << 30
	}
	return f, exitGood, true
}

// limit ends a context after the seconds.
func (f solveFlags) limit(ctx context.Context) (context.Context, context.CancelFunc) {
	if f.seconds == 0 {
		return context.WithCancel(ctx)
	}
	return context.WithTimeout(ctx, time.Duration(f.seconds*float64(time.Second)))
}

// draw writes the drawing, if one is asked for.
func (f solveFlags) draw(drawing func(io.Writer) error) error {
	if f.svg == "" {
		return nil
	}
	var b bytes.Buffer
	if err := drawing(&b); err != nil {
		return err
	}
	if err := os.WriteFile(f.svg, b.Bytes(), 0o644); err != nil {
		return fmt.Errorf("the drawing cannot be written: %w", err)
	}
	return nil
}

// badFile is a file that cannot be read at all.
type badFile struct{ error }

func readInput(name string, stdin io.Reader) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(stdin)
	}
	data, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, badFile{fmt.Errorf("there is no file %s", name)}
	}
	return data, err
}

// inputFault is an error at a field or line of the input.
type inputFault interface{ InputFault() bool }

// failSolve writes an error and returns the exit code for it.
func failSolve(name string, err error, stderr io.Writer) int {
	_, _ = fmt.Fprintf(stderr, "yardwright %s: %v\n", name, err)
	var fault inputFault
	if errors.As(err, &fault) || errors.As(err, &badFile{}) {
		return exitBadInput
	}
	return exitFailed
}

package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"time"
)

// solveFlags are the flags of layplan and rolls, which plan from a file.
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
	if code, ok := parseFlags(flags, args, 1, stderr); !ok {
		return f, code, false
	}
	if fault := limitFault(f.seconds, f.iterations); fault != "" {
		_, _ = fmt.Fprintf(stderr, "yardwright %s: %s\n", name, fault)
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

// failSolve writes an error and returns the exit code for it.
func failSolve(name string, in input, err error, stderr io.Writer) int {
	_, _ = fmt.Fprintf(stderr, "yardwright %s: %s\n", name, in.describe(err))
	if len(faultsOf(err)) > 0 || errors.As(err, &badFile{}) {
		return exitBadInput
	}
	return exitFailed
}

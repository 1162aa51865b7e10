package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/batch/words"
	"yardwright/exports"
)

const markerUsage = `Usage: yardwright marker [flags] FILE.json

Lays the pieces named in FILE.json (or in standard input, if FILE is -) on one
width of cloth so that little length is used, and writes the marker as JSON.

`

// Exit codes of the commands that read a file and write an answer.
const (
	exitGood     = 0
	exitFailed   = 1
	exitBadInput = 2
)

// leastTime lets even the shortest search begin, so that it has a marker to show.
const leastTime = 50 * time.Millisecond

// runMarker is the command `yardwright marker`. It returns 0 if every copy is laid, 1 if the
// job failed or copies are left out (the marker is written all the same), 2 if the input or a flag is wrong; then the line and field are on stderr.
func runMarker(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright marker", flag.ContinueOnError)
	flags.SetOutput(stderr)
	seconds := flags.Float64("seconds", 3, "how long to look for a shorter marker; 0 means until stopped")
	iterations := flags.Int("iterations", 0, "most markers to try; 0 means no limit; if given, time does not count unless --seconds is given too")
	seed := flags.Uint64("seed", 1, "seed of random choices; the same seed and iterations give the same marker")
	svg := flags.String("svg", "", "also draw the marker to this SVG `file`")
	flags.Usage = func() {
		fmt.Fprint(stderr, markerUsage)
		flags.PrintDefaults()
	}
	if code, ok := parseFlags(flags, args, 1, stderr); !ok {
		return code
	}
	if fault := limitFault(*seconds, *iterations); fault != "" {
		fmt.Fprintln(stderr, "yardwright marker: "+fault)
		return exitBadInput
	}
	in, unit, err := readMarkerFile(flags.Arg(0), stdin)
	if err != nil {
		fmt.Fprintf(stderr, "yardwright marker: %v\n", err)
		return exitCode(err)
	}
	timed := *iterations == 0
	flags.Visit(func(f *flag.Flag) { timed = timed || f.Name == "seconds" })
	if timed && *seconds > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, max(time.Duration(*seconds*float64(time.Second)), leastTime))
		defer cancel()
	}
	whole, err := solveMarker(ctx, in, marker.Params{Seed: *seed, Iterations: *iterations}, unit, stdout, stderr, *svg)
	if err != nil {
		fmt.Fprintf(stderr, "yardwright marker: %v\n", err)
		return exitFailed
	}
	if !whole {
		return exitFailed
	}
	return exitGood
}

// exitCode tells bad input from a job that failed for another reason.
func exitCode(err error) int {
	if input := (*marker.InputError)(nil); errors.As(err, &input) || errors.As(err, &badFile{}) {
		return exitBadInput
	}
	return exitFailed
}

func readMarkerFile(name string, stdin io.Reader) (marker.Instance, marker.FileUnit, error) {
	read, err := readInput(name, stdin)
	if err != nil {
		return marker.Instance{}, marker.FileUnit{}, err
	}
	in, unit, err := marker.ReadInstance(bytes.NewReader(read.data))
	if err != nil && name != "-" {
		err = fmt.Errorf("%s:\n%w", name, err)
	}
	return in, unit, err
}

// solveMarker lays, writes the answer and the drawing, and says how it went on stderr. It
// returns whether every copy is laid.
func solveMarker(ctx context.Context, in marker.Instance, params marker.Params, unit marker.FileUnit, stdout, stderr io.Writer, svg string) (whole bool, err error) {
	r, err := marker.Solve(ctx, in, params)
	if err != nil {
		return false, err
	}
	buffered := bufio.NewWriter(stdout)
	if err := marker.WriteResult(buffered, in, r, unit); err != nil {
		return false, fmt.Errorf("the marker cannot be written: %w", err)
	}
	if err := buffered.Flush(); err != nil {
		return false, fmt.Errorf("the marker cannot be written: %w", err)
	}
	if svg != "" {
		if err := drawMarkerFile(svg, in, r, unit); err != nil {
			return false, fmt.Errorf("the drawing cannot be written: %w", err)
		}
	}
	fmt.Fprintln(stderr, markerSummary(in, r, unit))
	return r.Status != marker.StatusPartial, nil
}

// drawMarkerFile draws a marker to scale, with its measures in the system of the unit.
func drawMarkerFile(name string, in marker.Instance, r marker.Result, unit marker.FileUnit) error {
	options := exports.Drawing{Direction: exports.LengthRight, Cuts: in.StraightCuts, Standalone: true}
	if unit == length.Millimetres {
		options.Lengths.System = length.Metric
	}
	file, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := exports.MarkerSVG(file, in, r, options); err != nil {
		return errors.Join(err, file.Close())
	}
	return file.Close()
}

// markerSummary says in words what was reached.
func markerSummary(in marker.Instance, r marker.Result, unit marker.FileUnit) string {
	pieces, cloth := len(r.Placements), "cloth"
	if in.Folded {
		cloth = "folded cloth"
		for _, p := range r.Placements {
			if !in.Pieces[p.Piece].OnFold {
				pieces++ // the layer below gives the second
			}
		}
	}
	text := fmt.Sprintf("%s on %s %s of %s, %.1f %% of it used", words.Count(pieces, "piece"), r.Length.In(unit), unit.Symbol, cloth, 100*in.Efficiency(r.Marker))
	switch r.Status {
	case marker.StatusOptimal:
		return text + "; no marker can be shorter"
	case marker.StatusPartial:
		text += fmt.Sprintf("; not all fits on the longest length of %s %s. Left out:", in.MaxLength.In(unit), unit.Symbol)
		for i, n := range r.Left {
			if n > 0 {
				text += fmt.Sprintf("\n%d × %s", n, cmp.Or(in.Pieces[i].Name, fmt.Sprintf("piece %d", i)))
			}
		}
		return text
	default:
		return text + fmt.Sprintf("; no marker can be shorter than %s %s", r.Bound.In(unit), unit.Symbol)
	}
}

package main

import (
	"context"
	"flag"
	"fmt"
	"io"

	"yardwright/server/privatepg"
)

// runServe is the command `yardwright serve`.
func runServe(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright serve", flag.ContinueOnError)
	flags.SetOutput(stderr)
	address := flags.String("addr", defaultAddress, "`HOST:PORT` to serve the pages on")
	data := flags.String("data", "", "`folder` of the private Postgres; empty means the usual one")
	if code, ok := parseFlags(flags, args, 0, stderr); !ok {
		return code
	}
	if err := checkLoopback(*address); err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitBadInput
	}
	a, err := start(ctx, privatepg.Options{DataDir: *data}, stderr)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitFailed
	}
	defer a.stop()
	w, err := a.service.Open(ctx)
	if err == nil {
		err = a.serve(ctx, w.ID, *address, stdout)
	}
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitFailed
	}
	return exitGood
}

// parseFlags reads flags and checks the number of arguments; ok is false if the command ends
// here, with the exit code.
func parseFlags(flags *flag.FlagSet, args []string, arguments int, stderr io.Writer) (code int, ok bool) {
	// Flags may stand after the file as well as before it.
	var files []string
	for {
		if err := flags.Parse(args); err != nil {
			if err == flag.ErrHelp { //nolint:errorlint // flag returns it bare
				return exitGood, false
			}
			return exitBadInput, false
		}
		if flags.NArg() == 0 {
			break
		}
		files, args = append(files, flags.Arg(0)), flags.Args()[1:]
	}
	if err := flags.Parse(append([]string{"--"}, files...)); err != nil {
		return exitBadInput, false
	}
	if flags.NArg() != arguments {
		_, _ = fmt.Fprintf(stderr, "%s: %s, %d given\n", flags.Name(), [...]string{"no file is needed", "one FILE is needed (or - for standard input)", "two words are needed, as in `import orders FILE.csv`"}[arguments], flags.NArg())
		return exitBadInput, false
	}
	return exitGood, true
}

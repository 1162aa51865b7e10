package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"yardwright/server/privatepg"
	"yardwright/server/store"
)

// runImport is the command `yardwright import orders FILE.csv`, or `... archive FILE.zip`.
func runImport(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright import", flag.ContinueOnError)
	flags.SetOutput(stderr)
	data := flags.String("data", "", "`folder` of the private Postgres; empty means the usual one")
	if code, ok := parseFlags(flags, args, 2, stderr); !ok {
		return code
	}
	if flags.Arg(0) == "archive" {
		return importArchive(ctx, flags.Arg(1), *data, stdout, stderr)
	}
	if flags.Arg(0) != "orders" {
		_, _ = fmt.Fprintf(stderr, "yardwright import: %q can't be imported; orders and an archive can\n", flags.Arg(0))
		return exitBadInput
	}
	file, err := openInput(flags.Arg(1), stdin)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitBadInput
	}
	defer func() { _ = file.Close() }() // only read from
	return onWorkshop(ctx, flags.Name(), *data, stderr, func(a *app, w store.Workshop) error {
		took, err := a.service.ImportOrders(ctx, w.ID, filepath.Base(flags.Arg(1)), file)
		return tellTaken(flags.Arg(1), took, err, stdout)
	})
}

// onWorkshop opens the maker's own workshop, does something in it, and returns the code that the
// program ends with; a fault of the store is about what the maker gave.
func onWorkshop(ctx context.Context, name, data string, stderr io.Writer, do func(*app, store.Workshop) error) int {
	a, err := start(ctx, privatepg.Options{DataDir: data}, stderr)
	if err == nil {
		defer a.stop()
		var w store.Workshop
		if w, err = a.service.Open(ctx); err == nil {
			err = do(a, w)
		}
	}
	if err == nil {
		return exitGood
	}
	_, _ = fmt.Fprintf(stderr, "%s: %v\n", name, err)
	var fault *store.Fault
	if errors.As(err, &fault) {
		return exitBadInput
	}
	return exitFailed
}

// tellTaken says what was taken from a file, or returns why nothing was.
func tellTaken(path string, took fmt.Stringer, err error, stdout io.Writer) error {
	var fault *store.Fault
	switch {
	case errors.As(err, &fault):
		return fmt.Errorf("nothing was taken from %s\n%w", path, err)
	case err != nil:
		return err
	}
	_, _ = fmt.Fprintf(stdout, "Taken: %s\n", took)
	return nil
}

// openInput opens a file; - is standard input.
func openInput(name string, stdin io.Reader) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(stdin), nil
	}
	return os.Open(name)
}

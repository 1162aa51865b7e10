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
	a, err := start(ctx, privatepg.Options{DataDir: *data}, stderr)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitFailed
	}
	defer a.stop()
	w, err := a.service.Open(ctx)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitFailed
	}
	took, err := a.service.ImportOrders(ctx, w.ID, filepath.Base(flags.Arg(1)), file)
	var fault *store.Fault
	switch {
	case errors.As(err, &fault):
		_, _ = fmt.Fprintf(stderr, "yardwright import: nothing was taken from %s\n%v\n", flags.Arg(1), err)
		return exitBadInput
	case err != nil:
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitFailed
	}
	_, _ = fmt.Fprintf(stdout, "Taken: %s\n", took)
	return exitGood
}

// openInput opens a file; - is standard input.
func openInput(name string, stdin io.Reader) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(stdin), nil
	}
	return os.Open(name)
}

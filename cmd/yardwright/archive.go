package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"yardwright/server/store"
)

// runExport is the command `yardwright export archive FILE.zip`.
func runExport(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright export", flag.ContinueOnError)
	flags.SetOutput(stderr)
	data := flags.String("data", "", "`folder` of the private Postgres; empty means the usual one")
	if code, ok := parseFlags(flags, args, 2, stderr); !ok {
		return code
	}
	if flags.Arg(0) != "archive" {
		_, _ = fmt.Fprintf(stderr, "yardwright export: %q can't be exported; archive can\n", flags.Arg(0))
		return exitBadInput
	}
	path := flags.Arg(1)
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright export:", err)
		return exitBadInput
	}
	return onWorkshop(ctx, flags.Name(), *data, stderr, func(a *app, w store.Workshop) error {
		if err := writeFile(path, func(out io.Writer) error { return a.service.ExportArchive(ctx, out, w.ID) }); err != nil {
			return err
		}
		_, _ = fmt.Fprintf(stdout, "Wrote %s, with everything of %s. Keep it safe: it holds customers, costs and prices.\n", path, w.Name)
		return nil
	})
}

// importArchive reads an archive into the empty workshop.
func importArchive(ctx context.Context, path, data string, stdout, stderr io.Writer) int {
	file, err := os.Open(path)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitBadInput
	}
	defer func() { _ = file.Close() }() // only read from
	info, err := file.Stat()
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright import:", err)
		return exitBadInput
	}
	return onWorkshop(ctx, "yardwright import", data, stderr, func(a *app, w store.Workshop) error {
		took, err := a.service.ImportArchive(ctx, w.ID, file, info.Size())
		return tellTaken(path, took, err, stdout)
	})
}

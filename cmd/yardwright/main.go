// Command yardwright plans cutting batches, costs garments and prices them, from pages in a
// browser or from the command line.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"sort"
	"syscall"
)

// command is one thing that the program does.
type command struct {
	use string
	run func(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands by name.
var commands = map[string]command{
	"demo":    {"demo [--out DIR] [--once] [--addr HOST:PORT]   load, plan and price the demo workshop, then show it", runDemo},
	"serve":   {"serve [--addr HOST:PORT] [--data DIR]          serve your workshop's pages", runServe},
	"owner":   {"owner NAME                                     make an owner, or a new link for one who forgot the password", runOwner},
	"import":  {"import orders FILE.csv | archive FILE.zip      take orders from a file, or a whole workshop into an empty one", runImport},
	"export":  {"export archive FILE.zip                        write the whole workshop to one file", runExport},
	"marker":  {"marker FILE.json                               lay pieces on a width of cloth", runMarker},
	"layplan": {"layplan FILE.json                              plan which sizes to cut together, in how many plies", runLayplan},
	"rolls":   {"rolls FILE.json                                cut lengths from rolls", runRolls},
	"version": {"version                                        say which version this is", runVersion},
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		usage(stderr)
		return exitBadInput
	}
	if args[0] == "help" || args[0] == "--help" || args[0] == "-h" {
		usage(stdout)
		return exitGood
	}
	c, ok := commands[args[0]]
	if !ok {
		_, _ = fmt.Fprintf(stderr, "yardwright: there is no command %q\n", args[0])
		usage(stderr)
		return exitBadInput
	}
	return c.run(ctx, args[1:], stdin, stdout, stderr)
}

func usage(w io.Writer) {
	_, _ = fmt.Fprintln(w, "Yardwright plans what to cut from which bolt, and what to charge for it.\n\nCommands:")
	var names []string
	for name := range commands {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		_, _ = fmt.Fprintln(w, "  yardwright "+commands[name].use)
	}
	_, _ = fmt.Fprintln(w, "\nmarker, layplan and rolls take --seconds, --iterations, --seed and --svg FILE; FILE.json may be - for standard input.\nExit codes: 0 done, 1 failed, 2 the input is wrong.")
}

func runVersion(_ context.Context, _ []string, _ io.Reader, stdout, _ io.Writer) int {
	version := "development"
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		version = info.Main.Version
	}
	_, _ = fmt.Fprintln(stdout, "yardwright", version)
	return exitGood
}

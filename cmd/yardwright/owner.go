package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"

	"yardwright/server/privatepg"
	"yardwright/server/store"
)

// runOwner is the command `yardwright owner NAME`. It prints a link, so that no password
// passes through the command line.
func runOwner(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright owner", flag.ContinueOnError)
	flags.SetOutput(stderr)
	data := flags.String("data", "", "`folder` of the private Postgres; empty means the usual one")
	if len(args) == 0 {
		_, _ = fmt.Fprintln(stderr, "yardwright owner: one name is needed, as in `yardwright owner Marlo`")
		return exitBadInput
	}
	if code, ok := parseFlags(flags, args, 1, stderr); !ok {
		return code
	}
	a, err := start(ctx, privatepg.Options{DataDir: *data}, stderr)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright owner:", err)
		return exitFailed
	}
	defer a.stop()
	w, err := a.service.Open(ctx)
	var word string
	if err == nil {
		word, err = a.service.OwnerLink(ctx, w.ID, flags.Arg(0))
	}
	var fault *store.Fault
	switch {
	case errors.As(err, &fault):
		_, _ = fmt.Fprintln(stderr, "yardwright owner:", err)
		return exitBadInput
	case err != nil:
		_, _ = fmt.Fprintln(stderr, "yardwright owner:", err)
		return exitFailed
	}
	_, _ = fmt.Fprintf(stdout, "%s is an owner of %s. Serve the pages, then open this link once, within seven days, to choose a password:\nhttp://%s/join/%s\nAt another address, the part from /join/ on stays the same.\n",
		flags.Arg(0), w.Name, defaultAddress, word)
	return exitGood
}

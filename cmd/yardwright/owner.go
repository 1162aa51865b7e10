package main

import (
	"context"
	"flag"
	"fmt"
	"io"

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
	return onWorkshop(ctx, flags.Name(), *data, stderr, func(a *app, w store.Workshop) error {
		word, err := a.service.OwnerLink(ctx, w.ID, flags.Arg(0))
		if err != nil {
			return err
		}
		_, _ = fmt.Fprintf(stdout, "%s is an owner of %s. Serve the pages, then open this link once, within seven days, to choose a password:\nhttp://%s/join/%s\nAt another address, the part from /join/ on stays the same.\n",
			flags.Arg(0), w.Name, defaultAddress, word)
		return nil
	})
}

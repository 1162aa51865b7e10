package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/netip"
	"strings"

	"yardwright/server"
	"yardwright/server/privatepg"
)

// runServe is the command `yardwright serve`.
func runServe(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright serve", flag.ContinueOnError)
	flags.SetOutput(stderr)
	address := flags.String("addr", defaultAddress, "`HOST:PORT` to serve the pages on")
	data := flags.String("data", "", "`folder` of the private Postgres; empty means the usual one")
	proxy := flags.String("proxy", "", "`networks` of a proxy that serves the pages over https, such as 127.0.0.1/32")
	parts := flags.Bool("parts", false, "for developers: show the parts of pages, at /parts")
	if code, ok := parseFlags(flags, args, 0, stderr); !ok {
		return code
	}
	local, err := isLoopback(*address)
	networks, proxyErr := readNetworks(*proxy)
	if err := errors.Join(err, proxyErr); err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitBadInput
	}
	if *parts && !local {
		_, _ = fmt.Fprintln(stderr, "yardwright serve: --parts is for developers, on this machine only; serve at", defaultAddress)
		return exitBadInput
	}
	a, err := start(ctx, privatepg.Options{DataDir: *data}, stderr)
	if err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitFailed
	}
	defer a.stop()
	err = a.serveOwn(ctx, *address, local, stdout, networks, developers(*parts)...)
	switch {
	case errors.Is(err, errNoOwner):
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitBadInput
	case err != nil:
		_, _ = fmt.Fprintln(stderr, "yardwright serve:", err)
		return exitFailed
	}
	return exitGood
}

// errNoOwner refuses to show an unguarded workshop to the network.
var errNoOwner = errors.New("this workshop has no owner, so nobody would have to sign in; it is then served on this machine only")

// serveOwn serves the maker's workshop: on this machine, or, once there is an owner and people
// have to sign in, at any address.
func (a *app) serveOwn(ctx context.Context, address string, local bool, stdout io.Writer, proxies []string, options ...server.Option) error {
	w, err := a.service.Open(ctx)
	if err != nil {
		return err
	}
	owned, err := a.service.HasOwner(ctx, w.ID)
	if err != nil {
		return err
	}
	if !owned && (!local || len(proxies) > 0) {
		return fmt.Errorf("%w. Make an owner first: run `yardwright owner YOUR-NAME`, or serve at %s and use the page Workshop", errNoOwner, defaultAddress)
	}
	return a.serve(ctx, w.ID, address, stdout, append(options, server.BehindProxy(proxies...))...)
}

// developers are the options of a server that shows developers its parts.
func developers(parts bool) []server.Option {
	if parts {
		return []server.Option{server.WithParts()}
	}
	return nil
}

// readNetworks reads a list of networks, with commas between.
func readNetworks(list string) ([]string, error) {
	var networks []string
	for _, text := range strings.FieldsFunc(list, func(r rune) bool { return r == ',' || r == ' ' }) {
		if _, err := netip.ParsePrefix(text); err != nil {
			return nil, fmt.Errorf("--proxy: %q is not a network; write it like 127.0.0.1/32", text)
		}
		networks = append(networks, text)
	}
	return networks, nil
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

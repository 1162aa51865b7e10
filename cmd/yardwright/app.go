package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"yardwright/server"
	"yardwright/server/job"
	"yardwright/server/privatepg"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// defaultAddress is where the pages are served unless told otherwise.
const defaultAddress = "127.0.0.1:8137"

// app is the running program: a database, the use cases, the job queue.
type app struct {
	private *privatepg.Server // nil with DATABASE_URL
	pool    *pgxpool.Pool
	service *workshop.Service
	queue   *job.Queue
	log     *slog.Logger
}

// start connects to DATABASE_URL or starts the private Postgres, brings the schema up to date
// and sets up the use cases.
func start(ctx context.Context, private privatepg.Options, stderr io.Writer) (_ *app, err error) {
	a := &app{log: slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))}
	defer func() {
		if err != nil {
			a.stop()
		}
	}()
	url := os.Getenv("DATABASE_URL")
	if url == "" {
		private.Log = func(line string) { _, _ = fmt.Fprintln(stderr, line) }
		a.private, err = privatepg.Start(ctx, private)
		if err != nil {
			return nil, err
		}
		url = a.private.URL()
	}
	if a.pool, err = store.Open(ctx, url); err != nil {
		return nil, err
	}
	if err := store.Migrate(ctx, a.pool); err != nil {
		return nil, err
	}
	if err := job.Migrate(ctx, a.pool); err != nil {
		return nil, err
	}
	a.service = workshop.New(store.New(a.pool), time.Now, a.log)
	if a.queue, err = job.New(a.pool, a.log, a.service); err != nil {
		return nil, err
	}
	a.service.UseJobs(a.queue)
	return a, a.queue.Start(context.WithoutCancel(ctx))
}

// stopPatience is how long the parts of the program may take to stop.
const stopPatience = 15 * time.Second

// stop ends everything in order: jobs, connections, Postgres.
func (a *app) stop() {
	ctx, cancel := context.WithTimeout(context.Background(), stopPatience)
	defer cancel()
	if a.queue != nil {
		if err := a.queue.Stop(ctx); err != nil {
			a.log.Warn("the job queue did not stop in time", "error", err)
		}
	}
	if a.pool != nil {
		a.pool.Close()
	}
	if a.private != nil {
		if err := a.private.Stop(ctx); err != nil {
			a.log.Warn("the private Postgres did not stop cleanly", "error", err)
		}
	}
}

// errNotLoopback refuses to show the demo, where nobody signs in, to the network.
var errNotLoopback = errors.New("the demo is only served on this machine (127.0.0.1), since nobody has to sign in")

// checkLoopback makes sure that an address can be reached from this machine only.
func checkLoopback(address string) error {
	local, err := isLoopback(address)
	if err == nil && !local {
		err = fmt.Errorf("%s: %w", address, errNotLoopback)
	}
	return err
}

// isLoopback tells whether an address can be reached from this machine only.
func isLoopback(address string) (bool, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false, fmt.Errorf("%q is not an address; write it like %s", address, defaultAddress)
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback(), nil
}

// Limits that keep a slow or hostile client from holding the server.
const (
	headerPatience = 10 * time.Second
	readPatience   = time.Minute
	writePatience  = 2 * time.Minute
	idlePatience   = 2 * time.Minute
)

// serve shows the pages of a workshop until the context ends.
func (a *app) serve(ctx context.Context, workshopID int64, address string, stdout io.Writer, options ...server.Option) error {
	pages, err := server.New(a.service, workshopID, a.log, options...)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return fmt.Errorf("the pages can't be served at %s (is something else there? try --addr): %w", address, err)
	}
	web := &http.Server{
		Handler: pages.Handler(), ReadHeaderTimeout: headerPatience, ReadTimeout: readPatience, WriteTimeout: writePatience, IdleTimeout: idlePatience,
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) },
	}
	failed := make(chan error, 1)
	go func() { failed <- web.Serve(listener) }()
	_, _ = fmt.Fprintf(stdout, "Your pages: http://%s/   (Ctrl-C stops)\n", listener.Addr())
	select {
	case err := <-failed:
		return err
	case <-a.databaseGone():
		return fmt.Errorf("the private Postgres ended by itself: %w", a.private.Err())
	case <-ctx.Done():
	}
	late, cancel := context.WithTimeout(context.Background(), stopPatience/3)
	defer cancel()
	if err := web.Shutdown(late); err != nil {
		return web.Close()
	}
	return nil
}

func (a *app) databaseGone() <-chan struct{} {
	if a.private == nil {
		return nil
	}
	return a.private.Done()
}

//go:build linux || darwin

// Package pgtest gives every test a database of its own.
//
// The first test that asks starts a private Postgres for the whole test program; it lives in a
// temporary folder and never waits for the disk. Each database is a copy of a template, made
// in some tens of milliseconds and dropped when its test ends. Postgres and its folder go away
// with the test program, also when that panics or is killed: a small shell process holds the
// other end of a pipe and tidies up when it closes.
//
// It works as root and as an ordinary user. Where Postgres is missing tests fail, and the
// message says what to install.
package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"yardwright/server/privatepg"
)

// Pool returns a pool on a new, empty database, which is dropped at the end of the test.
func Pool(t testing.TB) *pgxpool.Pool {
	t.Helper()
	return open(t, URL(t))
}

// URL returns the connection string of a new, empty database, which is dropped at the end of
// the test, together with the connections that are left.
func URL(t testing.TB) string {
	t.Helper()
	return newDatabase(t, "template1")
}

// Template is a database with tables, and perhaps rows, that tests start from. Make one per
// test package, as a package variable.
type Template struct {
	prepare func(ctx context.Context, pool *pgxpool.Pool) error
	name    func() (string, error)
}

// NewTemplate returns a template that prepare fills, once, when the first test asks for a copy.
func NewTemplate(prepare func(ctx context.Context, pool *pgxpool.Pool) error) *Template {
	tpl := &Template{prepare: prepare}
	tpl.name = sync.OnceValues(tpl.make)
	return tpl
}

// Pool returns a pool on a new copy of the template, which is dropped at the end of the test.
func (tpl *Template) Pool(t testing.TB) *pgxpool.Pool {
	t.Helper()
	return open(t, tpl.URL(t))
}

// URL returns the connection string of a new copy of the template, which is dropped at the end
// of the test, together with the connections that are left.
func (tpl *Template) URL(t testing.TB) string {
	t.Helper()
	name, err := tpl.name()
	if err != nil {
		t.Fatalf("preparing the test database: %v", err)
	}
	return newDatabase(t, name)
}

func (tpl *Template) make() (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute) // what prepares may be long work, on a busy machine
	defer cancel()
	c, err := theCluster()
	if err != nil {
		return "", err
	}
	name, err := c.create(ctx, "template1")
	if err != nil {
		return "", err
	}
	pool, err := pgxpool.New(ctx, c.url(name))
	if err != nil {
		return "", err
	}
	defer pool.Close() // nobody may be connected to a template that is copied
	return name, tpl.prepare(ctx, pool)
}

func open(t testing.TB, url string) *pgxpool.Pool {
	t.Helper()
	pool, err := pgxpool.New(t.Context(), url)
	if err != nil {
		t.Fatalf("opening the test database: %v", err)
	}
	t.Cleanup(func() { closePool(t, pool) })
	return pool
}

// closePool closes the pool, which waits for every connection to be given back; a test that
// keeps one is told so and does not hang.
func closePool(t testing.TB, pool *pgxpool.Pool) {
	closed := make(chan struct{})
	go func() {
		pool.Close()
		close(closed)
	}()
	select {
	case <-closed:
	case <-time.After(10 * time.Second):
		t.Errorf("the test keeps %d connections: close its rows and transactions, release what it acquired", pool.Stat().AcquiredConns())
	}
}

func newDatabase(t testing.TB, template string) string {
	t.Helper()
	c, err := theCluster()
	if err != nil {
		t.Fatalf("starting Postgres for the tests: %v", err)
	}
	name, err := c.create(t.Context(), template)
	if err != nil {
		t.Fatalf("making a test database: %v", err)
	}
	t.Cleanup(func() {
		if err := c.drop(name); err != nil {
			t.Errorf("dropping the test database: %v", err)
		}
	})
	return c.url(name)
}

// cluster is the Postgres of this test program.
type cluster struct {
	server *privatepg.Server
	pipe   *os.File // open as long as the test program lives; see tidyUp
	count  atomic.Int64
	admin  *pgxpool.Pool // one connection: databases are made and dropped one at a time
}

var theCluster = sync.OnceValues(startCluster)

func startCluster() (*cluster, error) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	dir, err := makeFolder()
	if err != nil {
		return nil, err
	}
	pipe, err := tidyUp(dir)
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	c := &cluster{pipe: pipe}
	c.server, err = privatepg.Start(ctx, privatepg.Options{DataDir: filepath.Join(dir, "data"), FastAndUnsafe: true})
	if err != nil {
		return nil, err
	}
	config, err := pgxpool.ParseConfig(c.url("postgres"))
	if err != nil {
		return nil, err
	}
	config.MaxConns = 1
	c.admin, err = pgxpool.NewWithConfig(ctx, config)
	return c, err
}

// makeFolder makes a temporary folder that the user who runs Postgres can pass. It lies in
// memory where the system has room for that: disks are slow.
func makeFolder() (string, error) {
	dir, err := os.MkdirTemp(temporaryBase(), "yardwright-pgtest-")
	if err != nil {
		return "", err
	}
	return dir, os.Chmod(dir, 0o755)
}

func temporaryBase() string {
	const memory, enough = "/dev/shm", 2 << 30
	var stat syscall.Statfs_t
	if os.Getenv("TMPDIR") == "" && syscall.Statfs(memory, &stat) == nil && stat.Bavail*uint64(stat.Bsize) > enough {
		return memory
	}
	if base := os.TempDir(); os.Geteuid() != 0 || passableByAll(base) {
		return base
	}
	return "/tmp" // run as root, TMPDIR may be closed to others
}

func passableByAll(dir string) bool {
	for {
		info, err := os.Stat(dir)
		if err != nil || info.Mode()&0o001 == 0 {
			return false
		}
		parent := filepath.Dir(dir)
		if parent == dir {
			return true
		}
		dir = parent
	}
}

// tidyScript waits until its input closes, which is when the test program has ended, however
// it ended. It stops the Postgres that is named in the pid file, which takes that file away
// when it stops, and removes the folder.
const tidyScript = `
read -r _
pidfile=$1/data/pgdata/postmaster.pid
if pid=$(head -n 1 "$pidfile" 2>/dev/null); then
	kill -INT "$pid" 2>/dev/null
	tries=0
	while [ -f "$pidfile" ] && kill -0 "$pid" 2>/dev/null && [ $tries -lt 50 ]; do
		sleep 0.1
		tries=$((tries + 1))
	done
	[ -f "$pidfile" ] && kill -QUIT "$pid" 2>/dev/null
fi
tries=0
until rm -rf "$1" 2>/dev/null || [ $tries -ge 50 ]; do
	sleep 0.1 # a killed start may still be writing
	tries=$((tries + 1))
done
`

// tidyUp starts the shell that runs tidyScript and returns our end of its input.
func tidyUp(dir string) (*os.File, error) {
	theirs, ours, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer theirs.Close()
	cmd := exec.Command("/bin/sh", "-c", tidyScript, "sh", dir)
	cmd.Dir = "/"
	cmd.Stdin = theirs
	// Away from our terminal's group, so that Ctrl-C does not end it before its work begins.
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	if err := cmd.Start(); err != nil {
		return nil, errors.Join(fmt.Errorf("starting /bin/sh: %w", err), ours.Close())
	}
	return ours, cmd.Process.Release()
}

func (c *cluster) create(ctx context.Context, template string) (string, error) {
	name := fmt.Sprintf("test%d", c.count.Add(1))
	_, err := c.admin.Exec(ctx, "CREATE DATABASE "+name+" TEMPLATE "+template)
	return name, err
}

func (c *cluster) drop(name string) error {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	_, err := c.admin.Exec(ctx, "DROP DATABASE "+name+" WITH (FORCE)")
	return err
}

func (c *cluster) url(name string) string {
	address, err := url.Parse(c.server.URL())
	if err != nil {
		panic(err) // our own connection string
	}
	address.Path = "/" + name
	return address.String()
}

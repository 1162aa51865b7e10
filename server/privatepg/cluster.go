//go:build linux || darwin

package privatepg

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
)

// Names inside Postgres.
const (
	superuser = "yardwright"
	database  = "yardwright"
)

// clusterMajor returns the major version that wrote the cluster; 0 when there is none yet.
func clusterMajor(p place) (int, error) {
	text, err := os.ReadFile(filepath.Join(p.cluster(), "PG_VERSION"))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, checkVacant(p)
	}
	if err != nil {
		return 0, fmt.Errorf("reading the version of the data: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil || major <= 0 {
		return 0, fmt.Errorf("%s/PG_VERSION should hold a version number and holds %.20q. Nothing was changed: put the folder back from a backup, or name another data folder", p.cluster(), text)
	}
	return major, nil
}

// checkVacant refuses to make a cluster where something else is: it may be the rest of one.
func checkVacant(p place) error {
	entries, err := os.ReadDir(p.cluster())
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("data folder: %w", err)
	case len(entries) > 0:
		return fmt.Errorf("%s is not a Postgres cluster (it has no PG_VERSION) and is not empty. Nothing was changed: put it back from a backup, or move it away to begin with an empty workshop", p.cluster())
	}
	return os.Remove(p.cluster())
}

// makeCluster runs initdb in a folder of its own and renames it when all is there: a cluster
// that was only half made is never taken for one. A folder left over by an earlier try held
// no data yet; the name is new each time, because a killed initdb still tidies up its own.
func makeCluster(ctx context.Context, p place, b binaries, opts Options) error {
	opts.Log("Preparing the database for the first time.")
	stale, err := filepath.Glob(filepath.Join(globEscape(p.dir), initPrefix+"*"))
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	for _, dir := range stale {
		_ = os.RemoveAll(dir) // takes some disk space at worst
	}
	unfinished, err := os.MkdirTemp(p.dir, initPrefix)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	defer os.RemoveAll(unfinished) // nothing is left there after the rename
	if err := p.who.own(unfinished); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	if err := initdb(ctx, unfinished, p, b, opts); err != nil {
		return err
	}
	if err := os.Rename(unfinished, p.cluster()); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	return syncFolder(p.dir)
}

func globEscape(path string) string {
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(path)
}

// initdb makes a cluster in which text sorts by code point: such an order never changes with
// an update of the system, which would spoil every index. Upper and lower case follow Unicode
// where the system has such a language setting.
func initdb(ctx context.Context, dir string, p place, b binaries, opts Options) error {
	unicode := "C.UTF-8"
	if runtime.GOOS == "darwin" {
		unicode = "en_US.UTF-8"
	}
	args := []string{
		"-D", dir, "-U", superuser, "--auth-local=trust", "--auth-host=reject",
		"--encoding=UTF8", "--data-checksums", "--no-instructions", "--locale=C",
	}
	if opts.FastAndUnsafe {
		args = append(args, "--no-sync")
	}
	output, err := p.who.run(ctx, p.dir, b.initdb(), append(args, "--lc-ctype="+unicode)...)
	if err != nil && strings.Contains(output, "invalid locale name") {
		output, err = p.who.run(ctx, p.dir, b.initdb(), args...)
	}
	if err != nil {
		return fmt.Errorf("making the database failed (%w). %s said:\n%s", err, b.initdb(), lastLines(output))
	}
	return nil
}

func syncFolder(dir string) error {
	folder, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}

// postmasterArgs are the options of a start. They stand here and not in postgresql.conf, so
// that they hold for clusters of every age.
func postmasterArgs(p place, socketDir string, fastAndUnsafe bool) []string {
	args := []string{"-D", p.cluster()}
	settings := []string{
		ourMark,
		"listen_addresses=",
		"port=" + socketPort,
		"unix_socket_directories=" + quoteListItem(socketDir),
		"unix_socket_permissions=0700",
		"logging_collector=off",
		"log_destination=stderr",
		"log_checkpoints=off",
		"lc_messages=C",
	}
	if fastAndUnsafe {
		settings = append(settings, "fsync=off", "full_page_writes=off", "shared_buffers=32MB")
	}
	for _, setting := range settings {
		args = append(args, "-c", setting)
	}
	return args
}

// quoteListItem keeps blanks at the ends of a path, and quotes in it, from being misread.
func quoteListItem(path string) string {
	return `"` + strings.ReplaceAll(path, `"`, `""`) + `"`
}

const largestLog = 4 << 20 // bytes, looked at when Postgres starts

// openLog opens the log for appending. A large one is set aside, in place of the one before it.
func openLog(p place) (*os.File, error) {
	if info, err := os.Stat(p.log()); err == nil && info.Size() > largestLog {
		if err := os.Rename(p.log(), p.log()+".1"); err != nil {
			return nil, err
		}
	}
	file, err := os.OpenFile(p.log(), os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return nil, err
	}
	if err := p.who.own(p.log()); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return file, nil
}

// logSince returns what was logged from an offset on.
func logSince(file *os.File, from int64) string {
	text, err := io.ReadAll(io.NewSectionReader(file, from, largestLog))
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// lastLines cuts a log to what fits into a message.
func lastLines(text string) string {
	const most = 12
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(lines[max(0, len(lines)-most):], "\n")
}

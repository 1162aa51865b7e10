//go:build linux || darwin

package privatepg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// process is a living process that works in our cluster.
type process struct {
	pid     int
	command string // its command line; empty while it dies
}

// kind tells what a process of our cluster is.
type kind int

const (
	dying      kind = iota // about to end
	worker                 // serves a postmaster, or has lost it
	postmaster             // started by this package in an earlier run
	byHand                 // started by a person: none of our business
)

// ourMark is an option of every postmaster that this package starts.
const ourMark = "cluster_name=yardwright"

func (p process) kind() kind {
	switch {
	case p.command == "":
		return dying
	case strings.HasPrefix(p.command, "postgres: "):
		return worker
	case strings.Contains(p.command, ourMark):
		return postmaster
	default:
		return byHand
	}
}

func isPostgresName(name string) bool { return name == "postgres" || name == "postmaster" }

func hasKind(processes []process, wanted kind) (process, bool) {
	for _, p := range processes {
		if p.kind() == wanted {
			return p, true
		}
	}
	return process{}, false
}

// Pauses while leftovers of an earlier run are watched.
const (
	glance       = 10 * time.Millisecond
	orphanGrace  = time.Second // workers notice within moments that their postmaster is gone
	retryStartIn = 100 * time.Millisecond
)

// clearLeftovers makes the cluster ready to be started after a run that ended badly. It waits
// until no process of the cluster is alive, helping along those that are ours, and then removes
// the lock files, which by then cannot be true, whatever process number they name: it may
// long since belong to another program, or to a zombie. Only for the holder of the folder's lock.
func clearLeftovers(ctx context.Context, p place, socketDir string, log func(string)) error {
	if err := outlive(ctx, p, log); err != nil {
		return err
	}
	socket := filepath.Join(socketDir, socketName)
	for _, path := range []string{pidFile(p), socket, socket + ".lock"} {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("clearing up after an earlier run: %w", err)
		}
	}
	return nil
}

// outlive waits until every process of the cluster has ended.
func outlive(ctx context.Context, p place, log func(string)) error {
	signalled := map[int]bool{}
	help := func(worked process, sig syscall.Signal) {
		if signalled[worked.pid] {
			return
		}
		signalled[worked.pid] = true
		log(fmt.Sprintf("Postgres of an earlier run (process %d) is still there; waiting for it to stop.", worked.pid))
		_ = syscall.Kill(worked.pid, sig) // it may have just ended, and is looked for again
	}
	for begun := time.Now(); ; {
		left, err := postgresIn(p.cluster(), pidFile(p))
		if err != nil {
			return fmt.Errorf("looking for processes of an earlier run: %w", err)
		}
		if len(left) == 0 {
			return nil
		}
		if found, ok := hasKind(left, byHand); ok {
			return fmt.Errorf("%w: a Postgres that was not started by Yardwright (process %d) works in %s: stop it with kill -INT %d and try again", ErrInUse, found.pid, p.cluster(), found.pid)
		}
		if found, ok := hasKind(left, postmaster); ok {
			help(found, syscall.SIGINT)
		} else if time.Since(begun) > orphanGrace {
			for _, orphan := range left {
				help(orphan, syscall.SIGQUIT)
			}
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%w: Postgres of an earlier run (process %d) is still shutting down: try again in a minute, or restart the computer: %w", ErrInUse, left[0].pid, context.Cause(ctx))
		case <-time.After(glance):
		}
	}
}

func pidFile(p place) string { return filepath.Join(p.cluster(), "postmaster.pid") }

// Lines of postmaster.pid, counted from zero (miscadmin.h of Postgres).
const (
	pidLine    = 0
	statusLine = 7
)

func readPidFile(path string) []string {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	return strings.Split(string(text), "\n")
}

// postmasterPid returns the process number in a postmaster.pid; 0 without one.
func postmasterPid(path string) int {
	lines := readPidFile(path)
	if len(lines) == 0 {
		return 0
	}
	pid, err := strconv.Atoi(strings.TrimSpace(lines[pidLine]))
	if err != nil {
		return 0
	}
	return pid
}

// isReady tells whether the postmaster with this number accepts connections.
func isReady(path string, pid int) bool {
	lines := readPidFile(path)
	return len(lines) > statusLine && lines[pidLine] == strconv.Itoa(pid) && strings.TrimSpace(lines[statusLine]) == "ready"
}

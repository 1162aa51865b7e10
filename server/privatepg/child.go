//go:build linux || darwin

package privatepg

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"time"
)

// childEnv is our environment without what would steer Postgres or its messages: every PG*
// variable (an empty PGPORT alone stops initdb) and every language setting (we read messages).
func childEnv(environ []string) []string {
	return slices.DeleteFunc(slices.Clone(environ), func(entry string) bool {
		name, _, _ := strings.Cut(entry, "=")
		return strings.HasPrefix(name, "PG") || strings.HasPrefix(name, "LC_") || name == "LANG" || name == "LANGUAGE"
	})
}

// run runs a short program as the account in a folder and returns what it printed.
func (who account) run(ctx context.Context, dir, program string, args ...string) (string, error) {
	// The death signal is sent when the thread that started the child ends.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()

	var output bytes.Buffer
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Dir, cmd.Env = dir, childEnv(os.Environ())
	cmd.Stdout, cmd.Stderr = &output, &output
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	cmd.WaitDelay = 5 * time.Second
	who.apply(cmd, syscall.SIGTERM)
	err := cmd.Run()
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	return output.String(), err
}

// child is a running postmaster.
type child struct {
	pid   int
	ended chan struct{} // closed when the process has ended and was waited for
	state *os.ProcessState
}

// startChild starts postgres. Its output goes to the log file, so that it is still there when
// both programs are gone.
func startChild(binary string, args []string, p place, output *os.File) (*child, error) {
	cmd := exec.Command(binary, args...)
	cmd.Dir, cmd.Env = p.dir, childEnv(os.Environ())
	cmd.Stdout, cmd.Stderr = output, output
	p.who.apply(cmd, syscall.SIGINT) // a fast, clean shutdown

	c := &child{ended: make(chan struct{})}
	started := make(chan error, 1)
	go func() {
		// The death signal is sent when the thread that started the child ends: keep it for
		// as long as the child lives.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		if err != nil {
			started <- err
			return
		}
		c.pid = cmd.Process.Pid
		started <- nil
		_ = cmd.Wait() // the state says all that its error says
		c.state = cmd.ProcessState
		close(c.ended)
	}()
	if err := <-started; err != nil {
		return nil, fmt.Errorf("starting %s: %w", binary, err)
	}
	return c, nil
}

func (c *child) hasEnded() bool {
	select {
	case <-c.ended:
		return true
	default:
		return false
	}
}

// signal does nothing once the process has ended: its number may belong to another by then.
func (c *child) signal(sig syscall.Signal) {
	if !c.hasEnded() {
		_ = syscall.Kill(c.pid, sig) // can only fail because it just ended
	}
}

// How long a shutdown that did not come about is waited for before the next harder signal.
// Postgres itself gives its processes five seconds.
const patienceWithStop = 7 * time.Second

// stop ends Postgres: fast and clean within ctx; after that at once, to be recovered at the
// next start, which loses nothing that was acknowledged. The error is the context's then.
func (c *child) stop(ctx context.Context) error {
	c.signal(syscall.SIGINT)
	select {
	case <-c.ended:
		return nil
	case <-ctx.Done():
	}
	for _, sig := range []syscall.Signal{syscall.SIGQUIT, syscall.SIGKILL} {
		c.signal(sig)
		select {
		case <-c.ended:
			return fmt.Errorf("the private Postgres did not stop in time and was cut off; it will recover at the next start: %w", context.Cause(ctx))
		case <-time.After(patienceWithStop):
		}
	}
	return fmt.Errorf("the private Postgres (process %d) cannot be stopped: %w", c.pid, context.Cause(ctx))
}

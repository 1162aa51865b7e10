package privatepg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// TestZombieInTheLockFile: the first process of a container may be slow to take note of ends.
// Postgres itself takes a zombie of its own user for alive.
func TestZombieInTheLockFile(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server := mustStart(t, fast(dir))
	written := readFile(t, pidFile(server.place))
	mustStop(t, server)
	zombie := spawn(t, server.place.who, "true").Process.Pid // waited for at the end of the test
	eventually(t, "a zombie", func() bool {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", zombie))
		return err == nil && strings.Contains(string(stat), ") Z ")
	})
	require.True(t, isAlive(zombie))
	layLockFiles(t, server.place, written, zombie)
	again := mustStart(t, fast(dir))
	require.NotContains(t, readFile(t, again.place.log()), "already exists", "the first try worked")
}

// TestOrphanWorkersAreWaitedFor: a worker that lost its postmaster still has the shared memory
// of the cluster, and may write. Here one hangs, and comes back to life later.
func TestOrphanWorkersAreWaitedFor(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server := mustStart(t, fast(dir))
	conn, err := pgx.Connect(t.Context(), server.URL())
	require.NoError(t, err)
	defer conn.Close(context.Background())
	hung := int(conn.PgConn().PID())
	require.NoError(t, syscall.Kill(hung, syscall.SIGSTOP))
	t.Cleanup(func() { _ = syscall.Kill(hung, syscall.SIGCONT) })
	require.NoError(t, syscall.Kill(server.child.pid, syscall.SIGKILL))
	<-server.Done()
	mustStop(t, server)

	opts := fast(dir)
	opts.patience = 1500 * time.Millisecond
	_, err = Start(t.Context(), opts)
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, "process "+strconv.Itoa(hung))
	require.ErrorContains(t, err, "try again in a minute")
	require.FileExists(t, pidFile(server.place), "nothing is cleared while a process is alive")

	require.NoError(t, syscall.Kill(hung, syscall.SIGCONT))
	mustStart(t, fast(dir))
}

// TestPostgresDiesWithTheProgram: killed hard, the program cannot stop Postgres itself.
func TestPostgresDiesWithTheProgram(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	h := startHelper(t, "hold", p.dir)
	require.Equal(t, "ready", h.line())
	postgres := postmasterPid(pidFile(p))
	require.NoError(t, syscall.Kill(h.pid(), syscall.SIGKILL))
	h.finish()
	eventually(t, "Postgres ended", func() bool {
		left, err := postgresIn(p.cluster(), pidFile(p))
		return err == nil && len(left) == 0
	})
	require.NotZero(t, postgres)
	require.NoFileExists(t, pidFile(p), "a clean end")
	require.Contains(t, readFile(t, p.log()), "database system is shut down")
}

// TestKilledWhileMakingTheCluster: whatever a killed first start leaves, the next one works.
func TestKilledWhileMakingTheCluster(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	h := startHelper(t, "hold", dir)
	eventually(t, "initdb is at work", func() bool {
		return exec.Command("sh", "-c", "ls -d "+dir+"/"+initPrefix+"*/base").Run() == nil
	})
	require.NoError(t, syscall.Kill(h.pid(), syscall.SIGKILL))
	h.finish()
	require.NoDirExists(t, place{dir: dir}.cluster())
	server := mustStart(t, fast(dir))
	require.Equal(t, "1", query(t, server.URL(), "SELECT '1'"))
}

//go:build linux || darwin

package privatepg

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestStaleLockFiles starts over lock files that a killed Postgres left. Each names a process
// that is not the cluster's; it must survive.
func TestStaleLockFiles(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name  string
		stale func(t *testing.T, p place) (pid int)
	}{
		{"dead process", func(t *testing.T, _ place) int { return deadPid(t) }},
		{"living program of the same user", func(t *testing.T, p place) int {
			return spawn(t, p.who, "sleep", "300").Process.Pid
		}},
		{"the test itself", func(*testing.T, place) int { return os.Getpid() }},
		{"Postgres of another data folder", func(t *testing.T, _ place) int {
			return mustStart(t, fast(newCluster(t).dir)).child.pid
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			dir := newCluster(t).dir
			server := mustStart(t, fast(dir))
			written := readFile(t, pidFile(server.place))
			mustStop(t, server)

			pid := test.stale(t, server.place)
			alive := isAlive(pid)
			layLockFiles(t, server.place, written, pid)

			again := mustStart(t, fast(dir))
			require.Equal(t, "1", query(t, again.URL(), "SELECT '1'"))
			require.Equal(t, alive, isAlive(pid), "the process is left alone")
			require.NotContains(t, readFile(t, again.place.log()), "already exists", "the first try worked")
		})
	}
}

// layLockFiles writes the pid file, the socket and the socket's lock file of a Postgres that
// was killed, with another process number.
func layLockFiles(t *testing.T, p place, written string, pid int) {
	t.Helper()
	_, rest, found := strings.Cut(written, "\n")
	require.True(t, found)
	text := strconv.Itoa(pid) + "\n" + rest
	socket := filepath.Join(p.dir, runName, socketName)
	for _, path := range []string{pidFile(p), socket, socket + ".lock"} {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		require.NoError(t, p.who.own(path))
	}
}

// TestSocketLockAlone: the socket's own lock file is enough to stop Postgres.
func TestSocketLockAlone(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	sleeper := spawn(t, p.who, "sleep", "300").Process.Pid
	lock := filepath.Join(dir, runName, socketName+".lock")
	require.NoError(t, os.WriteFile(lock, []byte(strconv.Itoa(sleeper)+"\n"), 0o600))
	require.NoError(t, p.who.own(lock))
	mustStart(t, fast(dir))
	require.True(t, isAlive(sleeper))
}

// launchOutside starts a postmaster that no lock of ours covers.
func launchOutside(t *testing.T, p place, args []string) *child {
	t.Helper()
	b, err := findBinaries(t.Context(), Options{folders: candidateFolders}, 0, p.who)
	require.NoError(t, err)
	output, err := openLog(p)
	require.NoError(t, err)
	outside, err := startChild(b.postgres(), args, p, output)
	require.NoError(t, err)
	t.Cleanup(func() {
		outside.signal(syscall.SIGQUIT)
		<-outside.ended
		output.Close()
	})
	eventually(t, "the other Postgres is ready", func() bool { return isReady(pidFile(p), outside.pid) })
	return outside
}

// TestOrphanIsStoppedFirst: where the system has no death signal, Postgres outlives its program.
func TestOrphanIsStoppedFirst(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	orphan := launchOutside(t, p, postmasterArgs(p, filepath.Join(dir, runName), true))
	execute(t, urlOf(dir), "CREATE TABLE kept (n int); INSERT INTO kept VALUES (7)")

	var log notes
	opts := fast(dir)
	opts.Log = log.add
	server := mustStart(t, opts)
	<-orphan.ended
	require.True(t, orphan.state.Success(), "stopped cleanly: %v", orphan.state)
	require.Contains(t, log.String(), "Postgres of an earlier run (process "+strconv.Itoa(orphan.pid)+") is still there")
	require.Equal(t, "7", query(t, server.URL(), "SELECT n::text FROM kept"))
}

func TestPostgresStartedByHandIsRespected(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	other := launchOutside(t, p, []string{"-D", p.cluster(), "-c", "listen_addresses=", "-c", "unix_socket_directories=" + quoteListItem(filepath.Join(dir, runName))})
	_, err := Start(t.Context(), fast(dir))
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, "not started by Yardwright (process "+strconv.Itoa(other.pid)+")")
	require.ErrorContains(t, err, "kill -INT "+strconv.Itoa(other.pid))
	require.False(t, other.hasEnded())
	require.True(t, isReady(pidFile(p), other.pid), "its lock file is untouched")
}

func TestKindOfProcess(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, command string
		want          kind
	}{
		{"no command line any more", "", dying},
		{"worker", "postgres: yardwright: checkpointer", worker},
		{"worker of a server without a name", "postgres: walwriter", worker},
		{"ours", "/usr/lib/postgresql/15/bin/postgres -D /data/pgdata -c cluster_name=yardwright -c port=5432", postmaster},
		{"by hand", "/usr/lib/postgresql/15/bin/postgres -D /data/pgdata", byHand},
		{"single-user", "postgres --single -D /data/pgdata postgres", byHand},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.want, process{pid: 1, command: test.command}.kind())
		})
	}
}

func TestIsReady(t *testing.T) {
	t.Parallel()
	const seven = "42\n/data/pgdata\n1700000000\n5432\n/data/run\n\n  123  456\n"
	for _, test := range []struct {
		name, text string
		want       bool
	}{
		{"ready", seven + "ready   \n", true},
		{"starting", seven + "starting\n", false},
		{"stopping", seven + "stopping\n", false},
		{"not written to the end", seven, false},
		{"another process", strings.Replace(seven, "42", "43", 1) + "ready   \n", false},
		{"empty", "", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "postmaster.pid")
			require.NoError(t, os.WriteFile(path, []byte(test.text), 0o600))
			require.Equal(t, test.want, isReady(path, 42))
		})
	}
	require.False(t, isReady(filepath.Join(t.TempDir(), "missing"), 42))
	require.Zero(t, postmasterPid(filepath.Join(t.TempDir(), "missing")))
}

//go:build linux || darwin

package privatepg

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestColdStartThenWarmStart(t *testing.T) {
	t.Parallel()
	dir := newDiskFolder(t)
	var log notes
	opts := Options{DataDir: dir, Log: log.add} // as makers run it, waiting for the disk

	cold := mustStart(t, opts)
	require.Contains(t, log.String(), "Preparing the database for the first time.")
	require.Equal(t, "on", query(t, cold.URL(), "SHOW fsync"))
	require.Equal(t, "on", query(t, cold.URL(), "SHOW data_checksums"))
	require.Equal(t, "", query(t, cold.URL(), "SHOW listen_addresses"))
	require.Equal(t, "UTF8", query(t, cold.URL(), "SHOW server_encoding"))
	require.Equal(t, "äö", query(t, cold.URL(), "SELECT lower('ÄÖ')"), "case follows Unicode")
	execute(t, cold.URL(), "CREATE TABLE bolt (name text); INSERT INTO bolt VALUES ('blue gingham')")
	require.NoError(t, cold.Err())
	mustStop(t, cold)
	<-cold.Done()
	require.NoError(t, cold.Err(), "an end that was asked for is no failure")
	mustStop(t, cold) // once more is harmless

	require.NoFileExists(t, pidFile(cold.place))
	require.NoFileExists(t, filepath.Join(cold.socketDir, socketName))
	require.Empty(t, readFile(t, cold.place.lock()), "nobody holds the folder")
	unfinished, err := filepath.Glob(filepath.Join(dir, initPrefix+"*"))
	require.NoError(t, err)
	require.Empty(t, unfinished)

	warm := mustStart(t, opts)
	require.Equal(t, "blue gingham", query(t, warm.URL(), "SELECT name FROM bolt"))
	require.Equal(t, 1, strings.Count(log.String(), "for the first time"))
}

func TestOnlyTheUserReachesTheSocket(t *testing.T) {
	t.Parallel()
	server := mustStart(t, fast(newCluster(t).dir))
	for path, mode := range map[string]os.FileMode{
		server.place.dir:                            0o700,
		server.place.cluster():                      0o700,
		server.place.log():                          0o600,
		server.socketDir:                            0o700,
		filepath.Join(server.socketDir, socketName): 0o700,
	} {
		info, err := os.Stat(path)
		require.NoError(t, err)
		require.Equal(t, mode, info.Mode().Perm(), path)
		uid, err := ownerID(path)
		require.NoError(t, err)
		require.Equal(t, server.place.who.uid, uid, path)
	}
}

func TestStopCutsConnectionsAndStopsOnce(t *testing.T) {
	t.Parallel()
	server := mustStart(t, fast(newCluster(t).dir))
	conn, err := pgx.Connect(t.Context(), server.URL())
	require.NoError(t, err)
	defer conn.Close(context.Background())
	_, err = conn.Exec(t.Context(), "BEGIN; CREATE TABLE unfinished (n int)")
	require.NoError(t, err)

	var stops sync.WaitGroup
	for range 4 {
		stops.Go(func() {
			if err := server.Stop(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
	stops.Wait()
	require.Error(t, conn.Ping(t.Context()))
	require.Contains(t, readFile(t, server.place.log()), "database system is shut down")
}

func TestStopOutOfTimeCutsOffAndKeepsTheData(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server, err := Start(t.Context(), fast(dir))
	require.NoError(t, err)
	execute(t, server.URL(), "CREATE TABLE kept (n int); INSERT INTO kept VALUES (7)")
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	err = server.Stop(ended)
	require.ErrorIs(t, err, context.Canceled)
	require.ErrorContains(t, err, "it will recover at the next start")
	require.True(t, server.child.hasEnded())

	again := mustStart(t, fast(dir))
	require.Equal(t, "7", query(t, again.URL(), "SELECT n::text FROM kept"))
}

func TestStartGivesUpWithItsContext(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := Start(cancelled, fast(dir))
	require.ErrorIs(t, err, context.Canceled)
	require.NoDirExists(t, filepath.Join(dir, clusterName))

	mustStart(t, fast(dir)) // the folder is free and fit for use
}

func TestStartGivesUpWhenPostgresIsNotReadyInTime(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	opts := fast(dir)
	opts.ReadyTimeout = time.Nanosecond
	_, err := Start(t.Context(), opts)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.ErrorContains(t, err, "not ready in time")

	mustStart(t, fast(dir))
}

func TestTwoProgramsAtOnce(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	for _, round := range []string{"cold", "warm"} {
		helpers := []*helper{startHelper(t, "hold", dir), startHelper(t, "hold", dir)}
		answers := []string{helpers[0].line(), helpers[1].line()}
		winner, loser := 0, 1
		if answers[0] != "ready" {
			winner, loser = 1, 0
		}
		require.Equal(t, "ready", answers[winner], round)
		require.Contains(t, answers[loser], "refused: "+ErrInUse.Error(), round)
		require.Contains(t, answers[loser], dir, round)
		holder := filepath.Base(os.Args[0]) + " (process " + strconv.Itoa(helpers[winner].pid()) + ")"
		require.Contains(t, answers[loser], holder, round)
		helpers[loser].finish()

		require.Equal(t, strconv.Itoa(postmasterPid(pidFile(place{dir: dir}))),
			query(t, urlOf(dir), "SELECT split_part(pg_read_file('postmaster.pid'), E'\\n', 1)"), "the first is undisturbed")
		helpers[winner].finish()
	}
}

// urlOf is the address of the server that another program runs in dir.
func urlOf(dir string) string {
	return (&Server{socketDir: filepath.Join(dir, runName)}).URL()
}

func TestTwoStartsInOneProgram(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server := mustStart(t, fast(dir))
	_, err := Start(t.Context(), fast(dir))
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, "process "+strconv.Itoa(os.Getpid()))
	require.Equal(t, "1", query(t, server.URL(), "SELECT '1'"))
	mustStop(t, server)
	mustStart(t, fast(dir))
}

// TestHostileEnvironment starts under variables that would lead initdb, Postgres or pgx astray.
func TestHostileEnvironment(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	h := startHelper(t, "hold", dir,
		"PGPORT=", "PGHOST=192.0.2.1", "PGDATA=/nonexistent", "PGUSER=somebody", "PGDATABASE=elsewhere",
		"PGOPTIONS=-c no_such_setting=1", "PGSSLMODE=verify-full", "PGSSLROOTCERT=/nonexistent", "PGCHANNELBINDING=require",
		"PGTARGETSESSIONATTRS=standby", "LANG=xx_YY.UTF-8", "LC_ALL=xx_YY.UTF-8", "LC_MESSAGES=xx_YY", "LANGUAGE=xx")
	require.Equal(t, "ready", h.line())
	require.Equal(t, "C", query(t, urlOf(dir), "SHOW lc_messages"))
	h.finish()

	h = startHelper(t, "hold", dir, "PGPORT=6543")
	require.Equal(t, "ready", h.line(), "warm")
}

func TestChildEnv(t *testing.T) {
	t.Parallel()
	given := []string{"PATH=/bin", "PGPORT=", "PGDATA=/x", "LANG=de_DE", "LANGUAGE=de", "LC_ALL=C", "TZ=UTC", "HOME=/root"}
	before := append([]string(nil), given...)
	require.Equal(t, []string{"PATH=/bin", "TZ=UTC", "HOME=/root"}, childEnv(given))
	require.Equal(t, before, given, "the caller's list is untouched")
}

func TestHalfMadeClusterIsNeverUsed(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	half := filepath.Join(dir, initPrefix+"123")
	require.NoError(t, os.MkdirAll(half, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(half, "PG_VERSION"), []byte("15\n"), 0o600))
	if os.Geteuid() == 0 {
		require.NoError(t, os.Chmod(dir, 0o711))
	}
	mustStart(t, fast(dir))
	require.NoDirExists(t, half)
}

func TestClusterThatIsNoClusterIsRefused(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	cluster := filepath.Join(dir, clusterName)
	precious := filepath.Join(cluster, "base")
	require.NoError(t, os.MkdirAll(cluster, 0o700))
	require.NoError(t, os.WriteFile(precious, []byte("precious"), 0o600))
	if os.Geteuid() == 0 {
		require.NoError(t, os.Chmod(dir, 0o711))
	}
	_, err := Start(t.Context(), fast(dir))
	require.ErrorContains(t, err, "is not a Postgres cluster (it has no PG_VERSION) and is not empty. Nothing was changed")
	require.Equal(t, "precious", readFile(t, precious))

	require.NoError(t, os.Remove(precious))
	mustStart(t, fast(dir)) // an empty folder stands in nobody's way
}

func TestBrokenSettingIsExplainedAtOnce(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	config, err := os.OpenFile(filepath.Join(p.cluster(), "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = config.WriteString("no_such_setting = 1\n")
	require.NoError(t, err)
	require.NoError(t, config.Close())

	_, err = Start(t.Context(), fast(dir))
	require.ErrorContains(t, err, "ended by itself (exit status 1)")
	require.ErrorContains(t, err, `unrecognized configuration parameter "no_such_setting"`)
	require.ErrorContains(t, err, p.log())
	require.Equal(t, 1, strings.Count(readFile(t, p.log()), "no_such_setting"), "not tried again and again")
}

func TestLongLogIsSetAside(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	require.NoError(t, os.WriteFile(p.log(), make([]byte, largestLog+1), 0o600))
	mustStart(t, fast(dir))
	info, err := os.Stat(p.log())
	require.NoError(t, err)
	require.Less(t, info.Size(), int64(largestLog))
	require.FileExists(t, p.log()+".1")
}

// TestCtrlCReachesTheProgramAlone: signals of the terminal go to a process group.
func TestCtrlCReachesTheProgramAlone(t *testing.T) {
	t.Parallel()
	server := mustStart(t, fast(newCluster(t).dir))
	group, err := syscall.Getpgid(server.child.pid)
	require.NoError(t, err)
	require.Equal(t, server.child.pid, group)
	require.NotEqual(t, syscall.Getpgrp(), group)
}

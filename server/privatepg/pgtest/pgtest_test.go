//go:build linux || darwin

package pgtest_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// endingVar makes TestEnding end this test program in the way that its value names.
const endingVar = "PGTEST_TEST_ENDING"

func TestPoolsAreApart(t *testing.T) {
	t.Parallel()
	one, two := pgtest.Pool(t), pgtest.Pool(t)
	_, err := one.Exec(t.Context(), "CREATE TABLE bolt (name text)")
	require.NoError(t, err)
	_, err = two.Exec(t.Context(), "SELECT FROM bolt")
	require.ErrorContains(t, err, `relation "bolt" does not exist`)
}

func TestDatabaseIsDroppedAtTheEnd(t *testing.T) {
	t.Parallel()
	var name, kept string
	t.Run("inner", func(t *testing.T) {
		require.NoError(t, pgtest.Pool(t).QueryRow(t.Context(), "SELECT current_database()").Scan(&name))
		// A connection that the test forgets does not keep its database.
		forgotten, err := pgxpool.New(context.Background(), pgtest.URL(t))
		require.NoError(t, err)
		require.NoError(t, forgotten.QueryRow(t.Context(), "SELECT current_database()").Scan(&kept))
	})
	require.NotEqual(t, name, kept)
	var left int
	err := pgtest.Pool(t).QueryRow(t.Context(), "SELECT count(*) FROM pg_database WHERE datname IN ($1, $2)", name, kept).Scan(&left)
	require.NoError(t, err)
	require.Zero(t, left)
}

var (
	prepared atomic.Int64
	shelf    = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error {
		prepared.Add(1)
		_, err := pool.Exec(ctx, "CREATE TABLE bolt (name text); INSERT INTO bolt VALUES ('blue gingham')")
		return err
	})
)

func TestTemplate(t *testing.T) {
	t.Parallel()
	for i := range 4 {
		t.Run(strconv.Itoa(i), func(t *testing.T) {
			t.Parallel()
			pool := shelf.Pool(t)
			var bolts int
			_, err := pool.Exec(t.Context(), "INSERT INTO bolt VALUES ('one of our own')")
			require.NoError(t, err)
			require.NoError(t, pool.QueryRow(t.Context(), "SELECT count(*) FROM bolt").Scan(&bolts))
			require.Equal(t, 2, bolts)
			require.EqualValues(t, 1, prepared.Load())
		})
	}
}

// spy is a test that may fail without failing its parent.
type spy struct {
	testing.TB
	said string
}

func (s *spy) Fatalf(format string, args ...any) {
	s.said = fmt.Sprintf(format, args...)
	panic(s)
}

func TestTemplateThatCannotBePreparedFailsTheTest(t *testing.T) {
	t.Parallel()
	broken := pgtest.NewTemplate(func(context.Context, *pgxpool.Pool) error { return errors.New("no such bolt") })
	for range 2 {
		s := &spy{TB: t}
		require.Panics(t, func() { broken.Pool(s) })
		require.Equal(t, "preparing the test database: no such bolt", s.said)
	}
}

// TestEnding is the other program of TestNothingIsLeftBehind.
func TestEnding(t *testing.T) {
	ending := os.Getenv(endingVar)
	if ending == "" {
		return // it is TestNothingIsLeftBehind that asserts
	}
	var cluster string
	pool := pgtest.Pool(t)
	require.NoError(t, pool.QueryRow(t.Context(), "SHOW data_directory").Scan(&cluster))
	pidFile, err := os.ReadFile(filepath.Join(cluster, "postmaster.pid"))
	require.NoError(t, err)
	pid, _, _ := strings.Cut(string(pidFile), "\n")
	fmt.Printf("\ncluster %s %s\n", pid, cluster)
	switch ending {
	case "returns":
	case "fails":
		t.FailNow()
	case "panics":
		panic("on purpose")
	case "exits":
		os.Exit(3)
	case "is killed":
		require.NoError(t, syscall.Kill(os.Getpid(), syscall.SIGKILL))
	case "is interrupted":
		require.NoError(t, syscall.Kill(os.Getpid(), syscall.SIGINT))
		time.Sleep(time.Minute)
	}
}

// TestNothingIsLeftBehind ends test programs in every way, as ourselves and, when we are root,
// as an ordinary user, and waits for their Postgres and its folder to go.
func TestNothingIsLeftBehind(t *testing.T) {
	t.Parallel()
	accounts := []string{""}
	if os.Geteuid() == 0 {
		accounts = append(accounts, "nobody")
	}
	program := copyOfThisProgram(t)
	for _, account := range accounts {
		for _, ending := range []string{"returns", "fails", "panics", "exits", "is killed", "is interrupted"} {
			t.Run(ending+" "+account, func(t *testing.T) {
				t.Parallel()
				pid, cluster := runToItsEnd(t, program, account, ending)
				folder := filepath.Dir(filepath.Dir(cluster))
				require.Contains(t, folder, "yardwright-pgtest-")
				require.Eventually(t, func() bool {
					_, err := os.Stat(folder)
					return errors.Is(err, os.ErrNotExist) && !runs(pid)
				}, 30*time.Second, 20*time.Millisecond, "%s and process %d are left", folder, pid)
			})
		}
	}
}

// copyOfThisProgram lies where every user can run it.
func copyOfThisProgram(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/tmp", "pgtest-test-")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	program := filepath.Join(dir, "pgtest.test")
	// Not copied by ourselves: a child started at that moment would keep it open for writing.
	require.NoError(t, exec.Command("cp", os.Args[0], program).Run())
	require.NoError(t, os.Chmod(program, 0o755))
	return program
}

// runToItsEnd returns the process number and folder of the Postgres that the program used.
func runToItsEnd(t *testing.T, program, account, ending string) (pid int, cluster string) {
	t.Helper()
	cmd := exec.Command(program, "-test.run=^TestEnding$")
	cmd.Dir = "/"
	cmd.Env = append(os.Environ(), endingVar+"="+ending)
	if account != "" {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: credential(t, account)}
	}
	output, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	var said strings.Builder
	lines := bufio.NewScanner(output)
	for lines.Scan() {
		fmt.Fprintln(&said, lines.Text())
		_, _ = fmt.Sscanf(lines.Text(), "cluster %d %s", &pid, &cluster)
	}
	err = cmd.Wait()
	if ending == "returns" {
		require.NoError(t, err, said.String())
	} else {
		require.Error(t, err, said.String())
	}
	require.NotZero(t, pid, said.String())
	return pid, cluster
}

func credential(t *testing.T, account string) *syscall.Credential {
	t.Helper()
	found, err := user.Lookup(account)
	require.NoError(t, err)
	uid, err := strconv.ParseUint(found.Uid, 10, 32)
	require.NoError(t, err)
	gid, err := strconv.ParseUint(found.Gid, 10, 32)
	require.NoError(t, err)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
}

// runs tells whether a process is at work; one that has ended and was not waited for is not.
func runs(pid int) bool {
	if _, err := os.Stat("/proc/self/stat"); err == nil {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		return err == nil && !strings.Contains(string(stat), ") Z ")
	}
	state, err := exec.Command("ps", "-o", "stat=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && !strings.HasPrefix(strings.TrimSpace(string(state)), "Z")
}

// TestKilledWhileStarting kills a test program in the middle of initdb.
func TestKilledWhileStarting(t *testing.T) {
	t.Parallel()
	program := copyOfThisProgram(t)
	temp := filepath.Join(filepath.Dir(program), "t")
	require.NoError(t, os.Mkdir(temp, 0o755))
	cmd := exec.Command(program, "-test.run=^TestEnding$")
	cmd.Env = append(os.Environ(), endingVar+"=returns", "TMPDIR="+temp)
	require.NoError(t, cmd.Start())
	require.Eventually(t, func() bool {
		at, err := filepath.Glob(temp + "/yardwright-pgtest-*/data/pgdata.init-*/base")
		return err == nil && len(at) == 1
	}, 30*time.Second, time.Millisecond)
	require.NoError(t, cmd.Process.Kill())
	require.Error(t, cmd.Wait())
	require.Eventually(t, func() bool {
		left, err := os.ReadDir(temp)
		return err == nil && len(left) == 0
	}, 30*time.Second, 20*time.Millisecond)
}

func BenchmarkPool(b *testing.B) {
	pgtest.Pool(b)
	for b.Loop() {
		pgtest.URL(b)
	}
}

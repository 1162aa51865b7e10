//go:build linux || darwin

package privatepg

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"
)

// helperVar makes the test program play another program; its value says which.
const helperVar = "PRIVATEPG_TEST_HELPER"

func TestMain(m *testing.M) {
	if role := os.Getenv(helperVar); role != "" {
		os.Exit(playHelper(role, os.Args[1]))
	}
	code := m.Run()
	if masterFolder != "" {
		_ = os.RemoveAll(masterFolder)
	}
	os.Exit(code)
}

// playHelper starts the private Postgres in a data folder, says "ready" or "refused: why",
// works as its role says, and stops when its input closes.
func playHelper(role, dir string) int {
	server, err := Start(context.Background(), Options{DataDir: dir, FastAndUnsafe: role == "hold"})
	if err != nil {
		fmt.Printf("refused: %v\n", err)
		return 1
	}
	fmt.Println("ready")
	if role == "write" {
		go writeLedger(server.URL())
	}
	inputClosed := make(chan struct{})
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		close(inputClosed)
	}()
	select {
	case <-inputClosed:
	case <-server.Done():
		fmt.Printf("ended: %s\n", strings.ReplaceAll(server.Err().Error(), "\n", " | "))
	}
	if err := server.Stop(context.Background()); err != nil {
		fmt.Printf("stop: %v\n", err)
		return 1
	}
	return 0
}

const (
	ledgerWriters = 4
	createLedger  = "CREATE TABLE ledger (id bigint PRIMARY KEY, payload text NOT NULL)"
	payloadOf     = "md5($1::bigint::text)"
)

// writeLedger inserts rows from several connections and says "ack ID" for each one that
// Postgres has acknowledged, until Postgres is gone.
func writeLedger(url string) {
	pool, err := pgxpool.New(context.Background(), url)
	if err != nil {
		panic(err)
	}
	if _, err := pool.Exec(context.Background(), createLedger); err != nil {
		panic(err)
	}
	var writers sync.WaitGroup
	for writer := range ledgerWriters {
		writers.Go(func() {
			for n := 1; ; n++ {
				id := writer*1_000_000 + n
				if _, err := pool.Exec(context.Background(), "INSERT INTO ledger VALUES ($1, "+payloadOf+")", id); err != nil {
					return
				}
				fmt.Printf("ack %d\n", id) // a single write to the pipe
			}
		})
	}
	writers.Wait()
}

// helper is the test program playing another program.
type helper struct {
	cmd   *exec.Cmd
	stdin io.WriteCloser
	lines *bufio.Scanner
	ended bool
}

func startHelper(t *testing.T, role, dir string, env ...string) *helper {
	t.Helper()
	cmd := exec.Command(os.Args[0], dir)
	cmd.Env = append(append(os.Environ(), helperVar+"="+role), env...)
	cmd.Stderr = os.Stderr
	stdin, err := cmd.StdinPipe()
	require.NoError(t, err)
	stdout, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	h := &helper{cmd: cmd, stdin: stdin, lines: bufio.NewScanner(stdout)}
	h.lines.Buffer(nil, 1<<20)
	t.Cleanup(h.finish)
	return h
}

func (h *helper) pid() int { return h.cmd.Process.Pid }

// line returns the next line, or "" when the helper has ended.
func (h *helper) line() string {
	if !h.lines.Scan() {
		return ""
	}
	return h.lines.Text()
}

// finish asks the helper to stop and waits for it.
func (h *helper) finish() {
	if h.ended {
		return
	}
	h.ended = true
	h.stdin.Close()
	for h.lines.Scan() {
	}
	_ = h.cmd.Wait() // a killed helper has no good end
}

// newFolder returns a data folder to be, in a folder that every user may pass. At the end of
// the test no process of its cluster may be left.
func newFolder(t testing.TB) string {
	t.Helper()
	return newFolderIn(t, temporaryBase())
}

// newDiskFolder is newFolder for the tests that are about what reaches the disk.
func newDiskFolder(t testing.TB) string {
	t.Helper()
	return newFolderIn(t, diskBase())
}

// temporaryBase is held in memory where the system offers that, because disks are slow.
func temporaryBase() string {
	const memory = "/dev/shm"
	var stat syscall.Statfs_t
	if os.Getenv("TMPDIR") == "" && syscall.Statfs(memory, &stat) == nil && stat.Bavail*uint64(stat.Bsize) > 2<<30 {
		return memory
	}
	return diskBase()
}

func diskBase() string {
	if base := os.TempDir(); os.Geteuid() != 0 || (account{uid: -1, gid: -1, handover: true}).blockedAt(base) == "" {
		return base
	}
	return "/tmp"
}

func newFolderIn(t testing.TB, base string) string {
	t.Helper()
	dir, err := os.MkdirTemp(base, "privatepg-test-")
	require.NoError(t, err)
	dir, err = filepath.EvalSymlinks(dir)
	require.NoError(t, err)
	require.NoError(t, os.Chmod(dir, 0o755))
	data := filepath.Join(dir, "data")
	t.Cleanup(func() {
		p := place{dir: data}
		left, err := postgresIn(p.cluster(), pidFile(p))
		if err != nil || len(left) > 0 {
			t.Errorf("processes left behind: %v %v", left, err)
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return data
}

// notes collects log messages.
type notes struct {
	mu    sync.Mutex
	lines []string
}

func (n *notes) add(line string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.lines = append(n.lines, line)
}

func (n *notes) String() string {
	n.mu.Lock()
	defer n.mu.Unlock()
	return strings.Join(n.lines, "\n")
}

// fast are options for tests that do not look at durability.
func fast(dir string) Options { return Options{DataDir: dir, FastAndUnsafe: true} }

// mustStart starts a server that is stopped at the end of the test.
func mustStart(t testing.TB, opts Options) *Server {
	t.Helper()
	server, err := Start(t.Context(), opts)
	require.NoError(t, err)
	t.Cleanup(func() {
		if err := server.Stop(context.Background()); err != nil {
			t.Errorf("stop: %v", err)
		}
	})
	return server
}

// mustStop stops a server before the end of the test.
func mustStop(t testing.TB, server *Server) {
	t.Helper()
	require.NoError(t, server.Stop(t.Context()))
}

// newCluster returns a data folder with a cluster that was started and stopped before: a copy
// of one that is made once, which is quicker than making each anew.
func newCluster(t testing.TB) place {
	t.Helper()
	dir := newFolder(t)
	master, err := theMaster()
	require.NoError(t, err)
	output, err := exec.Command("cp", "-Rp", master.dir, dir).CombinedOutput()
	require.NoError(t, err, "%s", output)
	return place{dir: dir, who: master.who}
}

var (
	masterFolder string // removed by TestMain
	theMaster    = sync.OnceValues(makeMaster)
)

func makeMaster() (place, error) {
	dir, err := os.MkdirTemp(temporaryBase(), "privatepg-test-")
	if err != nil {
		return place{}, err
	}
	masterFolder = dir
	if err := os.Chmod(dir, 0o755); err != nil {
		return place{}, err
	}
	server, err := Start(context.Background(), fast(filepath.Join(dir, "data")))
	if err != nil {
		return place{}, err
	}
	return server.place, errors.Join(server.Stop(context.Background()), os.Remove(server.place.log()))
}

// query runs one statement on a connection of its own and returns its only value as text.
func query(t testing.TB, url, statement string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	var value string
	require.NoError(t, conn.QueryRow(t.Context(), statement).Scan(&value))
	return value
}

// execute runs statements on a connection of its own.
func execute(t testing.TB, url, statements string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	_, err = conn.Exec(t.Context(), statements)
	require.NoError(t, err)
}

// spawn runs a program as the account until the end of the test.
func spawn(t testing.TB, who account, program string, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Dir = "/"
	if who.handover {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(who.uid), Gid: uint32(who.gid)}}
	}
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return cmd
}

// deadPid returns the number of a process that has ended.
func deadPid(t testing.TB) int {
	t.Helper()
	cmd := exec.Command("true")
	require.NoError(t, cmd.Run())
	return cmd.Process.Pid
}

// eventually waits for something that another process does.
func eventually(t testing.TB, what string, holds func() bool) {
	t.Helper()
	require.Eventually(t, holds, 30*time.Second, 10*time.Millisecond, what)
}

func readFile(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

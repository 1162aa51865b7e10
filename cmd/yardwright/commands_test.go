package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// binary builds the program once; tests run it as people do.
var binary = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "yardwright-test-")
	if err != nil {
		return "", err
	}
	path := filepath.Join(folder, "yardwright")
	out, err := exec.CommandContext(context.Background(), "go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		return "", &exec.Error{Name: string(out), Err: err}
	}
	return path, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if path, err := binary(); err == nil {
		_ = os.RemoveAll(filepath.Dir(path)) // only our own temporary folder
	}
	os.Exit(code)
}

// yardwright runs the program and returns what it said and its exit code.
func yardwright(t *testing.T, stdin string, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	path, err := binary()
	require.NoError(t, err)
	command := exec.CommandContext(t.Context(), path, args...)
	command.Stdin = strings.NewReader(stdin)
	command.Env = append(os.Environ(), "DATABASE_URL=")
	var out, errors bytes.Buffer
	command.Stdout, command.Stderr = &out, &errors
	_ = command.Run() // the exit code tells
	return out.String(), errors.String(), command.ProcessState.ExitCode()
}

// dataFolder is a folder that the user who runs Postgres may pass, also for root.
func dataFolder(t *testing.T) string {
	t.Helper()
	folder, err := os.MkdirTemp("", "yardwright-test-")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(folder)) })
	require.NoError(t, os.Chmod(folder, 0o755))
	return filepath.Join(folder, "data")
}

func TestDemoWritesBothWorkbooks(t *testing.T) {
	t.Parallel()
	data, out := dataFolder(t), filepath.Join(t.TempDir(), "out")
	for range 2 { // it starts anew each time
		stdout, stderr, code := yardwright(t, "", "demo", "--once", "--out", out, "--data", data)
		require.Equal(t, 0, code, stderr)
		require.Contains(t, stdout, "20 orders, 120 garments")
		require.Regexp(t, `Planned in .* s: 120 garments in \d+ lays of 8 cloths`, stdout)
		require.Contains(t, stdout, "done on")
		for name, sheets := range map[string]int{"cutting.xlsx": 6, "pricing.xlsx": 3} {
			require.Contains(t, stdout, name)
			book, err := excelize.OpenFile(filepath.Join(out, name))
			require.NoError(t, err)
			require.GreaterOrEqual(t, len(book.GetSheetList()), sheets, name)
			require.NoError(t, book.Close())
		}
	}

	// The same data folder, as one's own workshop: orders from a file.
	good := "order,customer,due,style,colourway,size,quantity\nX-1,Web orders," + time.Now().AddDate(0, 0, 9).Format(time.DateOnly) + ",Kindling bag,Sparrow,small,2\n"
	stdout, stderr, code := yardwright(t, good, "import", "--data", data, "orders", "-")
	require.Equal(t, 0, code, stderr)
	require.Contains(t, stdout, "1 order, 2 garments")
	_, stderr, code = yardwright(t, strings.Replace(strings.Replace(good, "X-1", "X-2", 1), "small,2", "tiny,2", 1), "import", "--data", data, "orders", "-")
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "line 2, size")
	require.Contains(t, stderr, "its sizes are small, medium, large")
}

func TestServeShowsPagesUntilItIsStopped(t *testing.T) {
	t.Parallel()
	path, err := binary()
	require.NoError(t, err)
	command := exec.CommandContext(t.Context(), path, "serve", "--addr", "127.0.0.1:0", "--data", dataFolder(t))
	command.Env = append(os.Environ(), "DATABASE_URL=")
	stdout, err := command.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	line, err := bufio.NewReader(stdout).ReadString('\n')
	require.NoError(t, err)
	address := regexp.MustCompile(`http://[0-9.:]+/`).FindString(line)
	require.NotEmpty(t, address, line)
	response, err := http.Get(address)
	require.NoError(t, err)
	body, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusOK, response.StatusCode)
	require.Contains(t, string(body), "My workroom")
	require.Contains(t, string(body), "Add a cloth")
	require.NoError(t, command.Process.Signal(syscall.SIGTERM))
	require.NoError(t, command.Wait(), "it stops cleanly")
}

// A workshop is served to the network only once it has an owner, whom the command makes; the
// link that it prints works there.
func TestServedToTheNetworkOnceThereIsAnOwner(t *testing.T) {
	t.Parallel()
	data := dataFolder(t)
	_, stderr, code := yardwright(t, "", "serve", "--addr", "0.0.0.0:0", "--data", data)
	require.Equal(t, 2, code, stderr)
	require.Contains(t, stderr, "yardwright owner YOUR-NAME")
	stdout, stderr, code := yardwright(t, "", "owner", "--data", data, "Marlo")
	require.Equal(t, 0, code, stderr)
	link := regexp.MustCompile(`/join/\S+`).FindString(stdout)
	require.NotEmpty(t, link, stdout)

	path, err := binary()
	require.NoError(t, err)
	command := exec.CommandContext(t.Context(), path, "serve", "--addr", "0.0.0.0:0", "--data", data)
	command.Env = append(os.Environ(), "DATABASE_URL=")
	pipe, err := command.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	line, err := bufio.NewReader(pipe).ReadString('\n')
	require.NoError(t, err)
	port := regexp.MustCompile(`:(\d+)/`).FindStringSubmatch(line)
	require.NotEmpty(t, port, line)
	for place, want := range map[string]string{"/orders": "Sign in to My workroom", link: "Welcome, Marlo"} {
		response, err := http.Get("http://127.0.0.1:" + port[1] + place)
		require.NoError(t, err)
		body, err := io.ReadAll(response.Body)
		require.NoError(t, err)
		require.NoError(t, response.Body.Close())
		require.Contains(t, string(body), want)
	}
	require.NoError(t, command.Process.Signal(syscall.SIGTERM))
	require.NoError(t, command.Wait())
}

func TestWrongInputIsSaidAndExitsWith2(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name string
		args []string
		want string
	}{
		{"nothing", nil, "Commands:"},
		{"unknown command", []string{"sew"}, `no command "sew"`},
		{"unknown flag", []string{"serve", "--port", "1"}, "port"},
		{"demo open to the network", []string{"demo", "--addr", "0.0.0.0:8137"}, "only served on this machine"},
		{"proxy that is no network", []string{"serve", "--proxy", "here"}, "write it like 127.0.0.1/32"},
		{"owner without a name", []string{"owner"}, "one name is needed"},
		{"no address", []string{"demo", "--addr", "here"}, "write it like 127.0.0.1"},
		{"too many arguments", []string{"serve", "now"}, "no file is needed"},
		{"nothing to import", []string{"import", "cloths", "-"}, `"cloths" can't be imported`},
		{"no file", []string{"import", "orders", "missing.csv"}, "missing.csv"},
		{"marker without a file", []string{"marker"}, "one FILE is needed"},
		{"marker of nothing", []string{"marker", "-"}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			stdout, stderr, code := yardwright(t, "", test.args...)
			require.Equal(t, 2, code, stderr)
			require.Contains(t, stderr, test.want)
			require.NotEmpty(t, stderr)
			require.Empty(t, stdout, "answers go to stdout, messages to stderr")
		})
	}
}

func TestVersionAndHelp(t *testing.T) {
	t.Parallel()
	stdout, _, code := yardwright(t, "", "version")
	require.Equal(t, 0, code)
	require.Regexp(t, `^yardwright \S+\n$`, stdout)
	stdout, _, code = yardwright(t, "", "help")
	require.Equal(t, 0, code)
	for name := range commands {
		require.Contains(t, stdout, "yardwright "+name)
	}
}

//go:build linux || darwin

package privatepg

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestLockIsReleasedWhileAChildHasTheFile: between its fork and its exec every child shares
// our open files. Here one keeps the lock file for good.
func TestLockIsReleasedWhileAChildHasTheFile(t *testing.T) {
	t.Parallel()
	p := lockedPlace(t)
	lock, err := lockFolder(p)
	require.NoError(t, err)
	inherit(t, lock.file)
	require.NoError(t, lock.release())
	again, err := lockFolder(p)
	require.NoError(t, err)
	require.NoError(t, again.release())
}

// TestLockOfADeadHolder: the holder was killed, and its child lets go a little later.
func TestLockOfADeadHolder(t *testing.T) {
	t.Parallel()
	p := lockedPlace(t)
	lock, err := lockFolder(p)
	require.NoError(t, err)
	require.NoError(t, lock.write(strconv.Itoa(deadPid(t))+"\nyardwright\n"))

	_, err = lockFolder(p)
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, "is held by another program.", "the dead one is not blamed")

	child := inherit(t, lock.file)
	require.NoError(t, lock.file.Close()) // as the system does for the dead
	go func() {
		time.Sleep(100 * time.Millisecond)
		_ = child.Kill()
	}()
	again, err := lockFolder(p)
	require.NoError(t, err)
	require.NoError(t, again.release())
}

func TestLockFileTexts(t *testing.T) {
	t.Parallel()
	self := strconv.Itoa(os.Getpid())
	for _, test := range []struct {
		name, text, holder string
		alive              bool
	}{
		{"alive", self + "\nyardwright\n", "yardwright (process " + self + ")", true},
		{"dead", strconv.Itoa(deadPid(t)) + "\nyardwright\n", "another program", false},
		{"empty", "", "another program", false},
		{"half written", self + "\nyard", "another program", false},
		{"no number", "yardwright\nyardwright\n", "another program", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), lockName)
			require.NoError(t, os.WriteFile(path, []byte(test.text), 0o600))
			file, err := os.Open(path)
			require.NoError(t, err)
			defer file.Close()
			holder, alive := readHolder(file)
			require.Equal(t, test.holder, holder)
			require.Equal(t, test.alive, alive)
		})
	}
}

func lockedPlace(t *testing.T) place {
	t.Helper()
	who, err := chooseAccount("/nonexistent", "")
	require.NoError(t, err)
	return place{dir: t.TempDir(), who: who}
}

// inherit starts a child that has the file open until the end of the test.
func inherit(t *testing.T, file *os.File) *os.Process {
	t.Helper()
	cmd := exec.Command("sleep", "300")
	cmd.ExtraFiles = []*os.File{file}
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return cmd.Process
}

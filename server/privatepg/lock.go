//go:build linux || darwin

package privatepg

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// folderLock is the right to work in a data folder. The system takes it back when the program
// ends, however it ends. The file itself stays: removing it would let two programs lock two
// files of one name.
type folderLock struct{ file *os.File }

// lockFolder takes the lock, or returns ErrInUse with the name of the program that has it.
func lockFolder(p place) (*folderLock, error) {
	file, err := os.OpenFile(p.lock(), os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, 0o644)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w: name a folder that you may write to", err)
	}
	switch err := flock(file); {
	case err == nil:
	case errors.Is(err, syscall.EWOULDBLOCK):
		defer file.Close()
		return nil, fmt.Errorf("%w: %s is held by %s. Only one program can work in it at a time: stop that one, or name another data folder", ErrInUse, p.dir, readHolder(file))
	default:
		file.Close()
		return nil, fmt.Errorf("locking %s: %w: name a data folder on a disk of this machine", p.lock(), err)
	}
	lock := &folderLock{file}
	if err := errors.Join(lock.write(holderText()), p.who.own(p.lock())); err != nil {
		return nil, errors.Join(fmt.Errorf("data folder: %w", err), lock.release())
	}
	return lock, nil
}

func flock(file *os.File) error {
	for {
		err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EINTR) {
			return err
		}
	}
}

// holderText is what the lock file says: process number and program name, a line each.
func holderText() string {
	return fmt.Sprintf("%d\n%s\n", os.Getpid(), filepath.Base(os.Args[0]))
}

func (l *folderLock) write(text string) error {
	if err := l.file.Truncate(0); err != nil {
		return err
	}
	_, err := l.file.WriteAt([]byte(text), 0)
	return err
}

// release empties the file, so that nobody reads an old holder out of it, and lets go.
func (l *folderLock) release() error {
	return errors.Join(l.write(""), l.file.Close())
}

// readHolder says who holds the lock. For a moment after locking the file is still empty, or
// names a program that was killed: read again then.
func readHolder(file *os.File) string {
	for range 20 {
		text, err := io.ReadAll(io.NewSectionReader(file, 0, 1024))
		if err != nil {
			break
		}
		if lines := strings.Split(string(text), "\n"); len(lines) == 3 {
			if pid, err := strconv.Atoi(lines[0]); err == nil && isAlive(pid) {
				return fmt.Sprintf("%s (process %d)", lines[1], pid)
			}
		}
		time.Sleep(10 * time.Millisecond)
	}
	return "another program"
}

// isAlive also holds for the processes of other users, which we may not signal.
func isAlive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

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
	if err := takeLock(file, p); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	lock := &folderLock{file}
	if err := errors.Join(lock.write(holderText()), p.who.own(p.lock())); err != nil {
		return nil, errors.Join(fmt.Errorf("data folder: %w", err), lock.release())
	}
	return lock, nil
}

// takeLock gives up at once when the lock file names a living program. Otherwise it tries
// again for a moment: the holder may not have written its name yet; or it was killed, and a
// child that it was just starting still has the file open.
func takeLock(file *os.File, p place) error {
	const tries, pause = 100, 10 * time.Millisecond
	for try := 1; ; try++ {
		err := flock(file, syscall.LOCK_EX|syscall.LOCK_NB)
		if err == nil {
			return nil
		}
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return fmt.Errorf("locking %s: %w: name a data folder on a disk of this machine", p.lock(), err)
		}
		holder, alive := readHolder(file)
		if alive || try == tries {
			return fmt.Errorf("%w: %s is held by %s. Only one program can work in it at a time: stop that one, or name another data folder", ErrInUse, p.dir, holder)
		}
		time.Sleep(pause)
	}
}

func flock(file *os.File, how int) error {
	for {
		err := syscall.Flock(int(file.Fd()), how)
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
// Closing alone would not do: a child that is just being started has the file open as well.
func (l *folderLock) release() error {
	return errors.Join(l.write(""), flock(l.file, syscall.LOCK_UN), l.file.Close())
}

// readHolder says who holds the lock, and whether that program is alive.
func readHolder(file *os.File) (holder string, alive bool) {
	text, err := io.ReadAll(io.NewSectionReader(file, 0, 1024))
	if err != nil {
		return "another program", false
	}
	number, rest, _ := strings.Cut(string(text), "\n")
	name, _, complete := strings.Cut(rest, "\n")
	pid, err := strconv.Atoi(number)
	if err != nil || !complete || !isAlive(pid) {
		return "another program", false
	}
	return fmt.Sprintf("%s (process %d)", name, pid), true
}

// isAlive also holds for the processes of other users, which we may not signal.
func isAlive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

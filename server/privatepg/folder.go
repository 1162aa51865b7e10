//go:build linux || darwin

package privatepg

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// Names inside the data folder.
const (
	clusterName = "pgdata"
	initPrefix  = "pgdata.init-"
	lockName    = "pgdata.lock"
	logName     = "postgres.log"
	runName     = "run"
)

// The port only names the socket file; nothing listens on the network.
const (
	socketPort = "5432"
	socketName = ".s.PGSQL." + socketPort
)

// place is a data folder and the account that works in it.
type place struct {
	dir string // absolute, symbolic links resolved
	who account
}

func (p place) cluster() string { return filepath.Join(p.dir, clusterName) }
func (p place) lock() string    { return filepath.Join(p.dir, lockName) }
func (p place) log() string     { return filepath.Join(p.dir, logName) }

// choosePlace finds or makes the data folder. A folder that was named is used or refused; only
// the default folder of root has substitutes.
func choosePlace(opts Options) (place, error) {
	if opts.DataDir != "" {
		return preparePlace(opts.DataDir, opts.runAs)
	}
	if os.Geteuid() != 0 {
		dir, err := defaultDir(opts.Name)
		if err != nil {
			return place{}, err
		}
		return preparePlace(dir, "")
	}
	return firstUsable(rootDirs(opts.Name), opts)
}

// folderName is what the data folder is called in its default place.
func folderName(name string) string {
	if name == "" {
		return "yardwright"
	}
	return "yardwright-" + name
}

// defaultDir follows the XDG base directory specification.
func defaultDir(name string) (string, error) {
	if base := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(base) {
		return filepath.Join(base, folderName(name)), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no home folder is known to keep the workshop's data in (%w): name a data folder", err)
	}
	return filepath.Join(home, ".local", "share", folderName(name)), nil
}

// rootDirs lists where root's data may lie, best first.
func rootDirs(name string) []string {
	var dirs []string
	folder := folderName(name)
	if base := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(base) {
		dirs = append(dirs, filepath.Join(base, folder))
	}
	return append(dirs, filepath.Join("/var/lib", folder), filepath.Join("/var/tmp", folder+"-root"), filepath.Join(os.TempDir(), folder+"-root"))
}

// firstUsable takes the first folder that works. One that already holds a cluster is never
// passed over: a workshop that suddenly looks empty would be worse than an error.
func firstUsable(dirs []string, opts Options) (place, error) {
	var refusals []error
	for _, dir := range dirs {
		found, err := preparePlace(dir, opts.runAs)
		if err == nil {
			err = checkShared(dir)
		}
		if err == nil {
			if len(refusals) > 0 {
				opts.Log(fmt.Sprintf("The workshop's data is kept in %s instead. To keep it elsewhere, name a data folder.", found.dir))
			}
			return found, nil
		}
		if _, missing := os.Lstat(filepath.Join(dir, clusterName)); missing == nil {
			return place{}, err
		}
		opts.Log(fmt.Sprintf("Not used: %v", err))
		refusals = append(refusals, err)
	}
	return place{}, fmt.Errorf("no folder was found to keep the workshop's data in; name one that every user can pass, with all its parents: %w", errors.Join(refusals...))
}

// preparePlace makes the folder when it is missing and checks that Postgres will be able to
// work in it.
func preparePlace(dir, runAs string) (place, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return place{}, fmt.Errorf("data folder: %w", err)
	}
	who, err := chooseAccount(dir, runAs)
	if err != nil {
		return place{}, err
	}
	if err := checkPassable(nearestExisting(filepath.Dir(dir)), who); err != nil { // before anything is made
		return place{}, fmt.Errorf("data folder %s: %w", dir, err)
	}
	if err := makeDataDir(dir, who); err != nil {
		return place{}, fmt.Errorf("data folder %s: %w: name a folder that you may write to", dir, err)
	}
	if dir, err = filepath.EvalSymlinks(dir); err != nil {
		return place{}, fmt.Errorf("data folder: %w", err)
	}
	p := place{dir: dir, who: who}
	if err := p.checkOwner(); err != nil {
		return place{}, err
	}
	if err := checkPassable(dir, who); err != nil {
		return place{}, fmt.Errorf("data folder %s: %w", dir, err)
	}
	return p, nil
}

func checkPassable(dir string, who account) error {
	if blocked := who.blockedAt(dir); blocked != "" {
		return fmt.Errorf("user %s, who runs Postgres, may not pass %s: name a data folder outside it, or open it with: chmod a+x %s", who.name, blocked, blocked)
	}
	return nil
}

// nearestExisting returns dir, or the first folder above it that is there.
func nearestExisting(dir string) string {
	for {
		if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) || dir == filepath.Dir(dir) {
			return dir
		}
		dir = filepath.Dir(dir)
	}
}

// makeDataDir makes missing folders. The last one belongs to the account and is closed to
// others; its new parents can be passed by all when root makes them, whatever the umask says.
func makeDataDir(dir string, who account) error {
	info, err := os.Stat(dir)
	if err == nil {
		if !info.IsDir() {
			return errors.New("this is a file, not a folder")
		}
		return nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := makeParents(filepath.Dir(dir), who); err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return who.own(dir)
}

func makeParents(dir string, who account) error {
	if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := makeParents(filepath.Dir(dir), who); err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return nil
		}
		return err
	}
	if !who.handover {
		return nil
	}
	return os.Chmod(dir, 0o755)
}

// checkOwner refuses a folder that we may not write to and a cluster that somebody else owns.
func (p place) checkOwner() error {
	const writeAndPass = 0o3
	if !p.who.handover && syscall.Access(p.dir, writeAndPass) != nil {
		return p.refuseOwner(p.dir)
	}
	uid, err := ownerID(p.cluster())
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("data folder: %w", err)
	case uid == p.who.uid || p.who.handover && uid == 0:
		return nil
	}
	return p.refuseOwner(p.cluster())
}

func (p place) refuseOwner(folder string) error {
	owner := "another user"
	if uid, err := ownerID(folder); err == nil {
		owner = "user " + nameOf(uid)
	}
	return fmt.Errorf("%s belongs to %s, and Yardwright would use it as user %s: start Yardwright as %s, or name another data folder", folder, owner, p.who.name, owner)
}

// checkShared refuses a folder in a shared temporary folder that somebody else laid there:
// whoever owns it could read or replace the data in it.
func checkShared(dir string) error {
	parent, err := os.Stat(filepath.Dir(dir))
	if err != nil || parent.Mode()&fs.ModeSticky == 0 {
		return err
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	uid, err := ownerID(dir)
	if err != nil {
		return err
	}
	if !info.IsDir() || uid != 0 && !isServiceAccount(uid) {
		return fmt.Errorf("%s was made by user %s in a folder that everybody shares", dir, nameOf(uid))
	}
	return nil
}

// socketDir makes the folder of the socket, closed to everybody but the account: inside the
// data folder, or, where that path would not do for a socket, a short temporary one.
// The temporary one is to be removed after use.
func (p place) socketDir() (dir string, temporary bool, err error) {
	inside := filepath.Join(p.dir, runName)
	if fitsSocket(inside) {
		return inside, false, makeClosedDir(inside, p.who)
	}
	sum := sha256.Sum256([]byte(p.dir))
	name := "yardwright-" + strconv.Itoa(p.who.uid) + "-" + hex.EncodeToString(sum[:6])
	for _, base := range []string{os.TempDir(), "/tmp"} {
		dir := filepath.Join(base, name)
		if !fitsSocket(dir) || p.who.blockedAt(base) != "" {
			continue
		}
		if err = makeClosedDir(dir, p.who); err == nil {
			return dir, true, nil
		}
	}
	if err == nil {
		err = errors.New("the temporary folder's path is too long as well")
	}
	return "", false, fmt.Errorf("the path of %s is too long for a socket or has a comma, and no short temporary folder will do (%w): name a data folder with a shorter, plainer path", p.dir, err)
}

// fitsSocket also refuses a comma, which separates hosts in a connection string.
func fitsSocket(dir string) bool {
	return len(filepath.Join(dir, socketName)) <= longestSocketPath && !strings.Contains(dir, ",")
}

// makeClosedDir makes a folder with mode 0700 that the account owns. An existing one must be
// exactly that: in a shared temporary folder it might be somebody's trap.
func makeClosedDir(dir string, who account) error {
	switch err := os.Mkdir(dir, 0o700); {
	case err == nil:
		return who.own(dir)
	case !errors.Is(err, fs.ErrExist):
		return err
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", dir)
	}
	uid, err := ownerID(dir)
	if err != nil {
		return err
	}
	if uid == 0 && who.handover { // made by root and interrupted before it was handed over
		if err := who.own(dir); err != nil {
			return err
		}
	} else if uid != who.uid {
		return fmt.Errorf("%s belongs to user %s", dir, nameOf(uid))
	}
	return os.Chmod(dir, 0o700)
}

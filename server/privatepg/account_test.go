//go:build linux || darwin

package privatepg

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestAsOrdinaryUser runs this suite once more as nobody when it runs as root. As an ordinary
// user it checks that nothing is handed over.
func TestAsOrdinaryUser(t *testing.T) {
	if os.Geteuid() != 0 {
		server := mustStart(t, fast(newCluster(t).dir))
		require.False(t, server.place.who.handover)
		require.Equal(t, os.Geteuid(), server.place.who.uid)
		return
	}
	t.Parallel()
	nobody, err := lookupAccount("nobody")
	require.NoError(t, err)
	dir := filepath.Dir(newFolder(t))
	program := filepath.Join(dir, "privatepg.test") // the go command keeps its own to itself
	// Not copied by ourselves: a child started at that moment would keep it open for writing.
	require.NoError(t, exec.Command("cp", os.Args[0], program).Run())
	require.NoError(t, os.Chmod(program, 0o755))
	temp := filepath.Join(dir, "t")
	require.NoError(t, os.Mkdir(temp, 0o700))
	require.NoError(t, nobody.own(temp))

	cmd := exec.Command(program, "-test.v", "-test.skip=^TestRoot", "-test.timeout=5m")
	cmd.Dir = temp
	cmd.Env = append(childEnv(os.Environ()), "TMPDIR="+temp, "HOME="+temp)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(nobody.uid), Gid: uint32(nobody.gid)}}
	output, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", output)
	require.Contains(t, string(output), "--- PASS: TestAsOrdinaryUser")
	require.Contains(t, string(output), "--- PASS: TestKilledUnderWriteLoad")
	require.NotContains(t, string(output), "--- SKIP")
	left, err := os.ReadDir(temp)
	require.NoError(t, err)
	require.Empty(t, left, "folders left behind")
}

func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("about root handing over to another user")
	}
}

func TestRootHandsOver(t *testing.T) {
	t.Parallel()
	needRoot(t)
	for _, name := range []string{"postgres", "nobody"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			want, err := lookupAccount(name)
			require.NoError(t, err)
			dir := newFolder(t)
			opts := fast(dir)
			opts.runAs = name
			server := mustStart(t, opts)
			uid, err := ownerID(pidFile(server.place))
			require.NoError(t, err)
			require.Equal(t, want.uid, uid)
			mustStop(t, server)

			// Later starts keep to the owner of the data, whoever else is there.
			require.Equal(t, want, mustStart(t, fast(dir)).place.who)
		})
	}
}

// TestRootUsesTheFoldersOwner: under sudo the data stays the user's own.
func TestRootUsesTheFoldersOwner(t *testing.T) {
	t.Parallel()
	needRoot(t)
	nobody, err := lookupAccount("nobody")
	require.NoError(t, err)
	dir := newFolder(t)
	home := filepath.Dir(dir)
	require.NoError(t, os.Mkdir(dir, 0o700))
	require.NoError(t, nobody.own(dir))
	require.NoError(t, os.Chmod(home, 0o700)) // nobody else could pass
	require.NoError(t, nobody.own(home))
	server := mustStart(t, fast(dir))
	mustStop(t, server)
	p := server.place
	require.Equal(t, nobody, p.who)
	require.NoError(t, filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		require.NoError(t, err)
		uid, err := ownerID(path)
		require.NoError(t, err)
		require.Equal(t, nobody.uid, uid, path)
		return nil
	}))
}

func TestRootIsToldWhichFolderIsClosed(t *testing.T) {
	t.Parallel()
	needRoot(t)
	dir := newFolder(t)
	home := filepath.Dir(dir)
	require.NoError(t, os.Chmod(home, 0o700))
	_, err := Start(t.Context(), fast(dir))
	require.ErrorContains(t, err, "who runs Postgres, may not pass "+home)
	require.ErrorContains(t, err, "chmod a+x "+home)
	require.NoDirExists(t, dir, "nothing is made in vain")
	require.NoError(t, os.Chmod(home, 0o711))
	mustStart(t, fast(dir))
}

func TestRootFallsBackAndSaysSo(t *testing.T) {
	t.Parallel()
	needRoot(t)
	closed, open := newFolder(t), newFolder(t)
	require.NoError(t, os.Chmod(filepath.Dir(closed), 0o700))
	var log notes
	p, err := firstUsable([]string{closed, open}, Options{Log: log.add})
	require.NoError(t, err)
	require.Equal(t, open, p.dir)
	require.Contains(t, log.String(), "may not pass "+filepath.Dir(closed))
	require.Contains(t, log.String(), "kept in "+open+" instead")

	// A closed folder with data in it is an error: an empty workshop elsewhere would be a shock.
	require.NoError(t, os.MkdirAll(filepath.Join(closed, clusterName), 0o700))
	_, err = firstUsable([]string{closed, open}, Options{Log: log.add})
	require.ErrorContains(t, err, "may not pass "+filepath.Dir(closed))

	require.NoError(t, os.Chmod(filepath.Dir(open), 0o700))
	require.NoError(t, os.RemoveAll(closed))
	_, err = firstUsable([]string{closed, open}, Options{Log: log.add})
	require.ErrorContains(t, err, "no folder was found")
}

func TestRootDefaultFolders(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", "")
	require.Equal(t, "/var/lib/yardwright", rootDirs("")[0])
	require.Equal(t, "/var/lib/yardwright-demo", rootDirs("demo")[0])
	t.Setenv("XDG_DATA_HOME", "/srv/share")
	require.Equal(t, []string{"/srv/share/yardwright", "/var/lib/yardwright"}, rootDirs("")[:2])
}

// TestRootDistrustsSharedFolders: anybody may lay a folder into /tmp and wait.
func TestRootDistrustsSharedFolders(t *testing.T) {
	t.Parallel()
	needRoot(t)
	shared := filepath.Dir(newFolder(t))
	require.NoError(t, os.Chmod(shared, 0o777|fs.ModeSticky))
	for _, test := range []struct {
		name string
		lay  func(path string) error
		ok   bool
	}{
		{"root's", func(path string) error { return os.Mkdir(path, 0o711) }, true},
		{"a stranger's", func(path string) error {
			return errors.Join(os.Mkdir(path, 0o755), os.Chown(path, 12345, 12345))
		}, false},
		{"a link", func(path string) error { return os.Symlink("/var", path) }, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			path := filepath.Join(shared, strings.ReplaceAll(test.name, " ", "-"))
			require.NoError(t, test.lay(path))
			if test.ok {
				require.NoError(t, checkShared(path))
			} else {
				require.ErrorContains(t, checkShared(path), "in a folder that everybody shares")
			}
		})
	}
}

// TestRootTakesBackACopy: a backup that root copied back belongs to root.
func TestRootTakesBackACopy(t *testing.T) {
	t.Parallel()
	needRoot(t)
	p := newCluster(t)
	dir := p.dir
	root := account{handover: true}
	require.NoError(t, root.ownTree(dir))
	require.NoError(t, os.Chmod(dir, 0o711))
	var log notes
	opts := fast(dir)
	opts.Log = log.add
	require.Equal(t, p.who, mustStart(t, opts).place.who)
	require.Contains(t, log.String(), "Giving "+p.cluster())
}

// TestForeignDataIsRefused: an ordinary user meets a folder of somebody else's.
func TestForeignDataIsRefused(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	stranger := place{dir: dir, who: account{name: "stranger", uid: 12345, gid: 12345}}
	err := stranger.checkOwner()
	require.ErrorContains(t, err, p.cluster()+" belongs to user "+p.who.name)
	require.ErrorContains(t, err, "start Yardwright as user "+p.who.name)

	if os.Geteuid() != 0 {
		require.NoError(t, os.Chmod(dir, 0o500))
		_, err = Start(t.Context(), fast(dir))
		require.NoError(t, os.Chmod(dir, 0o700))
		require.ErrorContains(t, err, dir+" belongs to user "+p.who.name)
	}
}

func TestBlockedAt(t *testing.T) {
	t.Parallel()
	top := filepath.Dir(newFolderIn(t, "/tmp"))
	inner := filepath.Join(top, "a", "b")
	require.NoError(t, os.MkdirAll(inner, 0o755))
	stranger := account{uid: 12345, gid: 12345, handover: true}
	for _, test := range []struct {
		name string
		mode os.FileMode
		who  account
		want string
	}{
		{"open", 0o755, stranger, ""},
		{"only to be passed", 0o711, stranger, ""},
		{"closed", 0o700, stranger, filepath.Join(top, "a")},
		{"read but not passed", 0o744, stranger, filepath.Join(top, "a")},
		{"the owner", 0o700, account{uid: os.Geteuid(), gid: 12345, handover: true}, ""},
		{"the group", 0o710, account{uid: 12345, gid: os.Getegid(), handover: true}, ""},
		{"open to all but the group", 0o701, account{uid: 12345, gid: os.Getegid(), handover: true}, filepath.Join(top, "a")},
		{"no handover, no check", 0o700, account{uid: 12345}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			require.NoError(t, os.Chmod(filepath.Join(top, "a"), test.mode))
			require.Equal(t, test.want, test.who.blockedAt(inner))
		})
	}
	require.NoError(t, os.Chmod(filepath.Join(top, "a"), 0o755))
}

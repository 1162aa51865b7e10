//go:build linux || darwin

package privatepg

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestSocketPathLength goes over the limit of the system byte by byte.
func TestSocketPathLength(t *testing.T) {
	t.Parallel()
	parent := filepath.Dir(newFolder(t))
	fits := longestSocketPath - len(filepath.Join(parent, "", runName, socketName)) - 1
	for _, test := range []struct {
		name      string
		length    int
		temporary bool
	}{
		{"just fits", fits, false},
		{"one byte too long", fits + 1, true},
		{"much too long", 200, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			dir := filepath.Join(parent, strings.Repeat("x", test.length))
			server := mustStart(t, fast(dir))
			require.Equal(t, test.temporary, server.temporary)
			require.Equal(t, test.temporary, server.socketDir != filepath.Join(dir, runName))
			require.Equal(t, "1", query(t, server.URL(), "SELECT '1'"))
			mustStop(t, server)
			if test.temporary {
				require.NoDirExists(t, server.socketDir)
			}
		})
	}
}

// TestLongestSocketPath holds the constant against the system itself.
func TestLongestSocketPath(t *testing.T) {
	t.Parallel()
	dir := filepath.Dir(newFolder(t))
	path := dir + "/" + strings.Repeat("s", longestSocketPath-len(dir)-1)
	require.Len(t, path, longestSocketPath)
	listener, err := net.Listen("unix", path)
	require.NoError(t, err)
	require.NoError(t, listener.Close())
	_, err = net.Listen("unix", path+"s")
	require.Error(t, err)
}

// TestAwkwardPaths: blanks, quotes, commas and glob signs mean something to somebody on the way.
func TestAwkwardPaths(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(filepath.Dir(newFolder(t)), `a b+c "d" [e] %f?g'ü`)
	server := mustStart(t, fast(dir))
	require.Equal(t, dir+"/"+runName, server.socketDir)
	require.Equal(t, "1", query(t, server.URL(), "SELECT '1'"))
	mustStop(t, server)
	mustStart(t, fast(dir))

	comma := mustStart(t, fast(dir+",h"))
	require.True(t, comma.temporary, "pgx would read two hosts")
	require.Equal(t, "1", query(t, comma.URL(), "SELECT '1'"))
}

func TestLinkToDataFolder(t *testing.T) {
	t.Parallel()
	dir := newCluster(t).dir
	server := mustStart(t, fast(dir))
	link := dir + "-link"
	require.NoError(t, os.Symlink(dir, link))
	_, err := Start(t.Context(), fast(link))
	require.ErrorIs(t, err, ErrInUse)
	mustStop(t, server)
	require.Equal(t, dir, mustStart(t, fast(link)).place.dir)
}

func TestDataFolderIsAFile(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	require.NoError(t, os.WriteFile(dir, nil, 0o600))
	_, err := Start(t.Context(), fast(dir))
	require.ErrorContains(t, err, "this is a file, not a folder: name a folder that you may write to")
}

func TestTemporarySocketFolderOfSomebodyElseIsNotUsed(t *testing.T) {
	t.Parallel()
	parent := filepath.Dir(newFolder(t))
	who, err := chooseAccount(parent, "")
	require.NoError(t, err)
	for _, test := range []struct {
		name string
		lay  func(path string) error
		says string
	}{
		{"file", func(path string) error { return os.WriteFile(path, nil, 0o600) }, "is not a folder"},
		{"link", func(path string) error { return os.Symlink(parent, path) }, "is not a folder"},
	} {
		t.Run(test.name, func(t *testing.T) {
			path := filepath.Join(parent, test.name)
			require.NoError(t, test.lay(path))
			require.ErrorContains(t, makeClosedDir(path, who), test.says)
		})
	}
	ours := filepath.Join(parent, "ours")
	require.NoError(t, makeClosedDir(ours, who))
	require.NoError(t, os.Chmod(ours, 0o777))
	require.NoError(t, makeClosedDir(ours, who))
	info, err := os.Stat(ours)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm(), "closed again")
}

func TestDefaultFolder(t *testing.T) {
	t.Setenv("HOME", "/home/quillfen")
	for _, test := range []struct{ name, xdg, want string }{
		{"home", "", "/home/quillfen/.local/share/yardwright"},
		{"XDG", "/srv/share", "/srv/share/yardwright"},
		{"XDG must be absolute", "share", "/home/quillfen/.local/share/yardwright"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Setenv("XDG_DATA_HOME", test.xdg)
			got, err := defaultDir("")
			require.NoError(t, err)
			require.Equal(t, test.want, got)
		})
	}
	t.Setenv("XDG_DATA_HOME", "")
	t.Setenv("HOME", "")
	_, err := defaultDir("")
	require.ErrorContains(t, err, "name a data folder")
}

func TestStartInDefaultFolder(t *testing.T) {
	base := filepath.Dir(newFolder(t))
	t.Setenv("XDG_DATA_HOME", filepath.Join(base, "new", "share"))
	var log notes
	server := mustStart(t, Options{FastAndUnsafe: true, Log: log.add})
	require.Equal(t, filepath.Join(base, "new", "share", "yardwright"), server.place.dir)
	require.NotContains(t, log.String(), "instead")
}

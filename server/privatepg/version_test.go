//go:build linux || darwin

package privatepg

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestOtherMajorVersionIsRefusedUntouched: neither older nor newer data is opened.
func TestOtherMajorVersionIsRefusedUntouched(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	for _, major := range []int{9, 14, 99} {
		require.NoError(t, os.WriteFile(filepath.Join(p.cluster(), "PG_VERSION"), []byte(strconv.Itoa(major)+"\n"), 0o600))
		before := fingerprint(t, dir)
		_, err := Start(t.Context(), fast(dir))
		require.ErrorIs(t, err, ErrOtherVersion)
		require.ErrorContains(t, err, fmt.Sprintf("it needs Postgres %d, and this machine has ", major))
		require.ErrorContains(t, err, "Nothing was changed")
		require.ErrorContains(t, err, installHint(major))
		require.Equal(t, before, fingerprint(t, dir))
	}
}

func TestSpoiltVersionIsRefusedUntouched(t *testing.T) {
	t.Parallel()
	p := newCluster(t)
	dir := p.dir
	require.NoError(t, os.WriteFile(filepath.Join(p.cluster(), "PG_VERSION"), nil, 0o600))
	before := fingerprint(t, dir)
	_, err := Start(t.Context(), fast(dir))
	require.ErrorContains(t, err, "should hold a version number")
	require.Equal(t, before, fingerprint(t, dir))
}

// fingerprint hashes a tree: names, modes, sizes, contents, and, below the top folder, times
// of change. The lock beside the cluster is written at every start, and empty in between.
func fingerprint(t *testing.T, root string) string {
	t.Helper()
	sum := sha256.New()
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := entry.Info()
		require.NoError(t, err)
		fmt.Fprintln(sum, path, info.Mode())
		if filepath.Base(path) != lockName {
			fmt.Fprintln(sum, info.ModTime().UnixNano())
		}
		if info.Mode().IsRegular() {
			fmt.Fprintln(sum, info.Size(), readFile(t, path))
		}
		return nil
	})
	require.NoError(t, err)
	return fmt.Sprintf("%x", sum.Sum(nil))
}

// fakePostgres makes a folder with binaries that only know their version.
func fakePostgres(t *testing.T, version string) string {
	t.Helper()
	dir := filepath.Dir(newFolder(t))
	script := "#!/bin/sh\necho 'postgres (PostgreSQL) " + version + "'\n"
	// A child started meanwhile would keep the file open for writing, and it could not be run.
	syscall.ForkLock.RLock()
	defer syscall.ForkLock.RUnlock()
	for _, name := range []string{"postgres", "initdb"} {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(script), 0o755))
		require.NoError(t, os.Chmod(path, 0o755))
	}
	return dir
}

func TestFindBinaries(t *testing.T) {
	t.Parallel()
	who, err := chooseAccount("/nonexistent", "")
	require.NoError(t, err)
	old, fourteen, beta := fakePostgres(t, "13.9"), fakePostgres(t, "14.2 (Debian 14.2-1)"), fakePostgres(t, "19beta1")
	mute := fakePostgres(t, "without a number")
	for _, test := range []struct {
		name    string
		folders []string
		binDir  string
		wanted  int
		want    string // folder
		err     error
		says    string
	}{
		{name: "first that is new enough", folders: []string{old, fourteen, beta}, want: fourteen},
		{name: "a new one first", folders: []string{beta, fourteen}, want: beta},
		{name: "the version of the data", folders: []string{beta, old, fourteen}, wanted: 14, want: fourteen},
		{name: "old data with its old version", folders: []string{beta, old}, wanted: 13, want: old},
		{name: "named folder", folders: []string{beta}, binDir: fourteen, want: fourteen},
		{name: "one that does not work is passed over", folders: []string{mute, fourteen}, want: fourteen},
		{name: "nothing there", err: ErrNoPostgres, says: "no Postgres was found on this machine. Install it: " + installHint(0) + ". Or set DATABASE_URL"},
		{name: "nothing there for the data", wanted: 15, err: ErrNoPostgres, says: "the data needs Postgres 15. Install it: " + installHint(15)},
		{name: "only one that does not work", folders: []string{mute}, err: ErrNoPostgres, says: "gives no version"},
		{name: "too old", folders: []string{old}, err: ErrNoPostgres, says: "version 14 or newer is needed, and this machine has 13 in " + old},
		{name: "wrong version", folders: []string{old, beta}, wanted: 15, err: ErrOtherVersion, says: "this machine has 13 in " + old + ", 19 in " + beta},
		{name: "wrong version in the named folder", folders: []string{fourteen}, binDir: beta, wanted: 14, err: ErrOtherVersion, says: "19 in " + beta},
		{name: "named folder without binaries", folders: []string{fourteen}, binDir: "/nonexistent", err: ErrNoPostgres, says: "/nonexistent does not hold both postgres and initdb"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			opts := Options{BinDir: test.binDir, folders: func() []string { return test.folders }}
			got, err := findBinaries(t.Context(), opts, test.wanted, who)
			if test.err != nil {
				require.ErrorIs(t, err, test.err)
				require.ErrorContains(t, err, test.says)
				return
			}
			require.NoError(t, err)
			require.Equal(t, test.want, got.dir)
		})
	}
}

func TestPostgresMissing(t *testing.T) {
	t.Parallel()
	dir := newFolder(t)
	opts := fast(dir)
	opts.folders = func() []string { return nil }
	_, err := Start(t.Context(), opts)
	require.ErrorIs(t, err, ErrNoPostgres)
	require.ErrorContains(t, err, installHint(0))
	require.NoDirExists(t, filepath.Join(dir, clusterName))

	mustStart(t, fast(dir)) // installed meanwhile
}

// TestInstallHint: on the systems that the README names, the hint is the one command to run.
func TestInstallHint(t *testing.T) {
	if _, err := os.Stat("/etc/debian_version"); err != nil {
		t.Skip("not Debian")
	}
	require.Regexp(t, `^(sudo )?apt-get install postgresql$`, installHint(0))
	require.Regexp(t, `^(sudo )?apt-get install postgresql-14$`, installHint(14))
	t.Setenv("PATH", "")
	require.Regexp(t, `^on Debian and Ubuntu: (sudo )?apt-get install postgresql$`, installHint(0))
}

func TestUsualFoldersHoldTheSystemsPostgres(t *testing.T) {
	if _, err := os.Stat("/usr/lib/postgresql"); err != nil {
		t.Skip("not Debian's packages")
	}
	t.Setenv("PATH", "")
	require.Contains(t, fmt.Sprint(candidateFolders()), "/usr/lib/postgresql/")
}

func TestParseMajor(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, line string
		want       int
		ok         bool
	}{
		{"Debian", "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)\n", 15, true},
		{"Homebrew", "postgres (PostgreSQL) 17.2 (Homebrew)", 17, true},
		{"beta", "postgres (PostgreSQL) 18beta1", 18, true},
		{"development", "postgres (PostgreSQL) 19devel", 19, true},
		{"before 10", "postgres (PostgreSQL) 9.6.24", 9, true},
		{"empty", "", 0, false},
		{"no number", "postgres (PostgreSQL)", 0, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			got, ok := parseMajor(test.line)
			require.Equal(t, test.ok, ok)
			require.Equal(t, test.want, got)
		})
	}
}

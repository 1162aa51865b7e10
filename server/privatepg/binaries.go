//go:build linux || darwin

package privatepg

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// binaries is a folder with postgres and initdb of one version.
type binaries struct {
	dir   string
	major int
}

func (b binaries) postgres() string { return filepath.Join(b.dir, "postgres") }
func (b binaries) initdb() string   { return filepath.Join(b.dir, "initdb") }

// usualFolders are where packages put the binaries, as glob patterns: Debian, Fedora and
// relatives, Alpine, a build from source, Homebrew on either kind of Mac and on Linux,
// Postgres.app, the graphical installer, MacPorts.
var usualFolders = []string{
	"/usr/lib/postgresql/*/bin",
	"/usr/pgsql-*/bin",
	"/usr/libexec/postgresql*",
	"/usr/local/pgsql/bin",
	"/opt/homebrew/opt/postgresql@*/bin",
	"/usr/local/opt/postgresql@*/bin",
	"/home/linuxbrew/.linuxbrew/opt/postgresql@*/bin",
	"/Applications/Postgres.app/Contents/Versions/*/bin",
	"/Library/PostgreSQL/*/bin",
	"/opt/local/lib/postgresql*/bin",
}

// findBinaries returns the binaries for a cluster of the wanted major version; 0 means a new
// cluster, for which the first that is new enough will do.
func findBinaries(ctx context.Context, opts Options, wanted int, who account) (binaries, error) {
	folders, err := foldersToSearch(opts)
	if err != nil {
		return binaries{}, err
	}
	var found []binaries
	var unusable error
	for _, dir := range folders {
		major, err := majorOf(ctx, filepath.Join(dir, "postgres"), who)
		if err != nil {
			unusable = err
			continue
		}
		b := binaries{dir: dir, major: major}
		if major == wanted || wanted == 0 && major >= OldestMajor {
			return b, nil
		}
		found = append(found, b)
	}
	if ctx.Err() != nil {
		return binaries{}, ctx.Err()
	}
	return binaries{}, refuseBinaries(found, wanted, unusable)
}

func foldersToSearch(opts Options) ([]string, error) {
	if opts.BinDir == "" {
		return opts.folders(), nil
	}
	dir, err := filepath.Abs(opts.BinDir)
	if err != nil || !holdsPostgres(dir) {
		return nil, fmt.Errorf("%w: the folder %s does not hold both postgres and initdb: name the folder that does, or name none to have it looked for", ErrNoPostgres, opts.BinDir)
	}
	return []string{dir}, nil
}

func refuseBinaries(found []binaries, wanted int, unusable error) error {
	switch {
	case wanted != 0 && len(found) > 0:
		return fmt.Errorf("%w: it needs Postgres %d, and this machine has %s. Nothing was changed. To open it, install Postgres %d as well: %s",
			ErrOtherVersion, wanted, listVersions(found), wanted, installHint(wanted))
	case wanted != 0:
		return fmt.Errorf("%w: the data needs Postgres %d%s. Install it: %s", ErrNoPostgres, wanted, because(unusable), installHint(wanted))
	case len(found) > 0:
		return fmt.Errorf("%w: version %d or newer is needed, and this machine has %s. Install a newer one: %s", ErrNoPostgres, OldestMajor, listVersions(found), installHint(0))
	default:
		return fmt.Errorf("%w on this machine%s. Install it: %s. Or set DATABASE_URL to a database of your own", ErrNoPostgres, because(unusable), installHint(0))
	}
}

func because(err error) string {
	if err == nil {
		return ""
	}
	return fmt.Sprintf(" (one was there but did not start: %v)", err)
}

func listVersions(found []binaries) string {
	texts := make([]string, len(found))
	for i, b := range found {
		texts[i] = fmt.Sprintf("%d in %s", b.major, b.dir)
	}
	return strings.Join(texts, ", ")
}

// installHint names the one command that installs Postgres, of a major version if not 0.
func installHint(major int) string {
	if runtime.GOOS == "darwin" {
		if major == 0 {
			return "brew install postgresql@17"
		}
		return fmt.Sprintf("brew install postgresql@%d", major)
	}
	suffix, dashed := "", ""
	if major != 0 {
		suffix = strconv.Itoa(major)
		dashed = "-" + suffix
	}
	asRoot := "sudo "
	if os.Geteuid() == 0 {
		asRoot = ""
	}
	debian := "apt-get install postgresql" + dashed
	for _, manager := range []struct{ program, command string }{
		{"apt-get", debian},
		{"dnf", "dnf install postgresql" + suffix + "-server"},
		{"apk", "apk add postgresql" + suffix},
		{"pacman", "pacman -S postgresql"},
		{"zypper", "zypper install postgresql" + suffix + "-server"},
	} {
		if _, err := exec.LookPath(manager.program); err == nil {
			return asRoot + manager.command
		}
	}
	return "on Debian and Ubuntu: " + asRoot + debian
}

// candidateFolders lists PATH first, then the usual folders, newest version first.
func candidateFolders() []string {
	var folders []string
	for _, dir := range filepath.SplitList(os.Getenv("PATH")) {
		if filepath.IsAbs(dir) && holdsPostgres(dir) {
			folders = append(folders, dir)
		}
	}
	for _, pattern := range usualFolders {
		matches, err := filepath.Glob(pattern)
		if err != nil {
			panic(err) // a wrong pattern in the table above
		}
		slices.SortStableFunc(matches, func(a, b string) int { return versionIn(b) - versionIn(a) })
		for _, dir := range matches {
			if holdsPostgres(dir) {
				folders = append(folders, dir)
			}
		}
	}
	return uniqueFolders(folders)
}

// uniqueFolders drops folders whose postgres is the same file as an earlier one's.
func uniqueFolders(folders []string) []string {
	seen := map[string]bool{}
	return slices.DeleteFunc(folders, func(dir string) bool {
		real, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
		if err != nil || seen[real] {
			return true
		}
		seen[real] = true
		return false
	})
}

func holdsPostgres(dir string) bool {
	for _, name := range []string{"postgres", "initdb"} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil || info.IsDir() || info.Mode()&0o111 == 0 {
			return false
		}
	}
	return true
}

var digits = regexp.MustCompile(`\d+`)

// versionIn reads the version out of a folder's name; 0 if it has none.
func versionIn(dir string) int {
	version, err := strconv.Atoi(digits.FindString(dir))
	if err != nil {
		return 0
	}
	return version
}

// majorOf asks postgres for its version, as the user who is to run it.
func majorOf(ctx context.Context, postgres string, who account) (int, error) {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	output, err := who.run(ctx, "/", postgres, "--version")
	if err != nil {
		return 0, fmt.Errorf("%s: %w", postgres, err)
	}
	major, ok := parseMajor(output)
	if !ok {
		return 0, fmt.Errorf("%s gives no version: %q", postgres, strings.TrimSpace(output))
	}
	return major, nil
}

var versionLine = regexp.MustCompile(`\) (\d+)`)

// parseMajor reads lines such as "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)" and
// "postgres (PostgreSQL) 18beta1".
func parseMajor(line string) (int, bool) {
	match := versionLine.FindStringSubmatch(line)
	if match == nil {
		return 0, false
	}
	major, err := strconv.Atoi(match[1])
	return major, err == nil
}

package privatepg

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// longestSocketPath is the size of sun_path in bytes, less the closing zero (unix(7)).
const longestSocketPath = 107

// signalOnParentDeath has the kernel signal the child when we die, however we die.
func signalOnParentDeath(attr *syscall.SysProcAttr, sig syscall.Signal) { attr.Pdeathsig = sig }

// postgresIn lists the living processes named postgres that work in a cluster: Postgres makes
// the cluster its working folder. A zombie has no working folder any more and holds nothing.
// A dying one has no command line.
func postgresIn(cluster, _ string) ([]process, error) {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return nil, err
	}
	var found []process
	for _, entry := range entries {
		pid, err := strconv.Atoi(entry.Name())
		if err != nil {
			continue
		}
		dir := filepath.Join("/proc", entry.Name())
		if cwd, err := os.Readlink(filepath.Join(dir, "cwd")); err != nil || cwd != cluster {
			continue // ended meanwhile, or of another user, or elsewhere
		}
		name, err := os.ReadFile(filepath.Join(dir, "comm"))
		if err != nil || !isPostgresName(strings.TrimSpace(string(name))) {
			continue
		}
		line, err := os.ReadFile(filepath.Join(dir, "cmdline"))
		if err != nil {
			continue
		}
		found = append(found, process{pid: pid, command: string(bytes.TrimSpace(bytes.ReplaceAll(line, []byte{0}, []byte{' '})))})
	}
	return found, nil
}

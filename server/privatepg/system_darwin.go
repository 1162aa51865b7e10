package privatepg

import (
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// longestSocketPath is the size of sun_path in bytes, less the closing zero.
const longestSocketPath = 103

// signalOnParentDeath does nothing: this system has no such signal. A Postgres that is left
// behind is stopped at the next start.
func signalOnParentDeath(*syscall.SysProcAttr, syscall.Signal) {}

// postgresIn lists the living processes named postgres that were started for a cluster, and
// the one that its pid file names if that is a Postgres. The processes below it cannot be
// told from those of other clusters; Postgres itself waits for them.
func postgresIn(cluster, pidFile string) ([]process, error) {
	output, err := exec.Command("ps", "-axww", "-o", "pid=,stat=,command=").Output()
	if err != nil {
		return nil, err
	}
	named := postmasterPid(pidFile)
	var found []process
	for line := range strings.Lines(string(output)) {
		fields := strings.Fields(line)
		if len(fields) < 3 || strings.HasPrefix(fields[1], "Z") || !isPostgresName(filepath.Base(fields[2])) {
			continue
		}
		pid, err := strconv.Atoi(fields[0])
		if err != nil {
			continue
		}
		command := strings.Join(fields[2:], " ")
		if pid == named || strings.Contains(command+" ", " -D "+cluster+" ") {
			found = append(found, process{pid: pid, command: command})
		}
	}
	return found, nil
}

package server_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// TestPagesInABrowser tries the pages in headless Chromium. Pictures of every page are left
// in out/pictures.
func TestPagesInABrowser(t *testing.T) {
	t.Parallel()
	for _, tool := range []string{"node", "chromium"} {
		_, err := exec.LookPath(tool)
		require.NoError(t, err, "install it with .ci/check test-tools")
	}
	require.DirExists(t, "testdata/browser/node_modules", "install them with .ci/check test-tools")
	s := servePlanned(t)
	out, err := filepath.Abs("../out/pictures")
	require.NoError(t, err)
	list := filepath.Join(t.TempDir(), "paths.json")
	content, err := json.Marshal(append(browserPaths(everyPath(t)), "/parts"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(list, content, 0o600))
	command := exec.CommandContext(t.Context(), "node", "testdata/browser/run.mjs", s.URL, out, list, serve(t, pgtest.URL(t)).URL)
	said, err := command.CombinedOutput()
	require.NoError(t, err, string(said))
	require.Equal(t, 16, strings.Count(string(said), "ok - "), string(said))
	t.Logf("%s", said)
}

// browserPaths keeps one page of each kind; the others look alike.
func browserPaths(all []string) []string {
	var kept []string
	seen := map[string]int{}
	for _, path := range all {
		if strings.HasPrefix(path, "/static/") || strings.Contains(path, ".xlsx") || strings.Contains(path, ".pdf") || strings.Contains(path, ".csv") || strings.Contains(path, ".ics") || strings.Contains(path, "?") {
			continue
		}
		kind := strings.Map(func(r rune) rune {
			if r >= '0' && r <= '9' {
				return 'n'
			}
			return r
		}, path)
		for strings.Contains(kind, "nn") {
			kind = strings.ReplaceAll(kind, "nn", "n")
		}
		if seen[kind]++; seen[kind] == 1 {
			kept = append(kept, path)
		}
	}
	slices.Sort(kept)
	return kept
}

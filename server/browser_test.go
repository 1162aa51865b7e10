package server_test

import (
	"context"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// wholeYear is for make check: a maker's year is walked through at both widths.
var wholeYear = flag.Bool("year", false, "walk through a maker's year, too")

// TestPagesInABrowser tries the pages in headless Chromium. Pictures of every page are left
// in out/pictures.
func TestPagesInABrowser(t *testing.T) {
	t.Parallel()
	for _, tool := range []string{"node", "chromium"} {
		_, err := exec.LookPath(tool)
		require.NoError(t, err, "install it with .ci/check test-tools")
	}
	require.DirExists(t, "testdata/browser/node_modules", "install them with .ci/check test-tools")
	out, err := filepath.Abs("../out/pictures")
	require.NoError(t, err)
	paths := keepJSON(t, "paths.json", append(browserPaths(everyPath(t)), "/parts"))
	look := servePlanned(t)
	look.keepPrices(t)
	walks, workshops := 17, map[string]string{
		"look": look.URL, "cut": servePlanned(t).URL, "sell": servePlanned(t).URL, "empty": serve(t, pgtest.URL(t)).URL,
	}
	if *wholeYear {
		walks += 2
		workshops["wide"], workshops["narrow"] = serve(t, pgtest.URL(t)).URL, serve(t, pgtest.URL(t)).URL
	}
	lanes := keepJSON(t, "lanes.json", workshops)
	// If it hangs, what it did until then is told.
	ctx, cancel := context.WithTimeout(t.Context(), 15*time.Minute)
	defer cancel()
	said, err := exec.CommandContext(ctx, "node", "testdata/browser/run.mjs", out, paths, lanes).CombinedOutput()
	require.NoError(t, err, string(said))
	require.Equal(t, walks, strings.Count(string(said), "ok - "), string(said))
	t.Logf("%s", said)
}

// keepJSON writes a file that the browser test reads, and returns its path.
func keepJSON(t *testing.T, name string, value any) string {
	t.Helper()
	content, err := json.Marshal(value)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, content, 0o600))
	return path
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

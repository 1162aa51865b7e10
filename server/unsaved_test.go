package server_test

import (
	"context"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestTypedWorkInABrowser leaves half-filled forms in every way that a browser knows.
func TestTypedWorkInABrowser(t *testing.T) {
	t.Parallel()
	require.DirExists(t, "testdata/browser/node_modules", "install them with .ci/check test-tools")
	ctx, cancel := context.WithTimeout(t.Context(), 5*time.Minute)
	defer cancel()
	said, err := exec.CommandContext(ctx, "node", "testdata/browser/unsaved.mjs", serveDemo(t).URL, t.TempDir()).CombinedOutput()
	require.NoError(t, err, string(said))
	require.Equal(t, 2, strings.Count(string(said), "ok - "), string(said))
}

package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// The demo goes out as one file and comes into an empty workshop, from the command line.
func TestAWorkshopIsExportedAndImported(t *testing.T) {
	t.Parallel()
	folder := dataFolder(t)
	path := filepath.Join(t.TempDir(), "workroom.zip")
	stdout, stderr, code := yardwright(t, "", "export", "archive", "--data", folder, path)
	require.Equal(t, 0, code, stderr)
	require.Contains(t, stdout, "with everything of My workroom")
	stdout, stderr, code = yardwright(t, "", "import", "archive", "--data", folder, path)
	require.Equal(t, 0, code, stderr)
	require.Contains(t, stdout, "Taken: My workroom, with nothing in it yet")
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, content[:len(content)-9], 0o600))
	_, stderr, code = yardwright(t, "", "import", "archive", "--data", folder, path)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "nothing was taken")
	require.Contains(t, stderr, "cut short")
}

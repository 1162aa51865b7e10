package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

type runner func(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int

func runPlanOn(run runner, stdin string, args ...string) (code int, stdout, stderr string) {
	var out, messages bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(stdin), &out, &messages)
	return code, out.String(), messages.String()
}

const layplanFile = `{"unit":"yd","sizes":["S","M","L"],"demand":[6,10,8],"length_per_garment":[1,1.1,1.2],"max_plies":10,
"max_garments_per_marker":4,"max_marker_length":0,"over_cut_allowed":0,"objective":"markers_then_length"}`

// The demand 6, 10, 8 with 10 plies and 4 garments to a marker needs 2 markers
// (testdata/cutplan, own_micro_sml, solved by enumeration); 6 + 11 + 9.6 yd of cloth.
func TestLayplanCommand(t *testing.T) {
	t.Parallel()
	svg := filepath.Join(t.TempDir(), "plan.svg")
	code, stdout, stderr := runPlanOn(runLayplan, layplanFile, "--svg", svg, "--seconds", "5", "-")
	require.Equal(t, 0, code, stderr)
	var answer struct {
		Markers []struct {
			Plies int
			Ratio []int
		}
		Status       string
		Length       float64
		OverCut      int `json:"over_cut"`
		BoundMarkers int `json:"bound_markers"`
	}
	require.NoError(t, json.Unmarshal([]byte(stdout), &answer))
	require.Len(t, answer.Markers, 2)
	require.Equal(t, 2, answer.BoundMarkers)
	require.Equal(t, "optimal", answer.Status)
	require.Equal(t, 26.6, answer.Length)
	require.Zero(t, answer.OverCut)
	require.Contains(t, stderr, "no plan is better")
	drawing, err := os.ReadFile(svg)
	require.NoError(t, err)
	require.Contains(t, string(drawing), "Marker 2")
}

func TestLayplanCommandBadInput(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name, stdin string
		args        []string
		code        int
		want        string
	}{
		{"field", strings.Replace(layplanFile, `"max_plies":10`, `"max_plies":0`, 1), []string{"-"}, 2, "line 1: max_plies: give"},
		{"line", "{\n\"unit\": }", []string{"-"}, 2, "line 2"},
		{"no file named", "", nil, 2, "one FILE is needed"},
		{"field on its line", strings.Replace(layplanFile, `"max_garments_per_marker":4`, `"max_garments_per_marker":-4`, 1), []string{"-"}, 2, "line 2: max_garments_per_marker: "},
		{"wrong kind", "{\n\"sizes\": [{}]}", []string{"-"}, 2, "line 2: sizes: a group in braces stands here where text is needed"},
		{"a folder", "", []string{t.TempDir()}, 2, "is a folder; name a file"},
		{"no such file", "", []string{"/nowhere/plan.json"}, 2, "there is no file"},
		{"flag", "", []string{"--colour", "-"}, 2, "colour"},
		{"seconds", "", []string{"--seconds", "-1", "-"}, 2, "--seconds: give 0"},
		{"no plan", strings.Replace(layplanFile, `"max_plies":10`, `"max_plies":10,"min_plies":9`, 1), []string{"-"}, 1, "cut beyond the demand"},
		{"drawing", layplanFile, []string{"--svg", "/nowhere/at/all.svg", "-"}, 1, "the drawing cannot be written"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			code, _, stderr := runPlanOn(runLayplan, tt.stdin, tt.args...)
			require.Equal(t, tt.code, code)
			require.Contains(t, stderr, tt.want)
		})
	}
}

// The commands are there under their names.
func TestPlanCommandsAreKnown(t *testing.T) {
	t.Parallel()
	for name, file := range map[string]string{"layplan": layplanFile, "rolls": rollsFile} {
		var stdout, stderr bytes.Buffer
		code := run(context.Background(), []string{name, "-"}, strings.NewReader(file), &stdout, &stderr)
		require.Equal(t, 0, code, stderr.String())
		require.Contains(t, stdout.String(), `"status":"optimal"`)
	}
}

func TestLayplanCommandHelp(t *testing.T) {
	t.Parallel()
	code, _, stderr := runPlanOn(runLayplan, "", "--help")
	require.Equal(t, 0, code)
	require.Contains(t, stderr, "-iterations")
}

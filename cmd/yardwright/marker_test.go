package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const skirtFile = `{"unit": "in", "width": 42, "gap": 0,
 "pieces": [
  {"name": "skirt panel", "copies": 2, "width": 20.5, "length": 14, "turns": [0]}
 ]}
`

func runMarkerOn(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, messages bytes.Buffer
	code = runMarker(context.Background(), args, strings.NewReader(stdin), &out, &messages)
	return code, out.String(), messages.String()
}

func TestMarkerCommand(t *testing.T) {
	t.Parallel()
	code, stdout, stderr := runMarkerOn(skirtFile, "--iterations", "100", "-")
	require.Equal(t, 0, code, stderr)
	var answer struct {
		Unit, Status  string
		Length, Bound float64
		Seed          int
		Placements    []struct{ Piece, Turn int }
	}
	require.NoError(t, json.Unmarshal([]byte(stdout), &answer))
	require.Equal(t, "in", answer.Unit)
	require.Equal(t, "optimal", answer.Status)
	require.Equal(t, 14.0, answer.Length)
	require.Equal(t, 14.0, answer.Bound)
	require.Equal(t, 1, answer.Seed)
	require.Len(t, answer.Placements, 2)
	require.Contains(t, stderr, "no marker can be shorter")
}

func TestMarkerCommandReadsFile(t *testing.T) {
	t.Parallel()
	name := filepath.Join(t.TempDir(), "skirt.json")
	require.NoError(t, os.WriteFile(name, []byte(skirtFile), 0o600))
	code, stdout, _ := runMarkerOn("", "--seconds", "0.2", "--seed", "7", name)
	require.Equal(t, 0, code)
	require.Contains(t, stdout, `"seed":7`)
}

func TestMarkerCommandBadInput(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, stdin, stderr string
		args                []string
		code                int
	}{
		{"wrong field", strings.Replace(skirtFile, `"width": 20.5`, `"width": -1`, 1), "line 3: pieces[0].width: must be above zero", []string{"-"}, 2},
		{"unknown field", strings.Replace(skirtFile, `"gap"`, `"gaps"`, 1), "line 1: gaps: this field is not known", []string{"-"}, 2},
		{"not JSON", `{"unit": "in",` + "\n}", "line 2", []string{"-"}, 2},
		{"piece too wide", strings.Replace(skirtFile, "20.5", "50", 1), "wider than the cloth", []string{"-"}, 2},
		{"no file", "", "there is no file", []string{filepath.Join(t.TempDir(), "none.json")}, 2},
		{"no argument", "", "one FILE is needed", nil, 2},
		{"unknown flag", "", "flag provided but not defined", []string{"--fast", "-"}, 2},
		{"a folder", "", "is a folder; name a file", []string{t.TempDir()}, 2},
		{"negative limit", "", "--iterations: give 0", []string{"--iterations", "-1", "-"}, 2},
		{"no number", "", "--seconds: give 0", []string{"--seconds", "NaN", "-"}, 2},
		{"no time", "", "--seconds: give 0", []string{"--seconds", "-1", "-"}, 2},
		{"fault beside the cloth", strings.Replace(skirtFile, `"gap": 0`, `"faults": [{"x": 41, "y": 0, "width": 2, "length": 1}]`, 1), "line 1: faults[0]", []string{"-"}, 2},
		{"flag after the file", "{", "line 1", []string{"-", "--seconds", "1"}, 2},
		{"help", "", "Usage: yardwright marker", []string{"--help"}, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			code, stdout, stderr := runMarkerOn(test.stdin, test.args...)
			require.Equal(t, test.code, code, stderr)
			require.Contains(t, stderr, test.stderr)
			require.Empty(t, stdout)
		})
	}
}

// TestMarkerCommandFails: what is not the input's fault is exit code 1.
func TestMarkerCommandFails(t *testing.T) {
	t.Parallel()
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	var out, messages bytes.Buffer
	require.Equal(t, 1, runMarker(ended, []string{"-"}, strings.NewReader(skirtFile), &out, &messages))
	require.Contains(t, messages.String(), "context canceled")
	require.Empty(t, out.String())

	code := runMarker(context.Background(), []string{"--iterations", "5", "-"}, strings.NewReader(skirtFile), fullDisk{}, &messages)
	require.Equal(t, 1, code)
	require.Contains(t, messages.String(), "the marker cannot be written: the disk is full")
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }

// TestMarkerCommandLeavesOut: what the longest length has no room for is counted, in words too.
func TestMarkerCommandLeavesOut(t *testing.T) {
	t.Parallel()
	short := strings.Replace(skirtFile, `"gap": 0`, `"max_length": 14`, 1)
	code, stdout, stderr := runMarkerOn(strings.Replace(short, `"copies": 2`, `"copies": 3`, 1), "--seconds", "0.000001", "-")
	require.Equal(t, 1, code, stderr)
	require.Contains(t, stdout, `"status":"partial"`)
	require.Contains(t, stdout, `"left":[1]`)
	require.Contains(t, stderr, "Left out:\n1 × ")
}

// TestMarkerCommandRepeats: the same seed and iterations, the same answer but for the time taken.
func TestMarkerCommandRepeats(t *testing.T) {
	t.Parallel()
	untimed := regexp.MustCompile(`"seconds":[0-9.]+,`)
	_, first, _ := runMarkerOn(skirtFile, "--iterations", "50", "--seed", "3", "-")
	_, second, _ := runMarkerOn(skirtFile, "--iterations", "50", "--seed", "3", "-")
	require.Equal(t, untimed.ReplaceAllString(first, ""), untimed.ReplaceAllString(second, ""))
}

func TestMarkerCommandDraws(t *testing.T) {
	t.Parallel()
	name := filepath.Join(t.TempDir(), "skirt.svg")
	for _, test := range []struct{ unit, width string }{{"in", "42 in"}, {"mm", "4.2 cm"}} {
		code, _, stderr := runMarkerOn(strings.Replace(skirtFile, `"in"`, `"`+test.unit+`"`, 1), "--iterations", "10", "--svg", name, "-")
		require.Equal(t, 0, code, stderr)
		drawn, err := os.ReadFile(name)
		require.NoError(t, err)
		require.Contains(t, string(drawn), "<svg")
		require.Contains(t, string(drawn), "skirt panel")
		require.Contains(t, string(drawn), test.width)
	}
	code, _, stderr := runMarkerOn(skirtFile, "--iterations", "10", "--svg", filepath.Join(name, "below"), "-")
	require.Equal(t, 1, code)
	require.Contains(t, stderr, "drawing cannot be written")
}

// TestMarkerOnFoldedCloth: a panel wider than half the cloth lies on the fold; the drawing says what
// the places give.
func TestMarkerOnFoldedCloth(t *testing.T) {
	t.Parallel()
	drawn := filepath.Join(t.TempDir(), "fold.svg")
	code, stdout, stderr := runMarkerOn(`{"unit":"in","width":21,"folded":true,"pieces":[
 {"name":"panel","copies":2,"width":15,"length":14,"turns":[0,180],"on_fold":true},
 {"name":"pocket","copies":4,"width":6,"length":7,"turns":[0,180]}]}`, "--iterations", "200", "--svg", drawn, "-")
	require.Equal(t, 0, code, stderr)
	require.Contains(t, stdout, `"length":28,`)
	require.Contains(t, stderr, "10 pieces on 28 in of folded cloth, 100.0 % of it used; no marker can be shorter")
	svg, err := os.ReadFile(drawn)
	require.NoError(t, err)
	for _, want := range []string{"half, on the fold", "A place on the fold gives one piece", "selvage to fold"} {
		require.Contains(t, strings.ReplaceAll(strings.Join(strings.Fields(string(svg)), " "), "\u00a0", " "), want)
	}
}

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const rollsFile = `{"unit":"cm","stock":[{"length":1000,"count":3}],"cuts":[{"length":48.5,"count":12,"name":"size 98"}]}`

func TestRollsCommand(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name, svg := filepath.Join(dir, "rolls.json"), filepath.Join(dir, "rolls.svg")
	require.NoError(t, os.WriteFile(name, []byte(rollsFile), 0o600))
	code, stdout, stderr := runPlanOn(runRolls, "", "--seed", "4", "--iterations", "10", "--svg", svg, name)
	require.Equal(t, 0, code, stderr)
	require.JSONEq(t, `{"unit":"cm","rolls":[{"stock":0,"length":1000,"cuts":[{"cut":0,"count":12,"name":"size 98"}],"left":418}],
		"opened":1,"opened_length":1000,"longest_left":418,"leftover_proven":true,"bound":1,"bound_length":1000,"status":"optimal","seed":4}`, stdout)
	require.Contains(t, stderr, "1 roll opened")
	drawing, err := os.ReadFile(svg)
	require.NoError(t, err)
	require.Contains(t, string(drawing), "left 418 cm")
	require.Equal(t, 12, strings.Count(string(drawing), "<title>size 98"))
}

func TestRollsCommandTellsWhatIsShort(t *testing.T) {
	t.Parallel()
	code, stdout, stderr := runPlanOn(runRolls, strings.Replace(rollsFile, `"count":12`, `"count":70`, 1), "-")
	require.Equal(t, 1, code)
	require.Contains(t, stdout, `"unmet":[{"cut":0,"count":10,"name":"size 98"}]`)
	require.Contains(t, stderr, "no roll is left for 10 × 48.5 cm size 98")
	code, _, stderr = runPlanOn(runRolls, strings.Replace(rollsFile, `"length":48.5`, `"length":1200`, 1), "-")
	require.Equal(t, 1, code)
	require.Contains(t, stderr, "every roll is shorter than 12 × 1200 cm size 98")
}

func TestRollsCommandBadInput(t *testing.T) {
	t.Parallel()
	name := filepath.Join(t.TempDir(), "rolls.json")
	require.NoError(t, os.WriteFile(name, []byte("{\"unit\":\"cm\",\n\"stock\":[{\"length\":0}],\n\"cuts\":[{\"length\":48.5,\n\"count\":-1}]}"), 0o600))
	code, _, stderr := runPlanOn(runRolls, "", name)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, name+":\n", "the file is named")
	require.Contains(t, stderr, "line 2: stock[0].length")
	require.Contains(t, stderr, "line 4: cuts[0].count", "every fault is named, with its line")
	code, _, stderr = runPlanOn(runRolls, "{", "-")
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "line 1")
}

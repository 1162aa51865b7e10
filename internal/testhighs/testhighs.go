// Package testhighs solves the integer programs of tests with HiGHS (npm package highs), a
// general-purpose solver.
package testhighs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Model is an integer program: the least sum of costs of whole variables of 0 or more, each row
// of which comes to what is asked.
type Model struct {
	// Costs of the variables.
	Costs []int64
	Rows  []Row
}

// Row says that the sum of its factors times their variables is, or is at least, so much.
type Row struct {
	// Factors by variable; those that are 0 are left out.
	Factors []int
	AtLeast bool
	Sum     int
}

// text is the model in the LP format.
func (m Model) text() string {
	var costs, names []string
	for i, cost := range m.Costs {
		names = append(names, fmt.Sprintf("x%d", i))
		costs = append(costs, fmt.Sprintf("%d x%d", cost, i))
	}
	text := "Minimize\n obj: " + strings.Join(costs, " + ") + "\nSubject To\n"
	for i, row := range m.Rows {
		var terms []string
		for j, factor := range row.Factors {
			if factor != 0 {
				terms = append(terms, fmt.Sprintf("%d x%d", factor, j))
			}
		}
		relation := "="
		if row.AtLeast {
			relation = ">="
		}
		text += fmt.Sprintf(" c%d: %s %s %d\n", i, strings.Join(terms, " + "), relation, row.Sum)
	}
	return text + "General\n " + strings.Join(names, " ") + "\nEnd\n"
}

// Least returns the least objective of each model.
func Least(t *testing.T, models []Model) []float64 {
	t.Helper()
	var texts []string
	for _, m := range models {
		texts = append(texts, m.text())
	}
	in, err := json.Marshal(texts)
	require.NoError(t, err)
	_, here, _, _ := runtime.Caller(0)
	command := exec.CommandContext(t.Context(), "node", filepath.Join(filepath.Dir(here), "../../testdata/lay/peers/solve.mjs"))
	command.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	command.Stderr = &stderr
	out, err := command.Output()
	require.NoError(t, err, "node and `npm ci` in testdata/lay/peers are needed (.ci/check test-tools): %s", stderr.String())
	var least []float64
	require.NoError(t, json.Unmarshal(out, &least))
	require.Len(t, least, len(models))
	return least
}

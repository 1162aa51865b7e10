package marker

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

// smallJob draws up to 12 small rectangles of whole sizes.
func smallJob(seed uint64) Instance {
	rng := rand.New(rand.NewPCG(seed, 21))
	in := Instance{Width: length.Length(5 + rng.IntN(4))}
	for copies := 3 + rng.IntN(10); copies > 0; {
		p := Piece{Copies: min(1+rng.IntN(2), copies), Width: length.Length(1 + rng.IntN(5)), Length: length.Length(1 + rng.IntN(5)), Turns: []Turn{0}}
		if rng.IntN(2) == 0 {
			p.Turns = []Turn{0, 90}
		}
		copies -= p.Copies
		in.Pieces = append(in.Pieces, p)
	}
	return in
}

// TestShortestAgainstWholeNumberProgramme compares 50 instances of up to 12 pieces with what a
// general-purpose solver (HiGHS, from npm) proves to be the shortest.
func TestShortestAgainstWholeNumberProgramme(t *testing.T) {
	t.Parallel()
	type piece struct {
		Copies int                `json:"copies"`
		Sizes  [][2]length.Length `json:"sizes"`
	}
	var input bytes.Buffer
	var results []Result
	for seed := range uint64(50) {
		in := smallJob(seed)
		r := solve(t, in, 3000)
		results = append(results, r)
		strip := struct {
			Width  length.Length `json:"width"`
			Most   length.Length `json:"most"`
			Pieces []piece       `json:"pieces"`
		}{Width: in.Width, Most: r.Length}
		for _, p := range in.Pieces {
			sizes := [][2]length.Length{{p.Width, p.Length}}
			if len(p.Turns) > 1 && p.Width != p.Length {
				sizes = append(sizes, [2]length.Length{p.Length, p.Width})
			}
			strip.Pieces = append(strip.Pieces, piece{p.Copies, sizes})
		}
		require.NoError(t, json.NewEncoder(&input).Encode(strip))
	}
	command := exec.Command("node", filepath.Join("..", "..", "testdata", "marker", "peers", "shortest.mjs"))
	command.Stdin, command.Stderr = &input, os.Stderr
	output, err := command.Output()
	require.NoError(t, err, ".ci/check test-tools installs what this needs")
	scanner := bufio.NewScanner(bytes.NewReader(output))
	for seed, r := range results {
		require.True(t, scanner.Scan(), "one answer for each instance")
		require.Equal(t, fmt.Sprint(int64(r.Length)), scanner.Text(), "seed %d: length of ours and of the programme", seed)
		require.Equal(t, StatusOptimal, r.Status, "seed %d: length %d, bound %d", seed, r.Length, r.Bound)
	}
}

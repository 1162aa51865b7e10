package ratio_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
)

// publishedRatio is a row of testdata/cutplan/instances.json; each row names its source.
type publishedRatio struct {
	Name, Source string
	Demand       []int
	MaxPlies     int       `json:"max_plies"`
	MinPlies     int       `json:"min_plies"`
	MaxGarments  int       `json:"max_garments_per_marker"`
	MaxLength    float64   `json:"max_marker_length_yd"`
	Lengths      []float64 `json:"length_per_garment_yd"`
	// Frontier says, for a number of markers, the least that is cut beyond the demand; null
	// if so few markers cannot hold it at all.
	Frontier []struct {
		Markers   int
		MinExcess *int `json:"min_excess"`
	}
	BestMarkers int     `json:"best_markers"`
	LengthYards float64 `json:"length_yd"`
}

func publishedRatios(t testing.TB) []publishedRatio {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/cutplan/instances.json")
	require.NoError(t, err)
	var rows []publishedRatio
	require.NoError(t, json.Unmarshal(data, &rows))
	require.Len(t, rows, 11)
	return rows
}

func yards(v float64) length.Length {
	return length.Length(math.Round(v*100)) * (length.Yard / 100)
}

func (r publishedRatio) problem(objective ratio.Objective, over int) ratio.Problem {
	p := ratio.Problem{
		Demand: r.Demand, MaxPlies: r.MaxPlies, MinPlies: r.MinPlies, MaxGarments: r.MaxGarments, MaxLength: yards(r.MaxLength),
		OverCut: over, Objective: objective,
	}
	for i := range r.Demand {
		p.Sizes = append(p.Sizes, fmt.Sprint(i))
	}
	for _, l := range r.Lengths {
		p.Length = append(p.Length, yards(l))
	}
	return p
}

// For every point of the exact frontiers: with so much over-cut allowed, so many markers are
// proven the fewest, and one garment less allowed needs more. Without a limit on over-cutting,
// the fewest markers are found with the least over-cut. The least cloth is that of the demand,
// and the fewest markers for it are proven.
func TestPublishedRatios(t *testing.T) {
	t.Parallel()
	for _, row := range publishedRatios(t) {
		if row.Frontier == nil {
			continue
		}
		last := row.Frontier[len(row.Frontier)-1]
		t.Run(row.Name+" without over-cut", func(t *testing.T) {
			t.Parallel()
			for _, objective := range []ratio.Objective{ratio.ObjectiveMarkers, ratio.ObjectiveLength} {
				plan := solve(t, row.problem(objective, 0))
				require.Equal(t, ratio.StatusOptimal, plan.Status, row.Source)
				require.Len(t, plan.Markers, last.Markers)
				plan = solve(t, row.problem(ratio.ObjectiveLength, ratio.AnyOverCut))
				require.Equal(t, ratio.StatusOptimal, plan.Status)
				require.Zero(t, plan.OverCut)
				require.Len(t, plan.Markers, last.Markers)
			}
		})
		for i, point := range row.Frontier {
			if point.MinExcess == nil {
				continue
			}
			t.Run(fmt.Sprintf("%s with %d markers", row.Name, point.Markers), func(t *testing.T) {
				t.Parallel()
				plan := solve(t, row.problem(ratio.ObjectiveMarkers, *point.MinExcess))
				require.Equal(t, ratio.StatusOptimal, plan.Status, row.Source)
				require.Len(t, plan.Markers, point.Markers)
				require.Equal(t, point.Markers, plan.BoundMarkers)
				require.Equal(t, *point.MinExcess, plan.OverCut)
				if *point.MinExcess > 0 {
					plan = solve(t, row.problem(ratio.ObjectiveMarkers, *point.MinExcess-1))
					require.Equal(t, ratio.StatusOptimal, plan.Status)
					require.Greater(t, len(plan.Markers), point.Markers)
				}
				if i == 0 || row.Frontier[i-1].MinExcess == nil {
					plan = solve(t, row.problem(ratio.ObjectiveMarkers, ratio.AnyOverCut))
					require.Equal(t, ratio.StatusOptimal, plan.Status)
					require.Len(t, plan.Markers, point.Markers)
					require.Equal(t, *point.MinExcess, plan.OverCut)
				}
			})
		}
	}
}

// The order of 15,094 garments: 5 markers at 17,521.22 yd with nothing over-cut; fewer are
// excluded by going through all choices of plies that could hold it.
func TestPublishedLargeOrder(t *testing.T) {
	t.Parallel()
	for _, row := range publishedRatios(t) {
		if row.BestMarkers == 0 {
			continue
		}
		plan := solve(t, row.problem(ratio.ObjectiveMarkers, 0))
		require.Len(t, plan.Markers, row.BestMarkers, row.Source)
		require.Equal(t, yards(row.LengthYards), plan.Length)
		require.Zero(t, plan.OverCut)
		require.Equal(t, ratio.StatusOptimal, plan.Status)
	}
}

func solve(t testing.TB, p ratio.Problem) ratio.Plan {
	t.Helper()
	plan, err := ratio.Solve(context.Background(), p, ratio.Params{Seed: 1})
	require.NoError(t, err)
	require.NoError(t, ratio.Verify(p, plan))
	return plan
}

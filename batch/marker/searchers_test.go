package marker

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every searcher finds something somewhere, by itself beside the starts, and nothing once it is left out.
func TestEverySearcherCanBeLeftOut(t *testing.T) {
	t.Parallel()
	var instances []Instance
	for _, p := range readPublished(t, "HT_C", "HOPPER_NT") {
		if p.name == "C1P1" || p.name == "C3P2" || p.name == "T1a" || p.name == "T2a" {
			instances = append(instances, p.instance(true, false), p.instance(false, true))
		}
	}
	require.Len(t, instances, 8)
	instances = append(instances, CuttingJob{Seed: 1, StraightCuts: true}.Instance())
	for seed := range uint64(4) {
		few := randomPieces(seed, 9, true)
		few.StraightCuts = true
		instances = append(instances, few)
	}
	for _, straight := range []bool{false, true} {
		shares := sharesOfStrips
		if straight {
			shares = sharesOfStraightCuts
		}
		for _, share := range shares {
			found := false
			for _, in := range instances {
				if in.StraightCuts != straight {
					continue
				}
				var others []string
				for _, name := range Searchers(straight) {
					if name != share.name {
						others = append(others, name)
					}
				}
				r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 3000, Without: others})
				require.NoError(t, err)
				found = found || r.Stats.Engine == share.engine
				r, err = Solve(context.Background(), in, Params{Seed: 1, Iterations: 600, Without: []string{share.name}})
				require.NoError(t, err)
				if share.engine != "exact search" {
					require.NotEqual(t, share.engine, r.Stats.Engine)
				}
			}
			require.True(t, found, "%s finds nothing", share.name)
		}
	}
	_, err := Solve(context.Background(), instances[0], Params{Iterations: 1, Without: []string{"oracle"}})
	require.ErrorContains(t, err, `there is no searcher "oracle"`)
}

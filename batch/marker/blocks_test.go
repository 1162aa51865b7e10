package marker

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

// TestBlocksHoldTheirPieces lays every block of an instance by itself and has it checked.
func TestBlocksHoldTheirPieces(t *testing.T) {
	t.Parallel()
	for _, j := range []CuttingJob{{Seed: 1, StraightCuts: true}, {Seed: 2, StraightCuts: true, OneWay: true}} {
		in := j.Instance()
		m := newModel(&in)
		require.True(t, suitsBlocks(m))
		lib := newLibrary(m)
		require.LessOrEqual(t, len(lib.blocks), mostBlocks)
		joined := 0
		for i := range lib.blocks {
			k := &lib.blocks[i]
			spots := lib.spots(nil, int32(i), 0, 0)
			require.Len(t, spots, int(k.pieces))
			counts, area := map[int32]int32{}, int64(0)
			var boxes []rect
			for _, s := range spots {
				o := m.options[s.option]
				counts[o.kind]++
				area += o.w * o.l
				boxes = append(boxes, rect{s.x, s.y, s.x + o.w, s.y + o.l})
				require.LessOrEqual(t, s.x+o.w, k.w)
				require.LessOrEqual(t, s.y+o.l, k.l)
			}
			require.Equal(t, area, k.area)
			require.Len(t, counts, len(k.uses))
			for _, u := range k.uses {
				require.Equal(t, counts[u.kind], u.count)
				require.LessOrEqual(t, int(u.count), m.kinds[u.kind].copies)
			}
			if _, ok := cutOrder(boxes, k.w, k.l); len(spots) < 12 {
				require.True(t, ok && partedBoxes(boxes), "straight cuts part a block")
				joined++
			}
		}
		require.Greater(t, joined, len(m.options))
	}
}

// TestBlockSearchLaysValidMarkers: on a job of equal pieces the search by blocks alone fills the cloth nearly
// wholly, and all that it finds is valid.
func TestBlockSearchLaysValidMarkers(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		in := CuttingJob{Seed: seed, StraightCuts: true}.Instance()
		m := newModel(&in)
		s := newBlockSearch(m, seed)
		best, bound, found := int64(2*m.longestStack()), int64(in.Bound()), 0
		for range 400 {
			if f := s.step(best, bound); f != nil {
				require.Less(t, f.end, best)
				best = f.end
				spots := s.spotsOf(f)
				r := Result{Marker: Marker{Placements: placements(m, spots)}, Status: StatusWithin, Bound: 0}
				for _, at := range spots {
					r.Length = max(r.Length, length.Length(at.y+m.options[at.option].l))
				}
				r.Cuts = cutsOf(&in, m, spots, r.Length)
				require.NoError(t, Verify(in, r))
				found++
			}
			if best <= bound {
				break
			}
		}
		require.Positive(t, found, "seed %d", seed)
		require.Less(t, float64(best), 1.6*float64(bound), "seed %d", seed)
	}
}

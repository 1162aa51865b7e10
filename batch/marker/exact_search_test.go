package marker

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// drawPlain draws a few rectangles on cloth without any further rule.
func drawPlain(t *rapid.T, pieces, widest int) Instance {
	in := Instance{Width: length.Length(rapid.IntRange(3, widest).Draw(t, "width"))}
	for range rapid.IntRange(1, pieces).Draw(t, "pieces") {
		turns := rapid.SampledFrom([][]Turn{{0}, {0, 180}, {0, 90}}).Draw(t, "turns")
		in.Pieces = append(in.Pieces, Piece{
			Copies: rapid.IntRange(1, 2).Draw(t, "copies"), Turns: turns,
			Width: length.Length(rapid.IntRange(1, int(in.Width)).Draw(t, "w")), Length: length.Length(rapid.IntRange(1, 5).Draw(t, "l")),
		})
	}
	return in
}

// TestExactSearchAgainstBruteForce: both directions refute every length below the shortest and find
// the shortest.
func TestExactSearchAgainstBruteForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawPlain(t, 3, 6)
		least := int64(shortest(t, in))
		m := newModel(&in)
		for _, across := range []bool{false, true} {
			for target := max(least-3, 1); target <= least+1; target++ {
				x := newExactSearch(m, target, across)
				for !x.goOn() {
					require.Less(t, x.nodes, 10_000_000)
				}
				x.stop()
				require.Equal(t, target >= least, len(x.found) > 0, "target %d, shortest %d, across %v", target, least, across)
			}
		}
	})
}

// randomPieces is an instance of different rectangles in eighths of an inch.
func randomPieces(seed uint64, pieces int, turned bool) Instance {
	rng := rand.New(rand.NewPCG(seed, 12))
	in := Instance{Width: length.Length(60+rng.IntN(300)) * eighth}
	for range pieces {
		p := Piece{Copies: 1, Turns: []Turn{0}, Width: length.Length(8+rng.IntN(50)) * eighth, Length: length.Length(8+rng.IntN(110)) * eighth}
		if turned {
			p.Turns = []Turn{0, 90}
		}
		in.Pieces = append(in.Pieces, p)
	}
	return in
}

// TestFewPiecesAreProven: random instances are laid to the proven optimum.
func TestFewPiecesAreProven(t *testing.T) {
	t.Parallel()
	for _, turned := range []bool{false, true} {
		pieces := 12
		if turned {
			pieces = 9
		}
		for seed := range uint64(15) {
			r := solve(t, randomPieces(seed, pieces, turned), 200_000)
			require.Equal(t, StatusOptimal, r.Status, "turned %v, seed %d, gap %.3f%%", turned, seed, r.GapPercent())
		}
	}
}

// TestFillFindsMarkersWithoutWaste: rectangles cut from a whole cloth are put together again.
func TestFillFindsMarkersWithoutWaste(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := Instance{Width: 24}
		parts := []rect{{0, 0, 24, 20}}
		for range rapid.IntRange(3, 13).Draw(t, "cuts") {
			i := rapid.IntRange(0, len(parts)-1).Draw(t, "part")
			across := rapid.Bool().Draw(t, "across")
			from, to := parts[i].span(across)
			if to-from < 2 {
				continue
			}
			at := int64(rapid.IntRange(int(from)+1, int(to)-1).Draw(t, "at"))
			p := parts[i]
			parts[i] = p.between(from, at, across)
			parts = append(parts, p.between(at, to, across))
		}
		for _, p := range parts {
			in.Pieces = append(in.Pieces, Piece{Copies: 1, Turns: []Turn{0}, Width: length.Length(p.x1 - p.x0), Length: length.Length(p.y1 - p.y0)})
		}
		m := newModel(&in)
		for _, across := range []bool{false, true} {
			f := newFill(m, 20, across, rand.New(rand.NewPCG(1, 2)))
			require.NotNil(t, f)
			for !f.search(1000) {
				require.False(t, f.exhausted, "a marker without waste is not found")
			}
			r := Result{Marker: Marker{Placements: placements(m, f.spots), Length: 20}, Status: StatusWithin}
			require.NoError(t, Verify(in, r))
		}
	})
}

// TestIndexedLaysAsTheScan: what is read off bit sets is what going over the rows finds; and a
// marker laid across keeps the rules.
func TestIndexedLaysAsTheScan(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawPlain(t, 12, 40)
		m := newModel(&in)
		w := newAnnealing(m, newStripEngine(m), 0, rapid.Uint64().Draw(t, "seed"), 0, nil)
		w.plan = startsOf(m)[0].plan.clone()
		byScan, bySets := newStripEngine(m), newStripEngine(m)
		byScan.indexable = false
		g := goal{room: noCap, target: noCap, excess: noCap}
		for range 20 {
			w.plan.rule = rule{fit: true, left: rapid.Bool().Draw(t, "left"), even: rapid.Bool().Draw(t, "even")}
			scanned, read := byScan.lay(w.plan, g), bySets.lay(w.plan, g)
			if m.width%bySets.along.unitW == 0 { // else what lies at the right is a little further left
				require.Equal(t, scanned, read)
				require.Equal(t, byScan.laid(), bySets.laid())
			}
			w.plan.rule.across = true
			aim := g
			aim.target = scanned.end + int64(rapid.IntRange(-2, 2).Draw(t, "more"))
			if out := bySets.lay(w.plan, aim); !out.stopped && out.excess == 0 {
				require.LessOrEqual(t, out.end, aim.target)
				r := Result{Marker: Marker{Placements: placements(m, bySets.laid()), Length: length.Length(out.end)}, Status: StatusWithin}
				require.NoError(t, Verify(in, r))
			}
			w.change()
		}
	})
}

// TestBeamFindsMarkersWithoutWaste: the beam puts rectangles cut from a whole cloth together again, and
// what it finds keeps the rules.
func TestBeamFindsMarkersWithoutWaste(t *testing.T) {
	t.Parallel()
	for _, p := range readPublished(t, "HT_C", "BKW_N") {
		if p.name != "C1P2" && p.name != "C2P1" && p.name != "C3P1" {
			continue
		}
		for _, variant := range []string{"given", "turned"} {
			in := p.instance(variant == "turned", false)
			m := newModel(&in)
			for _, across := range []bool{false, true} {
				end := int64(p.least[variant]) * int64(unit)
				b := newFillBeam(m, across, rand.New(rand.NewPCG(1, 2)))
				found, done := false, true
				for steps := 0; !found && steps < 400_000; steps++ {
					if done {
						require.True(t, b.begin(end))
					}
					done, found = b.step()
				}
				require.True(t, found, "%s %s, across %v", p.name, variant, across)
				r := Result{Marker: Marker{Placements: placements(m, b.spots), Length: length.Length(end)}, Status: StatusWithin}
				require.NoError(t, Verify(in, r))
			}
		}
	}
}

// TestAddSums: the sums of sizes by bits are those of a set of numbers.
func TestAddSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.IntRange(0, 300).Draw(t, "limit")
		s := make([]uint64, limit/64+1)
		s[0] = 1
		want := map[int]bool{0: true}
		n := len(s) * 64
		for range 5 {
			a := rapid.IntRange(1, limit+1).Draw(t, "a")
			b := rapid.IntRange(1, limit+1).Draw(t, "b")
			if a > limit || b > limit {
				continue
			}
			next := map[int]bool{}
			for v := range want {
				next[v] = true
				next[v+a] = true
				if a != b {
					next[v+b] = true
				}
			}
			if a == b {
				addOne(s, int64(a))
			} else {
				addTwo(s, int64(min(a, b)), int64(max(a, b)))
			}
			want = next
		}
		for v := range n {
			require.Equal(t, want[v], s[v>>6]>>(v&63)&1 == 1, v)
		}
	})
}

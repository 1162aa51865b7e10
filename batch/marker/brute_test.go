package marker

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// brute tries every place, turn and mirroring of every copy in whole units: the twin of bounds
// and search for a handful of small rectangles.
type brute struct {
	in     Instance
	pieces []int // by copy
	placed []Placement
	end    length.Length
	steps  int
}

// maxBruteSteps is how many places are tried before it is given up.
const maxBruteSteps = 30_000_000

func newBrute(in Instance, copies []int) *brute {
	b := &brute{in: in}
	for i, n := range copies {
		for range n {
			b.pieces = append(b.pieces, i)
		}
	}
	return b
}

// fits tells whether the copies can be laid up to an end.
func (b *brute) fits(end length.Length) bool {
	b.end, b.placed = end, b.placed[:0]
	return b.place(0)
}

func (b *brute) givenUp() bool { return b.steps > maxBruteSteps }

func (b *brute) place(at int) bool {
	if at == len(b.pieces) {
		return b.parted()
	}
	p := b.in.Pieces[b.pieces[at]]
	for _, turn := range p.Turns {
		for _, mirrored := range []bool{false, true} {
			allowed := !mirrored || p.MayMirror
			if p.OnFold { // its edge at the right must come to the fold at the right
				allowed = turn == 0 && !mirrored || turn == 180 && mirrored
			}
			if allowed && b.placeTurned(at, turn, mirrored) {
				return true
			}
		}
	}
	return false
}

func (b *brute) placeTurned(at int, turn Turn, mirrored bool) bool {
	w, l := turnedSize(b.in.Pieces[b.pieces[at]], turn)
	for y := length.Length(0); y+l <= b.end; y++ {
		for x := length.Length(0); x+w <= b.in.Width; x++ {
			if b.steps++; b.givenUp() {
				return false
			}
			p := Placement{Piece: b.pieces[at], X: x, Y: y, Turn: turn, Mirrored: mirrored}
			if !b.free(p, w, l) {
				continue
			}
			b.placed = append(b.placed, p)
			if b.place(at + 1) {
				return true
			}
			b.placed = b.placed[:at]
		}
	}
	return false
}

// free tells whether a placement keeps the rules beside those placed already.
func (b *brute) free(at Placement, w, l length.Length) bool {
	p, g := b.in.Pieces[at.Piece], b.in.Gap
	for _, q := range b.placed {
		other := b.in.Pieces[q.Piece]
		if p.NapGroup > 0 && p.NapGroup == other.NapGroup && (q.Turn < 180) != (at.Turn < 180) {
			return false
		}
		ow, ol := turnedSize(other, q.Turn)
		if at.X < q.X+ow+g && q.X < at.X+w+g && at.Y < q.Y+ol+g && q.Y < at.Y+l+g {
			return false
		}
		if q.Piece == at.Piece && q.Turn == at.Turn && q.Mirrored == at.Mirrored && (q.Y > at.Y || q.Y == at.Y && q.X > at.X) {
			return false // copies in order
		}
	}
	if b.in.Folded && !p.OnFold && 2*(b.in.Width-at.X-w) < g || p.OnFold && at.X+w != b.in.Width {
		return false
	}
	for _, f := range b.in.Faults {
		if at.X < f.X+f.Width && f.X < at.X+w && at.Y < f.Y+f.Length && f.Y < at.Y+l {
			return false
		}
	}
	if p.Match == nil {
		return true
	}
	m, r := turnedMatch(p, at.Turn, at.Mirrored), b.in.Repeat
	return (r.Width == 0 || (at.X+m.X)%r.Width == 0) && (r.Length == 0 || (at.Y+m.Y)%r.Length == 0)
}

// parted tells whether straight cuts part the copies, if they must: whether some cut leaves
// copies on both sides and each side can be parted.
func (b *brute) parted() bool {
	if !b.in.StraightCuts {
		return true
	}
	boxes := make([]rect, len(b.placed))
	for i, p := range b.placed {
		w, l := turnedSize(b.in.Pieces[p.Piece], p.Turn)
		boxes[i] = rect{int64(p.X), int64(p.Y), int64(p.X + w), int64(p.Y + l)}
	}
	return partedBoxes(boxes)
}

func partedBoxes(boxes []rect) bool {
	if len(boxes) <= 1 {
		return true
	}
	for _, across := range []bool{true, false} {
		for _, cut := range boxes {
			_, at := cut.span(across)
			var before, behind []rect
			for _, b := range boxes {
				if from, to := b.span(across); to <= at {
					before = append(before, b)
				} else if from >= at {
					behind = append(behind, b)
				}
			}
			if len(behind) > 0 && len(before)+len(behind) == len(boxes) && partedBoxes(before) && partedBoxes(behind) {
				return true
			}
		}
	}
	return false
}

// drawInstance draws a handful of small rectangles with every rule of the cloth, which can be laid.
func drawInstance(t *rapid.T) Instance {
	return drawInstanceOn(t, rapid.IntRange(0, 3).Draw(t, "folded") == 0)
}

// drawInstanceOn draws them for cloth that is folded or not.
func drawInstanceOn(t *rapid.T, folded bool) Instance {
	return rapid.Custom(func(t *rapid.T) Instance { return drawRules(t, folded) }).
		Filter(func(in Instance) bool { return in.Check() == nil }).Draw(t, "instance")
}

func drawRules(t *rapid.T, folded bool) Instance {
	size := func(name string, low, high int) length.Length {
		return length.Length(rapid.IntRange(low, high).Draw(t, name))
	}
	in := Instance{Width: size("width", 4, 7), Gap: size("gap", 0, 1), Folded: folded}
	if rapid.IntRange(0, 2).Draw(t, "repeats") == 0 {
		in.Repeat = Repeat{Width: size("repeat width", 0, 3), Length: size("repeat length", 0, 3)}
	}
	for range rapid.IntRange(0, 2).Draw(t, "faults") {
		w := size("fault width", 1, 3)
		in.Faults = append(in.Faults, Fault{X: size("fault x", 0, int(in.Width-w)), Y: size("fault y", 0, 6), Width: w, Length: size("fault length", 1, 3)})
	}
	turns := [][]Turn{{0}, {180}, {0, 180}, {0, 90}, {0, 90, 180, 270}}
	for range rapid.IntRange(1, 3).Draw(t, "pieces") {
		p := Piece{
			Copies: rapid.IntRange(1, 2).Draw(t, "copies"), Width: size("w", 1, 4), Length: size("l", 1, 4),
			Turns: rapid.SampledFrom(turns).Draw(t, "turns"), NapGroup: rapid.IntRange(0, 1).Draw(t, "nap"),
		}
		if rapid.Bool().Draw(t, "matched") {
			p.Match = &Point{size("match x", -1, 3), size("match y", -1, 3)}
			p.MayMirror = rapid.Bool().Draw(t, "mirror")
		}
		p.OnFold = in.Folded && rapid.Bool().Draw(t, "on the fold")
		in.Pieces = append(in.Pieces, p)
	}
	return in
}

// shortest returns the length of the shortest marker, counted up from three units below the bound,
// where nothing must fit.
func shortest(t *rapid.T, in Instance) length.Length {
	copies := make([]int, len(in.Pieces))
	for i, p := range in.Pieces {
		copies[i] = p.Copies
	}
	b := newBrute(in, copies)
	end := max(in.Bound()-3, 0)
	for !b.fits(end) {
		if b.givenUp() {
			t.Skip("too many ways to try")
		}
		end++
	}
	if !in.StraightCuts {
		require.NoError(t, Verify(in, Result{Marker: Marker{Placements: b.placed, Length: end}, Status: StatusWithin}))
	}
	return end
}

// TestShortestAgainstBruteForce: bound ≤ optimum ≤ length found, with and without straight cuts.
func TestShortestAgainstBruteForce(t *testing.T) {
	t.Parallel()
	for _, straight := range []bool{false, true} {
		t.Run(fmt.Sprintf("straight cuts %v", straight), func(t *testing.T) {
			t.Parallel()
			tried, tight, found := 0, 0, 0
			rapid.Check(t, func(t *rapid.T) {
				in := drawInstance(t)
				in.StraightCuts = straight
				least := shortest(t, in)
				require.LessOrEqual(t, in.Bound(), least, "the bound is above a valid marker")
				r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 400})
				require.NoError(t, err)
				requireValid(t, in, r)
				require.GreaterOrEqual(t, r.Length, least, "shorter than any marker")
				require.LessOrEqual(t, r.Bound, least, "the search refutes a valid marker")
				tried++
				if in.Bound() == least {
					tight++
				}
				if r.Length == least {
					found++
				}
			})
			t.Logf("%d instances, bound met in %d, optimum found in %d", tried, tight, found)
			require.Greater(t, tried, 20)
			require.Greater(t, 2*tight, tried, "the bound is seldom met")
			require.Greater(t, 10*found, 7*tried, "the optimum is seldom found")
		})
	}
}

// TestValueAgainstBruteForce: with a longest length too short for everything, value found ≤ best
// value ≤ bound.
func TestValueAgainstBruteForce(t *testing.T) {
	t.Parallel()
	tried, found := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstance(t)
		in.MaxLength = length.Length(rapid.IntRange(2, 6).Draw(t, "longest"))
		byValue := rapid.Bool().Draw(t, "values")
		for i := range in.Pieces {
			if byValue {
				in.Pieces[i].Value = int64(rapid.IntRange(0, 5).Draw(t, "value"))
			}
		}
		r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 400})
		require.NoError(t, err)
		requireValid(t, in, r)
		best, all := bestValue(in)
		if best < 0 {
			t.Skip("too many ways to try")
		}
		tried++
		if r.Status != StatusPartial {
			require.True(t, all, "everything is laid though it does not fit")
			found++
			return
		}
		require.LessOrEqual(t, r.Value, best)
		require.GreaterOrEqual(t, r.ValueBound, best)
		if r.Value == best {
			found++
		}
	})
	t.Logf("%d instances, best value found in %d", tried, found)
	require.Greater(t, tried, 20)
	require.Greater(t, 10*found, 7*tried, "the best value is seldom found")
}

// TestPiecesOfAGroupLeftOut: one of the group can only lie turned, where its match point leaves it no
// room; the other can lie upright if the first is left out. So the value of one piece can be had.
func TestPiecesOfAGroupLeftOut(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 4, MaxLength: 2, Repeat: Repeat{Length: 3}, Pieces: []Piece{
		{Copies: 1, Width: 1, Length: 1, Turns: []Turn{180}, NapGroup: 1, Match: &Point{}},
		{Copies: 1, Width: 1, Length: 1, Turns: []Turn{0, 180}, NapGroup: 1, Match: &Point{}},
	}}
	r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 400})
	require.NoError(t, err)
	requireValid(t, in, r)
	require.Equal(t, []int{1, 0}, r.Left)
	require.Equal(t, int64(1), r.Value)
	require.GreaterOrEqual(t, r.ValueBound, r.Value)
}

// bestValue returns the most value that fits on the longest length, and whether all copies fit;
// −1 if there are too many ways to try.
func bestValue(in Instance) (best int64, all bool) {
	byArea := true
	for _, p := range in.Pieces {
		byArea = byArea && p.Value == 0
	}
	copies := make([]int, len(in.Pieces))
	for {
		b := newBrute(in, copies)
		if b.fits(in.MaxLength) {
			value := int64(0)
			all = true
			for i, n := range copies {
				one := in.Pieces[i].Value
				if byArea {
					one = int64(in.Pieces[i].Area())
				}
				value += int64(n) * one
				all = all && n == in.Pieces[i].Copies
			}
			best = max(best, value)
			if all {
				return best, true
			}
		}
		if b.givenUp() {
			return -1, false
		}
		i := 0
		for ; i < len(copies); i++ {
			if copies[i]++; copies[i] <= in.Pieces[i].Copies {
				break
			}
			copies[i] = 0
		}
		if i == len(copies) {
			return best, false
		}
	}
}

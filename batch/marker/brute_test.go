package marker

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// brute tries every place of every piece in whole units: the twin of bounds and search for a
// handful of small rectangles.
type brute struct {
	in     Instance
	pieces []int // by copy
	placed []Placement
	end    length.Length
	steps  int
}

// fits tells whether the copies can be laid up to an end.
func (b *brute) fits(end length.Length) bool {
	b.end, b.placed = end, b.placed[:0]
	return b.place(0)
}

func (b *brute) place(at int) bool {
	if at == len(b.pieces) {
		return true
	}
	p := b.in.Pieces[b.pieces[at]]
	for _, turn := range p.Turns {
		w, l := p.Width, p.Length
		if turn%180 != 0 {
			w, l = l, w
		}
		for y := length.Length(0); y+l <= b.end; y++ {
			for x := length.Length(0); x+w <= b.in.Width; x++ {
				if b.steps++; b.steps > 30_000_000 {
					return false
				}
				if !b.free(at, x, y, w, l, turn) {
					continue
				}
				b.placed = append(b.placed, Placement{Piece: b.pieces[at], X: x, Y: y, Turn: turn})
				if b.place(at + 1) {
					return true
				}
				b.placed = b.placed[:at]
			}
		}
	}
	return false
}

func (b *brute) free(at int, x, y, w, l length.Length, turn Turn) bool {
	p := b.in.Pieces[b.pieces[at]]
	for i, q := range b.placed {
		other := b.in.Pieces[q.Piece]
		if p.NapGroup > 0 && p.NapGroup == other.NapGroup && (q.Turn < 180) != (turn < 180) {
			return false
		}
		ow, ol := other.Width, other.Length
		if q.Turn%180 != 0 {
			ow, ol = ol, ow
		}
		g := b.in.Gap
		if x < q.X+ow+g && q.X < x+w+g && y < q.Y+ol+g && q.Y < y+l+g {
			return false
		}
		if b.pieces[i] == b.pieces[at] && (q.Y > y || q.Y == y && q.X > x) && q.Turn == turn {
			return false // copies in order
		}
	}
	for _, f := range b.in.Faults {
		if x < f.X+f.Width && f.X < x+w && y < f.Y+f.Length && f.Y < y+l {
			return false
		}
	}
	if p.Match != nil {
		mx, my := p.Match.X, p.Match.Y
		switch turn {
		case 90:
			mx, my = p.Length-my, mx
		case 180:
			mx, my = p.Width-mx, p.Length-my
		case 270:
			mx, my = my, p.Width-mx
		}
		if r := b.in.Repeat; r.Width > 0 && (x+mx)%r.Width != 0 || r.Length > 0 && (y+my)%r.Length != 0 {
			return false
		}
	}
	return true
}

// drawInstance draws a handful of small rectangles with every rule of the cloth.
func drawInstance(t *rapid.T) Instance {
	size := func(name string, low, high int) length.Length {
		return length.Length(rapid.IntRange(low, high).Draw(t, name))
	}
	in := Instance{Width: size("width", 4, 7), Gap: size("gap", 0, 1)}
	if rapid.IntRange(0, 2).Draw(t, "repeats") == 0 {
		in.Repeat = Repeat{Width: size("repeat width", 0, 3), Length: size("repeat length", 0, 3)}
	}
	for range rapid.IntRange(0, 2).Draw(t, "faults") {
		w := size("fault width", 1, 3)
		in.Faults = append(in.Faults, Fault{X: size("fault x", 0, int(in.Width-w)), Y: size("fault y", 0, 6), Width: w, Length: size("fault length", 1, 3)})
	}
	turns := [][]Turn{{0}, {0, 180}, {0, 90}, {0, 90, 180, 270}}
	for range rapid.IntRange(1, 3).Draw(t, "pieces") {
		p := Piece{Copies: rapid.IntRange(1, 2).Draw(t, "copies"), Width: size("w", 1, 4), Length: size("l", 1, 4),
			Turns: rapid.SampledFrom(turns).Draw(t, "turns"), NapGroup: rapid.IntRange(0, 1).Draw(t, "nap")}
		if rapid.Bool().Draw(t, "matched") {
			p.Match = &Point{size("match x", -1, 3), size("match y", -1, 3)}
		}
		in.Pieces = append(in.Pieces, p)
	}
	return in
}

func (b *brute) reset(in Instance, copies []int) {
	*b = brute{in: in}
	for i, n := range copies {
		for range n {
			b.pieces = append(b.pieces, i)
		}
	}
}

// TestBoundAgainstBruteForce: bound ≤ optimum ≤ length found, with and without straight cuts.
func TestBoundAgainstBruteForce(t *testing.T) {
	t.Parallel()
	tried, tight, found := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstance(t)
		if in.Check() != nil {
			t.Skip("cannot be laid")
		}
		var b brute
		copies := make([]int, len(in.Pieces))
		for i, p := range in.Pieces {
			copies[i] = p.Copies
		}
		b.reset(in, copies)
		bound := in.Bound()
		end := max(bound-3, 0) // below the bound nothing must fit
		for !b.fits(end) {
			if b.steps > 30_000_000 {
				t.Skip("too many ways to try")
			}
			end++
		}
		require.LessOrEqual(t, bound, end, "the bound is above a valid marker: %v", b.placed)
		tried++
		r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 400})
		require.NoError(t, err)
		require.GreaterOrEqual(t, r.Length, end, "shorter than any marker")
		if bound == end {
			tight++
		}
		if r.Length == end {
			found++
		}
		in.StraightCuts = true
		r, err = Solve(context.Background(), in, Params{Seed: 1, Iterations: 100})
		require.NoError(t, err)
		require.GreaterOrEqual(t, r.Length, end)
	})
	t.Logf("%d instances, bound met in %d, optimum found in %d", tried, tight, found)
	require.Greater(t, tried, 20)
	require.Greater(t, 10*tight, 6*tried, "the bound is seldom met")
	require.Greater(t, 10*found, 8*tried, "the optimum is seldom found")
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
		if in.Check() != nil {
			t.Skip("cannot be laid")
		}
		r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 400})
		require.NoError(t, err)
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
	require.Greater(t, 10*found, 8*tried, "the best value is seldom found")
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
		var b brute
		b.reset(in, copies)
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
		if b.steps > 30_000_000 {
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

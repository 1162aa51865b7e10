package marker

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// mostBeside returns the most width up to free that pieces left take side by side, by trying each
// choice of them.
func mostBeside(m *model, left []int32, side, along []int64, free, horizon int64) int64 {
	most := int64(0)
	var try func(k int, taken int64)
	try = func(k int, taken int64) {
		if taken > free {
			return
		}
		if k == len(m.kinds) {
			most = max(most, taken)
			return
		}
		var copies func(n int32, from int32, taken int64)
		copies = func(n, from int32, taken int64) {
			try(k+1, taken)
			for o := from; o < m.kinds[k].last && n > 0; o++ {
				if along[o] <= horizon {
					copies(n-1, o, taken+side[o])
				}
			}
		}
		copies(left[k], m.kinds[k].first, taken)
	}
	try(0, 0)
	return most
}

// TestSideSums: the most that pieces left take side by side is what trying each choice of them
// gives, whichever are left, and asked for twice.
func TestSideSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawPlain(t, 4, 9)
		stretch := length.Length(rapid.SampledFrom([]int{1, 3, 40}).Draw(t, "stretch"))
		in.Width *= stretch
		for i := range in.Pieces {
			in.Pieces[i].Width *= stretch
			in.Pieces[i].Length *= stretch
		}
		m := newModel(&in)
		var side, along []int64
		for _, o := range m.options {
			side, along = append(side, o.w), append(along, o.l)
		}
		horizon := int64(rapid.IntRange(1, 6).Draw(t, "horizon") * int(stretch))
		s := newSideSums(m, side, along, m.width, horizon)
		for range 4 {
			var left []int32
			for _, k := range m.kinds {
				left = append(left, int32(rapid.IntRange(0, k.copies).Draw(t, "left")))
			}
			free := int64(rapid.IntRange(0, int(m.width)).Draw(t, "free"))
			want := mostBeside(m, left, side, along, free, horizon)
			for range 2 {
				require.Equal(t, want, s.upTo(s.of(m, left), free), "left %v, free %d", left, free)
			}
		}
	})
}

// TestSideSumsOfManyUnits: in a room of too many units nothing is known, so that all of it may be
// taken.
func TestSideSumsOfManyUnits(t *testing.T) {
	t.Parallel()
	in := Instance{Width: maxSideSums + 1, Pieces: []Piece{{Copies: 2, Width: 1, Length: 2, Turns: []Turn{0}}}}
	m := newModel(&in)
	s := newSideSums(m, []int64{1}, []int64{2}, m.width, 2)
	require.NotNil(t, newSideSums(m, []int64{2}, []int64{2}, m.width, 2), "halves of it are few enough")
	require.Nil(t, s)
	require.EqualValues(t, 13, s.upTo(s.of(m, []int32{1}), 13))
}

// TestStatesAreRemembered: a state stays known while the table grows.
func TestStatesAreRemembered(t *testing.T) {
	t.Parallel()
	x := &exactSearch{hopeless: make([][2]uint64, fewHopeless)}
	known := func(state [2]uint64) bool { return x.hopeless[state[0]%uint64(len(x.hopeless))] == state }
	for n := range uint64(fewHopeless) {
		x.nodes = int(n)
		x.remember([2]uint64{n + 1, n})
	}
	x.nodes = 1 << 30
	for n := range uint64(2 * fewHopeless) {
		x.remember([2]uint64{1<<40 + 7*n, n})
	}
	require.Len(t, x.hopeless, mostHopeless)
	for n := range uint64(fewHopeless) {
		require.True(t, known([2]uint64{n + 1, n}) || n%7 == 6, n)
	}
	for n := range uint64(2 * fewHopeless) {
		require.True(t, known([2]uint64{1<<40 + 7*n, n}), n)
	}
}

package batch_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
)

func layOf(long, end length.Length) lay.Lay {
	l := lay.Lay{PlyLength: long + 2*end}
	l.Marker.Length = long
	return l
}

// A marker of 79.26 in with half an inch at each end: 79¼ + ½ + ½ is 80¼, not 80⅜.
func TestMarksOfALayAddUp(t *testing.T) {
	t.Parallel()
	var inches length.Style
	own, other := batch.MarksOf(layOf(79*inch+26*inch/100, inch/2), inches)
	require.Equal(t, []string{"79¼ in", "½ in", "80¼ in"}, []string{inches.Piece(own.Marker), inches.Piece(own.EndLoss), inches.Piece(own.Ply)})
	require.Equal(t, []string{"201.3 cm", "1.3 cm", "203.9 cm"}, []string{inches.Other().Piece(other.Marker), inches.Other().Piece(other.EndLoss), inches.Other().Piece(other.Ply)})
	own, _ = batch.MarksOf(layOf(79*inch+26*inch/100, 0), inches)
	require.Equal(t, "79⅜ in", inches.Piece(own.Ply), "without ends the marker must fit")
}

func TestMarksOfAnyLayAddUpAsTheyArePrinted(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		units := rapid.SampledFrom([]length.Style{{}, {Fraction: 16}, {System: length.Metric}}).Draw(t, "units")
		l := layOf(length.Length(rapid.Int64Range(800_000, 80_000_000).Draw(t, "marker")), length.Length(rapid.SampledFrom([]int64{0, 1000, 11_000, 101_600, 203_200}).Draw(t, "end")))
		own, other := batch.MarksOf(l, units)
		read := func(text string) length.Length {
			value, err := length.Parse(text, length.Inches)
			require.NoError(t, err)
			return value
		}
		for _, m := range []struct {
			batch.Marks
			length.Style
		}{{own, units}, {other, units.Other()}} {
			require.Equal(t, read(m.Style.Piece(m.Ply)), read(m.Style.Piece(m.Marks.Marker))+2*read(m.Style.Piece(m.Marks.EndLoss)))
		}
		require.GreaterOrEqual(t, own.Ply, l.Marker.Length, "the marker fits on the ply that is marked")
		require.Less(t, own.Ply, l.PlyLength+2*units.Step())
	})
}

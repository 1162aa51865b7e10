package marker

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

// FuzzVerifyRefuses moves, turns, drops and doubles pieces of a good marker of whole units. Verify
// must refuse it unless painting it square by square finds nothing wrong, and the other way round.
func FuzzVerifyRefuses(f *testing.F) {
	f.Add(uint64(1), uint8(0), uint8(0), int8(1), int8(0), uint8(0))
	f.Add(uint64(2), uint8(1), uint8(1), int8(0), int8(0), uint8(1))
	f.Add(uint64(3), uint8(2), uint8(2), int8(-3), int8(2), uint8(2))
	f.Add(uint64(4), uint8(3), uint8(3), int8(0), int8(-1), uint8(3))
	f.Fuzz(func(t *testing.T, seed uint64, how, which uint8, across, along int8, turns uint8) {
		in := smallJob(seed)
		r, err := Solve(context.Background(), in, Params{Seed: seed, Iterations: 5})
		require.NoError(t, err)
		r.Status, r.Bound = StatusWithin, 0
		i := int(which) % len(r.Placements)
		p := &r.Placements[i]
		switch how % 4 {
		case 0:
			p.X, p.Y = p.X+length.Length(across), p.Y+length.Length(along)
		case 1:
			p.Turn = (p.Turn + Turn(turns%4)*90) % 360
		case 2:
			r.Placements = append(r.Placements[:i], r.Placements[i+1:]...)
		case 3:
			other := r.Placements[(i+1+int(turns))%len(r.Placements)]
			p.X, p.Y = other.X, other.Y
		}
		r.Length = 0
		for _, p := range r.Placements {
			_, l := turnedSize(in.Pieces[p.Piece], p.Turn)
			r.Length = max(r.Length, p.Y+l)
		}
		err = Verify(in, r)
		require.Equal(t, paintedWell(in, r), err == nil, "%v", err)
	})
}

// paintedWell tells whether a marker of rectangles holds each copy once in an allowed turn, inside
// the cloth, with no square covered twice.
func paintedWell(in Instance, r Result) bool {
	if len(r.Placements) != in.copies() {
		return false
	}
	covered := map[Point]bool{}
	for _, p := range r.Placements {
		piece := in.Pieces[p.Piece]
		allowed := false
		for _, turn := range piece.Turns {
			allowed = allowed || turn == p.Turn
		}
		if !allowed {
			return false
		}
		w, l := turnedSize(piece, p.Turn)
		for x := p.X; x < p.X+w; x++ {
			for y := p.Y; y < p.Y+l; y++ {
				if x < 0 || x >= in.Width || y < 0 || covered[Point{x, y}] {
					return false
				}
				covered[Point{x, y}] = true
			}
		}
	}
	return true
}

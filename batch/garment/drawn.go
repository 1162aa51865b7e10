package garment

import (
	"fmt"
	"slices"

	"yardwright/batch/length"
)

// MostDrawnPoints is how many points the outline of a piece may have that was taken from a
// drawing; unfolded, it still can be laid.
const MostDrawnPoints = 480

// longestSeam is more than any seam allowance.
const longestSeam = 10 * length.Centimetre

func checkDrawn(problems *Problems, field string, piece Piece) {
	if len(piece.Points) > 0 {
		problems.add(field+".points", "an outline is either drawn or made of points, not both")
	}
	for size, points := range piece.Drawn {
		if len(points) < 3 || len(points) > MostDrawnPoints {
			problems.add(field+".drawn", "the outline %s has %d points; it may have 3 to %d", size, len(points), MostDrawnPoints)
		}
		if slices.ContainsFunc(points, func(p Point) bool { return p.X < 0 || p.Y < 0 || p.X > longestCut || p.Y > longestCut }) {
			problems.add(field+".drawn", "the outline %s has a point outside its box", size)
		}
	}
	if piece.Seam < 0 || piece.Seam > longestSeam {
		problems.add(field+".seam", "write an allowance from 0 to 10 cm")
	}
}

// drawnIn is the drawn outline in a size.
func (p Piece) drawnIn(size string) ([]Point, *fieldError) {
	outline, ok := p.Drawn[size]
	if !ok {
		outline, ok = p.Drawn[""]
	}
	if !ok || len(outline) == 0 {
		return nil, &fieldError{"drawn", fmt.Sprintf("there is no outline for size %s", size)}
	}
	return slices.Clone(outline), nil
}

func drawnLine(piece Piece, size string) ([]vector, *fieldError) {
	outline, failed := piece.drawnIn(size)
	line := make([]vector, len(outline))
	for i, p := range outline {
		line[i] = vector{p.X.Millimetres(), p.Y.Millimetres()}
	}
	return line, failed
}

// drawnAmounts is the same allowance at every edge, if it is known.
func drawnAmounts(piece Piece) edgeAmounts {
	if piece.Seam <= 0 {
		return edgeAmounts{why: "the drawing doesn't say how wide the seam allowance is; mark your own seam line"}
	}
	amount := piece.Seam.Millimetres()
	return edgeAmounts{known: true, side: amount, top: amount, bottom: amount}
}

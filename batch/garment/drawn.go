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
}

// checkSeams checks the allowances that are stated within an outline or a table.
func checkSeams(problems *Problems, field string, piece Piece) {
	for _, one := range []struct {
		name string
		seam *length.Length
	}{{".seam", &piece.Seam}, {".seam_top", piece.SeamTop}, {".seam_bottom", piece.SeamBottom}} {
		if one.seam != nil && (*one.seam < 0 || *one.seam > longestSeam) {
			problems.add(field+one.name, "write an allowance from 0 to 10 cm")
		}
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

// statedAmounts are the allowances that the maker has stated, if they are known.
func statedAmounts(piece Piece) edgeAmounts {
	side := piece.Seam.Millimetres()
	amounts := edgeAmounts{side: side, top: side, bottom: side}
	if piece.SeamTop != nil {
		amounts.top = piece.SeamTop.Millimetres()
	}
	if piece.SeamBottom != nil {
		amounts.bottom = piece.SeamBottom.Millimetres()
	}
	amounts.known = amounts.side > 0 || amounts.top > 0 || amounts.bottom > 0
	switch {
	case amounts.known:
	case len(piece.Drawn) > 0:
		amounts.why = "the drawing doesn't say how wide the seam allowances are; state them at the piece, or mark your own seam line"
	default:
		amounts.why = "the cut sizes don't say how wide the seam allowances in them are; state them at the piece, or mark your own seam line"
	}
	return amounts
}

package batch

import (
	"fmt"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Turns returns the turns that a piece may take on a cloth. A piece keeps its grain to the
// warp; a one-way nap or print keeps it upright; a quarter turn is only free for a piece of
// any grain (or on the bias) on cloth that looks the same both ways.
func Turns(grain garment.Grain, nap Nap, directional bool) []marker.Turn {
	base := marker.Turn(0)
	if grain == garment.Crosswise {
		base = 90
	}
	turns := []marker.Turn{base}
	if nap != NapOneWay {
		turns = append(turns, base+180)
	}
	if (grain == garment.AnyGrain || grain == garment.Bias) && nap == NapEitherWay && !directional {
		turns = append(turns, 90, 270)
	}
	return turns
}

// PiecesOn returns what one garment of a graded style takes from the cloths of a colourway
// that are the given cloth, in cut sizes with shrinkage.
func PiecesOn(graded garment.Graded, colourway Colourway, cloth Cloth, step length.Length) ([]lay.Piece, error) {
	var pieces []lay.Piece
	for _, cut := range graded.Pieces {
		if colourway.Cloths[cut.Role] != cloth.ID {
			continue
		}
		shrunk, err := cloth.shrinkage().Shrink(cut, step)
		if err != nil {
			return nil, fmt.Errorf("piece %s, size %s: %w", cut.Name, graded.Size, err)
		}
		pieces = append(pieces, layPieces(shrunk, graded.Size, cloth)...)
	}
	return pieces, nil
}

// layPieces turns a cut piece into pieces to lay: one, or a left and a right one.
func layPieces(cut garment.CutPiece, size string, cloth Cloth) []lay.Piece {
	piece := lay.Piece{
		Name: cut.Name + " " + size, Copies: cut.Copies, Width: cut.Width, Length: cut.Length,
		Turns: Turns(cut.Grain, cloth.Nap, cloth.Directional),
	}
	if cloth.Repeat != (marker.Repeat{}) {
		piece.Match = &marker.Point{}
	}
	if cut.Outline == nil {
		return []lay.Piece{piece}
	}
	piece.Outline = make([]marker.Point, len(cut.Outline))
	for i, point := range cut.Outline {
		piece.Outline[i] = marker.Point{X: point.X, Y: point.Y}
	}
	if !cut.Pair {
		return []lay.Piece{piece}
	}
	left := piece
	left.Name, left.Copies = cut.Name+" "+size+" face down", cut.Copies/2
	left.Outline = mirrored(piece.Outline, piece.Width)
	piece.Name, piece.Copies = cut.Name+" "+size+" face up", cut.Copies/2
	return []lay.Piece{piece, left}
}

// mirrored turns an outline over, left to right.
func mirrored(outline []marker.Point, width length.Length) []marker.Point {
	over := make([]marker.Point, len(outline))
	for i, point := range outline {
		over[len(outline)-1-i] = marker.Point{X: width - point.X, Y: point.Y}
	}
	return over
}

// fitsAcross tells whether a piece lies inside a width in one of its turns.
func fitsAcross(piece lay.Piece, width length.Length) bool { return leastAcross(piece) <= width }

// leastAcross is how much width a piece needs in the best of its turns.
func leastAcross(piece lay.Piece) length.Length {
	least := max(piece.Width, piece.Length)
	for _, turn := range piece.Turns {
		if turn%180 == 0 {
			least = min(least, piece.Width)
		} else {
			least = min(least, piece.Length)
		}
	}
	return least
}

// pieceArea returns the area of one copy.
func pieceArea(piece lay.Piece) (length.Area, error) {
	if len(piece.Outline) == 0 {
		return length.Times(piece.Width, piece.Length)
	}
	return OutlineArea(piece.Outline)
}

// OutlineArea returns the area inside a simple outline, in either direction.
func OutlineArea(outline []marker.Point) (length.Area, error) {
	var twice length.Area
	for i, point := range outline {
		next := outline[(i+1)%len(outline)]
		forward, err := length.Times(point.X, next.Y)
		if err != nil {
			return 0, err
		}
		back, err := length.Times(next.X, point.Y)
		if err != nil {
			return 0, err
		}
		if twice, err = twice.Plus(forward - back); err != nil {
			return 0, err
		}
	}
	return max(twice, -twice) / 2, nil
}

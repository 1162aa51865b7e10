package marker

import (
	"slices"

	"yardwright/batch/length"
)

// Area returns the area of one copy, of its outline if it has one. A half unit of area
// is dropped.
func (p Piece) Area() length.Area {
	if len(p.Outline) == 0 {
		return length.Area(p.Width) * length.Area(p.Length)
	}
	twice := twiceArea(p.Outline)
	if twice.sign() < 0 {
		twice = wide{}.minus(twice)
	}
	return length.Area(uint64(twice.high)<<63 | twice.low>>1)
}

// corners returns the outline at turn 0, of a rectangle too.
func (p Piece) corners() []Point {
	if len(p.Outline) > 0 {
		return p.Outline
	}
	return []Point{{0, 0}, {p.Width, 0}, {p.Width, p.Length}, {0, p.Length}}
}

// Shape returns the outline of a placed copy in the coordinates of the cloth, always
// counter-clockwise. It is for drawing as well as for cutting lines.
func (in Instance) Shape(p Placement) []Point {
	piece := in.Pieces[p.Piece]
	corners := piece.corners()
	outline := make([]Point, len(corners))
	for i, corner := range corners {
		if p.Mirrored {
			corner.X = piece.Width - corner.X
		}
		turned := corner
		switch p.Turn {
		case 90:
			turned = Point{piece.Length - corner.Y, corner.X}
		case 180:
			turned = Point{piece.Width - corner.X, piece.Length - corner.Y}
		case 270:
			turned = Point{corner.Y, piece.Width - corner.X}
		}
		outline[i] = Point{p.X + turned.X, p.Y + turned.Y}
	}
	if twiceArea(outline).sign() < 0 {
		slices.Reverse(outline)
	}
	return outline
}

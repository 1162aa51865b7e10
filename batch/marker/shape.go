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
		at := piece.move(corner, p.Turn, p.Mirrored)
		outline[i] = Point{p.X + at.X, p.Y + at.Y}
	}
	if twiceArea(outline).sign() < 0 {
		slices.Reverse(outline)
	}
	return outline
}

// move returns where a point of a piece comes to lie on the box of the piece mirrored and turned.
func (p *Piece) move(at Point, turn Turn, mirrored bool) Point {
	if mirrored {
		at.X = p.Width - at.X
	}
	switch turn {
	case 90:
		return Point{p.Length - at.Y, at.X}
	case 180:
		return Point{p.Width - at.X, p.Length - at.Y}
	case 270:
		return Point{at.Y, p.Width - at.X}
	}
	return at
}

// side tells on which side of the line from a to b the point c lies: 1 left, −1 right, 0 on it.
func side(a, b, c Point) int {
	return product(int64(b.X-a.X), int64(c.Y-a.Y)).minus(product(int64(b.Y-a.Y), int64(c.X-a.X))).sign()
}

// within tells whether c, known to lie on the line through a and b, lies between them or on one.
func within(a, b, c Point) bool {
	return min(a.X, b.X) <= c.X && c.X <= max(a.X, b.X) && min(a.Y, b.Y) <= c.Y && c.Y <= max(a.Y, b.Y)
}

// crossing tells whether the segments ab and cd cross at a point inside both.
func crossing(a, b, c, d Point) bool {
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// meeting tells whether the segments ab and cd have any point in common.
func meeting(a, b, c, d Point) bool {
	abc, abd, cda, cdb := side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
	return abc*abd < 0 && cda*cdb < 0 ||
		abc == 0 && within(a, b, c) || abd == 0 && within(a, b, d) ||
		cda == 0 && within(c, d, a) || cdb == 0 && within(c, d, b)
}

// twiceArea returns twice the signed area of a polygon, positive if it runs counter-clockwise.
func twiceArea(outline []Point) wide {
	var sum wide
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		sum = sum.plus(product(int64(p.X), int64(q.Y))).minus(product(int64(q.X), int64(p.Y)))
	}
	return sum
}

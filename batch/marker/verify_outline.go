package marker

import (
	"yardwright/batch/length"
)

// polygonsOverlap tells whether the interiors of two simple polygons have a point in common.
//
// If two edges cross inside both, they do. If none do, the outlines meet at most in corners and
// in stretches between corners; then the interiors overlap exactly if some stretch of one
// outline, between neighbouring corners of either, runs through the inside of the other, or if
// the outlines are one and the same. Stretches are judged by their midpoints; all coordinates
// are doubled first, so that midpoints are whole numbers.
func polygonsOverlap(a, b []Point) bool {
	for i := range a {
		for j := range b {
			if crossing(a[i], a[(i+1)%len(a)], b[j], b[(j+1)%len(b)]) {
				return true
			}
		}
	}
	a, b = doubled(a), doubled(b)
	throughB, alongB := runsThrough(a, b)
	if throughB {
		return true
	}
	throughA, alongA := runsThrough(b, a)
	return throughA || alongA && alongB
}

func doubled(outline []Point) []Point {
	twice := make([]Point, len(outline))
	for i, p := range outline {
		twice[i] = Point{2 * p.X, 2 * p.Y}
	}
	return twice
}

// runsThrough tells whether a stretch of a's outline runs inside b, and otherwise whether the
// whole outline runs along that of b. No edges of the two may cross.
func runsThrough(a, b []Point) (through, along bool) {
	along = true
	for i := range a {
		from, to := a[i], a[(i+1)%len(a)]
		// The corners of b on this edge, in order from its beginning.
		stops := []Point{from}
		for _, q := range b {
			if q != from && q != to && side(from, to, q) == 0 && within(from, to, q) {
				stops = insertInOrder(stops, from, q)
			}
		}
		stops = append(stops, to)
		for k := 1; k < len(stops); k++ {
			middle := Point{(stops[k-1].X + stops[k].X) / 2, (stops[k-1].Y + stops[k].Y) / 2}
			switch locate(middle, b) {
			case inside:
				return true, false
			case outside:
				along = false
			}
		}
	}
	return false, along
}

// insertInOrder puts q, on the line that starts at from, among stops by its distance.
func insertInOrder(stops []Point, from, q Point) []Point {
	distance := func(p Point) length.Length { return max(p.X-from.X, from.X-p.X, p.Y-from.Y, from.Y-p.Y) }
	stops = append(stops, q)
	for i := len(stops) - 1; i > 0 && distance(stops[i]) < distance(stops[i-1]); i-- {
		stops[i], stops[i-1] = stops[i-1], stops[i]
	}
	return stops
}

type where int

const (
	outside where = iota
	onOutline
	inside
)

// locate tells where a point lies to a simple polygon, by counting the edges that a ray from it
// to the right crosses.
func locate(p Point, outline []Point) where {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		turn := side(a, b, p)
		if turn == 0 && within(a, b, p) {
			return onOutline
		}
		if a.Y <= p.Y && p.Y < b.Y && turn > 0 || b.Y <= p.Y && p.Y < a.Y && turn < 0 {
			in = !in
		}
	}
	if in {
		return inside
	}
	return outside
}

// outlinesApart tells whether two polygons whose interiors do not overlap are nowhere nearer
// than the gap both across and along. It is enough to compare edges.
func outlinesApart(a, b []Point, gap length.Length) bool {
	for i := range a {
		for j := range b {
			if !segmentsApart(a[i], a[(i+1)%len(a)], b[j], b[(j+1)%len(b)], gap) {
				return false
			}
		}
	}
	return true
}

// segmentsApart tells whether no point of the segment ab is nearer than the gap, both across
// and along, to a point of cd. The segment ab grown by a square of the gap on every side is a
// convex shape; so the two are apart exactly if a line in the direction of a side of that
// shape or of cd separates them: across, along, along ab or along cd.
func segmentsApart(a, b, c, d Point, gap length.Length) bool {
	if max(a.X, b.X)+gap <= min(c.X, d.X) || max(c.X, d.X)+gap <= min(a.X, b.X) ||
		max(a.Y, b.Y)+gap <= min(c.Y, d.Y) || max(c.Y, d.Y)+gap <= min(a.Y, b.Y) {
		return true
	}
	return separated(a, b, c, d, Point{a.Y - b.Y, b.X - a.X}, gap) || separated(a, b, c, d, Point{c.Y - d.Y, d.X - c.X}, gap)
}

// separated tells whether ab, grown by the gap, and cd are apart when seen along a normal.
func separated(a, b, c, d, normal Point, gap length.Length) bool {
	reach := product(int64(gap), int64(max(normal.X, -normal.X)+max(normal.Y, -normal.Y)))
	lowAB, highAB := spread(a, b, normal)
	lowCD, highCD := spread(c, d, normal)
	return !lowCD.less(highAB.plus(reach)) || !lowAB.less(highCD.plus(reach))
}

func spread(a, b, normal Point) (low, high wide) {
	low, high = dot(a, normal), dot(b, normal)
	if high.less(low) {
		low, high = high, low
	}
	return low, high
}

func dot(a, b Point) wide {
	return product(int64(a.X), int64(b.X)).plus(product(int64(a.Y), int64(b.Y)))
}

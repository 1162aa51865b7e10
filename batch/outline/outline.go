package outline

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"yardwright/batch/length"
)

// Tolerance is how far an outline may leave the curves of the drawing.
const Tolerance = length.Millimetre / 10

// Of the tolerance, curves take one part when they become edges, and leaving out points that
// hardly matter another; what is left covers the rounding of points.
const (
	flatness   = 0.045
	simplicity = 0.045
)

// What a piece may measure.
const (
	least      = 5.0    // mm, the longer edge of its box
	leastArea  = 25.0   // mm²
	most       = 5000.0 // mm, either edge of its box
	joined     = 0.05   // mm, within which two ends are the same point
	mostPoints = 480
)

// Point is a place on a piece; X across and Y along (upwards), from the lower left corner of its
// box.
type Point struct{ X, Y length.Length }

// Shape is an outline at its true size.
type Shape struct {
	// Points in counter-clockwise direction, the first the lowest of those farthest to the left.
	Points []Point
	// Width and Length of the box around it.
	Width, Length length.Length
	// Area inside it.
	Area length.Area
}

// Outline is a path at its true size, where one unit measures so many mm. The error says in
// words for the maker why it can't be the outline of a piece.
func (p Path) Outline(perUnit float64) (Shape, error) {
	if p.Unreadable != "" {
		return Shape{}, errors.New(p.Unreadable)
	}
	if perUnit <= 0 || math.IsInf(perUnit, 0) || math.IsNaN(perUnit) {
		return Shape{}, errors.New("the scale of the drawing is not known yet")
	}
	if len(p.runs) > 1 {
		return Shape{}, fmt.Errorf("it has %d separate lines; an outline is one closed line: take lines inside it, such as darts and notches, out of the path", len(p.runs))
	}
	low, high := p.box()
	wide, tall := (high.x-low.x)*perUnit, (high.y-low.y)*perUnit
	switch {
	case max(wide, tall) > most:
		return Shape{}, fmt.Errorf("at this scale it would be %s by %s; check the scale", metres(wide), metres(tall))
	case max(wide, tall) < least:
		return Shape{}, fmt.Errorf("at this scale it would be %.2f by %.2f mm, which is too small for a piece; check the scale", wide, tall)
	}
	line := flat(p.runs[0], perUnit)
	if ends := line[0].distance(line[len(line)-1]); !p.runs[0].closed && ends > joined {
		return Shape{}, fmt.Errorf("it is not closed: its ends are %.1f mm apart", ends)
	}
	return shapeOf(simplify(distinct(line)))
}

func metres(mm float64) string { return fmt.Sprintf("%.2f m", mm/1000) }

// box is the box around a path, in units.
func (p Path) box() (low, high vec) {
	low, high = vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}
	take := func(v vec) {
		low.x, low.y, high.x, high.y = min(low.x, v.x), min(low.y, v.y), max(high.x, v.x), max(high.y, v.y)
	}
	for _, r := range p.runs {
		take(r.from)
		from := r.from
		for _, e := range r.edges {
			take(e.to)
			if e.curve {
				for _, t := range turnings(from, e) {
					take(e.at(from, t))
				}
			}
			from = e.to
		}
	}
	return low, high
}

// at is a point of a curve.
func (e edge) at(from vec, t float64) vec {
	a, b, c := from.towards(e.one, t), e.one.towards(e.two, t), e.two.towards(e.to, t)
	return a.towards(b, t).towards(b.towards(c, t), t)
}

// turnings are where a curve is farthest out across or along.
func turnings(from vec, e edge) []float64 {
	var found []float64
	for _, axis := range []func(vec) float64{func(v vec) float64 { return v.x }, func(v vec) float64 { return v.y }} {
		p0, p1, p2, p3 := axis(from), axis(e.one), axis(e.two), axis(e.to)
		a, b, c := -p0+3*p1-3*p2+p3, 2*(p0-2*p1+p2), p1-p0
		if math.Abs(a) < 1e-12*(math.Abs(b)+math.Abs(c)) {
			if b != 0 {
				found = append(found, -c/b)
			}
			continue
		}
		if root := b*b - 4*a*c; root >= 0 {
			found = append(found, (-b+math.Sqrt(root))/(2*a), (-b-math.Sqrt(root))/(2*a))
		}
	}
	return slices.DeleteFunc(found, func(t float64) bool { return !(t > 0 && t < 1) })
}

// flat follows a run with straight edges, in mm, y upwards.
func flat(r run, perUnit float64) []vec {
	scale := matrix{perUnit, 0, 0, -perUnit, 0, 0}
	r = scale.run(r)
	line := []vec{r.from}
	from := r.from
	for _, e := range r.edges {
		if e.curve {
			// A cubic curve cut into n leaves its chords by at most 3/4 of its largest second
			// difference ÷ n² (Wang 1984).
			bend := max(math.Hypot(from.x-2*e.one.x+e.two.x, from.y-2*e.one.y+e.two.y), math.Hypot(e.one.x-2*e.two.x+e.to.x, e.one.y-2*e.two.y+e.to.y))
			n := max(1, int(math.Ceil(math.Sqrt(0.75*bend/flatness))))
			for i := 1; i < n; i++ {
				line = append(line, e.at(from, float64(i)/float64(n)))
			}
		}
		line = append(line, e.to)
		from = e.to
	}
	return line
}

// distinct leaves out points that stand where the one before them stands.
func distinct(line []vec) []vec {
	var kept []vec
	for _, v := range line {
		if len(kept) == 0 || kept[len(kept)-1].distance(v) > 1e-4 {
			kept = append(kept, v)
		}
	}
	for len(kept) > 1 && kept[0].distance(kept[len(kept)-1]) <= joined {
		kept = kept[:len(kept)-1]
	}
	return kept
}

// simplify leaves out points of a closed line that lie within simplicity of the line without them
// (Douglas and Peucker 1973), between the two points that lie farthest apart.
func simplify(line []vec) []vec {
	if len(line) < 4 {
		return line
	}
	first := 0
	for i, v := range line {
		if v.x < line[first].x || v.x == line[first].x && v.y < line[first].y {
			first = i
		}
	}
	line = append(slices.Clone(line[first:]), line[:first]...)
	far := 0
	for i, v := range line {
		if v.distance(line[0]) > line[far].distance(line[0]) {
			far = i
		}
	}
	keep := make([]bool, len(line)+1)
	closed := append(slices.Clone(line), line[0])
	keep[0], keep[far] = true, true
	thin(closed, 0, far, keep)
	thin(closed, far, len(line), keep)
	var kept []vec
	for i, v := range line {
		if keep[i] {
			kept = append(kept, v)
		}
	}
	return kept
}

func thin(line []vec, from, to int, keep []bool) {
	type part struct{ from, to int }
	for waiting := []part{{from, to}}; len(waiting) > 0; {
		now := waiting[len(waiting)-1]
		waiting = waiting[:len(waiting)-1]
		worst, at := 0.0, 0
		for i := now.from + 1; i < now.to; i++ {
			if away := fromEdge(line[i], line[now.from], line[now.to]); away > worst {
				worst, at = away, i
			}
		}
		if worst > simplicity {
			keep[at] = true
			waiting = append(waiting, part{now.from, at}, part{at, now.to})
		}
	}
}

// fromEdge is how far a point lies from an edge.
func fromEdge(v, a, b vec) float64 {
	along := b.sub(a)
	long := along.x*along.x + along.y*along.y
	if long == 0 {
		return v.distance(a)
	}
	t := ((v.x-a.x)*along.x + (v.y-a.y)*along.y) / long
	return v.distance(a.towards(b, min(1, max(0, t))))
}

// shapeOf rounds a line to the program's lengths, in order and direction, and checks it.
func shapeOf(line []vec) (Shape, error) {
	if len(line) < 3 {
		return Shape{}, errors.New("it has no area: it is a single line")
	}
	if len(line) > mostPoints {
		return Shape{}, fmt.Errorf("it has too many bends: %d points are needed to follow it to a tenth of a millimetre, at most %d can be used; smooth it", len(line), mostPoints)
	}
	low := line[0]
	for _, v := range line {
		low.x, low.y = min(low.x, v.x), min(low.y, v.y)
	}
	var s Shape
	for _, v := range line {
		p := Point{length.Length(math.Round((v.x - low.x) * float64(length.Millimetre))), length.Length(math.Round((v.y - low.y) * float64(length.Millimetre)))}
		if len(s.Points) == 0 || s.Points[len(s.Points)-1] != p {
			s.Points = append(s.Points, p)
		}
		s.Width, s.Length = max(s.Width, p.X), max(s.Length, p.Y)
	}
	if crossing, crosses := crossesItself(s.Points); crosses {
		return Shape{}, fmt.Errorf("it crosses or touches itself, %.0f mm from its left and %.0f mm from its lower edge", crossing.X.Millimetres(), crossing.Y.Millimetres())
	}
	twice := int64(0)
	for i, p := range s.Points {
		q := s.Points[(i+1)%len(s.Points)]
		twice += int64(p.X)*int64(q.Y) - int64(q.X)*int64(p.Y) // below 5 m each: it fits
	}
	if twice < 0 {
		slices.Reverse(s.Points)
		twice = -twice
	}
	s.Area = length.Area(twice / 2)
	if float64(s.Area)/float64(length.Millimetre*length.Millimetre) < leastArea {
		return Shape{}, errors.New("it has hardly any area; check the scale")
	}
	first := 0
	for i, p := range s.Points {
		if p.X < s.Points[first].X || p.X == s.Points[first].X && p.Y < s.Points[first].Y {
			first = i
		}
	}
	s.Points = append(slices.Clone(s.Points[first:]), s.Points[:first]...)
	return s, nil
}

// crossesItself finds where two edges that are not neighbours meet, or two neighbours run back
// over each other.
func crossesItself(line []Point) (Point, bool) {
	if i, j, crosses := Crossing(line); crosses {
		return meeting(line[i], line[i+1], line[j], line[(j+1)%len(line)]), true
	}
	for i, a := range line {
		b, c := line[(i+1)%len(line)], line[(i+2)%len(line)]
		if side(a, b, c) == 0 && (b.X-a.X)*(c.X-b.X)+(b.Y-a.Y)*(c.Y-b.Y) < 0 {
			return b, true
		}
	}
	return Point{}, false
}

// Crossing finds two edges of a closed line, by the points that they begin at, that meet though
// they are not neighbours. Coordinates are below 100 m, so that the cross products fit an int64.
func Crossing(line []Point) (first, second int, crosses bool) {
	n := len(line)
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if edgesMeet(line[i], line[i+1], line[j], line[(j+1)%n]) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// meeting is about where two edges meet that do.
func meeting(a, b, c, d Point) Point {
	abx, aby, cdx, cdy := float64(b.X-a.X), float64(b.Y-a.Y), float64(d.X-c.X), float64(d.Y-c.Y)
	cross := abx*cdy - aby*cdx
	if cross == 0 {
		return c
	}
	t := (float64(c.X-a.X)*cdy - float64(c.Y-a.Y)*cdx) / cross
	return Point{a.X + length.Length(math.Round(t*abx)), a.Y + length.Length(math.Round(t*aby))}
}

func edgesMeet(a, b, c, d Point) bool {
	abc, abd, cda, cdb := side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
	if abc*abd < 0 && cda*cdb < 0 {
		return true
	}
	return abc == 0 && within(a, b, c) || abd == 0 && within(a, b, d) || cda == 0 && within(c, d, a) || cdb == 0 && within(c, d, b)
}

// side tells on which side of the line from a to b a point lies: -1, 0 or 1.
func side(a, b, c Point) int {
	cross := int64(b.X-a.X)*int64(c.Y-a.Y) - int64(b.Y-a.Y)*int64(c.X-a.X)
	switch {
	case cross > 0:
		return 1
	case cross < 0:
		return -1
	}
	return 0
}

func within(a, b, c Point) bool {
	return c.X >= min(a.X, b.X) && c.X <= max(a.X, b.X) && c.Y >= min(a.Y, b.Y) && c.Y <= max(a.Y, b.Y)
}

// Half turns an outline into that of a piece that is drawn half and cut on the fold, where its
// left edge lies: the points begin at the lower and end at the upper end of that edge. The
// error says that it has no straight, upright left edge.
func (s Shape) Half() (Shape, error) {
	n := len(s.Points)
	for i := range n {
		a, b := s.Points[i], s.Points[(i+1)%n]
		const near = length.Millimetre / 5
		// The line is counter-clockwise, so it runs down its left edge.
		if a.X > near || b.X > near || a.Y <= b.Y || a.Y-b.Y < 20*length.Millimetre {
			continue
		}
		half := s
		half.Points = append(slices.Clone(s.Points[(i+1)%n:]), s.Points[:(i+1)%n]...)
		half.Points[0].X, half.Points[n-1].X = 0, 0
		return half, nil
	}
	return Shape{}, errors.New("a piece on the fold needs a straight left edge, upright in the drawing, that lies on the fold")
}

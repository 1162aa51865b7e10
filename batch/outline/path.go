package outline

import (
	"fmt"
	"math"
	"strconv"
)

// vec is a place in the units of the drawing; y goes down, as in SVG.
type vec struct{ x, y float64 }

func (a vec) add(b vec) vec                { return vec{a.x + b.x, a.y + b.y} }
func (a vec) sub(b vec) vec                { return vec{a.x - b.x, a.y - b.y} }
func (a vec) times(f float64) vec          { return vec{a.x * f, a.y * f} }
func (a vec) distance(b vec) float64       { return math.Hypot(a.x-b.x, a.y-b.y) }
func (a vec) towards(b vec, t float64) vec { return a.add(b.sub(a).times(t)) }

// edge is a straight line or a cubic Bézier curve from where the edge before it ends.
type edge struct {
	curve    bool
	one, two vec // control points of a curve
	to       vec
}

// run is a part of a path that is drawn without lifting the pen.
type run struct {
	from   vec
	edges  []edge
	closed bool // by Z
}

// mostEdges is more than any pattern piece has.
const mostEdges = 20_000

// pathReader reads the grammar of path data (SVG 2, section 9.3).
type pathReader struct {
	text  string
	at    int
	runs  []run
	count int
}

// parsePath reads path data.
func parsePath(text string) ([]run, error) {
	r := &pathReader{text: text}
	if err := r.all(); err != nil {
		return nil, err
	}
	return r.runs, nil
}

func (r *pathReader) space() {
	for r.at < len(r.text) {
		switch r.text[r.at] {
		case ' ', '\t', '\n', '\r', '\f':
			r.at++
		default:
			return
		}
	}
}

// comma passes over what may stand between two numbers.
func (r *pathReader) comma() {
	r.space()
	if r.at < len(r.text) && r.text[r.at] == ',' {
		r.at++
		r.space()
	}
}

func (r *pathReader) wrong(what string) error {
	return fmt.Errorf("its path can't be read at place %d: %s", r.at+1, what)
}

// largestNumber keeps sums and products of coordinates far from overflow.
const largestNumber = 1e9

func (r *pathReader) number() (float64, error) {
	start := r.at
	digits := func() (n int) {
		for r.at < len(r.text) && r.text[r.at] >= '0' && r.text[r.at] <= '9' {
			r.at++
			n++
		}
		return n
	}
	if r.at < len(r.text) && (r.text[r.at] == '+' || r.text[r.at] == '-') {
		r.at++
	}
	n := digits()
	if r.at < len(r.text) && r.text[r.at] == '.' {
		r.at++
		n += digits()
	}
	if n == 0 {
		r.at = start
		return 0, r.wrong("a number is missing")
	}
	if r.at < len(r.text) && (r.text[r.at] == 'e' || r.text[r.at] == 'E') {
		before := r.at
		r.at++
		if r.at < len(r.text) && (r.text[r.at] == '+' || r.text[r.at] == '-') {
			r.at++
		}
		if digits() == 0 {
			r.at = before
		}
	}
	value, err := strconv.ParseFloat(r.text[start:r.at], 64)
	if err != nil || math.Abs(value) > largestNumber {
		r.at = start
		return 0, r.wrong("a number is too large")
	}
	return value, nil
}

func (r *pathReader) numbers(values []float64) error {
	for i := range values {
		if i > 0 {
			r.comma()
		}
		var err error
		if values[i], err = r.number(); err != nil {
			return err
		}
	}
	return nil
}

// flag reads a 0 or 1, which needs nothing after it.
func (r *pathReader) flag() (bool, error) {
	if r.at < len(r.text) && (r.text[r.at] == '0' || r.text[r.at] == '1') {
		r.at++
		return r.text[r.at-1] == '1', nil
	}
	return false, r.wrong("a 0 or 1 is missing")
}

// another tells whether the arguments of a command are followed by a further set of them.
func (r *pathReader) another() bool {
	before := r.at
	r.comma()
	if r.at < len(r.text) {
		c := r.text[r.at]
		if c >= '0' && c <= '9' || c == '+' || c == '-' || c == '.' {
			return true
		}
	}
	r.at = before
	r.space()
	return false
}

func (r *pathReader) all() error {
	r.space()
	var last pen
	for r.at < len(r.text) {
		command := r.text[r.at]
		if len(r.runs) == 0 && command != 'M' && command != 'm' {
			return r.wrong("it must begin with M")
		}
		r.at++
		r.space()
		if command == 'Z' || command == 'z' {
			r.close(&last)
			continue
		}
		for first := true; first || r.another(); first = false {
			if err := r.step(&last, command, first); err != nil {
				return err
			}
			if r.count++; r.count > mostEdges {
				return fmt.Errorf("it has more than %d edges", mostEdges)
			}
		}
	}
	return nil
}

// pen is where drawing has come to, with the control points that S and T mirror.
type pen struct {
	at          vec
	cubic, quad vec
	ended       bool // by Z: the next command begins a new run there
}

func (r *pathReader) close(p *pen) {
	now := &r.runs[len(r.runs)-1]
	now.closed = true
	p.at, p.ended = now.from, true
	p.cubic, p.quad = p.at, p.at
	r.space()
}

// draw adds an edge.
func (r *pathReader) draw(p *pen, e edge) {
	if p.ended {
		r.runs, p.ended = append(r.runs, run{from: p.at}), false
	}
	now := &r.runs[len(r.runs)-1]
	now.edges = append(now.edges, e)
	p.at = e.to
}

func (r *pathReader) step(p *pen, command byte, first bool) error {
	relative := command >= 'a'
	base := vec{}
	if relative {
		base = p.at
	}
	var n [6]float64
	read := func(count int) error { return r.numbers(n[:count]) }
	from := p.at
	cubic, quad := from, from
	switch command &^ 0x20 {
	case 'M':
		if err := read(2); err != nil {
			return err
		}
		to := base.add(vec{n[0], n[1]})
		if first {
			r.runs = append(r.runs, run{from: to})
			p.at, p.ended = to, false
		} else {
			r.draw(p, edge{to: to})
		}
		cubic, quad = to, to
	case 'L':
		if err := read(2); err != nil {
			return err
		}
		r.draw(p, edge{to: base.add(vec{n[0], n[1]})})
		cubic, quad = p.at, p.at
	case 'H':
		if err := read(1); err != nil {
			return err
		}
		r.draw(p, edge{to: vec{base.x + n[0], from.y}})
		cubic, quad = p.at, p.at
	case 'V':
		if err := read(1); err != nil {
			return err
		}
		r.draw(p, edge{to: vec{from.x, base.y + n[0]}})
		cubic, quad = p.at, p.at
	case 'C':
		if err := read(6); err != nil {
			return err
		}
		e := edge{curve: true, one: base.add(vec{n[0], n[1]}), two: base.add(vec{n[2], n[3]}), to: base.add(vec{n[4], n[5]})}
		r.draw(p, e)
		cubic, quad = e.two, p.at
	case 'S':
		if err := read(4); err != nil {
			return err
		}
		e := edge{curve: true, one: from.times(2).sub(p.cubic), two: base.add(vec{n[0], n[1]}), to: base.add(vec{n[2], n[3]})}
		r.draw(p, e)
		cubic, quad = e.two, p.at
	case 'Q':
		if err := read(4); err != nil {
			return err
		}
		quad = base.add(vec{n[0], n[1]})
		r.draw(p, quadratic(from, quad, base.add(vec{n[2], n[3]})))
		cubic = p.at
	case 'T':
		if err := read(2); err != nil {
			return err
		}
		quad = from.times(2).sub(p.quad)
		r.draw(p, quadratic(from, quad, base.add(vec{n[0], n[1]})))
		cubic = p.at
	case 'A':
		if err := r.arc(p, base); err != nil {
			return err
		}
		cubic, quad = p.at, p.at
	default:
		r.at--
		return r.wrong(fmt.Sprintf("%q is no command", string(rune(command))))
	}
	p.cubic, p.quad = cubic, quad
	return nil
}

// quadratic is a quadratic curve as a cubic one, which it is exactly.
func quadratic(from, control, to vec) edge {
	return edge{curve: true, one: from.towards(control, 2.0/3), two: to.towards(control, 2.0/3), to: to}
}

func (r *pathReader) arc(p *pen, base vec) error {
	var size [3]float64
	if err := r.numbers(size[:]); err != nil {
		return err
	}
	r.comma()
	large, err := r.flag()
	if err != nil {
		return err
	}
	r.comma()
	sweep, err := r.flag()
	if err != nil {
		return err
	}
	r.comma()
	var end [2]float64
	if err := r.numbers(end[:]); err != nil {
		return err
	}
	for _, e := range arc(p.at, size[0], size[1], size[2], large, sweep, base.add(vec{end[0], end[1]})) {
		r.draw(p, e)
	}
	return nil
}

// arcPart is the largest part of an ellipse that one cubic curve stands for: it then leaves it
// by less than a ten-millionth of the radius.
const arcPart = math.Pi / 8

// arc is a part of an ellipse as cubic curves (SVG 2, appendix B.2.4: from the end points to the
// middle).
func arc(from vec, rx, ry, degrees float64, large, sweep bool, to vec) []edge {
	if from == to {
		return nil
	}
	rx, ry = math.Abs(rx), math.Abs(ry)
	if rx == 0 || ry == 0 {
		return []edge{{to: to}}
	}
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	half := from.sub(to).times(0.5)
	x, y := cos*half.x+sin*half.y, -sin*half.x+cos*half.y
	if grow := x*x/(rx*rx) + y*y/(ry*ry); grow > 1 {
		rx, ry = rx*math.Sqrt(grow), ry*math.Sqrt(grow)
	}
	root := math.Sqrt(max(0, (rx*rx*ry*ry-rx*rx*y*y-ry*ry*x*x)/(rx*rx*y*y+ry*ry*x*x)))
	if large == sweep {
		root = -root
	}
	cx, cy := root*rx*y/ry, -root*ry*x/rx
	middle := vec{cos*cx - sin*cy, sin*cx + cos*cy}.add(from.towards(to, 0.5))
	begin := math.Atan2((y-cy)/ry, (x-cx)/rx)
	span := math.Atan2((-y-cy)/ry, (-x-cx)/rx) - begin
	switch {
	case sweep && span < 0:
		span += 2 * math.Pi
	case !sweep && span > 0:
		span -= 2 * math.Pi
	}
	place := func(c, s float64) vec { return vec{cos*rx*c - sin*ry*s, sin*rx*c + cos*ry*s} }
	n := max(1, int(math.Ceil(math.Abs(span)/arcPart-1e-9)))
	step := span / float64(n)
	reach := 4.0 / 3 * math.Tan(step/4)
	var edges []edge
	for i := range n {
		s0, c0 := math.Sincos(begin + float64(i)*step)
		s1, c1 := math.Sincos(begin + float64(i+1)*step)
		a, b := middle.add(place(c0, s0)), middle.add(place(c1, s1))
		if i == 0 {
			a = from
		}
		if i == n-1 {
			b = to
		}
		edges = append(edges, edge{curve: true, one: a.add(place(-s0, c0).times(reach)), two: b.sub(place(-s1, c1).times(reach)), to: b})
	}
	return edges
}

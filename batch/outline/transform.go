package outline

import (
	"fmt"
	"math"
	"strings"
)

// matrix is an affine transform: x' = ax + cy + e, y' = bx + dy + f.
type matrix struct{ a, b, c, d, e, f float64 }

var identity = matrix{a: 1, d: 1}

// then is the transform that does m to what inner has made.
func (m matrix) then(inner matrix) matrix {
	return matrix{
		m.a*inner.a + m.c*inner.b, m.b*inner.a + m.d*inner.b,
		m.a*inner.c + m.c*inner.d, m.b*inner.c + m.d*inner.d,
		m.a*inner.e + m.c*inner.f + m.e, m.b*inner.e + m.d*inner.f + m.f,
	}
}

func (m matrix) apply(v vec) vec { return vec{m.a*v.x + m.c*v.y + m.e, m.b*v.x + m.d*v.y + m.f} }

func (m matrix) run(r run) run {
	moved := run{from: m.apply(r.from), closed: r.closed, edges: make([]edge, len(r.edges))}
	for i, e := range r.edges {
		moved.edges[i] = edge{e.curve, m.apply(e.one), m.apply(e.two), m.apply(e.to)}
	}
	return moved
}

// parseTransform reads a list of transforms (SVG 2, section 8.5).
func parseTransform(text string) (matrix, error) {
	whole := identity
	for rest := strings.TrimSpace(text); rest != ""; {
		name, after, ok := strings.Cut(rest, "(")
		inside, left, closed := strings.Cut(after, ")")
		if !ok || !closed {
			return matrix{}, fmt.Errorf("the transform %q can't be read", text)
		}
		m, err := oneTransform(strings.TrimSpace(name), inside)
		if err != nil {
			return matrix{}, err
		}
		whole = whole.then(m)
		rest = strings.TrimLeft(left, " \t\r\n,")
	}
	return whole, nil
}

func oneTransform(name, inside string) (matrix, error) {
	wrong := fmt.Errorf("the transform %s(%s) can't be read", name, inside)
	r := &pathReader{text: inside}
	var n []float64
	for r.space(); r.at < len(r.text); r.comma() {
		value, err := r.number()
		if err != nil || len(n) == 6 {
			return matrix{}, wrong
		}
		n = append(n, value)
	}
	tan := func(degrees float64) float64 { return math.Tan(degrees * math.Pi / 180) }
	switch {
	case name == "matrix" && len(n) == 6:
		return matrix{n[0], n[1], n[2], n[3], n[4], n[5]}, nil
	case name == "translate" && len(n) == 1:
		return matrix{1, 0, 0, 1, n[0], 0}, nil
	case name == "translate" && len(n) == 2:
		return matrix{1, 0, 0, 1, n[0], n[1]}, nil
	case name == "scale" && len(n) == 1:
		return matrix{n[0], 0, 0, n[0], 0, 0}, nil
	case name == "scale" && len(n) == 2:
		return matrix{n[0], 0, 0, n[1], 0, 0}, nil
	case name == "rotate" && (len(n) == 1 || len(n) == 3):
		sin, cos := math.Sincos(n[0] * math.Pi / 180)
		m := matrix{cos, sin, -sin, cos, 0, 0}
		if len(n) == 3 {
			m = matrix{1, 0, 0, 1, n[1], n[2]}.then(m).then(matrix{1, 0, 0, 1, -n[1], -n[2]})
		}
		return m, nil
	case name == "skewX" && len(n) == 1:
		return matrix{1, 0, tan(n[0]), 1, 0, 0}, nil
	case name == "skewY" && len(n) == 1:
		return matrix{1, tan(n[0]), 0, 1, 0, 0}, nil
	}
	return matrix{}, wrong
}

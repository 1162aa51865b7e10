package garment

import (
	"math"
	"slices"

	"yardwright/batch/length"
)

// DraftsOn is Drafts of the pieces as they are cut from cloths that shrink: everything of a
// piece is enlarged by cut = finished / (1 − s), each direction of its cloth by itself, and a
// rectangle is rounded to the nearest step of the workshop's ruler (none if step is 0), as
// Shrink does. The seam line is the one to sew before the first wash. A role that cloths doesn't name doesn't
// shrink.
func (s Style) DraftsOn(chart SizeChart, sizeName string, cloths map[Role]Shrinkage, step length.Length) ([]Draft, error) {
	graded, err := s.Grade(chart, sizeName)
	if err != nil {
		return nil, err
	}
	size, _ := chart.Size(sizeName)
	known := s.names(size)
	var drafts []Draft
	for _, cut := range graded.Pieces {
		piece := s.Pieces[cut.Piece]
		d, err := s.draft(chart, piece, cut, sizeName, known)
		if err != nil {
			return nil, err
		}
		shrink := cloths[piece.Role]
		if err := shrink.Check(); err != nil {
			return nil, Problems{{Field: "cloth", Size: sizeName, Message: err.Error()}}
		}
		d.enlarge(piece, shrink, step)
		drafts = append(drafts, d)
	}
	s.placePockets(drafts)
	return drafts, nil
}

// linear is a map of places on a piece, without moving it.
type linear struct{ xx, xy, yx, yy float64 }

func (m linear) apply(v vector) vector {
	return vector{m.xx*v.x + m.xy*v.y, m.yx*v.x + m.yy*v.y}
}

// enlarge makes the draft one of the piece as it is cut.
func (d *Draft) enlarge(piece Piece, shrink Shrinkage, step length.Length) {
	grow := func(hundredths int) float64 { return 1 / (1 - float64(hundredths)/10_000) }
	across, along := grow(shrink.Crosswise), grow(shrink.Lengthwise)
	m := linear{xx: across, yy: along}
	switch {
	case d.Grain == Crosswise:
		m = linear{xx: along, yy: across}
	case d.Grain == Bias && d.OnFold:
		// Its halves would not be alike any more; both are cut a little too large instead.
		m = linear{xx: max(across, along), yy: max(across, along)}
	case d.Grain == Bias:
		// The piece stands upright here, and turned by 45 degrees on the cloth.
		m = linear{(across + along) / 2, (along - across) / 2, (along - across) / 2, (across + along) / 2}
	}
	if piece.Shape == Rectangle && d.Grain != Bias && step > 0 {
		whole := d.Width
		if d.OnFold {
			whole *= 2
		}
		m.xx, m.yy = toStep(whole, m.xx, step), toStep(d.Length, m.yy, step)
	}
	if m == (linear{xx: 1, yy: 1}) {
		return
	}
	d.transform(m)
}

// toStep is by how much a length grows that is enlarged and then rounded to a step.
func toStep(l length.Length, by float64, step length.Length) float64 {
	grown := length.Length(math.Round(float64(l) * by))
	return float64(max(step, grown.RoundTo(step, length.Nearest))) / float64(l)
}

func (d *Draft) transform(m linear) {
	low := vector{math.Inf(1), math.Inf(1)}
	for _, p := range d.Cut {
		v := m.apply(vector{float64(p.X), float64(p.Y)})
		low.x, low.y = min(low.x, v.x), min(low.y, v.y)
	}
	move := func(p Point) Point {
		v := m.apply(vector{float64(p.X), float64(p.Y)})
		return Point{length.Length(math.Round(v.x - low.x)), length.Length(math.Round(v.y - low.y))}
	}
	line := func(points []Point) []Point {
		moved := slices.Clone(points)
		for i, p := range moved {
			moved[i] = move(p)
		}
		return moved
	}
	d.Cut, d.Hole, d.Sewn = line(d.Cut), line(d.Hole), line(d.Sewn)
	d.Width, d.Length = 0, 0
	for _, p := range d.Cut {
		d.Width, d.Length = max(d.Width, p.X), max(d.Length, p.Y)
	}
	for i, fold := range d.FoldLines {
		d.FoldLines[i] = [2]Point{move(fold[0]), move(fold[1])}
	}
	for i, n := range d.Notches {
		in := m.apply(vector{float64(n.Inward.X), float64(n.Inward.Y)})
		long := math.Hypot(in.x, in.y) / 1000
		d.Notches[i].At = move(n.At)
		d.Notches[i].Inward = Point{length.Length(math.Round(in.x / long)), length.Length(math.Round(in.y / long))}
	}
}

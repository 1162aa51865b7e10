package lay

import (
	"cmp"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// estimator lays rectangles quickly and roughly, so that very many ratios can be compared
// before the best of them are really laid by package marker. A marker that it makes is valid
// where neither print nor straight cuts stand in the way (see estimates), so that the real one
// is about as short or shorter. It keeps its memory between calls.
type estimator struct {
	boxes []estBox
	order []int
	left  []int
	sky   []estSegment
}

// estBox is a kind of rectangle with its gap; turned is the same lying across, if it may.
type estBox struct {
	w, l   length.Length
	copies int
	turns  bool
}

// estSegment is a level stretch of the edge of what is laid.
type estSegment struct{ x, w, y length.Length }

// estimates tells whether instances can be laid roughly.
func estimates(in *marker.Instance) bool {
	return !in.StraightCuts && in.Repeat == (marker.Repeat{}) && len(in.Faults) == 0 &&
		!slices.ContainsFunc(in.Pieces, func(p marker.Piece) bool { return p.OnFold })
}

// length returns about how long a marker of the instance is; 0 if it cannot tell.
func (e *estimator) length(in *marker.Instance) length.Length {
	if !e.read(in) {
		return 0
	}
	best := length.Length(0)
	width := openWidth(in)
	for _, key := range []func(b *estBox) length.Length{
		func(b *estBox) length.Length { return b.l },
		func(b *estBox) length.Length { return b.w },
		func(b *estBox) length.Length { return b.w + b.l },
	} {
		slices.SortStableFunc(e.order, func(i, j int) int { return cmp.Compare(key(&e.boxes[j]), key(&e.boxes[i])) })
		for _, wide := range []bool{false, true} {
			if end := e.fill(width, wide, best); end > 0 && (best == 0 || end < best) {
				best = end
			}
		}
	}
	return best - in.Gap
}

// openWidth is the width for pieces with their gap: to the fold half a gap is kept.
func openWidth(in *marker.Instance) length.Length {
	if in.Folded {
		return in.Width + in.Gap - (in.Gap+1)/2
	}
	return in.Width + in.Gap
}

// read takes the boxes over; equal ones become one kind.
func (e *estimator) read(in *marker.Instance) bool {
	e.boxes, e.order = e.boxes[:0], e.order[:0]
	for i := range in.Pieces {
		p := &in.Pieces[i]
		along, across := false, false
		for _, t := range p.Turns {
			if t%180 == 0 {
				along = true
			} else {
				across = true
			}
		}
		b := estBox{p.Width + in.Gap, p.Length + in.Gap, p.Copies, along && across}
		if !along {
			b.w, b.l = b.l, b.w
		}
		if b.w > openWidth(in) {
			if !b.turns || b.l > openWidth(in) {
				return false
			}
			b.w, b.l, b.turns = b.l, b.w, false
		}
		if at := slices.IndexFunc(e.boxes, func(o estBox) bool { return o.w == b.w && o.l == b.l && o.turns == b.turns }); at >= 0 {
			e.boxes[at].copies += b.copies
			continue
		}
		e.order = append(e.order, len(e.boxes))
		e.boxes = append(e.boxes, b)
	}
	return len(e.boxes) > 0
}

// fill goes along the lowest stretch and lays there what fits it best: the widest, or the first
// of the order, a piece as wide as the stretch before all. It gives up beyond a length.
func (e *estimator) fill(width length.Length, wide bool, most length.Length) length.Length {
	e.left = e.left[:0]
	count := 0
	for i := range e.boxes {
		e.left = append(e.left, e.boxes[i].copies)
		count += e.boxes[i].copies
	}
	e.sky = append(e.sky[:0], estSegment{0, width, 0})
	end := length.Length(0)
	for count > 0 {
		at := e.lowest()
		w, l, kind := e.choose(e.sky[at].w, wide)
		if kind < 0 {
			e.raise(at)
			continue
		}
		e.left[kind]--
		count--
		end = max(end, e.sky[at].y+l)
		if most > 0 && end >= most {
			return 0
		}
		e.put(at, w, l)
	}
	return end
}

func (e *estimator) lowest() int {
	at := 0
	for i := range e.sky {
		if e.sky[i].y < e.sky[at].y {
			at = i
		}
	}
	return at
}

// choose picks a kind for a stretch of a width.
func (e *estimator) choose(room length.Length, wide bool) (w, l length.Length, kind int) {
	kind = -1
	for _, i := range e.order {
		if e.left[i] == 0 {
			continue
		}
		b := &e.boxes[i]
		for turn := range 2 {
			bw, bl := b.w, b.l
			if turn == 1 {
				if !b.turns {
					break
				}
				bw, bl = bl, bw
			}
			switch {
			case bw > room:
			case bw == room:
				return bw, bl, i
			case kind < 0 || wide && bw > w:
				w, l, kind = bw, bl, i
			}
		}
	}
	return w, l, kind
}

// put lays a box at the higher of its two ends of the stretch, so that the rest stays whole.
func (e *estimator) put(at int, w, l length.Length) {
	s := e.sky[at]
	if w == s.w {
		e.sky[at].y += l
		e.join(at)
		return
	}
	leftHigher := at == 0 || at < len(e.sky)-1 && e.sky[at-1].y >= e.sky[at+1].y
	box := estSegment{s.x, w, s.y + l}
	rest := estSegment{s.x + w, s.w - w, s.y}
	if !leftHigher {
		rest.x, box.x = s.x, s.x+s.w-w
		box, rest = rest, box
	}
	e.sky[at] = box
	e.sky = slices.Insert(e.sky, at+1, rest)
	if leftHigher {
		e.join(at)
	} else {
		e.join(at + 1)
	}
}

// raise lifts a stretch that nothing fits to the lower of its neighbours.
func (e *estimator) raise(at int) {
	y := length.Length(-1)
	if at > 0 {
		y = e.sky[at-1].y
	}
	if at < len(e.sky)-1 && (y < 0 || e.sky[at+1].y < y) {
		y = e.sky[at+1].y
	}
	e.sky[at].y = y
	e.join(at)
}

// join makes one of a stretch and neighbours at its level.
func (e *estimator) join(at int) {
	if at < len(e.sky)-1 && e.sky[at+1].y == e.sky[at].y {
		e.sky[at].w += e.sky[at+1].w
		e.sky = slices.Delete(e.sky, at+1, at+2)
	}
	if at > 0 && e.sky[at-1].y == e.sky[at].y {
		e.sky[at-1].w += e.sky[at].w
		e.sky = slices.Delete(e.sky, at, at+1)
	}
}

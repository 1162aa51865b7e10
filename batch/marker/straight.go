package marker

// The straight-cut engine lays pieces so that cuts from edge to edge part them. Every piece laid
// in a rectangle's corner leaves two smaller rectangles, parted by a straight cut, that are filled
// in the same way. The first rectangle is the cloth up to the end that the search wants to reach,
// if the plan's rule says so; what is left then, or everything, goes on strips across, the
// length of each set by its first piece.

// straight is the state of the engine, with room for all it needs.
type straight struct {
	pending
	rule    rule
	goal    goal
	outcome outcome
	spots   []spot
	splits  []split // by entry
	// reachW and reachL tell what widths and lengths of pieces add up to.
	reachW, reachL reach
}

// rect is a part of the model's cloth that pieces may be laid in.
type rect struct{ x0, y0, x1, y1 int64 }

func newStraight(m *model) *straight {
	s := &straight{pending: newPending(m), spots: make([]spot, 0, m.copies)}
	s.reachW = m.newReach(m.width, func(o option) int64 { return o.w })
	s.reachL = m.newReach(min(m.cap, m.longestStack()), func(o option) int64 { return o.l })
	return s
}

func (s *straight) name() string { return "straight cuts" }

func (s *straight) laid() []spot { return s.spots }

func (s *straight) lay(p plan, g goal) outcome {
	s.begin(p)
	s.splits = s.splits[:0]
	for _, e := range p.sequence {
		if e.split == asRule {
			e.split = p.rule.split
		}
		s.splits = append(s.splits, e.split)
	}
	s.rule, s.goal, s.outcome, s.spots = p.rule, g, outcome{}, s.spots[:0]
	y := int64(0)
	if p.rule.whole && g.target < noCap {
		s.fill(rect{0, 0, s.m.width, min(g.target, g.room)})
		y = s.outcome.end
	}
	for s.rows > 0 && !s.outcome.stopped {
		row, at := s.opener(y)
		if row < 0 {
			break
		}
		w, top := s.w[row], at.y+s.l[row]
		s.place(row, at)
		s.fill(rect{at.x + w, at.y, s.m.width, top})
		s.fill(rect{0, at.y, at.x, top})
		s.fill(rect{0, y, s.m.width, at.y})
		y = top
	}
	return s.outcome
}

// opener returns the row to open a strip at y with, and where: the first that the room holds.
func (s *straight) opener(y int64) (int, spot) {
	for row := range s.rows {
		at := spot{option: s.of[row].option}
		at.x, at.y = s.m.lowest(&s.m.options[at.option], y)
		if at.y+s.l[row] <= s.goal.room {
			return row, at
		}
	}
	return -1, spot{}
}

func (s *straight) place(row int, at spot) {
	s.spots = append(s.spots, at)
	s.outcome.add(s.goal, at.y+s.l[row], s.w[row])
	s.take(row)
}

// fill lays what fits into a rectangle.
func (s *straight) fill(r rect) {
	if r.x1-r.x0 < s.m.narrowest || r.y1 <= r.y0 || s.rows == 0 || s.outcome.stopped {
		return
	}
	row, at, fault := s.bestIn(r)
	if row < 0 {
		if fault >= 0 {
			s.fillAround(r, s.m.obstacles[fault])
		}
		return
	}
	w, l, split := s.w[row], s.l[row], s.splits[s.of[row].entry]
	s.place(row, at)
	// A repeat or the fold may have kept the piece from the corner.
	s.fill(rect{r.x0, r.y0, at.x, r.y1})
	s.fill(rect{at.x, r.y0, r.x1, at.y})
	r.x0, r.y0 = at.x, at.y
	if s.cutsAlong(split, r.x1-r.x0-w, r.y1-r.y0-l, w, l) {
		s.fill(rect{r.x0, r.y0 + l, r.x0 + w, r.y1})
		s.fill(rect{r.x0 + w, r.y0, r.x1, r.y1})
	} else {
		s.fill(rect{r.x0 + w, r.y0, r.x1, r.y0 + l})
		s.fill(rect{r.x0, r.y0 + l, r.x1, r.y1})
	}
}

// cutsAlong tells whether the cut beside a piece runs the whole length of the rectangle, rather
// than the cut above it the whole width; right and above are the free width and length.
func (s *straight) cutsAlong(how split, right, above, w, l int64) bool {
	switch how {
	case cutAlong:
		return true
	case cutAcross:
		return false
	case leastLost:
		lostW, lostL := right-s.reachW.upTo(right), above-s.reachL.upTo(above)
		along, across := product(lostW, above+l).plus(product(lostL, w)), product(lostW, l).plus(product(lostL, right+w))
		if along != across {
			return along.less(across)
		}
		fallthrough
	default: // largeRest
		return !product(right, above+l).less(product(above, right+w))
	}
}

// bestIn returns the row that fits a rectangle best and where; or −1 and a fault that kept some
// row out, or −1 for that as well.
func (s *straight) bestIn(r rect) (row int, at spot, fault int) {
	row, fault = -1, -1
	score := -1
	width, length := r.x1-r.x0, r.y1-r.y0
	for k := range s.rows {
		if row >= 0 && (k >= s.reserved || !s.rule.fit) {
			break
		}
		w, l := s.w[k], s.l[k]
		if w > width || l > length {
			continue
		}
		value := 0
		if w == width {
			value++
		}
		if l == length {
			value++
		}
		if value <= score {
			continue
		}
		seat, in := s.corner(s.of[k].option, r)
		if in >= 0 {
			fault = in
		}
		if seat.option < 0 {
			continue
		}
		if row, at, score = k, seat, value; score == 2 {
			break
		}
	}
	return row, at, fault
}

// corner returns the place of an option nearest to a rectangle's lower left corner, or option
// −1 and the fault that lies there.
func (s *straight) corner(o int32, r rect) (spot, int) {
	option := &s.m.options[o]
	if s.m.plain {
		return spot{o, r.x0, r.y0}, -1
	}
	x, y := alignUp(r.x0, option.atX, s.m.repeatX), alignUp(r.y0, option.atY, s.m.repeatY)
	if option.onFold {
		if r.x1 < s.m.width {
			return spot{option: -1}, -1
		}
		x = s.m.width - option.w
	}
	if x+option.w > r.x1 || y+option.l > r.y1 {
		return spot{option: -1}, -1
	}
	if fault := s.m.covered(x, y, option); fault >= 0 {
		return spot{option: -1}, fault
	}
	return spot{o, x, y}, -1
}

// fillAround fills the four rectangles around a fault.
func (s *straight) fillAround(r rect, f obstacle) {
	// Pieces carry the gap on their far sides, so that they may end as much beyond the near
	// sides of the fault; but not beyond where the next rectangle begins.
	x0, x1 := min(max(f.x0+s.m.gap, r.x0), r.x1), min(max(f.x1, r.x0), r.x1)
	y0, y1 := min(max(f.y0+s.m.gap, r.y0), r.y1), min(max(f.y1, r.y0), r.y1)
	x1, y1 = max(x0, x1), max(y0, y1)
	if x0 == r.x1 {
		// Only pieces on the fold reach so far that the fault is in their way.
		s.fill(rect{r.x0, y1, r.x1, r.y1})
		s.fill(rect{r.x0, r.y0, max(f.x0, r.x0), y1})
		return
	}
	s.fill(rect{r.x0, r.y0, x0, r.y1})
	s.fill(rect{x0, r.y0, x1, y0})
	s.fill(rect{x0, y1, x1, r.y1})
	s.fill(rect{x1, r.y0, r.x1, r.y1})
}

package marker

// The skyline engine lays pieces from the beginning of the cloth on. What is laid is described
// by its skyline, the steps of its upper edge. Always the lowest step is filled next: with the
// piece whose edges match most of the step's width and walls, ties going to the piece that
// comes first in a sequence. A step that nothing fits is given up and raised to its lower wall.
// The sequence is what the search changes (Leung, Zhang and Sim 2011; Wei and others 2017).

// stripEngine is the state of the engine, with room for all it needs. Not safe for use by several
// goroutines.
type stripEngine struct {
	pending
	sky   skyline
	spots []spot
	// indexed lay what they can, along and across; nil until they are needed.
	along, across *indexed
	indexable     bool
}

func newStripEngine(m *model) *stripEngine {
	return &stripEngine{
		pending: newPending(m), sky: make(skyline, 0, m.copies*2+4), spots: make([]spot, 0, m.copies), indexable: indexable(m),
	}
}

func (s *stripEngine) name() string { return "skyline" }

func (s *stripEngine) laid() []spot { return s.spots }

// scanWindow is how many entries are looked at, once one fits, before the best is taken. It
// keeps the time for thousands of different pieces from growing with their square.
const scanWindow = 1500

// choice is the best piece for a step so far.
type choice struct {
	row, score int
	x, y       int64
}

func (s *stripEngine) lay(p plan, g goal) outcome {
	if s.indexable && p.rule.fit && g.room == noCap {
		return s.layIndexed(p, g)
	}
	s.begin(p)
	s.spots = s.spots[:0]
	s.sky = s.sky.flat(s.m.width)
	var out outcome
	careful := !s.m.plain || g.room < noCap
	skips := p.skips
	for s.rows > 0 {
		i := s.sky.lowest()
		if s.sky[i].y == noCap {
			return out
		}
		if len(s.sky) > 2 && skip(&skips, len(s.spots)) {
			s.giveUp(i, 0)
			continue
		}
		best, blocked := choice{row: -1, score: -1}, int64(0)
		switch {
		case s.sky[i+1].x-s.sky[i].x < s.m.narrowest:
		case careful:
			blocked = s.scanCarefully(i, p.rule, g.room, &best)
		default:
			s.scan(i, p.rule, &best)
		}
		if best.row < 0 {
			s.giveUp(i, blocked)
			continue
		}
		top := best.y + s.l[best.row]
		if !out.add(g, top, s.w[best.row]) {
			return out
		}
		s.spots = append(s.spots, spot{s.of[best.row].option, best.x, best.y})
		s.sky.put(i, best.x, s.w[best.row], top)
		s.take(best.row)
	}
	return out
}

// layIndexed lays a plan by bit sets.
func (s *stripEngine) layIndexed(p plan, g goal) outcome {
	by := &s.along
	if p.rule.across && g.target < noCap {
		by = &s.across
	}
	if *by == nil {
		*by = newIndexed(s.m, by == &s.across)
	}
	(*by).spots = s.spots
	out := (*by).lay(p, g)
	s.spots = (*by).spots
	return out
}

// skip tells whether a step is to be given up before a spot, and forgets it.
func skip(skips *[maxSkips]int32, spot int) bool {
	for i, at := range skips {
		if at == int32(spot) {
			skips[i] = -1
			return true
		}
	}
	return false
}

// goesLeft tells where a piece that matches neither wall goes.
func (r rule) goesLeft(left, right int64) bool { return r.left || left >= right }

// scan finds the piece for step i where nothing but the steps matters.
func (s *stripEngine) scan(i int, r rule, best *choice) {
	left, right := s.sky.walls(i)
	width := s.sky[i+1].x - s.sky[i].x
	row, score := s.bestRow(0, s.reserved, width, left, right, r)
	if row < 0 {
		row, score = s.bestRow(s.reserved, s.rows, width, left, right, r)
	}
	if row < 0 {
		return
	}
	toLeft := r.goesLeft(left, right)
	if s.l[row] == left {
		toLeft = true
	} else if s.l[row] == right {
		toLeft = false
	}
	*best = choice{row, score, s.sky[i].x, s.sky[i].y}
	if !toLeft {
		best.x += width - s.w[row]
	}
}

// bestRow returns the first of the rows with the most matching edges on a step, and its score:
// 2 for the width and 1 for each wall, 1 less where a sliver is left that nothing fits. A piece
// whose sliver wastes more than giving up the step does is passed over. By an even rule each edge
// counts 1, and slivers are not looked at. It returns −1 if none is left.
func (s *stripEngine) bestRow(from, to int, width, left, right int64, r rule) (row, score int) {
	row, score = -1, -2
	w := s.w[from:to]
	l := s.l[from:to][:len(w)]
	window, lower, tight := len(w), min(left, right), width-s.m.narrowest
	whole, most := 2, 4 // what filling the width counts, and all
	if r.even {
		whole, most, tight = 1, 3, width-1
	}
	for k, wide := range w {
		if wide > width {
			continue
		}
		value := 0
		if wide > tight {
			value = whole
			if wide < width {
				value = -1
				if least := min(l[k], right); lower < least && (width-wide)*least > width*lower {
					continue
				}
			}
		}
		if l[k] == left {
			value++
		}
		if l[k] == right {
			value++
		}
		if value > score {
			row, score = from+k, value
			if value == most || !r.fit {
				return
			}
			window = min(window, k+scanWindow)
		}
		if k > window {
			return
		}
	}
	return row, score
}

// scanCarefully finds the piece for step i where faults, repeats or a longest length matter too.
// It returns the least upper edge of a fault that kept some piece from the step, or 0.
func (s *stripEngine) scanCarefully(i int, r rule, room int64, best *choice) (blocked int64) {
	left, right := s.sky.walls(i)
	width, y := s.sky[i+1].x-s.sky[i].x, s.sky[i].y
	goesLeft := r.goesLeft(left, right)
	window := s.rows
	for k := range s.rows {
		if best.row >= 0 && (k >= s.reserved || k > window || !r.fit) {
			return 0
		}
		w, l := s.w[k], s.l[k]
		if w > width || y+l > room {
			continue
		}
		at, fault := s.seat(s.of[k].option, i, goesLeft)
		if fault >= 0 {
			if top := s.m.obstacles[fault].y1; blocked == 0 || top < blocked {
				blocked = top
			}
			continue
		}
		if at.option < 0 || at.y+l > room {
			continue
		}
		score := 0
		if w == width {
			score += 4
		}
		if at.x == s.sky[i].x && at.y+l == y+left {
			score += 2
		}
		if at.x+w == s.sky[i+1].x && at.y+l == y+right {
			score += 2
		}
		if at.y == y {
			score++
		}
		if score > best.score {
			*best = choice{k, score, at.x, at.y}
			window = min(window, k+scanWindow)
		}
	}
	return blocked
}

// seat finds where option o can lie on step i: against the wall it should go to, else the other,
// else beside a fault. The option of the spot is −1 if it cannot; then fault is one in its way,
// or −1 if it is the step that is too narrow for the repeat.
func (s *stripEngine) seat(o int32, i int, goesLeft bool) (at spot, fault int) {
	option := &s.m.options[o]
	y := alignUp(s.sky[i].y, option.atY, s.m.repeatY)
	low := alignUp(s.sky[i].x, option.atX, s.m.repeatX)
	high := alignDown(s.sky[i+1].x-option.w, option.atX, s.m.repeatX)
	if option.onFold { // it has one place across
		if s.sky[i+1].x < s.m.width || s.m.width-option.w < s.sky[i].x {
			return spot{option: -1}, -1
		}
		low, high = s.m.width-option.w, s.m.width-option.w
	}
	if low > high {
		return spot{option: -1}, -1
	}
	first, second := low, high
	if !goesLeft {
		first, second = high, low
	}
	fault = s.m.covered(first, y, option)
	if fault < 0 {
		return spot{o, first, y}, -1
	}
	if s.m.covered(second, y, option) < 0 {
		return spot{o, second, y}, -1
	}
	for k := range s.m.obstacles {
		f := &s.m.obstacles[k]
		if f.y1 <= y || f.y0 >= y+option.l-s.m.gap {
			continue
		}
		for _, x := range [2]int64{alignUp(f.x1, option.atX, s.m.repeatX), alignDown(f.x0+s.m.gap-option.w, option.atX, s.m.repeatX)} {
			if low <= x && x <= high && s.m.covered(x, y, option) < 0 {
				return spot{o, x, y}, -1
			}
		}
	}
	return spot{option: -1}, fault
}

// giveUp raises step i: where a fault up to blocked kept pieces off, to the upper edges of the
// faults that end there, else to its lower wall.
func (s *stripEngine) giveUp(i int, blocked int64) {
	if blocked > s.sky[i].y && s.raiseUnderFault(i, blocked) {
		return
	}
	left, right := s.sky.walls(i)
	lower := min(left, right)
	if lower == noCap {
		// The whole width is one step: only a longest length can keep every piece off it.
		s.sky[i].y = noCap
		return
	}
	s.sky.raise(i, s.sky[i].y+lower)
}

// raiseUnderFault raises the part of step i that lies under a fault which ends at top; it returns
// false if there is none.
func (s *stripEngine) raiseUnderFault(i int, top int64) bool {
	for k := range s.m.obstacles {
		if f := &s.m.obstacles[k]; f.y1 == top && f.x0 < s.sky[i+1].x && f.x1 > s.sky[i].x {
			from, to := max(f.x0, s.sky[i].x), min(f.x1, s.sky[i+1].x)
			s.sky.put(i, from, to-from, top)
			return true
		}
	}
	return false
}

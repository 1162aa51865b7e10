package marker

// The skyline engine lays pieces from the beginning of the cloth on. What is laid is described
// by its skyline, the steps of its upper edge. Always the lowest step is filled next: with the
// piece whose edges match most of the step's width and walls, ties going to the piece that
// comes first in a sequence. A step that nothing fits is given up and raised to its lower wall.
// The sequence is what the search changes (Leung, Zhang and Sim 2011; Wei and others 2017).

// entry is a number of copies of one kind that have one place in the sequence.
type entry struct {
	kind, count int32
	// only is the option that these copies must lie in, counted from the kind's first;
	// −1 leaves the choice to the engine.
	only int32
}

// rule is a variant of the engine.
type rule struct {
	// fit prefers matching edges; without it the sequence alone decides.
	fit bool
	// wall is where a piece that does not fill the step goes.
	wall wall
}

type wall uint8

const (
	tallerWall wall = iota
	lowerWall
	leftWall
	rightWall
)

// skyline is the state of the engine, with room for all it needs. Not safe for use by several
// goroutines.
type skyline struct {
	m           *model
	w, l        []int64 // by option
	first, last []int32 // options of a kind, for the ways up that are set
	x, y        []int64 // steps; x has the width as one more
	steps       int
	next, left  []int32 // by entry: the entry after it, copies left
	spots       []spot
}

func newSkyline(m *model) *skyline {
	s := &skyline{m: m, spots: make([]spot, 0, m.copies), x: make([]int64, m.copies*2+4), y: make([]int64, m.copies*2+4)}
	for _, o := range m.options {
		s.w, s.l = append(s.w, o.w), append(s.l, o.l)
	}
	s.first, s.last = make([]int32, len(m.kinds)), make([]int32, len(m.kinds))
	s.setWays(make([]int8, m.groups))
	return s
}

// setWays chooses the way up of each nap group that has a choice.
func (s *skyline) setWays(ways []int8) {
	for i, k := range s.m.kinds {
		s.first[i], s.last[i] = k.first, k.last
		if k.group < 0 {
			continue
		}
		for s.first[i] < k.last && s.m.options[s.first[i]].way != ways[k.group] {
			s.first[i]++
		}
		for s.last[i] = s.first[i]; s.last[i] < k.last && s.m.options[s.last[i]].way == ways[k.group]; s.last[i]++ {
		}
	}
}

// scanWindow is how many entries are looked at, once one fits, before the best is taken. It
// keeps the time for thousands of different pieces from growing with their square.
const scanWindow = 1500

// choice is the best piece for a step so far.
type choice struct {
	entry, before int32 // before is the entry in front of it in the list
	option        int32
	score         int32
	x, y          int64
}

// lay lays a sequence and returns the end of the marker. Entries from reserve on are laid only
// where none before fits. If the end would go beyond limit, lay gives up and returns noCap;
// with capped set, what would go beyond is left out instead. The spots are in s.spots.
func (s *skyline) lay(sequence []entry, reserve int, r rule, limit int64, capped bool) int64 {
	s.begin(sequence)
	head := int32(len(sequence)) // next[head] is the first entry
	end := int64(0)
	for s.next[head] != head {
		i := s.lowest()
		if s.y[i] == noCap {
			return end
		}
		best := choice{entry: -1, score: -1}
		blocked := int64(0)
		switch {
		case s.x[i+1]-s.x[i] < s.m.narrowest:
		case s.m.plain && !capped:
			s.scan(sequence, int32(reserve), i, r, &best)
		default:
			room := noCap
			if capped {
				room = limit
			}
			blocked = s.scanCarefully(sequence, int32(reserve), i, r, room, &best)
		}
		if best.entry < 0 {
			s.giveUp(i, blocked, capped)
			continue
		}
		top := best.y + s.l[best.option]
		if top > limit {
			return noCap
		}
		end = max(end, top)
		s.spots = append(s.spots, spot{best.option, best.x, best.y})
		s.put(i, best.x, s.w[best.option], top)
		if s.left[best.entry]--; s.left[best.entry] == 0 {
			s.next[best.before] = s.next[best.entry]
		}
	}
	return end
}

func (s *skyline) begin(sequence []entry) {
	n := len(sequence)
	for len(s.next) <= n {
		s.next, s.left = append(s.next, 0), append(s.left, 0)
	}
	s.next[n] = int32(n)
	last := int32(n)
	for i := range sequence {
		if s.left[i] = sequence[i].count; s.left[i] > 0 {
			s.next[last] = int32(i)
			last = int32(i)
		}
	}
	s.next[last] = int32(n)
	s.spots = s.spots[:0]
	s.x[0], s.x[1], s.y[0], s.steps = 0, s.m.width, 0, 1
}

func (s *skyline) lowest() int {
	at, least := 0, s.y[0]
	for i, y := range s.y[1:s.steps] {
		if y < least {
			at, least = i+1, y
		}
	}
	return at
}

// walls returns how high the skyline stands over step i on its left and right.
func (s *skyline) walls(i int) (left, right int64) {
	left, right = noCap, noCap
	if i > 0 {
		left = s.y[i-1] - s.y[i]
	}
	if i+1 < s.steps {
		right = s.y[i+1] - s.y[i]
	}
	return left, right
}

// goesLeft tells where a piece that matches neither wall goes.
func (r rule) goesLeft(left, right int64) bool {
	switch r.wall {
	case tallerWall:
		return left >= right
	case lowerWall:
		return left <= right
	}
	return r.wall == leftWall
}

// scan finds the piece for step i where nothing but the steps matters.
func (s *skyline) scan(sequence []entry, reserve int32, i int, r rule, best *choice) {
	left, right := s.walls(i)
	width, x, y := s.x[i+1]-s.x[i], s.x[i], s.y[i]
	goesLeft := r.goesLeft(left, right)
	head := int32(len(sequence))
	seen := 0
	for before, e := head, s.next[head]; e != head; before, e = e, s.next[e] {
		if best.entry >= 0 && (e >= reserve || seen > scanWindow || !r.fit) {
			return
		}
		seen++
		from, to := s.optionsOf(sequence[e])
		for o := from; o < to; o++ {
			w := s.w[o]
			if w > width {
				continue
			}
			score, toLeft := int32(0), goesLeft
			if l := s.l[o]; w == width {
				score = 2
				if l == left {
					score++
				}
				if l == right {
					score++
				}
			} else if l == left {
				score, toLeft = 1, true
			} else if l == right {
				score, toLeft = 1, false
			}
			if score <= best.score {
				continue
			}
			*best = choice{e, before, o, score, x, y}
			if !toLeft {
				best.x = x + width - w
			}
			if score == 4 {
				return
			}
		}
	}
}

// optionsOf returns the options that an entry may lie in.
func (s *skyline) optionsOf(e entry) (from, to int32) {
	if e.only >= 0 {
		from = s.m.kinds[e.kind].first + e.only
		return from, from + 1
	}
	return s.first[e.kind], s.last[e.kind]
}

// scanCarefully finds the piece for step i where faults, repeats or a longest length matter too.
// It returns the least upper edge of a fault that kept some piece from the step, or 0.
func (s *skyline) scanCarefully(sequence []entry, reserve int32, i int, r rule, room int64, best *choice) (blocked int64) {
	left, right := s.walls(i)
	width, y := s.x[i+1]-s.x[i], s.y[i]
	goesLeft := r.goesLeft(left, right)
	head := int32(len(sequence))
	seen := 0
	for before, e := head, s.next[head]; e != head; before, e = e, s.next[e] {
		if best.entry >= 0 && (e >= reserve || seen > scanWindow || !r.fit) {
			return 0
		}
		seen++
		from, to := s.optionsOf(sequence[e])
		for o := from; o < to; o++ {
			l := s.l[o]
			if s.w[o] > width || y+l > room {
				continue
			}
			at, fault := s.seat(o, i, goesLeft)
			if fault >= 0 {
				if top := s.m.obstacles[fault].y1; blocked == 0 || top < blocked {
					blocked = top
				}
				continue
			}
			if at.option < 0 || at.y+l > room {
				continue
			}
			score := int32(0)
			if s.w[o] == width {
				score += 4
			}
			if at.x == s.x[i] && at.y+l == y+left {
				score += 2
			}
			if at.x+s.w[o] == s.x[i+1] && at.y+l == y+right {
				score += 2
			}
			if at.y == y {
				score++
			}
			if score > best.score {
				*best = choice{e, before, o, score, at.x, at.y}
			}
		}
	}
	return blocked
}

// seat finds where option o can lie on step i: against the wall it should go to, else the other,
// else beside a fault. The option of the spot is −1 if it cannot; then fault is one in its way,
// or −1 if it is the step that is too narrow for the repeat.
func (s *skyline) seat(o int32, i int, goesLeft bool) (at spot, fault int) {
	option := &s.m.options[o]
	y := alignUp(s.y[i], option.atY, s.m.repeatY)
	low := alignUp(s.x[i], option.atX, s.m.repeatX)
	high := alignDown(s.x[i+1]-option.w, option.atX, s.m.repeatX)
	if low > high {
		return spot{option: -1}, -1
	}
	first, second := low, high
	if !goesLeft {
		first, second = high, low
	}
	fault = s.m.covered(first, y, option.w, option.l)
	if fault < 0 {
		return spot{o, first, y}, -1
	}
	if s.m.covered(second, y, option.w, option.l) < 0 {
		return spot{o, second, y}, -1
	}
	for k := range s.m.obstacles {
		f := &s.m.obstacles[k]
		if f.y1 <= y || f.y0 >= y+option.l-s.m.gap {
			continue
		}
		for _, x := range [2]int64{alignUp(f.x1, option.atX, s.m.repeatX), alignDown(f.x0+s.m.gap-option.w, option.atX, s.m.repeatX)} {
			if low <= x && x <= high && s.m.covered(x, y, option.w, option.l) < 0 {
				return spot{o, x, y}, -1
			}
		}
	}
	return spot{option: -1}, fault
}

// giveUp raises step i: where a fault up to blocked kept pieces off, to the upper edges of the
// faults that end there, else to its lower wall.
func (s *skyline) giveUp(i int, blocked int64, capped bool) {
	if blocked > s.y[i] && s.raiseUnderFaults(i, blocked) {
		return
	}
	left, right := s.walls(i)
	lower := min(left, right)
	if lower == noCap {
		// The whole width is one step: only a longest length can keep every piece off it.
		s.y[i] = noCap
		return
	}
	s.y[i] += lower
	s.merge(i)
}

// raiseUnderFaults raises the parts of step i that lie under faults which end at top.
func (s *skyline) raiseUnderFaults(i int, top int64) bool {
	from, to := s.x[i+1], s.x[i]
	for k := range s.m.obstacles {
		f := &s.m.obstacles[k]
		if f.y1 == top && f.x0 < s.x[i+1] && f.x1 > s.x[i] {
			// On its left a piece may come as near as the gap that it carries.
			from, to = min(from, max(f.x0, s.x[i])), max(to, min(f.x1, s.x[i+1]))
			break
		}
	}
	if from >= to {
		return false
	}
	s.put(i, from, to-from, top)
	return true
}

// put lays w from x on up to top on step i, which it must not leave.
func (s *skyline) put(i int, x, w, top int64) {
	if before := x - s.x[i]; before > 0 {
		s.insert(i)
		i++
		s.x[i] = x
	}
	if s.x[i+1] > x+w {
		s.insert(i)
		s.x[i+1] = x + w
	}
	s.y[i] = top
	s.merge(i)
}

// insert makes two steps of step i.
func (s *skyline) insert(i int) {
	if s.steps+2 > len(s.x) {
		s.x, s.y = append(s.x, 0, 0), append(s.y, 0, 0)
	}
	copy(s.x[i+1:s.steps+2], s.x[i:s.steps+1])
	copy(s.y[i+1:s.steps+1], s.y[i:s.steps])
	s.steps++
}

// merge joins step i with neighbours as high as it.
func (s *skyline) merge(i int) {
	if i+1 < s.steps && s.y[i+1] == s.y[i] {
		s.drop(i + 1)
	}
	if i > 0 && s.y[i-1] == s.y[i] {
		s.drop(i)
	}
}

// drop removes step i; the one before it takes its place.
func (s *skyline) drop(i int) {
	copy(s.x[i:s.steps], s.x[i+1:s.steps+1])
	copy(s.y[i:s.steps-1], s.y[i+1:s.steps])
	s.steps--
}

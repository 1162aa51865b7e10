package roll

import (
	"math"
	"slices"
)

// box is a range for how many rolls of each kind are opened. The packings of a model that are
// cheaper than the best lie in one box, which branch splits until each part is excluded.
type box struct {
	least, most []int
	// bound is a proven lower bound on the cost of the packings in it.
	bound int64
}

func (b box) clone() box { return box{slices.Clone(b.least), slices.Clone(b.most), b.bound} }

// within returns the box with the number of one kind held to a range.
func (b box) within(kind, least, most int) box {
	c := b.clone()
	c.least[kind], c.most[kind] = max(c.least[kind], least), min(c.most[kind], most)
	return c
}

func (b box) point() bool { return slices.Equal(b.least, b.most) }

func (b box) empty() bool {
	for k := range b.least {
		if b.least[k] > b.most[k] {
			return true
		}
	}
	return false
}

// branch looks for cheaper packings by branching on the number of rolls of each kind, up to
// so many steps. Each box is excluded by its relaxation, split at a kind of which the
// relaxation opens a broken number, or, when all numbers are whole, tried as they are and
// split around them. What is left in the end bounds the cost.
func (s *search) branch(until int) {
	first, ok := s.firstBox()
	if !ok {
		return
	}
	open := []box{first}
	unresolved := int64(math.MaxInt64)
	for len(open) > 0 && !s.done() && !s.out() && s.steps() < until {
		at := s.cheapest(open)
		b := open[at]
		open = slices.Delete(open, at, at+1)
		if s.totals.next(b.bound) >= s.cutoff {
			continue
		}
		if b.point() {
			if !s.tryPoint(b) {
				unresolved = min(unresolved, b.bound)
			}
			continue
		}
		open = append(open, s.split(b)...)
	}
	bound := min(s.cutoff, unresolved)
	for _, b := range open {
		bound = min(bound, b.bound)
	}
	s.raiseBound(bound)
}

// firstBox holds every packing that is cheaper than the cutoff; false if there is no cutoff.
func (s *search) firstBox() (box, bool) {
	m := s.model
	b := box{make([]int, len(m.cost)), slices.Clone(m.limit), s.bound}
	for k, c := range m.cost {
		if s.cutoff == math.MaxInt64 || c <= 0 {
			return box{}, false
		}
		if most := int(min((s.cutoff-1)/c, math.MaxInt32)); b.most[k] < 0 || b.most[k] > most {
			b.most[k] = most
		}
	}
	return b, true
}

// cheapest returns the place of the box with the lowest bound, the last one of several.
func (s *search) cheapest(open []box) int {
	at := 0
	for i := range open {
		if open[i].bound <= open[at].bound {
			at = i
		}
	}
	return at
}

// part is a kind of roll in a box: those that are opened in any case cost nothing more.
type part struct {
	kind int
	paid bool
}

// inBox is the model within a box: the least numbers of rolls are paid for, more may be
// opened at their cost. Paid is what the least numbers cost.
func (m *model) inBox(b box) (in model, parts []part, paid int64) {
	in = model{weight: m.weight, demand: m.demand, mustMeet: true, miss: m.miss}
	add := func(p part, cost int64, limit int) {
		if limit > 0 {
			parts = append(parts, p)
			in.capacity, in.cost, in.limit = append(in.capacity, m.capacity[p.kind]), append(in.cost, cost), append(in.limit, limit)
		}
	}
	for k, c := range m.cost {
		add(part{k, true}, 0, b.least[k])
		add(part{k, false}, c, b.most[k]-b.least[k])
		paid += c * int64(b.least[k])
	}
	return in, parts, paid
}

// split relaxes a box and returns the boxes that its cheaper packings lie in.
func (s *search) split(b box) []box {
	in, parts, paid := s.model.inBox(b)
	t := newSearch(s.ctx, &in, s.rng.Uint64(), s.left())
	t.cutoff = s.cutoff - paid
	t.learn(s.forParts(parts))
	defer s.spent(t)
	r, ok := t.relax(in.root())
	if !ok {
		return b.halves()
	}
	t.raiseBound(in.safeBound(r.itemDual))
	b.bound = max(b.bound, paid+t.bound)
	if t.done() {
		return nil
	}
	t.dive(in.root(), 0)
	s.takeOver(t, parts)
	opened, broken := t.opened(b, parts, r)
	if broken < 0 {
		return b.around(opened)
	}
	down := int(math.Floor(opened[broken]))
	return []box{b.within(broken, down+1, math.MaxInt), b.within(broken, 0, down)}
}

// forParts returns the patterns of the pool as patterns of the parts.
func (s *search) forParts(parts []part) []pattern {
	var pool []pattern
	for at, p := range parts {
		for _, pat := range s.pool {
			if pat.kind == p.kind {
				pool = append(pool, pattern{at, pat.item, pat.n})
			}
		}
	}
	return pool
}

// takeOver takes what a search on parts found and learned.
func (s *search) takeOver(t *search, parts []part) {
	pool := make([]pattern, len(t.pool))
	for i, pat := range t.pool {
		pool[i] = pattern{parts[pat.kind].kind, pat.item, pat.n}
	}
	s.learn(pool)
	if !t.found {
		return
	}
	found := packing{unmet: make([]int, len(s.model.weight))}
	for i, pat := range t.best.pattern {
		found.add(pattern{parts[pat.kind].kind, pat.item, pat.n}, t.best.times[i])
	}
	s.offer(found)
}

// opened sums up how many rolls of each kind a relaxation in a box opens, and returns the
// kind whose number is most broken; -1 if all are whole.
func (s *search) opened(b box, parts []part, r relaxation) ([]float64, int) {
	opened := make([]float64, len(b.least))
	for k, n := range b.least {
		opened[k] = float64(n)
	}
	for _, u := range r.use {
		if p := parts[s.pool[u.pattern].kind]; !p.paid {
			opened[p.kind] += u.times
		}
	}
	broken, most := -1, 1e-6
	for k, n := range opened {
		if off := math.Abs(n - math.Round(n)); off > most {
			broken, most = k, off
		}
	}
	return opened, broken
}

// around splits a box into the point of the given numbers and what lies around it.
func (b box) around(numbers []float64) []box {
	var boxes []box
	rest := b.clone()
	for k := range numbers {
		n := int(math.Round(numbers[k]))
		for _, side := range []box{rest.within(k, 0, n-1), rest.within(k, n+1, math.MaxInt)} {
			if !side.empty() {
				boxes = append(boxes, side)
			}
		}
		rest = rest.within(k, n, n)
	}
	return append(boxes, rest)
}

// halves splits a box at the kind with the widest range.
func (b box) halves() []box {
	widest := 0
	for k := range b.least {
		if b.most[k]-b.least[k] > b.most[widest]-b.least[widest] {
			widest = k
		}
	}
	middle := (b.least[widest] + b.most[widest]) / 2
	return []box{b.within(widest, middle+1, math.MaxInt), b.within(widest, 0, middle)}
}

// pointSteps is what trying one choice of rolls may take.
const pointSteps = 400

// tryPoint looks for a packing into exactly the rolls of a point; it returns false if it can
// neither find nor exclude one.
func (s *search) tryPoint(b box) bool {
	m := *s.model
	m.mustMeet, m.miss = false, m.weight
	m.limit = b.least
	m.cost = make([]int64, len(m.cost))
	t := newSearch(s.ctx, &m, s.rng.Uint64(), min(s.left(), pointSteps))
	t.cutoff = 1
	t.learn(s.pool)
	t.run()
	s.spent(t)
	s.learn(t.pool)
	if t.found {
		found := t.best.clone()
		found.unmet = make([]int, len(m.weight))
		s.offer(found)
	}
	return t.done()
}

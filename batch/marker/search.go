package marker

import (
	"math/rand/v2"
	"slices"
)

// solution is a laid marker in the model, with the plan that it came from.
type solution struct {
	spots  []spot
	plan   plan
	end    int64
	value  int64
	engine string
}

// full tells whether every copy is laid.
func (s *solution) full(m *model) bool { return len(s.spots) == m.copies }

// better tells whether s is to be preferred: more value, then more copies, then a shorter end.
func (s *solution) better(than *solution) bool {
	switch {
	case than.engine == "" || s.engine == "":
		return s.engine != ""
	case s.value != than.value:
		return s.value > than.value
	case len(s.spots) != len(than.spots):
		return len(s.spots) > len(than.spots)
	}
	return s.end < than.end
}

// worker searches by itself: first its share of the starts, then by changing a plan step by
// step (annealing at a steady low warmth, begun anew when it finds nothing more). What it does
// depends on the seed, the number of its steps and what it is told between rounds only.
type worker struct {
	id, workers int
	m           *model
	engine      engine
	rng         *rand.Rand
	starts      []start // of all workers
	bound       int64
	total       int64 // value of all copies
	steps       int

	best    solution
	shared  *solution // the best of all workers at the end of the last round
	partial bool      // whether to look for the most value rather than for the shortest end

	plan    plan
	cost    int64
	target  int64
	least   int64 // cost since the last new beginning
	stale   int   // steps since then
	begun   int
	results []result // of this worker's starts
	undo    change
}

// result is what a start came to.
type result struct {
	start, value, end int64
}

// change is what a step has changed, as it was before.
type change struct {
	i, j     int
	atI, atJ entry
	reserve  int
	way      int // index into ways, −1 if none is changed
	skips    [maxSkips]int32
}

func newWorker(m *model, id, workers int, seed uint64, bound int64, starts []start) *worker {
	w := &worker{id: id, workers: workers, m: m, starts: starts, bound: bound,
		rng: rand.New(rand.NewPCG(seed, uint64(id)+0x9e3779b97f4a7c15))}
	if m.in.StraightCuts {
		w.engine = newStraight(m)
	} else {
		w.engine = newSkyline(m)
	}
	for _, k := range m.kinds {
		w.total += k.value * int64(k.copies)
	}
	return w
}

// step lays one plan.
func (w *worker) step() {
	at := w.steps*w.workers + w.id
	w.steps++
	if at < len(w.starts) {
		w.try(at)
		return
	}
	if w.plan.sequence == nil || w.stale > w.patience() {
		w.beginAnew()
	}
	w.stale++
	w.change()
	most := w.cost + w.warmth()
	out := w.engine.lay(w.plan, w.goal(most))
	cost := w.costOf(out)
	if out.stopped || cost > most {
		w.takeBack()
		return
	}
	w.cost = cost
	if cost < w.least {
		w.least, w.stale = cost, 0
	}
	if w.keep(out) {
		w.aim()
	}
}

// try lays a start.
func (w *worker) try(at int) {
	s := w.starts[at]
	was := w.partial
	w.partial, w.plan, w.target = s.partial, s.plan, noCap
	out := w.engine.lay(w.plan, w.goal(noCap))
	w.results = append(w.results, result{int64(at), w.laidValue(), out.end})
	w.keep(out)
	w.partial, w.plan = was, plan{}
}

func (w *worker) goal(excess int64) goal {
	if w.partial {
		return goal{room: w.m.cap, target: noCap, excess: noCap}
	}
	return goal{room: noCap, target: w.target, excess: excess}
}

// costOf is what the search brings down: area beyond the target, or value left out.
func (w *worker) costOf(out outcome) int64 {
	if w.partial {
		return w.total - w.laidValue()
	}
	return out.excess
}

func (w *worker) laidValue() int64 {
	value := int64(0)
	for _, s := range w.engine.laid() {
		value += w.m.kinds[w.m.options[s.option].kind].value
	}
	return value
}

// warm is how much worse a step may be on average, in copies of mean size or value. With more
// the search wanders, with less it gets stuck (measured on the published instances).
const warm = 0.03

// warmth is how much worse this step may be.
func (w *worker) warmth() int64 {
	if w.partial {
		return int64(w.rng.ExpFloat64() * warm * float64(w.total) / float64(w.m.copies))
	}
	return int64(w.rng.ExpFloat64() * warm * w.m.meanArea)
}

func (w *worker) patience() int { return 6_000 + 60*len(w.plan.sequence) }

// keep stores what was just laid if it is the best so far, and returns whether it is.
func (w *worker) keep(out outcome) bool {
	spots := w.engine.laid()
	if len(spots) < w.m.copies && !w.partial || out.end > w.m.cap {
		return false
	}
	found := solution{spots: spots, end: out.end, value: w.laidValue(), engine: w.engine.name()}
	if !found.better(&w.best) {
		return false
	}
	found.spots = slices.Clone(spots)
	found.plan = w.plan.clone()
	w.best = found
	return true
}

func (p plan) clone() plan {
	p.sequence, p.ways = slices.Clone(p.sequence), slices.Clone(p.ways)
	return p
}

// told takes in what the other workers found in the last round.
func (w *worker) told(best *solution) {
	w.shared = best
	partial := w.m.cap < noCap && !best.full(w.m) && (w.bound > w.m.cap || w.id%2 == 1)
	if partial != w.partial {
		w.partial, w.plan = partial, plan{}
	}
}

// beginAnew takes up a start again, or what is the best so far with some entries moved about.
func (w *worker) beginAnew() {
	if w.begun > 0 && w.begun%2 == 0 && w.shared.plan.sequence != nil && w.shared.full(w.m) != w.partial {
		w.plan = w.shared.plan.clone()
		for range len(w.plan.sequence)/8 + 2 {
			w.change()
		}
	} else {
		w.plan = w.pickStart().clone()
	}
	w.begun++
	w.aim()
}

// pickStart returns the plan of the best start that is of the kind looked for, first with the
// rule that suits most, then with others by chance.
func (w *worker) pickStart() plan {
	best := -1
	for i, r := range w.results {
		s := &w.starts[r.start]
		if s.partial != w.partial {
			continue
		}
		if best >= 0 {
			b := w.results[best]
			if w.begun > 0 && w.rng.IntN(3) == 0 || r.value < b.value || r.value == b.value && r.end >= b.end {
				continue
			}
		}
		best = i
	}
	if best < 0 {
		best = 0
	}
	p := w.starts[w.results[best].start].plan
	p.rule = rule{fit: true, wall: []wall{leftWall, tallerWall}[(w.id+w.begun/2)%2]}
	if w.m.in.StraightCuts {
		p.rule.whole, p.rule.wall = (w.begun+w.id)%3 < 2, tallerWall
	}

	return p
}

// aim sets the end to reach a little below the best so far, and finds the cost of the plan.
func (w *worker) aim() {
	w.target = w.bound
	if w.best.engine != "" && w.best.full(w.m) {
		w.target = max(w.bound, w.best.end-1-w.best.end/64)
	} else if w.m.cap < noCap {
		w.target = max(w.bound, w.m.cap)
	}
	w.cost = w.costOf(w.engine.lay(w.plan, w.goal(noCap)))
	w.least, w.stale = w.cost, 0
}

// change makes one small change to the plan.
func (w *worker) change() {
	p := &w.plan
	n := len(p.sequence)
	i, j := w.rng.IntN(n), w.rng.IntN(n)
	w.undo = change{i, j, p.sequence[i], p.sequence[j], p.reserve, -1, p.skips}
	if w.rng.IntN(100) == 0 {
		if at := w.rng.IntN(maxSkips); p.skips[at] < 0 {
			p.skips[at] = int32(w.rng.IntN(w.m.copies))
		} else {
			p.skips[at] = -1
		}
		return
	}
	if w.m.groups > 0 && w.rng.IntN(20) == 0 {
		w.undo.way = w.rng.IntN(w.m.groups)
		p.ways[w.undo.way] ^= 1
		return
	}
	if w.partial && w.rng.IntN(20) == 0 {
		p.reserve = min(max(p.reserve+w.rng.IntN(2)*2-1, 0), n)
		return
	}
	a, b := &p.sequence[i], &p.sequence[j]
	if w.m.in.StraightCuts && w.rng.IntN(5) == 0 {
		a.split = []wall{leftWall, rightWall, asRule}[w.rng.IntN(3)]
		return
	}
	if k := &w.m.kinds[a.kind]; k.last-k.first > 1 && w.rng.IntN(20) == 0 {
		// Any of the options, or −1 for a free choice.
		a.only = w.rng.Int32N(k.last-k.first+1) - 1
		return
	}
	if a.kind == b.kind && a.only == b.only {
		if most := int(min(a.count, b.count)); i != j && most > 1 {
			moved := int32(w.rng.IntN(most))
			a.count, b.count = a.count-moved, b.count+moved
		}
		return
	}
	*a, *b = *b, *a
}

func (w *worker) takeBack() {
	p, u := &w.plan, &w.undo
	p.sequence[u.j], p.sequence[u.i], p.reserve, p.skips = u.atJ, u.atI, u.reserve, u.skips
	if u.way >= 0 {
		p.ways[u.way] ^= 1
	}
}

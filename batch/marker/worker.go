package marker

import (
	"math"
	"math/bits"
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
	id     int
	seed   uint64
	m      *model
	engine engine
	rng    *rand.Rand
	starts []start // of all workers
	bound  int64
	steps  int
	tried  []tried // this worker's starts

	best    solution
	shared  *solution // the best of all workers at the end of the last round
	partial bool      // whether to look for the most value rather than for the shortest end

	// What is being changed, from one new beginning to the next.
	plan   plan
	cost   int64
	target int64
	least  int64 // the least cost of any plan since the beginning
	stale  int   // steps since that was found
	begun  int   // beginnings so far
	undo   change

	shares []given
	// refuted: no marker ends there or before.
	refuted int64
	without []string
}

// tried is what a start came to.
type tried struct {
	*start
	value, end int64
}

// better tells whether a start came to more value, or to as much on less cloth.
func (t tried) better(than tried) bool {
	return t.value > than.value || t.value == than.value && t.end < than.end
}

// change is what a step has changed, as it was before.
type change struct {
	i, j     int // two entries
	atI, atJ entry
	reserve  int
	way      int // index into ways, −1 if none is changed
	skips    [maxSkips]int32
}

func newWorker(m *model, id int, params Params, bound int64, starts []start) *worker {
	w := &worker{
		id: id, seed: params.Seed, m: m, starts: starts, bound: bound, rng: rand.New(rand.NewPCG(params.Seed, uint64(id))),
		shares: sharesOf(m, id, params.Without), without: params.Without,
	}
	w.shared = &w.best
	if m.in.StraightCuts {
		w.engine = newStraight(m)
	} else {
		w.engine = newSkyline(m)
	}
	return w
}

// step lays one plan.
func (w *worker) step() {
	at := w.steps*workerCount + w.id
	w.steps++
	if at < len(w.starts) {
		w.try(&w.starts[at])
		return
	}
	if w.bySearcher() || slices.Contains(w.without, "sequence") {
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

// patience is how many steps without gain lead to a new beginning.
func (w *worker) patience() int { return 6_000 + 60*len(w.plan.sequence) }

// try lays a start.
func (w *worker) try(s *start) {
	partial := w.partial
	w.partial, w.plan, w.target = s.partial, s.plan, noCap
	out := w.engine.lay(w.plan, w.goal(noCap))
	w.tried = append(w.tried, tried{s, w.laidValue(), out.end})
	w.keep(out)
	w.partial, w.plan = partial, plan{}
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
		return w.m.value - w.laidValue()
	}
	return out.excess
}

func (w *worker) laidValue() int64 {
	spots := w.engine.laid()
	if len(spots) == w.m.copies {
		return w.m.value
	}
	value := int64(0)
	for _, s := range spots {
		value += w.m.kinds[w.m.options[s.option].kind].value
	}
	return value
}

// warm is how much worse a step may be on average, in copies of mean area or value. With more
// the search wanders, with less it gets stuck (measured on the published instances).
const warm = 0.03

// warmth draws how much worse this step may be. It is spread nearly as the exponential
// distribution: one half of all draws lie below ln 2 means, one half of the rest below twice
// that, and so on. No logarithm is taken, as its last digits differ between machines.
func (w *worker) warmth() int64 {
	one := w.m.meanArea
	if w.partial {
		one = float64(w.m.value) / float64(w.m.copies)
	}
	return drawWarmth(w.rng, warm*one)
}

// drawWarmth draws a number spread in this way about a mean.
func drawWarmth(rng *rand.Rand, mean float64) int64 {
	random := rng.Uint64()
	halvings := float64(bits.LeadingZeros64(random)) + float64(random&0xffff)/0x10000
	return int64(float64(halvings*math.Ln2) * float64(mean))
}

// keep stores what was just laid if it is the best so far, and returns whether it is.
func (w *worker) keep(out outcome) bool {
	spots := w.engine.laid()
	if len(spots) < w.m.copies && !w.partial || out.end > w.m.cap || out.end >= noCap {
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

// told takes in the bound and the best that all workers know at the end of a round. While not
// everything is laid on the longest length, some workers look for the most value and the others,
// unless it is proven in vain, for a marker of everything.
func (w *worker) told(best *solution, bound int64) {
	w.shared, w.bound = best, bound
	partial := w.m.cap < noCap && !best.full(w.m) && (bound > w.m.cap || w.id%2 == 1)
	if partial != w.partial {
		w.partial, w.plan = partial, plan{}
	}
}

// beginAnew takes up a start again or, every other time, the best so far with some entries
// moved about.
func (w *worker) beginAnew() {
	if w.begun > 0 && w.begun%2 == 0 && w.shared.full(w.m) != w.partial {
		w.plan = w.shared.plan.clone()
		for range len(w.plan.sequence)/8 + 2 {
			w.change()
		}
	} else {
		w.plan = w.pickStart()
	}
	w.begun++
	w.aim()
}

// pickStart returns the plan of a start of the kind looked for, with a rule that suits the
// search: at first of the best start, then of others too, by chance.
func (w *worker) pickStart() plan {
	best := -1
	for i, t := range w.tried {
		if t.partial != w.partial {
			continue
		}
		byChance := w.begun > 0 && w.rng.IntN(3) == 0
		if best < 0 || t.better(w.tried[best]) && !byChance {
			best = i
		}
	}
	p := w.tried[max(best, 0)].plan.clone()
	p.rule = w.searchRule()
	return p
}

// searchRule varies the rule between the workers and from one beginning to the next.
func (w *worker) searchRule() rule {
	r := rule{fit: true}
	if w.m.in.StraightCuts {
		r.whole, r.split = (w.begun+w.id)%3 < 2, leastLost
		return r
	}
	r.left = (w.id+w.begun/2)%2 == 0
	r.across = w.begun%2 == w.id && !slices.Contains(w.without, "across")
	r.even = (w.begun+w.id)/2%2 == 1 && !slices.Contains(w.without, "even")
	return r
}

// aim sets the end to reach a little below the best so far, and finds the cost of the plan.
func (w *worker) aim() {
	w.target = w.bound
	if w.best.full(w.m) {
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
	i, j := w.rng.IntN(len(p.sequence)), w.rng.IntN(len(p.sequence))
	w.undo = change{i, j, p.sequence[i], p.sequence[j], p.reserve, -1, p.skips}
	straight := w.m.in.StraightCuts
	switch {
	case !straight && w.rng.IntN(100) == 0 && !slices.Contains(w.without, "skips"):
		w.changeSkip()
	case w.m.groups > 0 && w.rng.IntN(20) == 0:
		w.undo.way = w.rng.IntN(w.m.groups)
		p.ways[w.undo.way] ^= 1
	case w.partial && w.rng.IntN(20) == 0:
		p.reserve = min(max(p.reserve+w.rng.IntN(2)*2-1, 0), len(p.sequence))
	case straight && w.rng.IntN(5) == 0:
		p.sequence[i].split = []split{asRule, cutAlong, cutAcross}[w.rng.IntN(3)]
	case w.choices(i) > 1 && w.rng.IntN(20) == 0:
		// Any of the options, or −1 for a free choice.
		p.sequence[i].only = w.rng.Int32N(w.choices(i)+1) - 1
	default:
		w.exchange(&p.sequence[i], &p.sequence[j])
	}
}

// choices returns how many ways to lie the copies of an entry have.
func (w *worker) choices(i int) int32 {
	k := &w.m.kinds[w.plan.sequence[i].kind]
	return k.last - k.first
}

// changeSkip sets a step to be given up, or none.
func (w *worker) changeSkip() {
	skip := &w.plan.skips[w.rng.IntN(maxSkips)]
	if *skip >= 0 {
		*skip = -1
	} else {
		*skip = w.rng.Int32N(int32(w.m.copies))
	}
}

// exchange swaps two entries; between two alike it shifts copies.
func (w *worker) exchange(a, b *entry) {
	if a.kind != b.kind || a.only != b.only {
		*a, *b = *b, *a
		return
	}
	if most := min(a.count, b.count); a != b && most > 1 {
		moved := w.rng.Int32N(most)
		a.count, b.count = a.count-moved, b.count+moved
	}
}

func (w *worker) takeBack() {
	p, u := &w.plan, &w.undo
	p.sequence[u.j], p.sequence[u.i], p.reserve, p.skips = u.atJ, u.atI, u.reserve, u.skips
	if u.way >= 0 {
		p.ways[u.way] ^= 1
	}
}

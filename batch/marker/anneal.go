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

// annealing is the search over plans: it lays starts, then changes a plan step by step, by simulated annealing at
// a steady low temperature (Kirkpatrick, Gelatt and Vecchi 1983, doi:10.1126/science.220.4598.671), begun anew when
// it finds nothing more. What it does depends on the seed, the number of its steps and what it is told only.
type annealing struct {
	worker  int
	m       *model
	engine  engine
	rng     *rand.Rand
	bound   int64
	tried   []tried
	without []string

	best    solution  // this worker's
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

// newAnnealing begins a search for one of the workers, which differ in their choices; without names what is left
// out: skips, across, even.
func newAnnealing(m *model, e engine, worker int, seed uint64, bound int64, without []string) *annealing {
	a := &annealing{worker: worker, m: m, engine: e, rng: rand.New(rand.NewPCG(seed, uint64(worker))), bound: bound, without: without}
	a.shared = &a.best
	return a
}

// step changes the plan and lays it.
func (a *annealing) step() {
	if a.plan.sequence == nil || a.stale > a.patience() {
		a.beginAnew()
	}
	a.stale++
	a.change()
	most := a.cost + a.temperature()
	out := a.engine.lay(a.plan, a.goal(most))
	cost := a.costOf(out)
	if out.stopped || cost > most {
		a.takeBack()
		return
	}
	a.cost = cost
	if cost < a.least {
		a.least, a.stale = cost, 0
	}
	if a.keep(out) {
		a.aim()
	}
}

// patience is how many steps without gain lead to a new beginning.
func (a *annealing) patience() int { return 6_000 + 60*len(a.plan.sequence) }

// try lays a start.
func (a *annealing) try(s *start) {
	partial := a.partial
	a.partial, a.plan, a.target = s.partial, s.plan, noCap
	out := a.engine.lay(a.plan, a.goal(noCap))
	a.tried = append(a.tried, tried{s, a.laidValue(), out.end})
	a.keep(out)
	a.partial, a.plan = partial, plan{}
}

func (a *annealing) goal(excess int64) goal {
	if a.partial {
		return goal{room: a.m.cap, target: noCap, excess: noCap}
	}
	return goal{room: noCap, target: a.target, excess: excess}
}

// costOf is what the search brings down: area beyond the target, or value left out.
func (a *annealing) costOf(out outcome) int64 {
	if a.partial {
		return a.m.value - a.laidValue()
	}
	return out.excess
}

func (a *annealing) laidValue() int64 {
	spots := a.engine.laid()
	if len(spots) == a.m.copies {
		return a.m.value
	}
	value := int64(0)
	for _, s := range spots {
		value += a.m.kinds[a.m.options[s.option].kind].value
	}
	return value
}

// meanRise is how much worse a step may be on average, in copies of mean area or value. With more
// the search wanders, with less it gets stuck (measured on the published instances).
const meanRise = 0.03

// temperature draws how much worse this step may be. It is spread nearly as the exponential
// distribution: one half of all draws lie below ln 2 means, one half of the rest below twice
// that, and so on. No logarithm is taken, as its last digits differ between machines.
func (a *annealing) temperature() int64 {
	one := a.m.meanArea
	if a.partial {
		one = float64(a.m.value) / float64(a.m.copies)
	}
	return drawRise(a.rng, meanRise*one)
}

// drawRise draws a number spread in this way about a mean.
func drawRise(rng *rand.Rand, mean float64) int64 {
	random := rng.Uint64()
	halvings := float64(bits.LeadingZeros64(random)) + float64(random&0xffff)/0x10000
	return int64(float64(halvings*math.Ln2) * float64(mean))
}

// keep stores what was just laid if it is the best so far, and returns whether it is.
func (a *annealing) keep(out outcome) bool {
	spots := a.engine.laid()
	if len(spots) < a.m.copies && !a.partial || out.end > a.m.cap || out.end >= noCap {
		return false
	}
	found := solution{spots: spots, end: out.end, value: a.laidValue(), engine: a.engine.name()}
	if !found.better(&a.best) {
		return false
	}
	found.spots = slices.Clone(spots)
	found.plan = a.plan.clone()
	a.best = found
	return true
}

// learn takes in the bound and the best that all workers know at the end of a round. While not
// everything is laid on the longest length, some workers look for the most value and the others,
// unless it is proven in vain, for a marker of everything.
func (a *annealing) learn(best *solution, bound int64) {
	a.shared, a.bound = best, bound
	partial := a.m.cap < noCap && !best.full(a.m) && (bound > a.m.cap || a.worker%2 == 1)
	if partial != a.partial {
		a.partial, a.plan = partial, plan{}
	}
}

// beginAnew takes up a start again or, every other time, the best so far with some entries
// moved about.
func (a *annealing) beginAnew() {
	if a.begun > 0 && a.begun%2 == 0 && a.shared.full(a.m) != a.partial {
		a.plan = a.shared.plan.clone()
		for range len(a.plan.sequence)/8 + 2 {
			a.change()
		}
	} else {
		a.plan = a.pickStart()
	}
	a.begun++
	a.aim()
}

// pickStart returns the plan of a start of the kind looked for, with a rule that suits the
// search: at first of the best start, then of others too, by chance.
func (a *annealing) pickStart() plan {
	best := -1
	for i, t := range a.tried {
		if t.partial != a.partial {
			continue
		}
		byChance := a.begun > 0 && a.rng.IntN(3) == 0
		if best < 0 || t.better(a.tried[best]) && !byChance {
			best = i
		}
	}
	p := a.tried[max(best, 0)].plan.clone()
	p.rule = a.searchRule()
	return p
}

// searchRule varies the rule between the workers and from one beginning to the next.
func (a *annealing) searchRule() rule {
	r := rule{fit: true}
	if a.m.straight {
		r.whole, r.split = (a.begun+a.worker)%3 < 2, leastLost
		return r
	}
	r.left = (a.worker+a.begun/2)%2 == 0
	r.across = a.begun%2 == a.worker && !slices.Contains(a.without, "across")
	r.even = (a.begun+a.worker)/2%2 == 1 && !slices.Contains(a.without, "even")
	return r
}

// aim sets the end to reach a little below the best so far, and finds the cost of the plan.
func (a *annealing) aim() {
	a.target = a.bound
	if a.best.full(a.m) {
		a.target = max(a.bound, a.best.end-1-a.best.end/64)
	} else if a.m.cap < noCap {
		a.target = max(a.bound, a.m.cap)
	}
	a.cost = a.costOf(a.engine.lay(a.plan, a.goal(noCap)))
	a.least, a.stale = a.cost, 0
}

// change makes one small change to the plan.
func (a *annealing) change() {
	p := &a.plan
	i, j := a.rng.IntN(len(p.sequence)), a.rng.IntN(len(p.sequence))
	a.undo = change{i, j, p.sequence[i], p.sequence[j], p.reserve, -1, p.skips}
	straight := a.m.straight
	switch {
	case !straight && a.rng.IntN(100) == 0 && !slices.Contains(a.without, "skips"):
		a.changeSkip()
	case a.m.groups > 0 && a.rng.IntN(20) == 0:
		a.undo.way = a.rng.IntN(a.m.groups)
		p.ways[a.undo.way] ^= 1
	case a.partial && a.rng.IntN(20) == 0:
		p.reserve = min(max(p.reserve+a.rng.IntN(2)*2-1, 0), len(p.sequence))
	case straight && a.rng.IntN(5) == 0:
		p.sequence[i].split = []split{asRule, cutAlong, cutAcross}[a.rng.IntN(3)]
	case a.choices(i) > 1 && a.rng.IntN(20) == 0:
		// Any of the options, or −1 for a free choice.
		p.sequence[i].only = a.rng.Int32N(a.choices(i)+1) - 1
	default:
		a.exchange(&p.sequence[i], &p.sequence[j])
	}
}

// choices returns how many ways to lie the copies of an entry have.
func (a *annealing) choices(i int) int32 {
	k := &a.m.kinds[a.plan.sequence[i].kind]
	return k.last - k.first
}

// changeSkip sets a step to be given up, or none.
func (a *annealing) changeSkip() {
	skip := &a.plan.skips[a.rng.IntN(maxSkips)]
	if *skip >= 0 {
		*skip = -1
	} else {
		*skip = a.rng.Int32N(int32(a.m.copies))
	}
}

// exchange swaps two entries; between two alike it shifts copies.
func (a *annealing) exchange(p, q *entry) {
	if p.kind != q.kind || p.only != q.only {
		*p, *q = *q, *p
		return
	}
	if most := min(p.count, q.count); p != q && most > 1 {
		moved := a.rng.Int32N(most)
		p.count, q.count = p.count-moved, q.count+moved
	}
}

func (a *annealing) takeBack() {
	p, u := &a.plan, &a.undo
	p.sequence[u.j], p.sequence[u.i], p.reserve, p.skips = u.atJ, u.atI, u.reserve, u.skips
	if u.way >= 0 {
		p.ways[u.way] ^= 1
	}
}

// take keeps a marker of all copies that another search has found.
func (a *annealing) take(spots []spot, engine string) {
	found := solution{spots: slices.Clone(spots), plan: a.best.plan, end: endOf(a.m, spots), value: a.m.value, engine: engine}
	if found.end > a.m.cap || !found.better(&a.best) {
		return
	}
	a.best = found
	if a.plan.sequence != nil {
		a.aim()
	}
}

// bestKnown returns the shortest end that this worker knows of all copies; noCap if it knows none.
func (a *annealing) bestKnown() int64 {
	known := noCap
	for _, s := range []*solution{&a.best, a.shared} {
		if s.full(a.m) {
			known = min(known, s.end)
		}
	}
	return known
}

// seeksShorter tells whether everything is laid and the search is for a shorter end.
func (a *annealing) seeksShorter() bool {
	return !a.partial && a.best.full(a.m) && a.bestKnown() > a.bound
}

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
	blocks *blockSearch // nil where straight cuts are not asked for
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

	// fill searches for a marker without waste as long as the bound to reach is fillFor.
	fill    *fill
	fillFor int64
	fills   int
	// beam searches for a marker up to beamFor; it is nil where it does not serve.
	beam    *fillBeam
	beamFor int64
	noBeam  bool
	beams   int

	// exact decides whether a marker up to its target exists, exactFor the best known end when
	// it began. No marker ends at refuted or before.
	exact    *exactSearch
	exactFor int64
	refuted  int64
	unitEnd  int64 // all ends of markers are multiples of it; 0 if that is not known yet

	// Where only straight cuts are made: the exact search (nil where it does not serve), the best known
	// end when it began, and the search over hierarchies.
	sets        *straightExact
	setsFor     int64
	noSets      bool
	hierarchy   *hierarchy
	noHierarchy bool
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

func newWorker(m *model, id int, seed uint64, bound int64, starts []start) *worker {
	w := &worker{id: id, seed: seed, m: m, starts: starts, bound: bound, rng: rand.New(rand.NewPCG(seed, uint64(id)))}
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
	if w.byBlocks() || w.byStraightExact() || w.byHierarchy() {
		return
	}
	// Of eight steps the exact search has six where it serves, and else those that cover the cloth
	// have (measured on the published instances).
	turn := w.steps % 8
	if w.steps > exactAfter && turn%4 != 0 && w.tryExact() {
		return
	}
	if w.steps > fillAfter && turn != 4 && turn != 6 && w.tryFill() {
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

// fillAfter is how many steps go before the searches that cover the cloth begin: few enough are left
// to those who ask for few.
const fillAfter = 300

// With so few pieces the search that ends for certain has every other turn of the beam's, with more
// seldom one, as the beam finds more.
const fewToFill = 22

// fillSeed sets the choices of these searches apart from the worker's own.
const fillSeed = 1 << 33

// tryFill takes the search for a marker without waste, or the beam, a little further; it returns
// whether there is such a search.
func (w *worker) tryFill() bool {
	if w.m.in.StraightCuts || w.m.cap < noCap || w.noBeam {
		return false
	}
	if w.fillFor != w.bound {
		w.fillFor = w.bound
		w.fill = newFill(w.m, w.bound, w.id%2 == 1, rand.New(rand.NewPCG(w.seed, fillSeed+uint64(w.id))))
	}
	w.fills++
	seldom := 8
	if w.m.copies <= fewToFill {
		seldom = 2
	}
	if w.fill != nil && !w.fill.exhausted && w.fills%seldom == 0 {
		if w.fill.search(8 + w.m.copies/4) {
			w.takeFilled(w.fill.spots, "no waste")
		}
		return true
	}
	return w.tryBeam()
}

// Of few pieces that may cover the cloth up to the bound almost whole, beamSteps steps of the beam go
// into one of a worker: each is far less work than laying a plan, and the beam finds more for its
// time. Elsewhere one does, as the other searches find more (measured on the published instances and
// on cutting jobs).
const beamSteps, mostForBeam = 10, 100

// stepsOfBeam returns how many steps of the beam go into one of this worker.
func (w *worker) stepsOfBeam() int {
	cloth := area(w.bound, w.m.width)
	if w.m.copies > mostForBeam || cloth-w.m.totalArea() > cloth/100 {
		return 1
	}
	return beamSteps
}

// tryBeam takes the beam a little further; it returns whether there is one.
func (w *worker) tryBeam() bool {
	if w.beam == nil {
		across := w.id%2 == 1
		w.beam = newFillBeam(w.m, across, rand.New(rand.NewPCG(w.seed, fillSeed+1<<8+uint64(w.id))))
		if w.noBeam = w.beam == nil; w.noBeam {
			return false
		}
	}
	if best := min(w.best.end, w.shared.end); w.beamFor == 0 || w.beamFor >= best {
		w.beamFor = w.beamTarget(best)
		if !w.beam.begin(w.beamFor) {
			w.beamFor = 0
			return false
		}
	}
	done, found := false, false
	for n := w.stepsOfBeam(); n > 0 && !done && !found; n-- {
		done, found = w.beam.step()
	}
	if found {
		w.takeFilled(w.beam.spots, "beam")
	}
	if done || found {
		w.beamFor = 0
	}
	return true
}

// beamTarget returns the end that the next beam is to keep: the bound where that leaves no waste,
// else the last before the best known or one half the way to the bound.
func (w *worker) beamTarget(best int64) int64 {
	w.beams++
	switch w.beams % 3 {
	case 0:
		return w.bound + (best-1-w.bound)/2
	case 1:
		return w.bound
	}
	return best - 1
}

// takeFilled keeps what one of these searches has found.
func (w *worker) takeFilled(spots []spot, engine string) {
	found := solution{spots: slices.Clone(spots), plan: w.best.plan, value: w.m.value, engine: engine}
	found.end = endOf(w.m, found.spots)
	if !found.better(&w.best) {
		return
	}
	w.best = found
	if w.plan.sequence != nil {
		w.aim()
	}
}

// exactAfter is how many steps go before the exact search begins.
const exactAfter = 100

// tryExact takes the exact search for a marker shorter than the best known a little further; it
// returns whether there is such a search.
func (w *worker) tryExact() bool {
	if w.m.copies > maxExactCopies || w.m.cap < noCap || w.m.in.StraightCuts || !w.m.plain {
		return false
	}
	best := min(w.best.end, w.shared.end)
	if w.exact == nil || w.exactFor != best || w.exact.done {
		target := w.exactTarget(best)
		if w.exactFor == best && w.exact != nil && target <= w.exact.target {
			return false // it is refuted already
		}
		w.endExact()
		w.exactFor, w.exact = best, newExactSearch(w.m, target, w.id%2 == 1)
	}
	if w.exact == nil || w.exact.done {
		return false
	}
	if w.exact.goOn() {
		w.takeExact()
	}
	return true
}

// exactTarget returns the end to decide about: one worker takes the last before the best known, whose
// refutation ends it all; the other half the way from the bound, as what is far from the best is
// refuted soon, and found soon if it is there.
func (w *worker) exactTarget(best int64) int64 {
	unit := w.endUnit()
	last := (best - 1) / unit * unit
	if w.id%2 == 0 {
		return last
	}
	first := (max(w.bound, w.refuted+1) + unit - 1) / unit * unit
	return min(max((first+best)/2/unit*unit, first), last)
}

// endUnit returns what all ends of markers are multiples of.
func (w *worker) endUnit() int64 {
	if w.unitEnd == 0 {
		w.unitEnd = w.m.newEnds().step
	}
	return w.unitEnd
}

// takeExact takes in the answer of the exact search.
func (w *worker) takeExact() {
	x := w.exact
	if len(x.found) == 0 {
		w.refuted = max(w.refuted, x.target)
		return
	}
	found := solution{spots: slices.Clone(x.found), plan: w.best.plan, value: w.m.value, engine: "exact search"}
	found.end = endOf(w.m, found.spots)
	w.best = found
}

// endExact ends the exact search, which holds a coroutine.
func (w *worker) endExact() {
	if w.exact != nil {
		w.exact.stop()
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
	r.across = w.begun%2 == w.id
	r.even = (w.begun+w.id)/2%2 == 1
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
	case !straight && w.rng.IntN(100) == 0:
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

package roll

import (
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
)

// search looks for the cheapest packing of a model.
type search struct {
	ctx   context.Context
	model *model
	rng   *rand.Rand
	// relaxations solved, and elementary operations done; together they make the steps taken
	// of the most allowed.
	relaxations int
	work        int64
	most        int
	pool        []pattern
	inPool      map[string]bool
	// best is the cheapest packing so far, if found.
	best  packing
	found bool
	// bound is a proven lower bound on the cost.
	bound  int64
	totals *totals
}

func newSearch(ctx context.Context, m *model, seed uint64, most int) *search {
	return &search{
		ctx: ctx, model: m, rng: rand.New(rand.NewPCG(seed, 0x726f6c6c)), most: most,
		inPool: map[string]bool{}, totals: newTotals(m),
	}
}

// known tells whether a pattern is in the pool, and marks it as being there.
func (s *search) known(pat pattern) bool {
	key := binary.AppendUvarint(nil, uint64(pat.kind))
	for j, i := range pat.item {
		key = binary.AppendUvarint(key, uint64(i))
		key = binary.AppendUvarint(key, uint64(pat.n[j]))
	}
	if s.inPool[string(key)] {
		return true
	}
	s.inPool[string(key)] = true
	return false
}

// offer keeps a packing if it is allowed and cheaper than the best.
func (s *search) offer(p packing) {
	if !s.model.price(&p) || (s.found && p.cost >= s.best.cost) {
		return
	}
	s.best, s.found = p.clone(), true
	s.learn(p.pattern)
}

// learn takes over the patterns of another search on rolls of the same capacities.
func (s *search) learn(pool []pattern) {
	for _, pat := range pool {
		if !s.known(pat) {
			s.pool = append(s.pool, pat)
		}
	}
}

func (s *search) done() bool { return s.found && s.best.cost <= s.bound }

// workOfStep is how many elementary operations count as a step.
const workOfStep = 2_000_000

func (s *search) steps() int { return s.relaxations/8 + int(s.work/workOfStep) }

func (s *search) out() bool { return s.steps() >= s.most || s.ctx.Err() != nil }

// run improves from what has been offered until the bound is met or the budget used.
func (s *search) run() {
	m := s.model
	root := &node{append([]int(nil), m.demand...), append([]int(nil), m.limit...), packing{}}
	s.raiseBound(m.simpleBound())
	s.offer(s.complete(root, s.decreasing))
	if s.done() {
		return
	}
	s.sequential(root, sequentialRounds)
	if s.done() {
		return
	}
	r, ok := s.relax(root)
	s.relaxations++
	if !ok {
		return
	}
	s.raiseBound(m.safeBound(r.itemDual))
	for discrepancies := 0; !s.done() && !s.out(); discrepancies++ {
		s.dive(root.clone(), min(discrepancies, maxDiscrepancies))
	}
	s.excludeTotals(root)
}

func (s *search) raiseBound(bound int64) {
	if s.model.mustMeet {
		bound = s.totals.next(bound)
	}
	s.bound = max(s.bound, bound)
}

// simpleBound compares weights with capacities.
func (m *model) simpleBound() int64 {
	total := m.total()
	if !m.mustMeet {
		for k, c := range m.capacity {
			if m.limit[k] < 0 {
				return 0
			}
			total -= c * int64(m.limit[k])
		}
		return max(0, total)
	}
	least := math.Inf(1)
	for k, c := range m.capacity {
		least = min(least, float64(m.cost[k])/float64(c))
	}
	return int64(math.Ceil(float64(total)*least*(1-1e-12) - 1e-6))
}

// maxDiscrepancies is how many second choices a dive may take at most.
const maxDiscrepancies = 6

// dive packs the node by fixing the patterns that its relaxation uses most, one after the
// other; with discrepancies left it comes back and takes the second, third ... pattern.
func (s *search) dive(n *node, discrepancies int) {
	if s.out() {
		return
	}
	s.relaxations++
	r, ok := s.relax(n)
	if !ok || s.hopeless(n, r) {
		return
	}
	if p, whole := s.whole(n, r); whole {
		s.offer(p)
		return
	}
	child := n.clone()
	rest := s.fixWhole(child, r)
	s.offer(s.complete(child, s.decreasing))
	if s.done() || s.hopeless(n, r) {
		return
	}
	for at, c := range rest {
		if at > discrepancies || s.done() || s.out() {
			return
		}
		next := child.clone()
		next.take(s.model, s.pool[c.pattern], 1)
		s.dive(next, discrepancies-at)
	}
}

// hopeless tells whether nothing below the node can be cheaper than the best.
func (s *search) hopeless(n *node, r relaxation) bool {
	if !s.found {
		return false
	}
	if s.model.mustMeet && r.unmet {
		return true
	}
	least := n.packed.cost + int64(math.Ceil(r.cost-1e-6*s.model.scale()))
	if s.model.mustMeet {
		least = s.totals.next(least)
	}
	return least >= s.best.cost
}

// whole returns the packing of a relaxation that has whole numbers only.
func (s *search) whole(n *node, r relaxation) (packing, bool) {
	for _, u := range r.use {
		if math.Abs(u.times-math.Round(u.times)) > 1e-6 {
			return packing{}, false
		}
	}
	child := n.clone()
	s.fixWhole(child, r)
	return s.complete(child, s.decreasing), true
}

// fixWhole fixes the whole part of each use and returns the rest, the largest first.
func (s *search) fixWhole(n *node, r relaxation) []use {
	var rest []use
	for _, u := range r.use {
		pat := s.pool[u.pattern]
		times := min(int(math.Floor(u.times+1e-6)), pat.fits(n.demand, n.limit))
		if times > 0 {
			n.take(s.model, pat, times)
		}
		if part := u.times - math.Floor(u.times+1e-6); part > 1e-6 {
			rest = append(rest, use{u.pattern, part + 0.1*s.rng.Float64()})
		}
	}
	sort.SliceStable(rest, func(a, b int) bool { return rest[a].times > rest[b].times })
	fitting := rest[:0]
	for _, u := range rest {
		if s.pool[u.pattern].fits(n.demand, n.limit) > 0 {
			fitting = append(fitting, u)
		}
	}
	if len(fitting) == 0 {
		return s.anyPattern(n)
	}
	return fitting
}

// anyPattern gives a way on when rounding left nothing that still fits.
func (s *search) anyPattern(n *node) []use {
	best, weight := -1, int64(0)
	for p, pat := range s.pool {
		if pat.fits(n.demand, n.limit) > 0 {
			if w := pat.weight(s.model); w > weight {
				best, weight = p, w
			}
		}
	}
	if best < 0 {
		return nil
	}
	return []use{{best, 1}}
}

// complete packs the rest of a node by a simple rule and returns the whole packing.
func (s *search) complete(n *node, rule func(*node)) packing {
	end := n.clone()
	rule(end)
	end.packed.unmet = end.demand
	return end.packed
}

// totals knows which sums of roll costs there can be.
type totals struct {
	unit int64
	// can[t] tells whether t units can be a sum; nil if the table would be too large.
	can []bool
}

const totalsCells = 1 << 20

func newTotals(m *model) *totals {
	t := &totals{}
	for _, c := range m.cost {
		t.unit = gcd(t.unit, c)
	}
	if t.unit == 0 {
		t.unit = 1
	}
	top := int64(0)
	for _, c := range m.cost {
		top = max(top, c)
	}
	// A sum above what a plan of half-filled rolls costs is of no interest.
	most := (4*top + 4*m.totalCost()) / t.unit
	if most <= 0 || most > totalsCells {
		return t
	}
	t.can = make([]bool, most+1)
	t.can[0] = true
	for k, c := range m.cost {
		t.spread(c/t.unit, m.limit[k])
	}
	return t
}

// totalCost is about what a perfect plan costs.
func (m *model) totalCost() int64 {
	dearest := 0.0
	for k, c := range m.capacity {
		if c > 0 {
			dearest = max(dearest, float64(m.cost[k])/float64(c))
		}
	}
	cost := float64(m.total()) * dearest
	if cost > math.MaxInt64/16 {
		return math.MaxInt64 / 16
	}
	return int64(cost)
}

func (t *totals) spread(step int64, limit int) {
	if step <= 0 {
		return
	}
	used := make([]int, len(t.can))
	for v := step; v < int64(len(t.can)); v++ {
		if !t.can[v] && t.can[v-step] && (limit < 0 || used[v-step] < limit) {
			t.can[v] = true
			used[v] = used[v-step] + 1
		}
	}
}

// next returns the least possible total that is not below a bound.
func (t *totals) next(bound int64) int64 {
	units := (max(0, bound) + t.unit - 1) / t.unit
	if units >= int64(len(t.can)) {
		return units * t.unit
	}
	for u := units; u < int64(len(t.can)); u++ {
		if t.can[u] {
			return u * t.unit
		}
	}
	return units * t.unit
}

// kinds returns how many rolls of each kind a packing opens.
func (p *packing) kinds(m *model) []int {
	n := make([]int, len(m.cost))
	for j, pat := range p.pattern {
		n[pat.kind] += p.times[j]
	}
	return n
}

// excludeTotals tries to prove, one possible total below the best after the other, that no
// choice of rolls of that total can hold everything; each total excluded raises the bound. A
// choice that can is a better plan.
func (s *search) excludeTotals(root *node) {
	m := s.model
	if !m.mustMeet || len(m.cost) < 2 || !s.found {
		return
	}
	for !s.done() && !s.out() {
		choices, ok := m.choices(s.bound)
		if !ok {
			return
		}
		for _, choice := range choices {
			proven, better := s.tryChoice(choice)
			if better {
				return
			}
			if !proven {
				return
			}
		}
		s.bound = s.totals.next(s.bound + 1)
	}
}

// maxChoices is how many choices of rolls are looked at for one total.
const maxChoices = 300

// choices lists the numbers of rolls by kind that cost exactly the total and are large
// enough; false if there are too many.
func (m *model) choices(total int64) ([][]int, bool) {
	var list [][]int
	now := make([]int, len(m.cost))
	need := m.total()
	steps := 0
	var fill func(k int, rest, capacity int64) bool
	fill = func(k int, rest, capacity int64) bool {
		steps++
		if steps > 200_000 || len(list) > maxChoices {
			return false
		}
		if k == len(m.cost) {
			if rest == 0 && capacity >= need {
				list = append(list, slices.Clone(now))
			}
			return true
		}
		most := rest / m.cost[k]
		if m.limit[k] >= 0 {
			most = min(most, int64(m.limit[k]))
		}
		for n := most; n >= 0; n-- {
			now[k] = int(n)
			if !fill(k+1, rest-n*m.cost[k], capacity+n*m.capacity[k]) {
				return false
			}
		}
		now[k] = 0
		return true
	}
	ok := fill(0, total, 0)
	return list, ok
}

// tryChoice asks whether exactly these rolls can hold everything.
func (s *search) tryChoice(choice []int) (excluded, better bool) {
	m := *s.model
	m.mustMeet = false
	m.limit = choice
	m.cost = make([]int64, len(choice))
	sub := newSearch(s.ctx, &m, s.rng.Uint64(), min(s.most-s.steps(), choiceSteps))
	sub.learn(s.pool)
	sub.run()
	s.relaxations += sub.relaxations
	s.work += sub.work
	if sub.bound > 0 {
		return true, false
	}
	if sub.found && sub.best.cost == 0 {
		p := sub.best.clone()
		p.unmet = make([]int, len(m.weight))
		s.offer(p)
		return false, true
	}
	return false, false
}

const choiceSteps = 400

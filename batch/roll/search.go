package roll

import (
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
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
	// cutoff is the cost below which a packing counts: that of the best, once there is one.
	cutoff int64
	// best is the cheapest packing so far, if found.
	best  packing
	found bool
	// bound is a proven lower bound on the cost.
	bound int64
	// totals knows which costs there can be.
	totals *totals
}

func newSearch(ctx context.Context, m *model, seed uint64, most int) *search {
	return &search{
		ctx: ctx, model: m, rng: rand.New(rand.NewPCG(seed, 0x726f6c6c)), most: most,
		inPool: map[string]bool{}, cutoff: math.MaxInt64, totals: &totals{unit: m.costUnit()},
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

// offer keeps a packing if it is allowed and cheaper than the cutoff.
func (s *search) offer(p packing) {
	if !s.model.price(&p) || p.cost >= s.cutoff {
		return
	}
	s.best, s.found, s.cutoff = p.clone(), true, p.cost
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

// done tells whether nothing cheaper can come.
func (s *search) done() bool { return s.cutoff <= s.bound }

// workOfStep is how many elementary operations count as a step, relaxationsOfStep how many
// relaxations do.
const (
	workOfStep        = 2_000_000
	relaxationsOfStep = 8
)

func (s *search) steps() int { return s.relaxations/relaxationsOfStep + int(s.work/workOfStep) }

func (s *search) out() bool { return s.steps() >= s.most || s.ctx.Err() != nil }

// left is what remains of the steps allowed.
func (s *search) left() int { return max(0, s.most-s.steps()) }

// spent counts the steps of another search as steps of this one.
func (s *search) spent(other *search) {
	s.relaxations += other.relaxations
	s.work += other.work
}

// run improves from what has been offered until the bound is met or the budget used.
func (s *search) run() {
	m := s.model
	root := m.root()
	s.raiseBound(m.simpleBound())
	s.offer(root.complete(m.decreasing))
	s.sequential(root, sequentialRounds)
	if s.done() || s.out() {
		return
	}
	r, ok := s.relax(root)
	if ok {
		s.raiseBound(m.safeBound(r.itemDual))
		s.dives(root, maxDiscrepancies+3, s.steps()+s.left()/4)
	}
	if m.free() {
		s.exhaust()
	} else {
		s.branch(s.steps() + s.left()/2)
	}
	if ok {
		s.dives(root, math.MaxInt, s.most)
	}
}

// dives goes down from a node again and again, each time with one discrepancy more.
func (s *search) dives(root *node, times, until int) {
	for discrepancies := 0; discrepancies < times && !s.done() && !s.out() && s.steps() < until; discrepancies++ {
		s.dive(root.clone(), min(discrepancies, maxDiscrepancies))
	}
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
		return m.leastMissed(total)
	}
	least := math.Inf(1)
	for k, c := range m.capacity {
		least = min(least, float64(m.cost[k])/float64(c))
	}
	return int64(math.Ceil(float64(float64(total)*least*(1-1e-12)) - 1e-6))
}

// maxDiscrepancies is how many second choices a dive may take at most.
const maxDiscrepancies = 6

// dive packs the node by fixing the patterns that its relaxation uses most, one after the
// other; with discrepancies left it comes back and takes the second, third ... pattern.
func (s *search) dive(n *node, discrepancies int) {
	if s.out() {
		return
	}
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
	s.offer(child.complete(s.model.decreasing))
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

// hopeless tells whether nothing below the node can be cheaper than the cutoff.
func (s *search) hopeless(n *node, r relaxation) bool {
	if s.cutoff == math.MaxInt64 {
		return false
	}
	if s.model.mustMeet && r.unmet {
		return true
	}
	least := n.packed.cost + int64(math.Ceil(r.cost-float64(1e-6*s.model.scale())))
	if s.model.mustMeet {
		least = s.totals.next(least)
	}
	return least >= s.cutoff
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
	return child.complete(s.model.decreasing), true
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
			rest = append(rest, use{u.pattern, part + float64(0.1*s.rng.Float64())})
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

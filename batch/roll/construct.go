package roll

import "math"

// open is a roll (or several alike) being filled.
type open struct {
	kind   int
	left   int64
	times  int
	counts []int32
}

// decreasing packs a node first-fit by decreasing weight. A new roll is of the kind that
// wastes least on what is still to be packed.
func (m *model) decreasing(n *node) {
	var rolls []open
	for i := range m.weight {
		for at := 0; at < len(rolls) && n.demand[i] > 0; at++ {
			rolls = fillOpen(rolls, at, i, m.weight[i], n)
		}
		for n.demand[i] > 0 {
			kind := m.openKind(n, i)
			if kind < 0 {
				break
			}
			rolls = openFor(rolls, m, n, kind, i)
		}
	}
	for _, r := range rolls {
		pat := pattern{kind: r.kind}
		for i, c := range r.counts {
			if c > 0 {
				pat.item = append(pat.item, int32(i))
				pat.n = append(pat.n, c)
			}
		}
		n.packed.add(pat, r.times)
		n.packed.cost += m.cost[r.kind] * int64(r.times)
	}
}

// fillOpen puts copies of an item into the rolls at a place; if they do not go evenly, the
// rolls that get more or less are split off.
func fillOpen(rolls []open, at, item int, weight int64, n *node) []open {
	r := &rolls[at]
	each := int(min(r.left/weight, int64(n.demand[item])))
	if each == 0 {
		return rolls
	}
	times := min(r.times, n.demand[item]/each)
	if times < r.times {
		rest := *r
		rest.counts = append([]int32(nil), r.counts...)
		rest.times = r.times - times
		rolls = append(rolls, open{})
		copy(rolls[at+2:], rolls[at+1:])
		rolls[at+1] = rest
		r = &rolls[at]
		r.times = times
	}
	r.counts[item] += int32(each)
	r.left -= int64(each) * weight
	n.demand[item] -= each * times
	return rolls
}

func openFor(rolls []open, m *model, n *node, kind, item int) []open {
	each := int(min(m.capacity[kind]/m.weight[item], int64(n.demand[item])))
	times := n.demand[item] / each
	if n.limit[kind] >= 0 {
		times = min(times, n.limit[kind])
		n.limit[kind] -= times
	}
	r := open{kind, m.capacity[kind] - int64(each)*m.weight[item], times, make([]int32, len(m.weight))}
	r.counts[item] = int32(each)
	n.demand[item] -= each * times
	return append(rolls, r)
}

// openKind chooses the kind of the next roll for an item: the cheapest for its capacity among
// those that what is still needed fills, else the cheapest that holds all of it.
func (m *model) openKind(n *node, item int) int {
	rest := int64(0)
	for i := item; i < len(m.weight); i++ {
		rest += m.weight[i] * int64(n.demand[i])
	}
	best, price := -1, math.Inf(1)
	for k, c := range m.capacity {
		if n.limit[k] == 0 || c < m.weight[item] {
			continue
		}
		p := float64(m.cost[k]) / float64(min(c, rest))
		if m.cost[k] == 0 {
			// Of rolls that cost nothing the shortest.
			p = float64(c) / math.MaxInt64
		}
		if p < price {
			best, price = k, p
		}
	}
	return best
}

// sequentialRounds is how many plans sequential value correction makes.
const sequentialRounds = 24

// sequential fills roll after roll with the most valuable pieces; after each plan the values
// of the pieces that came to lie in wasteful rolls are raised (sequential value correction,
// after Mukhacheva 1973).
func (s *search) sequential(root *node, rounds int) {
	m := s.model
	value := make([]float64, len(m.weight))
	for i, w := range m.weight {
		value[i] = float64(w)
	}
	for range rounds {
		if s.done() || s.out() {
			return
		}
		s.offer(root.complete(func(n *node) { s.fillInTurn(n, value) }))
	}
}

// sequentialFills bounds the work of one plan.
const sequentialFills = 400

func (s *search) fillInTurn(n *node, value []float64) {
	m := s.model
	whole := make([]int64, len(value))
	for fills := 0; fills < sequentialFills; fills++ {
		for i, v := range value {
			whole[i] = int64(v * (1 << 12))
		}
		pat, ok := s.fullest(n, whole)
		if !ok {
			return
		}
		n.take(m, pat, pat.fits(n.demand, n.limit))
		waste := float64(m.capacity[pat.kind]) / float64(pat.weight(m))
		keep := 0.5 + float64(0.4*s.rng.Float64())
		for _, i := range pat.item {
			corrected := float64(m.weight[i]) * waste
			value[i] = float64(keep*value[i]) + float64((1-keep)*corrected)
		}
	}
	m.decreasing(n)
}

// fullest returns the pattern that is worth most for what its roll costs.
func (s *search) fullest(n *node, value []int64) (pattern, bool) {
	m := s.model
	sack := newKnapsack(m.weight, value, n.demand)
	best, score := pattern{}, 0.0
	for k := range m.cost {
		if n.limit[k] == 0 {
			continue
		}
		counts, worth, _ := sack.quick(m.capacity[k])
		if worth == 0 {
			continue
		}
		sc := float64(worth) / float64(m.capacity[k])
		if m.cost[k] > 0 {
			sc = float64(worth) / float64(m.cost[k])
		}
		if sc > score {
			best, score = patternOf(k, counts), sc
		}
	}
	s.work += sack.work
	return best, score > 0
}

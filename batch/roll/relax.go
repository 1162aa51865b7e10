package roll

import (
	"math"
	"math/bits"
	"slices"

	"yardwright/batch/internal/lp"
)

// relaxation is the solved linear relaxation of a node.
type relaxation struct {
	// cost of what is still to be packed, in the model's cost.
	cost float64
	// use tells how often each pattern of the pool is cut, where that is more than zero.
	use []use
	// unmet tells whether items stay unmet in it.
	unmet bool
	// itemDual and kindDual are the shadow prices, in units of the relaxation's scale.
	itemDual, kindDual []float64
}

type use struct {
	pattern int
	times   float64
}

// dualOne is the whole number that stands for a shadow price of 1 in the knapsacks.
const dualOne = 1 << 32

// unmetPrice is the price of an item left unmet where that is forbidden, in most dear rolls.
const unmetPrice = 1000

// scale is the cost that the relaxation calls 1.
func (m *model) scale() float64 {
	top := int64(1)
	for _, c := range m.cost {
		top = max(top, c)
	}
	if top == 1 && !m.mustMeet && len(m.miss) > 0 {
		top = m.miss[0]
	}
	return float64(top)
}

func (m *model) unmetCost(i int) float64 {
	if m.mustMeet {
		return unmetPrice
	}
	return float64(m.miss[i]) / m.scale()
}

// relax solves the relaxation of a node by column generation; new patterns join the pool.
// ok is false if the numbers would not settle or the time is over.
func (s *search) relax(n *node) (relaxation, bool) {
	m := s.model
	s.relaxations++
	rows := s.rowsOf(n)
	if len(rows.items) == 0 {
		return relaxation{itemDual: make([]float64, len(m.weight)), kindDual: make([]float64, len(m.cost))}, true
	}
	p := rows.start(m, n)
	for i, pat := range s.pool {
		if pat.fits(n.demand, n.limit) != 0 {
			p.add(rows.column(m, pat), i)
		}
	}
	all := len(rows.items) + len(rows.kinds)
	defer func() { s.work += int64(p.Pivots()) * int64(all*all+4*p.Columns()) }()
	for {
		if !p.Solve() || s.ctx.Err() != nil {
			return relaxation{}, false
		}
		values := rows.values(m, p)
		if !s.price(n, rows, p, values) {
			break
		}
	}
	return s.read(n, rows, p), true
}

// rows says which items and kinds a relaxation has, and where.
type rows struct {
	items, kinds     []int
	itemRow, kindRow []int32
}

func (s *search) rowsOf(n *node) rows {
	r := rows{itemRow: make([]int32, len(n.demand)), kindRow: make([]int32, len(n.limit))}
	for i, d := range n.demand {
		r.itemRow[i] = -1
		if d > 0 {
			r.itemRow[i] = int32(len(r.items))
			r.items = append(r.items, i)
		}
	}
	for k, l := range n.limit {
		r.kindRow[k] = -1
		if l > 0 {
			r.kindRow[k] = int32(len(r.items) + len(r.kinds))
			r.kinds = append(r.kinds, k)
		}
	}
	return r
}

// programme is the relaxation as a linear programme, with the pattern of each column in the pool; -1 where it
// is none. The first columns are the items left unmet and the limits that are not used.
type programme struct {
	*lp.Simplex
	pattern []int
}

func (p *programme) add(c lp.Column, pattern int) {
	p.Add(c)
	p.pattern = append(p.pattern, pattern)
}

// start begins with all items unmet: their rows ask for at least the demand, those of the kinds allow at most
// the limit.
func (r rows) start(m *model, n *node) *programme {
	var need []float64
	var basis []lp.Column
	for j, i := range r.items {
		need, basis = append(need, float64(n.demand[i])), append(basis, lp.Unit(j, 1, m.unmetCost(i)))
	}
	for j, k := range r.kinds {
		need, basis = append(need, float64(n.limit[k])), append(basis, lp.Unit(len(r.items)+j, 1, 0))
	}
	p := &programme{Simplex: lp.New(need, basis), pattern: slices.Repeat([]int{-1}, len(need))}
	for j := range r.items {
		p.add(lp.Unit(j, -1, 0), -1)
	}
	return p
}

func (r rows) column(m *model, pat pattern) lp.Column {
	c := lp.Column{Cost: float64(m.cost[pat.kind]) / m.scale()}
	for j, i := range pat.item {
		c.Row = append(c.Row, r.itemRow[i])
		c.Coef = append(c.Coef, float64(pat.n[j]))
	}
	if row := r.kindRow[pat.kind]; row >= 0 {
		c.Row = append(c.Row, row)
		c.Coef = append(c.Coef, 1)
	}
	return c
}

// values turns the shadow prices of the items into whole numbers for the knapsacks.
func (r rows) values(m *model, p *programme) []int64 {
	values := make([]int64, len(m.weight))
	for j, i := range r.items {
		values[i] = int64(max(0, p.Dual(j)) * dualOne)
	}
	return values
}

// price looks for patterns that improve the relaxation, one for each kind of roll, and adds
// them; false if there are none.
func (s *search) price(n *node, r rows, p *programme, values []int64) bool {
	m := s.model
	sack := newKnapsack(m.weight, values, n.demand)
	found := false
	for k := range m.cost {
		if n.limit[k] == 0 {
			continue
		}
		cost := float64(m.cost[k]) / m.scale()
		if row := r.kindRow[k]; row >= 0 {
			cost -= p.Dual(int(row))
		}
		counts, value, proven := sack.quick(m.capacity[k])
		if !proven && float64(value)/dualOne <= cost+1e-7 {
			counts, value, _ = sack.best(m.capacity[k])
		}
		if float64(value)/dualOne <= cost+1e-7 {
			continue
		}
		pat := patternOf(k, counts)
		if s.known(pat) {
			continue
		}
		s.pool = append(s.pool, pat)
		p.add(r.column(m, pat), len(s.pool)-1)
		found = true
	}
	s.work += sack.work
	return found
}

func (s *search) read(n *node, r rows, p *programme) relaxation {
	m := s.model
	out := relaxation{
		cost:     p.Objective() * m.scale(),
		itemDual: make([]float64, len(m.weight)),
		kindDual: make([]float64, len(m.cost)),
	}
	for j, i := range r.items {
		out.itemDual[i] = max(0, p.Dual(j))
	}
	for j, k := range r.kinds {
		out.kindDual[k] = p.Dual(len(r.items) + j)
	}
	for c, used := range p.Used {
		if used < 1e-9 {
			continue
		}
		switch {
		case p.pattern[c] >= 0:
			out.use = append(out.use, use{p.pattern[c], used})
		case c < len(r.items) && used > 1e-6:
			out.unmet = true
		}
	}
	return out
}

// safeBound turns shadow prices into a lower bound on the cost of a model that holds for
// certain: the prices are rounded down to whole numbers, the knapsack over them is solved in
// whole numbers, and prices that are too high for an unlimited kind are lowered in proportion
// (Farley 1990), those of a limited kind paid for by its limit.
func (m *model) safeBound(itemDual []float64) int64 {
	scale := m.scale()
	values := make([]int64, len(m.weight))
	for i, d := range itemDual {
		values[i] = int64(d * dualOne)
		if !m.mustMeet {
			values[i] = min(values[i], int64(float64(m.miss[i])/scale*dualOne))
		}
	}
	sack := newKnapsack(m.weight, values, m.demand)
	// num/den is the share of the prices that every unlimited kind can bear.
	share := 1.0
	upper := make([]int64, len(m.cost))
	for k := range m.cost {
		_, _, upper[k] = sack.best(m.capacity[k])
		cost := float64(m.cost[k]) / scale * dualOne
		if m.limit[k] < 0 && float64(upper[k]) > cost {
			share = min(share, cost/float64(upper[k])*(1-1e-12))
		}
	}
	sum := wide{}
	for i, v := range values {
		sum.add(int64(float64(v)*share), int64(m.demand[i]))
	}
	for k, u := range upper {
		if m.limit[k] < 0 {
			continue
		}
		over := int64(math.Ceil(float64(u)*share*(1+1e-12))) + 1 - int64(float64(m.cost[k])/scale*dualOne*(1-1e-12))
		if over > 0 {
			sum.add(-over, int64(m.limit[k]))
		}
	}
	// A bound may be lost to rounding by less than a millionth; it is never raised by it.
	bound := sum.float() / dualOne * scale
	return int64(math.Ceil(float64(bound*(1-1e-11)) - 1e-6))
}

// wide is a sum of products that may pass 64 bits.
type wide struct {
	high int64
	low  uint64
}

func (w *wide) add(a, b int64) {
	negative := a < 0
	if negative {
		a = -a
	}
	high, low := bits.Mul64(uint64(a), uint64(b))
	var carry uint64
	if negative {
		w.low, carry = bits.Sub64(w.low, low, 0)
		w.high -= int64(high) + int64(carry)
		return
	}
	w.low, carry = bits.Add64(w.low, low, 0)
	w.high += int64(high) + int64(carry)
}

func (w *wide) float() float64 { return float64(float64(w.high)*0x1p64) + float64(w.low) }

package roll

import (
	"math"
	"slices"
)

// totals knows which sums of roll costs there can be.
type totals struct {
	// unit divides every sum.
	unit int64
	// can[t] tells whether t units can be a sum; nil if the table would be too large.
	can []bool
}

// totalsCells is the largest table.
const totalsCells = 1 << 20

// costUnit divides the cost of every roll; at least 1.
func (m *model) costUnit() int64 {
	unit := int64(0)
	for _, c := range m.cost {
		unit = gcd(unit, c)
	}
	return max(1, unit)
}

// newTotals fills the table, up to what a plan of rolls filled to a quarter costs: beyond it
// nothing is of interest.
func newTotals(m *model) *totals {
	t := &totals{unit: m.costUnit()}
	most := (4*slices.Max(m.cost) + 4*m.totalCost()) / t.unit
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

// spread adds the sums that rolls of one cost make possible.
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

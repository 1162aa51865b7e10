package lay

import (
	"math"
)

// coverByDuals bounds the cheapest cover by linear programming: prices of the plies and of the
// places of each garment such that no column is worth more than it costs. They are found by the
// simplex method, and then scaled down by the most that any column exceeds its cost by, so that
// the bound does not depend on the method having come to its end (Farley 1990).
func (b *layBound) coverByDuals() float64 {
	t := newTableau(b)
	best := 0.0
	for {
		for t.pivots < maxPivots && b.ctx.Err() == nil && t.pivot() {
		}
		best = max(best, t.bound())
		open := false
		for i, at := range t.basis {
			if at.column < 0 || t.use[i] <= 1e-9 {
				continue
			}
			open = b.search(&b.columns[at.column]) || open
		}
		if !open {
			return best
		}
		t.recost()
	}
}

// basic is a column of the basis: a lay of so many plies, or what is too much of a row.
type basic struct{ column, plies, surplus int }

// tableau is the state of the simplex method, with the inverse of the basis. Row 2k asks for the
// plies of kind k, row 2k+1 for its places.
type tableau struct {
	b       *layBound
	need    []float64
	basis   []basic
	inverse [][]float64
	cost    []float64
	use     []float64
	pivots  int
}

func newTableau(b *layBound) *tableau {
	rows := 2 * len(b.demand)
	t := &tableau{b: b, need: make([]float64, rows), basis: make([]basic, rows), cost: make([]float64, rows), use: make([]float64, rows)}
	for range rows {
		t.inverse = append(t.inverse, make([]float64, rows))
	}
	alone := make([]int, len(b.demand))
	for i := range b.columns {
		if c := &b.columns[i]; len(c.kinds) == 1 && c.counts[0] == 1 {
			alone[c.kinds[0]] = i
		}
	}
	for k, n := range b.demand {
		most := b.columns[alone[k]].most
		places := (n + b.layer.problem.Rules.MaxPlies - 1) / b.layer.problem.Rules.MaxPlies
		t.need[2*k], t.need[2*k+1] = float64(n), float64(places)
		t.basis[2*k] = basic{column: alone[k], plies: 1}
		if most < 2 {
			// One ply each: as many places as plies, some of them too many.
			t.basis[2*k+1] = basic{column: -1, surplus: 2*k + 1}
			t.inverse[2*k][2*k] = 1
			t.inverse[2*k+1][2*k], t.inverse[2*k+1][2*k+1] = 1, -1
			continue
		}
		t.basis[2*k+1] = basic{column: alone[k], plies: most}
		m := float64(most - 1)
		t.inverse[2*k][2*k], t.inverse[2*k][2*k+1] = -1/m, float64(most)/m
		t.inverse[2*k+1][2*k], t.inverse[2*k+1][2*k+1] = 1/m, -1/m
	}
	t.recost()
	for i := range rows {
		for j := range rows {
			t.use[i] += float64(t.inverse[i][j] * t.need[j])
		}
	}
	return t
}

// recost reads the costs of the basis anew.
func (t *tableau) recost() {
	for i, at := range t.basis {
		t.cost[i] = 0
		if at.column >= 0 {
			c := &t.b.columns[at.column]
			t.cost[i] = t.b.setUp + c.cutting + float64(float64(at.plies)*t.b.ply(c))
			if !t.b.usable(c) {
				t.cost[i] *= 1000 // it is to leave the basis
			}
		}
	}
}

// duals are the prices of the rows.
func (t *tableau) duals() []float64 {
	prices := make([]float64, len(t.need))
	for i, c := range t.cost {
		if c == 0 {
			continue
		}
		for j, v := range t.inverse[i] {
			prices[j] += float64(c * v)
		}
	}
	return prices
}

// worth is what a column is worth by its plies and by its places.
func (c *column) worth(prices []float64) (plies, places float64) {
	for j, k := range c.kinds {
		plies += float64(prices[2*k] * float64(c.counts[j]))
		places += float64(prices[2*k+1] * float64(c.counts[j]))
	}
	return plies, places
}

// pivot brings one column into the basis that makes the cover cheaper; false if there is none.
func (t *tableau) pivot() bool {
	prices := t.duals()
	enter, least := basic{column: -1, surplus: -1}, -1e-7*math.Max(1, t.b.setUp)
	for i := range t.b.columns {
		c := &t.b.columns[i]
		if !t.b.usable(c) {
			continue
		}
		plies, places := c.worth(prices)
		lay, ply := t.b.setUp+c.cutting-places, t.b.ply(c)-plies
		// What a lay costs is linear in its plies, so that the fewest or the most are best.
		for _, p := range []int{1, c.most} {
			if reduced := lay + float64(float64(p)*ply); reduced < least {
				enter, least = basic{column: i, plies: p}, reduced
			}
		}
	}
	for row, price := range prices {
		if price < least {
			enter, least = basic{column: -1, surplus: row}, price
		}
	}
	if enter.column < 0 && enter.surplus < 0 {
		return false
	}
	t.pivots++
	return t.exchange(enter)
}

// exchange puts a column into the basis in the place of the first that it uses up.
func (t *tableau) exchange(enter basic) bool {
	rows := len(t.need)
	column := make([]float64, rows)
	for i := range rows {
		if enter.column < 0 {
			column[i] = -t.inverse[i][enter.surplus]
			continue
		}
		c := &t.b.columns[enter.column]
		for j, k := range c.kinds {
			n := float64(c.counts[j])
			column[i] += float64(n*float64(enter.plies)*t.inverse[i][2*k]) + float64(n*t.inverse[i][2*k+1])
		}
	}
	leave, ratio := -1, math.Inf(1)
	for i, v := range column {
		if v > 1e-9 && t.use[i]/v < ratio {
			leave, ratio = i, t.use[i]/v
		}
	}
	if leave < 0 {
		return false
	}
	ratio = max(0, ratio)
	for i := range rows {
		if i != leave {
			t.use[i] -= float64(ratio * column[i])
		}
	}
	t.use[leave] = ratio
	for j := range rows {
		t.inverse[leave][j] /= column[leave]
	}
	for i := range rows {
		if i == leave || column[i] == 0 {
			continue
		}
		for j := range rows {
			t.inverse[i][j] -= float64(column[i] * t.inverse[leave][j])
		}
	}
	t.basis[leave] = enter
	t.recost()
	return true
}

// bound is what the present prices prove.
func (t *tableau) bound() float64 {
	prices := t.duals()
	sum := 0.0
	for row, need := range t.need {
		prices[row] = max(0, prices[row])
		sum += float64(prices[row] * need)
	}
	share := 1.0
	for i := range t.b.columns {
		c := &t.b.columns[i]
		if !t.b.usable(c) {
			continue
		}
		plies, places := c.worth(prices)
		for _, p := range []int{1, c.most} {
			worth := places + float64(float64(p)*plies)
			if cost := t.b.setUp + c.cutting + float64(float64(p)*t.b.ply(c)); worth > cost {
				share = min(share, cost/worth)
			}
		}
	}
	return sum * share
}

package lay

import (
	"cmp"
	"math"
	"slices"
)

// coverByDuals bounds the cheapest cover by linear programming, for each choice of numbers of plies
// that lays may have: a choice needs a lay for each of its numbers, and each garment as many places
// as numbers of the choice add up to its demand (see leastSetUpAndCut). The cheapest choice counts;
// they are looked at in the order of what they cost at least without linear programming, on top
// of base, until no other can be cheaper.
func (b *layBound) coverByDuals(base float64) float64 {
	choices := b.choices(base)
	best := math.Inf(1)
	for i, c := range choices {
		if c.least >= best || i >= maxChoices {
			best = min(best, c.least)
			break
		}
		best = min(best, max(c.least, b.coverWith(c)))
	}
	return best
}

// maxChoices is how many choices of numbers of plies are bounded by linear programming.
const maxChoices = 16

// choice is a set of numbers of plies, ascending, with the fewest places of each kind and lays in
// all, and what plans with it cost at least by these alone.
type choice struct {
	plies  []int
	places []int
	lays   int
	least  float64
}

// mostChoicePlies is up to how many plies all sets of numbers are looked at.
const mostChoicePlies = 9

// choices lists the choices of numbers of plies, the cheapest first; where they are too many, one
// that stands for all of them.
func (b *layBound) choices(base float64) []choice {
	rules := &b.layer.problem.Rules
	if rules.OverCut > 0 || rules.MaxPlies > mostChoicePlies || b.setUp == 0 {
		all := choice{lays: 1}
		for p := 1; p <= rules.MaxPlies; p++ {
			all.plies = append(all.plies, p)
		}
		for _, n := range b.demand {
			all.places = append(all.places, (n+rules.MaxPlies-1)/rules.MaxPlies)
		}
		return []choice{all}
	}
	var list []choice
	for set := 1; set < 1<<rules.MaxPlies; set++ {
		if c, ok := b.choice(set, base); ok {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(x, y choice) int { return cmp.Compare(x.least, y.least) })
	return list
}

// choice works a set of numbers of plies out, given by its bits; false if the demand is no sum of
// them.
func (b *layBound) choice(set int, base float64) (choice, bool) {
	var c choice
	for p := 1; 1<<(p-1) <= set; p++ {
		if set&(1<<(p-1)) != 0 {
			c.plies = append(c.plies, p)
		}
	}
	fewest := fewestPlaces(c.plies, slices.Max(b.demand))
	area, all, cutting := 0.0, 0, 0.0
	for k, n := range b.demand {
		if fewest[n] == math.MaxInt32 {
			return c, false
		}
		c.places = append(c.places, fewest[n])
		all += fewest[n]
		area += float64(float64(b.layer.area[b.garments[k]]) * float64(fewest[n]))
		cutting += float64(b.columns[b.alone[k]].cutting * float64(fewest[n]))
	}
	room := float64(b.longest) * float64(b.layer.classes[0].width)
	c.lays = min(all, max(len(c.plies), int(math.Ceil(area/room-1e-6))))
	c.least = base + float64(b.setUp*float64(c.lays)) + cutting
	return c, true
}

// coverWith bounds the cheapest cover with a choice of numbers of plies: by prices of the plies
// and of the places of each garment, and of lays, such that no column is worth more than it costs.
// They are found by the simplex method, and then scaled down by the most that any column exceeds
// its cost by, so that the bound does not depend on the method having come to its end (Farley
// 1990).
func (b *layBound) coverWith(c choice) float64 {
	t := newTableau(b, c)
	best := 0.0
	for {
		for t.pivots < maxPivots && b.ctx.Err() == nil && t.pivot() {
		}
		best = max(best, t.bound())
		open := false
		for i, at := range t.basis {
			if at.column >= 0 && t.use[i] > 1e-9 {
				open = b.search(&b.columns[at.column]) || open
			}
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
// plies of kind k, row 2k+1 for its places, and the last one for lays.
type tableau struct {
	b       *layBound
	choice  choice
	need    []float64
	basis   []basic
	inverse [][]float64
	cost    []float64
	use     []float64
	// at is where the next look at the columns begins.
	at, pivots int
}

func newTableau(b *layBound, c choice) *tableau {
	rows := 2*len(b.demand) + 1
	t := &tableau{b: b, choice: c, need: make([]float64, rows), basis: make([]basic, rows), cost: make([]float64, rows), use: make([]float64, rows)}
	for range rows {
		t.inverse = append(t.inverse, make([]float64, rows))
	}
	last := rows - 1
	t.need[last] = float64(c.lays)
	t.basis[last] = basic{column: -1, surplus: last}
	t.inverse[last][last] = -1
	for k, n := range b.demand {
		t.need[2*k], t.need[2*k+1] = float64(n), float64(c.places[k])
		alone := b.alone[k]
		few, many := c.between(b.columns[alone].most)
		t.basis[2*k] = basic{column: alone, plies: few}
		if few == many {
			// As many places as lays of the one number, some of them too many.
			t.basis[2*k+1] = basic{column: -1, surplus: 2*k + 1}
			f := float64(few)
			t.inverse[2*k][2*k] = 1 / f
			t.inverse[2*k+1][2*k], t.inverse[2*k+1][2*k+1] = 1/f, -1
			t.inverse[last][2*k] = 1 / f
			continue
		}
		t.basis[2*k+1] = basic{column: alone, plies: many}
		f, m := float64(few), float64(many-few)
		t.inverse[2*k][2*k], t.inverse[2*k][2*k+1] = -1/m, float64(many)/m
		t.inverse[2*k+1][2*k], t.inverse[2*k+1][2*k+1] = 1/m, -f/m
		t.inverse[last][2*k+1] = 1
	}
	t.recost()
	for i := range rows {
		for j := range rows {
			t.use[i] += float64(t.inverse[i][j] * t.need[j])
		}
	}
	return t
}

// between returns the least and the greatest number of a choice up to a most; zeros if none is.
func (c *choice) between(most int) (few, many int) {
	if c.plies[0] > most {
		return 0, 0
	}
	for i := len(c.plies) - 1; ; i-- {
		if c.plies[i] <= most {
			return c.plies[0], c.plies[i]
		}
	}
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

// lookAt is how many columns are looked at for one that makes the cover cheaper before the best
// of them is taken.
const lookAt = 2_000

// pivot brings a column into the basis that makes the cover cheaper; false if there is none.
func (t *tableau) pivot() bool {
	prices := t.duals()
	enter, least := basic{column: -1, surplus: -1}, -1e-7*math.Max(1, t.b.setUp)
	for row, price := range prices {
		if price < least {
			enter, least = basic{column: -1, surplus: row}, price
		}
	}
	all := len(t.b.columns)
	for n := range all {
		if n%lookAt == 0 && (enter.column >= 0 || enter.surplus >= 0) {
			break
		}
		if t.at++; t.at >= all {
			t.at = 0
		}
		c := &t.b.columns[t.at]
		if !t.b.usable(c) {
			continue
		}
		plies, places := c.worth(prices)
		lay, ply := t.b.setUp+c.cutting-places-prices[len(prices)-1], t.b.ply(c)-plies
		// What a lay costs is linear in its plies, so that the fewest or the most are best.
		few, many := t.choice.between(c.most)
		for _, p := range [2]int{few, many} {
			if p == 0 {
				continue
			}
			if reduced := lay + float64(float64(p)*ply); reduced < least {
				enter, least = basic{column: t.at, plies: p}, reduced
			}
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
		column[i] += t.inverse[i][rows-1]
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
		few, many := t.choice.between(c.most)
		for _, p := range [2]int{few, many} {
			if p == 0 {
				continue
			}
			worth := prices[len(prices)-1] + places + float64(float64(p)*plies)
			if cost := t.b.setUp + c.cutting + float64(float64(p)*t.b.ply(c)); worth > cost {
				share = min(share, cost/worth)
			}
		}
	}
	return sum * share
}

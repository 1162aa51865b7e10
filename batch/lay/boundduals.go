package lay

import (
	"cmp"
	"math"
	"slices"

	"yardwright/batch/internal/lp"
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
// They are found by the simplex method (see lp), and then scaled down by the most that any column
// exceeds its cost by, so that the bound does not depend on the method having come to its end (Farley
// 1990, doi:10.1287/opre.38.5.922).
func (b *layBound) coverWith(c choice) float64 {
	p := newCoverProgramme(b, c)
	best := 0.0
	for {
		for p.Solve() && p.Pivots() < maxPivots && b.ctx.Err() == nil && p.enter() {
		}
		best = max(best, p.bound())
		open := false
		for i, used := range p.Used {
			if used > 1e-9 && p.lays[i].column >= 0 {
				open = b.search(&b.columns[p.lays[i].column]) || open
			}
		}
		if !open {
			return best
		}
		p.SetCosts(func(i int) float64 { return p.cost(p.lays[i]) })
	}
}

// layOf is a lay of so many plies of a column of the bound; the column is −1 for what is too much of a row.
type layOf struct{ column, plies int }

// coverProgramme is the linear programme of a cover, with the lay that each of its columns stands for. Row 2k
// asks for the plies of kind k, row 2k+1 for its places, and the last one for lays.
type coverProgramme struct {
	*lp.Simplex
	b      *layBound
	choice choice
	need   []float64
	lays   []layOf
	// scale is the money that the programme counts as 1.
	scale float64
	// at is where the next look at the columns begins.
	at int
}

// newCoverProgramme begins with each kind by itself: in as few and in as many plies as can be, so that both its
// rows are met, or where that is one number, with places too many.
func newCoverProgramme(b *layBound, c choice) *coverProgramme {
	rows := 2*len(b.demand) + 1
	p := &coverProgramme{b: b, choice: c, need: make([]float64, rows), scale: 1}
	for _, alone := range b.alone {
		column := &b.columns[alone]
		p.scale = max(p.scale, b.setUp+column.cutting+b.ply(column))
	}
	basis, beyond := make([]lp.Column, rows), make([]bool, rows)
	surplus := func(row int) {
		basis[row], beyond[row] = lp.Unit(row, -1, 0), true
		p.lays[row] = layOf{column: -1}
	}
	p.lays = make([]layOf, rows)
	p.need[rows-1] = float64(c.lays)
	surplus(rows - 1)
	for k, n := range b.demand {
		p.need[2*k], p.need[2*k+1] = float64(n), float64(c.places[k])
		few, many := c.between(b.columns[b.alone[k]].most)
		p.lays[2*k] = layOf{b.alone[k], few}
		basis[2*k] = p.columnOf(p.lays[2*k])
		if few == many {
			surplus(2*k + 1)
			continue
		}
		p.lays[2*k+1] = layOf{b.alone[k], many}
		basis[2*k+1] = p.columnOf(p.lays[2*k+1])
	}
	p.Simplex = lp.New(p.need, basis)
	for row := range rows {
		if !beyond[row] {
			p.add(lp.Unit(row, -1, 0), layOf{column: -1})
		}
	}
	return p
}

func (p *coverProgramme) add(c lp.Column, lay layOf) {
	p.Add(c)
	p.lays = append(p.lays, lay)
}

// columnOf is a lay as a column of the programme.
func (p *coverProgramme) columnOf(lay layOf) lp.Column {
	column := lp.Column{Cost: p.cost(lay)}
	c := &p.b.columns[lay.column]
	for j, k := range c.kinds {
		n := float64(c.counts[j])
		column.Row = append(column.Row, 2*k, 2*k+1)
		column.Coef = append(column.Coef, float64(n*float64(lay.plies)), n)
	}
	column.Row, column.Coef = append(column.Row, int32(len(p.need)-1)), append(column.Coef, 1)
	return column
}

// cost is that of a lay in the programme.
func (p *coverProgramme) cost(lay layOf) float64 {
	if lay.column < 0 {
		return 0
	}
	c := &p.b.columns[lay.column]
	cost := (p.b.setUp + c.cutting + float64(float64(lay.plies)*p.b.ply(c))) / p.scale
	if !p.b.usable(c) {
		cost *= 1000 // it is to leave the basis
	}
	return cost
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

// duals are the prices of the rows, in money.
func (p *coverProgramme) duals() []float64 {
	prices := make([]float64, len(p.need))
	for row := range prices {
		prices[row] = p.Dual(row) * p.scale
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

// enter adds the lay that makes the cover cheapest by its reduced cost, among some of the columns; false if no
// column makes it cheaper.
func (p *coverProgramme) enter() bool {
	prices := p.duals()
	enter, least := layOf{column: -1}, -1e-7*p.scale
	all := len(p.b.columns)
	for n := range all {
		if n%lookAt == 0 && enter.column >= 0 {
			break
		}
		if p.at++; p.at >= all {
			p.at = 0
		}
		c := &p.b.columns[p.at]
		if !p.b.usable(c) {
			continue
		}
		plies, places := c.worth(prices)
		lay, ply := p.b.setUp+c.cutting-places-prices[len(prices)-1], p.b.ply(c)-plies
		// What a lay costs is linear in its plies, so that the fewest or the most are best.
		few, many := p.choice.between(c.most)
		for _, n := range [2]int{few, many} {
			if n == 0 {
				continue
			}
			if reduced := lay + float64(float64(n)*ply); reduced < least {
				enter, least = layOf{p.at, n}, reduced
			}
		}
	}
	if enter.column < 0 {
		return false
	}
	p.add(p.columnOf(enter), enter)
	return true
}

// bound is what the present prices prove.
func (p *coverProgramme) bound() float64 {
	prices := p.duals()
	sum := 0.0
	for row, need := range p.need {
		prices[row] = max(0, prices[row])
		sum += float64(prices[row] * need)
	}
	share := 1.0
	for i := range p.b.columns {
		c := &p.b.columns[i]
		if !p.b.usable(c) {
			continue
		}
		plies, places := c.worth(prices)
		few, many := p.choice.between(c.most)
		for _, n := range [2]int{few, many} {
			if n == 0 {
				continue
			}
			worth := prices[len(prices)-1] + places + float64(float64(n)*plies)
			if cost := p.b.setUp + c.cutting + float64(float64(n)*p.b.ply(c)); worth > cost {
				share = min(share, cost/worth)
			}
		}
	}
	return sum * share
}

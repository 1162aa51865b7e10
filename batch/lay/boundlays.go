package lay

import (
	"context"
	"math"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// The bound by lays. The bound of package doc lays everything on one endless marker. Where the
// table is short, few garments share a ply, and the cloth beside them is lost in every plan. So,
// where there are not too many, every ratio that the table can hold is listed with a bound on the
// length of its marker, and the least cost of covering the demand by such plies is bounded: by
// dynamic programming over what is left to cut where that has few states, else by linear
// programming with two rows for each garment, which ask for its plies and for its places in
// markers (⌈demand ÷ most plies⌉ at least). Markers begin with the bound by area; those that an
// optimal cover uses are then bounded by really searching them, until the budget is spent. A
// cover by bounds costs no more than any plan, so that the answer is proven whenever it ends.
//
// A length of cloth costs at least what the cheapest there is costs. That is a convex function
// of the length, so that any of its tangents bounds it from below: the price of a metre of the
// source where the cloth taken ends makes the sum of cloth and work one linear cost.

const (
	// maxColumns is how many ratios are listed at most, maxStates how many states dynamic
	// programming may have, and maxStateWork the steps that one run of it may take.
	maxColumns   = 60_000
	maxStates    = 6_000
	maxStateWork = 3_000_000
	// maxRuns of dynamic programming for one bound.
	maxRuns = 50
	// maxPivots of the simplex method for one choice.
	maxPivots = 3_000
)

// looks are the budgets of the searches for a better bound on a marker, each of so many steps, and
// how many markers are searched with it: one for so many steps of the search over lays, and most
// of them.
var looks = [...]struct{ iterations, one, most int }{{300, 100, 60}, {8_000, 300, 24}}

// column is a ratio that the table can hold.
type column struct {
	kinds, counts []int32
	// most plies of it that the demand and the cutter allow.
	most int
	// least is a bound on the length of its marker; looked counts the searches for a better one,
	// all of them if there is none.
	least  length.Length
	looked int
	// cutting is the money for cutting it once.
	cutting float64
}

// layBound bounds the cost of plans by the plies that they can have.
type layBound struct {
	ctx   context.Context
	layer *layer
	// garments are the indices of the kinds that are wanted, demand how many of each.
	garments, demand []int
	columns          []column
	// alone is the column of a single garment of each kind.
	alone []int
	// functions give for each kind a length, so that no marker is shorter than the sum of the
	// lengths of its garments.
	functions [][]float64
	// setUp is the money for one lay, perUnit the money for cloth and spreading of a unit of a
	// ply's length.
	setUp, perUnit float64
	ends           length.Length
	// longest is the longest marker that there can be.
	longest length.Length
	// left is what remains of the budgets of looks.
	left [len(looks)]int
}

// newLayBound lists the columns; nil if there are too many, or if plies are folded. Steps are
// those of the search over lays.
func newLayBound(ctx context.Context, l *layer, demand []int, steps int) *layBound {
	rules := &l.problem.Rules
	if len(l.classes) == 0 || rules.Spread == FoldedLengthwise || l.longest() <= 0 {
		return nil
	}
	b := &layBound{ctx: ctx, layer: l, ends: 2 * rules.EndLoss, longest: l.longest()}
	for i := range looks {
		b.left[i] = min(looks[i].most, steps/looks[i].one)
	}
	for g, n := range demand {
		if n > 0 {
			b.garments, b.demand = append(b.garments, g), append(b.demand, n)
		}
	}
	b.addFunctions()
	room := float64(l.longest()) * float64(l.classes[0].width)
	if !b.list(0, room, nil, nil) {
		return nil
	}
	b.alone = make([]int, len(b.garments))
	for i := range b.columns {
		if c := &b.columns[i]; len(c.kinds) == 1 && c.counts[0] == 1 {
			b.alone[c.kinds[0]] = i
		}
	}
	return b
}

// list adds all columns that extend a ratio by garments from a kind on; false if they are too
// many.
func (b *layBound) list(from int, room float64, kinds, counts []int32) bool {
	if len(kinds) > 0 {
		if len(b.columns) >= maxColumns {
			return false
		}
		b.add(kinds, counts)
	}
	for k := from; k < len(b.garments); k++ {
		area := float64(b.layer.area[b.garments[k]])
		for n := 1; n <= b.demand[k]+b.layer.problem.Rules.OverCut && float64(n)*area <= room; n++ {
			if !b.list(k+1, room-float64(n)*area, append(kinds, int32(k)), append(counts, int32(n))) {
				return false
			}
		}
	}
	return true
}

func (b *layBound) add(kinds, counts []int32) {
	rules := &b.layer.problem.Rules
	c := column{kinds: slices.Clone(kinds), counts: slices.Clone(counts), most: rules.MaxPlies}
	edge, longest := 0.0, length.Length(0)
	for i, k := range kinds {
		g := b.garments[k]
		edge += float64(b.layer.edge[g]) * float64(counts[i])
		c.most = min(c.most, (b.demand[k]+rules.OverCut)/int(counts[i]))
		longest = max(longest, b.layer.longestPiece(g))
	}
	c.least = longest
	for _, lengths := range b.functions {
		sum := 0.0
		for i, k := range kinds {
			sum += float64(lengths[k] * float64(counts[i]))
		}
		c.least = max(c.least, length.Length(sum*(1-1e-9)))
	}
	c.cutting = edge * b.layer.problem.perUnit(float64(b.layer.problem.Rates.CutPerMetre))
	b.columns = append(b.columns, c)
}

// maxFunctions is how many functions of widths are used.
const maxFunctions = 60

// addFunctions finds what garments add to every marker at least, by dual feasible functions of
// the widths: values of pieces that fit side by side add up to 1 at most, so that the values of
// all pieces times their lengths add up to no more than the length of the marker. Used are the
// share of the width, and its threshold and rounding families (Fekete and Schepers 2001). A piece
// that may be turned counts with its least.
func (b *layBound) addFunctions() {
	width := b.layer.classes[0].width + b.layer.problem.Rules.Gap
	share := func(w length.Length) float64 { return float64(w) / float64(width) }
	functions := []func(w length.Length) float64{share}
	for _, edge := range b.widths() {
		if 2*edge <= width {
			functions = append(functions, func(w length.Length) float64 {
				switch {
				case w > width-edge:
					return 1
				case w < edge:
					return 0
				}
				return share(w)
			})
		}
	}
	for k := length.Length(1); k <= 12; k++ {
		functions = append(functions, func(w length.Length) float64 {
			if (k+1)*w%width == 0 {
				return share(w)
			}
			return float64((k+1)*w/width) / float64(k)
		})
	}
	for _, value := range functions[:min(maxFunctions, len(functions))] {
		lengths := make([]float64, len(b.garments))
		for k, g := range b.garments {
			lengths[k] = b.addedBy(g, value)
		}
		b.functions = append(b.functions, lengths)
	}
}

// widths lists the widths of all pieces in all turns, gap included.
func (b *layBound) widths() []length.Length {
	var widths []length.Length
	for _, g := range b.garments {
		for i := range b.layer.problem.Garments[g].Pieces {
			p := &b.layer.problem.Garments[g].Pieces[i]
			widths = append(widths, p.Width+b.layer.problem.Rules.Gap, p.Length+b.layer.problem.Rules.Gap)
		}
	}
	slices.Sort(widths)
	return slices.Compact(widths)
}

// addedBy is what a garment adds to a marker by a function of widths. The gap after the last
// piece of a marker does not count, so that lengths go without one.
func (b *layBound) addedBy(g int, value func(length.Length) float64) float64 {
	sum := 0.0
	for i := range b.layer.problem.Garments[g].Pieces {
		p := &b.layer.problem.Garments[g].Pieces[i]
		least := math.Inf(1)
		for _, t := range p.Turns {
			across, along := p.Width, p.Length
			if t%180 == 90 {
				across, along = along, across
			}
			if across <= b.layer.classes[0].width {
				least = min(least, float64(value(across+b.layer.problem.Rules.Gap)*float64(along)))
			}
		}
		if !math.IsInf(least, 1) {
			sum += float64(float64(p.Copies) * least)
		}
	}
	return sum
}

// longestPiece is the length of the longest piece of a garment in its shortest turn.
func (l *layer) longestPiece(g int) length.Length {
	longest := length.Length(0)
	for i := range l.problem.Garments[g].Pieces {
		p := &l.problem.Garments[g].Pieces[i]
		least := length.Length(-1)
		for _, t := range p.Turns {
			along := p.Length
			if t%180 == 90 {
				along = p.Width
			}
			if least < 0 || along < least {
				least = along
			}
		}
		longest = max(longest, least)
	}
	return longest
}

// perUnit turns time for a metre into money for a unit of length.
func (p *Problem) perUnit(perMetre float64) float64 {
	return perMetre * float64(p.Rates.PerHour) / 3.6e12 / float64(length.Metre)
}

// priced sets what is made least: the money for work, and that for cloth at a price of a metre.
func (b *layBound) priced(perMetre Money) {
	p := b.layer.problem
	b.setUp = float64(p.Rates.SetUp) * float64(p.Rates.PerHour) / 3.6e12
	b.perUnit = p.perUnit(float64(p.Rates.SpreadPerMetre)) + float64(perMetre)/float64(length.Metre)
}

// ply is the money for one ply of a column.
func (b *layBound) ply(c *column) float64 { return float64(c.least+b.ends) * b.perUnit }

// search looks for a better bound on the length of a column's marker; false if there is none, or
// no budget for it.
func (b *layBound) search(c *column) bool {
	if c.looked == len(looks) || b.left[c.looked] <= 0 || b.ctx.Err() != nil {
		return false
	}
	look := looks[c.looked]
	b.left[c.looked]--
	c.looked++
	ratio := make([]int, len(b.layer.problem.Garments))
	for i, k := range c.kinds {
		ratio[b.garments[k]] = int(c.counts[i])
	}
	in := b.layer.wholeDemand(ratio, b.layer.problem.Rules.Gap)
	result, err := marker.Solve(b.ctx, in, marker.Params{Seed: b.layer.seed, Iterations: look.iterations})
	if err != nil {
		return false
	}
	if result.Status == marker.StatusOptimal {
		c.looked = len(looks)
	}
	c.least = max(c.least, result.Bound)
	return true
}

// usable tells whether a marker of a column can lie on the table, as far as is known.
func (b *layBound) usable(c *column) bool { return c.least <= b.longest }

// cover bounds the cost of covering the demand; cloth and spreading are known to cost no less than
// base.
func (b *layBound) cover(base float64) float64 {
	if states := b.states(); states > 0 {
		return b.coverExactly(states)
	}
	return b.coverByDuals(base)
}

// states is the number of states of dynamic programming; 0 if it is not to be used.
func (b *layBound) states() int {
	if b.layer.problem.Rules.OverCut > 0 {
		return 0
	}
	states, work := 1, 0
	for _, n := range b.demand {
		if states *= n + 1; states > maxStates {
			return 0
		}
	}
	for i := range b.columns {
		work += b.columns[i].most
	}
	if work*states/len(b.demand) > maxStateWork {
		return 0
	}
	return states
}

// coverExactly finds the cheapest cover in whole lays, as far as markers are bounded.
func (b *layBound) coverExactly(states int) float64 {
	step := make([]int, len(b.demand))
	at := 1
	for k, n := range b.demand {
		step[k] = at
		at *= n + 1
	}
	// Something is left of the first kind of every state until a column that begins with it is
	// taken, so that the columns of one first kind at a time are enough.
	byFirst := make([][]int, len(b.demand))
	for i := range b.columns {
		first := b.columns[i].kinds[0]
		byFirst[first] = append(byFirst[first], i)
	}
	best, took := make([]float64, states), make([][2]int, states)
	for run := 0; ; run++ {
		for s := 1; s < states; s++ {
			best[s] = math.Inf(1)
			first := 0
			for s/step[first]%(b.demand[first]+1) == 0 {
				first++
			}
			for _, i := range byFirst[first] {
				c := &b.columns[i]
				if !b.usable(c) {
					continue
				}
				plies, down := c.most, 0
				for j, k := range c.kinds {
					plies = min(plies, s/step[k]%(b.demand[k]+1)/int(c.counts[j]))
					down += int(c.counts[j]) * step[k]
				}
				lay, ply := b.setUp+c.cutting, b.ply(c)
				for p := 1; p <= plies; p++ {
					if cost := lay + float64(float64(p)*ply) + best[s-p*down]; cost < best[s] {
						best[s], took[s] = cost, [2]int{i, p * down}
					}
				}
			}
		}
		open := false
		for s := states - 1; s > 0 && !math.IsInf(best[s], 1); s -= took[s][1] {
			open = b.search(&b.columns[took[s][0]]) || open
		}
		if !open || run == maxRuns {
			return best[states-1]
		}
	}
}

// better puts the stronger of the bounds by lays into those that are known.
func (b *layBound) better(known bounds, demand []int) bounds {
	p := b.layer.problem
	// Rounding: each line and each lay of a plan is rounded by itself, by half a millionth.
	lost := Money(len(p.Bolts) + 1)
	for _, n := range b.demand {
		lost += Money(n)
	}
	sources, prices := p.sources()
	for k, from := range sources {
		if k+1 < len(sources) && sources[k+1] <= known.length {
			continue // the cloth does not end here
		}
		b.priced(prices[k])
		upTo, _ := p.cheapestCloth(from)
		tangent := float64(upTo) - float64(from)/float64(length.Metre)*float64(prices[k])
		work, _ := b.layer.leastSetUpAndCut(demand, b.layer.fewestPlies(known.length))
		base := float64(known.cost-p.wages(work)) - tangent
		bound := b.cover(base)*(1-1e-9) + tangent
		if !math.IsInf(bound, 0) {
			known.cost = max(known.cost, Money(bound)-lost)
		}
		break
	}
	b.setUp, b.perUnit = 0, 1
	for i := range b.columns {
		b.columns[i].cutting = 0
	}
	if long := b.cover(float64(known.length)) * (1 - 1e-9); !math.IsInf(long, 0) && length.Length(long) > known.length {
		_, known.length = p.cheapestCloth(length.Length(long))
	}
	return known
}

// sources lists where cloth comes from, the cheapest first: at which length each begins when
// those before it are used up, and its price. Cloth to buy has no end.
func (p *Problem) sources() (from []length.Length, prices []Money) {
	bolts := slices.Clone(p.Bolts)
	slices.SortStableFunc(bolts, func(a, b Bolt) int {
		return int(max(-1, min(1, a.PricePerMetre-b.PricePerMetre)))
	})
	at := length.Length(0)
	for _, bolt := range bolts {
		if p.Rules.BuyWidth > 0 && bolt.PricePerMetre >= p.Rules.BuyPricePerMetre {
			break
		}
		from, prices = append(from, at), append(prices, bolt.PricePerMetre)
		at += bolt.Length
	}
	if p.Rules.BuyWidth > 0 {
		from, prices = append(from, at), append(prices, p.Rules.BuyPricePerMetre)
	}
	return from, prices
}

package lay

import (
	"slices"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// bounds are proven lower limits for every plan that cuts the same garments.
type bounds struct {
	length length.Length
	cost   Money
}

// boundsOf bounds cloth and money for a demand, shaped pieces being laid by the rectangle around
// them as markers are laid.
//
// Cloth: laid end to end, all plies of a plan are one marker on the widest cloth, so that they
// are together no shorter than the bound of one marker that holds every piece (without repeat
// and nap, which only lengthen it); each ply adds its two ends, and there are no fewer plies
// than that length divided by the longest marker. Cloth money: that length from the cheapest
// cloth first, bolts only as long as they are, and bought in whole steps.
//
// Cutting: see leastSetUpAndCut.
func (l *layer) boundsOf(demand []int) bounds {
	if sum(demand) == 0 || len(l.classes) == 0 {
		return bounds{}
	}
	pieces := l.piecesLength(demand)
	plies := l.fewestPlies(pieces)
	r := &l.problem.Rules
	total := pieces + 2*r.EndLoss*length.Length(plies)
	if gapped := l.gappedLength(demand); gapped > 0 && 2*r.EndLoss >= r.Gap {
		// With a gap between the pieces of different plies too, one gap fewer than plies.
		total = max(total, gapped+r.Gap+(2*r.EndLoss-r.Gap)*length.Length(plies))
	}
	cloth, taken := l.problem.cheapestCloth(total)
	return bounds{length: taken, cost: cloth + l.leastCutting(demand, total, plies)}
}

// wholeDemand is the marker of every piece of a demand on the widest cloth, free of all that
// only lengthens it.
func (l *layer) wholeDemand(demand []int, gap length.Length) marker.Instance {
	in := marker.Instance{Width: l.classes[0].width, Gap: gap}
	for g, n := range demand {
		for i := range l.problem.Garments[g].Pieces {
			if p := &l.problem.Garments[g].Pieces[i]; n > 0 {
				piece := p.laid(p.Copies * n)
				piece.Match, piece.Outline = nil, nil
				in.Pieces = append(in.Pieces, piece)
			}
		}
	}
	return in
}

func (l *layer) piecesLength(demand []int) length.Length {
	in := l.wholeDemand(demand, 0)
	if in.Check() != nil {
		return 0
	}
	return in.Bound()
}

func (l *layer) gappedLength(demand []int) length.Length {
	if l.problem.Rules.Gap == 0 {
		return 0
	}
	in := l.wholeDemand(demand, l.problem.Rules.Gap)
	if in.Check() != nil {
		return 0
	}
	return in.Bound()
}

// fewestPlies bounds the number of plies that a length of markers needs.
func (l *layer) fewestPlies(pieces length.Length) int {
	longest := l.longest()
	if longest <= 0 {
		return 1
	}
	return max(1, int((pieces+longest-1)/longest))
}

// longest is the longest marker on any class.
func (l *layer) longest() length.Length {
	longest := length.Length(0)
	for _, c := range l.classes {
		longest = max(longest, c.longest)
	}
	return longest
}

// cheapestCloth bounds what a length of cloth costs, and how long the cloth taken is at least,
// bought in whole steps.
func (p *Problem) cheapestCloth(total length.Length) (Money, length.Length) {
	bolts := slices.Clone(p.Bolts)
	slices.SortStableFunc(bolts, func(a, b Bolt) int {
		return int(max(-1, min(1, a.PricePerMetre-b.PricePerMetre)))
	})
	onShelf := length.Length(0)
	for _, b := range bolts {
		onShelf += b.Length
	}
	fill := func(need length.Length) Money {
		cost := Money(0)
		for _, b := range bolts {
			if take := min(need, b.Length); take > 0 {
				cost += priced(take, b.PricePerMetre)
				need -= take
			}
		}
		return cost
	}
	// Each line of a plan is rounded by itself, by half a millionth at most; a single line
	// is rounded as the bound is.
	lines := len(bolts)
	if p.Rules.BuyWidth > 0 {
		lines++
	}
	lost := Money(lines - 1)
	must := max(0, total-onShelf)
	if p.Rules.BuyWidth <= 0 {
		return max(0, fill(total)-lost), total
	}
	step := max(1, p.Rules.BuyStep)
	mayKeep := p.keeps(step - 1)
	if mayKeep && p.Rules.RemnantWorth > 0 {
		step = 1 // a rest is worth no more than it costs
	}
	buy := must.RoundTo(step, length.Up)
	best := fill(total-buy) + priced(buy, p.Rules.BuyPricePerMetre)
	taken := max(total, buy)
	if mayKeep {
		taken = total // a rest that is kept is not taken
	}
	// Cloth to buy may be cheaper than some on the shelf: try buying up to each bolt.
	edges := []length.Length{total}
	sum := length.Length(0)
	for _, b := range bolts {
		sum += b.Length
		edges = append(edges, max(0, total-sum))
	}
	for _, e := range edges {
		for _, mode := range []length.Rounding{length.Up, length.Down} {
			if q := e.RoundTo(step, mode); q >= must {
				best = min(best, fill(max(0, total-q))+priced(q, p.Rules.BuyPricePerMetre))
			}
		}
	}
	return max(0, best-lost), taken
}

// leastCutting bounds the cutting money.
func (l *layer) leastCutting(demand []int, total length.Length, plies int) Money {
	rates := &l.problem.Rates
	work, lays := l.leastSetUpAndCut(demand, plies)
	work += time.Duration(scale(int64(rates.SpreadPerMetre), int64(total), int64(length.Metre)))
	// Each lay's wages are rounded by themselves, by half a millionth at most. One lay is
	// rounded as the bound is, and one more costs more than rounding can gain.
	lost := Money(0)
	switch {
	case l.problem.wages(rates.SetUp) == 0:
		lost = Money(sum(demand))
	case lays > 1:
		lost = Money(lays)
	}
	return max(0, l.problem.wages(work)-lost)
}

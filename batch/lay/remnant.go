package lay

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Part says what a garment of a problem by WithRemnants stands for.
type Part struct {
	// Of is the index of the garment in the problem before, which has the same index after.
	Of int
	// Pieces are the indices of its pieces that this part is; nil for whole garments.
	Pieces []int
}

// The budget of looking whether a remnant helps, and how many remnants are looked at.
const (
	remnantIterations       = 200
	remnantMarkerIterations = 100
	maxRemnants             = 4
)

// WithRemnants looks whether it saves money to cut the small pieces of some garments from a short
// end on the shelf, and the rest of these garments from longer bolts of the same shade lot. If
// so, it returns another problem, its plan, and what each of its garments is: the garments of
// the given problem come first, fewer of some, and then the parts of those that are split. It
// returns a nil part list if it saves nothing, or if it cannot be done: where the nap runs up or
// down, all pieces of a garment must come out of one ply.
//
// Plan must be that of Solve for the problem. The bounds of the new plan are those of the old
// one, since they hold for plans that split garments, too: they count each piece of its own.
func WithRemnants(ctx context.Context, p Problem, plan Plan, params Params) (Problem, Plan, []Part, error) {
	params.Progress = nil
	quick := params
	quick.QuickBound = true
	quick.Iterations, quick.MarkerIterations = least(params.Iterations, remnantIterations), least(params.MarkerIterations, remnantMarkerIterations)
	var best Problem
	var bestParts []Part
	bestCost := Money(-1)
	for _, b := range remnants(&p) {
		for _, share := range smallShares {
			split, parts := splitFor(&p, b, share)
			if parts == nil {
				continue
			}
			if bestCost < 0 {
				whole, err := Solve(ctx, p, quick)
				if err != nil {
					return p, plan, nil, err
				}
				bestCost = whole.Cost
			}
			got, err := Solve(ctx, split, quick)
			if err != nil {
				return p, plan, nil, err
			}
			if len(got.Uncut) == 0 && got.Cost < bestCost {
				best, bestParts, bestCost = split, parts, got.Cost
			}
		}
	}
	if bestParts == nil {
		return p, plan, nil, nil
	}
	got, err := Solve(ctx, best, params)
	if err != nil || len(got.Uncut) > 0 || got.Cost >= plan.Cost {
		return p, plan, nil, err
	}
	got.Bound, got.LengthBound = plan.Bound, plan.LengthBound
	got.ByGarment, got.BySize = plan.ByGarment, plan.BySize
	if got.Status == StatusOptimal && got.Cost > got.Bound {
		got.Status = StatusWithin
	}
	return best, got, bestParts, nil
}

// least is the smaller of a budget, where 0 stands for the usual one, and a number.
func least(budget, n int) int {
	if budget <= 0 {
		return n
	}
	return min(budget, n)
}

// remnants lists the bolts that are shorter than another one of the same shade lot, the shortest
// first: what small pieces may be cut from.
func remnants(p *Problem) []int {
	var list []int
	if p.Rules.NapUpAndDown {
		return nil
	}
	for b := range p.Bolts {
		short := &p.Bolts[b]
		longer := slices.ContainsFunc(p.Bolts, func(o Bolt) bool { return o.Lot == short.Lot && o.Length > short.Length })
		if longer && short.Length > 2*p.Rules.EndLoss {
			list = append(list, b)
		}
	}
	slices.SortStableFunc(list, func(x, y int) int { return cmp.Compare(p.Bolts[x].Length, p.Bolts[y].Length) })
	return list[:min(maxRemnants, len(list))]
}

// smallShares are the shares of the area of a garment's largest piece up to which pieces are
// taken to be small: pockets, or bands, too.
var smallShares = []float64{0.6, 0.3}

// smallPieces lists the pieces of a garment that are small and fit a stretch of cloth; nil unless
// some are and some are not. Pieces of the two hands are of one size, so that they stay together.
func (g *Garment) smallPieces(width, long length.Length, share float64) []int {
	largest := 0.0
	for _, piece := range g.Pieces {
		largest = max(largest, float64(piece.Width)*float64(piece.Length))
	}
	var small []int
	for i := range g.Pieces {
		piece := &g.Pieces[i]
		if float64(piece.Width)*float64(piece.Length) <= share*largest && piece.leastWidth() <= width && min(piece.Width, piece.Length) <= long {
			small = append(small, i)
		}
	}
	if len(small) == len(g.Pieces) {
		return nil
	}
	return small
}

// fillShare is how much of a remnant pieces are taken to cover at most.
const fillShare = 0.97

// restShare is how much of the other bolts the rest is taken to cover.
const restShare = 0.8

// splitFor splits as many garments as a remnant holds the small pieces of; no parts if it holds
// none. What does not fit after all is cut from the other bolts of the shade lot.
func splitFor(p *Problem, b int, share float64) (Problem, []Part) {
	bolt := &p.Bolts[b]
	long := bolt.longestStretch() - 2*p.Rules.EndLoss
	if long <= 0 {
		return Problem{}, nil
	}
	// The rest of the split garments must find cloth of the same shade lot.
	other := 0.0
	for _, o := range p.Bolts {
		if o.Lot == bolt.Lot && o.Length > bolt.Length {
			other += restShare * float64(o.Length) * float64(o.Width)
		}
	}
	room := fillShare * float64(long) * float64(bolt.Width)
	split := *p
	split.Garments = slices.Clone(p.Garments)
	laid := &remnantFill{instance: marker.Instance{Width: bolt.Width, Gap: p.Rules.Gap}}
	var parts []Part
	for g := range p.Garments {
		parts = append(parts, Part{Of: g})
	}
	for _, g := range mostWanted(p) {
		whole := &p.Garments[g]
		small := whole.smallPieces(bolt.Width, long, share)
		if len(small) == 0 || whole.FromLot != nil {
			continue
		}
		smallArea, restArea := whole.areas(small)
		n := min(whole.Quantity, int(room/smallArea), int(other/restArea))
		n = laid.more(whole, small, n, long)
		if n == 0 {
			continue
		}
		room -= float64(n) * smallArea
		other -= float64(n) * restArea
		split.Garments[g].Quantity -= n
		var rest []int
		for i := range whole.Pieces {
			if !slices.Contains(small, i) {
				rest = append(rest, i)
			}
		}
		for _, pieces := range [][]int{rest, small} {
			split.Garments = append(split.Garments, whole.part(pieces, n, &bolt.Lot))
			parts = append(parts, Part{Of: g, Pieces: pieces})
		}
	}
	if len(parts) == len(p.Garments) {
		return Problem{}, nil
	}
	return split, parts
}

// remnantFill is what one ply of a remnant is to hold.
type remnantFill struct {
	instance  marker.Instance
	estimator estimator
}

// more adds the small pieces of up to n garments, as many as still fit by a rough layout, and
// returns how many that are.
func (f *remnantFill) more(g *Garment, small []int, n int, long length.Length) int {
	before := len(f.instance.Pieces)
	for ; n > 0; n-- {
		f.instance.Pieces = f.instance.Pieces[:before]
		for _, i := range small {
			f.instance.Pieces = append(f.instance.Pieces, g.Pieces[i].laid(g.Pieces[i].Copies*n))
		}
		if took := f.estimator.length(&f.instance); took > 0 && took <= long {
			return n
		}
	}
	f.instance.Pieces = f.instance.Pieces[:before]
	return 0
}

// mostWanted lists the garments, the most wanted first.
func mostWanted(p *Problem) []int {
	order := make([]int, len(p.Garments))
	for g := range order {
		order[g] = g
	}
	slices.SortStableFunc(order, func(x, y int) int { return cmp.Compare(p.Garments[y].Quantity, p.Garments[x].Quantity) })
	return order
}

// areas returns the areas of the rectangles around some pieces of a garment, and of the others.
func (g *Garment) areas(some []int) (of, others float64) {
	for i := range g.Pieces {
		piece := &g.Pieces[i]
		area := float64(piece.Width) * float64(piece.Length) * float64(piece.Copies)
		if slices.Contains(some, i) {
			of += area
		} else {
			others += area
		}
	}
	return of, others
}

// part is a number of garments of which only some pieces are cut.
func (g *Garment) part(pieces []int, n int, lot *string) Garment {
	out := Garment{Quantity: n, FromLot: lot}
	var names []string
	for _, i := range pieces {
		out.Pieces = append(out.Pieces, g.Pieces[i])
		names = append(names, g.Pieces[i].Name)
	}
	out.Name = g.Name + ": " + strings.Join(names, ", ")
	return out
}

package lay

import (
	"slices"

	"yardwright/batch/marker"
)

// plan turns the best candidate into a plan.
func (p *planner) plan(uncut []Uncut) Plan {
	plan := Plan{Uncut: uncut, OverCut: make([]int, len(p.problem.Garments)), Status: StatusWithin}
	cut := make([]int, len(p.problem.Garments))
	for _, k := range p.best.hand.order {
		if l, ok := p.lay(p.best.stacks[k], k); ok {
			plan.Lays = append(plan.Lays, l)
			plan.CutCost += l.Cost
			for g, n := range l.PerPly {
				cut[g] += n * l.Plies
			}
		}
	}
	p.takeCloth(&plan)
	met := slices.Clone(p.demand)
	for g, n := range p.demand {
		if cut[g] < n {
			met[g] = cut[g]
			plan.Uncut = append(plan.Uncut, p.layer.shortage(g, n-cut[g]))
		}
		plan.OverCut[g] = max(0, cut[g]-n)
	}
	plan.Cost = plan.ClothCost + plan.CutCost
	b := p.layer.boundsOf(met)
	if !p.quickBound && sum(met) > 0 && plan.Cost > b.cost && p.ctx.Err() == nil {
		if by := newLayBound(p.ctx, p.layer, met, p.most); by != nil {
			b = by.better(b, met)
		}
	}
	plan.Bound, plan.LengthBound = b.cost, b.length
	switch {
	case plan.Cost == plan.Bound:
		plan.Status = StatusOptimal
	case p.ctx.Err() != nil:
		plan.Status = StatusOutOfTime
	}
	plan.ByGarment = p.practice(&plan, cut, 1)
	plan.BySize = p.practice(&plan, cut, p.problem.Rules.MaxPlies)
	plan.Limits = p.limits(&plan)
	return plan
}

// lay turns a stack into a lay; false if no ply of it found cloth.
func (p *planner) lay(s stack, k int) (Lay, bool) {
	plies := s.plies - p.best.hand.short[k]
	if plies == 0 {
		return Lay{}, false
	}
	l := Lay{
		PerPly: slices.Clone(s.ratio), Instance: s.ply.instance, Marker: s.ply.result, Owners: s.ply.owners,
		Way: s.ply.way, Plies: plies, Draws: p.best.hand.draws[k], PlyLength: s.ply.plyLength, CutEdge: s.ply.cutEdge,
	}
	// How long the search took is no part of the plan, which must not depend on the machine.
	l.Marker.Stats = marker.Stats{Engine: s.ply.result.Stats.Engine}
	l.SetUp, l.Spread, l.Cut, l.Cost = p.problem.times(s.ply, plies)
	return l, true
}

// takeCloth fills in what the plan takes from each bolt and what is to be bought.
func (p *planner) takeCloth(plan *Plan) {
	for b, used := range p.best.hand.used {
		if used == 0 {
			continue
		}
		left, cost := p.problem.boltCost(b, used)
		use := BoltUse{Bolt: b, Used: used, Left: left, Keep: p.problem.keeps(left), Cost: cost}
		plan.Uses = append(plan.Uses, use)
		plan.ClothCost += cost
		plan.LengthUsed += used
		if !use.Keep {
			plan.LengthUsed += left
		}
	}
	if p.best.hand.bought > 0 {
		purchase := p.problem.purchase(p.best.hand.bought)
		plan.Purchases = append(plan.Purchases, purchase)
		plan.ClothCost += purchase.Cost
		plan.LengthUsed += purchase.Buy
	}
}

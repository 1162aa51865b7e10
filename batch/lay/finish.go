package lay

import (
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// plan turns the best candidate into a plan.
func (p *planner) plan(uncut []Uncut) Plan {
	plan := Plan{Uncut: uncut, OverCut: make([]int, len(p.problem.Garments))}
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
	p.problem.takeCloth(&plan, p.best.hand.used, p.best.hand.bought)
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
	plan.Status = statusOf(plan, p.ctx.Err() != nil)
	plan.ByGarment = p.practice(&plan, cut, 1)
	plan.BySize = p.practice(&plan, cut, p.problem.Rules.MaxPlies)
	plan.Limits = p.limits(&plan)
	return plan
}

func statusOf(plan Plan, ended bool) Status {
	switch {
	case plan.Cost == plan.Bound:
		return StatusOptimal
	case ended:
		return StatusOutOfTime
	}
	return StatusWithin
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

// takeCloth fills in what a plan takes from each bolt and what is to be bought: used says, by
// bolt, where its last ply ends, and bought how long the piece to buy must be.
func (p *Problem) takeCloth(plan *Plan, used []length.Length, bought length.Length) {
	plan.Uses, plan.Purchases, plan.ClothCost, plan.LengthUsed = nil, nil, 0, 0
	for b, used := range used {
		if used == 0 {
			continue
		}
		left, cost := p.boltCost(b, used)
		use := BoltUse{Bolt: b, Used: used, Left: left, Keep: p.keeps(left), Cost: cost}
		plan.Uses = append(plan.Uses, use)
		plan.ClothCost += cost
		plan.LengthUsed += used
		if !use.Keep {
			plan.LengthUsed += left
		}
	}
	if bought > 0 {
		purchase := p.purchase(bought)
		plan.Purchases = append(plan.Purchases, purchase)
		plan.ClothCost += purchase.Cost - purchase.RestWorth
		plan.LengthUsed += purchase.taken(p)
	}
}

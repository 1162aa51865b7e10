package lay

import (
	"time"

	"yardwright/batch/length"
)

// practice works out what so many of each garment take when they are cut in stacks of at most so
// many plies, one garment to a ply.
func (p *planner) practice(plan *Plan, cut []int, maxPlies int) Practice {
	out := Practice{}
	for g, n := range cut {
		if n == 0 {
			continue
		}
		ply := p.byItself(g)
		if ply == nil {
			continue
		}
		for left := n; left > 0; {
			plies := min(left, maxPlies, ply.maxPlies)
			setUp, spread, cutting, cost := p.problem.times(ply, plies)
			out.Length += ply.plyLength * length.Length(plies)
			out.Work += setUp + spread + cutting
			out.CutCost += cost
			left -= plies
		}
	}
	return out.valued(plan)
}

// valued is a practice with its cloth at what a metre of a plan costs.
func (out Practice) valued(plan *Plan) Practice {
	if plan.LengthUsed > 0 {
		out.ClothCost = Money(scale(int64(plan.ClothCost), int64(out.Length), int64(plan.LengthUsed)))
	}
	out.Cost = out.ClothCost + out.CutCost
	return out
}

// byItself is the shortest known ply of one garment.
func (p *planner) byItself(g int) *laid {
	var best *laid
	for class := range p.layer.classes {
		if !p.gives[g][class] {
			continue
		}
		ply := p.layer.laid[ratioKey(class, p.layer.one(g))]
		if ply != nil && ply.fits && (best == nil || ply.plyLength < best.plyLength) {
			best = ply
		}
	}
	return best
}

// Work is the time for setting up, spreading and cutting all lays of a plan.
func (plan Plan) Work() time.Duration {
	work := time.Duration(0)
	for i := range plan.Lays {
		work += plan.Lays[i].SetUp + plan.Lays[i].Spread + plan.Lays[i].Cut
	}
	return work
}

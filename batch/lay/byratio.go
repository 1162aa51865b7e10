package lay

import (
	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
)

// fillings are the shares of the cloth that pieces are taken to cover when a plan is begun by
// size ratios.
var fillings = []float64{1, 0.92, 0.84}

const (
	// ratioGrid is the step of lengths, and ratioSteps the budget, of a beginning by ratios.
	ratioGrid  = 5 * length.Millimetre
	ratioSteps = 60
)

// byRatios begins a plan by size ratios (see package ratio): the length of a marker is taken to be
// the sum of what its garments cover, at a certain filling of the width of a class, and money is
// made least exactly. Markers that turn out too long are shortened; what they lose is left to be
// built. It returns no stacks if the class cannot give every garment.
func (p *planner) byRatios(class int, filling float64) ([]stack, error) {
	problem, kinds := p.ratioProblem(class, filling)
	if problem == nil {
		return nil, nil
	}
	var stacks []stack
	for _, m := range ratio.Begin(p.work, *problem, p.ratioCosts(problem, class, kinds), ratio.Params{Seed: p.layer.seed, Iterations: ratioSteps}) {
		garments := make([]int, len(p.demand))
		for j, n := range m.Ratio {
			garments[kinds[j]] = n
		}
		one, err := p.shrink(class, garments, m.Plies, kinds)
		if err != nil {
			return nil, err
		}
		if one != nil {
			stacks = append(stacks, *one)
		}
	}
	return stacks, nil
}

// ratioProblem is the demand as a problem of size ratios, with the garment of each size; nil if
// the class cannot give all of it.
func (p *planner) ratioProblem(class int, filling float64) (*ratio.Problem, []int) {
	rules := &p.problem.Rules
	problem := &ratio.Problem{
		MaxPlies: rules.MaxPlies, MaxLength: p.layer.classes[class].longest, EndLoss: rules.EndLoss,
		OverCut: rules.OverCut, Objective: ratio.ObjectiveMoney,
	}
	var kinds []int
	most := 1
	for g, n := range p.demand {
		if n == 0 {
			continue
		}
		cover := length.Length(float64(p.layer.area[g]) / float64(p.layer.classes[class].width) / filling)
		cover = min(max(ratioGrid, cover.RoundTo(ratioGrid, length.Up)), problem.MaxLength)
		if !p.gives[g][class] || len(kinds) == ratio.MaxSizes {
			return nil, nil
		}
		kinds = append(kinds, g)
		most = max(most, p.layer.pieces[g])
		problem.Demand, problem.Length = append(problem.Demand, n), append(problem.Length, cover)
	}
	problem.MaxGarments = max(1, maxMarkerPieces/most)
	return problem, kinds
}

// ratioCosts are the problem's own costs: cloth and spreading for each ply, cutting for each place in a marker,
// setting up for each marker.
func (p *planner) ratioCosts(problem *ratio.Problem, class int, kinds []int) ratio.Costs {
	rates := &p.problem.Rates
	perMetre := Money(p.clothPrice(class)) + p.problem.wages(rates.SpreadPerMetre)
	costs := ratio.Costs{Ply: int64(priced(2*problem.EndLoss, perMetre)), Marker: int64(p.problem.wages(rates.SetUp))}
	for j, garment := range kinds {
		costs.PerPly = append(costs.PerPly, int64(priced(problem.Length[j], perMetre)))
		costs.PerCut = append(costs.PerCut, int64(p.problem.wages(p.problem.cutTime(p.layer.edge[garment]))))
	}
	return costs
}

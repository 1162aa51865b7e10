package lay

import (
	"math/rand/v2"

	"yardwright/batch/length"
)

// fillings are the shares of the cloth that pieces are taken to cover when a plan is begun by
// size ratios.
var fillings = []float64{1, 0.92, 0.84}

const (
	// ratioGrid is the step of lengths, and ratioWork the budget, of a beginning by ratios.
	ratioGrid = 5 * length.Millimetre
	ratioWork = 60 * ratioStep
)

// byRatios begins a plan by size ratios (see SolveRatio): the length of a marker is taken to be
// the sum of what its garments cover, at a certain filling of the width of a class, and money is
// made least exactly. Markers that turn out too long are shortened; what they lose is left to be
// built. It returns no stacks if the class cannot give every garment.
func (p *planner) byRatios(class int, filling float64) ([]stack, error) {
	problem, kinds := p.ratioProblem(class, filling)
	if problem == nil {
		return nil, nil
	}
	m := newRatioModel(problem)
	p.ratioCosts(m, class, kinds)
	s := &ratioSearch{ctx: p.work, m: m, rng: rand.New(rand.NewPCG(p.layer.seed, 0x62790a)), work: ratioWork, most: ratioWork}
	s.run()
	var stacks []stack
	for k, plies := range s.plies {
		ratio := make([]int, len(p.demand))
		var order []int
		for j, n := range s.ratios[k] {
			g := kinds[m.size[j]]
			ratio[g] = n
			order = append(order, g)
		}
		one, err := p.shrink(class, ratio, plies, order)
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
func (p *planner) ratioProblem(class int, filling float64) (*RatioProblem, []int) {
	rules := &p.problem.Rules
	problem := &RatioProblem{
		MaxPlies: rules.MaxPlies, MaxLength: p.layer.classes[class].longest, EndLoss: rules.EndLoss,
		OverCut: rules.OverCut, Objective: ObjectiveMoney,
	}
	var kinds []int
	most := 1
	for g, n := range p.demand {
		if n == 0 {
			continue
		}
		cover := length.Length(float64(p.layer.area[g]) / float64(p.layer.classes[class].width) / filling)
		cover = min(max(ratioGrid, cover.RoundTo(ratioGrid, length.Up)), problem.MaxLength)
		if !p.gives[g][class] || len(kinds) == maxSizes {
			return nil, nil
		}
		kinds = append(kinds, g)
		most = max(most, p.layer.pieces[g])
		problem.Demand, problem.Length = append(problem.Demand, n), append(problem.Length, cover)
	}
	problem.MaxGarments = max(1, maxMarkerPieces/most)
	return problem, kinds
}

// ratioCosts puts the problem's own costs into a model: cloth and spreading for each ply, cutting
// for each place in a marker, setting up for each marker.
func (p *planner) ratioCosts(m *ratioModel, class int, kinds []int) {
	rates := &p.problem.Rates
	perMetre := Money(p.clothPrice(class)) + p.problem.wages(rates.SpreadPerMetre)
	for j, size := range m.size {
		m.perPly[j] = int64(priced(m.problem.Length[size], perMetre))
		m.perCut[j] = int64(p.problem.wages(p.problem.cutTime(p.layer.edge[kinds[size]])))
	}
	m.ply = int64(priced(2*m.problem.EndLoss, perMetre))
	m.marker = int64(p.problem.wages(rates.SetUp))
}

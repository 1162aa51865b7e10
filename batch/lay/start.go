package lay

import "slices"

// begin makes a first plan, whatever the time: garment after garment, the most wanted first,
// each marker filled with what is left.
func (p *planner) begin() error {
	rest := slices.Clone(p.demand)
	var stacks []stack
	for sum(rest) > 0 {
		s, err := p.simple(rest)
		if err != nil {
			return err
		}
		for g, n := range s.ratio {
			rest[g] -= n * s.plies
		}
		stacks = append(stacks, *s)
	}
	least := p.layer.boundsOf(p.demand)
	p.bound, p.shelf.mayCover = least.cost, p.problem.onShelf() >= least.length
	if p.shelf.mayCover {
		p.shareSpan = firstShare
	}
	p.best = p.price(stacks)
	p.work = p.ctx
	p.report()
	return nil
}

// simple makes a stack with the most wanted garment of the rest, in as many plies as go.
func (p *planner) simple(rest []int) (*stack, error) {
	most := 0
	for g, n := range rest {
		if n > rest[most] {
			most = g
		}
	}
	class := slices.Index(p.gives[most], true)
	for plies := min(p.problem.Rules.MaxPlies, rest[most]); plies > 0; plies /= 2 {
		s, err := p.fill(class, plies, rest, 0, 0)
		if s != nil || err != nil {
			return s, err
		}
	}
	return p.single(rest)
}

// start makes more candidates: some by size ratios, some built, the values of garments being
// corrected after each (sequential value correction, after Mukhacheva 1973).
func (p *planner) start() error {
	for class := range p.layer.classes {
		for _, filling := range fillings {
			stacks, err := p.byRatios(class, filling)
			if err != nil {
				return err
			}
			if stacks == nil {
				continue
			}
			if _, err := p.begun(stacks); err != nil {
				return err
			}
		}
	}
	builds := min(maxBuilds, 1+p.most/stepsPerBuild, 4+maxBuilt/max(1, len(p.best.stacks)))
	for i := range builds {
		if p.proven() {
			return nil
		}
		p.share = startShare * float64(i) / float64(builds)
		p.report()
		stacks, err := p.begun(nil)
		if err != nil {
			return err
		}
		p.correct(stacks)
	}
	return nil
}

// begun builds what some stacks leave, and keeps the whole if it is the best.
func (p *planner) begun(stacks []stack) ([]stack, error) {
	stacks, err := p.build(stacks, 0)
	if err != nil {
		return nil, err
	}
	if c := p.price(stacks); c.better(&p.best) {
		p.best = c
	}
	return stacks, nil
}

// The number of builds at the start: one for so many steps of the budget, no more than maxBuilds,
// and not many more than build maxBuilt stacks in all.
const (
	maxBuilt      = 2000
	stepsPerBuild = 150
	maxBuilds     = 200
)

// correct raises the value of garments that came to lie in stacks dearer than the average for
// what they are worth, and lowers that of the others, so that the next build begins with those
// that are hard to lay.
func (p *planner) correct(stacks []stack) {
	dear, number := make([]float64, len(p.value)), make([]float64, len(p.value))
	cost, value := 0.0, 0.0
	for k := range stacks {
		s := &stacks[k]
		each, worth := p.costForValue(s), p.worth(s)
		cost, value = cost+float64(each*worth), value+worth
		for g, n := range s.ratio {
			dear[g] += float64(each * float64(n*s.plies))
			number[g] += float64(n * s.plies)
		}
	}
	for g := range p.value {
		if number[g] > 0 && cost > 0 {
			p.value[g] *= dear[g] / number[g] * value / cost
		}
	}
}

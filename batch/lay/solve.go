package lay

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
)

// defaultMarkerIterations is the budget of a marker when Params gives none.
const defaultMarkerIterations = 1_500

// defaultIterations is the budget of the search when Params gives none: more for more kinds of
// garments, until each step takes so long that there must be fewer.
func defaultIterations(kinds int) int {
	const least, each, most, all = 6_000, 600, 12_000, 600_000
	kinds = max(1, kinds)
	return min(max(least, each*kinds), most, max(least, all/kinds))
}

// Solve plans how the garments are cut from the cloth of a problem; see the package. What
// cannot be cut stands in Plan.Uncut, and the rest is planned. The context is the time limit:
// when it ends, the best plan so far is returned with StatusOutOfTime; a first plan is always
// made. The error is the Problem's Check, or the context's if it had ended before.
//
// When the best plan found buys, though the shelf might hold enough, a second search looks for
// one that buys nothing; see Rules.BuyTolerance.
func Solve(ctx context.Context, p Problem, params Params) (Plan, error) {
	if err := ctx.Err(); err != nil {
		return Plan{}, err
	}
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	s := newPlanner(ctx, &p, params)
	plan, err := s.solve(params.Seed)
	if err == nil && len(plan.Purchases) > 0 && s.shelf.mayCover && ctx.Err() == nil {
		plan, err = s.withoutBuying(plan, params)
	}
	if err == nil && s.shareSpan < 1 {
		s.share, s.shareSpan = 1, 1
		s.report()
	}
	return plan, err
}

// solve is one search.
func (s *planner) solve(seed uint64) (Plan, error) {
	uncut, err := s.refuse()
	if err != nil {
		return Plan{}, err
	}
	if sum(s.demand) > 0 {
		if err := s.begin(); err != nil {
			return Plan{}, err
		}
		for _, stage := range []func() error{s.run, s.polish} {
			if err := stage(); err != nil && !s.ended(err) {
				return Plan{}, err
			}
		}
	}
	plan := s.plan(uncut)
	plan.Seed = seed
	if err := VerifyPlan(*s.problem, plan); err != nil {
		return Plan{}, fmt.Errorf("the plan failed its check: %w", err)
	}
	return plan, nil
}

func newPlanner(ctx context.Context, p *Problem, params Params) *planner {
	s := &planner{
		ctx: ctx, work: context.WithoutCancel(ctx), problem: p, layer: newLayer(p, params.Seed), shelf: newShelf(p),
		rng:  rand.New(rand.NewPCG(params.Seed, 0x6c6179)),
		most: params.Iterations, markerMost: params.MarkerIterations, quickBound: params.QuickBound, progress: params.Progress, shareSpan: 1,
	}
	if s.most <= 0 {
		s.most = defaultIterations(len(p.Garments))
	}
	if s.markerMost <= 0 {
		s.markerMost = defaultMarkerIterations
	}
	return s
}

// ended tells whether an error only says that the time is over.
func (p *planner) ended(err error) bool {
	return p.ctx.Err() != nil && errors.Is(err, p.ctx.Err())
}

// fitIterations is the budget for laying one garment by itself, to see whether it fits.
const fitIterations = 400

// refuse sets the demand aside that cannot be cut at all.
func (p *planner) refuse() ([]Uncut, error) {
	var uncut []Uncut
	p.demand = make([]int, len(p.problem.Garments))
	p.gives = make([][]bool, len(p.problem.Garments))
	p.value = make([]float64, len(p.problem.Garments))
	for g, garment := range p.problem.Garments {
		p.gives[g] = make([]bool, len(p.layer.classes))
		p.value[g] = float64(p.layer.area[g])
		if garment.Quantity == 0 {
			continue
		}
		iterations := fitIterations
		if p.ctx.Err() != nil {
			iterations = quickIterations
		}
		classes, why, err := p.layer.fitting(p.work, g, iterations)
		if err != nil {
			return nil, err
		}
		if why != nil {
			uncut = append(uncut, *why)
			continue
		}
		p.demand[g] = garment.Quantity
		for _, c := range classes {
			p.gives[g][c] = true
			cost, err := p.costByItself(g, c)
			if err != nil {
				return nil, err
			}
			p.missingPrice = max(p.missingPrice, 5*cost)
		}
	}
	return uncut, nil
}

// costByItself is what one garment costs by itself.
func (p *planner) costByItself(g, c int) (float64, error) {
	ply, err := p.layer.lay(p.work, c, p.layer.one(g), quickIterations)
	if err != nil {
		return 0, err
	}
	_, _, _, cutting := p.problem.times(ply, 1)
	return 1 + float64(cutting) + float64(priced(ply.plyLength, Money(p.clothPrice(c)))), nil
}

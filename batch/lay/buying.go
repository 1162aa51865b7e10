package lay

import "yardwright/batch/length"

// onShelf is the length of all bolts together.
func (p *Problem) onShelf() length.Length {
	total := length.Length(0)
	for _, b := range p.Bolts {
		total += b.Length
	}
	return total
}

// charge is what a plan that buys must save against one that the shelf covers; nothing if the
// shelf can't cover what is wanted, whatever the plan.
func (s *shelf) charge(cloth Money) Money {
	if !s.mayCover {
		return 0
	}
	return percentOf(cloth, s.problem.Rules.BuyTolerance)
}

// lureShare is how much of the money for cloth to buy the search takes for a loss, where the
// shelf may cover all: enough to prefer plans that need less of it, not enough to pay for it.
const lureShare = 0.01

func (p *planner) lure(bought length.Length) float64 {
	if bought == 0 || !p.shelf.mayCover || p.problem.Rules.BuyTolerance == 0 {
		return 0
	}
	return lureShare * float64(priced(bought, p.problem.Rules.BuyPricePerMetre))
}

// firstShare is the share of all progress that the first search is, where a second one without
// buying may follow.
const firstShare = 0.6

// withoutBuying looks for a plan that buys nothing and cuts no fewer garments. It returns the
// given one if there is none, or if buying saves more than the tolerance. The bounds hold for
// both.
func (s *planner) withoutBuying(plan Plan, params Params) (Plan, error) {
	p := *s.problem
	p.Rules.BuyWidth = 0
	second := newPlanner(s.ctx, &p, params)
	if s.progress != nil {
		message, cost := s.message(), s.best.score()
		second.progress = func(now Progress) {
			s.progress(Progress{Share: firstShare + (1-firstShare)*now.Share, Message: message, Cost: cost})
		}
	}
	got, err := second.solve(params.Seed)
	if err != nil {
		if s.ended(err) {
			return plan, nil
		}
		return plan, err
	}
	if plan.Better(got, p.Rules.BuyTolerance) {
		return plan, nil
	}
	got.Bound, got.LengthBound = min(plan.Bound, got.Cost), min(plan.LengthBound, got.LengthUsed)
	got.Status = statusOf(got, s.ctx.Err() != nil)
	s.best = second.best
	return got, VerifyPlan(*s.problem, got)
}

// Better reports whether a plan is better than another one of the same garments: it cuts more of
// them; or it is cheaper, where one that buys must save more than the tolerance, in hundredths of a
// percent of its cloth money, against one that buys nothing.
func (plan Plan) Better(than Plan, tolerance int) bool {
	if a, b := plan.uncut(), than.uncut(); a != b {
		return a < b
	}
	a, b := plan.Cost, than.Cost
	switch buys := len(plan.Purchases) > 0; {
	case buys == (len(than.Purchases) > 0):
		return a < b
	case buys:
		return a+percentOf(plan.ClothCost, tolerance) < b
	}
	return a <= b+percentOf(than.ClothCost, tolerance)
}

// uncut counts the garments that a plan doesn't cut.
func (plan Plan) uncut() int {
	total := 0
	for _, u := range plan.Uncut {
		total += u.Quantity
	}
	return total
}

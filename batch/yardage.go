package batch

import (
	"context"
	"slices"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// AtWidth says how much of a cloth of another full width holds as much as a length of this
// one: the same area, rounded up to the last unit. It is an estimate, as yardage charts are:
// how the pieces really lie is known only from a marker. Both widths must be above zero.
func AtWidth(need, from, to length.Length) (length.Length, error) {
	return need.Scale(int64(from), int64(to), length.Up)
}

// Alternative is how much of the same cloth to buy in another width.
type Alternative struct {
	FullWidth, Length length.Length
	// Planned tells that the garments that are cut from bought cloth were really planned on this
	// width, though quickly; otherwise Length is worked out by area only.
	Planned bool
	// SamePrice is the price of a metre at which what is bought costs as much as in the width
	// that the batch was planned for, cloth and cutting together: the other width pays if it
	// costs less. It is only known where Planned.
	SamePrice lay.Money
}

// usualWidths are the full widths that shops sell cloth in. Common practice, no source.
var usualWidths = []length.Length{36 * length.Inch, 45 * length.Inch, 54 * length.Inch, 60 * length.Inch}

// sameWidth is a difference that makes no other width of it.
const sameWidth = 3 * length.Inch

// byArea lists the usual widths that are wide enough for every piece, with lengths of the same
// area.
func (p *planner) byArea(planned ClothPlan, need length.Length) ([]Alternative, error) {
	var widest length.Length
	for _, g := range planned.Problem.Garments {
		for _, piece := range g.Pieces {
			widest = max(widest, leastAcross(piece))
		}
	}
	var others []Alternative
	for _, width := range usualWidths {
		difference := width - planned.Cloth.FullWidth
		if max(difference, -difference) < sameWidth || width-2*planned.Cloth.Selvage < widest {
			continue
		}
		other, err := AtWidth(need, planned.Cloth.FullWidth, width)
		if err != nil {
			return nil, err
		}
		others = append(others, Alternative{FullWidth: width, Length: other.RoundTo(p.in.Workroom.BuyStep, length.Up)})
	}
	return others, nil
}

// otherWidths plans what is to be bought in other widths, in place of the estimates by area.
func (p *planner) otherWidths(ctx context.Context, try *trier) error {
	for i := range p.plan.Shopping {
		line := &p.plan.Shopping[i]
		at := slices.IndexFunc(p.plan.Cloths, func(c ClothPlan) bool { return c.Cloth.Name == line.Name && len(c.Plan.Purchases) > 0 })
		if at < 0 || len(line.Alternatives) == 0 {
			continue
		}
		cloth := p.plan.Cloths[at].Cloth
		bought := boughtOnly(p.plan.Cloths[at], p.rules(cloth))
		now, err := try.solve(ctx, bought)
		if err != nil {
			return err
		}
		for j := range line.Alternatives {
			wider := cloth
			wider.FullWidth = line.Alternatives[j].FullWidth
			if err := line.Alternatives[j].plan(ctx, try, bought, p.rules(wider), now); err != nil {
				return err
			}
		}
	}
	return nil
}

// boughtOnly is the part of a cloth's problem that its plan cuts from what is to be bought.
func boughtOnly(planned ClothPlan, rules lay.Rules) lay.Problem {
	problem := planned.Problem
	problem.Bolts, problem.Rules, problem.Rules.OverCut = nil, rules, 0
	problem.Garments = slices.Clone(problem.Garments)
	for g := range problem.Garments {
		problem.Garments[g].Quantity = 0
	}
	for _, l := range planned.Plan.Lays {
		for _, draw := range l.Draws {
			for g, n := range l.PerPly {
				if draw.Bolt < 0 {
					problem.Garments[g].Quantity += n * draw.Plies
				}
			}
		}
	}
	return problem
}

// plan plans what is bought anew in another width, at a price in proportion to it.
func (a *Alternative) plan(ctx context.Context, try *trier, problem lay.Problem, rules lay.Rules, now lay.Plan) error {
	price, err := length.Length(rules.BuyPricePerMetre).Scale(int64(rules.BuyWidth), int64(problem.Rules.BuyWidth), length.Nearest)
	if err != nil {
		return err
	}
	problem.Rules = rules
	problem.Rules.OverCut, problem.Rules.BuyPricePerMetre = 0, lay.Money(price)
	then, err := try.solve(ctx, problem)
	if err != nil || len(then.Uncut) > 0 || len(then.Purchases) == 0 {
		return err
	}
	buy := then.Purchases[0].Buy
	same, err := length.Length(now.Cost-then.CutCost).Scale(int64(length.Metre), int64(buy), length.Down)
	if err != nil || same <= 0 {
		return err
	}
	a.Length, a.SamePrice, a.Planned = buy, lay.Money(same), true
	return nil
}

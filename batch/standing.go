package batch

import (
	"slices"

	"yardwright/batch/lay"
)

// Restate says what a plan comes to with the shelf, the prices and the rules as they are now: the
// same lays from the same bolts. A cloth whose plan can't be carried out any more is listed in
// broken by its ID, with the reason, and stands in the plan as it was. The error is *InputError
// for lines that make no sense.
func Restate(in Input, plan Plan) (now Plan, broken map[int64]error, err error) {
	p := &planner{in: in, params: Params{Seed: plan.Seed, Keep: &plan}}
	if err := p.collect(); err != nil {
		return Plan{}, nil, err
	}
	now, broken = plan, map[int64]error{}
	now.Cloths = slices.Clone(plan.Cloths)
	for i := range now.Cloths {
		kept, err := p.restated(&plan.Cloths[i])
		if err != nil {
			broken[plan.Cloths[i].Cloth.ID] = err
			continue
		}
		now.Cloths[i] = kept
	}
	return now, broken, nil
}

// restated is the plan of a cloth as it stands now; the error says why it can't be carried out.
func (p *planner) restated(kept *ClothPlan) (ClothPlan, error) {
	cloth, ok := p.in.cloth(kept.Cloth.ID)
	if !ok {
		return ClothPlan{}, lay.ErrOtherGarments
	}
	now := p.clothPlan(cloth)
	if kept.Parts != nil {
		now.Problem.Garments = splitLike(now.Problem.Garments, kept)
		now.Garments, now.Parts = kept.Garments, kept.Parts
	}
	var err error
	now.Plan, err = lay.Restate(now.Problem, kept.Problem, kept.Plan)
	return now, err
}

// splitLike splits whole garments as a kept plan does: of each kind, as many as its parts say.
func splitLike(whole []lay.Garment, kept *ClothPlan) []lay.Garment {
	garments := slices.Clone(whole)
	taken := map[int]int{}
	for at, part := range kept.Parts {
		if part.Pieces == nil || part.Of >= len(whole) {
			continue
		}
		split := kept.Problem.Garments[at]
		taken[part.Of] = split.Quantity
		of := whole[part.Of]
		split.Pieces = nil
		for _, i := range part.Pieces {
			if i < len(of.Pieces) {
				split.Pieces = append(split.Pieces, of.Pieces[i])
			}
		}
		garments = append(garments, split)
	}
	for g, n := range taken {
		garments[g].Quantity -= n
	}
	return garments
}

// standing is the plan of a cloth that the batch had before, as it stands now; nil if there is
// none that still holds for the same garments.
func (p *planner) standing(cloth Cloth) *ClothPlan {
	if p.params.Keep == nil {
		return nil
	}
	at := slices.IndexFunc(p.params.Keep.Cloths, func(c ClothPlan) bool { return c.Cloth.ID == cloth.ID })
	if at < 0 {
		return nil
	}
	kept, err := p.restated(&p.params.Keep.Cloths[at])
	if err != nil {
		return nil
	}
	return &kept
}

// Received is cloth that came in for a planned batch.
type Received struct {
	// Plies is how many plies found a place on it; StillToBuy what must be bought yet.
	Plies      int
	StillToBuy []lay.Purchase
}

// Receive puts bolts in the place of a cloth to buy in a plan, without planning again; see
// lay.Receive. Bundles, steps and the shopping list follow. The error says why that can't be done.
func Receive(in Input, plan Plan, cloth int64, bolts []Bolt) (Plan, Received, error) {
	at := slices.IndexFunc(plan.Cloths, func(c ClothPlan) bool { return c.Cloth.ID == cloth })
	if at < 0 || len(plan.Cloths[at].Plan.Purchases) == 0 {
		return plan, Received{}, nil
	}
	p := &planner{in: in, plan: plan}
	planned := plan.Cloths[at]
	var fresh []lay.Bolt
	for _, bolt := range bolts {
		fresh = append(fresh, p.layBolt(bolt))
	}
	var got Received
	var err error
	if planned.Problem, planned.Plan, got.Plies, err = lay.Receive(planned.Problem, planned.Plan, fresh); err != nil {
		return plan, Received{}, err
	}
	got.StillToBuy = planned.Plan.Purchases
	if got.Plies == 0 {
		return plan, got, nil
	}
	planned.Bolts = append(slices.Clone(planned.Bolts), bolts...)
	now, err := p.with(at, planned)
	return now, got, err
}

// GiveBack undoes Receive for a bolt: what was to be cut from it is to be bought again. Done tells
// whether the plan cuts anything from it.
func GiveBack(in Input, plan Plan, bolt int64) (now Plan, done bool, err error) {
	for at, planned := range plan.Cloths {
		b := slices.IndexFunc(planned.Problem.Bolts, func(have lay.Bolt) bool { return have.ID == bolt })
		if b < 0 || !slices.ContainsFunc(planned.Plan.Uses, func(u lay.BoltUse) bool { return u.Bolt == b }) {
			continue
		}
		if planned.Plan, err = lay.GiveBack(planned.Problem, planned.Plan, b); err != nil {
			return plan, false, err
		}
		now, err = (&planner{in: in, plan: plan}).with(at, planned)
		return now, true, err
	}
	return plan, false, nil
}

// with is the plan with another plan of one cloth, and what follows from it.
func (p *planner) with(at int, planned ClothPlan) (Plan, error) {
	p.plan.Cloths = slices.Clone(p.plan.Cloths)
	p.plan.Cloths[at] = planned
	err := p.follow()
	return p.plan, err
}

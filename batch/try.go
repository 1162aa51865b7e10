package batch

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"slices"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// The budget of a quick plan: what another choice would save is the difference of two such
// plans, made in the same way, so that neither has the advantage of a longer search.
const (
	quickIterations       = 200
	quickMarkerIterations = 60
)

// Totals sum up the plans of some cloths.
type Totals struct {
	// Length is all cloth taken; Bought is what must be bought of it, in the shop's steps.
	Length, Bought length.Length
	// BoughtCost is the money for Bought, ClothCost that for all cloth taken.
	BoughtCost, ClothCost, CutCost lay.Money
	// Work is the time for setting up, spreading and cutting, at standard pace.
	Work time.Duration
	Lays int
	// Uncut is how many garments can't be cut.
	Uncut int
}

// Cost is the money for cloth and cutting together.
func (t Totals) Cost() lay.Money { return t.ClothCost + t.CutCost }

func (t *Totals) add(plan lay.Plan) {
	t.Length += plan.LengthUsed
	t.ClothCost += plan.ClothCost
	t.CutCost += plan.CutCost
	t.Work += plan.Work()
	t.Lays += len(plan.Lays)
	for _, p := range plan.Purchases {
		t.Bought += p.Buy
		t.BoughtCost += p.Cost
	}
}

// trier makes quick plans, each problem once.
type trier struct {
	params Params
	known  map[[sha256.Size]byte]lay.Plan
}

func newTrier(params Params) *trier {
	params.Progress, params.Keep, params.Only = nil, nil, nil
	params.Iterations = fewer(params.Iterations, quickIterations)
	params.MarkerIterations = fewer(params.MarkerIterations, quickMarkerIterations)
	return &trier{params: params, known: map[[sha256.Size]byte]lay.Plan{}}
}

// fewer is the smaller of a budget, where 0 stands for the usual one, and a number.
func fewer(budget, n int) int {
	if budget <= 0 {
		return n
	}
	return min(budget, n)
}

func (t *trier) solve(ctx context.Context, problem lay.Problem) (lay.Plan, error) {
	// What a marshalled problem leaves out doesn't matter to its plan.
	written, err := json.Marshal(problem)
	if err != nil {
		return lay.Plan{}, err
	}
	key := sha256.Sum256(written)
	if plan, ok := t.known[key]; ok {
		return plan, nil
	}
	if err := ctx.Err(); err != nil {
		return lay.Plan{}, err
	}
	plan, err := lay.Solve(ctx, problem, lay.Params{Seed: t.params.Seed, Iterations: t.params.Iterations, MarkerIterations: t.params.MarkerIterations, QuickBound: true})
	if err != nil {
		return lay.Plan{}, err
	}
	// A search that was ended says nothing of what it would have found.
	if err := ctx.Err(); err != nil {
		return lay.Plan{}, err
	}
	t.known[key] = plan
	return plan, nil
}

// plan lays some cloths of a batch quickly.
func (t *trier) plan(ctx context.Context, in Input, cloths []int64) (*planner, error) {
	p := &planner{in: in, params: t.params, trier: t, only: cloths}
	if err := p.collect(); err != nil {
		return nil, err
	}
	p.refuseTooWide()
	return p, p.layAll(ctx)
}

// without is what is left of totals when others are taken off; Uncut stays.
func (t Totals) without(o Totals) Totals {
	t.Length, t.Bought, t.Work, t.Lays = t.Length-o.Length, t.Bought-o.Bought, t.Work-o.Work, t.Lays-o.Lays
	t.BoughtCost, t.ClothCost, t.CutCost = t.BoughtCost-o.BoughtCost, t.ClothCost-o.ClothCost, t.CutCost-o.CutCost
	return t
}

// totals sums up some of the cloths, and all that can't be cut.
func (p *planner) totals(cloths ...int64) Totals {
	var t Totals
	for _, planned := range p.plan.Cloths {
		if slices.Contains(cloths, planned.Cloth.ID) {
			t.add(planned.Plan)
		}
	}
	for _, uncut := range p.plan.Uncut {
		t.Uncut += uncut.Quantity
	}
	return t
}

// garments counts what is ordered.
func (in Input) garments() int {
	count := 0
	for _, line := range in.Lines {
		count += line.Quantity
	}
	return count
}

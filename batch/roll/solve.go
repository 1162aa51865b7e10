package roll

import (
	"context"
	"fmt"
	"slices"
)

// defaultIterations is the budget when Params gives none.
const defaultIterations = 1_500

// Solve plans which rolls to open and what to cut from each; see the package's objective.
// The context is the time limit: when it ends, the best plan so far is returned with
// StatusOutOfTime. The error is the Problem's Check, or the context's if it had ended before.
func Solve(ctx context.Context, p Problem, params Params) (Plan, error) {
	if err := ctx.Err(); err != nil {
		return Plan{}, err
	}
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	most := params.Iterations
	if most <= 0 {
		most = defaultIterations
	}
	j := join(p)
	if len(j.weight) == 0 {
		return finish(p, j, outcome{shortProven: true, boundProven: true}, params.Seed), nil
	}
	forLeftover := most / 16
	out := meet(ctx, &j.model, params.Seed, most-forLeftover)
	gather(ctx, &j.model, &out, params.Seed, forLeftover)
	plan := finish(p, j, out, params.Seed)
	if err := Verify(p, plan); err != nil {
		return Plan{}, fmt.Errorf("the plan failed its check: %w", err)
	}
	return plan, nil
}

// outcome is a packing with what is proven of it.
type outcome struct {
	// best costs what its rolls cost; what it leaves unmet is not in its cost.
	best packing
	// shortProven: no packing leaves less unmet. boundProven: none of what is met costs less
	// than best; bound is a proven lower bound on that cost.
	shortProven, boundProven bool
	bound                    int64
	// leftProven: no packing at this cost leaves more of one roll. outOfTime: the context
	// ended the search.
	leftProven, outOfTime bool
	// pool holds the patterns that the search came upon.
	pool []pattern
}

// meet finds the packing: first the least unmet, then the least opened.
func meet(ctx context.Context, m *model, seed uint64, most int) outcome {
	start, proven, steps := holdAll(ctx, m, seed, most/2)
	out := outcome{shortProven: proven}
	unmet := start.unmet
	met := *m
	met.mustMeet = true
	met.demand = slices.Clone(m.demand)
	for i, n := range unmet {
		met.demand[i] -= n
	}
	start.unmet = make([]int, len(m.weight))
	s := newSearch(ctx, &met, seed, most-steps)
	s.totals = newTotals(&met)
	s.offer(start)
	s.run()
	out.best, out.bound, out.pool = s.best, s.bound, s.pool
	out.best.unmet = unmet
	out.boundProven = s.done()
	out.outOfTime = ctx.Err() != nil && !out.boundProven
	return out
}

// holdAll packs as much as the stock holds, whatever is opened; it tells whether no packing
// leaves less unmet, and the steps taken. Items that fit an unlimited kind are no question;
// the others compete for the limited kinds.
func holdAll(ctx context.Context, m *model, seed uint64, most int) (all packing, proven bool, steps int) {
	rare := m.rare()
	s := newSearch(ctx, &rare, seed, most)
	s.run()
	rest := m.root()
	for j, pat := range s.best.pattern {
		rest.take(m, pat, s.best.times[j])
	}
	for i, n := range s.best.unmet {
		rest.demand[i] -= n
	}
	all = rest.complete(m.decreasing)
	for i, n := range s.best.unmet {
		all.unmet[i] += n
	}
	return all, s.done(), s.steps()
}

// rare is the model of the items that fit no unlimited kind, on the limited kinds, which cost
// nothing.
func (m *model) rare() model {
	unlimited := int64(-1)
	for k, l := range m.limit {
		if l < 0 {
			unlimited = max(unlimited, m.capacity[k])
		}
	}
	rare := *m
	rare.cost = make([]int64, len(m.cost))
	rare.demand = slices.Clone(m.demand)
	rare.limit = slices.Clone(m.limit)
	for i, w := range m.weight {
		if w <= unlimited {
			rare.demand[i] = 0
		}
	}
	for k, l := range rare.limit {
		rare.limit[k] = max(0, l)
	}
	return rare
}

package roll

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"yardwright/batch/length"
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
	out := meet(ctx, &j.model, params.Seed, most)
	gather(ctx, &j.model, &out, params.Seed, most/16)
	plan := finish(p, j, out, params.Seed)
	if err := Verify(p, plan); err != nil {
		return Plan{}, fmt.Errorf("the plan failed its check: %w", err)
	}
	return plan, nil
}

// outcome is a packing with what is proven of it.
type outcome struct {
	best packing
	// shortProven: no packing leaves less unmet. bound: none of what is met costs less.
	shortProven, boundProven bool
	bound                    int64
	leftProven, outOfTime    bool
	// pool holds the patterns that the search came upon.
	pool []pattern
}

// meet finds the packing: first the least unmet, then the least opened.
func meet(ctx context.Context, m *model, seed uint64, most int) outcome {
	start, proven := holdAll(ctx, m, seed, most)
	out := outcome{shortProven: proven}
	unmet := start.unmet
	met := *m
	met.mustMeet = true
	met.demand = slices.Clone(m.demand)
	for i, n := range unmet {
		met.demand[i] -= n
	}
	start.unmet = make([]int, len(m.weight))
	s := newSearch(ctx, &met, seed, most)
	s.offer(start)
	s.run()
	out.best, out.bound, out.pool = s.best, s.bound, s.pool
	out.best.unmet = unmet
	out.boundProven = s.done()
	out.outOfTime = ctx.Err() != nil && !out.boundProven
	return out
}

// holdAll packs as much as the stock holds, whatever is opened. Items that fit an unlimited
// kind are no question; the others compete for the limited kinds.
func holdAll(ctx context.Context, m *model, seed uint64, most int) (packing, bool) {
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
		if l < 0 {
			rare.limit[k] = 0
		}
	}
	s := newSearch(ctx, &rare, seed, most)
	s.run()
	rest := &node{slices.Clone(m.demand), slices.Clone(m.limit), packing{}}
	for j, pat := range s.best.pattern {
		rest.take(m, pat, s.best.times[j])
	}
	for i, n := range s.best.unmet {
		rest.demand[i] -= n
	}
	fill := newSearch(ctx, m, seed, 0)
	all := fill.complete(rest, fill.decreasing)
	for i, n := range s.best.unmet {
		all.unmet[i] += n
	}
	m.price(&all)
	return all, s.done()
}

// gather brings the waste together: it keeps the rolls opened and looks for a packing that
// leaves as little as possible for one of them.
func gather(ctx context.Context, m *model, out *outcome, seed uint64, most int) {
	opened := out.best.kinds(m)
	kinds := 0
	for _, n := range opened {
		if n > 0 {
			kinds++
		}
	}
	met := *m
	met.demand = slices.Clone(m.demand)
	for i, n := range out.best.unmet {
		met.demand[i] -= n
	}
	free := -met.total()
	for k, n := range opened {
		free += m.capacity[k] * int64(n)
	}
	allProven := out.boundProven
	for k, n := range opened {
		// A roll can be left no longer than the waste in all.
		if n == 0 || out.longest(m) >= min(free, m.capacity[k]) {
			continue
		}
		if ctx.Err() != nil {
			allProven = false
			break
		}
		better, proven := emptyOne(ctx, &met, out, opened, k, seed, max(1, most/kinds))
		if better.longest(m) > out.longest(m) {
			better.unmet = out.best.unmet
			out.best = better
		}
		allProven = allProven && proven
	}
	// Another choice of rolls of the same total could leave more; with one kind there is none.
	out.leftProven = allProven && (len(m.cost) == 1 || out.longest(m) >= free)
}

func (o *outcome) longest(m *model) int64 { return o.best.longest(m) }

func (p *packing) longest(m *model) int64 {
	most := int64(0)
	for _, pat := range p.pattern {
		most = max(most, m.capacity[pat.kind]-pat.weight(m))
	}
	return most
}

// emptyOne packs the rolls opened but for one of a kind, so that as little as possible is
// left for that one.
func emptyOne(ctx context.Context, m *model, out *outcome, opened []int, kind int, seed uint64, most int) (packing, bool) {
	rest := *m
	rest.mustMeet = false
	rest.limit = slices.Clone(opened)
	rest.limit[kind]--
	rest.cost = make([]int64, len(m.cost))
	s := newSearch(ctx, &rest, seed, most)
	s.learn(out.pool)
	s.offer(without(m, out.best, kind))
	s.run()
	better := s.best.clone()
	last := patternOf(kind, better.unmet)
	better.unmet = make([]int, len(m.weight))
	if len(last.item) == 0 || last.weight(m) > m.capacity[kind] {
		return packing{}, false
	}
	better.add(last, 1)
	m.price(&better)
	return better, s.done()
}

// without takes one roll of a kind, the least filled, out of a packing.
func without(m *model, p packing, kind int) packing {
	least := -1
	for j, pat := range p.pattern {
		if pat.kind == kind && (least < 0 || pat.weight(m) < p.pattern[least].weight(m)) {
			least = j
		}
	}
	out := packing{unmet: make([]int, len(m.weight))}
	for j, pat := range p.pattern {
		times := p.times[j]
		if j == least {
			times--
			for a, i := range pat.item {
				out.unmet[i] += int(pat.n[a])
			}
		}
		if times > 0 {
			out.add(pat, times)
		}
	}
	return out
}

// finish turns a packing back into a plan for the Problem.
func finish(p Problem, j joined, out outcome, seed uint64) Plan {
	plan := Plan{Seed: seed, Status: StatusWithin, ShortProven: out.shortProven}
	due := make([]int, len(p.Cuts))
	for c, cut := range p.Cuts {
		due[c] = cut.Count - j.tooLong[c]
	}
	plan.Rolls = j.rolls(p, out.best, due)
	for _, r := range plan.Rolls {
		plan.Opened += r.Times
		plan.OpenedLength += p.Stock[r.Stock].Length * length.Length(r.Times)
		plan.LongestLeft = max(plan.LongestLeft, r.Left)
	}
	plan.BoundLength = length.Length(out.bound * j.costUnit)
	plan.Bound = j.fewestRolls(out)
	plan.LeftoverProven = out.leftProven
	for c := range due {
		due[c] += j.tooLong[c]
		if due[c] > 0 {
			plan.Unmet = due
		}
	}
	switch {
	case plan.Unmet != nil:
		plan.Status = StatusShort
	case out.boundProven:
		plan.Status = StatusOptimal
	case out.outOfTime:
		plan.Status = StatusOutOfTime
	}
	if plan.Unmet == nil {
		plan.ShortProven = false
	}
	return plan
}

// fewestRolls bounds the number of rolls that hold what is met.
func (j *joined) fewestRolls(out outcome) int {
	if len(j.cost) == 1 {
		return int(out.bound / j.cost[0])
	}
	need := j.total()
	for i, n := range out.best.unmet {
		need -= j.weight[i] * int64(n)
	}
	rolls := 0
	for k, c := range j.capacity {
		if need <= 0 {
			break
		}
		n := int((need + c - 1) / c)
		if j.limit[k] >= 0 {
			n = min(n, j.limit[k])
		}
		rolls += n
		need -= c * int64(n)
	}
	return rolls
}

// rolls hands the pieces of a packing out to the cuts, and lowers due by them.
func (j *joined) rolls(p Problem, packed packing, due []int) []Roll {
	left := make([]int, len(p.Stock))
	for s, stock := range p.Stock {
		left[s] = stock.Count
		if stock.Count == 0 {
			left[s] = -1
		}
	}
	var rolls []Roll
	for at, pat := range packed.pattern {
		for times := packed.times[at]; times > 0; {
			stock := nextStock(j.stocks[pat.kind], left)
			counts, n := j.deal(pat, due, times)
			if left[stock] >= 0 {
				n = min(n, left[stock])
				left[stock] -= n
			}
			for c, k := range counts {
				due[c] -= k * n
			}
			rolls = append(rolls, Roll{Stock: stock, Counts: counts, Times: n, Left: leftover(p, stock, counts)})
			times -= n
		}
	}
	sort.SliceStable(rolls, func(a, b int) bool {
		if rolls[a].Stock != rolls[b].Stock {
			return rolls[a].Stock < rolls[b].Stock
		}
		return rolls[a].Left < rolls[b].Left
	})
	return rolls
}

// nextStock prefers stock with a count, so that what is on the shelf is used before buying.
func nextStock(stocks []int, left []int) int {
	for _, s := range stocks {
		if left[s] > 0 {
			return s
		}
	}
	for _, s := range stocks {
		if left[s] < 0 {
			return s
		}
	}
	return stocks[0]
}

// deal chooses which cuts a roll's pieces are for, and how many rolls can be dealt alike.
func (j *joined) deal(pat pattern, due []int, times int) ([]int, int) {
	counts := make([]int, len(due))
	for a, i := range pat.item {
		need := int(pat.n[a])
		for _, c := range j.cuts[i] {
			n := min(need, due[c])
			counts[c] += n
			need -= n
		}
	}
	for c, n := range counts {
		if n > 0 {
			times = min(times, due[c]/n)
		}
	}
	return counts, times
}

func leftover(p Problem, stock int, counts []int) length.Length {
	left := p.Stock[stock].Length
	for c, n := range counts {
		left -= (p.Cuts[c].Length + p.Kerf) * length.Length(n)
	}
	return max(0, left)
}

package roll

import (
	"context"
	"slices"
)

// gather brings the waste together: among the choices of rolls that cost as much as the best
// packing it looks for the one that leaves most of a single roll.
func gather(ctx context.Context, m *model, out *outcome, seed uint64, most int) {
	met := *m
	met.demand = slices.Clone(m.demand)
	for i, n := range out.best.unmet {
		met.demand[i] -= n
	}
	choices := [][]int{out.best.kinds(m)}
	all := len(m.cost) == 1
	if !all {
		var others [][]int
		others, all = met.choices(out.best.cost)
		for _, c := range others {
			if !slices.Equal(c, choices[0]) {
				choices = append(choices, c)
			}
		}
	}
	g := gathering{ctx: ctx, model: &met, out: out, seed: seed, left: most, proven: out.boundProven && all}
	for _, opened := range choices {
		g.among(opened)
	}
	out.leftProven = g.proven
}

// gathering is the state of gather.
type gathering struct {
	ctx context.Context
	// model asks for what is met only.
	model *model
	out   *outcome
	seed  uint64
	// left is what remains of the steps, proven whether nothing was given up.
	left   int
	proven bool
}

// among empties one roll of each kind in turn, as far as can be.
func (g *gathering) among(opened []int) {
	spare := -g.model.total()
	for k, n := range opened {
		spare += g.model.capacity[k] * int64(n)
	}
	for k, n := range opened {
		// A roll can be left no longer than the waste in all.
		most := min(spare, g.model.capacity[k])
		if n == 0 || g.out.best.longest(g.model) >= g.model.leftover(k, g.model.capacity[k]-most) {
			continue
		}
		if g.ctx.Err() != nil || g.left <= 0 {
			g.proven = false
			return
		}
		better, proven := g.emptyOne(opened, k)
		if better.pattern != nil {
			better.unmet, better.cost = g.out.best.unmet, g.out.best.cost
			g.out.best = better
		}
		g.proven = g.proven && proven
	}
}

// leftover is the length left of a roll of a kind from which so much weight is cut.
func (m *model) leftover(kind int, weight int64) int64 {
	return (m.capacity[kind]-weight)*m.unit + m.rest[kind]
}

// longest is the longest leftover of a roll that is opened.
func (p *packing) longest(m *model) int64 {
	most := int64(0)
	for _, pat := range p.pattern {
		most = max(most, m.leftover(pat.kind, pat.weight(m)))
	}
	return most
}

// emptyOne packs the rolls opened but for one of a kind so that less must go into that one
// than leaves the longest leftover so far; it returns no packing if there is none, and whether
// the answer is proven.
func (g *gathering) emptyOne(opened []int, kind int) (packing, bool) {
	m := g.model
	rest := *m
	rest.mustMeet, rest.miss = false, m.weight
	rest.limit = slices.Clone(opened)
	rest.limit[kind]--
	rest.cost = make([]int64, len(m.cost))
	s := newSearch(g.ctx, &rest, g.seed, g.left)
	s.cutoff = (m.leftover(kind, 0) - g.out.best.longest(m) + m.unit - 1) / m.unit
	s.learn(g.out.pool)
	if slices.Equal(opened, g.out.best.kinds(m)) {
		s.offer(without(m, g.out.best, kind))
	}
	s.run()
	g.left -= s.steps()
	if !s.found {
		return packing{}, s.done()
	}
	better := s.best.clone()
	if last := patternOf(kind, better.unmet); len(last.item) > 0 {
		better.add(last, 1)
	}
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

// maxChoices is how many choices of rolls are looked at for one total.
const maxChoices = 60

// choices lists the numbers of rolls by kind that cost exactly the total and are large
// enough; false if there are too many to list.
func (m *model) choices(total int64) ([][]int, bool) {
	var list [][]int
	now := make([]int, len(m.cost))
	need := m.total()
	steps := 0
	var fill func(k int, rest, capacity int64) bool
	fill = func(k int, rest, capacity int64) bool {
		steps++
		if steps > 200_000 || len(list) > maxChoices {
			return false
		}
		if k == len(m.cost) {
			if rest == 0 && capacity >= need {
				list = append(list, slices.Clone(now))
			}
			return true
		}
		most := rest / m.cost[k]
		if m.limit[k] >= 0 {
			most = min(most, int64(m.limit[k]))
		}
		for n := most; n >= 0; n-- {
			now[k] = int(n)
			if !fill(k+1, rest-n*m.cost[k], capacity+n*m.capacity[k]) {
				return false
			}
		}
		now[k] = 0
		return true
	}
	ok := fill(0, total, 0)
	return list, ok
}

package marker

import (
	"cmp"
	"slices"
)

// start is a plan that the search begins with; partial plans leave out what the cloth is too
// short for.
type start struct {
	plan    plan
	partial bool
}

// manyCopies is about how many entries a sequence has at most, unless there are more kinds:
// copies of a kind beyond that share entries.
const manyCopies = 40

// startsOf returns the constructions to begin with, the most promising first. Where there is a
// longest length, partial plans and full ones take turns such that each worker gets both.
func startsOf(m *model) []start {
	var full []plan
	orders := ordersOf(m)
	for _, r := range rulesOf(m) {
		for _, order := range orders {
			full = append(full, plan{sequence: order, reserve: len(order), ways: make([]int8, m.groups), rule: r, skips: noSkips})
		}
	}
	var all []start
	for some := range slices.Chunk(full, workerCount) {
		if m.cap < noCap {
			for _, p := range some {
				all = append(all, start{chosen(m, p), true})
			}
		}
		for _, p := range some {
			all = append(all, start{p, false})
		}
	}
	return all
}

// rulesOf returns the variants of the engine that starts are laid by, those that did best on
// cutting jobs and published instances first.
func rulesOf(m *model) []rule {
	if m.straight {
		return []rule{{fit: true, split: largeRest}, {fit: true, split: cutAlong}, {split: largeRest}}
	}
	return []rule{{}, {fit: true}, {left: true}}
}

// ordersOf returns sequences of all copies: by circumference, width, length, area and longer side,
// each falling; all with pieces free to turn and, if some can, with all as flat as they go.
func ordersOf(m *model) [][]entry {
	keys := []func(o *option) int64{
		func(o *option) int64 { return o.w + o.l },
		func(o *option) int64 { return o.w },
		func(o *option) int64 { return o.l },
		func(o *option) int64 { return o.w * o.l },
		func(o *option) int64 { return max(o.w, o.l) },
	}
	var all [][]entry
	for _, key := range keys {
		order := orderBy(m, func(a, b *kind) int {
			oa, ob := &m.options[a.last-1], &m.options[b.last-1] // each as flat as it goes
			return cmp.Or(cmp.Compare(key(ob), key(oa)), cmp.Compare(ob.w, oa.w), cmp.Compare(ob.l, oa.l))
		})
		all = append(all, order)
		if m.turns() {
			flat := slices.Clone(order)
			for i := range flat {
				if k := &m.kinds[flat[i].kind]; k.group < 0 {
					flat[i].only = k.last - k.first - 1
				}
			}
			all = append(all, flat)
		}
	}
	return all
}

// orderBy returns the copies of all kinds, sorted.
func orderBy(m *model, compare func(a, b *kind) int) []entry {
	kinds := make([]int32, len(m.kinds))
	for i := range kinds {
		kinds[i] = int32(i)
	}
	slices.SortStableFunc(kinds, func(a, b int32) int { return compare(&m.kinds[a], &m.kinds[b]) })
	share := max((m.copies+manyCopies-1)/manyCopies, 1)
	var sequence []entry
	for _, k := range kinds {
		for rest := m.kinds[k].copies; rest > 0; rest -= share {
			sequence = append(sequence, entry{k, int32(min(rest, share)), -1, asRule})
		}
	}
	return sequence
}

// chosen puts the entries in front that have the most value for their area and fit on the
// cloth by their area, and keeps the rest as the reserve.
func chosen(m *model, p plan) plan {
	byValue := make([]int, len(p.sequence))
	for i := range byValue {
		byValue[i] = i
	}
	slices.SortStableFunc(byValue, func(a, b int) int {
		ka, kb := &m.kinds[p.sequence[a].kind], &m.kinds[p.sequence[b].kind]
		return product(kb.value, ka.area).minus(product(ka.value, kb.area)).sign()
	})
	free := m.clothArea()
	taken := make([]bool, len(p.sequence))
	for _, i := range byValue {
		e := p.sequence[i]
		if need := m.kinds[e.kind].area * int64(e.count); need <= free && fitsAlong(m, e.kind) {
			free -= need
			taken[i] = true
		}
	}
	var first, rest []entry
	for i, e := range p.sequence {
		if taken[i] {
			first = append(first, e)
		}
	}
	for _, i := range byValue {
		if !taken[i] {
			rest = append(rest, p.sequence[i])
		}
	}
	p.sequence, p.reserve = append(first, rest...), len(first)
	return p
}

// fitsAlong tells whether a kind is short enough for the longest length.
func fitsAlong(m *model, k int32) bool {
	return slices.ContainsFunc(m.kinds[k].options, func(o option) bool {
		return max(o.atY, 0)+o.l <= m.cap
	})
}

package roll

import (
	"encoding/binary"
	"slices"
)

// exhaustNodes is how many fillings exhaust looks at before it gives up.
const exhaustNodes = 40_000

// free tells whether rolls cost nothing, so that only unmet items do.
func (m *model) free() bool {
	return !m.mustMeet && !slices.ContainsFunc(m.cost, func(c int64) bool { return c > 0 })
}

// exhaust goes through all packings of a model whose rolls cost nothing, if they are few
// enough: roll after roll, each with the heaviest item left in it and filled until nothing
// more fits, or the item left unmet. It then knows the least that must stay unmet.
func (s *search) exhaust() {
	m := s.model
	if s.done() || slices.Min(m.limit) < 0 {
		return
	}
	e := exhaustion{
		search: s, demand: slices.Clone(m.demand), limit: slices.Clone(m.limit),
		unmet: make([]int, len(m.weight)), seen: map[string]int64{}, nodes: exhaustNodes,
	}
	for k, c := range m.capacity {
		e.spare += c * int64(m.limit[k])
	}
	e.spare -= m.total()
	e.roll(0)
	s.work += int64(exhaustNodes-max(0, e.nodes)) * int64(20+len(m.weight))
	if e.nodes > 0 && s.ctx.Err() == nil {
		s.bound = max(s.bound, s.cutoff)
	}
}

// exhaustion is the state of exhaust: what is left of items and rolls, and what is packed.
type exhaustion struct {
	*search
	demand, limit []int
	packed        []pattern
	unmet         []int
	// spare is the capacity of the rolls left beyond the weight of the items left; below
	// zero, at least so much stays unmet.
	spare int64
	// seen is the least cost of unmet items with which a state was searched.
	seen  map[string]int64
	nodes int
}

// roll packs what is left, with items of so much cost left unmet already.
func (e *exhaustion) roll(cost int64) {
	if cost+e.model.leastMissed(-e.spare) >= e.cutoff || e.done() || e.nodes <= 0 || e.ctx.Err() != nil {
		return
	}
	item := slices.IndexFunc(e.demand, func(n int) bool { return n > 0 })
	if item < 0 {
		e.offer(packingOf(e.packed, e.unmet))
		return
	}
	if e.searched(cost) {
		return
	}
	for kind, n := range e.limit {
		if n > 0 && e.model.capacity[kind] >= e.model.weight[item] {
			e.limit[kind]--
			e.fill(cost, kind, item, e.model.capacity[kind], make([]int, len(e.demand)))
			e.limit[kind]++
		}
	}
	weight := e.model.weight[item]
	e.demand[item]--
	e.unmet[item]++
	e.spare += weight
	e.roll(cost + e.model.miss[item])
	e.spare -= weight
	e.unmet[item]--
	e.demand[item]++
}

// fill puts copies of the items from one on into the room of a roll, most copies first; the
// first item of a roll, while counts are empty, must be in it.
func (e *exhaustion) fill(cost int64, kind, item int, room int64, counts []int) {
	e.nodes--
	if e.nodes <= 0 || e.done() {
		return
	}
	if item == len(e.demand) {
		e.close(cost, kind, room, counts)
		return
	}
	weight, least := e.model.weight[item], 0
	if room == e.model.capacity[kind] {
		least = 1
	}
	for n := min(e.demand[item], int(room/weight)); n >= least; n-- {
		counts[item] = n
		e.demand[item] -= n
		e.fill(cost, kind, item+1, room-int64(n)*weight, counts)
		e.demand[item] += n
	}
	counts[item] = 0
}

// close goes on to the next roll, unless something would still fit into this one.
func (e *exhaustion) close(cost int64, kind int, room int64, counts []int) {
	for i, n := range e.demand {
		if n > 0 && e.model.weight[i] <= room {
			return
		}
	}
	e.packed = append(e.packed, patternOf(kind, counts))
	e.spare -= room
	e.roll(cost)
	e.spare += room
	e.packed = e.packed[:len(e.packed)-1]
}

// searched tells whether this state was searched with no more cost, and notes it.
func (e *exhaustion) searched(cost int64) bool {
	key := make([]byte, 0, len(e.demand)+len(e.limit))
	for _, n := range e.demand {
		key = binary.AppendUvarint(key, uint64(n))
	}
	for _, n := range e.limit {
		key = binary.AppendUvarint(key, uint64(n))
	}
	if before, ok := e.seen[string(key)]; ok && before <= cost {
		return true
	}
	e.seen[string(key)] = cost
	return false
}

func packingOf(patterns []pattern, unmet []int) packing {
	p := packing{unmet: slices.Clone(unmet)}
	for _, pat := range patterns {
		p.add(pat, 1)
	}
	return p
}

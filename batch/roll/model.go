package roll

import (
	"slices"
	"sort"
)

// model is a Problem in small whole numbers: equal lengths joined, the kerf put into the
// weights, everything divided by the greatest common divisor. A roll holds pieces whose
// weights sum to at most its capacity.
type model struct {
	// weight of each item, decreasing, and how many are needed.
	weight []int64
	demand []int
	// capacity and cost of each kind of roll, and how many there are; -1 means any number.
	capacity []int64
	cost     []int64
	limit    []int
	// unit is the length of one unit of weight, rest what a roll of each kind has beyond the
	// whole units of its capacity, where no piece can use it.
	unit int64
	rest []int64
	// mustMeet forbids to leave an item unmet; otherwise one of an item left costs miss.
	mustMeet bool
	miss     []int64
}

// pattern is what one roll of a kind is cut into: n[j] pieces of item[j], items ascending.
type pattern struct {
	kind int
	item []int32
	n    []int32
}

// packing is an answer to a model: patterns with the number of rolls cut like each.
type packing struct {
	pattern []pattern
	times   []int
	unmet   []int
	cost    int64
}

func (m *model) total() int64 {
	sum := int64(0)
	for i, w := range m.weight {
		sum += w * int64(m.demand[i])
	}
	return sum
}

// leastMissed bounds what it costs to leave items of so much weight unmet. The lighter an
// item, the less it costs for its weight: the kerf is in the weight, but not in the cost.
func (m *model) leastMissed(weight int64) int64 {
	last := len(m.weight) - 1
	if weight <= 0 || last < 0 {
		return 0
	}
	if m.miss[last] == m.weight[last] {
		return weight
	}
	return int64(float64(weight) / float64(m.weight[last]) * float64(m.miss[last]) * (1 - 1e-12))
}

// price sums up a packing and tells whether the model allows it.
func (m *model) price(p *packing) bool {
	p.cost = 0
	for j, pat := range p.pattern {
		p.cost += m.cost[pat.kind] * int64(p.times[j])
	}
	for i, n := range p.unmet {
		if n > 0 && m.mustMeet {
			return false
		}
		p.cost += m.miss[i] * int64(n)
	}
	return true
}

// add puts a pattern into the packing, joined with an equal one.
func (p *packing) add(pat pattern, times int) {
	for j := range p.pattern {
		if p.pattern[j].equal(pat) {
			p.times[j] += times
			return
		}
	}
	p.pattern = append(p.pattern, pat)
	p.times = append(p.times, times)
}

func (p *packing) clone() packing {
	return packing{slices.Clone(p.pattern), slices.Clone(p.times), slices.Clone(p.unmet), p.cost}
}

// kinds returns how many rolls of each kind a packing opens.
func (p *packing) kinds(m *model) []int {
	n := make([]int, len(m.cost))
	for j, pat := range p.pattern {
		n[pat.kind] += p.times[j]
	}
	return n
}

func (a pattern) equal(b pattern) bool {
	return a.kind == b.kind && slices.Equal(a.item, b.item) && slices.Equal(a.n, b.n)
}

func (a pattern) weight(m *model) int64 {
	sum := int64(0)
	for j, i := range a.item {
		sum += m.weight[i] * int64(a.n[j])
	}
	return sum
}

// fits tells how often the pattern can be cut without giving more than the demand.
func (a pattern) fits(demand, limit []int) int {
	times := limit[a.kind]
	for j, i := range a.item {
		most := demand[i] / int(a.n[j])
		if times < 0 || most < times {
			times = most
		}
	}
	return times
}

// take reduces demand and limit by a pattern cut some times.
func (a pattern) take(demand, limit []int, times int) {
	for j, i := range a.item {
		demand[i] -= int(a.n[j]) * times
	}
	if limit[a.kind] >= 0 {
		limit[a.kind] -= times
	}
}

// patternOf makes a pattern from counts by item.
func patternOf(kind int, counts []int) pattern {
	pat := pattern{kind: kind}
	for i, n := range counts {
		if n > 0 {
			pat.item = append(pat.item, int32(i))
			pat.n = append(pat.n, int32(n))
		}
	}
	return pat
}

// joined is a Problem turned into a model, with the way back.
type joined struct {
	model
	// cuts lists, by item, the cuts that have its length; stocks likewise by kind.
	cuts, stocks [][]int
	// costUnit is the length of one unit of cost.
	costUnit int64
	// tooLong counts, by cut, pieces that are longer than every roll.
	tooLong []int
}

func join(p Problem) joined {
	j := joined{tooLong: make([]int, len(p.Cuts))}
	longest := int64(0)
	byLength := map[int64][]int{}
	for s, stock := range p.Stock {
		longest = max(longest, int64(stock.Length-p.End))
		byLength[int64(stock.Length)] = append(byLength[int64(stock.Length)], s)
	}
	stockLengths := descendingKeys(byLength)
	byCut := map[int64][]int{}
	for c, cut := range p.Cuts {
		switch {
		case cut.Count == 0:
		case int64(cut.Length) > longest:
			j.tooLong[c] = cut.Count
		default:
			byCut[int64(cut.Length)] = append(byCut[int64(cut.Length)], c)
		}
	}
	kerf := int64(p.Kerf)
	for _, l := range descendingKeys(byCut) {
		demand := 0
		for _, c := range byCut[l] {
			demand += p.Cuts[c].Count
		}
		j.cuts = append(j.cuts, byCut[l])
		j.weight, j.miss = append(j.weight, l+kerf), append(j.miss, l)
		j.demand = append(j.demand, demand)
		j.unit = gcd(j.unit, l+kerf)
	}
	for _, l := range stockLengths {
		limit := 0
		for _, s := range byLength[l] {
			if p.Stock[s].Count == 0 {
				limit = -1
				break
			}
			limit += p.Stock[s].Count
		}
		j.stocks = append(j.stocks, byLength[l])
		j.capacity = append(j.capacity, max(0, l-int64(p.End)+kerf))
		j.cost = append(j.cost, l)
		j.limit = append(j.limit, limit)
		j.costUnit = gcd(j.costUnit, l)
	}
	j.unit = max(1, j.unit)
	missUnit := int64(0)
	for _, l := range j.miss {
		missUnit = gcd(missUnit, l)
	}
	for i := range j.weight {
		j.weight[i] /= j.unit
		j.miss[i] /= missUnit
	}
	for k, c := range j.capacity {
		j.capacity[k], j.rest = c/j.unit, append(j.rest, c%j.unit)
		j.cost[k] /= j.costUnit
	}
	return j
}

func descendingKeys(byLength map[int64][]int) []int64 {
	keys := make([]int64, 0, len(byLength))
	for l := range byLength {
		keys = append(keys, l)
	}
	sort.Slice(keys, func(a, b int) bool { return keys[a] > keys[b] })
	return keys
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

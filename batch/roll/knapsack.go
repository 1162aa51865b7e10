package roll

import (
	"math"
	"sort"
)

// knapsack is the choice of pieces for one roll that is worth most: at most limit[i] of item
// i, each with a weight and a value in whole numbers.
type knapsack struct {
	weight, worth []int64
	limit         []int
	order         []int
	// lightest is the least weight from a place in order to its end.
	lightest []int64
	nodes    int
	// work counts the elementary operations done.
	work int64
}

// newKnapsack orders the items of positive value by value per weight.
func newKnapsack(weight, worth []int64, limit []int) *knapsack {
	k := &knapsack{weight: weight, worth: worth, limit: limit}
	for i, v := range worth {
		if v > 0 && limit[i] > 0 {
			k.order = append(k.order, i)
		}
	}
	sort.SliceStable(k.order, func(a, b int) bool {
		i, j := k.order[a], k.order[b]
		ratioI, ratioJ := float64(worth[i])*float64(weight[j]), float64(worth[j])*float64(weight[i])
		if ratioI != ratioJ {
			return ratioI > ratioJ
		}
		return weight[i] > weight[j]
	})
	k.lightest = make([]int64, len(k.order)+1)
	k.lightest[len(k.order)] = math.MaxInt64
	for at := len(k.order) - 1; at >= 0; at-- {
		k.lightest[at] = min(k.lightest[at+1], weight[k.order[at]])
	}
	return k
}

const (
	// branchNodes bounds the branching of one knapsack, tableCells the table that is filled
	// when branching took too long.
	branchNodes = 30_000
	tableCells  = 1 << 27
)

// quick returns valuable counts by item for a capacity, their value, and whether no value is
// higher; it gives up after a while.
func (k *knapsack) quick(capacity int64) (counts []int, value int64, proven bool) {
	counts = make([]int, len(k.weight))
	if len(k.order) == 0 || k.lightest[0] > capacity {
		return counts, 0, true
	}
	k.nodes = branchNodes
	b := branching{knapsack: k, counts: make([]int, len(k.order)), best: make([]int, len(k.order))}
	b.search(0, capacity, 0)
	k.work += int64(branchNodes-k.nodes) * 20
	for at, n := range b.best {
		counts[k.order[at]] = n
	}
	return counts, b.value, k.nodes > 0
}

// best returns the most valuable counts by item for a capacity, their value, and an upper
// bound on any value. The two are equal unless the knapsack was too hard to finish.
func (k *knapsack) best(capacity int64) (counts []int, value, upper int64) {
	counts, value, proven := k.quick(capacity)
	if proven {
		return counts, value, value
	}
	if counts, value, ok := k.table(capacity); ok {
		return counts, value, value
	}
	return counts, value, max(value, k.fractional(0, capacity))
}

// fractional bounds the value that the items from a place on can add to a capacity. The
// float is rounded up by more than its error.
func (k *knapsack) fractional(at int, capacity int64) int64 {
	value := int64(0)
	for ; at < len(k.order); at++ {
		i := k.order[at]
		n := min(int64(k.limit[i]), capacity/k.weight[i])
		value += n * k.worth[i]
		capacity -= n * k.weight[i]
		if n < int64(k.limit[i]) {
			return value + int64(float64(capacity)/float64(k.weight[i])*float64(k.worth[i])*(1+1e-9)) + 1
		}
	}
	return value
}

type branching struct {
	*knapsack
	counts, best []int
	value        int64
}

// search goes depth first, most copies first, and cuts off what cannot beat the best.
func (b *branching) search(at int, capacity, value int64) {
	b.nodes--
	if value > b.value {
		b.value = value
		copy(b.best, b.counts)
		clear(b.best[at:])
	}
	if at == len(b.order) || b.lightest[at] > capacity || b.nodes <= 0 {
		return
	}
	i := b.order[at]
	if value+int64(float64(capacity)/float64(b.weight[i])*float64(b.worth[i])*(1+1e-9))+1 <= b.value {
		return
	}
	most := int(min(int64(b.limit[i]), capacity/b.weight[i]))
	for n := most; n >= 0; n-- {
		left := capacity - int64(n)*b.weight[i]
		gained := value + int64(n)*b.knapsack.worth[i]
		if n < most && at+1 < len(b.order) {
			next := b.order[at+1]
			if gained+int64(float64(left)/float64(b.weight[next])*float64(b.knapsack.worth[next])*(1+1e-9))+1 <= b.value {
				break
			}
		}
		b.counts[at] = n
		b.search(at+1, left, gained)
		if b.nodes <= 0 {
			break
		}
	}
	b.counts[at] = 0
}

// table solves the knapsack by dynamic programming over capacities; false if it is too large.
func (k *knapsack) table(capacity int64) (counts []int, value int64, ok bool) {
	type group struct {
		item, copies int
	}
	var groups []group
	for _, i := range k.order {
		rest := int(min(int64(k.limit[i]), capacity/k.weight[i]))
		for part := 1; rest > 0; part *= 2 {
			n := min(part, rest)
			groups = append(groups, group{i, n})
			rest -= n
		}
	}
	if int64(len(groups))*(capacity+1) > tableCells {
		return nil, 0, false
	}
	k.work += int64(len(groups)) * capacity
	words := int(capacity/64) + 1
	taken := make([]uint64, words*len(groups))
	best := make([]int64, capacity+1)
	for g, gr := range groups {
		w, v := k.weight[gr.item]*int64(gr.copies), k.worth[gr.item]*int64(gr.copies)
		row := taken[g*words : (g+1)*words]
		for c := capacity; c >= w; c-- {
			if with := best[c-w] + v; with > best[c] {
				best[c] = with
				row[c/64] |= 1 << (c % 64)
			}
		}
	}
	counts = make([]int, len(k.weight))
	c := capacity
	for g := len(groups) - 1; g >= 0; g-- {
		if taken[g*words+int(c/64)]>>(c%64)&1 == 1 {
			counts[groups[g].item] += groups[g].copies
			c -= k.weight[groups[g].item] * int64(groups[g].copies)
		}
	}
	return counts, best[capacity], true
}

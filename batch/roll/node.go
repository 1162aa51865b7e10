package roll

import "slices"

// root is the node at which nothing is packed yet.
func (m *model) root() *node {
	return &node{slices.Clone(m.demand), slices.Clone(m.limit), packing{}}
}

// node is what is still to be packed at a place of the search.
type node struct {
	demand []int
	limit  []int
	// packed is fixed already; cost is its cost.
	packed packing
}

func (n *node) clone() *node {
	return &node{slices.Clone(n.demand), slices.Clone(n.limit), n.packed.clone()}
}

func (n *node) take(m *model, pat pattern, times int) {
	pat.take(n.demand, n.limit, times)
	n.packed.add(pat, times)
	n.packed.cost += m.cost[pat.kind] * int64(times)
}

// complete packs the rest of a node by a rule and returns the whole packing; what the rule
// leaves is unmet.
func (n *node) complete(rule func(*node)) packing {
	end := n.clone()
	rule(end)
	end.packed.unmet = end.demand
	return end.packed
}

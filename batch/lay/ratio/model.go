package ratio

import (
	"math"

	"yardwright/batch/length"
)

// model is a Problem in small whole numbers, sizes without demand left out.
type model struct {
	problem *Problem
	// size is the index in the problem of each row.
	size   []int
	demand []int
	// weight of a garment in a marker, and the most weight and garments of a marker.
	weight        []int64
	maxWeight     int64
	maxGarments   int64
	minPly, plies int
	// over is the most garments beyond the demand.
	over int
	// The cost of a plan is marker for each marker and ply for each ply, and for each
	// garment of a ratio perPly for each ply and perCut once.
	perPly, perCut []int64
	ply, marker    int64
	// hasWeight tells that weights limit markers.
	hasWeight bool
	// totals of the demand.
	garments, weights int64
}

const noLimit = math.MaxInt64 / 4

func newModel(p *Problem) *model {
	m := &model{problem: p, plies: p.MaxPlies, minPly: max(1, p.MinPlies), over: p.OverCut}
	unit := int64(0)
	for i, d := range p.Demand {
		if d == 0 {
			continue
		}
		m.size, m.demand = append(m.size, i), append(m.demand, d)
		m.garments += int64(d)
		w := int64(1)
		if p.Length != nil {
			w = int64(p.Length[i])
		}
		m.weight = append(m.weight, w)
		unit = gcd(unit, w)
	}
	if len(m.demand) == 0 {
		return m
	}
	m.maxGarments, m.maxWeight = m.garments, noLimit
	if p.MaxGarments > 0 {
		m.maxGarments = int64(p.MaxGarments)
	}
	for j := range m.weight {
		m.weight[j] /= unit
		m.weights += m.weight[j] * int64(m.demand[j])
	}
	if p.MaxLength > 0 {
		m.hasWeight = true
		m.maxWeight = m.fullest(int64(p.MaxLength) / unit)
	}
	if m.over == AnyOverCut || m.over > int(m.garments)+m.plies*len(m.demand) {
		m.over = int(m.garments) + m.plies*len(m.demand)
	}
	m.price(unit)
	return m
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// fullest lowers a limit of weight to the most that whole garments add up to.
func (m *model) fullest(limit int64) int64 {
	if limit > 1<<20 {
		return limit
	}
	can := make([]bool, limit+1)
	can[0] = true
	best := int64(0)
	for v := int64(1); v <= limit; v++ {
		for _, w := range m.weight {
			if w <= v && can[v-w] {
				can[v] = true
				best = v
				break
			}
		}
	}
	return best
}

// price fills in the costs for the objective.
func (m *model) price(unit int64) {
	p := m.problem
	m.perPly, m.perCut = make([]int64, len(m.demand)), make([]int64, len(m.demand))
	for j := range m.demand {
		m.perPly[j] = m.weight[j] * unit
		if p.Objective == ObjectiveMoney {
			l := length.Length(m.weight[j] * unit)
			m.perPly[j] = int64(p.Prices.of(l, p.Prices.Cloth))
			m.perCut[j] = int64(p.Prices.of(l, p.Prices.Cut))
		}
	}
	switch {
	case p.Objective == ObjectiveMoney:
		m.ply = int64(p.Prices.Ply) + int64(p.Prices.of(2*p.EndLoss, p.Prices.Cloth))
		m.marker = int64(p.Prices.Marker)
	case p.Length != nil:
		m.ply = 2 * int64(p.EndLoss)
	}
}

// fewestPlies bounds the sum of plies of all markers.
func (m *model) fewestPlies() int64 {
	plies := (m.garments + m.maxGarments - 1) / m.maxGarments
	if m.hasWeight {
		plies = max(plies, (m.weights+m.maxWeight-1)/m.maxWeight)
	}
	return plies
}

// fewestMarkers bounds the number of markers.
func (m *model) fewestMarkers() int {
	return int((m.fewestPlies() + int64(m.plies) - 1) / int64(m.plies))
}

// leastCost bounds the cost but for that of the markers' number.
func (m *model) leastCost() int64 {
	cost := m.ply * m.fewestPlies()
	for j, d := range m.demand {
		made := int64(d + m.leastOver(j))
		cost += m.perPly[j]*made + m.perCut[j]*int64((d+m.plies-1)/m.plies)
	}
	return cost
}

// leastOver is how much a size is over-cut at least because of the fewest plies: what markers
// give of it is a sum of numbers of plies.
func (m *model) leastOver(j int) int {
	d := m.demand[j]
	// The fewest garments' places whose plies can reach d; with one place fewer the most is
	// below d.
	places := (d + m.plies - 1) / m.plies
	return max(0, places*m.minPly-d)
}

// cost of a set of markers, without m.marker for each.
func (m *model) cost(plies []int, ratios [][]int) int64 {
	cost := int64(0)
	for k, p := range plies {
		cost += m.ply * int64(p)
		for j, a := range ratios[k] {
			cost += int64(a) * (int64(p)*m.perPly[j] + m.perCut[j])
		}
	}
	return cost
}

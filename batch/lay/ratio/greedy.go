package ratio

import (
	"cmp"
	"slices"
)

// greedyRounds is how many greedy plans are made at first.
const greedyRounds = 12

// trivial gives every size markers of its own.
func (s *search) trivial() {
	m := s.m
	var plies []int
	var ratios [][]int
	for j, d := range m.demand {
		for rest := d; rest > 0; {
			// As many markers of about the same plies as the rest needs.
			markers := (rest + m.plies - 1) / m.plies
			p := max(m.minPly, (rest+markers-1)/markers)
			p = min(p, m.plies)
			ratio := make([]int, len(m.demand))
			ratio[j] = 1
			plies, ratios = append(plies, p), append(ratios, ratio)
			rest -= p
		}
	}
	if s.allowed(plies, ratios) {
		s.offer(plies, ratios)
	}
}

// allowed tells whether markers meet the demand within the over-cut allowed.
func (s *search) allowed(plies []int, ratios [][]int) bool {
	over := 0
	for j, d := range s.m.demand {
		made := 0
		for k := range plies {
			made += plies[k] * ratios[k][j]
		}
		if made < d {
			return false
		}
		over += made - d
	}
	return over <= s.m.over
}

// greedy makes plans marker by marker, each as full and as thick as what is left allows, and
// ends each exactly when one or two markers can hold what is left.
func (s *search) greedy(rounds int) {
	for round := range rounds {
		if s.out() {
			return
		}
		noise := float64(round) / greedyRounds
		if s.found && rounds == 1 {
			noise = s.rng.Float64()
		}
		s.greedyPlan(noise)
	}
}

func (s *search) greedyPlan(noise float64) {
	rest := slices.Clone(s.m.demand)
	var plies []int
	var ratios [][]int
	for sum(rest) > 0 {
		s.work -= 1000
		if p, r := s.tail(rest); r != nil {
			plies, ratios = append(plies, p...), append(ratios, r...)
			break
		}
		p, ratio := s.thickest(rest, noise)
		if ratio == nil {
			return
		}
		for j, n := range ratio {
			rest[j] -= n * p
		}
		plies, ratios = append(plies, p), append(ratios, ratio)
	}
	if s.allowed(plies, ratios) {
		s.offerVector(plies, ratios)
	}
}

// tailWork is what ending a greedy plan exactly may take.
const tailWork = 400_000

// tail holds what is left in one or two markers, if they can.
func (s *search) tail(rest []int) ([]int, [][]int) {
	m := *s.m
	m.demand, m.garments, m.weights = nil, 0, 0
	m.weight, m.perPly, m.perCut = nil, nil, nil
	var rows []int
	for j, d := range rest {
		if d > 0 {
			rows = append(rows, j)
			m.demand, m.weight = append(m.demand, d), append(m.weight, s.m.weight[j])
			m.perPly, m.perCut = append(m.perPly, s.m.perPly[j]), append(m.perCut, s.m.perCut[j])
			m.garments += int64(d)
			m.weights += int64(d) * s.m.weight[j]
		}
	}
	markers := m.fewestMarkers()
	if markers > 2 {
		return nil, nil
	}
	sub := &search{ctx: s.ctx, m: &m, rng: s.rng, work: min(s.work, tailWork)}
	had := sub.work
	for k := markers; k <= 2 && !sub.found; k++ {
		sub.everyVector(k, m.leastCost(), sub.work)
	}
	s.work -= had - max(0, sub.work)
	if !sub.found {
		return nil, nil
	}
	ratios := make([][]int, len(sub.ratios))
	for k := range ratios {
		ratios[k] = make([]int, len(rest))
		for i, j := range rows {
			ratios[k][j] = sub.ratios[k][i]
		}
	}
	return sub.plies, ratios
}

// thickest chooses the marker that takes most garments of the rest.
func (s *search) thickest(rest []int, noise float64) (int, []int) {
	best, score := 0, 0.0
	var ratio []int
	for _, p := range s.greedyPlies(rest) {
		r := s.fillRatio(rest, p, noise)
		if sc := float64(p*sum(r)) * (1 + float64(noise*s.rng.Float64())); sc > score {
			best, score, ratio = p, sc, r
		}
	}
	return best, ratio
}

func (s *search) greedyPlies(rest []int) []int {
	var choices []int
	for _, d := range rest {
		for per := 1; d > 0 && per <= 4; per++ {
			p := min(s.m.plies, d/per)
			if p >= s.m.minPly {
				choices = append(choices, p)
			}
		}
	}
	slices.Sort(choices)
	return slices.Compact(choices)
}

// fillRatio fills a marker of p plies from the rest, without over-cutting.
func (s *search) fillRatio(rest []int, p int, noise float64) []int {
	ratio := make([]int, len(rest))
	garments, weight := s.m.maxGarments, s.m.maxWeight
	order := make([]int, len(rest))
	key := make([]float64, len(rest))
	for j, d := range rest {
		order[j] = j
		key[j] = float64(d) * (1 + float64(noise*s.rng.Float64()))
	}
	for {
		// What is left of a size after each garment decides its turn.
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(key[b], key[a]) })
		placed := false
		for _, j := range order {
			if rest[j]-(ratio[j]+1)*p >= 0 && garments >= 1 && weight >= s.m.weight[j] {
				ratio[j]++
				garments--
				weight -= s.m.weight[j]
				key[j] -= float64(p)
				placed = true
				break
			}
		}
		if !placed {
			return ratio
		}
	}
}

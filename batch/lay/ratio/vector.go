package ratio

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// maxVector is the most markers whose plies are chosen together.
const maxVector = 7

// vector is a choice of plies for some markers; its ratios are sought size by size.
//
// A size's options are the ways to spread its demand over the markers. Only ways without
// needless garments are looked at: what is over-cut is less than the plies of any marker that
// holds the size, else one garment less would do. The search goes depth first over the sizes,
// those with the fewest options first, and cuts off by cost, over-cut and the places left in
// the markers; states seen before at no more cost are not searched again.
type vector struct {
	m     *model
	plies []int
	// sizes in the order of the search, with the options of each.
	sizes []sizeOptions
	// suffix sums over sizes from a place in the order on.
	restGarments, restWeights []int64
	restCost                  []int64
	restOver                  []int
	room, roomWeight          [maxVector]int64
	chosen                    []int
	best                      []int
	// cutoff: only cheaper plans count.
	cutoff int64
	found  bool
	// work is what is left of the budget.
	work *int64
	seen map[vectorState]int64
	over int
}

// sizeOptions are the ways to cut one size: counts holds len(plies) numbers for each.
type sizeOptions struct {
	row    int
	counts []int32
	cost   []int64
	over   []int
}

type vectorState struct {
	size                  uint8
	over                  int32
	garments, weightsLeft [maxVector]int32
}

// options lists the options of a row; false if there is none or too much work.
func (v *vector) options(row int) (sizeOptions, bool) {
	o := sizeOptions{row: row}
	k := len(v.plies)
	now := make([]int, k)
	var fill func(at, rest, least int) bool
	fill = func(at, rest, least int) bool {
		*v.work--
		if *v.work < 0 {
			return false
		}
		p := v.plies[at]
		if at == k-1 {
			n := 0
			if rest > 0 {
				n = (rest + p - 1) / p
			}
			over := n*p - rest
			if n > 0 {
				least = min(least, p)
			}
			if over > v.m.over || over >= least && over > 0 || !v.fitsAlone(row, n) {
				return true
			}
			now[at] = n
			o.add(v, now, over)
			return true
		}
		most := (max(0, rest) + p - 1) / p
		for n := most; n >= 0; n-- {
			if !v.fitsAlone(row, n) {
				continue
			}
			with := least
			if n > 0 {
				with = min(with, p)
			}
			left := rest - n*p
			if left <= 0 {
				if over := -left; over <= v.m.over && (over == 0 || over < with) {
					now[at] = n
					clear(now[at+1:])
					o.add(v, now, over)
				}
				continue
			}
			now[at] = n
			if !fill(at+1, left, with) {
				return false
			}
		}
		return true
	}
	if !fill(0, v.m.demand[row], int(^uint(0)>>1)) {
		return o, false
	}
	return o, len(o.cost) > 0
}

// fitsAlone tells whether a marker can hold n garments of a row.
func (v *vector) fitsAlone(row, n int) bool {
	return int64(n) <= v.m.maxGarments && int64(n)*v.m.weight[row] <= v.m.maxWeight
}

func (o *sizeOptions) add(v *vector, counts []int, over int) {
	cost := int64(0)
	for k, n := range counts {
		cost += int64(n) * (int64(v.plies[k])*v.m.perPly[o.row] + v.m.perCut[o.row])
		o.counts = append(o.counts, int32(n))
	}
	o.cost = append(o.cost, cost)
	o.over = append(o.over, over)
}

// permute puts the options into a new order.
func (o *sizeOptions) permute(k int, order []int) {
	out := sizeOptions{row: o.row}
	for _, at := range order {
		out.counts = append(out.counts, o.counts[at*k:(at+1)*k]...)
		out.cost = append(out.cost, o.cost[at])
		out.over = append(out.over, o.over[at])
	}
	*o = out
}

// prepare lists all options; false if some size has none or the bound passes the cutoff.
func (v *vector) prepare(rng *rand.Rand) bool {
	k := len(v.plies)
	cost, over := int64(0), 0
	for _, p := range v.plies {
		cost += v.m.ply * int64(p)
	}
	for row := range v.m.demand {
		o, ok := v.options(row)
		if !ok {
			return false
		}
		least := slices.Min(o.over)
		cost += slices.Min(o.cost)
		over += least
		if cost >= v.cutoff || over > v.m.over {
			return false
		}
		order := make([]int, len(o.cost))
		for i := range order {
			order[i] = i
		}
		if rng != nil {
			rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(o.cost[a], o.cost[b]) })
		o.permute(k, order)
		v.sizes = append(v.sizes, o)
	}
	slices.SortStableFunc(v.sizes, func(a, b sizeOptions) int { return cmp.Compare(len(a.cost), len(b.cost)) })
	v.sums()
	return true
}

func (v *vector) sums() {
	n := len(v.sizes)
	v.restGarments, v.restWeights = make([]int64, n+1), make([]int64, n+1)
	v.restCost, v.restOver = make([]int64, n+1), make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		o := &v.sizes[i]
		d := int64(v.m.demand[o.row])
		v.restGarments[i] = v.restGarments[i+1] + d
		v.restWeights[i] = v.restWeights[i+1] + d*v.m.weight[o.row]
		v.restCost[i] = v.restCost[i+1] + slices.Min(o.cost)
		v.restOver[i] = v.restOver[i+1] + slices.Min(o.over)
	}
	for k := range v.plies {
		v.room[k], v.roomWeight[k] = v.m.maxGarments, v.m.maxWeight
	}
	v.chosen, v.best = make([]int, n), make([]int, n)
	v.over = v.m.over
	v.seen = map[vectorState]int64{}
}

// solve looks for the cheapest ratios below the cutoff. done is false if the work ran out
// before all was searched.
func (v *vector) solve(rng *rand.Rand) (ratios [][]int, cost int64, done bool) {
	if !v.prepare(rng) {
		return nil, 0, *v.work >= 0
	}
	base := int64(0)
	for _, p := range v.plies {
		base += v.m.ply * int64(p)
	}
	v.search(0, base)
	if !v.found {
		return nil, 0, *v.work >= 0
	}
	ratios = make([][]int, len(v.plies))
	for k := range ratios {
		ratios[k] = make([]int, len(v.m.demand))
		for i := range v.sizes {
			ratios[k][v.sizes[i].row] = int(v.sizes[i].counts[v.best[i]*len(v.plies)+k])
		}
	}
	return ratios, v.cutoff, *v.work >= 0
}

func (v *vector) search(at int, cost int64) {
	*v.work--
	if *v.work < 0 || cost+v.restCost[at] >= v.cutoff || v.restOver[at] > v.over {
		return
	}
	if at == len(v.sizes) {
		v.cutoff, v.found = cost, true
		copy(v.best, v.chosen)
		return
	}
	if !v.roomFor(at) || at > 0 && at < len(v.sizes)-1 && v.known(at, cost) {
		return
	}
	o := &v.sizes[at]
	k := len(v.plies)
	w := v.m.weight[o.row]
	for i, c := range o.cost {
		if cost+c+v.restCost[at+1] >= v.cutoff {
			break
		}
		*v.work--
		counts := o.counts[i*k : (i+1)*k]
		if o.over[i] > v.over || !v.fits(counts, w) {
			continue
		}
		for j, n := range counts {
			v.room[j] -= int64(n)
			v.roomWeight[j] -= int64(n) * w
		}
		v.over -= o.over[i]
		v.chosen[at] = i
		v.search(at+1, cost+c)
		v.over += o.over[i]
		for j, n := range counts {
			v.room[j] += int64(n)
			v.roomWeight[j] += int64(n) * w
		}
	}
}

func (v *vector) fits(counts []int32, w int64) bool {
	for j, n := range counts {
		if int64(n) > v.room[j] || int64(n)*w > v.roomWeight[j] {
			return false
		}
	}
	return true
}

// roomFor tells whether the markers have places enough for the sizes from a place on.
func (v *vector) roomFor(at int) bool {
	garments, weights := int64(0), int64(0)
	for k, p := range v.plies {
		garments += v.room[k] * int64(p)
		if v.m.hasWeight {
			weights += v.roomWeight[k] * int64(p)
		}
	}
	return garments >= v.restGarments[at] && (!v.m.hasWeight || weights >= v.restWeights[at])
}

// known tells whether the same state was searched at no more cost, and notes it.
func (v *vector) known(at int, cost int64) bool {
	s := vectorState{size: uint8(at), over: int32(min(v.over, v.restMost()))}
	for k := range v.plies {
		s.garments[k] = int32(v.room[k])
		if v.m.hasWeight {
			if v.roomWeight[k] > 1<<30 {
				return false
			}
			s.weightsLeft[k] = int32(v.roomWeight[k])
		}
	}
	if before, ok := v.seen[s]; ok && before <= cost {
		return true
	}
	v.seen[s] = cost
	return false
}

// restMost is an over-cut that no rest reaches: allowances beyond it are all alike.
func (v *vector) restMost() int { return len(v.sizes) * v.plies[0] }

package lay

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"yardwright/batch/length"
)

// rest returns what the stacks do not cut of the demand, and how much they cut beyond it.
func (p *planner) rest(stacks []stack) (rest []int, over int) {
	rest = slices.Clone(p.demand)
	for k := range stacks {
		for g, n := range stacks[k].ratio {
			rest[g] -= n * stacks[k].plies
		}
	}
	for g, n := range rest {
		if n < 0 {
			over -= n
			rest[g] = 0
		}
	}
	return rest, over
}

// build adds stacks for what is left, each chosen among several numbers of plies as the one
// that costs least for what it is worth; noise varies the choice.
func (p *planner) build(stacks []stack, noise float64) ([]stack, error) {
	stacks = slices.Clone(stacks)
	for {
		if err := p.work.Err(); err != nil {
			return nil, err
		}
		rest, over := p.rest(stacks)
		if sum(rest) == 0 {
			return stacks, nil
		}
		next, err := p.next(rest, p.problem.Rules.OverCut-over, noise)
		if err != nil {
			return nil, err
		}
		stacks = append(stacks, *next)
	}
}

// next chooses the stack that cuts part of the rest at the least cost.
func (p *planner) next(rest []int, over int, noise float64) (*stack, error) {
	var best *stack
	score := math.Inf(1)
	for _, class := range p.classChoices(rest, noise) {
		for _, plies := range p.plyChoices(rest, over, noise) {
			s, err := p.fill(class, plies, rest, over, noise)
			if err != nil {
				return nil, err
			}
			if s == nil {
				continue
			}
			sc := p.costForValue(s) * (1 + float64(noise*p.rng.Float64()))
			if sc < score {
				best, score = s, sc
			}
		}
	}
	if best == nil {
		return p.single(rest)
	}
	if noise > 0 {
		return best, nil
	}
	return p.tune(best, rest)
}

// tuneSteps is how many exchanges tune tries for each kind of garment that is left, and
// maxTuneSteps for all of them.
const (
	tuneSteps    = 40
	maxTuneSteps = 800
)

// tune exchanges garments of a stack for others of the rest while that makes it cheaper for
// what it is worth, by rough lengths; what comes out is really laid and kept if it is cheaper.
func (p *planner) tune(s *stack, rest []int) (*stack, error) {
	var able []int
	for g, n := range rest {
		if n >= s.plies && p.gives[g][s.class] {
			able = append(able, g)
		}
	}
	p.roughly = true
	now, err := p.exchange(s, able, rest)
	p.roughly = false
	if now == nil || err != nil {
		return s, err
	}
	better, err := p.stack(now.class, now.ratio, now.plies)
	if better == nil || err != nil || p.costForValue(better) >= p.costForValue(s) {
		return s, err
	}
	return better, nil
}

// exchange looks for a better ratio of a stack; nil if its own does not fit roughly.
func (p *planner) exchange(s *stack, able, rest []int) (*stack, error) {
	now, err := p.stack(s.class, s.ratio, s.plies)
	if now == nil || err != nil || len(able) == 0 {
		return nil, err
	}
	score := p.costForValue(now)
	for range min(maxTuneSteps, tuneSteps*len(able)) {
		next, err := p.stack(s.class, p.exchanged(now, able, rest), s.plies)
		if err != nil {
			return nil, err
		}
		if next == nil {
			continue
		}
		if sc := p.costForValue(next); sc < score {
			now, score = next, sc
		}
	}
	return now, nil
}

// exchanged is the ratio of a stack with some garments less, mostly, and some of the rest more.
func (p *planner) exchanged(s *stack, able, rest []int) []int {
	ratio := slices.Clone(s.ratio)
	for range p.rng.IntN(3) {
		if sum(ratio) > 0 {
			ratio[p.drawn(ratio)]--
		}
	}
	for range 1 + p.rng.IntN(2) {
		if g := able[p.rng.IntN(len(able))]; (ratio[g]+1)*s.plies <= rest[g] {
			ratio[g]++
		}
	}
	return ratio
}

// single lays one ply of one garment of the rest; each fits by itself.
func (p *planner) single(rest []int) (*stack, error) {
	for g, n := range rest {
		for class := range p.layer.classes {
			if n > 0 && p.gives[g][class] {
				if s, err := p.stack(class, p.layer.one(g), 1); s != nil || err != nil {
					return s, err
				}
			}
		}
	}
	return nil, fmt.Errorf("lay %s: no way was found, though each fits by itself", p.problem.ratioWords(rest))
}

// costForValue is what a stack costs for the value of the garments that it cuts.
func (p *planner) costForValue(s *stack) float64 {
	_, _, _, cutting := p.problem.times(s.ply, s.plies)
	cloth := float64(s.ply.plyLength) * float64(s.plies) / float64(length.Metre) * p.clothPrice(s.class)
	return (float64(cloth) + float64(cutting)) / p.worth(s)
}

// worth is the value of the garments that a stack cuts.
func (p *planner) worth(s *stack) float64 {
	value := 0.0
	for g, n := range s.ratio {
		value += float64(float64(n*s.plies) * p.value[g])
	}
	return value
}

// clothPrice is about what a metre of a class costs: the cheapest there is.
func (p *planner) clothPrice(class int) float64 {
	price := math.Inf(1)
	if p.layer.classes[class].buy {
		price = float64(p.problem.Rules.BuyPricePerMetre)
	}
	for _, b := range p.problem.Bolts {
		if b.Width >= p.layer.classes[class].width {
			price = min(price, float64(b.PricePerMetre))
		}
	}
	return price
}

// classChoices lists classes to try: all of them now and then, mostly the one with the most
// cloth.
func (p *planner) classChoices(rest []int, noise float64) []int {
	var able []int
	for c := range p.layer.classes {
		for g, n := range rest {
			if n > 0 && p.gives[g][c] {
				able = append(able, c)
				break
			}
		}
	}
	if len(able) < 2 || noise == 0 {
		return able
	}
	return []int{able[p.rng.IntN(len(able))]}
}

// plyChoices lists numbers of plies worth trying for the rest.
func (p *planner) plyChoices(rest []int, over int, noise float64) []int {
	most := p.problem.Rules.MaxPlies
	var choices []int
	for _, n := range rest {
		if n == 0 {
			continue
		}
		for _, per := range []int{1, 2, 3} {
			choices = append(choices, min(most, (n+per-1)/per), min(most, max(1, n/per)))
		}
		if over > 0 {
			choices = append(choices, min(most, n+p.rng.IntN(over+1)))
		}
	}
	slices.Sort(choices)
	choices = slices.Compact(choices)
	slices.Reverse(choices)
	if noise > 0 {
		few := 1 + p.rng.IntN(4)
		for len(choices) > few {
			at := p.rng.IntN(len(choices))
			choices = slices.Delete(choices, at, at+1)
		}
	}
	return choices
}

// fill puts as many garments of the rest side by side as fit, for a number of plies.
func (p *planner) fill(class, plies int, rest []int, over int, noise float64) (*stack, error) {
	ratio := make([]int, len(rest))
	room := float64(float64(p.layer.classes[class].longest) * float64(p.layer.classes[class].width))
	pieces, over := 0, max(0, over)
	order := p.fillOrder(class, plies, rest, over, noise)
	var lot *string
	for _, g := range order {
		if one := p.problem.Garments[g].FromLot; one != nil {
			if lot != nil && *lot != *one {
				continue
			}
			lot = one
		}
		for ratio[g]*plies < rest[g] && (ratio[g]+1)*plies-rest[g] <= over {
			more, area := p.layer.pieces[g], float64(p.layer.area[g])
			if sum(ratio) > 0 && (pieces+more > maxMarkerPieces || area > room) {
				break
			}
			ratio[g]++
			pieces += more
			room -= area
			over -= max(0, ratio[g]*plies-rest[g])
		}
	}
	return p.shrink(class, ratio, plies, order)
}

// fillOrder lists the garments of which enough are left, in the order of filling.
func (p *planner) fillOrder(class, plies int, rest []int, over int, noise float64) []int {
	var order []int
	weight := make([]float64, len(rest))
	for g, n := range rest {
		if n > 0 && n+over >= plies && p.gives[g][class] {
			order = append(order, g)
			// What goes evenly into the plies comes first, then what is worth most.
			weight[g] = p.value[g] * float64(n)
			if n%plies == 0 {
				weight[g] *= 4
			}
			weight[g] *= 1 + float64(4*noise*p.rng.Float64())
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight[b], weight[a]) })
	return order
}

// shrink takes garments off a ratio until it fits.
func (p *planner) shrink(class int, ratio []int, plies int, order []int) (*stack, error) {
	for sum(ratio) > 0 {
		s, err := p.stack(class, slices.Clone(ratio), plies)
		if s != nil || err != nil {
			return s, err
		}
		excess := 1
		if total := sum(ratio); total > 1 {
			ply, err := p.measured(class, slices.Clone(ratio))
			if err != nil {
				return nil, err
			}
			long := ply.plyLength - 2*p.problem.Rules.EndLoss
			if longest := p.layer.classes[class].longest; long > longest {
				excess = max(1, int(float64(total)*float64(long-longest)/float64(long)))
			}
			if ply.maxPlies < plies {
				return nil, nil
			}
		}
		for at := len(order) - 1; at >= 0 && excess > 0; at-- {
			take := min(excess, ratio[order[at]])
			ratio[order[at]] -= take
			excess -= take
		}
	}
	return nil, nil
}

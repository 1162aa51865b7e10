package lay

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"yardwright/batch/length"
)

// candidate is a plan being considered: stacks that cut the demand, and their cloth.
type candidate struct {
	stacks []stack
	hand   handOut
	// cost of cloth and cutting; energy adds a price for garments without cloth.
	cost   Money
	energy float64
}

func (c *candidate) better(other *candidate) bool {
	if c.hand.missing != other.hand.missing {
		return c.hand.missing < other.hand.missing
	}
	return c.cost < other.cost
}

// planner searches for the stacks that cost least. Every product of floats that goes into a sum
// is rounded by itself (float64(a*b)), so that no machine fuses the two and all come to the same
// plan.
type planner struct {
	// ctx ends the search. Markers are laid under work, which does not end before there is a
	// first plan.
	ctx, work context.Context

	problem *Problem
	layer   *layer
	shelf   *shelf
	rng     *rand.Rand
	// demand of each garment that can be cut, and whether a class can give it.
	demand []int
	gives  [][]bool
	// missingPrice is the energy of a garment without cloth.
	missingPrice float64
	best         candidate
	// most and step are the budget and what is used of it, markerMost is the budget of each
	// marker in the end.
	step, most, markerMost int
	// value is what one garment of each kind is worth when stacks are compared: at first its
	// area, see correct.
	value []float64
	// share of the budget used, for progress.
	share    float64
	progress func(Progress)
}

// quickIterations is the budget of a marker during the search.
const quickIterations = 20

// maxMarkerPieces keeps markers from growing beyond what is laid quickly, where neither table
// nor bolt limits them.
const maxMarkerPieces = 150

// times of one lay, and their money.
func (p *Problem) times(ply *laid, plies int) (setUp, spread, cut time.Duration, cost Money) {
	r := &p.Rates
	setUp = r.SetUp
	spread = time.Duration(scale(int64(r.SpreadPerMetre), int64(ply.plyLength)*int64(plies), int64(length.Metre)))
	cut = time.Duration(scale(int64(r.CutPerMetre), int64(ply.cutEdge), int64(length.Metre)))
	return setUp, spread, cut, p.wages(setUp + spread + cut)
}

func (p *Problem) wages(d time.Duration) Money {
	return Money(scale(int64(d), int64(p.Rates.PerHour), int64(time.Hour)))
}

// price hands out the cloth of stacks and sums the cost up.
func (p *planner) price(stacks []stack) candidate {
	c := candidate{stacks: stacks, hand: p.shelf.hand(stacks)}
	p.sum(&c)
	return c
}

func (p *planner) sum(c *candidate) {
	c.cost = c.hand.cloth
	for k := range c.stacks {
		if plies := c.stacks[k].plies - c.hand.short[k]; plies > 0 {
			_, _, _, cost := p.problem.times(c.stacks[k].ply, plies)
			c.cost += cost
		}
	}
	c.energy = float64(c.cost) + float64(p.missingPrice*float64(c.hand.missing))
}

// stack makes a stack of a ratio, or nil if that does not fit.
func (p *planner) stack(class int, ratio []int, plies int) (*stack, error) {
	pieces := 0
	for g, n := range ratio {
		if n > 0 && !p.gives[g][class] {
			return nil, nil
		}
		pieces += n * p.layer.pieces[g]
	}
	tooMany := pieces > maxMarkerPieces && sum(ratio) > 1
	if pieces == 0 || tooMany || plies > p.problem.Rules.MaxPlies {
		return nil, nil
	}
	ply, err := p.layer.lay(p.work, class, ratio, quickIterations)
	if err != nil || !ply.fits || plies > ply.maxPlies {
		return nil, err
	}
	return &stack{class, ratio, plies, ply}, nil
}

func sum(ratio []int) int {
	total := 0
	for _, n := range ratio {
		total += n
	}
	return total
}

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
		if next == nil {
			return nil, fmt.Errorf("lay %s: no way was found, though each fits by itself", p.problem.ratioWords(rest))
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

// tuneSteps is how many exchanges tune tries.
const tuneSteps = 60

// tune exchanges garments of a stack for others of the rest while that makes it cheaper for
// what it is worth.
func (p *planner) tune(s *stack, rest []int) (*stack, error) {
	score := p.costForValue(s)
	for range tuneSteps {
		next, err := p.stack(s.class, p.exchanged(s, rest), s.plies)
		if err != nil {
			return nil, err
		}
		if next == nil {
			continue
		}
		if sc := p.costForValue(next); sc < score {
			s, score = next, sc
		}
	}
	return s, nil
}

// exchanged is the ratio of a stack with a garment less, mostly, and one or two of the rest more.
func (p *planner) exchanged(s *stack, rest []int) []int {
	ratio := slices.Clone(s.ratio)
	if p.rng.IntN(4) > 0 {
		ratio[p.drawn(ratio)]--
	}
	for range 1 + p.rng.IntN(2) {
		if g := p.rng.IntN(len(rest)); (ratio[g]+1)*s.plies <= rest[g] {
			ratio[g]++
		}
	}
	return ratio
}

// single lays one ply of one garment of the rest.
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
	return nil, nil
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
	for _, g := range order {
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
			ply, err := p.layer.lay(p.work, class, slices.Clone(ratio), quickIterations)
			if err != nil {
				return nil, err
			}
			if longest := p.layer.classes[class].longest; ply.result.Length > longest {
				excess = max(1, int(float64(total)*float64(ply.result.Length-longest)/float64(ply.result.Length)))
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

// begin makes a first plan, whatever the time: garment after garment, the most wanted first,
// each marker filled with what is left.
func (p *planner) begin() error {
	rest := slices.Clone(p.demand)
	var stacks []stack
	for sum(rest) > 0 {
		s, err := p.simple(rest)
		if err != nil {
			return err
		}
		for g, n := range s.ratio {
			rest[g] -= n * s.plies
		}
		stacks = append(stacks, *s)
	}
	p.best = p.price(stacks)
	p.work = p.ctx
	p.report()
	return nil
}

// simple makes a stack with the most wanted garment of the rest, in as many plies as go.
func (p *planner) simple(rest []int) (*stack, error) {
	most := 0
	for g, n := range rest {
		if n > rest[most] {
			most = g
		}
	}
	class := slices.Index(p.gives[most], true)
	for plies := min(p.problem.Rules.MaxPlies, rest[most]); plies > 0; plies /= 2 {
		s, err := p.fill(class, plies, rest, 0, 0)
		if s != nil || err != nil {
			return s, err
		}
	}
	s, err := p.single(rest)
	if s == nil && err == nil {
		err = fmt.Errorf("lay %s: no way was found, though each fits by itself", p.problem.ratioWords(rest))
	}
	return s, err
}

// startHeat is the first temperature of the annealing, in costs of an average lay.
const startHeat = 0.05

// reports is how often the share done is reported at least. Of all work, startShare is done
// when start ends, and runShare when run does.
const (
	reports    = 50
	startShare = 0.4
	runShare   = 0.8
)

// run improves the best candidate by simulated annealing: small changes of the stacks, and
// now and then some of them thrown away and built anew.
func (p *planner) run() error {
	if err := p.start(); err != nil {
		return err
	}
	for p.step < p.most && p.ctx.Err() == nil {
		if err := p.round(min(roundSteps, p.most-p.step)); err != nil {
			return err
		}
	}
	return nil
}

// roundSteps is how many steps one round of annealing takes.
const roundSteps = 500

// refineWithin says how near the best a candidate must come for its markers to be laid with the
// whole budget, in costs of an average lay.
const refineWithin = 0.06

// round anneals a candidate: every second time the best, else a new one.
func (p *planner) round(steps int) error {
	now := p.best
	if p.step/roundSteps%2 == 1 {
		stacks, err := p.build(nil, p.rng.Float64())
		if err != nil {
			return err
		}
		now = p.price(stacks)
	}
	layCost := float64(p.best.cost) / float64(max(1, len(p.best.stacks)))
	hot := startHeat * layCost
	for i := range steps {
		if p.ctx.Err() != nil {
			return nil
		}
		p.share = startShare + (runShare-startShare)*float64(p.step)/float64(p.most)
		if p.step%max(1, p.most/reports) == 0 {
			p.report()
		}
		p.step++
		stacks, err := p.change(now.stacks)
		if err != nil {
			return err
		}
		if stacks == nil {
			continue
		}
		next := p.price(stacks)
		if next.energy < p.best.energy+float64(refineWithin*layCost) {
			if next, err = p.refine(next, p.markerMost); err != nil {
				return err
			}
		}
		left := 1 - float64(i)/float64(steps)
		if p.accepts(next.energy-now.energy, 1+float64(hot*left*left)) {
			now = next
		}
		if next.better(&p.best) {
			p.best = next
			p.report()
		}
	}
	return nil
}

// accepts tells whether a change for the worse is taken at a temperature: with a probability
// of (1 + worse/4t)⁻⁴, which is near to e^(−worse/t) and the same on every machine.
func (p *planner) accepts(worse, temperature float64) bool {
	if worse <= 0 {
		return true
	}
	odds := 1 + worse/(4*temperature)
	odds *= odds
	return p.rng.Float64()*odds*odds < 1
}

// refine lays the markers of a candidate with a larger budget.
func (p *planner) refine(c candidate, iterations int) (candidate, error) {
	stacks := slices.Clone(c.stacks)
	shorter := false
	for k := range stacks {
		ply, err := p.layer.lay(p.work, stacks[k].class, stacks[k].ratio, iterations)
		if err != nil {
			return c, err
		}
		shorter = shorter || ply != stacks[k].ply
		stacks[k].ply = ply
	}
	if !shorter {
		return c, nil
	}
	return p.price(stacks), nil
}

// start makes more candidates: some by size ratios, some built, the values of garments being
// corrected after each (sequential value correction, after Mukhacheva 1973).
func (p *planner) start() error {
	for class := range p.layer.classes {
		for _, filling := range fillings {
			stacks, err := p.byRatios(class, filling)
			if err != nil {
				return err
			}
			if _, err := p.begun(stacks); err != nil {
				return err
			}
		}
	}
	builds := min(maxBuilds, 1+p.most/stepsPerBuild)
	for i := range builds {
		p.share = startShare * float64(i) / float64(builds)
		p.report()
		stacks, err := p.begun(nil)
		if err != nil {
			return err
		}
		p.correct(stacks)
	}
	return nil
}

// begun builds what some stacks leave, and keeps the whole if it is the best.
func (p *planner) begun(stacks []stack) ([]stack, error) {
	stacks, err := p.build(stacks, 0)
	if err != nil {
		return nil, err
	}
	if c := p.price(stacks); c.better(&p.best) {
		p.best = c
	}
	return stacks, nil
}

// The number of builds at the start: one for so many steps of the budget, and no more than.
const (
	stepsPerBuild = 50
	maxBuilds     = 200
)

// correct raises the value of garments that came to lie in stacks dearer than the average for
// what they are worth, and lowers that of the others, so that the next build begins with those
// that are hard to lay.
func (p *planner) correct(stacks []stack) {
	dear, number := make([]float64, len(p.value)), make([]float64, len(p.value))
	cost, value := 0.0, 0.0
	for k := range stacks {
		s := &stacks[k]
		each, worth := p.costForValue(s), p.worth(s)
		cost, value = cost+float64(each*worth), value+worth
		for g, n := range s.ratio {
			dear[g] += float64(each * float64(n*s.plies))
			number[g] += float64(n * s.plies)
		}
	}
	for g := range p.value {
		if number[g] > 0 {
			p.value[g] *= dear[g] / number[g] * value / cost
		}
	}
}

// report tells the best so far and the share of the budget used.
func (p *planner) report() {
	if p.progress == nil {
		return
	}
	total := p.best.hand.bought
	for _, l := range p.best.hand.used {
		total += l
	}
	p.progress(Progress{
		Share:   p.share,
		Message: fmt.Sprintf("%d lays, %s", len(p.best.stacks), clothBoth(total, length.Up)),
		Cost:    p.best.cost,
	})
}

package lay

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// candidate is a plan being considered: stacks that cut the demand, and their cloth.
type candidate struct {
	stacks []stack
	hand   handOut
	// cost of cloth and cutting; energy adds a price for garments without cloth, what buying must
	// save, and a little of the money for cloth to buy, so that the search comes to need less of it.
	cost   Money
	energy float64
}

// score is the cost with what buying must save.
func (c *candidate) score() Money { return c.cost + c.hand.charge }

func (c *candidate) better(other *candidate) bool {
	if c.hand.missing != other.hand.missing {
		return c.hand.missing < other.hand.missing
	}
	return c.score() < other.score()
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
	// bound is a proven lower bound on the cost of cutting the whole demand.
	bound Money
	// most and step are the budget and what is used of it, markerMost is the budget of each
	// marker in the end.
	step, most, markerMost int
	// value is what one garment of each kind is worth when stacks are compared: at first its
	// area, see correct.
	value []float64
	// roughly: lengths are estimated.
	roughly bool
	// quickBound leaves the bound by lays out.
	quickBound bool
	// share of the budget used, for progress, and what part of all reports it is.
	share, shareSpan float64
	progress         func(Progress)
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
	c.energy = float64(c.score()) + float64(p.missingPrice*float64(c.hand.missing)) + p.lure(c.hand.bought)
}

// stack makes a stack of a ratio, or nil if that does not fit. While plans are compared roughly
// its length is only estimated.
func (p *planner) stack(class int, ratio []int, plies int) (*stack, error) {
	pieces := 0
	for g, n := range ratio {
		if n > 0 && !p.gives[g][class] {
			return nil, nil
		}
		pieces += n * p.layer.pieces[g]
	}
	tooMany := pieces > maxMarkerPieces && sum(ratio) > 1
	if pieces == 0 || tooMany || plies > p.problem.Rules.MaxPlies || p.problem.twoLots(ratio) {
		return nil, nil
	}
	ply, err := p.measured(class, ratio)
	if err != nil || !ply.fits || plies > ply.maxPlies {
		return nil, err
	}
	return &stack{class, ratio, plies, ply}, nil
}

// twoLots tells whether the garments of a ratio may only be cut from different shade lots.
func (p *Problem) twoLots(ratio []int) bool {
	var lot *string
	for g, n := range ratio {
		if one := p.Garments[g].FromLot; n > 0 && one != nil {
			if lot != nil && *lot != *one {
				return true
			}
			lot = one
		}
	}
	return false
}

// measured is a ply as it is laid quickly, or roughly estimated.
func (p *planner) measured(class int, ratio []int) (*laid, error) {
	if p.roughly {
		if ply := p.layer.rough(class, ratio); ply != nil {
			return ply, nil
		}
	}
	return p.layer.lay(p.work, class, ratio, quickIterations)
}

func sum(ratio []int) int {
	total := 0
	for _, n := range ratio {
		total += n
	}
	return total
}

// startHeat is the first temperature of the annealing, in costs of an average lay.
const startHeat = 0.01

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
	for p.step < p.most && !p.proven() && p.ctx.Err() == nil {
		if err := p.round(min(roundSteps, p.most-p.step)); err != nil {
			return err
		}
	}
	return nil
}

// proven tells whether no plan can be better than the best.
func (p *planner) proven() bool { return p.best.hand.missing == 0 && p.best.score() <= p.bound }

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
		if p.proven() || p.ctx.Err() != nil {
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

// report tells the best so far and the share of the budget used.
func (p *planner) report() {
	if p.progress == nil {
		return
	}
	p.progress(Progress{Share: p.share * p.shareSpan, Message: p.message(), Cost: p.best.score()})
}

// message is the best so far in a few words.
func (p *planner) message() string {
	total := p.best.hand.bought
	for _, l := range p.best.hand.used {
		total += l
	}
	return fmt.Sprintf("%s, %s", words.Count(len(p.best.stacks), "lay"), p.problem.Rules.clothBoth(total, length.Up))
}

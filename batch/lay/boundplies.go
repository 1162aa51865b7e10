package lay

import (
	"math"
	"slices"
	"time"

	"yardwright/batch/length"
)

// leastSetUpAndCut bounds the time for setting up lays and for cutting, for a demand that needs
// at least so many plies, and returns the number of lays that it counts.
//
// Every plan has lays of certain numbers of plies. A garment that is needed n times is cut
// around once for each place in a marker, and the plies of its places add up to n (or to what
// may be cut beyond it): so the numbers of plies decide how few places there can be. There are
// at least as many lays as there are different numbers of plies, and enough of them for all
// plies. The least over all choices of numbers is a bound for every plan.
func (l *layer) leastSetUpAndCut(demand []int, plies int) (work time.Duration, lays int) {
	if l.problem.Rules.Spread == FoldedLengthwise {
		return l.leastFolded(demand, plies)
	}
	c := plyChoice{layer: l, demand: demand, plies: plies, best: math.MaxInt64, budget: plyChoiceBudget, over: l.problem.Rules.OverCut, longest: l.longest()}
	thickest := func(n int) int { return (n + l.problem.Rules.MaxPlies - 1) / l.problem.Rules.MaxPlies }
	c.floor, c.fewest = c.cut(thickest), c.laysFor(thickest)
	c.choose(l.problem.Rules.MaxPlies, nil)
	return c.best, c.lays
}

// leastFolded is the bound for cloth that is folded lengthwise, where one place in a marker
// gives two garments' pieces: each garment is cut around once for every full stack of layers.
func (l *layer) leastFolded(demand []int, plies int) (time.Duration, int) {
	r, rates := &l.problem.Rules, &l.problem.Rates
	lays := max(1, (plies+r.MaxPlies-1)/r.MaxPlies)
	edge := length.Length(0)
	for g, n := range demand {
		if n > 0 {
			edge += length.Length(scale(int64(l.edge[g]), int64(n), int64(r.MaxPlies))) - 1
		}
	}
	return rates.SetUp*time.Duration(lays) + l.problem.cutTime(max(0, edge)), lays
}

func (p *Problem) cutTime(edge length.Length) time.Duration {
	return time.Duration(scale(int64(p.Rates.CutPerMetre), int64(edge), int64(length.Metre)))
}

// plyChoiceBudget is how many elementary operations the choice of plies may take.
const plyChoiceBudget = 20_000_000

// plyChoice goes through the choices of numbers of plies.
type plyChoice struct {
	layer  *layer
	demand []int
	// plies are the fewest needed in all; over is how many garments may be cut too much.
	plies, over int
	// longest is the longest marker.
	longest length.Length
	// floor is the least cutting, whatever the numbers of plies.
	floor time.Duration
	// fewest lays, whatever the numbers of plies.
	fewest int
	best   time.Duration
	lays   int
	budget int
}

// choose extends a choice by smaller numbers than its last, from most down. A longer choice
// costs at least one set-up more, and no less cutting than the floor.
func (c *plyChoice) choose(most int, choice []int) {
	setUp := c.layer.problem.Rates.SetUp
	if len(choice) > 0 {
		c.weigh(choice)
	}
	lays := max(len(choice)+1, c.fewest)
	least := setUp*time.Duration(lays) + c.floor
	if least >= c.best {
		return
	}
	for p := most; p > 0; p-- {
		if c.budget <= 0 {
			// What was not looked at costs at least this.
			c.take(least, lays)
			return
		}
		c.choose(p-1, append(choice, p))
	}
}

// weigh bounds the plans that use only these numbers of plies.
func (c *plyChoice) weigh(choice []int) {
	c.budget -= (slices.Max(c.demand) + c.over + 1) * len(choice)
	places := fewestPlaces(choice, slices.Max(c.demand)+c.over)
	most := choice[0]
	possible := true
	fewest := func(n int) int {
		least := slices.Min(places[n : n+c.over+1])
		possible = possible && least < math.MaxInt32
		return min(least, n)
	}
	cut := c.cut(fewest)
	lays := max(len(choice), (c.plies+most-1)/most, c.laysFor(fewest))
	if possible {
		c.take(c.layer.problem.Rates.SetUp*time.Duration(lays)+cut, lays)
	}
}

func (c *plyChoice) take(work time.Duration, lays int) {
	if work < c.best {
		c.best, c.lays = work, lays
	}
}

// laysFor is how many lays hold so many places of each kind of garment: each place takes at least
// the garment's area of the widest cloth.
func (c *plyChoice) laysFor(places func(n int) int) int {
	room := float64(c.longest) * float64(c.layer.classes[0].width)
	if room <= 0 {
		return 1
	}
	area := 0.0
	for g, n := range c.demand {
		if n > 0 {
			area += float64(c.layer.area[g]) * float64(places(n))
		}
	}
	return max(1, int(math.Ceil(area/room-1e-6)))
}

// cut is the time for cutting if n garments of a kind have so many places.
func (c *plyChoice) cut(places func(n int) int) time.Duration {
	edge := length.Length(0)
	for g, n := range c.demand {
		if n > 0 {
			edge += c.layer.edge[g] * length.Length(places(n))
		}
	}
	return c.layer.problem.cutTime(edge)
}

// fewestPlaces tells for each number up to most how few of the numbers of plies add up to it;
// math.MaxInt32 if none do.
func fewestPlaces(plies []int, most int) []int {
	places := make([]int, most+1)
	for n := 1; n <= most; n++ {
		places[n] = math.MaxInt32
		for _, p := range plies {
			if p <= n && places[n-p] < math.MaxInt32 {
				places[n] = min(places[n], places[n-p]+1)
			}
		}
	}
	return places
}

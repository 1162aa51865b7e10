package ratio_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
	"yardwright/internal/testhighs"
)

const centimetre = 10 * length.Millimetre

// smallRatios draws a size-ratio problem whose markers can be listed one by one.
func smallRatios(rng *rand.Rand, objective ratio.Objective) ratio.Problem {
	p := ratio.Problem{
		MaxPlies: 2 + rng.IntN(4), MaxGarments: 2 + rng.IntN(3), EndLoss: centimetre, Objective: objective,
		Prices: ratio.Prices{
			Cloth: ratio.Money(1+rng.IntN(9)) * 1_000_000, Cut: ratio.Money(rng.IntN(3)) * 1_000_000,
			Marker: ratio.Money(rng.IntN(300)) * 10_000, Ply: ratio.Money(rng.IntN(20)) * 10_000,
		},
	}
	for i := range 2 + rng.IntN(2) {
		p.Sizes = append(p.Sizes, fmt.Sprint(i))
		p.Demand = append(p.Demand, 1+rng.IntN(9))
		p.Length = append(p.Length, length.Length(40+rng.IntN(60))*centimetre)
	}
	return p
}

// listedModel is the problem as an integer program: one variable for each marker that cuts no
// more than is needed, its cost in centimetres or hundredths of money.
func listedModel(p ratio.Problem) testhighs.Model {
	m := testhighs.Model{Rows: make([]testhighs.Row, len(p.Demand))}
	for i, demand := range p.Demand {
		m.Rows[i].Sum = demand
	}
	counts := make([]int, len(p.Demand))
	var list func(size, plies, garments int)
	list = func(size, plies, garments int) {
		if size < len(counts) {
			for n := 0; n*plies <= p.Demand[size] && garments+n <= p.MaxGarments; n++ {
				counts[size] = n
				list(size+1, plies, garments+n)
			}
			counts[size] = 0
			return
		}
		if garments == 0 {
			return
		}
		m.Costs = append(m.Costs, markerCost(p, counts, plies))
		for i, n := range counts {
			m.Rows[i].Factors = append(m.Rows[i].Factors, n*plies)
		}
	}
	for plies := 1; plies <= p.MaxPlies; plies++ {
		list(0, plies, 0)
	}
	return m
}

// manyCentimetres is more than any of the small problems takes.
const manyCentimetres = 10_000

func markerCost(p ratio.Problem, counts []int, plies int) int64 {
	long := int64(0)
	for i, n := range counts {
		long += int64(p.Length[i]/centimetre) * int64(n)
	}
	cloth := (long + 2*int64(p.EndLoss/centimetre)) * int64(plies)
	switch p.Objective {
	case ratio.ObjectiveMarkers:
		return manyCentimetres + cloth
	case ratio.ObjectiveLength:
		return cloth*100 + 1
	}
	return (cloth*int64(p.Prices.Cloth)/100 + long*int64(p.Prices.Cut)/100 + int64(p.Prices.Marker) + int64(p.Prices.Ply)*int64(plies)) / 10_000
}

// HiGHS (npm package highs) on small size-ratio plans: equal objective, and all of them proven.
func TestRatiosAgainstIntegerProgramming(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 50))
	objectives := []ratio.Objective{ratio.ObjectiveMarkers, ratio.ObjectiveLength, ratio.ObjectiveMoney}
	var problems []ratio.Problem
	var models []testhighs.Model
	for i := range 51 {
		problems = append(problems, smallRatios(rng, objectives[i%3]))
		models = append(models, listedModel(problems[i]))
	}
	for i, least := range testhighs.Least(t, models) {
		p := problems[i]
		plan := solve(t, p)
		got := int64(plan.Cost) / 10_000
		switch p.Objective {
		case ratio.ObjectiveMarkers:
			got = manyCentimetres*int64(len(plan.Markers)) + int64(plan.Length/centimetre)
		case ratio.ObjectiveLength:
			got = 100*int64(plan.Length/centimetre) + int64(len(plan.Markers))
		}
		require.Equal(t, int64(math.Round(least)), got, "%+v", p)
	}
}

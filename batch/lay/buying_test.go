package lay_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// buyingRules buy by the eighth of a yard, as shops cut; the tolerance is the workshop's default.
func buyingRules() lay.Rules {
	rules := workroom()
	rules.KeepLength, rules.BuyStep, rules.RemnantWorth, rules.BuyTolerance = length.Yard/2, length.Yard/8, 5000, 200
	return rules
}

// What a plan asked for is bought, or a little more, and the batch is planned again with other
// seeds: nothing more is asked for, and the cloth bought is used. Without the tolerance each of
// these plans buys cloth again, to save less than 1 % of the money.
func TestWhatWasBoughtIsEnough(t *testing.T) {
	t.Parallel()
	for _, extra := range []length.Length{0, length.Yard / 8} {
		p := lay.Problem{Cloth: "lawn", Garments: skirts(either, 5, 4, 5, 4, 4), Rules: buyingRules(), Rates: rates}
		p.Bolts = []lay.Bolt{bolt("short end", 43*inch, 44*inch), bolt("rest", 43*inch, 137*inch/2)}
		for b := range p.Bolts {
			p.Bolts[b].PricePerMetre = p.Rules.BuyPricePerMetre
		}
		first := solve(t, p)
		require.Len(t, first.Purchases, 1)
		p.Bolts = append(p.Bolts, bolt("bought", 43*inch, first.Purchases[0].Buy+extra))
		p.Bolts[2].PricePerMetre = p.Rules.BuyPricePerMetre
		for seed := range uint64(4) {
			again, err := lay.Solve(context.Background(), p, lay.Params{Seed: seed, Iterations: 800, MarkerIterations: 200})
			require.NoError(t, err)
			require.Empty(t, again.Uncut)
			require.Empty(t, again.Purchases, "seed %d", seed)
		}
	}
}

// Worked by hand: one piece of 20 by 30 in, no ends, a shop that cuts whole metres at 10 a metre.
// 30 in are 0.762 m; 1 m is paid, 0.238 m is left. Worth keeping, it counts for half its price.
func TestTheRestOfBoughtClothCountsAsARemnant(t *testing.T) {
	t.Parallel()
	p := lay.Problem{
		Cloth:    "lawn",
		Garments: []lay.Garment{{Name: "bib", Quantity: 1, Pieces: []lay.Piece{{Name: "bib", Copies: 1, Width: 20 * inch, Length: 30 * inch, Turns: either[:1]}}}},
		Rules:    lay.Rules{MaxPlies: 1, Spread: lay.FaceOneWay, BuyWidth: 21 * inch, BuyStep: length.Metre, BuyPricePerMetre: 10_000_000, KeepLength: length.Metre / 5, RemnantWorth: 5000},
	}
	plan := solve(t, p)
	require.Equal(t, []lay.Purchase{{Need: 30 * inch, Buy: length.Metre, Cost: 10_000_000, RestWorth: 1_190_000}}, plan.Purchases)
	require.Equal(t, lay.Money(8_810_000), plan.Cost)
	require.Equal(t, 30*inch, plan.LengthUsed)

	p.Rules.KeepLength = length.Metre / 4
	plan = solve(t, p)
	require.Zero(t, plan.Purchases[0].RestWorth, "too short to keep")
	require.Equal(t, lay.Money(10_000_000), plan.Cost)
	require.Equal(t, length.Metre, plan.LengthUsed)
}

// A plan buys only if no plan that the shelf covers is found within the tolerance by the same
// search; cloth on the shelf may be dearer than the shop's, so that buying often pays.
func TestBuyingMustPay(t *testing.T) {
	t.Parallel()
	bought, covered := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		p.Rules.BuyWidth = 43 * inch
		p.Rules.BuyTolerance = rapid.SampledFrom([]int{0, 200, 2000}).Draw(t, "tolerance")
		p.Rules.RemnantWorth = rapid.SampledFrom([]int{0, 5000, 10_000}).Draw(t, "worth")
		params := lay.Params{Seed: 7, Iterations: 60, MarkerIterations: 40}
		plan, err := lay.Solve(context.Background(), p, params)
		require.NoError(t, err)
		require.NoError(t, lay.VerifyPlan(p, plan))
		if len(plan.Purchases) == 0 {
			covered++
			return
		}
		bought++
		p.Rules.BuyWidth = 0
		alone, err := lay.Solve(context.Background(), p, params)
		require.NoError(t, err)
		if uncut(alone) <= uncut(plan) {
			require.Greater(t, alone.Cost, plan.Cost+plan.ClothCost*lay.Money(p.Rules.BuyTolerance)/10_000)
		}
	})
	require.Positive(t, bought)
	require.Positive(t, covered)
}

func uncut(plan lay.Plan) int {
	total := 0
	for _, u := range plan.Uncut {
		total += u.Quantity
	}
	return total
}

// Cloth that comes in takes the place of the cloth to buy: of the length asked for, all of it;
// in two pieces, or too short, as much as fits, and the rest stays to be bought. Whatever comes,
// the same garments are cut by the same lays, and the plan passes its check.
func TestReceive(t *testing.T) {
	t.Parallel()
	whole, part := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		p.Rules.BuyWidth = 43 * inch
		plan, err := lay.Solve(context.Background(), p, lay.Params{Seed: 7, Iterations: 20, MarkerIterations: 20})
		require.NoError(t, err)
		if len(plan.Purchases) == 0 {
			return
		}
		buy := plan.Purchases[0].Buy
		before, err := lay.Restate(p, p, plan)
		require.NoError(t, err)
		require.Equal(t, plan.Cost, before.Cost)

		exact := lay.Bolt{ID: 99, Name: "bought", Width: 43 * inch, Length: buy, PricePerMetre: p.Rules.BuyPricePerMetre}
		with, got, placed, err := lay.Receive(p, plan, []lay.Bolt{exact})
		require.NoError(t, err)
		require.Empty(t, got.Purchases)
		require.Positive(t, placed)
		require.NoError(t, lay.VerifyPlan(with, got))
		require.LessOrEqual(t, got.Cost, plan.Cost+plan.Purchases[0].RestWorth, "no dearer: a rest that is kept counts")
		whole++
		back, err := lay.GiveBack(with, got, len(p.Bolts))
		require.NoError(t, err)
		require.NoError(t, lay.VerifyPlan(with, back))
		require.Equal(t, plan.Purchases, back.Purchases)
		require.Equal(t, plan.Cost, back.Cost)

		first := exact
		first.Length = drawLength(t, "first piece", 0, int(buy/inch), inch)
		with, got, _, err = lay.Receive(p, plan, []lay.Bolt{first})
		require.NoError(t, err)
		require.NoError(t, lay.VerifyPlan(with, got))
		require.Len(t, got.Lays, len(plan.Lays))
		if len(got.Purchases) == 0 {
			return
		}
		part++
		require.LessOrEqual(t, got.Purchases[0].Need, plan.Purchases[0].Need)
		second := exact
		second.Name, second.Length = "second", got.Purchases[0].Buy
		with, got, _, err = lay.Receive(with, got, []lay.Bolt{second})
		require.NoError(t, err)
		require.Empty(t, got.Purchases)
		require.NoError(t, lay.VerifyPlan(with, got))
	})
	require.Positive(t, whole)
	require.Positive(t, part)
}

func TestRestateTellsWhatNoLongerHolds(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "lawn", Garments: skirts(either, 3, 4), Rules: buyingRules(), Rates: rates, Bolts: []lay.Bolt{bolt("A", 43*inch, 10*length.Metre)}}
	p.Bolts[0].ID = 5
	plan := solve(t, p)
	now := p
	now.Bolts = []lay.Bolt{bolt("other", 43*inch, length.Metre), p.Bolts[0]}
	now.Bolts[0].ID, now.Bolts[1].PricePerMetre = 6, 2*p.Bolts[0].PricePerMetre
	again, err := lay.Restate(now, p, plan)
	require.NoError(t, err)
	require.Equal(t, 1, again.Uses[0].Bolt)
	require.InDelta(t, float64(2*plan.ClothCost), float64(again.ClothCost), 2)

	for _, one := range []struct {
		name   string
		change func(*lay.Problem)
		says   string
	}{
		{"the bolt is gone", func(p *lay.Problem) { p.Bolts = nil }, "bolt A is gone"},
		{"the bolt is shorter", func(p *lay.Problem) { p.Bolts[0].Length = 10 * inch }, "ends at"},
		{"other garments", func(p *lay.Problem) { p.Garments = skirts(either, 3, 5) }, "other garments"},
		{"a shorter table", func(p *lay.Problem) { p.Rules.TableLength = 13 * inch }, "longer than the table"},
		{"a fault was found", func(p *lay.Problem) {
			p.Bolts[0].Faults = []marker.Fault{{Y: 2 * inch, Width: 43 * inch, Length: inch}}
		}, "lies over the fault"},
	} {
		t.Run(one.name, func(t *testing.T) {
			changed := p
			changed.Bolts = []lay.Bolt{p.Bolts[0]}
			one.change(&changed)
			_, err := lay.Restate(changed, p, plan)
			require.ErrorContains(t, err, one.says)
		})
	}
}

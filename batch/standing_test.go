package batch_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/length"
)

// drawWorkshop draws a batch of skirts and what is on the shelf for it, with the rules of buying
// of a new workshop.
func drawWorkshop(t *rapid.T) batch.Input {
	quantities := map[string]int{}
	for _, size := range []string{"92", "104", "116", "128"} {
		quantities[size] = rapid.IntRange(0, 9).Draw(t, size)
	}
	quantities["110"] = 1
	in := skirts(t, quantities)
	in.Workroom.KeepLength, in.Workroom.BuyStep = length.Yard/2, rapid.SampledFrom([]length.Length{length.Yard / 8, length.Yard / 4, length.Metre}).Draw(t, "step")
	in.Workroom.RemnantWorth, in.Workroom.BuyTolerance = 5000, 200
	in.Workroom.TableLength = rapid.SampledFrom([]length.Length{0, 2 * length.Yard, 4 * length.Yard}).Draw(t, "table")
	in.Bolts = nil
	for i := range rapid.IntRange(0, 4).Draw(t, "bolts") {
		in.Bolts = append(in.Bolts, batch.Bolt{
			ID: int64(i + 1), Cloth: int64(1 + i%2), Name: fmt.Sprint("B", i), Lot: fmt.Sprint("lot ", i%3),
			Length: length.Length(rapid.IntRange(4, 200).Draw(t, "inches")) * inch, PricePerMetre: 9_000_000,
		})
	}
	return in
}

// buy puts on the shelf exactly what a plan asks for, in the place of the cloth to buy.
func buy(t require.TestingT, in *batch.Input, plan batch.Plan) batch.Plan {
	for _, planned := range plan.Cloths {
		for _, purchase := range planned.Plan.Purchases {
			bolt := batch.Bolt{ID: 100 + planned.Cloth.ID, Cloth: planned.Cloth.ID, Name: "bought", Lot: "new", Length: purchase.Buy, PricePerMetre: 9_000_000}
			in.Bolts = append(in.Bolts, bolt)
			var got batch.Received
			var err error
			plan, got, err = batch.Receive(*in, plan, planned.Cloth.ID, []batch.Bolt{bolt})
			require.NoError(t, err)
			require.Empty(t, got.StillToBuy)
			require.Positive(t, got.Plies)
		}
	}
	return plan
}

// What a plan asks for is bought: then nothing of cloth is to be bought any more, the plan still
// holds as it is, and planning again, with other seeds, asks for nothing and is no dearer.
func TestBuyingTheListCloses(t *testing.T) {
	t.Parallel()
	bought := 0
	rapid.Check(t, func(t *rapid.T) {
		in := drawWorkshop(t)
		first := makePlan(t, in)
		plan := buy(t, &in, first)
		checkPlan(t, in, plan)
		if len(first.Shopping) > len(plan.Shopping) {
			bought++
		}
		now, broken, err := batch.Restate(in, plan)
		require.NoError(t, err)
		require.Empty(t, broken)
		require.Equal(t, plan.ClothCost(), now.ClothCost())
		for seed := range uint64(1) {
			params := quick()
			params.Seed, params.Keep = seed+2, &plan
			again, err := batch.Make(context.Background(), in, params)
			require.NoError(t, err)
			checkPlan(t, in, again)
			for c, planned := range again.Cloths {
				require.Empty(t, planned.Plan.Purchases)
				require.LessOrEqual(t, planned.Plan.Cost, plan.Cloths[c].Plan.Cost)
			}
		}
	})
	require.Positive(t, bought)
}

// Only the cloths that are named are planned again.
func TestOneClothIsPlannedAgain(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"92": 4, "104": 6, "128": 3})
	plan := makePlan(t, in)
	in.Bolts[2].Length = 40 * inch // of Slate, the second cloth
	_, broken, err := batch.Restate(in, plan)
	require.NoError(t, err)
	require.Len(t, broken, 1)
	require.ErrorContains(t, broken[2], "ends at")

	params := quick()
	params.Seed, params.Keep, params.Only = 9, &plan, []int64{2}
	again, err := batch.Make(context.Background(), in, params)
	require.NoError(t, err)
	checkPlan(t, in, again)
	require.Equal(t, plan.Cloths[0].Plan.Lays, again.Cloths[0].Plan.Lays)
	_, broken, err = batch.Restate(in, again)
	require.NoError(t, err)
	require.Empty(t, broken)
}

// A bolt that is too narrow or too short for any ply takes no place, and the plan says what is
// still to be bought.
func TestClothThatDoesNotFit(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"92": 6, "104": 6})
	in.Bolts = nil
	plan := makePlan(t, in)
	buyLength := plan.Cloths[0].Plan.Purchases[0].Buy
	for _, bolt := range []batch.Bolt{
		{ID: 50, Cloth: 1, Name: "narrow", FullWidth: 30 * inch, Length: buyLength},
		{ID: 51, Cloth: 1, Name: "short", Length: 5 * inch},
	} {
		after, got, err := batch.Receive(in, plan, 1, []batch.Bolt{bolt})
		require.NoError(t, err)
		require.Zero(t, got.Plies)
		require.Equal(t, buyLength, got.StillToBuy[0].Buy)
		require.Equal(t, plan, after)
	}
	// Two shorter pieces do.
	half := batch.Bolt{ID: 52, Cloth: 1, Name: "first", Lot: "x", Length: buyLength * 2 / 3}
	plan, got, err := batch.Receive(in, plan, 1, []batch.Bolt{half})
	require.NoError(t, err)
	require.Positive(t, got.Plies)
	require.Less(t, got.StillToBuy[0].Buy, buyLength)
	rest := batch.Bolt{ID: 53, Cloth: 1, Name: "second", Lot: "y", Length: got.StillToBuy[0].Buy}
	plan, got, err = batch.Receive(in, plan, 1, []batch.Bolt{rest})
	require.NoError(t, err)
	require.Empty(t, got.StillToBuy)
	checkPlan(t, in, plan)
}

package batch_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/roll"
)

// panelInches is the cut width of the starter's panel, worked out apart from package garment:
// waist × fullness ÷ 2 and two seams of ¼ in, to the nearest eighth.
func panelInches(waist length.Length, fullness int64) length.Length {
	thousandths := int64(waist)*fullness/2 + 1000*int64(inch)/2
	step := 1000 * int64(inch) / 8
	return length.Length((thousandths+step/2)/step) * inch / 8
}

// DESIGN.md's own rule, checked by trying every hundredth: the next fullness is the greatest at
// which one more panel lies across, and at a hundredth more it does not.
func TestTheNextFullnessAtWhichOneMorePanelFits(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"92": 4, "104": 6, "128": 3})
	plan := makePlan(t, in)
	require.Len(t, plan.Fits, 1)
	fit := plan.Fits[0]
	require.Equal(t, "fullness", fit.Allowance)
	require.EqualValues(t, 1600, fit.Fullness)
	require.Equal(t, 13, fit.Garments)
	require.Len(t, fit.Panels, 3, "the bands may be turned, so that their width decides nothing")
	sizes := chart(t, "Children by height")
	for _, panel := range fit.Panels {
		require.Equal(t, "panel", panel.Piece)
		size, ok := sizes.Size(panel.Size)
		require.True(t, ok)
		waist := size.Values["waist"].Length
		require.Equal(t, panelInches(waist, 1600), panel.Width)
		require.Equal(t, 42*inch, panel.Usable)
		across := func(fullness int64) int { return int(42 * inch / panelInches(waist, fullness)) }
		require.Equal(t, across(1600), panel.Across)
		want := int64(0)
		for fullness := int64(1590); fullness >= 1000 && want == 0; fullness -= 10 {
			if across(fullness) > panel.Across {
				want = fullness
			}
		}
		require.Equal(t, want, panel.Next, "size %s", panel.Size)
	}
}

// What a fullness saves is what two whole plannings of the batch differ by.
func TestWhatAFullnessSavesIsTheDifferenceOfTwoPlans(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"92": 4, "104": 6})
	plan := makePlan(t, in)
	require.NotEmpty(t, plan.Fits[0].Options)
	for _, option := range plan.Fits[0].Options {
		require.NotEmpty(t, option.OneMore)
		require.Less(t, option.Fullness, int64(1600))
		other := in
		other.Styles = slices.Clone(in.Styles)
		other.Styles[0].Allowances = slices.Clone(in.Styles[0].Allowances)
		for i := range other.Styles[0].Allowances {
			if other.Styles[0].Allowances[i].Name == "fullness" {
				other.Styles[0].Allowances[i].Thousandths = option.Fullness
			}
		}
		require.Equal(t, costOf(makePlan(t, in)), option.Now.Cost())
		require.Equal(t, costOf(makePlan(t, other)), option.Then.Cost())
		require.Equal(t, option.Now.Cost()-option.Then.Cost(), option.Saves())
	}
	// One more across of every size saves a third of the cloth of the panels, about.
	last := plan.Fits[0].Options[len(plan.Fits[0].Options)-1]
	require.Positive(t, last.Saves())
	require.Positive(t, last.SavesCloth())
}

func costOf(plan batch.Plan) lay.Money {
	cost := lay.Money(0)
	for _, planned := range plan.Cloths {
		cost += planned.Plan.Cost
	}
	return cost
}

// A straight strip, worked by hand: ten pieces of 20 × 10 in of bought cloth. On 42 in two lie
// across, on 60 in (58 usable) still two, on 36 in (34 usable) one: 50, 50 and 100 in without
// ends, so that cloth 36 in wide must cost half as much, but for the longer spreading.
func TestOtherWidthsAreReallyPlanned(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"98": 5})
	in.Styles[0].Pieces = []garment.Piece{{
		Name: "panel", Role: garment.Body, Copies: 2, Shape: garment.Rectangle, Grain: garment.Lengthwise,
		Table: map[string]garment.Cut{"98": {Width: 20 * inch, Length: 10 * inch}},
	}}
	in.Bolts, in.Workroom.EndLoss, in.Workroom.BuyStep = nil, 0, inch
	in.Workroom.Rates = lay.Rates{SetUp: 5 * time.Minute, PerHour: 22_000_000}
	plan := makePlan(t, in)
	require.Equal(t, 50*inch, plan.Shopping[0].Length)
	want := map[length.Length]length.Length{36 * inch: 100 * inch, 54 * inch: 50 * inch, 60 * inch: 50 * inch}
	require.Len(t, plan.Shopping[0].Alternatives, len(want))
	for _, other := range plan.Shopping[0].Alternatives {
		require.True(t, other.Planned)
		require.Equal(t, want[other.FullWidth], other.Length, "%d", other.FullWidth)
		// One lay in each width, so that only the cloth counts.
		require.InDelta(t, 9_000_000*50/float64(other.Length/inch), float64(other.SamePrice), 1)
	}
}

func TestTwoClothsOfDifferentWidthForTheSameRole(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"98": 5, "110": 4})
	wide := cotton(3, "Meadow, wide")
	wide.FullWidth, wide.PricePerMetre = 60*inch, 12_000_000
	in.Cloths = append(in.Cloths, wide)
	choice, err := batch.CompareCloths(context.Background(), in, 1, 3, quick())
	require.NoError(t, err)
	require.Equal(t, 9, choice.Garments)
	require.Equal(t, 5*length.Yard, choice.Now.OnShelf)
	require.Zero(t, choice.Then.OnShelf)

	other := in
	other.Colourways = slices.Clone(in.Colourways)
	other.Colourways[0].Cloths = map[garment.Role]int64{garment.Body: 3, garment.Band: 2, garment.Pocket: 2}
	for _, side := range []struct {
		name string
		in   batch.Input
		got  batch.ClothSide
	}{{"as it is", in, choice.Now}, {"with the wide one", other, choice.Then}} {
		plan := makePlan(t, side.in)
		at := slices.IndexFunc(plan.Cloths, func(c batch.ClothPlan) bool { return c.Cloth.ID == side.got.Cloth.ID })
		planned := plan.Cloths[at].Plan
		require.Equal(t, planned.Cost, side.got.Cost(), side.name)
		require.Equal(t, planned.LengthUsed, side.got.Length)
		require.Equal(t, planned.Work(), side.got.Work)
		require.Equal(t, len(planned.Lays), side.got.Lays)
		bought := length.Length(0)
		for _, p := range planned.Purchases {
			bought += p.Buy
		}
		require.Equal(t, bought, side.got.Bought)
	}
	for _, test := range []struct {
		name     string
		from, to int64
		field    string
	}{
		{"a cloth that is gone", 9, 3, "from"},
		{"nothing to compare with", 1, 9, "to"},
		{"the same cloth", 1, 1, "to"},
		{"a cloth that nothing is cut from", 3, 1, "from"},
	} {
		_, err := batch.CompareCloths(context.Background(), in, test.from, test.to, quick())
		var wrong *batch.InputError
		require.ErrorAs(t, err, &wrong, test.name)
		require.Equal(t, test.field, wrong.Field, test.name)
	}
	in.Cloths[2].CanBuy = false
	_, err = batch.CompareCloths(context.Background(), in, 1, 3, quick())
	require.ErrorContains(t, err, "not to be bought")
}

// remnantBatch has skirts of one cloth, a bolt, and a short end of the same shade lot that is
// worth little.
func remnantBatch(t require.TestingT) batch.Input {
	in := skirts(t, map[string]int{"104": 6})
	in.Cloths[0].CanBuy, in.Cloths[0].Thickness = false, batch.Thick
	in.Workroom.MaxPlies[batch.Thick], in.Workroom.Rates.SetUp = 1, 2*time.Minute
	in.Colourways[0].Cloths = map[garment.Role]int64{garment.Body: 1, garment.Band: 1, garment.Pocket: 1}
	in.Bolts = []batch.Bolt{
		{ID: 1, Cloth: 1, Name: "M1", Lot: "a", Length: 8 * length.Yard, PricePerMetre: 9_000_000},
		{ID: 2, Cloth: 1, Name: "M2", Lot: "a", Length: 16 * inch, Remnant: true},
	}
	return in
}

func TestSmallPiecesComeFromARemnantWhereItSavesMoney(t *testing.T) {
	t.Parallel()
	in := remnantBatch(t)
	plan := makePlan(t, in)
	planned := plan.Cloths[0]
	require.NotNil(t, planned.Parts)
	require.True(t, slices.ContainsFunc(planned.Plan.Uses, func(u lay.BoltUse) bool { return u.Bolt == 1 }), "the remnant is used")
	split := false
	for _, b := range plan.Bundles {
		for _, l := range b.Lays {
			split = split || l.Part != ""
		}
	}
	require.True(t, split, "the bundles say which pieces come from which lay")
	taken, err := batch.TakenOf(planned)
	require.NoError(t, err)
	require.Len(t, taken, 1, "each garment once, whatever its pieces come from")

	in.Bolts[1].Lot = "b"
	other := makePlan(t, in).Cloths[0]
	require.Nil(t, other.Parts, "never from another shade lot")
	require.Less(t, planned.Plan.Cost, other.Plan.Cost)
}

// Worked by hand: four cuts of 18 in from rolls of 50 in: two of each roll, 14 in left of both;
// or with five cuts, 14, 14 and 32 in left. Only ends from which another could be cut go back.
func TestLeftoverRollsGoBackToTheShelf(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		count int
		want  []batch.Leftover
		back  []batch.Roll
	}{
		{4, []batch.Leftover{{Length: 14 * inch, Count: 2}}, nil},
		{5, []batch.Leftover{{Length: 32 * inch, Count: 1, Keep: true}, {Length: 14 * inch, Count: 2}}, []batch.Roll{{Length: 32 * inch, Count: 1}}},
	} {
		t.Run(fmt.Sprint(test.count), func(t *testing.T) {
			t.Parallel()
			in := skirts(t, map[string]int{"104": test.count})
			in.Notions[0].Rolls = []batch.Roll{{Length: 50 * inch, Count: 3}}
			in.Styles[0].Style.Notions = slices.Clone(in.Styles[0].Style.Notions)
			for i := range in.Styles[0].Style.Notions {
				if in.Styles[0].Style.Notions[i].Notion == "elastic" {
					in.Styles[0].Style.Notions[i].Length = "18*inch"
				}
			}
			plan := makePlan(t, in)
			elastic := plan.Notions[0]
			require.Equal(t, roll.StatusOptimal, elastic.Rolls.Status)
			require.Equal(t, test.want, elastic.Leftovers)
			require.Equal(t, test.back, elastic.Returned())
		})
	}
}

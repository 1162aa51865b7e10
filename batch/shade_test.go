package batch_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/lay"
)

// requireOneLot holds the bundles against the draws of the lays: one lot in every cloth, and no
// more of a lot than its plies give.
func requireOneLot(t require.TestingT, plan batch.Plan) {
	type key struct {
		cloth, lay int
		lot        batch.Lot
	}
	took := map[key]int{}
	for _, b := range plan.Bundles {
		lots := map[int]batch.Lot{}
		for _, from := range b.Lays {
			if lot, known := lots[from.Cloth]; known {
				require.Equal(t, lot, from.Lot, "bundle %d mixes lots", b.Number)
			}
			lots[from.Cloth] = from.Lot
			if from.Part == "" {
				took[key{from.Cloth, from.Lay, from.Lot}] += from.Garments
			}
		}
	}
	for k, count := range took {
		planned := plan.Cloths[k.cloth]
		l := planned.Plan.Lays[k.lay]
		there, plies := 0, 0
		for _, draw := range l.Draws {
			if planned.LotOf(draw) == k.lot {
				plies += draw.Plies
			}
		}
		for _, n := range l.PerPly {
			there += n * plies
		}
		require.LessOrEqual(t, count, there, "%s, lay %d gives that many of %s", planned.Cloth.Name, k.lay+1, k.lot.Words())
	}
}

// The plies of planned lays, drawn from bolts of any lots.
func TestABundleHoldsOneShadeLot(t *testing.T) {
	t.Parallel()
	made := makePlan(t, skirts(t, map[string]int{"98": 5, "104": 12, "116": 7}))
	rapid.Check(t, func(t *rapid.T) {
		plan := made
		plan.Cloths = slices.Clone(made.Cloths)
		for c := range plan.Cloths {
			planned := &plan.Cloths[c]
			planned.Bolts = []batch.Bolt{{Name: "B1", Lot: "a"}, {Name: "B2", Lot: "b"}, {Name: "B3", Lot: "b "}, {Name: "B4"}}
			planned.Plan.Lays = slices.Clone(planned.Plan.Lays)
			for i := range planned.Plan.Lays {
				l := &planned.Plan.Lays[i]
				l.Draws = nil
				for left := l.Plies; left > 0; left -= l.Draws[len(l.Draws)-1].Plies {
					l.Draws = append(l.Draws, lay.Draw{Bolt: rapid.IntRange(-1, 3).Draw(t, "bolt"), Plies: rapid.IntRange(1, left).Draw(t, "plies")})
				}
			}
		}
		plan = batch.Tie(plan, rapid.IntRange(1, 6).Draw(t, "bundle"))
		checkBundles(t, plan)
		requireOneLot(t, plan)
	})
}

// Worked by hand: 4 plies of one skirt each, 3 of them of lot a and one of b, in bundles of two:
// two and one of lot a, one of lot b.
func TestLotsOfALayAreTiedApart(t *testing.T) {
	t.Parallel()
	cloth := batch.ClothPlan{
		Cloth: batch.Cloth{Name: "Meadow"}, Garments: []int{0}, Bolts: []batch.Bolt{{Name: "M1", Lot: "a"}, {Name: "M2", Lot: "b"}},
		Problem: lay.Problem{Garments: []lay.Garment{{Name: "skirt", Quantity: 4, Pieces: []lay.Piece{{Name: "panel", Copies: 2}}}}},
		Plan:    lay.Plan{Lays: []lay.Lay{{PerPly: []int{1}, Plies: 4, Draws: []lay.Draw{{Bolt: 0, Plies: 3}, {Bolt: 1, Plies: 1}}}}},
	}
	plan := batch.Tie(batch.Plan{Garments: []batch.Garment{{Quantity: 4}}, Cloths: []batch.ClothPlan{cloth}}, 2)
	var said []string
	for _, b := range plan.Bundles {
		said = append(said, fmt.Sprintf("%d of %s: %d pieces", b.Quantity, b.LotsIn(0)[0].Words(), b.Pieces[0].Count))
	}
	require.Equal(t, []string{"2 of lot a: 4 pieces", "1 of lot a: 2 pieces", "1 of lot b: 2 pieces"}, said)
	require.Equal(t, []batch.Lot{{Name: "a"}, {Name: "b"}}, cloth.LotsOf(cloth.Plan.Lays[0]))
}

package workshop_test

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/job"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// manyWorkshops is how many drawn workshops buy what their plans ask for; `make check` takes 200.
var manyWorkshops = flag.Int("workshops", 12, "how many drawn workshops go from plan to release")

// drawn adds a cloth with some bolts, a bag of it, and a planned batch of drawn size.
func (s *shopOf) drawn(ctx context.Context, t *testing.T, n int, draw *rand.Rand) (cloth, batchID int64) {
	t.Helper()
	must := func(id int64, err error) int64 {
		t.Helper()
		require.NoError(t, err)
		return id
	}
	width := length.Length(30+draw.IntN(30)) * length.Inch
	cloth = must(s.AddCloth(ctx, s.id, store.Cloth{
		Name: fmt.Sprint("Cloth ", n), Design: "solid", FullWidth: width, Selvage: length.Inch / 2, Price: money.Int(int64(4 + draw.IntN(9))), PriceUnit: "yd",
		Nap: []batch.Nap{batch.NapEitherWay, batch.NapOneWay, batch.NapUpAndDown}[draw.IntN(3)], Thickness: batch.Thin, PreWashed: true, CanBuy: true,
	}))
	for b := range draw.IntN(4) {
		bolt := store.Bolt{ClothID: cloth, Name: fmt.Sprint("D", n, "-", b), Lot: fmt.Sprint("lot ", b%2), Length: length.Length(10+draw.IntN(250)) * length.Inch}
		if draw.IntN(3) == 0 {
			price := money.Int(int64(3 + draw.IntN(12)))
			bolt.Price = &price
		}
		must(s.AddBolt(ctx, s.id, bolt, nil))
	}
	way := must(s.AddColourway(ctx, s.id, store.Colourway{
		StyleID: s.style, Name: fmt.Sprint("Way ", n), Cloths: map[garment.Role]int64{garment.Body: cloth},
		Notions: map[string]int64{"cord": s.cord, "thread": s.thread, "label": s.label},
	}))
	var lines []workshop.LineDraft
	for _, size := range []string{"small", "medium", "large"} {
		if quantity := draw.IntN(9); quantity > 0 || size == "medium" {
			lines = append(lines, workshop.LineDraft{Colourway: way, Size: size, Quantity: 1 + quantity})
		}
	}
	order := must(s.TakeOrder(ctx, s.id, workshop.OrderDraft{Customer: s.customer, Number: fmt.Sprint("D-", n), DueOn: s.Today().AddDate(0, 1, 0), Lines: lines}))
	batchID = must(s.MakeBatch(ctx, s.id, workshop.BatchDraft{Name: fmt.Sprint("Drawn ", n), Orders: []int64{order}}))
	s.planWith(ctx, t, batchID, 1)
	return cloth, batchID
}

func (s *shopOf) planWith(ctx context.Context, t *testing.T, batchID, seed int64) (int64, *batch.Plan) {
	t.Helper()
	id, err := s.AddBatchPlan(ctx, s.id, batchID, seed, 30)
	require.NoError(t, err)
	require.NoError(t, s.RunPlan(ctx, job.PlanBatch{Workshop: s.id, Plan: id}))
	plan, made, err := s.HeldPlan(ctx, s.id, batchID)
	require.NoError(t, err)
	require.NotNil(t, made)
	return plan, made
}

// Plan, buy exactly what the list says, release without planning again: it is never refused. And
// planning again, with another seed, asks for nothing. Planning again before anything is bought
// never makes the list longer without saving money.
func TestPlanBuyReleaseCloses(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t)
	_, err := shop.pool.Exec(ctx, `UPDATE notions SET in_stock = 100000 WHERE id = $1`, shop.label)
	require.NoError(t, err)
	bought := 0
	for n := range *manyWorkshops {
		cloth, batchID := shop.drawn(ctx, t, n, rand.New(rand.NewPCG(uint64(n), 7)))
		list, err := shop.ShoppingList(ctx, shop.id, batchID)
		require.NoError(t, err)
		for _, row := range list.Cloths {
			require.Equal(t, cloth, row.Cloth.ID)
			_, settled, err := shop.ReceiveBolt(ctx, shop.id, store.Bolt{ClothID: cloth, Name: fmt.Sprint("bought ", n), Lot: "new", Length: row.Buy}, nil)
			require.NoError(t, err)
			require.Len(t, settled, 1)
			require.Positive(t, settled[0].Plies)
			require.Zero(t, settled[0].Still, "what the list said is enough")
			bought++
		}
		list, err = shop.ShoppingList(ctx, shop.id, batchID)
		require.NoError(t, err)
		require.Empty(t, list.Cloths)
		plan, _, err := shop.HeldPlan(ctx, shop.id, batchID)
		require.NoError(t, err)
		require.NoError(t, shop.release(ctx, batchID, plan), "workshop %d", n)
		require.NoError(t, shop.undo(ctx, batchID))

		plan, made := shop.planWith(ctx, t, batchID, 2)
		require.False(t, made.BuysCloth(), "workshop %d asks for more", n)
		newest, err := shop.KeptPlans(ctx, shop.id, batchID, 1)
		require.NoError(t, err)
		require.False(t, newest[0].Plan.BuysCloth(), "nor does the plan that isn't used")
		require.NoError(t, shop.release(ctx, batchID, plan))
		row, err := shop.Batch(ctx, shop.id, batchID)
		require.NoError(t, err)
		require.Equal(t, store.BatchReleased, row.State)
		shop.cutAway(ctx, t, batchID)
	}
	require.Positive(t, bought)
	shop.requireSums(ctx, t)
}

// cutAway marks all lays of a batch as cut, so that the next one plans with another shelf.
func (s *shopOf) cutAway(ctx context.Context, t *testing.T, batchID int64) {
	t.Helper()
	lays, err := s.BatchLays(ctx, s.id, batchID)
	require.NoError(t, err)
	for _, l := range lays {
		now, err := s.BatchLays(ctx, s.id, batchID)
		require.NoError(t, err)
		for _, current := range now {
			if current.ID == l.ID {
				require.NoError(t, s.CutLay(ctx, s.id, batchID, l.ID, asPlanned(current, 0)))
			}
		}
	}
}

// What came in can go back as long as nothing is cut or held of it; then the plan buys again. A
// piece that is too short stays on the shelf, and the cloth is planned again with it.
func TestBoughtClothGoesBack(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, length.Yard)
	batchID, _, made := shop.planned(ctx, t, 14)
	buy := made.Cloths[0].Plan.Purchases[0].Buy
	id, settled, err := shop.ReceiveBolt(ctx, shop.id, store.Bolt{ClothID: shop.cloth, Name: "T9", Length: buy}, nil)
	require.NoError(t, err)
	require.Len(t, settled, 1)
	longest := made.Cloths[0].Plan.Lays[0].PlyLength
	for _, l := range made.Cloths[0].Plan.Lays {
		longest = max(longest, l.PlyLength)
	}
	require.LessOrEqual(t, settled[0].LongestPly, longest)
	require.Equal(t, workshop.Settled{BatchID: batchID, Batch: "Run 1", Plies: settled[0].Plies, LongestPly: settled[0].LongestPly, Width: made.Cloths[0].Problem.Rules.BuyWidth}, settled[0], "nothing is still to be bought")
	require.NoError(t, shop.ReturnBolt(ctx, shop.id, id))
	_, now, err := shop.HeldPlan(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Equal(t, buy, now.Cloths[0].Plan.Purchases[0].Buy)
	require.NotContains(t, fmt.Sprint(shop.bolts(ctx, t)), "T9")
	requireFault(t, shop.ReturnBolt(ctx, shop.id, id), "", "used or corrected since")

	// Half of it first: part of the plies find a place, the rest is still to be bought.
	_, settled, err = shop.ReceiveBolt(ctx, shop.id, store.Bolt{ClothID: shop.cloth, Name: "T9", Length: buy * 2 / 3}, nil)
	require.NoError(t, err)
	require.Positive(t, settled[0].Plies)
	require.Less(t, settled[0].Still, buy)
	list, err := shop.ShoppingList(ctx, shop.id, 0)
	require.NoError(t, err)
	require.Equal(t, settled[0].Still, list.Cloths[0].Buy)
	require.Empty(t, list.Cloths[0].Unused)

	// A piece in which no ply finds a place.
	_, settled, err = shop.ReceiveBolt(ctx, shop.id, store.Bolt{ClothID: shop.cloth, Name: "T10", Length: 6 * length.Inch}, nil)
	require.NoError(t, err)
	require.Zero(t, settled[0].Plies)
	list, err = shop.ShoppingList(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Len(t, list.Cloths[0].Unused, 1)
	require.Greater(t, list.Cloths[0].LongestPly, 6*length.Inch)

	// Planned again, that cloth alone.
	plan, err := shop.AddBatchPlan(ctx, shop.id, batchID, 3, 0)
	require.NoError(t, err)
	require.NoError(t, shop.RunPlan(ctx, job.PlanBatch{Workshop: shop.id, Plan: plan, Cloths: []int64{shop.cloth}}))
	held, now, err := shop.HeldPlan(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Equal(t, plan, held)
	require.Len(t, now.Cloths[0].Bolts, 3)
}

// One piece serves two batches, the one that starts first before the other.
func TestOnePieceForTwoBatches(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t)
	first, _, made := shop.planned(ctx, t, 6)
	second, _, later := shop.planned(ctx, t, 4)
	list, err := shop.ShoppingList(ctx, shop.id, 0)
	require.NoError(t, err)
	require.Len(t, list.Cloths, 1)
	require.Len(t, list.Cloths[0].For, 2)
	need := made.Cloths[0].Plan.Purchases[0].Need + later.Cloths[0].Plan.Purchases[0].Need
	require.Equal(t, need.RoundTo(length.Yard/8, length.Up), list.Cloths[0].Buy)
	_, settled, err := shop.ReceiveBolt(ctx, shop.id, store.Bolt{ClothID: shop.cloth, Name: "both", Length: list.Cloths[0].Buy}, nil)
	require.NoError(t, err)
	require.Len(t, settled, 2)
	require.Equal(t, []int64{first, second}, []int64{settled[0].BatchID, settled[1].BatchID})
	for i, batchID := range []int64{first, second} {
		require.Zero(t, settled[i].Still)
		plan, _, err := shop.HeldPlan(ctx, shop.id, batchID)
		require.NoError(t, err)
		require.NoError(t, shop.release(ctx, batchID, plan))
	}
	shop.requireSums(ctx, t)
}

// Notions are counted against what is on the shelf, for the batch that starts first before the
// next; what was bought leaves the list by itself, and can go back.
func TestNotionsToBuy(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 30*length.Yard)
	_, err := shop.pool.Exec(ctx, `UPDATE notions SET in_stock = 10, buy_count = 25 WHERE id = $1`, shop.label)
	require.NoError(t, err)
	shop.planned(ctx, t, 8)
	shop.planned(ctx, t, 30)
	list, err := shop.ShoppingList(ctx, shop.id, 0)
	require.NoError(t, err)
	require.Empty(t, list.Cloths)
	require.Len(t, list.Notions, 1)
	labels := list.Notions[0]
	require.Equal(t, []workshop.BatchNeed{{BatchID: labels.For[0].BatchID, Batch: "Run 2"}}, labels.For, "10 are enough for the first")
	require.Equal(t, 2, labels.Count, "28 are missing, in packs of 25")
	require.Equal(t, 50, labels.Pieces())
	price := money.Int(11)
	got := workshop.NotionBought{Notion: shop.label, Count: 50, Price: &price}
	require.NoError(t, shop.ReceiveNotion(ctx, shop.id, got))
	require.Equal(t, 60, shop.notion(ctx, t, shop.label).InStock)
	require.Equal(t, price, shop.notion(ctx, t, shop.label).BuyPrice)
	list, err = shop.ShoppingList(ctx, shop.id, 0)
	require.NoError(t, err)
	require.True(t, list.Empty())
	require.NoError(t, shop.ReceiveNotion(ctx, shop.id, workshop.NotionBought{Notion: shop.label, Count: -50}))
	require.Equal(t, 10, shop.notion(ctx, t, shop.label).InStock)
	requireFault(t, shop.ReceiveNotion(ctx, shop.id, workshop.NotionBought{Notion: shop.label, Count: -50}), "", "has been used since")
}

// A new plan takes over by more than a step of the shop, or by not having to buy.
func TestWhenANewPlanTakesOver(t *testing.T) {
	t.Parallel()
	const price = 9_000_000 // a metre; a step of ⅛ yd is 1.0287
	cloth := batch.Cloth{ID: 1, Name: "drill", FullWidth: 40 * length.Inch, PricePerMetre: price, Nap: batch.NapEitherWay, CanBuy: true}
	plan := func(cost lay.Money, buys bool) batch.Plan {
		p := batch.Plan{Cloths: []batch.ClothPlan{{Cloth: cloth, Plan: lay.Plan{Cost: cost, ClothCost: cost}}}}
		if buys {
			p.Cloths[0].Plan.Purchases = []lay.Purchase{{Buy: length.Yard}}
		}
		return p
	}
	room := batch.Workroom{BuyStep: length.Yard / 8, BuyTolerance: 200}
	for _, test := range []struct {
		name       string
		held, made batch.Plan
		takes      bool
	}{
		{"a cent less", plan(50_000_000, false), plan(49_990_000, false), false},
		{"a step less", plan(50_000_000, false), plan(50_000_000-1_028_700, false), false},
		{"more than a step less", plan(50_000_000, false), plan(50_000_000-1_028_701, false), true},
		{"dearer", plan(50_000_000, false), plan(51_000_000, false), false},
		{"buys nothing, for as much", plan(50_000_000, true), plan(50_000_000, false), true},
		{"buys nothing, within the tolerance", plan(50_000_000, true), plan(50_900_000, false), true},
		{"buys nothing, dearer than the tolerance", plan(50_000_000, true), plan(51_100_000, false), false},
	} {
		t.Run(test.name, func(t *testing.T) {
			require.Equal(t, test.takes, workshop.SavesEnough(room, test.held, test.made))
		})
	}
}

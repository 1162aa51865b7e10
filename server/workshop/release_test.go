package workshop_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// shopOf is a small workshop: bags of one cloth, cord and labels, so that plans are quick.
type shopOf struct {
	bundle
	cloth, style, way, cord, thread, label, customer int64
	orders                                           int
}

func smallShop(t *testing.T, bolts ...length.Length) (context.Context, *shopOf) {
	t.Helper()
	ctx, b := setup(t)
	must := func(id int64, err error) int64 {
		t.Helper()
		require.NoError(t, err)
		return id
	}
	shop := &shopOf{bundle: b}
	shop.cloth = must(b.AddCloth(ctx, b.id, store.Cloth{
		Name: "Test drill", Design: "solid", FullWidth: 40 * length.Inch, Price: money.Int(8), PriceUnit: "yd", Nap: batch.NapEitherWay, Thickness: batch.Thin, PreWashed: true, CanBuy: true,
	}))
	shop.cord = must(b.AddNotion(ctx, b.id, store.Notion{
		Name: "Test cord", Kind: batch.FromRoll, BuyLength: 20 * length.Yard, BuyPrice: money.Int(6), Rolls: []batch.Roll{{Length: 50 * length.Yard, Count: 3}},
	}))
	shop.thread = must(b.AddNotion(ctx, b.id, store.Notion{
		Name: "Test thread", Kind: batch.ByLength, BuyLength: 1000 * length.Metre, BuyPrice: money.Int(4), Rolls: []batch.Roll{{Length: 1000 * length.Metre, Count: 2}},
	}))
	shop.label = must(b.AddNotion(ctx, b.id, store.Notion{Name: "Test label", Kind: batch.ByCount, BuyCount: 100, BuyPrice: money.Int(9), InStock: 300}))
	charts, err := b.Charts(ctx, b.id)
	require.NoError(t, err)
	for _, chart := range charts {
		if chart.Name == "Bags and aprons" {
			shop.style = must(b.StartStyle(ctx, b.id, "Drawstring bag", "Test bag", chart.ID, map[string]bool{"lining": false}))
		}
	}
	shop.way = must(b.AddColourway(ctx, b.id, store.Colourway{
		StyleID: shop.style, Name: "Drill", Cloths: map[garment.Role]int64{garment.Body: shop.cloth},
		Notions: map[string]int64{"cord": shop.cord, "thread": shop.thread, "label": shop.label},
	}))
	shop.customer = must(b.AddCustomer(ctx, b.id, store.Customer{Name: "Test buyer", Kind: "fair"}))
	for i, l := range bolts {
		must(b.AddBolt(ctx, b.id, store.Bolt{ClothID: shop.cloth, Name: fmt.Sprint("T", i+1), Length: l, Place: "shelf 9"}, nil))
	}
	return ctx, shop
}

// planned makes a batch of one order of so many bags and plans it.
func (s *shopOf) planned(ctx context.Context, t *testing.T, bags int) (batchID, plan int64, made *batch.Plan) {
	t.Helper()
	s.orders++
	order, err := s.TakeOrder(ctx, s.id, workshop.OrderDraft{
		Customer: s.customer, Number: fmt.Sprint("T-", s.orders), DueOn: s.Today().AddDate(0, 1, 0), Lines: []workshop.LineDraft{{Colourway: s.way, Size: "medium", Quantity: bags}},
	})
	require.NoError(t, err)
	batchID, err = s.MakeBatch(ctx, s.id, workshop.BatchDraft{Name: fmt.Sprint("Run ", s.orders), Orders: []int64{order}})
	require.NoError(t, err)
	plan, made = s.plan(ctx, t, batchID)
	return batchID, plan, made
}

func (s *shopOf) plan(ctx context.Context, t *testing.T, batchID int64) (int64, *batch.Plan) {
	t.Helper()
	_, err := s.PlanNow(ctx, s.id, batchID, 1)
	require.NoError(t, err)
	plan, made, err := s.HeldPlan(ctx, s.id, batchID)
	require.NoError(t, err)
	return plan, made
}

// release releases a batch as it is now.
func (s *shopOf) release(ctx context.Context, batchID, plan int64) error {
	row, err := s.Batch(ctx, s.id, batchID)
	if err != nil {
		return err
	}
	return s.Release(ctx, s.id, batchID, row.Version, plan)
}

func (s *shopOf) undo(ctx context.Context, batchID int64) error {
	row, err := s.Batch(ctx, s.id, batchID)
	if err != nil {
		return err
	}
	return s.UndoRelease(ctx, s.id, batchID, row.Version)
}

func (s *shopOf) state(ctx context.Context, t *testing.T, batchID int64) (batchState, orderState string) {
	t.Helper()
	row, err := s.Batch(ctx, s.id, batchID)
	require.NoError(t, err)
	orders, err := s.BatchOrders(ctx, s.id, batchID)
	require.NoError(t, err)
	return row.State, orders[0].State
}

func (s *shopOf) bolts(ctx context.Context, t *testing.T) []store.Bolt {
	t.Helper()
	all, err := s.Bolts(ctx, s.id)
	require.NoError(t, err)
	var mine []store.Bolt
	for _, bolt := range all {
		if bolt.ClothID == s.cloth {
			mine = append(mine, bolt)
		}
	}
	return mine
}

func (s *shopOf) notion(ctx context.Context, t *testing.T, id int64) store.Notion {
	t.Helper()
	notions, err := s.Notions(ctx, s.id)
	require.NoError(t, err)
	for _, n := range notions {
		if n.ID == id {
			return n
		}
	}
	t.Fatal("no such notion")
	return store.Notion{}
}

// cut says that a lay was cut as planned, with what usually becomes of its ends.
func asPlanned(l store.BatchLay, keep length.Length) []workshop.LayCut {
	var said []workshop.LayCut
	for _, d := range l.Draws {
		said = append(said, workshop.LayCut{Draw: d.ID, Taken: d.Length, Rest: workshop.UsualRest(d.Left(), keep), Place: "remnant box"})
	}
	return said
}

// requireSums checks that the length of every bolt is the sum of its history, and that no bolt
// or notion is held beyond what there is.
func (s *shopOf) requireSums(ctx context.Context, t *testing.T) {
	t.Helper()
	var wrong int
	require.NoError(t, s.pool.QueryRow(ctx, `SELECT count(*) FROM bolts b WHERE b.length <> (SELECT coalesce(sum(change), 0) FROM bolt_moves WHERE bolt_id = b.id)
		OR b.length < (SELECT coalesce(sum(length), 0) FROM bolt_reservations WHERE bolt_id = b.id)`).Scan(&wrong))
	require.Zero(t, wrong)
	require.NoError(t, s.pool.QueryRow(ctx, `SELECT count(*) FROM (
			SELECT d.bolt_id, l.batch_id, sum(d.length) AS open FROM batch_lay_draws d JOIN batch_lays l ON l.id = d.lay_id WHERE l.cut_at IS NULL GROUP BY 1, 2) o
		FULL JOIN bolt_reservations r USING (bolt_id, batch_id) WHERE o.open IS DISTINCT FROM r.length`).Scan(&wrong))
	require.Zero(t, wrong, "what is held is what the lays that are not cut yet take")
}

// A batch from draft to done and all the way back.
func TestABatchIsReleasedCutSewnAndUndone(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard)
	batchID, plan, made := shop.planned(ctx, t, 14)
	require.Empty(t, made.Shopping)
	require.Empty(t, made.Uncut)
	require.NoError(t, shop.release(ctx, batchID, plan))
	state, order := shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"released", "in a batch"}, [2]string{state, order})
	use := made.Cloths[0].Plan.Uses[0]
	bolt := shop.bolts(ctx, t)[0]
	require.Equal(t, use.Used, bolt.Reserved, "what is held is what the plan takes")
	require.Equal(t, 9*length.Yard, bolt.Length)
	shop.requireSums(ctx, t)
	require.Equal(t, []store.NotionHold{{NotionID: shop.cord, RollLength: 50 * length.Yard, Amount: 1}}, shop.notion(ctx, t, shop.cord).Reserved)
	require.Equal(t, int64(14), shop.notion(ctx, t, shop.label).Reserved[0].Amount)

	// A released batch is a snapshot.
	_, err := shop.PlanNow(ctx, shop.id, batchID, 2)
	requireFault(t, err, "", "Go back to planning first")
	requireFault(t, shop.release(ctx, batchID, plan), "", "not in planning any more")
	row, err := shop.Batch(ctx, shop.id, batchID)
	require.NoError(t, err)
	orders, err := shop.BatchOrders(ctx, shop.id, batchID)
	require.NoError(t, err)
	requireFault(t, shop.TakeOrderOut(ctx, shop.id, batchID, row.Version, orders[0].ID), "", "Someone else has changed")
	requireFault(t, shop.RemoveBatch(ctx, shop.id, batchID, row.Version), "", "Someone else has changed")
	_, err = shop.pool.Exec(ctx, `DELETE FROM batch_lines WHERE batch_id = $1`, batchID)
	require.ErrorContains(t, err, "is released", "the schema holds it too")
	_, err = shop.pool.Exec(ctx, `UPDATE batch_plans SET plan = '{}' WHERE id = $1`, plan)
	require.ErrorContains(t, err, "does not change")

	// Cut all lays: the first one with more cloth than planned.
	lays, err := shop.BatchLays(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(lays), 2)
	keep := 12 * length.Inch
	_, err = shop.SewBundles(ctx, shop.id, batchID, []int{1})
	requireFault(t, err, "bundles", "isn't marked as cut yet")
	said := asPlanned(lays[0], keep)
	said[0].Taken += 2 * length.Inch
	require.NoError(t, shop.CutLay(ctx, shop.id, batchID, lays[0].ID, said))
	require.Equal(t, 9*length.Yard-lays[0].Draws[0].Length-2*length.Inch, shop.bolts(ctx, t)[0].Length)
	state, order = shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"being cut", "being cut"}, [2]string{state, order})
	requireFault(t, shop.CutLay(ctx, shop.id, batchID, lays[0].ID, said), "", "was marked as cut already")
	requireFault(t, shop.undo(ctx, batchID), "", "A lay of this batch is cut")
	for i := 1; i < len(lays); i++ {
		now, err := shop.BatchLays(ctx, shop.id, batchID)
		require.NoError(t, err)
		said := asPlanned(now[i], keep)
		if i == len(lays)-1 {
			said[0].Rest = store.RestRemnant
		}
		require.NoError(t, shop.CutLay(ctx, shop.id, batchID, now[i].ID, said))
		shop.requireSums(ctx, t)
	}
	bolt = shop.bolts(ctx, t)[0]
	require.True(t, bolt.Remnant)
	require.Equal(t, "remnant box", bolt.Place)
	require.Zero(t, bolt.Reserved)
	require.Equal(t, 9*length.Yard-use.Used-2*length.Inch, bolt.Length)

	// Elastic or cord is cut, and the end of the roll goes back to the shelf.
	require.NoError(t, shop.TakeNotion(ctx, shop.id, batchID, shop.cord))
	cord := shop.notion(ctx, t, shop.cord)
	require.Empty(t, cord.Reserved)
	require.Len(t, cord.Rolls, 2)
	require.Equal(t, batch.Roll{Length: 50 * length.Yard, Count: 2}, cord.Rolls[0])
	requireFault(t, shop.TakeNotion(ctx, shop.id, batchID, shop.cord), "", "taken from the shelf already")
	require.NoError(t, shop.TakeNotion(ctx, shop.id, batchID, shop.label))
	require.Equal(t, 286, shop.notion(ctx, t, shop.label).InStock)

	// Sew all, and take one tick back.
	var numbers []int
	for _, bundle := range made.Bundles {
		numbers = append(numbers, bundle.Number)
	}
	ticked, err := shop.SewBundles(ctx, shop.id, batchID, numbers[:1])
	require.NoError(t, err)
	require.Equal(t, numbers[:1], ticked)
	state, order = shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"cut", "being sewn"}, [2]string{state, order})
	ticked, err = shop.SewBundles(ctx, shop.id, batchID, numbers)
	require.NoError(t, err, "one that is ticked already stays so")
	require.Equal(t, numbers[1:], ticked, "and is not among those that an undo would take back")
	state, order = shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"done", "made"}, [2]string{state, order})
	requireFault(t, shop.UndoCut(ctx, shop.id, batchID, lays[len(lays)-1].ID), "", "is sewn")
	for _, number := range numbers {
		require.NoError(t, shop.UnsewBundles(ctx, shop.id, batchID, []int{number}))
	}

	// Back, in the order that the cloth allows.
	requireFault(t, shop.UndoCut(ctx, shop.id, batchID, lays[0].ID), "", "cut or corrected since")
	for i := len(lays) - 1; i >= 0; i-- {
		require.NoError(t, shop.UndoCut(ctx, shop.id, batchID, lays[i].ID))
		shop.requireSums(ctx, t)
	}
	requireFault(t, shop.undo(ctx, batchID), "", "Put it back first")
	require.NoError(t, shop.GiveNotionBack(ctx, shop.id, batchID, shop.cord))
	require.NoError(t, shop.GiveNotionBack(ctx, shop.id, batchID, shop.label))
	require.Equal(t, []store.NotionHold{{NotionID: shop.cord, RollLength: 50 * length.Yard, Amount: 1}}, shop.notion(ctx, t, shop.cord).Reserved)
	require.NoError(t, shop.undo(ctx, batchID))
	state, order = shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"draft", "in a batch"}, [2]string{state, order})
	bolt = shop.bolts(ctx, t)[0]
	require.Equal(t, 9*length.Yard, bolt.Length)
	require.Zero(t, bolt.Reserved)
	require.False(t, bolt.Remnant)
	require.Equal(t, "shelf 9", bolt.Place)
	require.Equal(t, []batch.Roll{{Length: 50 * length.Yard, Count: 3}}, shop.notion(ctx, t, shop.cord).Rolls)
	require.Empty(t, shop.notion(ctx, t, shop.cord).Reserved)
	moves, err := shop.BoltMoves(ctx, shop.id, bolt.ID)
	require.NoError(t, err)
	require.Len(t, moves, 1+2*len(lays)+2, "received, each cut and its undoing, and the remnant with its undoing")
	require.Equal(t, bolt.Length, moves[0].After)
	require.NoError(t, shop.release(ctx, batchID, plan), "and released again")
}

// What is wrong with a cut is said at its field, and nothing is half-saved.
func TestACutIsChecked(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard)
	batchID, plan, _ := shop.planned(ctx, t, 14)
	require.NoError(t, shop.release(ctx, batchID, plan))
	lays, err := shop.BatchLays(ctx, shop.id, batchID)
	require.NoError(t, err)
	draw := lays[0].Draws[0]
	at := func(name string) string { return fmt.Sprintf("%s.%d", name, draw.ID) }
	cut := func(taken length.Length, rest, place string) error {
		return shop.CutLay(ctx, shop.id, batchID, lays[0].ID, []workshop.LayCut{{Draw: draw.ID, Taken: taken, Rest: rest, Place: place}})
	}
	requireFault(t, cut(0, store.RestStays, ""), at("taken"), "Write how much")
	requireFault(t, cut(10*length.Yard, store.RestStays, ""), at("taken"), "Only 9 yd are on bolt T1")
	requireFault(t, cut(9*length.Yard, store.RestStays, ""), at("taken"), "are held for other lays")
	requireFault(t, shop.CutLay(ctx, shop.id, batchID, lays[0].ID, nil), "", "has changed in the meantime")
	requireFault(t, shop.CutLay(ctx, shop.id, batchID, 1<<40, nil), "", "was not found")
	last := lays[len(lays)-1]
	for _, l := range lays[:len(lays)-1] {
		require.NoError(t, shop.CutLay(ctx, shop.id, batchID, l.ID, asPlanned(l, 0)))
	}
	draw = last.Draws[0]
	lays[0] = last
	requireFault(t, cut(draw.Length, "burnt", ""), at("rest"), "Choose what becomes of the end")
	before := shop.bolts(ctx, t)[0].Length
	require.NoError(t, cut(draw.Length, store.RestThrown, ""))
	require.Empty(t, shop.bolts(ctx, t), "the end is thrown away")
	gone, err := shop.UsedUp(ctx, shop.id, 10)
	require.NoError(t, err)
	moves, err := shop.BoltMoves(ctx, shop.id, gone[0].ID)
	require.NoError(t, err)
	require.Equal(t, store.MoveThrown, moves[0].Kind)
	require.Equal(t, -(before - draw.Length), moves[0].Change)
	require.NoError(t, shop.UndoCut(ctx, shop.id, batchID, last.ID))
	require.Equal(t, before, shop.bolts(ctx, t)[0].Length)
	shop.requireSums(ctx, t)
}

// What is short is named with how much is missing and what to do; nothing is held then.
func TestAReleaseThatIsShortSaysWhat(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 3*length.Yard)
	field := workshop.ClothField(shop.cloth)
	batchID, plan, made := shop.planned(ctx, t, 14)
	require.NotEmpty(t, made.Shopping)
	requireFault(t, shop.release(ctx, batchID, plan), field, "still to buy. Once you have it, enter it on the shopping list")
	require.Zero(t, shop.bolts(ctx, t)[0].Reserved)
	state, _ := shop.state(ctx, t, batchID)
	require.Equal(t, "draft", state)

	// Bought and received: it takes the place of the cloth to buy in the plan as it stands.
	_, err := shop.AddBolt(ctx, shop.id, store.Bolt{ClothID: shop.cloth, Name: "T9", Length: 9 * length.Yard}, nil)
	require.NoError(t, err)
	requireFault(t, shop.release(ctx, batchID, plan), "", "A different plan is chosen now")
	plan, made, err = shop.HeldPlan(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Empty(t, made.Shopping)
	require.NoError(t, shop.release(ctx, batchID, plan))

	// The next batch sees only what is free.
	second, plan2, made2 := shop.planned(ctx, t, 4)
	for _, bolt := range made2.Cloths[0].Bolts {
		require.LessOrEqual(t, bolt.Length, 9*length.Yard)
	}
	require.NoError(t, shop.undo(ctx, batchID))
	require.NoError(t, shop.release(ctx, second, plan2))
	err = shop.release(ctx, batchID, plan)
	if err != nil { // the second batch may lie where nothing overlaps
		requireFault(t, err, field, "are missing")
		requireFault(t, err, field, "Run 2 has reserved")
	}
	shop.requireSums(ctx, t)

	// Another plan, another order, or another person in between.
	row, err := shop.Batch(ctx, shop.id, second)
	require.NoError(t, err)
	require.NoError(t, shop.undo(ctx, second))
	requireFault(t, shop.Release(ctx, shop.id, second, row.Version, plan2), "", "Someone else has changed")
	requireFault(t, shop.release(ctx, second, plan2-1), "", "A different plan is chosen now")
	orders, err := shop.BatchOrders(ctx, shop.id, second)
	require.NoError(t, err)
	row, err = shop.Batch(ctx, shop.id, second)
	require.NoError(t, err)
	require.NoError(t, shop.TakeOrderOut(ctx, shop.id, second, row.Version, orders[0].ID))
	requireFault(t, shop.release(ctx, second, plan2), "", "have changed since it was planned")
	order, err := shop.Order(ctx, shop.id, orders[0].ID)
	require.NoError(t, err)
	require.Equal(t, "open", order.State)
	row, err = shop.Batch(ctx, shop.id, second)
	require.NoError(t, err)
	require.NoError(t, shop.RemoveBatch(ctx, shop.id, second, row.Version))
}

// A bolt with another width or fault than planned is refused, and a corrected one needs a reason.
func TestAChangedBoltIsNoticed(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard)
	batchID, plan, _ := shop.planned(ctx, t, 14)
	bolt := shop.bolts(ctx, t)[0]
	width := 39 * length.Inch
	bolt.FullWidth = &width
	require.NoError(t, shop.SaveBolt(ctx, shop.id, bolt))
	requireFault(t, shop.release(ctx, batchID, plan), workshop.ClothField(shop.cloth), "has another width or other faults than when this was planned")
	bolt = shop.bolts(ctx, t)[0]
	bolt.FullWidth, bolt.Length = nil, 2*length.Yard
	requireFault(t, shop.SaveBolt(ctx, shop.id, bolt), "reason", "Say why")
	require.Equal(t, 9*length.Yard, shop.bolts(ctx, t)[0].Length, "nothing is half-saved")
	bolt.Reason = "sold by the yard"
	require.NoError(t, shop.SaveBolt(ctx, shop.id, bolt))
	requireFault(t, shop.release(ctx, batchID, plan), workshop.ClothField(shop.cloth), "only 2 yd are free now")
	moves, err := shop.BoltMoves(ctx, shop.id, bolt.ID)
	require.NoError(t, err)
	require.Equal(t, "sold by the yard", moves[0].Note)
	require.Equal(t, -7*length.Yard, moves[0].Change)
	shop.requireSums(ctx, t)
	_, err = shop.pool.Exec(ctx, `UPDATE bolts SET length = length + 1 WHERE id = $1`, bolt.ID)
	require.ErrorContains(t, err, "its history says", "the schema holds it too")
	_, err = shop.pool.Exec(ctx, `DELETE FROM bolt_moves WHERE bolt_id = $1`, bolt.ID)
	require.ErrorContains(t, err, "does not change")
}

// 32 batches that want the same cloth are released at once: exactly those that fit get it, all
// others are told so, nothing is held beyond what there is, and nobody waits for ever.
func TestReleasesAtOnceShareTheClothExactly(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard, 7*length.Yard)
	const writers = 32
	batches, plans := [writers]int64{}, [writers]int64{}
	batches[0], plans[0], _ = shop.planned(ctx, t, 9)
	need := map[string]length.Length{}
	for i := 1; i < writers; i++ {
		batches[i], plans[i] = shop.likeFirst(ctx, t, batches[0])
	}
	_, made, err := shop.HeldPlan(ctx, shop.id, batches[0])
	require.NoError(t, err)
	for _, use := range made.Cloths[0].Plan.Uses {
		need[made.Cloths[0].Bolts[use.Bolt].Name] = use.Used
	}
	fit := writers
	for _, bolt := range shop.bolts(ctx, t) {
		if need[bolt.Name] > 0 {
			fit = min(fit, int(bolt.Length/need[bolt.Name]))
		}
	}
	require.Positive(t, fit)
	require.Less(t, fit, writers)
	// The rolls of cord are not to decide: there are enough for all.
	cord := shop.notion(ctx, t, shop.cord)
	cord.Rolls[0].Count = writers
	require.NoError(t, shop.SaveNotion(ctx, shop.id, cord))

	outcomes := shop.releaseAll(ctx, batches[:], plans[:])
	released := 0
	for _, err := range outcomes {
		if err == nil {
			released++
			continue
		}
		var fault *store.Fault
		require.ErrorAs(t, err, &fault)
		require.Equal(t, store.Conflict, fault.Kind)
		require.Contains(t, fault.Error(), "are missing")
	}
	require.Equal(t, fit, released)
	for _, bolt := range shop.bolts(ctx, t) {
		require.Equal(t, length.Length(fit)*need[bolt.Name], bolt.Reserved, bolt.Name)
	}
	shop.requireSums(ctx, t)

	// All are undone at once, and the whole cloth is free again.
	var group sync.WaitGroup
	for i, err := range outcomes {
		if err == nil {
			group.Go(func() { outcomes[i] = shop.undo(ctx, batches[i]) })
		}
	}
	group.Wait()
	for _, bolt := range shop.bolts(ctx, t) {
		require.Zero(t, bolt.Reserved)
	}
	require.Empty(t, shop.notion(ctx, t, shop.cord).Reserved)
	again := shop.releaseAll(ctx, batches[:], plans[:])
	released = 0
	for _, err := range again {
		if err == nil {
			released++
		}
	}
	require.Equal(t, fit, released)
	shop.requireSums(ctx, t)
}

// likeFirst makes a batch with an order like that of another one and gives it the same plan,
// so that 32 of them need no planning.
func (s *shopOf) likeFirst(ctx context.Context, t *testing.T, first int64) (batchID, plan int64) {
	t.Helper()
	s.orders++
	order, err := s.TakeOrder(ctx, s.id, workshop.OrderDraft{
		Customer: s.customer, Number: fmt.Sprint("T-", s.orders), DueOn: s.Today().AddDate(0, 1, 0), Lines: []workshop.LineDraft{{Colourway: s.way, Size: "medium", Quantity: 9}},
	})
	require.NoError(t, err)
	batchID, err = s.MakeBatch(ctx, s.id, workshop.BatchDraft{Name: fmt.Sprint("Run ", s.orders), Orders: []int64{order}})
	require.NoError(t, err)
	_, made, err := s.HeldPlan(ctx, s.id, first)
	require.NoError(t, err)
	if made.Lines, err = s.BatchLines(ctx, s.id, batchID); err != nil {
		require.NoError(t, err)
	}
	plan, err = s.AddBatchPlan(ctx, s.id, batchID, 1, 0)
	require.NoError(t, err)
	require.NoError(t, s.FinishPlan(ctx, plan, store.PlanPlanned, "", made, 0))
	return batchID, plan
}

func (s *shopOf) releaseAll(ctx context.Context, batches, plans []int64) []error {
	outcomes := make([]error, len(batches))
	start := make(chan struct{})
	var group sync.WaitGroup
	for i := range batches {
		group.Go(func() {
			<-start
			outcomes[i] = s.release(ctx, batches[i], plans[i])
		})
	}
	close(start)
	group.Wait()
	return outcomes
}

// Two people tick the same lay and the same order's batches at once: one of each is told, and
// the order is made when the last one is.
func TestTicksAtOnceAreTold(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard)
	batchID, plan, made := shop.planned(ctx, t, 14)
	require.NoError(t, shop.release(ctx, batchID, plan))
	lays, err := shop.BatchLays(ctx, shop.id, batchID)
	require.NoError(t, err)
	for _, l := range lays {
		var group sync.WaitGroup
		var outcomes [4]error
		for i := range outcomes {
			group.Go(func() { outcomes[i] = shop.CutLay(ctx, shop.id, batchID, l.ID, asPlanned(l, 0)) })
		}
		group.Wait()
		told := 0
		for _, err := range outcomes {
			if err != nil {
				requireFault(t, err, "", "already")
				told++
			}
		}
		require.Equal(t, len(outcomes)-1, told)
	}
	var group sync.WaitGroup
	errs := make([]error, len(made.Bundles))
	for i, bundle := range made.Bundles {
		group.Go(func() { _, errs[i] = shop.SewBundles(ctx, shop.id, batchID, []int{bundle.Number}) })
	}
	group.Wait()
	require.NoError(t, errors.Join(errs...))
	state, order := shop.state(ctx, t, batchID)
	require.Equal(t, [2]string{"done", "made"}, [2]string{state, order})
	shop.requireSums(ctx, t)
}

// Of two plans, the maker chooses the one that the batch is cut by; a newer one that saves no more
// than a step of the shop doesn't take its place by itself.
func TestAPlanIsChosen(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 9*length.Yard)
	batchID, first, _ := shop.planned(ctx, t, 5)
	still, _ := shop.plan(ctx, t, batchID)
	require.Equal(t, first, still)
	newest, err := shop.LatestPlan(ctx, shop.id, batchID)
	require.NoError(t, err)
	second := newest.ID
	require.Greater(t, second, first)
	row, err := shop.Batch(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.NoError(t, shop.ChoosePlan(ctx, shop.id, batchID, row.Version, second))
	held, _, err := shop.HeldPlan(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Equal(t, second, held)
	requireFault(t, shop.ChoosePlan(ctx, shop.id, batchID, row.Version, first), "", "Someone else")
	kept, err := shop.KeptPlans(ctx, shop.id, batchID, 4)
	require.NoError(t, err)
	require.Len(t, kept, 2)
	require.Equal(t, 5, kept[0].Plan.Cut())
	require.NoError(t, shop.release(ctx, batchID, second))
}

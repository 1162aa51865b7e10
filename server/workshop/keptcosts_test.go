package workshop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// The costs of a batch are kept once all of it is cut, taken back with the tick of a lay, and
// kept anew; what happens on the shelf later doesn't change them.
func TestCostsAreKeptOnceABatchIsCut(t *testing.T) {
	t.Parallel()
	ctx, shop := smallShop(t, 30*length.Yard)
	batchID, plan, _ := shop.planned(ctx, t, 4)
	require.NoError(t, shop.release(ctx, batchID, plan))
	kept := func() []store.CostSnapshot {
		t.Helper()
		snapshots, err := shop.BatchSnapshots(ctx, shop.id, batchID)
		require.NoError(t, err)
		return snapshots
	}
	cut := func() {
		t.Helper()
		lays, err := shop.BatchLays(ctx, shop.id, batchID)
		require.NoError(t, err)
		for _, l := range lays {
			require.Empty(t, kept(), "not before the last lay is cut")
			var said []workshop.LayCut
			for _, d := range l.Draws {
				said = append(said, workshop.LayCut{Draw: d.ID, Taken: d.Length, Rest: store.RestStays})
			}
			require.NoError(t, shop.CutLay(ctx, shop.id, batchID, l.ID, said))
		}
	}
	cut()
	require.Len(t, kept(), 1)
	first, err := shop.BatchCosts(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.NotNil(t, first.Kept)
	require.Positive(t, first.Cloth.Sign())

	lays, err := shop.BatchLays(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.NoError(t, shop.UndoCut(ctx, shop.id, batchID, lays[0].ID))
	require.Empty(t, kept(), "a lay that is not cut takes them back")
	for _, l := range lays[1:] {
		require.NoError(t, shop.UndoCut(ctx, shop.id, batchID, l.ID))
	}
	cut()
	require.Len(t, kept(), 1)

	cloth, err := shop.Cloth(ctx, shop.id, shop.cloth)
	require.NoError(t, err)
	cloth.Price, err = cloth.Price.Add(cloth.Price)
	require.NoError(t, err)
	require.NoError(t, shop.SaveCloth(ctx, shop.id, cloth))
	bundles, err := shop.BatchBundles(ctx, shop.id, batchID)
	require.NoError(t, err)
	var numbers []int
	for _, b := range bundles {
		numbers = append(numbers, b.Number)
	}
	_, err = shop.SewBundles(ctx, shop.id, batchID, numbers)
	require.NoError(t, err)
	require.Len(t, kept(), 1, "a batch that is done keeps what it cost when it was cut")
	later, err := shop.BatchCosts(ctx, shop.id, batchID)
	require.NoError(t, err)
	require.Equal(t, first.Actual, later.Actual)
}

package workshop_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// The usual batch follows the orders, beside one more batch that is largest in the middle of the chart;
// it is never one of each size, and a size that hardly anybody orders is in none of it.
func TestTheMixOfAUsualBatch(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Moss")
	garments := func(mix workshop.SizeMix) (counts map[string]int, all int) {
		counts = map[string]int{}
		for _, size := range mix.Sizes {
			counts[size.Size], all = size.Garments, all+size.Garments
		}
		return counts, all
	}
	mix, err := b.SizeMix(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	counts, all := garments(mix)
	require.Equal(t, 24, all)
	require.False(t, mix.ByMaker)
	require.Equal(t, 25, mix.Ordered, "all colourways of the style")
	// By hand: 8 of size 12 are ordered; the scale gives it 24 × 16 ÷ 85 more; 24 × 12.52 ÷ 49 = 6.13.
	require.Equal(t, []string{"6", "8", "10", "12", "14", "16", "18", "20", "22"}, names(mix))
	require.Equal(t, 6, counts["12"])
	require.Less(t, counts["6"], 2)
	require.Greater(t, counts["12"], counts["20"])

	prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, names(mix), prices.Sizes, "a size that is in no usual batch has a price all the same")
	for _, size := range prices.Sizes {
		require.Equal(t, counts[size], prices.Use.Counts[size])
	}

	// Without orders of the last months, the middle of the chart decides.
	_, err = b.pool.Exec(ctx, `UPDATE orders SET taken_on = taken_on - 400`)
	require.NoError(t, err)
	mix, err = b.SizeMix(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	require.Zero(t, mix.Ordered)
	counts, all = garments(mix)
	require.Equal(t, 24, all)
	require.Equal(t, [9]int{0, 1, 3, 5, 7, 4, 3, 1, 0}, [9]int{counts["6"], counts["8"], counts["10"], counts["12"], counts["14"], counts["16"], counts["18"], counts["20"], counts["22"]},
		"24 over the scale 1 4 9 16 25 16 9 4 1, by largest remainder: 7.06, 4.52, 2.54, 1.13, 0.28")
	require.Equal(t, counts["8"], counts["20"])
	settings, err := b.CostSettings(ctx, b.id)
	require.NoError(t, err)
	settings.MixMonths = 24
	require.NoError(t, b.SaveChoices(ctx, b.id, settings, "en-US"))
	mix, err = b.SizeMix(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	require.Equal(t, 25, mix.Ordered, "two years back they count again")

	// The maker's word wins, over the sizes that she offers.
	three, one, none := 3, 1, 0
	said := []store.StyleSize{{Size: "6"}, {Size: "10", Offered: true, Share: &three}, {Size: "12", Offered: true, Share: &one}}
	require.NoError(t, b.SaveSizeMix(ctx, b.id, way.StyleID, mix.Version, said, len(mix.Sizes)))
	requireFault(t, b.SaveSizeMix(ctx, b.id, way.StyleID, mix.Version, said, len(mix.Sizes)), "", "else")
	mix, err = b.SizeMix(ctx, b.id, way.StyleID)
	require.NoError(t, err)
	require.True(t, mix.ByMaker)
	counts, _ = garments(mix)
	require.Equal(t, [3]int{18, 6, 0}, [3]int{counts["10"], counts["12"], counts["14"]})
	prices, err = b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.NotContains(t, prices.Sizes, "6")
	require.Contains(t, prices.Sizes, "14")
	prices, err = b.PriceStyle(ctx, b.id, way.ID, costing.Change{}, "6")
	require.NoError(t, err)
	require.Contains(t, prices.Sizes, "6", "an order may have it all the same")

	var nothing []store.StyleSize
	for _, size := range mix.Sizes {
		nothing = append(nothing, store.StyleSize{Size: size.Size})
	}
	requireFault(t, b.SaveSizeMix(ctx, b.id, way.StyleID, mix.Version, nothing, len(mix.Sizes)), "sizes", "at least one size")
	requireFault(t, b.SaveSizeMix(ctx, b.id, way.StyleID, mix.Version, []store.StyleSize{{Size: "12", Offered: true, Share: &none}}, len(mix.Sizes)), "sizes", "leave all of them empty")
}

func names(mix workshop.SizeMix) (list []string) {
	for _, size := range mix.Sizes {
		list = append(list, size.Size)
	}
	return list
}

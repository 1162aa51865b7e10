package server_test

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing"
	amounts "yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/workshop"
)

// What the maker types is asked everywhere until she changes it, whatever the costs do; what is
// worked out stands beside it.
func TestTheMakersPriceWins(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	ctx := workshop.AtOnce(t.Context())
	ways, err := s.service.Colourways(ctx, s.id)
	require.NoError(t, err)
	way := ways[0]
	before, err := s.service.PriceStyle(ctx, s.id, way.ID, costing.Change{})
	require.NoError(t, err)
	address := fmt.Sprintf("/prices/%d", way.ID)
	fair, shop, small, large := before.Channels[0], before.Channels[1], before.Sizes[0], before.Sizes[len(before.Sizes)-1]
	field := page.TypedField
	version := typedIn(formIn(t, s.get(t, address, http.StatusOK), address+"/typed")).Get("version")
	values := url.Values{"version": {version}}
	values.Set(field(true, "", fair.ID), "$61,50")
	values.Set(field(false, large, fair.ID), "73")
	values.Set(field(false, "", shop.ID), "0.5") // far below the floor: her word, with a warning
	shown := s.post(t, address+"/typed", values, http.StatusOK)
	require.Contains(t, shown, "Your prices are saved")
	typed, err := s.service.PriceStyle(ctx, s.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.Contains(t, shown, "worked out "+typed.Asked[0][0].Worked.Format("en-US"))
	require.Contains(t, shown, "worked out "+before.Asked[0][1].Price.Format("en-US"))
	require.Contains(t, shown, "below the floor<")
	require.Contains(t, shown, `value="61.50"`)
	undo := typedIn(formIn(t, shown, address+"/typed"))

	now, err := s.service.PriceStyle(ctx, s.id, way.ID, costing.Change{Cloth: amounts.Percent(amounts.Int(40))})
	require.NoError(t, err)
	usd := amounts.MustCurrency("USD")
	require.Equal(t, amounts.NewAmount(amounts.MustParse("61.5"), usd), now.Asked[0][0].Price, "costs rose and the price stayed")
	require.Equal(t, amounts.NewAmount(amounts.Int(73), usd), now.Asked[len(now.Sizes)-1][0].Price, "a size goes before all sizes")
	require.Equal(t, now.Pricings[0].Quotes[0].Price, now.Asked[0][0].Worked)
	require.Equal(t, now.Asked[0][0].Sale.Price, now.Asked[0][0].Price)
	for _, other := range ways[1:] {
		if other.StyleID == way.StyleID {
			prices, err := s.service.PriceStyle(ctx, s.id, other.ID, costing.Change{})
			require.NoError(t, err)
			require.Equal(t, "61.5", prices.Asked[len(prices.Sizes)-1][0].Price.Number().String(), "every colourway of the style")
		}
	}

	// It goes into the till, the list, the table, and what is kept.
	tags, err := s.service.TagPrices(ctx, s.id, "fair")
	require.NoError(t, err)
	require.Equal(t, "61.5", tags[way.ID][small].String())
	require.Contains(t, s.get(t, "/orders/fair", http.StatusOK), "$61.50")
	list, err := s.service.IssuePriceList(ctx, s.id, fair.ID, []int64{way.ID})
	require.NoError(t, err)
	require.Contains(t, s.get(t, fmt.Sprintf("/prices/lists/%d", list), http.StatusOK), "$61.50")
	rows, err := csv.NewReader(strings.NewReader(s.get(t, "/prices.csv", http.StatusOK))).ReadAll()
	require.NoError(t, err)
	require.Contains(t, fmt.Sprint(rows), "61.5")
	kept, err := s.service.IssueCosts(ctx, s.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.Contains(t, s.get(t, fmt.Sprintf("/prices/kept/%d", kept), http.StatusOK), "$61.50")

	// A price that can't be paid is refused at its box, and nothing typed is lost.
	values.Set("version", undo.Get("version"))
	values.Set(field(false, small, fair.ID), "lots")
	values.Set(field(false, large, fair.ID), "-4")
	shown = s.post(t, address+"/typed", values, http.StatusUnprocessableEntity)
	require.Contains(t, shown, `value="lots"`)
	values.Set(field(false, small, fair.ID), "")
	shown = s.post(t, address+"/typed", values, http.StatusUnprocessableEntity)
	require.ElementsMatch(t, []string{field(false, large, fair.ID)}, checkTies(t, address, parsed(t, shown)))
	// Two at once: the second is told.
	values.Set("version", version)
	values.Set(field(false, large, fair.ID), "74")
	require.Contains(t, s.post(t, address+"/typed", values, http.StatusUnprocessableEntity), "in the meantime")
	// Emptied boxes ask for what is worked out again.
	s.post(t, address+"/typed", undo, http.StatusOK)
	again, err := s.service.PriceStyle(ctx, s.id, way.ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, before.Asked, again.Asked)
}

// formIn cuts the last form that sends to an action out of a page.
func formIn(t *testing.T, text, action string) string {
	t.Helper()
	_, rest, ok := strings.Cut(text, `action="`+action+`"`)
	require.True(t, ok, "no form to %s", action)
	rest, _, ok = strings.Cut(rest, "</form>")
	require.True(t, ok)
	return rest
}

// What is kept on a what-if page is what it shows.
func TestKeepingAWhatIf(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	ctx := workshop.AtOnce(t.Context())
	ways, err := s.service.Colourways(ctx, s.id)
	require.NoError(t, err)
	address := fmt.Sprintf("/prices/%d", ways[0].ID)
	shown := s.get(t, address+"?cloth=80&batch=0.5", http.StatusOK)
	values := typedIn(formIn(t, shown, address+"/issue"))
	require.Equal(t, "80", values.Get("cloth"))
	kept := s.post(t, address+"/issue", values, http.StatusOK)
	asked, err := s.service.PriceStyle(ctx, s.id, ways[0].ID, costing.Change{Cloth: amounts.Percent(amounts.Int(80)), Batch: amounts.MustParse("0.5")})
	require.NoError(t, err)
	real, err := s.service.PriceStyle(ctx, s.id, ways[0].ID, costing.Change{})
	require.NoError(t, err)
	last := len(asked.Sizes) - 1
	require.NotEqual(t, asked.Asked[last][0].Price, real.Asked[last][0].Price)
	for i := range asked.Sizes {
		require.Contains(t, kept, "<strong>"+asked.Asked[i][0].Price.Format("en-US")+"</strong>")
	}
	require.Contains(t, kept, "80%, batch × 0.5")
	tags, err := s.service.TagPrices(ctx, s.id, "fair")
	require.NoError(t, err)
	require.Equal(t, asked.Asked[last][0].Price.Number(), tags[ways[0].ID][asked.Sizes[last]])
}

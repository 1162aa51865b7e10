package costing

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
)

// A typed price to shops is what retail prices are a multiple of; what is worked out for shops stays
// beside it.
func TestATypedWholesalePriceIsWhatIsDoubled(t *testing.T) {
	t.Parallel()
	web := online()
	web.Target, web.PricePoint, web.Tax = Target{Kind: TargetWholesale, Multiple: num("2")}, money.PricePoint{}, Tax{}
	channels := []Channel{web, shop()}
	before, err := Reprice([]Inputs{skirt()}, channels, Change{})
	require.NoError(t, err)
	typed := dollars("77")
	after, err := RepriceTyped([]Inputs{skirt()}, channels, Change{}, TypedPrices{{{}, typed}})
	require.NoError(t, err)
	require.Equal(t, before[0].Quotes[1], after[0].Quotes[1])
	require.Equal(t, dollars("154"), after[0].Quotes[0].Price, "twice what shops really pay")
	got, ok := after[0].TypedIn(1)
	require.True(t, ok)
	require.Equal(t, typed, got)
	_, ok = after[0].TypedIn(0)
	require.False(t, ok)

	one, err := OnePrices(after, channels, Change{}, []money.Decimal{money.Int(1)}, EverySizePays)
	require.NoError(t, err)
	require.Equal(t, dollars("154"), one[0].Price)

	_, err = RepriceTyped([]Inputs{skirt()}, channels, Change{}, TypedPrices{{typed}})
	require.ErrorContains(t, err, "there are 2 channels")
}

func TestWhyOfATypedPrice(t *testing.T) {
	t.Parallel()
	pricer := pricerOf(t, fair())
	quote, err := pricer.Quote(skirtGarment(t))
	require.NoError(t, err)
	worked := quote.Price
	price := dollars("28")
	quote.Sale, err = pricer.Sale(quote.Garment, price)
	require.NoError(t, err)
	quote.Price, quote.Worked = price, worked
	require.Contains(t, quote.Why("en-US"), "$28.00 is ")
	require.Contains(t, quote.Why("en-US"), ", the price that you typed: it pays "+quote.Sale.Hourly.Format("en-US")+" for each hour of work. Worked out, it would be "+worked.Format("en-US")+", because ")
}

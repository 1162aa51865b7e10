package workshop

import (
	"context"
	"errors"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

func isNotFound(err error) bool {
	var fault *store.Fault
	return errors.As(err, &fault) && fault.Kind == store.NotFound
}

// furnish gives a new workshop the shipped size charts and its channels.
func furnish(ctx context.Context, tx *store.Store, workshop int64) error {
	for _, chart := range garment.ShippedCharts() {
		if _, err := tx.AddChart(ctx, workshop, store.Chart{Shipped: true, SizeChart: chart}); err != nil {
			return err
		}
	}
	if err := tx.AddCostSettings(ctx, workshop); err != nil {
		return err
	}
	w, err := tx.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	currency, err := Currency(w)
	if err != nil {
		return err
	}
	for i, channel := range startingChannels(currency) {
		if _, err := tx.AddChannel(ctx, workshop, store.Channel{Position: i, Settings: channel}); err != nil {
			return err
		}
	}
	return nil
}

// startingChannels are our own assumptions, to be changed by the maker: what card machines
// and web shops usually take, keystone for shops.
func startingChannels(currency money.Currency) []costing.Channel {
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), currency) }
	whole := money.PricePoint{Step: money.Int(1)}
	return []costing.Channel{
		{
			Name: "Fair", Kind: costing.Fair, Currency: currency,
			Fees:   []costing.Fee{{Name: "card fee", Rate: money.MustPercent("2.5"), On: costing.OnGross, Fixed: amount("0.10"), Per: costing.PerSale}},
			Target: costing.Target{Kind: costing.TargetWholesale, Multiple: money.Int(2)}, PricePoint: whole,
		},
		{
			Name: "Shop", Kind: costing.Shop, Currency: currency,
			Target: costing.Target{Kind: costing.TargetMarkup, Rate: money.MustPercent("25")}, PricePoint: money.PricePoint{Step: money.MustParse("0.5")},
			Terms: costing.Terms{Days: 30, MinimumOrder: amount("100")},
		},
		{
			Name: "Online", Kind: costing.Online, Currency: currency,
			Fees: []costing.Fee{
				{Name: "selling fee", Rate: money.MustPercent("6.5"), On: costing.OnGross},
				{Name: "payment fee", Rate: money.MustPercent("3"), On: costing.OnGross, Fixed: amount("0.25"), Per: costing.PerSale},
			},
			Listing:         costing.Listing{Fee: amount("0.20")},
			Postage:         costing.Postage{Cost: amount("4.50"), Charged: amount("4.50")},
			HandlingMinutes: money.Int(6),
			Target:          costing.Target{Kind: costing.TargetWholesale, Multiple: money.Int(2)}, PricePoint: whole,
		},
	}
}

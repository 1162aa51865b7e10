package workshop

import (
	"slices"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// RetailCheck compares what is asked at retail with what shops will ask.
type RetailCheck struct {
	Channel, Size string
	Check         costing.Keystone
}

// RetailChecks compares every retail channel with the wholesale price of the first shop, in the size
// where it comes out least; none without a shop.
func (p StylePrices) RetailChecks() ([]RetailCheck, error) {
	shop := slices.IndexFunc(p.Channels, func(c store.Channel) bool { return c.Settings.Kind == costing.Shop })
	if shop < 0 {
		return nil, nil
	}
	var checks []RetailCheck
	for c, channel := range p.Channels {
		if channel.Settings.Kind == costing.Shop {
			continue
		}
		worst, err := p.worstRetail(c, shop)
		if err != nil {
			return nil, err
		}
		if worst != nil {
			checks = append(checks, *worst)
		}
	}
	return checks, nil
}

// worstRetail is the size of a channel whose price is the smallest multiple of the wholesale one;
// nil where no size has both.
func (p StylePrices) worstRetail(retail, shop int) (*RetailCheck, error) {
	var worst *RetailCheck
	channel := p.Channels[retail].Settings
	for i, size := range p.Sizes {
		wholesale, err := withoutTax(p.Asked[i][shop].Price, p.Channels[shop].Settings.Tax)
		if err != nil {
			return nil, err
		}
		asked := p.Asked[i][retail].Price
		if wholesale.Sign() <= 0 || asked.Sign() <= 0 {
			continue
		}
		check, err := costing.CheckKeystone(wholesale, asked, channel.Tax, costing.KeystoneMultiple)
		if err != nil {
			return nil, err
		}
		if worst == nil || check.Multiple.Less(worst.Check.Multiple) {
			worst = &RetailCheck{Channel: channel.Name, Size: size, Check: check}
		}
	}
	return worst, nil
}

func withoutTax(price money.Amount, tax costing.Tax) (money.Amount, error) {
	if !tax.Included || tax.Rate.IsZero() {
		return price, nil
	}
	taxed, err := costing.TaxWithin(price, tax.Rate, money.HalfUp)
	return taxed.Net, err
}

// MinimumOrder is how many garments of a size reach the minimum order of a shop.
type MinimumOrder struct {
	Channel  costing.Channel
	Size     string
	Garments money.Decimal
}

// MinimumOrders are those of the shops that have one, counted in the middle size.
func (p StylePrices) MinimumOrders() ([]MinimumOrder, error) {
	if len(p.Sizes) == 0 {
		return nil, nil
	}
	middle := len(p.Sizes) / 2
	var orders []MinimumOrder
	for c, channel := range p.Channels {
		least, price := channel.Settings.Terms.MinimumOrder, p.Asked[middle][c].Price
		if channel.Settings.Kind != costing.Shop || least.Sign() <= 0 || price.Sign() <= 0 {
			continue
		}
		count, err := money.Ratio(least.Number(), price.Number(), 0, money.Up)
		if err != nil {
			return nil, err
		}
		orders = append(orders, MinimumOrder{Channel: channel.Settings, Size: p.Sizes[middle], Garments: count})
	}
	return orders, nil
}

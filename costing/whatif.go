package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Change is a question of what if: shares by which inputs rise (or fall, when negative), to be
// tried on all prices before anything is saved. What changes of a bought material is its list
// price; freight stays. The zero value changes nothing.
type Change struct {
	Cloth    money.Rate `json:"cloth"`
	Notions  money.Rate `json:"notions"`
	Packing  money.Rate `json:"packing"`
	Wage     money.Rate `json:"wage"`
	Overhead money.Rate `json:"overhead"`
	// Minutes changes the run and set-up minutes of every operation.
	Minutes money.Rate `json:"minutes"`
	// Postage changes what a parcel costs the seller.
	Postage money.Rate `json:"postage"`
	// Batch multiplies the garments made together; 0 means 1. Half a garment counts as one
	// more, and there is always at least one. Cloth lengths stay as they are: a new plan of
	// the batch would change them.
	Batch money.Decimal `json:"batch"`
}

// Check returns everything that makes no sense of the change, as InputErrors, or nil: nothing
// can fall by more than all of it.
func (ch Change) Check() error {
	var c checker
	for _, part := range []struct {
		field string
		rate  money.Rate
	}{
		{"cloth", ch.Cloth},
		{"notions", ch.Notions},
		{"packing", ch.Packing},
		{"wage", ch.Wage},
		{"overhead", ch.Overhead},
		{"minutes", ch.Minutes},
		{"postage", ch.Postage},
	} {
		if part.rate.Fraction().Less(one.Neg()) {
			c.fail(part.field, "cannot fall by more than 100 %%; write -100 or more")
		}
	}
	c.notNegative("batch", ch.Batch)
	return c.err()
}

// Inputs returns the inputs as they would be after the change; in itself stays as it is.
func (ch Change) Inputs(in Inputs) (Inputs, error) {
	if err := ch.Check(); err != nil {
		return in, err
	}
	var c calc
	in = in.clone()
	for i := range in.Cloths {
		c.raisePrice(&in.Cloths[i].Price, ch.Cloth)
	}
	for i := range in.Notions {
		c.raisePrice(&in.Notions[i].Price, ch.Notions)
	}
	for i := range in.Packing {
		c.raisePrice(&in.Packing[i].Price, ch.Packing)
	}
	for i := range in.Operations {
		o := &in.Operations[i]
		c.raise(&o.Wage, ch.Wage)
		c.raiseNumber(&o.Run, ch.Minutes)
		c.raiseNumber(&o.SetUp, ch.Minutes)
	}
	c.raise(&in.Wage, ch.Wage)
	c.raise(&in.Overhead, ch.Overhead)
	if !ch.Batch.IsZero() {
		in.Garments = money.MaxDecimal(one, c.mul(in.Garments, ch.Batch).Round(0, money.HalfUp))
	}
	return in, c.err
}

// Channel returns the channel as it would be after the change.
func (ch Change) Channel(channel Channel) (Channel, error) {
	if err := ch.Check(); err != nil {
		return channel, err
	}
	var c calc
	c.raise(&channel.Postage.Cost, ch.Postage)
	return channel, c.err
}

func (c *calc) raiseNumber(d *money.Decimal, by money.Rate) {
	if !by.IsZero() {
		*d = c.mul(*d, c.add(one, by.Fraction()))
	}
}

func (c *calc) raise(a *money.Amount, by money.Rate) {
	if !by.IsZero() && *a != (money.Amount{}) {
		*a = c.times(*a, c.add(one, by.Fraction()))
	}
}

func (c *calc) raisePrice(p *LandedPrice, by money.Rate) { c.raise(&p.List, by) }

// Pricing is one garment with its cost sheet and its price in each channel.
type Pricing struct {
	Sheet  Sheet   `json:"sheet"`
	Quotes []Quote `json:"quotes"`
	// Typed are the maker's own prices by channel, as RepriceTyped was given them; nil if there are
	// none. Quotes are what is worked out all the same.
	Typed []money.Amount `json:"typed,omitempty"`
}

// Reprice makes the cost sheets of a whole line after a change, and prices each garment in
// every channel, in the order given. Shops are priced first, so that channels that sell at a
// multiple of the wholesale price have one: the first shop's.
// The error says at which garment or channel it failed.
func Reprice(line []Inputs, channels []Channel, change Change) ([]Pricing, error) {
	return RepriceTyped(line, channels, change, nil)
}

// RepriceTyped is Reprice where the maker typed prices: channels that sell at a multiple of the
// wholesale price take a typed one, if there is one.
func RepriceTyped(line []Inputs, channels []Channel, change Change, typed TypedPrices) ([]Pricing, error) {
	pricers, err := change.Pricers(channels)
	if err != nil {
		return nil, err
	}
	priced := make([]Pricing, len(line))
	for i := range line {
		own, err := typed.of(i, len(channels))
		if err != nil {
			return nil, err
		}
		if priced[i], err = priceOne(line[i], pricers, change, own); err != nil {
			return nil, fmt.Errorf("%s, %s, size %s: %w", line[i].Style, line[i].Colourway, line[i].Size, err)
		}
	}
	return priced, nil
}

// Pricers are the pricers of channels after the change.
func (ch Change) Pricers(channels []Channel) ([]*Pricer, error) {
	pricers := make([]*Pricer, len(channels))
	for i, channel := range channels {
		changed, err := ch.Channel(channel)
		if err != nil {
			return nil, err
		}
		if pricers[i], err = changed.Pricer(); err != nil {
			return nil, fmt.Errorf("channel %s: %w", channel.Name, err)
		}
	}
	return pricers, nil
}

func priceOne(in Inputs, pricers []*Pricer, change Change, typed []money.Amount) (Pricing, error) {
	if change != (Change{}) {
		var err error
		if in, err = change.Inputs(in); err != nil {
			return Pricing{}, err
		}
	}
	sheet, err := NewSheet(in)
	if err != nil {
		return Pricing{}, err
	}
	pricing := Pricing{Sheet: sheet, Quotes: make([]Quote, len(pricers)), Typed: typed}
	garment := sheet.Garment()
	for _, shops := range []bool{true, false} {
		for i, pricer := range pricers {
			if (pricer.channel.Kind == Shop) != shops {
				continue
			}
			if pricing.Quotes[i], err = pricer.Quote(garment); err != nil {
				return Pricing{}, fmt.Errorf("channel %s: %w", pricer.channel.Name, err)
			}
			if shops && garment.Wholesale.IsZero() {
				if garment.Wholesale, err = pricer.withoutTax(pricing.asked(i, pricing.Quotes[i].Price)); err != nil {
					return Pricing{}, err
				}
			}
		}
	}
	return pricing, nil
}

// asked is the price that is really asked in a channel where one was worked out.
func (p Pricing) asked(channel int, worked money.Amount) money.Amount {
	if typed, ok := p.TypedIn(channel); ok {
		return typed
	}
	return worked
}

// withoutTax returns a price on the tag without its tax, rounded half up.
func (p *Pricer) withoutTax(price money.Amount) (money.Amount, error) {
	if !p.channel.Tax.Included {
		return price, nil
	}
	return price.DivRound(p.onePlusTax, money.HalfUp)
}

// OnePrices finds, for each channel, one price for all sizes of one style and colourway that
// Reprice priced with the same channels and change. mix counts the sizes in a usual batch.
// Channels that sell at a multiple of the wholesale price take the first shop's one price, or for
// sizes for which the maker typed a price there, that.
func OnePrices(sizes []Pricing, channels []Channel, change Change, mix []money.Decimal, rule OnePriceRule) ([]OnePrice, error) {
	if len(mix) != len(sizes) {
		return nil, &InputError{Field: "mix", Message: fmt.Sprintf("has %d counts, but there are %d sizes", len(mix), len(sizes))}
	}
	found := make([]OnePrice, len(channels))
	pricers, err := change.Pricers(channels)
	if err != nil {
		return nil, err
	}
	var wholesale []money.Amount // by size, once the first shop is priced
	for _, shops := range []bool{true, false} {
		for i, channel := range channels {
			if (channel.Kind == Shop) != shops {
				continue
			}
			counted := make([]Counted, len(sizes))
			for n := range sizes {
				counted[n] = Counted{Garment: sizes[n].Sheet.Garment(), Count: mix[n]}
				if wholesale != nil {
					counted[n].Garment.Wholesale = wholesale[n]
				}
			}
			if found[i], err = pricers[i].OnePrice(counted, rule); err != nil {
				return nil, fmt.Errorf("channel %s: %w", channel.Name, err)
			}
			if !shops || wholesale != nil {
				continue
			}
			wholesale = make([]money.Amount, len(sizes))
			for n := range sizes {
				if wholesale[n], err = pricers[i].withoutTax(sizes[n].asked(i, found[i].Price)); err != nil {
					return nil, err
				}
			}
		}
	}
	return found, nil
}

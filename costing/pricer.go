package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Garment is what pricing needs to know of one garment in one size; Sheet.Garment makes it.
type Garment struct {
	Style     string `json:"style"`
	Colourway string `json:"colourway"`
	Size      string `json:"size"`
	// Cost is everything on the cost sheet, in whole minor units; Labour is the part of it
	// that pays the maker's hours, unpaid hours with them where the overhead pays them.
	Cost   money.Amount `json:"cost"`
	Labour money.Amount `json:"labour"`
	// Minutes are really worked: those paid on the garment, and the unpaid ones that go with them.
	Minutes money.Decimal `json:"minutes"`
	// Wage is paid per hour; a channel's handling minutes are paid by it.
	Wage money.Amount `json:"wage"`
	// Wholesale is the price to shops without tax, for TargetWholesale; nothing if there is none.
	Wholesale money.Amount `json:"wholesale"`
}

// Pricer solves the prices of one channel. It holds what the channel takes, added up once.
type Pricer struct {
	channel Channel
	// onePlusTax is 1 + tax; left is the share of the price without tax that fees leave.
	onePlusTax, left money.Decimal
	// items is the garments of a usual sale.
	items money.Decimal
	// minutes is the channel's own work on a garment.
	minutes money.Decimal
	// perItem and perSale are what is taken however high the price is.
	perItem, perSale money.Amount
}

// Pricer checks the channel and makes it ready to price. It fails with InputErrors where
// Check does.
func (ch Channel) Pricer() (*Pricer, error) {
	if err := ch.Check(); err != nil {
		return nil, err
	}
	var c calc
	p := &Pricer{
		channel:    ch,
		onePlusTax: c.add(one, ch.Tax.Rate.Fraction()),
		left:       ch.left(&c),
		items:      orOne(ch.ItemsPerSale),
		minutes:    ch.minutesEach(&c),
		perItem:    c.plus(ch.fixed(&c, PerItem), c.times(ch.Listing.Fee, orOne(ch.Listing.PerItem))),
		perSale:    c.plus(ch.fixed(&c, PerSale), ch.Postage.Cost),
	}
	return p, c.err
}

// Channel returns the channel whose prices p solves.
func (p *Pricer) Channel() Channel { return p.channel }

// PriceFormula is how a price is solved before rounding, as it is shown; Takes names its parts.
// With tax included the bracket is multiplied by 1 + tax before postage is taken off. For a
// margin, kept is the cost.
const PriceFormula = "(garments × (kept + per garment) + per sale − postage charged × left) ÷ (garments × (left − margin))"

// Takes is what a channel takes, added up.
type Takes struct {
	// OnGross and OnNet are the shares taken of what the buyer pays and of that without tax.
	OnGross money.Rate `json:"on_gross"`
	OnNet   money.Rate `json:"on_net"`
	// Left is the share of the price without tax that fees leave:
	// 1 − OnNet − OnGross × (1 + tax).
	Left money.Rate `json:"left"`
	// PerItem is taken for each garment, PerSale for all that one buyer takes, whatever the price.
	PerItem money.Amount `json:"per_item"`
	PerSale money.Amount `json:"per_sale"`
	// Items is the garments of a usual sale.
	Items money.Decimal `json:"items"`
}

// Takes returns what the channel takes, added up.
func (p *Pricer) Takes() Takes {
	var c calc // can't fail: Check added the same numbers
	return Takes{
		OnGross: money.Fraction(p.channel.feeRate(&c, OnGross)), OnNet: money.Fraction(p.channel.feeRate(&c, OnNet)),
		Left: money.Fraction(p.left), PerItem: p.perItem, PerSale: p.perSale, Items: p.items,
	}
}

// check refuses a garment that can't be priced here.
func (p *Pricer) check(g *Garment) error {
	var c checker
	currency := p.channel.Currency
	c.price("cost", g.Cost, currency)
	c.price("labour", g.Labour, currency)
	c.price("wage", g.Wage, currency)
	c.price("wholesale", g.Wholesale, currency)
	c.notNegative("minutes", g.Minutes)
	if g.Cost.Number().Less(g.Labour.Number()) {
		c.fail("labour", "is %s, more than the whole cost of %s", g.Labour, g.Cost)
	}
	return c.err()
}

// handling returns the pay for the channel's own work on a garment, in whole minor units.
func (p *Pricer) handling(c *calc, g *Garment) money.Amount {
	if p.minutes.IsZero() {
		return p.channel.Currency.Zero()
	}
	return c.overRounded(c.times(g.Wage, p.minutes), sixty, money.HalfUp)
}

// solved is a price as a fraction, so that it is rounded only once.
type solved struct {
	numerator   money.Amount
	denominator money.Decimal
}

// exact returns the price to 19 digits.
func (s solved) exact(c *calc) money.Amount { return c.over(s.numerator, s.denominator) }

// up returns the price rounded up to the minor unit, never below nothing.
func (s solved) up(c *calc) money.Amount {
	if s.numerator.Sign() <= 0 {
		return s.numerator.Currency().Zero()
	}
	return c.overRounded(s.numerator, s.denominator, money.Up)
}

// priceToKeep solves the price on the tag at which exactly kept is left of one garment's
// share of a usual sale, less margin × the price without tax.
//
// With n the price without tax, C postage charged and without tax, k garments in a sale, L the
// share that fees leave and f, F what is taken per garment and per sale:
// (n + C/k) × L − f − F/k − margin × n = kept, so n = (k (kept + f) + F − C L) ÷ (k (L − margin)).
func (p *Pricer) priceToKeep(c *calc, kept money.Amount, margin money.Decimal) solved {
	numerator := c.plus(c.times(c.plus(kept, p.perItem), p.items), p.perSale)
	if p.channel.Tax.Included {
		numerator = c.times(numerator, p.onePlusTax)
	}
	numerator = c.minus(numerator, c.times(p.channel.Postage.Charged, p.left))
	return solved{numerator, c.mul(p.items, c.sub(p.left, margin))}
}

// wanted solves the price that reaches the channel's target.
func (p *Pricer) wanted(c *calc, g *Garment, cost money.Amount) (solved, error) {
	target := &p.channel.Target
	switch target.Kind {
	case TargetMarkup:
		return p.priceToKeep(c, c.times(cost, c.add(one, target.Rate.Fraction())), money.Decimal{}), nil
	case TargetMargin:
		return p.priceToKeep(c, cost, target.Rate.Fraction()), nil
	case TargetProfit:
		return p.priceToKeep(c, c.plus(cost, target.Amount), money.Decimal{}), nil
	case TargetHourly:
		pay := c.overRounded(c.times(target.Amount, c.add(g.Minutes, p.minutes)), sixty, money.Up)
		return p.priceToKeep(c, c.plus(c.minus(g.Cost, g.Labour), pay), money.Decimal{}), nil
	case TargetWholesale:
		if g.Wholesale.Sign() <= 0 {
			return solved{}, &InputError{Field: "wholesale", Message: fmt.Sprintf(
				"%s sells at a multiple of the wholesale price, but this garment has none: price it for shops first", p.channel.Name)}
		}
		price := c.times(g.Wholesale, target.Multiple)
		if p.channel.Tax.Included {
			price = c.times(price, p.onePlusTax)
		}
		return solved{price, one}, nil
	}
	return p.priceToKeep(c, cost, money.Decimal{}), nil
}

// Floor returns the lowest price on the tag, in whole minor units, at which a usual sale
// covers everything: the garment's cost and what the channel takes.
func (p *Pricer) Floor(g Garment) (money.Amount, error) {
	if err := p.check(&g); err != nil {
		return money.Amount{}, err
	}
	var c calc
	floor := p.priceToKeep(&c, c.plus(g.Cost, p.handling(&c, &g)), money.Decimal{}).up(&c)
	return floor, c.err
}

// PriceToKeep returns the price on the tag at which amount is left of a usual sale after tax,
// fees and postage: exactly, and rounded up to the minor unit.
func (p *Pricer) PriceToKeep(amount money.Amount) (exact, price money.Amount, err error) {
	var c calc
	s := p.priceToKeep(&c, amount, money.Decimal{})
	return s.exact(&c), s.up(&c), c.err
}

// Quote is the price of one garment in one channel, and what it does.
type Quote struct {
	Garment Garment `json:"garment"`
	Channel string  `json:"channel"`
	// Exact reaches the target to 19 digits; Wanted is that rounded up to the minor unit.
	Exact  money.Amount `json:"exact"`
	Wanted money.Amount `json:"wanted"`
	// Floor is the lowest price that covers everything. Price is never below it.
	Floor money.Amount `json:"floor"`
	// Price is on the tag: the higher of Wanted and Floor, rounded up to the price points.
	Price money.Amount `json:"price"`
	// Sale is what a usual sale at Price leaves.
	Sale Sale `json:"sale"`
	// Target and PricePoint are the channel's, for Why.
	Target     Target           `json:"target"`
	PricePoint money.PricePoint `json:"price_point"`
	// TaxIncluded: the price holds the tax, so that it is one of the parts of the price.
	TaxIncluded bool `json:"tax_included"`
	// SharedBy says whose need sets the price, where all sizes are sold at one; see OnePrice.Asked.
	SharedBy string `json:"shared_by,omitempty"`
	// Worked is the price that was worked out where the maker typed Price; none elsewhere.
	Worked money.Amount `json:"worked,omitzero"`
}

// RaisedToFloor tells whether the target alone would have sold below cost.
func (q Quote) RaisedToFloor() bool { return q.Wanted.Number().Less(q.Floor.Number()) }

// Quote prices one garment. It fails with InputErrors for a garment that can't be priced here,
// and with money's errors where an amount is too large.
func (p *Pricer) Quote(g Garment) (Quote, error) {
	if err := p.check(&g); err != nil {
		return Quote{}, err
	}
	var c calc
	cost := c.plus(g.Cost, p.handling(&c, &g))
	wanted, err := p.wanted(&c, &g, cost)
	if err != nil {
		return Quote{}, err
	}
	q := Quote{
		Garment: g, Channel: p.channel.Name,
		Exact: wanted.exact(&c), Wanted: wanted.up(&c),
		Floor:  p.priceToKeep(&c, cost, money.Decimal{}).up(&c),
		Target: p.channel.Target, PricePoint: p.channel.PricePoint, TaxIncluded: p.channel.Tax.Included,
	}
	if c.err != nil {
		return Quote{}, c.err
	}
	higher, err := money.Max(q.Wanted, q.Floor)
	if err != nil {
		return Quote{}, err
	}
	if q.Price, err = money.RoundUpTo(higher, p.channel.PricePoint); err != nil {
		return Quote{}, err
	}
	q.Sale, err = p.Sale(g, q.Price)
	return q, err
}

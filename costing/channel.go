package costing

import (
	"yardwright/costing/money"
)

// ChannelKind says how a channel sells.
type ChannelKind int

// The kinds of channel.
const (
	// Fair sells face to face, usually with a card fee.
	Fair ChannelKind = iota
	// Shop buys at wholesale and sells on.
	Shop
	// Online sells at a distance, with fees and postage.
	Online
)

var channelKindNames = []string{"fair", "shop", "online"}

// String returns fair, shop or online.
func (k ChannelKind) String() string { return nameOf("kind of channel", channelKindNames, k) }

// MarshalText writes what String writes.
func (k ChannelKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads what String writes.
func (k *ChannelKind) UnmarshalText(text []byte) (err error) {
	*k, err = valueNamed[ChannelKind]("kind of channel", channelKindNames, string(text))
	return err
}

// FeeBase says what a percentage fee is taken on.
type FeeBase int

// The bases of percentage fees.
const (
	// OnGross is everything the buyer pays, tax and charged postage included.
	OnGross FeeBase = iota
	// OnNet is that without the tax.
	OnNet
)

var feeBaseNames = []string{"gross", "net"}

// String returns gross or net.
func (b FeeBase) String() string { return nameOf("base of a fee", feeBaseNames, b) }

// MarshalText writes what String writes.
func (b FeeBase) MarshalText() ([]byte, error) { return []byte(b.String()), nil }

// UnmarshalText reads what String writes.
func (b *FeeBase) UnmarshalText(text []byte) (err error) {
	*b, err = valueNamed[FeeBase]("base of a fee", feeBaseNames, string(text))
	return err
}

// FeePer says what a fixed fee is taken for.
type FeePer int

// What fixed fees are taken for.
const (
	// PerSale is once for all that a buyer takes at once.
	PerSale FeePer = iota
	// PerItem is once for every garment.
	PerItem
)

var feePerNames = []string{"sale", "item"}

// String returns sale or item.
func (p FeePer) String() string { return nameOf("unit of a fee", feePerNames, p) }

// MarshalText writes what String writes.
func (p FeePer) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads what String writes.
func (p *FeePer) UnmarshalText(text []byte) (err error) {
	*p, err = valueNamed[FeePer]("unit of a fee", feePerNames, string(text))
	return err
}

// Fee is what a channel takes from a sale: a share of On, a fixed amount Per sale or item, or
// both. Several shares of one base add up.
type Fee struct {
	Name  string       `json:"name"`
	Rate  money.Rate   `json:"rate"`
	On    FeeBase      `json:"on"`
	Fixed money.Amount `json:"fixed"`
	Per   FeePer       `json:"per"`
}

// Listing is what it takes to show a garment until it is sold.
type Listing struct {
	Fee money.Amount `json:"fee"`
	// PerItem is how many listings, renewals included, one sold garment takes; 0 means 1.
	PerItem money.Decimal `json:"per_item"`
}

// Postage of one sale. Sent at the seller's cost: Cost alone. Paid by the buyer: Charged too.
type Postage struct {
	// Cost is what sending costs the seller, packing material for the parcel included.
	Cost money.Amount `json:"cost"`
	// Charged is what the buyer pays for postage on top of the price; its tax is included or
	// added as the price's is.
	Charged money.Amount `json:"charged"`
}

// Tax is the sales tax or VAT of a channel; the zero value is no tax.
type Tax struct {
	Rate money.Rate `json:"rate"`
	// Included says that the price on the tag holds the tax; else it is added at the till.
	Included bool `json:"included"`
}

// Terms are what a shop agrees to.
type Terms struct {
	// Days is the time to pay; 0 is on delivery.
	Days int `json:"days"`
	// Discount is for payment within DiscountDays. Prices count on its being taken.
	Discount     money.Rate `json:"discount"`
	DiscountDays int        `json:"discount_days"`
	// MinimumOrder is the least order, at wholesale prices.
	MinimumOrder money.Amount `json:"minimum_order"`
}

// Short returns how much an order at wholesale prices lacks to the minimum order; nothing if
// it reaches it.
func (t Terms) Short(order money.Amount) (money.Amount, error) {
	short, err := t.MinimumOrder.Sub(order)
	if err != nil || short.Sign() <= 0 {
		return order.Currency().Zero(), err
	}
	return short, nil
}

// TargetKind says what a price is to reach.
type TargetKind int

// The kinds of target. What is kept is what is left of a sale after tax, fees and postage.
const (
	// TargetCost keeps the cost and no more: the floor price.
	TargetCost TargetKind = iota
	// TargetMarkup keeps cost × (1 + Rate).
	TargetMarkup
	// TargetMargin makes profit Rate of the price without tax.
	TargetMargin
	// TargetHourly pays Amount for each hour that the maker works on the garment, instead of
	// the wage on the cost sheet.
	TargetHourly
	// TargetProfit keeps Amount more than the cost.
	TargetProfit
	// TargetWholesale sells at Multiple × the wholesale price, both without tax; 2 is keystone.
	TargetWholesale
)

var targetKindNames = []string{"cost", "mark-up", "margin", "hourly", "profit", "wholesale"}

// String returns cost, mark-up, margin, hourly, profit or wholesale.
func (k TargetKind) String() string { return nameOf("target", targetKindNames, k) }

// MarshalText writes what String writes.
func (k TargetKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads what String writes.
func (k *TargetKind) UnmarshalText(text []byte) (err error) {
	*k, err = valueNamed[TargetKind]("target", targetKindNames, string(text))
	return err
}

// Target is what a channel's prices are to reach; see TargetKind for which field counts.
type Target struct {
	Kind     TargetKind    `json:"kind"`
	Rate     money.Rate    `json:"rate"`
	Amount   money.Amount  `json:"amount"`
	Multiple money.Decimal `json:"multiple"`
}

// MarkupTimes returns the mark-up that sells at times × the cost: 2 is 100 %.
func MarkupTimes(times money.Decimal) (Target, error) {
	rate, err := times.Sub(one)
	return Target{Kind: TargetMarkup, Rate: money.Fraction(rate)}, err
}

// Formula returns how the channel's price is solved, as it is shown.
func (t Target) Formula() string {
	switch t.Kind {
	case TargetMarkup:
		return "kept = cost × (1 + mark-up)"
	case TargetMargin:
		return "kept − cost = margin × price without tax"
	case TargetHourly:
		return "kept = cost without labour + hours × money per hour"
	case TargetProfit:
		return "kept = cost + profit"
	case TargetWholesale:
		return "price without tax = multiple × wholesale price"
	}
	return "kept = cost"
}

// Channel is one way of selling, with what it takes and what its prices are to reach.
type Channel struct {
	Name     string         `json:"name"`
	Kind     ChannelKind    `json:"kind"`
	Currency money.Currency `json:"currency"`
	Fees     []Fee          `json:"fees"`
	Listing  Listing        `json:"listing"`
	Postage  Postage        `json:"postage"`
	Tax      Tax            `json:"tax"`
	Terms    Terms          `json:"terms"`
	// ItemsPerSale is how many garments one buyer usually takes: fees and postage per sale are
	// shared by them. 0 means 1.
	ItemsPerSale money.Decimal `json:"items_per_sale"`
	// HandlingMinutes is work on each garment that only this channel asks for (pictures,
	// parcels), paid at the wage of the cost sheet.
	HandlingMinutes money.Decimal `json:"handling_minutes"`
	// Stall is a day's selling at a fair; its hours are shared by the garments that it usually sells,
	// and paid at the wage too.
	Stall      Stall            `json:"stall"`
	Target     Target           `json:"target"`
	PricePoint money.PricePoint `json:"price_point"`
}

// Stall is a usual day at a fair.
type Stall struct {
	// Hours of all hands: packing, the way, selling. 0 means that none are counted.
	Hours money.Decimal `json:"hours"`
	// Sales is how many garments such a day sells.
	Sales money.Decimal `json:"sales"`
}

// MinutesEach is the work on each garment that only this channel asks for: HandlingMinutes, and its
// share of the hours of a day at the stall. It fails where that is too large a number.
func (ch *Channel) MinutesEach() (money.Decimal, error) {
	var c calc
	minutes := ch.minutesEach(&c)
	return minutes, c.err
}

func (ch *Channel) minutesEach(c *calc) money.Decimal {
	if ch.Stall.Hours.IsZero() {
		return ch.HandlingMinutes
	}
	return c.add(ch.HandlingMinutes, c.div(c.mul(ch.Stall.Hours, sixty), ch.Stall.Sales))
}

// Check returns everything that keeps the channel from having prices, as InputErrors, or nil.
func (ch Channel) Check() error {
	var c checker
	if ch.Currency.IsZero() {
		c.fail("currency", "is missing: choose the currency of the channel")
	}
	known(&c, "kind", ch.Kind, channelKindNames)
	for i, fee := range ch.Fees {
		c.enter("fees", i)
		known(&c, "on", fee.On, feeBaseNames)
		known(&c, "per", fee.Per, feePerNames)
		if fee.Name == "" {
			c.fail("name", "is missing: say what the fee is for")
		}
		c.share("rate", fee.Rate)
		c.price("fixed", fee.Fixed, ch.Currency)
	}
	c.leave()
	c.price("listing.fee", ch.Listing.Fee, ch.Currency)
	c.notNegative("listing.per_item", ch.Listing.PerItem)
	c.price("postage.cost", ch.Postage.Cost, ch.Currency)
	c.price("postage.charged", ch.Postage.Charged, ch.Currency)
	c.addition("tax.rate", ch.Tax.Rate)
	c.share("terms.discount", ch.Terms.Discount)
	c.price("terms.minimum_order", ch.Terms.MinimumOrder, ch.Currency)
	if !ch.ItemsPerSale.IsZero() && ch.ItemsPerSale.Less(one) {
		c.fail("items_per_sale", "must be 1 or more, but is %s", ch.ItemsPerSale)
	}
	c.notNegative("handling_minutes", ch.HandlingMinutes)
	c.notNegative("stall.hours", ch.Stall.Hours)
	if c.notNegative("stall.sales", ch.Stall.Sales); ch.Stall.Hours.Sign() > 0 && ch.Stall.Sales.IsZero() {
		c.fail("stall.sales", "is missing: write how many garments such a day usually sells")
	}
	if err := ch.PricePoint.Check(ch.Currency); err != nil {
		c.fail("price_point", "%s", err)
	}
	ch.checkTarget(&c)
	if len(c.found) == 0 {
		ch.checkReachable(&c)
	}
	return c.err()
}

func (ch *Channel) checkTarget(c *checker) {
	switch ch.Target.Kind {
	case TargetCost:
	case TargetMarkup:
		c.addition("target.rate", ch.Target.Rate)
	case TargetMargin:
		c.share("target.rate", ch.Target.Rate)
	case TargetHourly, TargetProfit:
		c.price("target.amount", ch.Target.Amount, ch.Currency)
	case TargetWholesale:
		c.positive("target.multiple", ch.Target.Multiple)
	default:
		c.fail("target.kind", "is not known: choose cost, mark-up, margin, hourly, profit or wholesale")
	}
}

// checkReachable refuses shares that together leave nothing of any price.
func (ch *Channel) checkReachable(c *checker) {
	var arithmetic calc
	left := ch.left(&arithmetic)
	switch {
	case arithmetic.err != nil:
		c.fail("fees", "%s", arithmetic.err)
	case left.Sign() <= 0:
		c.fail("fees", "no price can pay: tax of %s and fees of %s of the price with tax and %s of the price without take all of it; "+
			"fees on the price with tax must stay below 1 ÷ (1 + tax)",
			written(ch.Tax.Rate), written(money.Fraction(ch.feeRate(&arithmetic, OnGross))), written(money.Fraction(ch.feeRate(&arithmetic, OnNet))))
	case ch.Target.Kind == TargetMargin && left.Cmp(ch.Target.Rate.Fraction()) <= 0:
		c.fail("target.rate", "no price can reach a margin of %s: after fees only %s of the price without tax is left",
			written(ch.Target.Rate), written(money.Fraction(left).Round(2)))
	}
}

// feeRate adds the shares that are taken on a base; a discount for prompt payment counts as
// one taken on everything the buyer pays.
func (ch *Channel) feeRate(c *calc, base FeeBase) money.Decimal {
	var total money.Decimal
	for i := range ch.Fees {
		if ch.Fees[i].On == base {
			total = c.add(total, ch.Fees[i].Rate.Fraction())
		}
	}
	if base == OnGross {
		total = c.add(total, ch.Terms.Discount.Fraction())
	}
	return total
}

// left returns the share of the price without tax that fees leave:
// 1 − fees on net − fees on gross × (1 + tax).
func (ch *Channel) left(c *calc) money.Decimal {
	onGross := c.mul(ch.feeRate(c, OnGross), c.add(one, ch.Tax.Rate.Fraction()))
	return c.sub(c.sub(one, ch.feeRate(c, OnNet)), onGross)
}

// fixed adds the fixed fees of one kind.
func (ch *Channel) fixed(c *calc, per FeePer) money.Amount {
	total := ch.Currency.Zero()
	for i := range ch.Fees {
		if ch.Fees[i].Per == per {
			total = c.plus(total, ch.Fees[i].Fixed)
		}
	}
	return total
}

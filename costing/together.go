package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// OnePriceRule says what one price for several sizes has to pay.
type OnePriceRule int

const (
	// EverySizePays takes the price of the dearest size: each size reaches the target.
	EverySizePays OnePriceRule = iota
	// MixPays takes the price that the usual mix of sizes needs: all together reach the
	// target, and large sizes may not.
	MixPays
)

var onePriceNames = []string{"every size pays", "the mix pays"}

// String returns every size pays or the mix pays.
func (r OnePriceRule) String() string { return nameOf("rule for one price", onePriceNames, r) }

// MarshalText writes what String writes.
func (r OnePriceRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *OnePriceRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[OnePriceRule]("rule for one price", onePriceNames, string(text))
	return err
}

// Counted is a number of one garment: in a usual mix of sizes, or in a basket.
type Counted struct {
	Garment Garment       `json:"garment"`
	Count   money.Decimal `json:"count"`
}

// OnePrice is one price for several sizes and what each of them does at it.
type OnePrice struct {
	Rule OnePriceRule `json:"rule"`
	// Price is asked for every size.
	Price money.Amount `json:"price"`
	// Floor is the highest floor of a size: below it, that size loses money.
	Floor money.Amount `json:"floor"`
	// Quotes are each size's own price, in the order given; Sales is what each leaves at Price.
	Quotes []Quote `json:"quotes"`
	Sales  []Sale  `json:"sales"`
	// Mix is what the usual mix leaves per garment at Price; MixQuote is the mean garment's own
	// price.
	Mix      Sale  `json:"mix"`
	MixQuote Quote `json:"mix_quote"`
}

// OnePrice finds one price for several sizes. The counts are the usual mix; they must not be
// negative, nor all 0.
func (p *Pricer) OnePrice(sizes []Counted, rule OnePriceRule) (OnePrice, error) {
	if err := checkCounts("sizes", sizes); err != nil {
		return OnePrice{}, err
	}
	result := OnePrice{Rule: rule, Price: p.channel.Currency.Zero(), Floor: p.channel.Currency.Zero()}
	var c calc
	for i, size := range sizes {
		quote, err := p.Quote(size.Garment)
		if err != nil {
			return OnePrice{}, fmt.Errorf("sizes[%d]: %w", i, err)
		}
		result.Quotes = append(result.Quotes, quote)
		result.Floor = larger(&c, result.Floor, quote.Floor)
		result.Price = larger(&c, result.Price, quote.Price)
	}
	average, err := averageGarment(sizes)
	if err != nil {
		return OnePrice{}, err
	}
	mix, err := p.Quote(average)
	if err != nil {
		return OnePrice{}, err
	}
	result.MixQuote = mix
	if rule == MixPays {
		result.Price = mix.Price
	}
	for _, size := range sizes {
		sale, err := p.Sale(size.Garment, result.Price)
		c.keep(err)
		result.Sales = append(result.Sales, sale)
	}
	result.Mix, err = p.Sale(average, result.Price)
	c.keep(err)
	return result, c.err
}

// Asked is the quote of one size with the one price and what the size leaves at it, for Why. Where
// the size would have that price by itself, its own need is why.
func (o OnePrice) Asked(size int) Quote {
	q := o.Quotes[size]
	if q.Price == o.Price {
		return q
	}
	q.Price, q.Sale, q.SharedBy = o.Price, o.Sales[size], "the usual mix of sizes"
	if o.Rule == EverySizePays {
		for _, dearest := range o.Quotes {
			if dearest.Price == o.Price {
				q.SharedBy = "size " + dearest.Garment.Size
				break
			}
		}
	}
	return q
}

func larger(c *calc, a, b money.Amount) money.Amount {
	if c.less(a, b) {
		return b
	}
	return a
}

func checkCounts(list string, counted []Counted) error {
	var c checker
	var all bool
	for i, one := range counted {
		c.enter(list, i)
		c.notNegative("count", one.Count)
		all = all || one.Count.Sign() > 0
	}
	c.leave()
	if !all {
		c.fail(list, "needs a count for at least one garment")
	}
	return c.err()
}

// averageGarment returns the mean garment of a mix. Its cost is rounded up, and labour and
// wholesale price down, to the minor unit, so that a price that pays it pays the mix.
func averageGarment(mix []Counted) (Garment, error) {
	var c calc
	var count, minutes money.Decimal
	var cost, labour, wholesale, wages money.Amount
	for _, one := range mix {
		g, n := one.Garment, one.Count
		count = c.add(count, n)
		minutes = c.add(minutes, c.mul(g.Minutes, n))
		cost = c.plus(cost, c.times(g.Cost, n))
		labour = c.plus(labour, c.times(g.Labour, n))
		wholesale = c.plus(wholesale, c.times(g.Wholesale, n))
		wages = c.plus(wages, c.times(g.Wage, n))
	}
	first := mix[0].Garment
	return Garment{
		Style: first.Style, Colourway: first.Colourway, Size: "mix",
		Cost: c.overRounded(cost, count, money.Up), Labour: c.overRounded(labour, count, money.Down),
		Minutes: c.div(minutes, count), Wage: c.over(wages, count), Wholesale: c.overRounded(wholesale, count, money.Up),
	}, c.err
}

// BasketItem is a number of one garment in a basket, at its price on the tag.
type BasketItem struct {
	Counted
	Price money.Amount `json:"price"`
}

// Basket is one sale of several garments: what is taken per sale is taken once.
type Basket struct {
	Sale Sale `json:"sale"`
	// Kept shares what is kept out to the items by what they sell for, to the cent.
	Kept []money.Amount `json:"kept"`
	// Saved is how much more is kept than if each garment were sold alone; nothing or less
	// where selling together saves nothing.
	Saved money.Amount `json:"saved"`
}

// Basket returns what one sale of several garments leaves. Counts must be whole.
func (p *Pricer) Basket(items []BasketItem, odd money.OddUnit) (Basket, error) {
	if err := p.checkBasket(items); err != nil {
		return Basket{}, err
	}
	var c calc
	var load burden
	total, alone := p.channel.Currency.Zero(), p.channel.Currency.Zero()
	worth := make([]money.Decimal, len(items))
	for i := range items {
		item := &items[i]
		selling := c.times(item.Price, item.Count)
		total, worth[i] = c.plus(total, selling), selling.Number()
		load.add(&c, p, &item.Garment, item.Count)
		var single burden
		single.add(&c, p, &item.Garment, one)
		alone = c.plus(alone, c.times(p.sale(&c, item.Price, single, one).Kept, item.Count))
	}
	basket := Basket{Sale: p.sale(&c, total, load, one)}
	basket.Saved = c.minus(basket.Sale.Kept, alone)
	if c.err != nil {
		return Basket{}, c.err
	}
	if total.IsZero() {
		for i := range items {
			worth[i] = items[i].Count
		}
	}
	var err error
	basket.Kept, err = money.AllocateBy(odd, basket.Sale.Kept, worth)
	return basket, err
}

func (p *Pricer) checkBasket(items []BasketItem) error {
	var c checker
	counted := make([]Counted, len(items))
	for i, item := range items {
		counted[i] = item.Counted
		c.enter("items", i)
		c.price("price", item.Price, p.channel.Currency)
		if !item.Count.IsInt() {
			c.fail("count", "must be a whole number, but is %s", item.Count)
		}
		if err := p.check(&item.Garment); err != nil {
			c.fail("garment", "%s", err)
		}
	}
	if err := c.err(); err != nil {
		return err
	}
	return checkCounts("items", counted)
}

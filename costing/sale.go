package costing

import (
	"slices"

	"yardwright/costing/money"
)

// Taken is one part of what a buyer pays that doesn't stay with the maker.
type Taken struct {
	Name   string       `json:"name"`
	Amount money.Amount `json:"amount"` // in whole minor units, see Sale
}

// Names of what is taken besides the channel's fees.
const (
	namePrompt  = "Prompt payment discount"
	nameListing = "Listing"
	namePostage = "Postage"
)

// Sale is what one garment, or one basket, leaves at a price.
// Gross = Tax + everything in Taken + Kept, to the cent: what doesn't stay with the maker is rounded
// half up as a whole and Kept is the remainder; Taken shares out by largest remainder what of it is
// not tax.
type Sale struct {
	// Price is on the tag, times the garments; Postage is what the buyer pays on top for it.
	Price   money.Amount `json:"price"`
	Postage money.Amount `json:"postage"`
	// Gross is everything the buyer pays; Net is that without Tax.
	Gross money.Amount `json:"gross"`
	Tax   money.Amount `json:"tax"`
	Net   money.Amount `json:"net"`
	Taken []Taken      `json:"taken"`
	Kept  money.Amount `json:"kept"`
	// Rounding is nothing, unless there is tax and nothing else is taken: then Tax is that of the
	// price, and a coin may be left over or lacking.
	Rounding money.Amount `json:"rounding"`
	// KeptExact is Kept before rounding, to 19 digits.
	KeptExact money.Amount `json:"kept_exact"`
	// Cost is the cost sheets' total and the pay for handling; Profit is Kept − Cost.
	Cost   money.Amount `json:"cost"`
	Profit money.Amount `json:"profit"`
	// Minutes are worked, handling included; Hourly is what each hour of them earns:
	// (kept − cost without labour) ÷ hours, rounded half up. It may be negative.
	Minutes money.Decimal `json:"minutes"`
	Hourly  money.Amount  `json:"hourly"`
	// Margin is profit ÷ price without tax and postage, Markup is profit ÷ cost; 0 % where
	// that is nothing.
	Margin money.Rate `json:"margin"`
	Markup money.Rate `json:"markup"`
}

// BelowCost tells whether the sale loses money.
func (s Sale) BelowCost() bool { return s.Profit.Sign() < 0 }

// burden is what the garments of a sale cost and how long they took.
type burden struct {
	garments            money.Decimal
	cost, withoutLabour money.Amount
	minutes             money.Decimal
}

// add puts count garments of one kind into the burden.
func (b *burden) add(c *calc, p *Pricer, g *Garment, count money.Decimal) {
	handling := p.handling(c, g)
	b.garments = c.add(b.garments, count)
	b.cost = c.plus(b.cost, c.times(c.plus(g.Cost, handling), count))
	b.withoutLabour = c.plus(b.withoutLabour, c.times(c.minus(g.Cost, g.Labour), count))
	b.minutes = c.add(b.minutes, c.mul(c.add(g.Minutes, p.minutes), count))
}

// Sale returns what one garment leaves when it is sold at a price on the tag, as its share of
// a usual sale.
func (p *Pricer) Sale(g Garment, price money.Amount) (Sale, error) {
	var check checker
	check.price("price", price, p.channel.Currency)
	if err := check.err(); err != nil {
		return Sale{}, err
	}
	if err := p.check(&g); err != nil {
		return Sale{}, err
	}
	var c calc
	var load burden
	load.add(&c, p, &g, one)
	sale := p.sale(&c, price, load, p.items)
	return sale, c.err
}

// sale shares out what a buyer pays for the garments of a burden at the tag price total;
// what is taken per sale is divided by items.
func (p *Pricer) sale(c *calc, total money.Amount, load burden, items money.Decimal) Sale {
	postage := c.over(p.channel.Postage.Charged, items)
	priced := c.plus(total, postage)
	gross, net := priced, priced
	if p.channel.Tax.Included {
		net = c.over(priced, p.onePlusTax)
	} else {
		gross = c.times(priced, p.onePlusTax)
	}
	taken, sum := p.taken(c, gross, net, load.garments, items)
	kept := c.minus(net, sum)
	sale := Sale{
		Price: total, Postage: postage.Round(money.HalfUp), Gross: gross.Round(money.HalfUp),
		Tax: c.minus(gross, net).Round(money.HalfUp), Taken: taken,
		KeptExact: kept, Cost: load.cost, Minutes: load.minutes,
	}
	sale.Kept = c.minus(sale.Gross, c.minus(sale.Gross, kept).Round(money.HalfUp))
	sale.Net = c.minus(sale.Gross, sale.Tax)
	sale.Rounding = c.shareOut(taken, c.minus(sale.Net, sale.Kept))
	sale.Profit = c.minus(sale.Kept, sale.Cost)
	p.earnings(c, &sale, load)
	return sale
}

// shareOut rounds what is taken so that it sums to a total: down, and then up again those that lost
// most, ties to the first. What nothing is there to take comes back.
func (c *calc) shareOut(taken []Taken, total money.Amount) (rest money.Amount) {
	rest = total
	if len(taken) == 0 || c.err != nil {
		return rest
	}
	coin := money.FromMinor(1, total.Currency())
	lost := make([]money.Decimal, len(taken))
	for i, part := range taken {
		taken[i].Amount = part.Amount.Round(money.Down)
		lost[i] = c.minus(part.Amount, taken[i].Amount).Number()
		rest = c.minus(rest, taken[i].Amount)
	}
	order := make([]int, len(taken))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return lost[b].Cmp(lost[a]) })
	for n := 0; rest.Sign() != 0 && c.err == nil; n++ {
		at := &taken[order[n%len(order)]].Amount
		if rest.Sign() < 0 { // the tax was rounded up by more than all of these down
			*at, rest = c.minus(*at, coin), c.plus(rest, coin)
			continue
		}
		*at, rest = c.plus(*at, coin), c.minus(rest, coin)
	}
	return rest
}

// taken lists fees, listing and postage, exactly, and adds them up.
func (p *Pricer) taken(c *calc, gross, net money.Amount, garments, items money.Decimal) ([]Taken, money.Amount) {
	ch := &p.channel
	list := make([]Taken, 0, len(ch.Fees)+3)
	sum := ch.Currency.Zero()
	take := func(name string, exact money.Amount) {
		if !exact.IsZero() {
			sum = c.plus(sum, exact)
			list = append(list, Taken{name, exact})
		}
	}
	for i := range ch.Fees {
		fee := &ch.Fees[i]
		base := gross
		if fee.On == OnNet {
			base = net
		}
		exact := c.times(base, fee.Rate.Fraction())
		if fee.Per == PerSale {
			exact = c.plus(exact, c.over(fee.Fixed, items))
		} else {
			exact = c.plus(exact, c.times(fee.Fixed, garments))
		}
		take(fee.Name, exact)
	}
	take(namePrompt, c.times(gross, ch.Terms.Discount.Fraction()))
	take(nameListing, c.times(c.times(ch.Listing.Fee, orOne(ch.Listing.PerItem)), garments))
	take(namePostage, c.over(ch.Postage.Cost, items))
	return list, sum
}

// earnings fills in what the sale pays per hour, and profit as shares.
func (p *Pricer) earnings(c *calc, sale *Sale, load burden) {
	sale.Hourly = p.channel.Currency.Zero()
	if load.minutes.Sign() > 0 {
		sale.Hourly = c.overRounded(c.times(c.minus(sale.Kept, load.withoutLabour), sixty), load.minutes, money.HalfUp)
	}
	if load.cost.Sign() > 0 {
		sale.Markup = money.Fraction(c.div(sale.Profit.Number(), load.cost.Number()))
	}
	price := sale.Price.Number()
	if p.channel.Tax.Included {
		price = c.div(price, p.onePlusTax)
	}
	if price.Sign() > 0 {
		sale.Margin = money.Fraction(c.div(sale.Profit.Number(), price))
	}
}

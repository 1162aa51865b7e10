package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Profit is what a price leaves over a cost, as an amount, as mark-up (÷ cost) and as margin
// (÷ price).
type Profit struct {
	Profit money.Amount `json:"profit"`
	Markup money.Rate   `json:"markup"`
	Margin money.Rate   `json:"margin"`
}

// ProfitOf compares a price with a cost; both must be more than nothing.
func ProfitOf(cost, price money.Amount) (Profit, error) {
	var check checker
	check.positive("cost", cost.Number())
	check.positive("price", price.Number())
	check.same("price", price, cost)
	if err := check.err(); err != nil {
		return Profit{}, err
	}
	var c calc
	profit := c.minus(price, cost)
	return Profit{
		Profit: profit,
		Markup: money.Fraction(c.div(profit.Number(), cost.Number())),
		Margin: money.Fraction(c.div(profit.Number(), price.Number())),
	}, c.err
}

// MarginFromMarkup returns markup ÷ (1 + markup). A negative mark-up is a loss; it must be more
// than −100 %, at which there is no price to have a margin.
func MarginFromMarkup(markup money.Rate) (money.Rate, error) {
	if markup.Fraction().Cmp(one.Neg()) <= 0 {
		return money.Rate{}, InputErrors{{Field: "markup", Message: fmt.Sprintf("must be more than -100 %%, but is %s", written(markup))}}
	}
	var c calc
	margin := c.div(markup.Fraction(), c.add(one, markup.Fraction()))
	return money.Fraction(margin), c.err
}

// MarkupFromMargin returns margin ÷ (1 − margin); the margin must be below 100 % and is negative
// for a loss.
func MarkupFromMargin(margin money.Rate) (money.Rate, error) {
	var check checker
	check.below("margin", margin)
	if err := check.err(); err != nil {
		return money.Rate{}, err
	}
	var c calc
	markup := c.div(margin.Fraction(), c.sub(one, margin.Fraction()))
	return money.Fraction(markup), c.err
}

// PriceAtMarkup returns cost × (1 + markup), rounded by the mode. A negative mark-up sells below
// cost; it must be at least −100 %.
func PriceAtMarkup(cost money.Amount, markup money.Rate, mode money.Rounding) (money.Amount, error) {
	var check checker
	check.loss("markup", markup)
	if err := check.err(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	price := c.times(cost, c.add(one, markup.Fraction()))
	return price.Round(mode), c.err
}

// PriceAtMargin returns cost ÷ (1 − margin), rounded by the mode; the margin must be below 100 %.
// A negative margin sells below cost.
func PriceAtMargin(cost money.Amount, margin money.Rate, mode money.Rounding) (money.Amount, error) {
	var check checker
	check.below("margin", margin)
	if err := check.err(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	price := c.overRounded(cost, c.sub(one, margin.Fraction()), mode)
	return price, c.err
}

// KeystoneMultiple is what keystone multiplies the wholesale price by.
var KeystoneMultiple = money.Int(2)

// Keystone compares a maker's own retail price with what shops will ask.
type Keystone struct {
	// Multiple is retail ÷ wholesale, both without tax; Wanted is what it should be.
	Multiple money.Decimal `json:"multiple"`
	Wanted   money.Decimal `json:"wanted"`
	// Retail is the price on the tag, tax in or out as the channel has it, that Wanted asks
	// for, rounded half up.
	Retail money.Amount `json:"retail"`
	// Short is how much the maker's own price lies below that; nothing if it doesn't.
	Short money.Amount `json:"short"`
	// ShopMargin is what a shop makes of the maker's retail price: 1 − wholesale ÷ retail.
	ShopMargin money.Rate `json:"shop_margin"`
}

// Holds tells whether the maker's own price doesn't undercut the shops.
func (k Keystone) Holds() bool { return k.Short.IsZero() }

// CheckKeystone compares a wholesale price (without tax) with a retail price on the tag.
// Wanted is usually KeystoneMultiple.
func CheckKeystone(wholesale, retail money.Amount, tax Tax, wanted money.Decimal) (Keystone, error) {
	var check checker
	check.positive("wholesale", wholesale.Number())
	check.positive("retail", retail.Number())
	check.positive("multiple", wanted)
	check.addition("tax", tax.Rate)
	if _, err := wholesale.Cmp(retail); err != nil {
		check.fail("retail", "is in %s, but the wholesale price is in %s", retail.Currency(), wholesale.Currency())
	}
	if err := check.err(); err != nil {
		return Keystone{}, err
	}
	var c calc
	onTag := one
	if tax.Included {
		onTag = c.add(one, tax.Rate.Fraction())
	}
	k := Keystone{
		Wanted:   wanted,
		Multiple: c.div(retail.Number(), c.mul(wholesale.Number(), onTag)),
		Retail:   c.times(wholesale, c.mul(wanted, onTag)).Round(money.HalfUp),
		Short:    wholesale.Currency().Zero(),
	}
	k.ShopMargin = money.Fraction(c.sub(one, c.div(c.mul(wholesale.Number(), onTag), retail.Number())))
	if c.less(retail, k.Retail) {
		k.Short = c.minus(k.Retail, retail)
	}
	return k, c.err
}

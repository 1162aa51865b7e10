package costing

import "yardwright/costing/money"

// LandedPrice is what a material costs on the shelf: the price on the bill, less discount,
// with freight and the tax that can't be claimed back.
type LandedPrice struct {
	// List is the price on the bill, before tax, of For units.
	List money.Amount `json:"list"`
	// For is how many units the price buys (a pack of 100 buttons, a spool of 500 m);
	// 0 means 1.
	For money.Decimal `json:"for"`
	// Discount comes off List.
	Discount money.Rate `json:"discount"`
	// Freight is the share of freight of For units.
	Freight money.Amount `json:"freight"`
	// Tax is paid on goods and freight and isn't claimed back.
	Tax money.Rate `json:"tax"`
}

// LandedFormula is how a landed price comes about, as it is shown.
const LandedFormula = "(list × (1 − discount) + freight) × (1 + tax) ÷ units in the price"

// Priced returns a plain landed price of one unit.
func Priced(perUnit money.Amount) LandedPrice { return LandedPrice{List: perUnit} }

// PerUnit returns the price of one unit, unrounded.
func (p LandedPrice) PerUnit() (money.Amount, error) {
	var c calc
	perUnit := c.over(p.whole(&c), orOne(p.For))
	return perUnit, c.err
}

// whole returns what For units cost, exactly.
func (p LandedPrice) whole(c *calc) money.Amount {
	total := p.List
	if !p.Discount.IsZero() {
		total = c.times(total, c.sub(one, p.Discount.Fraction()))
	}
	total = c.plus(total, p.Freight)
	if !p.Tax.IsZero() {
		total = c.times(total, c.add(one, p.Tax.Fraction()))
	}
	return total
}

// landed checks the landed price in the field price.
func (c *checker) landed(p *LandedPrice, currency money.Currency) {
	c.price("price.list", p.List, currency)
	c.price("price.freight", p.Freight, currency)
	c.notNegative("price.for", p.For)
	c.share("price.discount", p.Discount)
	c.addition("price.tax", p.Tax)
}

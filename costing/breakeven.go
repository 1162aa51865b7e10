package costing

import "yardwright/costing/money"

// BreakEven is how many must be sold to cover what doesn't depend on the number sold.
type BreakEven struct {
	// Contribution is price − variable cost of one.
	Contribution money.Amount `json:"contribution"`
	// Exact is (fixed + profit) ÷ contribution to 19 digits; Units is that rounded up.
	Exact money.Decimal `json:"exact"`
	Units int64         `json:"units"`
	// Revenue is Units × price; ExactRevenue is what must be sold for where parts of one can be
	// sold, (fixed + profit) ÷ Ratio, to 19 digits.
	Revenue      money.Amount `json:"revenue"`
	ExactRevenue money.Amount `json:"exact_revenue"`
	// Ratio is contribution ÷ price: what each unit of money that is taken in leaves.
	Ratio money.Rate `json:"ratio"`
}

// BreakEvenFormula is how break-even comes about, as it is shown.
const BreakEvenFormula = "(fixed costs + wanted profit) ÷ (price − variable cost), rounded up"

// BreakEvenOf returns how many must be sold at a price to cover fixed costs and a wanted
// profit, which may be nothing. The price must exceed the variable cost.
func BreakEvenOf(fixed, profit, price, variable money.Amount) (BreakEven, error) {
	var check checker
	check.same("variable", variable, price)
	check.same("fixed", fixed, price)
	check.same("profit", profit, price)
	if err := check.err(); err != nil {
		return BreakEven{}, err
	}
	var c calc
	contribution := c.minus(price, variable)
	target := c.plus(fixed, profit)
	if c.err != nil {
		return BreakEven{}, c.err
	}
	check.notNegative("fixed", fixed.Number())
	check.notNegative("profit", profit.Number())
	if contribution.Sign() <= 0 {
		check.fail("price", "is %s, but each one costs %s: selling more never covers the fixed costs", price, variable)
	}
	if err := check.err(); err != nil {
		return BreakEven{}, err
	}
	units := c.cycles(target.Number(), contribution.Number())
	return BreakEven{
		Contribution: contribution, Exact: units.Exact, Units: units.Count,
		Revenue:      c.times(price, money.Int(units.Count)),
		ExactRevenue: c.over(c.times(price, target.Number()), contribution.Number()),
		Ratio:        money.Fraction(c.div(contribution.Number(), price.Number())),
	}, c.err
}

// FairCost is one cost of going to a fair: the pitch, travel, a bed, a helper.
type FairCost struct {
	Name   string       `json:"name"`
	Amount money.Amount `json:"amount"`
}

// FairItem is something taken to a fair.
type FairItem struct {
	Name string `json:"name"`
	// Kept is what a sale at the fair leaves after fees and tax; Cost is what the garment
	// costs, labour included or not as the maker wants the fair judged.
	Kept money.Amount `json:"kept"`
	Cost money.Amount `json:"cost"`
	// Share weighs how often it sells beside the others.
	Share money.Decimal `json:"share"`
}

// FairPlan says whether a fair pays.
type FairPlan struct {
	Costs []FairCost `json:"costs"`
	// Hours are spent on the fair, packing and travel included, and paid at Hourly.
	Hours  money.Decimal `json:"hours"`
	Hourly money.Amount  `json:"hourly"`
	Items  []FairItem    `json:"items"`
}

// FairResult is what a fair needs.
type FairResult struct {
	// Fixed is all costs and the hours, rounded half up.
	Fixed money.Amount `json:"fixed"`
	// Contribution is the mean of kept − cost, weighed by share, to 19 digits.
	Contribution money.Amount  `json:"contribution"`
	Exact        money.Decimal `json:"exact"`
	// Units is how many must be sold, of the usual mix; ByItem spreads them by largest
	// remainder.
	Units  int64   `json:"units"`
	ByItem []int64 `json:"by_item"`
}

// BreakEven returns how many garments of the usual mix a fair must sell to pay for itself.
func (f FairPlan) BreakEven(currency money.Currency) (FairResult, error) {
	if err := f.check(currency); err != nil {
		return FairResult{}, err
	}
	var c calc
	result := FairResult{Fixed: c.times(f.Hourly, f.Hours).Round(money.HalfUp)}
	for _, cost := range f.Costs {
		result.Fixed = c.plus(result.Fixed, cost.Amount)
	}
	weights := make([]money.Decimal, len(f.Items))
	var shares money.Decimal
	weighed := currency.Zero()
	for i, item := range f.Items {
		weights[i] = item.Share
		shares = c.add(shares, item.Share)
		weighed = c.plus(weighed, c.times(c.minus(item.Kept, item.Cost), item.Share))
	}
	if c.err == nil && weighed.Sign() <= 0 {
		return FairResult{}, &InputError{Field: "items", Message: "what is kept doesn't cover the cost: selling more never pays for the fair"}
	}
	result.Contribution = c.over(weighed, shares)
	units := c.cycles(c.mul(result.Fixed.Number(), shares), weighed.Number())
	result.Exact, result.Units = units.Exact, units.Count
	if c.err != nil {
		return FairResult{}, c.err
	}
	var err error
	result.ByItem, err = money.AllocateUnits(money.LargestRemainder, result.Units, weights)
	return result, err
}

func (f FairPlan) check(currency money.Currency) error {
	var c checker
	for i, cost := range f.Costs {
		c.enter("costs", i)
		c.price("amount", cost.Amount, currency)
	}
	selling := false
	for i, item := range f.Items {
		c.enter("items", i)
		c.price("kept", item.Kept, currency)
		c.price("cost", item.Cost, currency)
		c.notNegative("share", item.Share)
		selling = selling || item.Share.Sign() > 0
	}
	c.leave()
	if !selling {
		c.fail("items", "needs at least one garment with a share of the sales")
	}
	c.notNegative("hours", f.Hours)
	c.price("hourly", f.Hourly, currency)
	return c.err()
}

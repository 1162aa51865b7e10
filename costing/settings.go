package costing

import "yardwright/costing/money"

// Settings are the choices that sources differ on. Each says its formula, to be shown beside
// the result. The zero value is a good default: wastage as a plus, allowance on the job,
// mark-up, half up, the odd cent by largest remainder.
type Settings struct {
	Wastage   WastageRule    `json:"wastage"`
	Allowance AllowanceRule  `json:"allowance"`
	Profit    ProfitRule     `json:"profit"`
	Rounding  money.Rounding `json:"rounding"`
	OddCent   money.OddUnit  `json:"odd_cent"`
	Valuation Valuation      `json:"valuation"`
	Unpaid    UnpaidRule     `json:"unpaid"`
}

// check refuses choices that nobody knows.
func (s Settings) check(c *checker) {
	known(c, "settings.wastage", s.Wastage, wastageNames)
	known(c, "settings.allowance", s.Allowance, allowanceNames)
	known(c, "settings.profit", s.Profit, profitNames)
	known(c, "settings.valuation", s.Valuation, valuationNames)
	known(c, "settings.unpaid", s.Unpaid, unpaidNames)
	if !s.Rounding.Known() {
		c.fail("settings.rounding", "isn't known: choose half up, half even, up, down")
	}
	if !s.OddCent.Known() {
		c.fail("settings.odd_cent", "isn't known: choose largest remainder, first parts, last parts")
	}
}

// WastageRule says what a wastage of w means for a quantity q.
type WastageRule int

const (
	// WastageAdded buys q × (1 + w): 10 % is a tenth on top of what is used.
	WastageAdded WastageRule = iota
	// WastageShare buys q ÷ (1 − w): 10 % is a tenth of what is bought.
	WastageShare
)

var wastageNames = []string{"added", "share"}

// String returns added or share.
func (r WastageRule) String() string { return nameOf("wastage rule", wastageNames, r) }

// Formula returns the rule as it is shown.
func (r WastageRule) Formula() string {
	if r == WastageShare {
		return "used ÷ (1 − wastage)"
	}
	return "used × (1 + wastage)"
}

// MarshalText writes what String writes.
func (r WastageRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *WastageRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[WastageRule]("wastage rule", wastageNames, string(text))
	return err
}

// factors returns numerator and denominator of what a quantity is multiplied by.
func (r WastageRule) factors(c *calc, wastage money.Rate) (numerator, denominator money.Decimal) {
	switch {
	case wastage.IsZero():
		return one, one
	case r == WastageShare:
		return one, c.sub(one, wastage.Fraction())
	}
	return c.add(one, wastage.Fraction()), one
}

// WithWastage returns how much must be bought so that quantity can be used, unrounded.
// It fails for a negative wastage, and for 100 % and more under WastageShare.
func WithWastage(quantity money.Decimal, wastage money.Rate, rule WastageRule) (money.Decimal, error) {
	var check checker
	check.notNegative("quantity", quantity)
	known(&check, "rule", rule, wastageNames)
	check.wastage("wastage", wastage, rule)
	if err := check.err(); err != nil {
		return money.Decimal{}, err
	}
	var c calc
	numerator, denominator := rule.factors(&c, wastage)
	bought := c.div(c.mul(quantity, numerator), denominator)
	return bought, c.err
}

func (c *checker) wastage(field string, wastage money.Rate, rule WastageRule) {
	if rule == WastageShare {
		c.share(field, wastage)
		return
	}
	c.addition(field, wastage)
}

// UnpaidRule says who pays the hours that make no garment: buying, books, repairs.
type UnpaidRule int

const (
	// UnpaidInOverhead has garments bear them, at the wage, beside the other overhead.
	UnpaidInOverhead UnpaidRule = iota
	// UnpaidFromProfit leaves them out of the cost: what is kept beyond the cost pays them.
	UnpaidFromProfit
)

var unpaidNames = []string{"in overhead", "from profit"}

// String returns in overhead or from profit.
func (r UnpaidRule) String() string { return nameOf("rule for unpaid hours", unpaidNames, r) }

// Formula returns the rule as it is shown.
func (r UnpaidRule) Formula() string {
	if r == UnpaidFromProfit {
		return "no part of the cost"
	}
	return "minutes paid × (hours worked ÷ productive hours − 1) ÷ 60 × wage"
}

// MarshalText writes what String writes.
func (r UnpaidRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *UnpaidRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[UnpaidRule]("rule for unpaid hours", unpaidNames, string(text))
	return err
}

// AllowanceRule says what an allowance of a means for basic minutes b. Textbooks use both.
type AllowanceRule int

const (
	// AllowanceOfJob gives b × (1 + a): a share of the job's time.
	AllowanceOfJob AllowanceRule = iota
	// AllowanceOfDay gives b ÷ (1 − a): a share of the working day.
	AllowanceOfDay
)

var allowanceNames = []string{"job", "day"}

// String returns job or day.
func (r AllowanceRule) String() string { return nameOf("allowance rule", allowanceNames, r) }

// Formula returns the rule as it is shown.
func (r AllowanceRule) Formula() string {
	if r == AllowanceOfDay {
		return "basic minutes ÷ (1 − allowance)"
	}
	return "basic minutes × (1 + allowance)"
}

// MarshalText writes what String writes.
func (r AllowanceRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *AllowanceRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[AllowanceRule]("allowance rule", allowanceNames, string(text))
	return err
}

// ProfitRule says whether profit is spoken of as a share of cost or of price.
type ProfitRule int

const (
	// Markup is profit ÷ cost.
	Markup ProfitRule = iota
	// Margin is profit ÷ price.
	Margin
)

var profitNames = []string{"mark-up", "margin"}

// String returns mark-up or margin.
func (r ProfitRule) String() string { return nameOf("profit rule", profitNames, r) }

// Formula returns the rule as it is shown.
func (r ProfitRule) Formula() string {
	if r == Margin {
		return "margin = (price − cost) ÷ price"
	}
	return "mark-up = (price − cost) ÷ cost"
}

// MarshalText writes what String writes.
func (r ProfitRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *ProfitRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[ProfitRule]("profit rule", profitNames, string(text))
	return err
}

package costing

import "yardwright/costing/money"

var (
	one   = money.Int(1)
	two   = money.Int(2)
	sixty = money.Int(60)
)

// calc does exact arithmetic and keeps the first error, so that a formula can be written as
// one. After an error its results mean nothing.
type calc struct {
	err error
}

func (c *calc) keep(err error) {
	if c.err == nil {
		c.err = err
	}
}

func (c *calc) add(a, b money.Decimal) money.Decimal {
	sum, err := a.Add(b)
	c.keep(err)
	return sum
}

func (c *calc) sub(a, b money.Decimal) money.Decimal {
	difference, err := a.Sub(b)
	c.keep(err)
	return difference
}

func (c *calc) mul(a, b money.Decimal) money.Decimal {
	product, err := a.Mul(b)
	c.keep(err)
	return product
}

func (c *calc) div(a, b money.Decimal) money.Decimal {
	quotient, err := a.Div(b)
	c.keep(err)
	return quotient
}

func (c *calc) ratio(a, b money.Decimal, places int, mode money.Rounding) money.Decimal {
	quotient, err := money.Ratio(a, b, places, mode)
	c.keep(err)
	return quotient
}

func (c *calc) sqrt(a money.Decimal) money.Decimal {
	root, err := a.Sqrt()
	c.keep(err)
	return root
}

func (c *calc) plus(a, b money.Amount) money.Amount {
	sum, err := a.Add(b)
	c.keep(err)
	return sum
}

func (c *calc) minus(a, b money.Amount) money.Amount {
	difference, err := a.Sub(b)
	c.keep(err)
	return difference
}

func (c *calc) times(a money.Amount, d money.Decimal) money.Amount {
	product, err := a.Mul(d)
	c.keep(err)
	return product
}

func (c *calc) over(a money.Amount, d money.Decimal) money.Amount {
	quotient, err := a.Div(d)
	c.keep(err)
	return quotient
}

func (c *calc) overRounded(a money.Amount, d money.Decimal, mode money.Rounding) money.Amount {
	quotient, err := a.DivRound(d, mode)
	c.keep(err)
	return quotient
}

func (c *calc) less(a, b money.Amount) bool {
	order, err := a.Cmp(b)
	c.keep(err)
	return order < 0
}

// orOne reads a count whose zero value stands for one.
func orOne(d money.Decimal) money.Decimal {
	if d.IsZero() {
		return one
	}
	return d
}

package money

import "fmt"

// PricePoint says at which prices a workshop sells: k × Step + Ending for k = 0, 1, 2 ...,
// in major units. Step 1 and Ending 0.95 give 0.95, 1.95, 2.95 ...; Step 5 and Ending 0 give
// 0, 5, 10 ... The zero value allows every price that can be paid.
type PricePoint struct {
	Step   Decimal `json:"step"`
	Ending Decimal `json:"ending"`
}

// IsZero tells whether every price is allowed.
func (p PricePoint) IsZero() bool { return p.Step.IsZero() && p.Ending.IsZero() }

// Check says what is wrong with the price points in this currency, or nil.
func (p PricePoint) Check(c Currency) error {
	switch {
	case p.IsZero():
		return nil
	case p.Step.Sign() <= 0:
		return fmt.Errorf("the step of the price points must be more than 0, as in 0.50 or 1")
	case p.Ending.Sign() < 0 || p.Ending.Cmp(p.Step) >= 0:
		return fmt.Errorf("the ending %s must be less than the step %s, as in .95 with a step of 1", p.Ending, p.Step)
	case p.Step.Places() > c.Digits() || p.Ending.Places() > c.Digits():
		return fmt.Errorf("step and ending can have at most %d decimals in %s", c.Digits(), c)
	}
	return nil
}

// RoundUpTo returns the lowest price point that is not below a; without price points, a
// rounded up to the minor unit. It fails where Check does, or with ErrOverflow.
func RoundUpTo(a Amount, p PricePoint) (Amount, error) {
	if p.IsZero() {
		return a.Round(Up), nil
	}
	if err := p.Check(a.currency); err != nil {
		return Amount{}, err
	}
	above, err := a.number.Sub(p.Ending)
	if err != nil {
		return Amount{}, err
	}
	steps, err := Ratio(MaxDecimal(above, Decimal{}), p.Step, 0, Up)
	if err != nil {
		return Amount{}, err
	}
	base, err := steps.Mul(p.Step)
	if err != nil {
		return Amount{}, err
	}
	number, err := base.Add(p.Ending)
	return Amount{number, a.currency}, err
}

package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Taxed is a price with its tax taken apart; Gross = Net + Tax to the cent.
type Taxed struct {
	Net   money.Amount `json:"net"`
	Tax   money.Amount `json:"tax"`
	Gross money.Amount `json:"gross"`
}

// AddTax puts a tax on a price without it: tax = net × rate, rounded by the mode. The rate must
// not be negative.
func AddTax(net money.Amount, rate money.Rate, mode money.Rounding) (Taxed, error) {
	var check checker
	check.addition("rate", rate)
	if err := check.err(); err != nil {
		return Taxed{}, err
	}
	var c calc
	tax := c.times(net, rate.Fraction()).Round(mode)
	return Taxed{net, tax, c.plus(net, tax)}, c.err
}

// TaxWithin finds the tax inside a price: tax = gross × rate ÷ (1 + rate), rounded by the mode.
func TaxWithin(gross money.Amount, rate money.Rate, mode money.Rounding) (Taxed, error) {
	var check checker
	check.addition("rate", rate)
	if err := check.err(); err != nil {
		return Taxed{}, err
	}
	var c calc
	tax := c.overRounded(c.times(gross, rate.Fraction()), c.add(one, rate.Fraction()), mode)
	return Taxed{c.minus(gross, tax), tax, gross}, c.err
}

// GrossUp returns what must be taken in so that net is left after a share of it is taken:
// net ÷ (1 − rate), rounded by the mode. The share must be below 100 %.
func GrossUp(net money.Amount, rate money.Rate, mode money.Rounding) (money.Amount, error) {
	var check checker
	check.share("rate", rate)
	if err := check.err(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	gross := c.overRounded(net, c.sub(one, rate.Fraction()), mode)
	return gross, c.err
}

// TaxOnTop returns the tax on a gift of net that the giver pays, so that net is left:
// net × rate ÷ (1 − rate), rounded by the mode.
func TaxOnTop(net money.Amount, rate money.Rate, mode money.Rounding) (money.Amount, error) {
	var check checker
	check.share("rate", rate)
	if err := check.err(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	tax := c.overRounded(c.times(net, rate.Fraction()), c.sub(one, rate.Fraction()), mode)
	return tax, c.err
}

// Deposit splits a total into a deposit, rounded half up, and the balance, which is the rest:
// the two always sum to the total.
func Deposit(total money.Amount, share money.Rate) (deposit, balance money.Amount, err error) {
	if share.Sign() < 0 || share.Fraction().Cmp(one) > 0 {
		return deposit, balance, &InputError{Field: "share", Message: fmt.Sprintf("must be from 0 %% to 100 %%, but is %s", written(share))}
	}
	var c calc
	deposit = c.times(total, share.Fraction()).Round(money.HalfUp)
	balance = c.minus(total, deposit)
	return deposit, balance, c.err
}

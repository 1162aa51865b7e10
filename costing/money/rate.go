package money

import "strings"

// Rate is a share such as a fee, a tax or a margin: 6.5 % is the fraction 0.065. The zero
// value is 0 %.
type Rate struct {
	fraction Decimal
}

var hundred = Int(100)

// Fraction returns the rate that is d of one: Fraction(0.065) is 6.5 %.
func Fraction(d Decimal) Rate { return Rate{d} }

// Percent returns the rate of d in a hundred: Percent(6.5) is 6.5 %. A number with more than
// 17 decimals is rounded to the 19th, half to even.
func Percent(d Decimal) Rate {
	fraction, err := d.Mul(New(1, 2))
	if err != nil {
		return Rate{} // cannot be: the number got smaller
	}
	return Rate{fraction}
}

// ParsePercent reads a percentage with or without its sign: 6.5, 6.5% and 6.5 % are the same.
func ParsePercent(text string) (Rate, error) {
	d, err := Parse(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%")))
	if err != nil {
		return Rate{}, &ParseError{Text: text, Reason: "write a percentage, as in 6.5 %"}
	}
	return Percent(d), nil
}

// MustPercent is ParsePercent for constants; it panics on bad text.
func MustPercent(text string) Rate {
	r, err := ParsePercent(text)
	if err != nil {
		panic(err)
	}
	return r
}

// RateOf returns part as a share of whole; ErrMixedCurrencies, ErrDivisionByZero or ErrOverflow.
func RateOf(part, whole Amount) (Rate, error) {
	fraction, err := part.Per(whole)
	return Rate{fraction}, err
}

// Fraction returns the rate as a share of one: 0.065.
func (r Rate) Fraction() Decimal { return r.fraction }

// Percent returns the rate in a hundred: 6.5.
func (r Rate) Percent() Decimal {
	percent, err := r.fraction.Mul(hundred)
	if err != nil {
		return r.fraction // only beyond 10^17, which no rate is
	}
	return percent
}

// Of returns that share of an amount, unrounded; ErrOverflow if it doesn't fit.
func (r Rate) Of(a Amount) (Amount, error) { return a.Mul(r.fraction) }

// String writes 6.5%, which ParsePercent reads back exactly.
func (r Rate) String() string { return r.Percent().String() + "%" }

// Round brings the percentage to places decimals, half up: 12.345 % to 1 place is 12.3 %.
func (r Rate) Round(places int) Rate { return Percent(r.Percent().Round(places, HalfUp)) }

// Format writes the rate as readers of a locale write its number, rounded to 2 decimals: 6.5 %.
func (r Rate) Format(locale string) string {
	return r.Percent().Round(2, HalfUp).Format(locale) + " %"
}

// IsZero tells whether the rate is 0 %.
func (r Rate) IsZero() bool { return r.fraction.IsZero() }

// Sign returns −1, 0 or 1.
func (r Rate) Sign() int { return r.fraction.Sign() }

// Cmp returns −1, 0 or 1 as r is less than, equal to or more than s.
func (r Rate) Cmp(s Rate) int { return r.fraction.Cmp(s.fraction) }

// MarshalText writes what String writes.
func (r Rate) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what ParsePercent reads.
func (r *Rate) UnmarshalText(text []byte) (err error) {
	*r, err = ParsePercent(string(text))
	return err
}

package money

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/govalues/decimal"
)

// Arithmetic errors, to be told apart with errors.Is.
var (
	// ErrOverflow means that a result needs more than 19 digits.
	ErrOverflow = errors.New("the number is too large: more than 19 digits")
	// ErrDivisionByZero means that something was to be shared among none.
	ErrDivisionByZero = errors.New("division by zero")
)

// Decimal is an exact decimal number of up to 19 significant digits, for quantities, prices
// per unit, rates and minutes. The zero value is 0. Equal numbers are equal with ==, however
// they were written (12.50 is 12.5). Values are immutable.
type Decimal struct {
	d decimal.Decimal
}

// wrap drops the zeros at the end, so that equal numbers look and compare alike.
func wrap(d decimal.Decimal) Decimal { return Decimal{d.Trim(0)} }

// Int returns n as a Decimal.
func Int(n int64) Decimal { return wrap(decimal.MustNew(n, 0)) }

// New returns value / 10^places, for example New(1234, 2) is 12.34. Places beyond 0 to 19 are
// a programmer's mistake and panic.
func New(value int64, places int) Decimal { return wrap(decimal.MustNew(value, places)) }

// Parse reads a number as it is stored and written by String: digits with a point, such as
// 12, -0.5 or 3.25. What people type in their own way is read by ParseTyped.
func Parse(text string) (Decimal, error) {
	if reason := notPlain(text); reason != "" {
		return Decimal{}, &ParseError{Text: text, Reason: reason}
	}
	d, err := decimal.ParseExact(text, 0)
	if err != nil {
		return Decimal{}, &ParseError{Text: text, Reason: "it has more than 19 digits"}
	}
	if lost(text, d) {
		return Decimal{}, &ParseError{Text: text, Reason: "it has more than 19 digits"}
	}
	return wrap(d), nil
}

// lost tells whether reading text cut digits that count.
func lost(text string, d decimal.Decimal) bool {
	_, fraction, _ := strings.Cut(text, ".")
	return len(strings.TrimRight(fraction, "0")) > d.Scale()
}

// notPlain says why text isn't a sign, digits and at most one point; "" if it is.
func notPlain(text string) string {
	digits, points := 0, 0
	for i, r := range text {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case r == '.':
			points++
		case (r == '-' || r == '+') && i == 0:
		case r == ',':
			return "write the decimals after a point, as in 12.50"
		default:
			return fmt.Sprintf("%q has no place in a number; write only digits, as in 12.50", r)
		}
	}
	switch {
	case digits == 0:
		return "write digits, as in 12.50"
	case points > 1:
		return "it has more than one point"
	}
	return ""
}

// MustParse is Parse for constants; it panics on bad text.
func MustParse(text string) Decimal {
	d, err := Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

// ParseError says why a text is not a number or an amount, in words for who typed it.
type ParseError struct {
	Text   string
	Reason string
}

func (e *ParseError) Error() string {
	return fmt.Sprintf("%q is not a number: %s", e.Text, e.Reason)
}

// String writes the number without zeros at its end: 12.5, -0.125, 3.
func (d Decimal) String() string { return d.d.String() }

// StringFixed writes the number with at least places digits after the point: 12.50.
func (d Decimal) StringFixed(places int) string { return d.d.Pad(places).String() }

// MarshalText writes what String writes.
func (d Decimal) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what Parse reads.
func (d *Decimal) UnmarshalText(text []byte) (err error) {
	*d, err = Parse(string(text))
	return err
}

// MarshalJSON writes the number as a JSON string, so that no reader makes a float of it.
func (d Decimal) MarshalJSON() ([]byte, error) { return []byte(`"` + d.String() + `"`), nil }

// UnmarshalJSON reads a JSON string, or the digits of a JSON number exactly as written.
// null leaves the number alone.
func (d *Decimal) UnmarshalJSON(data []byte) error {
	if bytes.Equal(data, []byte("null")) {
		return nil
	}
	return d.UnmarshalText(bytes.Trim(data, `"`))
}

// failed turns an error of the decimal library into one of ours, with what was computed.
func failed(a Decimal, operation string, b Decimal) error {
	return fmt.Errorf("%s %s %s: %w", a, operation, b, ErrOverflow)
}

// Add returns d + e; ErrOverflow if it doesn't fit.
func (d Decimal) Add(e Decimal) (Decimal, error) {
	sum, err := d.d.Add(e.d)
	if err != nil {
		return Decimal{}, failed(d, "+", e)
	}
	return wrap(sum), nil
}

// Sub returns d − e; ErrOverflow if it doesn't fit.
func (d Decimal) Sub(e Decimal) (Decimal, error) {
	difference, err := d.d.Sub(e.d)
	if err != nil {
		return Decimal{}, failed(d, "−", e)
	}
	return wrap(difference), nil
}

// Mul returns d × e; ErrOverflow if it doesn't fit.
func (d Decimal) Mul(e Decimal) (Decimal, error) {
	product, err := d.d.Mul(e.d)
	if err != nil {
		return Decimal{}, failed(d, "×", e)
	}
	return wrap(product), nil
}

// Div returns d ÷ e to 19 digits, half to even; ErrDivisionByZero or ErrOverflow.
// Use Ratio where the quotient is rounded to a step, so that it is rounded only once.
func (d Decimal) Div(e Decimal) (Decimal, error) {
	if e.IsZero() {
		return Decimal{}, fmt.Errorf("%s ÷ 0: %w", d, ErrDivisionByZero)
	}
	quotient, err := d.d.Quo(e.d)
	if err != nil {
		return Decimal{}, failed(d, "÷", e)
	}
	return wrap(quotient), nil
}

// Sqrt returns the square root of d to 19 digits, half to even; it fails for a negative number.
func (d Decimal) Sqrt() (Decimal, error) {
	root, err := d.d.Sqrt()
	if err != nil {
		return Decimal{}, fmt.Errorf("the square root of %s: a negative number has none", d)
	}
	return wrap(root), nil
}

// Ratio returns d ÷ e with places digits after the point, rounded once from the exact
// quotient. ErrDivisionByZero or ErrOverflow otherwise.
func Ratio(d, e Decimal, places int, mode Rounding) (Decimal, error) {
	if e.IsZero() {
		return Decimal{}, fmt.Errorf("%s ÷ 0: %w", d, ErrDivisionByZero)
	}
	shifted, err := d.d.Mul(tenTo(places))
	if err != nil {
		return Decimal{}, failed(d, "÷", e)
	}
	steps, rest, err := shifted.QuoRem(e.d)
	if err != nil {
		return Decimal{}, failed(d, "÷", e)
	}
	steps, err = roundQuotient(steps, rest, e.d, mode)
	if err != nil {
		return Decimal{}, failed(d, "÷", e)
	}
	quotient, err := steps.Mul(decimal.MustNew(1, places))
	if err != nil {
		return Decimal{}, failed(d, "÷", e)
	}
	return wrap(quotient), nil
}

// roundQuotient rounds steps + rest/divisor, where steps was cut toward zero and rest has the
// sign of the dividend, to a whole number.
func roundQuotient(steps, rest, divisor decimal.Decimal, mode Rounding) (decimal.Decimal, error) {
	if rest.IsZero() {
		return steps, nil
	}
	negative := rest.IsNeg() != divisor.IsNeg()
	lower := steps
	if negative {
		var err error
		if lower, err = steps.Sub(decimal.One); err != nil {
			return decimal.Decimal{}, err
		}
	}
	twice, err := rest.Abs().Add(rest.Abs())
	if err != nil {
		return decimal.Decimal{}, err
	}
	fromLower := twice.Cmp(divisor.Abs())
	if negative {
		fromLower = -fromLower
	}
	if mode.roundsUp(fromLower, negative, lower.Coef()%2 == 1) {
		return lower.Add(decimal.One)
	}
	return lower, nil
}

func tenTo(places int) decimal.Decimal {
	power := int64(1)
	for range places {
		power *= 10
	}
	return decimal.MustNew(power, 0)
}

// Round cuts d to places digits after the point by the named mode.
func (d Decimal) Round(places int, mode Rounding) Decimal { return wrap(round(d.d, places, mode)) }

// Neg returns −d.
func (d Decimal) Neg() Decimal { return Decimal{d.d.Neg()} }

// Abs returns the magnitude of d.
func (d Decimal) Abs() Decimal { return Decimal{d.d.Abs()} }

// Cmp returns −1, 0 or 1 as d is less than, equal to or more than e.
func (d Decimal) Cmp(e Decimal) int { return d.d.Cmp(e.d) }

// Less tells whether d < e.
func (d Decimal) Less(e Decimal) bool { return d.d.Cmp(e.d) < 0 }

// Sign returns −1, 0 or 1.
func (d Decimal) Sign() int { return d.d.Sign() }

// IsZero tells whether d is 0.
func (d Decimal) IsZero() bool { return d.d.IsZero() }

// IsInt tells whether d is a whole number.
func (d Decimal) IsInt() bool { return d.d.IsInt() }

// Places returns how many digits d has after the point.
func (d Decimal) Places() int { return d.d.Scale() }

// Int64 returns d as an integer; ok is false if it isn't whole or doesn't fit.
func (d Decimal) Int64() (n int64, ok bool) {
	whole, fraction, ok := d.d.Int64(0)
	if !ok || fraction != 0 || !d.IsInt() {
		return 0, false
	}
	return whole, true
}

// Float64 returns the nearest float, for statistics and drawing only, never for money.
func (d Decimal) Float64() float64 {
	f, _ := d.d.Float64()
	return f
}

// MaxDecimal returns the larger of d and e.
func MaxDecimal(d, e Decimal) Decimal {
	if d.Less(e) {
		return e
	}
	return d
}

// MinDecimal returns the smaller of d and e.
func MinDecimal(d, e Decimal) Decimal {
	if e.Less(d) {
		return e
	}
	return d
}

// Sum adds numbers; ErrOverflow if the sum doesn't fit.
func Sum(numbers ...Decimal) (Decimal, error) {
	var total Decimal
	var err error
	for _, n := range numbers {
		if total, err = total.Add(n); err != nil {
			return Decimal{}, err
		}
	}
	return total, nil
}

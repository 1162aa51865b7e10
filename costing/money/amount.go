package money

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/bojanz/currency"
)

// ErrMixedCurrencies means that amounts of two currencies met in one sum or comparison.
var ErrMixedCurrencies = errors.New("amounts of two currencies cannot be put together")

// Amount is money: an exact number of one currency, with as many decimals as it needs (a
// price per metre may be 0.0125 USD); Round brings it to the minor unit. The zero value is
// nothing, in no currency yet: added to or compared with any amount it takes that one's
// currency. Equal amounts are equal with ==. Values are immutable.
type Amount struct {
	number   Decimal
	currency Currency
}

// NewAmount returns number units of a currency.
func NewAmount(number Decimal, c Currency) Amount { return Amount{number, c} }

// FromMinor returns units minor units of a currency: FromMinor(1234, USD) is 12.34 USD.
func FromMinor(units int64, c Currency) Amount { return Amount{New(units, c.Digits()), c} }

// ParseAmount reads what String writes: 12.34 USD.
func ParseAmount(text string) (Amount, error) {
	number, code, found := strings.Cut(strings.TrimSpace(text), " ")
	if !found {
		return Amount{}, &ParseError{Text: text, Reason: "write the amount and its currency, as in 12.50 USD"}
	}
	c, err := ParseCurrency(code)
	if err != nil {
		return Amount{}, err
	}
	d, err := Parse(number)
	if err != nil {
		return Amount{}, err
	}
	return Amount{d, c}, nil
}

// MustParseAmount is ParseAmount for constants; it panics on bad text.
func MustParseAmount(text string) Amount {
	a, err := ParseAmount(text)
	if err != nil {
		panic(err)
	}
	return a
}

// Number returns the number without its currency.
func (a Amount) Number() Decimal { return a.number }

// Currency returns the currency.
func (a Amount) Currency() Currency { return a.currency }

// String writes the amount with at least the decimals of its minor unit: 12.50 USD, 0.0125 USD.
// Format writes for readers.
func (a Amount) String() string {
	if a.currency.IsZero() {
		return a.number.String()
	}
	return a.number.StringFixed(a.currency.Digits()) + " " + a.currency.code
}

// Format writes the amount as readers of a locale such as en-US or de do: $1,234.50 or
// 1.234,50 €. Up to 9 decimals are shown where the amount has them, never fewer than its
// currency's.
func (a Amount) Format(locale string) string {
	shown, err := currency.NewAmount(a.number.String(), a.currency.code)
	if err != nil {
		return a.String()
	}
	formatter := currency.NewFormatter(currency.NewLocale(locale))
	formatter.MaxDigits = shownPlaces
	return formatter.Format(shown)
}

// shownPlaces are the most decimals that readers are shown: as many as a length in yards or metres
// has, so that what is counted from shown numbers comes out as shown.
const shownPlaces = 9

// Format writes the number as readers of a locale do, with up to 9 decimals: 1,234.5 or 1.234,5.
func (d Decimal) Format(locale string) string {
	shown, err := currency.NewAmount(d.String(), "USD")
	if err != nil {
		return d.String()
	}
	formatter := currency.NewFormatter(currency.NewLocale(locale))
	formatter.CurrencyDisplay = currency.DisplayNone
	formatter.MinDigits, formatter.MaxDigits = 0, shownPlaces
	return strings.TrimSpace(formatter.Format(shown))
}

// amountJSON is how an Amount is written in JSON.
type amountJSON struct {
	Amount   string   `json:"amount"`
	Currency Currency `json:"currency"`
}

// MarshalJSON writes {"amount":"12.34","currency":"USD"}, or null for the zero value.
func (a Amount) MarshalJSON() ([]byte, error) {
	if a == (Amount{}) {
		return []byte("null"), nil
	}
	return json.Marshal(amountJSON{a.number.StringFixed(a.currency.Digits()), a.currency})
}

// UnmarshalJSON reads the object that MarshalJSON writes, the string that String writes, or
// null for the zero value.
func (a *Amount) UnmarshalJSON(data []byte) error {
	switch {
	case bytes.Equal(data, []byte("null")):
		*a = Amount{}
		return nil
	case len(data) > 0 && data[0] == '"':
		var text string
		if err := json.Unmarshal(data, &text); err != nil {
			return err
		}
		parsed, err := ParseAmount(text)
		*a = parsed
		return err
	}
	var object amountJSON
	if err := json.Unmarshal(data, &object); err != nil {
		return fmt.Errorf("an amount is written {\"amount\":\"12.34\",\"currency\":\"USD\"}: %w", err)
	}
	number, err := Parse(object.Amount)
	if err != nil {
		return err
	}
	if object.Currency.IsZero() {
		return &ParseError{Text: object.Amount, Reason: "its currency is missing"}
	}
	*a = Amount{number, object.Currency}
	return nil
}

// common returns the currency that a and b share.
func common(a, b Amount) (Currency, error) {
	switch {
	case a.currency == b.currency, b.currency.IsZero() && b.IsZero():
		return a.currency, nil
	case a.currency.IsZero() && a.IsZero():
		return b.currency, nil
	}
	return Currency{}, fmt.Errorf("%s and %s: %w", a, b, ErrMixedCurrencies)
}

// Add returns a + b; ErrMixedCurrencies or ErrOverflow.
func (a Amount) Add(b Amount) (Amount, error) {
	c, err := common(a, b)
	if err != nil {
		return Amount{}, err
	}
	number, err := a.number.Add(b.number)
	return Amount{number, c}, err
}

// Sub returns a − b; ErrMixedCurrencies or ErrOverflow.
func (a Amount) Sub(b Amount) (Amount, error) { return a.Add(b.Neg()) }

// Mul returns a × d, unrounded; ErrOverflow if it doesn't fit.
func (a Amount) Mul(d Decimal) (Amount, error) {
	number, err := a.number.Mul(d)
	return Amount{number, a.currency}, err
}

// Div returns a ÷ d to 19 digits; ErrDivisionByZero or ErrOverflow. Use DivRound where the
// quotient is to be paid.
func (a Amount) Div(d Decimal) (Amount, error) {
	number, err := a.number.Div(d)
	return Amount{number, a.currency}, err
}

// DivRound returns a ÷ d in whole minor units, rounded once from the exact quotient;
// ErrDivisionByZero or ErrOverflow.
func (a Amount) DivRound(d Decimal, mode Rounding) (Amount, error) {
	number, err := Ratio(a.number, d, a.currency.Digits(), mode)
	return Amount{number, a.currency}, err
}

// Per returns a ÷ b, a plain number, to 19 digits; ErrMixedCurrencies, ErrDivisionByZero or
// ErrOverflow.
func (a Amount) Per(b Amount) (Decimal, error) {
	if _, err := common(a, b); err != nil {
		return Decimal{}, err
	}
	return a.number.Div(b.number)
}

// Round brings the amount to its minor unit by the named mode.
func (a Amount) Round(mode Rounding) Amount { return a.RoundTo(a.currency.Digits(), mode) }

// RoundTo brings the amount to places decimals by the named mode.
func (a Amount) RoundTo(places int, mode Rounding) Amount {
	return Amount{a.number.Round(places, mode), a.currency}
}

// IsMinor tells whether the amount is a whole number of minor units, so that it can be paid.
func (a Amount) IsMinor() bool { return a.number.Places() <= a.currency.Digits() }

// Minor returns the amount in minor units; ok is false if it isn't whole or doesn't fit.
func (a Amount) Minor() (units int64, ok bool) {
	shifted, err := a.number.d.Mul(tenTo(a.currency.Digits()))
	if err != nil {
		return 0, false
	}
	return wrap(shifted).Int64()
}

// Neg returns −a.
func (a Amount) Neg() Amount { return Amount{a.number.Neg(), a.currency} }

// Abs returns the magnitude of a.
func (a Amount) Abs() Amount { return Amount{a.number.Abs(), a.currency} }

// Sign returns −1, 0 or 1.
func (a Amount) Sign() int { return a.number.Sign() }

// IsZero tells whether the amount is nothing.
func (a Amount) IsZero() bool { return a.number.IsZero() }

// Cmp returns −1, 0 or 1 as a is less than, equal to or more than b; ErrMixedCurrencies.
func (a Amount) Cmp(b Amount) (int, error) {
	if _, err := common(a, b); err != nil {
		return 0, err
	}
	return a.number.Cmp(b.number), nil
}

// Max returns the larger amount; ErrMixedCurrencies.
func Max(a, b Amount) (Amount, error) {
	order, err := a.Cmp(b)
	if err == nil && order < 0 {
		return b, nil
	}
	return a, err
}

// Min returns the smaller amount; ErrMixedCurrencies.
func Min(a, b Amount) (Amount, error) {
	order, err := a.Cmp(b)
	if err == nil && order > 0 {
		return b, nil
	}
	return a, err
}

// SumAmounts adds amounts; ErrMixedCurrencies or ErrOverflow. The sum of none is the zero value.
func SumAmounts(amounts ...Amount) (Amount, error) {
	var total Amount
	var err error
	for _, a := range amounts {
		if total, err = total.Add(a); err != nil {
			return Amount{}, err
		}
	}
	return total, nil
}

package money

import (
	"fmt"
	"strings"

	"github.com/bojanz/currency"
)

// Currency is one currency of ISO 4217, with its minor unit. The zero value is no currency.
type Currency struct {
	code   string
	digits uint8
}

// ParseCurrency reads an ISO 4217 code such as USD, in any case.
func ParseCurrency(code string) (Currency, error) {
	upper := strings.ToUpper(strings.TrimSpace(code))
	digits, ok := currency.GetDigits(upper)
	if !ok {
		return Currency{}, fmt.Errorf("%q is not a currency: write its three letters, such as USD or EUR", code)
	}
	return Currency{code: upper, digits: digits}, nil
}

// MustCurrency is ParseCurrency for constants; it panics on an unknown code.
func MustCurrency(code string) Currency {
	c, err := ParseCurrency(code)
	if err != nil {
		panic(err)
	}
	return c
}

// Currencies returns the codes that ParseCurrency knows, in order.
func Currencies() []string { return currency.GetCurrencyCodes() }

// Code returns the three letters; "" for no currency.
func (c Currency) Code() string { return c.code }

// String returns the three letters.
func (c Currency) String() string { return c.code }

// IsZero tells whether c is no currency.
func (c Currency) IsZero() bool { return c.code == "" }

// Digits returns how many decimals the minor unit has: 2 for USD, 0 for JPY, 3 for KWD.
func (c Currency) Digits() int { return int(c.digits) }

// MinorUnit returns the smallest coin of account: 0.01 USD.
func (c Currency) MinorUnit() Amount { return Amount{New(1, c.Digits()), c} }

// Zero returns nothing, in this currency.
func (c Currency) Zero() Amount { return Amount{Decimal{}, c} }

// Symbol returns how readers of a locale such as en-US or de write the currency.
func (c Currency) Symbol(locale string) string {
	symbol, _ := currency.GetSymbol(c.code, currency.NewLocale(locale))
	return symbol
}

// MarshalText writes the code.
func (c Currency) MarshalText() ([]byte, error) { return []byte(c.code), nil }

// UnmarshalText reads a code; empty text is no currency.
func (c *Currency) UnmarshalText(text []byte) (err error) {
	if len(text) == 0 {
		*c = Currency{}
		return nil
	}
	*c, err = ParseCurrency(string(text))
	return err
}

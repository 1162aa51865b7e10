package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// TypedPrices are prices on the tag that the maker typed, by garment and channel; an Amount that is
// none stands where nothing was typed. They are asked in place of what is worked out.
type TypedPrices [][]money.Amount

// of returns the prices of one garment, one for each channel; nil if none was typed.
func (t TypedPrices) of(garment, channels int) ([]money.Amount, error) {
	if garment >= len(t) || t[garment] == nil {
		return nil, nil
	}
	if len(t[garment]) != channels {
		return nil, &InputError{Field: "typed", Message: fmt.Sprintf("has %d prices, but there are %d channels", len(t[garment]), channels)}
	}
	return t[garment], nil
}

// TypedIn returns the price that the maker typed for a channel; ok is false if there is none.
func (p Pricing) TypedIn(channel int) (price money.Amount, ok bool) {
	if channel >= len(p.Typed) || p.Typed[channel].Sign() <= 0 {
		return money.Amount{}, false
	}
	return p.Typed[channel], true
}

// IsTyped tells whether the maker typed the price.
func (q Quote) IsTyped() bool { return q.Worked != (money.Amount{}) }

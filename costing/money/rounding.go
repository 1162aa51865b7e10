package money

import (
	"fmt"

	"github.com/govalues/decimal"
)

// Rounding names what happens to the digits that are cut off.
type Rounding int

const (
	// HalfUp goes to the nearer step; a half goes away from zero. Shops, tax offices and the
	// ROUND of spreadsheets do this.
	HalfUp Rounding = iota
	// HalfEven goes to the nearer step; a half goes to the even one (IEEE 754's default).
	HalfEven
	// Up goes to the next larger step: toward plus infinity.
	Up
	// Down goes to the next smaller step: toward minus infinity.
	Down
)

var roundingNames = [...]string{HalfUp: "half up", HalfEven: "half even", Up: "up", Down: "down"}

// String returns the name of the mode: half up, half even, up or down.
func (r Rounding) String() string {
	if r < 0 || int(r) >= len(roundingNames) {
		return fmt.Sprintf("rounding %d", int(r))
	}
	return roundingNames[r]
}

// Known tells whether r is one of the modes.
func (r Rounding) Known() bool { return r >= 0 && int(r) < len(roundingNames) }

// ParseRounding reads what String writes.
func ParseRounding(text string) (Rounding, error) {
	for i, name := range roundingNames {
		if name == text {
			return Rounding(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a way of rounding: use half up, half even, up or down", text)
}

// MarshalText writes the name of the mode.
func (r Rounding) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads the name of the mode.
func (r *Rounding) UnmarshalText(text []byte) (err error) {
	*r, err = ParseRounding(string(text))
	return err
}

// roundsUp tells whether a value that lies between two neighbouring steps goes to the larger
// one. fromLower compares its distance from the lower step with half a step; lowerOdd tells
// whether the lower step is odd.
func (r Rounding) roundsUp(fromLower int, negative, lowerOdd bool) bool {
	switch r {
	case Up:
		return true
	case Down:
		return false
	case HalfEven:
		return fromLower > 0 || (fromLower == 0 && lowerOdd)
	default:
		return fromLower > 0 || (fromLower == 0 && !negative)
	}
}

// round cuts d to places digits after the point. The result always fits: cutting digits can
// only shorten the number.
func round(d decimal.Decimal, places int, mode Rounding) decimal.Decimal {
	if d.Scale() <= places {
		return d
	}
	lower := d.Floor(places)
	rest, err := d.Sub(lower)
	if err != nil || rest.IsZero() {
		return lower
	}
	half := decimal.MustNew(5, places+1)
	lowerOdd := lower.Coef()%2 == 1
	if !mode.roundsUp(rest.Cmp(half), d.IsNeg(), lowerOdd) {
		return lower
	}
	return d.Ceil(places)
}

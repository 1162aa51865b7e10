package money

import (
	"errors"
	"fmt"
	"math/big"
	"sort"
)

// OddUnit says which parts get the units that are left when a whole is shared out and every
// part was rounded down. Only parts that were rounded down get one, and at most one each.
type OddUnit int

const (
	// LargestRemainder gives them to the parts that lost most by rounding down; of equal
	// ones, the first in the list (Hamilton's method).
	LargestRemainder OddUnit = iota
	// FirstParts gives them to the first parts in the list.
	FirstParts
	// LastParts gives them to the last parts in the list.
	LastParts
)

var oddUnitNames = [...]string{LargestRemainder: "largest remainder", FirstParts: "first parts", LastParts: "last parts"}

// String returns the name: largest remainder, first parts or last parts.
func (o OddUnit) String() string {
	if o < 0 || int(o) >= len(oddUnitNames) {
		return fmt.Sprintf("odd unit rule %d", int(o))
	}
	return oddUnitNames[o]
}

// Known tells whether o is one of the rules.
func (o OddUnit) Known() bool { return o >= 0 && int(o) < len(oddUnitNames) }

// ParseOddUnit reads what String writes.
func ParseOddUnit(text string) (OddUnit, error) {
	for i, name := range oddUnitNames {
		if name == text {
			return OddUnit(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a rule for the odd cent: use largest remainder, first parts or last parts", text)
}

// MarshalText writes the name of the rule.
func (o OddUnit) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads the name of the rule.
func (o *OddUnit) UnmarshalText(text []byte) (err error) {
	*o, err = ParseOddUnit(string(text))
	return err
}

// Errors of sharing out.
var (
	ErrNoWeights      = errors.New("there is nobody to share among: every weight is zero")
	ErrNegativeWeight = errors.New("a weight is negative")
	ErrNotMinor       = errors.New("the amount to share out is not a whole number of minor units")
	ErrOddUnit        = errors.New("the rule for the odd unit is not known")
)

// Allocate shares a whole amount out by weight, by largest remainder with ties to the first:
// the parts sum to the total to the minor unit, a weight of 0 gets 0, and each part is its
// exact share rounded down or up.
// Errors: ErrNoWeights, ErrNegativeWeight, ErrNotMinor, ErrOverflow.
func Allocate(total Amount, weights []Decimal) ([]Amount, error) {
	return AllocateBy(LargestRemainder, total, weights)
}

// AllocateBy is Allocate with a choice of who gets the odd units.
func AllocateBy(rule OddUnit, total Amount, weights []Decimal) ([]Amount, error) {
	if !total.IsMinor() {
		return nil, fmt.Errorf("%s: %w", total, ErrNotMinor)
	}
	units, ok := total.Minor()
	if !ok {
		return nil, fmt.Errorf("%s: %w", total, ErrOverflow)
	}
	parts, err := AllocateUnits(rule, units, weights)
	if err != nil {
		return nil, err
	}
	amounts := make([]Amount, len(parts))
	for i, part := range parts {
		amounts[i] = FromMinor(part, total.currency)
	}
	return amounts, nil
}

// AllocateUnits shares whole units (coins, garments, cut lengths) out by weight, with the
// same promises as Allocate. A negative total is shared like its magnitude.
func AllocateUnits(rule OddUnit, total int64, weights []Decimal) ([]int64, error) {
	if !rule.Known() {
		return nil, fmt.Errorf("%s: %w", rule, ErrOddUnit)
	}
	scaled, sum, err := wholeWeights(weights)
	if err != nil {
		return nil, err
	}
	magnitude := new(big.Int).Abs(big.NewInt(total))
	parts := make([]int64, len(weights))
	rests := make([]*big.Int, len(weights))
	left := new(big.Int).Set(magnitude)
	share := new(big.Int)
	for i, weight := range scaled {
		rests[i] = new(big.Int)
		share.QuoRem(weight.Mul(weight, magnitude), sum, rests[i])
		left.Sub(left, share)
		parts[i] = new(big.Int).Neg(share).Int64() // negative, so that even the least int64 fits
	}
	for _, i := range oddOrder(rule, rests)[:left.Int64()] {
		parts[i]--
	}
	if total > 0 {
		for i := range parts {
			parts[i] = -parts[i]
		}
	}
	return parts, nil
}

// wholeWeights multiplies all weights by one power of ten so that they are integers.
func wholeWeights(weights []Decimal) (scaled []*big.Int, sum *big.Int, err error) {
	places := 0
	for i, w := range weights {
		if w.Sign() < 0 {
			return nil, nil, fmt.Errorf("weight %d (%s): %w", i+1, w, ErrNegativeWeight)
		}
		places = max(places, w.Places())
	}
	sum = new(big.Int)
	scaled = make([]*big.Int, len(weights))
	for i, w := range weights {
		power := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places-w.Places())), nil)
		scaled[i] = power.Mul(power, new(big.Int).SetUint64(w.d.Coef()))
		sum.Add(sum, scaled[i])
	}
	if sum.Sign() == 0 {
		return nil, nil, ErrNoWeights
	}
	return scaled, sum, nil
}

// oddOrder lists the parts that were rounded down, those that get an odd unit first in front.
func oddOrder(rule OddUnit, rests []*big.Int) []int {
	order := make([]int, 0, len(rests))
	for i, rest := range rests {
		if rest.Sign() > 0 {
			order = append(order, i)
		}
	}
	switch rule {
	case LargestRemainder:
		sort.SliceStable(order, func(a, b int) bool { return rests[order[a]].Cmp(rests[order[b]]) > 0 })
	case LastParts:
		sort.Sort(sort.Reverse(sort.IntSlice(order)))
	}
	return order
}

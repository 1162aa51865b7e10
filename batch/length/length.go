// Package length holds the exact lengths and areas that all of Yardwright counts in.
//
// A Length is a whole number of 1/8000 mm. In that unit a micrometre, a tenth of a
// millimetre, 1/64 inch, 1/100 inch, an inch and a yard are all exact, so that inch and
// metric workshops add and compare the same integers and no tolerance is needed anywhere.
// Not exact are 1/3 inch, 1/128 inch and 0.001 inch: reading them rounds to the nearest unit.
package length

import (
	"errors"
	"math"
	"math/big"
	"math/bits"
	"slices"
)

// Length is a distance in units of 1/8000 mm. The zero value is no length.
// It reaches 1.15 million kilometres either way.
type Length int64

// Exact lengths. The inch is 25.4 mm and the yard 0.9144 m
// (international yard and pound agreement, 1959; NIST SP 811).
const (
	Unit        Length = 1
	Micrometre  Length = 8
	Millimetre  Length = 8_000
	Centimetre  Length = 80_000
	Metre       Length = 8_000_000
	Inch        Length = 203_200
	Foot               = 12 * Inch
	Yard               = 36 * Inch
	SixtyFourth        = Inch / 64
)

// ErrOverflow is returned when a result does not fit into its integer.
var ErrOverflow = errors.New("the number is too large")

// Area is a product of two lengths, in units of (1/8000 mm)². It reaches 144,000 m².
type Area int64

// Times returns the area of an a × b rectangle; ErrOverflow if it exceeds Area.
func Times(a, b Length) (Area, error) {
	negative := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	if hi != 0 || lo > math.MaxInt64 {
		return 0, ErrOverflow
	}
	if negative {
		return -Area(lo), nil
	}
	return Area(lo), nil
}

// Plus returns a + b; ErrOverflow if the sum exceeds Area.
func (a Area) Plus(b Area) (Area, error) {
	sum := a + b
	if (a > 0 && b > 0 && sum < 0) || (a < 0 && b < 0 && sum >= 0) {
		return 0, ErrOverflow
	}
	return sum, nil
}

// TimesCount returns the area of n equal parts; ErrOverflow if it exceeds Area.
func (a Area) TimesCount(n int) (Area, error) {
	product, err := Times(Length(a), Length(n))
	return product, err
}

// SquareMetres returns the area in m², for showing only.
func (a Area) SquareMetres() float64 {
	return float64(a) / (float64(Metre) * float64(Metre))
}

// TimesCount returns n lengths in a row; ErrOverflow if they exceed Length.
func (l Length) TimesCount(n int) (Length, error) {
	product, err := Times(l, Length(n))
	return Length(product), err
}

// Plus returns l + m; ErrOverflow if the sum exceeds Length.
func (l Length) Plus(m Length) (Length, error) {
	sum, err := Area(l).Plus(Area(m))
	return Length(sum), err
}

// Millimetres returns the length in mm, for showing and for drawing only.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Inches returns the length in inches, for showing and for drawing only.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Rounding names the direction in which a value goes to a step.
type Rounding int

const (
	// Nearest goes to the closer step; a half goes away from zero.
	Nearest Rounding = iota
	// Up goes to the next larger step (cloth to buy).
	Up
	// Down goes to the next smaller step (cloth that is surely there).
	Down
)

// RoundTo returns l as a whole number of steps. A step of zero or less leaves l alone.
func (l Length) RoundTo(step Length, mode Rounding) Length {
	if step <= 0 {
		return l
	}
	quotient, rest := l/step, l%step
	if rest < 0 {
		quotient, rest = quotient-1, rest+step
	}
	switch mode {
	case Up:
		if rest > 0 {
			quotient++
		}
	case Nearest:
		if 2*rest > step || (2*rest == step && l > 0) {
			quotient++
		}
	}
	return quotient * step
}

// Scale returns l × numerator / denominator, rounded once, with a 128-bit product.
// The denominator must be positive; ErrOverflow if the result does not fit.
func (l Length) Scale(numerator, denominator int64, mode Rounding) (Length, error) {
	if denominator <= 0 {
		return 0, errors.New("the denominator must be positive")
	}
	negative := (l < 0) != (numerator < 0) && l != 0 && numerator != 0
	hi, lo := bits.Mul64(magnitude(l), magnitude(Length(numerator)))
	if hi >= uint64(denominator) {
		return 0, ErrOverflow
	}
	quotient, rest := bits.Div64(hi, lo, uint64(denominator))
	if roundsAway(rest, uint64(denominator), negative, mode) {
		quotient++
	}
	if quotient > math.MaxInt64 {
		return 0, ErrOverflow
	}
	if negative {
		return -Length(quotient), nil
	}
	return Length(quotient), nil
}

// roundsAway tells whether a magnitude with this remainder goes one further from zero.
func roundsAway(rest, denominator uint64, negative bool, mode Rounding) bool {
	switch mode {
	case Up:
		return rest > 0 && !negative
	case Down:
		return rest > 0 && negative
	default:
		return rest >= denominator-rest
	}
}

func magnitude(l Length) uint64 {
	if l < 0 {
		return uint64(-(l + 1)) + 1
	}
	return uint64(l)
}

// Share shares a length out by weight, to the last unit, by largest remainder: the parts sum
// to the total, a weight of zero gets nothing, ties go to the first. With no weight at all
// the parts are zero and nothing is shared. Weights must not be negative.
func Share(total Length, weights []Area) ([]Length, error) {
	parts := make([]Length, len(weights))
	sum := new(big.Int)
	for _, weight := range weights {
		if weight < 0 {
			return nil, errors.New("a weight is negative")
		}
		sum.Add(sum, big.NewInt(int64(weight)))
	}
	if sum.Sign() == 0 {
		return parts, nil
	}
	rests := make([]*big.Int, len(weights))
	left := total
	for i, weight := range weights {
		product := new(big.Int).Mul(big.NewInt(int64(total)), big.NewInt(int64(weight)))
		quotient, rest := new(big.Int).DivMod(product, sum, new(big.Int))
		parts[i], rests[i] = Length(quotient.Int64()), rest
		left -= parts[i]
	}
	order := make([]int, len(weights))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rests[b].Cmp(rests[a]) })
	for _, i := range order[:left] {
		parts[i]++
	}
	return parts, nil
}

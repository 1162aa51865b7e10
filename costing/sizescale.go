package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// SizeShares returns weights for spreading a batch over sizes: what was sold of each size on
// days when every size was in stock, and, to smooth small counts, the usual size scale counted
// as so many pieces more. Without a scale only what was sold counts. The lists have one entry
// for each size.
func SizeShares(sold, scale []money.Decimal, scalePieces money.Decimal) ([]money.Decimal, error) {
	var check checker
	if len(scale) > 0 && len(scale) != len(sold) {
		check.fail("scale", "has %d sizes, but %d were sold", len(scale), len(sold))
	}
	check.notNegative("scale_pieces", scalePieces)
	for i, count := range sold {
		check.notNegative(fmt.Sprintf("sold[%d]", i), count)
	}
	for i, part := range scale {
		check.notNegative(fmt.Sprintf("scale[%d]", i), part)
	}
	if err := check.err(); err != nil {
		return nil, err
	}
	sum, err := money.Sum(scale...)
	if err != nil {
		return nil, err
	}
	shares := append([]money.Decimal(nil), sold...)
	if sum.IsZero() {
		return shares, nil
	}
	var c calc
	for i := range shares {
		shares[i] = c.add(shares[i], c.div(c.mul(scalePieces, scale[i]), sum))
	}
	return shares, c.err
}

// AllocateSizes spreads a number of garments over sizes by weight, by largest remainder with
// ties to the first: they always add up to the number.
func AllocateSizes(garments int64, shares []money.Decimal) ([]int64, error) {
	return money.AllocateUnits(money.LargestRemainder, garments, shares)
}

// PerGarment returns the pieces of a size scale and the length that each takes of a marker
// that holds the scale once: marker ÷ pieces, to 19 digits.
func PerGarment(marker money.Decimal, scale []money.Decimal) (pieces, each money.Decimal, err error) {
	if pieces, err = money.Sum(scale...); err != nil {
		return pieces, each, err
	}
	var check checker
	check.positive("scale", pieces)
	check.notNegative("marker", marker)
	if err := check.err(); err != nil {
		return pieces, each, err
	}
	each, err = marker.Div(pieces)
	return pieces, each, err
}

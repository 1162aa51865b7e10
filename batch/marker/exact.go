package marker

import (
	"math/bits"
)

// wide is an exact signed 128-bit integer, high part first. Products of two coordinates of a
// cloth some kilometres long do not fit into 64 bits.
type wide struct {
	high int64
	low  uint64
}

func product(a, b int64) wide {
	high, low := bits.Mul64(uint64(a), uint64(b))
	// Mul64 takes the factors as unsigned; each negative one adds the other factor × 2⁶⁴.
	if a < 0 {
		high -= uint64(b)
	}
	if b < 0 {
		high -= uint64(a)
	}
	return wide{int64(high), low}
}

func (a wide) plus(b wide) wide {
	low, carry := bits.Add64(a.low, b.low, 0)
	return wide{a.high + b.high + int64(carry), low}
}

func (a wide) minus(b wide) wide {
	low, borrow := bits.Sub64(a.low, b.low, 0)
	return wide{a.high - b.high - int64(borrow), low}
}

func (a wide) sign() int {
	switch {
	case a.high < 0:
		return -1
	case a.high > 0 || a.low > 0:
		return 1
	default:
		return 0
	}
}

// less tells whether a < b.
func (a wide) less(b wide) bool {
	return a.high < b.high || (a.high == b.high && a.low < b.low)
}

// side tells on which side of the line from a to b the point c lies: 1 left, −1 right, 0 on it.
func side(a, b, c Point) int {
	return product(int64(b.X-a.X), int64(c.Y-a.Y)).minus(product(int64(b.Y-a.Y), int64(c.X-a.X))).sign()
}

// within tells whether c, known to lie on the line through a and b, lies between them or on one.
func within(a, b, c Point) bool {
	return min(a.X, b.X) <= c.X && c.X <= max(a.X, b.X) && min(a.Y, b.Y) <= c.Y && c.Y <= max(a.Y, b.Y)
}

// crossing tells whether the segments ab and cd cross at a point inside both.
func crossing(a, b, c, d Point) bool {
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// meeting tells whether the segments ab and cd have any point in common.
func meeting(a, b, c, d Point) bool {
	abc, abd, cda, cdb := side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
	return abc*abd < 0 && cda*cdb < 0 ||
		abc == 0 && within(a, b, c) || abd == 0 && within(a, b, d) ||
		cda == 0 && within(c, d, a) || cdb == 0 && within(c, d, b)
}

// twiceArea returns twice the signed area of a polygon, positive if it runs counter-clockwise.
func twiceArea(outline []Point) wide {
	var sum wide
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		sum = sum.plus(product(int64(p.X), int64(q.Y))).minus(product(int64(q.X), int64(p.Y)))
	}
	return sum
}

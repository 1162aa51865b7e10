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

// area returns the area of a rectangle, or noCap if it is more than that.
func area(l, w int64) int64 {
	high, low := bits.Mul64(uint64(l), uint64(w))
	if high > 0 || low > uint64(noCap) {
		return noCap
	}
	return int64(low)
}

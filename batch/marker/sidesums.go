package marker

import "slices"

// sideSums tells what the sides of the pieces left of a few add up to. The answer for each choice of
// pieces left is kept, as the exact search asks for the same ones again and again.
type sideSums struct {
	unit          int64 // all sides are multiples of it
	side, along   []int64
	room, horizon int64
	radix         []int32 // by kind: pieces left are numbered by the sum of left times radix
	first         []int32 // by that number: where the sums begin in marks, −1 if they are not known
	marks         []uint64
}

// maxSideSums is how many units a room may have: with more, sums would take too long.
const maxSideSums = 1 << 12

// newSideSums returns sums for sides of options in a room; nil if there would be too many.
func newSideSums(m *model, side, along []int64, room, horizon int64) *sideSums {
	s := &sideSums{along: along, horizon: horizon}
	for _, v := range side {
		s.unit = gcd(s.unit, v)
	}
	if s.room = room / s.unit; s.room >= maxSideSums {
		return nil
	}
	for _, v := range side {
		s.side = append(s.side, v/s.unit)
	}
	all := int32(1)
	for _, k := range m.kinds {
		s.radix = append(s.radix, all)
		all *= int32(k.copies) + 1
	}
	s.first = slices.Repeat([]int32{-1}, int(all))
	return s
}

// of returns where the sums of the pieces left begin.
func (s *sideSums) of(m *model, left []int32) int32 {
	if s == nil {
		return -1
	}
	number := int32(0)
	for k, n := range left {
		number += n * s.radix[k]
	}
	if s.first[number] < 0 {
		words := int(s.room>>6) + 1
		s.first[number] = int32(len(s.marks))
		s.marks = slices.Grow(s.marks, words)[:len(s.marks)+words]
		markSums(s.marks[len(s.marks)-words:], m, left, s.side, s.along, s.horizon)
	}
	return s.first[number]
}

// upTo returns the greatest sum up to a limit of those that begin at first; the limit itself where
// sums are not known.
func (s *sideSums) upTo(first int32, limit int64) int64 {
	if s == nil {
		return limit
	}
	return greatestSum(s.marks[first:], limit/s.unit) * s.unit
}

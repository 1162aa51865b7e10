package marker

import (
	"math/bits"
	"slices"
)

// maxSums bounds the bit sets in which sums of sizes are marked.
const maxSums = 1 << 16

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// sums is a set of whole numbers up to a limit.
type sums struct {
	words []uint64
	limit int
	next  []uint64
}

func newSums(limit int) *sums {
	n := limit/64 + 1
	return &sums{make([]uint64, n), limit, make([]uint64, n)}
}

func (s *sums) mark(i int)     { s.words[i/64] |= 1 << (i % 64) }
func (s *sums) has(i int) bool { return s.words[i/64]>>(i%64)&1 == 1 }

// add puts in every sum of a number that is there and the size of one option; it returns whether
// that made any difference.
func (s *sums) add(options []option, size func(option) int64) bool {
	copy(s.next, s.words)
	for _, o := range options {
		if by := size(o); by <= int64(s.limit) {
			words, rest := int(by/64), uint(by%64)
			for i := len(s.words) - 1; i >= words; i-- {
				moved := s.words[i-words] << rest
				if rest > 0 && i > words {
					moved |= s.words[i-words-1] >> (64 - rest)
				}
				s.next[i] |= moved
			}
		}
	}
	changed := !slices.Equal(s.next, s.words)
	s.words, s.next = s.next, s.words
	return changed
}

// first returns the least number of the set from i up to the limit, or −1.
func (s *sums) first(i int) int {
	for ; i <= s.limit; i++ {
		if s.has(i) {
			return i
		}
	}
	return -1
}

// reach is the greatest sum of sizes of pieces up to a size, by steps.
type reach struct {
	step int64
	most []int64
}

// newReach finds what sizes add up to; the reach of every size is itself where there would be too
// many steps.
func (m *model) newReach(limit int64, size func(option) int64) reach {
	step := int64(0)
	for _, o := range m.options {
		step = gcd(step, size(o))
	}
	if limit/step >= maxSums {
		return reach{}
	}
	found := newSums(int(limit / step))
	found.mark(0)
	for _, k := range m.kinds {
		for range k.copies {
			if !found.add(k.options, func(o option) int64 { return size(o) / step }) {
				break
			}
		}
	}
	r := reach{step, make([]int64, limit/step+1)}
	for i := range r.most {
		if found.has(i) {
			r.most[i] = int64(i) * step
		} else {
			r.most[i] = r.most[i-1]
		}
	}
	return r
}

func (r *reach) upTo(size int64) int64 {
	if r.step == 0 {
		return size
	}
	return r.most[min(size/r.step, int64(len(r.most)-1))]
}

// longestStack is the length of all copies one behind the other, each as long as it can lie.
func (m *model) longestStack() int64 {
	total := int64(0)
	for _, k := range m.kinds {
		longest := int64(0)
		for _, o := range k.options {
			longest = max(longest, o.l)
		}
		total += longest * int64(k.copies)
	}
	return total
}

// markSums marks what sizes of pieces left add up to, in the options whose other size has room: bit
// i of s stands for the sum i. Sums beyond s are not marked.
func markSums(s []uint64, m *model, left []int32, sizes, others []int64, room int64) {
	limit := int64(len(s))*64 - 1
	clear(s)
	s[0] = 1
	for k := range m.kinds {
		kd := &m.kinds[k]
		if left[k] == 0 {
			continue
		}
		a, b := int64(noCap), int64(noCap)
		if others[kd.first] <= room && sizes[kd.first] <= limit {
			a = sizes[kd.first]
		}
		if kd.last-kd.first > 1 && others[kd.first+1] <= room && sizes[kd.first+1] <= limit {
			b = sizes[kd.first+1]
		}
		if a == b {
			b = noCap
		}
		if a > b {
			a, b = b, a
		}
		for c := left[k]; c > 0 && a < noCap; c-- {
			if b < noCap {
				addTwo(s, a, b)
			} else {
				addOne(s, a)
			}
		}
	}
}

// greatestSum returns the greatest marked sum up to a limit.
func greatestSum(s []uint64, limit int64) int64 {
	i := limit >> 6
	v := s[i] << (63 - limit&63) >> (63 - limit&63)
	for v == 0 {
		i--
		v = s[i]
	}
	return i<<6 + int64(63-bits.LeadingZeros64(v))
}

// addOne adds a size to the sums, addTwo one of two, the first of which is the smaller.
func addOne(s []uint64, a int64) {
	j, r := int(a>>6), uint(a&63)
	for i := len(s) - 1; i > j; i-- {
		s[i] |= s[i-j]<<r | s[i-j-1]>>(64-r)
	}
	s[j] |= s[0] << r
}

func addTwo(s []uint64, a, b int64) {
	j, r := int(a>>6), uint(a&63)
	k, q := int(b>>6), uint(b&63)
	i := len(s) - 1
	for ; i > k; i-- {
		s[i] |= s[i-j]<<r | s[i-j-1]>>(64-r) | s[i-k]<<q | s[i-k-1]>>(64-q)
	}
	if i > j {
		s[i] |= s[i-j]<<r | s[i-j-1]>>(64-r) | s[0]<<q
		for i--; i > j; i-- {
			s[i] |= s[i-j]<<r | s[i-j-1]>>(64-r)
		}
		s[j] |= s[0] << r
		return
	}
	s[j] |= s[0]<<r | s[0]<<q
}

package marker

import (
	"cmp"
	"math"
	"slices"
)

// exactSlack prunes the exact search by dual feasible functions (see Bound). Each function of the
// sizes side by side gives every laid option a worth, its value times its length along; what the
// pieces are worth at least and what is lost at places along must fit into the worth of the whole.
// A function of the lengths along does the same the other way round; there, only the choice of
// options can lose anything. What may still be lost is the slack of a function.
type exactSlack struct {
	beside, all int     // functions of sizes side by side, and all functions
	whole       []int64 // the value of the whole room, by function of sizes side by side
	value       []int64 // by option and function of sizes side by side
	excess      []int64 // by option and function: worth beyond the least of its kind
	left        []int64 // slack
	lost        []int64 // at places along, one after the other, by function
}

// mostSlacks is how many functions of each direction are kept: those with the least slack.
const mostSlacks = 8

// slackFunction is a function with what it says of the whole.
type slackFunction struct {
	whole  int64
	values []int64 // by option
	excess []int64
	left   int64
	share  float64 // of the whole that is left
}

// newExactSlack sets up the functions for a room by horizon; false if one of them proves that the
// pieces cannot lie there.
func newExactSlack(m *model, side, along []int64, room, horizon int64) (exactSlack, bool) {
	s := exactSlack{}
	beside, ok := slackFunctions(m, side, along, room, horizon)
	if !ok {
		return s, false
	}
	behind, ok := slackFunctions(m, along, side, horizon, room)
	if !ok {
		return s, false
	}
	s.beside, s.all = len(beside), len(beside)+len(behind)
	for _, f := range beside {
		s.whole = append(s.whole, f.whole)
	}
	for o := range side {
		for _, f := range beside {
			s.value = append(s.value, f.values[o])
		}
		for _, f := range append(slices.Clip(beside), behind...) {
			s.excess = append(s.excess, f.excess[o])
		}
	}
	for _, f := range append(slices.Clip(beside), behind...) {
		s.left = append(s.left, f.left)
	}
	s.lost = make([]int64, 0, (m.copies+1)*s.beside)
	return s, true
}

// slackFunctions returns the functions of sizes up to a room that leave least slack over a length.
func slackFunctions(m *model, sizes, lengths []int64, room, length int64) ([]slackFunction, bool) {
	r := &relaxation{width: room, widths: slices.Clone(sizes)}
	r.widths = slices.DeleteFunc(r.widths, func(w int64) bool { return w > room })
	slices.Sort(r.widths)
	r.widths = slices.Compact(r.widths)
	var all []slackFunction
	ok := true
	r.eachFunction(func(f function) {
		one := slackFunction{whole: f.capacity, values: make([]int64, len(sizes)), excess: make([]int64, len(sizes))}
		if float64(f.capacity)*float64(length)*float64(m.copies+1) > math.MaxInt64/4 {
			return
		}
		one.left = f.capacity * length
		for _, k := range m.kinds {
			least := int64(math.MaxInt64)
			for o := k.first; o < k.last; o++ {
				if sizes[o] > room || lengths[o] > length {
					continue // it is never laid so
				}
				one.values[o] = f.of(sizes[o])
				one.excess[o] = one.values[o] * lengths[o]
				least = min(least, one.excess[o])
			}
			if least == math.MaxInt64 {
				ok = false
				return
			}
			for o := k.first; o < k.last; o++ {
				one.excess[o] -= least
			}
			one.left -= least * int64(k.copies)
		}
		ok = ok && one.left >= 0
		one.share = float64(one.left) / (float64(f.capacity) * float64(length))
		all = append(all, one)
	})
	slices.SortStableFunc(all, func(a, b slackFunction) int { return cmp.Compare(a.share, b.share) })
	var kept []slackFunction
	for _, f := range all {
		alike := slices.ContainsFunc(kept, func(g slackFunction) bool { return g.share == f.share && g.alike(f) })
		if len(kept) < mostSlacks && !alike {
			kept = append(kept, f)
		}
	}
	return kept, ok
}

// alike tells whether two functions are the same but for a factor.
func (f slackFunction) alike(g slackFunction) bool {
	for i := range f.values {
		if product(f.values[i], g.whole) != product(g.values[i], f.whole) {
			return false
		}
	}
	return true
}

// choose takes what an option is worth beyond the least; false if that is too much. It is given
// back by choose with sign −1.
func (s *exactSlack) choose(o int32, sign int64) bool {
	ok := true
	excess := s.excess[int(o)*s.all:][:s.all]
	for f := range s.left {
		s.left[f] -= sign * excess[f]
		ok = ok && s.left[f] >= 0
	}
	return ok
}

// lose takes what is lost between two places along, with the pieces that lie there; false, and
// nothing taken, if it is too much.
func (s *exactSlack) lose(laid []exactPiece, place, next int64) bool {
	at := len(s.lost)
	s.lost = append(s.lost, s.whole...)
	lost := s.lost[at:]
	for i := range laid {
		if laid[i].to <= place {
			continue
		}
		values := s.value[int(laid[i].option)*s.beside:][:s.beside]
		for f := range lost {
			lost[f] -= values[f]
		}
	}
	for f := range lost {
		if lost[f] *= next - place; lost[f] > s.left[f] {
			s.lost = s.lost[:at]
			return false
		}
	}
	for f := range lost {
		s.left[f] -= lost[f]
	}
	return true
}

// giveBack undoes the last lose.
func (s *exactSlack) giveBack() {
	at := len(s.lost) - s.beside
	for f, lost := range s.lost[at:] {
		s.left[f] += lost
	}
	s.lost = s.lost[:at]
}

package marker

import (
	"cmp"
	"slices"
)

// frame is the size of a rectangle that holds some pieces which straight cuts part.
//
// A list of frames of the same pieces stands from the narrowest to the widest, each shorter than
// the one before: what is neither narrower nor shorter than another is of no use. From the lists
// of two sets of pieces follow those of both, side by side or one behind the other, in a single
// pass (Stockmeyer 1983).
type frame struct{ w, l int64 }

// beside appends the frames of two lists side by side, narrowest first, up to a width.
func beside(to, p, q []frame, width int64) []frame {
	for i, j := 0, 0; i < len(p) && j < len(q) && p[i].w+q[j].w <= width; {
		a, b := p[i].l, q[j].l
		to = append(to, frame{p[i].w + q[j].w, max(a, b)})
		// Only what is longest stands in the way of a shorter frame.
		if a >= b {
			i++
		}
		if b >= a {
			j++
		}
	}
	return to
}

// behind appends the frames of two lists one behind the other, widest first, up to a length.
func behind(to, p, q []frame, length int64) []frame {
	for i, j := len(p)-1, len(q)-1; i >= 0 && j >= 0 && p[i].l+q[j].l <= length; {
		a, b := p[i].w, q[j].w
		to = append(to, frame{max(a, b), p[i].l + q[j].l})
		if a >= b {
			i--
		}
		if b >= a {
			j--
		}
	}
	return to
}

// mergeFrames appends the useful frames of two lists, one narrowest first, one widest first.
func mergeFrames(to, rising, falling []frame) []frame {
	shortest := noCap
	for i, j := 0, len(falling)-1; i < len(rising) || j >= 0; {
		var f frame
		if j < 0 || i < len(rising) && rising[i].compare(falling[j]) <= 0 {
			f = rising[i]
			i++
		} else {
			f = falling[j]
			j--
		}
		if f.l < shortest {
			shortest = f.l
			to = append(to, f)
		}
	}
	return to
}

func (f frame) compare(g frame) int {
	if f.w != g.w {
		return cmp.Compare(f.w, g.w)
	}
	return cmp.Compare(f.l, g.l)
}

// bettered tells whether a list has a frame that is neither wider nor longer.
func bettered(f frame, list []frame) bool {
	low, high := 0, len(list) // those before low are no wider, those from high on are wider
	for low < high {
		if middle := (low + high) / 2; list[middle].w <= f.w {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return low > 0 && list[low-1].l <= f.l
}

// usefulFrames sorts frames and leaves only those of use, in their place.
func usefulFrames(all []frame) []frame {
	slices.SortFunc(all, frame.compare)
	useful, shortest := all[:0], noCap
	for _, f := range all {
		if f.l < shortest {
			shortest = f.l
			useful = append(useful, f)
		}
	}
	return useful
}

// framesOf appends the frames of one copy of a kind.
func framesOf(m *model, to []frame, k int32) []frame {
	from := len(to)
	for _, o := range m.kinds[k].options {
		to = append(to, frame{o.w, o.l})
	}
	return to[:from+len(usefulFrames(to[from:]))]
}

// optionIn returns an option of a kind that a frame holds.
func optionIn(m *model, k int32, f frame) int32 {
	for o := m.kinds[k].first; o < m.kinds[k].last; o++ {
		if m.options[o].w <= f.w && m.options[o].l <= f.l {
			return o
		}
	}
	return -1
}

// partIn finds how a frame of two sets of pieces is parted: by a frame of each, and whether they
// lie side by side; false if they do not fit into it.
func partIn(f frame, p, q []frame) (a, b frame, sideways, ok bool) {
	for _, a := range p {
		for _, b := range q {
			if a.w+b.w <= f.w && max(a.l, b.l) <= f.l {
				return a, b, true, true
			}
			if max(a.w, b.w) <= f.w && a.l+b.l <= f.l {
				return a, b, false, true
			}
		}
	}
	return frame{}, frame{}, false, false
}

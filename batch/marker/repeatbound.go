package marker

import (
	"slices"
)

// Bounds for cloth with a repeat. A piece whose match point follows the print begins at a place
// of its own between two repeats, and so ends at one. From its end to the next place at which any
// piece that follows the print may begin there is a distance that depends on the two only. Let
// each such piece be longer by the least of its distances, and the cloth by the greatest of these:
// pieces that follow the print still do not overlap, since where one lies behind the other the
// distance is there anyway. Across it is the same, and both hold at once.
//
// Other pieces may lie in the distances. But wherever one does, it takes up at most as much of
// them as its own length, and of one distance only if it is longer than it: so area may be
// counted for the distances if each of the others is shortened by the greatest of them.

// matchedOf is an option that follows the print, with the least distances behind it.
type matched struct {
	*option
	kind             int
	besides, behinds int64
}

// stripOnRepeat is the strip of the pieces that follow the print alone, larger by their distances. A
// marker is at least as long as it is, less so much.
type onRepeat struct {
	*relaxation
	less int64
}

// repeatBound returns a lower bound from the pieces that follow the print; 0 if there are none.
func (r *relaxation) repeatBound() int64 {
	all := matchedOf(r.m)
	if len(all) == 0 {
		return 0
	}
	r.repeat = stripOnRepeat(r.m, all)
	return max(r.repeat.quickBound()-r.repeat.less, repeatArea(r.m, all))
}

// matchedOf lists the options that follow the print.
func matchedOf(m *model) []matched {
	var all []matched
	for k := range m.kinds {
		for i := range m.kinds[k].options {
			if o := &m.kinds[k].options[i]; o.atX >= 0 || o.atY >= 0 {
				all = append(all, matched{option: o, kind: k})
			}
		}
	}
	if len(all) > mostMatched {
		return nil
	}
	for i := range all {
		all[i].besides = leastDistance(m, all, i, m.repeatX, func(o *option) (at, size int64) { return o.atX, o.w })
		all[i].behinds = leastDistance(m, all, i, m.repeatY, func(o *option) (at, size int64) { return o.atY, o.l })
	}
	return all
}

// mostMatched bounds the work of comparing each with each.
const mostMatched = 2000

// leastDistance returns the least distance from the end of one to a place where any may begin.
func leastDistance(m *model, all []matched, i int, repeat int64, place func(*option) (at, size int64)) int64 {
	at, size := place(all[i].option)
	if at < 0 {
		return 0
	}
	least := int64(noCap)
	for _, next := range all {
		if next.kind == all[i].kind && m.kinds[next.kind].copies == 1 {
			continue
		}
		if begin, _ := place(next.option); begin < 0 {
			return 0
		} else {
			least = min(least, positiveMod(begin-at-size, repeat))
		}
	}
	if least == noCap {
		return 0 // nothing ever follows
	}
	return least
}

// stripOnRepeat makes the strip of the pieces that follow the print.
func stripOnRepeat(m *model, all []matched) *onRepeat {
	larger := &model{gap: m.gap, cap: noCap, narrowest: noCap, plain: true}
	beside, behind, firstX, firstY := int64(0), int64(0), int64(noCap), int64(noCap)
	for i := 0; i < len(all); {
		k := m.kinds[all[i].kind]
		k.options = slices.Clone(k.options)
		for j := range k.options {
			o := &k.options[j]
			o.w, o.l = o.w+all[i].besides, o.l+all[i].behinds
			beside, behind = max(beside, all[i].besides), max(behind, all[i].behinds)
			firstX, firstY = min(firstX, max(o.atX, 0)), min(firstY, max(o.atY, 0))
			o.atX, o.atY = -1, -1
			i++
		}
		larger.copies += k.copies
		larger.kinds = append(larger.kinds, k)
	}
	larger.width = m.width + beside - firstX
	kinds := larger.kinds
	larger.kinds = nil
	for _, k := range kinds {
		larger.addKind(k)
	}
	return &onRepeat{newRelaxation(larger), behind - firstY}
}

// repeatArea is the bound by area, that of the distances included. Distances may be counted up to
// any limit; the best of those that occur is taken.
func repeatArea(m *model, all []matched) int64 {
	var limits []int64
	for _, o := range all {
		limits = append(limits, o.behinds)
	}
	best := int64(0)
	for _, limit := range spreadOut(limits, 50) {
		total, at := int64(0), 0
		for k := range m.kinds {
			least := int64(noCap)
			for i := range m.kinds[k].options {
				o := &m.kinds[k].options[i]
				if at < len(all) && all[at].option == o {
					least = min(least, area(o.l+min(all[at].behinds, limit), o.w))
					at++
				} else {
					least = min(least, area(max(o.l-limit, 0), o.w))
				}
			}
			if least > (maxArea-total)/int64(m.kinds[k].copies) {
				return best
			}
			total += least * int64(m.kinds[k].copies)
		}
		best = max(best, (total+m.width-1)/m.width-limit)
	}
	return best
}

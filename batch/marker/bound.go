package marker

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// quickBound returns the lower bound in the model, gap included, that takes little time.
func (r *relaxation) quickBound() int64 {
	best := max(longestAlone(r.m, !r.shaped), alongFold(r.m), r.byFunction(r.area()))
	if !r.shaped {
		r.eachFunction(func(f function) { best = max(best, r.byFunction(f)) })
		best = max(best, r.repeatBound())
	}
	return r.roundUp(best)
}

// strongBound returns a bound that may take more time, but about so many operations at most; or
// less than the known bound if it finds none above that.
func (r *relaxation) strongBound(known int64, work int) int64 {
	bound := r.byBars(known, work)
	if r.repeat != nil {
		bound = max(bound, r.repeat.strongBound(known+r.repeat.less, work)-r.repeat.less)
	}
	return r.roundUp(bound)
}

// mostAlone bounds the work of looking for the place of each piece among the faults.
const mostAlone = 20_000

// longestAlone is the end of the piece that ends last when each piece lies by itself as low as it can;
// where all are rectangles, among the faults.
func longestAlone(m *model, rectangles bool) int64 {
	most, amongFaults := int64(0), rectangles && len(m.obstacles)*len(m.obstacles)*len(m.options) <= mostAlone
	for _, k := range m.kinds {
		least := int64(noCap)
		for i := range k.options {
			o := &k.options[i]
			if amongFaults {
				_, y := m.lowest(o, 0)
				least = min(least, y+o.l)
			} else {
				least = min(least, max(o.atY, 0)+o.l)
			}
		}
		most = max(most, least)
	}
	return most
}

// alongFold is the length of what lies on the fold, one behind the other: of a shaped piece only
// its edge there.
func alongFold(m *model) int64 {
	total := int64(0)
	for _, k := range m.kinds {
		for _, part := range k.members {
			if part.foldEdge > 0 {
				total += (part.foldEdge + m.gap) * int64(part.copies)
			}
		}
	}
	return total
}

// relaxation is what the bounds look at: at every place along the strip, the widths of the
// pieces there and of the faults fit into the width.
type relaxation struct {
	m      *model
	width  int64
	widths []int64 // distinct widths of all options, ascending
	// single is, by index of widths, the length of all pieces that have this width only.
	single []int64
	// several are the kinds with a choice of widths.
	several []choiceOfWidth
	slabs   []slab
	// stretches of all slabs together.
	stretches int
	shaped    bool
	// outlines is the area of shaped pieces.
	outlines int64
	stack    int64   // the length of all rectangles one above the other
	values   []int64 // of a function, by index of widths
	ends     *ends   // nil until first needed
	repeat   *onRepeat
}

type choiceOfWidth struct {
	copies  int64
	options []widthAndLength
}

type widthAndLength struct {
	at int // index of widths
	l  int64
}

// slab is a stretch of the strip, from the end of the one before up to its end, in which faults
// take a constant part of the width and leave some stretches of it free.
type slab struct {
	end, taken int64
	free       []int64
}

func newRelaxation(m *model) *relaxation {
	r := &relaxation{m: m, width: m.width}
	for _, k := range m.kinds {
		r.shaped = r.shaped || k.members[0].outline > 0
	}
	for _, o := range m.options {
		r.widths = append(r.widths, o.w)
	}
	slices.Sort(r.widths)
	r.widths = slices.Compact(r.widths)
	r.single, r.values = make([]int64, len(r.widths)), make([]int64, len(r.widths))
	for _, k := range m.kinds {
		r.addKind(k)
	}
	r.addSlabs()
	r.narrow()
	return r
}

// addKind files the copies of a kind that are rectangles; the others count by area.
func (r *relaxation) addKind(k kind) {
	for _, part := range k.members {
		if part.outline > 0 {
			r.outlines += part.outline * int64(part.copies)
			continue
		}
		options := make([]widthAndLength, 0, 2)
		for _, o := range k.options {
			at, _ := slices.BinarySearch(r.widths, o.w)
			if one := (widthAndLength{at, o.l}); !slices.Contains(options, one) {
				options = append(options, one)
			}
		}
		copies := int64(part.copies)
		longest := slices.MaxFunc(options, func(a, b widthAndLength) int { return cmp.Compare(a.l, b.l) }).l
		r.stack += longest * copies
		if len(options) == 1 {
			r.single[options[0].at] += options[0].l * copies
		} else {
			r.several = append(r.several, choiceOfWidth{copies, options})
		}
	}
}

// addSlabs cuts the strip along at the edges of faults. A fault is smaller by the gap on its
// near sides, since pieces need no gap to it but carry theirs with them.
func (r *relaxation) addSlabs() {
	var edges []int64
	var faults []obstacle
	for _, o := range r.m.obstacles {
		o.x0, o.y0 = o.x0+r.m.gap, o.y0+r.m.gap
		if o.x0 < o.x1 && o.y0 < o.y1 {
			faults = append(faults, o)
			edges = append(edges, o.y0, o.y1)
		}
	}
	slices.Sort(edges)
	start := int64(0)
	for _, end := range slices.Compact(edges) {
		if end > start {
			free, taken := freeWidths(faults, start, end, r.width)
			r.slabs = append(r.slabs, slab{end, taken, free})
			r.stretches += len(free)
			start = end
		}
	}
}

// freeWidths returns the stretches of the width that faults leave free between two places along
// the strip, and what they take together.
func freeWidths(faults []obstacle, from, to, width int64) (free []int64, taken int64) {
	var spans [][2]int64
	for _, f := range faults {
		if f.y0 <= from && f.y1 >= to {
			spans = append(spans, [2]int64{f.x0, f.x1})
		}
	}
	slices.SortFunc(spans, func(a, b [2]int64) int { return cmp.Compare(a[0], b[0]) })
	reach := int64(0)
	for _, s := range append(spans, [2]int64{width, width}) {
		if s[0] > reach {
			free = append(free, s[0]-reach)
		}
		if s[1] > reach {
			taken += s[1] - max(s[0], reach)
			reach = s[1]
		}
	}
	return free, taken
}

// narrow cuts the width, and the stretches between faults, down to the most that widths of pieces
// add up to: no more than that is taken anywhere.
func (r *relaxation) narrow() {
	if r.shaped {
		return
	}
	sums := r.m.newReach(r.width, func(o option) int64 { return o.w })
	r.width = sums.upTo(r.width)
	for _, s := range r.slabs {
		for i := range s.free {
			s.free[i] = sums.upTo(s.free[i])
		}
	}
}

// ends are the lengths that a marker can have, as multiples of a step: pushed down, every piece
// begins at the start, on a fault or where others end.
type ends struct {
	step int64
	// matched tells that match points stand in the way of pushing down, so that the ends are only
	// multiples of the step.
	matched bool
	known   *sums // nil if not made yet
}

// roundUp raises a bound to the next length that a marker can have.
func (r *relaxation) roundUp(bound int64) int64 {
	if r.shaped {
		return bound
	}
	if r.ends == nil {
		r.ends = &ends{}
		r.ends.step, r.ends.matched = r.m.endUnit()
	}
	step := r.ends.step
	bound = (bound + step - 1) / step * step
	if at := bound / step; !r.ends.matched && at < maxSums {
		if r.ends.known == nil || r.ends.known.limit < int(at) {
			r.ends.known = endsUpTo(r.m, min(2*at+64, maxSums), step)
		}
		if end := r.ends.known.first(int(at)); end > 0 {
			return int64(end) * step
		}
	}
	return bound
}

// endsUpTo marks what lengths of pieces add up to, from the start or from a fault on.
func endsUpTo(m *model, limit, step int64) *sums {
	found := newSums(int(limit))
	found.mark(0)
	for _, o := range m.obstacles {
		if o.y1/step <= limit {
			found.mark(int(o.y1 / step))
		}
	}
	for _, k := range m.kinds {
		for range k.copies {
			if !found.add(k.options, func(o option) int64 { return o.l / step }) {
				break
			}
		}
	}
	return found
}

// byFunction returns the least length of the strip at which the values of all pieces and of the
// faults up to there fit, as far as f tells.
func (r *relaxation) byFunction(f function) int64 {
	most := f.capacity
	for i, w := range r.widths {
		r.values[i] = f.of(min(w, r.width))
		most = max(most, r.values[i])
	}
	if float64(most)*float64(r.stack) > math.MaxInt64/4 {
		return 0
	}
	total := int64(0)
	if f.outlines {
		total = r.outlines
	}
	for i, l := range r.single {
		total += r.values[i] * l
	}
	for _, c := range r.several {
		least := int64(math.MaxInt64)
		for _, o := range c.options {
			least = min(least, r.values[o.at]*o.l)
		}
		total += least * c.copies
	}
	return r.lengthFor(total, f.of)
}

// lengthFor goes along the slabs until the total is taken in; holds tells how much a unit of
// length of so much width takes in.
func (r *relaxation) lengthFor(total int64, holds func(width int64) int64) int64 {
	start := int64(0)
	for _, s := range r.slabs {
		if total <= 0 {
			return start
		}
		here := int64(0)
		for _, width := range s.free {
			here += holds(width)
		}
		if here > 0 && (total+here-1)/here <= s.end-start {
			return start + (total+here-1)/here
		}
		total -= here * (s.end - start)
		start = s.end
	}
	whole := max(holds(r.width), 1)
	return start + (max(total, 0)+whole-1)/whole
}

// valueBound returns the most value that copies of pieces can have whose area fits on the cloth
// up to the longest length: copies are taken by value for their area, the last in part.
func (r *relaxation) valueBound() int64 {
	m, free := r.m, r.freeArea()
	type lot struct{ value, area, copies int64 }
	var lots []lot
	for _, k := range m.kinds {
		if !slices.ContainsFunc(k.options, func(o option) bool { return max(o.atY, 0)+o.l <= m.cap }) {
			continue
		}
		for _, part := range k.members {
			area := k.area
			if part.outline > 0 {
				area = part.outline
			}
			lots = append(lots, lot{k.value, max(area, 1), int64(part.copies)})
		}
	}
	slices.SortStableFunc(lots, func(a, b lot) int {
		return product(b.value, a.area).minus(product(a.value, b.area)).sign()
	})
	value := int64(0)
	for _, l := range lots {
		whole := min(free/l.area, l.copies)
		value += whole * l.value
		free -= whole * l.area
		if whole < l.copies {
			high, low := bits.Mul64(uint64(l.value), uint64(free))
			part, _ := bits.Div64(high, low, uint64(l.area))
			return value + int64(part)
		}
	}
	return value
}

// freeArea returns the area up to the longest length that no fault takes.
func (r *relaxation) freeArea() int64 {
	free, start := r.m.clothArea(), int64(0)
	if free == maxArea {
		return free
	}
	for _, s := range r.slabs {
		free -= s.taken * (min(s.end, r.m.cap) - min(start, r.m.cap))
		start = s.end
	}
	return free
}

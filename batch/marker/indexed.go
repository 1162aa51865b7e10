package marker

import (
	"math/bits"
	"slices"
)

// indexed is the skyline engine for plain cloth, where nothing but the steps matters: what
// matches a step best is read off bit sets of the rows by width and by length, instead of going
// over the rows. It lays the same as skyline's scan would, and it can lay across: the strip is
// then as wide as the target is long and is filled from the left selvage on, so that a marker is
// found when nothing goes beyond the cloth's width.
//
// Not the area of pieces beyond the target is counted but the area below it that is lost for
// good, which comes to the same and is known sooner: laying stops as soon as it is too much.
type indexed struct {
	m      *model
	across bool
	// Sizes are counted in these units, of which all sizes of pieces are multiples.
	unitW, unitL int64
	narrowest    int64
	w, l         []int64 // by option
	widths       classes
	lengths      classes
	atW, atL     []int32 // class by option
	total        int64   // area of all copies in units

	// The rows of a plan: ways rows for each entry. Each set has a bit for each row.
	ways     int
	sequence []entry // the plan that the sets are of
	words    int
	all      []uint64 // rows that are options
	ofWidth  []uint64 // by class of width: rows as wide
	upTo     []uint64 // by class of width: rows as wide or narrower
	ofLength []uint64 // by class of length: rows as long
	option   []int32  // by row

	pending []uint64
	left    []int32 // copies, by entry
	sky     skyline
	spots   []spot
}

// maxIndex bounds the memory that the sets take, in words by set of sets.
const maxIndex = 1 << 20

// indexable tells whether the sets serve: on plain cloth, and not for so many different pieces
// that they would take too much memory.
func indexable(m *model) bool {
	if !m.plain || m.groups > 0 {
		return false
	}
	rows := len(m.options) + manyCopies*2
	return rows*rows/64 <= maxIndex
}

func newIndexed(m *model, across bool) *indexed {
	q := &indexed{m: m, across: across, narrowest: noCap}
	for _, o := range m.options {
		w, l := o.w, o.l
		if across {
			w, l = l, w
		}
		q.unitW, q.unitL = gcd(q.unitW, w), gcd(q.unitL, l)
		q.w, q.l = append(q.w, w), append(q.l, l)
	}
	for i := range q.w {
		q.w[i] /= q.unitW
		q.l[i] /= q.unitL
		q.narrowest = min(q.narrowest, q.w[i])
	}
	for _, k := range m.kinds {
		q.ways = max(q.ways, int(k.last-k.first))
		q.total += q.w[k.first] * q.l[k.first] * int64(k.copies)
	}
	q.widths, q.lengths = newClasses(q.w), newClasses(q.l)
	for i := range q.w {
		q.atW, q.atL = append(q.atW, q.widths.upTo(q.w[i])), append(q.atL, q.lengths.upTo(q.l[i]))
	}
	q.sky = make(skyline, 0, m.copies*2+4)
	return q
}

// classes are the distinct values of a size, ascending.
type classes struct {
	values []int64
	table  []int32 // by value: the class of the greatest value up to it, −1 if none
}

// maxTable is the greatest value that is looked up in a table.
const maxTable = 1 << 14

func newClasses(sizes []int64) classes {
	values := slices.Clone(sizes)
	slices.Sort(values)
	values = slices.Compact(values)
	c := classes{values: values}
	if most := values[len(values)-1]; most <= maxTable {
		c.table = make([]int32, most)
		class := int32(-1)
		for v := range c.table {
			if int64(v) == values[class+1] {
				class++
			}
			c.table[v] = class
		}
	}
	return c
}

// upTo returns the class of the greatest value up to v, or −1.
func (c *classes) upTo(v int64) int32 {
	last := int32(len(c.values) - 1)
	if v >= c.values[last] {
		return last
	}
	if v < 0 {
		return -1
	}
	if c.table != nil {
		return c.table[v]
	}
	low, high := int32(-1), last // values[low] ≤ v < values[high]
	for high-low > 1 {
		if mid := (low + high) / 2; c.values[mid] <= v {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// of returns the class of a value, or −1.
func (c *classes) of(v int64) int32 {
	if at := c.upTo(v); at >= 0 && c.values[at] == v {
		return at
	}
	return -1
}

// index brings the sets up to the sequence of a plan.
func (q *indexed) index(sequence []entry) {
	if len(sequence) != len(q.sequence) {
		q.indexAnew(sequence)
		return
	}
	for i := range sequence {
		e, was := &sequence[i], &q.sequence[i]
		q.left[i] = e.count
		if was.kind == e.kind && was.only == e.only {
			continue
		}
		from, to := q.optionsOf(was)
		for row := i * q.ways; from < to; row, from = row+1, from+1 {
			word, bit := row>>6, uint64(1)<<(row&63)
			q.all[word] &^= bit
			q.ofWidth[int(q.atW[from])*q.words+word] &^= bit
			q.ofLength[int(q.atL[from])*q.words+word] &^= bit
			for at := int(q.atW[from])*q.words + word; at < len(q.upTo); at += q.words {
				q.upTo[at] &^= bit
			}
		}
		from, to = q.optionsOf(e)
		for row := i * q.ways; from < to; row, from = row+1, from+1 {
			word, bit := row>>6, uint64(1)<<(row&63)
			q.file(row, from)
			for at := int(q.atW[from])*q.words + word; at < len(q.upTo); at += q.words {
				q.upTo[at] |= bit
			}
		}
		*was = *e
	}
}

// indexAnew makes the sets for a sequence of another length.
func (q *indexed) indexAnew(sequence []entry) {
	q.words = (len(sequence)*q.ways + 63) / 64
	q.all, q.pending = make([]uint64, q.words), make([]uint64, q.words)
	q.ofWidth, q.upTo = make([]uint64, q.words*len(q.widths.values)), make([]uint64, q.words*len(q.widths.values))
	q.ofLength = make([]uint64, q.words*len(q.lengths.values))
	q.option, q.left = make([]int32, len(sequence)*q.ways), make([]int32, len(sequence))
	q.sequence = slices.Clone(sequence)
	for i := range sequence {
		q.left[i] = sequence[i].count
		from, to := q.optionsOf(&sequence[i])
		for row := i * q.ways; from < to; row, from = row+1, from+1 {
			q.file(row, from)
		}
	}
	copy(q.upTo, q.ofWidth)
	for at := q.words; at < len(q.upTo); at++ {
		q.upTo[at] |= q.upTo[at-q.words]
	}
}

// optionsOf returns the options that the copies of an entry may lie in.
func (q *indexed) optionsOf(e *entry) (from, to int32) {
	k := &q.m.kinds[e.kind]
	if e.only >= 0 && k.first+e.only < k.last {
		return k.first + e.only, k.first + e.only + 1
	}
	return k.first, k.last
}

// file puts an option as a row into the sets, but for upTo.
func (q *indexed) file(row int, o int32) {
	word, bit := row>>6, uint64(1)<<(row&63)
	q.option[row] = o
	q.all[word] |= bit
	q.ofWidth[int(q.atW[o])*q.words+word] |= bit
	q.ofLength[int(q.atL[o])*q.words+word] |= bit
}

// lay lays a plan that prefers matching edges.
func (q *indexed) lay(p plan, g goal) outcome {
	q.index(p.sequence)
	copy(q.pending, q.all)
	width, target := q.m.width, g.target
	if q.across {
		width, target = g.target, q.m.width
	}
	width /= q.unitW
	if target < noCap {
		target /= q.unitL
	}
	one := q.unitW * q.unitL
	lost, most := int64(0), int64(noCap)
	if target < noCap {
		lost = q.total - width*target
		most = g.excess / one
	}
	if lost > most {
		return outcome{stopped: true}
	}
	q.spots = q.spots[:0]
	q.sky = q.sky.flat(width)
	end, skips := int64(0), p.skips
	skipping := skips != noSkips
	for rest := q.m.copies; rest > 0; {
		i := q.sky.lowest()
		y, wide := q.sky[i].y, q.sky.width(i)
		left, right := q.sky.walls(i)
		row := -1
		if !(skipping && len(q.sky) > 2 && skip(&skips, len(q.spots))) && wide >= q.narrowest {
			if p.rule.even {
				row = q.pickEven(wide, left, right)
			} else {
				row = q.pick(wide, left, right)
			}
		}
		if row < 0 {
			lower := min(left, right)
			if lower == noCap {
				return outcome{stopped: true} // a piece is too wide to be laid across
			}
			if y < target && target < noCap {
				lost += wide * (min(y+lower, target) - y)
				if lost > most {
					return outcome{stopped: true}
				}
			}
			q.sky.raise(i, y+lower)
			continue
		}
		o := q.option[row]
		w, l := q.w[o], q.l[o]
		toLeft := p.rule.goesLeft(left, right)
		if l == left {
			toLeft = true
		} else if l == right {
			toLeft = false
		}
		x := q.sky[i].x
		if !toLeft {
			x += wide - w
		}
		if q.across {
			q.spots = append(q.spots, spot{o, y * q.unitL, x * q.unitW})
		} else {
			q.spots = append(q.spots, spot{o, x * q.unitW, y * q.unitL})
		}
		end = max(end, y+l)
		q.sky.put(i, x, w, y+l)
		q.take(row)
		rest--
	}
	out := outcome{end: end * q.unitL}
	if target < noCap {
		for k := range q.sky[1:] {
			if y := q.sky[k].y; y < target {
				lost += q.sky.width(k) * (target - y)
			}
		}
		out.excess = max(lost, 0) * one
		out.stopped = lost > most
	}
	if q.across {
		if end > target {
			out.end = noCap
			return out
		}
		out.end = 0
		for _, s := range q.spots {
			out.end = max(out.end, s.y+q.m.options[s.option].l)
		}
	}
	return out
}

// stepMatches are sets of rows, one bit each, for a step: those not laid yet, those that fit its
// width, and those with an edge that matches the width, the left or the right wall. A nil set is empty.
type stepMatches struct{ pending, fitting, exact, byLeft, byRight []uint64 }

// matches looks up the rows for a step at least as wide as the narrowest row.
func (q *indexed) matches(width, left, right int64) stepMatches {
	n := q.words
	at := q.widths.upTo(width)
	m := stepMatches{pending: q.pending[:n], fitting: q.upTo[int(at)*n:][:n]}
	if q.widths.values[at] == width {
		m.exact = q.ofWidth[int(at)*n:][:n]
	}
	if c := q.lengths.of(left); c >= 0 {
		m.byLeft = q.ofLength[int(c)*n:][:n]
	}
	if left == right {
		m.byRight = m.byLeft
	} else if c := q.lengths.of(right); c >= 0 {
		m.byRight = q.ofLength[int(c)*n:][:n]
	}
	return m
}

// rowsIn returns those of the rows of word i that are in a set.
func rowsIn(set []uint64, i int, rows uint64) uint64 {
	if set == nil {
		return 0
	}
	return set[i] & rows
}

// pick returns the first row that matches a step best; see skyline.bestRow.
func (q *indexed) pick(width, left, right int64) int {
	m := q.matches(width, left, right)
	var loose []uint64
	if c := q.widths.upTo(width - q.narrowest); c >= 0 {
		loose = q.upTo[int(c)*q.words:][:q.words]
	}
	row, score := -1, -2
	for i, free := range m.pending {
		free &= m.fitting[i]
		if free == 0 {
			continue
		}
		e, t, a, b := rowsIn(m.exact, i, free), rowsIn(loose, i, free), rowsIn(m.byLeft, i, free), rowsIn(m.byRight, i, free)
		one, both := a|b, a&b
		if v := e & both; v != 0 {
			return i<<6 + bits.TrailingZeros64(v)
		}
		if score >= 3 {
			continue
		}
		if v := e & one; v != 0 {
			row, score = i<<6+bits.TrailingZeros64(v), 3
			continue
		}
		if score >= 2 {
			continue
		}
		if v := e | t&both; v != 0 {
			row, score = i<<6+bits.TrailingZeros64(v), 2
			continue
		}
		if score >= 1 {
			continue
		}
		tight := free &^ (e | t)
		v := t & one
		if s := tight & both; s != 0 {
			v |= q.worthIts(s, i, width, left, right)
		}
		if v != 0 {
			row, score = i<<6+bits.TrailingZeros64(v), 1
			continue
		}
		if score >= 0 {
			continue
		}
		v = t
		if s := tight & one; s != 0 {
			v |= q.worthIts(s, i, width, left, right)
		}
		if v != 0 {
			row, score = i<<6+bits.TrailingZeros64(v), 0
			continue
		}
		if score < -1 {
			if s := q.worthIts(tight, i, width, left, right); s != 0 {
				row, score = i<<6+bits.TrailingZeros64(s), -1
			}
		}
	}
	return row
}

// pickEven is pick by an even rule: see rule.even.
func (q *indexed) pickEven(width, left, right int64) int {
	m := q.matches(width, left, right)
	row, score := -1, -1
	for i, free := range m.pending {
		free &= m.fitting[i]
		if free == 0 {
			continue
		}
		e, a, b := rowsIn(m.exact, i, free), rowsIn(m.byLeft, i, free), rowsIn(m.byRight, i, free)
		if v := e & a & b; v != 0 {
			return i<<6 + bits.TrailingZeros64(v)
		}
		if v := e&(a|b) | a&b; v != 0 && score < 2 {
			row, score = i<<6+bits.TrailingZeros64(v), 2
		} else if v := e | a | b; v != 0 && score < 1 {
			row, score = i<<6+bits.TrailingZeros64(v), 1
		} else if score < 0 {
			row, score = i<<6+bits.TrailingZeros64(free), 0
		}
	}
	return row
}

// worthIts returns those of the rows, which leave a sliver of a step, whose sliver wastes no more
// than giving up the step does.
func (q *indexed) worthIts(rows uint64, word int, width, left, right int64) uint64 {
	lower := min(left, right)
	for rest := rows; rest != 0; rest &= rest - 1 {
		bit := bits.TrailingZeros64(rest)
		o := q.option[word<<6+bit]
		if least := min(q.l[o], right); lower < least && (width-q.w[o])*least > width*lower {
			rows &^= 1 << bit
		}
	}
	return rows
}

// take notes that a copy of the entry of a row is laid.
func (q *indexed) take(row int) {
	e := row
	if q.ways > 1 {
		e = row / q.ways
	}
	if q.left[e]--; q.left[e] > 0 {
		return
	}
	for r := e * q.ways; r < (e+1)*q.ways; r++ {
		q.pending[r>>6] &^= 1 << (r & 63)
	}
}

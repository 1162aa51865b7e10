package marker

import (
	"cmp"
	"math"
	"math/bits"
)

// The solver's picture of an instance. The gap is taken in by making every piece longer and
// wider by it, and the cloth too: pieces that touch in the model lie a gap apart on the cloth.
// Turns and mirrorings that come to the same box are one option, and pieces that have the same
// options are one kind, so that many copies of few shapes are few kinds.

// option is one way for a kind of piece to lie.
type option struct {
	w, l int64 // of the turned box, with the gap
	// Where repeats bind: x must be atX more than a multiple of the repeat across, y likewise.
	// −1 means anywhere.
	atX, atY int64
	kind     int32
	// onFold options end at the width of the model, where the fold is.
	onFold bool
	// way is 0 or 1 for the ways up of a nap group that can be chosen, −1 if it does not matter.
	way int8
}

// compare puts options in order: by way up, then the narrowest first.
func (o option) compare(p option) int {
	return cmp.Or(cmp.Compare(o.way, p.way), cmp.Compare(o.w, p.w), cmp.Compare(o.l, p.l), cmp.Compare(o.atX, p.atX), cmp.Compare(o.atY, p.atY),
		cmp.Compare(o.foldRank(), p.foldRank()))
}

func (o option) foldRank() int {
	if o.onFold {
		return 1
	}
	return 0
}

// member is a piece that belongs to a kind, with the turn and mirroring of each option.
type member struct {
	piece, copies int
	poses         []pose
	// outline is the area of the outline of a shaped piece, 0 for a rectangle.
	outline int64
	// foldEdge is the length of the edges of a piece on the fold that lie there.
	foldEdge int64
}

// pose is the turn of a piece, in degrees, and whether it lies face down.
type pose struct {
	turn     int
	mirrored bool
}

type kind struct {
	options     []option
	first, last int32 // their numbers: options[first:last] of the model
	copies      int
	members     []member
	value       int64 // of one copy
	area        int64 // of one copy's box, with the gap
	group       int   // index of a nap group that can be chosen, −1 if none
}

type obstacle struct{ x0, y0, x1, y1 int64 } // a fault, without any gap

type model struct {
	straight         bool  // straight cuts only
	width            int64 // usable width plus the gap; of folded cloth less foldGap
	foldGap          int64 // what pieces keep off the fold, and pieces on it lack of the gap
	cap              int64 // longest length plus the gap; noCap if there is none
	gap              int64
	repeatX, repeatY int64
	kinds            []kind
	options          []option
	obstacles        []obstacle // by their upper edge
	groups           int        // nap groups whose way up is a choice
	copies           int
	plain            bool // no obstacle and no option bound to a repeat or to the fold
	narrowest        int64
	byArea           bool
	value            int64   // of all copies
	meanArea         float64 // of a copy's box, with the gap
}

const noCap = int64(1) << 60

// addKind gives a kind its number and its options their place.
func (m *model) addKind(k kind) {
	k.area = k.options[0].w * k.options[0].l
	for i := range k.options {
		o := &k.options[i]
		o.kind = int32(len(m.kinds))
		m.narrowest = min(m.narrowest, o.w)
		m.plain = m.plain && o.atX < 0 && o.atY < 0 && !o.onFold
	}
	k.first = int32(len(m.options))
	m.options = append(m.options, k.options...)
	k.last = int32(len(m.options))
	m.kinds = append(m.kinds, k)
	m.value += k.value * int64(k.copies)
	m.meanArea += float64(k.area) * float64(k.copies) / float64(m.copies)
}

// totalArea returns the area of all copies, in square units.
func (m *model) totalArea() int64 {
	total := int64(0)
	for _, k := range m.kinds {
		total += k.area * int64(k.copies)
	}
	return total
}

func positiveMod(a, b int64) int64 { return (a%b + b) % b }

// alignUp returns the least value from v on that is at more than a multiple of repeat;
// v itself if at is −1.
func alignUp(v, at, repeat int64) int64 {
	if at < 0 {
		return v
	}
	return v + positiveMod(at-v, repeat)
}

// alignDown returns the greatest value up to v that is at more than a multiple of repeat.
func alignDown(v, at, repeat int64) int64 {
	if at < 0 {
		return v
	}
	return v - positiveMod(v-at, repeat)
}

// covered returns a fault that an option at (x, y) would cover, or −1.
func (m *model) covered(x, y int64, o *option) int {
	w, l := m.bare(o)
	for i := range m.obstacles {
		o := &m.obstacles[i]
		if o.y1 > y && o.y0 < y+l && o.x1 > x && o.x0 < x+w {
			return i
		}
	}
	return -1
}

// lowest returns the lowest place from y on where an option covers no fault.
func (m *model) lowest(o *option, y int64) (atX, atY int64) {
	for {
		y = alignUp(y, o.atY, m.repeatY)
		x := alignUp(0, o.atX, m.repeatX)
		if o.onFold {
			x = m.width - o.w
		}
		next := noCap
		for x+o.w <= m.width {
			fault := m.covered(x, y, o)
			if fault < 0 {
				return x, y
			}
			x = alignUp(m.obstacles[fault].x1, o.atX, m.repeatX)
			next = min(next, m.obstacles[fault].y1)
		}
		y = next
	}
}

// bare returns the size of an option without the gap.
func (m *model) bare(o *option) (w, l int64) {
	w, l = o.w-m.gap, o.l-m.gap
	if o.onFold {
		w += m.foldGap
	}
	return w, l
}

// spot is a laid option of the model.
type spot struct {
	option int32
	x, y   int64
}

// endOf returns where the last of the spots ends.
func endOf(m *model, spots []spot) int64 {
	end := int64(0)
	for _, s := range spots {
		end = max(end, s.y+m.options[s.option].l)
	}
	return end
}

// turns tells whether some piece may lie in several ways.
func (m *model) turns() bool { return len(m.options) > len(m.kinds) }

// stepWork is about how many operations the laying of a plan takes.
func (m *model) stepWork() int { return m.copies*len(m.options) + 100*m.copies }

// maxArea is more than all pieces of an instance have together.
const maxArea = math.MaxInt64 / 4

// clothArea returns the area up to the longest length, or maxArea if it is more than that.
func (m *model) clothArea() int64 {
	high, low := bits.Mul64(uint64(m.width), uint64(m.cap))
	if high > 0 || low > maxArea {
		return maxArea
	}
	return int64(low)
}

// endUnit returns what all ends of markers are multiples of, and whether match points are among the reasons.
func (m *model) endUnit() (unit int64, matched bool) {
	for _, o := range m.options {
		unit = gcd(unit, o.l)
		if o.atY >= 0 {
			unit, matched = gcd(gcd(unit, o.atY), m.repeatY), true
		}
	}
	for _, o := range m.obstacles {
		unit = gcd(unit, o.y1)
	}
	return unit, matched
}

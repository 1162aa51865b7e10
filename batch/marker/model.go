package marker

import (
	"cmp"
	"fmt"
	"slices"

	"yardwright/batch/length"
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
}

type pose struct {
	turn     Turn
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
	in               *Instance
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

func newModel(in *Instance) *model {
	m := &model{
		in: in, gap: int64(in.Gap), width: int64(in.Width + in.Gap), cap: noCap,
		repeatX: int64(in.Repeat.Width), repeatY: int64(in.Repeat.Length), copies: in.copies(), byArea: true,
	}
	if in.MaxLength > 0 {
		m.cap = int64(in.MaxLength + in.Gap)
	}
	if in.Folded {
		m.foldGap = (m.gap + 1) / 2
		m.width -= m.foldGap
	}
	for _, f := range in.Faults {
		if m.cap == noCap || f.Y < in.MaxLength {
			m.obstacles = append(m.obstacles, obstacle{int64(f.X), int64(f.Y), int64(f.X + f.Width), int64(f.Y + f.Length)})
		}
	}
	slices.SortFunc(m.obstacles, func(a, b obstacle) int {
		return cmp.Or(cmp.Compare(a.y1, b.y1), cmp.Compare(a.y0, b.y0), cmp.Compare(a.x0, b.x0))
	})
	for i := range in.Pieces {
		m.byArea = m.byArea && in.Pieces[i].Value == 0
	}
	m.plain, m.narrowest = len(m.obstacles) == 0, noCap
	m.addKinds()
	return m
}

// addKinds finds the options of each piece and joins pieces alike. Kinds stand in an order of
// their own, so that the order of the pieces hardly matters.
func (m *model) addKinds() {
	choice := m.napChoices()
	m.groups = len(choice.index)
	var kinds []kind
	known := map[string]int{}
	for i := range m.in.Pieces {
		p := &m.in.Pieces[i]
		k := kind{copies: p.Copies, value: m.valueOf(i), group: -1}
		if index, ok := choice.index[p.NapGroup]; ok && p.NapGroup != 0 {
			k.group = index
		}
		options, poses := m.pieceOptions(i, choice)
		part := member{piece: i, copies: p.Copies, poses: poses}
		key := fmt.Sprint(k.group, k.value, options)
		if at, ok := known[key]; ok {
			kinds[at].copies += p.Copies
			kinds[at].members = append(kinds[at].members, part)
			continue
		}
		known[key] = len(kinds)
		k.members, k.options = []member{part}, options
		kinds = append(kinds, k)
	}
	slices.SortStableFunc(kinds, func(a, b kind) int {
		return cmp.Or(slices.CompareFunc(a.options, b.options, option.compare), cmp.Compare(a.copies, b.copies), cmp.Compare(a.value, b.value))
	})
	for _, k := range kinds {
		m.addKind(k)
	}
}

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

func (m *model) valueOf(piece int) int64 {
	if m.byArea {
		return int64(m.in.Pieces[piece].Area())
	}
	return m.in.Pieces[piece].Value
}

// pieceOptions lists how one piece can lie on the cloth by itself, each box once, the narrowest
// first: where all else is equal, a piece is laid upright.
func (m *model) pieceOptions(i int, choice napChoice) ([]option, []pose) {
	p := &m.in.Pieces[i]
	type posed struct {
		option
		pose
	}
	var all []posed
	for _, turn := range p.Turns {
		way := int8(-1)
		if p.NapGroup != 0 {
			if only, settled := choice.settled[p.NapGroup]; settled {
				if only != (turn >= 180) {
					continue
				}
			} else if way = 0; turn >= 180 {
				way = 1
			}
		}
		for _, mirrored := range []bool{false, true} {
			if !p.mayLie(turn, mirrored) {
				continue
			}
			o := m.lie(p, turn, mirrored)
			if o.way = way; m.fitsAcross(o) {
				all = append(all, posed{o, pose{turn, mirrored}})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b posed) int { return a.option.compare(b.option) })
	all = slices.CompactFunc(all, func(a, b posed) bool { return a.option == b.option })
	options, poses := make([]option, len(all)), make([]pose, len(all))
	for j, o := range all {
		options[j], poses[j] = o.option, o.pose
	}
	return options, poses
}

// lie returns the option of a piece in one turn and mirroring.
func (m *model) lie(p *Piece, turn Turn, mirrored bool) option {
	w, l := int64(p.Width), int64(p.Length)
	o := option{w: w + m.gap, l: l + m.gap, atX: -1, atY: -1, way: -1, onFold: p.OnFold}
	if o.onFold {
		o.w -= m.foldGap
	}
	if turn == 90 || turn == 270 {
		o.w, o.l = o.l, o.w
	}
	if p.Match == nil {
		return o
	}
	x, y := int64(p.Match.X), int64(p.Match.Y)
	if mirrored {
		x = w - x
	}
	switch turn {
	case 90:
		x, y = l-y, x
	case 180:
		x, y = w-x, l-y
	case 270:
		x, y = y, w-x
	}
	if m.repeatX > 0 {
		o.atX = positiveMod(-x, m.repeatX)
	}
	if m.repeatY > 0 {
		o.atY = positiveMod(-y, m.repeatY)
	}
	return o
}

// fitsAcross tells whether an option has a place across the cloth.
func (m *model) fitsAcross(o option) bool {
	if o.onFold {
		x := m.width - o.w
		return x >= 0 && alignUp(x, o.atX, m.repeatX) == x
	}
	return max(o.atX, 0)+o.w <= m.width
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

// napChoice says, of each nap group, which way up its pieces lie: settled (true for turned by
// a half) if the other way offers no box that this one does not or, without a longest length, cannot
// hold all of them; else an index to choose by.
type napChoice struct {
	settled map[int]bool
	index   map[int]int
}

func (m *model) napChoices() napChoice {
	choice := napChoice{map[int]bool{}, map[int]int{}}
	groups, pieces := []int{}, map[int][]*Piece{}
	all := m.cap >= noCap
	for i := range m.in.Pieces {
		p := &m.in.Pieces[i]
		if p.NapGroup == 0 {
			continue
		}
		if pieces[p.NapGroup] == nil {
			groups = append(groups, p.NapGroup)
		}
		pieces[p.NapGroup] = append(pieces[p.NapGroup], p)
	}
	for _, group := range groups {
		switch up, down := m.boxesOf(pieces[group], 0), m.boxesOf(pieces[group], 180); {
		case up.cover(down, all):
			choice.settled[group] = false
		case down.cover(up, all):
			choice.settled[group] = true
		default:
			choice.index[group] = len(choice.index)
		}
	}
	return choice
}

// boxesByPiece are the options of each piece of a nap group in one way up.
type boxesByPiece [][]option

func (m *model) boxesOf(pieces []*Piece, way Turn) boxesByPiece {
	all := make(boxesByPiece, len(pieces))
	for i, p := range pieces {
		all[i] = m.boxes(p, way)
	}
	return all
}

// possible tells whether every piece has a box.
func (b boxesByPiece) possible() bool {
	return !slices.ContainsFunc(b, func(own []option) bool { return len(own) == 0 })
}

// cover tells whether the other way has nothing to offer beside this one. Where all pieces are
// to be laid, a way that cannot hold them all offers nothing; where some may be left out, what it
// offers the others counts.
func (b boxesByPiece) cover(other boxesByPiece, all bool) bool {
	if all && (!b.possible() || !other.possible()) {
		return b.possible()
	}
	for i := range b {
		if slices.ContainsFunc(other[i], func(o option) bool { return !slices.Contains(b[i], o) }) {
			return false
		}
	}
	return true
}

// boxes lists the options of a piece turned by way or way + 90 that fit the width.
func (m *model) boxes(p *Piece, way Turn) []option {
	var found []option
	for _, turn := range p.Turns {
		if turn != way && turn != way+90 {
			continue
		}
		for _, mirrored := range []bool{false, true} {
			if o := m.lie(p, turn, mirrored); p.mayLie(turn, mirrored) && m.fitsAcross(o) {
				found = append(found, o)
			}
		}
	}
	return found
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

// placements turns spots into placements: the copies of a kind go to its pieces in their order.
func (m *model) placements(spots []spot) []Placement {
	used := make([]int, len(m.kinds))
	placed := make([]Placement, len(spots))
	for i, s := range spots {
		k := m.options[s.option].kind
		at := used[k]
		used[k]++
		for _, part := range m.kinds[k].members {
			if at < part.copies {
				pose := part.poses[s.option-m.kinds[k].first]
				placed[i] = Placement{Piece: part.piece, X: length.Length(s.x), Y: length.Length(s.y), Turn: pose.turn, Mirrored: pose.mirrored}
				break
			}
			at -= part.copies
		}
	}
	return placed
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

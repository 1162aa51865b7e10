package marker

// From an instance to the solvers' picture of it, and back.

import (
	"cmp"
	"fmt"
	"slices"

	"yardwright/batch/length"
)

func newModel(in *Instance) *model {
	m := &model{
		straight: in.StraightCuts, gap: int64(in.Gap), width: int64(in.Width + in.Gap), cap: noCap,
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
	addKinds(m, in)
	return m
}

// addKinds finds the options of each piece and joins pieces alike. Kinds stand in an order of
// their own, so that the order of the pieces hardly matters.
func addKinds(m *model, in *Instance) {
	choice := napChoices(m, in)
	m.groups = len(choice.index)
	var kinds []kind
	known := map[string]int{}
	for i := range in.Pieces {
		p := &in.Pieces[i]
		k := kind{copies: p.Copies, value: p.Value, group: -1}
		if m.byArea {
			k.value = int64(p.Area())
		}
		if index, ok := choice.index[p.NapGroup]; ok && p.NapGroup != 0 {
			k.group = index
		}
		options, poses := pieceOptions(m, p, choice)
		part := member{piece: i, copies: p.Copies, poses: poses}
		if len(p.Outline) > 0 {
			part.outline = int64(p.Area())
		}
		if p.OnFold {
			part.foldEdge = p.foldEdge()
		}
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

// pieceOptions lists how one piece can lie on the cloth by itself, each box once, the narrowest
// first: where all else is equal, a piece is laid upright.
func pieceOptions(m *model, p *Piece, choice napChoice) ([]option, []pose) {
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
			o := lie(m, p, turn, mirrored)
			if o.way = way; fitsAcross(m, o) {
				all = append(all, posed{o, pose{int(turn), mirrored}})
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
func lie(m *model, p *Piece, turn Turn, mirrored bool) option {
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
	at := p.move(*p.Match, turn, mirrored)
	if m.repeatX > 0 {
		o.atX = positiveMod(-int64(at.X), m.repeatX)
	}
	if m.repeatY > 0 {
		o.atY = positiveMod(-int64(at.Y), m.repeatY)
	}
	return o
}

// fitsAcross tells whether an option has a place across the cloth.
func fitsAcross(m *model, o option) bool {
	if o.onFold {
		x := m.width - o.w
		return x >= 0 && alignUp(x, o.atX, m.repeatX) == x
	}
	return max(o.atX, 0)+o.w <= m.width
}

// napChoice says, of each nap group, which way up its pieces lie: settled (true for turned by
// a half) if the other way offers no box that this one does not or, without a longest length, cannot
// hold all of them; else an index to choose by.
type napChoice struct {
	settled map[int]bool
	index   map[int]int
}

func napChoices(m *model, in *Instance) napChoice {
	choice := napChoice{map[int]bool{}, map[int]int{}}
	groups, pieces := []int{}, map[int][]*Piece{}
	all := m.cap >= noCap
	for i := range in.Pieces {
		p := &in.Pieces[i]
		if p.NapGroup == 0 {
			continue
		}
		if pieces[p.NapGroup] == nil {
			groups = append(groups, p.NapGroup)
		}
		pieces[p.NapGroup] = append(pieces[p.NapGroup], p)
	}
	for _, group := range groups {
		switch up, down := boxesOf(m, pieces[group], 0), boxesOf(m, pieces[group], 180); {
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

func boxesOf(m *model, pieces []*Piece, way Turn) boxesByPiece {
	all := make(boxesByPiece, len(pieces))
	for i, p := range pieces {
		all[i] = boxesOfPiece(m, p, way)
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

// boxesOfPiece lists the options of a piece turned by way or way + 90 that fit the width.
func boxesOfPiece(m *model, p *Piece, way Turn) []option {
	var found []option
	for _, turn := range p.Turns {
		if turn != way && turn != way+90 {
			continue
		}
		for _, mirrored := range []bool{false, true} {
			if o := lie(m, p, turn, mirrored); p.mayLie(turn, mirrored) && fitsAcross(m, o) {
				found = append(found, o)
			}
		}
	}
	return found
}

// placements turns spots into placements: the copies of a kind go to its pieces in their order.
func placements(m *model, spots []spot) []Placement {
	used := make([]int, len(m.kinds))
	placed := make([]Placement, len(spots))
	for i, s := range spots {
		k := m.options[s.option].kind
		at := used[k]
		used[k]++
		for _, part := range m.kinds[k].members {
			if at < part.copies {
				pose := part.poses[s.option-m.kinds[k].first]
				placed[i] = Placement{Piece: part.piece, X: length.Length(s.x), Y: length.Length(s.y), Turn: Turn(pose.turn), Mirrored: pose.mirrored}
				break
			}
			at -= part.copies
		}
	}
	return placed
}

// foldEdge returns the length of the edges of a piece on the fold that lie there.
func (p *Piece) foldEdge() int64 {
	if len(p.Outline) == 0 {
		return int64(p.Length)
	}
	total := length.Length(0)
	for i, a := range p.Outline {
		if b := p.Outline[(i+1)%len(p.Outline)]; a.X == p.Width && b.X == p.Width {
			total += max(a.Y-b.Y, b.Y-a.Y)
		}
	}
	return int64(total)
}

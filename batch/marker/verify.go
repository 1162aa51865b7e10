package marker

import (
	"cmp"
	"fmt"
	"slices"

	"yardwright/batch/length"
)

// Verify tells whether a result is a valid marker of an instance: nil, or an error that names
// the first rule that is broken and where. It is exact, and it shares nothing with Solve.
//
// Checked are: every placement names a piece, an allowed turn and mirroring; it lies inside the
// usable width, above the cloth's beginning and within the longest length; it covers no fault;
// no two pieces overlap or come nearer than the gap, both across and along; pieces of a nap
// group lie the same way up; on folded cloth the middles of pieces on the fold lie there; match points fall on the repeat; every copy is laid, or counted
// in Left where there is a longest length; the length is the end of the last piece; the straight
// cuts, if demanded, can be made in their order and free every piece; Status, Bound and Value
// agree with the rest. A shaped piece is judged by its outline, not by its bounding box; for
// straight cuts by its bounding box, as the blade frees that first.
//
// Not checked is that Bound is proven; that takes a proof of its own.
func Verify(in Instance, r Result) error {
	if err := in.Check(); err != nil {
		return fmt.Errorf("the instance is wrong: %w", err)
	}
	v := verifier{in: in, r: r}
	for _, rule := range []func() error{
		v.placements, v.naps, v.counts, v.length, v.overlaps, v.cuts, v.standing,
	} {
		if err := rule(); err != nil {
			return err
		}
	}
	return nil
}

type verifier struct {
	in    Instance
	r     Result
	boxes []box // by placement
	// corners, by placement, are set when first needed.
	corners [][]Point
}

// box is a rectangle of the cloth from (x0, y0) to (x1, y1).
type box struct{ x0, y0, x1, y1 length.Length }

// apart tells whether two boxes are at least the gap apart, across or along.
func (a box) apart(b box, gap length.Length) bool {
	return a.x1+gap <= b.x0 || b.x1+gap <= a.x0 || a.y1+gap <= b.y0 || b.y1+gap <= a.y0
}

func (b box) outline() []Point {
	return []Point{{b.x0, b.y0}, {b.x1, b.y0}, {b.x1, b.y1}, {b.x0, b.y1}}
}

// say names a placement for a message.
func (v *verifier) say(i int) string {
	p := v.r.Placements[i]
	return fmt.Sprintf("placement %d (%s at %s across, %s along)", i, v.in.Pieces[p.Piece].label(fmt.Sprintf("piece %d", p.Piece)), both(p.X), both(p.Y))
}

func (v *verifier) placements() error {
	v.boxes = make([]box, len(v.r.Placements))
	v.corners = make([][]Point, len(v.r.Placements))
	if len(v.r.Placements) > MaxCopies {
		return fmt.Errorf("there are %d placements, more than can be asked for", len(v.r.Placements))
	}
	for i, p := range v.r.Placements {
		if p.Piece < 0 || p.Piece >= len(v.in.Pieces) {
			return fmt.Errorf("placement %d: there is no piece %d", i, p.Piece)
		}
		if err := v.placement(i, p, v.in.Pieces[p.Piece]); err != nil {
			return err
		}
	}
	return nil
}

func (v *verifier) placement(i int, p Placement, piece Piece) error {
	if !slices.Contains(piece.Turns, p.Turn) {
		return fmt.Errorf("%s: the turn %d is not allowed", v.say(i), p.Turn)
	}
	if p.Mirrored && !piece.MayMirror && !piece.OnFold {
		return fmt.Errorf("%s: the piece may not be mirrored", v.say(i))
	}
	w, l := piece.Width, piece.Length
	if p.Turn%180 != 0 {
		w, l = l, w
	}
	if p.X < 0 || p.X > v.in.Width-w {
		return fmt.Errorf("%s: the piece is not inside the usable width", v.say(i))
	}
	if v.in.Folded {
		if err := v.fold(i, p, piece, w); err != nil {
			return err
		}
	}
	if p.Y < 0 || p.Y > maxEnd-l {
		return fmt.Errorf("%s: the piece is not on the cloth", v.say(i))
	}
	if v.in.MaxLength > 0 && p.Y > v.in.MaxLength-l {
		return fmt.Errorf("%s: the piece reaches beyond the longest length", v.say(i))
	}
	v.boxes[i] = box{p.X, p.Y, p.X + w, p.Y + l}
	for j, f := range v.in.Faults {
		fault := box{f.X, f.Y, f.X + f.Width, f.Y + f.Length}
		if v.boxes[i].apart(fault, 0) {
			continue
		}
		if len(piece.Outline) == 0 || polygonsOverlap(v.placed(i), fault.outline()) {
			return fmt.Errorf("%s: the piece covers fault %d", v.say(i), j)
		}
	}
	return v.matched(i, p, piece)
}

// fold checks a piece on folded cloth: the right edge of half a piece, as it is drawn, lies on the
// fold; any other piece is half a gap away from it, as its mirror image lies behind it.
func (v *verifier) fold(i int, p Placement, piece Piece, w length.Length) error {
	if !piece.OnFold {
		if 2*(v.in.Width-p.X-w) < v.in.Gap {
			return fmt.Errorf("%s is nearer than half the gap to the fold", v.say(i))
		}
		return nil
	}
	for _, corner := range []Point{{piece.Width, 0}, {piece.Width, piece.Length}} {
		if v.move(p, piece, corner).X != v.in.Width {
			return fmt.Errorf("%s: the piece's middle is not on the fold", v.say(i))
		}
	}
	return nil
}

// maxEnd keeps coordinates so small that their products fit into wide.
const maxEnd = length.Length(1) << 60

func (v *verifier) matched(i int, p Placement, piece Piece) error {
	if piece.Match == nil {
		return nil
	}
	at := v.move(p, piece, *piece.Match)
	if v.in.Repeat.Width > 0 && at.X%v.in.Repeat.Width != 0 {
		return fmt.Errorf("%s: the match point lies %s across, off the repeat", v.say(i), both(at.X))
	}
	if v.in.Repeat.Length > 0 && at.Y%v.in.Repeat.Length != 0 {
		return fmt.Errorf("%s: the match point lies %s along, off the repeat", v.say(i), both(at.Y))
	}
	return nil
}

// move returns where a point of a piece comes to lie: mirrored, turned by quarters about the
// lower left corner of the cloth and pushed so that the box begins at the placement.
func (v *verifier) move(p Placement, piece Piece, at Point) Point {
	low, high := Point{0, 0}, Point{piece.Width, piece.Length}
	if p.Mirrored {
		at.X = -at.X
		low.X, high.X = -high.X, -low.X
	}
	for turned := Turn(0); turned < p.Turn; turned += 90 {
		at = Point{-at.Y, at.X}
		low, high = Point{-high.Y, low.X}, Point{-low.Y, high.X}
	}
	return Point{at.X - low.X + p.X, at.Y - low.Y + p.Y}
}

// placed returns the outline of a placement on the cloth.
func (v *verifier) placed(i int) []Point {
	if v.corners[i] != nil {
		return v.corners[i]
	}
	p := v.r.Placements[i]
	piece := v.in.Pieces[p.Piece]
	if len(piece.Outline) == 0 {
		v.corners[i] = v.boxes[i].outline()
		return v.corners[i]
	}
	v.corners[i] = make([]Point, len(piece.Outline))
	for j, q := range piece.Outline {
		v.corners[i][j] = v.move(p, piece, q)
	}
	return v.corners[i]
}

func (v *verifier) naps() error {
	up := map[int]bool{}
	for i, p := range v.r.Placements {
		group := v.in.Pieces[p.Piece].NapGroup
		if group == 0 {
			continue
		}
		way := p.Turn < 180
		if first, known := up[group]; known && first != way {
			return fmt.Errorf("%s: the pieces of nap group %d do not lie the same way up", v.say(i), group)
		}
		up[group] = way
	}
	return nil
}

func (v *verifier) counts() error {
	if v.r.Left != nil {
		if v.in.MaxLength == 0 {
			return fmt.Errorf("copies are left out though there is no longest length")
		}
		if len(v.r.Left) != len(v.in.Pieces) {
			return fmt.Errorf("left counts %d pieces; there are %d", len(v.r.Left), len(v.in.Pieces))
		}
	}
	laid := make([]int, len(v.in.Pieces))
	for _, p := range v.r.Placements {
		laid[p.Piece]++
	}
	left := 0
	for i, piece := range v.in.Pieces {
		over := 0
		if v.r.Left != nil {
			over = v.r.Left[i]
		}
		if over < 0 || laid[i]+over != piece.Copies {
			return fmt.Errorf("%s: %d copies are laid and %d left out; there are %d", piece.label(fmt.Sprintf("piece %d", i)), laid[i], over, piece.Copies)
		}
		left += over
	}
	if v.r.Left != nil && left == 0 {
		return fmt.Errorf("left is given though every copy is laid")
	}
	return nil
}

func (v *verifier) length() error {
	end := length.Length(0)
	for _, b := range v.boxes {
		end = max(end, b.y1)
	}
	if v.r.Length != end {
		return fmt.Errorf("the length is said to be %d units; the last piece ends at %d", v.r.Length, end)
	}
	return nil
}

// overlaps goes along the cloth and compares each piece with those that have not ended yet.
func (v *verifier) overlaps() error {
	order := make([]int, len(v.boxes))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(v.boxes[i].y0, v.boxes[j].y0) })
	var open []int
	for _, i := range order {
		kept := open[:0]
		for _, j := range open {
			if v.boxes[j].y1+v.in.Gap <= v.boxes[i].y0 {
				continue
			}
			kept = append(kept, j)
			if v.boxes[i].apart(v.boxes[j], v.in.Gap) {
				continue
			}
			if err := v.pair(i, j); err != nil {
				return err
			}
		}
		open = append(kept, i)
	}
	return nil
}

// pair judges two pieces whose boxes overlap or are nearer than the gap.
func (v *verifier) pair(i, j int) error {
	shaped := len(v.in.Pieces[v.r.Placements[i].Piece].Outline) > 0 || len(v.in.Pieces[v.r.Placements[j].Piece].Outline) > 0
	if !v.boxes[i].apart(v.boxes[j], 0) && (!shaped || polygonsOverlap(v.placed(i), v.placed(j))) {
		return fmt.Errorf("%s overlaps %s", v.say(i), v.say(j))
	}
	if v.in.Gap > 0 && (!shaped || !outlinesApart(v.placed(i), v.placed(j), v.in.Gap)) {
		return fmt.Errorf("%s is nearer than the gap to %s", v.say(i), v.say(j))
	}
	return nil
}

// standing checks what the result says of itself.
func (v *verifier) standing() error {
	partial := v.r.Left != nil
	if partial != (v.r.Status == StatusPartial) {
		return fmt.Errorf("the status %q does not agree with the copies left out", v.r.Status)
	}
	switch v.r.Status {
	case StatusPartial:
		return v.value()
	case StatusOptimal:
		if v.r.Length != v.r.Bound {
			return fmt.Errorf("the marker is said to be the shortest, but its bound is %d units and its length %d", v.r.Bound, v.r.Length)
		}
	case StatusWithin, StatusOutOfTime:
	default:
		return fmt.Errorf("%q is not a status", v.r.Status)
	}
	if v.r.Bound > v.r.Length || v.r.Bound < 0 {
		return fmt.Errorf("the bound of %d units is above the length of %d", v.r.Bound, v.r.Length)
	}
	return nil
}

func (v *verifier) value() error {
	byArea := true
	for _, piece := range v.in.Pieces {
		byArea = byArea && piece.Value == 0
	}
	total := int64(0)
	for _, p := range v.r.Placements {
		if byArea {
			total += int64(v.in.Pieces[p.Piece].Area())
		} else {
			total += v.in.Pieces[p.Piece].Value
		}
	}
	if total != v.r.Value {
		return fmt.Errorf("the value is said to be %d; the copies laid have %d", v.r.Value, total)
	}
	if v.r.ValueBound < total {
		return fmt.Errorf("the bound on the value is %d, but the copies laid have %d", v.r.ValueBound, total)
	}
	return nil
}

// cuts replays the straight cuts and checks that they free every piece: that the box of each is a
// part of its own, as boxes that do not overlap cannot be the same part.
func (v *verifier) cuts() error {
	if !v.in.StraightCuts {
		if len(v.r.Cuts) > 0 {
			return fmt.Errorf("straight cuts are given though none are demanded")
		}
		return nil
	}
	parts := newParts(box{0, 0, v.in.Width, v.r.Length})
	for i, cut := range v.r.Cuts {
		if !parts.cut(cut) {
			return fmt.Errorf("cut %d does not run edge to edge of a part", i)
		}
	}
	for i, b := range v.boxes {
		if !parts.has(b) {
			return fmt.Errorf("%s: the straight cuts do not free the piece", v.say(i))
		}
	}
	return nil
}

// parts are the pieces of cloth between the cuts made so far, found by the edge that a cut
// must span.
type parts struct {
	all    map[box]bool
	across map[[2]length.Length]map[box]bool // by x0 and width
	along  map[[2]length.Length]map[box]bool // by y0 and length
}

func newParts(whole box) *parts {
	p := &parts{map[box]bool{}, map[[2]length.Length]map[box]bool{}, map[[2]length.Length]map[box]bool{}}
	p.put(whole)
	return p
}

func (p *parts) put(b box) {
	p.all[b] = true
	for index, key := range map[*map[[2]length.Length]map[box]bool][2]length.Length{&p.across: {b.x0, b.x1 - b.x0}, &p.along: {b.y0, b.y1 - b.y0}} {
		if (*index)[key] == nil {
			(*index)[key] = map[box]bool{}
		}
		(*index)[key][b] = true
	}
}

func (p *parts) remove(b box) {
	delete(p.all, b)
	delete(p.across[[2]length.Length{b.x0, b.x1 - b.x0}], b)
	delete(p.along[[2]length.Length{b.y0, b.y1 - b.y0}], b)
}

func (p *parts) has(b box) bool { return p.all[b] }

// cut splits the part that a cut runs through from edge to edge.
func (p *parts) cut(c Cut) bool {
	if c.Across {
		for b := range p.across[[2]length.Length{c.X, c.Span}] {
			if b.y0 < c.Y && c.Y < b.y1 {
				p.remove(b)
				p.put(box{b.x0, b.y0, b.x1, c.Y})
				p.put(box{b.x0, c.Y, b.x1, b.y1})
				return true
			}
		}
		return false
	}
	for b := range p.along[[2]length.Length{c.Y, c.Span}] {
		if b.x0 < c.X && c.X < b.x1 {
			p.remove(b)
			p.put(box{b.x0, b.y0, c.X, b.y1})
			p.put(box{c.X, b.y0, b.x1, b.y1})
			return true
		}
	}
	return false
}

package garment

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"yardwright/batch/length"
)

// Draft is one piece of a style in one size, to be drawn at its true size on paper. Its lines
// follow curves to a fiftieth of a millimetre, which is finer than those that are laid on cloth.
// A piece on the bias stands upright here, with its grain aslant.
type Draft struct {
	Piece  int // index into Style.Pieces
	Name   string
	Size   string
	Copies int
	Grain  Grain
	Pair   bool
	Note   string
	// Width and Length of what is drawn: of half the piece if OnFold.
	Width, Length length.Length
	// Cut is the line to cut along, counter-clockwise, the lower left corner of its box at
	// (0, 0). Hole is a second one inside it, of a whole circle; usually nil.
	Cut, Hole []Point
	// OnFold: Cut is half of the piece; its edge at x = 0 lies on the fold of the cloth.
	OnFold bool
	// Sewn is the seam line, with hems and casings turned; nil if it isn't known, and Unknown
	// says why.
	Sewn    []Point
	Unknown string
	// Edges says in words what each edge allows for.
	Edges []EdgeAllowance
	// FoldLines are where a band is folded; Notches are small cuts at the edge; Places show
	// where another piece is set on.
	FoldLines [][2]Point
	Notches   []Notch
	Places    []Place
}

// EdgeAllowance is what the edges of one kind allow for.
type EdgeAllowance struct {
	// Edge is "sides", "top", "bottom", "inner edge", "outer edge" or "straight edges".
	Edge   string
	Amount length.Length
}

// Notch is a mark at the cutting line; Inward is the unit direction into the piece, in thousandths.
type Notch struct {
	At     Point
	Inward Point
	Text   string
}

// Place is where another piece is set on: its finished box. Suggested tells that the style does
// not say where, and this is only a proposal of ours.
type Place struct {
	Name      string
	Low, High Point
	Suggested bool
}

// Drafts works out pieces of the style in one size for drawing at true size, all of them.
// The error is Problems, as of Grade.
//
// A style has no record of which allowance lies at which edge, so this is worked out from how
// the piece grows with each allowance: one that counts twice lies at both of two edges facing each
// other, one that counts once at the bottom if it is a hem, at the top if it is a casing. An
// allowance is known as a seam, hem, turn-in or casing by its name. Where that can't be told
// there is no seam line.
func (s Style) Drafts(chart SizeChart, sizeName string) ([]Draft, error) {
	return s.DraftsOn(chart, sizeName, nil, 0)
}

func (s Style) draft(chart SizeChart, piece Piece, cut CutPiece, size string, known names) (Draft, error) {
	d := Draft{Piece: cut.Piece, Name: cut.Name, Size: size, Copies: cut.Copies, Grain: cut.Grain, Pair: cut.Pair, Note: cut.Note, OnFold: piece.Fold}
	var line []vector
	var failed *fieldError
	switch piece.Shape {
	case Sector:
		return s.sectorDraft(chart, piece, d, known)
	case Outlined:
		line, failed = fineOutline(piece, size, known)
	default:
		var width, long length.Length
		if width, long, failed = gradeRectangle(piece, size, known); failed == nil {
			w, l := width.Millimetres(), long.Millimetres()
			if piece.Fold {
				w /= 2
			}
			line = []vector{{0, 0}, {w, 0}, {w, l}, {0, l}}
		}
	}
	if failed != nil {
		return Draft{}, Problems{{Field: fmt.Sprintf("pieces[%d].%s", cut.Piece, failed.field), Size: size, Message: failed.message}}
	}
	line = upright(line)
	d.setCut(line)
	amounts := s.edgeAmounts(chart, cut.Piece, size)
	d.sew(line, amounts)
	d.markFolds(piece, s, chart, size, amounts)
	return d, nil
}

// vector is a place on a piece in millimetres.
type vector struct{ x, y float64 }

func (v vector) point() Point { return millimetrePoint(v.x, v.y) }

func points(line []vector) []Point {
	whole := make([]Point, len(line))
	for i, v := range line {
		whole[i] = v.point()
	}
	return whole
}

// upright moves a line so that its box begins at (0, 0), turns it counter-clockwise and leaves
// out repeated points.
func upright(line []vector) []vector {
	low := line[0]
	twice := 0.0
	for i, v := range line {
		next := line[(i+1)%len(line)]
		low.x, low.y = min(low.x, v.x), min(low.y, v.y)
		twice += v.x*next.y - next.x*v.y
	}
	var moved []vector
	for _, v := range line {
		at := vector{v.x - low.x, v.y - low.y}
		if len(moved) == 0 || math.Hypot(at.x-moved[len(moved)-1].x, at.y-moved[len(moved)-1].y) > 1e-4 {
			moved = append(moved, at)
		}
	}
	if last := len(moved) - 1; last > 0 && math.Hypot(moved[0].x-moved[last].x, moved[0].y-moved[last].y) <= 1e-4 {
		moved = moved[:last]
	}
	if twice < 0 {
		slices.Reverse(moved)
	}
	return moved
}

func (d *Draft) setCut(line []vector) {
	d.Cut = points(line)
	for _, p := range d.Cut {
		d.Width, d.Length = max(d.Width, p.X), max(d.Length, p.Y)
	}
}

// finest is how far a drawn line may leave its curve, in millimetres.
const finest = 0.02

// fineOutline is gradeOutline with curves followed closely, and not unfolded.
func fineOutline(piece Piece, size string, known names) ([]vector, *fieldError) {
	if len(piece.Drawn) > 0 {
		return drawnLine(piece, size)
	}
	corners := make([]vector, len(piece.Points))
	for i, p := range piece.Points {
		x, err := evaluateCoordinate(p.X, known)
		if err != nil {
			return nil, &fieldError{fmt.Sprintf("points[%d].x", i), err.Error()}
		}
		y, err := evaluateCoordinate(p.Y, known)
		if err != nil {
			return nil, &fieldError{fmt.Sprintf("points[%d].y", i), err.Error()}
		}
		corners[i] = vector{x, y}
	}
	var line []vector
	for i, p := range piece.Points {
		if !p.Curve {
			line = append(line, corners[i])
			continue
		}
		from, control, to := corners[i-1], corners[i], corners[i+1]
		// A quadratic curve cut into n leaves its chords by |from − 2·control + to| ÷ 4n².
		bend := math.Hypot(from.x-2*control.x+to.x, from.y-2*control.y+to.y)
		n := min(400, max(4, int(math.Ceil(math.Sqrt(bend/4/finest)))))
		for step := 1; step < n; step++ {
			t := float64(step) / float64(n)
			a, b, c := (1-t)*(1-t), 2*t*(1-t), t*t
			line = append(line, vector{a*from.x + b*control.x + c*to.x, a*from.y + b*control.y + c*to.y})
		}
	}
	return line, nil
}

// edgeAmounts is what the edges of a piece allow for, in millimetres. known tells whether it
// could be worked out.
type edgeAmounts struct {
	side, top, bottom float64
	// hemmed and cased tell that the bottom and the top are turned over, not sewn to another
	// piece.
	hemmed, cased bool
	known         bool
	why           string
}

// edgeKind says at which edge an allowance lies that counts once in a piece's length.
type edgeKind int

const (
	noEdge     edgeKind = iota
	seamEdge            // at the bottom, or at the top above a hem
	bottomEdge          // hem or turn-in
	topEdge             // casing, or hem of a pocket
)

// kindOf tells what an allowance is by its name.
func kindOf(a Allowance) edgeKind {
	if a.Kind != LengthAllowance {
		return noEdge
	}
	words := strings.Split(a.Name, "_")
	has := func(word string) bool { return slices.Contains(words, word) }
	switch {
	case has("casing"), has("elastic"), has("turn") && has("under"), has("top") && len(words) > 1:
		return topEdge
	case has("hem"), has("turn"):
		return bottomEdge
	case has("seam"):
		return seamEdge
	}
	return noEdge
}

// growth tells how many times an allowance counts in the width and in the length of a piece;
// ok is false if that is not a whole number up to two.
func (s Style) growth(chart SizeChart, piece int, size string, at int) (across, along int, ok bool) {
	// A tenth of a millimetre more or less keeps clear of most roundings in a formula.
	const step = length.Millimetre / 10
	sizes := [2]CutPiece{}
	for i, change := range []length.Length{-step, step} {
		changed := s
		changed.Allowances = slices.Clone(s.Allowances)
		changed.Allowances[at].Length += change
		changed.Pieces = slices.Clone(s.Pieces)
		if changed.Pieces[piece].Grain == Bias {
			changed.Pieces[piece].Grain = Lengthwise // else its box is that of the turned piece
		}
		changed.Pieces, changed.Notions = changed.Pieces[piece:piece+1], nil
		graded, err := changed.Grade(chart, size)
		if err != nil || len(graded.Pieces) != 1 {
			return 0, 0, false
		}
		sizes[i] = graded.Pieces[0]
	}
	count := func(more length.Length) (int, bool) {
		n := math.Round(float64(more) / float64(2*step))
		return int(n), n >= 0 && n <= 2 && math.Abs(float64(more)-n*float64(2*step)) <= 16
	}
	across, okAcross := count(sizes[1].Width - sizes[0].Width)
	along, okAlong := count(sizes[1].Length - sizes[0].Length)
	return across, along, okAcross && okAlong
}

func (s Style) edgeAmounts(chart SizeChart, piece int, size string) edgeAmounts {
	if p := s.Pieces[piece]; len(p.Table) > 0 || len(p.Drawn) > 0 {
		return statedAmounts(p)
	}
	amounts := edgeAmounts{known: true}
	unknown := func(a Allowance) edgeAmounts {
		return edgeAmounts{why: fmt.Sprintf("at which edge %q lies can't be told; mark your own seam line", a.Label)}
	}
	var seams, hems float64
	for i, a := range s.Allowances {
		kind := kindOf(a)
		if kind == noEdge || a.Length <= 0 {
			continue
		}
		across, along, ok := s.growth(chart, piece, size, i)
		folded := kind == topEdge && (across == 2 || along == 2)
		if !ok || (across == 1 && !folded) {
			return unknown(a)
		}
		amount := a.Length.Millimetres()
		if across == 2 && !folded {
			amounts.side += amount
		}
		switch {
		case along == 2 && !folded:
			amounts.top, amounts.bottom = amounts.top+amount, amounts.bottom+amount
			amounts.hemmed, amounts.cased = amounts.hemmed || kind == bottomEdge, amounts.cased || kind == bottomEdge
		case along == 1 && kind == topEdge:
			amounts.top += amount
			amounts.cased = true
		case along == 1 && kind == bottomEdge:
			hems += amount
			amounts.hemmed = true
		case along == 1:
			seams += amount
		}
	}
	if hems > 0 {
		amounts.top, amounts.bottom = amounts.top+seams, amounts.bottom+hems
	} else {
		amounts.bottom += seams
	}
	if amounts.side == 0 && amounts.top == 0 && amounts.bottom == 0 {
		return edgeAmounts{why: "the style has no seam or hem in this piece"}
	}
	return amounts
}

// edgesOf gives each edge of a line its amount: top and bottom edges are those that face up or
// down and hang together with the highest or lowest point; an edge on the fold has none.
func edgesOf(line []vector, amounts edgeAmounts, onFold bool) (each []float64, top, bottom []bool) {
	n := len(line)
	each, top, bottom = make([]float64, n), make([]bool, n), make([]bool, n)
	low, high := line[0].y, line[0].y
	for _, v := range line {
		low, high = min(low, v.y), max(high, v.y)
	}
	level := func(i int, sign float64) bool { // the line runs counter-clockwise: a bottom edge runs to the right
		d := vector{line[(i+1)%n].x - line[i].x, line[(i+1)%n].y - line[i].y}
		return sign*d.x > math.Abs(d.y)
	}
	spread := func(mark []bool, sign, at float64) {
		for i := range line {
			touches := math.Abs(line[i].y-at) < 1e-3 || math.Abs(line[(i+1)%n].y-at) < 1e-3
			if !touches || !level(i, sign) {
				continue
			}
			for _, step := range []int{1, n - 1} {
				for j := i; level(j, sign) && (j == i || !mark[j]); j = (j + step) % n {
					mark[j] = true
				}
			}
		}
	}
	spread(bottom, 1, low)
	spread(top, -1, high)
	for i := range line {
		next := line[(i+1)%n]
		switch {
		case onFold && line[i].x < 1e-3 && next.x < 1e-3:
		case bottom[i]:
			each[i] = amounts.bottom
		case top[i]:
			each[i] = amounts.top
		default:
			each[i] = amounts.side
		}
	}
	return each, top, bottom
}

// offset returns where two neighbouring edges meet once each is moved into the piece by its
// amount: one point, or two where they hardly turn.
func offset(before, at, after vector, a, b float64) []vector {
	unit := func(from, to vector) vector {
		long := math.Hypot(to.x-from.x, to.y-from.y)
		return vector{(to.x - from.x) / long, (to.y - from.y) / long}
	}
	d1, d2 := unit(before, at), unit(at, after)
	p1 := vector{at.x - d1.y*a, at.y + d1.x*a}
	p2 := vector{at.x - d2.y*b, at.y + d2.x*b}
	cross := d1.x*d2.y - d1.y*d2.x
	if math.Abs(cross) < 1e-3 {
		if math.Abs(a-b) < 1e-6 {
			return []vector{p1}
		}
		return []vector{p1, p2}
	}
	t := ((p2.x-p1.x)*d2.y - (p2.y-p1.y)*d2.x) / cross
	meet := vector{p1.x + d1.x*t, p1.y + d1.y*t}
	if math.Hypot(meet.x-at.x, meet.y-at.y) > 6*max(a, b)+1 {
		return []vector{p1, p2}
	}
	return []vector{meet}
}

// insetPoint is a point of a line moved into a piece, with the edges before and after it.
type insetPoint struct {
	vector
	before, after int
}

// inset moves each edge of a line into the piece by its amount. Near a corner, points of short
// edges that come too close to another edge are left out, and the lines met again.
func inset(line []vector, each []float64) []vector {
	n := len(line)
	var all []insetPoint
	for i, at := range line {
		before := (i + n - 1) % n
		for _, v := range offset(line[before], at, line[(i+1)%n], each[before], each[i]) {
			if !tooClose(v, line, each) {
				all = append(all, insetPoint{v, before, i})
			}
		}
	}
	var sewn []vector
	for i, at := range all {
		sewn = append(sewn, at.vector)
		next := all[(i+1)%len(all)]
		if at.after == next.before || at.after == next.after {
			continue
		}
		if meet, ok := insetMeet(line, each, at.after, next.before); ok && !tooClose(meet, line, each) {
			sewn = append(sewn, meet)
		}
	}
	return sewn
}

// tooClose tells whether a point stands before an edge, nearer than the edge's amount.
func tooClose(v vector, line []vector, each []float64) bool {
	for i, a := range line {
		b := line[(i+1)%len(line)]
		dx, dy := b.x-a.x, b.y-a.y
		long := math.Hypot(dx, dy)
		along := ((v.x-a.x)*dx + (v.y-a.y)*dy) / long
		away := ((v.y-a.y)*dx - (v.x-a.x)*dy) / long
		if along >= 0 && along <= long && away > -each[i] && away < each[i]-0.02 {
			return true
		}
	}
	return false
}

// insetMeet is where two edges meet that are not neighbours, each moved by its amount.
func insetMeet(line []vector, each []float64, first, second int) (meet vector, ok bool) {
	n := len(line)
	moved := func(i int) (from, to vector) {
		a, b := line[i], line[(i+1)%n]
		long := math.Hypot(b.x-a.x, b.y-a.y)
		nx, ny := -(b.y-a.y)/long*each[i], (b.x-a.x)/long*each[i]
		return vector{a.x + nx, a.y + ny}, vector{b.x + nx, b.y + ny}
	}
	a, b := moved(first)
	c, d := moved(second)
	cross := (b.x-a.x)*(d.y-c.y) - (b.y-a.y)*(d.x-c.x)
	if math.Abs(cross) < 1e-9 {
		return vector{}, false
	}
	t := ((c.x-a.x)*(d.y-c.y) - (c.y-a.y)*(d.x-c.x)) / cross
	return vector{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)}, true
}

// sew draws the seam line and the notches where hem and casing are folded.
func (d *Draft) sew(line []vector, amounts edgeAmounts) {
	if !amounts.known {
		d.Unknown = amounts.why
		return
	}
	each, top, bottom := edgesOf(line, amounts, d.OnFold)
	sewn := inset(line, each)
	whole := points(upright0(sewn))
	if len(whole) < 3 || crossesItself(whole) || !d.holds(whole) {
		d.Unknown = "the seam line can't be drawn this close to the edge; mark your own"
		return
	}
	d.Sewn = whole
	d.Edges = append(d.Edges, EdgeAllowance{"sides", millimetres(amounts.side)}, EdgeAllowance{"top", millimetres(amounts.top)}, EdgeAllowance{"bottom", millimetres(amounts.bottom)})
	if !amounts.hemmed {
		clear(bottom)
	}
	if !amounts.cased {
		clear(top)
	}
	for i := range line {
		d.cornerNotch(line, i, each, top, bottom)
	}
}

// upright0 leaves out repeated points only.
func upright0(line []vector) []vector {
	var kept []vector
	for _, v := range line {
		if len(kept) == 0 || math.Hypot(v.x-kept[len(kept)-1].x, v.y-kept[len(kept)-1].y) > 1e-3 {
			kept = append(kept, v)
		}
	}
	if last := len(kept) - 1; last > 0 && math.Hypot(kept[0].x-kept[last].x, kept[0].y-kept[last].y) <= 1e-3 {
		kept = kept[:last]
	}
	return kept
}

// holds tells whether a line stays inside the box of the piece.
func (d *Draft) holds(line []Point) bool {
	for _, p := range line {
		if p.X < -16 || p.Y < -16 || p.X > d.Width+16 || p.Y > d.Length+16 {
			return false
		}
	}
	return true
}

// cornerNotch marks on a side edge where the hem or casing next to it is folded.
func (d *Draft) cornerNotch(line []vector, i int, each []float64, top, bottom []bool) {
	n := len(line)
	before := (i + n - 1) % n
	for _, turned := range [][2]int{{before, i}, {i, before}} { // the turned edge and its neighbour
		level, side := turned[0], turned[1]
		if !(top[level] || bottom[level]) || top[side] || bottom[side] || each[level] == 0 || each[side] == 0 {
			continue
		}
		a, b := each[before], each[i]
		if level == before {
			b = 0
		} else {
			a = 0
		}
		at := offset(line[before], line[i], line[(i+1)%n], a, b)
		from, to := line[side], line[(side+1)%n]
		if len(at) != 1 || math.Hypot(at[0].x-line[i].x, at[0].y-line[i].y) > math.Hypot(to.x-from.x, to.y-from.y) {
			continue
		}
		text := "fold the hem"
		if top[level] {
			text = "fold the top"
		}
		d.Notches = append(d.Notches, notch(at[0], from, to, text))
	}
}

// notch is a notch on the edge between two points of a counter-clockwise line.
func notch(at, from, to vector, text string) Notch {
	long := math.Hypot(to.x-from.x, to.y-from.y)
	return Notch{At: at.point(), Inward: Point{length.Length(math.Round(-(to.y - from.y) / long * 1000)), length.Length(math.Round((to.x - from.x) / long * 1000))}, Text: text}
}

// markFolds marks the fold of a band that is folded along its middle, and the quarters of a
// gathered edge.
func (d *Draft) markFolds(piece Piece, s Style, chart SizeChart, size string, amounts edgeAmounts) {
	if piece.Shape != Rectangle {
		return
	}
	w, l := d.Width, d.Length
	if piece.Gathered != "" && !d.OnFold {
		for quarter := length.Length(1); quarter <= 3; quarter++ {
			text := []string{"", "quarter", "middle", "quarter"}[quarter]
			d.Notches = append(d.Notches, Notch{Point{w * quarter / 4, 0}, Point{0, 1000}, text}, Notch{Point{w * quarter / 4, l}, Point{0, -1000}, text})
		}
	}
	if !amounts.known || d.OnFold {
		return
	}
	across, along := 0.0, 0.0
	for i, a := range s.Allowances {
		if a.Kind != LengthAllowance || kindOf(a) == seamEdge || kindOf(a) == bottomEdge {
			continue
		}
		if x, y, ok := s.growth(chart, d.Piece, size, i); ok {
			if x == 2 {
				across += 2 * a.Length.Millimetres()
			}
			if y == 2 {
				along += 2 * a.Length.Millimetres()
			}
		}
	}
	if across > 0 && math.Abs(w.Millimetres()-2*amounts.side-across) < 0.01 {
		d.foldAt(Point{w / 2, 0}, Point{w / 2, l}, Point{0, 1000})
	}
	if along > 0 && math.Abs(l.Millimetres()-amounts.top-amounts.bottom-along) < 0.01 {
		d.foldAt(Point{0, l / 2}, Point{w, l / 2}, Point{1000, 0})
	}
}

func (d *Draft) foldAt(from, to, inward Point) {
	d.FoldLines = append(d.FoldLines, [2]Point{from, to})
	d.Notches = append(d.Notches, Notch{from, inward, "fold"}, Notch{to, Point{-inward.X, -inward.Y}, "fold"})
}

// sectorDraft draws part of a ring with true arcs.
func (s Style) sectorDraft(chart SizeChart, piece Piece, d Draft, known names) (Draft, error) {
	inner, failed := positive("inner", piece.Inner, known)
	if failed == nil {
		var outer length.Length
		if outer, failed = positive("outer", piece.Outer, known); failed == nil {
			s.drawSector(chart, piece, &d, inner.Millimetres(), outer.Millimetres())
			return d, nil
		}
	}
	return Draft{}, Problems{{Field: fmt.Sprintf("pieces[%d].%s", d.Piece, failed.field), Size: d.Size, Message: failed.message}}
}

func (s Style) drawSector(chart SizeChart, piece Piece, d *Draft, inner, outer float64) {
	// The middle of the ring, so that the box begins at (0, 0).
	middle := vector{0, 0}
	if piece.Angle >= 180 {
		middle.x = outer
	}
	if piece.Angle == 360 {
		middle.y = outer
	}
	span := float64(piece.Angle) * math.Pi / 180
	var seam, hem float64
	for i, a := range s.Allowances {
		switch kindOf(a) {
		case seamEdge:
			if strings.Contains(piece.Inner, a.Name) {
				seam += a.Length.Millimetres()
			}
		case bottomEdge:
			if across, _, ok := s.growth(chart, d.Piece, d.Size, i); ok && across > 0 {
				hem += a.Length.Millimetres()
			}
		}
	}
	if piece.Angle == 360 {
		d.setCut(arc(middle, outer, 0, span))
		d.Hole = points(arc(middle, inner, 0, span))
		d.Edges = []EdgeAllowance{{"inner edge", millimetres(seam)}, {"outer edge", millimetres(hem)}}
		d.Sewn = points(arc(middle, outer-hem, 0, span))
		return
	}
	ring := func(inner, outer, side float64) []vector {
		line := arc(middle, outer, math.Asin(side/outer), span-math.Asin(side/outer))
		back := arc(middle, inner, math.Asin(side/inner), span-math.Asin(side/inner))
		slices.Reverse(back)
		return append(line, back...)
	}
	d.setCut(ring(inner, outer, 0))
	if seam <= 0 && hem <= 0 {
		d.Unknown = "the style has no seam or hem in this piece"
		return
	}
	d.Sewn = points(ring(inner+seam, outer-hem, seam))
	d.Edges = []EdgeAllowance{{"inner edge", millimetres(seam)}, {"outer edge", millimetres(hem)}, {"straight edges", millimetres(seam)}}
	for _, radius := range []float64{inner, outer} {
		at := vector{middle.x + radius*math.Cos(span/2), middle.y + radius*math.Sin(span/2)}
		sign := length.Length(1000)
		if radius == outer {
			sign = -1000
		}
		d.Notches = append(d.Notches, Notch{at.point(), Point{length.Length(float64(sign) * math.Cos(span/2)), length.Length(float64(sign) * math.Sin(span/2))}, "middle"})
	}
}

func millimetres(value float64) length.Length {
	return length.Length(math.Round(value * float64(length.Millimetre)))
}

// arc returns points on a circle so close that their chords leave it by less than finest; of a
// whole circle the last point is left out.
func arc(middle vector, radius, from, to float64) []vector {
	step := 2 * math.Acos(1-min(1, finest/radius))
	n := max(8, int(math.Ceil((to-from)/step)))
	last := n
	if to-from >= 2*math.Pi-1e-9 {
		last = n - 1
	}
	var line []vector
	for i := 0; i <= last; i++ {
		angle := from + (to-from)*float64(i)/float64(n)
		line = append(line, vector{middle.x + radius*math.Cos(angle), middle.y + radius*math.Sin(angle)})
	}
	return line
}

// placePockets shows on the largest body piece where patch pockets go. A style doesn't say
// where; makers move them as they like.
func (s Style) placePockets(drafts []Draft) {
	body, pocket := -1, -1
	for i, d := range drafts {
		piece := s.Pieces[d.Piece]
		switch {
		case piece.Role == Pocket && pocket < 0 && d.Sewn != nil:
			pocket = i
		case piece.Role == Body && piece.Shape != Sector && d.Sewn != nil && (body < 0 || float64(d.Width)*float64(d.Length) > float64(drafts[body].Width)*float64(drafts[body].Length)):
			body = i
		}
	}
	if body < 0 || pocket < 0 {
		return
	}
	low, high := box(drafts[pocket].Sewn)
	wide, tall := high.X-low.X, high.Y-low.Y
	on := &drafts[body]
	from, to := box(on.Sewn)
	if to.X-from.X < wide || to.Y-from.Y < tall {
		return
	}
	centres := []length.Length{(from.X + to.X) / 2}
	switch copies := s.Pieces[drafts[pocket].Piece].Copies; {
	case on.OnFold && copies == 1:
		centres[0] = 0 // half of it lies beyond the fold
	case !on.OnFold && !on.Pair && copies > 1:
		centres = []length.Length{from.X + (to.X-from.X)/4, from.X + (to.X-from.X)*3/4}
	}
	below := (to.Y - from.Y - tall) * 45 / 100
	for _, centre := range centres {
		place := Place{Name: s.Pieces[drafts[pocket].Piece].Name, Low: Point{centre - wide/2, to.Y - below - tall}, High: Point{centre + wide/2, to.Y - below}, Suggested: true}
		if centre == 0 {
			place.Low.X = 0
		}
		on.Places = append(on.Places, place)
	}
}

func box(line []Point) (low, high Point) {
	low, high = line[0], line[0]
	for _, p := range line {
		low.X, low.Y = min(low.X, p.X), min(low.Y, p.Y)
		high.X, high.Y = max(high.X, p.X), max(high.Y, p.Y)
	}
	return low, high
}

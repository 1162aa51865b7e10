package lay

import (
	"context"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// hands says how the pieces of a garment come out when a ply is turned over.
type hands struct {
	// same: the mirrored ply gives the same pieces, pairs changing places.
	same bool
	// partner of each piece that needs one of the other hand; -1 for pieces that are their
	// own mirror image or may lie face down.
	partner []int
	// foldable pieces may lie on the fold: they are symmetric and keep their middle along.
	foldable []bool
	// halfTurn: each piece may also be turned half round from where it lies.
	halfTurn bool
	// matched: some piece follows the repeat.
	matched bool
}

func handsOf(g Garment, repeat marker.Repeat) hands {
	h := hands{same: true, halfTurn: true, partner: make([]int, len(g.Pieces))}
	for i := range g.Pieces {
		p := &g.Pieces[i]
		h.partner[i] = -1
		for _, t := range p.Turns {
			if !slices.Contains(p.Turns, (t+180)%360) {
				h.halfTurn = false
			}
		}
		if p.Match != nil && repeat != (marker.Repeat{}) {
			h.matched = true
		}
	}
	for i := range g.Pieces {
		p := &g.Pieces[i]
		if p.MayMirror || p.symmetric() || h.partner[i] >= 0 {
			continue
		}
		at := -1
		for j := i + 1; j < len(g.Pieces); j++ {
			if h.partner[j] < 0 && p.mirrors(&g.Pieces[j]) {
				at = j
				break
			}
		}
		if at < 0 {
			h.same = false
			continue
		}
		h.partner[i], h.partner[at] = at, i
	}
	for i := range g.Pieces {
		_, ok := g.Pieces[i].half()
		h.foldable = append(h.foldable, ok && h.partner[i] < 0)
	}
	return h
}

// symmetric tells whether a piece is its own mirror image, left to right.
func (p *Piece) symmetric() bool {
	return len(p.Outline) == 0 || sameOutline(mirrored(p.Outline, p.Width), p.Outline)
}

// mirrors tells whether two pieces are left and right of a pair.
func (p *Piece) mirrors(q *Piece) bool {
	return p.Copies == q.Copies && p.Width == q.Width && p.Length == q.Length && !q.MayMirror &&
		slices.Equal(sortedTurns(p.Turns), sortedTurns(q.Turns)) && sameOutline(mirrored(p.Outline, p.Width), q.Outline)
}

func sortedTurns(turns []marker.Turn) []marker.Turn {
	sorted := slices.Clone(turns)
	slices.Sort(sorted)
	return sorted
}

// mirrored turns an outline over, left to right, and keeps its direction.
func mirrored(outline []marker.Point, width length.Length) []marker.Point {
	over := make([]marker.Point, len(outline))
	for i, p := range outline {
		over[len(outline)-1-i] = marker.Point{X: width - p.X, Y: p.Y}
	}
	return over
}

// sameOutline tells whether two outlines are the same polygon, whatever point and direction
// they begin with.
func sameOutline(a, b []marker.Point) bool {
	if len(a) != len(b) {
		return false
	}
	back := slices.Clone(b)
	slices.Reverse(back)
	return rotated(a, b) || rotated(a, back)
}

func rotated(a, b []marker.Point) bool {
	for shift := range b {
		same := true
		for i := range a {
			if a[i] != b[(i+shift)%len(b)] {
				same = false
				break
			}
		}
		if same {
			return true
		}
	}
	return len(b) == 0
}

// class is one usable width that cloth is there in.
type class struct {
	width length.Length
	// longest is the longest marker that table and bolts of at least this width allow,
	// end losses already taken off; zero if there is none.
	longest length.Length
	// buy tells whether it can be bought.
	buy bool
}

// laid is a ratio laid on a class: what one ply is.
type laid struct {
	way       Spread
	instance  marker.Instance
	owners    []Owner
	result    marker.Result
	plyLength length.Length
	cutEdge   length.Length
	// garments that one ply gives.
	garments int
	// maxPlies that the layers allow.
	maxPlies int
	// matched: the ply begins where the print begins.
	matched bool
	// iterations that its marker was given.
	iterations int
	fits       bool
	// lot is the only shade lot that it may be cut from, nil for any.
	lot *string
}

// takes tells whether a ply may be cut from a bolt, by its shade lot.
func (ply *laid) takes(b *Bolt) bool { return ply.lot == nil || *ply.lot == b.Lot }

// layer lays ratios and remembers them.
type layer struct {
	problem *Problem
	classes []class
	hands   []hands
	// pieces, edge and area (of the rectangles around its pieces) of one garment of each kind.
	pieces []int
	edge   []length.Length
	area   []length.Area
	seed   uint64
	// laid ratios by ratioKey.
	laid map[string]*laid
	// guessed are rough plies by ratioKey.
	guessed   map[string]*laid
	estimator estimator
}

func newLayer(p *Problem, seed uint64) *layer {
	l := &layer{problem: p, seed: seed, laid: map[string]*laid{}, guessed: map[string]*laid{}, classes: classesOf(p)}
	for _, g := range p.Garments {
		l.hands = append(l.hands, handsOf(g, p.Rules.Repeat))
		pieces, edge, area := 0, length.Length(0), length.Area(0)
		for _, piece := range g.Pieces {
			pieces += piece.Copies
			edge += piece.edge() * length.Length(piece.Copies)
			area += length.Area(piece.Width) * length.Area(piece.Length) * length.Area(piece.Copies)
		}
		l.pieces, l.edge, l.area = append(l.pieces, pieces), append(l.edge, edge), append(l.area, area)
	}
	return l
}

// edge returns the length of the cut around one copy, each side rounded up to the unit.
func (p *Piece) edge() length.Length {
	if len(p.Outline) == 0 {
		return 2 * (p.Width + p.Length)
	}
	around := length.Length(0)
	for i, a := range p.Outline {
		b := p.Outline[(i+1)%len(p.Outline)]
		around += distance(b.X-a.X, b.Y-a.Y)
	}
	return around
}

// distance returns the hypotenuse, rounded up, by whole numbers: pieces are at most 100 m, so
// that the squares fit.
func distance(x, y length.Length) length.Length {
	square := uint64(x*x) + uint64(y*y)
	root := uint64(0)
	for bit := uint64(1) << 31; bit > 0; bit >>= 1 {
		if next := root | bit; next*next <= square {
			root = next
		}
	}
	if root*root < square {
		root++
	}
	return length.Length(root)
}

// classesOf lists the usable widths that there is cloth in, the widest first.
func classesOf(p *Problem) []class {
	var widths []length.Length
	for _, b := range p.Bolts {
		if b.Length > 0 {
			widths = append(widths, b.Width)
		}
	}
	if p.Rules.BuyWidth > 0 {
		widths = append(widths, p.Rules.BuyWidth)
	}
	slices.Sort(widths)
	widths = slices.Compact(widths)
	slices.Reverse(widths)
	var classes []class
	for _, w := range widths {
		c := class{width: w, buy: p.Rules.BuyWidth >= w}
		for _, b := range p.Bolts {
			if b.Width >= w {
				c.longest = max(c.longest, b.longestStretch())
			}
		}
		if c.buy {
			c.longest = maxCloth
		}
		if p.Rules.TableLength > 0 {
			c.longest = min(c.longest, p.Rules.TableLength)
		}
		c.longest = max(0, c.longest-2*p.Rules.EndLoss)
		classes = append(classes, c)
	}
	return classes
}

// stretch is a part of a bolt free of faults.
type stretch struct{ from, to length.Length }

// stretches lists the parts of a bolt between its faults, from its beginning.
func (b *Bolt) stretches() []stretch {
	faults := slices.Clone(b.Faults)
	slices.SortFunc(faults, func(x, y marker.Fault) int { return int(max(-1, min(1, x.Y-y.Y))) })
	var free []stretch
	at := length.Length(0)
	for _, f := range faults {
		if f.X >= b.Width {
			continue
		}
		if f.Y > at {
			free = append(free, stretch{at, min(f.Y, b.Length)})
		}
		at = max(at, f.Y+f.Length)
		if at >= b.Length {
			return free
		}
	}
	if at < b.Length {
		free = append(free, stretch{at, b.Length})
	}
	return free
}

func (b *Bolt) longestStretch() length.Length {
	longest := length.Length(0)
	for _, s := range b.stretches() {
		longest = max(longest, s.to-s.from)
	}
	return longest
}

// one is the ratio of a single garment of a kind.
func (l *layer) one(g int) []int {
	ratio := make([]int, len(l.problem.Garments))
	ratio[g] = 1
	return ratio
}

// ratioKey names a ratio on a class.
func ratioKey(class int, ratio []int) string {
	key := binary.AppendUvarint(make([]byte, 0, len(ratio)+2), uint64(class))
	for _, n := range ratio {
		key = binary.AppendUvarint(key, uint64(n))
	}
	return string(key)
}

// maxKnown is how many laid ratios are remembered; then all but single garments are forgotten,
// of which it must be known that they fit.
const maxKnown = 20_000

// maxGuessed is how many rough plies are remembered.
const maxGuessed = 100_000

// lay lays a ratio on a class with at least so many iterations, or gives what it has.
func (l *layer) lay(ctx context.Context, class int, ratio []int, iterations int) (*laid, error) {
	key := ratioKey(class, ratio)
	known := l.laid[key]
	if known != nil && (known.iterations >= iterations || known.result.Status == marker.StatusOptimal) {
		return known, nil
	}
	ply := l.ply(class, ratio)
	ply.iterations = iterations
	result, err := marker.Solve(ctx, ply.instance, marker.Params{Seed: l.seed, Iterations: iterations, QuickBound: iterations <= quickIterations})
	if err != nil {
		return nil, fmt.Errorf("lay %s: %w", l.problem.ratioWords(ratio), err)
	}
	if known != nil && known.result.Length <= result.Length {
		known.iterations = iterations
		return known, nil
	}
	ply.result = result
	ply.plyLength = result.Length + 2*l.problem.Rules.EndLoss
	ply.fits = result.Length <= l.classes[class].longest
	if len(l.laid) >= maxKnown {
		maps.DeleteFunc(l.laid, func(_ string, known *laid) bool { return known.garments > 1 })
	}
	l.laid[key] = ply
	return ply, nil
}

// rough is a ply with an estimated length and without its marker; nil if it cannot be estimated.
func (l *layer) rough(class int, ratio []int) *laid {
	key := ratioKey(class, ratio)
	if known, ok := l.guessed[key]; ok {
		return known
	}
	ply := l.ply(class, ratio)
	if !estimates(&ply.instance) {
		return nil
	}
	long := l.estimator.length(&ply.instance)
	ply.plyLength = long + 2*l.problem.Rules.EndLoss
	ply.fits = long > 0 && long <= l.classes[class].longest
	ply.instance.Pieces, ply.owners = nil, nil
	if len(l.guessed) >= maxGuessed {
		clear(l.guessed)
	}
	l.guessed[key] = ply
	return ply
}

// ply prepares what is to be laid for a ratio, and how it is spread.
func (l *layer) ply(class int, ratio []int) *laid {
	rules := &l.problem.Rules
	ply := &laid{way: l.way(class, ratio), maxPlies: rules.MaxPlies, garments: sum(ratio)}
	width := l.classes[class].width
	if ply.way == FoldedLengthwise {
		width /= 2
		ply.maxPlies /= 2
	}
	ply.instance = marker.Instance{Width: width, Folded: ply.way == FoldedLengthwise, Gap: rules.Gap, StraightCuts: rules.StraightCuts}
	for g, n := range ratio {
		if n == 0 {
			continue
		}
		if l.hands[g].matched {
			ply.matched = true
		}
		ply.add(g, l.problem.Garments[g], n, l.hands[g], rules.NapUpAndDown)
		if lot := l.problem.Garments[g].FromLot; lot != nil {
			ply.lot = lot
		}
	}
	if ply.matched {
		ply.instance.Repeat = rules.Repeat
	}
	return ply
}

// add puts n garments of a kind into the instance. With a nap that runs up or down each
// garment is a group of its own, else all copies of a piece are one entry.
func (ply *laid) add(g int, garment Garment, n int, h hands, grouped bool) {
	groups, each := 1, n
	if grouped {
		groups, each = n, 1
		if ply.way == FoldedLengthwise && n%2 == 0 && h.odd(garment) {
			groups, each = n/2, 2
		}
	}
	for range groups {
		group := 0
		if grouped {
			group = 1
			for _, p := range ply.instance.Pieces {
				group = max(group, p.NapGroup+1)
			}
		}
		for i := range garment.Pieces {
			copies, onFold := garment.Pieces[i].Copies*each, 0
			if ply.way == FoldedLengthwise {
				switch partner := h.partner[i]; {
				case partner >= 0 && partner < i:
					continue
				case partner >= 0:
				case !ply.fitsFolded(&garment.Pieces[i]):
					copies, onFold = 0, copies
				default:
					copies, onFold = copies/2, copies%2
				}
			}
			if copies > 0 {
				ply.put(garment.Pieces[i].laid(copies), Owner{Garment: g, Piece: i}, group, garment.Pieces[i].edge())
			}
			if onFold > 0 {
				half, _ := garment.Pieces[i].half()
				half.Copies = onFold
				ply.put(half, Owner{Garment: g, Piece: i}, group, garment.Pieces[i].edge()/2)
			}
		}
	}
}

// put adds a piece whose every copy has a cut edge of the given length.
func (ply *laid) put(p marker.Piece, owner Owner, group int, edge length.Length) {
	p.NapGroup = group
	ply.instance.Pieces = append(ply.instance.Pieces, p)
	ply.owners = append(ply.owners, owner)
	ply.cutEdge += edge * length.Length(p.Copies)
}

// fitsFolded tells whether a piece lies beside the fold.
func (ply *laid) fitsFolded(p *Piece) bool {
	return p.leastWidth()+(ply.instance.Gap+1)/2 <= ply.instance.Width
}

// half returns half of a symmetric piece, that to the left of its middle, to lie on the fold;
// false if it has none that can lie there.
func (p *Piece) half() (marker.Piece, bool) {
	along := slices.Contains(p.Turns, 0) || slices.Contains(p.Turns, 180)
	if !along || p.Width%2 == 1 || !p.symmetric() {
		return marker.Piece{}, false
	}
	half := p.laid(1)
	half.Width, half.OnFold, half.MayMirror = p.Width/2, true, false
	if len(p.Outline) == 0 {
		return half, true
	}
	var ok bool
	half.Outline, ok = leftOf(p.Outline, half.Width)
	return half, ok
}

// leftOf cuts a symmetric outline along its middle and returns what is left of it; false if that is
// not one polygon with one edge there.
func leftOf(outline []marker.Point, middle length.Length) ([]marker.Point, bool) {
	n := len(outline)
	first := slices.IndexFunc(outline, func(q marker.Point) bool { return q.X >= middle })
	for first >= 0 && outline[(first+1)%n].X >= middle {
		first = (first + 1) % n
	}
	if first < 0 {
		return nil, false
	}
	// The next point is left of the middle: the outline comes over it here, or starts on it.
	left := []marker.Point{{X: middle, Y: outline[first].Y}}
	at := (first + 1) % n
	for ; outline[at].X < middle; at = (at + 1) % n {
		left = append(left, outline[at])
	}
	left = append(left, marker.Point{X: middle, Y: outline[at].Y})
	for ; at != first; at = (at + 1) % n {
		if outline[at].X < middle {
			return nil, false // it comes over the middle again
		}
	}
	if left[0].Y == left[len(left)-1].Y || !crossesLevel(outline, middle) {
		return nil, false
	}
	return left, true
}

// crossesLevel tells whether all edges that cross the middle are level, so that their ends have the
// height at which they cross it.
func crossesLevel(outline []marker.Point, middle length.Length) bool {
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.X < middle) != (b.X < middle) && a.X != middle && b.X != middle && a.Y != b.Y {
			return false
		}
	}
	return true
}

// odd tells whether a garment has a piece without a partner in an odd number.
func (h hands) odd(g Garment) bool {
	for i, p := range g.Pieces {
		if h.partner[i] < 0 && p.Copies%2 == 1 {
			return true
		}
	}
	return false
}

// oddBesideFold tells whether a garment has such a piece that cannot lie on the fold.
func (h hands) oddBesideFold(g Garment) bool {
	for i, p := range g.Pieces {
		if h.partner[i] < 0 && p.Copies%2 == 1 && !h.foldable[i] {
			return true
		}
	}
	return false
}

// way returns how a ratio is spread: as the rules say, or open and face one way.
func (l *layer) way(class int, ratio []int) Spread {
	rules := &l.problem.Rules
	for g, n := range ratio {
		if n == 0 {
			continue
		}
		h := l.hands[g]
		switch rules.Spread {
		case FaceToFace:
			if !h.same || !h.halfTurn || h.matched {
				return FaceOneWay
			}
		case FoldedLengthwise:
			odd := n%2 == 1 && h.oddBesideFold(l.problem.Garments[g])
			if !h.same || h.matched || odd || rules.MaxPlies < 2 || !l.fitsHalf(class, g) {
				return FaceOneWay
			}
		}
	}
	return rules.Spread
}

// fitsHalf tells whether every piece of a garment lies on half the width of a class, beside the
// fold or on it.
func (l *layer) fitsHalf(class, g int) bool {
	half := l.classes[class].width / 2
	for i, p := range l.problem.Garments[g].Pieces {
		onFold := l.hands[g].foldable[i] && p.Width/2 <= half
		if p.leastWidth()+(l.problem.Rules.Gap+1)/2 > half && !onFold {
			return false
		}
		if p.Copies%2 == 1 && l.hands[g].foldable[i] && p.Width/2 > half {
			return false
		}
	}
	return true
}

// leastWidth returns what a piece takes across the cloth in its best turn.
func (p *Piece) leastWidth() length.Length {
	least := length.Length(-1)
	for _, t := range p.Turns {
		w := p.Width
		if t%180 == 90 {
			w = p.Length
		}
		if least < 0 || w < least {
			least = w
		}
	}
	return least
}

// ratioWords writes a ratio, such as "2 × skirt 98, 1 × skirt 104".
func (p *Problem) ratioWords(ratio []int) string {
	var parts []string
	for g, n := range ratio {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d × %s", n, p.Garments[g].Name))
		}
	}
	return listed(parts)
}

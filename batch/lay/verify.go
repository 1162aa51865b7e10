package lay

import (
	"fmt"
	"math/big"
	"slices"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// VerifyPlan tells whether a plan is a valid answer to a problem: every garment cut, over-cut
// within the allowance or in Uncut; every marker valid and holding exactly the pieces that it
// says; plies, table and bolts within their limits and no ply over another or over a fault
// that its marker does not lie around; times and money the sums of their lines; bounds not
// above the plan. It shares no code with Solve.
func VerifyPlan(p Problem, plan Plan) error {
	if err := p.Check(); err != nil {
		return err
	}
	cut := make([]int, len(p.Garments))
	var spans []span
	for i := range plan.Lays {
		l := &plan.Lays[i]
		if err := verifyLay(p, l); err != nil {
			return fmt.Errorf("lay %d: %w", i+1, err)
		}
		for g, n := range l.PerPly {
			cut[g] += n * l.Plies
		}
		spans = append(spans, spansOf(l, i)...)
	}
	if err := verifyDemand(p, plan, cut); err != nil {
		return err
	}
	if err := verifySpans(p, plan, spans); err != nil {
		return err
	}
	return verifyMoney(p, plan)
}

func verifyLay(p Problem, l *Lay) error {
	r := p.Rules
	if len(l.PerPly) != len(p.Garments) {
		return fmt.Errorf("counts %d garments, not %d", len(l.PerPly), len(p.Garments))
	}
	layers := l.Plies
	if l.Way == FoldedLengthwise {
		layers *= 2
	}
	switch {
	case l.Plies < 1:
		return fmt.Errorf("has %d plies", l.Plies)
	case layers > r.MaxPlies:
		return fmt.Errorf("%d layers are more than the %d that can be cut", layers, r.MaxPlies)
	case l.Way != r.Spread && l.Way != FaceOneWay:
		return fmt.Errorf("is spread %s, not %s", l.Way, r.Spread)
	case l.Marker.Status == marker.StatusPartial:
		return fmt.Errorf("its marker leaves pieces out")
	case l.PlyLength != l.Marker.Length+2*r.EndLoss:
		return fmt.Errorf("a ply of %d is not the marker of %d and two ends of %d", l.PlyLength, l.Marker.Length, r.EndLoss)
	case r.TableLength > 0 && l.PlyLength > r.TableLength:
		return fmt.Errorf("a ply of %d is longer than the table of %d", l.PlyLength, r.TableLength)
	}
	if err := marker.Verify(l.Instance, l.Marker); err != nil {
		return fmt.Errorf("its marker: %w", err)
	}
	if l.Instance.Gap != r.Gap || l.Instance.StraightCuts != r.StraightCuts {
		return fmt.Errorf("its marker keeps another gap or way of cutting than the rules")
	}
	if err := verifyPieces(p, l); err != nil {
		return err
	}
	drawn := 0
	for _, d := range l.Draws {
		if d.Plies < 1 {
			return fmt.Errorf("draws %d plies", d.Plies)
		}
		drawn += d.Plies
		if err := verifyDraw(p, l, d); err != nil {
			return err
		}
	}
	if drawn != l.Plies {
		return fmt.Errorf("draws %d plies of %d", drawn, l.Plies)
	}
	return verifyTimes(p.Rates, l)
}

// verifyPieces counts what the layers give against what the lay says.
func verifyPieces(p Problem, l *Lay) error {
	if len(l.Owners) != len(l.Instance.Pieces) {
		return fmt.Errorf("%d owners for %d pieces", len(l.Owners), len(l.Instance.Pieces))
	}
	got, onFold := map[Owner]int{}, map[Owner]int{}
	edge := length.Length(0)
	for i, o := range l.Owners {
		if o.Garment < 0 || o.Garment >= len(p.Garments) || o.Piece < 0 || o.Piece >= len(p.Garments[o.Garment].Pieces) {
			return fmt.Errorf("piece %d belongs to nothing", i)
		}
		want, have := p.Garments[o.Garment].Pieces[o.Piece], l.Instance.Pieces[i]
		half := have.OnFold
		if half {
			var err error
			if have, err = unfolded(l, have); err != nil {
				return fmt.Errorf("piece %d: %w", i, err)
			}
			have.MayMirror = want.MayMirror // a symmetric piece is the same either way
			if outlineOf(want).plain().same(outlineOf(Piece{Width: have.Width, Length: have.Length, Outline: have.Outline})) {
				have.Outline = want.Outline
			}
		}
		if want.Width != have.Width || want.Length != have.Length || !slices.Equal(want.Outline, have.Outline) || !slices.Equal(want.Turns, have.Turns) || want.MayMirror != have.MayMirror {
			return fmt.Errorf("piece %d is not %s", i, want.Name)
		}
		if (want.Match == nil) != (have.Match == nil) || want.Match != nil && *want.Match != *have.Match {
			return fmt.Errorf("piece %d does not match the print as %s does", i, want.Name)
		}
		if want.Match != nil && l.Instance.Repeat != p.Rules.Repeat {
			return fmt.Errorf("its marker has another repeat than the cloth")
		}
		if half {
			onFold[o] += have.Copies
			edge += outlineOf(want).around() / 2 * length.Length(have.Copies)
			continue
		}
		got[o] += have.Copies
		edge += outlineOf(want).around() * length.Length(have.Copies)
	}
	if l.Instance.Folded != (l.Way == FoldedLengthwise) {
		return fmt.Errorf("is spread %s, but its marker is not laid for that", l.Way)
	}
	if err := verifyNap(p, l); err != nil {
		return err
	}
	if edge != l.CutEdge {
		return fmt.Errorf("its cut edge is %d, not %d", edge, l.CutEdge)
	}
	for g, n := range l.PerPly {
		for i, piece := range p.Garments[g].Pieces {
			if l.Way != FaceOneWay && n > 0 {
				if err := verifyTurnedOver(p, l, g, i, got, onFold); err != nil {
					return err
				}
			}
			if gives := got[Owner{g, i}]; gives != n*piece.Copies && l.Way != FoldedLengthwise {
				return fmt.Errorf("a ply gives %d of %s, not %d", gives, piece.Name, n*piece.Copies)
			}
		}
	}
	return nil
}

// verifyTurnedOver checks a piece in a lay of which every second layer lies face down, where
// each piece comes out as its mirror image: folded, the two layers together give what is
// needed; face to face, a ply that lies the other way gives the same pieces.
func verifyTurnedOver(p Problem, l *Lay, g, i int, laid, onFold map[Owner]int) error {
	garment := p.Garments[g]
	piece, shape := garment.Pieces[i], outlineOf(garment.Pieces[i])
	if piece.Match != nil && l.Instance.Repeat != (marker.Repeat{}) {
		return fmt.Errorf("%s follows the print and cannot be cut %s", piece.Name, l.Way)
	}
	// Alike and mirrored count all pieces laid of this shape and of its mirror image, need
	// what the garments take of this shape.
	alike, mirrored, need := 0, 0, 0
	for j, other := range garment.Pieces {
		if piece.MayMirror != other.MayMirror {
			continue
		}
		n := laid[Owner{g, j}]
		if shape.same(outlineOf(other)) {
			alike += n + onFold[Owner{g, j}]
			need += other.Copies * l.PerPly[g]
			if piece.MayMirror {
				mirrored += n
			}
		}
		if !piece.MayMirror && shape.same(outlineOf(other).mirror()) {
			mirrored += n
		}
	}
	if l.Way == FoldedLengthwise {
		if alike+mirrored != need {
			return fmt.Errorf("a folded ply gives %d of %s, not %d", alike+mirrored, piece.Name, need)
		}
		return nil
	}
	for _, t := range piece.Turns {
		if !slices.Contains(piece.Turns, (t+180)%360) {
			return fmt.Errorf("%s may not be turned half round, as it is in every second ply", piece.Name)
		}
	}
	if alike != mirrored {
		return fmt.Errorf("%s comes out the wrong way round in every second ply", piece.Name)
	}
	return nil
}

// unfolded returns the whole piece that a half on the fold gives.
func unfolded(l *Lay, half marker.Piece) (marker.Piece, error) {
	if l.Way != FoldedLengthwise || !l.Instance.Folded {
		return half, fmt.Errorf("it lies on a fold that is not there")
	}
	whole, middle := half, half.Width
	whole.Width *= 2
	if len(half.Outline) == 0 {
		return whole, nil
	}
	// From one end of the edge on the fold around to the other, and back on the other side.
	n := len(half.Outline)
	at := slices.IndexFunc(half.Outline, func(q marker.Point) bool { return q.X == middle })
	if at == 0 && half.Outline[n-1].X == middle {
		at = n - 1
	}
	var over polygon
	for i := range n {
		q := half.Outline[(at+1+i)%n]
		over = append(over, q)
	}
	for i := n - 1; i >= 0; i-- {
		q := over[i]
		over = append(over, marker.Point{X: whole.Width - q.X, Y: q.Y})
	}
	whole.Outline = over.plain()
	return whole, nil
}

// plain drops points that are there twice or on a straight line between their neighbours.
func (a polygon) plain() polygon {
	out := slices.Clone(a)
	for i := 0; i < len(out) && len(out) > 3; {
		before, q, next := out[(i+len(out)-1)%len(out)], out[i], out[(i+1)%len(out)]
		if q == next || (q.X-before.X)*(next.Y-q.Y) == (q.Y-before.Y)*(next.X-q.X) {
			out = slices.Delete(out, i, i+1)
			i = max(i-1, 0)
			continue
		}
		i++
	}
	return out
}

// verifyNap checks that on an up-and-down nap each garment is a group of its own.
func verifyNap(p Problem, l *Lay) error {
	if !p.Rules.NapUpAndDown {
		return nil
	}
	owner := map[int]int{}
	groups := map[int]int{}
	for i, piece := range l.Instance.Pieces {
		g := l.Owners[i].Garment
		if other, ok := owner[piece.NapGroup]; piece.NapGroup == 0 || ok && other != g {
			return fmt.Errorf("the pieces of one garment are not held to one direction of the nap")
		} else if !ok {
			owner[piece.NapGroup] = g
			groups[g]++
		}
	}
	for g, n := range groups {
		if most := l.PerPly[g]; n != most && !(l.Way == FoldedLengthwise && 2*n == most) {
			return fmt.Errorf("%d garments lie in %d directions of the nap", most, n)
		}
	}
	return nil
}

// polygon is a piece's outline, rectangles included.
type polygon []marker.Point

func outlineOf(p Piece) polygon {
	if len(p.Outline) > 0 {
		return p.Outline
	}
	return polygon{{}, {X: p.Width}, {X: p.Width, Y: p.Length}, {Y: p.Length}}
}

func (a polygon) mirror() polygon {
	width := length.Length(0)
	for _, q := range a {
		width = max(width, q.X)
	}
	out := polygon{}
	for _, q := range a {
		out = append(out, marker.Point{X: width - q.X, Y: q.Y})
	}
	return out
}

// same compares the sets of edges, whatever their direction.
func (a polygon) same(b polygon) bool {
	type edge struct{ from, to marker.Point }
	edges := map[edge]int{}
	count := func(poly polygon, by int) {
		for i, q := range poly {
			next := poly[(i+1)%len(poly)]
			if q.X > next.X || q.X == next.X && q.Y > next.Y {
				q, next = next, q
			}
			edges[edge{q, next}] += by
		}
	}
	count(a, 1)
	count(b, -1)
	for _, n := range edges {
		if n != 0 {
			return false
		}
	}
	return true
}

// around is the length of the outline, each side rounded up to a whole unit.
func (a polygon) around() length.Length {
	total := length.Length(0)
	for i, q := range a {
		next := a[(i+1)%len(a)]
		dx, dy := big.NewInt(int64(next.X-q.X)), big.NewInt(int64(next.Y-q.Y))
		square := new(big.Int).Add(dx.Mul(dx, dx), dy.Mul(dy, dy))
		root := new(big.Int).Sqrt(square)
		side := length.Length(root.Int64())
		if new(big.Int).Mul(root, root).Cmp(square) < 0 {
			side++
		}
		total += side
	}
	return total
}

func verifyDraw(p Problem, l *Lay, d Draw) error {
	repeat := p.Rules.Repeat.Length
	follows := false
	for _, piece := range l.Instance.Pieces {
		follows = follows || piece.Match != nil
	}
	if follows && repeat > 0 && (d.From%repeat != 0 || d.Pitch%repeat != 0) {
		return fmt.Errorf("a ply does not begin where the print begins")
	}
	if d.Plies > 1 && d.Pitch < l.PlyLength {
		return fmt.Errorf("plies of %d begin only %d apart", l.PlyLength, d.Pitch)
	}
	width := p.Rules.BuyWidth
	if d.Bolt < -1 || d.Bolt >= len(p.Bolts) {
		return fmt.Errorf("there is no bolt %d", d.Bolt)
	}
	if d.Bolt >= 0 {
		width = p.Bolts[d.Bolt].Width
	}
	for g, n := range l.PerPly {
		if lot := p.Garments[g].FromLot; n > 0 && lot != nil && (d.Bolt < 0 || p.Bolts[d.Bolt].Lot != *lot) {
			return fmt.Errorf("%s is not cut from the shade lot %s", p.Garments[g].Name, *lot)
		}
	}
	need := l.Instance.Width
	if l.Way == FoldedLengthwise {
		need *= 2
	}
	if need > width {
		return fmt.Errorf("its marker is %d wide on cloth of %d", need, width)
	}
	return nil
}

// span is one ply's place on a bolt.
type span struct {
	lay, bolt int
	from, to  length.Length
}

func spansOf(l *Lay, lay int) []span {
	var spans []span
	for _, d := range l.Draws {
		for i := range d.Plies {
			from := d.From + d.Pitch*length.Length(i)
			spans = append(spans, span{lay, d.Bolt, from, from + l.PlyLength})
		}
	}
	return spans
}

// verifySpans checks where the plies lie, and the bolts' sums.
func verifySpans(p Problem, plan Plan, spans []span) error {
	slices.SortFunc(spans, func(a, b span) int {
		if a.bolt != b.bolt {
			return a.bolt - b.bolt
		}
		return int(max(-1, min(1, a.from-b.from)))
	})
	ends := map[int]length.Length{}
	for i, s := range spans {
		if s.from < 0 || i > 0 && spans[i-1].bolt == s.bolt && spans[i-1].to > s.from {
			return fmt.Errorf("two plies take the same cloth at %d of bolt %d", s.from, s.bolt+1)
		}
		ends[s.bolt] = s.to
		if s.bolt < 0 {
			continue
		}
		if err := verifyOnBolt(p, plan, s); err != nil {
			return err
		}
	}
	bought := length.Length(0)
	for _, purchase := range plan.Purchases {
		bought += purchase.Need
	}
	if len(plan.Purchases) > 1 || bought != ends[-1] {
		return fmt.Errorf("the cloth to buy is %d, but the lays need %d in one piece", bought, ends[-1])
	}
	delete(ends, -1)
	for _, u := range plan.Uses {
		if u.Bolt < 0 || u.Bolt >= len(p.Bolts) || ends[u.Bolt] != u.Used || u.Used <= 0 {
			return fmt.Errorf("bolt %d: %d is said to be used, the lays end at %d", u.Bolt+1, u.Used, ends[u.Bolt])
		}
		delete(ends, u.Bolt)
		if u.Left != p.Bolts[u.Bolt].Length-u.Used || u.Keep != (u.Left > 0 && u.Left >= p.Rules.KeepLength) {
			return fmt.Errorf("bolt %d: what is left is wrong", u.Bolt+1)
		}
	}
	if len(ends) > 0 {
		return fmt.Errorf("the lays take from %d bolts that no use is listed for", len(ends))
	}
	return nil
}

func verifyOnBolt(p Problem, plan Plan, s span) error {
	bolt := p.Bolts[s.bolt]
	if s.to > bolt.Length {
		return fmt.Errorf("lay %d ends at %d of bolt %d, which has %d", s.lay+1, s.to, s.bolt+1, bolt.Length)
	}
	l := &plan.Lays[s.lay]
	for _, f := range bolt.Faults {
		if f.Y >= s.to || f.Y+f.Length <= s.from || f.X >= bolt.Width {
			continue
		}
		if !liesAround(p, l, s, f) {
			return fmt.Errorf("lay %d lies over the fault at %d of bolt %d", s.lay+1, f.Y, s.bolt+1)
		}
	}
	return nil
}

// liesAround tells whether a lay's marker takes a bolt's fault into account.
func liesAround(p Problem, l *Lay, s span, f marker.Fault) bool {
	if l.Way == FoldedLengthwise {
		return false
	}
	start := s.from + p.Rules.EndLoss
	if f.X >= l.Instance.Width || f.Y+f.Length <= start || f.Y >= start+l.Marker.Length {
		return true
	}
	for _, known := range l.Instance.Faults {
		if known.X <= f.X && known.X+known.Width >= min(f.X+f.Width, l.Instance.Width) &&
			known.Y <= max(0, f.Y-start) && known.Y+known.Length >= f.Y+f.Length-start {
			return true
		}
	}
	return false
}

func verifyDemand(p Problem, plan Plan, cut []int) error {
	uncut := make([]int, len(p.Garments))
	for _, u := range plan.Uncut {
		if u.Garment < 0 || u.Garment >= len(p.Garments) || u.Quantity < 1 || u.Reason == "" || u.Remedy == "" ||
			u.Piece < -1 || u.Piece >= len(p.Garments[u.Garment].Pieces) {
			return fmt.Errorf("an uncut garment is not named, or has no reason and remedy")
		}
		uncut[u.Garment] += u.Quantity
	}
	if len(plan.OverCut) != len(p.Garments) {
		return fmt.Errorf("over-cut counts %d garments, not %d", len(plan.OverCut), len(p.Garments))
	}
	over := 0
	for g, garment := range p.Garments {
		if cut[g]+uncut[g] != garment.Quantity+plan.OverCut[g] || plan.OverCut[g] < 0 || plan.OverCut[g] > 0 && uncut[g] > 0 {
			return fmt.Errorf("%s: %d cut, %d over and %d uncut of %d", garment.Name, cut[g], plan.OverCut[g], uncut[g], garment.Quantity)
		}
		over += plan.OverCut[g]
	}
	if over > p.Rules.OverCut {
		return fmt.Errorf("%d are cut beyond the demand, %d are allowed", over, p.Rules.OverCut)
	}
	return nil
}

// nearest is a × b / c, rounded to the nearest whole number, a half away from zero.
func nearest(a, b, c int64) int64 {
	product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	product.Mul(product, big.NewInt(2)).Add(product, big.NewInt(c))
	return product.Quo(product, big.NewInt(2*c)).Int64()
}

func verifyTimes(r Rates, l *Lay) error {
	metre := int64(length.Metre)
	spread := time.Duration(nearest(int64(r.SpreadPerMetre), int64(l.PlyLength)*int64(l.Plies), metre))
	cutting := time.Duration(nearest(int64(r.CutPerMetre), int64(l.CutEdge), metre))
	if l.SetUp != r.SetUp || l.Spread != spread || l.Cut != cutting {
		return fmt.Errorf("its times are not those of the rates")
	}
	if want := Money(nearest(int64(l.SetUp+l.Spread+l.Cut), int64(r.PerHour), int64(time.Hour))); l.Cost != want {
		return fmt.Errorf("its work costs %d, not %d", want, l.Cost)
	}
	return nil
}

// verifyMoney adds up the lines.
func verifyMoney(p Problem, plan Plan) error {
	metre := int64(length.Metre)
	cloth, cutting, used := Money(0), Money(0), length.Length(0)
	for _, u := range plan.Uses {
		paid := u.Used
		if !u.Keep {
			paid += u.Left
		}
		if want := Money(nearest(int64(paid), int64(p.Bolts[u.Bolt].PricePerMetre), metre)); u.Cost != want {
			return fmt.Errorf("bolt %d costs %d, not %d", u.Bolt+1, want, u.Cost)
		}
		cloth += u.Cost
		used += paid
	}
	for _, b := range plan.Purchases {
		if b.Buy < b.Need || p.Rules.BuyStep > 0 && (b.Buy%p.Rules.BuyStep != 0 || b.Buy-b.Need >= p.Rules.BuyStep) {
			return fmt.Errorf("%d is bought for a need of %d", b.Buy, b.Need)
		}
		if want := Money(nearest(int64(b.Buy), int64(p.Rules.BuyPricePerMetre), metre)); b.Cost != want {
			return fmt.Errorf("the cloth to buy costs %d, not %d", want, b.Cost)
		}
		rest, worth := b.Buy-b.Need, Money(0)
		cloth, used = cloth+b.Cost, used+b.Buy
		if rest > 0 && rest >= p.Rules.KeepLength {
			worth = Money(nearest(int64(rest), int64(p.Rules.BuyPricePerMetre), metre)) * Money(p.Rules.RemnantWorth) / 10_000
			cloth, used = cloth-worth, used-rest
		}
		if b.RestWorth != worth {
			return fmt.Errorf("the rest of the cloth to buy is worth %d, not %d", worth, b.RestWorth)
		}
	}
	for i := range plan.Lays {
		cutting += plan.Lays[i].Cost
	}
	switch {
	case plan.ClothCost != cloth || plan.CutCost != cutting || plan.Cost != cloth+cutting:
		return fmt.Errorf("money %d + %d = %d is not the sum of its lines, %d + %d", plan.ClothCost, plan.CutCost, plan.Cost, cloth, cutting)
	case plan.LengthUsed != used:
		return fmt.Errorf("length used is %d, its lines sum to %d", plan.LengthUsed, used)
	case plan.Bound > plan.Cost || plan.LengthBound > plan.LengthUsed:
		return fmt.Errorf("the bound (money %d, length %d) is above the plan (%d, %d)", plan.Bound, plan.LengthBound, plan.Cost, plan.LengthUsed)
	case plan.Status == StatusOptimal && plan.Bound != plan.Cost:
		return fmt.Errorf("called optimal, but the bound is %d and the cost %d", plan.Bound, plan.Cost)
	}
	return nil
}

package exports

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/batch/words"
)

// paperLay is one lay on paper: its drawing to scale and what it is made of.
type paperLay struct {
	*sheets
	*drawing
	plan    batch.Plan
	planned batch.ClothPlan
	number  int
	lay     lay.Lay
	// kinds are the pieces of the lay, each garment's piece once; kindOf says which one each
	// piece of the instance is.
	kinds  []pieceKind
	kindOf []int
	// numbered tells that some piece bears its number in the list and not its name.
	numbered bool
	// scale is how many millimetres on paper a millimetre of cloth is.
	scale  float64
	strips []layStrip
}

// pieceKind is one piece of one garment in a lay.
type pieceKind struct {
	garment string
	piece   lay.Piece
	perPly  int
	// below tells that it isn't drawn: it is the mirrored half of a folded lay.
	below bool
}

// layStrip is a stretch of the cloth that is drawn in one go; x and y are the page's place of
// the cloth's left selvage where the stretch begins.
type layStrip struct {
	from, to length.Length
	x, y     float64
}

// Room around a strip for rulers, their numbers and the nap, in millimetres.
const (
	stripLeft, stripRight = 11.0, 8.0
	stripAbove, stripFoot = 8.0, 9.0
	// nameLetter is the smallest letter of a name on a piece: it can be read at arm's length.
	nameLetter = 9.0
	largeName  = 170 // hundredths of nameLetter that a name may grow to
	mostStrips = 6
	mostScale  = 0.3
)

func newPaperLay(s *sheets, plan batch.Plan, planned batch.ClothPlan, at int) (*paperLay, error) {
	l := planned.Plan.Lays[at]
	d := &drawing{Drawing: LayDrawing(planned, at, s.options.Lengths), instance: l.Instance, result: l.Marker}
	d.Drawing.ID = "lay"
	if err := d.check(); err != nil {
		return nil, fmt.Errorf("%s, lay %d: %w", oneLine(planned.Cloth.Name), at+1, err)
	}
	d.long = max(l.Marker.Length, d.instance.Width/8)
	p := &paperLay{sheets: s, drawing: d, plan: plan, planned: planned, number: at + 1, lay: l}
	p.findKinds()
	return p, nil
}

// findKinds numbers the pieces of the lay.
func (p *paperLay) findKinds() {
	known := map[lay.Owner]int{}
	p.kindOf = make([]int, len(p.instance.Pieces))
	for i, piece := range p.instance.Pieces {
		owner := lay.Owner{Garment: -1, Piece: i}
		if i < len(p.lay.Owners) {
			owner = p.lay.Owners[i]
		}
		at, ok := known[owner]
		if !ok {
			at = len(p.kinds)
			known[owner] = at
			p.kinds = append(p.kinds, p.kind(owner, piece))
		}
		p.kindOf[i] = at
	}
	// Of a folded lay, the partners of the pieces that are drawn come out of the layer below.
	for g, count := range p.lay.PerPly {
		if count == 0 || g >= len(p.planned.Problem.Garments) {
			continue
		}
		for at, piece := range p.planned.Problem.Garments[g].Pieces {
			owner := lay.Owner{Garment: g, Piece: at}
			if _, ok := known[owner]; !ok {
				kind := p.kind(owner, marker.Piece{Name: piece.Name})
				kind.below = true
				p.kinds = append(p.kinds, kind)
			}
		}
	}
}

func (p *paperLay) kind(owner lay.Owner, piece marker.Piece) pieceKind {
	kind := pieceKind{piece: lay.Piece{Name: piece.Name, Copies: piece.Copies, Width: piece.Width, Length: piece.Length, Outline: piece.Outline}, perPly: piece.Copies}
	if owner.Garment < 0 || owner.Garment >= len(p.planned.Problem.Garments) {
		return kind
	}
	garment := p.planned.Problem.Garments[owner.Garment]
	kind.garment = garment.Name
	if owner.Piece >= 0 && owner.Piece < len(garment.Pieces) && owner.Garment < len(p.lay.PerPly) {
		kind.piece = garment.Pieces[owner.Piece]
		kind.perPly = kind.piece.Copies * p.lay.PerPly[owner.Garment]
	}
	return kind
}

// writeLay writes the lay's page: facts, drawing and the list of its pieces with their places, so
// that it stands by itself. Only a list too long for any page goes on to the next one.
func (p *paperLay) writeLay() {
	p.sheets.page(p.choosesLying())
	p.y += 1
	p.sheets.line(fmt.Sprintf("%s, lay %d", p.name(p.planned.Cloth.Name), p.number), 16, true, blackInk)
	p.y += 1
	p.layFacts()
	p.drawsTable()
	p.toDo()
	letter := p.listLetter()
	p.drawCloth(letter)
	p.key()
	p.cutOrder()
	p.pieceTable(letter)
}

// listLetters are the sizes of letters that the list of pieces may have, the best first.
var listLetters = []float64{bodyLetter, 8, 7.2, 6.5}

// listLetter chooses the largest letters of the list at which the drawing keeps a scale that names
// can be read at, or most of the scale that it would have by itself.
func (p *paperLay) listLetter() float64 {
	room := p.sheets.bottom() - p.y - p.keyHeight()
	for _, letter := range listLetters {
		if high := room - p.belowHeight(letter); high >= leastShared {
			scale, _, _ := p.bestFit(p.inner(), high)
			alone, _, _ := p.bestFit(p.inner(), room)
			if scale >= goodScale || scale >= shareScale*alone {
				return letter
			}
		}
	}
	return listLetters[len(listLetters)-1]
}

// total is the length that is drawn: the marker with its end losses.
func (p *paperLay) total() float64 { return onPaper(p.long + 2*p.EndLoss) }

// ampleScale is one at which an upright page shows all that a lying one would.
const ampleScale = 0.11

// choosesLying tells whether the drawing comes out larger on a lying page, and needs to.
func (p *paperLay) choosesLying() bool {
	scaleOn := func(lying bool, facts float64) float64 {
		p.lying = lying
		high := p.sheets.bottom() - pageTop - facts - p.keyHeight() - p.belowHeight(listLetters[1])
		scale, _, _ := p.bestFit(p.inner(), max(high, 1))
		return scale
	}
	draws := 5 * float64(min(len(p.lay.Draws), 8))
	upright, lying := scaleOn(false, 48+draws), scaleOn(true, 42+draws)
	return lying > 1.12*upright && upright < ampleScale
}

// bestFit chooses direction and number of strips for an area on the page. Another strip must
// be worth it.
func (p *paperLay) bestFit(wide, high float64) (scale float64, direction Direction, strips int) {
	across, along := onPaper(p.instance.Width), p.total()
	scale = min((wide-stripLeft-stripRight)/across, (high-stripAbove-stripFoot)/along)
	direction, strips = LengthUp, 1
	worth := scale
	for count := 1; count <= mostStrips; count++ {
		right := min((wide-stripLeft-stripRight)*float64(count)/along, (high/float64(count)-stripAbove-stripFoot)/across)
		if value := right / math.Pow(1.08, float64(count-1)); value > worth {
			worth, scale, direction, strips = value, right, LengthRight, count
		}
	}
	return min(max(scale, 0.001), mostScale), direction, strips
}

func (p *paperLay) layFacts() {
	lengths, l := p.options.Lengths, p.lay
	own, other := batch.MarksOf(l, lengths)
	both := func(own, other length.Length) string {
		return lengths.Piece(own) + " (" + lengths.Other().Piece(other) + ")"
	}
	repeat := ""
	if r := p.instance.Repeat; r != (marker.Repeat{}) {
		var parts []string
		if r.Length > 0 {
			parts = append(parts, lengths.Piece(r.Length)+" along")
		}
		if r.Width > 0 {
			parts = append(parts, lengths.Piece(r.Width)+" across")
		}
		repeat = strings.Join(parts, ", ")
	}
	width := "Usable width"
	if wayOf(l) == lay.FoldedLengthwise {
		width = "Selvage to fold"
	}
	facts := [][2]string{
		{"Plies", strconv.Itoa(l.Plies)},
		{"Spread", string(wayOf(l))},
		{"Mark each ply at", both(own.Ply, other.Ply)},
		{"Marker", both(own.Marker, other.Marker)},
		{"End loss, each end", both(own.EndLoss, other.EndLoss)},
		{width, lengths.PieceBoth(p.instance.Width)},
		{"Nap", napWord(p.planned.Cloth.Nap)},
		{"Used by pieces", percent(batch.Efficiency(l))},
		{"Minutes", fmt.Sprintf("%.0f", minutes(l.SetUp+l.Spread+l.Cut))},
		{"Garments", strconv.Itoa(p.garmentsCut())},
	}
	if repeat != "" {
		facts = append(facts, [2]string{"Repeat of the print", repeat})
	}
	if len(p.faults()) > 0 {
		facts = append(facts, [2]string{"Faults in the lay", p.faultWords()})
	}
	p.sheets.facts(5, facts...)
	p.paragraph("One ply gives "+strings.ReplaceAll(perPly(p.planned, l), "\n", ", ")+".", bodyLetter, false, blackInk, 0)
	p.y += 1.5
}

func (p *paperLay) garmentsCut() int {
	count := 0
	for _, n := range p.lay.PerPly {
		count += n * p.lay.Plies
	}
	return count
}

func (p *paperLay) faultWords() string {
	if n := len(p.faults()); n > 0 {
		return strconv.Itoa(n) + ", see the drawing"
	}
	return "none"
}

func napWord(nap batch.Nap) string {
	if words, ok := napWords[nap]; ok {
		return strings.TrimPrefix(words[1], "nap ")
	}
	return "either way"
}

// drawsTable says which plies come from which bolt.
func (p *paperLay) drawsTable() {
	var rows [][]string
	for _, draw := range p.lay.Draws {
		name, lot, place := boltWords(p.planned, draw.Bolt)
		pitch := ""
		if draw.Plies > 1 && draw.Pitch > p.lay.PlyLength {
			pitch = "\nthen every " + p.options.Lengths.PieceBoth(draw.Pitch) + ", so that the print falls alike"
		}
		begins := "at the beginning"
		if draw.From > 0 {
			begins = p.options.Lengths.PieceBoth(draw.From)
		}
		if draw.Bolt < 0 {
			place = "shopping list"
		}
		rows = append(rows, []string{"", strconv.Itoa(draw.Plies), p.name(name), p.name(lot), p.name(place), begins + pitch})
	}
	p.table([]paperColumn{{tick: true, share: 5}, {head: "Plies", share: 8, bold: true}, {head: "From bolt", share: 24, bold: true}, {head: "Shade lot", share: 16}, {head: "Place", share: 22}, {head: "First ply begins at, along the bolt", share: 36}}, rows)
	if len(p.planned.LotsOf(p.lay)) > 1 {
		p.paragraph(batch.LotsApart, bodyLetter, true, blackInk, 0)
		p.y += 1.5
	}
}

// toDo is a row of boxes to tick as the lay is worked on.
func (p *paperLay) toDo() {
	p.need(7)
	x := pageEdge
	for _, word := range []string{"spread", "plies counted", "print and nap looked at", "marked", "cut", "pieces counted", "tied in bundles"} {
		p.tick(x, p.y+0.4, 2.9)
		p.text(x+4, p.y+bodyLetter*pointMM, word, bodyLetter, false, blackInk)
		x += 9 + p.textWidth(word, bodyLetter, false)
	}
	p.y += 7
}

// shareScale is how much of its scale a drawing keeps at least beside large letters in the list.
const shareScale = 0.8

// goodScale is one at which names find room in most pieces.
const goodScale = 0.072

// leastShared is how high a drawing that shares its page must be, with its rulers.
const leastShared = 62.0

// drawCloth draws the marker, strip by strip, so large that the list of pieces has room below.
func (p *paperLay) drawCloth(letter float64) {
	high := p.sheets.bottom() - p.y - p.keyHeight()
	if shared := high - p.belowHeight(letter); shared >= leastShared {
		high = shared
	} else if high < leastShared {
		p.sheets.page(p.lying)
		high = p.sheets.bottom() - p.y - p.keyHeight()
	}
	var count int
	p.scale, p.Direction, count = p.bestFit(p.inner(), high)
	p.letter = length.Length(nameLetter * pointMM * float64(length.Millimetre))
	long := p.long + 2*p.EndLoss
	y := p.y + stripAbove
	for i := range count {
		strip := layStrip{
			from: -p.EndLoss + long*length.Length(i)/length.Length(count), to: -p.EndLoss + long*length.Length(i+1)/length.Length(count),
			x: pageEdge + stripLeft, y: y,
		}
		wide, tall := p.stripSize(strip)
		strip.x += (p.inner() - stripLeft - stripRight - wide) / 2
		if count > 1 {
			strip.x = pageEdge + stripLeft
		}
		p.strips = append(p.strips, strip)
		y += tall + stripAbove + stripFoot
	}
	copies := map[int]int{}
	for _, strip := range p.strips {
		p.drawStrip(strip, copies)
	}
	p.y = y - stripAbove
}

func (p *paperLay) stripSize(s layStrip) (wide, high float64) {
	across, along := onPaper(p.instance.Width)*p.scale, onPaper(s.to-s.from)*p.scale
	if p.Direction == LengthRight {
		return along, across
	}
	return across, along
}

// on returns the place on the page of a place on the cloth.
func (p *paperLay) on(s layStrip, at marker.Point) (x, y float64) {
	if p.Direction == LengthRight {
		return s.x + onPaper(at.Y-s.from)*p.scale, s.y + onPaper(at.X)*p.scale
	}
	return s.x + onPaper(at.X)*p.scale, s.y + onPaper(s.to-at.Y)*p.scale
}

func (p *paperLay) outlineOn(s layStrip, outline []marker.Point) []fpdf.PointType {
	points := make([]fpdf.PointType, len(outline))
	for i, at := range outline {
		points[i].X, points[i].Y = p.on(s, at)
	}
	return points
}

// clipAlong returns the part of an outline that lies between two places along the cloth.
func clipAlong(outline []marker.Point, from, to length.Length) []marker.Point {
	keep := func(points []marker.Point, inside func(marker.Point) bool, edge length.Length) []marker.Point {
		var kept []marker.Point
		for i, a := range points {
			b := points[(i+1)%len(points)]
			if inside(a) {
				kept = append(kept, a)
			}
			if inside(a) != inside(b) {
				share := float64(edge-a.Y) / float64(b.Y-a.Y)
				kept = append(kept, marker.Point{X: a.X + length.Length(math.Round(float64(b.X-a.X)*share)), Y: edge})
			}
		}
		return kept
	}
	outline = keep(outline, func(p marker.Point) bool { return p.Y >= from }, from)
	if len(outline) == 0 {
		return nil
	}
	return keep(outline, func(p marker.Point) bool { return p.Y <= to }, to)
}

func (p *paperLay) drawStrip(s layStrip, named map[int]int) {
	wide, high := p.stripSize(s)
	p.fill(whiteInk)
	p.draw(greyInk, 0.25)
	p.pdf.Rect(s.x, s.y, wide, high, "FD")
	p.pdf.ClipRect(s.x-0.4, s.y-0.4, wide+0.8, high+0.8, false)
	p.drawEndLoss(s)
	p.drawRepeat(s)
	for _, placement := range p.result.Placements {
		p.fillPiece(s, placement)
	}
	p.drawGrid(s)
	for i, placement := range p.result.Placements {
		p.drawPiece(s, i, placement, named)
	}
	p.drawMatches(s)
	p.drawFaults(s)
	p.drawCuts(s)
	p.drawEnds(s)
	p.pdf.ClipEnd()
	p.drawRulers(s)
	p.drawNap(s)
}

// hatch fills an outline with slanting or level lines, or dots.
func (p *paperLay) hatch(points []fpdf.PointType, kind sign, spacing float64) {
	low, high := points[0], points[0]
	for _, point := range points {
		low.X, low.Y = min(low.X, point.X), min(low.Y, point.Y)
		high.X, high.Y = max(high.X, point.X), max(high.Y, point.Y)
	}
	p.pdf.ClipPolygon(points, false)
	p.draw(greyInk, 0.15)
	switch kind {
	case signTurned:
		for y := low.Y + spacing/2; y < high.Y; y += spacing {
			p.pdf.Line(low.X, y, high.X, y)
		}
	case signFaceDown:
		p.fill(greyInk)
		for y := low.Y + spacing/2; y < high.Y; y += spacing {
			for x := low.X + spacing/2; x < high.X; x += spacing {
				p.pdf.Circle(x, y, 0.22, "F")
			}
		}
	default:
		reach := high.Y - low.Y
		for x := low.X - reach; x < high.X; x += spacing {
			p.pdf.Line(x, high.Y, x+reach, low.Y)
			if kind == signFault {
				p.pdf.Line(x, low.Y, x+reach, high.Y)
			}
		}
	}
	p.pdf.ClipEnd()
	p.draw(blackInk, 0.2)
}

// clothRect is a rectangle of the cloth on the page; ok is false if none of it is in the strip.
func (p *paperLay) clothRect(s layStrip, x0, y0, x1, y1 length.Length) (points []fpdf.PointType, ok bool) {
	y0, y1 = max(y0, s.from), min(y1, s.to)
	if y1 <= y0 || x1 <= x0 {
		return nil, false
	}
	return p.outlineOn(s, []marker.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}), true
}

func (p *paperLay) drawEndLoss(s layStrip) {
	for _, end := range [][2]length.Length{{-p.EndLoss, 0}, {p.long, p.long + p.EndLoss}} {
		if points, ok := p.clothRect(s, 0, end[0], p.instance.Width, end[1]); ok {
			p.hatch(points, signEndLoss, 1.3)
		}
	}
}

func (p *paperLay) clothLine(s layStrip, from, to marker.Point) {
	x0, y0 := p.on(s, from)
	x1, y1 := p.on(s, to)
	p.pdf.Line(x0, y0, x1, y1)
}

// repeatDrawn tells whether lines of the print's grid at a distance can be told apart.
func (p *paperLay) repeatDrawn(distance length.Length) bool {
	return onPaper(distance)*p.scale >= leastRepeat
}

// leastRepeat is how far lines of the print's grid must be apart on paper, in millimetres.
const leastRepeat = 1.5

func (p *paperLay) drawRepeat(s layStrip) {
	p.draw(greyInk, 0.15)
	p.pdf.SetDashPattern([]float64{0.5, 0.9}, 0)
	if step := p.instance.Repeat.Width; p.repeatDrawn(step) {
		for x := length.Length(0); x <= p.instance.Width; x += step {
			p.clothLine(s, marker.Point{X: x, Y: s.from}, marker.Point{X: x, Y: s.to})
		}
	}
	if step := p.instance.Repeat.Length; p.repeatDrawn(step) {
		for y := length.Length(0); y <= p.long; y += step {
			p.clothLine(s, marker.Point{Y: y}, marker.Point{X: p.instance.Width, Y: y})
		}
	}
	p.pdf.SetDashPattern(nil, 0)
	p.draw(blackInk, 0.2)
}

// tint returns the colour that a piece is filled with.
func tint(i int) rgb {
	value, err := strconv.ParseUint(strings.TrimPrefix(tints[i%len(tints)], "#"), 16, 32)
	if err != nil {
		return whiteInk
	}
	return rgb{int(value >> 16), int(value >> 8 & 255), int(value & 255)}
}

// gridStep is the distance of the light lines by which a place on the cloth is found.
func (p *paperLay) gridStep() length.Length { return GridStep(p.options.system()) }

// GridStep is the distance of the light lines in the drawings of lays on paper.
func GridStep(system length.System) length.Length {
	if system == length.Metric {
		return 10 * length.Centimetre
	}
	return 6 * length.Inch
}

// drawGrid draws light lines over the cloth, from the left selvage and from the start.
func (p *paperLay) drawGrid(s layStrip) {
	step := p.gridStep()
	if onPaper(step)*p.scale < leastGrid {
		return
	}
	p.draw(gridInk, 0.12)
	for x := step; x < p.instance.Width; x += step {
		p.clothLine(s, marker.Point{X: x, Y: max(0, s.from)}, marker.Point{X: x, Y: min(p.long, s.to)})
	}
	for y := step; y < p.long; y += step {
		if y >= s.from && y <= s.to {
			p.clothLine(s, marker.Point{Y: y}, marker.Point{X: p.instance.Width, Y: y})
		}
	}
	p.draw(blackInk, 0.2)
}

// leastGrid is how far lines of the grid must be apart on paper, in millimetres.
const leastGrid = 2.0

// fillPiece fills a piece with its colour and the pattern of how it lies.
func (p *paperLay) fillPiece(s layStrip, placement marker.Placement) {
	shape := p.instance.Shape(placement)
	if len(clipAlong(shape, s.from, s.to)) < 3 {
		return
	}
	points := p.outlineOn(s, shape)
	p.fill(tint(p.kindOf[placement.Piece]))
	p.pdf.Polygon(points, "F")
	if placement.Turn != 0 {
		p.hatch(points, signTurned, 1.8)
	}
	if placement.Mirrored {
		p.hatch(points, signFaceDown, 1.8)
	}
}

func (p *paperLay) drawPiece(s layStrip, i int, placement marker.Placement, named map[int]int) {
	shape := p.instance.Shape(placement)
	part := clipAlong(shape, s.from, s.to)
	if len(part) < 3 {
		return
	}
	p.draw(blackInk, 0.35)
	p.pdf.Polygon(p.outlineOn(s, shape), "D")
	p.drawLabel(s, part, placement, tint(p.kindOf[placement.Piece]), func() bool { named[i]++; return named[i] == 1 })
}

// drawLabel writes the name of a piece in the part of it that the strip shows, or its number
// where the name has no room; first tells whether nothing of it was written yet.
func (p *paperLay) drawLabel(s layStrip, part []marker.Point, placement marker.Placement, colour rgb, first func() bool) {
	onPage := make([]marker.Point, len(part))
	for i, at := range part {
		x, y := p.on(s, at)
		onPage[i] = marker.Point{X: length.Length(x * float64(length.Millimetre)), Y: length.Length(y * float64(length.Millimetre))}
	}
	text := p.labelText(placement)
	text.name = p.clean(text.name)
	text.number = strconv.Itoa(p.kindOf[placement.Piece] + 1)
	found, ok := label{}, false
	if len([]rune(text.name)) <= 60 {
		for _, variants := range text.variants() {
			if found, ok = largest(variants, onPage, p.letter, largeName, 100); ok {
				break
			}
		}
	}
	if !ok {
		if found, ok = largest([]label{{lines: []string{text.number}, names: 1, number: true}}, onPage, p.letter, 110, 100); !ok {
			if !first() {
				return
			}
			low, high := bounds(onPage)
			found = label{lines: []string{text.number}, names: 1, number: true, letter: p.letter, x: (low.X + high.X) / 2, y: (low.Y + high.Y) / 2}
		}
	}
	first()
	p.numbered = p.numbered || found.number
	if !ok {
		p.writeNumber(found, onPage)
		return
	}
	p.writeBlock(found, p.onPage(p.grainOf(placement)), text.marks != "", colour)
}

// writeNumber writes the number of a piece that is too small for any label, as large as a name
// where the piece is wide enough.
func (p *paperLay) writeNumber(l label, within []marker.Point) {
	low, high := bounds(within)
	letter := nameLetter
	if room := onPaper(min(high.X-low.X, high.Y-low.Y)); room < 1.1*letter*pointMM || onPaper(high.X-low.X) < p.textWidth(l.lines[0], letter, true)+0.6 {
		letter = 7
	}
	p.centred(onPaper(l.x), onPaper(l.y)+letter*pointMM*0.36, l.lines[0], letter, true, blackInk)
}

// writeBlock writes the lines of a label with the grain arrow before them.
func (p *paperLay) writeBlock(l label, direction marker.Point, patterned bool, colour rgb) {
	width, height := l.size()
	x, y := onPaper(l.x), onPaper(l.y)
	wide, high, letter := onPaper(width), onPaper(height), onPaper(l.letter)
	if l.upright {
		p.pdf.TransformBegin()
		p.pdf.TransformRotate(90, x, y)
		direction = marker.Point{X: -direction.Y, Y: direction.X}
	}
	if patterned {
		p.fill(colour)
		p.pdf.Rect(x-wide/2+letter*0.1, y-high/2+letter*0.2, wide-letter*0.2, high-letter*0.3, "F")
	}
	left := x - wide/2 + letter/4
	arrow := letter * arrowShare / 100
	reach := arrow * 0.4
	if direction.Y != 0 {
		reach = max(reach, min(high-letter/2, 3*letter)/2)
	}
	p.sheets.arrow(left+arrow*0.4, y, float64(direction.X), float64(direction.Y), reach, false)
	base := y - high/2 + letter/4 + letter*0.98
	for i, line := range l.lines {
		p.text(left+arrow, base, line, letter/pointMM, i < l.names, blackInk)
		base += letter * lineHeight / 100
	}
	if l.upright {
		p.pdf.TransformEnd()
	}
}

// arrow draws an arrow around a middle, with a head at its end or at both.
func (s *sheets) arrow(x, y, dx, dy, reach float64, both bool) {
	s.draw(blackInk, 0.25)
	s.pdf.Line(x-dx*reach, y-dy*reach, x+dx*reach, y+dy*reach)
	s.fill(blackInk)
	head := func(sign float64) {
		tipX, tipY := x+sign*dx*reach, y+sign*dy*reach
		backX, backY := tipX-sign*dx*1.5, tipY-sign*dy*1.5
		s.pdf.Polygon([]fpdf.PointType{{X: tipX, Y: tipY}, {X: backX + dy*0.75, Y: backY + dx*0.75}, {X: backX - dy*0.75, Y: backY - dx*0.75}}, "F")
	}
	head(1)
	if both {
		head(-1)
	}
	s.draw(blackInk, 0.2)
}

// matchSign draws the sign of a match point.
func (s *sheets) matchSign(x, y float64) {
	s.draw(blackInk, 0.25)
	s.pdf.Line(x-1.5, y, x+1.5, y)
	s.pdf.Line(x, y-1.5, x, y+1.5)
	s.pdf.Circle(x, y, 1, "D")
	s.draw(blackInk, 0.2)
}

func (p *paperLay) drawMatches(s layStrip) {
	for _, placement := range p.result.Placements {
		if at, ok := p.matchPoint(placement); ok && at.Y >= s.from && at.Y <= s.to {
			p.matchSign(p.on(s, at))
		}
	}
}

func (p *paperLay) drawFaults(s layStrip) {
	for _, f := range p.faults() {
		if points, ok := p.clothRect(s, f.X, f.Y, f.X+f.Width, f.Y+f.Length); ok {
			p.fill(whiteInk)
			p.pdf.Polygon(points, "F")
			p.hatch(points, signFault, 1.1)
			p.draw(blackInk, 0.3)
			p.pdf.Polygon(points, "D")
		}
	}
}

// drawCuts draws the straight cuts with their numbers.
func (p *paperLay) drawCuts(s layStrip) {
	if !p.Cuts {
		return
	}
	for i, c := range p.result.Cuts {
		from, to := marker.Point{X: c.X, Y: c.Y}, marker.Point{X: c.X, Y: c.Y + c.Span}
		if c.Across {
			to = marker.Point{X: c.X + c.Span, Y: c.Y}
		}
		p.draw(blackInk, 0.45)
		p.pdf.SetDashPattern([]float64{2, 1}, 0)
		p.clothLine(s, from, to)
		p.pdf.SetDashPattern(nil, 0)
		x0, y0 := p.on(s, from)
		x1, y1 := p.on(s, to)
		long := max(math.Hypot(x1-x0, y1-y0), 0.1)
		reach := min(4.5, long/2)
		x, y := x0+(x1-x0)/long*reach, y0+(y1-y0)/long*reach
		words := strconv.Itoa(i + 1)
		wide := p.textWidth(words, 7, true)
		p.fill(whiteInk)
		p.pdf.Circle(x, y, max(1.7, wide/2+0.6), "FD")
		p.text(x-wide/2, y+0.9, words, 7, true, blackInk)
	}
	p.draw(blackInk, 0.2)
}

func (p *paperLay) drawEnds(s layStrip) {
	p.draw(blackInk, 0.5)
	p.clothLine(s, marker.Point{}, marker.Point{X: p.instance.Width})
	if p.result.Length > 0 {
		p.clothLine(s, marker.Point{Y: p.result.Length}, marker.Point{X: p.instance.Width, Y: p.result.Length})
	}
	if p.Spread == lay.FoldedLengthwise {
		p.pdf.SetDashPattern([]float64{4, 1, 0.8, 1}, 0)
		p.draw(blackInk, 0.7)
		p.clothLine(s, marker.Point{X: p.instance.Width, Y: s.from}, marker.Point{X: p.instance.Width, Y: s.to})
		p.pdf.SetDashPattern(nil, 0)
	}
	p.draw(blackInk, 0.2)
}

// drawRulers draws a ruler along all four edges of a strip, with numbers on the near two.
func (p *paperLay) drawRulers(s layStrip) {
	between := func(tall float64) length.Length {
		return length.Length(tall / p.scale * float64(length.Millimetre))
	}
	level, upright := between(9), between(6.5)
	alongGap, acrossGap := upright, level
	if p.Direction == LengthRight {
		alongGap, acrossGap = level, upright
	}
	along := p.newRuler(p.long, between(1.4), alongGap)
	across := p.newRuler(p.instance.Width, between(1.4), acrossGap)
	p.rulerMarks(along, s.from, s.to, p.result.Length, func(at length.Length) marker.Point { return marker.Point{Y: at} },
		func(at length.Length) marker.Point { return marker.Point{X: p.instance.Width, Y: at} }, s, p.Direction != LengthRight)
	start, end := s.from, s.to
	if p.Direction == LengthRight {
		start, end = s.to, s.from
	}
	p.rulerMarks(across, 0, p.instance.Width, p.instance.Width, func(at length.Length) marker.Point { return marker.Point{X: at, Y: start} },
		func(at length.Length) marker.Point { return marker.Point{X: at, Y: end} }, s, p.Direction == LengthRight)
}

// rulerMarks draws the marks of a ruler on two opposite edges; upright tells that the edges
// stand on the page. Numbers stand at the left or below.
func (p *paperLay) rulerMarks(r ruler, from, to, measure length.Length, near, far func(length.Length) marker.Point, s layStrip, upright bool) {
	p.draw(blackInk, 0.15)
	wide, high := p.stripSize(s)
	mark := func(at length.Length, size float64) {
		for _, edge := range []func(length.Length) marker.Point{near, far} {
			x, y := p.on(s, edge(at))
			switch {
			case upright && x < s.x+wide/2:
				p.pdf.Line(x, y, x-size, y)
			case upright:
				p.pdf.Line(x, y, x+size, y)
			case y < s.y+high/2:
				p.pdf.Line(x, y, x, y-size)
			default:
				p.pdf.Line(x, y, x, y+size)
			}
		}
	}
	number := func(at length.Length, words string, bold bool) {
		x, y := p.on(s, near(at))
		x2, y2 := p.on(s, far(at))
		if upright {
			p.toRight(min(x, x2)-2.2, y+1, words, 7, bold, blackInk)
		} else {
			wide := p.textWidth(words, 7, bold)
			p.text(min(x-wide/2, p.sheets.width()-pageEdge-wide), max(y, y2)+5, words, 7, bold, blackInk)
		}
	}
	gap := length.Length(4.5 / p.scale * float64(length.Millimetre))
	if !upright {
		gap *= 3
	}
	first := (max(from, 0) + r.unit*r.tick - 1) / (r.unit * r.tick) * r.tick
	for at := first; at*r.unit <= min(to, r.end); at += r.tick {
		named := at%r.named == 0
		size := 0.9
		if named {
			size = 1.7
		}
		mark(at*r.unit, size)
		last := measure >= from && measure <= to
		if named && (!last || measure-at*r.unit >= gap) {
			number(at*r.unit, strconv.FormatInt(int64(at), 10), false)
		}
	}
	if measure > 0 && measure >= from && measure <= to {
		mark(measure, 2.2)
		words := p.options.Lengths.Piece(measure)
		if measure == p.result.Length {
			own, _ := batch.MarksOf(p.lay, p.options.Lengths)
			words = p.options.Lengths.Piece(own.Marker)
		}
		if upright {
			words = strings.TrimSuffix(words, " "+p.options.small().Symbol)
		}
		number(measure, words, true)
	}
	p.draw(blackInk, 0.2)
}

// drawNap draws the nap of the cloth as an arrow beside the strip.
func (p *paperLay) drawNap(s layStrip) {
	words, ok := napWords[p.planned.Cloth.Nap]
	if !ok {
		return
	}
	wide, high := p.stripSize(s)
	both := p.planned.Cloth.Nap != batch.NapOneWay
	if p.Direction == LengthRight {
		p.sheets.arrow(s.x+wide/2, s.y-3.2, 1, 0, wide*0.45, both)
		words := p.fit(words[0], 8, false, wide)
		p.fill(whiteInk)
		w := p.textWidth(words, 8, false)
		p.pdf.Rect(s.x+wide/2-w/2-1, s.y-5, w+2, 3.4, "F")
		p.centred(s.x+wide/2, s.y-2.2, words, 8, false, blackInk)
		return
	}
	x, y := s.x+wide+4.2, s.y+high/2
	p.sheets.arrow(x, y, 0, -1, high*0.45, both)
	p.pdf.TransformBegin()
	p.pdf.TransformRotate(90, x, y)
	line := p.fit(words[0], 8, false, high)
	w := p.textWidth(line, 8, false)
	p.fill(whiteInk)
	p.pdf.Rect(x-w/2-1, y-1.7, w+2, 3.4, "F")
	p.centred(x, y+1, line, 8, false, blackInk)
	p.pdf.TransformEnd()
}

// Sizes of the key below a drawing: its letters, and the distance of its lines in millimetres.
const (
	keyLetter = 8.0
	keyLine   = 4.6
)

// keyPlaces says where each sign of the key stands, beside each other in lines, and how many lines
// there are.
func (p *paperLay) keyPlaces(signs []sign) (x []float64, line []int, lines int) {
	at, row := pageEdge, 0
	for _, sign := range signs {
		wide := 9 + p.textWidth(signMeanings[sign], keyLetter, false) + 4
		if at > pageEdge && at+wide > p.sheets.width()-pageEdge {
			at, row = pageEdge, row+1
		}
		x, line = append(x, at), append(line, row)
		at += wide
	}
	return x, line, row + 1
}

// keyHeight is how high the key is at most, whatever the scale.
func (p *paperLay) keyHeight() float64 {
	numbered, direction := p.numbered, p.Direction
	p.numbered, p.Direction = true, LengthRight // the longest words
	defer func() { p.numbered, p.Direction = numbered, direction }()
	_, _, lines := p.keyPlaces(p.signsAt(mostScale))
	high := 1 + float64(lines)*keyLine + 2
	for _, note := range p.keyNotes(mostScale, mostStrips) {
		high += float64(len(p.wrap(note, keyLetter, false, p.inner(), mostLines))) * keyLetter * pointMM * lineShare
	}
	return high
}

// key explains the signs that occur in the drawing.
func (p *paperLay) key() {
	signs := p.signsAt(p.scale)
	p.y += 1
	x, line, lines := p.keyPlaces(signs)
	for i, sign := range signs {
		y := p.y + float64(line[i])*keyLine
		p.keySign(sign, x[i], y+1.7)
		p.text(x[i]+8.5, y+keyLetter*pointMM, signMeanings[sign], keyLetter, false, blackInk)
	}
	p.y += float64(lines) * keyLine
	for _, note := range p.keyNotes(p.scale, len(p.strips)) {
		p.paragraph(note, keyLetter, false, greyInk, 0)
	}
	p.y += 1
}

// keyNotes say at what scale, in how many strips and which way the lay is drawn, and how it is
// spread.
func (p *paperLay) keyNotes(scale float64, strips int) []string {
	where := "Length runs up the page, left selvage at the left."
	if p.Direction == LengthRight {
		where = "Length runs to the right, left selvage at the top."
	}
	notes := []string{fmt.Sprintf("Drawn at 1 : %.1f, in %s. %s", 1/scale, unitWords(p.options.system()), where)}
	if strips > 1 {
		notes[0] += fmt.Sprintf(" The lay is drawn in %d parts, one below the other.", strips)
	}
	if onPaper(p.gridStep())*scale >= leastGrid {
		notes[0] += " Light lines every " + p.options.Lengths.Piece(p.gridStep()) + "."
	}
	if p.numbered {
		notes[0] += " A number on a small piece is its number in the list of pieces."
	}
	repeat := p.instance.Repeat
	for _, distance := range []length.Length{repeat.Length, repeat.Width} {
		if distance > 0 && !p.repeatDrawn(distance) {
			notes = append(notes, "The print comes again every "+p.options.Lengths.Piece(distance)+": too fine to draw.")
		}
	}
	switch p.Spread {
	case lay.FaceToFace:
		notes = append(notes, "Spread face to face: on every second ply the pieces come out mirrored and turned by half.")
	case lay.FoldedLengthwise:
		notes = append(notes, foldedNotes(p.instance, p.result.Placements)...)
	}
	return notes
}

func unitWords(system length.System) string {
	if system == length.Metric {
		return "centimetres"
	}
	return "inches"
}

// signsAt lists the signs that occur in the drawing at a scale.
func (p *paperLay) signsAt(scale float64) []sign {
	var found []sign
	for _, s := range p.signs() {
		if s != signRepeat {
			found = append(found, s)
		}
	}
	repeat := p.instance.Repeat
	if scale*onPaper(max(repeat.Width, repeat.Length)) >= leastRepeat {
		found = append(found, signRepeat)
	}
	if len(p.result.Placements) > 0 && !slices.Contains(found, signGrain) {
		found = append([]sign{signGrain}, found...)
	}
	return found
}

func (p *paperLay) keySign(which sign, x, y float64) {
	swatch := func(kind sign, spacing float64) {
		points := []fpdf.PointType{{X: x, Y: y - 1.5}, {X: x + 7, Y: y - 1.5}, {X: x + 7, Y: y + 1.5}, {X: x, Y: y + 1.5}}
		p.hatch(points, kind, spacing)
		p.draw(blackInk, 0.25)
		p.pdf.Polygon(points, "D")
	}
	dashed := func(width float64, colour rgb, dashes ...float64) {
		p.draw(colour, width)
		p.pdf.SetDashPattern(dashes, 0)
		p.pdf.Line(x, y, x+7, y)
		p.pdf.SetDashPattern(nil, 0)
		p.draw(blackInk, 0.2)
	}
	switch which {
	case signGrain:
		p.sheets.arrow(x+3.5, y, 1, 0, 3.5, false)
	case signTurned, signFaceDown:
		swatch(which, 1.8)
	case signFault:
		swatch(which, 1.1)
	case signEndLoss:
		swatch(which, 1.3)
	case signMatch:
		p.matchSign(x+3.5, y)
	case signRepeat:
		dashed(0.2, greyInk, 0.5, 0.9)
	case signFold:
		dashed(0.6, blackInk, 4, 1, 0.8, 1)
	case signCut:
		dashed(0.45, blackInk, 2, 1)
	}
}

// cutOrder lists the straight cuts in columns.
func (p *paperLay) cutOrder() {
	if !p.Cuts || len(p.result.Cuts) == 0 {
		return
	}
	p.heading("Straight cuts, in this order")
	columns := 3
	for i := range p.result.Cuts {
		if p.textWidth(p.cutWords(i), bodyLetter, false) > p.inner()/3-6 {
			columns = 2
		}
	}
	high := bodyLetter*pointMM*lineShare + 0.6
	for row := 0; row*columns < len(p.result.Cuts); row++ {
		p.need(high)
		for i := row * columns; i < min((row+1)*columns, len(p.result.Cuts)); i++ {
			x := pageEdge + p.inner()/float64(columns)*float64(i%columns)
			p.tick(x, p.y+0.35, 2.7)
			p.text(x+4, p.y+bodyLetter*pointMM, p.cutWords(i), bodyLetter, false, blackInk)
		}
		p.y += high
	}
	p.y += 1
}

// cutWords says where a straight cut runs.
func (p *paperLay) cutWords(i int) string {
	c, lengths := p.result.Cuts[i], p.options.Lengths
	direction, at, from := "along", c.X, c.Y
	if c.Across {
		direction, at, from = "across", c.Y, c.X
	}
	unit := " " + p.options.small().Symbol
	return fmt.Sprintf("%d. %s, at %s, from %s to %s", i+1, direction, lengths.Piece(at), strings.TrimSuffix(lengths.Piece(from), unit), lengths.Piece(from+c.Span))
}

// pieceRows are the pieces of the lay in both systems with their places, and a note below them.
func (p *paperLay) pieceRows() (columns []paperColumn, rows [][]string, note string) {
	own, other := p.options.styleIn(p.options.system()), p.options.styleIn(p.options.system().Other())
	size := func(write func(length.Length, bool) string, system length.System, piece lay.Piece) string {
		shaped := len(piece.Outline) > 0
		return strings.TrimSuffix(write(piece.Width, shaped), " "+system.Small().Symbol) + " × " + write(piece.Length, shaped)
	}
	all, shaped := 0, false
	places := p.places()
	for i, kind := range p.kinds {
		name := p.name(kind.piece.Name)
		if len(kind.piece.Outline) > 0 {
			name += " *"
			shaped = true
		}
		if kind.below {
			name += " (layer below)"
		}
		count := kind.perPly * p.lay.Plies
		all += count
		row := []string{"", strconv.Itoa(i + 1), name, p.name(kind.garment), size(own.Cut, own.System, kind.piece), size(own.OtherCut, other.System, kind.piece), strconv.Itoa(kind.perPly), strconv.Itoa(count)}
		for from := 0; from == 0 || from < len(places[i]); from += placesInRow {
			rows = append(rows, append(row, strings.Join(places[i][from:min(from+placesInRow, len(places[i]))], " · ")))
			row = []string{noTick, "", "", "", "", "", "", ""}
		}
	}
	note = words.Count(all, "piece") + " in all. Cut sizes, across × along the piece, with seams, hems and shrinkage."
	if shaped {
		note += " * Shaped: size and corner of the box around it."
	}
	note += " Corner: nearest to left selvage and start, measured from these in " + unitWords(p.options.system()) + "."
	return []paperColumn{
		{tick: true, share: 5},
		{head: "No.", share: 5.5},
		{head: "Piece", share: 24, bold: true},
		{head: "Garment", share: 34},
		{head: "Cut, " + own.System.Small().Symbol, share: 23},
		{head: "Cut, " + other.System.Small().Symbol, share: 21},
		{head: "Ply", share: 7.5, right: true},
		{head: "All", share: 8.5, right: true, bold: true},
		{head: "Corner at: across, along", share: 46},
	}, rows, note
}

// placesInRow is how many places one row of the list holds, so that none is cut off.
const placesInRow = 16

// places lists, for each kind of piece, the corner of each copy: 19, 13⅜.
func (p *paperLay) places() [][]string {
	places := make([][]string, len(p.kinds))
	unit := " " + p.options.small().Symbol
	write := func(l length.Length) string { return strings.TrimSuffix(p.options.Lengths.Piece(l), unit) }
	for _, placement := range p.result.Placements {
		kind := p.kindOf[placement.Piece]
		// A place is not broken over two lines.
		places[kind] = append(places[kind], write(placement.X)+",\u00a0"+write(placement.Y))
	}
	return places
}

// belowHeight is how high is what comes below the drawing: the straight cuts and the list of pieces
// with its headings and note, in millimetres.
func (p *paperLay) belowHeight(letter float64) float64 {
	columns, rows, note := p.pieceRows()
	high := p.headHeight(columns) + p.rowsHeight(columns, rows, letter) + 2.5
	high += float64(len(p.wrap(note, noteLetter, false, p.inner(), mostLines))) * noteLetter * pointMM * lineShare
	if p.Cuts && len(p.result.Cuts) > 0 {
		high += 12 + float64((len(p.result.Cuts)+1)/2)*(bodyLetter*pointMM*lineShare+0.6)
	}
	return high
}

// noteLetter is the size of letters of notes below a table.
const noteLetter = 7.5

// pieceTable lists the pieces of the lay.
func (p *paperLay) pieceTable(letter float64) {
	if len(p.kinds) == 0 {
		return
	}
	columns, rows, note := p.pieceRows()
	p.tableIn(letter, columns, rows)
	p.y -= 1
	p.paragraph(note, noteLetter, false, greyInk, 0)
}

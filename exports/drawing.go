package exports

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Direction says how a cloth lies on the page. Both show the cloth as it lies on the table,
// face up: neither mirrors it.
type Direction string

const (
	// LengthUp runs the length up the page from the start at the bottom, the left selvage on
	// the left: for telephones and upright sheets. It is what the zero Direction means.
	LengthUp Direction = "up"
	// LengthRight runs the length from left to right, the left selvage at the top: for wide
	// screens and sheets that lie.
	LengthRight Direction = "right"
)

// Drawing says how a marker is drawn. The zero value draws it for a telephone, in inches.
type Drawing struct {
	// ID begins every id inside the drawing, so that several can stand on one page; letters,
	// digits and hyphens, "marker" if empty.
	ID string
	// Title stands above the drawing, such as "Meadow print, lay 1"; may be empty.
	Title     string
	Lengths   length.Style
	Direction Direction
	// ShownWidth is how wide the drawing is meant to be seen, in CSS pixels of 1/96 in:
	// letters are then about 11 pixels (2.9 mm) high. 390 suits a telephone, 720 an upright
	// sheet of A4, 1040 a lying one. Zero means 390 for LengthUp and 1040 for LengthRight.
	ShownWidth int
	// Nap of the cloth, for its arrow; "" draws none.
	Nap batch.Nap
	// Spread tells how the plies lie; folded lengthwise draws the fold along the right edge, as
	// an instance of folded cloth does anyway.
	Spread lay.Spread
	// EndLoss is drawn beyond both ends.
	EndLoss length.Length
	// Cuts draws the straight cuts with their order, where the marker has them.
	Cuts bool
	// Notes tell, by index into the instance's pieces, what else a pointer that rests on a piece
	// is told, such as for whom it is; may be shorter.
	Notes []string
	// Grid is the distance of light lines from the left selvage and from the start, by which a place
	// on the cloth is found; zero draws none.
	Grid length.Length
	// Standalone writes a file of its own, with an XML declaration and a size in pixels.
	Standalone bool
}

// MarkerSVG draws a marker to scale as SVG, its viewBox in millimetres: every piece with its
// outline, name and size, its grain arrow (which points to the top of the piece), turning and
// turning over by words and pattern, rulers along all edges in the workshop's unit, faults,
// the repeat's grid and match points, fold, ends and length. It fails if the result doesn't
// belong to the instance, or with w's error.
func MarkerSVG(w io.Writer, instance marker.Instance, result marker.Result, options Drawing) error {
	d, err := newDrawing(instance, result, options)
	if err != nil {
		return err
	}
	d.write()
	_, err = w.Write(d.svg.out.Bytes())
	return err
}

// LayDrawing returns the options to draw a lay of a planned cloth with, its Instance and
// Marker. The caller may change ID, Direction and ShownWidth.
func LayDrawing(planned batch.ClothPlan, at int, lengths length.Style) Drawing {
	rules, l := planned.Problem.Rules, planned.Plan.Lays[at]
	return Drawing{
		ID: fmt.Sprintf("cloth-%d-lay-%d", planned.Cloth.ID, at+1), Title: fmt.Sprintf("%s, lay %d", planned.Cloth.Name, at+1),
		Lengths: lengths, Nap: planned.Cloth.Nap, Spread: wayOf(l), EndLoss: (l.PlyLength - l.Marker.Length) / 2, Cuts: rules.StraightCuts,
	}
}

// drawing is a marker while it is being drawn. Lengths on the page are in the cloth's own
// scale; letter is the size of a usual letter.
type drawing struct {
	Drawing
	instance marker.Instance
	result   marker.Result
	svg      svgWriter
	letter   length.Length
	// long is how much of the length is drawn: the marker's, or a little if it is empty.
	long length.Length
	// Page sizes and the place of the cloth's first corner on it.
	width, height            length.Length
	left, right, top, bottom length.Length // margins around the cloth
	caption                  []captionLine
	pieces                   []drawnPiece
	keys                     []legendKey
	notes                    []string // below the keys
	legendTop                length.Length
}

type captionLine struct {
	text string
	bold bool
}

// drawnPiece is a placement with its outline on the page and its label.
type drawnPiece struct {
	placement marker.Placement
	outline   []marker.Point
	label     label
	copy      int
}

// Pages are laid out with letters of a certain share of their width.
const (
	phoneWidth  = 390
	lyingWidth  = 1040
	letterPixel = 11
	mostWidth   = 20000
	// From sheetWidth on, names of pieces are up to sheetLetter hundredths of a letter high, to
	// be read at arm's length.
	sheetWidth  = 700
	sheetLetter = 150
)

func newDrawing(instance marker.Instance, result marker.Result, options Drawing) (*drawing, error) {
	d := &drawing{Drawing: options, instance: instance, result: result}
	if instance.Folded {
		d.Spread = lay.FoldedLengthwise
	}
	if d.ID == "" {
		d.ID = "marker"
	}
	if d.Direction != LengthRight {
		d.Direction = LengthUp
	}
	if d.ShownWidth <= 0 {
		d.ShownWidth = phoneWidth
		if d.Direction == LengthRight {
			d.ShownWidth = lyingWidth
		}
	}
	d.ShownWidth = min(max(d.ShownWidth, 160), mostWidth)
	if err := d.check(); err != nil {
		return nil, err
	}
	d.layOut()
	d.placePieces()
	d.fillLegend()
	return d, nil
}

// check refuses a result that doesn't belong to the instance.
func (d *drawing) check() error {
	if d.instance.Width <= 0 {
		return fmt.Errorf("a marker without a usable width can't be drawn")
	}
	if strings.ContainsFunc(d.ID, func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '-'
	}) {
		return fmt.Errorf("the id %q of a drawing may have letters, digits and hyphens only", d.ID)
	}
	for i, p := range d.result.Placements {
		switch {
		case p.Piece < 0 || p.Piece >= len(d.instance.Pieces):
			return fmt.Errorf("placement %d: the instance has no piece %d", i, p.Piece)
		case p.Turn != 0 && p.Turn != 90 && p.Turn != 180 && p.Turn != 270:
			return fmt.Errorf("placement %d: a turn of %d degrees can't be drawn", i, p.Turn)
		}
	}
	return nil
}

// layOut sets letter, margins and page. Margins are so many letters wide, and letters a share
// of the page that the margins are part of.
func (d *drawing) layOut() {
	d.long = d.result.Length
	if d.long <= 0 {
		d.long = d.instance.Width / 4
	}
	ends := 2 * d.EndLoss
	left, right, top, bottom := length.Length(40), length.Length(22), length.Length(15), length.Length(24) // tenths of a letter
	wide := d.instance.Width
	if d.Direction == LengthRight {
		wide = d.long + ends
		top = 34
	}
	// letter = page × 11 ÷ shown and page = wide + (left + right) × letter ÷ 10.
	shown := length.Length(d.ShownWidth) * 10
	d.letter = max(1, wide*letterPixel*10/(shown-(left+right)*letterPixel))
	d.left, d.right, d.bottom = d.letter*left/10, d.letter*right/10, d.letter*bottom/10
	d.width = wide + d.left + d.right
	d.caption = d.captionLines()
	d.top = d.letter*top/10 + d.linesHeight(d.caption)
	d.legendTop = d.top + d.clothHeight() + d.bottom
}

// clothHeight is how high the cloth with its ends stands on the page.
func (d *drawing) clothHeight() length.Length {
	if d.Direction == LengthRight {
		return d.instance.Width
	}
	return d.long + 2*d.EndLoss
}

func (d *drawing) linesHeight(lines []captionLine) length.Length {
	return d.letter * length.Length(lineHeight*len(lines)+50) / 100
}

// at returns the place on the page of a place on the cloth.
func (d *drawing) at(p marker.Point) marker.Point {
	if d.Direction == LengthRight {
		return marker.Point{X: d.left + d.EndLoss + p.Y, Y: d.top + p.X}
	}
	return marker.Point{X: d.left + p.X, Y: d.top + d.EndLoss + d.long - p.Y}
}

func (d *drawing) captionLines() []captionLine {
	room := d.width - d.letter
	var lines []captionLine
	if title := oneLine(d.Title); title != "" {
		for _, line := range wrapToWidth(title, d.letter*115/100, room) {
			lines = append(lines, captionLine{line, true})
		}
	}
	for _, line := range wrapToWidth(d.facts(), d.letter, room) {
		lines = append(lines, captionLine{line, false})
	}
	return lines
}

// facts says in a line what the marker comes to; the line may break between two facts only.
func (d *drawing) facts() string {
	facts := []string{
		"Length " + d.Lengths.PieceBoth(d.result.Length),
		"usable width " + d.Lengths.PieceBoth(d.instance.Width),
		percent(d.instance.Efficiency(d.result.Marker)) + " of the cloth is pieces",
	}
	if d.Spread == lay.FoldedLengthwise {
		facts[1] = "usable width from selvage to fold " + d.Lengths.PieceBoth(d.instance.Width)
	}
	if d.EndLoss > 0 {
		facts = append(facts, "end loss "+d.Lengths.Piece(d.EndLoss)+" at each end")
	}
	return strings.ReplaceAll(strings.ReplaceAll(strings.Join(facts, "\n"), " ", noBreak), "\n", noBreak+"· ")
}

// percent writes a share of one with one decimal.
func percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) + " %" }

// placePieces finds each placement's outline on the page and its label.
func (d *drawing) placePieces() {
	copies := make([]int, len(d.instance.Pieces))
	most := length.Length(100)
	if d.ShownWidth >= sheetWidth {
		most = sheetLetter
	}
	for _, p := range d.result.Placements {
		copies[p.Piece]++
		shape := d.instance.Shape(p)
		for i := range shape {
			shape[i] = d.at(shape[i])
		}
		drawn := drawnPiece{placement: p, outline: shape, copy: copies[p.Piece]}
		drawn.label = fitLabel(shape, d.labelText(p), d.letter, most)
		d.pieces = append(d.pieces, drawn)
	}
}

func (d *drawing) labelText(p marker.Placement) labelText {
	piece := d.instance.Pieces[p.Piece]
	name := oneLine(piece.Name)
	if name == "" {
		name = "piece " + strconv.Itoa(p.Piece+1)
	}
	return labelText{name: name, size: d.pieceSize(piece), marks: marksOf(p, piece), number: strconv.Itoa(p.Piece + 1)}
}

// pieceSize writes width × length of a piece as it is before turning: 20½ × 14 in.
func (d *drawing) pieceSize(piece marker.Piece) string {
	unit := " " + d.Lengths.System.Small().Symbol
	shaped := len(piece.Outline) > 0
	return strings.TrimSuffix(d.Lengths.Cut(piece.Width, shaped), unit) + " × " + d.Lengths.Cut(piece.Length, shaped)
}

// marksOf says in words how a piece lies; "" if it lies as it is.
func marksOf(p marker.Placement, piece marker.Piece) string {
	var marks []string
	if p.Turn != 0 {
		marks = append(marks, fmt.Sprintf("turned %d°", p.Turn))
	}
	if p.Mirrored {
		marks = append(marks, "face down")
	}
	if piece.OnFold {
		marks = append(marks, "half, on the fold")
	}
	return strings.Join(marks, ", ")
}

// grainOf returns the direction on the cloth in which the grain arrow of a placed piece
// points: to the top of the piece, or to its right side where the piece is made to lie
// crosswise only.
func (d *drawing) grainOf(p marker.Placement) marker.Point {
	direction := marker.Point{Y: 1}
	crosswise := !slices.ContainsFunc(d.instance.Pieces[p.Piece].Turns, func(t marker.Turn) bool { return t%180 == 0 })
	if crosswise && len(d.instance.Pieces[p.Piece].Turns) > 0 {
		direction = marker.Point{X: 1}
		if p.Mirrored {
			direction.X = -1
		}
	}
	for range p.Turn / 90 {
		direction = marker.Point{X: -direction.Y, Y: direction.X}
	}
	return direction
}

// onPage turns a direction on the cloth into one on the page, where y counts downwards.
func (d *drawing) onPage(direction marker.Point) marker.Point {
	if d.Direction == LengthRight {
		return marker.Point{X: direction.Y, Y: direction.X}
	}
	return marker.Point{X: direction.X, Y: -direction.Y}
}

// matchPoint returns the place on the cloth of a placed piece's match point.
func (d *drawing) matchPoint(p marker.Placement) (marker.Point, bool) {
	piece := d.instance.Pieces[p.Piece]
	if piece.Match == nil {
		return marker.Point{}, false
	}
	x, y := piece.Match.X, piece.Match.Y
	if p.Mirrored {
		x = piece.Width - x
	}
	switch p.Turn {
	case 90:
		x, y = piece.Length-y, x
	case 180:
		x, y = piece.Width-x, piece.Length-y
	case 270:
		x, y = y, piece.Width-x
	}
	return marker.Point{X: p.X + x, Y: p.Y + y}, true
}

// description says what the drawing shows, for those who don't see it.
func (d *drawing) description() string {
	counts := make([]int, len(d.instance.Pieces))
	for _, p := range d.result.Placements {
		counts[p.Piece]++
	}
	var pieces []string
	for i, count := range counts {
		if count == 0 {
			continue
		}
		text := d.labelText(marker.Placement{Piece: i})
		pieces = append(pieces, fmt.Sprintf("%d × %s, %s", count, text.name, text.size))
	}
	parts := []string{strings.ReplaceAll(d.facts(), noBreak, " ") + "."}
	if len(pieces) > 0 {
		parts = append(parts, "Pieces: "+strings.Join(pieces, "; ")+".")
	} else {
		parts = append(parts, "No pieces.")
	}
	if left := d.leftOut(); left != "" {
		parts = append(parts, left)
	}
	if d.Nap != "" {
		parts = append(parts, "Nap: "+string(d.Nap)+".")
	}
	if n := len(d.faults()); n > 0 {
		parts = append(parts, fmt.Sprintf("Faults to lie around: %d.", n))
	}
	return strings.Join(parts, " ")
}

// leftOut says which copies the longest length left out; "" if none.
func (d *drawing) leftOut() string {
	var left []string
	for i, count := range d.result.Left {
		if count > 0 && i < len(d.instance.Pieces) {
			left = append(left, fmt.Sprintf("%d × %s", count, d.labelText(marker.Placement{Piece: i}).name))
		}
	}
	if len(left) == 0 {
		return ""
	}
	return "Not laid, for want of length: " + strings.Join(left, "; ") + "."
}

// faults returns the faults that the marker passes, cut off at its ends and edges.
func (d *drawing) faults() []marker.Fault {
	var seen []marker.Fault
	for _, f := range d.instance.Faults {
		x0, y0 := max(f.X, 0), max(f.Y, 0)
		x1, y1 := min(f.X+f.Width, d.instance.Width), min(f.Y+f.Length, d.long)
		if x1 > x0 && y1 > y0 {
			seen = append(seen, marker.Fault{X: x0, Y: y0, Width: x1 - x0, Length: y1 - y0})
		}
	}
	return seen
}

package exports

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/words"
)

// TemplateChoice says which pieces of a style are drawn at true size.
type TemplateChoice struct {
	// Pieces are indices into Style.Pieces; none means all.
	Pieces []int
	// Sizes by name, at least one.
	Sizes []string
	// Cloths are those that the pieces are cut from, by role; pieces are drawn as they are cut,
	// enlarged by what their cloth shrinks. A role that isn't named doesn't shrink.
	Cloths map[garment.Role]TemplateCloth
	// Step is that of the workshop's ruler, to which rectangles are cut; 0 rounds nothing.
	Step length.Length
	// Nested draws all sizes of a piece over each other; otherwise each has its own drawing.
	Nested bool
}

// TemplateCloth is a cloth that pieces are cut from.
type TemplateCloth struct {
	Name string
	// Shrink is zero if it doesn't shrink or is washed before it is cut.
	Shrink garment.Shrinkage
}

// Shrinks tells whether pieces of it are cut larger.
func (c TemplateCloth) Shrinks() bool { return c.Shrink != (garment.Shrinkage{}) }

// Words says by how much it shrinks; empty if it doesn't.
func (c TemplateCloth) Words() string {
	if !c.Shrinks() {
		return ""
	}
	return hundredthsWords(c.Shrink.Lengthwise) + " lengthwise, " + hundredthsWords(c.Shrink.Crosswise) + " crosswise"
}

func (c TemplateChoice) shrinkages() map[garment.Role]garment.Shrinkage {
	by := map[garment.Role]garment.Shrinkage{}
	for role, cloth := range c.Cloths {
		by[role] = cloth.Shrink
	}
	return by
}

// shrinkWords says how much larger pieces of a cloth are cut; "" if they aren't.
func (c TemplateCloth) shrinkWords(clean func(string) string) string {
	if c.Shrink == (garment.Shrinkage{}) {
		return ""
	}
	return fmt.Sprintf("%s shrinks by %s lengthwise and %s crosswise: cut larger by that", clean(c.Name), hundredthsWords(c.Shrink.Lengthwise), hundredthsWords(c.Shrink.Crosswise))
}

// hundredthsWords writes hundredths of a percent: 250 is 2.5 %.
func hundredthsWords(hundredths int) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100), "0"), ".") + " %"
}

// sizeWords says of what cloth the sizes are.
func (c TemplateChoice) sizeWords(style garment.Style, clean func(string) string) string {
	var shrink, not []string
	for _, role := range style.Roles() {
		cloth, ok := c.Cloths[role]
		switch words := cloth.shrinkWords(clean); {
		case !ok:
		case words != "":
			if !slices.Contains(shrink, words) {
				shrink = append(shrink, words)
			}
		case !slices.Contains(not, clean(cloth.Name)):
			not = append(not, clean(cloth.Name))
		}
	}
	words := "Sizes are as pieces are cut, seams and hems included. "
	switch {
	case len(c.Cloths) == 0:
		words += "No shrinkage is in them: they are for cloth that is washed before it is cut, or doesn't shrink. "
	case len(shrink) == 0:
		words += "No shrinkage is in them, since none is needed for " + strings.Join(not, ", ") + ". For cloth that shrinks print other templates. "
	default:
		words += "They have room for shrinking: " + strings.Join(shrink, "; ") + ". Sew on the seam line before the first wash; it has that room too. "
		if len(not) > 0 {
			words += "There is none for " + strings.Join(not, ", ") + ". "
		}
		words += "For other cloth print other templates. "
	}
	return words + "Sew one sample before you cut a run."
}

// ChoiceError says in words for the maker what of a choice makes no sense.
type ChoiceError struct{ Message string }

func (e *ChoiceError) Error() string { return e.Message }

func choiceError(format string, values ...any) error {
	return &ChoiceError{fmt.Sprintf(format, values...)}
}

// mostTemplateSheets is more than anyone wants to glue.
const mostTemplateSheets = 400

// Templates writes pieces at their true size as a PDF, cut up into sheets that overlap and are
// glued together by their marks: cutting line, seam line, grain, fold, notches and places of
// pockets. The first page has squares to measure whether the printer kept the size.
// The error is garment.Problems where a size can't be graded, *ChoiceError where the choice
// makes no sense, or w's.
func Templates(w io.Writer, style garment.Style, chart garment.SizeChart, choice TemplateChoice, options Options) error {
	s, err := templates(style, chart, choice, options)
	if err != nil {
		return err
	}
	return s.write(w)
}

func templates(style garment.Style, chart garment.SizeChart, choice TemplateChoice, options Options) (*sheets, error) {
	arts, err := templateArts(style, chart, choice, options)
	if err != nil {
		return nil, err
	}
	s := newSheets(options, "Templates: "+oneLine(style.Name))
	tiled := make([]tiling, len(arts))
	count := 0
	for i, art := range arts {
		tiled[i] = tile(art, s)
		count += len(tiled[i].filled)
	}
	if count > mostTemplateSheets {
		return nil, choiceError("These templates would take %s. Choose fewer pieces or sizes.", words.Count(count, "sheet"))
	}
	s.templateCover(style, choice, arts, tiled, count)
	for i, art := range arts {
		for _, at := range tiled[i].filled {
			s.templateSheet(art, tiled[i], at)
		}
	}
	return s, nil
}

// stroke is how a line of a template is drawn.
type stroke int

const (
	cutStroke stroke = iota
	sewnStroke
	foldStroke
	markStroke
	placeStroke
)

// artLine is a line in millimetres from the upper left corner of the drawing.
type artLine struct {
	points []artPoint
	closed bool
	stroke stroke
	// size is the index of the size in a nest, for its dashes.
	size int
}

type artPoint struct{ x, y float64 }

// artText is a text in the drawing; it stands around its place, turned a quarter to the left
// if upright.
type artText struct {
	at      artPoint
	words   string
	letter  float64
	bold    bool
	upright bool
	left    bool // begins at its place instead of standing around it
}

// templateArt is one piece, in one size or nested, drawn at its true size.
type templateArt struct {
	title       string
	wide, high  float64
	lines       []artLine
	texts       []artText
	arrows      []artArrow
	description string
}

// artArrow is a grain arrow around a middle.
type artArrow struct {
	at     artPoint
	dx, dy float64
	reach  float64
}

func templateArts(style garment.Style, chart garment.SizeChart, choice TemplateChoice, options Options) ([]*templateArt, error) {
	if len(choice.Sizes) == 0 {
		return nil, choiceError("Choose at least one size.")
	}
	pieces := choice.Pieces
	if len(pieces) == 0 {
		for i := range style.Pieces {
			pieces = append(pieces, i)
		}
	}
	drafts := make([][]garment.Draft, len(choice.Sizes)) // by size, then piece
	for i, size := range choice.Sizes {
		var err error
		if drafts[i], err = style.DraftsOn(chart, size, choice.shrinkages(), choice.Step); err != nil {
			return nil, err
		}
	}
	var arts []*templateArt
	for _, piece := range pieces {
		if piece < 0 || piece >= len(style.Pieces) {
			return nil, choiceError("There is no piece number %d in %s.", piece+1, style.Name)
		}
		var all []garment.Draft
		for i := range choice.Sizes {
			all = append(all, drafts[i][piece])
		}
		if choice.Nested && len(all) > 1 {
			arts = append(arts, drawTemplate(style, all, choice, options))
			continue
		}
		for _, d := range all {
			arts = append(arts, drawTemplate(style, []garment.Draft{d}, choice, options))
		}
	}
	return arts, nil
}

// artMargin is the room around a piece in its drawing.
const artMargin = 4.0

// drawTemplate draws one piece; several drafts are its sizes, laid on each other at the lower
// left corner.
func drawTemplate(style garment.Style, drafts []garment.Draft, choice TemplateChoice, options Options) *templateArt {
	first := drafts[0]
	art := &templateArt{title: oneLine(first.Name)}
	var sizes []string
	var wide, high float64
	for _, d := range drafts {
		wide, high = max(wide, onPaper(d.Width)), max(high, onPaper(d.Length))
		sizes = append(sizes, oneLine(d.Size))
	}
	art.wide, art.high = wide+2*artMargin, high+2*artMargin
	art.title += ", size " + strings.Join(sizes, ", ")
	for i, d := range drafts {
		art.draft(d, i, len(drafts))
	}
	largest := drafts[len(drafts)-1]
	smallest := slices.MinFunc(drafts, func(a, b garment.Draft) int { return int(min(a.Width, a.Length)/8 - min(b.Width, b.Length)/8) })
	art.label(style, largest, smallest, sizes, choice, options)
	return art
}

// place turns a place on the piece, y upwards, into one in the drawing.
func (a *templateArt) place(p garment.Point) artPoint {
	return artPoint{artMargin + onPaper(p.X), a.high - artMargin - onPaper(p.Y)}
}

func (a *templateArt) path(points []garment.Point, closed bool, kind stroke, size int) {
	line := artLine{closed: closed, stroke: kind, size: size}
	for _, p := range points {
		line.points = append(line.points, a.place(p))
	}
	a.lines = append(a.lines, line)
}

// outline draws a line around a piece; an edge on the fold is left open, since it isn't cut.
func (a *templateArt) outline(d garment.Draft, line []garment.Point, kind stroke, size int) {
	n := len(line)
	onFold := func(i int) bool { return d.OnFold && line[i%n].X == 0 && line[(i+1)%n].X == 0 }
	for i := range line {
		if onFold(i) && !onFold(i+1) {
			var open []garment.Point
			for j := i + 1; j <= i+n; j++ {
				open = append(open, line[j%n])
				if onFold(j) {
					break
				}
			}
			a.path(open, false, kind, size)
			return
		}
	}
	a.path(line, true, kind, size)
}

// foldEdge is from where to where a piece lies on the fold.
func foldEdge(d garment.Draft) (from, to length.Length) {
	from = d.Length
	for _, p := range d.Cut {
		if p.X == 0 {
			from, to = min(from, p.Y), max(to, p.Y)
		}
	}
	return from, to
}

func (a *templateArt) draft(d garment.Draft, at, of int) {
	if len(d.Sewn) > 0 {
		a.outline(d, d.Sewn, sewnStroke, at)
	}
	a.outline(d, d.Cut, cutStroke, at)
	if len(d.Hole) > 0 {
		a.path(d.Hole, true, cutStroke, at)
	}
	if d.OnFold {
		from, to := foldEdge(d)
		a.path([]garment.Point{{Y: from}, {Y: to}}, false, foldStroke, 0)
		if at == 0 {
			for _, share := range []length.Length{25, 75} {
				middle := a.place(garment.Point{Y: from + (to-from)*share/100})
				a.texts = append(a.texts, artText{at: artPoint{middle.x + 3.5, middle.y}, words: "place on the fold of the cloth, or turn over here", letter: 7, upright: true})
			}
		}
	}
	if of > 1 {
		a.sizeNames(d, at, of)
	}
	for _, fold := range d.FoldLines {
		a.path(fold[:], false, foldStroke, 0)
	}
	for _, n := range d.Notches {
		a.notch(n, of == 1)
	}
	if at < of-1 {
		return
	}
	for _, p := range d.Places {
		a.pocketPlace(p)
	}
}

// notchLong is how far a notch reaches into the piece, in millimetres.
const notchLong = 4.0

func (a *templateArt) notch(n garment.Notch, named bool) {
	at := a.place(n.At)
	dx, dy := float64(n.Inward.X)/1000, -float64(n.Inward.Y)/1000
	a.lines = append(a.lines, artLine{points: []artPoint{at, {at.x + dx*notchLong, at.y + dy*notchLong}}, stroke: markStroke})
	if !named {
		return
	}
	text := artText{at: artPoint{at.x + dx*(notchLong+1.2), at.y + dy*(notchLong+1.2) + 0.8}, words: n.Text, letter: 6.5}
	switch {
	case math.Abs(dx) <= math.Abs(dy):
		text.at.y += 1.2 * dy
	case dx > 0:
		text.left = true
	default:
		text.at.x -= 0.5 * float64(len(n.Text))
	}
	a.texts = append(a.texts, text)
}

func (a *templateArt) pocketPlace(p garment.Place) {
	corners := []garment.Point{p.Low, {X: p.High.X, Y: p.Low.Y}, p.High, {X: p.Low.X, Y: p.High.Y}}
	a.path(corners, true, placeStroke, 0)
	for _, corner := range corners {
		at := a.place(corner)
		a.lines = append(a.lines, artLine{points: []artPoint{{at.x - 2, at.y}, {at.x + 2, at.y}}, stroke: markStroke}, artLine{points: []artPoint{{at.x, at.y - 2}, {at.x, at.y + 2}}, stroke: markStroke})
	}
	words := "place of the " + oneLine(p.Name)
	if p.Suggested {
		words += ", or as you like it"
	}
	middle := a.place(garment.Point{X: (p.Low.X + p.High.X) / 2, Y: p.Low.Y})
	a.texts = append(a.texts, artText{at: artPoint{middle.x, middle.y - 2}, words: words, letter: 6.5})
}

// sizeNames writes the size on the right and the upper edge of a nested draft, each size at
// another place.
func (a *templateArt) sizeNames(d garment.Draft, at, of int) {
	share := float64(at+1) / float64(of+1)
	level := length.Length(float64(d.Length) * share)
	if x, ok := outermost(d.Cut, level, false); ok {
		p := a.place(garment.Point{X: x, Y: level})
		a.texts = append(a.texts, artText{at: artPoint{p.x - 0.8, p.y}, words: oneLine(d.Size), letter: 7, bold: true, upright: true})
	}
	across := length.Length(float64(d.Width) * share)
	if y, ok := outermost(d.Cut, across, true); ok {
		p := a.place(garment.Point{X: across, Y: y})
		a.texts = append(a.texts, artText{at: artPoint{p.x, p.y + 2.6}, words: oneLine(d.Size), letter: 7, bold: true})
	}
}

// outermost is where a line is farthest to the right at a height, or farthest up at a place
// across.
func outermost(line []garment.Point, at length.Length, up bool) (most length.Length, ok bool) {
	for i, a := range line {
		b := line[(i+1)%len(line)]
		if up {
			a, b = garment.Point{X: a.Y, Y: a.X}, garment.Point{X: b.Y, Y: b.X}
		}
		if a.Y > b.Y {
			a, b = b, a
		}
		if at < a.Y || at > b.Y || a.Y == b.Y {
			continue
		}
		x := a.X + length.Length(float64(b.X-a.X)*float64(at-a.Y)/float64(b.Y-a.Y))
		if !ok || x > most {
			most, ok = x, true
		}
	}
	return most, ok
}

// label writes what the piece is near the upper left of it, inside the smallest size, with the
// grain arrow beside it.
func (a *templateArt) label(style garment.Style, d, inside garment.Draft, sizes []string, choice TemplateChoice, options Options) {
	lines := []artText{{words: oneLine(style.Name), letter: 9}, {words: a.title, letter: 12, bold: true}}
	cut := fmt.Sprintf("cut %d of %s cloth", d.Copies, style.Pieces[d.Piece].Role)
	if d.OnFold {
		cut = fmt.Sprintf("cut %d on the fold, of %s cloth", d.Copies, style.Pieces[d.Piece].Role)
	}
	if d.Pair {
		cut += ", half of them face down"
	}
	lines = append(lines, artText{words: cut, letter: 9})
	if edges := edgeWords(d, options); edges != "" {
		lines = append(lines, artText{words: edges, letter: 7.5})
	}
	for _, note := range []string{choice.Cloths[style.Pieces[d.Piece].Role].shrinkWords(oneLine), d.Unknown, d.Note} {
		if note != "" {
			lines = append(lines, artText{words: oneLine(note), letter: 7.5})
		}
	}
	if len(sizes) == 1 {
		shaped, lengths := style.Pieces[d.Piece].Shape != garment.Rectangle, options.Lengths
		both := fmt.Sprintf("%s (%s) × %s (%s)", lengths.Cut(d.Width, shaped), lengths.OtherCut(d.Width, shaped), lengths.Cut(d.Length, shaped), lengths.OtherCut(d.Length, shaped))
		lines = append(lines, artText{words: both, letter: 7.5})
	}
	// A place that lies inside every size: a point well inside the smallest one.
	x, y := insidePoint(inside)
	at := a.place(garment.Point{X: x, Y: y})
	a.writeLabel(lines, at, d, inside)
	a.description = a.title + ": " + cut
	if words := choice.Cloths[style.Pieces[d.Piece].Role].shrinkWords(oneLine); words != "" {
		a.description += "; " + words
	}
}

// insidePoint is a place inside a draft near its middle: the middle of the widest level stretch.
func insidePoint(d garment.Draft) (x, y length.Length) {
	best := length.Length(-1)
	for _, percent := range []length.Length{50, 60, 40, 70, 30, 80, 20} {
		level := d.Length*percent/100 + 1
		var crossings []length.Length
		for i, a := range d.Cut {
			b := d.Cut[(i+1)%len(d.Cut)]
			if (a.Y <= level) != (b.Y <= level) {
				crossings = append(crossings, a.X+length.Length(float64(b.X-a.X)*float64(level-a.Y)/float64(b.Y-a.Y)))
			}
		}
		slices.Sort(crossings)
		for i := 0; i+1 < len(crossings); i += 2 {
			if wide := crossings[i+1] - crossings[i]; wide > best*105/100 {
				best, x, y = wide, (crossings[i]+crossings[i+1])/2, level
			}
		}
	}
	return x, y
}

// labelReach keeps the label of a wide rectangle on its first sheet.
const labelReach = 90.0

func (a *templateArt) writeLabel(lines []artText, at artPoint, d, inside garment.Draft) {
	wide, high := onPaper(inside.Width), onPaper(inside.Length)
	if len(inside.Cut) == 4 {
		at = artPoint{artMargin + min(wide/2, labelReach), a.high - artMargin - high/2}
	}
	for _, fold := range inside.FoldLines { // beside the fold, not on it
		if fold[0].Y == fold[1].Y {
			at.y, high = at.y-high/4, high/2
		} else {
			at.x, wide = artMargin+wide/4, wide/2
		}
	}
	upright := wide < 55 && high > wide // a strap: the words run along it
	room, limit := wide-24, high-8
	if upright {
		room, limit = high-16, wide-5
	}
	kept, tall := fitLines(lines, room, limit)
	offset := -tall / 2
	for _, line := range kept {
		step := line.letter * pointMM * 1.25
		offset += step
		line.upright = upright
		line.at = artPoint{at.x, at.y + offset - step*0.2}
		if upright {
			line.at = artPoint{at.x + offset - step*0.2, at.y}
		}
		a.texts = append(a.texts, line)
	}
	a.grainArrow(d, inside, at, tall, upright)
}

// fitLines makes the lines of a label small enough for its room, and leaves out the last ones
// where they have none.
func fitLines(lines []artText, room, limit float64) (kept []artText, tall float64) {
	var probe sheets
	for _, line := range lines {
		for line.letter > 5.5 && probe.textWidth(line.words, line.letter, line.bold) > room {
			line.letter -= 0.5
		}
		for _, words := range probe.wrap(line.words, line.letter, line.bold, max(room, 12), 3) {
			step := line.letter * pointMM * 1.25
			if tall+step > limit && len(kept) > 0 {
				return kept, tall
			}
			line.words = words
			kept = append(kept, line)
			tall += step
		}
	}
	return kept, tall
}

// stretch is how far a draft reaches up and down, or to both sides, from a place inside it.
func stretch(d garment.Draft, x, y length.Length, level bool) (low, high length.Length) {
	if level {
		x, y = y, x
	}
	low, high = -1, -1
	for i, a := range d.Cut {
		b := d.Cut[(i+1)%len(d.Cut)]
		if level {
			a, b = garment.Point{X: a.Y, Y: a.X}, garment.Point{X: b.Y, Y: b.X}
		}
		if (a.X <= x) == (b.X <= x) {
			continue
		}
		at := a.Y + length.Length(float64(b.Y-a.Y)*float64(x-a.X)/float64(b.X-a.X))
		if at <= y && at > low {
			low = at
		}
		if at >= y && (high < 0 || at < high) {
			high = at
		}
	}
	return max(low, 0), max(high, 0)
}

// grainArrow draws the grain below the label, above it, or beside it where there is no room.
func (a *templateArt) grainArrow(d, inside garment.Draft, at artPoint, tall float64, upright bool) {
	x := length.Length((at.x - artMargin) * float64(length.Millimetre))
	y := length.Length((a.high - artMargin - at.y) * float64(length.Millimetre))
	half := tall/2 + 5
	words := "grain"
	var dx, dy, reach float64
	middle := at
	switch d.Grain {
	case garment.Crosswise:
		left, right := stretch(inside, x, y, true)
		dx, reach = 1, min(40, onPaper(min(x-left, right-x))-6)
		middle.y += half
	case garment.Bias:
		dx, dy, reach = math.Sqrt2/2, -math.Sqrt2/2, 15
		middle.y += half + 12
	default:
		dy = -1
		if d.Grain == garment.AnyGrain {
			words = "any grain"
		}
		low, high := stretch(inside, x, y, false)
		below, above := onPaper(y-low)-half-6, onPaper(high-y)-half-6
		switch room := max(below, above); {
		case upright || room < 14:
			// Beside the words.
			left, _ := stretch(inside, x, y, true)
			middle.x = min(at.x-6, max(artMargin+onPaper(left)+8, at.x-70))
			if upright {
				middle.x = at.x - tall/2 - 3
			}
			low, high = stretch(inside, length.Length((middle.x-artMargin)*float64(length.Millimetre)), y, false)
			reach = min(40, onPaper(min(y-low, high-y))-5)
		case below >= above:
			reach = min(40, below/2)
			middle.y += half + reach
		default:
			reach = min(40, above/2)
			middle.y -= half + reach
		}
	}
	if reach < 3 {
		return
	}
	a.arrows = append(a.arrows, artArrow{middle, dx, dy, reach})
	if dy != 0 {
		a.texts = append(a.texts, artText{at: artPoint{middle.x + 3.2, middle.y}, words: words, letter: 7, upright: true})
	} else {
		a.texts = append(a.texts, artText{at: artPoint{middle.x, middle.y - 1.5}, words: words, letter: 7})
	}
}

// edgeWords says what the edges allow for.
func edgeWords(d garment.Draft, options Options) string {
	var parts []string
	for _, e := range d.Edges {
		if e.Amount > 0 {
			parts = append(parts, e.Edge+" "+options.Lengths.PieceBoth(e.Amount))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "seams and hems included: " + strings.Join(parts, ", ")
}

// Room on a sheet of a template, in millimetres: what the printer leaves white, the header, and
// how far sheets overlap.
const (
	tileEdge    = 10.0
	tileHead    = 14.0
	tileOverlap = 10.0
)

// tiling is how a drawing is cut up into sheets.
type tiling struct {
	lying         bool
	wide, high    float64 // of the part that one sheet shows
	columns, rows int
	// filled are the sheets with anything on them, from the top left on.
	filled [][2]int // row, column
}

func (t tiling) name(at [2]int) string { return fmt.Sprintf("%s%d", rowName(at[0]), at[1]+1) }

// rowName counts A, B ... Z, AA, AB.
func rowName(row int) string {
	name := ""
	for row++; row > 0; row = (row - 1) / 26 {
		name = string(rune('A'+(row-1)%26)) + name
	}
	return name
}

// origin is the place in the drawing that the upper left corner of a sheet shows.
func (t tiling) origin(at [2]int) artPoint {
	return artPoint{float64(at[1]) * (t.wide - tileOverlap), float64(at[0]) * (t.high - tileOverlap)}
}

// tile cuts a drawing up, on upright or lying sheets, whichever are fewer.
func tile(art *templateArt, s *sheets) tiling {
	upright := newTiling(art, s.upright.Wd, s.upright.Ht, false)
	lying := newTiling(art, s.upright.Ht, s.upright.Wd, true)
	if len(lying.filled) < len(upright.filled) {
		return lying
	}
	return upright
}

func newTiling(art *templateArt, pageWide, pageHigh float64, lying bool) tiling {
	t := tiling{lying: lying, wide: pageWide - 2*tileEdge, high: pageHigh - tileHead - tileEdge}
	count := func(all, one float64) int { return max(1, int(math.Ceil((all-tileOverlap)/(one-tileOverlap)-1e-9))) }
	t.columns, t.rows = count(art.wide, t.wide), count(art.high, t.high)
	for row := range t.rows {
		for column := range t.columns {
			if at := [2]int{row, column}; art.shows(t.origin(at), t.wide, t.high) {
				t.filled = append(t.filled, at)
			}
		}
	}
	return t
}

// shows tells whether any line or word lies in a part of the drawing.
func (a *templateArt) shows(from artPoint, wide, high float64) bool {
	within := func(p artPoint) bool {
		return p.x >= from.x && p.x <= from.x+wide && p.y >= from.y && p.y <= from.y+high
	}
	for _, line := range a.lines {
		for i := range line.points {
			if i+1 == len(line.points) && !line.closed {
				break
			}
			if segmentIn(line.points[i], line.points[(i+1)%len(line.points)], from, wide, high) {
				return true
			}
		}
	}
	for _, text := range a.texts {
		if within(text.at) {
			return true
		}
	}
	for _, arrow := range a.arrows {
		if within(arrow.at) {
			return true
		}
	}
	return false
}

// segmentIn tells whether a segment passes a box (after Liang and Barsky 1984).
func segmentIn(a, b, from artPoint, wide, high float64) bool {
	enter, leave := 0.0, 1.0
	dx, dy := b.x-a.x, b.y-a.y
	for _, edge := range [][2]float64{{-dx, a.x - from.x}, {dx, from.x + wide - a.x}, {-dy, a.y - from.y}, {dy, from.y + high - a.y}} {
		switch p, q := edge[0], edge[1]; {
		case p == 0 && q < 0:
			return false
		case p < 0:
			enter = max(enter, q/p)
		case p > 0:
			leave = min(leave, q/p)
		}
	}
	return enter <= leave
}

// templateCover is the first page: how to print and glue, the squares to measure, and a map of
// the sheets of each piece.
func (s *sheets) templateCover(style garment.Style, choice TemplateChoice, arts []*templateArt, tiled []tiling, count int) {
	s.page(false)
	s.y += 2
	for _, line := range s.wrap("Templates: "+s.name(style.Name), 18, true, s.inner(), 3) {
		s.line(line, 18, true, blackInk)
	}
	s.y += 1
	for _, words := range []string{
		"Print at 100 % (actual size), not “fit to page”. Then measure the squares: 100 mm and 4 in, along both edges. If they are off, do not cut.",
		fmt.Sprintf("%s %s. Glue the sheets of a piece together: lay the next sheet on the dashed line, so that the round marks lie on each other. Letters count rows from the top, numbers columns from the left.", words.Count(count, "sheet"), words.Verb(count, "follows", "follow")),
		"Solid line: cut here. Dashed line: seam line, and where hems and casings end. Dash and dot: fold. Short strokes at the edge: notches. Arrow: grain.",
		"Seam lines are worked out from the allowances of the style. Where that can't be done there is none, and the piece says why. Check one piece against what you know.",
		choice.sizeWords(style, s.name),
	} {
		s.item(words, false)
	}
	s.y += 2
	s.testSquares()
	s.heading("The sheets of each piece")
	s.tileMaps(arts, tiled)
	s.lackedNote()
}

// testSquares draws squares of 100 mm and of 4 in with one corner in common.
func (s *sheets) testSquares() {
	const four = 4 * 25.4
	s.need(four + 6)
	x, y := pageEdge+2, s.y+1
	s.draw(blackInk, 0.2)
	s.pdf.Rect(x, y, 100, 100, "D")
	s.pdf.Rect(x, y, four, four, "D")
	s.centred(x+50, y+46, "100 mm", 16, true, blackInk)
	s.centred(x+50, y+52, "the inner square, along each edge", 8, false, blackInk)
	s.text(x+four+4, y+46, "4 in", 16, true, blackInk)
	for i, line := range s.wrap("the outer square, along each edge", 8, false, s.inner()-four-8, 3) {
		s.text(x+four+4, y+51+3.6*float64(i), line, 8, false, blackInk)
	}
	s.y = y + four + 3
}

// tileMaps draws each drawing small with its sheets.
func (s *sheets) tileMaps(arts []*templateArt, tiled []tiling) {
	const gap = 5.0
	perRow := 3
	if len(arts) > 3 {
		perRow = 4
	}
	wide := (s.inner() - gap*float64(perRow-1)) / float64(perRow)
	const high = 50.0
	for i, art := range arts {
		if i%perRow == 0 {
			if i > 0 {
				s.y += high + 12
			}
			s.need(high + 12)
		}
		x := pageEdge + float64(i%perRow)*(wide+gap)
		s.tileMap(art, tiled[i], x, s.y, wide, high)
	}
	s.y += high + 12
}

func (s *sheets) tileMap(art *templateArt, t tiling, x, y, wide, high float64) {
	for i, line := range s.wrap(art.title, 8, true, wide, 2) {
		s.text(x, y+3+3.4*float64(i), line, 8, true, blackInk)
	}
	y += 8
	allWide := float64(t.columns)*(t.wide-tileOverlap) + tileOverlap
	allHigh := float64(t.rows)*(t.high-tileOverlap) + tileOverlap
	scale := min(wide/allWide, (high-1)/allHigh, 0.2)
	filled := map[[2]int]bool{}
	for _, at := range t.filled {
		filled[at] = true
	}
	for row := range t.rows {
		for column := range t.columns {
			at := [2]int{row, column}
			from := t.origin(at)
			w, h := (t.wide-tileOverlap)*scale, (t.high-tileOverlap)*scale
			s.draw(ruleInk, 0.2)
			s.fill(whiteInk)
			if !filled[at] {
				s.fill(bandInk)
			}
			s.pdf.Rect(x+from.x*scale, y+from.y*scale, w, h, "FD")
			words := t.name(at)
			if !filled[at] {
				words = "–"
			}
			s.centred(x+from.x*scale+w/2, y+from.y*scale+h/2+1.2, words, min(9, max(4.5, h)), false, greyInk)
		}
	}
	for _, line := range art.lines {
		if line.stroke != cutStroke {
			continue
		}
		s.draw(blackInk, 0.3)
		s.artPath(line, func(p artPoint) (float64, float64) { return x + p.x*scale, y + p.y*scale })
	}
	s.draw(blackInk, 0.2)
}

// artPath draws a line of a drawing.
func (s *sheets) artPath(line artLine, at func(artPoint) (x, y float64)) {
	for i, p := range line.points {
		x, y := at(p)
		if i == 0 {
			s.pdf.MoveTo(x, y)
		} else {
			s.pdf.LineTo(x, y)
		}
	}
	if line.closed {
		s.pdf.ClosePath()
	}
	s.pdf.DrawPath("D")
}

// cutDashes tell sizes of a nest apart.
var cutDashes = [][]float64{nil, {6, 1.5}, {3, 1}, {8, 1, 1.5, 1}}

// templateSheet writes one sheet of a drawing.
func (s *sheets) templateSheet(art *templateArt, t tiling, tile [2]int) {
	s.barePage(t.lying)
	head := fmt.Sprintf("%s · %s · sheet %s of %d × %d", s.name(s.title), art.title, t.name(tile), t.rows, t.columns)
	s.text(tileEdge, 9.5, s.fit(head, 8, false, s.width()-2*tileEdge-62), 8, false, greyInk)
	s.toRight(s.width()-tileEdge-26, 9.5, "print at 100 %", 8, true, blackInk)
	s.put(s.width()-tileEdge-23, 9.5, fmt.Sprintf("page %d of %s", s.pdf.PageNo(), pageCount), 8, false, greyInk)
	x0, y0 := tileEdge, tileHead
	s.draw(ruleInk, 0.15)
	s.pdf.Rect(x0, y0, t.wide, t.high, "D")
	// Where the next sheets are laid.
	s.pdf.SetDashPattern([]float64{1.5, 1.5}, 0)
	s.draw(greyInk, 0.15)
	if tile[1]+1 < t.columns {
		s.pdf.Line(x0+t.wide-tileOverlap, y0, x0+t.wide-tileOverlap, y0+t.high)
	}
	if tile[0]+1 < t.rows {
		s.pdf.Line(x0, y0+t.high-tileOverlap, x0+t.wide, y0+t.high-tileOverlap)
	}
	s.pdf.SetDashPattern(nil, 0)
	s.pdf.ClipRect(x0, y0, t.wide, t.high, false)
	from := t.origin(tile)
	at := func(p artPoint) (x, y float64) { return x0 + p.x - from.x, y0 + p.y - from.y }
	s.centred(x0+t.wide/2, y0+t.high/2+12, t.name(tile), 60, true, rgb{232, 229, 222})
	s.tileNeighbours(t, tile)
	s.joinMarks(t, at)
	for _, line := range art.lines {
		s.setStroke(line)
		s.artPath(line, at)
		s.pdf.SetDashPattern(nil, 0)
	}
	for _, arrow := range art.arrows {
		x, y := at(arrow.at)
		s.arrow(x, y, arrow.dx, arrow.dy, arrow.reach, true)
	}
	for _, text := range art.texts {
		x, y := at(text.at)
		if x > x0-120 && x < x0+t.wide+120 && y > y0-120 && y < y0+t.high+120 {
			s.artWords(text, x, y)
		}
	}
	s.pdf.ClipEnd()
	s.draw(blackInk, 0.2)
}

func (s *sheets) setStroke(line artLine) {
	switch line.stroke {
	case cutStroke:
		s.draw(blackInk, 0.35)
		s.pdf.SetDashPattern(cutDashes[line.size%len(cutDashes)], 0)
	case sewnStroke:
		s.draw(greyInk, 0.18)
		s.pdf.SetDashPattern([]float64{2.5, 1.2}, 0)
	case foldStroke:
		s.draw(blackInk, 0.25)
		s.pdf.SetDashPattern([]float64{7, 1.5, 1, 1.5}, 0)
	case placeStroke:
		s.draw(greyInk, 0.18)
		s.pdf.SetDashPattern([]float64{1, 1}, 0)
	default:
		s.draw(blackInk, 0.3)
	}
}

func (s *sheets) artWords(text artText, x, y float64) {
	words := s.clean(text.words)
	wide := s.textWidth(words, text.letter, text.bold)
	if text.upright {
		s.pdf.TransformBegin()
		s.pdf.TransformRotate(90, x, y)
	}
	tall := text.letter * pointMM
	s.fill(whiteInk)
	if text.left {
		s.pdf.Rect(x-0.2, y-tall*0.8, wide+0.4, tall, "F")
		s.text(x, y, words, text.letter, text.bold, blackInk)
		return
	}
	s.pdf.Rect(x-wide/2-0.2, y-tall*0.8, wide+0.4, tall, "F")
	s.text(x-wide/2, y, words, text.letter, text.bold, blackInk)
	if text.upright {
		s.pdf.TransformEnd()
	}
}

// tileNeighbours names the sheets that come next, inside the edges.
func (s *sheets) tileNeighbours(t tiling, at [2]int) {
	x0, y0 := tileEdge, tileHead
	for _, next := range []struct {
		row, column int
		x, y        float64
	}{{-1, 0, t.wide / 2, 4}, {1, 0, t.wide / 2, t.high - 1.5}, {0, -1, 4, t.high/2 + 10}, {0, 1, t.wide - 4, t.high/2 + 10}} {
		there := [2]int{at[0] + next.row, at[1] + next.column}
		if slices.Contains(t.filled, there) {
			s.centred(x0+next.x+8*math.Abs(float64(next.row)), y0+next.y, t.name(there), 8, true, greyInk)
		}
	}
}

// joinMarks draws the round marks in the overlaps; each lies on all sheets that meet there.
func (s *sheets) joinMarks(t tiling, at func(artPoint) (x, y float64)) {
	stepX, stepY := t.wide-tileOverlap, t.high-tileOverlap
	mark := func(p artPoint) {
		x, y := at(p)
		s.draw(blackInk, 0.2)
		s.pdf.Circle(x, y, 2.5, "D")
		s.pdf.Line(x-4, y, x+4, y)
		s.pdf.Line(x, y-4, x, y+4)
	}
	for row := range t.rows {
		for column := range t.columns {
			right := float64(column+1)*stepX + tileOverlap/2
			below := float64(row+1)*stepY + tileOverlap/2
			if column+1 < t.columns {
				for _, share := range []float64{0.2, 0.8} {
					mark(artPoint{right, float64(row)*stepY + tileOverlap + share*(stepY-tileOverlap)})
				}
			}
			if row+1 < t.rows {
				for _, share := range []float64{0.2, 0.8} {
					mark(artPoint{float64(column)*stepX + tileOverlap + share*(stepX-tileOverlap), below})
				}
			}
		}
	}
}

// TemplatesSVG writes the same drawings as Templates in one SVG at true size, one below the
// other, with a square of 100 mm to measure. Errors are as of Templates.
func TemplatesSVG(w io.Writer, style garment.Style, chart garment.SizeChart, choice TemplateChoice, options Options) error {
	arts, err := templateArts(style, chart, choice, options)
	if err != nil {
		return err
	}
	const gap, square = 10.0, 100.0
	wide, high := square+2*gap, square+2*gap
	for _, art := range arts {
		wide, high = max(wide, art.wide+2*gap), high+art.high+gap
	}
	var svg svgWriter
	svg.out.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
	svg.begin("svg", attribute{"xmlns", "http://www.w3.org/2000/svg"}, attribute{"width", decimalMM(wide) + "mm"}, attribute{"height", decimalMM(high) + "mm"},
		attribute{"viewBox", "0 0 " + decimalMM(wide) + " " + decimalMM(high)}, attribute{"font-family", "'DejaVu Sans Condensed', 'DejaVu Sans', Arial, sans-serif"}, attribute{"fill", "none"}, attribute{"stroke", ink})
	svg.out.WriteString("\n")
	svg.text("title", "Templates: "+style.Name)
	svg.text("desc", "At true size: print at 100 %; the square has edges of 100 mm.")
	svg.empty("rect", attribute{"class", "test-square"}, attribute{"x", decimalMM(gap)}, attribute{"y", decimalMM(gap)}, attribute{"width", "100"}, attribute{"height", "100"}, attribute{"stroke-width", "0.2"})
	svgWords(&svg, artText{at: artPoint{gap + 50, gap + 50}, words: "100 mm: print at 100 %", letter: 12, bold: true})
	y := square + 2*gap
	for _, art := range arts {
		svg.begin("g", attribute{"class", "template"}, attribute{"transform", "translate(" + decimalMM(gap) + " " + decimalMM(y) + ")"})
		svg.out.WriteString("\n")
		svg.text("title", art.description)
		art.writeSVG(&svg)
		svg.end()
		y += art.high + gap
	}
	svg.end()
	_, err = w.Write(svg.out.Bytes())
	return err
}

// decimalMM writes millimetres to the micrometre.
func decimalMM(value float64) string {
	return mm(length.Length(math.Round(value * float64(length.Millimetre))))
}

func (a *templateArt) writeSVG(svg *svgWriter) {
	classes := map[stroke]string{cutStroke: "cut", sewnStroke: "seam", foldStroke: "fold", markStroke: "notch", placeStroke: "place"}
	widths := map[stroke]string{cutStroke: "0.35", sewnStroke: "0.18", foldStroke: "0.25", markStroke: "0.3", placeStroke: "0.18"}
	dashes := map[stroke]string{sewnStroke: "2.5 1.2", foldStroke: "7 1.5 1 1.5", placeStroke: "1 1"}
	for _, line := range a.lines {
		var path strings.Builder
		for i, p := range line.points {
			path.WriteString([]string{"M", "L"}[min(i, 1)] + decimalMM(p.x) + " " + decimalMM(p.y))
		}
		if line.closed {
			path.WriteString("Z")
		}
		attributes := []attribute{{"class", "template-" + classes[line.stroke]}, {"d", path.String()}, {"stroke-width", widths[line.stroke]}}
		dash := dashes[line.stroke]
		if line.stroke == cutStroke {
			var parts []string
			for _, d := range cutDashes[line.size%len(cutDashes)] {
				parts = append(parts, decimalMM(d))
			}
			dash = strings.Join(parts, " ")
		}
		if dash != "" {
			attributes = append(attributes, attribute{"stroke-dasharray", dash})
		}
		svg.empty("path", attributes...)
	}
	for _, arrow := range a.arrows {
		x0, y0 := arrow.at.x-arrow.dx*arrow.reach, arrow.at.y-arrow.dy*arrow.reach
		x1, y1 := arrow.at.x+arrow.dx*arrow.reach, arrow.at.y+arrow.dy*arrow.reach
		var path strings.Builder
		fmt.Fprintf(&path, "M%s %sL%s %s", decimalMM(x0), decimalMM(y0), decimalMM(x1), decimalMM(y1))
		for _, tip := range []struct{ x, y, sign float64 }{{x1, y1, 1}, {x0, y0, -1}} {
			bx, by := tip.x-tip.sign*arrow.dx*3, tip.y-tip.sign*arrow.dy*3
			fmt.Fprintf(&path, "M%s %sL%s %sL%s %s", decimalMM(bx-arrow.dy*1.4), decimalMM(by+arrow.dx*1.4), decimalMM(tip.x), decimalMM(tip.y), decimalMM(bx+arrow.dy*1.4), decimalMM(by-arrow.dx*1.4))
		}
		svg.empty("path", attribute{"class", "template-grain"}, attribute{"d", path.String()}, attribute{"stroke-width", "0.3"})
	}
	for _, text := range a.texts {
		svgWords(svg, text)
	}
}

func svgWords(svg *svgWriter, text artText) {
	attributes := []attribute{
		{"x", decimalMM(text.at.x)},
		{"y", decimalMM(text.at.y)},
		{"font-size", decimalMM(text.letter * pointMM)},
		{"fill", ink},
		{"stroke", "none"},
	}
	if !text.left {
		attributes = append(attributes, attribute{"text-anchor", "middle"})
	}
	if text.bold {
		attributes = append(attributes, attribute{"font-weight", "bold"})
	}
	if text.upright {
		attributes = append(attributes, attribute{"transform", "rotate(-90 " + decimalMM(text.at.x) + " " + decimalMM(text.at.y) + ")"})
	}
	svg.text("text", text.words, attributes...)
}

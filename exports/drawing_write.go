package exports

import (
	"fmt"
	"strconv"
	"strings"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// The inks. Tints differ too little to carry meaning: they only help to tell neighbours apart,
// and print as paper.
const (
	ink   = "#1f1d1a"
	faint = "#6d6860"
	paper = "#ffffff"
)

var tints = [...]string{"#f7f1e3", "#e9f0f5", "#edf3e6", "#f6e9e5", "#efebf5", "#f3f1d8", "#e6f2ef", "#f4ece0"}

// write writes the whole drawing.
func (d *drawing) write() {
	if d.Standalone {
		d.svg.out.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
	}
	d.svg.begin("svg", d.rootAttributes()...)
	d.svg.out.WriteString("\n")
	d.svg.text("title", d.accessibleTitle(), attribute{"id", d.ID + "-title"})
	d.svg.text("desc", d.description(), attribute{"id", d.ID + "-desc"})
	d.writePatterns()
	d.writeCaption()
	d.writeCloth()
	d.writeGrid()
	for _, piece := range d.pieces {
		d.writePiece(piece)
	}
	d.writeFinder()
	d.writeMatchPoints()
	d.writeFaults()
	d.writeCuts()
	d.writeEnds()
	d.writeRulers()
	d.writeNap()
	d.writeLegend()
	d.svg.end()
}

func (d *drawing) rootAttributes() []attribute {
	attributes := []attribute{
		{"xmlns", "http://www.w3.org/2000/svg"},
		{"class", "marker-drawing"},
		{"viewBox", "0 0 " + mm(d.width) + " " + mm(d.height)},
		{"role", "img"},
		{"aria-labelledby", d.ID + "-title " + d.ID + "-desc"},
		{"font-family", "Helvetica, Arial, 'DejaVu Sans', sans-serif"},
		{"fill", ink},
	}
	if d.Standalone {
		high := int64(d.height) * int64(d.ShownWidth) / int64(d.width)
		attributes = append(attributes, attribute{"width", strconv.Itoa(d.ShownWidth)}, attribute{"height", strconv.FormatInt(high, 10)})
	}
	return attributes
}

func (d *drawing) accessibleTitle() string {
	title := oneLine(d.Title)
	if title == "" {
		return "Marker"
	}
	return "Marker: " + title
}

func (d *drawing) id(name string) string  { return d.ID + "-" + name }
func (d *drawing) use(name string) string { return "url(#" + d.id(name) + ")" }

// part returns a share of a letter, in hundredths.
func (d *drawing) part(hundredths length.Length) length.Length { return d.letter * hundredths / 100 }

// writePatterns defines what marks turning, turning over, faults and ends without colour.
func (d *drawing) writePatterns() {
	d.svg.begin("defs")
	d.svg.out.WriteString("\n")
	d.pattern("turned", 60, 60, "M0 "+mm(d.part(30))+"H"+mm(d.part(60)), "0.28")
	d.pattern("fault", 35, 35, fmt.Sprintf("M0 0L%[1]s %[1]sM0 %[1]sL%[1]s 0", mm(d.part(35))), "0.75")
	d.pattern("end", 40, 40, fmt.Sprintf("M0 %[1]sL%[1]s 0", mm(d.part(40))), "0.5")
	side := mm(d.part(70))
	d.svg.begin("pattern", attribute{"id", d.id("face-down")}, attribute{"patternUnits", "userSpaceOnUse"}, attribute{"width", side}, attribute{"height", side})
	d.svg.empty("circle", attribute{"cx", mm(d.part(35))}, attribute{"cy", mm(d.part(35))}, attribute{"r", mm(d.part(9))}, attribute{"fill", ink}, attribute{"fill-opacity", "0.45"})
	d.svg.end()
	d.svg.end()
}

func (d *drawing) pattern(name string, width, height length.Length, path, opacity string) {
	d.svg.begin("pattern", attribute{"id", d.id(name)}, attribute{"patternUnits", "userSpaceOnUse"},
		attribute{"width", mm(d.part(width))}, attribute{"height", mm(d.part(height))})
	d.svg.empty("path", attribute{"d", path}, attribute{"stroke", ink}, attribute{"stroke-opacity", opacity}, attribute{"stroke-width", mm(d.part(5))})
	d.svg.end()
}

// write text in a place on the page.
func (d *drawing) words(class, text string, x, y, letter length.Length, more ...attribute) {
	d.svg.text("text", text, append([]attribute{{"class", class}, {"x", mm(x)}, {"y", mm(y)}, {"font-size", mm(letter)}}, more...)...)
}

// halo keeps words readable over patterns and lines.
func (d *drawing) halo() []attribute {
	return []attribute{{"stroke", paper}, {"stroke-width", mm(d.part(28))}, {"stroke-linejoin", "round"}, {"paint-order", "stroke"}}
}

func (d *drawing) writeCaption() {
	y := d.letter / 2
	for _, line := range d.caption {
		y += d.part(lineHeight)
		letter, more := d.letter, []attribute(nil)
		if line.bold {
			letter, more = d.part(115), []attribute{{"font-weight", "bold"}}
		}
		d.words("marker-caption", line.text, d.letter/2, y-d.part(25), letter, more...)
	}
}

// box writes a rectangle of the cloth, from corner to corner.
func (d *drawing) box(from, to marker.Point, attributes ...attribute) {
	a, b := d.at(from), d.at(to)
	d.svg.empty("rect", append([]attribute{
		{"x", mm(min(a.X, b.X))}, {"y", mm(min(a.Y, b.Y))}, {"width", mm(max(a.X, b.X) - min(a.X, b.X))}, {"height", mm(max(a.Y, b.Y) - min(a.Y, b.Y))},
	}, attributes...)...)
}

func (d *drawing) writeCloth() {
	across := d.instance.Width
	d.box(marker.Point{}, marker.Point{X: across, Y: d.long}, attribute{"class", "marker-cloth"}, attribute{"fill", paper}, attribute{"stroke", faint}, attribute{"stroke-width", mm(d.part(6))})
	if d.EndLoss > 0 {
		end := []attribute{{"class", "marker-end-loss"}, {"fill", d.use("end")}, {"stroke", faint}, {"stroke-width", mm(d.part(6))}}
		d.box(marker.Point{Y: -d.EndLoss}, marker.Point{X: across}, end...)
		d.box(marker.Point{Y: d.long}, marker.Point{X: across, Y: d.long + d.EndLoss}, end...)
	}
}

// line appends a line on the cloth to a path.
func (d *drawing) line(path *strings.Builder, from, to marker.Point) {
	a, b := d.at(from), d.at(to)
	fmt.Fprintf(path, "M%s %sL%s %s", mm(a.X), mm(a.Y), mm(b.X), mm(b.Y))
}

// writeGrid draws where the print comes again. The grid passes through the first corner.
func (d *drawing) writeGrid() {
	var path strings.Builder
	if step := d.instance.Repeat.Width; d.gridDrawn(step) {
		for x := length.Length(0); x <= d.instance.Width; x += step {
			d.line(&path, marker.Point{X: x}, marker.Point{X: x, Y: d.long})
		}
	}
	if step := d.instance.Repeat.Length; d.gridDrawn(step) {
		for y := length.Length(0); y <= d.long; y += step {
			d.line(&path, marker.Point{Y: y}, marker.Point{X: d.instance.Width, Y: y})
		}
	}
	if path.Len() > 0 {
		d.svg.empty("path", attribute{"class", "marker-repeat"}, attribute{"d", path.String()}, attribute{"fill", "none"}, attribute{"stroke", faint},
			attribute{"stroke-width", mm(d.part(5))}, attribute{"stroke-dasharray", mm(d.part(15)) + " " + mm(d.part(25))})
	}
}

// writeFinder draws the light lines by which a place is found. They lie over the pieces, so thin
// that names stay readable.
func (d *drawing) writeFinder() {
	if d.Grid <= 0 || d.Grid < d.part(60) {
		return
	}
	var path strings.Builder
	for x := d.Grid; x < d.instance.Width; x += d.Grid {
		d.line(&path, marker.Point{X: x}, marker.Point{X: x, Y: d.long})
	}
	for y := d.Grid; y < d.long; y += d.Grid {
		d.line(&path, marker.Point{Y: y}, marker.Point{X: d.instance.Width, Y: y})
	}
	d.svg.empty("path", attribute{"class", "marker-grid"}, attribute{"d", path.String()}, attribute{"fill", "none"}, attribute{"stroke", faint},
		attribute{"stroke-opacity", "0.45"}, attribute{"stroke-width", mm(d.part(4))})
}

func outlinePath(outline []marker.Point) string {
	var path strings.Builder
	for i, p := range outline {
		path.WriteString([]string{"M", "L"}[min(i, 1)] + mm(p.X) + " " + mm(p.Y))
	}
	return path.String() + "Z"
}

func (d *drawing) writePiece(drawn drawnPiece) {
	p := drawn.placement
	text := d.labelText(p)
	d.svg.begin("g", attribute{"class", "marker-piece"}, attribute{"data-piece", strconv.Itoa(p.Piece)}, attribute{"data-name", text.name},
		attribute{"data-copy", strconv.Itoa(drawn.copy)}, attribute{"data-turn", strconv.Itoa(int(p.Turn))})
	d.svg.out.WriteString("\n")
	d.svg.text("title", d.pieceTitle(drawn, text))
	path := outlinePath(drawn.outline)
	d.svg.empty("path", attribute{"class", "marker-outline"}, attribute{"d", path}, attribute{"fill", tints[p.Piece%len(tints)]},
		attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(12))}, attribute{"stroke-linejoin", "round"})
	if p.Turn != 0 {
		d.svg.empty("path", attribute{"class", "marker-turned"}, attribute{"d", path}, attribute{"fill", d.use("turned")})
	}
	if p.Mirrored {
		d.svg.empty("path", attribute{"class", "marker-face-down"}, attribute{"d", path}, attribute{"fill", d.use("face-down")})
	}
	d.writeLabel(drawn.label, d.onPage(d.grainOf(p)), text.marks != "")
	d.svg.end()
}

// pieceTitle is what a pointer that rests on a piece is told.
func (d *drawing) pieceTitle(drawn drawnPiece, text labelText) string {
	p := drawn.placement
	title := fmt.Sprintf("%s, %s, copy %d of %d", text.name, text.size, drawn.copy, d.instance.Pieces[p.Piece].Copies)
	if text.marks != "" {
		title += ", " + text.marks
	}
	title += fmt.Sprintf(". %s from the left selvage, %s from the start.", d.Lengths.Piece(p.X), d.Lengths.Piece(p.Y))
	if p.Piece < len(d.Notes) && d.Notes[p.Piece] != "" {
		title += " " + d.Notes[p.Piece]
	}
	return title
}

// writeLabel writes the lines of a label with the grain arrow before them. direction is the
// arrow's on the page, patterned tells that the piece has a pattern under the words.
func (d *drawing) writeLabel(l label, direction marker.Point, patterned bool) {
	width, height := l.size()
	attributes := []attribute{{"class", "marker-label"}, {"font-size", mm(l.letter)}}
	if l.upright {
		attributes = append(attributes, attribute{"transform", fmt.Sprintf("rotate(-90 %s %s)", mm(l.x), mm(l.y))})
		// The block is turned a quarter to the left, so the arrow in it is turned to the right.
		direction = marker.Point{X: -direction.Y, Y: direction.X}
	}
	d.svg.begin("g", attributes...)
	d.svg.out.WriteString("\n")
	arrow := l.letter * arrowShare / 100
	left := l.x - width/2 + l.letter/4
	reach := arrow * 8 / 20
	if direction.Y != 0 {
		reach = max(reach, min(height-l.letter/2, 3*l.letter)/2)
	}
	d.arrow("marker-grain", marker.Point{X: left + arrow*8/20, Y: l.y}, direction, reach, l.letter, false)
	y := l.y - height/2 + l.letter/4 + l.letter*98/100
	for i, line := range l.lines {
		var more []attribute
		if patterned {
			more = d.halo()
		}
		if i < l.names {
			more = append(more, attribute{"font-weight", "bold"})
		}
		d.svg.text("text", line, append([]attribute{{"x", mm(left + arrow)}, {"y", mm(y)}}, more...)...)
		y += l.letter * lineHeight / 100
	}
	d.svg.end()
}

// arrow writes an arrow around its middle, reach to each side; both tells that it has a head
// at each end.
func (d *drawing) arrow(class string, middle, direction marker.Point, reach, letter length.Length, both bool) {
	var path strings.Builder
	end := func(sign length.Length) marker.Point {
		return marker.Point{X: middle.X + sign*direction.X*reach, Y: middle.Y + sign*direction.Y*reach}
	}
	from, to := end(-1), end(1)
	fmt.Fprintf(&path, "M%s %sL%s %s", mm(from.X), mm(from.Y), mm(to.X), mm(to.Y))
	head := func(tip marker.Point, sign length.Length) {
		back := letter * 40 / 100
		wing := letter * 22 / 100
		base := marker.Point{X: tip.X - sign*direction.X*back, Y: tip.Y - sign*direction.Y*back}
		fmt.Fprintf(&path, "M%s %sL%s %sL%s %sZ", mm(tip.X), mm(tip.Y),
			mm(base.X+direction.Y*wing), mm(base.Y+direction.X*wing), mm(base.X-direction.Y*wing), mm(base.Y-direction.X*wing))
	}
	head(to, 1)
	if both {
		head(from, -1)
	}
	d.svg.empty("path", attribute{"class", class}, attribute{"d", path.String()}, attribute{"fill", ink}, attribute{"stroke", ink}, attribute{"stroke-width", mm(letter * 8 / 100)})
}

// matchMark draws the sign of a match point.
func (d *drawing) matchMark(at marker.Point) {
	r := d.part(30)
	d.svg.empty("path", attribute{"class", "marker-match"}, attribute{"fill", "none"}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(8))},
		attribute{"d", fmt.Sprintf("M%s %sh%sM%s %sv%sM%s %sa%[10]s %[10]s 0 1 0 %[11]s 0a%[10]s %[10]s 0 1 0 -%[11]s 0",
			mm(at.X-r*3/2), mm(at.Y), mm(3*r), mm(at.X), mm(at.Y-r*3/2), mm(3*r), mm(at.X-r), mm(at.Y), "", mm(r), mm(2*r))})
}

func (d *drawing) writeMatchPoints() {
	for _, p := range d.result.Placements {
		if point, ok := d.matchPoint(p); ok {
			d.matchMark(d.at(point))
		}
	}
}

func (d *drawing) writeFaults() {
	for _, f := range d.faults() {
		d.svg.begin("g", attribute{"class", "marker-fault"})
		d.svg.text("title", fmt.Sprintf("Fault, %s wide and %s long, %s from the left selvage and %s from the start",
			d.Lengths.Piece(f.Width), d.Lengths.Piece(f.Length), d.Lengths.Piece(f.X), d.Lengths.Piece(f.Y)))
		d.box(marker.Point{X: f.X, Y: f.Y}, marker.Point{X: f.X + f.Width, Y: f.Y + f.Length},
			attribute{"fill", d.use("fault")}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(8))})
		d.svg.end()
	}
}

// writeCuts draws the straight cuts, each with its number where it begins.
func (d *drawing) writeCuts() {
	if !d.Cuts {
		return
	}
	for i, c := range d.result.Cuts {
		to := marker.Point{X: c.X, Y: c.Y + c.Span}
		if c.Across {
			to = marker.Point{X: c.X + c.Span, Y: c.Y}
		}
		from, end := d.at(marker.Point{X: c.X, Y: c.Y}), d.at(to)
		d.svg.empty("path", attribute{"class", "marker-cut"}, attribute{"d", fmt.Sprintf("M%s %sL%s %s", mm(from.X), mm(from.Y), mm(end.X), mm(end.Y))},
			attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(14))}, attribute{"stroke-dasharray", mm(d.part(60)) + " " + mm(d.part(30))})
		near := marker.Point{X: from.X + signOf(end.X-from.X)*d.part(120), Y: from.Y + signOf(end.Y-from.Y)*d.part(120)}
		d.words("marker-cut-number", strconv.Itoa(i+1), near.X, near.Y+d.part(35), d.letter, append(d.halo(), attribute{"text-anchor", "middle"})...)
	}
}

func signOf(l length.Length) length.Length {
	switch {
	case l > 0:
		return 1
	case l < 0:
		return -1
	}
	return 0
}

// writeEnds draws the ends of the marker, and the fold.
func (d *drawing) writeEnds() {
	var ends strings.Builder
	d.line(&ends, marker.Point{}, marker.Point{X: d.instance.Width})
	if d.result.Length > 0 {
		d.line(&ends, marker.Point{Y: d.result.Length}, marker.Point{X: d.instance.Width, Y: d.result.Length})
	}
	d.svg.empty("path", attribute{"class", "marker-ends"}, attribute{"d", ends.String()}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(18))})
	if d.Spread == lay.FoldedLengthwise {
		var fold strings.Builder
		d.line(&fold, marker.Point{X: d.instance.Width, Y: -d.EndLoss}, marker.Point{X: d.instance.Width, Y: d.long + d.EndLoss})
		d.dashDot(fold.String())
	}
}

func (d *drawing) dashDot(path string) {
	dashes := strings.Join([]string{mm(d.part(90)), mm(d.part(25)), mm(d.part(20)), mm(d.part(25))}, " ")
	d.svg.empty("path", attribute{"class", "marker-fold"}, attribute{"d", path}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(20))}, attribute{"stroke-dasharray", dashes})
}

// napWords say how pieces lie on a nap, in full and in short.
var napWords = map[batch.Nap][2]string{
	batch.NapEitherWay: {"nap either way: pieces may turn by half", "nap either way"},
	batch.NapOneWay:    {"nap one way: no piece may turn", "nap one way"},
	batch.NapUpAndDown: {"nap up and down: the pieces of one garment lie alike", "nap up and down"},
}

// writeNap draws the nap of the cloth as an arrow beside it.
func (d *drawing) writeNap() {
	words, ok := napWords[d.Nap]
	if !ok {
		return
	}
	text := words[0]
	if textWidth(text, d.letter) > d.long {
		text = cutToWidth(words[1], d.letter, d.clothHeight()+d.part(200))
	}
	both := d.Nap != batch.NapOneWay
	middle := d.at(marker.Point{X: d.instance.Width, Y: d.long / 2})
	if d.Direction == LengthRight {
		middle = d.at(marker.Point{Y: d.long / 2})
		d.arrow("marker-nap", marker.Point{X: middle.X, Y: middle.Y - d.part(85)}, marker.Point{X: 1}, d.long*9/20, d.letter, both)
		d.words("marker-nap-words", text, middle.X, middle.Y-d.part(150), d.letter, attribute{"text-anchor", "middle"})
		return
	}
	d.arrow("marker-nap", marker.Point{X: middle.X + d.part(80), Y: middle.Y}, marker.Point{Y: -1}, d.long*9/20, d.letter, both)
	x := middle.X + d.part(185)
	d.words("marker-nap-words", text, x, middle.Y, d.letter, attribute{"text-anchor", "middle"},
		attribute{"transform", fmt.Sprintf("rotate(-90 %s %s)", mm(x), mm(middle.Y))})
}

func (d *drawing) writeLegend() {
	d.svg.begin("g", attribute{"class", "marker-legend"})
	d.svg.out.WriteString("\n")
	for _, key := range d.keys {
		d.writeSign(key)
		d.words("marker-key", signMeanings[key.sign], key.x+d.part(signWidth+50), key.y+d.part(35), d.letter)
	}
	y := d.legendTop + d.letter
	if len(d.keys) > 0 {
		y = d.keys[len(d.keys)-1].y
	}
	for _, note := range d.notes {
		y += d.part(lineHeight)
		d.words("marker-note", note, d.letter/2, y+d.part(35), d.letter)
	}
	d.svg.end()
}

// writeSign draws a sign of the key.
func (d *drawing) writeSign(key legendKey) {
	width := d.part(signWidth)
	swatch := func(fill string) {
		d.svg.empty("rect", attribute{"x", mm(key.x)}, attribute{"y", mm(key.y - d.part(50))}, attribute{"width", mm(width)}, attribute{"height", mm(d.letter)},
			attribute{"fill", fill}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(8))})
	}
	level := fmt.Sprintf("M%s %sh%s", mm(key.x), mm(key.y), mm(width))
	switch key.sign {
	case signGrain:
		d.arrow("marker-grain", marker.Point{X: key.x + width/2, Y: key.y}, marker.Point{X: 1}, width/2, d.letter, false)
	case signTurned:
		swatch(d.use("turned"))
	case signFaceDown:
		swatch(d.use("face-down"))
	case signFault:
		swatch(d.use("fault"))
	case signEndLoss:
		swatch(d.use("end"))
	case signMatch:
		d.matchMark(marker.Point{X: key.x + width/2, Y: key.y})
	case signRepeat:
		d.svg.empty("path", attribute{"d", level}, attribute{"stroke", faint}, attribute{"stroke-width", mm(d.part(8))}, attribute{"stroke-dasharray", mm(d.part(15)) + " " + mm(d.part(25))})
	case signFold:
		d.dashDot(level)
	case signCut:
		d.svg.empty("path", attribute{"d", level}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(14))}, attribute{"stroke-dasharray", mm(d.part(60)) + " " + mm(d.part(30))})
	}
}

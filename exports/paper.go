package exports

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"yardwright/batch/length"
)

// Sizes on a page: millimetres, and points for letters.
const (
	pageEdge   = 12.0 // margin at the left, the right and the bottom
	pageTop    = 18.0 // where content begins, below the header
	bodyLetter = 9.0
	tinyLetter = 7.5
	pointMM    = 25.4 / 72
	lineShare  = 1.28 // of a line of text, in letters
)

// The colours of paper: black prints best, tints help to tell neighbours apart.
type rgb struct{ r, g, b int }

var (
	blackInk = rgb{31, 29, 26}
	greyInk  = rgb{96, 91, 84}
	ruleInk  = rgb{176, 170, 160}
	bandInk  = rgb{240, 237, 230}
	gridInk  = rgb{196, 190, 180}
	whiteInk = rgb{255, 255, 255}
)

// pageCount stands for the number of all pages until it is known. It is replaced in what is
// written, as bytes and as UTF-16. No cleaned text holds it in either way: not control signs,
// nor the Mongolian and Limbu letters that its bytes would be.
const pageCount = "\u0018\u0019"

// sheets is a PDF while it is being written. The place of what comes next is y.
type sheets struct {
	pdf     *fpdf.Fpdf
	options Options
	title   string
	upright fpdf.SizeType
	lying   bool
	y       float64
	// lacked tells that some letter of a text was not in the font.
	lacked bool
	// fallback tells that the fallback font is in the document.
	fallback bool
	// said is every text with its page, for tests.
	said []string
}

// noDay is the date inside documents that were made without one, so that the same input gives
// the same bytes.
var noDay = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// paperSize is how large an upright sheet is.
func (o Options) paperSize() fpdf.SizeType {
	if o.paper() == Letter {
		return fpdf.SizeType{Wd: 215.9, Ht: 279.4} // ANSI A
	}
	return fpdf.SizeType{Wd: 210, Ht: 297} // ISO 216
}

// newSheets begins a document; its title stands at the top of every page.
func newSheets(options Options, title string) *sheets {
	s := &sheets{options: options, upright: options.paperSize()}
	s.pdf = fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: s.upright})
	s.title = s.clean(title)
	s.pdf.SetCatalogSort(true)
	day := options.Date
	if day.IsZero() {
		day = noDay
	}
	s.pdf.SetCreationDate(day)
	s.pdf.SetModificationDate(day)
	s.pdf.SetProducer("Yardwright", true)
	s.pdf.SetCreator("Yardwright", true)
	s.pdf.SetTitle(s.title, true)
	s.pdf.SetAuthor(s.clean(options.Workshop), true)
	s.pdf.SetLang("en")
	s.pdf.SetMargins(0, 0, 0)
	s.pdf.SetCellMargin(0)
	s.pdf.SetAutoPageBreak(false, 0)
	s.pdf.AliasNbPages(pageCount)
	addFonts(s.pdf)
	return s
}

// write ends the document.
func (s *sheets) write(w io.Writer) error {
	var out bytes.Buffer
	if err := s.pdf.Output(&out); err != nil {
		return fmt.Errorf("the PDF can't be written: %w", err)
	}
	_, err := out.WriteTo(w)
	return err
}

// width and height of the present page.
func (s *sheets) width() float64 {
	if s.lying {
		return s.upright.Ht
	}
	return s.upright.Wd
}

func (s *sheets) height() float64 {
	if s.lying {
		return s.upright.Wd
	}
	return s.upright.Ht
}

// inner is the width between the margins, bottom where content ends.
func (s *sheets) inner() float64  { return s.width() - 2*pageEdge }
func (s *sheets) bottom() float64 { return s.height() - pageEdge }

// page begins a page, upright or lying, with its header.
func (s *sheets) page(lying bool) {
	s.barePage(lying)
	s.header()
	s.y = pageTop
}

// barePage begins a page without a header.
func (s *sheets) barePage(lying bool) {
	s.lying = lying
	orientation := "P"
	if lying {
		orientation = "L"
	}
	s.pdf.AddPageFormat(orientation, s.upright)
	s.pdf.SetLineCapStyle("butt")
	s.pdf.SetLineJoinStyle("round")
	s.draw(blackInk, 0.2)
	s.y = pageEdge
}

func (s *sheets) header() {
	number := fmt.Sprintf("page %d of %s", s.pdf.PageNo(), pageCount)
	room := 24.0 // for "page 888 of 888"
	words := s.title
	if name := s.clean(s.options.Workshop); name != "" {
		words = name + " · " + words
	}
	if !s.options.Date.IsZero() {
		words += " · " + s.options.Date.Format("2 Jan 2006")
	}
	y := pageTop - 7
	s.text(pageEdge, y, s.fit(words, tinyLetter+0.5, false, s.inner()-room-4), tinyLetter+0.5, false, greyInk)
	s.put(s.width()-pageEdge-room, y, number, tinyLetter+0.5, false, greyInk)
	s.rule(pageEdge, y+2, s.width()-pageEdge, 0.2, ruleInk)
}

// need begins a new page unless there is room for a height.
func (s *sheets) need(height float64) {
	if s.y+height > s.bottom() {
		s.page(s.lying)
	}
}

func (s *sheets) draw(colour rgb, width float64) {
	s.pdf.SetDrawColor(colour.r, colour.g, colour.b)
	s.pdf.SetLineWidth(width)
}

func (s *sheets) fill(colour rgb) { s.pdf.SetFillColor(colour.r, colour.g, colour.b) }

func (s *sheets) rule(x0, y, x1, width float64, colour rgb) {
	s.draw(colour, width)
	s.pdf.Line(x0, y, x1, y)
	s.draw(blackInk, 0.2)
}

// text writes a line at a place; y is its base line. What the font lacks is replaced.
func (s *sheets) text(x, y float64, words string, letter float64, bold bool, colour rgb) {
	if words = s.clean(words); words != "" {
		s.put(x, y, words, letter, bold, colour)
	}
}

// put writes a cleaned line.
func (s *sheets) put(x, y float64, words string, letter float64, bold bool, colour rgb) {
	style := ""
	if bold {
		style = "B"
	}
	s.fill(colour) // the library takes the colour of the last filling for granted, which a clip may have undone
	s.pdf.SetTextColor(colour.r, colour.g, colour.b)
	runs, fallback := byFont(visual(words))
	for i, run := range runs {
		if fallback[i] {
			s.useFallback()
			s.pdf.SetFont(fallbackFamily, "", letter)
		} else {
			s.pdf.SetFont(fontFamily, style, letter)
		}
		s.pdf.Text(x, y, run)
		x += s.textWidth(run, letter, bold)
	}
	s.said = append(s.said, fmt.Sprintf("%d\t%s", s.pdf.PageNo(), words))
}

// useFallback puts the fallback font into the document, once.
func (s *sheets) useFallback() {
	if !s.fallback {
		s.fallback = true
		s.pdf.AddUTF8FontFromBytes(fallbackFamily, "", slices.Clone(fallbackFont))
	}
}

// centred and toRight write a line around or before a place.
func (s *sheets) centred(x, y float64, words string, letter float64, bold bool, colour rgb) {
	s.text(x-s.textWidth(words, letter, bold)/2, y, words, letter, bold, colour)
}

func (s *sheets) toRight(x, y float64, words string, letter float64, bold bool, colour rgb) {
	s.text(x-s.textWidth(words, letter, bold), y, words, letter, bold, colour)
}

// line writes one line at the left margin and goes on below it.
func (s *sheets) line(words string, letter float64, bold bool, colour rgb) {
	high := letter * pointMM * lineShare
	s.need(high)
	s.text(pageEdge, s.y+letter*pointMM, s.fit(words, letter, bold, s.inner()), letter, bold, colour)
	s.y += high
}

// mostLines is how many lines one text may fill: a page at most.
const mostLines = 40

// paragraph writes a text over the width of the page, after an indent.
func (s *sheets) paragraph(words string, letter float64, bold bool, colour rgb, indent float64) {
	for _, line := range s.wrap(words, letter, bold, s.inner()-indent, mostLines) {
		high := letter * pointMM * lineShare
		s.need(high)
		s.text(pageEdge+indent, s.y+letter*pointMM, line, letter, bold, colour)
		s.y += high
	}
}

// heading writes a heading that stays with what comes below it.
func (s *sheets) heading(words string) {
	if s.y > pageTop {
		s.y += 3
	}
	s.need(22)
	s.y += 1
	s.line(words, 13, true, blackInk)
	s.y += 1
}

// item writes a text with a tick box, or a dash, before it.
func (s *sheets) item(words string, tick bool) {
	lines := s.wrap(words, bodyLetter, false, s.inner()-6, mostLines)
	high := bodyLetter * pointMM * lineShare
	s.need(high * float64(min(len(lines), 3)))
	if tick {
		s.tick(pageEdge, s.y+0.35, 2.8)
	} else {
		s.text(pageEdge+1, s.y+bodyLetter*pointMM, "–", bodyLetter, false, blackInk)
	}
	for _, line := range lines {
		s.need(high)
		s.text(pageEdge+5, s.y+bodyLetter*pointMM, line, bodyLetter, false, blackInk)
		s.y += high
	}
	s.y += 0.8
}

// tick draws an empty box to tick.
func (s *sheets) tick(x, y, side float64) {
	s.draw(blackInk, 0.3)
	s.pdf.Rect(x, y, side, side, "D")
	s.draw(blackInk, 0.2)
}

// box writes a warning in a frame.
func (s *sheets) box(title string, lines []string) {
	var wrapped []string
	for _, line := range lines {
		wrapped = append(wrapped, s.wrap(line, bodyLetter, false, s.inner()-8, mostLines)...)
	}
	high := bodyLetter * pointMM * lineShare
	for first := true; first || len(wrapped) > 0; first = false {
		s.need(6 + 3*high)
		room := max(1, int((s.bottom()-s.y-6-1.3*high)/high))
		part := wrapped[:min(room, len(wrapped))]
		wrapped = wrapped[len(part):]
		s.draw(blackInk, 0.5)
		s.pdf.Rect(pageEdge, s.y, s.inner(), 4+1.3*high+high*float64(len(part)), "D")
		s.draw(blackInk, 0.2)
		s.y += 2
		s.text(pageEdge+4, s.y+bodyLetter*pointMM, s.fit(title, bodyLetter+1, true, s.inner()-8), bodyLetter+1, true, blackInk)
		s.y += 1.3 * high
		for _, line := range part {
			s.text(pageEdge+4, s.y+bodyLetter*pointMM, line, bodyLetter, false, blackInk)
			s.y += high
		}
		s.y += 4
	}
}

// facts writes labels with their values in columns.
func (s *sheets) facts(columns int, pairs ...[2]string) {
	wide := s.inner() / float64(columns)
	small := tinyLetter * pointMM * lineShare
	high := (bodyLetter + 0.5) * pointMM * lineShare
	for row := 0; row < len(pairs); row += columns {
		part := pairs[row:min(row+columns, len(pairs))]
		most := 1
		wrapped := make([][]string, len(part))
		for i, pair := range part {
			wrapped[i] = s.wrap(pair[1], bodyLetter+0.5, true, wide-3, 3)
			most = max(most, len(wrapped[i]))
		}
		s.need(small + high*float64(most) + 1.5)
		for i, pair := range part {
			x := pageEdge + float64(i)*wide
			s.text(x, s.y+tinyLetter*pointMM, s.fit(pair[0], tinyLetter, false, wide-3), tinyLetter, false, greyInk)
			for j, line := range wrapped[i] {
				s.text(x, s.y+small+high*float64(j)+(bodyLetter+0.5)*pointMM, line, bodyLetter+0.5, true, blackInk)
			}
		}
		s.y += small + high*float64(most) + 1.5
	}
}

// paperColumn is a column of a table: its heading, its share of the width, and how its cells
// stand. A tick column holds an empty box in each row.
type paperColumn struct {
	head  string
	share float64
	right bool
	bold  bool
	tick  bool
}

// noTick in the cell of a tick column leaves the box out.
const noTick = " "

// mostCellLines keeps one row from filling more than part of a page.
const mostCellLines = 8

// table writes rows under headings that come again on every page. Lines of a cell after the
// first "\n" are fainter.
func (s *sheets) table(columns []paperColumn, rows [][]string) { s.tableIn(bodyLetter, columns, rows) }

// tableIn is table in letters of another size.
func (s *sheets) tableIn(letter float64, columns []paperColumn, rows [][]string) {
	widths := s.columnWidths(columns)
	high := letter * pointMM * lineShare
	drawn := false
	for _, row := range rows {
		cells, most := s.cells(columns, widths, row, letter)
		rowHigh := float64(most)*high + rowGap(letter)
		if !drawn {
			s.need(rowHigh + 7)
			s.tableHead(columns, widths)
			drawn = true
		} else if s.y+rowHigh > s.bottom() {
			s.page(s.lying)
			s.tableHead(columns, widths)
		}
		x := pageEdge
		for i, c := range columns {
			if c.tick && (i >= len(row) || row[i] != noTick) {
				s.tick(x+0.4, s.y+(high+rowGap(letter)-2.9)/2, 2.9)
			}
			for j, line := range cells[i] {
				colour, bold := blackInk, c.bold
				if line.sub {
					colour, bold = greyInk, false
				}
				y := s.y + rowGap(letter)/2 + high*float64(j) + letter*pointMM
				if c.right {
					s.toRight(x+widths[i]-3.5, y, line.text, letter, bold, colour)
				} else {
					s.text(x, y, line.text, letter, bold, colour)
				}
			}
			x += widths[i]
		}
		s.y += rowHigh
		s.rule(pageEdge, s.y, s.width()-pageEdge, 0.1, ruleInk)
	}
	s.y += 2
}

func (s *sheets) columnWidths(columns []paperColumn) []float64 {
	total := 0.0
	for _, c := range columns {
		total += c.share
	}
	widths := make([]float64, len(columns))
	for i, c := range columns {
		widths[i] = s.inner() * c.share / total
	}
	return widths
}

// rowGap is the room between the rows of a table in letters of a size; a box to tick needs some.
func rowGap(letter float64) float64 {
	return max(1.6-0.6*(bodyLetter-letter), 3.4-letter*pointMM*lineShare)
}

// headHeight is how high the headings of a table are.
func (s *sheets) headHeight(columns []paperColumn) float64 {
	widths, most := s.columnWidths(columns), 1
	for i, c := range columns {
		most = max(most, len(s.wrap(c.head, tinyLetter+0.5, true, widths[i]-1.5, 2)))
	}
	return (tinyLetter+0.5)*pointMM*lineShare*float64(most) + 1.2
}

// rowsHeight is how high the rows of a table are in letters of a size, without its headings.
func (s *sheets) rowsHeight(columns []paperColumn, rows [][]string, letter float64) float64 {
	widths, sum := s.columnWidths(columns), 0.0
	for _, row := range rows {
		_, most := s.cells(columns, widths, row, letter)
		sum += float64(most)*letter*pointMM*lineShare + rowGap(letter)
	}
	return sum
}

type cellLine struct {
	text string
	sub  bool
}

func (s *sheets) cells(columns []paperColumn, widths []float64, row []string, letter float64) (cells [][]cellLine, most int) {
	cells, most = make([][]cellLine, len(columns)), 1
	for i, c := range columns {
		if c.tick || i >= len(row) {
			continue
		}
		for n, part := range strings.Split(row[i], "\n") {
			for _, line := range s.wrap(part, letter, c.bold && n == 0, widths[i]-2, mostCellLines) {
				cells[i] = append(cells[i], cellLine{line, n > 0})
			}
		}
		cells[i] = cells[i][:min(len(cells[i]), 2*mostCellLines)]
		most = max(most, len(cells[i]))
	}
	return cells, most
}

func (s *sheets) tableHead(columns []paperColumn, widths []float64) {
	letter := tinyLetter + 0.5
	high := letter * pointMM * lineShare
	most := 1
	heads := make([][]string, len(columns))
	for i, c := range columns {
		heads[i] = s.wrap(c.head, letter, true, widths[i]-1.5, 2)
		most = max(most, len(heads[i]))
	}
	s.fill(bandInk)
	s.pdf.Rect(pageEdge, s.y, s.inner(), high*float64(most)+1.2, "F")
	x := pageEdge
	for i, c := range columns {
		for j, line := range heads[i] {
			y := s.y + 0.5 + high*float64(j) + letter*pointMM
			if c.right {
				s.toRight(x+widths[i]-3.5, y, line, letter, true, blackInk)
			} else {
				s.text(x, y, line, letter, true, blackInk)
			}
		}
		x += widths[i]
	}
	s.y += high*float64(most) + 1.2
}

// lackedNote explains the stand-in if it was needed.
func (s *sheets) lackedNote() {
	if s.lacked {
		s.y += 2
		s.paragraph(standIn+" stands for a letter that this document's font does not have.", tinyLetter, false, greyInk, 0)
	}
}

// onPage turns a length in the page's own scale into millimetres.
func onPaper(l length.Length) float64 { return l.Millimetres() }

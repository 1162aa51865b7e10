package exports

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"yardwright/batch/length"
)

// book is a workbook while it is being written. Its pages are kept as rows of cells and
// streamed out at the end, since column widths, which depend on them, stand first in the file.
type book struct {
	options Options
	file    *excelize.File
	styles  map[look]int
	pages   []*page
	names   []namedCell
	taken   map[string]bool
	subject string
}

// namedCell is a cell that formulas know by a name.
type namedCell struct{ name, page, cell string }

func newBook(options Options, subject string) *book {
	return &book{options: options, file: excelize.NewFile(), styles: map[look]int{}, taken: map[string]bool{}, subject: subject}
}

// page is one sheet.
type page struct {
	book    *book
	name    string
	columns []column
	rows    [][]cell
	merges  []span
	table   span
	// head is the last row that stays in sight; it is repeated on each printed page, with
	// headRows − 1 rows before it. 0 for none.
	head     int
	headRows int
	// side is the last column that is repeated on each printed page; 0 for none.
	side int
	// onScreen is how many columns, the last ones, and rowsOnScreen whether all rows from the head
	// on, are for the screen alone: the print area leaves them out.
	onScreen     int
	rowsOnScreen bool
	// onPaper are the rows that are printed, each block on a page of its own; none means all.
	onPaper []span
	// together is how many of what is kept together shall find room on a printed page, if it
	// needn't be shrunk too far for that.
	together  int
	landscape bool
	// locked pages can be filled in only where a look is open.
	locked bool
	// lines is how many lines of text a row holds at least.
	lines  map[int]int
	charts []chart
	// kept are rows that are not torn apart by the edge of a printed page.
	kept   []span
	checks []validation
	breaks []int
}

// column says how wide a column is, in letters: as wide as its cells, from least to most, and
// cells that are wider still are wrapped.
type column struct{ least, most float64 }

// span is a block of cells, columns and rows counted from 1; the zero span is none.
type span struct{ left, top, right, bottom int }

func (s span) String() string { return cellName(s.left, s.top) + ":" + cellName(s.right, s.bottom) }

// cell is one cell. A formula's value is what it comes to, for readers that don't compute.
type cell struct {
	value   any
	formula string
	look    look
}

// validation keeps an input cell within what makes sense.
type validation struct {
	cell        string
	kind        excelize.DataValidationType
	operator    excelize.DataValidationOperator
	least, most float64
	list        []string
	message     string
}

// look is how a cell is shown.
type look struct {
	format string
	kind   kind
	wrap   bool
	align  string
	// open cells can be filled in although their page is locked.
	open bool
}

// kind is a role that cells play on a page.
type kind int

const (
	lookPlain kind = iota
	lookBody       // of a table
	lookHeading
	lookInput
	lookTotal
	lookTitle
	lookSection
	lookWarning
	lookFaint
	lookBold // in a table
)

// Number formats.
const (
	generalFormat  = ""
	wholeFormat    = "0"
	minutesFormat  = "#,##0.0"
	quantityFormat = "#,##0.00##"
	percentFormat  = "0.0%"
	rateFormat     = "0.0##%"
	dateFormat     = "ddd d mmm yyyy"
	longFormat     = "#,##0.00"
)

func textCell(text string) cell { return cell{value: text} }

func numberCell(value float64, format string) cell {
	return cell{value: value, look: look{format: format}}
}

func countCell(n int) cell { return cell{value: n, look: look{format: wholeFormat}} }

func formulaCell(text string, value any, format string) cell {
	return cell{value: value, formula: text, look: look{format: format}}
}

func dateCell(day time.Time) cell {
	if day.IsZero() {
		return cell{}
	}
	return cell{value: excelDay(day), look: look{format: dateFormat, align: "left"}}
}

// excelDay is the serial number of a day: workbooks count days so that 1 March 1900 is 61
// (ECMA-376 Part 1, 18.17.4.1).
func excelDay(day time.Time) int {
	year, month, d := day.Date()
	utc := time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
	return int(utc.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)) / (24 * time.Hour))
}

// as gives a cell a kind.
func (c cell) as(k kind) cell {
	c.look.kind = k
	return c
}

// aligned gives a cell an alignment: left, center or right.
func (c cell) aligned(how string) cell {
	c.look.align = how
	return c
}

func cellName(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		panic(err) // a row or column that no sheet has is a programmer's mistake
	}
	return name
}

// fixed is a cell name that stays the same when a formula is copied.
func fixed(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row, true)
	if err != nil {
		panic(err)
	}
	return name
}

// page adds a sheet. Sheet names are ours and need no quoting but for spaces.
func (b *book) page(name string, columns ...column) *page {
	p := &page{book: b, name: name, columns: columns}
	b.pages = append(b.pages, p)
	return p
}

// add adds a row and returns its number.
func (p *page) add(cells ...cell) int {
	p.rows = append(p.rows, cells)
	return len(p.rows)
}

// next is the number that the next row gets.
func (p *page) next() int { return len(p.rows) + 1 }

// blank adds an empty row.
func (p *page) blank() { p.add() }

// printed is how many columns are printed.
func (p *page) printed() int { return len(p.columns) - p.onScreen }

// wide adds a row with one text over all columns that are printed.
func (p *page) wide(text string, k kind) (row int) {
	row = p.add(cell{value: text, look: look{kind: k, wrap: true}})
	p.merge(1, p.printed(), row)
	return row
}

// merge joins cells of a row.
func (p *page) merge(left, right, row int) {
	if right > left {
		p.merges = append(p.merges, span{left, row, right, row})
	}
}

// tall makes a row at least so many lines high.
func (p *page) tall(row, lines int) {
	if p.lines == nil {
		p.lines = map[int]int{}
	}
	p.lines[row] = lines
}

// titles adds the name of the page and what it belongs to.
func (p *page) titles(text, about string) {
	p.wide(text, lookTitle)
	if about != "" {
		p.wide(about, lookFaint)
	}
	p.blank()
}

// headings adds the head of a table.
func (p *page) headings(texts ...string) int {
	cells := make([]cell, len(texts))
	for i, text := range texts {
		cells[i] = cell{value: text, look: look{kind: lookHeading, wrap: true}}
	}
	return p.add(cells...)
}

// body adds a row of a table.
func (p *page) body(cells ...cell) int {
	for i := range cells {
		if cells[i].look.kind == lookPlain {
			cells[i].look.kind = lookBody
		}
		if _, text := cells[i].value.(string); text && cells[i].look.kind == lookBody {
			cells[i].look.wrap = true
		}
	}
	return p.add(cells...)
}

// sums adds a row of totals.
func (p *page) sums(cells ...cell) int {
	for i := range cells {
		cells[i].look.kind = lookTotal
	}
	return p.add(cells...)
}

// tabled makes rows from a heading to the last row a table that can be filtered and sorted.
func (p *page) tabled(head, columns int) {
	p.table = span{1, head, columns, len(p.rows)}
	p.head = head
}

// subtotal is the sum of the rows of a column that a filter shows.
func subtotal(column, from, to int) string {
	return fmt.Sprintf("SUBTOTAL(9,%s:%s)", cellName(column, from), cellName(column, to))
}

// quoted is a page's name as formulas write it.
func (p *page) quoted() string { return "'" + p.name + "'!" }

// name gives a cell a name that formulas can use, and returns the name: what is wanted, made
// of small letters, digits and underscores, with an ending, and a number if it is taken.
func (b *book) name(p *page, cell, wanted, ending string) string {
	base := slug(wanted) + ending
	name := base
	for i := 2; b.taken[name]; i++ {
		name = fmt.Sprintf("%s_%d", base, i)
	}
	b.taken[name] = true
	b.names = append(b.names, namedCell{name, p.name, cell})
	return name
}

// longestSlug keeps names readable in formulas.
const longestSlug = 40

// looksLikeCell are names that a spreadsheet takes for a cell, a row or a column.
var looksLikeCell = regexp.MustCompile(`^([a-z]{1,3}[0-9]+|r|c|r[0-9]*c[0-9]*)$`)

// looksEscaped is how the format writes a character by its number (ECMA-376 Part 1, 22.9.2.19);
// some programs read it so in names as well.
var looksEscaped = regexp.MustCompile(`_x([0-9a-f]{4})(_|$)`)

// slug turns text into a name.
func slug(text string) string {
	var out strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case out.Len() >= longestSlug:
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			out.WriteRune(r)
		case out.Len() > 0 && !strings.HasSuffix(out.String(), "_"):
			out.WriteByte('_')
		}
	}
	name := strings.Trim(out.String(), "_")
	if name == "" || name[0] <= '9' || looksLikeCell.MatchString(name) {
		name = "n_" + name
	}
	return looksEscaped.ReplaceAllString(name, "_x_$1$2")
}

// write writes the workbook.
func (b *book) write(w io.Writer) (err error) {
	defer func() {
		if closeErr := b.file.Close(); err == nil {
			err = closeErr
		}
	}()
	for i, p := range b.pages {
		if i == 0 {
			err = b.file.SetSheetName("Sheet1", p.name)
		} else {
			_, err = b.file.NewSheet(p.name)
		}
		if err != nil {
			return err
		}
	}
	if err := b.setUp(); err != nil {
		return err
	}
	for _, p := range b.pages {
		if err := p.write(); err != nil {
			return fmt.Errorf("sheet %s: %w", p.name, err)
		}
	}
	b.file.SetZipWriter(func(out io.Writer) excelize.ZipWriter { return &sortedZip{out: out} })
	return b.file.Write(w)
}

// setUp sets what belongs to the whole workbook. Recalculation on load is asked for, so that a
// spreadsheet program that knows better than the kept values shows its own.
func (b *book) setUp() error {
	yes := true
	if err := b.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}); err != nil {
		return err
	}
	if err := b.file.SetAppProps(&excelize.AppProperties{Application: "Yardwright"}); err != nil {
		return err
	}
	made := b.options.Date
	if made.IsZero() {
		made = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	stamp := made.UTC().Format(time.RFC3339)
	if err := b.file.SetDocProps(&excelize.DocProperties{
		Title: b.subject, Creator: b.options.Workshop, LastModifiedBy: b.options.Workshop, Created: stamp, Modified: stamp,
	}); err != nil {
		return err
	}
	for _, n := range b.names {
		column, row, err := excelize.CellNameToCoordinates(n.cell)
		if err != nil {
			return err
		}
		if err := b.file.SetDefinedName(&excelize.DefinedName{Name: n.name, RefersTo: "'" + n.page + "'!" + fixed(column, row)}); err != nil {
			return fmt.Errorf("name %s: %w", n.name, err)
		}
	}
	return nil
}

// write streams the page out. What stands before the rows in the file has to be set before
// the stream is opened, and what stands behind them before it is flushed.
func (p *page) write() error {
	if err := p.setUpPrint(); err != nil {
		return err
	}
	stream, err := p.book.file.NewStreamWriter(p.name)
	if err != nil {
		return err
	}
	widths := p.widths()
	for i, width := range widths {
		if err := stream.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if margin := p.margin(); margin > 0 {
		if err := stream.SetColWidth(len(widths)+1, len(widths)+1, margin); err != nil {
			return err
		}
	}
	if p.head > 0 {
		if err := stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: p.head, TopLeftCell: cellName(1, p.head+1), ActivePane: "bottomLeft"}); err != nil {
			return err
		}
	}
	for i, row := range p.rows {
		if err := p.writeRow(stream, i+1, row, widths); err != nil {
			return err
		}
	}
	for _, m := range p.merges {
		if err := stream.MergeCell(cellName(m.left, m.top), cellName(m.right, m.bottom)); err != nil {
			return err
		}
	}
	if p.table.bottom > p.table.top {
		if err := stream.AddTable(&excelize.Table{Range: p.table.String(), Name: "table_" + slug(p.name)}); err != nil {
			return err
		}
	}
	return stream.Flush()
}

func (p *page) writeRow(stream *excelize.StreamWriter, number int, cells []cell, widths []float64) error {
	if len(cells) == 0 {
		return nil
	}
	values := make([]any, len(cells))
	for i, c := range cells {
		if c.look.kind == lookHeading && p.numeric(i, number+1) {
			c.look.align = "right"
		}
		style, err := p.book.style(c.look)
		if err != nil {
			return err
		}
		values[i] = excelize.Cell{StyleID: style, Formula: c.formula, Value: c.value}
	}
	var options []excelize.RowOpts
	if height := p.heightOf(number, widths); height > lineOfText {
		options = append(options, excelize.RowOpts{Height: height})
	}
	return stream.SetRow(cellName(1, number), values, options...)
}

// heightOf is how high a row is, in points.
func (p *page) heightOf(number int, widths []float64) float64 {
	lines := max(1, p.lines[number])
	for i, c := range p.rows[number-1] {
		text, ok := c.value.(string)
		if !ok || !c.look.wrap {
			continue
		}
		width := p.widthOf(i+1, number, widths)
		if c.look.kind == lookHeading {
			width *= boldRoom
		}
		if c.look.align == "" && c.look.kind == lookBody {
			width -= indentRoom
		}
		lines = max(lines, linesIn(text, max(1, width)))
	}
	if lines == 1 {
		return lineOfText
	}
	return min(float64(lines)*lineOfText+2, excelize.MaxRowHeight)
}

// keep keeps the rows from first to the last so far on one printed page, if they fit on one.
func (p *page) keep(first int) { p.kept = append(p.kept, span{top: first, bottom: len(p.rows)}) }

// addBreaks begins a printed page before what would be torn.
func (p *page) addBreaks() {
	if len(p.kept) == 0 {
		return
	}
	widths := p.widths()
	heights := make([]float64, len(p.rows)+2)
	for i := range p.rows {
		heights[i+1] = p.heightOf(i+1, widths)
	}
	sum := func(from, to int) (points float64) {
		for _, h := range heights[from:max(from, to)] {
			points += h
		}
		return points
	}
	room, head := p.room(widths), 0.0
	if p.head > 0 {
		head = sum(p.head-max(0, p.headRows-1), p.head+1)
	}
	onPage, above := 1, 0.0 // the row that the page begins with, and what is repeated above it
	before := 0             // the last row of the group before
	begun := 1              // the row of the last page that was begun here
	for _, group := range p.kept {
		for _, row := range p.breaks {
			if row > onPage && row <= group.top {
				onPage, above = row, head
			}
		}
		for onPage < group.top && above+sum(onPage, group.top) > room { // a page that runs over by itself
			row := onPage
			for row < group.top && above+sum(onPage, row+1) <= room {
				row++
			}
			onPage, above = max(row, onPage+1), head
		}
		// Where but empty rows stand before it, the page was full to the brim, and another
		// program may find room there for a row more.
		brim := onPage > max(1, before) && onPage < group.top && !slices.ContainsFunc(p.rows[onPage-1:group.top-1], func(row []cell) bool { return len(row) > 0 })
		torn := above+sum(onPage, group.bottom+1) > room
		if p.isChart(group) {
			// Where a page runs over by itself differs by program: only what was begun here counts.
			for _, row := range p.breaks {
				begun = max(begun, row)
			}
			torn = head+sum(begun, group.bottom+1) > (1-chartSpare)*room
			onPage = begun
		}
		if group.top > onPage && (brim || torn) {
			p.breaks = append(p.breaks, group.top)
			onPage, above, begun = group.top, head, group.top
		}
		before = group.bottom
	}
}

// chartSpare is the share of a page that is kept free below a chart: programs differ in how high
// rows and headers come out, and a chart that is cut can't be read, as rows can.
const chartSpare = 0.12

// isChart tells whether rows that are kept together are those of a chart.
func (p *page) isChart(group span) bool {
	return slices.ContainsFunc(p.charts, func(c chart) bool { return c.row == group.top })
}

// room is how many points of rows a printed page holds, when it is shrunk to its width.
func (p *page) room(widths []float64) float64 {
	wide, high := p.paperRoom()
	sum := columnPoints(p.margin())
	for _, width := range widths[:p.printed()] {
		sum += columnPoints(width)
	}
	return high / min(1, wide/sum)
}

// paperRoom is how wide and how high the part of a printed page is that holds cells, in points.
func (p *page) paperRoom() (wide, high float64) {
	const spare = 0.96
	wide, high = 595.0, 842.0
	if p.book.options.paper() == Letter {
		wide, high = 612, 792
	}
	if p.landscape {
		wide, high = high, wide
	}
	return wide - 2*printSide*inchPoints, (high - 2*printEnd*inchPoints) * spare
}

const inchPoints = 72.0

// columnPoints is how wide a column of so many letters is, in points.
func columnPoints(letters float64) float64 {
	if letters == 0 {
		return 0
	}
	return (letters*pixelsOfLetter + pixelsOfEdge) * inchPoints / 96
}

// leastShrunk is how far a page is shrunk at most so that more finds room on it.
const leastShrunk = 0.62

// margin is how wide the empty column is that a page is printed with, in letters: a page is
// shrunk until its columns fit across the paper, so that a wider one holds more rows.
func (p *page) margin() float64 {
	if p.together == 0 || len(p.kept) < p.together {
		return 0
	}
	widths := p.widths()
	sum, rows, need := 0.0, 0.0, 0.0
	for _, width := range widths[:p.printed()] {
		sum += columnPoints(width)
	}
	for row := p.head - max(0, p.headRows-1); row <= p.head; row++ {
		rows += p.heightOf(row, widths)
	}
	for i := range p.kept[:len(p.kept)-p.together+1] {
		group := 0.0
		last := p.kept[i+p.together-1].bottom
		if i+p.together < len(p.kept) {
			last = p.kept[i+p.together].top - 1
		}
		for row := p.kept[i].top; row <= last; row++ {
			group += p.heightOf(row, widths)
		}
		need = max(need, rows+group)
	}
	wide, high := p.paperRoom()
	shrunk := 0.995 * high / need // a little more than it takes: programs round
	if wide/sum <= shrunk || shrunk < leastShrunk {
		return 0
	}
	return ((wide/shrunk-sum)*96/inchPoints - pixelsOfEdge) / pixelsOfLetter
}

// The margins of a printed page, in inches.
const (
	printSide = 0.45
	printEnd  = 0.7
)

const (
	// lineOfText is the height of a line in points.
	lineOfText = 15
	// letterOfText makes textWidth count in hundredths of a column's unit, which is the width
	// of a digit.
	letterOfText = length.Length(150)
	// indentRoom is what the indent of a wrapped cell takes of its column.
	indentRoom = 1.8
	// boldRoom is the share of a column's width that bold letters leave.
	boldRoom = 0.88
)

// numeric tells whether the column of a heading holds numbers in the row below it.
func (p *page) numeric(column, row int) bool {
	if row > len(p.rows) || column >= len(p.rows[row-1]) {
		return false
	}
	c := p.rows[row-1][column]
	switch c.value.(type) {
	case int, float64:
		return c.look.align == ""
	}
	return false
}

// widthOf is how wide a cell is, with the cells that it is merged with.
func (p *page) widthOf(column, row int, widths []float64) float64 {
	for _, m := range p.merges {
		if m.top == row && m.left == column {
			sum := 0.0
			for i := m.left; i <= m.right; i++ {
				sum += widths[i-1]
			}
			return sum
		}
	}
	return widths[column-1]
}

// linesIn is about how many lines a text takes in a column.
func linesIn(text string, width float64) int {
	lines := 0
	for _, paragraph := range strings.Split(text, "\n") {
		wrapped := wrapToWidth(paragraph, letterOfText, length.Length(width*100))
		lines += max(1, len(wrapped))
	}
	return lines
}

// lettersWide is about how many letters of a column a text takes.
func lettersWide(text string) float64 {
	wide := 0.0
	for _, line := range strings.Split(text, "\n") {
		broad := strings.Count(line, "m") + strings.Count(line, "w") + strings.Count(line, "M") + strings.Count(line, "W")
		wide = max(wide, float64(textWidth(line, letterOfText))/100+0.6*float64(broad))
	}
	return wide
}

// longestWord is how many letters of a column the longest word of a text takes.
func longestWord(text string) float64 {
	wide := 0.0
	for _, word := range strings.Fields(text) {
		wide = max(wide, lettersWide(word))
	}
	return wide
}

// headingRoom is what a heading needs beside its longest word; a table's own buttons lie over it.
const headingRoom = 1.5

// longestHeading is how far a heading widens its column, so that no word of ours is broken.
const longestHeading = 16.0

// widths returns the width of each column.
func (p *page) widths() []float64 {
	widths := make([]float64, len(p.columns))
	for i, c := range p.columns {
		widths[i] = c.least
	}
	for i, row := range p.rows {
		for j, c := range row {
			text, ok := c.value.(string)
			if !ok || j >= len(widths) || p.merged(j+1, i+1) {
				continue
			}
			if c.look.kind == lookHeading {
				widths[j] = max(widths[j], min(longestWord(text)/boldRoom+headingRoom, max(p.columns[j].most, longestHeading)))
				continue
			}
			widths[j] = max(widths[j], min(lettersWide(text)+2.5, max(p.columns[j].most, p.columns[j].least)))
		}
	}
	return widths
}

func (p *page) merged(column, row int) bool {
	return slices.ContainsFunc(p.merges, func(m span) bool { return m.top == row && m.left <= column && column <= m.right })
}

// setUpPrint sets paper, repeated head, print area, headers and footers, and what inputs may be.
func (p *page) setUpPrint() error {
	file := p.book.file
	fit := true
	if err := file.SetSheetProps(p.name, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	size, orientation, across, down := 9, "portrait", 1, 0 // 0 pages down: as many as it takes
	if p.book.options.paper() == Letter {
		size = 1
	}
	if p.landscape {
		orientation = "landscape"
	}
	if err := file.SetPageLayout(p.name, &excelize.PageLayoutOptions{Size: &size, Orientation: &orientation, FitToWidth: &across, FitToHeight: &down}); err != nil {
		return err
	}
	side, end, edge := printSide, printEnd, 0.3
	if err := file.SetPageMargins(p.name, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &end, Bottom: &end, Header: &edge, Footer: &edge}); err != nil {
		return err
	}
	if err := file.SetHeaderFooter(p.name, p.headerFooter()); err != nil {
		return err
	}
	right, bottom := p.printed(), max(1, len(p.rows))
	if p.margin() > 0 {
		right++
	}
	if p.rowsOnScreen && p.head > 1 {
		bottom = p.head - 1
	}
	areas := []string{fmt.Sprintf("'%s'!%s:%s", p.name, fixed(1, 1), fixed(right, bottom))}
	for i, block := range p.onPaper {
		area := fmt.Sprintf("'%s'!%s:%s", p.name, fixed(1, block.top), fixed(right, block.bottom))
		areas = append(areas[:i], area)
	}
	area := strings.Join(areas, ",")
	if err := file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", RefersTo: area, Scope: p.name}); err != nil {
		return err
	}
	if p.head > 0 {
		titles := fmt.Sprintf("'%s'!$%d:$%d", p.name, p.head-max(0, p.headRows-1), p.head)
		if p.side > 0 {
			last, err := excelize.ColumnNumberToName(p.side)
			if err != nil {
				return err
			}
			titles = fmt.Sprintf("'%s'!$A:$%s,%s", p.name, last, titles)
		}
		if err := file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: titles, Scope: p.name}); err != nil {
			return err
		}
	}
	p.addBreaks()
	for _, c := range p.charts {
		if err := p.writeChart(c); err != nil {
			return err
		}
	}
	for _, row := range p.breaks {
		if err := file.InsertPageBreak(p.name, cellName(1, row)); err != nil {
			return err
		}
	}
	if p.locked {
		// Without a password: it keeps slips away, not people.
		if err := file.ProtectSheet(p.name, &excelize.SheetProtectionOptions{SelectLockedCells: true, SelectUnlockedCells: true, FormatColumns: true, FormatRows: true}); err != nil {
			return err
		}
	}
	for _, v := range p.checks {
		if err := file.AddDataValidation(p.name, v.rule()); err != nil {
			return err
		}
	}
	return nil
}

// longestHeader keeps the three parts of a header within the 255 letters of the format.
const longestHeader = 60

func (p *page) headerFooter() *excelize.HeaderFooterOptions {
	made := ""
	if !p.book.options.Date.IsZero() {
		made = p.book.options.Date.Format(time.DateOnly)
	}
	return &excelize.HeaderFooterOptions{
		OddHeader: "&L" + headerText(p.book.options.Workshop) + "&C" + headerText(p.name) + "&R" + headerText(p.book.subject),
		OddFooter: "&L" + headerText(made) + "&RPage &P of &N",
	}
}

// headerText is user text in a page header, where & begins a code.
func headerText(text string) string {
	runes := []rune(oneLine(text))
	if len(runes) > longestHeader {
		runes = append(runes[:longestHeader-1], '…')
	}
	return strings.ReplaceAll(string(runes), "&", "&&")
}

func (v validation) rule() *excelize.DataValidation {
	rule := excelize.NewDataValidation(true)
	rule.SetSqref(v.cell)
	if len(v.list) > 0 {
		_ = rule.SetDropList(v.list) // our lists are far below the limit of 255 letters
	} else {
		_ = rule.SetRange(v.least, v.most, v.kind, v.operator) // floats are what SetRange takes
	}
	rule.SetError(excelize.DataValidationErrorStyleStop, "Not possible", v.message)
	return rule
}

// style returns the number of a look among the workbook's styles.
func (b *book) style(l look) (int, error) {
	if id, ok := b.styles[l]; ok {
		return id, nil
	}
	style := l.style()
	id, err := b.file.NewStyle(style)
	if err == nil {
		b.styles[l] = id
	}
	return id, err
}

// The colours of the pages: dark ink, pale heads, and a wash of chalk where a number may be
// changed; inputs also have a frame, so that they stand out on a black-and-white print.
const (
	inkColour   = "1F1D1A"
	faintColour = "6D6860"
	headColour  = "EDE8DC"
	inputColour = "FBF3D5"
	alarmColour = "8A2B1D"
)

func (l look) style() *excelize.Style {
	style := &excelize.Style{
		Font:      &excelize.Font{Family: "Calibri", Size: 11, Color: inkColour},
		Alignment: &excelize.Alignment{Vertical: "top", WrapText: l.wrap, Horizontal: l.align},
	}
	if l.open {
		style.Protection = &excelize.Protection{Locked: false}
	}
	if l.format != "" {
		format := l.format
		style.CustomNumFmt = &format
	}
	if l.wrap && l.align == "" && (l.kind == lookBody || l.kind == lookHeading) {
		style.Alignment.Horizontal, style.Alignment.Indent = "left", 1
	}
	line := func(where string, weight int) excelize.Border {
		return excelize.Border{Type: where, Color: faintColour, Style: weight}
	}
	fill := func(colour string) { style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}} }
	switch l.kind {
	case lookBody:
		style.Border = []excelize.Border{line("bottom", 7)}
	case lookBold:
		style.Font.Bold = true
		style.Border = []excelize.Border{line("bottom", 7)}
	case lookHeading:
		style.Font.Bold = true
		style.Border = []excelize.Border{line("bottom", 2), line("top", 1)}
		fill(headColour)
	case lookInput:
		style.Border = []excelize.Border{line("left", 1), line("right", 1), line("top", 1), line("bottom", 1)}
		fill(inputColour)
	case lookTotal:
		style.Font.Bold = true
		style.Border = []excelize.Border{line("top", 1), line("bottom", 6)}
	case lookTitle:
		style.Font.Bold, style.Font.Size = true, 15
	case lookSection:
		style.Font.Bold, style.Font.Size = true, 12.5
	case lookWarning:
		style.Font.Bold, style.Font.Color = true, alarmColour
	case lookFaint:
		style.Font.Color = faintColour
		if !l.wrap && l.align == "" {
			style.Alignment.Horizontal, style.Alignment.Indent = "left", 1
		}
	}
	return style
}

// sortedZip writes the parts of a workbook in the order of their names, so that the same
// workbook gives the same bytes; [Content_Types].xml comes first, as readers expect it.
type sortedZip struct {
	out   io.Writer
	parts []zipPart
}

// imageKinds are the kinds of pictures that the library lists, in any order, where there is a
// chart. Our workbooks hold no pictures.
var imageKinds = regexp.MustCompile(`<Default Extension="[a-z]+" ContentType="image/[^"]*"></Default>`)

type zipPart struct {
	name    string
	content *bytes.Buffer
}

// Create begins a part.
func (z *sortedZip) Create(name string) (io.Writer, error) {
	content := new(bytes.Buffer)
	z.parts = append(z.parts, zipPart{name, content})
	return content, nil
}

// AddFS is not needed for workbooks.
func (z *sortedZip) AddFS(fs.FS) error { return fmt.Errorf("a workbook is not made of folders") }

// Close writes all parts.
func (z *sortedZip) Close() error {
	slices.SortFunc(z.parts, func(a, b zipPart) int { return cmp.Compare(a.name, b.name) })
	archive := zip.NewWriter(z.out)
	for _, part := range z.parts {
		w, err := archive.Create(part.name)
		if err != nil {
			return err
		}
		content := part.content.Bytes()
		if part.name == "[Content_Types].xml" {
			content = imageKinds.ReplaceAll(content, nil)
		}
		if _, err := w.Write(content); err != nil {
			return err
		}
	}
	return archive.Close()
}

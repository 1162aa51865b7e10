package exports

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
)

// chart is a drawing of numbers of its page. The rows that it covers are kept free by the page,
// so that it is printed with it.
type chart struct {
	kind  excelize.ChartType
	title string
	// row is the first row that it covers, of so many.
	row, rows int
	// left is the first column that it covers; it goes to the last one that is printed. With
	// half it covers the left or the right half of the page alone.
	left int
	half half
	// categories is the column of the names, from row to row.
	categories, from, to int
	series               []chartSeries
	// level charts lie: their categories stand at the left, first one on top.
	level bool
	// format is the number format of its axis.
	format string
}

// half says which half of its page a chart covers.
type half int

const (
	bothHalves half = iota
	leftHalf
	rightHalf
)

// chartSeries is one column of numbers with the cell that names it: charts know names by their
// cells alone, so that no text of a maker's is ever read as a formula.
type chartSeries struct {
	column              int
	nameColumn, nameRow int
}

// chartColours stand apart in grey as well: dark, middle, light and so on.
var chartColours = []string{"24476B", "C2A14A", "7F9C86", "8A2B1D", "B9B2A3", "5B6F91"}

// The size of a cell on the screen, in pixels: what charts are measured in.
const (
	pixelsOfRow    = 20
	pixelsOfLetter = 7
	pixelsOfEdge   = 5
	widestChart    = 900
)

// chartRows is how many rows a chart covers: two charts with a heading fit on a printed page.
const chartRows = 13

// draw adds a chart below what the page holds already.
func (p *page) draw(c chart) {
	p.blank()
	c.row, c.rows, c.left = p.next(), chartRows, 1
	for range c.rows {
		p.blank()
	}
	p.charts = append(p.charts, c)
	p.keep(c.row)
}

// drawBeside adds a chart at the right of what the rows from top on hold, from a column on.
func (p *page) drawBeside(c chart, left, top int) {
	c.row, c.rows, c.left = top, chartRows, left
	p.charts = append(p.charts, c)
}

// widePage is from how many pixels on two charts stand side by side.
const widePage = 900

// drawAll adds charts below what the page holds already, two in a row where it is wide.
func (p *page) drawAll(charts []chart) {
	beside := p.pixelsWide(1, p.printed()) >= widePage
	for i, c := range charts {
		switch {
		case !beside:
			p.draw(c)
		case i%2 == 0:
			c.half = leftHalf
			p.draw(c)
		default:
			c.half = rightHalf
			p.drawBeside(c, 1, p.charts[len(p.charts)-1].row)
		}
	}
}

var axisFont = excelize.Font{Size: 10, Color: inkColour, Family: "Calibri"}

// columnPixels is how wide a column of so many letters is on the screen.
func columnPixels(letters float64) int { return int(letters)*pixelsOfLetter + pixelsOfEdge }

// pixelsWide is how wide the columns from left to right are on the screen.
func (p *page) pixelsWide(left, right int) int {
	sum := 0
	for _, width := range p.widths()[left-1 : right] {
		sum += columnPixels(width)
	}
	return sum
}

// chartPlace is the first column that a chart covers, and how wide it is, in pixels.
func (p *page) chartPlace(c chart) (left, width int) {
	last := p.printed()
	width = p.pixelsWide(c.left, last)
	if c.half == bothHalves {
		return c.left, width
	}
	middle := c.left
	for middle < last && p.pixelsWide(c.left, middle) < width/2 {
		middle++
	}
	if c.half == leftHalf {
		return c.left, p.pixelsWide(c.left, middle)
	}
	return middle + 1, p.pixelsWide(min(middle+1, last), last)
}

func (p *page) writeChart(c chart) error {
	left, width := p.chartPlace(c)
	whole := func(column int) string { return p.quoted() + fixed(column, c.from) + ":" + fixed(column, c.to) }
	drawn := excelize.Chart{
		Type:      c.kind,
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: c.title, Font: &excelize.Font{Bold: true, Size: 12, Color: inkColour, Family: "Calibri"}}}},
		Legend:    excelize.ChartLegend{Position: "bottom"},
		Dimension: excelize.ChartDimension{Width: uint(min(width-8, widestChart)), Height: uint(c.rows*pixelsOfRow - 8)},
		Format:    excelize.GraphicOptions{OffsetX: 4, OffsetY: 4, Positioning: "oneCell", AltText: c.title},
		YAxis:     excelize.ChartAxis{MajorGridLines: true, NumFmt: excelize.ChartNumFmt{CustomNumFmt: c.format}},
	}
	drawn.XAxis.Font, drawn.YAxis.Font = axisFont, axisFont
	if c.level {
		drawn.XAxis.ReverseOrder = true
	}
	if len(c.series) == 1 {
		drawn.Legend.Position = "none"
	}
	for i, s := range c.series {
		colour := chartColours[i%len(chartColours)]
		drawn.Series = append(drawn.Series, excelize.ChartSeries{
			Name: p.ref(s.nameColumn, s.nameRow), Categories: whole(c.categories), Values: whole(s.column), Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}},
		})
	}
	if err := p.book.file.AddChart(p.name, cellName(left, c.row), &drawn); err != nil {
		return fmt.Errorf("chart %s: %w", strings.TrimSpace(c.title), err)
	}
	return nil
}

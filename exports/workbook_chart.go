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
	// categories is the column of the names, from row to row.
	categories, from, to int
	series               []chartSeries
	// level charts lie: their categories stand at the left, first one on top.
	level bool
	// format is the number format of its axis.
	format string
}

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
	c.row, c.rows = p.next(), chartRows
	for range c.rows {
		p.blank()
	}
	p.charts = append(p.charts, c)
	p.keep(c.row)
}

var axisFont = excelize.Font{Size: 10, Color: inkColour, Family: "Calibri"}

func (p *page) writeChart(c chart) error {
	width := 0
	for _, w := range p.widths() {
		width += int(w)*pixelsOfLetter + pixelsOfEdge
	}
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
	if err := p.book.file.AddChart(p.name, cellName(1, c.row), &drawn); err != nil {
		return fmt.Errorf("chart %s: %w", strings.TrimSpace(c.title), err)
	}
	return nil
}

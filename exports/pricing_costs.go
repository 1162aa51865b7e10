package exports

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"yardwright/costing"
	"yardwright/costing/money"
)

// costParts are what the cost of a garment is made up of.
var costParts = [...]string{"Materials", "Labour", "Direct expenses", "Overhead", "Packing"}

// partsOf are their amounts on a cost sheet.
func partsOf(sheet *costing.Sheet) [len(costParts)]money.Amount {
	return [...]money.Amount{sheet.Materials, sheet.Labour, sheet.Expenses, sheet.Overhead, sheet.Packing}
}

// mostCharts keeps a page with many colourways short.
const mostCharts = 24

// writeCosts lists what every size costs by its parts, and draws it.
func (p *pricing) writeCosts() {
	columns := []column{{16, 26}, {14, 24}, {8, 14}}
	for range len(costParts) + 1 {
		columns = append(columns, column{13, 13})
	}
	page := p.page("Cost by size", columns...)
	page.titles("What each size costs", p.options.Workshop)
	head := page.headings(append(append([]string{"Style", "Colourway", "Size"}, costParts[:]...), "Cost")...)
	for i := range p.priced {
		sheet := &p.priced[i].Sheet
		cells := []cell{textCell(p.given(i).Style), textCell(p.given(i).Colourway), textCell(p.given(i).Size)}
		for part, amount := range partsOf(sheet) {
			cells = append(cells, formulaCell(p.totals[i].parts[part], float(amount.Number()), p.paid()))
		}
		page.body(append(cells, formulaCell(p.totals[i].cost, float(sheet.Total.Number()), p.paid()).as(lookBold))...)
	}
	page.tabled(head, len(columns))
	var series []chartSeries
	for part := range costParts {
		series = append(series, chartSeries{4 + part, 4 + part, head})
	}
	p.drawSizes(page, head+1, "what a garment costs", excelize.ColStacked, series)
}

// withoutChart names the styles and colourways beyond those that have a chart.
func (p *pricing) withoutChart() (names []string) {
	garments := 0
	for i := range p.priced {
		if i > 0 && p.sameGarment(i-1, i) {
			continue
		}
		if garments++; garments > mostCharts {
			names = append(names, p.garmentName(i))
		}
	}
	return names
}

// drawSizes draws columns of a page by size, one chart for each style and colourway; first is the
// row of the first size.
func (p *pricing) drawSizes(page *page, first int, what string, kind excelize.ChartType, series []chartSeries) {
	var charts []chart
	for i := 0; i < len(p.priced) && len(charts) < mostCharts; {
		j := i + 1
		for j < len(p.priced) && p.sameGarment(i, j) {
			j++
		}
		charts = append(charts, chart{kind: kind, title: p.garmentName(i) + ": " + what, categories: 3, from: first + i, to: first + j - 1, series: series, format: p.paid()})
		i = j
	}
	page.drawAll(charts)
	if left := p.withoutChart(); len(left) > 0 {
		page.blank()
		page.wide(fmt.Sprintf("No chart of %s: the first %d colourways have one.", strings.Join(left, "; "), mostCharts), lookFaint)
	}
}

package exports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
)

// TestChartsKnowCellsAlone: charts are in both workbooks, and all that they refer to are cells,
// whatever names makers type.
func TestChartsKnowCellsAlone(t *testing.T) {
	t.Parallel()
	refers := regexp.MustCompile(`<f>([^<]*)</f>|<c:f>([^<]*)</c:f>`)
	cells := regexp.MustCompile(`^'[A-Z][A-Za-z ]*'!\$[A-Z]+\$[0-9]+(:\$[A-Z]+\$[0-9]+)?$`)
	for seed := range uint64(6) {
		w := newTestWorkshop(t, seed)
		plan, priced := w.plan(t), w.prices(t)
		for name, write := range map[string]func(io.Writer) error{
			"cutting": func(out io.Writer) error { return CuttingWorkbook(out, plan, w.options) },
			"pricing": func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, w.options) },
		} {
			var out bytes.Buffer
			require.NoError(t, write(&out))
			archive, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
			require.NoError(t, err)
			charts := 0
			for _, part := range archive.File {
				if !strings.HasPrefix(part.Name, "xl/charts/chart") {
					continue
				}
				charts++
				opened, err := part.Open()
				require.NoError(t, err)
				content, err := io.ReadAll(opened)
				require.NoError(t, err)
				found := refers.FindAllStringSubmatch(string(content), -1)
				require.NotEmpty(t, found)
				for _, f := range found {
					require.Regexp(t, cells, strings.ReplaceAll(f[1]+f[2], "&#39;", "'"), "%s of workshop %d", name, seed)
				}
			}
			require.Positive(t, charts, "%s of workshop %d", name, seed)
		}
	}
}

// TestCuttingInputsAreChecked: what may be changed in the workbook of a batch is framed and kept
// within what makes sense.
func TestCuttingInputsAreChecked(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	inputs := 0
	for _, page := range cuttingBook(w.plan(t), w.options).pages {
		for i, row := range page.rows {
			for j, c := range row {
				if c.look.kind != lookInput {
					continue
				}
				inputs++
				checked := false
				for _, check := range page.checks {
					from, to, ranged := strings.Cut(check.cell, ":")
					if !ranged {
						to = from
					}
					left, top, err := excelize.CellNameToCoordinates(from)
					require.NoError(t, err)
					right, bottom, err := excelize.CellNameToCoordinates(to)
					require.NoError(t, err)
					checked = checked || (left <= j+1 && j+1 <= right && top <= i+1 && i+1 <= bottom)
				}
				require.True(t, checked, "%s!%s may hold anything", page.name, cellName(j+1, i+1))
			}
		}
	}
	require.Greater(t, inputs, 20)
}

// TestNothingIsTorn: a printed page begins before a cost sheet that would not fit on the one
// before, and never within one.
func TestNothingIsTorn(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		priced := w.prices(t)
		p := &pricing{book: newBook(options, "Prices"), priced: priced, channels: w.channels, digits: options.currency().Digits()}
		p.writeInputs()
		p.writeSheets()
		p.sheets.addBreaks()
		require.Len(t, p.sheets.kept, len(priced))
		require.NotEmpty(t, p.sheets.breaks)
		for _, row := range p.sheets.breaks {
			for _, kept := range p.sheets.kept {
				require.False(t, kept.top < row && row <= kept.bottom, "page break before row %d tears rows %d to %d", row, kept.top, kept.bottom)
			}
		}
	}
}

// What is shown in coins is what the cell holds, so that whoever adds up what is printed comes to
// what is printed: no 8.8999996752 that is shown as 8.90.
func TestShownCoinsAreTheValues(t *testing.T) {
	t.Parallel()
	seen := 0
	for seed := range uint64(4) {
		w := newTestWorkshop(t, seed)
		plan, priced := w.plan(t), w.prices(t)
		for i := range plan.Shopping { // a price per metre that is no whole number of millionths per yard
			if plan.Shopping[i].Length > 0 {
				plan.Shopping[i].Cost = 9_733_158 * lay.Money(plan.Shopping[i].Length) / lay.Money(length.Metre)
			}
		}
		for c := range plan.Cloths {
			plan.Cloths[c].Problem.Rules.BuyPricePerMetre = 9_733_158
		}
		check := func(b *book, options Options) {
			for _, page := range b.pages {
				for i, row := range page.rows {
					for j, c := range row {
						value, ok := c.value.(float64)
						coins := c.look.format == options.moneyFormat(0)
						if !ok || !coins && (c.look.format != options.moneyFormat(6) || c.look.kind != lookInput) {
							continue
						}
						seen++
						places := 6
						if coins {
							places = options.currency().Digits()
						}
						scaled := value * math.Pow10(places)
						require.InDelta(t, math.Round(scaled), scaled, 1e-6*max(1, math.Abs(scaled)*1e-6), "%s!%s of workshop %d", page.name, cellName(j+1, i+1), seed)
					}
				}
			}
		}
		check(cuttingBook(plan, w.options).book, w.options)
		prices, err := pricingBook(priced, w.channels, w.options)
		require.NoError(t, err)
		check(prices.book, w.options)
	}
	require.Greater(t, seen, 500)
}

// Every colourway has its chart, or is named where there is none; of each its middle size is
// printed, and all sizes are on the screen.
func TestEveryColourwayHasItsChartAndItsCostSheetOnPaper(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced := w.prices(t)
	garments := 1
	for i := range priced[1:] {
		in, before := priced[i+1].Sheet.Inputs, priced[i].Sheet.Inputs
		if in.Style != before.Style || in.Colourway != before.Colourway {
			garments++
		}
	}
	many := slices.Clone(priced)
	for len(many) < 40*len(priced)/garments {
		for _, p := range priced {
			p.Sheet.Inputs.Colourway += fmt.Sprint(" ", len(many)/len(priced))
			many = append(many, p)
		}
	}
	for _, test := range []struct {
		priced   []costing.Pricing
		garments int
	}{{priced, garments}, {many, garments * len(many) / len(priced)}} {
		b, err := pricingBook(test.priced, w.channels, w.options)
		require.NoError(t, err)
		for _, name := range []string{"Cost by size", "Prices"} {
			page := b.pages[slices.IndexFunc(b.pages, func(p *page) bool { return p.name == name })]
			require.Len(t, page.charts, min(test.garments, mostCharts), name)
			said := fmt.Sprint(page.rows)
			require.Equal(t, test.garments > mostCharts, strings.Contains(said, "No chart of "), name)
		}
		sheets := b.pages[slices.IndexFunc(b.pages, func(p *page) bool { return p.name == "Cost sheet" })]
		require.Len(t, sheets.onPaper, test.garments)
		require.Len(t, sheets.kept, len(test.priced))
	}
}

// A chart stands whole on one page: a page is begun before it, unless all from the last page begun
// has room on one with some to spare, since programs differ in how high rows come out.
func TestNoChartIsCutByAPage(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced := w.prices(t)
	many := slices.Clone(priced)
	for range 3 {
		for _, p := range priced {
			p.Sheet.Inputs.Colourway += fmt.Sprint(" ", len(many)/len(priced))
			many = append(many, p)
		}
	}
	charts := 0
	for _, lines := range [][]costing.Pricing{priced, many} {
		b, err := pricingBook(lines, w.channels, w.options)
		require.NoError(t, err)
		for _, page := range b.pages {
			page.addBreaks()
			widths := page.widths()
			for _, c := range page.charts {
				charts++
				from := 1
				for _, row := range page.breaks {
					if row <= c.row {
						from = max(from, row)
					}
					require.False(t, c.row < row && row < c.row+c.rows, "a page begins within the chart %s", c.title)
				}
				high := 0.0
				for row := from; row < c.row+c.rows; row++ {
					high += page.heightOf(row, widths)
				}
				require.Less(t, high, 0.9*page.room(widths), "%s begins at row %d of the page from row %d on", c.title, c.row, from)
			}
		}
	}
	require.GreaterOrEqual(t, charts, 10)
}

// A bolt that came in without a shade lot has a line to write it on, like cloth that is still to be bought:
// in the table of lays, of bolts, and on the tickets of its bundles.
func TestABoltWithoutALotHasALineForIt(t *testing.T) {
	t.Parallel()
	w := newTestWorkshop(t, 1)
	plan := w.plan(t)
	for c := range plan.Cloths {
		for b := range plan.Cloths[c].Bolts {
			plan.Cloths[c].Bolts[b].Lot = ""
		}
	}
	for b := range plan.Bundles {
		for l := range plan.Bundles[b].Lays {
			plan.Bundles[b].Lays[l].Lot = batch.Lot{}
		}
	}
	lines := map[string]int{}
	for _, page := range cuttingBook(plan, w.options).book.pages {
		for _, row := range page.rows {
			for _, c := range row {
				if text, ok := c.value.(string); ok && strings.Contains(text, blankLot) {
					lines[page.name]++
				}
			}
		}
	}
	for _, page := range []string{"Lays", "Bolts", "Bundles"} {
		require.Positive(t, lines[page], "%s: %v", page, lines)
	}
}

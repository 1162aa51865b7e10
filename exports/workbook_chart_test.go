package exports

import (
	"archive/zip"
	"bytes"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
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

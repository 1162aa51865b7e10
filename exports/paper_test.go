package exports

import (
	"bytes"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/costing/money"
)

// writePDF writes a document twice and returns its bytes, which must be the same.
func writePDF(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var first, second bytes.Buffer
	require.NoError(t, write(&first))
	require.NoError(t, write(&second))
	require.Equal(t, first.Bytes(), second.Bytes(), "the same input gives the same bytes")
	require.True(t, bytes.HasPrefix(first.Bytes(), []byte("%PDF-")))
	return first.Bytes()
}

func TestSampleCutSheets(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan := w.plan(t)
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		content := writePDF(t, func(out io.Writer) error { return CutSheet(out, plan, options) })
		keepPicture(t, "cutsheet-"+string(paper)+".pdf", content)
	}
}

// styleOf returns a starter's style with its chart.
func styleOf(t testing.TB, name string) (garment.Style, garment.SizeChart) {
	t.Helper()
	for _, starter := range garment.Starters() {
		if starter.Name == name {
			return starter.Style(nil), chartNamed(t, starter.Chart)
		}
	}
	require.FailNow(t, "no starter", name)
	return garment.Style{}, garment.SizeChart{}
}

func TestSampleTemplates(t *testing.T) {
	t.Parallel()
	for i, starter := range garment.Starters() {
		style, chart := styleOf(t, starter.Name)
		sizes := chart.SizeNames()
		options := Options{Workshop: "Quillfen Workroom", Paper: []Paper{A4, Letter}[i%2], Lengths: length.Style{System: []length.System{length.Metric, length.Imperial}[i%2]}}
		for _, nested := range []bool{false, true} {
			choice := TemplateChoice{Sizes: sizes[1:2], Nested: nested}
			if nested {
				choice.Sizes = sizes[:min(5, len(sizes))]
			}
			content := writePDF(t, func(out io.Writer) error { return Templates(out, style, chart, choice, options) })
			keepPicture(t, fmt.Sprintf("template-%d-%v.pdf", i, nested), content)
			var svg bytes.Buffer
			require.NoError(t, TemplatesSVG(&svg, style, chart, choice, options))
			keepPicture(t, fmt.Sprintf("template-%d-%v.svg", i, nested), svg.Bytes())
		}
	}
}

func ticketAddress(number int) string {
	return fmt.Sprintf("https://workroom.example/batches/12/bundles/%d", number)
}

func sampleLine(t testing.TB) LineSheet {
	usd := money.MustCurrency("USD")
	amount := func(cents int64) money.Amount { return money.NewAmount(money.New(cents, 2), usd) }
	line := LineSheet{
		Title: "Spring line 2027", OrderBy: time.Date(2027, 1, 31, 0, 0, 0, 0, time.UTC), Minimum: amount(15000), Terms: "30 days",
		Contact: "Write to Quillfen Workroom to order.",
	}
	for i, starter := range garment.Starters() {
		style, chart := styleOf(t, starter.Name)
		graded, err := style.Grade(chart, chart.SizeNames()[len(chart.Sizes)/2])
		require.NoError(t, err)
		item := LineItem{Style: style, Colourway: []string{"Slate and sparrow", "Moss", "Rust"}[i%3], Content: "100 % cotton", Pieces: graded.Pieces}
		for j, size := range chart.SizeNames() {
			item.Sizes = append(item.Sizes, LineSize{size, amount(int64(1450 + 50*j)), amount(int64(2900 + 100*j))})
		}
		line.Items = append(line.Items, item)
	}
	return line
}

func TestSampleTicketsAndLineSheet(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan := w.plan(t)
	line := sampleLine(t)
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		keepPicture(t, "tickets-"+string(paper)+".pdf", writePDF(t, func(out io.Writer) error { return Tickets(out, plan, ticketAddress, options) }))
		keepPicture(t, "line-"+string(paper)+".pdf", writePDF(t, func(out io.Writer) error { return LineSheetPDF(out, line, options) }))
	}
}

// TestKindsOfLays writes cut sheets of lays with straight cuts, a fold, face to face, repeats
// and faults, and of one that is too long for one strip.
func TestKindsOfLays(t *testing.T) {
	t.Parallel()
	kinds := map[string]func(*batch.Input){
		"straight": func(in *batch.Input) { in.Workroom.StraightCuts = true },
		"folded":   func(in *batch.Input) { in.Workroom.Spread = lay.FoldedLengthwise },
		"faced":    func(in *batch.Input) { in.Workroom.Spread = lay.FaceToFace },
		"printed": func(in *batch.Input) {
			for i := range in.Cloths {
				in.Cloths[i].Repeat = marker.Repeat{Length: 6 * length.Inch, Width: 4 * length.Inch}
			}
			for i := range in.Bolts {
				in.Bolts[i].Faults = []marker.Fault{{X: 10 * length.Inch, Y: 20 * length.Inch, Width: 4 * length.Inch, Length: 3 * length.Inch}}
			}
		},
		"long": func(in *batch.Input) {
			in.Workroom.TableLength = 0
			in.Workroom.MaxPlies = map[batch.Thickness]int{batch.Thin: 1, batch.Medium: 1, batch.Thick: 1}
			in.Bolts = nil
			for i := range in.Lines {
				in.Lines[i].Quantity *= 2
			}
		},
	}
	for name, change := range kinds {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := sampleWorkshop(t)
			change(&w.input)
			plan := w.plan(t)
			require.Empty(t, plan.Uncut)
			keepPicture(t, "lays-"+name+".pdf", writePDF(t, func(out io.Writer) error { return CutSheet(out, plan, w.options) }))
		})
	}
}

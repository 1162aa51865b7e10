package exports

import (
	"bytes"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/garment"
	"yardwright/batch/length"
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

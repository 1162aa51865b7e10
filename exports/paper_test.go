package exports

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
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

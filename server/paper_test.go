package server_test

import (
	"flag"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/server/workshop"
)

// keptPaper names a folder to leave the demo's documents in, to be looked at.
var keptPaper = flag.String("paper", "", "folder to leave the demo's documents in")

func (s site) document(t *testing.T, path, name string) string {
	t.Helper()
	text := s.get(t, path, http.StatusOK)
	if *keptPaper != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*keptPaper, name), []byte(text), 0o644))
	}
	return text
}

// A batch on paper: cut sheet, tickets, and the page that a ticket opens.
func TestABatchOnPaper(t *testing.T) {
	t.Parallel()
	require.Contains(t, serveDemo(t).get(t, "/batches/1/cut-sheet.pdf", http.StatusNotFound), "was not found")
	s := servePlanned(t)
	for _, paper := range []string{"a4", "letter"} {
		require.True(t, strings.HasPrefix(s.document(t, "/batches/1/cut-sheet.pdf?paper="+paper, "demo-cutsheet-"+paper+".pdf"), "%PDF-"))
		require.True(t, strings.HasPrefix(s.document(t, "/batches/1/tickets.pdf?paper="+paper+"&base="+url.QueryEscape("http://192.168.1.20:8080/"), "demo-tickets-"+paper+".pdf"), "%PDF-"))
	}
	require.Contains(t, s.get(t, "/batches/1/tickets", http.StatusOK), `value="`+s.URL+`"`)
	for _, wrong := range []string{"javascript:alert(1)", "ftp://x", "http://", "http://x?y=1", "http://" + strings.Repeat("x", 200)} {
		require.Contains(t, s.get(t, "/batches/1/tickets.pdf?base="+url.QueryEscape(wrong), http.StatusUnprocessableEntity), "Write the address", wrong)
	}
	bundle := s.get(t, "/batches/1/bundles/1", http.StatusOK)
	for _, want := range []string{"Bundle 1", "Pieces in it", "Out of", ", lay ", "Steps"} {
		require.Contains(t, bundle, want)
	}
	for _, path := range []string{"/batches/1/bundles/99999", "/batches/1/bundles/x", "/batches/2/bundles/1", "/batches/2/cut-sheet.pdf"} {
		s.get(t, path, http.StatusNotFound)
	}
}

// Templates of a style, as PDF and as SVG, and what is refused.
func TestTemplatesOfAStyle(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, style := range regexp.MustCompile(`"(/styles/\d+)"`).FindAllStringSubmatch(s.get(t, "/styles", http.StatusOK), -1) {
		form := s.get(t, style[1]+"/templates", http.StatusOK)
		size := regexp.MustCompile(`name="size" value="([^"]+)"`).FindStringSubmatch(form)[1]
		query := "?size=" + url.QueryEscape(size)
		require.True(t, strings.HasPrefix(s.get(t, style[1]+"/templates.pdf"+query, http.StatusOK), "%PDF-"))
		require.Contains(t, s.get(t, style[1]+"/templates.svg"+query+"&piece=0", http.StatusOK), `class="template-cut"`)
		require.Contains(t, s.get(t, style[1]+"/templates.pdf", http.StatusUnprocessableEntity), "Choose at least one size")
		require.Contains(t, s.get(t, style[1]+"/templates.pdf"+query+"&piece=77", http.StatusUnprocessableEntity), "no piece number 78")
		s.get(t, style[1]+"/templates.pdf?size=none-such", http.StatusUnprocessableEntity)
		s.get(t, style[1]+"/templates.pdf"+query+"&piece=x", http.StatusNotFound)
	}
	s.get(t, "/styles/99999/templates", http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// The line sheet offers every colourway at the prices of its page.
func TestTheLineSheet(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	query := "?title=Spring+%3Cline%3E&order_by=2031-02-03&contact=Write+to+us"
	text := s.get(t, "/prices/line-sheet"+query, http.StatusOK)
	for _, want := range []string{"Spring &lt;line&gt;", "Feb 3, 2031", "Write to us", "Puddle skirt, Meadow on slate", "Kindling bag, Sparrow", "Suggested retail", `class="flat-drawing"`} {
		require.Contains(t, text, want)
	}
	line, left, err := s.service.LineSheet(t.Context(), s.id, workshop.LineSheetDraft{})
	require.NoError(t, err)
	require.Empty(t, left)
	require.Len(t, line.Items, 7)
	for _, item := range line.Items {
		for _, size := range item.Sizes {
			twice, err := size.Wholesale.Add(size.Wholesale)
			require.NoError(t, err)
			require.False(t, size.Retail.Number().Less(twice.Number()), "a shop can keep half")
		}
	}
	for _, paper := range []string{"a4", "letter"} {
		require.True(t, strings.HasPrefix(s.document(t, "/prices/line-sheet.pdf"+query+"&paper="+paper, "demo-line-"+paper+".pdf"), "%PDF-"))
	}
	require.Contains(t, s.get(t, "/prices/line-sheet?order_by=soon", http.StatusOK), `aria-invalid="true"`)
}

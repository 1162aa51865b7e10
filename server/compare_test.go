package server_test

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What other choices would change: less fullness, other widths, another cloth in the place of one.
func TestOtherChoicesForABatch(t *testing.T) {
	t.Parallel()
	serveDemo(t).get(t, "/batches/1/compare", http.StatusNotFound)
	s := servePlanned(t)
	text := s.get(t, "/batches/1", http.StatusOK)
	require.Contains(t, text, `href="/batches/1/compare"`)
	require.Contains(t, text, "Left over:")
	require.Contains(t, text, "would take $", "the fullness that saves most")

	text = s.get(t, "/batches/1/compare", http.StatusOK)
	for _, want := range []string{"Another cloth", "Cloth of another width", "Pays below", "a yd", "Puddle skirt: fullness", "across instead of 2", "Every panel and size"} {
		require.Contains(t, text, want)
	}
	require.NotEqual(t, fields(text, "/batches/1/compare").Get("from"), fields(text, "/batches/1/compare").Get("to"), "a cloth is not compared with itself")
	number := func(id, name string) string {
		options := text[strings.Index(text, `id="`+id+`"`):]
		found := regexp.MustCompile(`<option value="(\d+)"[^>]*>` + name).FindStringSubmatch(options)
		require.NotNil(t, found, name)
		return found[1]
	}
	meadow, canvas := number("from", "Meadow print"), number("to", "Harbour ticking")
	compared := s.get(t, "/batches/1/compare?from="+meadow+"&to="+canvas, http.StatusOK)
	for _, want := range []string{"Meadow print or Harbour ticking, for 33 garments", "For this batch, Harbour ticking takes", "To buy", "Minutes of cutting"} {
		require.Contains(t, compared, want)
	}
	require.Contains(t, s.get(t, fmt.Sprintf("/batches/1/compare?from=%s&to=%s", meadow, meadow), http.StatusUnprocessableEntity), "Choose another cloth")
	s.get(t, "/batches/1/compare?from=x&to=1", http.StatusNotFound)
	s.get(t, "/batches/99/compare", http.StatusNotFound)
}

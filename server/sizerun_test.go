package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// What stands in a box of the size run is a quantity, none, or refused with what was typed.
func TestBoxesOfASizeRun(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/orders/new", http.StatusOK)
	boxes := regexp.MustCompile(`name="(q\.\d+\.[^"]+)"[^>]*aria-label="Meadow on slate`).FindAllStringSubmatch(text, -1)
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(text)[1]
	order := func(first, second string) url.Values {
		return url.Values{
			"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 20).Format(time.DateOnly)}, boxes[0][1]: {first}, boxes[1][1]: {second},
		}
	}
	for _, test := range []struct{ name, typed string }{{"negative", "-3"}, {"a word", "two"}, {"not whole", "1.5"}, {"too many", "10001"}, {"far too many", "99999999999999999999"}} {
		t.Run(test.name, func(t *testing.T) {
			text := s.post(t, "/orders", order(test.typed, "4"), http.StatusUnprocessableEntity)
			require.Contains(t, text, "&#34;"+test.typed+"&#34; is not a quantity")
			require.Regexp(t, `name="`+regexp.QuoteMeta(boxes[0][1])+`" value="`+regexp.QuoteMeta(test.typed)+`"[^>]*aria-invalid="true"`, text)
			require.Contains(t, text, `data-total>4<`, "only quantities are added up")
		})
	}
	for _, none := range []string{"", "0", "00", "  "} {
		require.Regexp(t, `<dt>Garments</dt><dd>4</dd>`, s.post(t, "/orders", order(none, "4"), http.StatusOK))
	}
}

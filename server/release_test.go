package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// bagBatch takes an order of four bags, which the demo's shelf holds, and plans it alone.
func (s site) bagBatch(t *testing.T) (path string) {
	t.Helper()
	box := regexp.MustCompile(`name="(q\.\d+\.medium)"[^>]*aria-label="Sparrow, Kindling bag`).FindStringSubmatch(s.get(t, "/orders/new", http.StatusOK))[1]
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(s.get(t, "/orders/new", http.StatusOK))[1]
	s.post(t, "/orders", url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 20).Format(time.DateOnly)}, "number": {"R-1"}, box: {"4"}}, http.StatusOK)
	order := regexp.MustCompile(`name="orders" value="(\d+)"[^>]*>R-1`).FindStringSubmatch(s.get(t, "/batches/new", http.StatusOK))[1]
	s.post(t, "/batches", url.Values{"name": {"Bags"}, "orders": {order}}, http.StatusOK)
	path = regexp.MustCompile(`href="(/batches/\d+)">Bags`).FindStringSubmatch(s.get(t, "/batches", http.StatusOK))[1]
	require.Eventually(t, func() bool { return strings.Contains(s.get(t, path, http.StatusOK), ">Start cutting</button>") }, patience, 100*time.Millisecond)
	return path
}

// hidden reads the hidden fields of the form that goes to an address.
func hidden(t *testing.T, text, action string) url.Values {
	t.Helper()
	form := regexp.MustCompile(`(?s)<form[^>]* action="` + action + `"[^>]*>.*?</form>`).FindString(text)
	require.NotEmpty(t, form, action)
	values := url.Values{}
	for _, field := range regexp.MustCompile(`type="hidden" name="([^"]+)" value="([^"]*)"`).FindAllStringSubmatch(form, -1) {
		values.Add(field[1], field[2])
	}
	return values
}

// A batch through its pages: released by one of two people, cut by a helper, and undone.
func TestABatchIsWorkedThroughItsPages(t *testing.T) {
	t.Parallel()
	s := owned(t)
	helper := s.helper(t)
	path := s.bagBatch(t)
	text := s.get(t, path, http.StatusOK)
	require.Contains(t, text, `<li aria-current="step">planning</li>`)
	release := hidden(t, text, path+"/release")
	helper.post(t, path+"/release", release, http.StatusForbidden)
	text = s.post(t, path+"/release", release, http.StatusOK)
	require.Contains(t, text, "Ready to cut")
	require.NotContains(t, text, "Plan again")
	require.Contains(t, s.post(t, path+"/release", release, http.StatusUnprocessableEntity), "not in planning any more", "the second person is told")
	require.Contains(t, s.post(t, path+"/plan", nil, http.StatusConflict), "Go back to planning first")
	s.post(t, path+"/lays/999999/cut", nil, http.StatusNotFound)
	s.post(t, path+"/lays/x/cut", nil, http.StatusNotFound)

	// A helper marks a lay as cut; what is wrong stands at its field, and what was typed stays.
	text = helper.get(t, path, http.StatusOK)
	lay := regexp.MustCompile(`action="(` + path + `/lays/\d+)/cut"`).FindStringSubmatch(text)[1]
	cut := hidden(t, text, lay+"/cut")
	draw := cut.Get("draw")
	cut.Set("taken."+draw, "a bit")
	text = helper.post(t, lay+"/cut", cut, http.StatusUnprocessableEntity)
	require.Contains(t, text, `value="a bit"`)
	require.Contains(t, text, `href="#taken.`+draw+`"`)
	cut.Set("taken."+draw, "500 yd")
	require.Contains(t, helper.post(t, lay+"/cut", cut, http.StatusUnprocessableEntity), "are on bolt")
	cut.Set("taken."+draw, "2 7/8 yd")
	cut.Set("rest."+draw, "kept as a remnant")
	cut.Set("place."+draw, "tin <by> the door")
	text = helper.post(t, lay+"/cut", cut, http.StatusOK)
	require.Contains(t, text, "The lay is marked as cut")
	require.Contains(t, text, "tin &lt;by&gt; the door")
	require.Contains(t, text, `<li aria-current="step">cutting</li>`)
	require.Contains(t, s.post(t, lay+"/cut", cut, http.StatusUnprocessableEntity), "was marked as cut already")
	require.Contains(t, s.get(t, "/shelf", http.StatusOK), "tin &lt;by&gt; the door")
	bolt := regexp.MustCompile(`taken from bolt <a href="(/shelf/bolts/\d+)"`).FindStringSubmatch(s.get(t, path, http.StatusOK))[1]
	history := s.get(t, bolt, http.StatusOK)
	for _, want := range []string{"Every length of it", "received", "− 2⅞ yd", "kept as a remnant", "Bags"} {
		require.Contains(t, history, want)
	}
	require.Contains(t, s.post(t, path+"/bundles", url.Values{"bundles": {"1"}}, http.StatusUnprocessableEntity), "marked as cut yet")
	require.Contains(t, s.post(t, path+"/bundles", nil, http.StatusUnprocessableEntity), "Tick the bundles")

	// A correction needs its reason, and then stands in the history.
	fix := hidden(t, history, bolt)
	fix.Set("name", regexp.MustCompile(`<h1>Bolt ([^<]+)</h1>`).FindStringSubmatch(history)[1])
	fix.Set("length", "4 in")
	require.Contains(t, s.post(t, bolt, fix, http.StatusUnprocessableEntity), `href="#reason"`)
	fix.Set("reason", "mice")
	s.post(t, bolt, fix, http.StatusOK)
	require.Contains(t, s.get(t, bolt, http.StatusOK), "mice")
	require.Contains(t, s.post(t, lay+"/undo", nil, http.StatusUnprocessableEntity), "cut or corrected since")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A batch of which nothing can be cut says so, what would help, and can't be released.
func TestABatchThatCannotBeCut(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path := s.bagBatch(t)
	settings := fields(s.get(t, "/workshop", http.StatusOK), "/workshop")
	settings.Set("table_length", "12 in")
	s.post(t, "/workshop", settings, http.StatusOK)
	s.post(t, path+"/plan", nil, http.StatusOK)
	require.Eventually(t, func() bool { return strings.Contains(s.get(t, path, http.StatusOK), "Compare its 2 plans") }, 5*time.Minute, 100*time.Millisecond)
	text := s.get(t, path, http.StatusOK)
	for _, want := range []string{"Nothing of this batch can be cut yet", "nothing is planned", "4 × Sparrow Kindling bag medium</strong>: the table is too short", "Use a table of at least", "so there is nothing to cut yet"} {
		require.Contains(t, text, want)
	}
	for _, not := range []string{">Start cutting</button>", "Everything else is planned", "the shelf holds all of it"} {
		require.NotContains(t, text, not)
	}
}

// The undo of a release, choosing among plans, taking an order out and removing a draft.
func TestADraftCanChange(t *testing.T) {
	t.Parallel()
	s := owned(t)
	path := s.bagBatch(t)
	s.post(t, path+"/plan", nil, http.StatusOK)
	require.Eventually(t, func() bool { return strings.Contains(s.get(t, path, http.StatusOK), "Compare its 2 plans") }, patience, 100*time.Millisecond)
	text := s.get(t, path+"/plans", http.StatusOK)
	require.Regexp(t, `<td class="n" data-name="[^"<]+, in use">`, text, "on a phone each figure says whose it is")
	choose := regexp.MustCompile(`action="(` + path + `/plans/\d+/choose)"`).FindStringSubmatch(text)[1]
	require.Contains(t, s.post(t, choose, hidden(t, text, choose), http.StatusOK), "The batch will be cut by this plan.")
	require.Contains(t, s.post(t, choose, hidden(t, text, choose), http.StatusUnprocessableEntity), "Someone else has changed")
	text = s.get(t, path, http.StatusOK)
	release := hidden(t, text, path+"/release")
	text = s.post(t, path+"/release", release, http.StatusOK)
	text = s.post(t, path+"/undo", hidden(t, text, path+"/undo"), http.StatusOK)
	require.Contains(t, text, "Back to planning")
	out := regexp.MustCompile(`action="(` + path + `/orders/\d+/out)"`).FindStringSubmatch(text)[1]
	text = s.post(t, out, hidden(t, text, out), http.StatusOK)
	require.Contains(t, text, "The orders of this batch have changed")
	require.NotContains(t, text, path+`/release"`, "a release that would be refused isn't offered")
	release.Set("version", hidden(t, text, path+"/remove").Get("version"))
	require.Contains(t, s.post(t, path+"/release", release, http.StatusUnprocessableEntity), "have changed since it was planned")
	s.post(t, path+"/remove", hidden(t, text, path+"/remove"), http.StatusOK)
	s.get(t, path, http.StatusNotFound)
	require.Contains(t, s.get(t, "/batches/new", http.StatusOK), "R-1")
	require.NotContains(t, s.log.String(), "level=ERROR", fmt.Sprint(s.log))
}

// Bundles that are ticked off together are taken back together, those that stood ticked before
// not among them.
func TestBundlesTickedTogetherAreTakenBackTogether(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path := s.bagBatch(t)
	_, err := s.pool.Exec(t.Context(), `UPDATE workshops SET bundle_size = 2`)
	require.NoError(t, err)
	s.post(t, path+"/plan", nil, http.StatusOK)
	// The new plan, and the one before with the new size of bundles.
	require.Eventually(t, func() bool { return strings.Contains(s.get(t, path, http.StatusOK), "Compare its 2 plans") }, patience, 100*time.Millisecond)
	text := s.get(t, path, http.StatusOK)
	text = s.post(t, path+"/release", hidden(t, text, path+"/release"), http.StatusOK)
	for strings.Contains(text, "/cut\"") {
		lay := regexp.MustCompile(`action="(` + path + `/lays/\d+)/cut"`).FindStringSubmatch(text)[1]
		text = s.post(t, lay+"/cut", formOf(t, text, lay+"/cut", "draw"), http.StatusOK)
	}
	sewn := func(text string) int { return strings.Count(text, `form="unsew"`) }
	all := strings.Count(text, `name="bundles"`)
	require.GreaterOrEqual(t, all, 2)
	text = s.post(t, path+"/bundles", url.Values{"bundles": {"1"}}, http.StatusOK)
	require.Equal(t, 1, sewn(text))
	var numbers []string
	for number := 1; number <= all; number++ {
		numbers = append(numbers, fmt.Sprint(number))
	}
	text = s.post(t, path+"/bundles", url.Values{"bundles": numbers}, http.StatusOK)
	require.Equal(t, all, sewn(text))
	require.Contains(t, text, `<li aria-current="step">sewn</li>`)
	text = s.undo(t, text)
	require.Equal(t, 1, sewn(text), "the one that was sewn before stays so")
	require.Equal(t, all, sewn(s.undo(t, text)), "and the undo is undone")
	require.NotContains(t, s.undo(t, s.post(t, path+"/bundles/undo", url.Values{"bundles": {"1"}}, http.StatusOK)), "level=ERROR")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

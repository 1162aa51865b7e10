package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// skirtsToBuy makes a batch of more skirts than the shelf holds cloth for, and returns its address once
// it is planned, with the cloth on its shopping list.
func (s site) skirtsToBuy(t *testing.T) (path, cloth string) {
	t.Helper()
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.98)"[^>]*aria-label="Meadow on slate`).FindStringSubmatch(text)[1]
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(text)[1]
	s.post(t, "/orders", url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 60).Format(time.DateOnly)}, "number": {"R-2"}, box: {"60"}}, http.StatusOK)
	order := regexp.MustCompile(`name="orders" value="(\d+)"[^>]*>R-2`).FindStringSubmatch(s.get(t, "/batches/new", http.StatusOK))[1]
	s.post(t, "/batches", url.Values{"name": {"Skirts"}, "orders": {order}}, http.StatusOK)
	path = regexp.MustCompile(`href="(/batches/\d+)">Skirts`).FindStringSubmatch(s.get(t, "/batches", http.StatusOK))[1]
	s.planned(t, path)
	return path, regexp.MustCompile(`action="/shopping/cloths/(\d+)"`).FindStringSubmatch(s.get(t, path, http.StatusOK))[1]
}

// planned waits until no planning of a batch is under way.
func (s site) planned(t *testing.T, path string) {
	t.Helper()
	require.Eventually(t, func() bool {
		text := s.get(t, path, http.StatusOK)
		return strings.Contains(text, `id="plan"`) && !strings.Contains(text, "data-live=")
	}, patience, 100*time.Millisecond)
}

// Cloth that came in but isn't enough, or fits no ply, is said so, and is planned again by itself; what
// comes of it stands beside the plan before.
func TestClothThatIsntEnoughIsSaidAndPlannedAgain(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path, cloth := s.skirtsToBuy(t)
	for _, test := range []struct{ name, length, width, want string }{
		{"too narrow", "3 yd", "12 in", "No ply of Skirts fits on it: the longest takes"},
		{"too short for all", "3 yd", "", "is still to buy."},
	} {
		form := url.Values{"length." + cloth: {test.length}, "width." + cloth: {test.width}, "back": {path[strings.LastIndex(path, "/")+1:]}}
		text := s.post(t, "/shopping/cloths/"+cloth, form, http.StatusOK)
		require.Contains(t, text, test.want, test.name)
		require.Contains(t, text, "This cloth alone is being planned again", test.name)
		s.planned(t, path)
	}
	text := s.get(t, path, http.StatusOK)
	require.Regexp(t, `<strong>(A newer plan is not in use|The new plan is in use)\.</strong>`, text)
	// Each planning is a column, however often cloth came in for it, and says which one is in use.
	text = s.get(t, path+"/plans", http.StatusOK)
	require.Equal(t, 1, strings.Count(text, `<span class="tag good">in use</span>`))
	require.Equal(t, 3, strings.Count(text, `<th scope="col" class="n">`))

	// Enough of it is said in one sentence, and nothing is planned again.
	list := regexp.MustCompile(`name="length.` + cloth + `" value="([^"]+)"`).FindStringSubmatch(s.get(t, path, http.StatusOK))
	require.NotEmpty(t, list)
	text = s.post(t, "/shopping/cloths/"+cloth, url.Values{"length." + cloth: {list[1]}, "back": {path[strings.LastIndex(path, "/")+1:]}}, http.StatusOK)
	require.Contains(t, text, "Skirts has all of it that it needs.")
	require.NotContains(t, text, "data-live=")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A bolt that drafts count on is missed: removed, its cloth is planned again; short for two, both say so
// before either is released.
func TestBoltsThatPlansCountOn(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	first := s.bagBatch(t)
	text := s.get(t, first, http.StatusOK)
	bolt := regexp.MustCompile(`(?s)<h3>[^<]*</h3>.*?Bolts of.*?<th scope="row">([^<]+)</th>`).FindStringSubmatch(text)[1]
	link := regexp.MustCompile(`href="(/shelf/bolts/\d+)">` + regexp.QuoteMeta(bolt) + `<`).FindStringSubmatch(s.get(t, "/shelf", http.StatusOK))[1]

	require.Contains(t, text, "from "+bolt+"<")

	// A second batch of the same bags, and a bolt that is too short for both.
	s.moreBags(t, "R-3", "More bags")
	second := regexp.MustCompile(`href="(/batches/\d+)">More bags`).FindStringSubmatch(s.get(t, "/batches", http.StatusOK))[1]
	s.planned(t, second)
	used := regexp.MustCompile(`data-name="Taken">([^<]+)<`).FindStringSubmatch(text)[1]
	form := typedIn(s.get(t, link, http.StatusOK))
	form.Set("length", used)
	form.Set("reason", "measured again")
	s.post(t, link, form, http.StatusOK)
	for _, page := range []string{first, second, "/shopping"} {
		require.Contains(t, s.get(t, page, http.StatusOK), "both count on bolt "+bolt, page)
	}

	text = s.post(t, link+"/remove", nil, http.StatusOK)
	require.Contains(t, text, "Bags and More bags were to be cut from it: this cloth is being planned again.")
	s.planned(t, first)
	require.NotContains(t, s.get(t, first, http.StatusOK), "from "+bolt+"<")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// moreBags makes a batch of another order of four bags.
func (s site) moreBags(t *testing.T, number, name string) {
	t.Helper()
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.medium)"[^>]*aria-label="Sparrow, Kindling bag`).FindStringSubmatch(text)[1]
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(text)[1]
	s.post(t, "/orders", url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 20).Format(time.DateOnly)}, "number": {number}, box: {"4"}}, http.StatusOK)
	order := regexp.MustCompile(`name="orders" value="(\d+)"[^>]*>` + number).FindStringSubmatch(s.get(t, "/batches/new", http.StatusOK))[1]
	s.post(t, "/batches", url.Values{"name": {name}, "orders": {order}}, http.StatusOK)
}

// An order without a price is offered what it comes to by the maker's prices; a cancelled one has
// nothing to be paid.
func TestAnOrderIsOfferedItsPrice(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.(\d+)\.98)"[^>]*aria-label="Meadow on slate`).FindStringSubmatch(text)
	customer := regexp.MustCompile(`<option value="(\d+)">Osier Green Fair`).FindStringSubmatch(text)[1]
	order := url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 9).Format(time.DateOnly)}, "number": {"P-1"}, box[1]: {"2"}}
	text = s.post(t, "/orders", order, http.StatusOK)
	require.NotContains(t, text, "by your prices", "none is kept or typed yet")
	s.post(t, "/prices/"+box[2]+"/issue", nil, http.StatusOK)
	place := regexp.MustCompile(`action="(/orders/\d+)/price"`).FindStringSubmatch(text)[1]
	text = s.get(t, place, http.StatusOK)
	offered := regexp.MustCompile(`by your prices: \$([0-9.]+)<`).FindStringSubmatch(text)
	require.NotEmpty(t, offered)
	form := formOf(t, text, place+"/price", "price")
	require.Equal(t, offered[1], form.Get("price"))
	till := s.get(t, "/orders/fair?"+url.Values{box[1]: {"2"}}.Encode(), http.StatusOK)
	require.Equal(t, offered[1], formOf(t, till, "/orders/fair", "price").Get("price"), "the till asks the same")
	text = s.post(t, place+"/price", form, http.StatusOK)
	require.Contains(t, text, "<b>$"+offered[1]+"</b><span>balance to pay</span>")
	require.NotContains(t, text, "by your prices")

	text = s.post(t, place+"/state", url.Values{"to": {"cancelled"}, "version": {regexp.MustCompile(`name="version" value="(\d+)"`).FindStringSubmatch(text)[1]}}, http.StatusOK)
	require.Contains(t, text, "nothing is to be paid")
	require.NotContains(t, text, "balance to pay")
	require.NotContains(t, text, "Note the payment")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// undo presses the Undo of a notice.
func (s site) undo(t *testing.T, text string) string {
	t.Helper()
	form := regexp.MustCompile(`(?s)<div class="note notice" role="status">.*?<form method="post" action="([^"]+)">(.*?)<button class="plain">Undo</button></form>`).FindStringSubmatch(text)
	require.NotEmpty(t, form, "a notice with an undo")
	values := url.Values{}
	for _, field := range regexp.MustCompile(`name="([^"]+)" value="([^"]*)"`).FindAllStringSubmatch(form[2], -1) {
		values.Add(field[1], unescape(field[2]))
	}
	return s.post(t, form[1], values, http.StatusOK)
}

var unescape = strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&amp;", "&", "&#43;", "+").Replace

// typedIn reads what a form holds as it would be sent.
func typedIn(text string) url.Values {
	values := url.Values{}
	for _, tag := range regexp.MustCompile(`<input[^>]*>`).FindAllString(text, -1) {
		name := regexp.MustCompile(` name="([^"]+)"`).FindStringSubmatch(tag)
		value := regexp.MustCompile(` value="([^"]*)"`).FindStringSubmatch(tag)
		if name == nil || value == nil || strings.Contains(tag, "checkbox") && !strings.Contains(tag, " checked") {
			continue
		}
		values.Add(name[1], unescape(value[1]))
	}
	for _, box := range regexp.MustCompile(`(?s)<select[^>]* name="([^"]+)".*?</select>`).FindAllStringSubmatch(text, -1) {
		if chosen := regexp.MustCompile(`<option(?: value="([^"]*)")? selected>([^<]*)`).FindStringSubmatch(box[0]); chosen != nil {
			values.Set(box[1], unescape(chosen[1]))
			if chosen[1] == "" {
				values.Set(box[1], unescape(chosen[2]))
			}
		}
	}
	for _, box := range regexp.MustCompile(`(?s)<textarea[^>]* name="([^"]+)"[^>]*>(.*?)</textarea>`).FindAllStringSubmatch(text, -1) {
		values.Set(box[1], unescape(box[2]))
	}
	return values
}

// What is changed on the shelf or in a colourway can be taken back, and is then as it was.
func TestChangesAreTakenBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	shelf := s.get(t, "/shelf", http.StatusOK)
	style := regexp.MustCompile(`href="(/styles/\d+)"`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	way := regexp.MustCompile(`href="(/styles/\d+/colourways/\d+)"`).FindStringSubmatch(s.get(t, style, http.StatusOK))[1]
	paths := []string{way}
	for _, kind := range []string{"cloths", "bolts", "notions"} {
		for _, link := range regexp.MustCompile(`href="(/shelf/`+kind+`/\d+)"`).FindAllStringSubmatch(shelf, -1) {
			paths = append(paths, link[1])
		}
	}
	for _, path := range paths {
		before := typedIn(s.get(t, path, http.StatusOK))
		form := typedIn(s.get(t, path, http.StatusOK))
		form.Set("name", "Another name")
		if strings.Contains(path, "bolts") {
			form.Set("length", "1 1/8 yd")
			form.Set("reason", "measured again")
			form.Set("place", "elsewhere")
		}
		if strings.Contains(path, "cloths") {
			form.Set("full_width", "31 in")
			form.Set("discount", "12.5")
			form.Del("can_buy")
		}
		text := s.post(t, path, form, http.StatusOK)
		require.Equal(t, "Another name", typedIn(s.get(t, path, http.StatusOK)).Get("name"), path)
		s.undo(t, text)
		after := typedIn(s.get(t, path, http.StatusOK))
		before.Del("version")
		after.Del("version")
		require.Equal(t, before, after, path)
	}
	require.Contains(t, s.get(t, paths[len(paths)-1], http.StatusOK), "Save the notion")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A colourway that no order asks for is removed and comes back; one that is ordered stays.
func TestAColourwayIsRemovedAndComesBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := regexp.MustCompile(`href="(/styles/\d+)"`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	way := regexp.MustCompile(`href="(/styles/\d+/colourways/\d+)"`).FindStringSubmatch(s.get(t, style, http.StatusOK))[1]
	require.Contains(t, s.post(t, way+"/remove", nil, http.StatusUnprocessableEntity), "so it can&#39;t be removed")
	form := typedIn(s.get(t, way, http.StatusOK))
	form.Set("name", "Spare & new")
	form.Del("version")
	text := s.post(t, style+"/colourways", form, http.StatusOK)
	require.Contains(t, text, "Spare &amp; new")
	at := strings.Index(text, "Spare &amp; new")
	spare := regexp.MustCompile(`href="(/styles/\d+/colourways/\d+)"`).FindStringSubmatch(text[at:])[1]
	text = s.post(t, spare+"/remove", nil, http.StatusOK)
	require.Contains(t, text, "The colourway is removed.")
	require.NotContains(t, text, "<h3>Spare &amp; new")
	require.Contains(t, s.undo(t, text), "<h3>Spare &amp; new")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// What is done to a batch is taken back from the notice about it.
func TestStepsOfABatchAreTakenBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path := s.bagBatch(t)
	text := s.get(t, path, http.StatusOK)
	out := regexp.MustCompile(`action="(` + path + `/orders/\d+/out)"`).FindStringSubmatch(text)[1]
	text = s.post(t, out, hidden(t, text, out), http.StatusOK)
	require.Contains(t, text, "The orders of this batch have changed")
	text = s.undo(t, text)
	require.Contains(t, text, "The order is in this batch again.")
	require.NotContains(t, text, "The orders of this batch have changed")
	again := strings.Replace(out, "/out", "/in", 1)
	require.Contains(t, s.post(t, again, hidden(t, text, path+"/release"), http.StatusUnprocessableEntity), "in another batch by now")
	text = s.get(t, path, http.StatusOK)

	text = s.undo(t, s.post(t, path+"/release", hidden(t, text, path+"/release"), http.StatusOK))
	require.Contains(t, text, "Back to planning")
	text = s.post(t, path+"/release", hidden(t, text, path+"/release"), http.StatusOK)
	take := regexp.MustCompile(`action="(` + path + `/notions/\d+/take)"`).FindStringSubmatch(text)[1]
	text = s.undo(t, s.post(t, take, nil, http.StatusOK))
	require.Contains(t, text, "It is back on the shelf")
	lay := regexp.MustCompile(`action="(` + path + `/lays/\d+/cut)"`).FindStringSubmatch(text)[1]
	cut := typedIn(regexp.MustCompile(`(?s)<form method="post" action="` + lay + `".*?</form>`).FindString(text))
	text = s.undo(t, s.post(t, lay, cut, http.StatusOK))
	require.Contains(t, text, "The tick is taken back")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A removed batch is made again with its orders.
func TestARemovedBatchComesBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path := s.bagBatch(t)
	text := s.post(t, path+"/remove", hidden(t, s.get(t, path, http.StatusOK), path+"/remove"), http.StatusOK)
	require.Contains(t, text, "its orders are free again")
	text = s.undo(t, text)
	require.Contains(t, text, "<h1>Bags</h1>")
	require.Contains(t, text, "R-1")
}

// In an empty workshop each page says what to do first, and what was typed stays.
func TestEmptyPagesSayWhatToDoFirst(t *testing.T) {
	t.Parallel()
	s := serve(t, pgtest.URL(t))
	for _, test := range []struct{ path, want string }{
		{"/", "/shelf/cloths/new"},
		{"/orders", "/shelf/cloths/new"},
		{"/orders/new", "/shelf/cloths/new"},
		{"/orders/fair", "/styles"},
		{"/batches", "/shelf/cloths/new"},
		{"/batches/new", "/shelf/cloths/new"},
		{"/styles", "/styles/new"},
		{"/shelf", "/shelf/cloths/new"},
		{"/shelf/bolts/new", "/shelf/cloths/new"},
		{"/prices", "/shelf"},
		{"/prices/lists", "/styles"},
		{"/prices/basket", "/styles"},
		{"/prices/cloth", "/shelf/cloths/new"},
		{"/prices/line-sheet", "/styles"},
	} {
		text := s.get(t, test.path, http.StatusOK)
		main := text[strings.Index(text, "<main"):]
		require.Contains(t, main, `href="`+test.want+`"`, test.path)
	}
	require.NotContains(t, s.get(t, "/orders/new", http.StatusOK), "Save the order")
	require.NotContains(t, s.get(t, "/batches/new", http.StatusOK), "Make the batch and plan it")
	text := s.post(t, "/orders", url.Values{"new_customer": {"Fern & Co"}, "note": {"keep me"}, "due_on": {"soon"}}, http.StatusUnprocessableEntity)
	for _, want := range []string{"Fern &amp; Co", "keep me", "Begin with a cloth"} {
		require.Contains(t, text, want)
	}
	text = s.post(t, "/batches", url.Values{"name": {"Early run"}}, http.StatusUnprocessableEntity)
	require.Contains(t, text, "Early run")
	require.Contains(t, text, "Begin with a cloth")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

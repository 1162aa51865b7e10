package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/server/store"
)

// linkTo finds the address of a link by its words.
func linkTo(t *testing.T, text, words string) string {
	t.Helper()
	found := regexp.MustCompile(`href="([^"#]+)">` + regexp.QuoteMeta(words)).FindStringSubmatch(text)
	require.NotEmpty(t, found, words)
	return found[1]
}

// A cloth that nobody uses any more is put away and brought back; one that lies on the shelf stays,
// and one that nothing was ever of can be removed.
func TestClothIsPutAwayOrRemoved(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	used := linkTo(t, s.get(t, "/shelf", http.StatusOK), "Meadow print")
	require.Contains(t, s.post(t, used+"/away", nil, http.StatusUnprocessableEntity), "still on the shelf")
	require.Contains(t, s.post(t, used+"/remove", nil, http.StatusUnprocessableEntity), "so it can&#39;t be removed")

	s.post(t, "/shelf/cloths", url.Values{"name": {"Spare & old"}, "full_width": {"44 in"}, "price": {"5"}, "price_unit": {"yd"}, "design": {"solid"}, "nap": {"either way"}, "thickness": {"thin"}, "freight": {"3"}, "freight_length": {"4 yd"}}, http.StatusOK)
	spare := linkTo(t, s.get(t, "/shelf", http.StatusOK), "Spare &amp; old")
	way := regexp.MustCompile(`/styles/\d+/colourways/\d+`).FindString(s.get(t, regexp.MustCompile(`/styles/\d+`).FindString(s.get(t, "/styles", http.StatusOK)), http.StatusOK))
	offered := func() (places int) {
		for _, path := range []string{"/shelf/bolts/new", way} {
			if strings.Contains(s.get(t, path, http.StatusOK), "Spare &amp; old") {
				places++
			}
		}
		return places
	}
	require.Equal(t, 2, offered())
	text := s.post(t, spare+"/away", nil, http.StatusOK)
	require.Contains(t, text, "It is put away")
	require.Greater(t, strings.Index(text, "Spare &amp; old"), strings.Index(text, "<h2>Put away</h2>"))
	require.Zero(t, offered())
	require.Contains(t, s.get(t, spare, http.StatusOK), "Bring it back")
	s.undo(t, text)
	require.Equal(t, 2, offered())

	before := typedIn(s.get(t, spare, http.StatusOK))
	text = s.post(t, spare+"/remove", nil, http.StatusOK)
	require.Contains(t, text, "The cloth is removed.")
	s.get(t, spare, http.StatusNotFound)
	after := typedIn(s.get(t, linkTo(t, s.undo(t, text), "Spare &amp; old"), http.StatusOK))
	before.Del("page") // it comes back under another number
	after.Del("page")
	before.Del("version")
	after.Del("version")
	require.Equal(t, before, after)
	s.post(t, "/shelf/cloths/99999/away", nil, http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

func TestNotionIsPutAwayOrRemoved(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	used := linkTo(t, s.get(t, "/shelf", http.StatusOK), "Elastic")
	require.Contains(t, s.post(t, used+"/remove", nil, http.StatusUnprocessableEntity), "so it can&#39;t be removed")
	text := s.post(t, used+"/away", nil, http.StatusOK)
	require.Contains(t, text, "It is put away")
	require.Contains(t, s.get(t, "/prices", http.StatusOK), "$", "what has it is priced as before")
	s.undo(t, text)
	s.post(t, "/shelf/notions", url.Values{"name": {"Gift bag"}, "kind": {"counted"}, "buy_count": {"50"}, "buy_price": {"8"}, "in_stock": {"7"}, "packing": {"yes"}}, http.StatusOK)
	bag := linkTo(t, s.get(t, "/shelf", http.StatusOK), "Gift bag")
	require.Contains(t, s.post(t, bag+"/away", nil, http.StatusUnprocessableEntity), "goes out with every garment")
	text = s.post(t, bag+"/remove", nil, http.StatusOK)
	require.NotContains(t, text, "Gift bag</a>")
	require.Contains(t, s.undo(t, text), "Gift bag</a>")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// The damaged places of a bolt are written on its page, and measured from the end that is cut next.
// A bolt that was received by mistake is removed, and received anew with them.
func TestFaultsOfABolt(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	cloth := regexp.MustCompile(`<option value="(\d+)"[^>]*>Meadow print`).FindStringSubmatch(s.get(t, "/shelf/bolts/new", http.StatusOK))[1]
	received := url.Values{
		"cloth": {cloth}, "name": {"M-77"}, "length": {"6 yd"}, "place": {"by the door"},
		"fault.0.from": {"1 yd"}, "fault.0.to": {"1 1/8 yd"}, "fault.0.left": {"3"}, "fault.0.right": {"5 in"}, "fault.0.note": {"slub"},
		"fault.2.from": {"2 yd"}, "fault.2.to": {"2 1/4 yd"}, // right across
	}
	for _, test := range []struct{ name, field, typed, says string }{
		{"no end", "fault.0.to", "", "Write where the fault ends"},
		{"ends before it begins", "fault.0.to", "1/2 yd", "must end after it begins"},
		{"beyond the bolt", "fault.0.from", "7 yd", "must end after it begins"},
		{"not a length", "fault.0.from", "soon", "is not a"},
		{"beyond the selvage", "fault.0.right", "90 in", "The usable width is"},
		{"the wrong way round", "fault.0.left", "6 in", "must begin left of"},
	} {
		t.Run(test.name, func(t *testing.T) {
			values := url.Values{}
			for name, v := range received {
				values[name] = v
			}
			values.Set(test.field, test.typed)
			text := s.post(t, "/shelf/bolts", values, http.StatusUnprocessableEntity)
			require.Contains(t, text, test.says)
			require.Contains(t, text, `value="slub"`, "nothing typed is lost")
		})
	}
	bolt := linkTo(t, s.post(t, "/shelf/bolts", received, http.StatusOK), "M-77")
	typed := typedIn(s.get(t, bolt, http.StatusOK))
	require.Equal(t, "slub", typed.Get("fault.0.note"))
	require.Equal(t, "1 1/8 yd", typed.Get("fault.0.to"))
	require.NotEmpty(t, typed.Get("fault.1.right"), "right across the usable width")
	faults := func() (known []store.BoltFault) {
		all, err := s.store().BoltFaults(t.Context(), s.id)
		require.NoError(t, err)
		for _, f := range all {
			if f.Note == "slub" {
				known = append(known, f)
			}
		}
		return known
	}
	require.Len(t, faults(), 1)
	require.Equal(t, [4]length.Length{length.Yard, length.Yard + length.Yard/8, 3 * length.Inch, 5 * length.Inch}, [4]length.Length{faults()[0].FromLength, faults()[0].ToLength, faults()[0].FromWidth, faults()[0].ToWidth})

	// Saved as it stands nothing changes; emptied, a row is gone, and the undo brings it back.
	s.post(t, bolt, typed, http.StatusOK)
	require.Len(t, faults(), 1)
	typed = typedIn(s.get(t, bolt, http.StatusOK))
	for _, part := range []string{"from", "to", "left", "right", "note"} {
		typed.Set("fault.0."+part, "")
	}
	text := s.post(t, bolt, typed, http.StatusOK)
	require.Empty(t, faults())
	s.undo(t, text)
	require.Len(t, faults(), 1)

	text = s.post(t, bolt+"/remove", nil, http.StatusOK)
	require.Contains(t, text, "The bolt is removed.")
	require.Empty(t, faults())
	require.Contains(t, s.undo(t, text), "M-77")
	require.Len(t, faults(), 1)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A colourway that is put away isn't offered any more, but stays in the orders that have it; a
// style is removed once it has none.
func TestColourwayIsPutAway(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	const name = "Meadow on slate"
	style := linkTo(t, s.get(t, "/styles", http.StatusOK), "Puddle skirt")
	way := regexp.MustCompile(`<h3>` + name + `[\s\S]*?href="(/styles/\d+/colourways/\d+)"`).FindStringSubmatch(s.get(t, style, http.StatusOK))[1]
	var order string
	for _, path := range regexp.MustCompile(`href="(/orders/\d+)"`).FindAllStringSubmatch(s.get(t, "/orders", http.StatusOK), -1) {
		if strings.Contains(s.get(t, path[1], http.StatusOK), name) {
			order = path[1]
			break
		}
	}
	require.NotEmpty(t, order)
	places := []string{"/orders/new", "/orders/fair", "/prices", "/prices/lists", "/prices/basket", "/prices.csv", "/styles"}
	for _, path := range places {
		require.Contains(t, s.get(t, path, http.StatusOK), name, path)
	}
	text := s.post(t, way+"/away", nil, http.StatusOK)
	require.Contains(t, text, name+` <span class="tag">put away</span>`)
	for _, path := range places {
		require.NotContains(t, s.get(t, path, http.StatusOK), name, path)
	}
	require.Contains(t, s.get(t, order, http.StatusOK), name)
	require.Contains(t, s.get(t, order+"/edit", http.StatusOK), name)
	s.undo(t, text)
	require.Contains(t, s.get(t, "/orders/new", http.StatusOK), name)

	// A style without a colourway can be removed; one with some can't.
	require.Contains(t, s.post(t, style+"/remove", nil, http.StatusConflict), "A colourway is of this style")
	chart := regexp.MustCompile(`<option value="(\d+)"`).FindStringSubmatch(s.get(t, "/styles/new?starter=Drawstring+bag", http.StatusOK))[1]
	made := s.post(t, "/styles", url.Values{"starter": {"Drawstring bag"}, "name": {"Mistaken bag"}, "chart": {chart}}, http.StatusOK)
	mistaken := regexp.MustCompile(`action="(/styles/\d+)/remove"`).FindStringSubmatch(made)[1]
	require.Contains(t, s.post(t, mistaken+"/remove", nil, http.StatusOK), "The style is removed.")
	s.get(t, mistaken, http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

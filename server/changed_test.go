package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// formOf reads what a browser would send of the form of a page that goes to an address and
// has a field; other forms of the page are left alone.
func formOf(t *testing.T, text, action, field string) url.Values {
	t.Helper()
	document, err := html.Parse(strings.NewReader(text))
	require.NoError(t, err)
	for _, form := range findAll(document, func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == action }) {
		values := url.Values{}
		for _, control := range findAll(form, having("name")) {
			name := attr(control, "name")
			switch kind := attr(control, "type"); {
			case control.Data == "select":
				options := findAll(control, func(n *html.Node) bool { return n.Data == "option" })
				chosen := options[0]
				for _, o := range options {
					if having("selected")(o) {
						chosen = o
					}
				}
				value := said(chosen)
				if having("value")(chosen) {
					value = attr(chosen, "value")
				}
				values.Add(name, value)
			case control.Data == "textarea":
				var typed strings.Builder
				for node := range control.Descendants() {
					typed.WriteString(node.Data)
				}
				values.Add(name, typed.String())
			case kind == "checkbox" || kind == "radio":
				if having("checked")(control) {
					values.Add(name, attr(control, "value"))
				}
			case control.Data == "input":
				values.Add(name, attr(control, "value"))
			}
		}
		if values.Has(field) {
			return values
		}
	}
	require.Fail(t, "no form to "+action+" with "+field)
	return nil
}

// find is the first match of a pattern on a page.
func (s site) find(t *testing.T, page, pattern string) string {
	t.Helper()
	found := regexp.MustCompile(pattern).FindString(s.get(t, page, http.StatusOK))
	require.NotEmpty(t, found, page)
	return found
}

// postFrom posts a form as the page that it stands on does, and follows where it leads.
func (s site) postFrom(t *testing.T, page, action string, values url.Values, status int) string {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL+action, strings.NewReader(values.Encode()))
	require.NoError(t, err)
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Referer", s.URL+page)
	response, err := s.Client().Do(request)
	require.NoError(t, err)
	return s.read(t, response, status, action)
}

// Every form that changes something tells the second of two people what the first has saved,
// keeps what was typed, and never overwrites unseen: not even after a slip of the second.
func TestTheSecondOfTwoIsTold(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style, order := s.find(t, "/styles", `/styles/\d+`), s.find(t, "/orders", `/orders/\d+`)
	way, price := s.find(t, style, style+`/colourways/\d+`), s.find(t, "/prices", `/prices/\d+`)
	chart := s.find(t, "/styles", `/charts/\d+`)
	edit := s.post(t, chart+"/copy", url.Values{"name": {"Our copy"}}, http.StatusOK)
	chart = regexp.MustCompile(`action="(/charts/\d+)"`).FindStringSubmatch(edit)[1]
	cloth, bolt, notion := s.find(t, "/shelf", `/shelf/cloths/\d+`), s.find(t, "/shelf", `/shelf/bolts/\d+`), s.find(t, "/shelf", `/shelf/notions/\d+`)
	channel := s.find(t, "/workshop", `/workshop/channels/\d+`)
	seams := formOf(t, s.get(t, style+"/seams", http.StatusOK), style+"/seams", "seam.0.name")
	seams.Set("seam.0.name", "side seams")
	seams.Set("seam.0.class", "301")
	seams.Set("seam.0.length", "2*waist")
	s.post(t, style+"/seams", seams, http.StatusOK)
	expenses := formOf(t, s.get(t, price+"/expenses", http.StatusOK), price+"/expenses", "expense.0.name")
	expenses.Set("expense.0.name", "Dyeing")
	expenses.Set("expense.0.amount", "18")
	s.post(t, price+"/expenses", expenses, http.StatusOK)
	worth := regexp.MustCompile(`worth\.\d+`).FindString(s.get(t, "/prices/cloth", http.StatusOK))
	box := regexp.MustCompile(`q\.\d+\.104`).FindString(s.get(t, order+"/edit", http.StatusOK))
	for _, test := range []struct {
		name, page, action, field string
		// theirs and mine are what the two write; slip is refused at the field, where there is one.
		theirs, mine, slip string
	}{
		{"order", order + "/edit", order, "note", "blue door", "green gate", ""},
		{"size run", order + "/edit", order, box, "41", "42", "two"},
		{"price of an order", order, order + "/price", "price", "310.50", "320.50", "-1"},
		{"allowances", style, style, "allowance.seam", "1/2 in", "3/8 in", "wide"},
		{"minutes of steps", style, style + "/steps", "step.0.each", "7.25", "8.5", "long"},
		{"piece", style + "/pieces/0", style + "/pieces/0", "note", "mind the nap", "press first", ""},
		{"colourway", way, way, "name", "Theirs", "Mine", ""},
		{"seams", style + "/seams", style + "/seams", "seam.0.name", "first seam", "seam one", ""},
		{"size chart", chart + "/edit", chart, "name", "Chart of theirs", "Chart of mine", ""},
		{"cloth", cloth, cloth, "content", "cotton", "linen", ""},
		{"bolt", bolt, bolt, "place", "box 7", "box 8", ""},
		{"notion", notion, notion, "name", "Their notion", "My notion", ""},
		{"settings", "/workshop", "/workshop", "wage", "21.00", "22.00", "lots"},
		{"how we count", "/workshop/choices", "/workshop/choices", "allowance", "11", "12", "lots"},
		{"costs of the year", "/workshop/year", "/workshop/year", "cost.0.name", "Their rent", "My rent", ""},
		{"channel", channel, channel, "name", "Their channel", "My channel", ""},
		{"one price for all", price, price, "one_price", "every size pays", "the mix pays", ""},
		{"sales in a year", price + "/minutes", price + "/minutes", "year_sales", "111", "222", "many"},
		{"direct expenses", price + "/expenses", price + "/expenses", "expense.0.amount", "41.50", "42.50", "-1"},
		{"worth of a bolt", "/prices/cloth", "/prices/cloth", worth, "1.25", "2.25", "-1"},
	} {
		t.Run(test.name, func(t *testing.T) {
			began := formOf(t, s.get(t, test.page, http.StatusOK), test.action, test.field)
			with := func(value string) url.Values {
				values := url.Values{}
				for name, v := range began {
					values[name] = v
				}
				values.Set(test.field, value)
				return values
			}
			post := func(values url.Values, status int) string {
				t.Helper()
				return s.postFrom(t, test.page, test.action, values, status)
			}
			post(with(test.theirs), http.StatusOK)

			mine := with(test.mine)
			if test.slip != "" {
				refused := post(with(test.slip), http.StatusUnprocessableEntity)
				require.Contains(t, refused, "Somebody else has saved this in the meantime", "a slip doesn't hide the change")
				require.NotEqual(t, began.Get("version"), formOf(t, refused, test.action, test.field).Get("version"))
			}
			refused := post(mine, http.StatusUnprocessableEntity)
			document, err := html.Parse(strings.NewReader(refused))
			require.NoError(t, err)
			told := findAll(document, classed("changed"))
			require.Len(t, told, 1)
			rows := findAll(told[0], func(n *html.Node) bool { return n.Data == "tr" })
			require.Len(t, rows, 2, "the field that differs and no other: %s", said(told[0]))
			for _, value := range []string{test.theirs, test.mine} {
				if words := map[string]string{"every size pays": "the dearest size", "the mix pays": "the usual mix"}[value]; words != "" {
					value = words // an option is told as it reads
				}
				require.Contains(t, said(rows[1]), value)
			}
			again := formOf(t, refused, test.action, test.field)
			require.Equal(t, test.mine, again.Get(test.field), "what was typed is kept")

			// Having seen both, the second saves.
			post(again, http.StatusOK)
			require.Equal(t, test.mine, formOf(t, s.get(t, test.page, http.StatusOK), test.action, test.field).Get(test.field))

			// A slip without a change by somebody else keeps the version that the form began from.
			if test.slip != "" {
				now := formOf(t, s.get(t, test.page, http.StatusOK), test.action, test.field)
				slip := url.Values{}
				for name, v := range now {
					slip[name] = v
				}
				slip.Set(test.field, test.slip)
				refused := post(slip, http.StatusUnprocessableEntity)
				require.NotContains(t, refused, "in the meantime")
				require.Equal(t, now.Get("version"), formOf(t, refused, test.action, test.field).Get("version"))
			}
		})
	}
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// What somebody else has removed is said, and what was typed can still be copied.
func TestWhatWasRemovedMeanwhile(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/workshop", http.StatusOK)
	channel := regexp.MustCompile(`/workshop/channels/\d+`).FindString(text)
	s.post(t, channel+"/remove", nil, http.StatusOK)
	s.post(t, channel, url.Values{"version": {"1"}, "name": {"Mine"}}, http.StatusNotFound)
}

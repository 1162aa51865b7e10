package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// Whatever a form changes can be taken back from the notice about it, and is then as it was; and that
// can be taken back as well.
func TestEveryFormIsTakenBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style, order, price := s.find(t, "/styles", `/styles/\d+`), s.find(t, "/orders", `/orders/\d+`), s.find(t, "/prices", `/prices/\d+`)
	edit := s.post(t, s.find(t, "/styles", `/charts/\d+`)+"/copy", url.Values{"name": {"Our copy"}}, http.StatusOK)
	chart := regexp.MustCompile(`action="(/charts/\d+)"`).FindStringSubmatch(edit)[1]
	channel := s.find(t, "/workshop", `/workshop/channels/\d+`)
	worth := regexp.MustCompile(`worth\.\d+`).FindString(s.get(t, "/prices/cloth", http.StatusOK))
	box := regexp.MustCompile(`q\.\d+\.104`).FindString(s.get(t, order+"/edit", http.StatusOK))
	for _, test := range []struct{ name, page, action, field, typed string }{
		{"size run of an order", order + "/edit", order, box, "41"},
		{"price of an order", order, order + "/price", "price", "310.50"},
		{"allowances", style, style, "allowance.seam", "1/2 in"},
		{"minutes of steps", style, style + "/steps", "step.0.each", "7.25"},
		{"name of a style", style + "/edit", style + "/edit", "name", "Another name"},
		{"piece", style + "/pieces/0", style + "/pieces/0", "note", "mind the nap"},
		{"seams", style + "/seams", style + "/seams", "seam.0.name", "first seam"},
		{"size chart", chart + "/edit", chart, "name", "Chart of theirs"},
		{"settings", "/workshop", "/workshop", "wage", "21.00"},
		{"how we count", "/workshop/choices", "/workshop/choices", "allowance", "11"},
		{"costs of the year", "/workshop/year", "/workshop/year", "cost.0.name", "Their rent"},
		{"channel", channel, channel, "name", "Their channel"},
		{"direct expenses", price + "/expenses", price + "/expenses", "expense.0.name", "Dyeing"},
		{"worth of a bolt", "/prices/cloth", "/prices/cloth", worth, "1.25"},
	} {
		t.Run(test.name, func(t *testing.T) {
			form := func() url.Values {
				values := formOf(t, s.get(t, test.page, http.StatusOK), test.action, test.field)
				values.Del("version")
				return values
			}
			before := form()
			typed := formOf(t, s.get(t, test.page, http.StatusOK), test.action, test.field)
			typed.Set(test.field, test.typed)
			if test.name == "direct expenses" {
				typed.Set("expense.0.amount", "18")
			}
			if test.name == "seams" && typed.Get("seam.0.length") == "" {
				typed.Set("seam.0.class", "301")
				typed.Set("seam.0.length", "2*waist")
			}
			text := s.postFrom(t, test.page, test.action, typed, http.StatusOK)
			changed := form()
			require.Equal(t, test.typed, changed.Get(test.field))
			text = s.undo(t, text)
			require.Equal(t, before, form())
			s.undo(t, text)
			require.Equal(t, changed, form())
		})
	}
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// Minutes that are typed for a yard are taken back for a yard, whatever the settings count in by then.
func TestUnitsAreTakenBack(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	before, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	typed := formOf(t, s.get(t, "/workshop", http.StatusOK), "/workshop", "system")
	typed.Set("system", "metric")
	text := s.post(t, "/workshop", typed, http.StatusOK)
	require.Contains(t, s.get(t, "/workshop", http.StatusOK), "to spread a metre of ply")
	s.undo(t, text)
	after, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	after.Version = before.Version
	require.Equal(t, before, after)
}

// What is wrong in one form of a page leaves the page's other forms as they are saved.
func TestARefusedFormLeavesTheOthers(t *testing.T) {
	t.Parallel()
	s := serve(t, pgtest.URL(t))
	s.saves(t, "/workshop", url.Values{"wage": {"21"}})
	typed := formOf(t, s.get(t, "/workshop", http.StatusOK), "/workshop", "wage")
	typed.Set("straight_cuts", "yes")
	s.post(t, "/workshop", typed, http.StatusOK)
	owner := url.Values{"owner_name": {"Ann"}, "password": {"pigeon"}, "page": {"/workshop"}}
	text := s.post(t, "/people/first", owner, http.StatusUnprocessableEntity)
	require.Contains(t, text, `autocomplete="username" name="owner_name" value="Ann"`)
	require.NotContains(t, text, "pigeon")
	require.Equal(t, "yes", formOf(t, text, "/workshop", "wage").Get("straight_cuts"))
}

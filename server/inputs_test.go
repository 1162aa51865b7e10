package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"yardwright/batch/length"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// attribute reads an attribute of an element.
func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

// elements lists the elements of a page that have one of the names; all if none is given.
func elements(n *html.Node, names ...string) (found []*html.Node) {
	for c := range n.Descendants() {
		if c.Type == html.ElementNode && (len(names) == 0 || slices.Contains(names, c.Data)) {
			found = append(found, c)
		}
	}
	return found
}

func textOf(n *html.Node) (text string) {
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			text += c.Data
		}
	}
	return strings.TrimSpace(text)
}

func parsed(t *testing.T, text string) *html.Node {
	t.Helper()
	page, err := html.Parse(strings.NewReader(text))
	require.NoError(t, err)
	return page
}

// checkTies looks whether each field of a page in error points at the text that says why, each
// such text is pointed at, and each hint too. It returns the names of the fields in error.
func checkTies(t *testing.T, path string, page *html.Node) (wrong []string) {
	t.Helper()
	byID, described := map[string]*html.Node{}, map[string]bool{}
	for _, n := range elements(page) {
		if id := attribute(n, "id"); id != "" {
			require.Nil(t, byID[id], "%s: the id %s appears twice", path, id)
			byID[id] = n
		}
	}
	for _, n := range elements(page) {
		ids := strings.Fields(attribute(n, "aria-describedby"))
		if attribute(n, "aria-invalid") == "true" {
			wrong = append(wrong, attribute(n, "name"))
			require.NotEmpty(t, ids, "%s: %s is in error and points at nothing", path, attribute(n, "name"))
			require.Equal(t, "bad", attribute(byID[ids[0]], "class"), "%s: %s", path, attribute(n, "name"))
		}
		for _, id := range ids {
			require.NotNil(t, byID[id], "%s: nothing has the id %s", path, id)
			require.NotEmpty(t, textOf(byID[id]), "%s: %s", path, id)
			described[id] = true
		}
	}
	for id := range byID {
		if strings.HasPrefix(id, "hint-") || strings.HasPrefix(id, "wrong-") {
			require.True(t, described[id], "%s: no field points at %s", path, id)
		}
	}
	return wrong
}

// formPages are the pages with forms that take words and numbers.
func (s site) formPages(t *testing.T) []string {
	t.Helper()
	ctx := t.Context()
	ways, err := s.service.Colourways(ctx, s.id)
	require.NoError(t, err)
	style := ways[0].StyleID
	bolts, err := s.service.Bolts(ctx, s.id)
	require.NoError(t, err)
	charts, err := s.service.Charts(ctx, s.id)
	require.NoError(t, err)
	own, err := s.service.CopyChart(ctx, s.id, charts[0].ID, "Our own sizes")
	require.NoError(t, err)
	return []string{
		"/workshop", "/workshop/choices", "/workshop/year", "/workshop/channels/new", "/shelf/cloths/new", "/shelf/bolts/new", "/shelf/notions/new",
		fmt.Sprintf("/shelf/bolts/%d", bolts[0].ID), "/styles/new", fmt.Sprintf("/styles/%d", style), fmt.Sprintf("/styles/%d/edit", style), fmt.Sprintf("/styles/%d/pieces/new", style),
		fmt.Sprintf("/styles/%d/pieces/0", style), fmt.Sprintf("/styles/%d/colourways/new", style), fmt.Sprintf("/styles/%d/seams", style),
		fmt.Sprintf("/styles/%d/steps/0/study", style), fmt.Sprintf("/charts/%d", charts[0].ID), fmt.Sprintf("/charts/%d/edit", own),
		"/orders/new", "/orders/fair", "/batches/new", "/prices/cloth",
	}
}

// filled is what a form sends if everything that can be typed is far too long for anything.
func filled(form *html.Node, word string) (values url.Values, typed []string) {
	values = url.Values{}
	for _, n := range elements(form, "input", "textarea", "select", "button") {
		name := attribute(n, "name")
		switch kind := attribute(n, "type"); {
		case name == "" || n.Data == "button" || kind == "radio" || kind == "checkbox" || kind == "password":
		case n.Data == "textarea" || kind == "text" && !slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == "readonly" }):
			values.Set(name, word)
			typed = append(typed, name)
		case n.Data == "select":
			for _, o := range elements(n, "option") {
				if value := attribute(o, "value"); !values.Has(name) && (value != "" || attribute(o, "value") == "" && textOf(o) != "choose") {
					if value == "" {
						value = textOf(o)
					}
					values.Set(name, value)
				}
			}
		default:
			values.Set(name, attribute(n, "value"))
		}
	}
	return values, typed
}

// Every text that can be typed anywhere has a bound, and is refused at its field: nothing is cut
// off, nothing is saved, and the field points at what is wrong with it.
func TestWhatIsFarTooLongIsRefusedAtItsField(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, path := range s.formPages(t) {
		page := parsed(t, s.get(t, path, http.StatusOK))
		checkTies(t, path, page)
		tried := 0
		for _, form := range elements(page, "form") {
			values, typed := filled(form, strings.Repeat("x", 1001))
			if attribute(form, "method") != "post" || len(typed) == 0 || attribute(form, "action") == "/people/first" {
				continue
			}
			action := attribute(form, "action")
			if action == "" {
				action = path
			}
			answer := parsed(t, s.post(t, action, values, http.StatusUnprocessableEntity))
			wrong := checkTies(t, action, answer)
			for _, name := range typed {
				require.Contains(t, wrong, name, "%s on %s", action, path)
			}
			tried++
		}
		require.Positive(t, tried, path)
	}
}

// problemsIn are what the top of a refused page says.
func problemsIn(t *testing.T, text string) (said []string) {
	t.Helper()
	for _, n := range elements(parsed(t, text), "div") {
		if attribute(n, "id") == "problems" {
			for _, item := range elements(n, "li") {
				said = append(said, textOf(item))
			}
		}
	}
	return said
}

// formOf is what the form with an action sends if nothing in it is changed.
func (s site) formOf(t *testing.T, path, action string) url.Values {
	t.Helper()
	return fields(s.get(t, path, http.StatusOK), action)
}

// change is one field with what is typed into it.
type change struct{ field, typed string }

// refuses changes fields of a form and expects to be told one thing, once, at one field.
func (s site) refuses(t *testing.T, path, action string, at, says string, changes ...change) {
	t.Helper()
	values := s.formOf(t, path, action)
	for _, c := range changes {
		values.Set(c.field, c.typed)
	}
	text := s.post(t, action, values, http.StatusUnprocessableEntity)
	said := problemsIn(t, text)
	require.Len(t, said, 1, "%v", said)
	require.Contains(t, said[0], says)
	require.Equal(t, []string{at}, checkTies(t, path, parsed(t, text)))
	for _, c := range changes {
		require.Contains(t, text, html.EscapeString(c.typed), "what was typed comes back")
	}
}

func TestSettingsThatNoWorkshopHas(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, test := range []struct {
		name, at, says string
		changes        []change
	}{
		{"no room on the table", "end_loss", "Write a smaller loss, or a longer table.", []change{{"table_length", "20 in"}, {"end_loss", "9 in"}}},
		{"a table of an inch", "table_length", "Write a length between 7⅞ in and 109 yd.", []change{{"table_length", "1 in"}}},
		{"an end loss longer than any", "end_loss", "Write a length between 0 and 39¼ in.", []change{{"end_loss", "60 in"}}},
		{"no wage", "wage", "cost sheets and prices are worked out from it", []change{{"wage", ""}}},
		{"a name of two lines", "name", "Write it on one line", []change{{"name", "Quill\tfen"}}},
		{"a pace of a million", "efficiency", "Write an efficiency above 0 and at most 300 %.", []change{{"efficiency", "1000000"}}},
		{"a gap of a yard", "gap", "Write a length between 0 and 7¾ in.", []change{{"gap", "1 yd"}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			s.refuses(t, "/workshop", "/workshop", test.at, test.says, test.changes...)
		})
	}
}

func TestHoursThatNoYearHas(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, test := range []struct {
		name, at, says string
		changes        []change
	}{
		{"a Monday of 9999 minutes", "day.1", "A Monday has 1440 minutes, and 2 people work here: write at most 2880", []change{{"day.1", "9999"}}},
		{"no day", "day.1", "Write on which days you work", []change{{"day.1", "0"}, {"day.2", "0"}, {"day.3", "0"}, {"day.4", "0"}, {"day.5", "0"}, {"day.6", ""}}},
		{"60 weeks", "weeks", "at most 53 weeks", []change{{"weeks", "60"}}},
		{"nothing productive", "productive", "Write more than 0 %", []change{{"productive", "0"}}},
		{"nobody", "people", "how many work", []change{{"people", "0"}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			s.refuses(t, "/workshop/year", "/workshop/year", test.at, test.says, test.changes...)
		})
	}
}

// The calendar, the overhead and what an hour earns follow from the hours of the year page.
func TestHoursHaveOneSource(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	done := func() string {
		plan, err := s.service.PlanNow(t.Context(), s.id, 1, 1)
		require.NoError(t, err)
		return plan.DoneBy.Format("2006-01-02")
	}
	price := regexp.MustCompile(`href="(/prices/\d+)">Meadow on slate`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
	sheet := func() string { return s.get(t, price+"/size/104", http.StatusOK) }
	require.Contains(t, sheet(), "Unpaid hours")
	require.Contains(t, sheet(), "You work 2,438 hours a year, and 1,463 of them make garments.", "53 h a week in 46 weeks, 60 % of them productive")
	before, hour := done(), earns(t, s.get(t, price, http.StatusOK))
	values := s.formOf(t, "/workshop/year", "/workshop/year")
	values.Set("productive", "90")
	s.post(t, "/workshop/year", values, http.StatusOK)
	require.Less(t, done(), before, "more hours of a day make garments")
	require.Contains(t, s.get(t, "/workshop", http.StatusOK), "2,194 of them make garments")
	// The other convention: a garment costs less, and prices fall with it.
	values = s.formOf(t, "/workshop/year", "/workshop/year")
	values.Set("productive", "60")
	values.Set("unpaid_hours", "from profit")
	s.post(t, "/workshop/year", values, http.StatusOK)
	require.NotContains(t, sheet(), "Unpaid hours")
	require.NotEqual(t, hour, earns(t, s.get(t, price, http.StatusOK)))
}

func earns(t *testing.T, text string) string {
	t.Helper()
	return regexp.MustCompile(`data-name="An hour earns">([^<]+)<`).FindStringSubmatch(text)[1]
}

// What elastic may come out too long, and what is kept back of a roll, are settings with defaults.
func TestRollAllowancesAreSettings(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	values := s.formOf(t, "/workshop", "/workshop")
	require.Equal(t, []string{"1/8 in", "1 in"}, []string{values.Get("cut_tolerance"), values.Get("roll_end")})
	values.Set("cut_tolerance", "0")
	values.Set("roll_end", "2 1/2")
	s.post(t, "/workshop", values, http.StatusOK)
	w, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	require.Equal(t, []length.Length{0, 5 * length.Inch / 2}, []length.Length{w.CutTolerance, w.RollEnd})
}

// Whatever is wrong with the settings is said at once, each at its field: what can't be read, what
// no workshop has, and a currency that would relabel what is stored.
func TestAllThatIsWrongWithSettingsIsSaidAtOnce(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	values := s.formOf(t, "/workshop", "/workshop")
	for field, typed := range map[string]string{
		"name": "", "wage": "lots", "efficiency": "400", "overhead_year": "-1", "table_length": "20 in", "end_loss": "9 in", "gap": "1 yd", "currency": "EUR", "bundle_minutes": "5000",
	} {
		values.Set(field, typed)
	}
	text := s.post(t, "/workshop", values, http.StatusUnprocessableEntity)
	wrong := checkTies(t, "/workshop", parsed(t, text))
	require.ElementsMatch(t, []string{"name", "wage", "efficiency", "overhead_year", "table_length", "gap", "currency", "bundle_minutes"}, append(without(wrong, "end_loss"), "table_length"))
	require.Contains(t, wrong, "end_loss", "the table is too short for its ends")
	require.Contains(t, text, "Nothing is converted")
	require.Contains(t, text, `name="keep_numbers"`)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

func without(list []string, gone string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(s string) bool { return s == gone })
}

// Minutes are typed for a yard where cloth is measured in yards, and come back as they were typed.
func TestMinutesForAYard(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	require.Contains(t, s.get(t, "/workshop", http.StatusOK), "to spread a yard of ply")
	values := s.formOf(t, "/workshop", "/workshop")
	before, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	s.post(t, "/workshop", values, http.StatusOK)
	after, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	require.Equal(t, before.SpreadMinutes.String(), after.SpreadMinutes.String(), "saving what the page shows changes nothing")
	values = s.formOf(t, "/workshop", "/workshop")
	values.Set("spread_minutes", "0.55")
	s.post(t, "/workshop", values, http.StatusOK)
	require.Equal(t, "0.55", s.formOf(t, "/workshop", "/workshop").Get("spread_minutes"))
	after, err = s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	require.Equal(t, "0.601487", after.SpreadMinutes.String(), "0.55 ÷ 0.9144, for a metre")
	values = s.formOf(t, "/workshop", "/workshop")
	values.Set("system", "metric")
	s.post(t, "/workshop", values, http.StatusOK)
	require.Contains(t, s.get(t, "/workshop", http.StatusOK), "to spread a metre of ply")
	require.Equal(t, "0.601", s.formOf(t, "/workshop", "/workshop").Get("spread_minutes"))
}

// A bare length of a bolt counts in the unit that the page names beside the field.
func TestTheUnitOfABoltStandsBesideIt(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, test := range []struct {
		system, hint string
		want         length.Length
	}{{"imperial", "in yd unless you write another unit", 12 * length.Yard}, {"metric", "in m unless you write another unit", 12 * length.Metre}} {
		settings := s.formOf(t, "/workshop", "/workshop")
		settings.Set("system", test.system)
		s.post(t, "/workshop", settings, http.StatusOK)
		require.Contains(t, s.get(t, "/shelf/bolts/new", http.StatusOK), test.hint)
		cloths, err := s.service.Cloths(t.Context(), s.id)
		require.NoError(t, err)
		bolt := url.Values{"cloth": {fmt.Sprint(cloths[0].ID)}, "name": {"Bare " + test.system}, "length": {"12"}}
		s.post(t, "/shelf/bolts", bolt, http.StatusOK)
		bolts, err := s.service.Bolts(t.Context(), s.id)
		require.NoError(t, err)
		at := slices.IndexFunc(bolts, func(b store.Bolt) bool { return b.Name == "Bare "+test.system })
		require.Equal(t, test.want, bolts[at].Length)
	}
}

func TestClothsAndBoltsThatNobodyHas(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	bolts, err := s.service.Bolts(t.Context(), s.id)
	require.NoError(t, err)
	cloth, bolt := fmt.Sprintf("/shelf/cloths/%d", bolts[0].ClothID), fmt.Sprintf("/shelf/bolts/%d", bolts[0].ID)
	s.refuses(t, cloth, cloth, "full_width", "Write a length between ½ in and 10⅞ yd.", change{"full_width", "1000 m"})
	s.refuses(t, cloth, cloth, "content", "Write at most 200 letters.", change{"content", strings.Repeat("w", 201)})
	s.refuses(t, cloth, cloth, "name", "Write at most 80 letters.", change{"name", strings.Repeat("w", 81)})
	s.refuses(t, bolt, bolt, "length", "Write a length between 0 and 10900 yd.", change{"length", "10001 m"}, change{"reason", "measured"})
	s.refuses(t, bolt, bolt, "length", "Write the length that is on it; 0 if it is used up.", change{"length", ""})
	s.refuses(t, bolt, bolt, "price", "Write a number of at most 1,000,000,000.", change{"price", "9999999999"})
	s.refuses(t, bolt, bolt, "lot", "Write at most 80 letters.", change{"lot", strings.Repeat("w", 81)})
	s.refuses(t, bolt, bolt, "lot", "Write it on one line", change{"lot", "a\tb"})
	// What has no content leaves no comma before nothing.
	values := s.formOf(t, cloth, cloth)
	values.Set("content", "")
	s.post(t, cloth, values, http.StatusOK)
	require.NotContains(t, s.get(t, "/shelf", http.StatusOK), ",  ·")
}

// An allowance out of its range is refused once, at its field, with what it may be.
func TestAllowancesAreRefusedAtTheirField(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	styles, err := s.service.Styles(t.Context(), s.id)
	require.NoError(t, err)
	at := slices.IndexFunc(styles, func(style store.Style) bool { _, ok := style.Allowance("band_depth"); return ok })
	path := fmt.Sprintf("/styles/%d", styles[at].ID)
	for _, test := range []struct{ name, field, typed, says string }{
		{"a seam below zero", "allowance.seam", "-1", "Seam allowance must be between 0 and 3 in."},
		{"no fullness", "allowance.fullness", "0", "Fullness must be between 1 and 6."},
		{"fullness below zero", "allowance.fullness", "-1", "Fullness must be between 1 and 6."},
		{"fullness of 1000", "allowance.fullness", "1000", "Fullness must be between 1 and 6."},
		{"a pocket of 1000 in", "allowance.pocket_depth", "1000", "Finished pocket depth must be between ½ and 30 in."},
		{"a piece that does not come out, in any size", "allowance.band_depth", "39", "The piece panel would not come out, in size "},
	} {
		t.Run(test.name, func(t *testing.T) {
			s.refuses(t, path, path, test.field, test.says, change{test.field, test.typed})
		})
	}
	require.Contains(t, s.get(t, path, http.StatusOK), "between 0 and 3 in; called")
}

// A new currency converts nothing, which has to be agreed to; what was issued keeps its own.
func TestANewCurrencyIsAgreedTo(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	channels, err := s.service.Channels(t.Context(), s.id)
	require.NoError(t, err)
	ways, err := s.service.Colourways(t.Context(), s.id)
	require.NoError(t, err)
	list, err := s.service.IssuePriceList(workshop.AtOnce(t.Context()), s.id, channels[0].ID, []int64{ways[0].ID})
	require.NoError(t, err)
	issued := fmt.Sprintf("/prices/lists/%d", list)
	require.Contains(t, s.get(t, issued, http.StatusOK), "Prices in USD")
	prices := regexp.MustCompile(`\$[0-9.]+`).FindAllString(s.get(t, issued, http.StatusOK), -1)
	require.NotEmpty(t, prices)
	s.refuses(t, "/workshop", "/workshop", "currency", "Nothing is converted", change{"currency", "EUR"})
	values := s.formOf(t, "/workshop", "/workshop")
	values.Set("currency", "EUR")
	require.Contains(t, s.post(t, "/workshop", values, http.StatusUnprocessableEntity), `name="keep_numbers"`)
	values.Set("keep_numbers", "yes")
	s.post(t, "/workshop", values, http.StatusOK)
	now, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	require.Equal(t, "EUR", now.Currency)
	text := s.get(t, issued, http.StatusOK)
	require.Contains(t, text, "Prices in USD")
	require.Equal(t, prices, regexp.MustCompile(`\$[0-9.]+`).FindAllString(text, -1))
}

// Boxes take money, minutes and lengths as makers write them and as our own pages print them, and
// show back what was typed.
func TestBoxesTakeWhatMakersType(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	s.saves(t, "/workshop", url.Values{"wage": {"$28"}, "overhead_year": {"6.400,50"}, "lay_set_up_minutes": {"3 min 30"}, "bundle_minutes": {"0:02"}, "table_length": {"2 m"}, "end_loss": {"½ in (1.3 cm)"}})
	page := parsed(t, s.get(t, "/workshop", http.StatusOK))
	for field, want := range map[string]string{"wage": "28.00", "overhead_year": "6400.50", "lay_set_up_minutes": "3.5", "bundle_minutes": "2", "table_length": "2 m", "end_loss": "1/2 in"} {
		require.Equal(t, want, boxOf(page, field), field)
	}
	s.saves(t, "/workshop", url.Values{"table_length": {"2½ yd"}, "buy_step": {"1/8 yd"}})
	page = parsed(t, s.get(t, "/workshop", http.StatusOK))
	require.Equal(t, "2 1/2 yd", boxOf(page, "table_length"))
	require.Equal(t, "1/8 yd", boxOf(page, "buy_step"), "it was shown as 4 1/2 in")
	s.saves(t, "/workshop/year", url.Values{"day.1": {"6 h"}})
	require.Equal(t, "360", boxOf(parsed(t, s.get(t, "/workshop/year", http.StatusOK)), "day.1"))
	bolts, err := s.service.Bolts(t.Context(), s.id)
	require.NoError(t, err)
	bolt := fmt.Sprintf("/shelf/bolts/%d", bolts[0].ID)
	s.saves(t, bolt, url.Values{"length": {"6 in"}, "price": {"$7,25"}, "reason": {"measured again"}})
	page = parsed(t, s.get(t, bolt, http.StatusOK))
	require.Equal(t, "6 in", boxOf(page, "length"), "it was shown as 0.166666667 yd")
	require.Equal(t, "7.25", boxOf(page, "price"))
}

// saves fills the boxes of a form and sends it; it must be saved.
func (s site) saves(t *testing.T, path string, typed url.Values) {
	t.Helper()
	values := typedIn(s.get(t, path, http.StatusOK))
	for field, value := range typed {
		require.True(t, values.Has(field), "%s has no box %s", path, field)
		values[field] = value
	}
	s.post(t, path, values, http.StatusOK)
}

// boxOf reads what stands in a box.
func boxOf(page *html.Node, field string) string {
	for _, n := range elements(page, "input") {
		if attribute(n, "name") == field {
			return attribute(n, "value")
		}
	}
	return ""
}

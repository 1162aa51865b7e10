package server_test

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/privatepg/pgtest"
)

// Every number on a cost sheet leads to the box in which it was entered.
func TestEveryNumberOnACostSheetLeadsToItsInput(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	price := regexp.MustCompile(`href="(/prices/\d+)">Meadow on slate`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
	text := s.get(t, price+"/size/98", http.StatusOK)
	for _, want := range []string{"cloth, body", "cloth, band", "ends and losses", "freight", "units in the price", "length that the freight was for", "what all of them in the batch take of this cloth", "set-up minutes", "garments in the batch", "overhead", "as planned, in", "504", "Seams and thread", "a year ÷"} {
		require.Contains(t, text, want)
	}
	s.everyNumberLeads(t, text)
	require.Contains(t, s.get(t, price+"/size/98?batch=none", http.StatusOK), "standard, made 24 at a time")
	require.NotContains(t, s.get(t, price+"/size/98?batch=none", http.StatusOK), "as planned, in")
	s.get(t, price+"/size/999", http.StatusNotFound)
	require.Contains(t, s.get(t, price+"/markers", http.StatusOK), "<svg")
}

// everyNumberLeads follows the numbers of a cost sheet to where they were entered.
func (s site) everyNumberLeads(t *testing.T, text string) {
	t.Helper()
	rows := regexp.MustCompile(`<tr><td>([^<]+)</td><td class="n">([^<]+)</td><td>(?:<a href="([^"]*)">)?`).FindAllStringSubmatch(text, -1)
	require.Greater(t, len(rows), 100, "standard and actual")
	pages := map[string]string{}
	shared := 0
	for _, row := range rows {
		require.NotEmpty(t, row[3], "%s has no link to where it comes from", row[1])
		path, anchor, _ := strings.Cut(row[3], "#")
		if path == "" {
			require.Contains(t, text, `id="`+anchor+`"`)
			continue
		}
		if _, seen := pages[path]; !seen {
			pages[path] = s.get(t, path, http.StatusOK)
		}
		if anchor == "" {
			continue
		}
		require.Contains(t, pages[path], `id="`+anchor+`"`, "%s leads to %s", row[1], row[3])
		if strings.HasPrefix(anchor, "share-") {
			number, _, _ := strings.Cut(row[2], " ")
			there := pages[path][strings.Index(pages[path], `id="`+anchor+`"`):]
			require.Contains(t, there[:strings.Index(there, "</tr>")], ">"+number+"<", "%s stands where it leads to", row[1])
			shared++
		}
	}
	require.Positive(t, shared)
	sums := regexp.MustCompile(`<a href="#(line-\d+)">`).FindAllStringSubmatch(text, -1)
	require.Greater(t, len(sums), 15, "each sum leads to its lines")
	for _, sum := range sums {
		require.Contains(t, text, `id="`+sum[1]+`"`)
	}
	require.Greater(t, len(pages), 8)
}

// fields reads a form's boxes as a browser would send them back.
func fields(text, action string) url.Values {
	start := strings.Index(text, `action="`+action+`"`)
	form := text[start : start+strings.Index(text[start:], "</form>")]
	values := url.Values{}
	for _, input := range regexp.MustCompile(`<input[^>]*>`).FindAllString(form, -1) {
		name := regexp.MustCompile(` name="([^"]+)"`).FindStringSubmatch(input)
		value := regexp.MustCompile(` value="([^"]*)"`).FindStringSubmatch(input)
		if name == nil || value == nil || (regexp.MustCompile(`type="(checkbox|radio)"`).MatchString(input) && !strings.Contains(input, " checked")) {
			continue
		}
		values.Add(name[1], html.UnescapeString(value[1]))
	}
	for _, list := range regexp.MustCompile(`(?s)<select[^>]* name="([^"]+)".*?</select>`).FindAllStringSubmatch(form, -1) {
		var chosen string
		for i, option := range regexp.MustCompile(`<option(?: value="([^"]*)")?( selected)?>([^<]*)`).FindAllStringSubmatch(list[0], -1) {
			if i == 0 || option[2] != "" {
				if chosen = option[1]; !strings.Contains(option[0], "value=") {
					chosen = option[3]
				}
			}
		}
		values.Set(list[1], html.UnescapeString(chosen))
	}
	return values
}

// A form that is saved as it stands changes nothing; each of its boxes refuses nonsense.
func TestCostingFormsKeepAndRefuse(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	workshopPage := s.get(t, "/workshop", http.StatusOK)
	channels := regexp.MustCompile(`/workshop/channels/\d+`).FindAllString(workshopPage, -1)
	require.Len(t, channels, 3)
	style := regexp.MustCompile(`href="(/styles/\d+)">Puddle skirt`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	cloth := regexp.MustCompile(`href="(/shelf/cloths/\d+)">Meadow print`).FindStringSubmatch(s.get(t, "/shelf", http.StatusOK))[1]
	notion := regexp.MustCompile(`href="(/shelf/notions/\d+)">Elastic`).FindStringSubmatch(s.get(t, "/shelf", http.StatusOK))[1]
	before := s.get(t, "/prices", http.StatusOK)
	for _, path := range append(channels, "/workshop/choices", "/workshop/year", style+"/seams", "/prices/cloth") {
		t.Run("saved as it stands "+path, func(t *testing.T) {
			s.post(t, path, fields(s.get(t, path, http.StatusOK), path), http.StatusOK)
		})
	}
	require.Equal(t, before, s.get(t, "/prices", http.StatusOK))
	for _, test := range []struct{ name, path, field, value, want string }{
		{"fee", channels[2], "fee.0.rate", "half", "is not a number"},
		{"fee without a name", channels[2], "fee.2.rate", "3", "what the fee is for"},
		{"fixed fee", channels[2], "fee.1.fixed", "x", "Write an amount"},
		{"fees that take all", channels[2], "fee.0.rate", "99", "no price can pay"},
		{"negative fee", channels[2], "fee.0.fixed", "-1", "must not be less than 0"},
		{"name", channels[0], "name", " ", "Write a name"},
		{"name twice", channels[0], "name", "Shop", "channel of this name"},
		{"kind", channels[0], "kind", "market", "Choose fair, shop or online"},
		{"aim", channels[0], "target", "much", "Choose what you want from each sale"},
		{"times", channels[0], "target_value", "0", "more than 0"},
		{"shop's aim", channels[1], "target", "wholesale", "sets the wholesale price itself"},
		{"tax", channels[0], "tax", "-4", "must not be less than 0"},
		{"step", channels[0], "price_step", "0.001", "at most 2 decimals"},
		{"ending", channels[0], "price_ending", "3", "must be less than the step"},
		{"days", channels[1], "days", "soon", "whole number"},
		{"least order", channels[1], "minimum_order", "a lot", "Write an amount"},
		{"prompt", channels[1], "prompt_discount", "100", "below 100"},
		{"usual sale", channels[2], "items_per_sale", "0.5", "1 or more"},
		{"handling", channels[2], "handling_minutes", "-1", "Write minutes of 0 or more"},
		{"listings", channels[2], "listings", "-1", "must not be less"},
		{"postage", channels[2], "postage_cost", "free", "Write an amount"},
		{"choice", "/workshop/choices", "rounding", "sideways", "Choose half up"},
		{"valuation", "/workshop/choices", "valuation", "last in, first out", "Choose first in"},
		{"allowance", "/workshop/choices", "allowance", "100", "below 100"},
		{"learning", "/workshop/choices", "learning_rate", "50", "more than 50"},
		{"keeping", "/workshop/choices", "holding", "-1", "from 0"},
		{"locale", "/workshop/choices", "locale", "xx", "Choose"},
		{"weeks", "/workshop/year", "weeks", "60", "at most 53"},
		{"productive", "/workshop/year", "productive", "0", "more than 0"},
		{"people", "/workshop/year", "people", "0", "how many work"},
		{"cost", "/workshop/year", "cost.1.amount", "-5", "0 or more"},
		{"cost without a name", "/workshop/year", "cost.8.amount", "5", "what it is for"},
		{"cost's years", "/workshop/year", "cost.3.years", "0", "how many years"},
		{"cost's share", "/workshop/year", "cost.1.share", "140", "at most 100"},
		{"seam", style + "/seams", "seam.1.length", "wiast", "is not a measure"},
		{"seam's stitch", style + "/seams", "seam.1.class", "", "Choose a stitch"},
		{"seam's count", style + "/seams", "seam.0.count", "0", "from 1 to 100"},
		{"seam's ratio", style + "/seams", "seam.0.ratio", "-2", "from 0 to 1,000"},
		{"seam without a length", style + "/seams", "seam.4.name", "tie", "how long it is"},
		{"cloth's discount", cloth, "discount", "100", "below 100"},
		{"cloth's freight", cloth, "freight", "-1", "0 or more"},
		{"freight of nothing", cloth, "freight_length", "", "this freight was paid for"},
		{"cloth's tax", cloth, "tax", "some", "is not a number"},
		{"cloth's wastage", cloth, "wastage", "-1", "from 0"},
		{"notion's tax", notion, "tax", "-1", "from 0"},
		{"notion's wastage", notion, "wastage", "100", "below 100"},
		{"notion's discount", notion, "discount", "-1", "from 0"},
		{"notion's freight", notion, "freight", "-1", "0 or more"},
	} {
		t.Run(test.name, func(t *testing.T) {
			values := fields(s.get(t, test.path, http.StatusOK), test.path)
			values.Set(test.field, test.value)
			text := s.post(t, test.path, values, http.StatusUnprocessableEntity)
			require.Contains(t, text, test.want)
			if test.value != " " {
				require.Contains(t, text, "This was not saved yet")
			}
			require.Regexp(t, `href="#[a-z_.0-9]+"`, text)
		})
	}
	require.Equal(t, before, s.get(t, "/prices", http.StatusOK), "nothing is half-saved")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A study is watched, worked out, taken over, and the price follows; bad times are refused.
func TestATimeStudyInThePages(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := regexp.MustCompile(`href="(/styles/\d+)">Puddle skirt`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	path := style + "/steps/1/study"
	text := s.get(t, path, http.StatusOK)
	require.Contains(t, text, "our assumption")
	values := url.Values{
		"element.0.name": {"join the band"}, "element.0.readings": {"3.1 3:30 3,2 2.9 3.4"}, "element.0.rating": {"95"},
		"allowance": {"14"}, "rule": {"job"}, "watched_on": {time.Now().AddDate(0, 0, -1).Format(time.DateOnly)},
	}
	text = s.post(t, path, values, http.StatusOK)
	// Mean 3.22 × 0.95 = 3.059; × 1.14 = 3.48726.
	for _, want := range []string{"The time study is kept.", "3.487 standard minutes", "basic minutes × (1 &#43; allowance)", "Watch it 8 times in all", "Take 3.487 min over"} {
		require.Contains(t, text, want)
	}
	take := regexp.MustCompile(`action="(/styles/\d+/steps/1/study/\d+)"`).FindStringSubmatch(text)[1]
	require.Contains(t, s.post(t, take, nil, http.StatusOK), "The step has its minutes from this study.")
	require.Contains(t, s.get(t, style, http.StatusOK), `value="3.487"`)
	values.Del("allowance")
	values["usual"] = []string{"0", "1", "2"}
	values.Set("rule", "day")
	require.Contains(t, s.post(t, path, values, http.StatusOK), "with 14 % allowance", "5 + 4 + 5")
	for _, test := range []struct{ name, field, value, want string }{
		{"no times", "element.0.readings", "", "at least one cycle"},
		{"words", "element.0.readings", "3.1 fast", "is not a time"},
		{"seconds", "element.0.readings", "1:75", "is not a time"},
		{"nothing", "element.0.readings", "0 1", "more than 0"},
		{"pace", "element.0.rating", "-5", "Must not be less"},
		{"part without a name", "element.2.readings", "1 2", "what was watched"},
		{"part's pace", "element.2.name", "press", "at least one cycle"},
		{"day", "watched_on", "2199-01-01", "still to come"},
		{"rule", "rule", "week", "Choose what the allowance means"},
	} {
		t.Run(test.name, func(t *testing.T) {
			spoilt := url.Values{}
			for name, value := range values {
				spoilt[name] = value
			}
			spoilt.Set(test.field, test.value)
			require.Contains(t, s.post(t, path, spoilt, http.StatusUnprocessableEntity), test.want)
		})
	}
	require.Contains(t, s.post(t, take, url.Values{"remove": {"yes"}}, http.StatusOK), "The time study is removed.")
	s.post(t, take, nil, http.StatusNotFound)
	s.get(t, style+"/steps/99/study", http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// What if, any price, one price, a mixed sale, learning: questions are answered or refused at
// their boxes, and nothing is saved by asking.
func TestQuestionsOfPrices(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	all := s.get(t, "/prices", http.StatusOK)
	price := regexp.MustCompile(`href="(/prices/\d+)">Meadow on slate`).FindStringSubmatch(all)[1]
	asked := s.get(t, "/prices?cloth=10&wage=5&batch=0.5", http.StatusOK)
	require.Contains(t, asked, "Nothing is saved")
	require.Equal(t, 7, strings.Count(asked, ", by size</summary>"))
	require.Equal(t, all, s.get(t, "/prices", http.StatusOK))
	require.Contains(t, s.get(t, "/prices?wage=-200", http.StatusUnprocessableEntity), "more than 100")
	require.Contains(t, s.get(t, "/prices?batch=many", http.StatusUnprocessableEntity), "is not a number")

	plain := s.get(t, price, http.StatusOK)
	for _, want := range []string{" to make it, ", "for each hour of work.", "Beside the shops", "its minimum order of $100.00 is", "What the words mean"} {
		require.Contains(t, plain, want)
	}
	channel := regexp.MustCompile(`<option value="(\d+)" selected>Fair|<option value="(\d+)">Fair`).FindStringSubmatch(plain)
	tried := s.get(t, price+"?try=16&try_channel="+channel[1]+channel[2], http.StatusOK)
	require.Contains(t, tried, "Fair at $16.00")
	require.Contains(t, tried, "below the floor of")
	require.Contains(t, s.get(t, price+"?try=cheap", http.StatusUnprocessableEntity), "Write an amount")
	require.Contains(t, s.get(t, price+"?try=9&try_channel=99999", http.StatusUnprocessableEntity), "Choose a channel")
	require.Contains(t, s.get(t, price+"?try=-9", http.StatusUnprocessableEntity), "0 or more")

	text := s.change(t, price, url.Values{"one_price": {"every size pays"}}, http.StatusOK)
	require.Contains(t, text, "One price is asked for all sizes")
	require.Contains(t, text, "because every size sells at what size 158 needs, and you add 25 % to the cost")
	require.NotContains(t, text, "what size 86 needs", "a multiple of the price to shops needs no size")
	require.Contains(t, s.change(t, price, url.Values{"one_price": {"dearest"}}, http.StatusUnprocessableEntity), "Choose each size its own")

	minutes := s.get(t, price+"/minutes", http.StatusOK)
	for _, want := range []string{`class="chart" role="img"`, "cheapest", "unit curve at 90 %", "sold in a year"} {
		require.Contains(t, minutes, want)
	}
	learned := s.get(t, price+"/minutes?learn_minutes=30&learn_at=1&learn_rate=80&learn_model=cumulative+average&learn_run=8", http.StatusOK)
	require.Contains(t, learned, "average of the first n")
	require.Contains(t, learned, ">15.36<", "30 × 0.8³")
	late := s.get(t, price+"/minutes?learn_minutes=30&learn_at=1&learn_rate=95&learn_model=unit&learn_run=8&late_minutes=19.2&late_at=4", http.StatusOK)
	require.Contains(t, late, "unit curve at 80 %", "30 × 0.8² = 19.2")
	for query, want := range map[string]string{
		"learn_minutes=0&learn_at=1&learn_rate=80&learn_model=unit&learn_run=8":                            "above 0",
		"learn_minutes=30&learn_at=0&learn_rate=80&learn_model=unit&learn_run=8":                           "from 1 to",
		"learn_minutes=30&learn_at=1&learn_rate=40&learn_model=unit&learn_run=8":                           "more than 50",
		"learn_minutes=30&learn_at=1&learn_rate=80&learn_model=magic&learn_run=8":                          "Choose what gets shorter",
		"learn_minutes=30&learn_at=4&learn_rate=80&learn_model=unit&learn_run=8&late_minutes=20&late_at=2": "Write a number after 4",
		"learn_minutes=30&learn_at=1&learn_rate=80&learn_model=unit&learn_run=8&late_minutes=31&late_at=4": "No curve of learning",
		"learn_minutes=30&learn_at=1&learn_rate=80&learn_model=unit&learn_run=8&late_minutes=0&late_at=4":  "above 0",
		"learn_minutes=30&learn_at=1&learn_rate=80&learn_model=unit&learn_run=8&late_minutes=20":           "whole number",
	} {
		refused := s.get(t, price+"/minutes?"+query, http.StatusUnprocessableEntity)
		require.Contains(t, refused, want)
		require.Contains(t, refused, "Something in the question is wrong")
	}
	require.Contains(t, s.change(t, price+"/minutes", url.Values{"year_sales": {"lots"}}, http.StatusUnprocessableEntity), "whole number")
	require.Contains(t, s.change(t, price+"/minutes", url.Values{"year_sales": {""}}, http.StatusOK), "Say how many sell in a year")

	way := strings.TrimPrefix(price, "/prices/")
	sale := s.get(t, "/prices/basket?channel="+channel[1]+channel[2]+"&item.0.garment="+way+":98&item.0.count=2&item.2.garment="+way+":104&item.2.price=30", http.StatusOK)
	require.Contains(t, sale, "more is kept than if each were sold alone")
	require.Contains(t, s.get(t, "/prices/basket?channel=1&item.2.garment=x", http.StatusUnprocessableEntity), `href="#item.2.garment"`)
	require.Contains(t, s.get(t, "/prices/basket?channel=1", http.StatusUnprocessableEntity), "at least one garment")
	require.Contains(t, s.get(t, "/prices/basket?channel=99999&item.0.garment="+way+":98", http.StatusUnprocessableEntity), "Choose a channel")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A list is issued, printed without what is ours alone, and stays.
func TestPriceListsInThePages(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := fields(s.get(t, "/prices/lists", http.StatusOK), "/prices/lists")
	require.Len(t, form["colourways"], 7)
	shop := regexp.MustCompile(`<option value="(\d+)">Shop`).FindStringSubmatch(s.get(t, "/prices/lists", http.StatusOK))[1]
	form.Set("channel", shop)
	text := s.post(t, "/prices/lists", form, http.StatusOK)
	for _, want := range []string{"The price list is issued", "revision 1", "price list: shops", "We ask at retail", "Minimum order $100.00", "Payment within 30 days", `class="n no-print">Floor then`} {
		require.Contains(t, text, want)
	}
	first := regexp.MustCompile(`href="(/prices/lists/\d+)"`).FindStringSubmatch(s.get(t, "/prices/lists", http.StatusOK))[1]
	printed := s.get(t, first, http.StatusOK)
	s.post(t, "/workshop", func() url.Values {
		values := fields(s.get(t, "/workshop", http.StatusOK), "/workshop")
		values.Set("wage", "40")
		values.Set("keep_numbers", "yes")
		return values
	}(), http.StatusOK)
	require.Equal(t, printed, s.get(t, first, http.StatusOK))
	text = s.post(t, "/prices/lists", form, http.StatusOK)
	require.Contains(t, text, "revision 2")
	require.Contains(t, text, "Revision 1 of")
	form.Del("colourways")
	require.Contains(t, s.post(t, "/prices/lists", form, http.StatusUnprocessableEntity), "at least one colourway")
	form.Del("channel")
	require.Contains(t, s.post(t, "/prices/lists", form, http.StatusUnprocessableEntity), "Choose a channel")
	s.get(t, "/prices/lists/999", http.StatusNotFound)
}

// addsUp holds cloth and cutting of each row of a batch's page against its sum.
func addsUp(t *testing.T, text string) {
	t.Helper()
	cents := func(shown string) (sum int) {
		for _, digit := range shown {
			if digit >= '0' && digit <= '9' {
				sum = 10*sum + int(digit-'0')
			}
		}
		return sum
	}
	rows := regexp.MustCompile(`data-name="Cloth costs">([^<]+)</td><td class="n" data-name="Cutting costs">([^<]+)</td><td class="n" data-name="Both">(?:<strong>)?([^<]+)<`).FindAllStringSubmatch(text, -1)
	require.Greater(t, len(rows), 10)
	for _, row := range rows {
		require.Equal(t, cents(row[3]), cents(row[1])+cents(row[2]), "%v", row)
	}
}

// What a batch's cloth counts for is the same everywhere and follows its plan; what is kept stays.
func TestBatchCostsInThePages(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	text := s.get(t, "/batches/1/costs", http.StatusOK)
	require.Contains(t, text, "yd of R1 at $13.60")
	require.Contains(t, text, "to buy, which counts")
	require.Contains(t, text, ">As planned</th>")
	require.NotContains(t, text, ">Actual<", "nothing of a draft is actual")
	cloth := regexp.MustCompile(`>All cloth</th>.*?data-name="Counts">([^<]+)<`).FindStringSubmatch(text)[1]
	batchPage, plans := s.get(t, "/batches/1", http.StatusOK), s.get(t, "/batches/1/plans", http.StatusOK)
	require.Contains(t, batchPage, "<b>"+cloth+"</b><span>of cloth</span>", "the same cloth counts the same on every page")
	require.Contains(t, batchPage, `<tfoot><tr><th scope="row">All</th><td></td><td class="n" data-name="Cloth costs">`+cloth+"</td>")
	require.Contains(t, plans, ">"+cloth+"<")
	addsUp(t, batchPage)
	require.NotContains(t, batchPage, "ach garment by itself", "one practice, not two")
	choices := fields(s.get(t, "/workshop/choices", http.StatusOK), "/workshop/choices")
	choices.Set("valuation", "weighted average")
	s.post(t, "/workshop/choices", choices, http.StatusOK)
	average := s.get(t, "/batches/1/costs", http.StatusOK)
	require.Contains(t, average, "yd of R1 at $13.60", "what is planned keeps what it was planned with")
	require.Contains(t, average, "every bolt at the average of its cloth")
	require.Contains(t, s.post(t, "/batches/1/costs", nil, http.StatusOK), "Prices and lengths don't change any more")
	bolt := regexp.MustCompile(`name="bought\.(\d+)"[^>]* aria-label="Bolt R1`).FindStringSubmatch(s.get(t, "/prices/cloth", http.StatusOK))[1]
	for _, test := range []struct{ field, value, want string }{
		{"bought." + bolt, "2199-01-01", "still to come"}, {"worth." + bolt, "-1", "0 or more"}, {"worth." + bolt, "x", "is not a number"},
	} {
		require.Contains(t, s.change(t, "/prices/cloth", url.Values{test.field: {test.value}}, http.StatusUnprocessableEntity), test.want)
	}
	require.Contains(t, s.change(t, "/prices/cloth", url.Values{"worth." + bolt: {"4"}}, http.StatusOK), "The bolts are saved.")
	s.get(t, "/batches/99/costs", http.StatusNotFound)
}

// Yen have no decimals, euros their own sign; every page of prices still comes out.
func TestPricesInOtherCurrencies(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for currency, locale := range map[string]string{"JPY": "ja", "EUR": "de"} {
		values := fields(s.get(t, "/workshop", http.StatusOK), "/workshop")
		values.Set("currency", currency)
		values.Set("keep_numbers", "yes")
		s.post(t, "/workshop", values, http.StatusOK)
		choices := fields(s.get(t, "/workshop/choices", http.StatusOK), "/workshop/choices")
		choices.Set("locale", locale)
		s.post(t, "/workshop/choices", choices, http.StatusOK)
		price := regexp.MustCompile(`href="(/prices/\d+)"`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
		text := s.get(t, price, http.StatusOK)
		if currency == "JPY" {
			require.Regexp(t, `[¥￥]\d+</strong>`, text)
			require.NotRegexp(t, `[¥￥][\d,]+\.\d`, text)
		} else {
			require.Regexp(t, `\d+,\d\d[\s\x{a0}]€</strong>`, text)
		}
		for _, path := range []string{price + "/size/10", price + "/minutes", "/prices/cloth", "/prices/lists", "/prices/basket"} {
			s.get(t, path, http.StatusOK)
		}
	}
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// Somebody who has never costed anything is told what a first price needs.
func TestTheFirstPrice(t *testing.T) {
	t.Parallel()
	s := serve(t, pgtest.URL(t))
	text := s.get(t, "/prices", http.StatusOK)
	for _, want := range []string{"To your first price", "Your hour", "Costs of your year", "Your shelf", "Start a style"} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, text, "Nothing to price yet", "the steps say what to do")
	year := fields(s.get(t, "/workshop/year", http.StatusOK), "/workshop/year")
	year.Set("cost.0.name", "Rent")
	year.Set("cost.0.amount", "1200")
	require.Contains(t, s.post(t, "/workshop/year", year, http.StatusOK), "The costs of your year are saved.")
	require.Equal(t, 2, strings.Count(s.get(t, "/prices", http.StatusOK), fmt.Sprintf(`<span class="tag good">%s</span>`, "there")))
	there := func() int {
		return strings.Count(s.get(t, "/prices", http.StatusOK), `<span class="tag good">there</span>`)
	}
	s.post(t, "/shelf/cloths", url.Values{
		"version": {"0"}, "name": {"Fern lawn"}, "design": {"solid"}, "full_width": {"44 in"}, "price": {"8.50"}, "price_unit": {"yd"},
		"nap": {"either way"}, "thickness": {"thin"}, "pre_washed": {"yes"}, "can_buy": {"yes"},
	}, http.StatusOK)
	require.Equal(t, 3, there())
	chart := regexp.MustCompile(`<option value="(\d+)" selected>Children by height`).FindStringSubmatch(s.get(t, "/styles/new", http.StatusOK))[1]
	text = s.post(t, "/styles", url.Values{"starter": {"Gathered skirt"}, "name": {"Fern skirt"}, "chart": {chart}}, http.StatusOK)
	require.Contains(t, text, "Fern skirt")
	text = s.get(t, "/prices", http.StatusOK)
	require.Contains(t, text, "Fern skirt takes elastic, thread, label besides its cloth")
	choose := regexp.MustCompile(`href="(/styles/\d+/colourways/new)">Choose its cloths`).FindStringSubmatch(text)[1]

	// Each notion that isn't there yet is a link on the form of the colourway, and leads back to it.
	for _, notion := range []struct{ need, kind, field, amount string }{
		{"elastic", "cut from a roll", "buy_length", "10 yd"}, {"thread", "used by length", "buy_length", "500 yd"}, {"label", "counted", "buy_count", "100"},
	} {
		add := html.UnescapeString(regexp.MustCompile(`href="(/shelf/notions/new[^"]*)">Add ` + notion.need + `<`).FindStringSubmatch(s.get(t, choose, http.StatusOK))[1])
		filled := fields(s.get(t, add, http.StatusOK), "/shelf/notions")
		require.Equal(t, notion.need, filled.Get("name"))
		require.Equal(t, notion.kind, filled.Get("kind"))
		filled.Set("buy_price", "much")
		require.Contains(t, s.post(t, "/shelf/notions", filled, http.StatusUnprocessableEntity), `name="style"`, "what was refused still knows what it is for")
		filled.Set("buy_price", "3")
		filled.Set(notion.field, notion.amount)
		require.Contains(t, s.post(t, "/shelf/notions", filled, http.StatusOK), "New colourway of Fern skirt")
	}
	text = s.get(t, choose, http.StatusOK)
	require.NotContains(t, text, "Not on your shelf yet?")
	way := fields(text, strings.TrimSuffix(choose, "/new"))
	for _, need := range []string{"elastic", "thread", "label"} {
		require.NotEmpty(t, way.Get("notion."+need), "the only notion of this name is proposed")
	}
	way.Set("name", "Fern")
	way.Set("cloth.body", regexp.MustCompile(`<option value="(\d+)">Fern lawn`).FindStringSubmatch(text)[1])
	s.post(t, strings.TrimSuffix(choose, "/new"), way, http.StatusOK)
	text = s.get(t, "/prices", http.StatusOK)
	require.NotContains(t, text, "To your first price")
	text = s.get(t, regexp.MustCompile(`href="(/prices/\d+)">Fern`).FindStringSubmatch(text)[1], http.StatusOK)
	require.Regexp(t, `is \$[\d.]+ to make it, .* because you sell at 2 × the wholesale price of \$[\d.]+: it pays \$[\d.]+ for each hour of work`, text)
}

// The maker sets the sizes of a usual batch on the style's page; what can't be is refused at its box.
func TestSizesOfAUsualBatch(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := regexp.MustCompile(`href="(/styles/\d+)">Bramble shorts`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	price := regexp.MustCompile(`href="(/prices/\d+)">Ticking`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
	text := s.get(t, style, http.StatusOK)
	require.Contains(t, text, "They follow the 25 garments ordered in the last")
	values := fields(text, style+"/sizes")
	require.Equal(t, "yes", values.Get("offered.0"))
	values.Set("mix.3", "5")
	values.Set("mix.4", "a few")
	refused := s.post(t, style+"/sizes", values, http.StatusUnprocessableEntity)
	require.Equal(t, []string{"mix.4"}, checkTies(t, style, parsed(t, refused)))
	values.Set("mix.4", "1")
	values.Del("offered.0")
	s.post(t, style+"/sizes", values, http.StatusOK)
	require.Contains(t, s.get(t, style, http.StatusOK), "You set them here")
	text = s.get(t, price, http.StatusOK)
	require.Contains(t, text, "20 × 12, 4 × 14")
	require.Contains(t, text, price+"/size/8")
	require.NotContains(t, text, price+"/size/6\"")
	s.get(t, price+"/size/6", http.StatusOK)
}

// A fair asks for the hours of a day at the stall and what it sells; its price then shows what an hour
// really worked earns.
func TestAFairAsksForItsStall(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	price := regexp.MustCompile(`href="(/prices/\d+)">Meadow on slate`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
	fair := regexp.MustCompile(`href="(/workshop/channels/\d+)">Fair`).FindStringSubmatch(s.get(t, "/workshop", http.StatusOK))[1]
	counted := s.get(t, price, http.StatusOK)
	require.Contains(t, counted, "for your own work on the sale (18 min)", "9 h for 30 garments")
	values := fields(s.get(t, fair, http.StatusOK), fair)
	values.Set("stall_sales", "")
	require.Equal(t, []string{"stall_sales"}, checkTies(t, fair, parsed(t, s.post(t, fair, values, http.StatusUnprocessableEntity))))
	values.Set("stall_hours", "")
	s.post(t, fair, values, http.StatusOK)
	without := s.get(t, price, http.StatusOK)
	require.Contains(t, without, "Hours at the stall are not counted yet")
	require.NotContains(t, counted, "Hours at the stall are not counted yet")
	require.Greater(t, number(t, earns(t, without)), number(t, earns(t, counted)), "with the stall, an hour earns less")
}

package server_test

import (
	"html"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Prices that are kept can be opened from where they are wanted, and stay as they were when costs
// change; and every cost sheet can be worked out again from what it shows.
func TestKeptPricesAreOpenedAndStay(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := linkTo(t, s.get(t, "/styles", http.StatusOK), "Puddle skirt")
	issue := regexp.MustCompile(`action="(/prices/\d+)/issue"`).FindStringSubmatch(s.get(t, style, http.StatusOK))[1]
	cost := regexp.MustCompile(`data-name="Costs you">([^<]+)<`).FindStringSubmatch(s.get(t, issue, http.StatusOK))[1]
	text := s.post(t, issue+"/issue", nil, http.StatusOK)
	require.Contains(t, text, "are kept with today")
	require.Contains(t, text, `data-name="Cost then">`+cost)
	require.Contains(t, text, `data-name="Cost now">`+cost)
	kept := regexp.MustCompile(`href="(/prices/kept/\d+)"`).FindStringSubmatch(s.get(t, issue, http.StatusOK))[1]
	for _, page := range []string{style, "/prices/lists"} {
		require.Contains(t, s.get(t, page, http.StatusOK), `href="`+kept+`"`, page)
	}
	lines := func() string {
		text := s.get(t, kept, http.StatusOK)
		return text[strings.Index(text, "The cost sheets then"):]
	}
	before := lines()
	require.Contains(t, before, "minutes per garment")

	// On an issued list the style finds its way as well.
	channel := regexp.MustCompile(`<option value="(\d+)"[^>]*>Shop`).FindStringSubmatch(s.get(t, "/prices/lists", http.StatusOK))[1]
	list := url.Values{"channel": {channel}, "colourways": {strings.TrimPrefix(issue, "/prices/")}}
	s.post(t, "/prices/lists", list, http.StatusOK)
	require.Contains(t, s.get(t, style, http.StatusOK), "Shop, revision 1")

	s.everySheetWorksOutAgain(t, issue)

	settings := fields(s.get(t, "/workshop", http.StatusOK), "/workshop")
	settings.Set("wage", "36")
	s.post(t, "/workshop", settings, http.StatusOK)
	require.Equal(t, before, lines())
	text = s.get(t, kept, http.StatusOK)
	require.Contains(t, text, `data-name="Cost then">`+cost)
	require.NotContains(t, text, `data-name="Cost now">`+cost)

	// In another currency there is nothing to compare.
	settings = fields(s.get(t, "/workshop", http.StatusOK), "/workshop")
	settings.Set("currency", "EUR")
	settings.Set("keep_numbers", "yes")
	s.post(t, "/workshop", settings, http.StatusOK)
	text = s.get(t, kept, http.StatusOK)
	require.Contains(t, text, `data-name="Cost then">`+cost)
	require.NotContains(t, text, "Cost now")

	s.get(t, "/prices/kept/99999", http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// everySheetWorksOutAgain works every line of the cost sheet of each size out again, by its formula
// and from the numbers that the page shows, to the cent: half of one for rounding the line, and a fifth
// for the decimals that are left out of the numbers.
func (s site) everySheetWorksOutAgain(t *testing.T, price string) {
	t.Helper()
	lines := 0
	sizes := regexp.MustCompile(`href="(`+price+`/size/[^"]+)">`).FindAllStringSubmatch(s.get(t, price, http.StatusOK), -1)
	require.Greater(t, len(sizes), 10)
	for _, size := range sizes {
		text := s.get(t, size[1], http.StatusOK)
		for _, line := range regexp.MustCompile(`(?s)<details class="cost-line">.*?</details>`).FindAllString(text, -1) {
			formula := html.UnescapeString(regexp.MustCompile(`<span class="formula">([^<]+)</span>`).FindStringSubmatch(line)[1])
			amount := number(t, regexp.MustCompile(`<span class="sum"><strong>([^<]+)<`).FindStringSubmatch(line)[1])
			factors := map[string]float64{}
			for _, row := range regexp.MustCompile(`<tr><td>([^<]+)</td><td class="n">([^<]+)</td>`).FindAllStringSubmatch(line, -1) {
				value := html.UnescapeString(row[2])
				if each, times, found := strings.Cut(value, " × "); found { // $9.40 a yd × 12 yd
					factors[row[1]] = number(t, each) * number(t, times)
					continue
				}
				factors[row[1]] = number(t, value)
			}
			want := workedOut(t, formula, factors)
			// Half a coin, and what the last place shown of the lengths can hide.
			within := 0.005 + 1e-9
			for _, name := range []string{"length", "ends and losses", "quantity"} {
				exact, shown := factors[name]
				if !shown {
					continue
				}
				factors[name] += 0.00005
				within += math.Abs(workedOut(t, formula, factors) - want)
				factors[name] = exact
			}
			require.InDelta(t, amount, want, within, "%s: %s of %v", size[1], formula, factors)
			lines++
		}
	}
	require.Greater(t, lines, 12*len(sizes))
}

// number reads the first number of a text, such as 9.40 of "$9.40 a yd".
func number(t *testing.T, text string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(strings.ReplaceAll(regexp.MustCompile(`-?[\d,]+(\.\d+)?`).FindString(text), ",", ""), 64)
	require.NoError(t, err, text)
	return value
}

// workedOut computes a line by its formula, written here once more.
func workedOut(t *testing.T, formula string, f map[string]float64) float64 {
	t.Helper()
	one := func(names ...string) float64 {
		for _, name := range names {
			if value, ok := f[name]; ok {
				return value
			}
		}
		return 1
	}
	landed := func() float64 {
		return (f["list price"]*(1-f["discount"]/100) + f["freight"] + f["freight for that length"]) * (1 + f["tax"]/100) / one("units in the price", "length that the freight was for")
	}
	switch {
	case strings.HasPrefix(formula, "(length + ends and losses) × (1 + wastage)"):
		return (f["length"] + f["ends and losses"]) * (1 + f["wastage"]/100) * landed()
	case strings.HasPrefix(formula, "quantity × (1 + wastage)"):
		return f["quantity"] * (1 + f["wastage"]/100) * landed()
	case strings.HasPrefix(formula, "(minutes per garment + set-up"):
		return (f["minutes per garment"] + f["set-up minutes"]/one("garments in the batch")) / (one("efficiency") / 100) * f["wage"] / 60
	case strings.HasPrefix(formula, "minutes paid × (100 %"):
		return f["minutes paid"] * (100/f["productive share"] - 1) / 60 * f["wage"]
	case strings.HasPrefix(formula, "minutes paid"):
		return f["minutes paid"] / 60 * f["overhead"]
	}
	require.Fail(t, "a formula that this test doesn't know", formula)
	return 0
}

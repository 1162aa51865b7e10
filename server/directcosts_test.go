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

	"yardwright/costing"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Direct expenses, learning and what a batch took are entered in the pages, change the cost sheets,
// and every number still leads to its box.
func TestWhatIsNeitherClothNorStandardMinutes(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	price := regexp.MustCompile(`href="(/prices/\d+)">Meadow on slate`).FindStringSubmatch(s.get(t, "/prices", http.StatusOK))[1]
	expenses := url.Values{
		"expense.0.name": {"Pattern licence"}, "expense.0.amount": {"45"}, "expense.0.paid_for": {"a number of garments"}, "expense.0.garments": {"150"},
		"expense.1.name": {"Dyeing"}, "expense.1.amount": {"18"}, "expense.1.paid_for": {"each batch"},
		"expense.4.name": {"Label fee"}, "expense.4.amount": {"0.40"}, "expense.4.paid_for": {"each garment"},
	}
	text := s.change(t, price+"/expenses", expenses, http.StatusOK)
	for _, want := range []string{"The expenses are saved", "$0.30", "$0.75", "$1.45"} {
		require.Contains(t, text, want)
	}
	require.Equal(t, "Label fee", formOf(t, text, price+"/expenses", "expense.2.name").Get("expense.2.name"), "empty rows close up")
	learning := formOf(t, s.get(t, price+"/minutes", http.StatusOK), price+"/learning", "learning")
	learning.Set("learning", "unit")
	learning.Set("learning_rate", "85")
	learning.Set("timed_garment", "4")
	require.Contains(t, s.post(t, price+"/learning", learning, http.StatusOK), "Learning is on, by the unit curve")
	require.Contains(t, s.post(t, "/batches/1/minutes", url.Values{"stage": {"sew"}, "minutes": {"1500"}, "note": {"rain all day"}}, http.StatusOK), "rain all day")
	require.Contains(t, s.change(t, "/batches/1/took", url.Values{"expense.0.name": {"Courier"}, "expense.0.amount": {"24"}}, http.StatusOK), "Courier")
	require.Contains(t, s.post(t, "/batches/1/took", url.Values{"version": {"1"}, "expense.0.name": {"Van"}, "expense.0.amount": {"9"}}, http.StatusUnprocessableEntity), "in the meantime", "nothing is overwritten unseen")

	sheet := s.get(t, price+"/size/98", http.StatusOK)
	for _, want := range []string{"Pattern licence", "garments that share it", "share left by learning", "minutes worked on a garment", "not in the standard", "Courier", "Direct expenses", "what the batch took"} {
		require.Contains(t, sheet, want)
	}
	s.everyNumberLeads(t, sheet)
	require.Contains(t, s.get(t, "/batches/1/costs", http.StatusOK), "noted of it")

	taken := regexp.MustCompile(`action="(/batches/1/minutes/\d+)/remove"><button class="plain small"`).FindStringSubmatch(s.get(t, "/batches/1/took", http.StatusOK))[1]
	gone := s.post(t, taken+"/remove", nil, http.StatusOK)
	require.NotContains(t, gone, "rain all day")
	require.Contains(t, gone, taken+"/restore", "it can be taken back")
	require.Contains(t, s.post(t, taken+"/restore", nil, http.StatusOK), "rain all day")

	for _, test := range []struct {
		name, path string
		typed      url.Values
		want       string
	}{
		{"no name", price + "/expenses", url.Values{"expense.0.amount": {"4"}, "expense.0.paid_for": {"each batch"}}, "Say what it is for"},
		{"no amount", price + "/expenses", url.Values{"expense.0.name": {"x"}, "expense.0.paid_for": {"each batch"}}, "how much you pay"},
		{"below nothing", price + "/expenses", url.Values{"expense.0.name": {"x"}, "expense.0.amount": {"-1"}, "expense.0.paid_for": {"each batch"}}, "0 or more"},
		{"for nothing known", price + "/expenses", url.Values{"expense.0.name": {"x"}, "expense.0.amount": {"1"}, "expense.0.paid_for": {"love"}}, "Choose each garment"},
		{"for how many", price + "/expenses", url.Values{"expense.0.name": {"x"}, "expense.0.amount": {"1"}, "expense.0.paid_for": {"a number of garments"}}, "how many garments share"},
		{"of another style", price + "/expenses", url.Values{"expense.0.name": {"x"}, "expense.0.amount": {"1"}, "expense.0.paid_for": {"each batch"}, "expense.0.colourway": {"99"}}, "hasn&#39;t got"},
		{"curve", price + "/learning", url.Values{"learning": {"steep"}, "learning_rate": {"85"}, "timed_garment": {"1"}}, "Choose off"},
		{"rate", price + "/learning", url.Values{"learning": {"unit"}, "learning_rate": {"40"}, "timed_garment": {"1"}}, "more than 50 %"},
		{"which was timed", price + "/learning", url.Values{"learning": {"unit"}, "learning_rate": {"85"}, "timed_garment": {"0"}}, "whole number"},
		{"no minutes", "/batches/1/minutes", url.Values{"stage": {"sew"}}, "minutes above 0"},
		{"stage", "/batches/1/minutes", url.Values{"stage": {"dream"}, "minutes": {"4"}}, "Choose a stage"},
		{"day", "/batches/1/minutes", url.Values{"stage": {"sew"}, "minutes": {"4"}, "worked_on": {"2199-01-01"}}, "still to come"},
		{"batch expense", "/batches/1/took", url.Values{"expense.0.amount": {"4"}}, "Say what it was for"},
	} {
		t.Run(test.name, func(t *testing.T) {
			send := s.change
			if strings.HasSuffix(test.path, "/minutes") || strings.HasSuffix(test.path, "/learning") { // begins from no version
				send = s.post
			}
			refused := send(t, test.path, test.typed, http.StatusUnprocessableEntity)
			require.Contains(t, refused, test.want)
			for field, typed := range test.typed {
				if regexp.MustCompile(`name|amount|minutes$|rate`).MatchString(field) {
					require.Contains(t, refused, `value="`+typed[0]+`"`, "what was typed stays")
				}
			}
		})
	}
	require.Equal(t, sheet, s.get(t, price+"/size/98", http.StatusOK), "what was refused changes nothing")
	require.Contains(t, s.post(t, price+"/expenses", url.Values{"version": {"1"}, "expense.0.name": {"x"}, "expense.0.amount": {"1"}, "expense.0.paid_for": {"each batch"}}, http.StatusUnprocessableEntity), "in the meantime", "nothing is overwritten unseen")
	s.get(t, "/batches/99/took", http.StatusNotFound)
	s.get(t, "/prices/99/expenses", http.StatusNotFound)
}

// A helper notes the minutes that they worked, and takes them out again; money is not on the page.
func TestAHelperNotesMinutes(t *testing.T) {
	t.Parallel()
	s := owned(t)
	s.planAll(t)
	ines := s.helper(t)
	require.Contains(t, ines.get(t, "/batches/1", http.StatusOK), `href="/batches/1/took"`)
	text := ines.get(t, "/batches/1/took", http.StatusOK)
	require.Contains(t, text, "Note minutes")
	require.Contains(t, ines.post(t, "/batches/1/minutes", url.Values{"stage": {"sew"}, "minutes": {"soon"}}, http.StatusUnprocessableEntity), `value="soon"`)
	text = ines.post(t, "/batches/1/minutes", url.Values{"stage": {"sew"}, "minutes": {"95"}, "note": {"zips"}}, http.StatusOK)
	require.Contains(t, text, "The minutes are noted.")
	require.Contains(t, text, "zips")
	require.Empty(t, money.FindString(text))
	require.NotContains(t, text, "xpense")
	require.NotContains(t, ines.undo(t, text), "zips")
	ines.post(t, "/batches/1/took", url.Values{"expense.0.name": {"x"}, "expense.0.amount": {"4"}}, http.StatusForbidden)
	require.Contains(t, s.get(t, "/batches/1/took", http.StatusOK), "Direct expenses of this batch")
}

// After a batch one line says what it came to, from minutes that were noted together: the prices that
// are asked, the minutes, and what an hour of them earned.
func TestAfterABatchOneLine(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	ctx := t.Context()
	require.NotContains(t, s.get(t, "/batches/1/took", http.StatusOK), `id="earned"`)
	text := s.post(t, "/batches/1/minutes", url.Values{"stage": {"all of it"}, "minutes": {"50 h 50"}}, http.StatusOK)
	costs, err := s.service.BatchCosts(ctx, s.id, 1)
	require.NoError(t, err)
	var worked, without, hours float64
	for _, m := range costs.Noted.Minutes {
		worked += m.Minutes.Float64()
	}
	require.InDelta(t, 3050, worked, 1e-9, "the parts sum to the whole")
	for _, stage := range costs.Stages {
		require.Equal(t, stage.Standard.Sign() > 0, stage.Noted(), stage.Stage)
	}
	// The line's figures, from the orders and the prices asked by channel.
	garments := 0
	for _, g := range costs.Garments {
		garments += g.Quantity
		garment := g.Sheet.Garment()
		without += float64(g.Quantity) * (garment.Cost.Number().Float64() - garment.Labour.Number().Float64())
	}
	orders, err := s.service.BatchOrders(ctx, s.id, 1)
	require.NoError(t, err)
	var priced, kept float64
	for _, one := range orders {
		order, err := s.service.Order(ctx, s.id, one.ID)
		require.NoError(t, err)
		for _, line := range order.Lines {
			if line.BatchID == nil || *line.BatchID != 1 {
				continue
			}
			prices, err := s.service.PriceStyle(workshop.AtOnce(ctx), s.id, line.ColourwayID, costing.Change{})
			require.NoError(t, err)
			channel := slices.IndexFunc(prices.Channels, func(c store.Channel) bool { return c.Settings.Kind.String() == order.CustomerKind })
			asked := prices.Asked[slices.Index(prices.Sizes, line.Size)][channel]
			made := slices.IndexFunc(costs.Garments, func(g workshop.BatchGarment) bool { return g.Colourway == line.ColourwayID && g.Size == line.Size })
			pricer, err := prices.Channels[channel].Settings.Pricer()
			require.NoError(t, err)
			sale, err := pricer.Sale(costs.Garments[made].Sheet.Garment(), asked.Price)
			require.NoError(t, err)
			priced += float64(line.Quantity) * asked.Price.Number().Float64()
			kept += float64(line.Quantity) * asked.Sale.Kept.Number().Float64()
			hours += float64(line.Quantity) * sale.Minutes.Float64() / 60
		}
	}
	earned, err := s.service.Earned(ctx, s.id, costs)
	require.NoError(t, err)
	require.Equal(t, garments, earned.Garments)
	require.InDelta(t, priced, earned.Priced.Number().Float64(), 0.001)
	require.GreaterOrEqual(t, hours, 3050.0/60-0.5, "the minutes noted are among those really worked")
	require.InDelta(t, (kept-without)/hours, earned.Hourly.Number().Float64(), 0.006)
	line := regexp.MustCompile(`id="earned"><strong>([^<]*)<`).FindStringSubmatch(text)[1]
	require.Regexp(t, fmt.Sprintf(`^%d garments: priced at %s, 50 h 50 min worked(, \d+ h \d\d min with selling and unpaid hours)?, an hour earned %s\.$`, garments, regexp.QuoteMeta(earned.Priced.Format("en-US")), regexp.QuoteMeta(earned.Hourly.Format("en-US"))), unescape(line))

	// Undo takes all of it out together, and the batch page has the line once all is sewn.
	gone := s.undo(t, text)
	require.NotContains(t, gone, `id="earned"`)
	require.Contains(t, s.undo(t, gone), "50 h 50 min worked")
	require.Contains(t, s.post(t, "/batches/1/minutes", url.Values{"stage": {"cut"}, "minutes": {"3:4"}}, http.StatusUnprocessableEntity), "such as 45, 3:40 or 3 h 40")
}

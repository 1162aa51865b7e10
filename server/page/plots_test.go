package page_test

import (
	"encoding/xml"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/store"
)

type drawnBars struct {
	Role  string `xml:"role,attr"`
	Label string `xml:"aria-label,attr"`
	Rects []struct {
		Class string  `xml:"class,attr"`
		Width float64 `xml:"width,attr"`
	} `xml:"rect"`
	Texts []string `xml:"text"`
}

func TestBarsAreDrawnAndSaid(t *testing.T) {
	t.Parallel()
	var svg drawnBars
	require.NoError(t, xml.Unmarshal([]byte(page.Bars("Shares", []page.Bar{{Name: `A <"b">`, Value: "25 %", Share: 0.25}, {Name: "too much", Value: "?", Share: 7}, {Name: "less than none", Value: "0", Share: -1}})), &svg))
	require.Equal(t, "img", svg.Role)
	require.Equal(t, `Shares: A <"b"> 25 %; too much ?; less than none 0`, svg.Label)
	require.Equal(t, []string{`A <"b">`, "25 %", "too much", "?", "less than none", "0"}, svg.Texts)
	var widths []float64
	for _, r := range svg.Rects {
		if r.Class == "filled" {
			widths = append(widths, r.Width)
		}
	}
	require.Equal(t, []float64{105, 420, 0}, widths)
	require.Empty(t, page.Bars("Nothing", nil))
}

func TestWhatACostIsMadeUpOf(t *testing.T) {
	t.Parallel()
	dollar, err := money.ParseCurrency("USD")
	require.NoError(t, err)
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), dollar) }
	view := page.CostSheet{Base: page.Base{Locale: "en-US", Currency: dollar}, Sheet: costing.Sheet{Materials: amount("5"), Labour: amount("12"), Overhead: amount("3"), Expenses: amount("0"), Packing: amount("0"), Total: amount("20")}}
	var svg drawnBars
	require.NoError(t, xml.Unmarshal([]byte(view.MakeUp()), &svg))
	require.Equal(t, []string{"Cloth and notions", "$5.00, 25.0 %", "Your work", "$12.00, 60.0 %", "Overhead", "$3.00, 15.0 %"}, svg.Texts)
	view.Person.Role = store.Helper
	require.Empty(t, view.MakeUp(), "a helper sees no money")
}

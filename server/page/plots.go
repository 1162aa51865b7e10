package page

import (
	"fmt"
	"html/template"
	"strings"

	"yardwright/costing/money"
)

// Bar is one bar of a plot.
type Bar struct {
	// Name says what it is of, Value what it comes to; both are written beside it.
	Name, Value string
	// Share of the longest that there can be, from 0 to 1.
	Share float64
}

// Sizes of a plot of bars, in its own units.
const (
	barsWide = 420
	barsRow  = 38
)

// Bars draws bars below each other, each with its name and value in words, so that nothing is
// told by length or colour alone. Label says what the whole shows.
func Bars(label string, bars []Bar) template.HTML {
	if len(bars) == 0 {
		return ""
	}
	var svg, words strings.Builder
	for i, bar := range bars {
		top := i * barsRow
		share := min(1, max(0, bar.Share))
		fmt.Fprintf(&svg, `<text x="0" y="%d">%s</text><text class="value" x="%d" y="%d">%s</text>`,
			top+14, template.HTMLEscapeString(bar.Name), barsWide, top+14, template.HTMLEscapeString(bar.Value))
		fmt.Fprintf(&svg, `<rect class="there" x="0" y="%d" width="%d" height="12"/><rect class="filled" x="0" y="%d" width="%.1f" height="12"/>`, top+19, barsWide, top+19, share*barsWide)
		if i > 0 {
			words.WriteString("; ")
		}
		words.WriteString(bar.Name + " " + bar.Value)
	}
	return template.HTML(fmt.Sprintf(`<svg class="bars" role="img" viewBox="0 0 %d %d" aria-label="%s: %s">%s</svg>`, //nolint:gosec // all texts are escaped
		barsWide, len(bars)*barsRow, template.HTMLEscapeString(label), template.HTMLEscapeString(words.String()), svg.String()))
}

// MakeUp draws what the cost of a garment is made up of; empty for those who see no money.
func (c CostSheet) MakeUp() template.HTML {
	if !c.SeesMoney() || c.Sheet.Total.Sign() <= 0 {
		return ""
	}
	total := c.Sheet.Total.Number().Float64()
	var bars []Bar
	for _, part := range []struct {
		name   string
		amount money.Amount
	}{{"Cloth and notions", c.Sheet.Materials}, {"Your work", c.Sheet.Labour}, {"Direct expenses", c.Sheet.Expenses}, {"Overhead", c.Sheet.Overhead}, {"Packing", c.Sheet.Packing}} {
		if part.amount.Sign() <= 0 {
			continue
		}
		share := part.amount.Number().Float64() / total
		bars = append(bars, Bar{Name: part.name, Value: c.Money(part.amount) + ", " + c.Percent(share), Share: share})
	}
	return Bars("What the cost is made up of", bars)
}

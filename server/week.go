package server

import (
	"bytes"
	"fmt"
	"html/template"
	"time"

	"yardwright/server/page"
	"yardwright/server/workshop"
)

// Sizes of the plot of a week, in its own units.
const (
	plotBar   = 64
	plotGap   = 16
	plotHigh  = 150
	plotBelow = 44
	plotAbove = 22
)

// drawWeek draws the minutes of each day: an outline for the time there is, filled as far as
// it is booked. The table beside it says the same in words.
func drawWeek(base page.Base, days []workshop.DayLoad) template.HTML {
	most := time.Minute
	for _, day := range days {
		most = max(most, day.There)
	}
	high := func(d time.Duration) int { return int(plotHigh * d / most) }
	wide := len(days) * (plotBar + plotGap)
	var svg bytes.Buffer
	fmt.Fprintf(&svg, `<svg class="week" role="img" aria-label="Time booked and time there is, by day; the table below says the same" viewBox="0 0 %d %d">`, wide, plotAbove+plotHigh+plotBelow)
	for i, day := range days {
		x, foot := i*(plotBar+plotGap)+plotGap/2, plotAbove+plotHigh
		fmt.Fprintf(&svg, `<rect class="there" x="%d" y="%d" width="%d" height="%d"/>`, x, foot-high(day.There), plotBar, high(day.There))
		fmt.Fprintf(&svg, `<rect class="booked" x="%d" y="%d" width="%d" height="%d"/>`, x, foot-high(day.Booked), plotBar, high(day.Booked))
		middle := x + plotBar/2
		fmt.Fprintf(&svg, `<text x="%d" y="%d">%s</text>`, middle, foot-high(day.There)-6, template.HTMLEscapeString(shortTime(day.Booked)))
		fmt.Fprintf(&svg, `<text x="%d" y="%d" class="day">%s</text><text x="%d" y="%d">%s</text>`, middle, foot+18, day.Day.Format("Mon"), middle, foot+36, base.ShortDay(day.Day))
	}
	svg.WriteString(`</svg>`)
	return template.HTML(svg.String()) //nolint:gosec // numbers and days
}

// shortTime writes working time for a narrow place: 5:30.
func shortTime(d time.Duration) string {
	minutes := int((d + time.Minute/2) / time.Minute)
	return fmt.Sprintf("%d:%02d", minutes/60, minutes%60)
}

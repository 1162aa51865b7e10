package workshop

import (
	"slices"
	"strings"
	"time"
)

// DayOrder says how a file means days such as 1/2/2027: nobody can tell from one of them alone.
type DayOrder string

// The orders. Without one, a day that can be meant in two ways is asked about.
const (
	DayFirst   DayOrder = "day"
	MonthFirst DayOrder = "month"
)

// slashed is the layout of a day with slashes in an order.
var slashed = map[DayOrder]string{DayFirst: "2/1/2006", MonthFirst: "1/2/2006"}

// dayLayouts can be taken in one way only: 2026-12-24, 24.12.2026, 24 December 2026, 24 Dec 2026.
var dayLayouts = []string{time.DateOnly, "2.1.2006", "2 January 2006", "2 Jan 2006", "January 2, 2006", "Jan 2, 2006"}

// read reads a day; other is what it can be as well, if nothing says which is meant. Day is zero for
// what is no day.
func (o DayOrder) read(text string) (day, other time.Time) {
	for _, layout := range dayLayouts {
		if day, err := time.Parse(layout, text); err == nil {
			return day, time.Time{}
		}
	}
	if layout := slashed[o]; layout != "" {
		if day, err := time.Parse(layout, text); err == nil {
			return day, time.Time{}
		}
	}
	first, dayErr := time.Parse(slashed[DayFirst], text)
	second, monthErr := time.Parse(slashed[MonthFirst], text)
	switch {
	case dayErr != nil:
		return second, time.Time{} // zero if it is no day at all
	case monthErr != nil || first.Equal(second):
		return first, time.Time{}
	}
	return first, second
}

// ImportChoice is what the maker says of a file: which column is which, and how days are meant.
type ImportChoice struct {
	Matching Matching
	Days     DayOrder
}

// dayColumns are the columns that hold days.
var dayColumns = []string{"due", "taken"}

// settle finds out how the days of a file are meant, if one of them can be meant in one order only and
// none in the other only. It reports whether the file has days with slashes at all.
func (c *ImportChoice) settle(kind ImportKind, table Table) (slashes bool) {
	seen := map[DayOrder]bool{}
	for _, name := range dayColumns {
		at, ok := c.Matching[name]
		if !ok || !slices.ContainsFunc(kind.Columns, func(col ImportColumn) bool { return col.Name == name }) {
			continue
		}
		for _, row := range table.Rows {
			if at >= len(row.Cells) || !strings.Contains(row.Cells[at], "/") {
				continue
			}
			slashes = true
			text := strings.TrimSpace(row.Cells[at])
			_, dayErr := time.Parse(slashed[DayFirst], text)
			_, monthErr := time.Parse(slashed[MonthFirst], text)
			seen[DayFirst] = seen[DayFirst] || dayErr == nil && monthErr != nil
			seen[MonthFirst] = seen[MonthFirst] || monthErr == nil && dayErr != nil
		}
	}
	if c.Days == "" && seen[DayFirst] != seen[MonthFirst] {
		c.Days = MonthFirst
		if seen[DayFirst] {
			c.Days = DayFirst
		}
	}
	return slashes
}

// DayRead is a cell of a column as it is read, for days that are written in another way than they are
// shown; "" for other cells.
func (c ImportChoice) DayRead(column, text string) string {
	if !slices.Contains(dayColumns, column) {
		return ""
	}
	day, other := c.Days.read(strings.TrimSpace(text))
	if day.IsZero() || !other.IsZero() || day.Format(time.DateOnly) == text {
		return ""
	}
	return day.Format(longDay)
}

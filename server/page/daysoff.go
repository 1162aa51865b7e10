package page

import (
	"time"

	"yardwright/server/store"
)

// DaysOff are the days without work, those that follow each other together.
type DaysOff struct {
	Base
	Workshop store.Workshop
	Spans    []DaySpan
}

// DaySpan are days that follow each other.
type DaySpan struct {
	From, To time.Time
	Days     []time.Time
}

// Past tells whether the days lie behind.
func (s DaySpan) Past(today time.Time) bool { return s.To.Before(today) }

// Coming are the days off from today on, Past those before, latest first.
func (d DaysOff) Coming() []DaySpan { return d.spans(false) }

// Past are the days off that lie behind, latest first.
func (d DaysOff) Past() []DaySpan { return d.spans(true) }

func (d DaysOff) spans(past bool) []DaySpan {
	var spans []DaySpan
	for _, s := range d.Spans {
		if s.Past(d.Today) != past {
			continue
		}
		if past {
			spans = append([]DaySpan{s}, spans...)
		} else {
			spans = append(spans, s)
		}
	}
	return spans
}

// DayBox is an empty box for a day.
func (d DaysOff) DayBox(name, label, hint string) Field {
	return d.DayField(name, label, hint, time.Time{})
}

func (DaysOff) page() string { return "days_off" }

func init() { pages["days_off"] = nil }

package exports

import (
	"io"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
)

// Appointment is something of a workshop that takes whole days.
type Appointment struct {
	// ID stays the same as long as it is the same appointment, so that a calendar that reads
	// the feed anew moves it instead of adding another one.
	ID string
	// From and To are the first and the last day.
	From, To time.Time
	// Title is what the calendar shows, About what it tells when asked.
	Title, About string
	// Address is where to read more; empty for none.
	Address string
	// Done appointments are shown as such.
	Done bool
}

// calendarMaker names what wrote the calendar, as RFC 5545, 3.7.3 asks.
const calendarMaker = "-//Yardwright//Workroom calendar//EN"

// Calendar writes appointments as an iCalendar file (RFC 5545) that other calendars can read
// and subscribe to. Days are days wherever the reader is: they carry no time and no zone, and
// DTEND is the day after the last one (RFC 5545, 3.6.1). They leave the reader's time free.
// Options give the workshop's name and the date that stands as the time of writing.
func Calendar(w io.Writer, appointments []Appointment, o Options) error {
	calendar := ics.NewCalendarFor("Yardwright")
	calendar.SetProductId(calendarMaker)
	calendar.SetMethod(ics.MethodPublish)
	if name := calendarText(o.Workshop); name != "" {
		calendar.SetXWRCalName(name)
	}
	stamp := time.Date(o.Date.Year(), o.Date.Month(), o.Date.Day(), 0, 0, 0, 0, time.UTC)
	for _, appointment := range appointments {
		event := calendar.AddEvent(appointment.ID)
		event.SetDtStampTime(stamp)
		event.SetAllDayStartAt(appointment.From)
		event.SetAllDayEndAt(appointment.To.AddDate(0, 0, 1))
		event.SetSummary(calendarText(appointment.Title))
		if about := calendarText(appointment.About); about != "" {
			event.SetDescription(about)
		}
		if appointment.Address != "" {
			event.SetURL(appointment.Address)
		}
		event.SetTimeTransparency(ics.TransparencyTransparent)
		if appointment.Done {
			event.AddCategory("done")
		}
	}
	return calendar.SerializeTo(w, ics.WithNewLineWindows)
}

// calendarText leaves out what RFC 5545 allows in no text: control characters other than tab
// and line end (3.1, CONTROL), and what is not UTF-8.
func calendarText(text string) string {
	text = strings.ReplaceAll(strings.ToValidUTF8(text, "\ufffd"), "\r\n", "\n")
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == 0x7f {
			return -1
		}
		return r
	}, text))
}

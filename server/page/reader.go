package page

import (
	"html/template"
	"strings"
	"time"

	"golang.org/x/text/language"
)

// Reader is how days and times are written for whoever reads a page: by the habits of their
// country, which the browser tells. The words are English, as the pages are; a month is always
// written as a word, so that nobody mixes it up with the day.
type Reader struct {
	// Country is its two letters of ISO 3166; empty if it isn't known.
	Country string
}

// The countries that differ from day before month, and from a clock of 24 hours: as English is
// written there by CLDR 48 (which ICU 78 shows), of the countries that CLDR has English for.
const (
	monthFirst  = "US AS GU MP PR UM VI CA PH"
	twelveHours = monthFirst + " AE AG AU BB BM BS CY DM ER FJ FM GD GH GM GY HK IN JM KI KN KY LC LR LS MH MO MW MY NA NZ PG PK PW SB SD SG SL SS SZ TC TO TT VC VG VU WS ZM"
)

// ReaderOf returns the reader with a browser's list of languages (the header Accept-Language),
// or, where it tells none, one from the workshop's own locale.
func ReaderOf(languages, workshop string) Reader {
	for _, list := range []string{languages, workshop} {
		tags, _, err := language.ParseAcceptLanguage(list)
		if err != nil || len(tags) == 0 || tags[0] == language.Und {
			continue
		}
		// A language without a country is taken to be read where most of its readers are.
		if region, sure := tags[0].Region(); sure != language.No && region.IsCountry() {
			return Reader{region.String()}
		}
	}
	return Reader{}
}

func (r Reader) in(countries string) bool {
	return r.Country != "" && strings.Contains(countries, r.Country)
}

// Day writes a day: Tue, 24 Nov 2026, or Tue, Nov 24, 2026.
func (r Reader) Day(t time.Time) string {
	if r.in(monthFirst) {
		return t.Format("Mon, Jan 2, 2006")
	}
	return t.Format("Mon, 2 Jan 2006")
}

// ShortDay writes a day without its weekday and year: 24 Nov, or Nov 24.
func (r Reader) ShortDay(t time.Time) string {
	if r.in(monthFirst) {
		return t.Format("Jan 2")
	}
	return t.Format("2 Jan")
}

// Clock writes a time of day: 15:04, or 3:04 pm.
func (r Reader) Clock(t time.Time) string {
	if r.in(twelveHours) {
		return t.Format("3:04 pm")
	}
	return t.Format("15:04")
}

// Day writes a day in the reader's manner.
func (b Base) Day(t time.Time) string {
	if t.IsZero() {
		return "no day"
	}
	return b.Reader.Day(t)
}

// ShortDay writes a day where there is little room.
func (b Base) ShortDay(t time.Time) string { return b.Reader.ShortDay(t) }

// Moment writes a time of day on a day. The page's script puts the reader's own clock in the
// place of the workshop's, where the two are apart.
func (b Base) Moment(t time.Time) template.HTML {
	manner := "24"
	if b.Reader.in(twelveHours) {
		manner = "12"
	}
	if b.Reader.in(monthFirst) {
		manner += " month-first"
	}
	words := b.Day(t) + ", " + b.Reader.Clock(t)
	return template.HTML(`<time datetime="` + t.UTC().Format(time.RFC3339) + `" data-moment="` + manner + `">` + words + `</time>`) //nolint:gosec // numbers and names of days
}

package page_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/page"
)

// Days and times are written as English is in the reader's country. The expected texts are
// what ICU 78.2 with CLDR 48 writes for en-US, en-GB and so on (weekday, day, month as a short
// word, year; hour and minute), but for the case of am and pm, dots in them and commas after
// the month.
func TestDaysAndTimesInTheReadersManner(t *testing.T) {
	t.Parallel()
	moment := time.Date(2026, 11, 4, 15, 4, 0, 0, time.UTC)
	for _, test := range []struct{ name, languages, workshop, day, short, clock string }{
		{"American", "en-US,en;q=0.9", "en-GB", "Wed, Nov 4, 2026", "Nov 4", "3:04 pm"},
		{"English without a country", "en", "en-GB", "Wed, Nov 4, 2026", "Nov 4", "3:04 pm"},
		{"British", "en-GB", "en-US", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"German", "de-DE,de;q=0.8,en-US;q=0.5", "en-US", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"German without a country", "de", "en-US", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"French", "fr-FR", "en-US", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"Canadian", "fr-CA", "en-US", "Wed, Nov 4, 2026", "Nov 4", "3:04 pm"},
		{"Australian", "en-AU", "en-US", "Wed, 4 Nov 2026", "4 Nov", "3:04 pm"},
		{"Indian", "hi", "en-US", "Wed, 4 Nov 2026", "4 Nov", "3:04 pm"},
		{"Kenyan", "en-KE", "en-US", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"the browser tells nothing", "", "en-GB", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
		{"the browser tells nonsense", ";;q=x", "en-US", "Wed, Nov 4, 2026", "Nov 4", "3:04 pm"},
		{"anything will do", "*", "en-US", "Wed, Nov 4, 2026", "Nov 4", "3:04 pm"},
		{"nothing is known", "", "", "Wed, 4 Nov 2026", "4 Nov", "15:04"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			reader := page.ReaderOf(test.languages, test.workshop)
			require.Equal(t, test.day, reader.Day(moment))
			require.Equal(t, test.short, reader.ShortDay(moment))
			require.Equal(t, test.clock, reader.Clock(moment))
			written := string(page.Base{Reader: reader}.Moment(moment))
			require.Contains(t, written, `<time datetime="2026-11-04T15:04:00Z" `)
			require.Contains(t, written, ">"+test.day+", "+test.clock+"<")
		})
	}
	require.Equal(t, "no day", page.Base{}.Day(time.Time{}))
}

func TestAtMostIsNeverLess(t *testing.T) {
	t.Parallel()
	for share, want := range map[float64]string{0: "0.0 %", 0.0001: "0.1 %", 0.02: "2.0 %", 0.0201: "2.1 %"} {
		require.Equal(t, want, page.Base{}.AtMost(share))
	}
}

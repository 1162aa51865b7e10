package exports

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/emersion/go-ical"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// readCalendar reads a calendar with an independent parser and checks what RFC 5545 asks of
// every file: lines end in CR LF and are at most 75 octets long (3.1), PRODID and VERSION
// stand once (3.6), every event has UID and DTSTAMP (3.6.1), and no UID appears twice.
func readCalendar(t require.TestingT, content []byte) []*ical.Component {
	for _, line := range strings.SplitAfter(string(content), "\n") {
		if line == "" {
			continue
		}
		require.True(t, strings.HasSuffix(line, "\r\n"), "%q", line)
		require.LessOrEqual(t, len(line)-2, 75, "%q", line)
		require.True(t, utf8.ValidString(line), "no letter is cut in two: %q", line)
	}
	decoder := ical.NewDecoder(bytes.NewReader(content))
	calendar, err := decoder.Decode()
	require.NoError(t, err)
	_, err = decoder.Decode()
	require.ErrorIs(t, err, io.EOF)
	require.Len(t, calendar.Props.Values(ical.PropProductID), 1)
	require.Len(t, calendar.Props.Values(ical.PropVersion), 1)
	require.Equal(t, "2.0", calendar.Props.Get(ical.PropVersion).Value)
	seen := map[string]bool{}
	for _, child := range calendar.Children {
		require.Equal(t, ical.CompEvent, child.Name)
		uid := child.Props.Get(ical.PropUID)
		require.NotNil(t, uid)
		require.False(t, seen[uid.Value])
		seen[uid.Value] = true
		require.NotNil(t, child.Props.Get(ical.PropDateTimeStamp))
		require.Equal(t, ical.ValueDate, child.Props.Get(ical.PropDateTimeStart).ValueType())
	}
	return calendar.Children
}

func TestCalendar(t *testing.T) {
	t.Parallel()
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 15, 0, 0, 0, time.UTC) }
	appointments := []Appointment{
		{ID: "order-7@yardwright", From: day(11, 30), To: day(11, 30), Title: "Order 2026-007; Rook, Wren & Söhne\\", About: "12 garments\r\nopen", Address: "http://127.0.0.1:8137/orders/7"},
		{ID: "batch-2@yardwright", From: day(12, 31), To: time.Date(2027, 1, 2, 0, 0, 0, 0, time.UTC), Title: strings.Repeat("ü", 200), Done: true},
		{ID: "order-8@yardwright", From: day(12, 1), To: day(12, 1), Title: "bell\x07 and \x00 nothing 🧵"},
	}
	var got, again bytes.Buffer
	options := Options{Workshop: "Quillfen Workroom", Date: day(11, 25)}
	require.NoError(t, Calendar(&got, appointments, options))
	require.NoError(t, Calendar(&again, appointments, options))
	require.Equal(t, got.Bytes(), again.Bytes())
	events := readCalendar(t, got.Bytes())
	require.Len(t, events, 3)
	texts := func(name string) (values []string) {
		for _, event := range events {
			value := ""
			if event.Props.Get(name) != nil {
				text, err := event.Props.Text(name)
				require.NoError(t, err)
				value = text
			}
			values = append(values, value)
		}
		return values
	}
	require.Equal(t, []string{"Order 2026-007; Rook, Wren & Söhne\\", strings.Repeat("ü", 200), "bell and  nothing 🧵"}, texts(ical.PropSummary))
	require.Equal(t, []string{"12 garments\nopen", "", ""}, texts(ical.PropDescription))
	dates := func(name string) (values []string) {
		for _, event := range events {
			values = append(values, event.Props.Get(name).Value)
		}
		return values
	}
	require.Equal(t, []string{"20261130", "20261231", "20261201"}, dates(ical.PropDateTimeStart))
	require.Equal(t, []string{"20261201", "20270103", "20261202"}, dates(ical.PropDateTimeEnd), "the day after the last one")
	require.Equal(t, "http://127.0.0.1:8137/orders/7", events[0].Props.Get(ical.PropURL).Value)
}

func TestAnyNameFitsIntoACalendar(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		title := rapid.String().Draw(t, "title")
		var out bytes.Buffer
		require.NoError(t, Calendar(&out, []Appointment{{ID: "a@b", From: time.Unix(0, 0).UTC(), To: time.Unix(0, 0).UTC(), Title: title, About: title}}, Options{Workshop: title}))
		events := readCalendar(t, out.Bytes())
		got, err := events[0].Props.Text(ical.PropSummary)
		require.NoError(t, err)
		require.Equal(t, calendarText(title), got)
	})
}

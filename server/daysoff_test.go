package server_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Days off are taken, several at once, worked after all, and both can be undone. Nothing is planned
// on them.
func TestDaysOff(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	off := func() map[string]bool {
		days, err := s.service.DaysOff(t.Context(), s.id)
		require.NoError(t, err)
		found := map[string]bool{}
		for _, day := range days {
			found[day.Format(time.DateOnly)] = true
		}
		return found
	}
	before := len(off())
	for _, test := range []struct {
		name, at, says string
		typed          url.Values
	}{
		{"no day", "from", "Choose a day", url.Values{"from": {""}}},
		{"no day that is", "from", "Write a day", url.Values{"from": {"soon"}}},
		{"the wrong way round", "to", "before the first day", url.Values{"from": {"2031-05-02"}, "to": {"2031-05-01"}}},
		{"for ever", "to", "At most a year", url.Values{"from": {"2031-05-02"}, "to": {"2033-05-01"}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := s.post(t, "/workshop/days", test.typed, http.StatusUnprocessableEntity)
			require.Contains(t, text, test.says)
			require.Contains(t, text, `href="#`+test.at+`"`)
		})
	}
	require.Len(t, off(), before)
	text := s.post(t, "/workshop/days", url.Values{"from": {"2031-05-01"}}, http.StatusOK)
	require.Contains(t, text, "Days off saved.")
	text = s.post(t, "/workshop/days", url.Values{"from": {"2031-04-30"}, "to": {"2031-05-02"}}, http.StatusOK)
	require.Len(t, off(), before+3)
	require.True(t, off()["2031-05-02"])
	require.Contains(t, text, "Apr 30, 2031 to ")
	s.undo(t, text)
	require.Len(t, off(), before+1, "the day that was off before stays so")
	require.True(t, off()["2031-05-01"])
	text = s.post(t, "/workshop/days/work", url.Values{"day": {"2031-05-01"}}, http.StatusOK)
	require.Len(t, off(), before)
	s.undo(t, text)
	require.Len(t, off(), before+1)

	// No minutes of a day off are there.
	today := s.service.Today()
	room, err := s.service.Workshop(t.Context(), s.id)
	require.NoError(t, err)
	load, err := s.service.Load(t.Context(), room, 14)
	require.NoError(t, err)
	s.post(t, "/workshop/days", url.Values{"from": {today.Format(time.DateOnly)}, "to": {today.AddDate(0, 0, 13).Format(time.DateOnly)}}, http.StatusOK)
	require.Positive(t, load.There)
	load, err = s.service.Load(t.Context(), room, 14)
	require.NoError(t, err)
	require.Zero(t, load.There)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// How plies are spread is a setting, and refused where it is no way of spreading.
func TestHowPliesAreSpread(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	values := s.formOf(t, "/workshop", "/workshop")
	require.Equal(t, "face one way", values.Get("spread"))
	values.Set("spread", "upside down")
	require.Contains(t, s.post(t, "/workshop", values, http.StatusUnprocessableEntity), "Choose face one way")
	values.Set("spread", "folded lengthwise")
	s.post(t, "/workshop", values, http.StatusOK)
	require.Equal(t, "folded lengthwise", s.formOf(t, "/workshop", "/workshop").Get("spread"))
}

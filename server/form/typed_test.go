package form_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
	"yardwright/server/form"
)

func TestMinutesAreReadAsTheyAreTyped(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"45": "45", "45 min": "45", "45min.": "45", "3:40": "220", "03:05": "185", "3 h 40": "220", "3h40": "220", "3 h 40 min": "220", "2 h 05 min": "125",
		"3.5 h": "210", "3,5 h": "210", "3 hours": "180", "0": "0", "0,25": "0.25", "3 min 40 s": "3.667", "3 min 30": "3.5", "90 s": "1.5", "1 h 30 s": "60.5", "2 H": "120", "2½ h": "150", "½ h": "30", "1¾": "1.75",
	} {
		t.Run(text, func(t *testing.T) {
			t.Parallel()
			got, err := form.ParseMinutes(text)
			require.NoError(t, err)
			require.Equal(t, want, got.String())
		})
	}
	for _, text := range []string{"", "soon", "3:4", "3:60", "3:400", ":40", "1:2:3", "40 min 3 h", "3 h 40 h", "h", "3 4", "3 d", "-5", "−1 h", "1 h 2 min 3 s 4", "1.5:30"} {
		t.Run("not "+text, func(t *testing.T) {
			t.Parallel()
			_, err := form.ParseMinutes(text)
			require.Error(t, err)
		})
	}
	f := typed(url.Values{"a": {"3 h 40"}, "b": {"lots"}, "c": {""}})
	require.Equal(t, money.Int(220), f.Minutes("a"))
	require.Zero(t, f.Minutes("b"))
	require.Zero(t, f.Minutes("c"))
	require.Equal(t, []form.Problem{{Field: "b", Message: "Write minutes, such as 45, 3:40 or 3 h 40."}}, f.Problems())
}

// A step takes minutes and seconds, a day's stall hours; and nobody pays half a cent.
func TestTimesAndCoinsFitTheirBoxes(t *testing.T) {
	t.Parallel()
	f := posted(t, "USD", url.Values{
		"step": {"3:40"}, "plain": {"3 h 40"}, "short": {"8 h 30"}, "colon": {"8:30"}, "bare": {"8,5"}, "half": {"8½"}, "minutes": {"510 min"}, "price": {"$28.50"},
	})
	require.Equal(t, "3.667", f.StepMinutes("step").String())
	require.Equal(t, "220", f.StepMinutes("plain").String())
	for _, field := range []string{"short", "colon", "bare", "half", "minutes"} {
		require.Equal(t, "8.5", f.Hours(field).String(), field)
	}
	require.Equal(t, "28.5", f.Coins("price").String())
	require.True(t, f.OK(), "%v", f.Problems())
	for currency, typed := range map[string]string{"USD": "28.505", "JPY": "100.5", "KWD": "1.2345"} {
		f := posted(t, currency, url.Values{"price": {typed}, "hours": {"all day"}})
		require.Zero(t, f.Coins("price"))
		require.Zero(t, f.Hours("hours"))
		require.Len(t, f.Problems(), 2, currency)
		require.Contains(t, f.Problems()[0].Message, "Write at most ")
	}
}

// posted is a form as it arrives in a workshop that counts in a currency.
func posted(t *testing.T, currency string, values url.Values) *form.Form {
	t.Helper()
	r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	f, err := form.Parse(httptest.NewRecorder(), r.WithContext(form.CountingIn(r.Context(), money.MustCurrency(currency))))
	require.NoError(t, err)
	return f
}

func TestMoneyIsReadAsItIsTyped(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ currency, text, want string }{
		{"USD", "$28", "28"},
		{"USD", "28,50", "28.5"},
		{"USD", "28.50", "28.5"},
		{"USD", " $ 1,234.50", "1234.5"},
		{"USD", "28 USD", "28"},
		{"EUR", "28,50 €", "28.5"},
		{"USD", "-$5", "-5"},
		{"USD", "−$5", "-5"},
		{"USD", "$-5", "-5"},
	} {
		t.Run(test.text, func(t *testing.T) {
			t.Parallel()
			f := posted(t, test.currency, url.Values{"x": {test.text}})
			require.Equal(t, test.want, f.Money("x").String())
			require.True(t, f.OK(), "%v", f.Problems())
		})
	}
	for text, want := range map[string]string{"€28": "in USD", "lots": `"lots" is not a number`, "1,234": "1234 or 1.234", "9999999999": "at most 1,000,000,000"} {
		f := posted(t, "USD", url.Values{"x": {text}})
		require.Zero(t, f.Money("x"))
		require.Len(t, f.Problems(), 1)
		require.Contains(t, f.Problems()[0].Message, want)
	}
	require.Zero(t, posted(t, "USD", nil).Money("x"))
}

func FuzzParseMinutes(f *testing.F) {
	for _, seed := range []string{"45", "3:40", "3 h 40", "3.5 h", "1 h 2 min 3 s", "1,5", ":", "h", "9999999999999999 h"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		minutes, err := form.ParseMinutes(text)
		if err != nil {
			require.Zero(t, minutes)
			return
		}
		require.GreaterOrEqual(t, minutes.Sign(), 0)
		again, err := form.ParseMinutes(minutes.String())
		require.NoError(t, err)
		require.Equal(t, minutes, again)
	})
}

func FuzzMoney(f *testing.F) {
	for _, seed := range []string{"$28", "28,50", "1.234,50 €", "-$5", "USD", "$$", "1e9"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		read := posted(t, "USD", url.Values{"x": {text}})
		value := read.Money("x")
		if !read.OK() {
			require.Zero(t, value)
			return
		}
		again := posted(t, "USD", url.Values{"x": {"$" + value.String()}})
		require.Equal(t, value, again.Money("x"))
		require.True(t, again.OK())
	})
}

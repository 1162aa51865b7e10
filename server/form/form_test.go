package form_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/form"
)

func typed(values url.Values) *form.Form { return &form.Form{Values: values} }

func TestFieldsAreRead(t *testing.T) {
	t.Parallel()
	f := typed(url.Values{
		"name": {"  Poplin "}, "width": {"44 1/2 in"}, "bare": {"10"}, "price": {"7,50"}, "share": {"6.5 %"}, "count": {"12"}, "id": {"7"},
		"ids": {"1", "x", "3"}, "day": {"2030-02-28"}, "tick": {"yes"}, "word": {"thin"},
	})
	require.Equal(t, "Poplin", f.Needed("name", "write"))
	require.Equal(t, 89*length.Inch/2, f.Length("width", length.Centimetres))
	require.Equal(t, 10*length.Yard, f.LengthNeeded("bare", length.Yards))
	require.Equal(t, money.MustParse("7.5"), f.Decimal("price"))
	require.Equal(t, money.MustParse("6.5"), f.Decimal("share"))
	require.Equal(t, 12, f.Int("count", 1, 20))
	require.Equal(t, int64(7), f.ID("id"))
	require.Equal(t, []int64{1, 3}, f.IDs("ids"))
	require.Equal(t, time.Date(2030, 2, 28, 0, 0, 0, 0, time.UTC), f.Day("day"))
	require.True(t, f.Bool("tick"))
	require.False(t, f.Bool("other"))
	require.Equal(t, "thin", f.Choice("word", "thick", "thin"))
	require.True(t, f.OK())
}

func TestEmptyFields(t *testing.T) {
	t.Parallel()
	f := typed(nil)
	require.Zero(t, f.Length("a", length.Inches))
	require.Zero(t, f.Decimal("a"))
	require.Zero(t, f.Int("a", 0, 9))
	require.Zero(t, f.ID("a"))
	require.True(t, f.Day("a").IsZero())
	require.True(t, f.OK())
	require.Zero(t, f.LengthNeeded("a", length.Inches))
	f.Int("b", 1, 9)
	f.Needed("c", "Write something.")
	require.Len(t, f.Problems(), 3)
}

func TestSlipsAreSaidAtTheField(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, text string
		read       func(*form.Form)
		want       string
	}{
		{"length in words", "wide", func(f *form.Form) { f.Length("x", length.Inches) }, `"wide" is not a unit`},
		{"negative length", "-2 in", func(f *form.Form) { f.Length("x", length.Inches) }, "0 or more"},
		{"no length", "0", func(f *form.Form) { f.LengthNeeded("x", length.Inches) }, "such as 44 in"},
		{"number in words", "lots", func(f *form.Form) { f.Decimal("x") }, "lots"},
		{"number too large", "9999999999", func(f *form.Form) { f.Decimal("x") }, "at most 1,000,000,000"},
		{"ambiguous number", "1,234", func(f *form.Form) { f.Decimal("x") }, "1,234"},
		{"too large", "21", func(f *form.Form) { f.Int("x", 1, 20) }, "from 1 to 20"},
		{"not whole", "1.5", func(f *form.Form) { f.Int("x", 1, 20) }, "from 1 to 20"},
		{"no day", "30 February", func(f *form.Form) { f.Day("x") }, "2026-12-24"},
		{"day that isn't", "2030-02-30", func(f *form.Form) { f.Day("x") }, "2026-12-24"},
		{"other word", "thinnish", func(f *form.Form) { f.Choice("x", "thick", "thin") }, "Choose thick, thin"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			f := typed(url.Values{"x": {test.text}})
			test.read(f)
			require.Len(t, f.Problems(), 1)
			require.Equal(t, "x", f.Problems()[0].Field)
			require.Contains(t, f.Problems()[0].Message, test.want)
			require.Regexp(t, `^[A-Z"0-9−-].*[.?]$`, f.Problems()[0].Message, "a whole sentence")
			require.Equal(t, test.text, f.Raw("x"), "what was typed is kept")
		})
	}
}

func TestAFormThatIsTooLargeIsRefused(t *testing.T) {
	t.Parallel()
	r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader("note="+strings.Repeat("x", 5<<20)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	_, err := form.Parse(httptest.NewRecorder(), r)
	var tooLarge *http.MaxBytesError
	require.ErrorAs(t, err, &tooLarge)
}

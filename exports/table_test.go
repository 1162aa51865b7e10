package exports

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestTable(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	require.NoError(t, Table(&out, []string{"name", "quantity"}, [][]any{
		{"Rook, and \"Daughter\"", 3}, {"two\nlines", -2}, {"", nil}, {"Wren", "=1+1"},
	}))
	require.Equal(t, "\ufeffname,quantity\r\n\"Rook, and \"\"Daughter\"\"\",3\r\n\"two\r\nlines\",-2\r\n,\r\nWren,'=1+1\r\n", out.String())
	require.Error(t, Table(&out, []string{"name"}, [][]any{{"a", "b"}}))
}

// What a spreadsheet takes for a formula, after the list in "CSV Injection" of the OWASP
// community pages, is text to it once it is harmless.
func TestHarmless(t *testing.T) {
	t.Parallel()
	for _, evil := range []string{
		`=1+1`, `+1+1`, `-1+1`, `@SUM(1+1)`, "\t=1+1", "\r=1+1", "\n=1+1", `=cmd|' /C calc'!A0`, `=HYPERLINK("http://localhost/?x="&A1,"look")`,
		`＝1+1`, `＋1`, `－1`, `＠SUM(1)`, ` =1+1`, "\u00a0=1+1", `=1+1";=1+2`,
	} {
		require.Equal(t, "'"+evil, Harmless(evil))
		require.Equal(t, evil, Plain(Harmless(evil)))
	}
	for _, good := range []string{"", "Wren", "'tis", "a=b", "17⅜ in", "1-2", "'"} {
		require.Equal(t, good, Harmless(good))
		require.Equal(t, good, Plain(good))
	}
}

func TestTablesComeBackAsTheyWere(t *testing.T) {
	t.Parallel()
	letters := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune("'=+-@,;\"\n \t＝"))))
	rapid.Check(t, func(t *rapid.T) {
		text := strings.ReplaceAll(letters.Draw(t, "text"), "\r", "")
		if strings.Contains(text, "\n") {
			text = strings.ReplaceAll(text, "\n", "") + "\nx"
		}
		require.Equal(t, text, Plain(Harmless(text)))
		var out bytes.Buffer
		require.NoError(t, Table(&out, []string{"a", "b"}, [][]any{{text, "end"}}))
		rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(out.String(), "\ufeff"))).ReadAll()
		require.NoError(t, err)
		require.Equal(t, []string{text, "end"}, []string{Plain(rows[1][0]), rows[1][1]})
	})
}

package jsonfile_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"yardwright/batch/internal/jsonfile"
	"yardwright/batch/length"
)

type file struct {
	Count  int           `json:"count"`
	Name   string        `json:"name"`
	Length json.Number   `json:"length"`
	List   []json.Number `json:"list"`
}

func TestRead(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, text, want string }{
		{"good", ` {"count":3,"name":"a","length":1.5,"list":[1,2]} ` + "\n", ""},
		{"unknown name", "{\"count\":3,\n\"nmae\":\"a\"}", `line 2: unknown field "nmae"`},
		{"syntax", "{\"count\":3,\n\"name\":}", "line 2: not valid JSON"},
		{"broken number", "{\n\"count\":1.5}", "line 2: count: the number 1.5 stands here where a whole number is needed"},
		{"no number", `{"length":"long"}`, "line 1: "},
		{"number for text", `{"name":1}`, "line 1: name: a number stands here where text is needed"},
		{"text for a list", `{"list":"1"}`, "line 1: list: text stands here where a list is needed"},
		{"list for the object", `[]`, "a list stands here where a group in braces is needed"},
		{"too early", `{"count":`, "line 1: the file ends too early"},
		{"empty", "", "line 1: the file ends too early"},
		{"more", "{}\n{}", "line 2: there is more"},
		{"a brace more", "{}}", "line 1: there is more"},
		{"too large", `{"name":"` + strings.Repeat("x", 2<<20) + `"}`, "file: larger than 1 MiB"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			var f file
			err := jsonfile.Read(strings.NewReader(tt.text), 1<<20, &f)
			if tt.want == "" {
				require.NoError(t, err)
				require.Equal(t, file{3, "a", "1.5", []json.Number{"1", "2"}}, f)
				return
			}
			require.ErrorContains(t, err, tt.want)
			var fault *jsonfile.Fault
			require.ErrorAs(t, err, &fault)
		})
	}
}

func TestReadPassesTheReadersErrorOn(t *testing.T) {
	t.Parallel()
	gone := errors.New("the disk is gone")
	require.ErrorIs(t, jsonfile.Read(iotest.ErrReader(gone), 1<<20, &file{}), gone)
}

func TestLength(t *testing.T) {
	t.Parallel()
	cm, _ := length.MeasureNamed("cm")
	tests := []struct {
		number json.Number
		want   length.Length
		fault  string
	}{
		{"48.5", 485 * length.Millimetre, ""},
		{"1e2", length.Metre, ""},
		{"2.5E-1", 5 * length.Millimetre / 2, ""},
		{"", 0, "missing"},
		{"1e999", 0, "too large"},
		{"1e300", 0, "too large"},
	}
	for _, tt := range tests {
		t.Run(tt.number.String(), func(t *testing.T) {
			t.Parallel()
			got, err := jsonfile.Length(tt.number, cm)
			if tt.fault != "" {
				require.ErrorContains(t, err, tt.fault)
				return
			}
			require.NoError(t, err)
			require.Equal(t, tt.want, got)
		})
	}
}

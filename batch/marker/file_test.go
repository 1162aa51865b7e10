package marker

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

// wholeFile uses every field of a marker file.
const wholeFile = `{
 "unit": "in", "width": 43, "max_length": 96.5, "gap": 0.125, "straight_cuts": true,
 "repeat": {"length": 4, "width": 2},
 "faults": [{"x": 0, "y": 30, "width": 4, "length": 3}],
 "pieces": [
  {"name": "panel 98", "copies": 2, "width": 19, "length": 11.5, "turns": [0, 180]},
  {"name": "pocket", "outline": [[0,0],[5,0],[5,4],[2.5,5.5],[0,4]],
   "turns": [0], "mirror": true, "match": [0,1.5], "nap_group": 1, "value": 3}
 ]
}
`

func TestReadInstance(t *testing.T) {
	t.Parallel()
	in, unit, err := ReadInstance(strings.NewReader(wholeFile))
	require.NoError(t, err)
	require.Equal(t, length.Inches, unit)
	require.Equal(t, Instance{
		Width: 43 * inch, MaxLength: 193 * inch / 2, Gap: inch / 8, StraightCuts: true,
		Repeat: Repeat{Width: 2 * inch, Length: 4 * inch},
		Faults: []Fault{{X: 0, Y: 30 * inch, Width: 4 * inch, Length: 3 * inch}},
		Pieces: []Piece{
			{Name: "panel 98", Copies: 2, Width: 19 * inch, Length: 23 * inch / 2, Turns: []Turn{0, 180}},
			{
				Name: "pocket", Copies: 1, Width: 5 * inch, Length: 11 * inch / 2, Turns: []Turn{0},
				Outline:   []Point{{0, 0}, {5 * inch, 0}, {5 * inch, 4 * inch}, {5 * inch / 2, 11 * inch / 2}, {0, 4 * inch}},
				MayMirror: true, Match: &Point{0, 3 * inch / 2}, NapGroup: 1, Value: 3,
			},
		},
	}, in)
}

func TestReadInstanceDefaults(t *testing.T) {
	t.Parallel()
	in, unit, err := ReadInstance(strings.NewReader(`{"unit":"mm","width":1100,"pieces":[{"width":300,"length":250.25,"match":null}]}`))
	require.NoError(t, err)
	require.Equal(t, length.Millimetres, unit)
	require.Equal(t, Instance{Width: 1100 * length.Millimetre, Pieces: []Piece{
		{Copies: 1, Width: 300 * length.Millimetre, Length: 1001 * length.Millimetre / 4, Turns: []Turn{0}},
	}}, in)
}

// TestReadInstanceRounds: a length that is no whole count of 1/8000 mm is rounded to the nearest.
func TestReadInstanceRounds(t *testing.T) {
	t.Parallel()
	in, _, err := ReadInstance(strings.NewReader(`{"unit":"mm","width":1000.00006,"pieces":[{"width":0.00019,"length":33.333333333333333}]}`))
	require.NoError(t, err)
	require.Equal(t, 1000*length.Millimetre, in.Width)
	require.Equal(t, length.Length(2), in.Pieces[0].Width)
	require.Equal(t, length.Length(266_667), in.Pieces[0].Length)
}

func TestReadInstanceRefuses(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, from, to string // what is exchanged in wholeFile
		line           int
		field, message string
	}{
		{"empty", wholeFile, " \n", 0, "", "the file is empty"},
		{"not an object", wholeFile, "[]", 1, "", "must be an object"},
		{"not JSON", `"gap": 0.125,`, `"gap": 0.125;`, 2, "", "not JSON"},
		{"cut off", "  {\"name\": \"pocket\"", "", 7, "pieces[1]", "not JSON"},
		{"ends early", " ]\n}\n", "", 9, "pieces", "ends too early"},
		{"more behind", "]\n}\n", "]\n}\n{}\n", 11, "", "more text after the end"},
		{"field twice", `"gap": 0.125`, `"gap": 0.125, "gap": 1`, 2, "gap", "stands here twice"},
		{"too many brackets", `[[0,0]`, `[[[[[[[[[[0]]]]]]]],0]`, 7, "pieces[1].outline[0][0][0][0][0][0]", "too many brackets"},
		{"no unit", `"unit": "in", `, "", 1, "unit", `write "in" or "mm"`},
		{"unit not known", `"in"`, `"ell"`, 2, "unit", `must be "in" or "mm"`},
		{"width missing", `"width": 43, `, "", 1, "width", "is missing"},
		{"width a text", `"width": 43`, `"width": "43"`, 2, "width", "must be a number of in"},
		{"exponent", `"width": 43`, `"width": 43e2`, 2, "width", "plainly"},
		{"too many digits", `"width": 43`, `"width": 43.` + strings.Repeat("0", 60), 2, "width", "plainly"},
		{"out of range", `"width": 43`, `"width": ` + strings.Repeat("9", 30), 2, "width", "too long"},
		{"unknown field", `"gap"`, `"gaps"`, 2, "gaps", "not known; known here are unit, width"},
		{"unknown field of a piece", `"nap_group"`, `"nap"`, 8, "pieces[1].nap", "not known"},
		{"straight cuts a number", "true,\n", "1,\n", 2, "straight_cuts", "true or false"},
		{"repeat a number", `{"length": 4, "width": 2}`, "4", 3, "repeat", "must be an object"},
		{"fault without length", `"width": 4, "length": 3`, `"width": 4`, 4, "faults[0].length", "is missing"},
		{"fault beside the cloth", `{"x": 0`, `{"x": 40`, 4, "faults[0]", "beside the cloth"},
		{"pieces an object", wholeFile, `{"unit":"in","width":43,"pieces":{}}`, 1, "pieces", "must be a list"},
		{"no pieces", wholeFile, `{"unit":"in","width":43}`, 1, "pieces", "at least one piece"},
		{"copies broken", `"copies": 2`, `"copies": 2.5`, 6, "pieces[0].copies", "whole number"},
		{"copies none", `"copies": 2`, `"copies": 0`, 6, "pieces[0].copies", "from 1 to"},
		{"turn odd", `"turns": [0, 180]`, `"turns": [0, 45]`, 6, "pieces[0].turns[1]", "45 is not a turn"},
		{"turn a text", `"turns": [0, 180]`, `"turns": ["up"]`, 6, "pieces[0].turns[0]", "whole number"},
		{"no turns", `"turns": [0, 180]`, `"turns": []`, 6, "pieces[0].turns", "at least one"},
		{"name a number", `"panel 98"`, `98`, 6, "pieces[0].name", "must be a text"},
		{"length missing", `"length": 11.5, `, "", 6, "pieces[0].length", "is missing"},
		{"length below zero", `"length": 11.5`, `"length": -11.5`, 6, "pieces[0].length", "above zero"},
		{"outline empty", `[[0,0],[5,0],[5,4],[2.5,5.5],[0,4]]`, `[]`, 7, "pieces[1].outline", "at least 3 points"},
		{"outline of other things", `[2.5,5.5]`, `[2.5]`, 7, "pieces[1].outline[3]", "must be a point"},
		{"outline crossing", `[2.5,5.5]`, `[2.5,-1]`, 7, "pieces[1].outline", "must begin at 0"},
		{"match not a point", `[0,1.5]`, `[0]`, 8, "pieces[1].match", "must be a point"},
		{"value too great", `"value": 3`, `"value": 99999999999999999999`, 8, "pieces[1].value", "whole number"},
		{"too wide", `"width": 19`, `"width": 50`, 6, "pieces[0].width", `"panel 98" is wider than the cloth`},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, 1, strings.Count(wholeFile, test.from), "the example holds %q once", test.from)
			_, _, err := ReadInstance(strings.NewReader(strings.Replace(wholeFile, test.from, test.to, 1)))
			var wrong *InputError
			require.ErrorAs(t, err, &wrong)
			require.Equal(t, test.field, wrong.Field, err)
			require.Equal(t, test.line, wrong.Line, err)
			require.ErrorContains(t, err, test.message)
		})
	}
}

func TestReadInstanceTellsAllErrors(t *testing.T) {
	t.Parallel()
	text := strings.NewReplacer(`"gap": 0.125`, `"gap": "none"`, `"copies": 2`, `"copies": -2`, `"mirror": true`, `"mirror": "yes"`).Replace(wholeFile)
	_, _, err := ReadInstance(strings.NewReader(text))
	require.EqualError(t, err, "line 2: gap: must be a number of in, such as 14.5\n"+
		"line 6: pieces[0].copies: must be a whole number from 1 to 100000\n"+
		"line 8: pieces[1].mirror: must be true or false")
}

type failing struct{}

func (failing) Read([]byte) (int, error)  { return 0, errors.New("the disk is gone") }
func (failing) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }

func TestReadInstanceFails(t *testing.T) {
	t.Parallel()
	_, _, err := ReadInstance(failing{})
	require.ErrorContains(t, err, "the disk is gone")
	var wrong *InputError
	require.False(t, errors.As(err, &wrong), "it is not the input that is wrong")
}

func TestWriteResult(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 43 * inch, StraightCuts: true, Pieces: []Piece{
		{Name: "panel", Copies: 2, Width: 19 * inch, Length: 23 * inch / 2, Turns: []Turn{0}},
	}}
	r := Result{
		Marker: Marker{
			Length: 23 * inch / 2, Placements: []Placement{{X: 0, Y: 0}, {X: 39 * inch / 2, Y: 0, Turn: 180, Mirrored: true}},
			Cuts: []Cut{{X: 19 * inch, Span: 23 * inch / 2}, {Across: true, X: inch / 8, Y: 0, Span: 43 * inch}},
		},
		Bound: 11 * inch, Status: StatusWithin, Seed: 7, Stats: Stats{Iterations: 12, Elapsed: 1234567 * time.Microsecond},
	}
	var text strings.Builder
	require.NoError(t, WriteResult(&text, in, r, length.Inches))
	require.Equal(t, `{"unit":"in","length":11.5,"bound":11,"gap_percent":4.545,"efficiency":0.8837,"status":"within","seed":7,"iterations":12,"seconds":1.235,
"placements":[
{"piece":0,"x":0,"y":0,"turn":0,"mirrored":false},
{"piece":0,"x":19.5,"y":0,"turn":180,"mirrored":true}],
"cuts":[
{"across":false,"x":19,"y":0,"span":11.5},
{"across":true,"x":0.125,"y":0,"span":43}]}
`, text.String())
	require.ErrorContains(t, WriteResult(failing{}, in, r, length.Inches), "the disk is full")
}

func TestWritePartialResult(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 100 * length.Millimetre, MaxLength: 5 * length.Millimetre, Pieces: []Piece{
		{Name: "panel", Copies: 2, Width: 10 * length.Millimetre, Length: 10 * length.Millimetre, Turns: []Turn{0}, Value: 4},
	}}
	r := Result{Bound: 10 * length.Millimetre, Status: StatusPartial, Left: []int{2}, ValueBound: 3}
	var text strings.Builder
	require.NoError(t, WriteResult(&text, in, r, length.Millimetres))
	require.Equal(t, `{"unit":"mm","length":0,"bound":10,"gap_percent":100,"efficiency":0,"status":"partial","seed":0,"iterations":0,"seconds":0,"value":0,"value_bound":3,"left":[2],
"placements":[
]}
`, text.String())
}

// FuzzReadInstance: whatever is read is refused with a reason, or can be laid.
func FuzzReadInstance(f *testing.F) {
	f.Add(wholeFile)
	f.Add(`{"unit":"mm","width":10,"max_length":3,"pieces":[{"width":3,"length":4,"copies":3,"turns":[90,0]}]}`)
	f.Add(`{"unit":"in","width":1e3,"pieces":[{"outline":[[0,0],[1,1],[1,0],[0,1]]}]}`)
	f.Add(`{"unit":"mm","width":10,"repeat":{"width":7,"length":0.1},"pieces":[{"width":3,"length":4,"match":[-1,2],"nap_group":3,"turns":[180]}],"faults":[{"x":1,"y":1,"width":8,"length":1}]}`)
	f.Add("{\"unit\":\"mm\"\n,\"width\":10,\"width\":10}")
	f.Fuzz(func(t *testing.T, text string) {
		in, unit, err := ReadInstance(strings.NewReader(text))
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		if in.copies() > 50 || len(in.Faults) > 20 {
			return
		}
		for _, in.StraightCuts = range []bool{false, true} {
			r, err := Solve(context.Background(), in, Params{Iterations: 3})
			require.NoError(t, err)
			var written strings.Builder
			require.NoError(t, WriteResult(&written, in, r, unit))
		}
	})
}

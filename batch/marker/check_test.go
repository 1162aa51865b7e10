package marker

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

const inch = length.Inch

// goodInstance uses every rule of an instance.
func goodInstance() Instance {
	return Instance{
		Width: 43 * inch, MaxLength: 96 * inch, Gap: inch / 8, StraightCuts: false,
		Repeat: Repeat{Width: 0, Length: 4 * inch},
		Faults: []Fault{{X: 0, Y: 30 * inch, Width: 4 * inch, Length: 3 * inch}},
		Pieces: []Piece{
			{Name: "panel", Copies: 2, Width: 19 * inch, Length: 11 * inch, Turns: []Turn{0, 180}, NapGroup: 1},
			{
				Name: "pocket", Copies: 2, Width: 5 * inch, Length: 6 * inch, Turns: []Turn{0, 90, 180, 270}, NapGroup: 1, Match: &Point{0, 0}, MayMirror: true,
				Outline: []Point{{0, 0}, {5 * inch, 0}, {5 * inch, 4 * inch}, {2 * inch, 6 * inch}, {0, 4 * inch}},
			},
		},
	}
}

func TestCheckAccepts(t *testing.T) {
	t.Parallel()
	require.NoError(t, goodInstance().Check())
	require.NoError(t, Instance{Width: 1, Pieces: []Piece{{Copies: 1, Width: 1, Length: 1, Turns: []Turn{0}}}}.Check())
}

func TestCheckRefuses(t *testing.T) {
	t.Parallel()
	square := []Point{{0, 0}, {5 * inch, 0}, {5 * inch, 6 * inch}, {0, 6 * inch}}
	for _, test := range []struct {
		name, field, message string
		spoil                func(in *Instance)
	}{
		{"no width", "width", "above zero", func(in *Instance) { in.Width = 0 }},
		{"width too great", "width", "the most is", func(in *Instance) { in.Width = MaxClothWidth + 1 }},
		{"longest length below zero", "max_length", "below zero", func(in *Instance) { in.MaxLength = -1 }},
		{"gap below zero", "gap", "below zero", func(in *Instance) { in.Gap = -1 }},
		{"repeat below zero", "repeat.length", "below zero", func(in *Instance) { in.Repeat.Length = -1 }},
		{"no pieces", "pieces", "at least one", func(in *Instance) { in.Pieces = nil }},
		{"fault left of the cloth", "faults[0].x", "below zero", func(in *Instance) { in.Faults[0].X = -1 }},
		{"fault right of the cloth", "faults[0]", "beside the cloth", func(in *Instance) { in.Faults[0].X = 40 * inch }},
		{"fault without length", "faults[0].length", "above zero", func(in *Instance) { in.Faults[0].Length = 0 }},
		{"no copies", "pieces[1].copies", "from 1 to", func(in *Instance) { in.Pieces[1].Copies = 0 }},
		{"too many copies", "pieces[1].copies", "from 1 to", func(in *Instance) { in.Pieces[1].Copies = MaxCopies + 1 }},
		{"too many copies together", "pieces[1].copies", "at most", func(in *Instance) { in.Pieces[1].Copies = MaxCopies - 1 }},
		{"piece without width", "pieces[0].width", "above zero", func(in *Instance) { in.Pieces[0].Width = 0 }},
		{"piece without length", "pieces[0].length", "above zero", func(in *Instance) { in.Pieces[0].Length = -3 }},
		{"piece far too long", "pieces[0].length", "the most is", func(in *Instance) { in.Pieces[0].Length = MaxPieceLength + 1 }},
		{"no turn", "pieces[0].turns", "at least one", func(in *Instance) { in.Pieces[0].Turns = nil }},
		{"odd turn", "pieces[0].turns[1]", "45 is not a turn", func(in *Instance) { in.Pieces[0].Turns = []Turn{0, 45} }},
		{"turn twice", "pieces[0].turns[1]", "named twice", func(in *Instance) { in.Pieces[0].Turns = []Turn{0, 0} }},
		{"nap group below zero", "pieces[0].nap_group", "below zero", func(in *Instance) { in.Pieces[0].NapGroup = -1 }},
		{"nap group at odds", "pieces[1].turns", "same way up", func(in *Instance) { in.Pieces[0].Turns = []Turn{0}; in.Pieces[1].Turns = []Turn{180} }},
		{"value below zero", "pieces[0].value", "below zero", func(in *Instance) { in.Pieces[0].Value = -1 }},
		{"values too great", "pieces[0].value", "too large", func(in *Instance) { in.Pieces[0].Value = 1 << 62 }},
		{"match point far off", "pieces[1].match", "too far", func(in *Instance) { in.Pieces[1].Match = &Point{1 << 60, 0} }},
		{"too wide", "pieces[0].width", "needs cloth 44 in", func(in *Instance) { in.Pieces[0].Width = 44 * inch }},
		{"too wide unless turned", "pieces[0].width", "leave to be turned a quarter", func(in *Instance) { in.Pieces[0].Width = 44 * inch }},
		{"too wide in any turn", "pieces[0].width", "narrower parts", func(in *Instance) { in.Pieces[0].Width, in.Pieces[0].Length = 44*inch, 50*inch }},
		{"off the repeat", "pieces[0].match", "no place across", func(in *Instance) {
			in.Repeat.Width = 30 * inch
			in.Pieces[0].Turns, in.Pieces[0].Match, in.Pieces[0].NapGroup = []Turn{0}, &Point{-8 * inch, 0}, 0
			in.Pieces[0].Width = 40 * inch
		}},
		{"outline of two points", "pieces[1].outline", "at least 3 points", func(in *Instance) { in.Pieces[1].Outline = square[:2] }},
		{"outline off zero", "pieces[1].outline", "must begin at 0", func(in *Instance) {
			in.Pieces[1].Outline = []Point{{inch, 0}, {5 * inch, 0}, {5 * inch, 6 * inch}}
		}},
		{"outline of another size", "pieces[1].outline", "said to be", func(in *Instance) { in.Pieces[1].Length = 7 * inch }},
		{"outline crossing itself", "pieces[1].outline[2]", "must not cross", func(in *Instance) {
			in.Pieces[1].Outline = []Point{square[0], square[2], square[1], square[3]}
		}},
		{"outline touching itself", "pieces[1].outline[2]", "must not cross", func(in *Instance) {
			in.Pieces[1].Outline = []Point{square[0], square[1], square[2], {2 * inch, 0}, square[3]}
		}},
		{"outline with a point twice", "pieces[1].outline[1]", "same as the one before", func(in *Instance) {
			in.Pieces[1].Outline = []Point{square[0], square[0], square[1], square[2], square[3]}
		}},
		{"outline with a spike", "pieces[1].outline[3]", "back over itself", func(in *Instance) {
			in.Pieces[1].Outline = []Point{square[0], square[1], {5 * inch, 3 * inch}, square[2], {5 * inch, 5 * inch}, square[3]}
		}},
		{"outline without area", "pieces[1].outline[2]", "back over itself", func(in *Instance) {
			in.Pieces[1].Outline = []Point{{0, 0}, {inch, 2 * inch}, {5 * inch, 10 * inch}}
			in.Pieces[1].Length = 10 * inch
		}},
		{"too much area", "pieces[0]", "several markers", func(in *Instance) {
			in.Pieces[0].Copies, in.Pieces[0].Length = 90_000, 900*length.Metre
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in := goodInstance()
			test.spoil(&in)
			err := in.Check()
			var wrong *InputError
			require.ErrorAs(t, err, &wrong)
			require.Equal(t, test.field, wrong.Field, err)
			require.ErrorContains(t, err, test.message)
		})
	}
}

func TestCheckNamesThePiece(t *testing.T) {
	t.Parallel()
	in := goodInstance()
	in.Pieces[0].Width = 44 * inch
	require.ErrorContains(t, in.Check(), `"panel" is wider than the cloth in every turn that is allowed: 44 in (111.8 cm) across, on a usable width of 43 in`)
}

func TestCheckFindsAllErrors(t *testing.T) {
	t.Parallel()
	in := goodInstance()
	in.Gap, in.Pieces[0].Copies, in.Pieces[1].Turns = -1, 0, nil
	var all InputErrors
	require.ErrorAs(t, in.Check(), &all)
	var fields []string
	for _, e := range all {
		fields = append(fields, e.Field)
	}
	require.Equal(t, []string{"gap", "pieces[0].copies", "pieces[1].turns"}, fields)
	for i := range in.Pieces {
		in.Pieces[i].Copies = 0
	}
	for range 30 {
		in.Pieces = append(in.Pieces, Piece{})
	}
	require.ErrorAs(t, in.Check(), &all)
	require.Len(t, all, maxErrors)
}

package marker

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// skirtOnFold is a folded cloth of 42 in with panels wider than its half, on the fold, and pockets.
func skirtOnFold() Instance {
	return Instance{Width: 21 * inch, Folded: true, Pieces: []Piece{
		{Name: "panel", Copies: 2, Width: 15 * inch, Length: 14 * inch, Turns: []Turn{0, 180}, OnFold: true},
		{Name: "pocket", Copies: 4, Width: 6 * inch, Length: 7 * inch, Turns: []Turn{0, 180}},
	}}
}

// TestPiecesOnTheFold: two panels of 30 in each need the fold one behind the other; four pockets
// fill the strip beside them without any waste.
func TestPiecesOnTheFold(t *testing.T) {
	t.Parallel()
	for _, straight := range []bool{false, true} {
		in := skirtOnFold()
		in.StraightCuts = straight
		r := solve(t, in, 300)
		require.Equal(t, 28*inch, r.Length)
		require.Equal(t, StatusOptimal, r.Status)
		require.InDelta(t, 1, in.Efficiency(r.Marker), 1e-9)
	}
}

// TestFoldKeepsPiecesBehindEachOther: narrow pieces that could lie side by side elsewhere.
func TestFoldKeepsPiecesBehindEachOther(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 20 * inch, Folded: true, Gap: inch / 4, Pieces: []Piece{
		{Name: "yoke", Copies: 3, Width: 5 * inch, Length: 4 * inch, Turns: []Turn{180}, OnFold: true},
	}}
	r := solve(t, in, 50)
	require.Equal(t, 12*inch+inch/2, r.Length)
	require.Equal(t, StatusOptimal, r.Status, "the bound knows of the fold")
	for _, p := range r.Placements {
		require.True(t, p.Mirrored, "turned by half it lies face down, so that its middle comes to the fold")
	}
}

func TestVerifyRefusesOffTheFold(t *testing.T) {
	t.Parallel()
	in := skirtOnFold()
	in.Gap = inch / 2
	in.Pieces[1].Width = 5 * inch
	good := solve(t, in, 100)
	of := func(r *Result, piece int) *Placement {
		for i := range r.Placements {
			if r.Placements[i].Piece == piece {
				return &r.Placements[i]
			}
		}
		return nil
	}
	for _, test := range []struct {
		name, message string
		spoil         func(r *Result)
	}{
		{"beside the fold", "not on the fold", func(r *Result) { of(r, 0).X -= inch }},
		{"turned away from the fold", "not on the fold", func(r *Result) {
			of(r, 0).Turn, of(r, 0).Mirrored = (of(r, 0).Turn+180)%360, of(r, 0).Mirrored
		}},
		{"mirrored away from the fold", "not on the fold", func(r *Result) { of(r, 0).Mirrored = !of(r, 0).Mirrored }},
		{"too near to the fold", "half the gap", func(r *Result) { of(r, 1).X = in.Width - 5*inch - inch/8 }},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			r := good
			r.Placements = append([]Placement(nil), good.Placements...)
			test.spoil(&r)
			require.ErrorContains(t, Verify(in, r), test.message)
		})
	}
}

func TestCheckFold(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, field, message string
		spoil                func(in *Instance)
	}{
		{"not folded", "pieces[0].on_fold", "not folded", func(in *Instance) { in.Folded = false }},
		{"quarter turns only", "pieces[0].turns", "lies along it", func(in *Instance) { in.Pieces[0].Turns = []Turn{90, 270} }},
		{"a point at the fold", "pieces[0].outline", "straight edge at its right side", func(in *Instance) {
			in.Pieces[0].Outline = []Point{{0, 0}, {15 * inch, 7 * inch}, {0, 14 * inch}}
		}},
		{"wider than half", "pieces[1].width", "from the selvages to the fold", func(in *Instance) { in.Pieces[1].Width = 22 * inch }},
		{"off the print", "pieces[0].match", "lies on the fold", func(in *Instance) {
			in.Repeat.Width, in.Pieces[0].Match = 4*inch, &Point{0, 0}
			in.Pieces[0].Turns = []Turn{0}
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in := skirtOnFold()
			require.NoError(t, in.Check())
			test.spoil(&in)
			var wrong *InputError
			require.ErrorAs(t, in.Check(), &wrong)
			require.Equal(t, test.field, wrong.Field)
			require.ErrorContains(t, wrong, test.message)
		})
	}
}

func TestReadFoldedInstance(t *testing.T) {
	t.Parallel()
	in, _, err := ReadInstance(strings.NewReader(`{"unit":"in","width":21,"folded":true,"pieces":[
 {"name":"panel","copies":2,"width":15,"length":14,"turns":[0,180],"on_fold":true},
 {"name":"pocket","copies":4,"width":6,"length":7,"turns":[0,180]}]}`))
	require.NoError(t, err)
	require.Equal(t, skirtOnFold(), in)
	_, _, err = ReadInstance(strings.NewReader(`{"unit":"in","width":21,"pieces":[{"width":15,"length":14,
"on_fold":true}]}`))
	require.ErrorContains(t, err, "line 2: pieces[0].on_fold: the cloth is not folded")
}

// TestOpenedCloth: a marker on folded cloth, opened, is a marker on the whole width: every piece
// with its mirror image, those on the fold whole. And the bound for the whole width holds for it.
func TestOpenedCloth(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawInstanceOn(t, true)
		in.Repeat.Width = 0
		require.NoError(t, in.Check())
		r := solve(t, in, 50)
		whole, opened := in, r
		whole.Folded, whole.Width = false, 2*in.Width
		whole.Pieces, opened.Placements = append([]Piece(nil), in.Pieces...), nil
		whole.Faults = append([]Fault(nil), in.Faults...)
		for _, f := range in.Faults {
			f.X = whole.Width - f.X - f.Width
			whole.Faults = append(whole.Faults, f)
		}
		for i := range whole.Pieces {
			p := &whole.Pieces[i]
			if p.OnFold {
				p.OnFold, p.Width = false, 2*p.Width
			} else {
				p.Copies *= 2
			}
			p.Match, p.MayMirror = nil, true
		}
		for _, p := range r.Placements {
			opened.Placements = append(opened.Placements, p)
			if in.Pieces[p.Piece].OnFold {
				continue
			}
			w, _ := turnedSize(in.Pieces[p.Piece], p.Turn)
			p.X, p.Mirrored = whole.Width-p.X-w, !p.Mirrored
			opened.Placements = append(opened.Placements, p)
		}
		opened.Status, opened.Bound = StatusWithin, whole.Bound()
		require.NoError(t, Verify(whole, opened))
	})
}

// TestBoundSeesStretchesBetweenFaults: a long fault along the middle leaves two stretches of 20½ in,
// in each of which one panel of 10½ in lies: two side by side, though three would fit without
// the fault's place in mind.
func TestBoundSeesStretchesBetweenFaults(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 42 * inch, Faults: []Fault{{X: 41 * inch / 2, Width: inch, Length: 500 * inch}}, Pieces: []Piece{
		{Name: "panel", Copies: 8, Width: 21 * inch / 2, Length: 10 * inch, Turns: []Turn{0}},
	}}
	r := solve(t, in, 50)
	require.Equal(t, 40*inch, r.Length)
	require.Equal(t, StatusOptimal, r.Status)
}

// TestBoundKeepsDistancesOfRepeat: panels of 10 in whose hems lie on a print of 6 in begin 12 in
// apart; across, pieces of 5 in on a print of 4 in begin 8 in apart, so that three lie on 22 in.
func TestBoundKeepsDistancesOfRepeat(t *testing.T) {
	t.Parallel()
	along := Instance{Width: 20 * inch, Repeat: Repeat{Length: 6 * inch}, Pieces: []Piece{
		{Name: "panel", Copies: 7, Width: 10 * inch, Length: 10 * inch, Turns: []Turn{0}, Match: &Point{0, 10 * inch}},
	}}
	r := solve(t, along, 50)
	require.Equal(t, 48*inch, r.Length) // four rows, each ending on the print
	require.Equal(t, StatusOptimal, r.Status)
	across := Instance{Width: 22 * inch, Repeat: Repeat{Width: 4 * inch}, Pieces: []Piece{
		{Name: "pocket", Copies: 7, Width: 5 * inch, Length: 6 * inch, Turns: []Turn{0}, Match: &Point{0, 0}},
	}}
	r = solve(t, across, 50)
	require.Equal(t, 18*inch, r.Length)
	require.Equal(t, StatusOptimal, r.Status)
	for _, p := range r.Placements {
		require.Zero(t, p.X%(4*inch))
	}
}

// TestFunctionsAreSuperadditive: what two widths are worth side by side is no more than what their
// sum is worth, as counting the stretches between faults one by one needs.
func TestFunctionsAreSuperadditive(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawPlain(t, 6, 40)
		m := newModel(&in)
		r := newRelaxation(m)
		a := rapid.Int64Range(0, r.width).Draw(t, "a")
		b := rapid.Int64Range(0, r.width-a).Draw(t, "b")
		r.eachFunction(func(f function) {
			require.LessOrEqual(t, f.of(a)+f.of(b), f.of(a+b))
			require.Equal(t, f.capacity, f.of(r.width))
		})
	})
}

// TestBoundOfShapesOnTheFold: only the short edges of these shapes need the fold, so that one lies
// in the other's corner and the bound must not stack their boxes.
func TestBoundOfShapesOnTheFold(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 10 * inch, Folded: true, Pieces: []Piece{
		{Name: "yoke", Copies: 1, Width: 9 * inch, Length: 7 * inch, Turns: []Turn{0}, OnFold: true, Outline: []Point{{0, 0}, {9 * inch, 5 * inch}, {9 * inch, 7 * inch}, {0, 7 * inch}}},
		{Name: "gusset", Copies: 1, Width: 9 * inch, Length: 5 * inch, Turns: []Turn{0}, OnFold: true, Outline: []Point{{0, 0}, {9 * inch, 0}, {9 * inch, 5 * inch}}},
	}}
	nested := Result{Status: StatusOptimal, Bound: in.Bound(), Marker: Marker{Length: 7 * inch, Placements: []Placement{{Piece: 0, X: inch}, {Piece: 1, X: inch}}}}
	require.NoError(t, Verify(in, nested))
}

// TestFaultAtTheFold: a fault as near to the fold as the gap is in the way of pieces on the fold only.
func TestFaultAtTheFold(t *testing.T) {
	t.Parallel()
	for _, straight := range []bool{false, true} {
		in := skirtOnFold()
		in.StraightCuts, in.Gap, in.Width = straight, inch, 25*inch
		in.Faults = []Fault{{X: 25*inch - inch/2, Y: 2 * inch, Width: inch / 2, Length: inch}}
		in.Pieces = in.Pieces[:1]
		require.Equal(t, 32*inch, solve(t, in, 300).Length, "behind the fault: 3 + 14 + 1 + 14")
	}
}

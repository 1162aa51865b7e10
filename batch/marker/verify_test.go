package marker

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// goodMarker is a valid marker of an instance in whole units: a fault, a gap, a nap group, a
// repeat and a shaped piece (a house: a square with a roof).
func goodMarker() (Instance, Result) {
	in := Instance{
		Width: 20, MaxLength: 40, Gap: 1, Repeat: Repeat{Width: 2, Length: 5},
		Faults: []Fault{{X: 18, Y: 0, Width: 2, Length: 4}},
		Pieces: []Piece{
			{Name: "panel", Copies: 2, Width: 8, Length: 10, Turns: []Turn{0, 180}, NapGroup: 1},
			{
				Name: "house", Copies: 2, Width: 6, Length: 8, Turns: []Turn{0, 90}, NapGroup: 1, Match: &Point{2, 0},
				Outline: []Point{{0, 0}, {6, 0}, {6, 5}, {3, 8}, {0, 5}},
			},
		},
	}
	return in, Result{
		Marker: Marker{Length: 23, Placements: []Placement{
			{Piece: 0, X: 0, Y: 0}, {Piece: 0, X: 9, Y: 0}, {Piece: 1, X: 0, Y: 15}, {Piece: 1, X: 10, Y: 13, Turn: 90},
		}},
		Bound: 12, Status: StatusWithin,
	}
}

func TestVerifyAccepts(t *testing.T) {
	t.Parallel()
	in, r := goodMarker()
	require.NoError(t, Verify(in, r))
}

func TestVerifyRefuses(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, message string
		spoil         func(in *Instance, r *Result)
	}{
		{"wrong instance", "instance is wrong", func(in *Instance, r *Result) { in.Width = 0 }},
		{"unknown piece", "no piece 7", func(in *Instance, r *Result) { r.Placements[0].Piece = 7 }},
		{"piece below zero", "no piece -1", func(in *Instance, r *Result) { r.Placements[0].Piece = -1 }},
		{"turn not allowed", "turn 180 is not allowed", func(in *Instance, r *Result) { r.Placements[2].Turn = 180 }},
		{"odd turn", "turn 45 is not allowed", func(in *Instance, r *Result) { r.Placements[2].Turn = 45 }},
		{"mirrored", "may not be mirrored", func(in *Instance, r *Result) { r.Placements[2].Mirrored = true }},
		{"left of the cloth", "inside the usable width", func(in *Instance, r *Result) { r.Placements[0].X = -1 }},
		{"right of the cloth", "inside the usable width", func(in *Instance, r *Result) { r.Placements[1].X = 13 }},
		{"before the cloth", "not on the cloth", func(in *Instance, r *Result) { r.Placements[0].Y = -1 }},
		{"far along", "not on the cloth", func(in *Instance, r *Result) { r.Placements[0].Y = 1 << 62 }},
		{"beyond the longest length", "beyond the longest length", func(in *Instance, r *Result) { in.MaxLength = 22 }},
		{"on a fault", "covers fault 0", func(in *Instance, r *Result) { r.Placements[1].X = 12 }},
		{"off the repeat across", "off the repeat", func(in *Instance, r *Result) { r.Placements[2].X = 1 }},
		{"off the repeat along", "off the repeat", func(in *Instance, r *Result) { r.Placements[2].Y = 14 }},
		{"turned off the repeat", "off the repeat", func(in *Instance, r *Result) { r.Placements[3].Y = 15 }},
		{"nap group both ways", "same way up", func(in *Instance, r *Result) { r.Placements[0].Turn = 180 }},
		{"copy missing", "1 copies are laid", func(in *Instance, r *Result) { r.Placements = r.Placements[:3] }},
		{"copy too many", "3 copies are laid", func(in *Instance, r *Result) {
			r.Placements = append(r.Placements, Placement{Piece: 0, X: 0, Y: 30})
		}},
		{"left without a longest length", "no longest length", func(in *Instance, r *Result) { in.MaxLength, r.Left = 0, []int{0, 0} }},
		{"left of too few pieces", "left counts 1", func(in *Instance, r *Result) { r.Left = []int{0} }},
		{"left miscounted", "left out", func(in *Instance, r *Result) { r.Left = []int{1, 0} }},
		{"left below zero", "left out", func(in *Instance, r *Result) {
			r.Placements, r.Left = append(r.Placements, Placement{Piece: 0, X: 0, Y: 30}), []int{-1, 0}
		}},
		{"left of nothing", "every copy is laid", func(in *Instance, r *Result) { r.Left = []int{0, 0} }},
		{"too long", "last piece ends at 23", func(in *Instance, r *Result) { r.Length = 24 }},
		{"too short", "last piece ends at 23", func(in *Instance, r *Result) { r.Length = 22 }},
		{"overlap", "overlaps", func(in *Instance, r *Result) { r.Placements[1].X = 7 }},
		{"same place", "overlaps", func(in *Instance, r *Result) { r.Placements[1] = r.Placements[0] }},
		{"gap too small", "nearer than the gap", func(in *Instance, r *Result) { r.Placements[1].X = 8 }},
		{"outlines overlap", "overlaps", func(in *Instance, r *Result) { r.Placements[3].X = 4; r.Placements[3].Y = 18; r.Length = 24 }},
		{"bound above the length", "bound of 24 units", func(in *Instance, r *Result) { r.Bound = 24 }},
		{"not the shortest", "said to be the shortest", func(in *Instance, r *Result) { r.Status = StatusOptimal }},
		{"no status", "not a status", func(in *Instance, r *Result) { r.Status = "" }},
		{"partial though all are laid", "copies left out", func(in *Instance, r *Result) { r.Status = StatusPartial }},
		{"not partial though some are left", "copies left out", func(in *Instance, r *Result) {
			r.Placements, r.Left = r.Placements[:3], []int{0, 1}
		}},
		{"value wrong", "value is said to be 5", func(in *Instance, r *Result) {
			r.Placements, r.Left, r.Status, r.Value, r.ValueBound = r.Placements[:3], []int{0, 1}, StatusPartial, 5, 1000
		}},
		{"value above its bound", "bound on the value is 10", func(in *Instance, r *Result) {
			r.Placements, r.Left, r.Status, r.Value, r.ValueBound = r.Placements[:3], []int{0, 1}, StatusPartial, 199, 10
		}},
		{"cuts not asked for", "none are demanded", func(in *Instance, r *Result) { r.Cuts = []Cut{{Across: true, Y: 11, Span: 20}} }},
		{"cuts missing", "do not free", func(in *Instance, r *Result) { in.StraightCuts = true }},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in, r := goodMarker()
			test.spoil(&in, &r)
			require.ErrorContains(t, Verify(in, r), test.message)
		})
	}
}

func TestVerifyAcceptsPartial(t *testing.T) {
	t.Parallel()
	in, r := goodMarker()
	// Two panels of 80 and a house of 30 + 9.
	r.Placements, r.Left, r.Status, r.Value, r.ValueBound = r.Placements[:3], []int{0, 1}, StatusPartial, 199, 300
	require.NoError(t, Verify(in, r))
	in.Pieces[0].Value, r.Value = 7, 14
	require.NoError(t, Verify(in, r))
}

// straightMarker is two panels side by side over a band, with what is left beside them.
func straightMarker() (Instance, Result) {
	in := Instance{Width: 20, StraightCuts: true, Pieces: []Piece{
		{Name: "panel", Copies: 2, Width: 9, Length: 10, Turns: []Turn{0}},
		{Name: "band", Copies: 1, Width: 20, Length: 3, Turns: []Turn{0}},
	}}
	return in, Result{
		Marker: Marker{
			Length: 13, Placements: []Placement{{X: 0, Y: 3}, {X: 9, Y: 3}, {Piece: 1}},
			Cuts: []Cut{{Across: true, X: 0, Y: 3, Span: 20}, {X: 18, Y: 3, Span: 10}, {X: 9, Y: 3, Span: 10}},
		},
		Status: StatusOptimal, Bound: 13,
	}
}

func TestVerifyStraightCuts(t *testing.T) {
	t.Parallel()
	in, r := straightMarker()
	require.NoError(t, Verify(in, r))
	for _, test := range []struct {
		name, message string
		spoil         func(r *Result)
	}{
		{"not edge to edge", "cut 1 does not run", func(r *Result) { r.Cuts[1].Span = 9 }},
		{"before its turn", "cut 0 does not run", func(r *Result) { r.Cuts[0], r.Cuts[1] = r.Cuts[1], r.Cuts[0] }},
		{"through a piece", "do not free", func(r *Result) { r.Cuts[2].X = 8 }},
		{"along the edge", "cut 0 does not run", func(r *Result) { r.Cuts[0].Y = 13 }},
		{"outside", "cut 0 does not run", func(r *Result) { r.Cuts[0].Y = 14 }},
		{"one missing", "do not free", func(r *Result) { r.Cuts = r.Cuts[:2] }},
		{"not trimmed", "do not free", func(r *Result) { r.Cuts = slices.Delete(r.Cuts, 1, 2) }},
		{"one too many", "cut 3 does not run", func(r *Result) { r.Cuts = append(r.Cuts, r.Cuts[0]) }},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in, r := straightMarker()
			test.spoil(&r)
			require.ErrorContains(t, Verify(in, r), test.message)
		})
	}
}

// TestVerifyPinwheel: five pieces around each other are valid, but no straight cut parts them.
func TestVerifyPinwheel(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 5, Pieces: []Piece{
		{Copies: 4, Width: 2, Length: 3, Turns: []Turn{0, 90}}, {Copies: 1, Width: 1, Length: 1, Turns: []Turn{0}},
	}}
	r := Result{Status: StatusOptimal, Bound: 5, Marker: Marker{Length: 5, Placements: []Placement{
		{X: 0, Y: 0}, {X: 2, Y: 0, Turn: 90}, {X: 3, Y: 2}, {X: 0, Y: 3, Turn: 90}, {Piece: 1, X: 2, Y: 2},
	}}}
	require.NoError(t, Verify(in, r))
	in.StraightCuts = true
	require.ErrorContains(t, Verify(in, r), "do not free")
	boxes := []rect{{0, 0, 2, 3}, {2, 0, 5, 2}, {3, 2, 5, 5}, {0, 3, 3, 5}, {2, 2, 3, 3}}
	_, ok := cutOrder(boxes, 5, 5)
	require.False(t, ok)
}

// TestVerifyLetsOutlinesInterlock: two L-shaped pieces whose boxes overlap, one turned by a half,
// touch; with a gap they must be drawn apart.
func TestVerifyLetsOutlinesInterlock(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 9, Pieces: []Piece{{
		Name: "L", Copies: 2, Width: 6, Length: 6, Turns: []Turn{0, 180},
		Outline: []Point{{0, 0}, {6, 0}, {6, 2}, {2, 2}, {2, 6}, {0, 6}},
	}}}
	r := Result{Status: StatusWithin, Marker: Marker{Length: 8, Placements: []Placement{{}, {X: 2, Y: 2, Turn: 180}}}}
	require.NoError(t, Verify(in, r))
	in.Gap = 1
	require.ErrorContains(t, Verify(in, r), "nearer than the gap")
	r.Placements[1], r.Length = Placement{X: 3, Y: 3, Turn: 180}, 9
	require.NoError(t, Verify(in, r))
	r.Placements[1], r.Length = Placement{X: 1, Y: 1, Turn: 180}, 7
	require.ErrorContains(t, Verify(in, r), "overlaps")
}

// grid is a marker painted on squares of one unit, the brute-force twin of Verify for pieces
// whose outlines run along the squares.
type grid struct{ width, length int }

// shapes are pieces as squares in rows from the beginning of the cloth on: # is piece.
var shapes = []struct {
	rows    []string
	outline []Point
}{
	{[]string{"##"}, nil},
	{[]string{"#", "#", "#"}, nil},
	{[]string{"##", "#."}, []Point{{0, 0}, {2, 0}, {2, 1}, {1, 1}, {1, 2}, {0, 2}}},
	{[]string{"###", "#.."}, []Point{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 2}, {0, 2}}},
	{[]string{"###", "#.#"}, []Point{{0, 0}, {3, 0}, {3, 2}, {2, 2}, {2, 1}, {1, 1}, {1, 2}, {0, 2}}},
	{[]string{".#.", "###", ".#."}, []Point{{1, 0}, {2, 0}, {2, 1}, {3, 1}, {3, 2}, {2, 2}, {2, 3}, {1, 3}, {1, 2}, {0, 2}, {0, 1}, {1, 1}}},
}

// squares returns the squares of a shape, mirrored and turned by turning the picture.
func squares(rows []string, turn Turn, mirrored bool) (at [][2]int, width, along int) {
	picture := make([][]byte, len(rows))
	for i := range rows {
		picture[i] = []byte(rows[i])
		if mirrored {
			slices.Reverse(picture[i])
		}
	}
	for ; turn > 0; turn -= 90 {
		turned := make([][]byte, len(picture[0]))
		for y := range turned {
			for x := range picture {
				// A quarter counter-clockwise: what lay along comes to lie across, backwards.
				turned[y] = append(turned[y], picture[len(picture)-1-x][y])
			}
		}
		picture = turned
	}
	for y := range picture {
		for x := range picture[y] {
			if picture[y][x] == '#' {
				at = append(at, [2]int{x, y})
			}
		}
	}
	return at, len(picture[0]), len(picture)
}

// valid paints a marker and tells whether it keeps the rules of place.
func (g grid) valid(in Instance, placed []Placement, kinds []int) bool {
	type square struct{ x, y, owner int }
	var painted []square
	for i, p := range placed {
		cells, w, l := squares(shapes[kinds[p.Piece]].rows, p.Turn, p.Mirrored)
		if p.X < 0 || p.Y < 0 || int(p.X)+w > g.width || int(p.Y)+l > g.length {
			return false
		}
		for _, c := range cells {
			painted = append(painted, square{c[0] + int(p.X), c[1] + int(p.Y), i})
		}
	}
	for _, a := range painted {
		for _, f := range in.Faults {
			if a.x >= int(f.X) && a.x < int(f.X+f.Width) && a.y >= int(f.Y) && a.y < int(f.Y+f.Length) {
				return false
			}
		}
		for _, b := range painted {
			across, along := max(a.x-b.x, b.x-a.x)-1, max(a.y-b.y, b.y-a.y)-1
			if a.owner != b.owner && across < int(in.Gap) && along < int(in.Gap) {
				return false
			}
		}
	}
	return true
}

// drawPainting draws pieces of the shapes laid at random on a small cloth; kinds are their shapes.
func drawPainting(t *rapid.T) (g grid, in Instance, r Result, kinds []int) {
	number := func(name string, low, high int) length.Length {
		return length.Length(rapid.IntRange(low, high).Draw(t, name))
	}
	in = Instance{Width: number("width", 3, 8), MaxLength: number("length", 3, 9), Gap: number("gap", 0, 2)}
	g = grid{int(in.Width), int(in.MaxLength)}
	if rapid.Bool().Draw(t, "fault") {
		in.Faults = []Fault{{X: number("fault x", 0, g.width-1), Y: number("fault y", 0, 6), Width: 1, Length: 2}}
	}
	for i := range rapid.IntRange(1, 3).Draw(t, "pieces") {
		kind := rapid.IntRange(0, len(shapes)-1).Draw(t, "shape")
		s := shapes[kind]
		kinds = append(kinds, kind)
		in.Pieces = append(in.Pieces, Piece{
			Copies: 1, Width: length.Length(len(s.rows[0])), Length: length.Length(len(s.rows)),
			Outline: s.outline, Turns: []Turn{0, 90, 180, 270}, MayMirror: true,
		})
		p := Placement{
			Piece: i, X: number("x", -1, g.width-1), Y: number("y", 0, g.length-1),
			Turn: Turn(90 * rapid.IntRange(0, 3).Draw(t, "turn")), Mirrored: rapid.Bool().Draw(t, "mirrored"),
		}
		r.Placements = append(r.Placements, p)
		_, _, l := squares(s.rows, p.Turn, p.Mirrored)
		r.Length = max(r.Length, p.Y+length.Length(l))
	}
	r.Status = StatusWithin
	return g, in, r, kinds
}

func TestVerifyAgreesWithPainting(t *testing.T) {
	t.Parallel()
	valid, invalid := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		for range 50 {
			g, in, r, kinds := drawPainting(t)
			want := g.valid(in, r.Placements, kinds)
			if want {
				valid++
			} else {
				invalid++
			}
			err := Verify(in, r)
			require.Equal(t, want, err == nil, "painting says valid: %v; Verify says %v", want, err)
		}
	})
	require.Greater(t, valid, 200, "few valid markers were tried")
	require.Greater(t, invalid, 200, "few invalid markers were tried")
}

// TestVerifyRefusesBrokenResults breaks one rule in the results of drawn jobs.
func TestVerifyRefusesBrokenResults(t *testing.T) {
	t.Parallel()
	broken := map[string]func(in *Instance, r *Result, i int){
		"on another": func(in *Instance, r *Result, i int) {
			other := r.Placements[(i+1)%len(r.Placements)]
			r.Placements[i] = other
		},
		"over the selvage": func(in *Instance, r *Result, i int) { r.Placements[i].X = in.Width },
		"before the cloth": func(in *Instance, r *Result, i int) { r.Placements[i].Y = -1 },
		"another turn":     func(in *Instance, r *Result, i int) { r.Placements[i].Turn = 270 },
		"mirrored":         func(in *Instance, r *Result, i int) { r.Placements[i].Mirrored = true },
		"missing":          func(in *Instance, r *Result, i int) { r.Placements = slices.Delete(r.Placements, i, i+1) },
		"twice":            func(in *Instance, r *Result, i int) { r.Placements = append(r.Placements, r.Placements[i]) },
		"another piece":    func(in *Instance, r *Result, i int) { r.Placements[i].Piece = len(in.Pieces) },
		"too long":         func(in *Instance, r *Result, i int) { r.Length++ },
		"too short":        func(in *Instance, r *Result, i int) { r.Length-- },
		"longest shorter":  func(in *Instance, r *Result, i int) { in.MaxLength = r.Length - 1 },
		"a fault under it": func(in *Instance, r *Result, i int) { in.Faults = append(in.Faults, faultUnder(r.Placements[i])) },
		"bound too high":   func(in *Instance, r *Result, i int) { r.Status, r.Bound = StatusWithin, r.Length+1 },
		"said to be best":  func(in *Instance, r *Result, i int) { r.Status, r.Bound = StatusOptimal, r.Length-1 },
		"left miscounted":  func(in *Instance, r *Result, i int) { r.Left = make([]int, len(in.Pieces)); r.Left[0] = 1 },
		"off the print":    func(in *Instance, r *Result, i int) { offPrint(in, r, i) },
		"other way up":     func(in *Instance, r *Result, i int) { otherWayUp(in, r, i) },
		"a cut that is not": func(in *Instance, r *Result, i int) {
			r.Cuts = append(r.Cuts, Cut{Across: true, Y: 1, Span: in.Width + 1})
		},
	}
	names := slices.Sorted(maps.Keys(broken))
	rapid.Check(t, func(t *rapid.T) {
		in := drawJob(t)
		in.MaxLength = 0
		r := solve(t, in, 30)
		i := rapid.IntRange(0, len(r.Placements)-1).Draw(t, "placement")
		broken[rapid.SampledFrom(names).Draw(t, "how")](&in, &r, i)
		require.Error(t, Verify(in, r))
	})
}

func faultUnder(p Placement) Fault { return Fault{X: p.X, Y: p.Y, Width: 1, Length: 1} }

// offPrint moves the print so that it misses the match point of a piece.
func offPrint(in *Instance, r *Result, i int) {
	p := r.Placements[i]
	piece := &in.Pieces[p.Piece]
	piece.Match = &Point{1, 1}
	in.Repeat.Length = p.Y + turnedMatch(*piece, p.Turn, p.Mirrored).Y + 1
}

// otherWayUp puts all pieces in a nap group and turns one of them by a half.
func otherWayUp(in *Instance, r *Result, i int) {
	piece := &in.Pieces[r.Placements[i].Piece]
	piece.Turns, piece.NapGroup = []Turn{0, 90, 180, 270}, 1
	r.Placements[i].Turn = (r.Placements[i].Turn + 180) % 360
	for j, p := range r.Placements {
		if j != i {
			in.Pieces[p.Piece].NapGroup = 1
		}
	}
}

package marker

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// solve lays an instance within an iteration budget and checks the result with Verify and with
// an independent geometry library.
func solve(t require.TestingT, in Instance, iterations int) Result {
	r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: iterations})
	require.NoError(t, err)
	requireValid(t, in, r)
	return r
}

// requireValid checks a result with Verify and by an independent geometry library: no overlap, as
// the union of all outlines has the area of all together; no outline nearer than the gap to
// another; inside the cloth, off the faults, as long as it is said to be.
func requireValid(t require.TestingT, in Instance, r Result) {
	require.NoError(t, Verify(in, r))
	if len(r.Placements) == 0 {
		return
	}
	var pieces, grown []geom.Geometry
	for _, p := range r.Placements {
		pieces = append(pieces, polygonOf(t, in.Shape(p), float64(length.Millimetre)))
		grown = append(grown, polygonOf(t, grownBox(in.Shape(p), in.Gap), float64(length.Millimetre)))
	}
	union := requireApart(t, pieces)
	requireApart(t, grown)
	low, high, ok := union.Envelope().MinMaxXYs()
	require.True(t, ok)
	require.GreaterOrEqual(t, low.X, -1e-6)
	require.GreaterOrEqual(t, low.Y, -1e-6)
	require.LessOrEqual(t, high.X, in.Width.Millimetres()+1e-6)
	require.InDelta(t, r.Length.Millimetres(), high.Y, 1e-6)
	if in.Folded {
		for i, p := range r.Placements {
			_, right, _ := pieces[i].Envelope().MinMaxXYs()
			if in.Pieces[p.Piece].OnFold {
				require.InDelta(t, in.Width.Millimetres(), right.X, 1e-6, "the piece is not on the fold")
			} else {
				require.LessOrEqual(t, right.X, (in.Width-in.Gap/2).Millimetres()+1e-6, "the piece is too near to the fold")
			}
		}
	}
	for _, f := range in.Faults {
		fault := polygonOf(t, box{f.X, f.Y, f.X + f.Width, f.Y + f.Length}.outline(), float64(length.Millimetre))
		covered, err := geom.Intersection(union, fault)
		require.NoError(t, err)
		require.LessOrEqual(t, covered.Area(), 1e-9*fault.Area(), "a fault is covered")
	}
}

// grownBox returns the bounding box of an outline, larger by the gap on two sides: if two of them
// do not overlap, the outlines are at least the gap apart, as Solve lays them by their boxes.
func grownBox(outline []Point, gap length.Length) []Point {
	b := box{outline[0].X, outline[0].Y, outline[0].X, outline[0].Y}
	for _, p := range outline {
		b = box{min(b.x0, p.X), min(b.y0, p.Y), max(b.x1, p.X), max(b.y1, p.Y)}
	}
	b.x1, b.y1 = b.x1+gap, b.y1+gap
	return b.outline()
}

// requireApart checks that shapes do not overlap and returns their union.
func requireApart(t require.TestingT, shapes []geom.Geometry) geom.Geometry {
	area := 0.0
	for _, g := range shapes {
		area += g.Area()
	}
	union, err := geom.UnionMany(shapes)
	require.NoError(t, err)
	require.InEpsilon(t, area, union.Area(), 1e-9, "pieces overlap")
	return union
}

// TestPublished lays instances of Hopper and Turton (2001) and of Burke, Kendall and Whitwell
// (2004) to the optimum within an iteration budget, or to the gap stated here in thousandths of it.
func TestPublished(t *testing.T) {
	t.Parallel()
	chosen := []string{"C1P1", "C1P2", "C1P3", "C2P1", "C2P2", "C2P3", "C3P1", "C3P2", "C3P3", "N1", "N2", "N3", "N4"}
	for _, p := range readPublished(t, "HT_C", "BKW_N") {
		if !slices.Contains(chosen, p.name) {
			continue
		}
		for _, variant := range []string{"given", "turned"} {
			t.Run(p.name+" "+variant, func(t *testing.T) {
				t.Parallel()
				require.Equal(t, "optimal", p.status[variant])
				r := solve(t, p.instance(variant == "turned", false), 250_000)
				require.Equal(t, length.Length(p.least[variant])*unit, r.Bound)
				require.Equal(t, p.least[variant], int(r.Length/unit))
			})
		}
	}
}

// TestPublishedBounds compares the bounds with the proven ones that came with the instances, and
// with the least known length: never above it.
func TestPublishedBounds(t *testing.T) {
	t.Parallel()
	for _, p := range readPublished(t, families...) {
		for _, variant := range []string{"given", "turned"} {
			t.Run(p.name+" "+variant, func(t *testing.T) {
				t.Parallel()
				bound := p.instance(variant == "turned", false).Bound()
				require.Zero(t, bound%unit)
				require.GreaterOrEqual(t, int(bound/unit), p.bound[variant])
				require.LessOrEqual(t, int(bound/unit), p.least[variant])
			})
		}
	}
}

// TestPublishedValid lays every published instance for a moment, with straight cuts too.
func TestPublishedValid(t *testing.T) {
	t.Parallel()
	for _, p := range readPublished(t, families...) {
		t.Run(p.name, func(t *testing.T) {
			t.Parallel()
			r := solve(t, p.instance(true, false), 200)
			require.LessOrEqual(t, r.GapPercent(), 60.0)
			solve(t, p.instance(false, true), 200)
		})
	}
}

// TestTwoPanelsSideBySide: two panels cut 20½ × 14 in lie side by side on 42 in of cloth
// (common practice, no source).
func TestTwoPanelsSideBySide(t *testing.T) {
	t.Parallel()
	for _, straight := range []bool{false, true} {
		in := Instance{Width: 42 * inch, StraightCuts: straight, Pieces: []Piece{
			{Name: "panel", Copies: 2, Width: 41 * inch / 2, Length: 14 * inch, Turns: []Turn{0}},
		}}
		r := solve(t, in, 100)
		require.Equal(t, 14*inch, r.Length)
		require.Equal(t, StatusOptimal, r.Status)
		require.Equal(t, r.Placements[0].Y, r.Placements[1].Y)
	}
}

// TestHalfAYardIsEnough: two bands cut 20½ × 6 in and two pockets cut 6 × 7 in come from half a
// yard of contrast cloth, and no layout needs more (common practice, no source): not with nap,
// not by straight cuts, on any usual width.
func TestHalfAYardIsEnough(t *testing.T) {
	t.Parallel()
	for _, width := range []length.Length{36, 42, 44, 54, 60} {
		for _, turns := range [][]Turn{{0}, {0, 180}, {0, 90, 180, 270}} {
			for _, straight := range []bool{false, true} {
				in := Instance{Width: width * inch, StraightCuts: straight, Pieces: []Piece{
					{Name: "band", Copies: 2, Width: 41 * inch / 2, Length: 6 * inch, Turns: turns},
					{Name: "pocket", Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: turns},
				}}
				r := solve(t, in, 100)
				require.LessOrEqual(t, r.Length, 18*inch, "%d in wide, turns %v", width, turns)
			}
		}
	}
}

// allRules is an instance with every rule of the cloth at once, as in a batch with a checked
// print: a gap, faults, a repeat, nap groups and shaped pieces.
func allRules() Instance {
	house := []Point{{0, 0}, {6 * inch, 0}, {6 * inch, 5 * inch}, {3 * inch, 7 * inch}, {0, 5 * inch}}
	return Instance{
		Width: 43 * inch, Gap: inch / 8, Repeat: Repeat{Width: 2 * inch, Length: 3 * inch},
		Faults: []Fault{{X: 0, Y: 30 * inch, Width: 4 * inch, Length: 3 * inch}, {X: 20 * inch, Y: 5 * inch, Width: inch / 16, Length: inch}, {X: 40 * inch, Y: 0, Width: 3 * inch, Length: 2 * inch}},
		Pieces: []Piece{
			{Name: "panel A", Copies: 4, Width: 19 * inch, Length: 11 * inch, Turns: []Turn{0, 180}, NapGroup: 1, Match: &Point{0, 2 * inch}},
			{Name: "pocket A", Copies: 4, Width: 6 * inch, Length: 7 * inch, Turns: []Turn{0, 180}, NapGroup: 1, Outline: house, Match: &Point{inch, 0}, MayMirror: true},
			{Name: "panel B", Copies: 2, Width: 17 * inch, Length: 10 * inch, Turns: []Turn{0, 90, 180}, NapGroup: 2},
			{Name: "band B", Copies: 2, Width: 17 * inch, Length: 4 * inch, Turns: []Turn{0, 90, 180}, NapGroup: 2, Match: &Point{3 * inch, 3 * inch}},
			{Name: "tie", Copies: 5, Width: 2 * inch, Length: 20 * inch, Turns: []Turn{0, 90}},
		},
	}
}

func TestSolveKeepsAllRules(t *testing.T) {
	t.Parallel()
	for _, straight := range []bool{false, true} {
		for _, longest := range []length.Length{0, 90 * inch, 30 * inch, 8 * inch, 3 * inch} {
			t.Run(fmt.Sprintf("straight cuts %v, longest %v in", straight, longest.Inches()), func(t *testing.T) {
				t.Parallel()
				in := allRules()
				in.StraightCuts, in.MaxLength = straight, longest
				r := solve(t, in, 3000)
				switch longest {
				case 0, 90 * inch:
					require.Equal(t, StatusWithin, r.Status)
					require.Less(t, r.GapPercent(), 60.0)
				case 3 * inch:
					// Only ties can lie down there, and beside the fault at the right only one.
					require.Equal(t, StatusPartial, r.Status)
					require.Equal(t, []int{4, 4, 2, 2, 4}, r.Left)
				default:
					require.Equal(t, StatusPartial, r.Status)
					require.NotEmpty(t, r.Placements)
				}
			})
		}
	}
}

// drawJob draws a cutting job with any of the cloth's rules.
func drawJob(t *rapid.T) Instance {
	j := garmentJob{
		seed: rapid.Uint64Range(0, 1000).Draw(t, "seed"), garments: rapid.IntRange(1, 20).Draw(t, "garments"),
		nap: rapid.Bool().Draw(t, "nap"), straight: rapid.Bool().Draw(t, "straight"), faults: rapid.Bool().Draw(t, "faults"), repeat: rapid.Bool().Draw(t, "repeat"),
	}
	in := j.instance()
	in.Gap = length.Length(rapid.IntRange(0, 3).Draw(t, "gap")) * eighth
	if rapid.Bool().Draw(t, "longest") {
		in.MaxLength = length.Length(rapid.IntRange(20, 100).Draw(t, "max_length")) * inch
	}
	return in
}

func TestSolveKeepsRulesOfDrawnInstances(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) { solve(t, drawJob(t), 120) })
}

// TestSolveIsRepeatable: same seed and iterations, same result, on one processor or two.
// It sets GOMAXPROCS, so it must not run beside other tests.
func TestSolveIsRepeatable(t *testing.T) {
	was := runtime.GOMAXPROCS(0)
	t.Cleanup(func() { runtime.GOMAXPROCS(was) })
	instances := []Instance{allRules(), garmentJob{seed: 3, garments: 12}.instance(), garmentJob{seed: 4, garments: 12, straight: true}.instance()}
	short := allRules()
	short.MaxLength = 30 * inch
	instances = append(instances, short)
	for _, p := range readPublished(t, "HT_C")[:4] {
		instances = append(instances, p.instance(true, false))
	}
	for i, in := range instances {
		for _, iterations := range []int{1, 7, 5000} {
			var first Result
			for run := range 4 {
				runtime.GOMAXPROCS(run%2 + 1)
				r, err := Solve(context.Background(), in, Params{Seed: 9, Iterations: iterations})
				require.NoError(t, err)
				r.Stats.Elapsed = 0
				if run == 0 {
					first = r
				}
				require.Equal(t, first, r, "instance %d, %d iterations, run %d", i, iterations, run)
			}
			require.LessOrEqual(t, first.Stats.Iterations, iterations)
		}
	}
}

// TestLongerBudgetIsNeverWorse: nor is its bound lower, for the same seed.
func TestLongerBudgetIsNeverWorse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in, seed := drawJob(t), rapid.Uint64().Draw(t, "seed of choices")
		var last Result
		for i, iterations := range []int{1, 2, 10, 61, 333, 2001} {
			if iterations*in.copies() > 100_000 {
				break // it takes too long
			}
			r, err := Solve(context.Background(), in, Params{Seed: seed, Iterations: iterations})
			require.NoError(t, err)
			if i > 0 {
				require.False(t, worse(r, last), "%d iterations: length %v, value %v after length %v, value %v", iterations, r.Length, r.Value, last.Length, last.Value)
				require.GreaterOrEqual(t, r.Bound, last.Bound)
			}
			last = r
		}
	})
}

// worse tells whether a result is worse than another of the same instance.
func worse(r, than Result) bool {
	switch {
	case r.Left == nil && than.Left == nil:
		return r.Length > than.Length
	case r.Left == nil || than.Left == nil:
		return r.Left != nil
	}
	return r.Value < than.Value
}

// TestOrderAndMirrorDoNotMatter: permuting the pieces or mirroring the cloth leaves bound and
// feasibility alone: a result carried over is as valid as before.
func TestOrderAndMirrorDoNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := drawJob(t)
		r, bound := solve(t, in, 100), in.Bound()
		order := rapid.Permutation(numbers(len(in.Pieces))).Draw(t, "order")
		permuted, carried := permute(in, r, order)
		require.NoError(t, Verify(permuted, carried))
		require.Equal(t, bound, permuted.Bound())
		solve(t, permuted, 50)

		mirrored, carried := mirror(in, r)
		require.NoError(t, Verify(mirrored, carried))
		require.Equal(t, bound, mirrored.Bound())
		solve(t, mirrored, 50)
	})
}

func numbers(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// permute puts piece i at order[i].
func permute(in Instance, r Result, order []int) (Instance, Result) {
	from := in.Pieces
	in.Pieces = make([]Piece, len(from))
	left := r.Left
	if left != nil {
		r.Left = make([]int, len(left))
	}
	for i, to := range order {
		in.Pieces[to] = from[i]
		if left != nil {
			r.Left[to] = left[i]
		}
	}
	r.Placements = slices.Clone(r.Placements)
	for i := range r.Placements {
		r.Placements[i].Piece = order[r.Placements[i].Piece]
	}
	return in, r
}

// mirror exchanges the selvages. The repeat binds along only in drawn jobs, so that match points
// need no mirroring across.
func mirror(in Instance, r Result) (Instance, Result) {
	in.Faults, r.Placements, r.Cuts = slices.Clone(in.Faults), slices.Clone(r.Placements), slices.Clone(r.Cuts)
	for i, f := range in.Faults {
		in.Faults[i].X = in.Width - f.X - f.Width
	}
	for i, p := range r.Placements {
		w, _ := turnedSize(in.Pieces[p.Piece], p.Turn)
		r.Placements[i].X = in.Width - p.X - w
	}
	for i, c := range r.Cuts {
		r.Cuts[i].X = in.Width - c.X
		if c.Across {
			r.Cuts[i].X -= c.Span
		}
	}
	return in, r
}

func TestSolveRefusesBadInstance(t *testing.T) {
	t.Parallel()
	in := allRules()
	in.Pieces[0].Width = 50 * inch
	_, err := Solve(context.Background(), in, Params{Iterations: 1})
	var wrong *InputError
	require.ErrorAs(t, err, &wrong)
	require.Equal(t, "pieces[0].width", wrong.Field)
}

func TestSolveStopsWithTheContext(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Solve(ctx, allRules(), Params{})
	require.ErrorIs(t, err, context.Canceled)

	// A limit that is over before the first marker still gives one.
	in := manyPieces(300)
	r, err := Solve(&endsAfterOneLook{Context: ctx}, in, Params{Seed: 1})
	require.NoError(t, err)
	require.Equal(t, StatusOutOfTime, r.Status)
	requireValid(t, in, r)
}

// endsAfterOneLook is a context that has not ended when it is first asked, and has right after:
// the tightest time limit there is, whatever the machine does meanwhile.
type endsAfterOneLook struct {
	context.Context
	looks atomic.Int32
}

func (c *endsAfterOneLook) Err() error {
	if c.looks.Add(1) == 1 {
		return nil
	}
	return c.Context.Err()
}

func TestSolveReportsProgress(t *testing.T) {
	t.Parallel()
	in := garmentJob{seed: 1, garments: 10}.instance()
	var reports []Progress
	r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 20_000, Progress: func(p Progress) { reports = append(reports, p) }})
	require.NoError(t, err)
	require.NotEmpty(t, reports)
	for i := 1; i < len(reports); i++ {
		require.Less(t, reports[i].Length, reports[i-1].Length)
		require.GreaterOrEqual(t, reports[i].Bound, reports[i-1].Bound)
	}
	require.Equal(t, r.Length, reports[len(reports)-1].Length)
	require.Equal(t, 20_000, r.Stats.Iterations)
}

// TestThousandsOfPieces: the first marker of the scale of the largest published sets.
func TestThousandsOfPieces(t *testing.T) {
	t.Parallel()
	in := manyPieces(5000)
	for _, in.StraightCuts = range []bool{false, true} {
		r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 1})
		require.NoError(t, err)
		require.Less(t, r.GapPercent(), 3.0)
	}
}

// TestLargestMeasures lays pieces as long and as many as Check allows, with faults far along:
// nothing may leave its integer.
func TestLargestMeasures(t *testing.T) {
	t.Parallel()
	in := Instance{
		Width: MaxClothWidth, Gap: length.Metre, Faults: []Fault{{X: 0, Y: MaxClothLength, Width: MaxClothWidth, Length: MaxClothLength}, {X: 5, Y: 3, Width: 1, Length: MaxClothLength}},
		Pieces: []Piece{
			{Name: "whole width", Copies: 1, Width: MaxClothWidth, Length: MaxPieceLength, Turns: []Turn{0}},
			{Name: "long", Copies: 6, Width: length.Metre, Length: MaxPieceLength, Turns: []Turn{0, 180}},
			{Name: "specks", Copies: 2_000, Width: 1, Length: 1, Turns: []Turn{0, 90}},
		},
	}
	for _, in.StraightCuts = range []bool{false, true} {
		for _, in.MaxLength = range []length.Length{0, MaxClothLength, length.Metre} {
			r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 3})
			require.NoError(t, err)
			require.Positive(t, r.Bound)
			if in.MaxLength == 0 {
				// The piece of the whole width cannot lie beside the narrow fault.
				require.Greater(t, r.Length, MaxClothLength)
			}
		}
	}
}

// TestManyFaults: one piece has to go past faults that end at many heights.
func TestManyFaults(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 40 * inch, Pieces: []Piece{{Name: "panel", Copies: 1, Width: 40 * inch, Length: 5 * inch, Turns: []Turn{0}}}}
	for i := range length.Length(20) {
		in.Faults = append(in.Faults, Fault{X: 2 * i * inch, Y: (7 * i % 20) * inch / 4, Width: inch, Length: inch / 8})
	}
	for _, in.StraightCuts = range []bool{false, true} {
		require.Equal(t, 19*inch/4+inch/8+5*inch, solve(t, in, 20).Length)
	}
}

func TestGapPercent(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 25, Result{Marker: Marker{Length: 50}, Bound: 40, Status: StatusWithin}.GapPercent(), 1e-9)
	require.Zero(t, Result{}.GapPercent())
	require.InDelta(t, 20, Result{Marker: Marker{Length: 50}, Bound: 90, Status: StatusPartial, Value: 8, ValueBound: 10}.GapPercent(), 1e-9)
	require.Zero(t, Result{Bound: 90, Status: StatusPartial}.GapPercent())
}

// TestMostValuableSet: on half a yard one panel must stay behind; the one of less value does.
func TestMostValuableSet(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 42 * inch, MaxLength: 18 * inch, Pieces: []Piece{
		{Name: "large", Copies: 1, Width: 40 * inch, Length: 10 * inch, Turns: []Turn{0}, Value: 1},
		{Name: "small", Copies: 2, Width: 20 * inch, Length: 10 * inch, Turns: []Turn{0}, Value: 1},
	}}
	r := solve(t, in, 200)
	require.Equal(t, StatusPartial, r.Status)
	require.Equal(t, []int{1, 0}, r.Left)
	require.Equal(t, int64(2), r.Value)
	require.Greater(t, r.Bound, in.MaxLength, "the bound proves that not all fit")
	in.Pieces[0].Value = 5
	r = solve(t, in, 200)
	require.Equal(t, []int{0, 2}, r.Left)
	require.Equal(t, int64(5), r.Value)
}

func TestNothingFits(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 42 * inch, MaxLength: 5 * inch, Pieces: []Piece{{Name: "panel", Copies: 2, Width: 20 * inch, Length: 10 * inch, Turns: []Turn{0}}}}
	for _, in.StraightCuts = range []bool{false, true} {
		r := solve(t, in, 100)
		require.Equal(t, StatusPartial, r.Status)
		require.Empty(t, r.Placements)
		require.Zero(t, r.Length)
		require.Equal(t, []int{2}, r.Left)
	}
}

// TestAlikePiecesKeepTheirTurns: pieces with the same boxes are laid as one kind, but each keeps
// to its own turns and group.
func TestAlikePiecesKeepTheirTurns(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 42 * inch, Pieces: []Piece{
		{Name: "up", Copies: 3, Width: 9 * inch, Length: 8 * inch, Turns: []Turn{0}, NapGroup: 1},
		{Name: "down", Copies: 3, Width: 9 * inch, Length: 8 * inch, Turns: []Turn{180}, NapGroup: 2},
		{Name: "either", Copies: 3, Width: 9 * inch, Length: 8 * inch, Turns: []Turn{180, 0}},
	}}
	r := solve(t, in, 100)
	require.Equal(t, 24*inch, r.Length)
	require.Equal(t, StatusOptimal, r.Status)
	for _, p := range r.Placements {
		require.Contains(t, in.Pieces[p.Piece].Turns, p.Turn)
	}
}

// TestNapGroupChoosesAWay: only turned by a half do the match points of the group suit the
// repeat without loss.
func TestNapGroupChoosesAWay(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 10 * inch, Repeat: Repeat{Length: 4 * inch}, Pieces: []Piece{
		{Name: "front", Copies: 1, Width: 10 * inch, Length: 4 * inch, Turns: []Turn{0, 180}, NapGroup: 1, Match: &Point{0, 4 * inch}},
		{Name: "back", Copies: 1, Width: 10 * inch, Length: 3 * inch, Turns: []Turn{0, 180}, NapGroup: 1, Match: &Point{0, 3 * inch}},
	}}
	r := solve(t, in, 300)
	require.Equal(t, 7*inch, r.Length, r.Placements)
	require.Equal(t, Turn(180), r.Placements[0].Turn)
	require.Equal(t, Turn(180), r.Placements[1].Turn)
}

// TestNapGroupWithOneWayOnly: the front could lie either way, with other match points in each; the
// back settles that both lie turned by a half.
func TestNapGroupWithOneWayOnly(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 10 * inch, Repeat: Repeat{Length: 4 * inch}, Pieces: []Piece{
		{Name: "front", Copies: 2, Width: 10 * inch, Length: 5 * inch, Turns: []Turn{0, 180}, NapGroup: 1, Match: &Point{0, 0}},
		{Name: "back", Copies: 1, Width: 10 * inch, Length: 3 * inch, Turns: []Turn{180}, NapGroup: 1},
	}}
	for _, in.StraightCuts = range []bool{false, true} {
		for _, p := range solve(t, in, 20).Placements {
			require.Equal(t, Turn(180), p.Turn)
		}
	}
}

func TestRepeatCostsLength(t *testing.T) {
	t.Parallel()
	// Three panels of 10 in above each other, each beginning on a print that comes again every
	// 6 in: 12 + 12 + 10.
	in := Instance{Width: 20 * inch, Repeat: Repeat{Length: 6 * inch}, Pieces: []Piece{
		{Name: "panel", Copies: 3, Width: 15 * inch, Length: 10 * inch, Turns: []Turn{0}, Match: &Point{0, 0}},
	}}
	require.Equal(t, 34*inch, solve(t, in, 50).Length)
	in.Pieces[0].Match = nil
	require.Equal(t, 30*inch, solve(t, in, 50).Length)
}

func TestGapIsNotNeededAtEdgesAndFaults(t *testing.T) {
	t.Parallel()
	// 20 + 1 + 20 = 41: the whole width, and a fault right behind the pieces.
	in := Instance{Width: 41 * inch, Gap: inch, Faults: []Fault{{X: 0, Y: 10 * inch, Width: 41 * inch, Length: inch}}, Pieces: []Piece{
		{Name: "panel", Copies: 4, Width: 20 * inch, Length: 10 * inch, Turns: []Turn{0}},
	}}
	for _, in.StraightCuts = range []bool{false, true} {
		r := solve(t, in, 50)
		require.Equal(t, 21*inch, r.Length)
		require.Equal(t, StatusOptimal, r.Status)
	}
}

func TestCutOrderReadsLikeARuler(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 42 * inch, StraightCuts: true, Pieces: []Piece{
		{Name: "panel", Copies: 2, Width: 20 * inch, Length: 14 * inch, Turns: []Turn{0}},
		{Name: "band", Copies: 1, Width: 42 * inch, Length: 5 * inch, Turns: []Turn{0}},
	}}
	r := solve(t, in, 50)
	require.Equal(t, 19*inch, r.Length)
	var said []string
	for _, c := range r.Cuts {
		said = append(said, fmt.Sprintf("across=%v x=%v y=%v span=%v", c.Across, c.X.Inches(), c.Y.Inches(), c.Span.Inches()))
	}
	at := "5"
	if r.Placements[slices.IndexFunc(r.Placements, func(p Placement) bool { return p.Piece == 1 })].Y > 0 {
		at = "14"
	}
	require.Equal(t, "across=true x=0 y="+at+" span=42", said[0], strings.Join(said, "\n"))
	require.Len(t, said, 3)
}

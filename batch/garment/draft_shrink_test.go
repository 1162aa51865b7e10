package garment

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

func areaWithin(line []Point) float64 {
	twice := 0.0
	for i, p := range line {
		q := line[(i+1)%len(line)]
		twice += p.X.Millimetres()*q.Y.Millimetres() - q.X.Millimetres()*p.Y.Millimetres()
	}
	return math.Abs(twice) / 2
}

// TestDraftsAreOfThePieceAsItIsCut compares drafts with what is laid on the cloth: the size, and
// the area that shrinking leaves as it was.
func TestDraftsAreOfThePieceAsItIsCut(t *testing.T) {
	t.Parallel()
	shrink := Shrinkage{Lengthwise: 325, Crosswise: 150}
	step := length.Inch / 8
	for _, starter := range Starters() {
		t.Run(starter.Name, func(t *testing.T) {
			t.Parallel()
			at := slices.IndexFunc(ShippedCharts(), func(c SizeChart) bool { return c.Name == starter.Chart })
			chart := ShippedCharts()[at]
			for _, grain := range []Grain{Lengthwise, Crosswise, Bias} {
				style := starter.Style(nil)
				cloths := map[Role]Shrinkage{}
				for i, piece := range style.Pieces {
					if style.Pieces[i].Grain = grain; piece.Fold && grain == Bias {
						style.Pieces[i].Grain = Lengthwise
					}
					cloths[piece.Role] = shrink
				}
				size := chart.SizeNames()[len(chart.Sizes)/2]
				graded, err := style.Grade(chart, size)
				require.NoError(t, err)
				plain, err := style.Drafts(chart, size)
				require.NoError(t, err)
				drafts, err := style.DraftsOn(chart, size, cloths, step)
				require.NoError(t, err)
				for i, piece := range graded.Pieces {
					cut, err := shrink.Shrink(piece, step)
					require.NoError(t, err)
					d := drafts[i]
					if d.Grain == Bias { // it stands upright on paper; what it has of area is the same
						want := areaWithin(plain[i].Cut) / 0.9675 / 0.985
						require.InEpsilon(t, want, areaWithin(d.Cut), 1e-5)
						if style.Pieces[i].Shape == Rectangle {
							require.InEpsilon(t, areaWithin(cut.Outline), areaWithin(d.Cut), 1e-4)
						}
						continue
					}
					wide := d.Width
					if d.OnFold {
						wide *= 2
					}
					near := 0.001
					if style.Pieces[i].Shape == Outlined {
						near = 0.3 // what is laid follows curves less closely
					}
					if style.Pieces[i].Shape == Sector {
						near = 2 // what is laid is drawn around the arc
					}
					require.InDelta(t, cut.Width.Millimetres(), wide.Millimetres(), near, piece.Name)
					require.InDelta(t, cut.Length.Millimetres(), d.Length.Millimetres(), near, piece.Name)
					if style.Pieces[i].Shape == Rectangle && len(d.Sewn) > 0 { // after the wash the seam line has its own size again
						low, high := box(d.Sewn)
						from, to := box(plain[i].Sewn)
						across, along := 0.985, 0.9675
						if grain == Crosswise {
							across, along = along, across
						}
						require.InDelta(t, (to.X - from.X).Millimetres(), (high.X-low.X).Millimetres()*across, step.Millimetres(), piece.Name)
						require.InDelta(t, (to.Y - from.Y).Millimetres(), (high.Y-low.Y).Millimetres()*along, step.Millimetres(), piece.Name)
					}
				}
			}
		})
	}
	// By hand: 100 × 200 mm on the bias of a cloth that shrinks by a fifth lengthwise only becomes a slanted
	// piece: its long edge runs along (1, 1)/√2 of the cloth and grows as √((1.25² + 1)/2).
	style := Style{Name: "strip", Wearer: NoOne, Pieces: []Piece{{Name: "strip", Role: Body, Copies: 1, Shape: Rectangle, Width: "100*mm", Length: "200*mm", Grain: Bias}}}
	chart := SizeChart{Name: "one", Sizes: []Size{{Name: "one"}}}
	drafts, err := style.DraftsOn(chart, "one", map[Role]Shrinkage{Body: {Lengthwise: 2000}}, step)
	require.NoError(t, err)
	edges := []float64{}
	for i, p := range drafts[0].Cut {
		q := drafts[0].Cut[(i+1)%4]
		edges = append(edges, math.Hypot((q.X-p.X).Millimetres(), (q.Y-p.Y).Millimetres()))
	}
	slices.Sort(edges)
	grown := math.Sqrt((1.25*1.25 + 1) / 2)
	require.InDelta(t, 100*grown, edges[0], 0.001)
	require.InDelta(t, 200*grown, edges[3], 0.001)
	require.InDelta(t, 100*200*1.25, areaWithin(drafts[0].Cut), 0.1)
	_, err = style.DraftsOn(chart, "one", map[Role]Shrinkage{Body: {Lengthwise: 9000}}, step)
	require.ErrorContains(t, err, "write a shrinkage")
}

// TestSeamLinesAreWhereThePieceWouldEndWithoutAllowances grades every starter once more with all
// seams, hems and casings at nothing: the box of each seam line has that size.
func TestSeamLinesAreWhereThePieceWouldEndWithoutAllowances(t *testing.T) {
	t.Parallel()
	compared := 0
	for _, starter := range Starters() {
		at := slices.IndexFunc(ShippedCharts(), func(c SizeChart) bool { return c.Name == starter.Chart })
		chart := ShippedCharts()[at]
		style := starter.Style(nil)
		bare := starter.Style(nil)
		bare.Allowances = slices.Clone(bare.Allowances)
		for i, a := range bare.Allowances {
			if kindOf(a) != noEdge {
				bare.Allowances[i].Length = 0
			}
		}
		for _, size := range chart.SizeNames() {
			without, err := bare.Grade(chart, size)
			if err != nil {
				continue // a piece that is nothing but allowances
			}
			drafts, err := style.Drafts(chart, size)
			require.NoError(t, err)
			for i, d := range drafts {
				if d.Sewn == nil || style.Pieces[i].Shape != Rectangle || len(d.FoldLines) > 0 {
					continue
				}
				low, high := box(d.Sewn)
				wide := high.X - low.X
				if d.OnFold {
					wide *= 2
				}
				require.InDelta(t, without.Pieces[i].Width.Millimetres(), wide.Millimetres(), 0.05, "%s, %s, size %s", starter.Name, d.Name, size)
				require.InDelta(t, without.Pieces[i].Length.Millimetres(), (high.Y - low.Y).Millimetres(), 0.05, "%s, %s, size %s", starter.Name, d.Name, size)
				compared++
			}
		}
	}
	require.Greater(t, compared, 20)
}

package garment

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

func draftsOf(t *testing.T, name, size string) map[string]Draft {
	t.Helper()
	for _, starter := range Starters() {
		if starter.Name != name {
			continue
		}
		for _, chart := range ShippedCharts() {
			if chart.Name != starter.Chart {
				continue
			}
			drafts, err := starter.Style(nil).Drafts(chart, size)
			require.NoError(t, err)
			named := map[string]Draft{}
			for _, d := range drafts {
				named[d.Name] = d
			}
			return named
		}
	}
	require.FailNow(t, "no starter", name)
	return nil
}

// TestDraftsOfStarters checks by hand what the edges of starter pieces allow for.
func TestDraftsOfStarters(t *testing.T) {
	t.Parallel()
	const inch = length.Inch
	for _, want := range []struct {
		name, starter, size, piece string
		side, top, bottom          length.Length
		folds                      int
	}{
		{"the panel has a casing above and a seam to the band below", "Gathered skirt", "98", "panel", inch / 4, 5 * inch / 4, inch / 4, 0},
		{"the band has seams all round and a fold", "Gathered skirt", "98", "band", inch / 4, inch / 4, inch / 4, 1},
		{"the pocket has a deep hem at the top", "Gathered skirt", "98", "pocket", inch / 2, inch, inch / 2, 0},
		{"the panel on the fold", "A-line skirt", "10", "panel", 3 * inch / 8, 5 * inch / 4, 3 * inch / 2, 0},
		{"shorts", "Pull-on shorts", "10", "leg", 3 * inch / 8, 5 * inch / 4, inch, 0},
		{"the waistband is folded and is no casing", "Circle skirt", "98", "waistband", inch / 4, inch / 4, inch / 4, 1},
	} {
		t.Run(want.name, func(t *testing.T) {
			t.Parallel()
			d := draftsOf(t, want.starter, want.size)[want.piece]
			require.Empty(t, d.Unknown)
			require.Equal(t, []EdgeAllowance{{"sides", want.side}, {"top", want.top}, {"bottom", want.bottom}}, d.Edges)
			require.NotEmpty(t, d.Sewn)
			require.Len(t, d.FoldLines, want.folds)
		})
	}
}

// TestDraftKeepsItsSize checks that drafts have the size of the graded pieces, and that every
// point of the seam line is at least as far from the cutting line as the least allowance.
func TestDraftKeepsItsSize(t *testing.T) {
	t.Parallel()
	for _, starter := range Starters() {
		t.Run(starter.Name, func(t *testing.T) {
			t.Parallel()
			for _, chart := range ShippedCharts() {
				if chart.Name != starter.Chart {
					continue
				}
				style := starter.Style(nil)
				for _, size := range []string{chart.SizeNames()[0], chart.SizeNames()[len(chart.Sizes)-1]} {
					graded, err := style.Grade(chart, size)
					require.NoError(t, err)
					drafts, err := style.Drafts(chart, size)
					require.NoError(t, err)
					for i, d := range drafts {
						cut := graded.Pieces[i]
						width := d.Width
						if d.OnFold {
							width *= 2
						}
						if cut.Grain != Bias {
							require.InDelta(t, cut.Width.Millimetres(), width.Millimetres(), 2, "%s %s", d.Name, size)
							require.InDelta(t, cut.Length.Millimetres(), d.Length.Millimetres(), 2, "%s %s", d.Name, size)
						}
						require.NotEmpty(t, d.Sewn, "%s %s: %s", d.Name, size, d.Unknown)
						least := math.Inf(1)
						for _, e := range d.Edges {
							least = min(least, e.Amount.Millimetres())
						}
						for _, p := range d.Sewn {
							if d.OnFold && p.X == 0 {
								continue
							}
							require.GreaterOrEqual(t, distanceTo(p, d.Cut, d.OnFold), least-0.05, "%s %s", d.Name, size)
						}
					}
				}
			}
		})
	}
}

// distanceTo is how far a point is from a line, in millimetres; edges on the fold don't count.
func distanceTo(p Point, line []Point, onFold bool) float64 {
	least := math.Inf(1)
	for i, a := range line {
		b := line[(i+1)%len(line)]
		if onFold && a.X == 0 && b.X == 0 {
			continue
		}
		ax, ay, bx, by := a.X.Millimetres(), a.Y.Millimetres(), b.X.Millimetres(), b.Y.Millimetres()
		px, py := p.X.Millimetres(), p.Y.Millimetres()
		t := max(0, min(1, ((px-ax)*(bx-ax)+(py-ay)*(by-ay))/((bx-ax)*(bx-ax)+(by-ay)*(by-ay))))
		least = min(least, math.Hypot(px-ax-t*(bx-ax), py-ay-t*(by-ay)))
	}
	return least
}

// A maker who knows only an outline or cut sizes can still say how wide the allowances in them are,
// at the sides, the top and the bottom, and the seam line is drawn inside by as much.
func TestStatedAllowancesDrawTheSeamLine(t *testing.T) {
	t.Parallel()
	const inch = length.Inch
	width := func(l length.Length) *length.Length { return &l }
	chart := SizeChart{Name: "one", Measures: []Measure{{Name: "hip", Label: "Hip"}}, Sizes: []Size{{Name: "M", Values: map[string]Value{"hip": {Length: 40 * inch}}}}}
	box := []Point{{0, 0}, {10 * inch, 0}, {10 * inch, 20 * inch}, {0, 20 * inch}}
	for _, test := range []struct {
		name              string
		piece             Piece
		side, top, bottom length.Length
		unknown           string
	}{
		{"an outline, the same all round", Piece{Shape: Outlined, Drawn: map[string][]Point{"": box}, Seam: inch / 2}, inch / 2, inch / 2, inch / 2, ""},
		{"an outline with a hem", Piece{Shape: Outlined, Drawn: map[string][]Point{"": box}, Seam: inch / 2, SeamBottom: width(2 * inch)}, inch / 2, inch / 2, 2 * inch, ""},
		{"an outline with a raw top and no side seams", Piece{Shape: Outlined, Drawn: map[string][]Point{"": box}, SeamTop: width(0), SeamBottom: width(inch)}, 0, 0, inch, ""},
		{"cut sizes with a casing", Piece{Shape: Rectangle, Table: map[string]Cut{"M": {Width: 10 * inch, Length: 20 * inch}}, Seam: inch / 4, SeamTop: width(inch)}, inch / 4, inch, inch / 4, ""},
		{"an outline that says nothing", Piece{Shape: Outlined, Drawn: map[string][]Point{"": box}}, 0, 0, 0, "the drawing doesn't say"},
		{"cut sizes that say nothing", Piece{Shape: Rectangle, Table: map[string]Cut{"M": {Width: 10 * inch, Length: 20 * inch}}}, 0, 0, 0, "the cut sizes don't say"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			test.piece.Name, test.piece.Role, test.piece.Copies, test.piece.Grain = "front", Body, 1, Lengthwise
			style := Style{Name: "Box", Chart: "one", Pieces: []Piece{test.piece}}
			drafts, err := style.Drafts(chart, "M")
			require.NoError(t, err)
			d := drafts[0]
			if test.unknown != "" {
				require.Contains(t, d.Unknown, test.unknown)
				require.Empty(t, d.Sewn)
				return
			}
			require.Empty(t, d.Unknown)
			require.Equal(t, []EdgeAllowance{{"sides", test.side}, {"top", test.top}, {"bottom", test.bottom}}, d.Edges)
			low, high := d.Sewn[0], d.Sewn[0]
			for _, p := range d.Sewn {
				low, high = Point{min(low.X, p.X), min(low.Y, p.Y)}, Point{max(high.X, p.X), max(high.Y, p.Y)}
			}
			near := func(want, got length.Length) { require.InDelta(t, want.Millimetres(), got.Millimetres(), 0.01) }
			near(test.side, low.X)
			near(10*inch-test.side, high.X)
			near(test.bottom, low.Y)
			near(20*inch-test.top, high.Y)
		})
	}
}

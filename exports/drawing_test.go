package exports

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

var update = flag.Bool("update", false, "write the golden files anew")

const inch = length.Inch

// rectangle is a piece in inches.
func rectangle(name string, copies int, width, long length.Length, turns ...marker.Turn) marker.Piece {
	return marker.Piece{Name: name, Copies: copies, Width: width * inch, Length: long * inch, Turns: turns}
}

// plainMarker is two panels and two pockets side by side, laid by hand.
func plainMarker() (marker.Instance, marker.Result) {
	instance := marker.Instance{Width: 42 * inch, Pieces: []marker.Piece{
		rectangle("panel 98", 2, 17, 12, 0, 180), rectangle("pocket 98", 2, 6, 7, 0, 180),
	}}
	return instance, marker.Result{Marker: marker.Marker{Length: 14 * inch, Placements: []marker.Placement{
		{Piece: 0}, {Piece: 0, X: 17 * inch, Turn: 180}, {Piece: 1, X: 34 * inch}, {Piece: 1, X: 34 * inch, Y: 7 * inch, Turn: 180},
	}}}
}

// fullMarker has everything that a drawing can show; laid by hand, and not sparingly.
func fullMarker() (marker.Instance, marker.Result) {
	leg := marker.Piece{
		Name: `leg <"A&B"> 🪡`, Copies: 4, Width: 20 * inch, Length: 16 * inch, MayMirror: true, Turns: []marker.Turn{0, 180}, Match: &marker.Point{X: 3 * inch, Y: 0},
		Outline: []marker.Point{{}, {X: 20 * inch}, {X: 20 * inch, Y: 5 * inch}, {X: 17 * inch, Y: 6 * inch}, {X: 17 * inch, Y: 16 * inch}, {X: 4 * inch, Y: 15 * inch}, {X: 3 * inch, Y: 5 * inch}, {Y: 4 * inch}},
	}
	instance := marker.Instance{
		Width: 44 * inch, Repeat: marker.Repeat{Width: 4 * inch, Length: 6 * inch}, StraightCuts: true,
		Faults: []marker.Fault{{X: 40 * inch, Y: 20 * inch, Width: 6 * inch, Length: 3 * inch}, {X: 2 * inch, Y: 90 * inch, Width: inch, Length: inch}},
		Pieces: []marker.Piece{
			leg, rectangle("waistband", 2, 3, 26, 90, 270), rectangle("a loop with a very long name that no one can read", 3, 1, 2, 0, 90),
			rectangle("tab", 2, 5, 3, 0, 90, 180, 270),
		},
	}
	return instance, marker.Result{
		Marker: marker.Marker{
			Length: 38 * inch, Placements: []marker.Placement{
				{Piece: 0, X: inch},
				{Piece: 0, X: 21 * inch, Mirrored: true, Y: 0},
				{Piece: 0, X: inch, Y: 18 * inch, Turn: 180},
				{Piece: 0, X: 21 * inch, Y: 18 * inch, Turn: 180, Mirrored: true},
				{Piece: 1, Y: 35 * inch, Turn: 90},
				{Piece: 2, X: 42 * inch, Y: 2 * inch},
				{Piece: 2, X: 41 * inch, Y: 5 * inch, Turn: 90},
				{Piece: 3, X: 28 * inch, Y: 35 * inch, Turn: 180},
			},
			Cuts: []marker.Cut{{Across: true, Y: 17 * inch, Span: 44 * inch}, {X: 21 * inch, Span: 17 * inch}},
		},
		Left: []int{0, 1, 1, 1}, Status: marker.StatusPartial,
	}
}

var fullDrawing = Drawing{
	ID: "full", Title: `Lay 1 of <Osier & "Reed">`, Lengths: length.Style{System: length.Metric}, Nap: batch.NapOneWay,
	Spread: lay.FoldedLengthwise, EndLoss: inch, Cuts: true,
}

// drawingCases are the drawings of the golden files.
func drawingCases() []struct {
	name    string
	marker  func() (marker.Instance, marker.Result)
	options Drawing
} {
	right := fullDrawing
	right.Direction, right.Standalone, right.Lengths.System, right.Nap = LengthRight, true, length.Imperial, batch.NapUpAndDown
	return []struct {
		name    string
		marker  func() (marker.Instance, marker.Result)
		options Drawing
	}{
		{"plain", plainMarker, Drawing{}},
		{"full-up", fullMarker, fullDrawing},
		{"full-right", fullMarker, right},
		{"empty", func() (marker.Instance, marker.Result) {
			return marker.Instance{Width: 36 * inch}, marker.Result{}
		}, Drawing{Title: "Nothing yet", Nap: batch.NapEitherWay}},
	}
}

func draw(t require.TestingT, instance marker.Instance, result marker.Result, options Drawing) string {
	var svg bytes.Buffer
	require.NoError(t, MarkerSVG(&svg, instance, result, options))
	return svg.String()
}

// golden compares a text with a golden file, or writes it anew.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "testdata", "exports", name+".golden")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "go test ./exports -update writes the golden files")
	require.Equal(t, string(want), got)
}

func TestMarkerSVGGolden(t *testing.T) {
	t.Parallel()
	for _, tt := range drawingCases() {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			instance, result := tt.marker()
			svg := draw(t, instance, result, tt.options)
			require.Equal(t, svg, draw(t, instance, result, tt.options), "the same marker gives the same bytes")
			keepPicture(t, "drawing-"+tt.name+".svg", []byte(svg))
			golden(t, "marker-"+tt.name+".svg", svg)
		})
	}
}

// element is one element of a parsed drawing.
type element struct {
	XMLName  xml.Name
	Attrs    []xml.Attr `xml:",any,attr"`
	Elements []element  `xml:",any"`
	Text     string     `xml:",chardata"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// all lists an element and everything in it.
func (e element) all() []element {
	found := []element{e}
	for _, child := range e.Elements {
		found = append(found, child.all()...)
	}
	return found
}

func parseSVG(t require.TestingT, svg string) element {
	var root element
	require.NoError(t, xml.Unmarshal([]byte(svg), &root))
	return root
}

// classed lists the elements of a class.
func (e element) classed(class string) []element {
	var found []element
	for _, child := range e.all() {
		for _, c := range strings.Fields(child.attr("class")) {
			if c == class {
				found = append(found, child)
			}
		}
	}
	return found
}

func TestMarkerSVGShowsEverything(t *testing.T) {
	t.Parallel()
	instance, result := fullMarker()
	root := parseSVG(t, draw(t, instance, result, fullDrawing))
	require.Equal(t, "img", root.attr("role"))
	require.Equal(t, "full-title full-desc", root.attr("aria-labelledby"))
	pieces := root.classed("marker-piece")
	require.Len(t, pieces, len(result.Placements))
	require.Equal(t, `leg <"A&B"> 🪡`, pieces[0].attr("data-name"), "names survive escaping")
	require.Equal(t, "0", pieces[0].attr("data-piece"))
	require.Equal(t, "2", pieces[1].attr("data-copy"))
	require.Equal(t, "180", pieces[2].attr("data-turn"))
	require.Contains(t, pieces[3].Elements[0].Text, "turned 180°, face down", "the title says how a piece lies")
	for class, count := range map[string]int{
		"marker-turned": 5, "marker-face-down": 2, "marker-match": 4 + 1, "marker-fault": 1, "marker-cut": 2, "marker-fold": 1 + 1,
		"marker-end-loss": 2, "marker-repeat": 1, "marker-nap": 1, "marker-ruler": 2, "marker-ends": 1, "marker-grain": 8 + 1, "marker-label": 8,
	} {
		require.Len(t, root.classed(class), count, class)
	}
	text := strings.Join(strings.Fields(allText(root)), " ")
	for _, want := range []string{
		"Length 96.5 cm (38 in)", "usable width from selvage to fold 111.8 cm (44 in)", "end loss 2.5 cm at each end", "face down", "turned 90°",
		"3: a loop with a very long name that no one can read, 2.5 × 5.1 cm", "Not laid, for want of length: 1 × waistband; 1 × a loop", "nap one way",
		"Fault, 10.2 cm wide and 7.6 cm long, 101.6 cm from the left selvage and 50.8 cm from the start", "straight cut, in this order",
	} {
		require.Contains(t, text, want)
	}
}

func allText(e element) string {
	text := e.Text
	for _, child := range e.Elements {
		text += " " + allText(child)
	}
	return text
}

// TestMarkerSVGKeepsPolicy: a content security policy of default-src 'self' blocks style
// attributes, style elements, scripts and handlers, and anything fetched from elsewhere
// (Content Security Policy Level 3, style-src and script-src).
func TestMarkerSVGKeepsPolicy(t *testing.T) {
	t.Parallel()
	for _, tt := range drawingCases() {
		instance, result := tt.marker()
		for _, e := range parseSVG(t, draw(t, instance, result, tt.options)).all() {
			require.NotContains(t, []string{"style", "script", "foreignObject", "image", "use", "a"}, e.XMLName.Local, tt.name)
			for _, a := range e.Attrs {
				require.NotEqual(t, "style", a.Name.Local, tt.name)
				require.False(t, strings.HasPrefix(a.Name.Local, "on"), a.Name.Local)
				if strings.Contains(a.Value, "url(") {
					require.Regexp(t, `^url\(#`, a.Value)
				}
			}
		}
	}
}

// TestMarkerSVGToScale finds every outline where the marker says that it lies.
func TestMarkerSVGToScale(t *testing.T) {
	t.Parallel()
	instance, result := fullMarker()
	for _, direction := range []Direction{LengthUp, LengthRight} {
		options := fullDrawing
		options.Direction = direction
		root := parseSVG(t, draw(t, instance, result, options))
		cloth := root.classed("marker-cloth")[0]
		number := func(e element, name string) float64 {
			f, err := strconv.ParseFloat(e.attr(name), 64)
			require.NoError(t, err)
			return f
		}
		left, top, width, height := number(cloth, "x"), number(cloth, "y"), number(cloth, "width"), number(cloth, "height")
		wantWidth, wantHeight := instance.Width.Millimetres(), result.Length.Millimetres()
		if direction == LengthRight {
			wantWidth, wantHeight = wantHeight, wantWidth
		}
		require.InDelta(t, wantWidth, width, 0.001)
		require.InDelta(t, wantHeight, height, 0.001)
		for i, outline := range root.classed("marker-outline") {
			points := strings.FieldsFunc(outline.attr("d"), func(r rune) bool { return strings.ContainsRune("MLZ", r) })
			shape := instance.Shape(result.Placements[i])
			require.Len(t, points, len(shape))
			for j, point := range points {
				x, y, _ := strings.Cut(point, " ")
				px, err := strconv.ParseFloat(x, 64)
				require.NoError(t, err)
				py, err := strconv.ParseFloat(y, 64)
				require.NoError(t, err)
				across, along := px-left, top+height-py // read off the page by hand, apart from the code
				if direction == LengthRight {
					across, along = py-top, px-left
				}
				require.InDelta(t, shape[j].X.Millimetres(), across, 0.002)
				require.InDelta(t, shape[j].Y.Millimetres(), along, 0.002)
			}
		}
	}
}

// TestMarkerSVGLabelsStayInside: a label's block lies inside its piece unless it is a number
// that no size of letter has room for.
func TestMarkerSVGLabelsStayInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		outline := drawOutline(t)
		text := labelText{name: oneLine("x" + rapid.StringN(0, 40, 80).Draw(t, "name")), size: "20½ × 14 in", marks: rapid.SampledFrom([]string{"", "turned 180°"}).Draw(t, "marks"), number: "7"}
		l := fitLabel(outline, text, 30*length.Millimetre, 100)
		width, height := l.size()
		if l.upright {
			width, height = height, width
		}
		if l.number && l.letter == 30*length.Millimetre*leastNumber/100 {
			return // too small for anything
		}
		for _, across := range []length.Length{-1, 0, 1} {
			for _, up := range []length.Length{-1, 0, 1} {
				require.True(t, inside(outline, l.x+across*(width/2-2), l.y+up*(height/2-2)), "a corner of the label sticks out")
			}
		}
		for _, line := range l.lines {
			require.NotEmpty(t, line)
		}
	})
}

// drawOutline draws an L or a rectangle, counter-clockwise.
func drawOutline(t *rapid.T) []marker.Point {
	size := func(label string, most int) length.Length {
		return length.Length(rapid.IntRange(20, most).Draw(t, label)) * length.Millimetre
	}
	width, high := size("width", 900), size("height", 900)
	notchWide, notchHigh := min(width-10*length.Millimetre, size("notch width", 600)), min(high-10*length.Millimetre, size("notch height", 600))
	return []marker.Point{{}, {X: width}, {X: width, Y: high - notchHigh}, {X: width - notchWide, Y: high - notchHigh}, {X: width - notchWide, Y: high}, {Y: high}}
}

func TestMarkerSVGRefuses(t *testing.T) {
	t.Parallel()
	instance, result := plainMarker()
	for _, tt := range []struct {
		name    string
		spoil   func(*marker.Instance, *marker.Result, *Drawing)
		message string
	}{
		{"no width", func(in *marker.Instance, _ *marker.Result, _ *Drawing) { in.Width = 0 }, "usable width"},
		{"another instance's result", func(_ *marker.Instance, r *marker.Result, _ *Drawing) { r.Placements[1].Piece = 5 }, "placement 1: the instance has no piece 5"},
		{"an odd turn", func(_ *marker.Instance, r *marker.Result, _ *Drawing) { r.Placements[0].Turn = 45 }, "45 degrees"},
		{"an id that breaks out", func(_ *marker.Instance, _ *marker.Result, d *Drawing) { d.ID = `x" onload="` }, "letters, digits and hyphens"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			in, r, d := instance, result, Drawing{}
			r.Placements = append([]marker.Placement(nil), result.Placements...)
			tt.spoil(&in, &r, &d)
			require.ErrorContains(t, MarkerSVG(io.Discard, in, r, d), tt.message)
		})
	}
	require.ErrorIs(t, MarkerSVG(brokenWriter{}, instance, result, Drawing{}), errBroken)
}

var errBroken = errors.New("the disk is full")

// brokenWriter takes nothing.
type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errBroken }

func TestMarkerSVGLettersSuitTheWidth(t *testing.T) {
	t.Parallel()
	instance, result := plainMarker()
	for _, shown := range []int{390, 720, 1040} {
		for _, direction := range []Direction{LengthUp, LengthRight} {
			root := parseSVG(t, draw(t, instance, result, Drawing{ShownWidth: shown, Direction: direction}))
			wide, err := strconv.ParseFloat(strings.Fields(root.attr("viewBox"))[2], 64)
			require.NoError(t, err)
			size, err := strconv.ParseFloat(root.classed("marker-number")[0].attr("font-size"), 64)
			require.NoError(t, err)
			require.InDelta(t, 11, size*float64(shown)/wide, 0.2, "letters are 11 pixels high at the width they are meant for")
		}
	}
}

// What a piece is for is told with it, as text.
func TestNotesOfPieces(t *testing.T) {
	t.Parallel()
	instance, result := plainMarker()
	root := parseSVG(t, draw(t, instance, result, Drawing{Notes: []string{"For order <1>."}}))
	var titles []string
	for _, piece := range root.classed("marker-piece") {
		titles = append(titles, piece.Elements[0].Text)
	}
	require.Len(t, titles, 4)
	require.True(t, strings.HasSuffix(titles[0], " 0 in from the start. For order <1>."), titles[0])
	require.True(t, strings.HasSuffix(titles[2], " from the start."), titles[2])
}

// TestFoldedNotes: what touches the fold without lying on it is only free when the fold is cut open.
func TestFoldedNotes(t *testing.T) {
	t.Parallel()
	instance := marker.Instance{Width: 20 * inch, Folded: true, Pieces: []marker.Piece{
		{Name: "pocket", Copies: 1, Width: 6 * inch, Length: 7 * inch, Turns: []marker.Turn{0}},
		{Name: "panel", Copies: 1, Width: 12 * inch, Length: 7 * inch, Turns: []marker.Turn{0}, OnFold: true},
	}}
	away, against := marker.Placement{X: 2 * inch}, marker.Placement{X: 14 * inch}
	panel := marker.Placement{Piece: 1, X: 8 * inch, Y: 7 * inch}
	require.Len(t, foldedNotes(instance, []marker.Placement{away, panel}), 1)
	notes := foldedNotes(instance, []marker.Placement{against, panel})
	require.Contains(t, notes[0], "A place on the fold gives one piece")
	require.Contains(t, notes[1], "cut the fold open")
	root := parseSVG(t, draw(t, instance, marker.Result{Marker: marker.Marker{Placements: []marker.Placement{away, panel}, Length: 14 * inch}}, Drawing{}))
	require.Len(t, root.classed("marker-fold"), 2, "the fold and its key")
	require.Contains(t, root.classed("marker-piece")[1].Elements[0].Text, "half, on the fold")
}

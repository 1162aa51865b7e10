package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// A piece takes its outline from a drawing: looked at first, at a stated scale, one shape for
// all sizes or one for each.
func TestAPieceTakesItsOutlineFromADrawing(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	styles, err := s.service.Styles(t.Context(), s.id)
	require.NoError(t, err)
	style := styles[0]
	path := fmt.Sprintf("/styles/%d/pieces/new/outline", style.ID)
	require.Contains(t, s.get(t, fmt.Sprintf("/styles/%d", style.ID), http.StatusOK), `href="`+path+`"`)
	require.Contains(t, s.get(t, path, http.StatusOK), `accept=".svg`)
	for content, message := range map[string]string{
		"hello": "holds no drawing at all", "<svg/>": "no path in this drawing", `<!DOCTYPE svg [<!ENTITY a "b">]><svg/>`: "defines entities",
		strings.Repeat("x", 11<<20): "The drawing has 11 MB; at most 10 MB are read",
	} {
		text, _ := s.upload(t, path, "x.svg", content, http.StatusUnprocessableEntity)
		require.Contains(t, text, message)
	}

	// Its scale is not known at first. 72 units are an inch: the bib is 10 by 8 in.
	drawing := `<svg viewBox="0 0 2000 2000"><rect id="square" x="1500" width="288" height="288"/>
		<path id="bib" d="M100 100H820V500Q820 676 640 676H280Q100 676 100 500Z"/><path id="open" d="M0 0H99V99"/></svg>`
	text, at := s.upload(t, path, "bib <b>.svg", drawing, http.StatusOK)
	require.Regexp(t, regexp.QuoteMeta(path)+`/\d+$`, at)
	require.Contains(t, text, "doesn&#39;t say its width and height")
	require.Contains(t, text, "bib &lt;b&gt;.svg")
	require.NotContains(t, text, "Take the outline")
	require.Contains(t, s.get(t, at+"?scale=units&units=72", http.StatusOK), "Write how long that is")
	require.Contains(t, s.get(t, at+"?scale=square&square=2&edge=4+in", http.StatusOK), "not a square")
	for _, scale := range []string{"scale=units&units=72&together=1+in", "scale=square&square=1&edge=4+in", "scale=units&units=720&together=25.4+cm"} {
		text = s.get(t, at+"?"+scale, http.StatusOK)
		require.Contains(t, text, "10 in × 8 in<br>exactly 254.0 × 203.2 mm", scale)
		require.Contains(t, text, "not closed")
		require.Contains(t, text, "Take the outline")
	}
	values := url.Values{
		"version": {fmt.Sprint(style.Version)}, "scale": {"units"}, "units": {"72"}, "together": {"1 in"}, "name": {"bib"}, "role": {"body"}, "copies": {"1"}, "grain": {"lengthwise"},
	}
	require.Contains(t, s.post(t, at, values, http.StatusUnprocessableEntity), "Choose the shape that is the outline")
	values.Set("all", "3")
	require.Contains(t, s.post(t, at, values, http.StatusUnprocessableEntity), "not closed")
	values.Set("all", "2")
	values.Set("name", "")
	require.Contains(t, s.post(t, at, values, http.StatusUnprocessableEntity), "Write a name")
	values.Set("name", "bib")
	values.Set("seam", "0.5 in")
	values.Set("size.0", "1")
	text = s.post(t, at, values, http.StatusOK)
	require.Contains(t, text, "The outline is taken")
	require.Contains(t, text, "an outline from a drawing")
	s.get(t, at, http.StatusNotFound) // it is let go of

	style, err = s.service.Style(t.Context(), s.id, style.ID)
	require.NoError(t, err)
	chart, err := s.service.Chart(t.Context(), s.id, style.ChartID)
	require.NoError(t, err)
	sizes := chart.SizeNames()
	for i, size := range sizes {
		graded, err := style.Grade(chart.SizeChart, size)
		require.NoError(t, err)
		bib := graded.Pieces[len(graded.Pieces)-1]
		want := [2]length.Length{10 * length.Inch, 8 * length.Inch}
		if i == 0 {
			want = [2]length.Length{4 * length.Inch, 4 * length.Inch}
		}
		require.InDelta(t, want[0].Millimetres(), bib.Width.Millimetres(), 0.01)
		require.InDelta(t, want[1].Millimetres(), bib.Length.Millimetres(), 0.01)
		if i == 0 {
			continue
		}
		// The true outline is what counts for area: a box less two corners, each a sixth of its own box.
		var points []marker.Point
		for _, p := range bib.Outline {
			points = append(points, marker.Point(p))
		}
		area, err := batch.OutlineArea(points)
		require.NoError(t, err)
		unit := 25.4 / 72
		require.InDelta(t, (720*576-2*180*176.0/6)*unit*unit, float64(area)/8000/8000, 15)
	}
	// The template has the cutting line at its true size, and the seam line half an inch inside.
	text = s.get(t, fmt.Sprintf("/styles/%d/templates.svg?size=%s&piece=%d", style.ID, url.QueryEscape(sizes[1]), len(style.Pieces)-1), http.StatusOK)
	require.InDelta(t, 254, extent(t, text, "template-cut"), 0.01)
	require.InDelta(t, 254-25.4, extent(t, text, "template-seam"), 0.05)

	// Again for a piece that is there: a half one.
	piece := len(style.Pieces) - 1
	path = fmt.Sprintf("/styles/%d/pieces/%d/outline", style.ID, piece)
	require.Contains(t, s.get(t, strings.TrimSuffix(path, "/outline"), http.StatusOK), `href="`+path+`"`)
	text, at = s.upload(t, path, "half.svg", `<svg width="20cm" height="20cm" viewBox="0 0 200 200"><path d="M10 10H60Q90 100 60 160H10Z"/></svg>`, http.StatusOK)
	require.Contains(t, text, "× 150.0 mm")
	require.NotContains(t, text, `name="role"`)
	text = s.post(t, at, url.Values{"version": {fmt.Sprint(style.Version)}, "scale": {"drawing"}, "all": {"1"}, "fold": {"yes"}}, http.StatusOK)
	require.Contains(t, text, "cut on the fold")
	style, err = s.service.Style(t.Context(), s.id, style.ID)
	require.NoError(t, err)
	require.Equal(t, garment.Role("body"), style.Pieces[piece].Role)
	graded, err := style.Grade(chart.SizeChart, sizes[0])
	require.NoError(t, err)
	require.InDelta(t, 2*65, graded.Pieces[piece].Width.Millimetres(), 0.3, "unfolded, twice as wide as the half")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// extent is how wide the lines of a class are in a drawing in mm.
func extent(t *testing.T, svg, class string) float64 {
	t.Helper()
	lines := regexp.MustCompile(`class="`+class+`" d="([^"]*)"`).FindAllStringSubmatch(svg, -1)
	require.NotEmpty(t, lines, class)
	low, high := 1e9, -1e9
	for _, line := range lines {
		for _, at := range regexp.MustCompile(`[ML](-?[\d.]+) `).FindAllStringSubmatch(line[1], -1) {
			var x float64
			_, err := fmt.Sscan(at[1], &x)
			require.NoError(t, err)
			low, high = min(low, x), max(high, x)
		}
	}
	return high - low
}

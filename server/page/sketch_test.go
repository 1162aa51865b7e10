package page_test

import (
	"encoding/xml"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/garment"
	"yardwright/server/page"
)

// Every allowance of every draft, with all of its options and with none, has a sketch; and no
// sketch is of something that no draft has.
func TestEveryAllowanceHasASketch(t *testing.T) {
	t.Parallel()
	used := map[string]bool{}
	for _, starter := range garment.Starters() {
		for _, on := range []bool{true, false} {
			options := map[string]bool{}
			for _, option := range starter.Options {
				options[option.Name] = on
			}
			for _, allowance := range starter.Style(options).Allowances {
				used[allowance.Name] = true
				_, ok := page.SketchOf(allowance.Name)
				require.True(t, ok, "%s of %s has no sketch", allowance.Name, starter.Name)
			}
		}
	}
	require.Greater(t, len(used), 25)
	said := map[string]string{}
	for _, name := range page.SketchNames() {
		require.True(t, used[name], "no draft has the allowance %s", name)
		sketch, _ := page.SketchOf(name)
		require.Empty(t, said[sketch.Words], "%s says what %s says", name, said[sketch.Words])
		said[sketch.Words] = name
	}
	_, ok := page.SketchOf("a maker's own")
	require.False(t, ok)
}

// A sketch has words, points at what is meant with an arrow, and stays on its paper.
func TestSketchesAreDrawnOnTheirPaper(t *testing.T) {
	t.Parallel()
	for _, name := range page.SketchNames() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			sketch, _ := page.SketchOf(name)
			var svg struct {
				Role  string `xml:"role,attr"`
				Label string `xml:"aria-label,attr"`
				Paths []struct {
					Class string `xml:"class,attr"`
					D     string `xml:"d,attr"`
				} `xml:"path"`
			}
			require.NoError(t, xml.Unmarshal([]byte(sketch.SVG()), &svg))
			require.Equal(t, "img", svg.Role)
			require.Regexp(t, `^[A-Z].{20,}\.$`, svg.Label)
			arrows := 0
			for _, path := range svg.Paths {
				if path.Class == "sk-measure" {
					arrows++
				}
				for _, point := range regexp.MustCompile(`[ML](\d+(?:\.\d+)?) (\d+(?:\.\d+)?)`).FindAllStringSubmatch(path.D, -1) {
					x, err := strconv.ParseFloat(point[1], 64)
					require.NoError(t, err)
					y, err := strconv.ParseFloat(point[2], 64)
					require.NoError(t, err)
					require.True(t, x >= 0 && x <= 120 && y >= 0 && y <= 80, path.D)
				}
			}
			require.Positive(t, arrows)
		})
	}
}

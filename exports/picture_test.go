package exports

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// pictures names a folder that TestPictures leaves its drawings and workbooks in, to be looked
// at: go test ./exports -run TestPictures -pictures FOLDER.
var pictures = flag.String("pictures", "", "folder to leave drawings and workbooks in")

// chartNamed returns a shipped size chart.
func chartNamed(t testing.TB, name string) garment.SizeChart {
	t.Helper()
	for _, chart := range garment.ShippedCharts() {
		if chart.Name == name {
			return chart
		}
	}
	require.FailNow(t, "no chart", name)
	return garment.SizeChart{}
}

// starterMarker lays garments of a starter style in some sizes of its shipped chart.
func starterMarker(t testing.TB, starter garment.Starter, cloth batch.Cloth, sizes []int, perSize int) (marker.Instance, marker.Result) {
	t.Helper()
	style, chart := starter.Style(nil), chartNamed(t, starter.Chart)
	cloths := map[garment.Role]int64{}
	for _, role := range style.Roles() {
		cloths[role] = cloth.ID
	}
	instance := marker.Instance{Width: cloth.UsableWidth(), Repeat: cloth.Repeat}
	for _, at := range sizes {
		graded, err := style.Grade(chart, chart.SizeNames()[at])
		require.NoError(t, err)
		pieces, err := batch.PiecesOn(graded, batch.Colourway{Cloths: cloths}, cloth, length.Inch/8)
		require.NoError(t, err)
		for _, p := range pieces {
			instance.Pieces = append(instance.Pieces, marker.Piece{
				Name: p.Name, Copies: p.Copies * perSize, Width: p.Width, Length: p.Length, Outline: p.Outline, Turns: p.Turns, MayMirror: p.MayMirror, Match: p.Match,
			})
		}
	}
	result, err := marker.Solve(context.Background(), instance, marker.Params{Seed: 1, Iterations: 300})
	require.NoError(t, err)
	return instance, result
}

func keepPicture(t testing.TB, name string, content []byte) {
	t.Helper()
	if *pictures != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*pictures, name), content, 0o644))
	}
}

// TestPictures draws a marker of every starter style both ways.
func TestPictures(t *testing.T) {
	t.Parallel()
	cloths := []batch.Cloth{
		{ID: 1, Name: "Slate poplin", FullWidth: 44 * length.Inch, Selvage: length.Inch, Nap: batch.NapEitherWay},
		{ID: 2, Name: "Sparrow print", FullWidth: 44 * length.Inch, Selvage: length.Inch, Nap: batch.NapOneWay, Directional: true, Repeat: marker.Repeat{Length: 6 * length.Inch}},
		{ID: 3, Name: "Moss needlecord", FullWidth: 1500 * length.Millimetre, Selvage: 10 * length.Millimetre, Nap: batch.NapUpAndDown},
	}
	for i, starter := range garment.Starters() {
		cloth := cloths[i%len(cloths)]
		if starter.Name == "Circle skirt" {
			cloth = cloths[2]
		}
		instance, result := starterMarker(t, starter, cloth, []int{0, 1, 2}, 1)
		for _, direction := range []Direction{LengthUp, LengthRight} {
			var svg bytes.Buffer
			system := []length.System{length.Imperial, length.Metric}[i%2]
			require.NoError(t, MarkerSVG(&svg, instance, result, Drawing{
				ID: fmt.Sprintf("m%d-%s", i, direction), Title: cloth.Name + ", lay 1: " + starter.Name, Lengths: length.Style{System: system},
				Direction: direction, Nap: cloth.Nap, EndLoss: length.Inch / 2, Cuts: true, Standalone: true,
			}))
			keepPicture(t, fmt.Sprintf("marker-%d-%s.svg", i, direction), svg.Bytes())
		}
	}
}

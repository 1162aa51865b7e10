package server

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/server/page"
)

func TestGoodnessInTheMakersUnits(t *testing.T) {
	t.Parallel()
	eighth := length.Yard / 8
	for _, test := range []struct {
		name          string
		system        length.System
		length, bound length.Length
		want          string
	}{
		{"within a gap", length.Imperial, 29 * eighth, 28 * eighth, "3⅝ yd; no layout of these pieces can use less than 3½ yd (gap 3.6 %)."},
		{"rounded apart", length.Imperial, 29*eighth - 1, 28*eighth + 1, "3⅝ yd; no layout of these pieces can use less than 3½ yd (gap 3.6 %)."},
		{"the shortest", length.Imperial, 28 * eighth, 28 * eighth, "3½ yd; no layout of these pieces can use less (gap 0 %)."},
		{"metric", length.Metric, 2 * length.Metre, 1960 * length.Millimetre, "2.00 m; no layout of these pieces can use less than 1.96 m (gap 2.0 %)."},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			base := page.Base{Units: length.Style{System: test.system}}
			l := lay.Lay{Marker: marker.Result{Marker: marker.Marker{Length: test.length}, Bound: test.bound}}
			require.Equal(t, test.want, goodness(base, l))
		})
	}
}

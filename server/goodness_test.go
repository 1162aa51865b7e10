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
		{"within a gap", length.Imperial, 29 * eighth, 28 * eighth, "3⅝ yd; could be shorter by at most 4½ in (3.6 %)."},
		{"rounded apart", length.Imperial, 29*eighth - 1, 28*eighth + 1, "3⅝ yd; could be shorter by at most 4½ in (3.6 %)."},
		{"the shortest", length.Imperial, 28 * eighth, 28 * eighth, "3½ yd: the shortest possible."},
		{"metric", length.Metric, 2 * length.Metre, 1960 * length.Millimetre, "2.00 m; could be shorter by at most 4.0 cm (2.0 %)."},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			base := page.Base{Units: length.Style{System: test.system}}
			l := lay.Lay{Marker: marker.Result{Marker: marker.Marker{Length: test.length}, Bound: test.bound}}
			require.Equal(t, test.want, goodness(base, l))
		})
	}
}

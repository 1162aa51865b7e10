package length_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
)

func TestBetween(t *testing.T) {
	t.Parallel()
	inches, metric := length.Style{}, length.Style{System: length.Metric}
	for _, test := range []struct {
		name          string
		between       length.Between
		inches, words string
	}{
		{"from nothing", length.Between{Most: 3 * length.Inch}, "between 0 and 3 in", "between 0 and 7.6 cm"},
		{"rounded inwards", length.Between{Least: length.Centimetre, Most: length.Metre}, "between ½ and 39¼ in", "between 1.0 and 100.0 cm"},
		{"from small to cloth", length.Between{Least: length.Centimetre, Most: 10 * length.Metre}, "between ½ in and 10⅞ yd", "between 1.0 cm and 10.00 m"},
		{"as nobody measures to the eighth", length.Between{Most: 10_000 * length.Metre}, "between 0 and 10900 yd", "between 0 and 10000.00 m"},
		{"a hundred metres", length.Between{Most: 100 * length.Metre}, "between 0 and 109 yd", "between 0 and 100.00 m"},
		{"below zero", length.Between{Least: -2 * length.Inch, Most: 2 * length.Inch}, "between −2 and 2 in", "between −5.0 and 5.0 cm"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.inches, test.between.Words(inches))
			require.Equal(t, test.words, test.between.Words(metric))
			require.True(t, test.between.Has(test.between.Least))
			require.True(t, test.between.Has(test.between.Most))
			require.False(t, test.between.Has(test.between.Most+1))
			require.False(t, test.between.Has(test.between.Least-1))
		})
	}
}

// The size in the other system is that of the size that is written and cut, wherever it stands:
// 17.3 in is marked as 17¼ in, which is 43.8 cm (17.3 in would be 43.9 cm).
func TestTheOtherSystemIsThatOfTheSizeShown(t *testing.T) {
	t.Parallel()
	style := length.Style{}
	exact := 173 * length.Inch / 10
	require.Equal(t, "17¼ in (43.8 cm)", style.PieceBoth(exact))
	require.Equal(t, style.OtherPiece(exact.RoundTo(style.Step(), length.Nearest)), style.OtherPiece(exact))
}

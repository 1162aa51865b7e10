package garment_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/garment"
	"yardwright/batch/length"
)

func TestAllowancesHaveARange(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name      string
		allowance garment.Allowance
		refusal   string
	}{
		{"no seam", garment.Allowance{Name: "seam", Label: "Seam allowance", Kind: garment.LengthAllowance}, ""},
		{"a seam below zero", garment.Allowance{Name: "seam", Label: "Seam allowance", Kind: garment.LengthAllowance, Length: -length.Inch}, "Seam allowance must be between 0 and 3 in"},
		{"a hem of 1000 in", garment.Allowance{Name: "hem", Label: "Hem", Kind: garment.LengthAllowance, Length: 1000 * length.Inch}, "Hem must be between 0 and 12 in"},
		{"no fullness", garment.Allowance{Name: "fullness", Label: "Fullness", Kind: garment.NumberAllowance}, "Fullness must be between 1 and 6"},
		{"fullness below zero", garment.Allowance{Name: "fullness", Label: "Fullness", Kind: garment.NumberAllowance, Thousandths: -1000}, "Fullness must be between 1 and 6"},
		{"fullness of 1000", garment.Allowance{Name: "fullness", Label: "Fullness", Kind: garment.NumberAllowance, Thousandths: 1_000_000}, "Fullness must be between 1 and 6"},
		{"a share", garment.Allowance{Name: "length_share", Label: "Share", Kind: garment.NumberAllowance, Thousandths: 20}, "Share must be between 0.05 and 1.2"},
		{"negative ease is for knits", garment.Allowance{Name: "ease", Label: "Ease", Kind: garment.LengthAllowance, Length: -2 * length.Inch}, ""},
		{"one of the maker's own", garment.Allowance{Name: "gusset", Kind: garment.LengthAllowance, Length: 21 * length.Metre}, "gusset must be between −21¾ and 21¾ yd"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.refusal == "", test.allowance.InRange())
			if test.refusal != "" {
				require.Equal(t, test.refusal, test.allowance.Refusal(length.Style{}))
			}
		})
	}
}

// What our starters begin with is within the ranges, and each of their allowances has one of
// its own: nobody falls back on the widest range.
func TestStartersAreWithinTheRanges(t *testing.T) {
	t.Parallel()
	for _, starter := range garment.Starters() {
		for _, on := range []bool{false, true} {
			options := map[string]bool{}
			for _, option := range starter.Options {
				options[option.Name] = on
			}
			for _, a := range starter.Style(options).Allowances {
				require.True(t, a.InRange(), "%s: %s", starter.Name, a.Name)
				require.NotEqual(t, garment.Allowance{Kind: a.Kind}.RangeWords(length.Style{}), a.RangeWords(length.Style{}), "%s: %s", starter.Name, a.Name)
			}
		}
	}
}

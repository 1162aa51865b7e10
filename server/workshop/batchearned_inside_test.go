package workshop

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/costing/money"
)

// Minutes that are noted together sum to what was typed, and each stage is within a step of its share.
func TestMinutesAreSharedOutWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		minutes := money.New(rapid.Int64Range(1, 1e7).Draw(t, "minutes"), rapid.SampledFrom([]int{0, 2}).Draw(t, "places"))
		var stages []StageMinutes
		var sum money.Decimal
		for range rapid.IntRange(1, 6).Draw(t, "stages") {
			stages = append(stages, StageMinutes{Expected: money.New(rapid.Int64Range(1, 1e6).Draw(t, "expected"), 1)})
		}
		parts, err := shareMinutes(minutes, stages)
		require.NoError(t, err)
		expected := 0.0
		for _, stage := range stages {
			expected += stage.Expected.Float64()
		}
		for i, part := range parts {
			require.GreaterOrEqual(t, part.Sign(), 0)
			require.InDelta(t, minutes.Float64()*stages[i].Expected.Float64()/expected, part.Float64(), 1.001)
			sum, err = sum.Add(part)
			require.NoError(t, err)
		}
		require.Equal(t, minutes, sum)
	})
}

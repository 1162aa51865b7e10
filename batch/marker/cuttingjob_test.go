package marker

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCuttingJobsAreRealistic(t *testing.T) {
	t.Parallel()
	few, many := 0, 0
	for seed := range uint64(300) {
		for _, j := range []CuttingJob{{}, {OneWay: true}, {UpAndDown: true}, {StraightCuts: true}, {Faults: true}, {Repeat: true}} {
			j.Seed = seed
			in := j.Instance()
			require.NoError(t, in.Check())
			require.Equal(t, in, j.Instance())
			require.GreaterOrEqual(t, len(in.Pieces), leastJobKinds)
			require.LessOrEqual(t, len(in.Pieces), mostJobKinds)
			require.GreaterOrEqual(t, in.copies(), leastJobCopies)
			require.LessOrEqual(t, in.copies(), mostJobCopies)
			if in.copies() < 50 {
				few++
			} else if in.copies() > 250 {
				many++
			}
		}
	}
	require.Greater(t, few, 100)
	require.Greater(t, many, 100)
}

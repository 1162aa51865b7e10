package ratio_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay/ratio"
)

// The same size twice is two demands that may contradict each other; the field is named.
func TestASizeStandsOnce(t *testing.T) {
	t.Parallel()
	_, _, err := ratio.Read(strings.NewReader(`{"unit":"yd","sizes":["S","M","S"],"demand":[6,10,8],"max_plies":4}`))
	var wrong *ratio.InputError
	require.ErrorAs(t, err, &wrong)
	require.Equal(t, "sizes[2]", wrong.Field)
	require.Contains(t, wrong.Message, `"S" appears twice`)
}

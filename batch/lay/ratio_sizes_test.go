package lay_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// The same size twice is two demands that may contradict each other; the field is named.
func TestASizeStandsOnce(t *testing.T) {
	t.Parallel()
	_, _, err := lay.ReadRatioProblem(strings.NewReader(`{"unit":"yd","sizes":["S","M","S"],"demand":[6,10,8],"max_plies":4}`))
	var wrong *lay.InputError
	require.ErrorAs(t, err, &wrong)
	require.Equal(t, "sizes[2]", wrong.Field)
	require.Contains(t, wrong.Message, `"S" stands twice`)
}

func TestRoomOnTable(t *testing.T) {
	t.Parallel()
	require.Equal(t, 104*length.Inch, lay.RoomOnTable(108*length.Inch, 2*length.Inch))
	require.Negative(t, lay.RoomOnTable(length.Inch, 60*length.Inch))
}

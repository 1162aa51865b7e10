package workshop

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A day that can be meant in two ways is asked about, unless the file itself shows how it means days.
func TestDaysWithSlashes(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name  string
		cells []string
		said  DayOrder
		want  DayOrder
		first string
		asked bool
	}{
		{"nothing tells", []string{"01/02/2027"}, "", "", "2027-02-01", true},
		{"both the same", []string{"03/03/2027"}, "", "", "2027-03-03", false},
		{"another line tells: day first", []string{"01/02/2027", "13/02/2027"}, "", DayFirst, "2027-02-01", false},
		{"another line tells: month first", []string{"01/02/2027", "02/13/2027"}, "", MonthFirst, "2027-01-02", false},
		{"the lines disagree", []string{"01/02/2027", "13/02/2027", "02/13/2027"}, "", "", "2027-02-01", true},
		{"it is said", []string{"01/02/2027"}, MonthFirst, MonthFirst, "2027-01-02", false},
		{"said, though a line can't be meant so", []string{"13/02/2027"}, MonthFirst, MonthFirst, "2027-02-13", false},
		{"letters", []string{"15 Jan 2027"}, "", "", "2027-01-15", false},
		{"points", []string{"1.2.2027"}, "", "", "2027-02-01", false},
		{"no day", []string{"soon"}, "", "", "0001-01-01", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			table := Table{Heading: []string{"due"}}
			for i, cell := range test.cells {
				table.Rows = append(table.Rows, TableRow{Line: i + 2, Cells: []string{cell}})
			}
			choice := ImportChoice{Matching: Matching{"due": 0}, Days: test.said}
			choice.settle(ordersKind, table)
			require.Equal(t, test.want, choice.Days)
			day, other := choice.Days.read(test.cells[0])
			require.Equal(t, test.first, day.Format(time.DateOnly))
			require.Equal(t, test.asked, !other.IsZero())
		})
	}
}

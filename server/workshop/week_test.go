package workshop

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/server/store"
)

func TestBookFillsDaysInOrder(t *testing.T) {
	t.Parallel()
	monday := time.Date(2030, 1, 7, 0, 0, 0, 0, time.UTC)
	calendar := batch.Calendar{Minutes: [7]int{0, 60, 60, 60, 60, 60, 0}, Off: []time.Time{monday.AddDate(0, 0, 2)}}
	load := book(calendar, monday, 7, []store.PlannedWork{
		{StartsOn: monday.AddDate(0, 0, -3), Worked: 90 * time.Minute}, // Friday held 60 of them
		{StartsOn: monday, Worked: 60 * time.Minute},
		{StartsOn: monday.AddDate(0, 0, 4), Worked: 150 * time.Minute},
	})
	var booked []int
	for _, day := range load.Days {
		booked = append(booked, int(day.Booked/time.Minute))
	}
	require.Equal(t, []int{60, 30, 0, 0, 60, 0, 0}, booked)
	require.Equal(t, 150*time.Minute, load.Booked)
	require.Equal(t, 240*time.Minute, load.There)
	require.Equal(t, 90*time.Minute, load.Beyond)
	require.Equal(t, monday.AddDate(0, 0, 1), load.FreeOn)

	never := book(batch.Calendar{}, monday, 7, []store.PlannedWork{{StartsOn: monday, Worked: time.Hour}})
	require.Equal(t, time.Hour, never.Beyond)
	require.True(t, never.FreeOn.IsZero())
}

// No day takes more than it has, and no work is lost.
func TestBookLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		today := time.Date(2030, 1, 7, 0, 0, 0, 0, time.UTC)
		var calendar batch.Calendar
		for i := range calendar.Minutes {
			calendar.Minutes[i] = rapid.IntRange(0, 600).Draw(t, "minutes")
		}
		var work []store.PlannedWork
		total := time.Duration(0)
		for range rapid.IntRange(0, 6).Draw(t, "batches") {
			b := store.PlannedWork{StartsOn: today.AddDate(0, 0, rapid.IntRange(0, 20).Draw(t, "start")), Worked: time.Duration(rapid.IntRange(0, 5000).Draw(t, "work")) * time.Minute}
			work, total = append(work, b), total+b.Worked
		}
		load := book(calendar, today, 7, work)
		for _, day := range load.Days {
			require.LessOrEqual(t, day.Booked, day.There)
		}
		require.Equal(t, total, load.Booked+load.Beyond)
	})
}

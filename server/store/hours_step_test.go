package store

import (
	"io/fs"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"yardwright/migrations"
	"yardwright/server/privatepg/pgtest"
)

// Productive hours that were entered before hours had one source are kept, as a share of the minutes
// of the week; a workshop that had named no day gets the days and hours of its year. This test changes
// the steps, so it runs before those that run side by side.
func TestHoursComeThroughTheirStep(t *testing.T) { //nolint:paralleltest // see above
	ctx := t.Context()
	entries, err := fs.ReadDir(migrations.Files, ".")
	require.NoError(t, err)
	earlier := fstest.MapFS{}
	for _, entry := range entries {
		if entry.Name() < "0018" {
			content, err := fs.ReadFile(migrations.Files, entry.Name())
			require.NoError(t, err)
			earlier[entry.Name()] = &fstest.MapFile{Data: content}
		}
	}
	before := steps
	t.Cleanup(func() { steps = before })
	steps = earlier
	pool, err := Open(ctx, pgtest.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	require.NoError(t, Migrate(ctx, pool))
	_, err = pool.Exec(ctx, `INSERT INTO workshops (name, day_minutes, productive_hours) VALUES
		('Room', '{0,600,600,600,600,540,240}', 1450), ('No days', '{0,0,0,0,0,0,0}', 1000), ('More than there are', '{0,60,0,0,0,0,0}', 1000)`)
	require.NoError(t, err)
	_, err = pool.Exec(ctx, `INSERT INTO cost_settings (workshop_id, year_hours, year_people) SELECT id, 6, 2 FROM workshops`)
	require.NoError(t, err)
	steps = before
	require.NoError(t, Migrate(ctx, pool))

	s := New(pool)
	read := func(name string) Workshop {
		id, err := scalar[int64](ctx, pool, `SELECT id FROM workshops WHERE name = @name`, args{"name": name})
		require.NoError(t, err)
		w, err := s.Workshop(ctx, id)
		require.NoError(t, err)
		return w
	}
	room := read("Room")
	require.Equal(t, "2438", room.HoursWorked.String(), "53 h in each of 46 weeks")
	require.InDelta(t, 1450, room.ProductiveHours.Float64(), 0.2, "to a ten-thousandth of the hours")
	require.Equal(t, []int{0, 720, 720, 720, 720, 720, 0}, read("No days").DayMinutes, "6 h a day for two")
	require.Equal(t, "46", read("More than there are").ProductiveHours.String(), "all hours that are worked")
}

package store

import (
	"bytes"
	"context"
	"io"
	"io/fs"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"yardwright/migrations"
	"yardwright/server/privatepg/pgtest"
)

// An archive that was written before the schema took a further step is brought up to date by that
// very step, and is then read in. This test changes the steps, so it runs before those that
// run side by side.
func TestAnOlderArchiveIsBroughtUpToDate(t *testing.T) { //nolint:paralleltest // see above
	ctx := t.Context()
	old, err := Open(ctx, pgtest.URL(t))
	require.NoError(t, err)
	t.Cleanup(old.Close)
	require.NoError(t, Migrate(ctx, old))
	s := New(old)
	id, err := s.AddWorkshop(ctx, "Older room")
	require.NoError(t, err)
	_, err = old.Exec(ctx, `INSERT INTO cloths (workshop_id, name, full_width, price) VALUES ($1, 'Poplin', 8128000, 1), ($1, 'Drill', 8128000, 2)`, id)
	require.NoError(t, err)
	version, files := archived(ctx, t, s, id)

	later := fstest.MapFS{"9000_colour.sql": {Data: []byte(`-- +goose Up
ALTER TABLE cloths ADD colour text;
UPDATE cloths SET colour = 'of ' || name;
ALTER TABLE cloths ALTER colour SET NOT NULL;
CREATE TABLE dyes (cloth_id bigint PRIMARY KEY REFERENCES cloths ON DELETE CASCADE);
INSERT INTO dyes SELECT id FROM cloths;
`)}}
	entries, err := fs.ReadDir(migrations.Files, ".")
	require.NoError(t, err)
	for _, entry := range entries {
		content, err := fs.ReadFile(migrations.Files, entry.Name())
		require.NoError(t, err)
		later[entry.Name()] = &fstest.MapFile{Data: content}
	}
	before := steps
	steps = later
	t.Cleanup(func() { steps = before })
	now, err := Open(ctx, pgtest.URL(t))
	require.NoError(t, err)
	t.Cleanup(now.Close)
	require.NoError(t, Migrate(ctx, now))
	fresh := New(now)
	target, err := fresh.AddWorkshop(ctx, "Newer room")
	require.NoError(t, err)

	var upgraded map[string]string
	bring := func(files map[string]string) error {
		return fresh.InOlderSchema(ctx, version, func(older *Store, workshop int64, update func() (*Store, error)) error {
			if err := older.FillFromArchive(ctx, workshop, sourceOf(files), func(*Store) error { return nil }); err != nil {
				return err
			}
			updated, err := update()
			if err != nil {
				return err
			}
			_, upgraded = archived(ctx, t, updated, workshop)
			return nil
		})
	}
	require.NoError(t, bring(files))
	require.NoError(t, fresh.FillFromArchive(ctx, target, sourceOf(upgraded), func(*Store) error { return nil }))
	var colours, dyes int
	require.NoError(t, now.QueryRow(ctx, `SELECT (SELECT count(*) FROM cloths WHERE colour = 'of ' || name AND workshop_id = $1), (SELECT count(*) FROM dyes)`, target).Scan(&colours, &dyes))
	require.Equal(t, [2]int{2, 2}, [2]int{colours, dyes})

	// What is wrong with it is said by line, and nothing is left over.
	files["cloths"] += "{}\n"
	err = bring(files)
	var fault *Fault
	require.ErrorAs(t, err, &fault)
	require.Equal(t, "cloths, line 3", fault.Problems[0].Field)
	require.ErrorIs(t, fresh.InOlderSchema(ctx, 8999, nil), fs.ErrNotExist)
	var left int
	require.NoError(t, now.QueryRow(ctx, `SELECT count(*) FROM pg_namespace WHERE nspname = $1`, olderSchema).Scan(&left))
	require.Zero(t, left)
}

func archived(ctx context.Context, t *testing.T, s *Store, workshop int64) (version int64, files map[string]string) {
	t.Helper()
	buffers := map[string]*bytes.Buffer{}
	require.NoError(t, s.WriteArchive(ctx, workshop, func(v int64) { version = v }, func(table ArchiveTable) (io.Writer, error) {
		buffers[table.Name] = &bytes.Buffer{}
		return buffers[table.Name], nil
	}))
	files = map[string]string{}
	for name, buffer := range buffers {
		files[name] = buffer.String()
	}
	return version, files
}

func sourceOf(files map[string]string) ArchiveSource {
	return ArchiveSource{
		Tables: sortedKeys(files), File: func(table string) string { return table },
		Open: func(table string) (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewBufferString(files[table])), nil
		},
	}
}

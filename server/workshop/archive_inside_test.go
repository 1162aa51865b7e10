package workshop

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
	"yardwright/server/job"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
)

// notNumbers are the whole numbers inside JSON columns that don't number a row of a table, by
// table, column and path.
var notNumbers = map[string]bool{
	// Which garment of a run takes the minutes of the steps.
	"cost_snapshots.sheets.[].sheet.inputs.learning.at": true, "cost_snapshots.sheets.[].costs.Garments.[].Sheet.inputs.learning.at": true, "cost_snapshots.sheets.[].costs.Garments.[].Standard.inputs.learning.at": true,
	// How full a panel is gathered, and how many more would fit.
	"batch_plans.plan.Fits.[].Fullness": true, "batch_plans.plan.Fits.[].Options.[].Fullness": true, "batch_plans.plan.Fits.[].Panels.[].Next": true,
	// What pieces are worth to the search for a marker.
	"batch_plans.plan.Cloths.[].Plan.Lays.[].Instance.Pieces.[].Value": true,
	"batch_plans.plan.Cloths.[].Plan.Lays.[].Marker.Value":             true,
	"batch_plans.plan.Cloths.[].Plan.Lays.[].Marker.ValueBound":        true,
}

// Every whole number inside what a JSON column holds is either known to number a row of a table
// or known not to: otherwise an archive would carry numbers of rows that mean something else
// where it is read.
func TestNumbersOfRowsInsideJSONAreKnown(t *testing.T) {
	t.Parallel()
	known := store.ArchiveNumbers()
	for at, reader := range jsonReaders {
		value := reflect.TypeOf(reader()).Elem()
		found := map[string]bool{}
		if value == reflect.TypeOf(keptSheets{}) {
			wholeNumbers(reflect.TypeOf(keptSheets{}.prices), nil, nil, found)
			wholeNumbers(reflect.TypeOf(keptSheets{}.costs), nil, nil, found)
		} else {
			wholeNumbers(value, nil, nil, found)
		}
		var paths []string
		for path := range found {
			if !notNumbers[at+"."+path] {
				paths = append(paths, path)
			}
		}
		slices.Sort(paths)
		listed := slices.Clone(known[at])
		slices.Sort(listed)
		require.Equal(t, listed, paths, "%s: name new numbers in jsonIDs of package store, or in notNumbers here", at)
	}
}

// wholeNumbers collects the paths of plain int64 values as JSON writes them.
func wholeNumbers(of reflect.Type, path []string, above []reflect.Type, found map[string]bool) {
	if slices.Contains(above, of) || of == reflect.TypeOf(time.Time{}) || of == reflect.TypeOf(money.Decimal{}) {
		return
	}
	above = append(above, of)
	switch of.Kind() {
	case reflect.Pointer:
		wholeNumbers(of.Elem(), path, above, found)
	case reflect.Slice, reflect.Array:
		wholeNumbers(of.Elem(), append(slices.Clone(path), "[]"), above, found)
	case reflect.Map:
		wholeNumbers(of.Elem(), append(slices.Clone(path), "{}"), above, found)
		wholeNumbers(of.Key(), append(slices.Clone(path), "{key}"), above, found)
	case reflect.Struct:
		for i := range of.NumField() {
			field := of.Field(i)
			name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
			switch {
			case name == "-" || !field.IsExported():
				continue
			case field.Anonymous && name == "":
				wholeNumbers(field.Type, path, above, found)
				continue
			case name == "":
				name = field.Name
			}
			wholeNumbers(field.Type, append(slices.Clone(path), name), above, found)
		}
	case reflect.Int64:
		if of.PkgPath() == "" {
			found[strings.Join(path, ".")] = true
		}
	}
}

var schemaTemplate = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error {
	if err := store.Migrate(ctx, pool); err != nil {
		return err
	}
	return job.Migrate(ctx, pool)
})

// forgotten lists the tables of a database that an archive neither takes along, with words for
// its README, nor leaves out for a reason, and the JSON columns that nobody tries to read.
func forgotten(t *testing.T, pool *pgxpool.Pool, workshop int64) (left []string) {
	t.Helper()
	s := New(store.New(pool), time.Now, slog.New(slog.DiscardHandler))
	taken := map[string]bool{}
	err := s.store.WriteArchive(t.Context(), workshop, func(int64) {}, func(table store.ArchiveTable) (w io.Writer, err error) {
		taken[table.Name] = true
		if tableWords[table.Name] == "" {
			left = append(left, table.Name)
		}
		for _, c := range table.Columns {
			if at := table.Name + "." + c.Name; c.Type == "jsonb" && jsonReaders[at] == nil {
				left = append(left, at)
			}
		}
		return io.Discard, nil
	})
	require.NoError(t, err)
	rows, err := pool.Query(t.Context(), `SELECT tablename::text FROM pg_tables WHERE schemaname = current_schema() ORDER BY 1`)
	require.NoError(t, err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	require.Greater(t, len(tables), 40)
	for _, table := range tables {
		if taken[table] == (store.LeftOut(table) != "") {
			left = append(left, table)
		}
	}
	return left
}

// A table that is added is taken along or left out, and somebody has said which.
func TestNoTableIsForgotten(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	pool, err := store.Open(ctx, schemaTemplate.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	s := New(store.New(pool), time.Now, slog.New(slog.DiscardHandler))
	w, err := s.Open(ctx)
	require.NoError(t, err)
	require.Empty(t, forgotten(t, pool, w.ID), "say in tableWords what is in it, and in jsonReaders how JSON is read; or in leftOutTables of package store why it stays behind")

	// It is noticed.
	_, err = pool.Exec(ctx, `CREATE TABLE extra_things (id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, cloth_id bigint NOT NULL REFERENCES cloths ON DELETE CASCADE, what jsonb)`)
	require.NoError(t, err)
	require.Equal(t, []string{"extra_things", "extra_things.what"}, forgotten(t, pool, w.ID))
	_, err = pool.Exec(ctx, `CREATE TABLE lost_things (id bigint PRIMARY KEY)`)
	require.NoError(t, err)
	require.ErrorContains(t, s.ExportArchive(ctx, &bytes.Buffer{}, w.ID), "lost_things belongs to no workshop")
}

package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"os"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/server/job"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
	"yardwright/testdata/demo"
)

// DemoDay is a fixed Wednesday, so that nothing depends on when the tests run.
func DemoDay() time.Time { return time.Date(2030, 5, 15, 13, 30, 0, 0, time.UTC) }

// DemoTemplate holds the demo workshop.
var DemoTemplate = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error {
	if err := errors.Join(store.Migrate(ctx, pool), job.Migrate(ctx, pool)); err != nil {
		return err
	}
	known, err := store.Open(ctx, pool.Config().ConnString())
	if err != nil {
		return err
	}
	defer known.Close()
	_, err = New(store.New(known), DemoDay, slog.New(slog.DiscardHandler)).LoadDemo(ctx, demo.Files)
	return err
})

// The batch that `make bench-lay` plans without a database is the demo's. Written anew with
// UPDATE_DEMO_BATCH=1.
func TestTheMeasuredDemoBatchIsTheDemos(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	pool, err := store.Open(ctx, DemoTemplate.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	s := New(store.New(pool), DemoDay, slog.New(slog.DiscardHandler))
	w, err := s.Open(ctx)
	require.NoError(t, err)
	open, err := s.OpenLines(ctx, w.ID)
	require.NoError(t, err)
	var orders []int64
	for _, line := range open {
		orders = append(orders, line.OrderID)
	}
	id, err := s.MakeBatch(ctx, w.ID, BatchDraft{Name: "Osier Green run", Orders: orders})
	require.NoError(t, err)
	in, err := s.planInput(ctx, w.ID, id)
	require.NoError(t, err)
	got, err := json.MarshalIndent(in, "", " ")
	require.NoError(t, err)
	const file = "../../testdata/lay/demo-batch.json"
	if os.Getenv("UPDATE_DEMO_BATCH") != "" {
		require.NoError(t, os.WriteFile(file, append(got, '\n'), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.JSONEq(t, string(want), string(got))
}

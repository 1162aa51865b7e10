package workshop_test

import (
	"context"
	"log/slog"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/migrations"
	"yardwright/server/job"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
	"yardwright/server/workshop"
	"yardwright/testdata/demo"
)

var template = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error {
	db := stdlib.OpenDBFromPool(pool)
	provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files)
	if err != nil {
		return err
	}
	if _, err := provider.Up(ctx); err != nil {
		return err
	}
	if err := db.Close(); err != nil {
		return err
	}
	return job.Migrate(ctx, pool)
})

func setup(t *testing.T) *workshop.Service {
	t.Helper()
	pool, err := store.Open(t.Context(), template.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	return workshop.New(store.New(pool), time.Now, slog.New(slog.DiscardHandler))
}

func TestDemoLoadsAndPlans(t *testing.T) {
	s := setup(t)
	ctx := t.Context()
	made, err := s.LoadDemo(ctx, demo.Files)
	require.NoError(t, err)
	require.Equal(t, 20, made.Imported.Orders)
	require.Equal(t, 120, made.Imported.Garments)
	orders, err := s.Orders(ctx, made.Workshop, "open", 1000)
	require.NoError(t, err)
	var ids []int64
	for _, o := range orders {
		ids = append(ids, o.ID)
	}
	id, err := s.MakeBatch(ctx, made.Workshop, workshop.BatchDraft{Name: made.BatchName, Orders: ids})
	require.NoError(t, err)
	began := time.Now()
	plan, err := s.PlanNow(ctx, made.Workshop, id, 1)
	require.NoError(t, err)
	t.Log(time.Since(began), plan.Summary(), "uncut", len(plan.Uncut), "done", plan.DoneBy, plan.Worked)
	for _, c := range plan.Cloths {
		t.Log(c.Cloth.Name, len(c.Plan.Lays), c.Plan.LengthUsed.In(length.Yards), c.Plan.Purchases)
	}
	ways, err := s.Colourways(ctx, made.Workshop)
	require.NoError(t, err)
	for _, w := range ways {
		began := time.Now()
		p, err := s.PriceStyle(ctx, made.Workshop, w.ID, costing.Change{})
		require.NoError(t, err)
		t.Log(time.Since(began), w.StyleName, w.Name)
		for i, size := range p.Sizes {
			q := p.Pricings[i].Quotes
			t.Log(size, p.Pricings[i].Sheet.Total, q[0].Price, q[1].Price, q[2].Price, q[0].Sale.Hourly)
		}
	}
}

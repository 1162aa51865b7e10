package server_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/costing"
	"yardwright/server"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// counter counts the statements that reach the database.
type counter struct{ asked atomic.Int64 }

func (c *counter) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	c.asked.Add(1)
	return ctx
}

func (c *counter) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// Queries that are sent together, in one round trip, count as one.
func (c *counter) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	c.asked.Add(1)
	return ctx
}

func (c *counter) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

func (c *counter) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

// mostQueries is how many statements a page may take, those that find out who is there
// included.
const mostQueries = 12

func TestNoPageAsksTheDatabaseTooOften(t *testing.T) {
	t.Parallel()
	s := owner(t, servePlanned(t))
	count := &counter{}
	config := s.pool.Config()
	config.ConnConfig.Tracer = count
	pool, err := pgxpool.NewWithConfig(t.Context(), config)
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	pages, err := server.New(workshop.New(store.New(pool), time.Now, slog.New(slog.DiscardHandler)), s.id, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	counted := httptest.NewServer(pages.Handler())
	t.Cleanup(counted.Close)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	traced := s
	traced.Server, traced.client = counted, &http.Client{Jar: jar}
	traced.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}}, http.StatusOK)
	// Costing markers are laid by a job, before a page shows them.
	_, err = s.service.PriceLine(workshop.AtOnce(t.Context()), s.id, costing.Change{})
	require.NoError(t, err)
	tried := 0
	var tooMany []string
	count.asked.Store(0)
	traced.follow(t, func(path, _ string) {
		asked := count.asked.Swap(0)
		if strings.Contains(path, ".") {
			return
		}
		require.Positive(t, asked, path)
		if asked > mostQueries {
			tooMany = append(tooMany, fmt.Sprintf("%s: %d", path, asked))
		}
		tried++
	})
	require.Greater(t, tried, 60)
	require.Empty(t, tooMany)
}

// fillWorkshop makes 10,000 orders of three lines and 500 batches, 40 of them not done, out of
// what the demo has.
func fillWorkshop(b *testing.B, pool *pgxpool.Pool) {
	b.Helper()
	for _, statement := range []string{
		`INSERT INTO orders (workshop_id, customer_id, number, taken_on, due_on, state)
			SELECT c.workshop_id, c.id, 'L-' || n, current_date - 400 + n / 25, current_date - 380 + n / 25, CASE WHEN n < 9200 THEN 'delivered' WHEN n < 9800 THEN 'in a batch' ELSE 'open' END
			FROM generate_series(1, 10000) n JOIN LATERAL (SELECT * FROM customers ORDER BY (id * 7919 + n) % 101 LIMIT 1) c ON true`,
		`INSERT INTO order_lines (order_id, colourway_id, size, quantity)
			SELECT o.id, w.id, z.name, 1 + o.id % 5 FROM orders o CROSS JOIN LATERAL (SELECT w.id, s.chart_id FROM colourways w JOIN styles s ON s.id = w.style_id ORDER BY (w.id + o.id) % 13 LIMIT 1) w
			CROSS JOIN LATERAL (SELECT name FROM sizes WHERE chart_id = w.chart_id ORDER BY position LIMIT 3) z WHERE o.number LIKE 'L-%'`,
		`INSERT INTO batches (workshop_id, name, starts_on, state) SELECT w.id, 'Load ' || n, current_date - 500 + n, 'draft' FROM workshops w, generate_series(1, 500) n`,
		`INSERT INTO batch_lines (batch_id, order_line_id) SELECT b.id, l.id FROM (SELECT id, row_number() OVER (ORDER BY id) n FROM batches WHERE name LIKE 'Load %') b
			JOIN (SELECT l.id, row_number() OVER (ORDER BY o.id) n FROM order_lines l JOIN orders o ON o.id = l.order_id WHERE o.number LIKE 'L-%' AND o.state <> 'open') l ON b.n = 1 + l.n % 500`,
		`INSERT INTO batch_plans (batch_id, state, plan, finished_at, share) SELECT b.id, 'planned', p.plan, now(), 1 FROM batches b, (SELECT plan FROM batch_plans WHERE plan IS NOT NULL LIMIT 1) p WHERE b.name LIKE 'Load %'`,
		`UPDATE batches b SET state = 'done', released_at = now(), plan_id = (SELECT max(p.id) FROM batch_plans p WHERE p.batch_id = b.id) WHERE name LIKE 'Load %' AND starts_on < current_date - 40`,
		`VACUUM ANALYZE`,
	} {
		_, err := pool.Exec(b.Context(), statement)
		require.NoError(b, err, statement)
	}
}

// BenchmarkTwentyPeople has 20 people look at lists and details at once, and reports the time
// within which 95 of 100 pages came. Each looks at a page, then reads it for half a second.
func BenchmarkTwentyPeople(b *testing.B) {
	s := ownedForBenchmark(b)
	var order, batch, style, price int64
	for query, into := range map[string]*int64{
		`SELECT max(id) FROM orders`: &order, `SELECT max(id) FROM batches`: &batch, `SELECT min(id) FROM styles`: &style, `SELECT min(id) FROM colourways`: &price,
	} {
		require.NoError(b, s.pool.QueryRow(b.Context(), query).Scan(into))
	}
	paths := []string{
		"/", "/orders", "/orders?state=&page=100", "/orders?state=&q=Puddle", "/orders?state=delivered", fmt.Sprintf("/orders/%d", order), "/batches", fmt.Sprintf("/batches/%d", batch),
		"/styles", fmt.Sprintf("/styles/%d", style), "/shelf", "/prices", fmt.Sprintf("/prices/%d", price), "/workshop",
	}
	for _, path := range paths { // what is computed once is computed now
		s.fetch(b, path)
	}
	for _, path := range append([]string{"all pages"}, paths...) {
		b.Run(strings.ReplaceAll(path, "/", "_"), func(b *testing.B) {
			var mu sync.Mutex
			var times []time.Duration
			for b.Loop() {
				var wait sync.WaitGroup
				for person := range 20 {
					wait.Go(func() {
						time.Sleep(time.Duration(person) * reading / 20)
						for round := range 4 {
							at := path
							if path == "all pages" {
								at = paths[(person*5+round*3)%len(paths)]
							}
							began := time.Now()
							s.fetch(b, at)
							took := time.Since(began)
							mu.Lock()
							times = append(times, took)
							mu.Unlock()
							time.Sleep(reading)
						}
					})
				}
				wait.Wait()
			}
			slices.Sort(times)
			b.ReportMetric(float64(times[len(times)*95/100].Microseconds())/1000, "p95-ms")
			b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "p50-ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// reading is how long a person looks at a page before asking for the next.
const reading = 500 * time.Millisecond

func (s site) fetch(b *testing.B, path string) {
	response, err := s.browser().Get(s.URL + path)
	if err != nil {
		b.Error(path, err)
		return
	}
	defer func() { _ = response.Body.Close() }() // only read from
	if _, err := io.Copy(io.Discard, response.Body); err != nil || response.StatusCode != http.StatusOK {
		b.Error(path, response.StatusCode, err)
	}
}

// ownedForBenchmark is the demo filled up, with its owner signed in.
func ownedForBenchmark(b *testing.B) site {
	b.Helper()
	ctx := b.Context()
	pool, err := store.Open(ctx, planned.URL(b))
	require.NoError(b, err)
	b.Cleanup(pool.Close)
	service := workshop.New(store.New(pool), time.Now, slog.New(slog.DiscardHandler))
	w, err := service.FirstWorkshop(ctx)
	require.NoError(b, err)
	fillWorkshop(b, pool)
	pages, err := server.New(service, w.ID, slog.New(slog.DiscardHandler))
	require.NoError(b, err)
	jar, err := cookiejar.New(nil)
	require.NoError(b, err)
	s := site{Server: httptest.NewServer(pages.Handler()), service: service, id: w.ID, pool: pool}
	b.Cleanup(s.Close)
	s.client = &http.Client{Jar: jar, Transport: &http.Transport{MaxIdleConnsPerHost: 20}}
	response, err := s.client.PostForm(s.URL+"/people/first", url.Values{"owner_name": {"Marlo"}, "password": {ownersPassword}})
	require.NoError(b, err)
	require.NoError(b, response.Body.Close())
	require.Equal(b, http.StatusOK, response.StatusCode)
	return s
}

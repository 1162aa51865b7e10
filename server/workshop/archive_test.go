package workshop_test

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io"
	"log/slog"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// emptyTemplate is a database with a new workshop.
var emptyTemplate = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error {
	if err := store.Migrate(ctx, pool); err != nil {
		return err
	}
	known, err := store.Open(ctx, pool.Config().ConnString())
	if err != nil {
		return err
	}
	defer known.Close()
	_, err = workshop.New(store.New(known), today, slog.New(slog.DiscardHandler)).Open(ctx)
	return err
})

func emptyWorkshop(t *testing.T) bundle {
	t.Helper()
	pool, err := store.Open(t.Context(), emptyTemplate.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	s := workshop.New(store.New(pool), func() time.Time { return today().Add(time.Hour) }, slog.New(slog.DiscardHandler))
	w, err := s.Open(t.Context())
	require.NoError(t, err)
	return bundle{s, belowOf(pool), pool, w.ID}
}

// busyShop is the demo with a batch that is being cut, one that is done and one in draft, and
// with something in every table that an archive takes along.
func busyShop(t *testing.T) (context.Context, *shopOf) {
	t.Helper()
	ctx, shop := smallShop(t, 9*length.Yard, 9*length.Yard)
	must := func(err error) { t.Helper(); require.NoError(t, err) }
	done, plan, made := shop.planned(ctx, t, 14)
	must(shop.release(ctx, done, plan))
	lays, err := shop.BatchLays(ctx, shop.id, done)
	must(err)
	// Cut, undone, and cut again: the history of the bolt has it all.
	must(shop.CutLay(ctx, shop.id, done, lays[0].ID, asPlanned(lays[0], 12*length.Inch)))
	must(shop.UndoCut(ctx, shop.id, done, lays[0].ID))
	for i := range lays {
		now, err := shop.BatchLays(ctx, shop.id, done)
		must(err)
		must(shop.CutLay(ctx, shop.id, done, now[i].ID, asPlanned(now[i], 12*length.Inch)))
	}
	must(shop.TakeNotion(ctx, shop.id, done, shop.cord))
	var numbers []int
	for _, b := range made.Bundles {
		numbers = append(numbers, b.Number)
	}
	_, err = shop.SewBundles(ctx, shop.id, done, numbers)
	must(err)
	state, _ := shop.state(ctx, t, done)
	require.Equal(t, "done", state)
	must(shop.KeepBatchCosts(ctx, shop.id, done))

	being, plan, _ := shop.planned(ctx, t, 14)
	must(shop.release(ctx, being, plan))
	lays, err = shop.BatchLays(ctx, shop.id, being)
	must(err)
	must(shop.CutLay(ctx, shop.id, being, lays[0].ID, asPlanned(lays[0], 12*length.Inch)))
	draft, _, _ := shop.planned(ctx, t, 3)
	held, _, _ := shop.planned(ctx, t, 2)
	_, plan2, err := shop.HeldPlan(ctx, shop.id, held)
	must(err)
	require.NotNil(t, plan2)
	number, _, err := shop.HeldPlan(ctx, shop.id, held)
	must(err)
	must(shop.release(ctx, held, number))

	// A plan of a batch that has lost an order since speaks of a line that is gone.
	orders, err := shop.BatchOrders(ctx, shop.id, draft)
	must(err)
	lost, err := shop.TakeOrder(ctx, shop.id, workshop.OrderDraft{Customer: shop.customer, Number: "LOST", DueOn: today().AddDate(0, 1, 0), Lines: []workshop.LineDraft{{Colourway: shop.way, Size: "medium", Quantity: 2}}})
	must(err)
	gone, err := shop.MakeBatch(ctx, shop.id, workshop.BatchDraft{Name: "Run with a lost order", Orders: []int64{lost}})
	must(err)
	shop.plan(ctx, t, gone)
	row, err := shop.Batch(ctx, shop.id, gone)
	must(err)
	must(shop.TakeOrderOut(ctx, shop.id, gone, row.Version, lost))
	_, err = shop.pool.Exec(ctx, `DELETE FROM orders WHERE id = $1`, lost)
	must(err)

	channels, err := shop.Channels(ctx, shop.id)
	must(err)
	_, err = shop.IssuePriceList(ctx, shop.id, channels[0].ID, []int64{shop.way})
	must(err)
	_, err = shop.IssueCosts(ctx, shop.id, shop.way, costing.Change{})
	must(err)
	must(shop.SetTypedPrices(ctx, shop.id, shop.style, shop.way, store.ContentVersion[store.TypedPrice](nil), []store.TypedPrice{
		{ChannelID: channels[0].ID, Price: money.Int(60)}, {ChannelID: channels[0].ID, ColourwayID: &shop.way, Size: "medium", Price: money.MustParse("61.5")},
	}))
	must(shop.AddDayOff(ctx, shop.id, today()))
	_, err = shop.pool.Exec(ctx, `INSERT INTO payments (order_id, paid_on, amount, how) VALUES ($1, '2030-05-01', 12.50, 'cash')`, orders[0].ID)
	must(err)
	must(shop.SetYearCosts(ctx, shop.id, []store.YearCost{{Name: "Rent, “heated” rooms ☕ \\ <b>", Amount: money.MustParse("1200.000001"), Years: money.Int(1), Share: money.MustParse("0.5")}}))
	bolt := shop.bolts(ctx, t)[0]
	must(shop.SetBoltCosts(ctx, shop.id, []store.BoltCost{{BoltID: bolt.ID, Worth: ptr(money.MustParse("1.25"))}}))
	must(shop.SetStyleCosts(ctx, shop.id, shop.style, store.StyleCosts{OnePrice: "every size pays", YearSales: 40, Learning: store.LearningOff, LearningRate: money.MustParse("0.9"), TimedGarment: 1}))
	three := 3
	must(shop.ChangeStyleSizes(ctx, shop.id, shop.style, "", []store.StyleSize{{StyleID: shop.style, Size: "98", Offered: true, Share: &three}, {StyleID: shop.style, Size: "104"}}))
	style, err := shop.Style(ctx, shop.id, shop.style)
	must(err)
	must(shop.SaveSeams(ctx, shop.id, style, []store.Seam{{Name: "side", Class: "301", Length: "20*inch", Count: 2, Ratio: money.MustParse("2.5")}}))
	_, err = shop.pool.Exec(ctx, `INSERT INTO bolt_faults (bolt_id, from_length, to_length, from_width, to_width, note) VALUES ($1, 10, 20, 0, 10, 'a "knot"; =1+1')`, bolt.ID)
	must(err)
	charts, err := shop.Charts(ctx, shop.id)
	must(err)
	table := map[string]garment.Cut{}
	for _, size := range charts[0].Sizes {
		table[size.Name] = garment.Cut{Width: 8000, Length: 9000}
	}
	_, err = shop.AddStyle(ctx, shop.id, store.Style{ChartID: charts[0].ID, Style: garment.Style{Name: "From a table", Wearer: garment.Adult, Pieces: []garment.Piece{{
		Name: "square", Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Grain: garment.AnyGrain, Table: table,
	}, {
		Name: "pear", Role: garment.Body, Copies: 1, Shape: garment.Outlined, Grain: garment.AnyGrain, Seam: 80000,
		Drawn: map[string][]garment.Point{"": {{X: 0, Y: 0}, {X: 800000, Y: 0}, {X: 0, Y: 900000}}},
	}}}})
	must(err)
	_, err = shop.pool.Exec(ctx, `UPDATE styles SET note = E'two lines:\n\ttab, "quotes", \\ and é' WHERE id = $1`, shop.style)
	must(err)
	_, err = shop.pool.Exec(ctx, `INSERT INTO style_expenses (style_id, position, name, amount, paid_for, colourway_id) VALUES ($1, 0, 'licence', 1.5, 'each garment', $2)`, shop.style, shop.way)
	must(err)
	_, err = shop.pool.Exec(ctx, `INSERT INTO batch_expenses (batch_id, position, name, amount) VALUES ($1, 0, 'parking', 4)`, done)
	must(err)
	_, err = shop.pool.Exec(ctx, `INSERT INTO batch_minutes (batch_id, worked_on, stage, minutes) VALUES ($1, '2030-05-03', 'sew', 42.25)`, done)
	must(err)
	form, err := json.Marshal(store.FormContent{Title: "Spring", Items: []store.FormItem{{Colourway: shop.way}, {Colourway: 1 << 30}}})
	must(err)
	_, err = shop.pool.Exec(ctx, `INSERT INTO order_forms (workshop_id, number, customer_id, issued_on, form) VALUES ($1, 'F-1', $2, '2030-05-03', $3)`, shop.id, shop.customer, form)
	must(err)
	_, err = shop.pool.Exec(ctx, `UPDATE orders SET order_form_id = (SELECT min(id) FROM order_forms) WHERE number = 'T-1'`)
	must(err)
	study, err := json.Marshal(costing.Study{})
	must(err)
	_, err = shop.pool.Exec(ctx, `INSERT INTO time_studies (style_id, operation, watched_on, study) VALUES ($1, 'sew', '2030-05-02', $2)`, shop.style, study)
	must(err)
	return ctx, shop
}

func ptr[T any](v T) *T { return &v }

func exported(t *testing.T, b bundle) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, b.ExportArchive(t.Context(), &out, b.id))
	return out.Bytes()
}

// unpack reads a zip; its files by name.
func unpack(t *testing.T, content []byte) map[string]string {
	t.Helper()
	zipped, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	require.NoError(t, err)
	files := map[string]string{}
	for _, f := range zipped.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		files[f.Name] = string(text)
	}
	return files
}

func manifestOf(t *testing.T, files map[string]string) workshop.Manifest {
	t.Helper()
	var m workshop.Manifest
	require.NoError(t, json.Unmarshal([]byte(files["manifest.json"]), &m))
	return m
}

// pack writes files as a zip; with seal the manifest is made to fit them.
func pack(t *testing.T, files map[string]string, seal bool) []byte {
	t.Helper()
	if seal {
		m := manifestOf(t, files)
		for i, f := range m.Files {
			digest := sha256.Sum256([]byte(files[f.Name]))
			m.Files[i].SHA256, m.Files[i].Bytes, m.Files[i].Rows = hex.EncodeToString(digest[:]), int64(len(files[f.Name])), int64(strings.Count(files[f.Name], "\n"))
		}
		content, err := json.Marshal(m)
		require.NoError(t, err)
		files["manifest.json"] = string(content)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for name, text := range files {
		f, err := w.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(f, text)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

func (b bundle) take(t *testing.T, content []byte) error {
	t.Helper()
	_, err := b.ImportArchive(t.Context(), b.id, bytes.NewReader(content), int64(len(content)))
	return err
}

// requireEqualArchives compares all but the time at which each was written.
func requireEqualArchives(t *testing.T, want, got map[string]string) {
	t.Helper()
	require.Equal(t, sortedNamesOf(want), sortedNamesOf(got))
	for name := range want {
		if name != "manifest.json" && name != "README.txt" {
			if want[name] != got[name] {
				requireSameLines(t, name, want[name], got[name])
			}
		}
	}
	m, n := manifestOf(t, want), manifestOf(t, got)
	require.NotEqual(t, m.Written, n.Written)
	m.Written, n.Written = time.Time{}, time.Time{}
	readme := func(m *workshop.Manifest) {
		for i, f := range m.Files {
			if f.Name == "README.txt" { // it says the time
				m.Files[i].SHA256 = ""
			}
		}
	}
	readme(&m)
	readme(&n)
	require.Equal(t, m, n)
}

// requireSameLines shows the first line that differs, around the place.
func requireSameLines(t *testing.T, name, want, got string) {
	t.Helper()
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	require.Len(t, b, len(a), name)
	for i := range a {
		at := 0
		for at < min(len(a[i]), len(b[i])) && a[i][at] == b[i][at] {
			at++
		}
		from, to := max(0, at-60), at+60
		require.Equal(t, a[i][min(from, len(a[i])):min(to, len(a[i]))], b[i][min(from, len(b[i])):min(to, len(b[i]))], "%s, line %d", name, i+1)
	}
}

func sortedNamesOf(files map[string]string) []string {
	var names []string
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// A workshop goes out and comes in elsewhere.
func TestAWorkshopGoesThroughAnArchive(t *testing.T) {
	t.Parallel()
	ctx, shop := busyShop(t)
	content := exported(t, shop.bundle)
	files := unpack(t, content)
	for _, f := range manifestOf(t, files).Files {
		require.Positive(t, f.Rows, "%s: the scenario has something in every table", f.Name)
	}
	for name, text := range files {
		for _, secret := range []string{"password", "calendar_key", "job_id"} {
			if name != "README.txt" {
				require.NotContains(t, text, secret, name)
			}
		}
	}
	require.Contains(t, files["README.txt"], "1/8000 mm")
	t.Logf("%d bytes packed, %d files", len(content), len(files))
	t.Run("and is the same", func(t *testing.T) { archiveComesBack(ctx, t, shop, content, files) })
	t.Run("beside another workshop", func(t *testing.T) { archiveBesideAnother(ctx, t, content, files) })
	t.Run("but not if anything is wrong with it", func(t *testing.T) { badArchives(t, content) })
}

// What comes back is the same, and so is what is written of it again.
func archiveComesBack(ctx context.Context, t *testing.T, shop *shopOf, content []byte, files map[string]string) {
	other := emptyWorkshop(t)
	require.NoError(t, other.take(t, content))
	requireEqualArchives(t, files, unpack(t, exported(t, other)))
	twin := &shopOf{bundle: other, cloth: shop.cloth, style: shop.style, way: shop.way, cord: shop.cord, label: shop.label, customer: shop.customer, orders: 100}
	twin.requireSums(ctx, t)
	requireFault(t, other.take(t, content), "file", "only read into an empty one")

	// What the program makes of it is the same too.
	for _, write := range []func(bundle, io.Writer) error{
		func(b bundle, w io.Writer) error { return b.OrdersTable(ctx, w, b.id) },
		func(b bundle, w io.Writer) error { return b.StylesTable(ctx, w, b.id) },
		func(b bundle, w io.Writer) error { return b.ClothsTable(ctx, w, b.id) },
	} {
		var a, c bytes.Buffer
		require.NoError(t, write(shop.bundle, &a))
		require.NoError(t, write(other, &c))
		require.Equal(t, a.String(), c.String())
	}
	// And it lives on: what is being cut is cut, and new rows get new numbers.
	batches, err := other.Batches(ctx, other.id, 100)
	require.NoError(t, err)
	at := slices.IndexFunc(batches, func(b store.Batch) bool { return b.State == "being cut" })
	require.GreaterOrEqual(t, at, 0)
	lays, err := other.BatchLays(ctx, other.id, batches[at].ID)
	require.NoError(t, err)
	require.NoError(t, other.CutLay(ctx, other.id, batches[at].ID, lays[1].ID, asPlanned(lays[1], 0)))
	twin.requireSums(ctx, t)
	twin.planned(ctx, t, 1)
}

// In a database with another workshop rows get new numbers, and all else is the same.
func archiveBesideAnother(ctx context.Context, t *testing.T, content []byte, files map[string]string) {
	first := emptyWorkshop(t)
	require.NoError(t, first.take(t, content))
	id, err := first.AddWorkshop(ctx, "Second room")
	require.NoError(t, err)
	require.NoError(t, first.AddCostSettings(ctx, id))
	before := exported(t, first)
	second := bundle{first.Service, first.below, first.pool, id}
	require.NoError(t, second.take(t, content))
	require.Equal(t, before, exported(t, first), "the other workshop is as it was")
	again := unpack(t, exported(t, second))
	require.NotEqual(t, files["orders.jsonl"], again["orders.jsonl"], "other numbers")
	for name := range files {
		require.Equal(t, strings.Count(files[name], "\n"), strings.Count(again[name], "\n"), name)
	}
	want, got := inOrderOfNumbers(t, files), inOrderOfNumbers(t, again)
	for table := range want {
		requireSameLines(t, table, strings.Join(want[table], "\n"), strings.Join(got[table], "\n"))
	}
	var crossing int
	require.NoError(t, first.pool.QueryRow(ctx, `SELECT (SELECT count(*) FROM bolts b JOIN cloths c ON c.id = b.cloth_id WHERE b.workshop_id <> c.workshop_id)
		+ (SELECT count(*) FROM batch_lines l JOIN batches b ON b.id = l.batch_id JOIN order_lines o ON o.id = l.order_line_id JOIN orders r ON r.id = o.order_id WHERE b.workshop_id <> r.workshop_id)
		+ (SELECT count(*) FROM bolt_moves m JOIN bolts b ON b.id = m.bolt_id JOIN batches c ON c.id = m.batch_id WHERE b.workshop_id <> c.workshop_id)`).Scan(&crossing))
	require.Zero(t, crossing)
}

// inOrderOfNumbers gives the rows of all files with the numbers of rows, wherever they stand,
// put to 1, 2, 3 in the order of each table.
func inOrderOfNumbers(t *testing.T, files map[string]string) map[string][]string {
	t.Helper()
	rank := map[string]map[string]int{}
	rows := map[string][]any{}
	for name, text := range files {
		table, isTable := strings.CutSuffix(name, ".jsonl")
		if !isTable {
			continue
		}
		rank[table] = map[string]int{}
		for i, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
			if line == "" {
				continue
			}
			decoder := json.NewDecoder(strings.NewReader(line))
			decoder.UseNumber()
			var row map[string]any
			require.NoError(t, decoder.Decode(&row))
			if id, ok := row["id"].(json.Number); ok {
				rank[table][id.String()] = i + 1
			}
			rows[table] = append(rows[table], row)
		}
	}
	of := map[string]string{
		"chart_id": "size_charts", "channel_id": "channels", "cloth_id": "cloths", "bolt_id": "bolts", "batch_id": "batches", "style_id": "styles", "StyleID": "styles", "order_form_id": "order_forms", "piece_id": "style_pieces", "notion_id": "notions",
		"colourway_id": "colourways", "customer_id": "customers", "order_id": "orders", "order_line_id": "order_lines", "plan_id": "batch_plans", "PlanID": "batch_plans", "lay_id": "batch_lays",
		"undoes": "bolt_moves", "cut_move": "bolt_moves", "rest_move": "bolt_moves", "OrderLine": "order_lines", "Colourway": "colourways", "ColourwayID": "colourways",
	}
	var walk func(table string, path []string, value any) any
	walk = func(table string, path []string, value any) any {
		switch v := value.(type) {
		case map[string]any:
			for key, inner := range v {
				v[key] = walk(table, append(slices.Clone(path), key), inner)
			}
		case []any:
			for i, inner := range v {
				v[i] = walk(table, path, inner)
			}
		case json.Number:
			last := path[len(path)-1]
			to := of[last]
			switch {
			case len(path) == 1 && last == "id":
				to = table
			case len(path) > 1 && last == "ID" && slices.Contains(path, "Bolts"):
				to = "bolts"
			case len(path) > 1 && last == "ID" && slices.Contains(path, "Notion"):
				to = "notions"
			case len(path) > 1 && last == "ID" && slices.Contains(path, "Batch"):
				to = "batches"
			case len(path) > 1 && last == "ID":
				to = "cloths"
			case len(path) > 1 && last == "Cloth" && slices.Contains(path, "Bolts") && len(path) > 3:
				to = "cloths"
			}
			if n := rank[to][v.String()]; n > 0 {
				return n
			}
		}
		return value
	}
	lines := map[string][]string{}
	for table, all := range rows {
		for _, row := range all {
			line, err := json.Marshal(walk(table, nil, row))
			require.NoError(t, err)
			lines[table] = append(lines[table], string(line))
		}
		if len(rank[table]) == 0 { // in the order of keys that may have other numbers now
			slices.Sort(lines[table])
		}
	}
	return lines
}

// Whatever is wrong with a file is said, and nothing of it is saved.
func badArchives(t *testing.T, whole []byte) {
	other := emptyWorkshop(t)
	// Somebody else's cloth has a number that an archive might name.
	stranger, err := other.AddWorkshop(t.Context(), "A stranger")
	require.NoError(t, err)
	foreign, err := other.AddCloth(t.Context(), stranger, store.Cloth{Name: "Foreign", Design: "solid", FullWidth: 40 * length.Inch, Price: money.Int(8), PriceUnit: "yd", Nap: "either way", Thickness: "thin"})
	require.NoError(t, err)
	for foreign < 500 { // beyond the numbers in the archive
		require.NoError(t, other.pool.QueryRow(t.Context(), `INSERT INTO cloths (workshop_id, name, full_width, price) VALUES ($1, $2, 8128000, 1) RETURNING id`, stranger, fmt.Sprint("Foreign ", foreign)).Scan(&foreign))
	}
	empty := exported(t, other)

	edit := func(name, old, new string) func(*testing.T, map[string]string) {
		return func(t *testing.T, files map[string]string) {
			require.Contains(t, files[name], old, name)
			files[name] = strings.Replace(files[name], old, new, 1)
		}
	}
	firstLine := func(files map[string]string, name string) string {
		line, _, _ := strings.Cut(files[name], "\n")
		return line
	}
	column := func(name, key, value string) func(*testing.T, map[string]string) {
		return func(t *testing.T, files map[string]string) {
			line := firstLine(files, name)
			var row map[string]json.RawMessage
			require.NoError(t, json.Unmarshal([]byte(line), &row))
			require.Contains(t, row, key)
			row[key] = json.RawMessage(value)
			changed, err := json.Marshal(row)
			require.NoError(t, err)
			files[name] = strings.Replace(files[name], line, string(changed), 1)
		}
	}
	for _, c := range []struct {
		name           string
		change         func(*testing.T, map[string]string)
		seal           bool
		field, message string
	}{
		{"a changed letter", edit("cloths.jsonl", `"name":"`, `"name":"X`), false, "cloths.jsonl", "was changed after it was written"},
		{"a missing file", func(_ *testing.T, f map[string]string) { delete(f, "cloths.jsonl") }, false, "cloths.jsonl", "missing"},
		{"a file too many", func(_ *testing.T, f map[string]string) { f["users.jsonl"] = "{}\n" }, false, "users.jsonl", "does not stand in the manifest"},
		{"a path", func(_ *testing.T, f map[string]string) { f["../evil.jsonl"] = "" }, false, "file", "does not belong"},
		{"a folder", func(_ *testing.T, f map[string]string) { f["cloths/cloths.jsonl"] = "" }, false, "file", "does not belong"},
		{"no manifest", func(_ *testing.T, f map[string]string) { delete(f, "manifest.json") }, false, "file", "no manifest.json"},
		{"a broken manifest", func(_ *testing.T, f map[string]string) { f["manifest.json"] = "{" }, false, "file", "can't be read"},
		{"a newer schema", edit("manifest.json", `"schema": `, `"schema": 99`), false, "file", "newer Yardwright"},
		{"an unknown older schema", edit("manifest.json", `"schema": `, `"schema": -`), false, "file", "knows nothing of"},
		{"not a row", func(_ *testing.T, f map[string]string) { f["cloths.jsonl"] += "[1]\n" }, true, "", "This is not a row"},
		{"cut off", func(_ *testing.T, f map[string]string) { f["cloths.jsonl"] += `{"id":1` }, true, "", "cut off"},
		{"an unknown column", edit("cloths.jsonl", `"name":`, `"nome":`), true, "cloths.jsonl, line 1", `no column "nome"`},
		{"text for a number", column("cloths.jsonl", "full_width", `"wide"`), true, "cloths.jsonl, line 1", "a whole number is needed"},
		{"nothing where something is needed", column("cloths.jsonl", "name", `null`), true, "cloths.jsonl, line 1", "must not be empty"},
		{"against a rule of the schema", column("cloths.jsonl", "selvage", `99999999999`), true, "cloths.jsonl, line 1", "narrower than the cloth"},
		{"a word that is not known", column("orders.jsonl", "state", `"eaten"`), true, "orders.jsonl, line 1", "refuse"},
		{"an empty letter", column("cloths.jsonl", "name", `"a\u0000b"`), true, "cloths.jsonl, line 1", "text is needed"},
		{"a number twice", func(_ *testing.T, f map[string]string) { f["cloths.jsonl"] += firstLine(f, "cloths.jsonl") + "\n" }, true, "", "appears twice"},
		{"a number out of range", column("payments.jsonl", "id", `9000000000000000000`), true, "payments.jsonl, line 1", "can't be the number"},
		{"a row of another workshop", column("bolts.jsonl", "cloth_id", fmt.Sprint(foreign)), true, "bolts.jsonl, line 1", fmt.Sprintf("refers to %d of cloths.jsonl", foreign)},
		{"a row of another workshop inside a plan", func(t *testing.T, f map[string]string) {
			line := firstLine(f, "batch_plans.jsonl")
			changed := regexp.MustCompile(`"Cloth":\d+`).ReplaceAllString(line, fmt.Sprintf(`"Cloth":%d`, foreign))
			require.NotEqual(t, line, changed)
			f["batch_plans.jsonl"] = strings.Replace(f["batch_plans.jsonl"], line, changed, 1)
		}, true, "batch_plans.jsonl, line 1", "which is not there"},
		{"the same in other letters", edit("batch_plans.jsonl", `"OrderLine":`, `"orderline":999,"OrderLine":`), true, "batch_plans.jsonl, line 1", `must be written "OrderLine"`},
		{"a plan of another batch", column("batches.jsonl", "plan_id", "987654"), true, "batches.jsonl, line 1", "refers to 987654"},
		{"a bolt that doesn't fit its history", column("bolts.jsonl", "length", "12345"), true, "bolts.jsonl, line 1", "don't follow from its history"},
		{"a plan that can't be read", edit("batch_plans.jsonl", `"Bundles":`, `"Bundles":7,"Bundlex":`), true, "batch_plans.jsonl, line 1", "can't be used"},
		{"a table that isn't", func(t *testing.T, f map[string]string) {
			m := manifestOf(t, f)
			m.Files = append(m.Files, workshop.ArchiveFile{Name: "users.jsonl"})
			content, err := json.Marshal(m)
			require.NoError(t, err)
			f["manifest.json"], f["users.jsonl"] = string(content), "{}\n"
		}, true, "users.jsonl", "no such table"},
		{"two workshops", func(_ *testing.T, f map[string]string) { f["workshops.jsonl"] += f["workshops.jsonl"] }, true, "workshops.jsonl", "one line"},
		{"a currency that isn't", column("workshops.jsonl", "currency", `"QQQ"`), true, "workshops.jsonl, line 1", "currency"},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := unpack(t, whole)
			c.change(t, files)
			err := other.take(t, pack(t, files, c.seal))
			var fault *store.Fault
			require.ErrorAs(t, err, &fault)
			require.Contains(t, err.Error(), c.message)
			if c.field != "" {
				require.Equal(t, c.field, fault.Problems[0].Field)
			}
			require.Equal(t, manifestOf(t, unpack(t, empty)).Files[1:], manifestOf(t, unpack(t, exported(t, other))).Files[1:], "nothing is saved")
		})
	}
	// Cut short anywhere, and with any byte of what is packed changed.
	for _, n := range []int{0, 1, 100, len(whole) / 2, len(whole) - 1} {
		requireFault(t, other.take(t, whole[:n]), "file", "cut short")
	}
	for at := 64; at < len(whole); at += len(whole) / 60 {
		damaged := slices.Clone(whole)
		damaged[at] ^= 0x55
		if stillWhole(damaged, whole) {
			continue // the second time that a zip says a name, which nobody reads
		}
		var fault *store.Fault
		require.ErrorAs(t, other.take(t, damaged), &fault, "byte %d", at)
	}
	require.NoError(t, other.take(t, whole), "and the whole one is taken")
}

// stillWhole tells whether all that is in a damaged zip can be unpacked as it was.
func stillWhole(damaged, whole []byte) bool {
	a, err := zip.NewReader(bytes.NewReader(damaged), int64(len(damaged)))
	if err != nil {
		return false
	}
	b, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil || len(a.File) != len(b.File) {
		return false
	}
	content := func(f *zip.File) []byte {
		r, err := f.Open()
		if err != nil {
			return nil
		}
		text, err := io.ReadAll(r)
		if err != nil {
			return nil
		}
		return text
	}
	for i := range a.File {
		if got := content(a.File[i]); got == nil || a.File[i].Name != b.File[i].Name || !bytes.Equal(content(b.File[i]), got) {
			return false
		}
	}
	return true
}

// Files that would fill memory or disk are refused before they can.
func TestArchivesThatWouldFillTheDiskAreRefused(t *testing.T) {
	t.Parallel()
	other := emptyWorkshop(t)
	_, err := other.ImportArchive(t.Context(), other.id, failingReader{}, 100<<20)
	requireFault(t, err, "file", "The file has 100 MB; at most 64 MB are read")

	many := map[string]string{}
	for i := range 300 {
		many[fmt.Sprintf("t%d.jsonl", i)] = ""
	}
	requireFault(t, other.take(t, pack(t, many, false)), "file", "more files than")
	for i := range 20_000 {
		many[fmt.Sprintf("t%d.jsonl", i)] = ""
	}
	requireFault(t, other.take(t, pack(t, many, false)), "file", "more files than")

	requireFault(t, other.take(t, bomb(t, 600<<20, 10)), "file", "would unpack to more than 512 MB")
	// A directory that says little of a file that is large.
	files := unpack(t, exported(t, other))
	err = other.take(t, bomb(t, 10, 30<<20))
	require.ErrorContains(t, err, "no manifest.json")
	m := manifestOf(t, files)
	m.Files = []workshop.ArchiveFile{{Name: "cloths.jsonl", Bytes: 10, Rows: 0}}
	content, err := json.Marshal(m)
	require.NoError(t, err)
	requireFault(t, other.take(t, bomb(t, 10, 30<<20, string(content))), "cloths.jsonl", "can't be unpacked")
	twice := bytes.Buffer{}
	w := zip.NewWriter(&twice)
	for range 2 {
		_, err := w.Create("cloths.jsonl")
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	requireFault(t, other.take(t, twice.Bytes()), "file", "appears twice")
}

type failingReader struct{}

func (failingReader) ReadAt([]byte, int64) (int, error) { panic("it is too large to be read") }

// bomb is a zip with one file of zeros, whose directory says another size.
func bomb(t *testing.T, said uint64, size int, manifest ...string) []byte {
	t.Helper()
	var packed bytes.Buffer
	inner := zip.NewWriter(&packed)
	f, err := inner.Create("x")
	require.NoError(t, err)
	zeros := make([]byte, 1<<20)
	for left := size; left > 0; left -= len(zeros) {
		_, err := f.Write(zeros[:min(left, len(zeros))])
		require.NoError(t, err)
	}
	require.NoError(t, inner.Close())
	read, err := zip.NewReader(bytes.NewReader(packed.Bytes()), int64(packed.Len()))
	require.NoError(t, err)
	raw, err := read.File[0].OpenRaw()
	require.NoError(t, err)
	content, err := io.ReadAll(raw)
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	f, err = w.CreateRaw(&zip.FileHeader{Name: "cloths.jsonl", Method: zip.Deflate, CRC32: crc32.ChecksumIEEE(nil), CompressedSize64: uint64(len(content)), UncompressedSize64: said})
	require.NoError(t, err)
	_, err = f.Write(content)
	require.NoError(t, err)
	for _, text := range manifest {
		f, err := w.Create("manifest.json")
		require.NoError(t, err)
		_, err = io.WriteString(f, text)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

// BenchmarkArchive writes a workshop with 20,000 orders of three lines each, and reads it into
// an empty one.
func BenchmarkArchive(b *testing.B) {
	ctx := b.Context()
	open := func(url string) bundle {
		pool, err := store.Open(ctx, url)
		require.NoError(b, err)
		b.Cleanup(pool.Close)
		s := workshop.New(store.New(pool), today, slog.New(slog.DiscardHandler))
		w, err := s.Open(ctx)
		require.NoError(b, err)
		return bundle{s, belowOf(pool), pool, w.ID}
	}
	full := open(template.URL(b))
	_, err := full.pool.Exec(ctx, `WITH made AS (
			INSERT INTO orders (workshop_id, customer_id, number, taken_on, due_on)
			SELECT $1, (SELECT min(id) FROM customers WHERE workshop_id = $1), 'B-' || n, '2030-01-01', '2030-06-01' FROM generate_series(1, 20000) n RETURNING id)
		INSERT INTO order_lines (order_id, colourway_id, size, quantity)
		SELECT m.id, (SELECT min(id) FROM colourways WHERE workshop_id = $1), s, 2 FROM made m, unnest(ARRAY['98', '104', '110']) s`, full.id)
	require.NoError(b, err)
	var content bytes.Buffer
	b.Run("write", func(b *testing.B) {
		for b.Loop() {
			content.Reset()
			require.NoError(b, full.ExportArchive(ctx, &content, full.id))
		}
		b.ReportMetric(float64(content.Len())/1e6, "MB")
	})
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			empty := open(emptyTemplate.URL(b))
			b.StartTimer()
			_, err := empty.ImportArchive(ctx, empty.id, bytes.NewReader(content.Bytes()), int64(content.Len()))
			require.NoError(b, err)
		}
	})
}

package workshop_test

import (
	"context"
	"log/slog"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/job"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// What the tests from within have, too.
var (
	today    = workshop.DemoDay
	template = workshop.DemoTemplate
)

type bundle struct {
	*workshop.Service
	below
	pool *pgxpool.Pool
	id   int64
}

// below is the store under the use cases, for what tests set up by hand; a use case of the same name
// goes before it.
type (
	below  struct{ deeper }
	deeper struct{ *store.Store }
)

func belowOf(pool *pgxpool.Pool) below { return below{deeper{store.New(pool)}} }

func setup(t *testing.T) (context.Context, bundle) {
	t.Helper()
	ctx := t.Context()
	pool, err := store.Open(ctx, template.URL(t))
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	s := workshop.New(store.New(pool), today, slog.New(slog.DiscardHandler))
	w, err := s.Open(ctx)
	require.NoError(t, err)
	require.Equal(t, workshop.DemoName, w.Name)
	return ctx, bundle{s, belowOf(pool), pool, w.ID}
}

// withJobs starts a queue that works on the plans of the bundle.
func withJobs(t *testing.T, b bundle) {
	t.Helper()
	queue, err := job.New(b.pool, slog.New(slog.DiscardHandler), b)
	require.NoError(t, err)
	b.UseJobs(queue)
	require.NoError(t, queue.Start(context.WithoutCancel(t.Context())))
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		require.NoError(t, queue.Stop(ctx))
	})
}

func requireFault(t *testing.T, err error, field, message string) {
	t.Helper()
	var fault *store.Fault
	require.ErrorAs(t, err, &fault)
	for _, p := range fault.Problems {
		if p.Field == field && strings.Contains(p.Message, message) {
			return
		}
	}
	t.Fatalf("want %q at %q, got\n%v", message, field, err)
}

func (b bundle) way(t *testing.T, name string) store.Colourway {
	t.Helper()
	ways, err := b.Colourways(t.Context(), b.id)
	require.NoError(t, err)
	at := slices.IndexFunc(ways, func(w store.Colourway) bool { return w.Name == name })
	require.GreaterOrEqual(t, at, 0, name)
	return ways[at]
}

// The demo is what the issue of it asks for.
func TestTheDemoHasEverything(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	styles, err := b.Styles(ctx, b.id)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(styles), 4)
	charts := map[int64]bool{}
	for _, s := range styles {
		charts[s.ChartID] = true
	}
	require.GreaterOrEqual(t, len(charts), 2)
	cloths, err := b.Cloths(ctx, b.id)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(cloths), 8)
	designs := map[string]bool{}
	for _, c := range cloths {
		designs[c.Design] = true
	}
	for _, design := range []string{"solid", "one-way print", "two-way print", "stripe"} {
		require.True(t, designs[design], design)
	}
	bolts, err := b.Bolts(ctx, b.id)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(bolts), 14)
	lots, remnants := map[string]bool{}, 0
	for _, bolt := range bolts {
		lots[bolt.ClothName+"/"+bolt.Lot] = true
		if bolt.Remnant {
			remnants++
		}
	}
	require.Greater(t, len(lots), len(cloths), "several shade lots of a cloth")
	require.Positive(t, remnants)
	notions, err := b.Notions(ctx, b.id)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(notions), 3)
	customers, err := b.Customers(ctx, b.id)
	require.NoError(t, err)
	kinds := map[string]bool{}
	for _, c := range customers {
		kinds[c.Kind] = true
	}
	require.Len(t, kinds, 3)
	orders, err := b.Orders(ctx, b.id, "open", 100)
	require.NoError(t, err)
	require.Len(t, orders, 20)
	garments, days := 0, map[time.Time]bool{}
	for _, o := range orders {
		garments += o.Garments
		days[o.DueOn] = true
		require.True(t, o.DueOn.After(b.Today()), "dates are relative to today")
	}
	require.InDelta(t, 120, garments, 6)
	require.Greater(t, len(days), 5)
}

func (b bundle) openBatch(t *testing.T) int64 {
	t.Helper()
	orders, err := b.Orders(t.Context(), b.id, "open", 1000)
	require.NoError(t, err)
	draft := workshop.BatchDraft{Name: "all"}
	for _, o := range orders {
		draft.Orders = append(draft.Orders, o.ID)
	}
	id, err := b.MakeBatch(t.Context(), b.id, draft)
	require.NoError(t, err)
	return id
}

func awaitPlan(t *testing.T, b bundle, plan int64) store.BatchPlan {
	t.Helper()
	var row store.BatchPlan
	require.Eventually(t, func() bool {
		var err error
		row, err = b.BatchPlan(t.Context(), b.id, plan)
		require.NoError(t, err)
		return row.Finished()
	}, 5*time.Minute, 20*time.Millisecond)
	return row
}

// One batch from orders to a stored plan, through the queue; what is stored is what a plan
// without the queue comes to.
func TestABatchIsPlannedInTheBackground(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	withJobs(t, b)
	id := b.openBatch(t)
	plan, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	again, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.Equal(t, plan, again, "a batch that is being planned isn't planned twice")
	row := awaitPlan(t, b, plan)
	require.Equal(t, store.PlanPlanned, row.State, row.Message)
	made, err := b.MadePlan(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, 120, made.Cut())
	require.Len(t, made.Cloths, 8)
	require.Empty(t, made.Uncut)
	for _, planned := range made.Cloths {
		require.NoError(t, lay.VerifyPlan(planned.Problem, planned.Plan), "the stored plan is still sound")
	}

	direct, err := b.PlanNow(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.Equal(t, made.ClothCost(), direct.ClothCost())
	require.Equal(t, made.Lays(), direct.Lays())

	open, err := b.OpenLines(ctx, b.id)
	require.NoError(t, err)
	require.Empty(t, open)
	_, err = b.MakeBatch(ctx, b.id, workshop.BatchDraft{Name: "none left", Orders: []int64{1, 2, 3}})
	requireFault(t, err, "orders", "no batch cuts yet")
}

func TestAPlanCanBeStopped(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	withJobs(t, b)
	id := b.openBatch(t)
	// A plan with an endless budget, so that it runs until it is stopped.
	plan, err := b.StartPlanWith(ctx, b.id, id, 1, 2_000_000_000)
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		row, err := b.BatchPlan(ctx, b.id, plan)
		require.NoError(t, err)
		return row.State == store.PlanPlanning && row.Share > 0 && row.Message != ""
	}, time.Minute, 20*time.Millisecond, "progress is shown while it runs")
	require.NoError(t, b.StopPlan(ctx, b.id, plan))
	row := awaitPlan(t, b, plan)
	require.Equal(t, store.PlanStopped, row.State)
	made, err := b.MadePlan(ctx, b.id, id)
	require.NoError(t, err)
	require.NotNil(t, made, "the best plan so far is kept")
	require.True(t, made.Stopped)
	require.Equal(t, 120, made.Cut())
	require.NoError(t, b.StopPlan(ctx, b.id, plan), "stopping twice is fine")
}

func TestAPlanThatNobodyWorksOnCanBeStopped(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	queue, err := job.New(b.pool, slog.New(slog.DiscardHandler), b) // never started
	require.NoError(t, err)
	b.UseJobs(queue)
	id := b.openBatch(t)
	plan, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.NoError(t, b.StopPlan(ctx, b.id, plan))
	require.Equal(t, store.PlanStopped, awaitPlan(t, b, plan).State)
	made, err := b.MadePlan(ctx, b.id, id)
	require.NoError(t, err)
	require.Nil(t, made)
}

// A plan whose program was killed can be stopped, or made anew, after a short while.
func TestAPlanWhoseProgramEndedIsNotInTheWay(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	queue, err := job.New(b.pool, slog.New(slog.DiscardHandler), b) // never started
	require.NoError(t, err)
	b.UseJobs(queue)
	id := b.openBatch(t)
	first, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.NoError(t, b.BeginPlan(ctx, first)) // a program takes it up ...
	same, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.Equal(t, first, same, "it is alive")
	_, err = b.pool.Exec(ctx, `UPDATE batch_plans SET beat_at = now() - interval '1 minute'`) // ... and is killed
	require.NoError(t, err)
	second, err := b.StartPlan(ctx, b.id, id, 1)
	require.NoError(t, err)
	require.NotEqual(t, first, second)
	row, err := b.BatchPlan(ctx, b.id, first)
	require.NoError(t, err)
	require.Equal(t, store.PlanFailed, row.State)

	require.NoError(t, b.BeginPlan(ctx, second))
	_, err = b.pool.Exec(ctx, `UPDATE batch_plans SET beat_at = now() - interval '1 minute'`)
	require.NoError(t, err)
	require.NoError(t, b.StopPlan(ctx, b.id, second))
	require.Equal(t, store.PlanStopped, awaitPlan(t, b, second).State)
}

// A plan that takes longer than a job may keeps the best so far.
func TestAPlanThatTakesTooLongIsKept(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id := b.openBatch(t)
	plan, err := b.AddBatchPlan(ctx, b.id, id, 1, 2_000_000_000)
	require.NoError(t, err)
	short, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	require.NoError(t, b.RunPlan(short, job.PlanBatch{Workshop: b.id, Plan: plan}))
	require.Equal(t, store.PlanStopped, awaitPlan(t, b, plan).State)
	made, err := b.MadePlan(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, 120, made.Cut())

	// A program that goes down leaves the plan to another one.
	plan, err = b.AddBatchPlan(ctx, b.id, id, 1, 2_000_000_000)
	require.NoError(t, err)
	down, stop := context.WithCancel(ctx)
	time.AfterFunc(time.Second, stop)
	require.ErrorIs(t, b.RunPlan(down, job.PlanBatch{Workshop: b.id, Plan: plan}), context.Canceled)
	row, err := b.BatchPlan(ctx, b.id, plan)
	require.NoError(t, err)
	require.False(t, row.Finished())
	_, err = b.pool.Exec(ctx, `UPDATE batch_plans SET iterations = 30 WHERE id = $1`, plan)
	require.NoError(t, err)
	require.NoError(t, b.RunPlan(ctx, job.PlanBatch{Workshop: b.id, Plan: plan}))
	require.Equal(t, store.PlanPlanned, awaitPlan(t, b, plan).State)
}

// A plan and its job come into being together or not at all.
func TestAPlanWithoutItsJobIsUndone(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id := b.openBatch(t)
	_, err := b.pool.Exec(ctx, `DROP TABLE river_job CASCADE`)
	require.NoError(t, err)
	queue, err := job.New(b.pool, slog.New(slog.DiscardHandler), b)
	require.NoError(t, err)
	b.UseJobs(queue)
	_, err = b.StartPlan(ctx, b.id, id, 1)
	require.Error(t, err)
	latest, err := b.LatestPlan(ctx, b.id, id)
	require.NoError(t, err)
	require.Nil(t, latest)
}

func TestABatchThatMakesNoSenseFailsInWords(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id := b.openBatch(t)
	_, err := b.pool.Exec(ctx, `DELETE FROM colourway_notions WHERE need = 'elastic'`)
	require.NoError(t, err)
	_, err = b.PlanNow(ctx, b.id, id, 1)
	require.ErrorContains(t, err, "choose the elastic")
	latest, err := b.LatestPlan(ctx, b.id, id)
	require.NoError(t, err)
	require.Equal(t, store.PlanFailed, latest.State)
}

func TestTakeOrder(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Meadow on slate")
	customers, err := b.Customers(ctx, b.id)
	require.NoError(t, err)
	good := func() workshop.OrderDraft {
		return workshop.OrderDraft{
			Customer: customers[0].ID, DueOn: b.Today().AddDate(0, 0, 5), Lines: []workshop.LineDraft{{Colourway: way.ID, Size: "98", Quantity: 2}},
		}
	}
	for number, want := range []string{"2030-001", "2030-002"} {
		id, err := b.TakeOrder(ctx, b.id, good())
		require.NoError(t, err)
		order, err := b.Order(ctx, b.id, id)
		require.NoError(t, err)
		require.Equal(t, want, order.Number, number)
		require.Equal(t, b.Today(), order.TakenOn.UTC())
		require.Equal(t, 2, order.Garments)
	}
	for _, test := range []struct {
		name           string
		spoil          func(*workshop.OrderDraft)
		field, message string
	}{
		{"nobody", func(d *workshop.OrderDraft) { d.Customer = 0 }, "customer", "Choose a customer"},
		{"no day", func(d *workshop.OrderDraft) { d.DueOn = time.Time{} }, "due_on", "Enter a due date"},
		{"past day", func(d *workshop.OrderDraft) { d.DueOn = b.Today().AddDate(0, 0, -1) }, "due_on", "before the day"},
		{"year of the wrong century", func(d *workshop.OrderDraft) { d.DueOn = b.Today().AddDate(100, 0, 0) }, "due_on", "check the year"},
		{"nothing wanted", func(d *workshop.OrderDraft) { d.Lines = nil }, "lines", "Enter a quantity"},
		{"unknown size", func(d *workshop.OrderDraft) { d.Lines[0].Size = "99" }, "lines[0].size", "not a size of this style"},
		{"unknown colourway", func(d *workshop.OrderDraft) { d.Lines[0].Colourway = 1 << 40 }, "lines[0].colourway", "Choose a colourway"},
		{"too many", func(d *workshop.OrderDraft) { d.Lines[0].Quantity = 10_001 }, "lines[0].quantity", "from 1 to 10,000"},
		{"taken number", func(d *workshop.OrderDraft) { d.Number = "Q-101" }, "number", "order of this number"},
	} {
		t.Run(test.name, func(t *testing.T) {
			draft := good()
			draft.Lines = slices.Clone(draft.Lines)
			test.spoil(&draft)
			_, err := b.TakeOrder(ctx, b.id, draft)
			requireFault(t, err, test.field, test.message)
		})
	}
	t.Run("everything that is wrong is said at once", func(t *testing.T) {
		_, err := b.TakeOrder(ctx, b.id, workshop.OrderDraft{})
		requireFault(t, err, "customer", "Choose")
		requireFault(t, err, "due_on", "Enter a due date")
		requireFault(t, err, "lines", "Enter a quantity")
	})
	t.Run("a new customer is not kept if the order is refused", func(t *testing.T) {
		draft := good()
		draft.Customer, draft.Number = 0, "Q-101"
		_, err := b.TakeOrderFrom(ctx, b.id, &store.Customer{Name: "New Shop", Kind: "shop"}, draft)
		requireFault(t, err, "number", "order of this number")
		after, err := b.Customers(ctx, b.id)
		require.NoError(t, err)
		require.Len(t, after, len(customers))
		draft.Number = ""
		_, err = b.TakeOrderFrom(ctx, b.id, &store.Customer{Name: "New Shop", Kind: "shop"}, draft)
		require.NoError(t, err)
		_, err = b.TakeOrderFrom(ctx, b.id, &store.Customer{Name: "New Shop", Kind: "shop"}, draft)
		requireFault(t, err, "new_customer", "customer of this name")
	})
	t.Run("a change by two people", func(t *testing.T) {
		id, err := b.TakeOrder(ctx, b.id, good())
		require.NoError(t, err)
		draft := good()
		draft.Number = "X-1"
		require.NoError(t, b.ChangeOrder(ctx, b.id, id, 1, draft))
		requireFault(t, b.ChangeOrder(ctx, b.id, id, 1, draft), "", "Someone else")
	})
}

const heading = "order,customer,due,style,colourway,size,quantity\n"

func TestImportOrders(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	read := func(content string) (workshop.Imported, error) {
		return b.ImportOrders(ctx, b.id, "orders.csv", strings.NewReader(content))
	}
	got, err := read("\xef\xbb\xbf" + "Order;Customer;Due;Style;Colourway;Size;Quantity;Kind;Note\r\n" +
		"A-1;Lantern Street Shop;2030-06-01;puddle skirt;Meadow on Slate;98;3;;\r\n" +
		"A-1;Lantern Street Shop;2030-06-01;Puddle skirt;Meadow on slate;104;2;;\r\n" +
		"A-2;\"Rook; and Daughter\";2030-06-02;Kindling bag;Sparrow;large;1;shop;\"two \"\"gifts\"\"\"\r\n")
	require.NoError(t, err)
	require.Equal(t, workshop.Imported{Orders: 2, Garments: 6, Customers: 1}, got)
	orders, err := b.Orders(ctx, b.id, "open", 100)
	require.NoError(t, err)
	at := slices.IndexFunc(orders, func(o store.Order) bool { return o.Number == "A-2" })
	require.Equal(t, `two "gifts"`, orders[at].Note)
	require.Equal(t, "Rook; and Daughter", orders[at].CustomerName)

	same := heading + "B-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n"
	_, err = read(same)
	require.NoError(t, err)
	got, err = read(same)
	require.NoError(t, err)
	require.Equal(t, workshop.Imported{Same: 1}, got, "an order is taken once")

	before := len(orders) + 1
	for _, test := range []struct{ name, content, field, message string }{
		{"empty", "", "file", "empty"},
		{"heading alone", heading, "file", "no rows"},
		{"unknown column", heading[:len(heading)-1] + ",weight\nx\n", "line 1", `"weight" is not known`},
		{"missing column", "order,customer,due,style,colourway,size\nx\n", "line 1", `"quantity" is missing`},
		{"column twice", heading[:len(heading)-1] + ",order\nx\n", "line 1", "appears twice"},
		{"not UTF-8", heading + "\xff,a,b,c,d,e,f\n", "file", "UTF-8"},
		{"open quotation", heading + "C-1,\"Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 2", "quotation marks"},
		{"no number", heading + ",Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 2, order", "number of the order"},
		{"unknown customer", heading + "C-1,Stranger,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 2, customer", "no customer"},
		{"no day", heading + "C-1,Web orders,1 June,Puddle skirt,Meadow on slate,98,1\n", "line 2, due", "2026-12-24"},
		{"unknown style", heading + "C-1,Web orders,2030-06-01,Pudle skirt,Meadow on slate,98,1\n", "line 2, colourway", "Pudle skirt"},
		{"unknown style and no quantity", heading + "C-1,Web orders,2030-06-01,Pudle skirt,Meadow on slate,98,-3\n", "line 2, quantity", `"-3" is not a quantity`},
		{"unknown size", heading + "C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,97,1\n", "line 2, size", "its sizes are 86"},
		{"half a skirt", heading + "C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,0.5\n", "line 2, quantity", "whole number"},
		{"size twice", heading + "C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\nC-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 3, size", "appears twice"},
		{"two customers of one order", heading + "C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\nC-1,Osier Green Fair,2030-06-01,Puddle skirt,Meadow on slate,92,1\n", "line 3, customer", "Line 2 says"},
		{"number taken", heading + "Q-101,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 2, order", "is here already, and differs"},
		{"due long ago", heading + "C-1,Web orders,2029-06-01,Puddle skirt,Meadow on slate,98,1\n", "line 2, due_on", "before the day"},
		{"one good, one bad", heading + "C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\nC-2,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,x\n", "line 3, quantity", `"x" is not a quantity`},
		{"too large", heading + strings.Repeat("C-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n", 150_000), "file", "larger than 8 MB"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := read(test.content)
			requireFault(t, err, test.field, test.message)
			after, err := b.Orders(ctx, b.id, "open", 100)
			require.NoError(t, err)
			require.Len(t, after, before, "nothing is half-saved")
		})
	}
}

// TestReadTable reads what RFC 4180, section 2, allows (the number of its rule stands before a
// case), and what spreadsheets write all the same.
func TestReadTable(t *testing.T) {
	t.Parallel()
	wide := func(text string, big bool) string {
		out := []byte{0xff, 0xfe}
		if big {
			out = []byte{0xfe, 0xff}
		}
		for _, unit := range utf16.Encode([]rune(text)) {
			if big {
				out = append(out, byte(unit>>8), byte(unit))
			} else {
				out = append(out, byte(unit), byte(unit>>8))
			}
		}
		return string(out)
	}
	want := [][]string{{"size", "note"}, {"98", "Rook; \"Söhne\", 🧵"}, {"104", "two\nlines"}}
	plain := "size,note\r\n98,\"Rook; \"\"Söhne\"\", 🧵\"\r\n104,\"two\nlines\"\r\n"
	semicolons := "size;note\n98;\"Rook; \"\"Söhne\"\", 🧵\"\n104;\"two\nlines\"\n"
	for _, test := range []struct {
		name, content string
		want          [][]string
		guessed       bool
	}{
		{"1, 5, 6, 7: rows end in CR LF, quotes hold commas, line ends and quotes", plain, want, false},
		{"2: the last row has no end", strings.TrimSuffix(plain, "\r\n"), want, false},
		{"1, as elsewhere: rows end in LF", strings.ReplaceAll(plain, "\r\n", "\n"), want, false},
		{"4: spaces are no part of a value here, nor are rows of nothing", "size , note\r\n 98, x \r\n,\r\n\r\n", [][]string{{"size", "note"}, {"98", "x"}}, false},
		{"5: any value may be quoted", "\"size\",\"note\"\r\n\"98\",\"\"\r\n", [][]string{{"size", "note"}, {"98", ""}}, false},
		{"a byte order mark", "\ufeff" + plain, want, false},
		{"semicolons", semicolons, want, false},
		{"semicolons, a byte order mark, the heading quoted", "\ufeff\"size\";\"note\"\r\n98;1,5\r\n", [][]string{{"size", "note"}, {"98", "1,5"}}, false},
		{"tabs", "size\tnote\n98\tRook; Söhne, x\n", [][]string{{"size", "note"}, {"98", "Rook; Söhne, x"}}, false},
		{"UTF-16, small end first", wide(plain, false), want, false},
		{"UTF-16, big end first", wide(plain, true), want, false},
		{"Windows-1252", "size;note\r\n98;S\xf6hne \x80 5\r\n", [][]string{{"size", "note"}, {"98", "Söhne € 5"}}, true},
		{"the apostrophe before a formula", "size,note\r\n98,'=1+1\r\n104,'tis\r\n", [][]string{{"size", "note"}, {"98", "=1+1"}, {"104", "'tis"}}, false},
		{"rows of other lengths", "size,note\n98\n104,x,y\n", [][]string{{"size", "note"}, {"98"}, {"104", "x", "y"}}, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			table, err := workshop.ReadTable([]byte(test.content))
			require.NoError(t, err)
			got := [][]string{table.Heading}
			for _, row := range table.Rows {
				got = append(got, row.Cells)
			}
			require.Equal(t, test.want, got)
			require.Equal(t, test.guessed, table.Guessed)
		})
	}
	for name, wrong := range map[string]struct{ content, field, message string }{
		"a quote inside a value":   {"size,note\n98,a\"b\n", "line 2", "quotation marks"},
		"a quote that isn't ended": {"size,note\n98,\"b\n104,c\n", "line 2", "quotation marks"},
		"a workbook":               {"PK\x03\x04", "file", "Save the sheet as CSV"},
		"a NUL":                    {"size,note\n98,a\x00b\n", "line 2", "can't be printed"},
		"rows without end":         {"size\n" + strings.Repeat("1\n", 100_001), "file", "100000 rows"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := workshop.ReadTable([]byte(wrong.content))
			requireFault(t, err, wrong.field, wrong.message)
		})
	}
}

func FuzzImportOrders(f *testing.F) {
	f.Add(heading + "A-1,Web orders,2030-06-01,Puddle skirt,Meadow on slate,98,1\n")
	f.Add("order;customer;due\n\"")
	f.Fuzz(func(t *testing.T, content string) {
		table, err := workshop.ReadTable([]byte(content))
		if err == nil {
			require.NotEmpty(t, table.Rows)
			return
		}
		var fault *store.Fault
		require.ErrorAs(t, err, &fault)
	})
}

// Cost sheets by size from real markers: totals are the sums of their lines, prices cover
// them, and a what-if moves them the right way.
func TestPriceStyle(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	ways, err := b.Colourways(ctx, b.id)
	require.NoError(t, err)
	for _, way := range ways {
		prices, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{})
		require.NoError(t, err, way.Name)
		for i := range prices.Sizes {
			pricing := prices.Pricings[i]
			checkSheet(t, pricing.Sheet)
			require.Len(t, pricing.Quotes, 3)
			for _, quote := range pricing.Quotes {
				cmp, err := quote.Price.Cmp(quote.Floor)
				require.NoError(t, err)
				require.GreaterOrEqual(t, cmp, 0)
				requireAddsUp(t, quote)
			}
		}
		dearer, err := b.PriceStyle(ctx, b.id, way.ID, costing.Change{Cloth: money.MustPercent("10"), Wage: money.MustPercent("5")})
		require.NoError(t, err)
		for i := range prices.Sizes {
			cmp, err := dearer.Pricings[i].Sheet.Total.Cmp(prices.Pricings[i].Sheet.Total)
			require.NoError(t, err)
			require.Positive(t, cmp)
		}
	}
	_, err = b.PriceStyle(ctx, b.id, ways[0].ID, costing.Change{Cloth: money.MustPercent("-200")})
	requireFault(t, err, "cloth", "")
	_, err = b.PriceStyle(ctx, b.id, 1<<40, costing.Change{})
	requireFault(t, err, "", "was not found")
}

func checkSheet(t *testing.T, sheet costing.Sheet) {
	t.Helper()
	kinds := map[costing.LineKind]bool{}
	var amounts []money.Amount
	for _, line := range sheet.Lines {
		kinds[line.Kind] = true
		amounts = append(amounts, line.Amount)
		require.True(t, line.Amount.IsMinor())
	}
	sum, err := money.SumAmounts(amounts...)
	require.NoError(t, err)
	require.Equal(t, sheet.Total, sum)
	for _, kind := range []costing.LineKind{costing.ClothLine, costing.NotionLine, costing.LabourLine, costing.OverheadLine, costing.PackingLine} {
		require.True(t, kinds[kind], kind)
	}
}

func TestIssuedCostsStay(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	way := b.way(t, "Rust")
	_, err := b.IssueCosts(ctx, b.id, way.ID, costing.Change{})
	require.NoError(t, err)
	first, err := b.CostSnapshots(ctx, b.id, way.ID)
	require.NoError(t, err)
	w, err := b.Workshop(ctx, b.id)
	require.NoError(t, err)
	w.Wage = money.Int(99)
	require.NoError(t, b.SaveSettings(ctx, w))
	again, err := b.CostSnapshots(ctx, b.id, way.ID)
	require.NoError(t, err)
	require.Equal(t, first, again)
}

// A change of currency reaches the channels, so that prices still come out.
func TestSettings(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	w, err := b.Workshop(ctx, b.id)
	require.NoError(t, err)
	w.Currency, w.System = "EUR", length.Metric
	requireFault(t, b.SaveSettings(ctx, w), "currency", "Nothing is converted")
	require.NoError(t, b.SaveSettings(ctx, w, workshop.KeepNumbers))
	saved, err := b.Workshop(ctx, b.id)
	require.NoError(t, err)
	require.Equal(t, length.Millimetre, saved.CutStep)
	prices, err := b.PriceStyle(ctx, b.id, b.way(t, "Rust").ID, costing.Change{})
	require.NoError(t, err)
	require.Equal(t, "EUR", prices.Pricings[0].Quotes[0].Price.Currency().String())
	saved.Currency = "XQZ"
	requireFault(t, b.SaveSettings(ctx, saved), "currency", "")
}

func TestStylesChartsAndColourwaysAreChecked(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	charts, err := b.Charts(ctx, b.id)
	require.NoError(t, err)
	byName := map[string]store.Chart{}
	for _, c := range charts {
		byName[c.Name] = c
	}
	_, err = b.StartStyle(ctx, b.id, "Pull-on shorts", "Child shorts", byName["Children by height"].ID, nil)
	requireFault(t, err, "pieces[0].points[1].x", `"hip" is not a measure`)
	_, err = b.StartStyle(ctx, b.id, "Gathered skirt", "", byName["Children by height"].ID, nil)
	requireFault(t, err, "name", "write a name")
	_, err = b.StartStyle(ctx, b.id, "Cloak", "Cloak", byName["Children by height"].ID, nil)
	requireFault(t, err, "starter", "Choose")
	id, err := b.StartStyle(ctx, b.id, "Gathered skirt", "Plain skirt", byName["Children by height"].ID, map[string]bool{"band": false, "pockets": false})
	require.NoError(t, err)
	style, err := b.Style(ctx, b.id, id)
	require.NoError(t, err)
	require.Len(t, style.Pieces, 1)
	style.Pieces[0].Width = "wiast"
	_, err = b.SaveStyleDraft(ctx, b.id, style)
	requireFault(t, err, "pieces[0].width", "in size 86")

	_, err = b.SaveColourwayDraft(ctx, b.id, store.Colourway{StyleID: id, Name: "Blank", Cloths: map[garment.Role]int64{}, Notions: map[string]int64{}})
	requireFault(t, err, "cloth.body", "Choose a cloth for the body")
	requireFault(t, err, "notion.elastic", "Choose the elastic")

	shipped := byName["Children by height"]
	shipped.Note = "changed"
	_, err = b.SaveChartDraft(ctx, b.id, shipped)
	requireFault(t, err, "", "Copy it")
	copied, err := b.CopyChart(ctx, b.id, shipped.ID, " Our children ")
	require.NoError(t, err)
	own, err := b.Chart(ctx, b.id, copied)
	require.NoError(t, err)
	require.Equal(t, "Our children", own.Name)
	require.False(t, own.Shipped)
	require.Equal(t, shipped.Sizes, own.Sizes)
	own.Sizes[0].Values["waist"] = garment.Value{Length: -1}
	_, err = b.SaveChartDraft(ctx, b.id, own)
	requireFault(t, err, "sizes[0].waist", "above zero")

	style.ChartID = copied
	style.Pieces[0].Width = "waist - 40*cm"
	_, err = b.SaveStyleDraft(ctx, b.id, style)
	require.NoError(t, err)
	own.Sizes[0].Values["waist"] = garment.Value{Length: 39 * length.Centimetre}
	_, err = b.SaveChartDraft(ctx, b.id, own)
	requireFault(t, err, "sizes", "Plain skirt would no longer grade on this chart")
}

// The plan of the demo is quick: 120 garments in eight cloths.
func BenchmarkPlanDemo(b *testing.B) {
	ctx := b.Context()
	pool, err := store.Open(ctx, template.URL(b))
	require.NoError(b, err)
	defer pool.Close()
	s := workshop.New(store.New(pool), today, slog.New(slog.DiscardHandler))
	w, err := s.Open(ctx)
	require.NoError(b, err)
	orders, err := s.Orders(ctx, w.ID, "open", 1000)
	require.NoError(b, err)
	draft := workshop.BatchDraft{Name: "all"}
	for _, o := range orders {
		draft.Orders = append(draft.Orders, o.ID)
	}
	id, err := s.MakeBatch(ctx, w.ID, draft)
	require.NoError(b, err)
	var plan *batch.Plan
	for b.Loop() {
		plan, err = s.PlanNow(ctx, w.ID, id, 1)
		require.NoError(b, err)
	}
	b.ReportMetric(float64(plan.Lays()), "lays")
	b.ReportMetric(float64(plan.ClothCost())/1e6, "cloth-money")
}

// requireAddsUp reads the sentence that says why a price is what it is, as a maker does: the
// amounts that it names up to its reason sum to the price and the postage that the buyer pays.
func requireAddsUp(t *testing.T, quote costing.Quote) {
	t.Helper()
	why := quote.Why("en-US")
	told, _, found := strings.Cut(why, ", because ")
	require.True(t, found, why)
	head, parts, found := strings.Cut(told, " is ")
	if !found {
		head, parts, found = strings.Cut(told, " are ")
	}
	require.True(t, found, why)
	sum := func(text string) money.Decimal {
		var sum money.Decimal
		for _, amount := range regexp.MustCompile(`-?\$[0-9,]+\.[0-9]+`).FindAllString(text, -1) {
			var err error
			sum, err = sum.Add(money.MustParse(strings.NewReplacer("$", "", ",", "").Replace(amount)))
			require.NoError(t, err)
		}
		return sum
	}
	require.Equal(t, sum(head).String(), sum(parts).String(), why)
	priced, err := quote.Price.Add(quote.Sale.Postage)
	require.NoError(t, err)
	require.Equal(t, priced.Format("en-US"), money.NewAmount(sum(parts), quote.Price.Currency()).Format("en-US"), why)
}

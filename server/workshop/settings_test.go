package workshop_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func TestSettingsOutOfRange(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	for _, test := range []struct {
		name, field, says string
		change            func(*store.Workshop)
	}{
		{"a table of an inch", "table_length", "Write a length between 7⅞ in", func(w *store.Workshop) { w.TableLength = length.Inch }},
		{"in metric units", "table_length", "Write a length between 20.0 cm and 100.00 m.", func(w *store.Workshop) { w.System, w.TableLength = length.Metric, length.Inch }},
		{"no room on the table", "end_loss", "would take 18 in, and the table is 20 in long", func(w *store.Workshop) { w.TableLength, w.EndLoss = 20*length.Inch, 9*length.Inch }},
		{"a gap of a yard", "gap", "between 0 and 7¾ in", func(w *store.Workshop) { w.Gap = length.Yard }},
		{"elastic a foot too long", "cut_tolerance", "Write a length between 0 and", func(w *store.Workshop) { w.CutTolerance = 12 * length.Inch }},
		{"two yards kept back of a roll", "roll_end", "Write a length between 0 and 39", func(w *store.Workshop) { w.RollEnd = 2 * length.Yard }},
		{"cut in steps of nothing", "buy_step", "Write a length between", func(w *store.Workshop) { w.BuyStep = 0 }},
	} {
		w, err := b.Workshop(ctx, b.id)
		require.NoError(t, err)
		test.change(&w)
		requireFault(t, b.SaveSettings(ctx, w), test.field, test.says)
	}
}

// A day has 1440 minutes for each who works, so that a workroom of three may work 4000 together.
func TestADayHasItsMinutesForEachWhoWorks(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	for _, test := range []struct {
		people  string
		minutes int
		refused string
	}{
		{"1", 1440, ""},
		{"1", 2000, "A Monday has 1440 minutes, and 1 person works here: write at most 1440, or say below that more people work here."},
		{"2.5", 4000, ""},
		{"2.5", 4321, "A Monday has 1440 minutes, and 3 people work here: write at most 4320, or say below"},
	} {
		_, err := b.pool.Exec(ctx, `UPDATE cost_settings SET year_people = $1::numeric WHERE workshop_id = $2`, test.people, b.id)
		require.NoError(t, err)
		w, err := b.Workshop(ctx, b.id)
		require.NoError(t, err)
		costs, err := b.CostSettings(ctx, b.id)
		require.NoError(t, err)
		w.DayMinutes[1] = test.minutes
		if err = b.SaveYear(ctx, b.id, nil, costs, w.DayMinutes); test.refused == "" {
			require.NoError(t, err)
		} else {
			requireFault(t, err, "day.1", test.refused)
		}
	}
}

// Where no amount is stored there is nothing to agree to.
func TestACurrencyIsFreeToChooseWithoutMoney(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	id, err := b.AddWorkshop(ctx, "Empty room")
	require.NoError(t, err)
	require.NoError(t, b.AddCostSettings(ctx, id))
	w, err := b.Workshop(ctx, id)
	require.NoError(t, err)
	w.Currency = "EUR"
	requireFault(t, b.SaveSettings(ctx, w), "currency", "here, in USD. Nothing is converted")
	w.Currency, w.Wage, w.OverheadYear = "USD", money.Decimal{}, money.Decimal{}
	require.NoError(t, b.SaveSettings(ctx, w))
	w, err = b.Workshop(ctx, id)
	require.NoError(t, err)
	w.Currency = "EUR"
	require.NoError(t, b.SaveSettings(ctx, w))
}

func TestTextsOfTablesAreBounded(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	long := strings.Repeat("w", 81)
	_, err := b.ImportOrders(ctx, b.id, "orders.csv", strings.NewReader("order,customer,kind,due,style,colourway,size,quantity,note\n1,"+long+",shop,2030-01-01,a,b,c,1,\n2,Osier,shop,2030-01-01,a,b,c,1,"+strings.Repeat("n", 1001)+"\n3,\"two\nlines\",shop,2030-01-01,a,b,c,1,\n"))
	requireFault(t, err, "line 2, customer", "Write at most 80 letters.")
	requireFault(t, err, "line 3, note", "Write at most 1000 letters.")
	requireFault(t, err, "line 4, customer", "Write it on one line")
	for _, table := range []struct{ content, field, says string }{
		{"name,width,price\n" + long + ",44,5\n", "line 2, name", "Write at most 80 letters."},
		{"name,content,width,price\nPlain," + strings.Repeat("c", 201) + ",44,5\n", "line 2, content", "Write at most 200 letters."},
		{"name,width,price\nPlain,1000 m,5\n", "line 2, width", "Write a width between ½ in and 10⅞ yd."},
	} {
		draft, err := b.KeepImport(ctx, b.id, "cloths", "cloths.csv", strings.NewReader(table.content))
		require.NoError(t, err)
		_, err = b.TakeImport(ctx, b.id, draft, workshop.ImportChoice{})
		requireFault(t, err, table.field, table.says)
	}
}

// The sentences of a plan name both systems, the workshop's own first, so that they can still be
// read when the workshop changes its units.
func TestWhatAPlanSaysStaysReadable(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	for _, test := range []struct {
		system length.System
		says   string
	}{{length.Imperial, `the table has 8 in \(20\.3 cm\)`}, {length.Metric, `the table has 20\.3 cm \(8 in\)`}} {
		w, err := b.Workshop(ctx, b.id)
		require.NoError(t, err)
		w.System, w.TableLength, w.EndLoss = test.system, 8*length.Inch, 0
		require.NoError(t, b.SaveSettings(ctx, w))
		orders, err := b.Orders(ctx, b.id, "open", 1)
		require.NoError(t, err)
		made, err := b.MakeBatch(ctx, b.id, workshop.BatchDraft{Name: "Short table " + string(test.system), Orders: []int64{orders[0].ID}})
		require.NoError(t, err)
		planned, err := b.PlanNow(ctx, b.id, made, 1)
		require.NoError(t, err)
		require.NotEmpty(t, planned.Uncut)
		require.Regexp(t, test.says, planned.Uncut[0].Reason)
	}
}

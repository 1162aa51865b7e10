package store_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
)

var template = pgtest.NewTemplate(store.Migrate)

// bundle is a workshop in a transaction that is rolled back at the end of the test.
type bundle struct {
	*store.Store
	workshop int64
}

func pool(t *testing.T) *pgxpool.Pool {
	t.Helper()
	p, err := store.Open(t.Context(), template.URL(t))
	require.NoError(t, err)
	t.Cleanup(p.Close)
	return p
}

func setup(t *testing.T) (context.Context, bundle) {
	t.Helper()
	ctx := t.Context()
	tx, err := pool(t).Begin(ctx)
	require.NoError(t, err)
	t.Cleanup(func() { _ = tx.Rollback(context.WithoutCancel(ctx)) })
	s := store.New(tx)
	id, err := s.AddWorkshop(ctx, "Test room")
	require.NoError(t, err)
	return ctx, bundle{s, id}
}

func dec(text string) money.Decimal { return money.MustParse(text) }

func poplin() store.Cloth {
	return store.Cloth{
		Name: "Poplin", Content: "cotton", Design: "solid", FullWidth: 44 * length.Inch, Selvage: length.Inch, Price: dec("7.85"), PriceUnit: "yd",
		ShrinkLength: dec("2.5"), ShrinkWidth: dec("1.25"), Nap: batch.NapEitherWay, RepeatLength: 3 * length.Inch, Thickness: batch.Thin, Care: "40", CanBuy: true,
	}
}

func requireFault(t *testing.T, err error, kind store.Kind, field, message string) {
	t.Helper()
	var fault *store.Fault
	require.ErrorAs(t, err, &fault)
	require.Equal(t, kind, fault.Kind, err)
	require.Equal(t, field, fault.Problems[0].Field, err)
	require.Contains(t, fault.Problems[0].Message, message)
}

func TestSettingsComeBackAsTheyWere(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	w, err := b.Workshop(ctx, b.workshop)
	require.NoError(t, err)
	w.System, w.Fraction, w.Currency, w.Locale = length.Metric, 16, "EUR", "de-DE"
	w.Wage, w.Efficiency, w.OverheadYear = dec("17.123456"), dec("0.875"), dec("6400")
	w.Spread, w.StraightCuts, w.DayMinutes = lay.FaceToFace, true, []int{0, 1, 2, 3, 4, 5, 6}
	w.LaySetUpMinutes, w.TableLength = dec("5.125"), 3*length.Metre
	require.NoError(t, b.SaveWorkshop(ctx, w))
	read, err := b.Workshop(ctx, b.workshop)
	require.NoError(t, err)
	w.Version++
	require.Equal(t, w, read)

	err = b.SaveWorkshop(ctx, store.Workshop{ID: w.ID, Version: w.Version - 1, Name: "late", System: length.Metric, DayMinutes: w.DayMinutes})
	requireFault(t, err, store.Conflict, "", "Someone else has changed")
}

// A chart, a style with every shape, a colourway: what goes in comes out.
func TestStyleComesBackAsItWas(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	for _, shipped := range garment.ShippedCharts() {
		id, err := b.AddChart(ctx, b.workshop, store.Chart{Shipped: true, SizeChart: shipped})
		require.NoError(t, err)
		read, err := b.Chart(ctx, b.workshop, id)
		require.NoError(t, err)
		require.Equal(t, shipped, read.SizeChart)
		for _, starter := range garment.Starters() {
			if starter.Chart != shipped.Name {
				continue
			}
			style := starter.Style(nil)
			style.Pieces = append(style.Pieces, garment.Piece{
				Name: "from a table", Role: garment.Lining, Copies: 2, Shape: garment.Rectangle, Grain: garment.Crosswise, Note: "cut sizes only",
				Table: map[string]garment.Cut{"98": {Width: 10, Length: 20}},
			}, garment.Piece{
				Name: "from a drawing", Role: garment.Body, Copies: 1, Shape: garment.Outlined, Grain: garment.Lengthwise, Seam: 8000,
				Drawn: map[string][]garment.Point{"": {{X: 0, Y: 0}, {X: 80000, Y: 0}, {X: 0, Y: 90000}}, "98": {{X: 0, Y: 0}, {X: 80000, Y: 0}, {X: 0, Y: 95000}}},
			})
			styleID, err := b.AddStyle(ctx, b.workshop, store.Style{ChartID: id, Style: style})
			require.NoError(t, err)
			got, err := b.Style(ctx, b.workshop, styleID)
			require.NoError(t, err)
			normal(&style)
			normal(&got.Style)
			require.Equal(t, style, got.Style)

			got.Note = "changed"
			require.NoError(t, b.SaveStyle(ctx, b.workshop, got))
			again, err := b.Style(ctx, b.workshop, styleID)
			require.NoError(t, err)
			normal(&again.Style)
			require.Equal(t, got.Style, again.Style)
			require.Equal(t, got.Version+1, again.Version)
			requireFault(t, b.SaveStyle(ctx, b.workshop, got), store.Conflict, "", "Someone else")
		}
	}
	charts, err := b.Charts(ctx, b.workshop)
	require.NoError(t, err)
	require.Len(t, charts, len(garment.ShippedCharts()))
	styles, err := b.Styles(ctx, b.workshop)
	require.NoError(t, err)
	require.Len(t, styles, len(garment.Starters()))
	requireFault(t, b.RemoveChart(ctx, b.workshop, styles[0].ChartID), store.Conflict, "", "A style uses this size chart")
}

// normal makes empty and missing lists the same.
func normal(style *garment.Style) {
	for i := range style.Pieces {
		if len(style.Pieces[i].Points) == 0 {
			style.Pieces[i].Points = nil
		}
	}
}

func TestShelfComesBackAsItWas(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	cloth := poplin()
	var err error
	cloth.ID, err = b.AddCloth(ctx, b.workshop, cloth)
	require.NoError(t, err)
	width, price := 43*length.Inch, dec("6.999999")
	bolt := store.Bolt{ClothID: cloth.ID, Name: "B1", Lot: "x", FullWidth: &width, Length: 5 * length.Yard, Price: &price, Place: "left", Remnant: true}
	faults := []store.BoltFault{{FromLength: 1, ToLength: 9, FromWidth: 2, ToWidth: 8, Note: "hole"}}
	bolt.ID, err = b.AddBolt(ctx, b.workshop, bolt, faults)
	require.NoError(t, err)
	plain, err := b.AddBolt(ctx, b.workshop, store.Bolt{ClothID: cloth.ID, Name: "B2", Length: 2 * length.Yard}, nil)
	require.NoError(t, err)

	readCloth, err := b.Cloth(ctx, b.workshop, cloth.ID)
	require.NoError(t, err)
	cloth.Version, cloth.OnShelf, cloth.Bolts, cloth.LongestPiece = 1, 7*length.Yard, 2, int64(5*length.Yard)
	require.Equal(t, cloth, readCloth)
	readBolt, err := b.Bolt(ctx, b.workshop, bolt.ID)
	require.NoError(t, err)
	bolt.Version, bolt.ClothName = 1, "Poplin"
	require.Equal(t, bolt, readBolt)
	readFaults, err := b.BoltFaults(ctx, b.workshop)
	require.NoError(t, err)
	require.Len(t, readFaults, 1)
	require.Equal(t, "hole", readFaults[0].Note)
	second, err := b.Bolt(ctx, b.workshop, plain)
	require.NoError(t, err)
	require.Nil(t, second.Price)
	require.Nil(t, second.FullWidth)

	notion := store.Notion{
		Name: "Elastic", Kind: batch.FromRoll, BuyLength: 25 * length.Yard, BuyCount: 1, BuyPrice: dec("8.75"),
		Rolls: []batch.Roll{{Length: 25 * length.Yard, Count: 2}, {Length: length.Yard, Count: 1}},
	}
	notion.ID, err = b.AddNotion(ctx, b.workshop, notion)
	require.NoError(t, err)
	notions, err := b.Notions(ctx, b.workshop)
	require.NoError(t, err)
	notion.Version = 1
	require.Equal(t, []store.Notion{notion}, notions)
	notion.Rolls = notion.Rolls[1:]
	require.NoError(t, b.SaveNotion(ctx, b.workshop, notion))
	notions, err = b.Notions(ctx, b.workshop)
	require.NoError(t, err)
	require.Equal(t, notion.Rolls, notions[0].Rolls)
	requireFault(t, b.RemoveCloth(ctx, b.workshop, cloth.ID), store.Conflict, "", "A bolt on the shelf is of this cloth")
}

func TestChannelsKeepTheirExactNumbers(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	currency, err := money.ParseCurrency("USD")
	require.NoError(t, err)
	channel := costing.Channel{
		Name: "Fair", Kind: costing.Fair, Currency: currency,
		Fees:   []costing.Fee{{Name: "card", Rate: money.MustPercent("2.75"), Fixed: money.NewAmount(dec("0.105"), currency)}},
		Target: costing.Target{Kind: costing.TargetHourly, Amount: money.NewAmount(dec("22.5"), currency)}, PricePoint: money.PricePoint{Step: dec("1"), Ending: dec("0.95")},
	}
	id, err := b.AddChannel(ctx, b.workshop, store.Channel{Settings: channel})
	require.NoError(t, err)
	read, err := b.Channels(ctx, b.workshop)
	require.NoError(t, err)
	require.Equal(t, []store.Channel{{ID: id, Settings: channel, Version: 1}}, read)
	_, err = b.AddChannel(ctx, b.workshop, store.Channel{Settings: channel})
	requireFault(t, err, store.Invalid, "name", "channel of this name")
}

// Each rule of the schema comes back at the field that it belongs to. Every row breaks one.
func TestRulesSpeakAtTheirFields(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name    string
		break_  func(ctx context.Context, b world) error
		kind    store.Kind
		field   string
		message string
	}{
		{"cloth without a name", func(ctx context.Context, b world) error {
			c := poplin()
			c.Name = "  "
			_, err := b.AddCloth(ctx, b.workshop, c)
			return err
		}, store.Invalid, "name", "Write a name"},
		{"cloth twice", func(ctx context.Context, b world) error {
			_, err := b.AddCloth(ctx, b.workshop, poplin())
			return err
		}, store.Invalid, "name", "cloth of this name already"},
		{"selvages wider than the cloth", func(ctx context.Context, b world) error {
			c := poplin()
			c.Name, c.Selvage = "Wide edges", 22*length.Inch
			_, err := b.AddCloth(ctx, b.workshop, c)
			return err
		}, store.Invalid, "selvage", "narrower than the cloth"},
		{"negative price", func(ctx context.Context, b world) error {
			c := poplin()
			c.Name, c.Price = "Cheap", dec("-0.01")
			_, err := b.AddCloth(ctx, b.workshop, c)
			return err
		}, store.Invalid, "price", "0 or more"},
		{"shrinks away", func(ctx context.Context, b world) error {
			c := poplin()
			c.Name, c.ShrinkLength = "Felt", dec("30.01")
			_, err := b.AddCloth(ctx, b.workshop, c)
			return err
		}, store.Invalid, "shrink_length", "0 to 30"},
		{"price beyond the column", func(ctx context.Context, b world) error {
			c := poplin()
			c.Name, c.Price = "Gold", dec("1000000000000000000")
			_, err := b.AddCloth(ctx, b.workshop, c)
			return err
		}, store.Invalid, "", "too large"},
		{"bolt of no cloth", func(ctx context.Context, b world) error {
			_, err := b.AddBolt(ctx, b.workshop, store.Bolt{ClothID: 1 << 40, Name: "x", Length: 1}, nil)
			return err
		}, store.Invalid, "cloth", "Choose a cloth"},
		{"bolt twice", func(ctx context.Context, b world) error {
			_, err := b.AddBolt(ctx, b.workshop, store.Bolt{ClothID: b.cloth, Name: "B1", Length: 1}, nil)
			return err
		}, store.Invalid, "name", "bolt of this name"},
		{"roll without a length", func(ctx context.Context, b world) error {
			_, err := b.AddNotion(ctx, b.workshop, store.Notion{Name: "Cord", Kind: batch.FromRoll, BuyPrice: dec("1")})
			return err
		}, store.Invalid, "buy_length", "how long a bought roll is"},
		{"order due before it was taken", func(ctx context.Context, b world) error {
			_, err := b.AddOrder(ctx, b.workshop, store.Order{CustomerID: b.customer, Number: "9", TakenOn: day(2), DueOn: day(1)})
			return err
		}, store.Invalid, "due_on", "before the day"},
		{"order number twice", func(ctx context.Context, b world) error {
			_, err := b.AddOrder(ctx, b.workshop, store.Order{CustomerID: b.customer, Number: "1", TakenOn: day(1), DueOn: day(1)})
			return err
		}, store.Invalid, "number", "order of this number"},
		{"order of nobody", func(ctx context.Context, b world) error {
			_, err := b.AddOrder(ctx, b.workshop, store.Order{CustomerID: 1 << 40, Number: "9", TakenOn: day(1), DueOn: day(1)})
			return err
		}, store.Invalid, "customer", "Choose a customer"},
		{"nothing of a size", func(ctx context.Context, b world) error {
			_, err := b.AddOrder(ctx, b.workshop, store.Order{CustomerID: b.customer, Number: "9", TakenOn: day(1), DueOn: day(1), Lines: []store.OrderLine{{ColourwayID: b.way, Size: "98"}}})
			return err
		}, store.Invalid, "quantity", "from 1 to"},
		{"the same size twice", func(ctx context.Context, b world) error {
			line := store.OrderLine{ColourwayID: b.way, Size: "98", Quantity: 1}
			_, err := b.AddOrder(ctx, b.workshop, store.Order{CustomerID: b.customer, Number: "9", TakenOn: day(1), DueOn: day(1), Lines: []store.OrderLine{line, line}})
			return err
		}, store.Invalid, "quantity", "appears twice"},
		{"a line in two batches", func(ctx context.Context, b world) error {
			if _, err := b.AddBatch(ctx, b.workshop, "first", day(1), []int64{b.line}); err != nil {
				return err
			}
			_, err := b.AddBatch(ctx, b.workshop, "second", day(1), []int64{b.line})
			return err
		}, store.Conflict, "lines", "in another batch"},
		{"changing an order that is being cut", func(ctx context.Context, b world) error {
			if _, err := b.AddBatch(ctx, b.workshop, "first", day(1), []int64{b.line}); err != nil {
				return err
			}
			order, err := b.Order(ctx, b.workshop, b.order)
			if err != nil {
				return err
			}
			return b.SaveOrder(ctx, b.workshop, order)
		}, store.Conflict, "", "A batch cuts this order"},
		{"removing a colourway that is ordered", func(ctx context.Context, b world) error {
			return b.RemoveColourway(ctx, b.workshop, b.way)
		}, store.Conflict, "", "An order uses this colourway"},
		{"more of a bolt than there is", func(ctx context.Context, b world) error {
			id, err := b.AddBatch(ctx, b.workshop, "first", day(1), []int64{b.line})
			if err != nil {
				return err
			}
			return b.Reserve(ctx, b.workshop, id, b.bolt, 5*length.Yard+1)
		}, store.Conflict, "length", "doesn't have that much"},
		{"cutting off what a batch holds", func(ctx context.Context, b world) error {
			id, err := b.AddBatch(ctx, b.workshop, "first", day(1), []int64{b.line})
			if err != nil {
				return err
			}
			if err := b.Reserve(ctx, b.workshop, id, b.bolt, 5*length.Yard); err != nil {
				return err
			}
			bolt, err := b.Bolt(ctx, b.workshop, b.bolt)
			if err != nil {
				return err
			}
			bolt.Length, bolt.Reason = bolt.Length-1, "measured"
			return b.SaveBolt(ctx, b.workshop, bolt)
		}, store.Conflict, "length", "doesn't have that much"},
		{"an unknown currency", func(ctx context.Context, b world) error {
			w, err := b.Workshop(ctx, b.workshop)
			if err != nil {
				return err
			}
			w.Currency = "dollars"
			return b.SaveWorkshop(ctx, w)
		}, store.Invalid, "currency", "three letters"},
		{"a week of six days", func(ctx context.Context, b world) error {
			w, err := b.Workshop(ctx, b.workshop)
			if err != nil {
				return err
			}
			w.DayMinutes = w.DayMinutes[1:]
			return b.SaveWorkshop(ctx, w)
		}, store.Invalid, "", "workshops_day_minutes_week"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			ctx, b := setupWorld(t)
			requireFault(t, test.break_(ctx, b), test.kind, test.field, test.message)
		})
	}
}

// world is a workshop with one of everything.
type world struct {
	bundle
	cloth, bolt, chart, style, way, customer, order, line int64
}

func day(n int) time.Time { return time.Date(2030, 1, n, 0, 0, 0, 0, time.UTC) }

func setupWorld(t *testing.T) (context.Context, world) {
	t.Helper()
	ctx, b := setup(t)
	return ctx, fill(ctx, t, b)
}

func fill(ctx context.Context, t *testing.T, b bundle) world {
	t.Helper()
	w := world{bundle: b}
	must := func(id int64, err error) int64 {
		t.Helper()
		require.NoError(t, err)
		return id
	}
	w.cloth = must(b.AddCloth(ctx, b.workshop, poplin()))
	w.bolt = must(b.AddBolt(ctx, b.workshop, store.Bolt{ClothID: w.cloth, Name: "B1", Length: 5 * length.Yard}, nil))
	w.chart = must(b.AddChart(ctx, b.workshop, store.Chart{SizeChart: garment.ShippedCharts()[0]}))
	style := garment.Starters()[0].Style(nil)
	w.style = must(b.AddStyle(ctx, b.workshop, store.Style{ChartID: w.chart, Style: style}))
	w.way = must(b.AddColourway(ctx, b.workshop, store.Colourway{StyleID: w.style, Name: "Plain", Cloths: map[garment.Role]int64{garment.Body: w.cloth}}))
	w.customer = must(b.AddCustomer(ctx, b.workshop, store.Customer{Name: "Fair", Kind: "fair"}))
	w.order = must(b.AddOrder(ctx, b.workshop, store.Order{
		CustomerID: w.customer, Number: "1", TakenOn: day(1), DueOn: day(9), Lines: []store.OrderLine{{ColourwayID: w.way, Size: "98", Quantity: 3}},
	}))
	order, err := b.Order(ctx, b.workshop, w.order)
	require.NoError(t, err)
	w.line = order.Lines[0].ID
	return w
}

// Nothing of one workshop can be read, changed or used from another.
func TestWorkshopsAreApart(t *testing.T) {
	t.Parallel()
	ctx, w := setupWorld(t)
	other, err := w.AddWorkshop(ctx, "Other room")
	require.NoError(t, err)
	notThere := func(_ any, err error) {
		t.Helper()
		requireFault(t, err, store.NotFound, "", "was not found")
	}
	notThere(w.Cloth(ctx, other, w.cloth))
	notThere(w.Bolt(ctx, other, w.bolt))
	notThere(w.Chart(ctx, other, w.chart))
	notThere(w.Style(ctx, other, w.style))
	notThere(w.Order(ctx, other, w.order))
	for _, list := range []func() (int, error){
		func() (int, error) { l, err := w.Cloths(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Bolts(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Charts(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Styles(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Colourways(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Customers(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Orders(ctx, other, "", 10); return len(l), err },
		func() (int, error) { l, err := w.OpenLines(ctx, other); return len(l), err },
		func() (int, error) { l, err := w.Batches(ctx, other, 10); return len(l), err },
	} {
		count, err := list()
		require.NoError(t, err)
		require.Zero(t, count)
	}
	cloth, err := w.Cloth(ctx, w.workshop, w.cloth)
	require.NoError(t, err)
	requireFault(t, w.SaveCloth(ctx, other, cloth), store.Conflict, "", "Someone else")
	_, err = w.AddBolt(ctx, other, store.Bolt{ClothID: w.cloth, Name: "x", Length: 1}, nil)
	requireFault(t, err, store.Invalid, "cloth", "Choose")
	_, err = w.AddOrder(ctx, other, store.Order{CustomerID: w.customer, Number: "1", TakenOn: day(1), DueOn: day(1)})
	requireFault(t, err, store.Invalid, "customer", "Choose")
	id, err := w.AddBatch(ctx, other, "thief", day(1), []int64{w.line})
	require.NoError(t, err)
	lines, err := w.BatchLines(ctx, other, id)
	require.NoError(t, err)
	require.Empty(t, lines)

	require.NoError(t, w.RemoveWorkshop(ctx, w.workshop))
	counts, err := w.Counts(ctx, w.workshop)
	require.NoError(t, err)
	require.Equal(t, store.Counts{}, counts)
}

func TestOrdersFollowTheirLines(t *testing.T) {
	t.Parallel()
	ctx, w := setupWorld(t)
	state := func() string {
		order, err := w.Order(ctx, w.workshop, w.order)
		require.NoError(t, err)
		return order.State
	}
	require.Equal(t, "open", state())
	id, err := w.AddBatch(ctx, w.workshop, "run", day(1), []int64{w.line})
	require.NoError(t, err)
	require.Equal(t, "in a batch", state())
	open, err := w.OpenLines(ctx, w.workshop)
	require.NoError(t, err)
	require.Empty(t, open)
	due, err := w.Orders(ctx, w.workshop, store.Due, 10)
	require.NoError(t, err)
	require.Len(t, due, 1)
	require.NoError(t, w.RemoveBatch(ctx, w.workshop, id, 1))
	require.Equal(t, "open", state())
}

func TestAPlanGoesThroughItsStates(t *testing.T) {
	t.Parallel()
	ctx, w := setupWorld(t)
	batchID, err := w.AddBatch(ctx, w.workshop, "run", day(1), []int64{w.line})
	require.NoError(t, err)
	none, err := w.LatestPlan(ctx, w.workshop, batchID)
	require.NoError(t, err)
	require.Nil(t, none)
	id, err := w.AddBatchPlan(ctx, w.workshop, batchID, 7, 100)
	require.NoError(t, err)
	require.NoError(t, w.SetPlanJob(ctx, id, 99))
	require.NoError(t, w.ReportPlan(ctx, id, 0.9, "too early"))
	require.NoError(t, w.BeginPlan(ctx, id))
	require.NoError(t, w.ReportPlan(ctx, id, 0.5, "half"))
	require.NoError(t, w.ReportPlan(ctx, id, 0.4, "never back"))
	plan, err := w.BatchPlan(ctx, w.workshop, id)
	require.NoError(t, err)
	require.Equal(t, store.PlanPlanning, plan.State)
	require.InDelta(t, 0.5, plan.Share, 1e-6)
	require.Equal(t, "never back", plan.Message)
	require.Equal(t, int64(99), *plan.JobID)
	require.False(t, plan.Finished())

	made := batch.Plan{Name: "run", Seed: 7, Start: day(1), Garments: []batch.Garment{{Style: "Skirt", Quantity: 3}}}
	require.NoError(t, w.FinishPlan(ctx, id, store.PlanPlanned, "done", &made, 0))
	plan, err = w.BatchPlan(ctx, w.workshop, id)
	require.NoError(t, err)
	require.True(t, plan.Finished())
	require.InDelta(t, 1, plan.Share, 1e-6)
	read, err := w.MadePlan(ctx, w.workshop, batchID)
	require.NoError(t, err)
	require.Equal(t, made, *read)
	requireFault(t, w.FinishPlan(ctx, id, store.PlanFailed, "again", nil, 0), store.Conflict, "", "Someone else")
	requireFault(t, w.BeginPlan(ctx, id), store.Conflict, "", "Someone else")
}

func TestSnapshotsNeverChange(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := pool(t)
	s := store.New(p)
	id, err := s.AddWorkshop(ctx, "Test room")
	require.NoError(t, err)
	w := fill(ctx, t, bundle{s, id})
	snapshot, err := w.AddCostSnapshot(ctx, w.workshop, store.CostSnapshot{ColourwayID: &w.way, Label: "Plain", Sheets: json.RawMessage(`[{"total": "1.00"}]`)})
	require.NoError(t, err)
	_, err = p.Exec(ctx, `UPDATE cost_snapshots SET sheets = '[]' WHERE id = $1`, snapshot)
	require.ErrorContains(t, err, "does not change")
	list, err := w.CostSnapshots(ctx, w.workshop, w.way)
	require.NoError(t, err)
	require.JSONEq(t, `[{"total": "1.00"}]`, string(list[0].Sheets))
}

// Money goes through the database exactly, whatever its size and places.
func TestDecimalsAreExact(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := pool(t)
	rapid.Check(t, func(t *rapid.T) {
		value := money.New(rapid.Int64Range(-999_999_999_999_999_999, 999_999_999_999_999_999).Draw(t, "digits"), rapid.IntRange(0, 18).Draw(t, "places"))
		var back money.Decimal
		var text string
		require.NoError(t, p.QueryRow(ctx, `SELECT $1::numeric, ($1::numeric)::text`, value).Scan(&back, &text))
		require.Equal(t, value, back)
		want, ok := new(big.Rat).SetString(value.String())
		require.True(t, ok)
		got, ok := new(big.Rat).SetString(text)
		require.True(t, ok)
		require.Zero(t, want.Cmp(got))
	})
	var list []money.Decimal
	require.NoError(t, p.QueryRow(ctx, `SELECT $1::numeric[]`, []money.Decimal{dec("1.10"), dec("-2")}).Scan(&list))
	require.Equal(t, []money.Decimal{dec("1.1"), dec("-2")}, list)
	var none *money.Decimal
	require.NoError(t, p.QueryRow(ctx, `SELECT NULL::numeric`).Scan(&none))
	require.Nil(t, none)
	var bad money.Decimal
	require.Error(t, p.QueryRow(ctx, `SELECT 'NaN'::numeric`).Scan(&bad))
}

// 32 batches at once want a third of a bolt each: three get it and nothing is over-reserved.
func TestABoltIsNeverReservedBeyondItsLength(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s := store.New(pool(t))
	id, err := s.AddWorkshop(ctx, "Test room")
	require.NoError(t, err)
	w := fill(ctx, t, bundle{s, id})
	const writers = 32
	var batches [writers]int64
	for i := range batches {
		batches[i], err = s.AddBatch(ctx, id, fmt.Sprint("batch ", i), day(1), nil)
		require.NoError(t, err)
	}
	var group sync.WaitGroup
	outcomes := make(chan error, writers)
	for _, batchID := range batches {
		group.Go(func() {
			outcomes <- s.InTx(ctx, func(tx *store.Store) error { return tx.Reserve(ctx, id, batchID, w.bolt, 5*length.Yard/3) })
		})
	}
	group.Wait()
	close(outcomes)
	got := 0
	for err := range outcomes {
		var fault *store.Fault
		switch {
		case err == nil:
			got++
		case errors.As(err, &fault):
			require.Equal(t, store.Conflict, fault.Kind)
		default:
			require.NoError(t, err)
		}
	}
	require.Equal(t, 3, got)
	bolt, err := s.Bolt(ctx, id, w.bolt)
	require.NoError(t, err)
	require.Equal(t, 3*(5*length.Yard/3), bolt.Reserved)
	require.GreaterOrEqual(t, bolt.Free(), length.Length(0))
}

// What a transaction did is undone when it fails, when it panics, and when its context ends.
func TestTransactionsAreUndone(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s := store.New(pool(t))
	add := func(tx *store.Store, ctx context.Context) error {
		_, err := tx.AddWorkshop(ctx, "undone")
		return err
	}
	boom := errors.New("boom")
	require.ErrorIs(t, s.InTx(ctx, func(tx *store.Store) error { return errors.Join(add(tx, ctx), boom) }), boom)
	require.Panics(t, func() {
		_ = s.InTx(ctx, func(tx *store.Store) error {
			if err := add(tx, ctx); err != nil {
				return err
			}
			panic("boom")
		})
	})
	ending, cancel := context.WithCancel(ctx)
	require.Error(t, s.InTx(ending, func(tx *store.Store) error {
		err := add(tx, ending)
		cancel()
		return err
	}))
	_, err := s.FirstWorkshop(ctx)
	requireFault(t, err, store.NotFound, "", "was not found")
}

func TestMigratingTwiceAtOnceIsFine(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	url := pgtest.URL(t)
	var group sync.WaitGroup
	outcomes := make(chan error, 4)
	for range 4 {
		group.Go(func() {
			p, err := store.Open(ctx, url)
			if err == nil {
				err = store.Migrate(ctx, p)
				p.Close()
			}
			outcomes <- err
		})
	}
	group.Wait()
	close(outcomes)
	for err := range outcomes {
		require.NoError(t, err)
	}
}

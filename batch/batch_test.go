package batch_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

const inch = length.Inch

func starter(t require.TestingT, name string, options map[string]bool) garment.Style {
	for _, s := range garment.Starters() {
		if s.Name == name {
			return s.Style(options)
		}
	}
	require.Fail(t, "no starter", name)
	return garment.Style{}
}

func chart(t require.TestingT, name string) garment.SizeChart {
	for _, c := range garment.ShippedCharts() {
		if c.Name == name {
			return c
		}
	}
	require.Fail(t, "no chart", name)
	return garment.SizeChart{}
}

func monday() time.Time { return time.Date(2030, 1, 7, 0, 0, 0, 0, time.UTC) }

func room() batch.Workroom {
	return batch.Workroom{
		TableLength: 3 * length.Yard, MaxPlies: map[batch.Thickness]int{batch.Thin: 6, batch.Medium: 4, batch.Thick: 2}, Spread: lay.FaceOneWay,
		EndLoss: inch / 2, KeepLength: 12 * inch, CutStep: inch / 8, BuyStep: length.Yard / 8,
		Rates: lay.Rates{
			SetUp: 5 * time.Minute, SpreadPerMetre: 30 * time.Second, CutPerMetre: 27 * time.Second, PerHour: 22_000_000,
		},
		BundleSize: 6, PerBundle: time.Minute, Efficiency: 900, Calendar: batch.Calendar{Minutes: [7]int{0, 360, 360, 360, 360, 360, 0}},
	}
}

func cotton(id int64, name string) batch.Cloth {
	return batch.Cloth{
		ID: id, Name: name, FullWidth: 44 * inch, Selvage: inch, PricePerMetre: 9_000_000, PreWashed: true,
		Nap: batch.NapEitherWay, Thickness: batch.Thin, CanBuy: true,
	}
}

// skirts is a batch of gathered skirts in two cloths.
func skirts(t require.TestingT, quantities map[string]int) batch.Input {
	sizes := chart(t, "Children by height")
	in := batch.Input{
		Name:       "skirts",
		Styles:     []batch.Style{{ID: 1, Style: starter(t, "Gathered skirt", nil), Chart: sizes}},
		Cloths:     []batch.Cloth{cotton(1, "Meadow"), cotton(2, "Slate")},
		Colourways: []batch.Colourway{{ID: 1, Name: "Meadow on slate", Style: 1, Cloths: map[garment.Role]int64{garment.Body: 1, garment.Band: 2, garment.Pocket: 2}, Notions: map[string]int64{"elastic": 1, "thread": 2, "label": 3}}},
		Notions: []batch.Notion{
			{ID: 1, Name: "Elastic", Kind: batch.FromRoll, Rolls: []batch.Roll{{Length: 10 * length.Yard, Count: 1}}, BuyLength: 25 * length.Yard, BuyPrice: 8_750_000},
			{ID: 2, Name: "Thread", Kind: batch.ByLength, BuyLength: 1000 * length.Metre, BuyPrice: 4_600_000},
			{ID: 3, Name: "Label", Kind: batch.ByCount, Count: 5, BuyCount: 100, BuyPrice: 19_000_000},
		},
		Bolts: []batch.Bolt{
			{ID: 1, Cloth: 1, Name: "M1", Lot: "a", Length: 3 * length.Yard, PricePerMetre: 9_000_000},
			{ID: 2, Cloth: 1, Name: "M2", Lot: "b", Length: 2 * length.Yard, PricePerMetre: 9_000_000},
			{ID: 3, Cloth: 2, Name: "S1", Lot: "c", Length: 2 * length.Yard, PricePerMetre: 8_000_000},
		},
		Workroom: room(), Start: monday(),
	}
	for _, size := range sizes.SizeNames() {
		if quantities[size] > 0 {
			in.Lines = append(in.Lines, batch.Line{Order: "1", Customer: "Fair", Due: monday().AddDate(0, 0, 30), Colourway: 1, Size: size, Quantity: quantities[size]})
		}
	}
	return in
}

func quick() batch.Params { return batch.Params{Seed: 1, Iterations: 30, MarkerIterations: 60} }

func makePlan(t require.TestingT, in batch.Input) batch.Plan {
	plan, err := batch.Make(context.Background(), in, quick())
	require.NoError(t, err)
	checkPlan(t, in, plan)
	return plan
}

// checkPlan holds a plan against its orders, piece by piece, apart from the planner.
func checkPlan(t require.TestingT, in batch.Input, plan batch.Plan) {
	wanted := map[string]int{}
	for _, line := range in.Lines {
		wanted[fmt.Sprint(line.Colourway, "/", line.Size)] += line.Quantity
	}
	uncut := map[int]int{}
	for _, u := range plan.Uncut {
		require.NotEmpty(t, u.Reason)
		require.NotEmpty(t, u.Remedy)
		uncut[u.Garment] += u.Quantity
	}
	for i, g := range plan.Garments {
		require.Equal(t, wanted[fmt.Sprint(g.ColourwayID, "/", g.Size)], g.Wanted)
		require.Equal(t, g.Wanted, g.Quantity+uncut[i], "every garment is cut or said to be uncut")
	}
	for _, planned := range plan.Cloths {
		require.NoError(t, lay.VerifyPlan(planned.Problem, planned.Plan))
		checkPieces(t, plan, planned)
		checkShared(t, planned)
	}
	checkBundles(t, plan)
	checkNotions(t, plan)
	var minutes time.Duration
	for _, step := range plan.Steps {
		minutes += step.Minutes
	}
	require.Equal(t, minutes, plan.Minutes)
}

// checkShared holds what the garments bear of a cloth against what its plan takes.
func checkShared(t require.TestingT, planned batch.ClothPlan) {
	taken, err := batch.TakenOf(planned)
	require.NoError(t, err)
	var cloth length.Length
	var minutes time.Duration
	var cost lay.Money
	for _, one := range taken {
		cloth += one.Marker + one.Losses
		minutes += one.SetUp + one.Cutting
		cost += one.Cost
	}
	require.Equal(t, batch.ClothTaken(planned), cloth, "all cloth taken is shared out")
	require.Equal(t, planned.Plan.Work(), minutes, "and all minutes")
	require.Equal(t, planned.Plan.ClothCost, cost, "and all money")
}

// checkPieces counts the pieces of a cloth as they lie in its lays.
func checkPieces(t require.TestingT, plan batch.Plan, planned batch.ClothPlan) {
	cut, want := map[string]int{}, map[string]int{}
	name := func(at int, piece lay.Piece) string {
		return plan.Garments[planned.Garments[at]].Name() + "/" + piece.Name
	}
	for _, l := range planned.Plan.Lays {
		require.NoError(t, marker.Verify(l.Instance, l.Marker))
		for at, n := range l.PerPly {
			for _, piece := range planned.Problem.Garments[at].Pieces {
				cut[name(at, piece)] += n * l.Plies * piece.Copies
			}
		}
	}
	for at, g := range planned.Problem.Garments {
		over := planned.Plan.OverCut[at]
		whole := planned.Parts == nil || planned.Parts[at].Pieces == nil
		for _, piece := range g.Pieces {
			want[name(at, piece)] += over * piece.Copies
			if whole {
				want[name(at, piece)] += plan.Garments[planned.Garments[at]].Quantity * piece.Copies
			}
		}
	}
	for piece, n := range want {
		require.Equal(t, n, cut[piece], "%s of %s", piece, planned.Cloth.Name)
	}
	for piece, n := range cut {
		require.Equal(t, want[piece], n, "%s of %s", piece, planned.Cloth.Name)
	}
}

func checkBundles(t require.TestingT, plan batch.Plan) {
	bundled := map[int]int{}
	fromLay := map[[2]int]int{}
	for number, b := range plan.Bundles {
		require.Equal(t, number+1, b.Number)
		require.LessOrEqual(t, b.Quantity, 6)
		bundled[b.Garment] += b.Quantity
		whole, parts := map[int]int{}, map[int]map[string]int{}
		for _, l := range b.Lays {
			fromLay[[2]int{l.Cloth, l.Lay}] += l.Garments
			if l.Part == "" {
				whole[l.Cloth] += l.Garments
				continue
			}
			if parts[l.Cloth] == nil {
				parts[l.Cloth] = map[string]int{}
			}
			parts[l.Cloth][l.Part] += l.Garments
		}
		for c, planned := range plan.Cloths {
			if !slices.Contains(planned.Garments, b.Garment) {
				continue
			}
			for part, count := range parts[c] {
				require.Equal(t, b.Quantity, whole[c]+count, "a bundle takes all its %s", part)
			}
			if len(parts[c]) == 0 {
				require.Equal(t, b.Quantity, whole[c], "a bundle takes its pieces of every cloth")
			}
		}
	}
	for i, g := range plan.Garments {
		require.Equal(t, g.Quantity, bundled[i])
	}
	for key, count := range fromLay {
		l := plan.Cloths[key[0]].Plan.Lays[key[1]]
		there := 0
		for _, n := range l.PerPly {
			there += n * l.Plies
		}
		require.LessOrEqual(t, count, there)
	}
	requireOneLot(t, plan)
}

func checkNotions(t require.TestingT, plan batch.Plan) {
	for _, n := range plan.Notions {
		if n.Notion.Kind != batch.FromRoll {
			continue
		}
		cut := make([]int, len(n.Problem.Cuts))
		for _, r := range n.Rolls.Rolls {
			left := n.Problem.Stock[r.Stock].Length
			for i, count := range r.Counts {
				cut[i] += count * r.Times
				left -= length.Length(count) * n.Problem.Cuts[i].Length
			}
			require.GreaterOrEqual(t, left, length.Length(0))
		}
		for i, c := range n.Problem.Cuts {
			require.Equal(t, c.Count, cut[i])
		}
	}
}

func TestABatchIsPlannedWhole(t *testing.T) {
	t.Parallel()
	plan := makePlan(t, skirts(t, map[string]int{"98": 4, "104": 6, "110": 5, "116": 3}))
	require.Empty(t, plan.Uncut)
	require.Equal(t, 18, plan.Cut())
	require.NotEmpty(t, plan.Cautions)
	topics := map[string]bool{}
	for _, c := range plan.Cautions {
		topics[c.Topic] = true
		require.NotEmpty(t, c.Source)
	}
	require.Equal(t, map[string]bool{"cutting": true, "sewing": true, "children": true, "selling": true}, topics)

	// 18 elastics of about 20 in don't fit on 10 yd; thread and labels are short, too.
	bought := map[string]int{}
	for _, s := range plan.Shopping {
		bought[s.Name] = s.Count
	}
	require.Equal(t, 1, bought["Elastic"])
	require.Equal(t, 1, bought["Thread"])
	require.Equal(t, 1, bought["Label"])

	// 90 % pace; the calendar has 6 hours on weekdays.
	require.Equal(t, plan.Minutes*1000/900, plan.Worked)
	days := int((plan.Worked + 6*time.Hour - 1) / (6 * time.Hour))
	require.LessOrEqual(t, days, 5)
	require.Equal(t, monday().AddDate(0, 0, days-1), plan.DoneBy)
	require.Empty(t, plan.Late)
}

func TestTheSameBudgetGivesTheSamePlan(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"98": 3, "104": 5, "122": 2})
	first, err := json.Marshal(strip(makePlan(t, in)))
	require.NoError(t, err)
	second, err := json.Marshal(strip(makePlan(t, in)))
	require.NoError(t, err)
	require.JSONEq(t, string(first), string(second))
}

// strip takes out how long the search took.
func strip(plan batch.Plan) batch.Plan {
	for _, planned := range plan.Cloths {
		for i := range planned.Plan.Lays {
			planned.Plan.Lays[i].Marker.Stats.Elapsed = 0
		}
	}
	return plan
}

// common practice, no source: for a 24 in waist half a yard (18 in) of each 44/45 in cloth is
// enough for a whole skirt with panels of 20½ × 14, bands of 20½ × 6 and pockets of 6 × 7 in,
// and no layout needs more. The panels lie side by side on 42 in.
func TestHalfAYardOfEachClothIsEnoughForASkirt(t *testing.T) {
	t.Parallel()
	table := func(width, long length.Length) map[string]garment.Cut {
		return map[string]garment.Cut{"98": {Width: width, Length: long}}
	}
	in := skirts(t, map[string]int{"98": 1})
	piece := func(name string, role garment.Role, width, long length.Length) garment.Piece {
		return garment.Piece{Name: name, Role: role, Copies: 2, Shape: garment.Rectangle, Table: table(width, long), Grain: garment.Lengthwise}
	}
	in.Styles[0].Pieces = []garment.Piece{
		piece("panel", garment.Body, 41*inch/2, 14*inch), piece("band", garment.Band, 41*inch/2, 6*inch), piece("pocket", garment.Pocket, 6*inch, 7*inch),
	}
	in.Bolts, in.Workroom.EndLoss = nil, 0
	for _, nap := range []batch.Nap{batch.NapEitherWay, batch.NapUpAndDown, batch.NapOneWay} {
		for i := range in.Cloths {
			in.Cloths[i].Nap, in.Cloths[i].Directional = nap, nap != batch.NapEitherWay
		}
		plan := makePlan(t, in)
		require.Len(t, plan.Cloths, 2)
		for _, planned := range plan.Cloths {
			require.Equal(t, 42*inch, planned.Cloth.UsableWidth())
			require.LessOrEqual(t, planned.Plan.Purchases[0].Need, 18*inch)
			require.LessOrEqual(t, planned.Plan.Purchases[0].Buy, length.Yard/2)
		}
		body := plan.Cloths[0].Plan.Lays[0].Marker
		require.Equal(t, 14*inch, body.Length)
		require.Equal(t, body.Placements[0].Y, body.Placements[1].Y, "side by side")
		// Bands one above the other, pockets beside them.
		require.Equal(t, 12*inch, plan.Cloths[1].Plan.Lays[0].Marker.Length)
	}
}

// common practice, no source: on a one-way print the panels and the folded band both read
// upright when worn, so nothing is turned. Quarter turns are for cloth that looks the same
// both ways and pieces of any grain.
func TestPrintsReadUpright(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name        string
		grain       garment.Grain
		nap         batch.Nap
		directional bool
		want        []marker.Turn
	}{
		{"one-way print, lengthwise", garment.Lengthwise, batch.NapOneWay, true, []marker.Turn{0}},
		{"one-way print, any grain", garment.AnyGrain, batch.NapOneWay, true, []marker.Turn{0}},
		{"one-way pile, any grain", garment.AnyGrain, batch.NapOneWay, false, []marker.Turn{0}},
		{"one-way, crosswise keeps one side", garment.Crosswise, batch.NapOneWay, true, []marker.Turn{90}},
		{"two-way print, lengthwise", garment.Lengthwise, batch.NapEitherWay, true, []marker.Turn{0, 180}},
		{"stripe, any grain", garment.AnyGrain, batch.NapEitherWay, true, []marker.Turn{0, 180}},
		{"up and down", garment.Lengthwise, batch.NapUpAndDown, true, []marker.Turn{0, 180}},
		{"solid, lengthwise", garment.Lengthwise, batch.NapEitherWay, false, []marker.Turn{0, 180}},
		{"solid, any grain", garment.AnyGrain, batch.NapEitherWay, false, []marker.Turn{0, 180, 90, 270}},
		{"solid, crosswise", garment.Crosswise, batch.NapEitherWay, false, []marker.Turn{90, 270}},
		{"solid, bias", garment.Bias, batch.NapEitherWay, false, []marker.Turn{0, 180, 90, 270}},
		{"stripe, bias", garment.Bias, batch.NapEitherWay, true, []marker.Turn{0, 180}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.want, batch.Turns(test.grain, test.nap, test.directional))
		})
	}
	in := skirts(t, map[string]int{"98": 3, "110": 4})
	for i := range in.Cloths {
		in.Cloths[i].Nap, in.Cloths[i].Directional = batch.NapOneWay, true
	}
	for _, planned := range makePlan(t, in).Cloths {
		for _, l := range planned.Plan.Lays {
			for _, p := range l.Marker.Placements {
				require.Zero(t, p.Turn)
			}
		}
	}
}

// A garment that one cloth can't give is not cut from the others either, and the rest is.
func TestWhatCannotBeCutIsSaidAndTheRestIsPlanned(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name          string
		spoil         func(*batch.Input)
		cloth, reason string
		uncut         int
	}{
		{"panel wider than the cloth", func(in *batch.Input) {
			in.Cloths[0].FullWidth = 19 * inch
		}, "Meadow", "wider than the usable width", 3},
		{"nothing on the shelf and nothing to buy", func(in *batch.Input) {
			in.Cloths[1].CanBuy, in.Bolts = false, in.Bolts[:2]
		}, "Slate", "", 7},
		{"table too short", func(in *batch.Input) {
			in.Workroom.TableLength = 16 * inch
		}, "Meadow", "table", 3},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in := skirts(t, map[string]int{"98": 4, "158": 3})
			test.spoil(&in)
			plan := makePlan(t, in)
			total := 0
			for _, u := range plan.Uncut {
				total += u.Quantity
				require.Equal(t, test.cloth, u.Cloth)
				require.Contains(t, u.Reason, test.reason)
			}
			require.Equal(t, test.uncut, total)
			require.Equal(t, 7-test.uncut, plan.Cut())
		})
	}
}

func TestInputThatMakesNoSense(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name         string
		spoil        func(*batch.Input)
		field, wants string
	}{
		{"no lines", func(in *batch.Input) { in.Lines = nil }, "lines", "at least one"},
		{"nothing wanted", func(in *batch.Input) { in.Lines[0].Quantity = 0 }, "lines[0].quantity", "at least 1"},
		{"unknown size", func(in *batch.Input) { in.Lines[0].Size = "7" }, "lines[0].size", "not a size of the chart"},
		{"colourway gone", func(in *batch.Input) { in.Lines[0].Colourway = 9 }, "lines[0].colourway", "gone"},
		{"no cloth for the band", func(in *batch.Input) { delete(in.Colourways[0].Cloths, garment.Band) }, "colourways[Meadow on slate].band", "choose a cloth for the band"},
		{"no elastic", func(in *batch.Input) { delete(in.Colourways[0].Notions, "elastic") }, "colourways[Meadow on slate].elastic", "choose the elastic"},
		{"elastic longer than any roll", func(in *batch.Input) {
			in.Notions[0].BuyLength, in.Notions[0].Rolls = 5*inch, nil
		}, "notions[Elastic]", "longer than any roll"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			in := skirts(t, map[string]int{"98": 1})
			test.spoil(&in)
			_, err := batch.Make(context.Background(), in, quick())
			var wrong *batch.InputError
			require.ErrorAs(t, err, &wrong)
			require.Equal(t, test.field, wrong.Field)
			require.Contains(t, wrong.Message, test.wants)
		})
	}
}

// Left and right pieces come out in equal numbers, one outline the mirror of the other.
func TestPairsComeOutLeftAndRight(t *testing.T) {
	t.Parallel()
	in := skirts(t, nil)
	in.Styles[0] = batch.Style{ID: 1, Style: starter(t, "Pull-on shorts", nil), Chart: chart(t, "Women by number")}
	in.Lines = []batch.Line{{Order: "1", Colourway: 1, Size: "12", Quantity: 3}}
	in.Cloths[0].FullWidth = 58 * inch
	plan := makePlan(t, in)
	pieces := plan.Cloths[0].Problem.Garments[0].Pieces
	require.Len(t, pieces, 2)
	require.Equal(t, []int{1, 1}, []int{pieces[0].Copies, pieces[1].Copies})
	up, err := batch.OutlineArea(pieces[0].Outline)
	require.NoError(t, err)
	down, err := batch.OutlineArea(pieces[1].Outline)
	require.NoError(t, err)
	require.Equal(t, up, down)
	require.NotEqual(t, pieces[0].Outline, pieces[1].Outline)
}

func TestACancelledBatchKeepsWhatThereIs(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	params := quick()
	params.Iterations = 100_000
	params.Progress = func(batch.Progress) { cancel() }
	in := skirts(t, map[string]int{"86": 5, "98": 7, "104": 9, "110": 8, "122": 6, "134": 3})
	plan, err := batch.Make(ctx, in, params)
	require.NoError(t, err)
	require.True(t, plan.Stopped)
	checkPlan(t, in, plan)

	dead, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = batch.Make(dead, in, quick())
	require.ErrorIs(t, err, context.Canceled)
}

func TestProgressRises(t *testing.T) {
	t.Parallel()
	params := quick()
	last := -1.0
	params.Progress = func(p batch.Progress) {
		require.GreaterOrEqual(t, p.Share, last)
		require.NotEmpty(t, p.Message)
		last = p.Share
	}
	_, err := batch.Make(context.Background(), skirts(t, map[string]int{"98": 5, "110": 5}), params)
	require.NoError(t, err)
	require.InDelta(t, 1, last, 1e-9)
}

func TestOrdersThatComeTooLateAreNamed(t *testing.T) {
	t.Parallel()
	in := skirts(t, map[string]int{"98": 30, "110": 5})
	in.Lines[0].Order, in.Lines[0].Due = "early", monday()
	plan := makePlan(t, in)
	require.Len(t, plan.Late, 1)
	require.Equal(t, "early", plan.Late[0].Order)
	require.Equal(t, int(plan.DoneBy.Sub(monday()).Hours())/24, plan.Late[0].Days)
}

func TestCalendar(t *testing.T) {
	t.Parallel()
	c := batch.Calendar{Minutes: [7]int{0, 60, 60, 60, 60, 60, 0}, Off: []time.Time{monday().AddDate(0, 0, 2)}}
	for _, test := range []struct {
		name string
		work time.Duration
		want int // days after Monday
	}{
		{"nothing", 0, 0},
		{"part of a day", time.Hour / 2, 0},
		{"just a day", time.Hour, 0},
		{"a minute more", 61 * time.Minute, 1},
		{"over the day off", 3 * time.Hour, 3},
		{"over the weekend", 5 * time.Hour, 7},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			day, ok := c.DoneBy(monday(), test.work)
			require.True(t, ok)
			require.Equal(t, monday().AddDate(0, 0, test.want), day)
		})
	}
	_, ok := batch.Calendar{}.DoneBy(monday(), time.Minute)
	require.False(t, ok, "a calendar without work never ends")
	require.Equal(t, 4*60, c.Between(monday(), monday().AddDate(0, 0, 6)))
}

// The US extension yardage chart (attribution from memory; figures of testdata/trade, read in
// two copies). It prints eighths of a yard, so each figure may be a sixteenth off; a
// conversion by area must lie within what the chart's own rows then span, for each two widths.
func TestYardageConversionLiesWithinTheChart(t *testing.T) {
	t.Parallel()
	file, err := os.Open("../testdata/trade/fabric-width-conversion-yards.csv")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, file.Close()) })
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	checked := 0
	for from, fromName := range rows[0] {
		for to, toName := range rows[0] {
			fromWidths, toWidths := chartWidths(fromName), chartWidths(toName)
			if from == to || fromWidths == nil || toWidths == nil {
				continue
			}
			least, most := 1e9, 0.0
			for _, row := range rows[1:] {
				a, b := number(t, row[from]), number(t, row[to])
				least, most = min(least, (b-1.0/16)/(a+1.0/16)), max(most, (b+1.0/16)/(a-1.0/16))
			}
			for _, fromWidth := range fromWidths {
				for _, toWidth := range toWidths {
					got, err := batch.AtWidth(length.Yard, length.Length(fromWidth)*inch, length.Length(toWidth)*inch)
					require.NoError(t, err)
					ratio := float64(got) / float64(length.Yard)
					require.GreaterOrEqual(t, ratio, least, "%s to %s", fromName, toName)
					require.LessOrEqual(t, ratio, most, "%s to %s", fromName, toName)
					checked++
				}
			}
		}
	}
	require.Greater(t, checked, 100)
}

// chartWidths reads the widths of a column such as w44_45; nil for other columns.
func chartWidths(name string) []int {
	digits, ok := strings.CutPrefix(name, "w")
	if !ok {
		return nil
	}
	var widths []int
	for _, part := range strings.Split(digits, "_") {
		width, err := strconv.Atoi(part)
		if err != nil {
			return nil
		}
		widths = append(widths, width)
	}
	return widths
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return value
}

// Worked by hand. A takes twice the cloth of B. A lies alone in the first lay, on a bolt with a fault
// that 4 in are lost to; both lie in the second, of which two plies are cut from a bolt that leaves
// 6 in, too short to keep, and one from cloth to buy.
func TestALayIsSharedAmongThoseInIt(t *testing.T) {
	t.Parallel()
	piece := func(long length.Length) []lay.Piece {
		return []lay.Piece{{Copies: 1, Width: 10 * inch, Length: long}}
	}
	planned := batch.ClothPlan{Garments: []int{0, 1}}
	planned.Problem.Garments = []lay.Garment{{Quantity: 5, Pieces: piece(20 * inch)}, {Quantity: 3, Pieces: piece(10 * inch)}}
	planned.Plan = lay.Plan{
		Lays: []lay.Lay{
			{PerPly: []int{1, 0}, Plies: 2, PlyLength: 42 * inch, Marker: marker.Result{Marker: marker.Marker{Length: 40 * inch}}, Draws: []lay.Draw{{Bolt: 0, Plies: 2}}, SetUp: 5 * time.Minute, Spread: time.Minute, Cut: 2 * time.Minute},
			{PerPly: []int{1, 1}, Plies: 3, PlyLength: 32 * inch, Marker: marker.Result{Marker: marker.Marker{Length: 30 * inch}}, Draws: []lay.Draw{{Bolt: 1, Plies: 2}, {Bolt: -1, Plies: 1}}, SetUp: 6 * time.Minute, Spread: time.Minute, Cut: 2 * time.Minute},
		},
		Uses:      []lay.BoltUse{{Bolt: 0, Used: 88 * inch, Left: 30 * inch, Keep: true, Cost: 880}, {Bolt: 1, Used: 64 * inch, Left: 6 * inch, Cost: 1400}},
		Purchases: []lay.Purchase{{Need: 32 * inch, Buy: 36 * inch, Cost: 720}},
		ClothCost: 880 + 1400 + 720,
	}
	taken, err := batch.TakenOf(planned)
	require.NoError(t, err)
	require.Len(t, taken, 2)
	a, b := taken[0], taken[1]
	require.Equal(t, 80*inch+60*inch, a.Marker, "the first lay, and two thirds of the second")
	require.Equal(t, 30*inch, b.Marker, "a third of the second lay")
	require.Equal(t, 4*inch+4*inch+8*inch, a.Losses, "ends and fault of the first; two thirds of 6 in ends and 6 in rest")
	require.Equal(t, 4*inch, b.Losses)
	require.Equal(t, lay.Money(880+933+480), a.Cost, "each bolt counts for those cut from it")
	require.Equal(t, lay.Money(467+240), b.Cost)
	require.Equal(t, [2]time.Duration{9 * time.Minute, 5 * time.Minute}, [2]time.Duration{a.SetUp, a.Cutting})
	require.Equal(t, [2]time.Duration{2 * time.Minute, time.Minute}, [2]time.Duration{b.SetUp, b.Cutting})

	shares, err := batch.SharesOfLay(planned, planned.Plan.Lays[1])
	require.NoError(t, err)
	require.Len(t, shares, 2)
	require.InDelta(t, 2.0/3, shares[0].Share, 1e-12)
	require.Equal(t, 3, shares[0].Garments)
}

// A usual batch shares out all cloth and all minutes of its lays, each among the sizes in it. A size
// that is offered and not in it bears what as much area of the others does.
func TestUsualUse(t *testing.T) {
	t.Parallel()
	in := skirts(t, nil)
	counts := map[string]int{"86": 2, "98": 2, "110": 2, "134": 2, "116": 0}
	usual, err := batch.PlanUsual(context.Background(), in, 1, counts, quick())
	require.NoError(t, err)
	require.Equal(t, 8, usual.Garments)
	var work, shared time.Duration
	for c, planned := range usual.Plans {
		work += planned.Plan.Work()
		var laid, each, all length.Length
		for _, l := range planned.Plan.Lays {
			laid += l.PlyLength * length.Length(l.Plies)
		}
		share := usual.Shares[c]
		require.Equal(t, laid, share.Markers+share.Losses)
		require.Len(t, share.Sizes, 5)
		for _, size := range share.Sizes {
			use := usual.Uses[size.Size][c]
			each += length.Length(size.Garments) * (use.Marker + use.Losses)
			if size.Garments > 0 {
				all += size.Marker + size.Losses
			}
		}
		require.Equal(t, laid, all, "to the last unit")
		require.GreaterOrEqual(t, each, laid)
		require.Less(t, each, laid+100, "one garment's is rounded up by single units only")
		for _, l := range planned.Plan.Lays {
			parts, err := batch.SharesOfLay(planned, l)
			require.NoError(t, err)
			if len(parts) != 1 {
				continue
			}
			size := usual.Kinds[parts[0].Garment]
			if parts[0].Garments == size.Quantity {
				require.Equal(t, l.PlyLength*length.Length(l.Plies)/length.Length(size.Quantity), usual.Uses[size.Size][c].Marker+usual.Uses[size.Size][c].Losses, "%s lies alone in its lay and bears all of it", size.Size)
			}
		}
		rare := usual.Uses["116"][c]
		require.Greater(t, rare.Marker, usual.Shares[c].Markers/20, "a rare size takes cloth too")
		require.Less(t, rare.Marker, usual.Shares[c].Markers/4)
	}
	for size, own := range usual.Work {
		require.Equal(t, max(1, counts[size]), own.Garments)
		require.Positive(t, own.SetUp)
		if counts[size] > 0 {
			shared += own.SetUp + own.Cutting
			require.Equal(t, time.Minute, own.Bundling, "a bundle of its own")
		}
	}
	require.Equal(t, work, shared)
	require.Equal(t, garment.Body, usual.Uses["98"][0].Role)
	require.Equal(t, garment.Band, usual.Uses["98"][1].Role)

	in.Cloths[0].FullWidth = 10 * inch
	_, err = batch.PlanUsual(context.Background(), in, 1, counts, quick())
	var wrong *batch.InputError
	require.ErrorAs(t, err, &wrong)
	require.Contains(t, wrong.Message, "wider than the usable width")
}

// Whatever is ordered: everything is accounted for, in every cloth, to the last piece.
func TestEveryBatchAccountsForEveryGarment(t *testing.T) {
	t.Parallel()
	sizes := chart(t, "Children by height").SizeNames()
	rapid.Check(t, func(t *rapid.T) {
		quantities := map[string]int{}
		for range rapid.IntRange(1, 5).Draw(t, "sizes") {
			quantities[rapid.SampledFrom(sizes).Draw(t, "size")] = rapid.IntRange(1, 9).Draw(t, "quantity")
		}
		in := skirts(t, quantities)
		for i := range in.Cloths {
			in.Cloths[i].CanBuy = rapid.Bool().Draw(t, "can buy")
			in.Cloths[i].Nap = rapid.SampledFrom([]batch.Nap{batch.NapEitherWay, batch.NapOneWay, batch.NapUpAndDown}).Draw(t, "nap")
			in.Cloths[i].FullWidth = length.Length(rapid.IntRange(20, 60).Draw(t, "width")) * inch
			in.Cloths[i].PreWashed = rapid.Bool().Draw(t, "washed")
			in.Cloths[i].Shrink = garment.Shrinkage{Lengthwise: rapid.IntRange(0, 800).Draw(t, "shrink")}
		}
		in.Workroom.TableLength = length.Length(rapid.IntRange(10, 120).Draw(t, "table")) * inch
		in.Workroom.StraightCuts = rapid.Bool().Draw(t, "straight")
		params := quick()
		params.Iterations, params.MarkerIterations = 5, 10
		plan, err := batch.Make(context.Background(), in, params)
		require.NoError(t, err)
		checkPlan(t, in, plan)
	})
}

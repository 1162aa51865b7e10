package roll_test

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
	"yardwright/batch/roll"
)

const cm = length.Centimetre

func TestSolve(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name    string
		problem roll.Problem
		opened  int
		length  length.Length
		left    length.Length
		unmet   []int
		status  roll.Status
	}{
		{
			name: "the design's example: 12 × 48.5 cm from 10 m rolls leaves 418 cm",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 1000 * cm, Count: 3}},
				Cuts:  []roll.Cut{{Length: 48*cm + cm/2, Count: 12}},
			},
			opened: 1, length: 1000 * cm, left: 418 * cm, status: roll.StatusOptimal,
		},
		{
			name: "the waste comes together in one roll",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 100 * cm}},
				Cuts:  []roll.Cut{{Length: 50 * cm, Count: 1}, {Length: 40 * cm, Count: 1}, {Length: 30 * cm, Count: 1}, {Length: 20 * cm, Count: 1}},
			},
			opened: 2, length: 200 * cm, left: 60 * cm, status: roll.StatusOptimal,
		},
		{
			name: "a remnant and a roll open less than two rolls",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 1000 * cm}, {Length: 300 * cm, Count: 1}},
				Cuts:  []roll.Cut{{Length: 60 * cm, Count: 20}},
			},
			opened: 2, length: 1300 * cm, left: 100 * cm, status: roll.StatusOptimal,
		},
		{
			name: "what the stock cannot hold is unmet, the longest kept",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 100 * cm, Count: 1}},
				Cuts:  []roll.Cut{{Length: 60 * cm, Count: 1}, {Length: 50 * cm, Count: 3}, {Length: 120 * cm, Count: 2}},
			},
			opened: 1, length: 100 * cm, unmet: []int{1, 1, 2}, status: roll.StatusShort,
		},
		{
			name: "each cut but the last loses the kerf",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 102 * cm}}, Kerf: cm,
				Cuts: []roll.Cut{{Length: 33*cm + cm/3, Count: 3}},
			},
			opened: 1, length: 102 * cm, left: 0, status: roll.StatusOptimal,
		},
		{
			name: "an exact fit needs no last cut",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 101 * cm}}, Kerf: cm,
				Cuts: []roll.Cut{{Length: 50 * cm, Count: 2}},
			},
			opened: 1, length: 101 * cm, left: 0, status: roll.StatusOptimal,
		},
		{
			name: "nothing asked for",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 101 * cm}},
				Cuts:  []roll.Cut{{Length: 50 * cm}},
			},
			status: roll.StatusOptimal,
		},
		{
			name: "rolls on the shelf are taken before rolls to buy",
			problem: roll.Problem{
				Stock: []roll.Stock{{Length: 100 * cm}, {Length: 100 * cm, Count: 2}},
				Cuts:  []roll.Cut{{Length: 90 * cm, Count: 3}},
			},
			opened: 3, length: 300 * cm, left: 10 * cm, status: roll.StatusOptimal,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			plan, err := roll.Solve(context.Background(), tt.problem, roll.Params{Seed: 1})
			require.NoError(t, err)
			require.NoError(t, roll.Verify(tt.problem, plan))
			require.Equal(t, tt.opened, plan.Opened)
			require.Equal(t, tt.length, plan.OpenedLength)
			require.Equal(t, tt.left, plan.LongestLeft)
			require.Equal(t, tt.unmet, plan.Unmet)
			require.Equal(t, tt.status, plan.Status)
		})
	}
}

func TestSolveOpensShelfRollsFirst(t *testing.T) {
	t.Parallel()
	problem := roll.Problem{
		Stock: []roll.Stock{{Length: 100 * cm}, {Length: 100 * cm, Count: 2}},
		Cuts:  []roll.Cut{{Length: 90 * cm, Count: 3}},
	}
	plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 1})
	require.NoError(t, err)
	opened := map[int]int{}
	for _, r := range plan.Rolls {
		opened[r.Stock] += r.Times
	}
	require.Equal(t, map[int]int{0: 1, 1: 2}, opened)
}

func TestSolveAfterTheEnd(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := roll.Solve(ctx, roll.Problem{}, roll.Params{})
	require.ErrorIs(t, err, context.Canceled)
}

// fewest finds the fewest equal rolls by trying everything; an oracle for small problems that
// shares no code with the solver.
func fewest(capacity int, pieces []int, rolls []int, best int) int {
	if len(rolls) >= best {
		return best
	}
	if len(pieces) == 0 {
		return len(rolls)
	}
	for i, left := range rolls {
		if left >= pieces[0] {
			rolls[i] -= pieces[0]
			best = fewest(capacity, pieces[1:], rolls, best)
			rolls[i] += pieces[0]
		}
	}
	return fewest(capacity, pieces[1:], append(rolls, capacity-pieces[0]), best)
}

// longestEnd finds the longest leftover with that many rolls, by trying everything.
func longestEnd(pieces []int, rolls []int, opened int, capacity int) int {
	if len(pieces) == 0 {
		longest := 0
		for _, left := range rolls {
			longest = max(longest, left)
		}
		return longest
	}
	longest := -1
	for i, left := range rolls {
		if left >= pieces[0] {
			rolls[i] -= pieces[0]
			longest = max(longest, longestEnd(pieces[1:], rolls, opened, capacity))
			rolls[i] += pieces[0]
		}
	}
	if len(rolls) < opened {
		longest = max(longest, longestEnd(pieces[1:], append(rolls, capacity-pieces[0]), opened, capacity))
	}
	return longest
}

func TestSolveAgainstTryingEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		capacity := rapid.IntRange(5, 40).Draw(t, "capacity")
		pieces := rapid.SliceOfN(rapid.IntRange(1, capacity), 1, 8).Draw(t, "pieces")
		problem := roll.Problem{Stock: []roll.Stock{{Length: length.Length(capacity) * cm}}}
		for _, p := range pieces {
			problem.Cuts = append(problem.Cuts, roll.Cut{Length: length.Length(p) * cm, Count: 1})
		}
		plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 7})
		require.NoError(t, err)
		require.NoError(t, roll.Verify(problem, plan))
		want := fewest(capacity, pieces, nil, len(pieces)+1)
		require.Equal(t, want, plan.Opened)
		require.LessOrEqual(t, plan.Bound, want)
		end := length.Length(longestEnd(pieces, nil, want, capacity)) * cm
		require.LessOrEqual(t, plan.LongestLeft, end)
		if plan.LeftoverProven {
			require.Equal(t, end, plan.LongestLeft)
		}
	})
}

// leastLength finds the least total length of rolls of a stock that holds all pieces, or -1.
func leastLength(pieces, opened, left, stock []int, cost, best int) int {
	if best >= 0 && cost >= best {
		return best
	}
	if len(pieces) == 0 {
		return cost
	}
	for i := range opened {
		if left[i] >= pieces[0] {
			left[i] -= pieces[0]
			best = leastLength(pieces[1:], opened, left, stock, cost, best)
			left[i] += pieces[0]
		}
	}
	for i, l := range stock {
		if l < pieces[0] {
			continue
		}
		rest := append(append([]int(nil), stock[:i]...), stock[i+1:]...)
		best = leastLength(pieces[1:], append(append([]int(nil), opened...), l), append(append([]int(nil), left...), l-pieces[0]), rest, cost+l, best)
	}
	return best
}

func TestSolveUnequalStockAgainstTryingEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		stock := rapid.SliceOfN(rapid.IntRange(5, 30), 1, 4).Draw(t, "stock")
		pieces := rapid.SliceOfN(rapid.IntRange(1, 30), 1, 6).Draw(t, "pieces")
		problem := roll.Problem{}
		for _, l := range stock {
			problem.Stock = append(problem.Stock, roll.Stock{Length: length.Length(l) * cm, Count: 1})
		}
		for _, p := range pieces {
			problem.Cuts = append(problem.Cuts, roll.Cut{Length: length.Length(p) * cm, Count: 1})
		}
		plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 7})
		require.NoError(t, err)
		require.NoError(t, roll.Verify(problem, plan))
		want := leastLength(pieces, nil, nil, stock, 0, -1)
		if want < 0 {
			require.Equal(t, roll.StatusShort, plan.Status)
			return
		}
		require.Nil(t, plan.Unmet)
		require.Equal(t, length.Length(want)*cm, plan.OpenedLength)
		require.LessOrEqual(t, plan.BoundLength, plan.OpenedLength)
	})
}

func anyProblem(t *rapid.T) roll.Problem {
	p := roll.Problem{Kerf: length.Length(rapid.IntRange(0, 3).Draw(t, "kerf")) * length.Millimetre}
	for range rapid.IntRange(1, 4).Draw(t, "stocks") {
		p.Stock = append(p.Stock, roll.Stock{
			Length: length.Length(rapid.Int64Range(1, 2_000_000).Draw(t, "stock")) * 1000,
			Count:  rapid.IntRange(0, 6).Draw(t, "count"),
		})
	}
	for range rapid.IntRange(1, 12).Draw(t, "cuts") {
		p.Cuts = append(p.Cuts, roll.Cut{
			Length: length.Length(rapid.Int64Range(1, 1_000_000_000).Draw(t, "cut")),
			Count:  rapid.IntRange(0, 20).Draw(t, "count"),
		})
	}
	return p
}

// Whatever the stock, the plan passes its check, and the same seed gives the same plan.
func TestSolveHoldsItsInvariants(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		params := roll.Params{Seed: rapid.Uint64().Draw(t, "seed"), Iterations: 30}
		plan, err := roll.Solve(context.Background(), p, params)
		require.NoError(t, err)
		require.NoError(t, roll.Verify(p, plan))
		again, err := roll.Solve(context.Background(), p, params)
		require.NoError(t, err)
		require.Equal(t, plan, again)
	})
}

func TestVerifyFindsFaults(t *testing.T) {
	t.Parallel()
	problem := roll.Problem{
		Stock: []roll.Stock{{Length: 100 * cm, Count: 1}, {Length: 50 * cm}},
		Cuts:  []roll.Cut{{Length: 30 * cm, Count: 4}},
	}
	good := func() roll.Plan {
		return roll.Plan{
			Rolls:  []roll.Roll{{Stock: 0, Counts: []int{3}, Times: 1, Left: 10 * cm}, {Stock: 1, Counts: []int{1}, Times: 1, Left: 20 * cm}},
			Opened: 2, OpenedLength: 150 * cm, Bound: 2, BoundLength: 150 * cm, LongestLeft: 20 * cm, Status: roll.StatusOptimal,
		}
	}
	require.NoError(t, roll.Verify(problem, good()))
	tests := []struct {
		name string
		harm func(*roll.Plan)
		want string
	}{
		{"too much on a roll", func(p *roll.Plan) { p.Rolls[1].Counts[0] = 2 }, "roll 2: needs"},
		{"leftover", func(p *roll.Plan) { p.Rolls[0].Left = 0 }, "leftover"},
		{"a stock twice", func(p *roll.Plan) { p.Rolls[0].Times = 2 }, "2 rolls opened of 1"},
		{"no such stock", func(p *roll.Plan) { p.Rolls[0].Stock = 2 }, "there is no stock"},
		{"a cut missing", func(p *roll.Plan) { p.Rolls[0].Counts[0] = 2; p.Rolls[0].Left = 40 * cm; p.LongestLeft = 40 * cm }, "cut 1: 3 cut"},
		{"sum", func(p *roll.Plan) { p.Opened = 3 }, "3 rolls opened"},
		{"bound", func(p *roll.Plan) { p.Bound = 3 }, "above the plan"},
		{"not proven", func(p *roll.Plan) { p.BoundLength = 100 * cm }, "called optimal"},
		{"short", func(p *roll.Plan) { p.Status = roll.StatusShort }, "status"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			plan := good()
			tt.harm(&plan)
			require.ErrorContains(t, roll.Verify(problem, plan), tt.want)
		})
	}
}

func TestReadProblem(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name, text, want string
	}{
		{"unit", `{"stock":[{"length":1}],"cuts":[]}`, "unit: give the unit"},
		{"length of stock", `{"unit":"cm","stock":[{"length":-1}],"cuts":[{"length":1,"count":1}]}`, "stock[0].length"},
		{"length missing", `{"unit":"cm","stock":[{"count":1}],"cuts":[{"length":1,"count":1}]}`, "stock[0].length: the length is missing"},
		{"count", `{"unit":"cm","stock":[{"length":1}],"cuts":[{"length":1,"count":-1}]}`, "cuts[0].count"},
		{"count of a kind", "{\"unit\":\"cm\",\n\"stock\":[{\"length\":1}],\n\"cuts\":[{\"length\":1,\"count\":1.5}]}", "cuts.count: line 3: a number 1.5 stands here where a whole number"},
		{"typing error", "{\"unit\":\"cm\",\n\"stok\":[]}", `line 2: unknown field "stok"`},
		{"syntax", "{\"unit\":\"cm\",\n\"stock\":[}", "line 2: not valid JSON"},
		{"too early", `{"unit":"cm",`, "line 1: "},
		{"empty", ``, "line 1: the file ends too early"},
		{"more", `{"unit":"cm","stock":[{"length":1}],"cuts":[{"length":1,"count":1}]} {}`, "more after the end"},
		{"kerf", `{"unit":"cm","kerf":-1,"stock":[{"length":1}],"cuts":[{"length":1,"count":1}]}`, "kerf"},
		{"no cuts", `{"unit":"cm","stock":[{"length":1}]}`, "cuts: name at least one"},
		{"huge exponent", `{"unit":"cm","stock":[{"length":1e300}],"cuts":[{"length":1,"count":1}]}`, "stock[0].length"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, _, err := roll.ReadProblem(strings.NewReader(tt.text))
			require.ErrorContains(t, err, tt.want)
			var input *roll.InputError
			require.ErrorAs(t, err, &input)
		})
	}
}

func TestReadSolveWrite(t *testing.T) {
	t.Parallel()
	text := `{"unit":"cm","stock":[{"length":1000,"count":3}],"cuts":[{"length":48.5,"count":12,"name":"size 98"}]}`
	problem, unit, err := roll.ReadProblem(strings.NewReader(text))
	require.NoError(t, err)
	plan, err := roll.Solve(context.Background(), problem, roll.Params{Seed: 1})
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, roll.WritePlan(&out, problem, unit, plan))
	require.JSONEq(t, `{"unit":"cm","rolls":[{"stock":0,"length":1000,"cuts":[{"cut":0,"count":12,"name":"size 98"}],"left":418}],
		"opened":1,"opened_length":1000,"longest_left":418,"leftover_proven":true,"bound":1,"bound_length":1000,"status":"optimal","seed":1}`, out.String())
}

func FuzzReadProblem(f *testing.F) {
	f.Add(`{"unit":"cm","kerf":0.1,"stock":[{"length":1000,"count":3}],"cuts":[{"length":48.5,"count":12,"name":"size 98"}]}`)
	f.Add(`{"unit":"in","stock":[{"length":1e3}],"cuts":[{"length":1,"count":0}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		problem, _, err := roll.ReadProblem(strings.NewReader(text))
		if err == nil {
			require.NoError(t, problem.Check())
		}
	})
}

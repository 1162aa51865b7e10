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

// byHand is the best plan of a small problem, found by trying everything.
type byHand struct{ unmet, opened, left length.Length }

func (a byHand) better(b byHand) bool {
	if a.unmet != b.unmet {
		return a.unmet < b.unmet
	}
	if a.opened != b.opened {
		return a.opened < b.opened
	}
	return a.left > b.left
}

// handRoll is a roll that may be opened: what is cut from it so far, kerfs included.
type handRoll struct{ length, used length.Length }

// tryEverything puts each piece into each roll or leaves it unmet; an oracle that shares no
// code with the solver. Of unopened rolls of one length only the first is tried.
func tryEverything(p roll.Problem) byHand {
	var pieces []length.Length
	for _, c := range p.Cuts {
		for range c.Count {
			pieces = append(pieces, c.Length)
		}
	}
	var rolls []handRoll
	for _, s := range p.Stock {
		n := s.Count
		if n == 0 {
			n = len(pieces)
		}
		for range n {
			rolls = append(rolls, handRoll{length: s.Length})
		}
	}
	best := byHand{unmet: 1 << 60}
	var place func(at int, now byHand)
	place = func(at int, now byHand) {
		if now.unmet > best.unmet || now.unmet == best.unmet && now.opened > best.opened {
			return
		}
		if at == len(pieces) {
			for _, r := range rolls {
				if r.used > 0 {
					now.left = max(now.left, r.length-r.used)
				}
			}
			if now.better(best) {
				best = now
			}
			return
		}
		tried := map[length.Length]bool{}
		for i := range rolls {
			r := &rolls[i]
			if r.used+pieces[at] > r.length-p.End || r.used == 0 && tried[r.length] {
				continue
			}
			before, with := *r, now
			if r.used == 0 {
				tried[r.length] = true
				with.opened += r.length
			}
			r.used += pieces[at] + p.Kerf
			place(at+1, with)
			*r = before
		}
		now.unmet += pieces[at]
		place(at+1, now)
	}
	place(0, byHand{})
	return best
}

func smallProblem(t *rapid.T) roll.Problem {
	p := roll.Problem{Kerf: length.Length(rapid.IntRange(0, 1).Draw(t, "kerf")) * cm, End: length.Length(rapid.SampledFrom([]int{0, 0, 1, 7}).Draw(t, "end")) * cm}
	for range rapid.IntRange(1, 4).Draw(t, "stocks") {
		p.Stock = append(p.Stock, roll.Stock{
			Length: length.Length(rapid.IntRange(5, 30).Draw(t, "stock")) * cm,
			Count:  rapid.SampledFrom([]int{1, 1, 2, 0}).Draw(t, "count"),
		})
	}
	for range rapid.IntRange(1, 6).Draw(t, "cuts") {
		p.Cuts = append(p.Cuts, roll.Cut{Length: length.Length(rapid.IntRange(1, 30).Draw(t, "cut")) * cm, Count: 1})
	}
	return p
}

// requireBest checks a plan against trying everything: nothing less can stay unmet, nothing
// less be opened, no longer end be left, and all of it is proven.
func requireBest(t require.TestingT, p roll.Problem) {
	plan, err := roll.Solve(context.Background(), p, roll.Params{Seed: 7})
	require.NoError(t, err)
	require.NoError(t, roll.Verify(p, plan))
	want := tryEverything(p)
	unmet := length.Length(0)
	for c, n := range plan.Unmet {
		unmet += p.Cuts[c].Length * length.Length(n)
	}
	require.Equal(t, want.unmet, unmet)
	if want.unmet > 0 {
		require.Equal(t, roll.StatusShort, plan.Status)
		require.True(t, plan.ShortProven)
		require.GreaterOrEqual(t, plan.OpenedLength, want.opened)
		return
	}
	require.Equal(t, roll.StatusOptimal, plan.Status)
	require.Equal(t, want.opened, plan.OpenedLength)
	require.LessOrEqual(t, plan.BoundLength, want.opened)
	require.LessOrEqual(t, plan.Bound, plan.Opened)
	require.True(t, plan.LeftoverProven)
	require.Equal(t, want.left, plan.LongestLeft)
}

func TestSolveAgainstTryingEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) { requireBest(t, smallProblem(t)) })
}

// Small problems that once had a plan that was not the best.
func TestSolveSmallProblemsOnceWrong(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		stock []roll.Stock
		cuts  []roll.Cut
	}{
		{
			name:  "filling the short roll, though it is cheapest for its length, opens both",
			stock: []roll.Stock{{Length: 5 * cm, Count: 1}, {Length: 11 * cm, Count: 1}},
			cuts:  []roll.Cut{{Length: 5 * cm, Count: 2}},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			requireBest(t, roll.Problem{Stock: tt.stock, Cuts: tt.cuts})
		})
	}
}

func anyProblem(t *rapid.T) roll.Problem {
	p := roll.Problem{
		Kerf: length.Length(rapid.IntRange(0, 3).Draw(t, "kerf")) * length.Millimetre,
		End:  length.Length(rapid.IntRange(0, 30).Draw(t, "end")) * length.Millimetre,
	}
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
		params := roll.Params{Seed: rapid.Uint64().Draw(t, "seed"), Iterations: 10}
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
		{"count of a kind", "{\"unit\":\"cm\",\n\"stock\":[{\"length\":1}],\n\"cuts\":[{\"length\":1,\"count\":1.5}]}", "line 3: cuts.count: the number 1.5 stands here where a whole number"},
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

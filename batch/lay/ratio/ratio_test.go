package ratio_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
)

// oneMarker is a ratio with plies, for the oracle.
type oneMarker struct {
	plies int
	ratio []int
}

// allMarkers lists every marker that a small problem allows.
func allMarkers(p ratio.Problem) []oneMarker {
	var all []oneMarker
	ratio := make([]int, len(p.Demand))
	var fill func(i, garments int, long length.Length)
	fill = func(i, garments int, long length.Length) {
		if p.MaxGarments > 0 && garments > p.MaxGarments || p.MaxLength > 0 && long > p.MaxLength {
			return
		}
		if i == len(ratio) {
			for plies := max(1, p.MinPlies); garments > 0 && plies <= p.MaxPlies; plies++ {
				all = append(all, oneMarker{plies, append([]int(nil), ratio...)})
			}
			return
		}
		for n := range p.Demand[i] + 1 {
			ratio[i] = n
			fill(i+1, garments+n, long+p.Length[i]*length.Length(n))
		}
		ratio[i] = 0
	}
	fill(0, 0, 0)
	return all
}

// leastLength goes through every choice of so many markers and returns the least length, or -1.
func leastLength(p ratio.Problem, all []oneMarker, from, markers int, rest []int, spread, best length.Length) length.Length {
	if markers == 0 {
		over := 0
		for _, r := range rest {
			if r > 0 {
				return best
			}
			over -= r
		}
		if p.OverCut != ratio.AnyOverCut && over > p.OverCut || best >= 0 && spread >= best {
			return best
		}
		return spread
	}
	for i := from; i < len(all); i++ {
		left := append([]int(nil), rest...)
		long := 2 * p.EndLoss
		for j, n := range all[i].ratio {
			left[j] -= n * all[i].plies
			long += p.Length[j] * length.Length(n)
		}
		best = leastLength(p, all, i, markers-1, left, spread+long*length.Length(all[i].plies), best)
	}
	return best
}

// On small problems every choice of one and of two markers is gone through: the fewest markers
// and the least length for them are the same, and no plan called optimal is beaten.
func TestSolveAgainstTryingEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := ratio.Problem{
			MaxPlies: rapid.IntRange(1, 5).Draw(t, "plies"), MaxGarments: rapid.IntRange(0, 4).Draw(t, "garments"),
			OverCut: rapid.IntRange(-1, 3).Draw(t, "over"), Objective: ratio.ObjectiveMarkers,
			EndLoss: length.Length(rapid.IntRange(0, 1).Draw(t, "ends")) * length.Inch,
		}
		p.MinPlies = rapid.IntRange(0, p.MaxPlies).Draw(t, "least plies")
		for range rapid.IntRange(1, 3).Draw(t, "sizes") {
			p.Sizes = append(p.Sizes, fmt.Sprint(len(p.Sizes)))
			p.Demand = append(p.Demand, rapid.IntRange(0, 6).Draw(t, "demand"))
			p.Length = append(p.Length, length.Length(rapid.IntRange(10, 15).Draw(t, "length"))*length.Inch)
		}
		if rapid.Bool().Draw(t, "limit") {
			p.MaxLength = 40 * length.Inch
		}
		all := allMarkers(p)
		want := []length.Length{-1, leastLength(p, all, 0, 1, p.Demand, 0, -1), leastLength(p, all, 0, 2, p.Demand, 0, -1)}
		for _, objective := range []ratio.Objective{ratio.ObjectiveMarkers, ratio.ObjectiveLength} {
			p.Objective = objective
			plan, err := ratio.Solve(context.Background(), p, ratio.Params{Seed: 1})
			if err != nil {
				var none *ratio.NoPlanError
				require.ErrorAs(t, err, &none)
				require.Equal(t, []length.Length{-1, -1, -1}, want)
				continue
			}
			require.NoError(t, ratio.Verify(p, plan))
			if len(plan.Markers) == 0 {
				continue
			}
			for k, least := range want {
				switch {
				case least < 0:
					require.NotEqual(t, k, len(plan.Markers))
				case objective == ratio.ObjectiveMarkers:
					require.LessOrEqual(t, len(plan.Markers), k)
					if k == len(plan.Markers) {
						require.Equal(t, least, plan.Length)
					}
				default:
					require.LessOrEqual(t, plan.Length, least)
					require.LessOrEqual(t, plan.BoundLength, least)
				}
			}
		}
	})
}

func TestSolveMoney(t *testing.T) {
	t.Parallel()
	p := ratio.Problem{
		Sizes: []string{"S", "M", "L"}, Demand: []int{6, 10, 8}, Length: []length.Length{length.Metre, length.Metre * 11 / 10, length.Metre * 12 / 10},
		MaxPlies: 10, MaxGarments: 4, OverCut: ratio.AnyOverCut, Objective: ratio.ObjectiveMoney,
		Prices: ratio.Prices{Cloth: 5_000_000, Marker: 1_000_000, Ply: 100_000, Cut: 50_000},
	}
	// Cloth is dear: two markers that cut just the demand (6 + 11 + 9.6 m at 5), 6 plies.
	plan := solve(t, p)
	require.Equal(t, ratio.StatusOptimal, plan.Status)
	require.Zero(t, plan.OverCut)
	require.Len(t, plan.Markers, 2)
	require.Equal(t, ratio.Money(133_000_000), plan.Cloth)
	// Markers are dear: one marker, though 6 garments are cut beyond the demand.
	p.Prices.Marker = 100_000_000
	plan = solve(t, p)
	require.Equal(t, ratio.StatusOptimal, plan.Status)
	require.Len(t, plan.Markers, 1)
	require.Equal(t, 6, plan.OverCut)
}

func TestSolveWithoutAPlan(t *testing.T) {
	t.Parallel()
	p := ratio.Problem{Sizes: []string{"S"}, Demand: []int{11}, MaxPlies: 10, MinPlies: 8, Objective: ratio.ObjectiveMarkers}
	_, err := ratio.Solve(context.Background(), p, ratio.Params{})
	var none *ratio.NoPlanError
	require.ErrorAs(t, err, &none)
	require.Contains(t, none.Reason, "5 garments")
	p.OverCut = 5
	plan := solve(t, p)
	require.Equal(t, 5, plan.OverCut)
}

func TestSolveEnds(t *testing.T) {
	t.Parallel()
	p := ratio.Problem{
		Sizes: []string{"1", "2", "3", "4", "5", "6", "7", "8"}, Demand: []int{413, 877, 1291, 1303, 1107, 691, 307, 101},
		MaxPlies: 40, MaxGarments: 6, Objective: ratio.ObjectiveMarkers,
	}
	params := ratio.Params{Seed: 3, Iterations: 60}
	plan, err := ratio.Solve(context.Background(), p, params)
	require.NoError(t, err)
	require.Equal(t, ratio.StatusWithin, plan.Status)
	require.Less(t, plan.BoundMarkers, len(plan.Markers)+1)
	again, err := ratio.Solve(context.Background(), p, params)
	require.NoError(t, err)
	require.Equal(t, plan, again)

	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	plan, err = ratio.Solve(ctx, p, ratio.Params{Seed: 3, Iterations: 100_000_000})
	require.NoError(t, err)
	require.Equal(t, ratio.StatusOutOfTime, plan.Status)
	_, err = ratio.Solve(ctx, p, params)
	require.ErrorIs(t, err, context.DeadlineExceeded)
}

func TestRead(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, text, want string }{
		{"unit", `{"sizes":["S"],"demand":[1],"length_per_garment":[1],"max_plies":4}`, "unit: give the unit"},
		{"demand", `{"sizes":["S","M"],"demand":[1],"max_plies":4}`, "demand: give one number for each of the 2 sizes"},
		{"negative demand", `{"sizes":["S"],"demand":[-1],"max_plies":4}`, "demand[0]: "},
		{"length", `{"unit":"yd","sizes":["S"],"demand":[1],"length_per_garment":[-1],"max_plies":4}`, "length_per_garment[0]: "},
		{"plies", `{"sizes":["S"],"demand":[1]}`, "max_plies: "},
		{"least plies", `{"sizes":["S"],"demand":[1],"max_plies":4,"min_plies":5}`, "min_plies: "},
		{"too long for a marker", `{"unit":"yd","sizes":["S"],"demand":[1],"length_per_garment":[3],"max_plies":4,"max_marker_length":2}`, "length_per_garment[0]: one garment is longer"},
		{"limit without lengths", `{"unit":"yd","sizes":["S"],"demand":[1],"max_plies":4,"max_marker_length":2}`, "length_per_garment: a longest marker needs"},
		{"objective", `{"sizes":["S"],"demand":[1],"max_plies":4,"objective":"least"}`, "objective: must be"},
		{"money without prices", `{"unit":"yd","sizes":["S"],"demand":[1],"length_per_garment":[3],"max_plies":4,"objective":"money"}`, "prices: money needs prices"},
		{"price", `{"unit":"yd","sizes":["S"],"demand":[1],"length_per_garment":[3],"max_plies":4,"objective":"money","prices":{"cloth":-1}}`, "prices.cloth: "},
		{"typing error", "{\"sizes\":[\"S\"],\n\"demands\":[1]}", `line 2: unknown field "demands"`},
		{"kind", "{\"sizes\":[\"S\"],\n\"demand\":[1.5]}", "line 2: demand: the number 1.5 stands here where a whole number"},
		{"syntax", "{\"sizes\":[\"S\"],\n\"demand\":[}", "line 2: not valid JSON"},
		{"over-cut", `{"sizes":["S"],"demand":[1],"max_plies":4,"over_cut_allowed":-2}`, "over_cut_allowed: "},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, _, err := ratio.Read(strings.NewReader(tt.text))
			require.ErrorContains(t, err, tt.want)
			var input *ratio.InputError
			require.ErrorAs(t, err, &input)
		})
	}
}

func TestReadSolveWrite(t *testing.T) {
	t.Parallel()
	text := `{"unit":"yd","sizes":["S","M","L"],"demand":[6,10,8],"length_per_garment":[1,1.1,1.2],"max_plies":10,
		"max_garments_per_marker":4,"max_marker_length":0,"over_cut_allowed":6,"objective":"money","prices":{"cloth":4.5,"marker":100}}`
	p, unit, err := ratio.Read(strings.NewReader(text))
	require.NoError(t, err)
	plan := solve(t, p)
	var out bytes.Buffer
	require.NoError(t, ratio.Write(&out, p, unit, plan))
	require.JSONEq(t, `{"unit":"yd","markers":[{"plies":10,"ratio":[1,1,1],"length":3.3}],"over_cut":6,"length":33,"bound_markers":1,
		"bound_length":26.6,"cost":{"cloth":148.5,"work":100,"total":248.5,"bound":248.5},"status":"optimal","seed":1}`, out.String())
}

func FuzzRead(f *testing.F) {
	f.Add(`{"unit":"yd","sizes":["S","M","L"],"demand":[6,10,8],"length_per_garment":[1,1.1,1.2],"max_plies":4,"max_garments_per_marker":4,"max_marker_length":0,"over_cut_allowed":0,"objective":"markers_then_length"}`)
	f.Add(`{"unit":"cm","sizes":["S"],"demand":[1e2],"prices":{"cloth":1e-3}}`)
	f.Fuzz(func(t *testing.T, text string) {
		p, _, err := ratio.Read(strings.NewReader(text))
		if err == nil {
			require.NoError(t, p.Check())
		}
	})
}

package lay_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

const (
	inch  = length.Inch
	metre = length.Metre
)

var (
	either = []marker.Turn{0, 180}
	oneWay = []marker.Turn{0}
	rates  = lay.Rates{SetUp: 8 * time.Minute, SpreadPerMetre: 30 * time.Second, CutPerMetre: 40 * time.Second, PerHour: 15_000_000}
)

// skirts is a batch of gathered skirts in sizes of growing width: two panels, two bands, two
// pockets each.
func skirts(turns []marker.Turn, quantities ...int) []lay.Garment {
	var garments []lay.Garment
	for i, q := range quantities {
		w := 19*inch + length.Length(i)*inch/2
		garments = append(garments, lay.Garment{
			Name: fmt.Sprintf("skirt %d", i+1), Quantity: q,
			Pieces: []lay.Piece{
				{Name: fmt.Sprintf("panel %d", i+1), Copies: 2, Width: w, Length: 11*inch + length.Length(i)*inch, Turns: turns},
				{Name: fmt.Sprintf("band %d", i+1), Copies: 2, Width: w, Length: 6 * inch, Turns: turns},
				{Name: fmt.Sprintf("pocket %d", i+1), Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: turns},
			},
		})
	}
	return garments
}

func workroom() lay.Rules {
	return lay.Rules{
		TableLength: 3 * metre, MaxPlies: 8, Spread: lay.FaceOneWay, EndLoss: inch / 2, KeepLength: 10 * inch,
		BuyWidth: 43 * inch, BuyStep: length.Yard / 8, BuyPricePerMetre: 9_000_000,
	}
}

func bolt(name string, width, long length.Length, faults ...marker.Fault) lay.Bolt {
	return lay.Bolt{Name: name, Lot: name, Width: width, Length: long, PricePerMetre: 9_000_000, Faults: faults}
}

func solve(t *testing.T, p lay.Problem) lay.Plan {
	t.Helper()
	plan, err := lay.Solve(context.Background(), p, lay.Params{Seed: 1, Iterations: 400, MarkerIterations: 200})
	require.NoError(t, err)
	require.NoError(t, lay.VerifyPlan(p, plan))
	return plan
}

// A child's gathered skirt for a 24 in waist: the two body panels, 20½ × 14 in, lie side by
// side on the 42 in usable width of a 44/45 in cloth; two bands, 20½ × 6 in, and two pockets,
// 6 × 7 in, come from the contrast cloth. Half a yard (18 in) of each cloth is enough, and no
// layout needs more (common practice, no source).
func TestHalfAYardMakesAChildsSkirt(t *testing.T) {
	t.Parallel()
	rules := lay.Rules{MaxPlies: 1, Spread: lay.FaceOneWay, BuyWidth: 42 * inch, BuyStep: length.Yard / 8, BuyPricePerMetre: 1_000_000}
	body := lay.Garment{Name: "body", Quantity: 1, Pieces: []lay.Piece{
		{Name: "panel", Copies: 2, Width: 20*inch + inch/2, Length: 14 * inch, Turns: oneWay},
	}}
	contrast := lay.Garment{Name: "contrast", Quantity: 1, Pieces: []lay.Piece{
		{Name: "band", Copies: 2, Width: 20*inch + inch/2, Length: 6 * inch, Turns: oneWay},
		{Name: "pocket", Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: oneWay},
	}}
	plan := solve(t, lay.Problem{Cloth: "print", Garments: []lay.Garment{body}, Rules: rules})
	require.Len(t, plan.Lays, 1)
	require.Equal(t, 14*inch, plan.Lays[0].PlyLength)
	require.LessOrEqual(t, plan.Purchases[0].Buy, length.Yard/2)
	require.Equal(t, lay.StatusOptimal, plan.Status)

	plan = solve(t, lay.Problem{Cloth: "solid", Garments: []lay.Garment{contrast}, Rules: rules})
	require.Equal(t, 12*inch, plan.Lays[0].PlyLength, "the pockets lie beside the bands")
	require.LessOrEqual(t, plan.Purchases[0].Buy, length.Yard/2)
	require.Equal(t, lay.StatusOptimal, plan.Status)
}

func TestUncut(t *testing.T) {
	t.Parallel()
	wide := lay.Garment{Name: "cape", Quantity: 2, Pieces: []lay.Piece{
		{Name: "yoke", Copies: 1, Width: 10 * inch, Length: 5 * inch, Turns: either},
		{Name: "back", Copies: 1, Width: 50 * inch, Length: 20 * inch, Turns: either},
	}}
	long := lay.Garment{Name: "gown", Quantity: 1, Pieces: []lay.Piece{
		{Name: "front", Copies: 1, Width: 20 * inch, Length: 130 * inch, Turns: either},
	}}
	heap := lay.Garment{Name: "heap", Quantity: 1, Pieces: []lay.Piece{
		{Name: "square", Copies: 8, Width: 40 * inch, Length: 20 * inch, Turns: either},
	}}
	tests := []struct {
		name                     string
		change                   func(*lay.Problem)
		garment, quantity, piece int
		reason, remedy           string
		othersLength             bool
	}{
		{
			name: "piece wider than the cloth", change: func(p *lay.Problem) { p.Garments = append(p.Garments, wide) },
			garment: 1, quantity: 2, piece: 1, reason: "back is wider than the cloth: it needs 50 in (127.0 cm) across, and linen has 43 in (109.2 cm)", remedy: "turn the piece a quarter",
		},
		{
			name: "piece longer than the table", change: func(p *lay.Problem) { p.Garments = append(p.Garments, long) },
			garment: 1, quantity: 1, piece: 0, reason: "the table is too short: front in linen takes 131 in (332.8 cm) with the ends, and the table has 118 in (300.0 cm)", remedy: "Use a table of at least",
		},
		{
			name: "garment longer than the table", change: func(p *lay.Problem) { p.Garments = append(p.Garments, heap) },
			garment: 1, quantity: 1, piece: -1, reason: "the table is too short: one heap", remedy: "Use a table of at least",
		},
		{
			name: "no bolt long enough", change: func(p *lay.Problem) {
				p.Garments = append(p.Garments, long)
				p.Rules.TableLength, p.Rules.BuyWidth = 0, 0
				p.Bolts = []lay.Bolt{bolt("A", 43*inch, 2*metre)}
			},
			garment: 1, quantity: 1, piece: 0, reason: "no bolt of linen is long enough: front takes 131 in (332.8 cm)", remedy: "Put a bolt of at least",
		},
		{
			name: "no bolt long enough between faults", change: func(p *lay.Problem) {
				p.Garments = append(p.Garments, long)
				p.Rules.TableLength, p.Rules.BuyWidth = 0, 0
				p.Bolts = []lay.Bolt{bolt("A", 43*inch, 4*metre, marker.Fault{Y: 2 * metre, Width: inch, Length: inch})}
			},
			garment: 1, quantity: 1, piece: 0, reason: "between faults", remedy: "Put a bolt of at least",
		},
		{
			name: "print has no place for the piece", change: func(p *lay.Problem) {
				p.Rules.Repeat = marker.Repeat{Width: 20 * inch, Length: 10 * inch}
				p.Garments = append(p.Garments, lay.Garment{Name: "panel skirt", Quantity: 1, Pieces: []lay.Piece{
					{Name: "centre", Copies: 1, Width: 42 * inch, Length: 10 * inch, Turns: oneWay, Match: &marker.Point{X: 10 * inch}},
				}})
			},
			garment: 1, quantity: 1, piece: 0, reason: "centre cannot lie on linen", remedy: "wider cloth",
		},
		{
			name: "bolts do not suffice", change: func(p *lay.Problem) {
				p.Rules.BuyWidth = 0
				p.Bolts = []lay.Bolt{bolt("A", 43*inch, 7*metre/10)}
			},
			garment: 0, quantity: 2, piece: -1, reason: "the bolts of linen do not suffice for 2 of 3", remedy: "Put more linen on the shelf, at least",
		},
		{
			name: "no cloth at all", change: func(p *lay.Problem) { p.Rules.BuyWidth = 0 },
			garment: 0, quantity: 3, piece: -1, reason: "there is no linen on the shelf", remedy: "Put a bolt",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p := lay.Problem{Cloth: "linen", Garments: skirts(either, 3), Rules: workroom(), Rates: rates}
			tt.change(&p)
			plan := solve(t, p)
			require.Len(t, plan.Uncut, 1)
			u := plan.Uncut[0]
			require.Equal(t, tt.garment, u.Garment)
			require.Equal(t, tt.quantity, u.Quantity)
			require.Equal(t, tt.piece, u.Piece)
			require.Contains(t, u.Reason, tt.reason)
			require.Contains(t, u.Remedy, tt.remedy)
			if tt.garment > 0 {
				require.NotEmpty(t, plan.Lays, "the rest is planned")
			}
		})
	}
}

// asymmetric is a sleeve with a slope on one side.
func asymmetric(name string, mirrored bool, copies int) lay.Piece {
	outline := []marker.Point{{}, {X: 10 * inch}, {X: 6 * inch, Y: 12 * inch}, {Y: 12 * inch}}
	if mirrored {
		outline = []marker.Point{{}, {X: 10 * inch}, {X: 10 * inch, Y: 12 * inch}, {X: 4 * inch, Y: 12 * inch}}
	}
	return lay.Piece{Name: name, Copies: copies, Width: 10 * inch, Length: 12 * inch, Outline: outline, Turns: either}
}

// house is a symmetric pocket with a point.
func house(copies int) lay.Piece {
	outline := []marker.Point{{}, {X: 10 * inch}, {X: 10 * inch, Y: 8 * inch}, {X: 5 * inch, Y: 12 * inch}, {Y: 8 * inch}}
	return lay.Piece{Name: "house", Copies: copies, Width: 10 * inch, Length: 12 * inch, Outline: outline, Turns: oneWay}
}

// TestPiecesOnTheFold: of three symmetric pieces two lie in one place, and half of the third on the
// fold; a panel wider than half the cloth lies there as well.
func TestPiecesOnTheFold(t *testing.T) {
	t.Parallel()
	panel := lay.Piece{Name: "panel", Copies: 1, Width: 30 * inch, Length: 20 * inch, Turns: either}
	for _, nap := range []bool{false, true} {
		p := lay.Problem{Cloth: "linen", Garments: []lay.Garment{{Name: "g", Quantity: 2, Pieces: []lay.Piece{panel, house(3)}}}, Rules: workroom(), Rates: rates}
		p.Rules.Spread, p.Rules.MaxPlies, p.Rules.NapUpAndDown = lay.FoldedLengthwise, 2, nap
		plan := solve(t, p)
		require.Empty(t, plan.Uncut)
		whole, half, edge := map[string]int{}, map[string]int{}, length.Length(0)
		for _, l := range plan.Lays {
			require.Equal(t, lay.FoldedLengthwise, l.Way)
			for _, piece := range l.Instance.Pieces {
				if piece.OnFold {
					half[piece.Name] += piece.Copies * l.Plies
				} else {
					whole[piece.Name] += piece.Copies * l.Plies
				}
			}
			edge += l.CutEdge
		}
		require.Equal(t, 2, half["panel"])
		require.Equal(t, 6, half["house"]+2*whole["house"])
		require.Positive(t, edge)
	}
}

func TestSpread(t *testing.T) {
	t.Parallel()
	withTurns := func(p lay.Piece, turns []marker.Turn) lay.Piece { p.Turns = turns; return p }
	pair := []lay.Piece{asymmetric("left", false, 1), asymmetric("right", true, 1)}
	tests := []struct {
		name   string
		spread lay.Spread
		pieces []lay.Piece
		number int
		plies  int
		want   lay.Spread
	}{
		{"rectangles face to face", lay.FaceToFace, []lay.Piece{{Name: "a", Copies: 1, Width: 10 * inch, Length: 9 * inch, Turns: either}}, 4, 8, lay.FaceToFace},
		{"one-way nap not face to face", lay.FaceToFace, []lay.Piece{{Name: "a", Copies: 1, Width: 10 * inch, Length: 9 * inch, Turns: oneWay}}, 4, 8, lay.FaceOneWay},
		{"a hand without the other not face to face", lay.FaceToFace, []lay.Piece{asymmetric("left", false, 2)}, 4, 8, lay.FaceOneWay},
		{"a pair face to face", lay.FaceToFace, pair, 4, 8, lay.FaceToFace},
		{"may lie face down", lay.FaceToFace, []lay.Piece{{Name: "left", Copies: 1, Width: 10 * inch, Length: 12 * inch, Outline: asymmetric("", false, 1).Outline, Turns: either, MayMirror: true}}, 4, 8, lay.FaceToFace},
		{"two of a kind folded", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 2, Width: 10 * inch, Length: 9 * inch, Turns: oneWay}}, 4, 8, lay.FoldedLengthwise},
		{"a pair folded", lay.FoldedLengthwise, []lay.Piece{withTurns(pair[0], oneWay), withTurns(pair[1], oneWay)}, 4, 8, lay.FoldedLengthwise},
		{"one of a kind in twos folded", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 1, Width: 10 * inch, Length: 9 * inch, Turns: oneWay}}, 8, 8, lay.FoldedLengthwise},
		{"one alone on the fold", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 1, Width: 10 * inch, Length: 9 * inch, Turns: oneWay}}, 1, 8, lay.FoldedLengthwise},
		{"wider than half on the fold", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 2, Width: 22 * inch, Length: 9 * inch, Turns: oneWay}}, 4, 8, lay.FoldedLengthwise},
		{"a symmetric shape on the fold", lay.FoldedLengthwise, []lay.Piece{house(3)}, 1, 8, lay.FoldedLengthwise},
		{"one hand alone open", lay.FoldedLengthwise, []lay.Piece{withTurns(asymmetric("left", false, 1), oneWay)}, 1, 8, lay.FaceOneWay},
		{"one alone crosswise open", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 1, Width: 10 * inch, Length: 9 * inch, Turns: []marker.Turn{90}}}, 1, 8, lay.FaceOneWay},
		{"wider than half and not symmetric open", lay.FoldedLengthwise, []lay.Piece{{
			Name: "a", Copies: 2, Width: 22 * inch, Length: 9 * inch, Outline: []marker.Point{{}, {X: 22 * inch}, {X: 3 * inch, Y: 9 * inch}, {Y: 9 * inch}}, Turns: oneWay, MayMirror: true,
		}}, 4, 8, lay.FaceOneWay},
		{"one layer only open", lay.FoldedLengthwise, []lay.Piece{{Name: "a", Copies: 2, Width: 10 * inch, Length: 9 * inch, Turns: oneWay}}, 4, 1, lay.FaceOneWay},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			for _, nap := range []bool{false, true} {
				p := lay.Problem{Cloth: "linen", Garments: []lay.Garment{{Name: "g", Quantity: tt.number, Pieces: tt.pieces}}, Rules: workroom(), Rates: rates}
				p.Rules.Spread, p.Rules.MaxPlies, p.Rules.NapUpAndDown = tt.spread, tt.plies, nap
				plan := solve(t, p)
				require.Empty(t, plan.Uncut)
				for _, l := range plan.Lays {
					require.Equal(t, tt.want, l.Way)
				}
			}
		})
	}
}

func TestFaults(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 1), Rules: workroom(), Rates: rates}
	p.Rules.BuyWidth = 0
	// The fault is a small one at the selvage, early on the bolt: laying around it takes less
	// than beginning behind it.
	p.Bolts = []lay.Bolt{bolt("A", 43*inch, 60*inch, marker.Fault{X: 42 * inch, Y: 20 * inch, Width: inch / 2, Length: 2 * inch})}
	plan := solve(t, p)
	require.Empty(t, plan.Uncut)
	require.Len(t, plan.Lays, 1)
	require.NotEmpty(t, plan.Lays[0].Instance.Faults)
	require.Less(t, plan.Uses[0].Used, 30*inch)

	// A fault right across cannot be laid around without loss; what lies before it is lost.
	p.Bolts = []lay.Bolt{bolt("A", 43*inch, 60*inch, marker.Fault{Y: 5 * inch, Width: 43 * inch, Length: 2 * inch})}
	plan = solve(t, p)
	require.Empty(t, plan.Uncut)
	require.GreaterOrEqual(t, plan.Uses[0].Used, 7*inch+plan.Lays[0].PlyLength-12*inch)
}

func TestMatchedPliesBeginWithThePrint(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "stripe", Garments: skirts(oneWay, 3), Rules: workroom(), Rates: rates}
	p.Rules.Repeat = marker.Repeat{Length: 4 * inch}
	p.Rules.TableLength = metre
	for i := range p.Garments[0].Pieces {
		p.Garments[0].Pieces[i].Match = &marker.Point{}
	}
	plan := solve(t, p)
	require.Empty(t, plan.Uncut)
	for _, l := range plan.Lays {
		for _, d := range l.Draws {
			require.Zero(t, d.From%(4*inch))
			require.Zero(t, d.Pitch%(4*inch))
		}
	}
}

func TestBoltsFirstThenBuying(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 6, 6), Rules: workroom(), Rates: rates}
	p.Rules.TableLength = 3 * metre / 2
	p.Bolts = []lay.Bolt{bolt("A", 43*inch, 2*metre), bolt("narrow", 30*inch, 2*metre)}
	plan := solve(t, p)
	require.Empty(t, plan.Uncut)
	require.Len(t, plan.Purchases, 1)
	require.Zero(t, plan.Purchases[0].Buy%(length.Yard/8))
	require.NotEmpty(t, plan.Uses)
	require.NotEmpty(t, plan.Limits)
}

func TestOverCut(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 7, 8), Rules: workroom(), Rates: rates}
	p.Rates.SetUp, p.Rates.PerHour = time.Hour, 150_000_000
	plan := solve(t, p)
	require.Equal(t, []int{0, 0}, plan.OverCut)
	require.Greater(t, len(plan.Lays), 1, "7 and 8 have no number of plies in common")
	p.Rules.OverCut = 1
	plan = solve(t, p)
	require.Equal(t, []int{1, 0}, plan.OverCut)
	require.Len(t, plan.Lays, 1, "one more garment saves a lay")
}

func TestSameSeedSamePlan(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 7, 13, 11, 6, 3), Rules: workroom(), Rates: rates}
	p.Bolts = []lay.Bolt{bolt("A", 43*inch, 5*metre), bolt("B", 41*inch, 3*metre)}
	first := solve(t, p)
	require.Equal(t, first, solve(t, p))
}

func TestCancelKeepsTheBest(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 40, 90, 130, 120, 70), Rules: workroom(), Rates: rates}
	ctx, cancel := context.WithCancel(context.Background())
	var last lay.Progress
	plan, err := lay.Solve(ctx, p, lay.Params{Seed: 1, Iterations: 1_000_000, Progress: func(r lay.Progress) {
		require.NotEmpty(t, r.Message)
		require.Positive(t, r.Cost)
		require.GreaterOrEqual(t, r.Share, last.Share)
		if last.Cost > 0 {
			require.LessOrEqual(t, r.Cost, last.Cost)
		}
		if last.Cost > r.Cost {
			cancel()
		}
		last = r
	}})
	require.NoError(t, err)
	require.Equal(t, lay.StatusOutOfTime, plan.Status)
	require.NoError(t, lay.VerifyPlan(p, plan))
	require.Empty(t, plan.Uncut)
	require.Equal(t, last.Cost, plan.Cost)

	_, err = lay.Solve(ctx, p, lay.Params{})
	require.ErrorIs(t, err, context.Canceled)
}

// However early the time is over, the plan is whole, and what cannot be cut is said.
func TestWholePlanInAnyTime(t *testing.T) {
	t.Parallel()
	p := lay.Problem{Cloth: "linen", Garments: skirts(either, 40, 90, 130, 120, 70), Rules: workroom(), Rates: rates}
	p.Garments = append(p.Garments, lay.Garment{Name: "cape", Quantity: 3, Pieces: []lay.Piece{
		{Name: "back", Copies: 1, Width: 50 * inch, Length: 20 * inch, Turns: either},
	}})
	for _, after := range []time.Duration{time.Microsecond, 20 * time.Microsecond, 500 * time.Microsecond, 5 * time.Millisecond, 50 * time.Millisecond} {
		ctx, cancel := context.WithTimeout(context.Background(), after)
		plan, err := lay.Solve(ctx, p, lay.Params{Seed: 1, Iterations: 1_000_000})
		cancel()
		if err != nil {
			require.ErrorIs(t, err, context.DeadlineExceeded)
			continue
		}
		require.NoError(t, lay.VerifyPlan(p, plan))
		require.Equal(t, lay.StatusOutOfTime, plan.Status)
		require.Len(t, plan.Uncut, 1)
		require.Equal(t, 3, plan.Uncut[0].Quantity)
	}
}

func TestCheck(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name   string
		change func(*lay.Problem)
		field  string
	}{
		{"quantity", func(p *lay.Problem) { p.Garments[0].Quantity = -1 }, "garments[0].quantity"},
		{"pieces", func(p *lay.Problem) { p.Garments[0].Pieces = nil }, "garments[0].pieces"},
		{"piece width", func(p *lay.Problem) { p.Garments[0].Pieces[1].Width = 0 }, "garments[0].pieces[1].width"},
		{"turns", func(p *lay.Problem) { p.Garments[0].Pieces[0].Turns = nil }, "garments[0].pieces[0].turns"},
		{"bolt width", func(p *lay.Problem) { p.Bolts[0].Width = 0 }, "bolts[0].width"},
		{"bolt length", func(p *lay.Problem) { p.Bolts[0].Length = -1 }, "bolts[0].length"},
		{"bolt fault", func(p *lay.Problem) { p.Bolts[0].Faults = []marker.Fault{{}} }, "bolts[0].faults[0]"},
		{"plies", func(p *lay.Problem) { p.Rules.MaxPlies = 0 }, "max_plies"},
		{"spread", func(p *lay.Problem) { p.Rules.Spread = "rolled" }, "spread"},
		{"table", func(p *lay.Problem) { p.Rules.TableLength = inch }, "table_length"},
		{"end loss", func(p *lay.Problem) { p.Rules.EndLoss = -1 }, "end_loss"},
		{"price", func(p *lay.Problem) { p.Rules.BuyPricePerMetre = -1 }, "buy_price"},
		{"set-up", func(p *lay.Problem) { p.Rates.SetUp = -1 }, "set_up"},
		{"work of years", func(p *lay.Problem) {
			p.Garments[0].Quantity, p.Rates.SpreadPerMetre, p.Rates.CutPerMetre = 40_000, 24*time.Hour, 24*time.Hour
		}, "per_metre"},
		{"too long together", func(p *lay.Problem) {
			p.Garments[0].Quantity, p.Garments[0].Pieces[0].Copies = 40_000, 1000
		}, "garments"},
		{"too many", func(p *lay.Problem) { p.Garments[0].Quantity = 49_000; p.Garments[1].Quantity = 2_000 }, "garments"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p := lay.Problem{Cloth: "linen", Garments: skirts(either, 1, 1), Rules: workroom(), Rates: rates, Bolts: []lay.Bolt{bolt("A", 43*inch, metre)}}
			require.NoError(t, p.Check())
			tt.change(&p)
			_, err := lay.Solve(context.Background(), p, lay.Params{})
			var input *lay.InputError
			require.ErrorAs(t, err, &input)
			require.Equal(t, tt.field, input.Field)
		})
	}
}

func TestNothingToCut(t *testing.T) {
	t.Parallel()
	plan := solve(t, lay.Problem{Cloth: "linen", Garments: skirts(either, 0, 0), Rules: workroom(), Rates: rates})
	require.Equal(t, lay.StatusOptimal, plan.Status)
	require.Zero(t, plan.Cost)
}

func TestRoomOnTable(t *testing.T) {
	t.Parallel()
	require.Equal(t, 104*length.Inch, lay.RoomOnTable(108*length.Inch, 2*length.Inch))
	require.Negative(t, lay.RoomOnTable(length.Inch, 60*length.Inch))
}

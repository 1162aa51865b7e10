package lay_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

func drawLength(t *rapid.T, label string, least, most int, unit length.Length) length.Length {
	return length.Length(rapid.IntRange(least, most).Draw(t, label)) * unit
}

func drawPiece(t *rapid.T, name string) lay.Piece {
	p := lay.Piece{
		Name: name, Copies: rapid.IntRange(1, 3).Draw(t, "copies"),
		Width: drawLength(t, "width", 3, 30, inch), Length: drawLength(t, "length", 3, 30, inch),
		Turns:     rapid.SampledFrom([][]marker.Turn{{0}, {0, 180}, {0, 90, 180, 270}, {90}}).Draw(t, "turns"),
		MayMirror: rapid.Bool().Draw(t, "mirror"),
	}
	if rapid.IntRange(0, 3).Draw(t, "shaped") == 0 {
		w, l := p.Width, p.Length
		p.Outline = []marker.Point{{}, {X: w}, {X: w * 2 / 3, Y: l}, {Y: l}}
	}
	if rapid.IntRange(0, 3).Draw(t, "match") == 0 {
		p.Match = &marker.Point{X: drawLength(t, "match", 0, 3, inch)}
	}
	return p
}

func drawProblem(t *rapid.T) lay.Problem {
	p := lay.Problem{Cloth: "linen"}
	for g := range rapid.IntRange(1, 4).Draw(t, "garments") {
		garment := lay.Garment{Name: fmt.Sprintf("g%d", g), Quantity: rapid.IntRange(0, 12).Draw(t, "quantity")}
		for i := range rapid.IntRange(1, 3).Draw(t, "pieces") {
			piece := drawPiece(t, fmt.Sprintf("p%d%d", g, i))
			garment.Pieces = append(garment.Pieces, piece)
			if len(piece.Outline) > 0 && rapid.Bool().Draw(t, "pair") {
				other := piece
				other.Name += " other hand"
				other.Outline = nil
				for _, q := range piece.Outline {
					other.Outline = append(other.Outline, marker.Point{X: piece.Width - q.X, Y: q.Y})
				}
				garment.Pieces = append(garment.Pieces, other)
			}
		}
		p.Garments = append(p.Garments, garment)
	}
	for b := range rapid.IntRange(0, 3).Draw(t, "bolts") {
		bolt := lay.Bolt{
			ID: int64(b + 1), Name: fmt.Sprint(b), Lot: fmt.Sprint(b % 2), Width: drawLength(t, "bolt width", 20, 60, inch), Length: drawLength(t, "bolt length", 0, 300, inch),
			PricePerMetre: lay.Money(rapid.IntRange(0, 20_000_000).Draw(t, "price")),
		}
		for range rapid.IntRange(0, 2).Draw(t, "faults") {
			bolt.Faults = append(bolt.Faults, marker.Fault{
				X: drawLength(t, "fault", 0, 59, inch), Y: drawLength(t, "fault", 0, 200, inch),
				Width: drawLength(t, "fault", 1, 10, inch), Length: drawLength(t, "fault", 1, 10, inch),
			})
		}
		p.Bolts = append(p.Bolts, bolt)
	}
	p.Rules = lay.Rules{
		TableLength:      rapid.SampledFrom([]length.Length{0, 60 * inch, 120 * inch}).Draw(t, "table"),
		MaxPlies:         rapid.IntRange(1, 8).Draw(t, "plies"),
		Spread:           rapid.SampledFrom([]lay.Spread{lay.FaceOneWay, lay.FaceToFace, lay.FoldedLengthwise}).Draw(t, "spread"),
		EndLoss:          rapid.SampledFrom([]length.Length{0, inch / 2}).Draw(t, "ends"),
		Gap:              rapid.SampledFrom([]length.Length{0, inch / 8}).Draw(t, "gap"),
		StraightCuts:     rapid.IntRange(0, 4).Draw(t, "straight") == 0,
		NapUpAndDown:     rapid.Bool().Draw(t, "nap"),
		KeepLength:       drawLength(t, "keep", 0, 20, inch),
		OverCut:          rapid.IntRange(0, 3).Draw(t, "over"),
		BuyWidth:         rapid.SampledFrom([]length.Length{0, 43 * inch}).Draw(t, "buy"),
		BuyStep:          rapid.SampledFrom([]length.Length{0, length.Yard / 8, length.Metre / 10}).Draw(t, "step"),
		BuyPricePerMetre: 9_000_000,
	}
	if rapid.IntRange(0, 3).Draw(t, "print") == 0 {
		p.Rules.Repeat = marker.Repeat{Length: 5 * inch, Width: drawLength(t, "repeat", 0, 6, inch)}
	}
	p.Rates = lay.Rates{
		SetUp: time.Duration(rapid.IntRange(0, 20).Draw(t, "set-up")) * time.Minute, SpreadPerMetre: 37 * time.Second, CutPerMetre: 41 * time.Second,
		PerHour: lay.Money(rapid.IntRange(0, 30_000_000).Draw(t, "wage")),
	}
	return p
}

// Whatever the cloth and the rules: the plan passes its check (exactly the demand is cut, no
// bolt is used beyond its length, each ply comes from one bolt and so from one lot, money is
// the sum of its lines, the bounds are not above it), and the same seed gives the same plan.
func TestSolveHoldsItsInvariants(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t)
		params := lay.Params{Seed: rapid.Uint64().Draw(t, "seed"), Iterations: 60, MarkerIterations: 40}
		plan, err := lay.Solve(context.Background(), p, params)
		require.NoError(t, err)
		require.NoError(t, lay.VerifyPlan(p, plan))
		again, err := lay.Solve(context.Background(), p, params)
		require.NoError(t, err)
		require.Equal(t, plan, again)
		// Plain practice cuts the same garments, with no less work when each is cut by itself.
		require.GreaterOrEqual(t, plan.ByGarment.Work, plan.BySize.Work)
		require.GreaterOrEqual(t, plan.ByGarment.Length, plan.BySize.Length)
		require.Equal(t, len(plan.Lays) == 0, plan.ByGarment.Length == 0)
	})
}

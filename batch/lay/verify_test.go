package lay_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/lay"
	"yardwright/batch/marker"
)

// Each row harms a good plan in one way that VerifyPlan must find.
func TestVerifyPlanFindsFaults(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name string
		harm func(*lay.Problem, *lay.Plan)
		want string
	}{
		{"a ply too few", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].Plies-- }, "draws"},
		{"a garment more than wanted", func(p *lay.Problem, _ *lay.Plan) { p.Garments[0].Quantity-- }, "cut"},
		{"a garment forgotten", func(p *lay.Problem, _ *lay.Plan) { p.Garments[0].Quantity++ }, "cut"},
		{"too thick", func(p *lay.Problem, _ *lay.Plan) { p.Rules.MaxPlies = 1 }, "layers are more than"},
		{"longer than the table", func(p *lay.Problem, _ *lay.Plan) { p.Rules.TableLength = 20 * inch }, "longer than the table"},
		{"no end loss", func(p *lay.Problem, _ *lay.Plan) { p.Rules.EndLoss = 0 }, "two ends"},
		{"beyond the bolt", func(p *lay.Problem, _ *lay.Plan) { p.Bolts[0].Length = 30 * inch }, "of bolt 1, which has"},
		{"narrower bolt", func(p *lay.Problem, _ *lay.Plan) { p.Bolts[0].Width = 40 * inch }, "wide on cloth of"},
		{"of another shade lot", func(p *lay.Problem, _ *lay.Plan) { other := "other"; p.Garments[0].FromLot = &other }, "shade lot"},
		{"over a fault", func(p *lay.Problem, _ *lay.Plan) {
			p.Bolts[0].Faults = []marker.Fault{{Y: 5 * inch, Width: inch, Length: inch}}
		}, "lies over the fault"},
		{"two plies on the same cloth", func(_ *lay.Problem, p *lay.Plan) {
			d := p.Lays[0].Draws[0]
			d.Plies--
			p.Lays[0].Draws = []lay.Draw{d, {Bolt: d.Bolt, Plies: 1, From: d.From + inch, Pitch: d.Pitch}}
		}, "the same cloth"},
		{"plies too close", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].Draws[0].Pitch -= inch }, "apart"},
		{"no such bolt", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].Draws[0].Bolt = 7 }, "there is no bolt"},
		{"piece over piece", func(_ *lay.Problem, p *lay.Plan) {
			m := &p.Lays[0].Marker
			m.Placements = slices.Clone(m.Placements)
			m.Placements[1].X, m.Placements[1].Y = m.Placements[0].X, m.Placements[0].Y
		}, "its marker"},
		{"a piece of another size", func(p *lay.Problem, _ *lay.Plan) { p.Garments[0].Pieces[0].Length -= inch }, "is not panel"},
		{"turned against the nap", func(p *lay.Problem, _ *lay.Plan) { p.Garments[0].Pieces[0].Turns = oneWay }, "is not panel"},
		{"nap not kept", func(p *lay.Problem, _ *lay.Plan) { p.Rules.NapUpAndDown = true }, "direction of the nap"},
		{"another gap", func(p *lay.Problem, _ *lay.Plan) { p.Rules.Gap = inch }, "gap"},
		{"face to face against the nap", func(p *lay.Problem, plan *lay.Plan) {
			p.Rules.Spread = lay.FaceToFace
			p.Garments = skirts(oneWay, 4, 4)
			for i := range plan.Lays {
				plan.Lays[i].Way = lay.FaceToFace
				plan.Lays[i].Instance.Pieces = slices.Clone(plan.Lays[i].Instance.Pieces)
				for j := range plan.Lays[i].Instance.Pieces {
					plan.Lays[i].Instance.Pieces[j].Turns = oneWay
				}
				for j := range plan.Lays[i].Marker.Placements {
					plan.Lays[i].Marker.Placements[j].Turn = 0
				}
			}
		}, "turned half round"},
		{"folded gives twice", func(p *lay.Problem, plan *lay.Plan) {
			p.Rules.Spread = lay.FoldedLengthwise
			plan.Lays[0].Way, plan.Lays[0].Instance.Folded = lay.FoldedLengthwise, true
		}, "a folded ply gives"},
		{"folded, but laid open", func(p *lay.Problem, plan *lay.Plan) {
			p.Rules.Spread = lay.FoldedLengthwise
			plan.Lays[0].Way = lay.FoldedLengthwise
		}, "not laid for that"},
		{"a piece left out", func(_ *lay.Problem, p *lay.Plan) {
			l := &p.Lays[0]
			l.Instance.Pieces = slices.Clone(l.Instance.Pieces)
			l.Instance.Pieces[0].Copies--
			gone := slices.IndexFunc(l.Marker.Placements, func(at marker.Placement) bool { return at.Piece == 0 })
			l.Marker.Placements = slices.Delete(slices.Clone(l.Marker.Placements), gone, gone+1)
			l.CutEdge -= 2 * (l.Instance.Pieces[0].Width + l.Instance.Pieces[0].Length)
		}, "a ply gives"},
		{"edge", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].CutEdge++ }, "cut edge"},
		{"time", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].Cut++ }, "times"},
		{"wage", func(_ *lay.Problem, p *lay.Plan) { p.Lays[0].Cost++ }, "its work costs"},
		{"price of a bolt", func(_ *lay.Problem, p *lay.Plan) { p.Uses[0].Cost++ }, "bolt 1 costs"},
		{"used", func(_ *lay.Problem, p *lay.Plan) { p.Uses[0].Used++ }, "is said to be used"},
		{"keep", func(_ *lay.Problem, p *lay.Plan) { p.Uses[0].Keep = !p.Uses[0].Keep }, "what is left"},
		{"a use not listed", func(_ *lay.Problem, p *lay.Plan) { p.Uses = nil }, "no use is listed"},
		{"purchase", func(_ *lay.Problem, p *lay.Plan) { p.Purchases = []lay.Purchase{{Need: inch}} }, "cloth to buy"},
		{"sum", func(_ *lay.Problem, p *lay.Plan) { p.Cost++ }, "sum of its lines"},
		{"cloth sum", func(_ *lay.Problem, p *lay.Plan) { p.LengthUsed++ }, "length used"},
		{"bound", func(_ *lay.Problem, p *lay.Plan) { p.Bound = p.Cost + 1 }, "above the plan"},
		{"optimal", func(_ *lay.Problem, p *lay.Plan) { p.Status, p.Bound = lay.StatusOptimal, p.Cost-1 }, "called optimal"},
		{"uncut without a reason", func(p *lay.Problem, plan *lay.Plan) {
			p.Garments[0].Quantity++
			plan.Uncut = []lay.Uncut{{Garment: 0, Quantity: 1, Piece: -1}}
		}, "no reason"},
		{"over-cut beyond the allowance", func(p *lay.Problem, plan *lay.Plan) {
			p.Garments[0].Quantity--
			plan.OverCut[0] = 1
		}, "are cut beyond"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p := lay.Problem{Cloth: "linen", Garments: skirts(either, 4, 4), Rules: workroom(), Rates: rates, Bolts: []lay.Bolt{bolt("A", 43*inch, 8*metre)}}
			plan := solve(t, p)
			require.Greater(t, plan.Lays[0].Plies, 1)
			tt.harm(&p, &plan)
			require.ErrorContains(t, lay.VerifyPlan(p, plan), tt.want)
		})
	}
}

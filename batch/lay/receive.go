package lay

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"yardwright/batch/length"
)

// ErrOtherGarments says that a plan is of other garments than a problem.
var ErrOtherGarments = errors.New("the plan is of other garments")

// Restate says what a plan comes to under another state of the shelf, the rules and the rates:
// the same lays from the same bolts, found by their ID, at what they are worth now. Was is the
// problem that the plan was made for. The error says why the plan can't be carried out any more:
// ErrOtherGarments, or what VerifyPlan finds.
func Restate(p, was Problem, plan Plan) (Plan, error) {
	if !slices.EqualFunc(p.Garments, was.Garments, sameGarment) {
		return Plan{}, ErrOtherGarments
	}
	at := make([]int, len(was.Bolts))
	for b := range was.Bolts {
		at[b] = slices.IndexFunc(p.Bolts, func(now Bolt) bool { return now.ID == was.Bolts[b].ID })
	}
	plan = plan.withOwnDraws()
	for i := range plan.Lays {
		l := &plan.Lays[i]
		for d := range l.Draws {
			switch bolt := l.Draws[d].Bolt; {
			case bolt >= 0 && at[bolt] < 0:
				return Plan{}, errors.New("bolt " + was.Bolts[bolt].Name + " is gone")
			case bolt >= 0:
				l.Draws[d].Bolt = at[bolt]
			}
		}
	}
	return recount(p, plan)
}

func sameGarment(a, b Garment) bool {
	samePiece := func(a, b Piece) bool {
		return a.Name == b.Name && a.Copies == b.Copies && a.Width == b.Width && a.Length == b.Length && slices.Equal(a.Outline, b.Outline) &&
			slices.Equal(a.Turns, b.Turns) && a.MayMirror == b.MayMirror && equalOrNil(a.Match, b.Match)
	}
	return a.Quantity == b.Quantity && equalOrNil(a.FromLot, b.FromLot) && slices.EqualFunc(a.Pieces, b.Pieces, samePiece)
}

func equalOrNil[T comparable](a, b *T) bool {
	return a == b || a != nil && b != nil && *a == *b
}

// Receive puts bolts in the place of the cloth that a plan buys, without planning again: as many
// of its plies as fit are cut from them, in the order in which they were to be cut from the
// cloth to buy, so that all fit on one bolt of its length; what is left is still to be bought. The
// problem returned has the bolts behind its own. It returns how many plies found a place; the plan
// is unchanged if that is 0. The error is VerifyPlan's.
func Receive(p Problem, plan Plan, bolts []Bolt) (Problem, Plan, int, error) {
	fresh := p
	fresh.Bolts = bolts
	shelf := newShelf(&fresh)
	out := plan.withOwnDraws()
	placed := 0
	var rest []toBuy
	for _, of := range plan.toBuy() {
		l := &out.Lays[of.lay]
		kept := slices.DeleteFunc(l.Draws, func(d Draw) bool { return d.Bolt < 0 })
		ply := laid{plyLength: l.PlyLength}
		for b := range bolts {
			if of.plies > 0 && bolts[b].Width >= l.across() {
				given := shelf.bolts[b].give(&kept, len(p.Bolts)+b, &ply, of.plies, p.printStep(l))
				of.plies, placed = of.plies-given, placed+given
			}
		}
		l.Draws, rest = kept, append(rest, of)
	}
	if placed == 0 {
		return p, plan, 0, nil
	}
	p.Bolts = append(slices.Clone(p.Bolts), bolts...)
	p.buy(&out, rest)
	out, err := recount(p, out)
	return p, out, placed, err
}

// GiveBack undoes Receive for one bolt, by its index: what was to be cut from it is to be bought
// again. The error is VerifyPlan's.
func GiveBack(p Problem, plan Plan, bolt int) (Plan, error) {
	out := plan.withOwnDraws()
	again := plan.toBuy()
	for i := range out.Lays {
		l := &out.Lays[i]
		l.Draws = slices.DeleteFunc(l.Draws, func(d Draw) bool {
			if d.Bolt == bolt {
				again = append(again, toBuy{i, d.Plies, d.From})
			}
			return d.Bolt == bolt || d.Bolt < 0
		})
	}
	p.buy(&out, again)
	return recount(p, out)
}

// withOwnDraws is a plan whose draws can be changed.
func (plan Plan) withOwnDraws() Plan {
	plan.Lays = slices.Clone(plan.Lays)
	for i := range plan.Lays {
		plan.Lays[i].Draws = slices.Clone(plan.Lays[i].Draws)
	}
	return plan
}

// toBuy is how many plies of a lay come from cloth to buy, and where the first of them begins.
type toBuy struct {
	lay, plies int
	from       length.Length
}

// toBuy lists what the lays take from the cloth to buy, from its beginning on.
func (plan *Plan) toBuy() []toBuy {
	var list []toBuy
	for i := range plan.Lays {
		for _, d := range plan.Lays[i].Draws {
			if d.Bolt < 0 {
				list = append(list, toBuy{i, d.Plies, d.From})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b toBuy) int { return cmp.Compare(a.from, b.from) })
	return list
}

// buy lays plies one behind the other on a piece of cloth to buy, each lay's together.
func (p *Problem) buy(plan *Plan, list []toBuy) {
	end := length.Length(0)
	for n, of := range list {
		plies := of.plies
		for later := n + 1; later < len(list); later++ {
			if list[later].lay == of.lay {
				plies, list[later].plies = plies+list[later].plies, 0
			}
		}
		if plies == 0 {
			continue
		}
		l := &plan.Lays[of.lay]
		step := p.printStep(l)
		draw := Draw{-1, plies, end.RoundTo(step, length.Up), l.PlyLength.RoundTo(step, length.Up)}
		l.Draws = append(l.Draws, draw)
		end = endOf([]Draw{draw}, l.PlyLength)
	}
}

// across is the usable width that a lay needs.
func (l *Lay) across() length.Length {
	if l.Way == FoldedLengthwise {
		return 2 * l.Instance.Width
	}
	return l.Instance.Width
}

// printStep is the step at which plies of a lay may begin, so that the print comes anew in each;
// zero for any place.
func (p *Problem) printStep(l *Lay) length.Length {
	for _, piece := range l.Instance.Pieces {
		if piece.Match != nil {
			return p.Rules.Repeat.Length
		}
	}
	return 0
}

// endOf is where the last ply of some draws ends.
func endOf(draws []Draw, ply length.Length) length.Length {
	end := length.Length(0)
	for _, d := range draws {
		end = max(end, d.From+d.Pitch*length.Length(d.Plies-1)+ply)
	}
	return end
}

// recount works out again, from the lays and their draws, what a plan takes and costs, its
// bounds and what is said of it, and verifies it.
func recount(p Problem, plan Plan) (Plan, error) {
	used := make([]length.Length, len(p.Bolts))
	bought := length.Length(0)
	plan.CutCost = 0
	for i := range plan.Lays {
		l := &plan.Lays[i]
		l.SetUp, l.Spread, l.Cut, l.Cost = p.times(&laid{plyLength: l.PlyLength, cutEdge: l.CutEdge}, l.Plies)
		plan.CutCost += l.Cost
		for d, draw := range l.Draws {
			end := endOf(l.Draws[d:d+1], l.PlyLength)
			if draw.Bolt < 0 {
				bought = max(bought, end)
			} else {
				used[draw.Bolt] = max(used[draw.Bolt], end)
			}
		}
	}
	p.takeCloth(&plan, used, bought)
	plan.Cost = plan.ClothCost + plan.CutCost
	s := newPlanner(context.Background(), &p, Params{Seed: plan.Seed})
	s.demand = make([]int, len(p.Garments))
	for g := range p.Garments {
		s.demand[g] = p.Garments[g].Quantity
	}
	for _, u := range plan.Uncut {
		s.demand[u.Garment] -= u.Quantity
	}
	least := s.layer.boundsOf(s.demand)
	plan.Bound, plan.LengthBound = least.cost, least.length
	plan.Status = statusOf(plan, plan.Status == StatusOutOfTime)
	plan.ByGarment, plan.BySize = plan.ByGarment.valued(&plan), plan.BySize.valued(&plan)
	plan.Limits = s.limits(&plan)
	return plan, VerifyPlan(p, plan)
}

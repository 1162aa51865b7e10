package batch

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/roll"
)

// NotionCut is one length to cut of a notion, so many times.
type NotionCut struct {
	// Garment is the index into Plan.Garments; Need is the style's name for it.
	Garment int
	Need    string
	Length  length.Length
	Count   int
}

// NotionPlan is what the batch takes of one notion.
type NotionPlan struct {
	Notion Notion
	Cuts   []NotionCut
	// Problem and Rolls say which lengths come from which roll, for FromRoll. Stock from
	// index len(Notion.Rolls) on is to be bought.
	Problem roll.Problem
	Rolls   roll.Plan
	// Length and Count are the totals.
	Length length.Length
	Count  int
	// Buy is how many rolls or packs are to be bought.
	Buy int
	// Leftovers are what remains of the opened rolls, the longest first, for FromRoll.
	Leftovers []Leftover
}

// Leftover is the end of an opened roll, so many times.
type Leftover struct {
	Length length.Length
	Count  int
	// Keep tells that it goes back to the shelf: the shortest length of the batch could still be
	// cut from it.
	Keep bool
}

// leftovers lists what remains of the opened rolls.
func (n *NotionPlan) leftovers() []Leftover {
	var least length.Length
	for _, cut := range n.Problem.Cuts {
		if least == 0 || cut.Length < least {
			least = cut.Length
		}
	}
	var ends []Leftover
	for _, r := range n.Rolls.Rolls {
		at := slices.IndexFunc(ends, func(e Leftover) bool { return e.Length == r.Left })
		switch {
		case r.Left <= 0:
		case at >= 0:
			ends[at].Count += r.Times
		default:
			ends = append(ends, Leftover{Length: r.Left, Count: r.Times, Keep: r.Left-n.Problem.End >= least})
		}
	}
	slices.SortFunc(ends, func(a, b Leftover) int { return cmp.Compare(b.Length, a.Length) })
	return ends
}

// Returned lists the ends that go back to the shelf, as rolls of their own.
func (n NotionPlan) Returned() []Roll {
	var rolls []Roll
	for _, end := range n.leftovers() {
		if end.Keep {
			rolls = append(rolls, Roll{Length: end.Length, Count: end.Count})
		}
	}
	return rolls
}

// notions plans elastic, thread and counted notions. It is quick, so that a batch whose lays
// were stopped half-way still gets its elastic.
func (p *planner) notions(ctx context.Context) error {
	var plans []NotionPlan
	for i, g := range p.plan.Garments {
		if g.Quantity == 0 {
			continue
		}
		colourway, style := p.styleOf(g)
		for _, need := range p.graded[gradeKey{style.ID, g.Size}].Notions {
			notion, ok := p.in.notion(colourway.Notions[need.Notion])
			if !ok {
				return &InputError{
					fmt.Sprintf("colourways[%s].%s", colourway.Name, need.Notion),
					fmt.Sprintf("choose the %s for %s %s", need.Notion, colourway.Name, style.Name),
				}
			}
			at := slices.IndexFunc(plans, func(n NotionPlan) bool { return n.Notion.ID == notion.ID })
			if at < 0 {
				at = len(plans)
				plans = append(plans, NotionPlan{Notion: notion})
			}
			if notion.Kind == FromRoll {
				need.Length = onRuler(p.in.Workroom.Units, need.Length)
			}
			plans[at].add(i, g, need)
		}
	}
	for i := range plans {
		if err := plans[i].solve(ctx, p.in.Workroom, p.params.Seed); err != nil {
			return &InputError{"notions[" + plans[i].Notion.Name + "]", err.Error()}
		}
		plans[i].Leftovers = plans[i].leftovers()
	}
	slices.SortStableFunc(plans, func(a, b NotionPlan) int { return notionOrder(a.Notion) - notionOrder(b.Notion) })
	p.plan.Notions = plans
	return nil
}

func notionOrder(n Notion) int {
	return slices.Index([]NotionKind{FromRoll, ByLength, ByCount}, n.Kind)
}

func (n *NotionPlan) add(at int, g Garment, need garment.CutNotion) {
	cut := NotionCut{Garment: at, Need: need.Notion, Length: need.Length, Count: need.Count * g.Quantity}
	n.Cuts = append(n.Cuts, cut)
	n.Length += need.Length * length.Length(cut.Count)
	n.Count += cut.Count
}

// onRuler is a length as it is printed and cut: a whole number of steps of the ruler, at least
// one. Rolls are planned with it, so that what is printed never sums to more than the roll.
func onRuler(units length.Style, l length.Length) length.Length {
	return max(units.Step(), l.RoundTo(units.Step(), length.Nearest))
}

// allowances of a roll: what is lost at each cut and kept back of each roll. Both hold what the
// cuts gain where they are written in the other system, whose ruler has other steps.
func (room Workroom) allowances(cuts []roll.Cut) (kerf, end length.Length) {
	kerf = room.CutTolerance
	for _, cut := range cuts {
		kerf = max(kerf, room.Units.InOther(cut.Length)-cut.Length)
	}
	return kerf, room.RollEnd + kerf
}

func (n *NotionPlan) solve(ctx context.Context, room Workroom, seed uint64) error {
	switch n.Notion.Kind {
	case FromRoll:
		return n.solveRolls(ctx, room, seed)
	case ByLength:
		short := n.Length - n.inStock()
		if short > 0 {
			if n.Notion.BuyLength <= 0 {
				return fmt.Errorf("there is too little of it: write how long a bought roll is")
			}
			n.Buy = int((short + n.Notion.BuyLength - 1) / n.Notion.BuyLength)
		}
	case ByCount:
		if short := n.Count - n.Notion.Count; short > 0 {
			pack := max(1, n.Notion.BuyCount)
			n.Buy = (short + pack - 1) / pack
		}
	}
	return nil
}

func (n *NotionPlan) inStock() length.Length {
	var total length.Length
	for _, r := range n.Notion.Rolls {
		total += r.Length * length.Length(r.Count)
	}
	return total
}

// solveRolls cuts from the rolls on the shelf; only what they cannot hold is bought.
func (n *NotionPlan) solveRolls(ctx context.Context, room Workroom, seed uint64) error {
	for _, r := range n.Notion.Rolls {
		if r.Count > 0 && r.Length > 0 {
			n.Problem.Stock = append(n.Problem.Stock, roll.Stock{Name: n.Notion.Name, Length: r.Length, Count: r.Count})
		}
	}
	for _, cut := range n.Cuts {
		at := slices.IndexFunc(n.Problem.Cuts, func(c roll.Cut) bool { return c.Length == cut.Length })
		if at < 0 {
			at = len(n.Problem.Cuts)
			n.Problem.Cuts = append(n.Problem.Cuts, roll.Cut{Name: n.Notion.Name, Length: cut.Length})
		}
		n.Problem.Cuts[at].Count += cut.Count
	}
	n.Problem.Kerf, n.Problem.End = room.allowances(n.Problem.Cuts)
	short := len(n.Problem.Stock) == 0
	if !short {
		plan, err := roll.Solve(ctx, n.Problem, roll.Params{Seed: seed})
		if err != nil {
			return err
		}
		n.Rolls, short = plan, plan.Status == roll.StatusShort
	}
	if short {
		return n.buyRolls(ctx, seed)
	}
	return nil
}

// buyRolls plans anew with rolls to buy beside those on the shelf.
func (n *NotionPlan) buyRolls(ctx context.Context, seed uint64) error {
	if n.Notion.BuyLength <= 0 {
		return fmt.Errorf("there is too little of it: write how long a bought roll is")
	}
	for _, cut := range n.Problem.Cuts {
		needs := cut.Length + n.Problem.End
		if needs > n.Notion.BuyLength && !slices.ContainsFunc(n.Problem.Stock, func(s roll.Stock) bool { return s.Length >= needs }) {
			return fmt.Errorf("%s is longer than any roll", length.Style{}.PieceBoth(cut.Length))
		}
	}
	bought := len(n.Problem.Stock)
	n.Problem.Stock = append(n.Problem.Stock, roll.Stock{Name: n.Notion.Name + ", to buy", Length: n.Notion.BuyLength})
	// The fewest rolls that will do; at least what is missing of the length.
	count := max(1, int((n.Length-n.inStock()+n.Notion.BuyLength-1)/n.Notion.BuyLength))
	var plan roll.Plan
	for ; ; count++ {
		n.Problem.Stock[bought].Count = count
		var err error
		if plan, err = roll.Solve(ctx, n.Problem, roll.Params{Seed: seed}); err != nil {
			return err
		}
		if plan.Status != roll.StatusShort {
			break
		}
		if count > n.Count {
			return fmt.Errorf("the lengths don't fit on the rolls that there are and can be bought")
		}
	}
	for _, opened := range plan.Rolls {
		if opened.Stock == bought {
			n.Buy += opened.Times
		}
	}
	n.Rolls = plan
	return nil
}

// Shopping is one line of the shopping list.
type Shopping struct {
	// Cloth or notion to buy.
	Name string
	// Length of cloth to buy in one piece, rounded up to the shop's step, and what is needed
	// of it; zero for notions.
	Length, Need length.Length
	// Width across which the cloth was planned.
	Width length.Length
	// Count of rolls or packs, for notions, each of RollLength or of PackCount.
	Count      int
	RollLength length.Length
	PackCount  int
	Cost       lay.Money
	Note       string
	// Alternatives are estimates for cloth of other widths.
	Alternatives []Alternative
}

func (p *planner) shopping() error {
	for _, planned := range p.plan.Cloths {
		for _, purchase := range planned.Plan.Purchases {
			others, err := p.byArea(planned, purchase.Need)
			if err != nil {
				return err
			}
			p.plan.Shopping = append(p.plan.Shopping, Shopping{
				Name: planned.Cloth.Name, Alternatives: others, Length: purchase.Buy, Need: purchase.Need, Width: planned.Problem.Rules.BuyWidth, Cost: purchase.Cost,
				Note: "Buy in one piece, from one shade lot (dye lot).",
			})
		}
	}
	for _, n := range p.plan.Notions {
		if n.Buy > 0 {
			p.plan.Shopping = append(p.plan.Shopping, Shopping{
				Name: n.Notion.Name, Count: n.Buy, RollLength: n.Notion.BuyLength, PackCount: n.Notion.BuyCount,
				Cost: n.Notion.BuyPrice * lay.Money(n.Buy),
			})
		}
	}
	return nil
}

package lay

import (
	"fmt"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// limits says in sentences what holds the plan back.
func (p *planner) limits(plan *Plan) []string {
	out := p.layLimits(plan)
	lost := length.Length(0)
	lots := map[string]bool{}
	for _, u := range plan.Uses {
		if !u.Keep {
			lost += u.Left
		}
		lots[p.problem.Bolts[u.Bolt].Lot] = true
	}
	if lost > 0 {
		out = append(out, fmt.Sprintf("Ends of %s in all are too short to keep.", p.problem.Rules.pieceBoth(lost, length.Up)))
	}
	for _, purchase := range plan.Purchases {
		out = append(out, fmt.Sprintf("The shelf does not hold enough: %s must be bought.", p.problem.Rules.clothBoth(purchase.Buy, length.Up)))
	}
	if p.shaped() {
		out = append(out, "Shaped pieces are laid by the rectangle around them; what no plan can be cheaper than is worked out for that, too.")
	}
	if sources := len(lots) + len(plan.Purchases); sources > 1 {
		out = append(out, fmt.Sprintf("The cloth comes from %d shade lots: keep the pieces of each ply together, so that every garment is of one lot.", sources))
	}
	return out
}

// shaped tells whether a piece that is cut has an outline.
func (p *planner) shaped() bool {
	for g, n := range p.demand {
		for i := range p.problem.Garments[g].Pieces {
			if n > 0 && len(p.problem.Garments[g].Pieces[i].Outline) > 0 {
				return true
			}
		}
	}
	return false
}

// layLimits says how many lays are as long, or as thick, as can be, or not spread as asked.
func (p *planner) layLimits(plan *Plan) []string {
	rules := &p.problem.Rules
	all, byTable, byPlies, otherwise := len(plan.Lays), 0, 0, 0
	for i := range plan.Lays {
		l := &plan.Lays[i]
		if rules.TableLength > 0 && l.PlyLength+p.leastMore(l) > rules.TableLength {
			byTable++
		}
		if l.layers()+1 > rules.MaxPlies {
			byPlies++
		}
		if l.Way != rules.Spread {
			otherwise++
		}
	}
	var out []string
	if all > 1 && byTable > 0 {
		out = append(out, fmt.Sprintf("%s as long as the table allows, %s.", ofLays(byTable, all), p.problem.Rules.clothBoth(rules.TableLength, length.Down)))
	}
	if all > 1 && byPlies > 0 {
		out = append(out, fmt.Sprintf("%s as thick as the cutter takes, %s.", ofLays(byPlies, all), words.Count(rules.MaxPlies, "layer")))
	}
	switch {
	case otherwise > 0 && rules.Spread == FoldedLengthwise:
		out = append(out, fmt.Sprintf("%s spread open: on folded cloth some pieces do not fit, or do not come in twos.", ofLays(otherwise, all)))
	case otherwise > 0:
		out = append(out, fmt.Sprintf("%s spread face one way: face to face would turn some pieces the wrong way round.", ofLays(otherwise, all)))
	}
	return out
}

// ofLays begins a sentence: "2 of 5 lays are" or "1 of 5 lays is".
func ofLays(n, all int) string {
	if all == 1 {
		return "The lay is"
	}
	return fmt.Sprintf("%d of %s %s", n, words.Count(all, "lay"), words.Verb(n, "is", "are"))
}

// layers of cloth that are cut at once.
func (l *Lay) layers() int {
	if l.Way == FoldedLengthwise {
		return 2 * l.Plies
	}
	return l.Plies
}

// leastMore is about the least length that one more garment of a lay's kinds would add.
func (p *planner) leastMore(l *Lay) length.Length {
	least := length.Length(0)
	for g, n := range l.PerPly {
		if n > 0 {
			more := length.Length(float64(p.layer.area[g]) / float64(max(1, l.Instance.Width)))
			if least == 0 || more < least {
				least = more
			}
		}
	}
	return least
}

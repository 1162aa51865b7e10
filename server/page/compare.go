package page

import (
	"fmt"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/server/store"
)

func init() {
	pages["batch_compare"] = []string{"compare_parts"}
	pages["batch"] = append(pages["batch"], "compare_parts")
	pages["cut_sheet"] = append(pages["cut_sheet"], "compare_parts")
}

// BatchCompare shows what other choices would change in a batch: less fullness, cloth of
// another width, another cloth.
type BatchCompare struct {
	Base
	Batch store.Batch
	Plan  *batch.Plan
	// Cloths are those of the plan, Others all that the workshop has.
	Cloths, Others []store.Cloth
	From, To       int64
	// Choice is the comparison that was asked for; nil if none was.
	Choice *batch.ClothChoice
}

func (BatchCompare) page() string { return "batch_compare" }

// Fullness writes a fullness that is counted in thousandths: 1.48.
func (Base) Fullness(thousandths int64) string {
	return fmt.Sprintf("%d.%02d", thousandths/1000, thousandths%1000/10)
}

// ByLength writes the price of a length of cloth, given for a metre, in the workshop's unit.
func (b Base) ByLength(perMetre lay.Money) string {
	unit, name := length.Yard, "yd"
	if b.Units.System == length.Metric {
		unit, name = length.Metre, "m"
	}
	price, err := length.Length(perMetre).Scale(int64(unit), int64(length.Metre), length.Nearest)
	if err != nil || b.Millionths(perMetre) == "" {
		return ""
	}
	return b.Millionths(lay.Money(price)) + " a " + name
}

// MoreMoney writes what something saves, or costs more.
func (b Base) MoreMoney(saves lay.Money) string {
	switch {
	case !b.SeesMoney():
		return ""
	case saves < 0:
		return b.Millionths(-saves) + " more"
	default:
		return b.Millionths(saves) + " less"
	}
}

// MoreCloth writes how much less cloth something takes, or more.
func (b Base) MoreCloth(saves length.Length) string {
	if saves < 0 {
		return b.Units.Cloth(-saves, length.Nearest) + " more"
	}
	return b.Units.Cloth(saves, length.Nearest) + " less"
}

// MoreTime writes how many minutes less something takes, or more.
func (b Base) MoreTime(saves time.Duration) string {
	if saves < 0 {
		return b.Minutes(-saves) + " more"
	}
	return b.Minutes(saves) + " less"
}

// BestFit is the fullness that saves most in a plan.
type BestFit struct {
	Fit    batch.Fit
	Option batch.FitOption
}

// Best returns the fullness that saves most, or nil if none saves anything.
func bestFit(plan *batch.Plan) *BestFit {
	var best *BestFit
	if plan == nil {
		return nil
	}
	for _, fit := range plan.Fits {
		for _, option := range fit.Options {
			if option.Saves() > 0 && option.Now.Uncut == option.Then.Uncut && (best == nil || option.Saves() > best.Option.Saves()) {
				best = &BestFit{fit, option}
			}
		}
	}
	return best
}

// BestFit is the fullness that saves most in the batch; nil if none saves anything.
func (p Planned) BestFit() *BestFit { return bestFit(p.Plan) }

// EachSaves is what an option saves for each garment of its style.
func (BatchCompare) EachSaves(fit batch.Fit, option batch.FitOption) lay.Money {
	return option.Saves() / lay.Money(max(1, fit.Garments))
}

// EachCloth is how much cloth an option saves for each garment of its style.
func (BatchCompare) EachCloth(fit batch.Fit, option batch.FitOption) length.Length {
	return option.SavesCloth() / length.Length(max(1, fit.Garments))
}

// Leftovers says what remains of the rolls that are opened for a notion, the longest first;
// empty if nothing does.
func (p Planned) Leftovers(n batch.NotionPlan) string {
	var parts []string
	for _, end := range n.Leftovers {
		part := p.ClothDown(end.Length)
		if end.Count > 1 {
			part = fmt.Sprintf("%d × %s", end.Count, part)
		}
		if end.Keep {
			part += " (back to the shelf)"
		} else {
			part += " (too short to keep)"
		}
		parts = append(parts, part)
	}
	if len(parts) == 0 {
		return ""
	}
	return "Left over: " + strings.Join(parts, ", ") + "."
}

// Cheaper tells which of the two cloths of a comparison takes less money; nothing if they don't
// cut the same garments.
func (c BatchCompare) Cheaper() string {
	now, then := c.Choice.Now, c.Choice.Then
	switch {
	case now.Uncut != then.Uncut:
		return "The two don't cut the same garments, so their money can't be compared as it is."
	case then.Cost() < now.Cost():
		return fmt.Sprintf("For this batch, %s takes %s.", then.Cloth.Name, c.MoreMoney(now.Cost()-then.Cost()))
	case then.Cost() > now.Cost():
		return fmt.Sprintf("For this batch, %s takes %s.", then.Cloth.Name, c.MoreMoney(now.Cost()-then.Cost()))
	}
	return "For this batch, the two take the same money."
}

// Spare is how much less time an option takes for cutting.
func (BatchCompare) Spare(o batch.FitOption) time.Duration { return o.Now.Work - o.Then.Work }

// Widths are the lines of the shopping list with cloth of other widths.
func (c BatchCompare) Widths() []batch.Shopping {
	var lines []batch.Shopping
	for _, line := range c.Plan.Shopping {
		if len(line.Alternatives) > 0 {
			lines = append(lines, line)
		}
	}
	return lines
}

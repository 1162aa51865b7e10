package page

import (
	"fmt"

	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Expenses is the form of a style's direct expenses.
type Expenses struct {
	Base
	Prices workshop.StylePrices
	Rows   []ExpenseRow
	// Version is what the form begins from.
	Version string
	// Lines are what one garment bears, in the usual batch; Total is their sum.
	Lines []costing.Line
	Total money.Amount
}

// ExpenseRow are the boxes of one expense. Number is its place, for addresses.
type ExpenseRow struct {
	Name, Amount, PaidFor, Garments, Colourway Field
}

func (Expenses) page() string { return "expenses" }

// Took is what a batch took: minutes worked, beside the standard, and expenses of its own. Helpers
// note minutes on it too; its money is for owners.
type Took struct {
	Base
	Costs  workshop.BatchCosts
	Stages []Option
	// Earned sums the batch up; nil until minutes are noted.
	Earned *workshop.Earned
	// Standard, Expected and Worked are the sums over all stages; Compared those of the stages
	// that were noted.
	Standard, Expected, Worked, Compared money.Decimal
	Pace                                 money.Rate
	Rows                                 []BatchExpenseRow
	// Version is what the form of the expenses begins from.
	Version string
}

// EarnedLine says in one line what a batch came to: 18 × Puddle skirt: priced at $540.00, 5 h 50 min
// worked, an hour earned $31.20. Those who see no money read how long it took.
func (b Base) EarnedLine(e *workshop.Earned) string {
	line := words.Count(e.Garments, "garment")
	if e.Style != "" {
		line = fmt.Sprintf("%d × %s", e.Garments, e.Style)
	}
	if b.SeesMoney() {
		line += fmt.Sprintf(": priced at %s, %s worked", b.Money(e.Priced), b.Hours(e.Worked))
		if all, worked := b.Hours(e.All), b.Hours(e.Worked); all != worked {
			line += ", " + all + " with selling and unpaid hours"
		}
		line += fmt.Sprintf(", an hour earned %s.", b.Money(e.Hourly))
	} else {
		line += ": " + b.Hours(e.Worked) + " worked."
	}
	if e.Unnoted.Sign() > 0 {
		line += " Of that, " + b.Hours(e.Unnoted) + " are not noted and count at your pace."
	}
	return line
}

// BatchExpenseRow are the boxes of one expense of a batch.
type BatchExpenseRow struct{ Name, Amount Field }

// Hours writes minutes as hours and minutes.
func (b Base) Hours(minutes money.Decimal) string {
	duration, err := store.Minutes(minutes)
	if err != nil {
		return b.Number(minutes, 0) + " min"
	}
	if duration < 0 {
		return "−" + b.Minutes(-duration)
	}
	return b.Minutes(duration)
}

func (Took) page() string { return "took" }

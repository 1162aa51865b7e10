package page

import (
	"fmt"

	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// MostExpenses is how many expenses a form takes, and spareExpenses how many empty rows it offers.
const (
	MostExpenses  = 20
	spareExpenses = 2
)

// ExpenseField names a box of an expense.
func ExpenseField(row int, part string) string { return rowField("expense", row, part) }

// Expenses is the page of a style's direct expenses.
type Expenses struct {
	Base
	Prices   workshop.StylePrices
	Expenses []store.StyleExpense
	// Ways are the colourways of the style.
	Ways []Option
	// Lines are what one garment bears, in the usual batch; Total is their sum.
	Lines []costing.Line
	Total money.Amount
}

func (Expenses) page() string { return "expenses" }

// Form is the form of the expenses.
func (v Expenses) Form() Form {
	place := fmt.Sprintf("/prices/%d/expenses", v.Prices.Colourway.ID)
	rows := make([][]Field, v.RowsTyped("expense", len(v.Expenses)+spareExpenses, MostExpenses))
	for row := range rows {
		e := store.StyleExpense{PaidFor: store.ForEachBatch}
		if row < len(v.Expenses) {
			e = v.Expenses[row]
		}
		rows[row] = v.expense(row, e)
	}
	return v.Base.Form(place, place, store.ContentVersion(v.Expenses), rows...)
}

func (v Expenses) expense(row int, e store.StyleExpense) []Field {
	var amount, way any
	if e.Name != "" {
		amount = v.InCoins(e.Amount)
	}
	if e.ColourwayID != nil {
		way = *e.ColourwayID
	}
	return []Field{
		v.TextField(ExpenseField(row, "name"), "What for", "", e.Name),
		v.NumberField(ExpenseField(row, "amount"), "Amount", "", amount),
		v.Choose(ExpenseField(row, "paid_for"), "Paid for", "", e.PaidFor, []Option{
			{Value: store.ForEachGarment, Text: "each garment"}, {Value: store.ForEachBatch, Text: "each batch"}, {Value: store.ForSoMany, Text: "a number of garments"},
		}),
		v.NumberField(ExpenseField(row, "garments"), "How many garments", "if for a number", v.PlainInt(e.Garments)),
		v.Choose(ExpenseField(row, "colourway"), "Of", "", way, append([]Option{{Text: "every colourway"}}, v.Ways...)),
	}
}

// Took is what a batch took: minutes worked, beside the standard, and expenses of its own. Helpers
// note minutes on it too; its money is for owners.
type Took struct {
	Base
	Costs workshop.BatchCosts
	// Earned sums the batch up; nil until minutes are noted.
	Earned *workshop.Earned
	// Standard, Expected and Worked are the sums over all stages; Compared those of the stages
	// that were noted.
	Standard, Expected, Worked, Compared money.Decimal
	Pace                                 money.Rate
}

func (Took) page() string { return "took" }

func (v Took) place() string { return fmt.Sprintf("/batches/%d", v.Costs.Batch.ID) }

// MinutesForm is the form that notes minutes.
func (v Took) MinutesForm() Form {
	stages := Words(append([]string{workshop.AllStages}, workshop.Stages()...)...)
	return v.Form(v.place()+"/took", v.place()+"/minutes", 0, []Field{
		v.DayField("worked_on", "Worked on", "", v.Today),
		v.Choose("stage", "What", "all of it is shared out by what was expected", workshop.AllStages, stages),
		v.TextField("minutes", "Time worked", "of all hands together: 350, 5:50 or 5 h 50", ""),
		v.TextField("note", "Note", "", ""),
	})
}

// ExpensesForm is the form of what was paid for the batch alone.
func (v Took) ExpensesForm() Form {
	expenses := v.Costs.Noted.Expenses
	rows := make([][]Field, v.RowsTyped("expense", len(expenses)+spareExpenses, MostExpenses))
	for row := range rows {
		var name, amount any
		if row < len(expenses) {
			name, amount = expenses[row].Name, v.InCoins(expenses[row].Amount)
		}
		rows[row] = []Field{
			v.TextField(ExpenseField(row, "name"), "What for", "", name),
			v.NumberField(ExpenseField(row, "amount"), "Amount", "for the whole batch", amount),
		}
	}
	return v.Form(v.place()+"/took", v.place()+"/took", store.ContentVersion(expenses), rows...)
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

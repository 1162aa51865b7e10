package server

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) directCostRoutes(r chi.Router) {
	r.Get("/prices/{id}/expenses", s.handle(s.showExpenses))
	r.Post("/prices/{id}/expenses", s.handle(s.saveExpenses))
	r.Get("/batches/{id}/took", s.handle(s.showTook))
	r.Post("/batches/{id}/took", s.handle(s.saveTook))
	r.Post("/batches/{id}/minutes", s.handle(s.noteMinutes))
	r.Post("/batches/{id}/minutes/{entry}/remove", s.handle(s.removeMinutes))
	r.Post("/batches/{id}/minutes/{entry}/restore", s.handle(s.restoreMinutes))
}

// spareExpenses is how many empty rows the forms of expenses offer, and mostExpenses how many they
// take.
const (
	spareExpenses = 2
	mostExpenses  = 20
)

func expenseRows(f *form.Form) []int { return filledRows(f, "expense", mostExpenses, "name", "amount") }

// rowsToShow is how many rows a form of expenses has.
func rowsToShow(stored int, raw map[string][]string) int {
	count := stored + spareExpenses
	if typed := expenseRows(&form.Form{Values: raw}); len(typed) > 0 {
		count = max(count, typed[len(typed)-1]+1)
	}
	return min(count, mostExpenses)
}

func expenseField(row int, part string) string { return fmt.Sprintf("expense.%d.%s", row, part) }

func (s *Server) expensesView(r *http.Request, number int64, f *form.Form) (page.Expenses, error) {
	prices, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	if err != nil {
		return page.Expenses{}, err
	}
	base, err := s.base(r, "Direct expenses: "+prices.Style.Name, "prices")
	if err != nil {
		return page.Expenses{}, err
	}
	if f != nil {
		base.Raw, base.Problems = f.Values, pageProblems(f)
	}
	whole, err := s.service.Whole(r.Context(), s.workshop)
	if err != nil {
		return page.Expenses{}, err
	}
	view := page.Expenses{Base: base, Prices: prices, Total: base.Currency.Zero()}
	if len(prices.Pricings) > 0 {
		sheet := prices.Pricings[0].Sheet
		view.Total = sheet.Expenses
		for _, line := range sheet.Lines {
			if line.Kind == costing.ExpenseLine {
				view.Lines = append(view.Lines, line)
			}
		}
	}
	stored := whole.ExpensesOf(prices.Style.ID)
	view.Version = store.StyleExpensesVersion(stored)
	ways := []page.Option{{Value: "", Text: "every colourway"}}
	for _, way := range whole.Colourways {
		if way.StyleID == prices.Style.ID {
			ways = append(ways, page.Option{Value: strconv.FormatInt(way.ID, 10), Text: way.Name})
		}
	}
	for row := range rowsToShow(len(stored), base.Raw) {
		e := store.StyleExpense{PaidFor: store.ForEachBatch}
		if row < len(stored) {
			e = stored[row]
		}
		view.Rows = append(view.Rows, expenseRow(base, row, e, ways))
	}
	return view, nil
}

func expenseRow(base page.Base, row int, e store.StyleExpense, ways []page.Option) page.ExpenseRow {
	var amount, garments, way any
	if e.Name != "" {
		amount = base.InCoins(e.Amount)
	}
	if e.Garments > 0 {
		garments = e.Garments
	}
	if e.ColourwayID != nil {
		way = *e.ColourwayID
	}
	return page.ExpenseRow{
		Name:      base.TextField(expenseField(row, "name"), "What for", "", e.Name),
		Amount:    base.NumberField(expenseField(row, "amount"), "Amount", "", amount),
		PaidFor:   base.Choose(expenseField(row, "paid_for"), "Paid for", "", e.PaidFor, []page.Option{{Value: store.ForEachGarment, Text: "each garment"}, {Value: store.ForEachBatch, Text: "each batch"}, {Value: store.ForSoMany, Text: "a number of garments"}}),
		Garments:  base.NumberField(expenseField(row, "garments"), "How many garments", "if for a number", garments),
		Colourway: base.Choose(expenseField(row, "colourway"), "Of", "", way, ways),
	}
}

func (s *Server) showExpenses(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	view, err := s.expensesView(r, number, nil)
	return s.shown(w, r, view, err)
}

func (s *Server) saveExpenses(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	expenses := readExpenses(f)
	if f.OK() {
		prices, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
		if err != nil {
			return err
		}
		err = s.service.ChangeStyleExpenses(r.Context(), s.workshop, prices.Style.ID, f.Text("version"), expenses)
		if err == nil {
			return done(w, r, fmt.Sprintf("/prices/%d/expenses", number), "expenses")
		}
		if err := saySo(f, err); err != nil {
			return err
		}
	}
	view, err := s.expensesView(r, number, f)
	return s.refused(w, r, view, err)
}

// readExpenses reads the direct expenses of a style; rows without a name and an amount are left out.
func readExpenses(f *form.Form) []store.StyleExpense {
	var expenses []store.StyleExpense
	for _, row := range expenseRows(f) {
		e := store.StyleExpense{
			Name: f.Needed(expenseField(row, "name"), "Say what it is for."), Amount: expenseAmount(f, row),
			PaidFor: f.Choice(expenseField(row, "paid_for"), store.ForEachGarment, store.ForEachBatch, store.ForSoMany),
		}
		if e.PaidFor == store.ForSoMany {
			if f.Text(expenseField(row, "garments")) == "" {
				f.Wrong(expenseField(row, "garments"), "Write how many garments share it.")
			} else {
				e.Garments = f.Int(expenseField(row, "garments"), 1, 1_000_000)
			}
		}
		if way := f.ID(expenseField(row, "colourway")); way != 0 {
			e.ColourwayID = &way
		}
		expenses = append(expenses, e)
	}
	return expenses
}

// expenseAmount reads an amount of 0 or more.
func expenseAmount(f *form.Form, row int) money.Decimal {
	field := expenseField(row, "amount")
	if f.Text(field) == "" {
		f.Wrong(field, "Write how much you pay.")
		return money.Decimal{}
	}
	amount := f.Money(field)
	if amount.Sign() < 0 || money.Int(1_000_000_000).Less(amount) {
		f.Wrong(field, "Write an amount of 0 or more.")
	}
	return amount
}

func (s *Server) tookView(r *http.Request, number int64, f *form.Form) (page.Took, error) {
	costs, err := s.service.BatchCosts(r.Context(), s.workshop, number)
	if err != nil {
		return page.Took{}, err
	}
	base, err := s.base(r, "What "+costs.Batch.Name+" took", "batches")
	if err != nil {
		return page.Took{}, err
	}
	if f != nil {
		base.Raw, base.Problems = f.Values, pageProblems(f)
	}
	view := page.Took{Base: base, Costs: costs, Version: store.BatchExpensesVersion(costs.Noted.Expenses)}
	if view.Earned, err = s.service.Earned(r.Context(), s.workshop, costs); err != nil {
		return view, err
	}
	for _, stage := range append([]string{workshop.AllStages}, workshop.Stages()...) {
		view.Stages = append(view.Stages, page.Option{Value: stage, Text: stage})
	}
	if err := sumTook(&view); err != nil {
		return view, err
	}
	for row := range rowsToShow(len(costs.Noted.Expenses), base.Raw) {
		var name, amount any
		if row < len(costs.Noted.Expenses) {
			name, amount = costs.Noted.Expenses[row].Name, base.InCoins(costs.Noted.Expenses[row].Amount)
		}
		view.Rows = append(view.Rows, page.BatchExpenseRow{
			Name:   base.TextField(expenseField(row, "name"), "What for", "", name),
			Amount: base.NumberField(expenseField(row, "amount"), "Amount", "for the whole batch", amount),
		})
	}
	return view, nil
}

// sumTook sums the stages; the pace is that of the stages that were noted.
func sumTook(view *page.Took) error {
	for _, m := range view.Costs.Stages {
		sums := []struct {
			into *money.Decimal
			more money.Decimal
		}{{&view.Standard, m.Standard}, {&view.Expected, m.Expected}, {&view.Worked, m.Worked}}
		if m.Noted() {
			sums = append(sums, struct {
				into *money.Decimal
				more money.Decimal
			}{&view.Compared, m.Standard})
		}
		for _, sum := range sums {
			var err error
			if *sum.into, err = sum.into.Add(sum.more); err != nil {
				return err
			}
		}
	}
	if view.Worked.Sign() <= 0 {
		return nil
	}
	pace, err := view.Compared.Div(view.Worked)
	view.Pace = money.Fraction(pace)
	return err
}

func (s *Server) showTook(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	view, err := s.tookView(r, number, nil)
	return s.shown(w, r, view, err)
}

func (s *Server) refuseTook(w http.ResponseWriter, r *http.Request, number int64, f *form.Form) error {
	view, err := s.tookView(r, number, f)
	return s.refused(w, r, view, err)
}

func (s *Server) saveTook(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	var expenses []store.BatchExpense
	for _, row := range expenseRows(f) {
		expenses = append(expenses, store.BatchExpense{Name: f.Needed(expenseField(row, "name"), "Say what it was for."), Amount: expenseAmount(f, row)})
	}
	if f.OK() {
		err := s.service.ChangeBatchExpenses(r.Context(), s.workshop, number, f.Text("version"), expenses)
		if err == nil {
			return done(w, r, fmt.Sprintf("/batches/%d/took", number), "expenses")
		}
		if err := saySo(f, err); err != nil {
			return err
		}
	}
	return s.refuseTook(w, r, number, f)
}

func (s *Server) noteMinutes(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	noted := store.BatchMinutes{WorkedOn: f.Day("worked_on"), Stage: f.Text("stage"), Minutes: f.Minutes("minutes"), Note: f.Line("note")}
	if f.OK() && (noted.Minutes.Sign() <= 0 || money.Int(100_000).Less(noted.Minutes)) {
		f.Wrong("minutes", "Write minutes above 0.")
	}
	if f.OK() {
		made, err := s.noteWorked(r, number, noted)
		if err == nil {
			place := fmt.Sprintf("/batches/%d", number)
			return s.doneUndo(w, r, place+"/took", "minutes", fmt.Sprintf("%s/minutes/%d/remove", place, made[0]), entryFields(made[1:])...)
		}
		if err := saySo(f, err); err != nil {
			return err
		}
	}
	return s.refuseTook(w, r, number, f)
}

// noteWorked notes minutes of one stage, or of all the work together.
func (s *Server) noteWorked(r *http.Request, number int64, noted store.BatchMinutes) ([]int64, error) {
	if noted.Stage != workshop.AllStages {
		made, err := s.service.NoteMinutes(r.Context(), s.workshop, number, noted)
		return []int64{made}, err
	}
	costs, err := s.service.BatchCosts(r.Context(), s.workshop, number)
	if err != nil {
		return nil, err
	}
	return s.service.NoteAllMinutes(r.Context(), s.workshop, costs, noted)
}

// earnedLine says what a batch came to; "" before all of it is sewn and minutes were noted.
func (s *Server) earnedLine(r *http.Request, base page.Base, number int64, work *page.Work) (string, error) {
	if work.LaysCut < work.Lays || work.BundlesSewn < work.Bundles {
		return "", nil
	}
	costs, err := s.service.BatchCosts(r.Context(), s.workshop, number)
	if err != nil {
		return "", err
	}
	earned, err := s.service.Earned(r.Context(), s.workshop, costs)
	if err != nil || earned == nil {
		return "", err
	}
	return base.EarnedLine(earned), nil
}

// entryFields name further notes of minutes, for a form that takes several out or puts them back.
func entryFields(entries []int64) []string {
	var fields []string
	for _, entry := range entries {
		fields = append(fields, "entry", strconv.FormatInt(entry, 10))
	}
	return fields
}

func (s *Server) removeMinutes(w http.ResponseWriter, r *http.Request) error {
	return s.setMinutes(w, r, false, "minutes_gone", "restore")
}

func (s *Server) restoreMinutes(w http.ResponseWriter, r *http.Request) error {
	return s.setMinutes(w, r, true, "minutes", "remove")
}

func (s *Server) setMinutes(w http.ResponseWriter, r *http.Request, back bool, notice, opposite string) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	entry, err := id(r, "entry")
	if err != nil {
		return err
	}
	more := f.IDs("entry") // what was noted together goes together
	err = s.service.InTx(r.Context(), func(tx *store.Store) error {
		for _, one := range append([]int64{entry}, more...) {
			if err := tx.RemoveBatchMinutes(r.Context(), s.workshop, number, one, back); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	place := fmt.Sprintf("/batches/%d", number)
	return s.doneUndo(w, r, place+"/took", notice, fmt.Sprintf("%s/minutes/%d/%s", place, entry, opposite), entryFields(more)...)
}

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
)

func (s *Server) directCostRoutes(r chi.Router) {
	editsAt(s, r, "/prices/{id}/expenses", editing[*page.Expenses]{s.expensesForm, (*page.Expenses).Form, s.saveExpenses})
	editsAt(s, r, "/batches/{id}/took", editing[*page.Took]{s.tookForm, (*page.Took).ExpensesForm, s.saveTook})
	r.Post("/batches/{id}/minutes", editing[*page.Took]{s.tookForm, (*page.Took).MinutesForm, s.noteMinutes}.saving(s))
	r.Post("/batches/{id}/minutes/{entry}/remove", s.handle(s.removeMinutes))
	r.Post("/batches/{id}/minutes/{entry}/restore", s.handle(s.restoreMinutes))
}

func expenseRows(f *form.Form) []int {
	return filledRows(f, "expense", page.MostExpenses, "name", "amount")
}

// expensesForm fills the page of the expenses of the style of a colourway.
func (s *Server) expensesForm(r *http.Request) (*page.Expenses, error) {
	view := &page.Expenses{}
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	if view.Prices, err = s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{}); err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, "Direct expenses: "+view.Prices.Style.Name, "prices"); err != nil {
		return view, err
	}
	whole, err := s.service.Whole(r.Context(), s.workshop)
	if err != nil {
		return view, err
	}
	view.Total = view.Currency.Zero()
	if len(view.Prices.Pricings) > 0 {
		sheet := view.Prices.Pricings[0].Sheet
		view.Total = sheet.Expenses
		for _, line := range sheet.Lines {
			if line.Kind == costing.ExpenseLine {
				view.Lines = append(view.Lines, line)
			}
		}
	}
	view.Expenses = whole.ExpensesOf(view.Prices.Style.ID)
	for _, way := range whole.Colourways {
		if way.StyleID == view.Prices.Style.ID {
			view.Ways = append(view.Ways, page.Option{Value: strconv.FormatInt(way.ID, 10), Text: way.Name})
		}
	}
	return view, nil
}

func (s *Server) saveExpenses(r *http.Request, f *form.Form, view *page.Expenses) (saved, error) {
	expenses := readExpenses(f)
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.ChangeStyleExpenses(r.Context(), s.workshop, view.Prices.Style.ID, f.Text("version"), expenses)
	return saved{r.URL.Path, "expenses"}, err
}

// readExpenses reads the direct expenses of a style; rows without a name and an amount are left out.
func readExpenses(f *form.Form) []store.StyleExpense {
	var expenses []store.StyleExpense
	for _, row := range expenseRows(f) {
		e := store.StyleExpense{
			Name: f.Needed(page.ExpenseField(row, "name"), "Say what it is for."), Amount: expenseAmount(f, row),
			PaidFor: f.Choice(page.ExpenseField(row, "paid_for"), store.ForEachGarment, store.ForEachBatch, store.ForSoMany),
		}
		if e.PaidFor == store.ForSoMany {
			if f.Text(page.ExpenseField(row, "garments")) == "" {
				f.Wrong(page.ExpenseField(row, "garments"), "Write how many garments share it.")
			} else {
				e.Garments = f.Int(page.ExpenseField(row, "garments"), 1, 1_000_000)
			}
		}
		if way := f.ID(page.ExpenseField(row, "colourway")); way != 0 {
			e.ColourwayID = &way
		}
		expenses = append(expenses, e)
	}
	return expenses
}

// expenseAmount reads an amount of 0 or more.
func expenseAmount(f *form.Form, row int) money.Decimal {
	field := page.ExpenseField(row, "amount")
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

// tookForm fills the page of what a batch took.
func (s *Server) tookForm(r *http.Request) (*page.Took, error) {
	view := &page.Took{}
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	if view.Costs, err = s.service.BatchCosts(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, "What "+view.Costs.Batch.Name+" took", "batches"); err != nil {
		return view, err
	}
	if view.Earned, err = s.service.Earned(r.Context(), s.workshop, view.Costs); err != nil {
		return view, err
	}
	return view, sumTook(view)
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

func (s *Server) saveTook(r *http.Request, f *form.Form, view *page.Took) (saved, error) {
	var expenses []store.BatchExpense
	for _, row := range expenseRows(f) {
		expenses = append(expenses, store.BatchExpense{Name: f.Needed(page.ExpenseField(row, "name"), "Say what it was for."), Amount: expenseAmount(f, row)})
	}
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.ChangeBatchExpenses(r.Context(), s.workshop, view.Costs.Batch.ID, f.Text("version"), expenses)
	return saved{r.URL.Path, "expenses"}, err
}

func (s *Server) noteMinutes(r *http.Request, f *form.Form, view *page.Took) (saved, error) {
	noted := store.BatchMinutes{WorkedOn: f.Day("worked_on"), Stage: f.Text("stage"), Minutes: f.Minutes("minutes"), Note: f.Line("note")}
	if f.OK() && (noted.Minutes.Sign() <= 0 || money.Int(100_000).Less(noted.Minutes)) {
		f.Wrong("minutes", "Write minutes above 0.")
	}
	if !f.OK() {
		return saved{}, nil
	}
	made, err := s.service.NoteWorked(r.Context(), s.workshop, view.Costs.Batch.ID, noted)
	if err != nil {
		return saved{}, err
	}
	place := fmt.Sprintf("/batches/%d", view.Costs.Batch.ID)
	s.canUndo(r, fmt.Sprintf("%s/minutes/%d/remove", place, made[0]), entryFields(made[1:])...)
	return saved{place + "/took", "minutes"}, nil
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
	if err := s.service.SetNotes(r.Context(), s.workshop, number, append([]int64{entry}, more...), back); err != nil {
		return err
	}
	place := fmt.Sprintf("/batches/%d", number)
	return s.doneUndo(w, r, place+"/took", notice, fmt.Sprintf("%s/minutes/%d/%s", place, entry, opposite), entryFields(more)...)
}

package workshop

import (
	"context"
	"slices"
	"strings"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Stages of the work at a batch besides those of package garment.
const (
	StageCut    = "cut"
	StageBundle = "bundle"
)

// Stages lists the stages that minutes are noted for, in the order of work.
func Stages() []string {
	stages := []string{StageCut, StageBundle}
	for _, stage := range garment.Stages() {
		stages = append(stages, string(stage))
	}
	return stages
}

// StageMinutes are the minutes of a stage of a whole batch.
type StageMinutes struct {
	Stage string
	// Standard are standard minutes, Expected those minutes at the workshop's own pace, and Worked
	// what was noted.
	Standard, Expected, Worked money.Decimal
	// Pace is standard ÷ worked; nothing where nothing was noted.
	Pace money.Rate
}

// Noted tells whether minutes were noted for the stage.
func (m StageMinutes) Noted() bool { return m.Worked.Sign() > 0 }

// More is how much longer the stage took than expected.
func (m StageMinutes) More() money.Decimal {
	more, err := m.Worked.Sub(m.Expected)
	if err != nil {
		return money.Decimal{}
	}
	return more
}

// stageOf is the stage of a step; cost sheets that were kept long ago don't say it.
func stageOf(o costing.Operation) string {
	switch {
	case o.Stage != "":
		return o.Stage
	case o.Name == CuttingName:
		return StageCut
	case o.Name == BundlingName:
		return StageBundle
	}
	return string(garment.Sew)
}

// take works the costs out anew with what was noted of the batch.
func (b *BatchCosts) take() error {
	if err := b.sumStages(); err != nil {
		return err
	}
	if len(b.Noted.Minutes) == 0 && len(b.Noted.Expenses) == 0 {
		return nil
	}
	garments := 0
	for _, g := range b.Garments {
		garments += g.Quantity
	}
	b.Actual = b.Actual.Currency().Zero()
	for i := range b.Garments {
		if err := b.takeGarment(&b.Garments[i], garments); err != nil {
			return err
		}
	}
	var err error
	b.Difference, err = b.Actual.Sub(b.Standard)
	return err
}

func (b *BatchCosts) takeGarment(g *BatchGarment, garments int) error {
	in := g.Sheet.Inputs
	var err error
	if in.Operations, err = b.worked(in, garments); err != nil {
		return err
	}
	in.Expenses = b.expenses(in, garments)
	if g.Sheet, err = costing.NewSheet(in); err != nil {
		return asFault(err)
	}
	if g.Compared, err = costing.Compare(g.Standard, g.Sheet); err != nil {
		return err
	}
	several, err := g.Sheet.Total.Mul(money.Int(int64(g.Quantity)))
	if err != nil {
		return err
	}
	b.Actual, err = b.Actual.Add(several)
	return err
}

// minutesOf are the standard minutes that one garment takes of a step, its part of the set-up with it.
func minutesOf(in costing.Inputs, o costing.Operation) (money.Decimal, error) {
	run := o.Run
	if o.Learns && in.Learning.On() {
		n, _ := in.Garments.Round(0, money.HalfUp).Int64()
		share, err := in.Learning.Share(max(1, n))
		if err != nil {
			return run, err
		}
		if run, err = run.Mul(share); err != nil {
			return run, err
		}
	}
	setUp, err := o.SetUp.Div(in.Garments)
	if err != nil {
		return run, err
	}
	return run.Add(setUp)
}

// sumStages adds the minutes of the batch up by stage, and sets those beside them that were noted.
func (b *BatchCosts) sumStages() error {
	byStage := map[string]*StageMinutes{}
	b.Stages = nil
	for _, stage := range Stages() {
		b.Stages = append(b.Stages, StageMinutes{Stage: stage})
	}
	for i := range b.Stages {
		byStage[b.Stages[i].Stage] = &b.Stages[i]
	}
	efficiency := money.Int(1)
	for _, g := range b.Garments {
		in := g.Sheet.Inputs
		if in.Efficiency.Sign() > 0 {
			efficiency = in.Efficiency.Fraction()
		}
		for _, o := range in.Operations {
			one, err := minutesOf(in, o)
			if err != nil {
				return err
			}
			all, err := one.Mul(money.Int(int64(g.Quantity)))
			if err != nil {
				return err
			}
			into := byStage[stageOf(o)]
			if into.Standard, err = into.Standard.Add(all); err != nil {
				return err
			}
		}
	}
	for _, m := range b.Noted.Minutes {
		into := byStage[m.Stage]
		var err error
		if into.Worked, err = into.Worked.Add(m.Minutes); err != nil {
			return err
		}
	}
	for i := range b.Stages {
		m := &b.Stages[i]
		var err error
		if m.Expected, err = m.Standard.Div(efficiency); err != nil {
			return err
		}
		if m.Noted() {
			pace, err := m.Standard.Div(m.Worked)
			if err != nil {
				return err
			}
			m.Pace = money.Fraction(pace)
		}
	}
	return nil
}

// worked are the steps of one garment with the minutes that were noted: those of a stage are shared
// out over its steps and garments by their standard minutes, or evenly where the stage has none.
func (b *BatchCosts) worked(in costing.Inputs, garments int) ([]costing.Operation, error) {
	operations := slices.Clone(in.Operations)
	for _, m := range b.Stages {
		if !m.Noted() {
			continue
		}
		if m.Standard.IsZero() {
			each, err := money.Ratio(m.Worked, money.Int(int64(garments)), workedPlaces, money.HalfUp)
			if err != nil {
				return nil, err
			}
			operations = append(operations, costing.Operation{Name: m.Stage, Stage: m.Stage, Run: each, Worked: true})
			continue
		}
		for i, o := range in.Operations {
			if stageOf(o) != m.Stage {
				continue
			}
			one, err := minutesOf(in, o)
			if err != nil {
				return nil, err
			}
			part, err := one.Mul(m.Worked)
			if err != nil {
				return nil, err
			}
			each, err := money.Ratio(part, m.Standard, workedPlaces, money.HalfUp)
			if err != nil {
				return nil, err
			}
			operations[i] = costing.Operation{Name: o.Name, Stage: m.Stage, Run: each, Wage: o.Wage, Worked: true}
		}
	}
	return operations, nil
}

// workedPlaces is how finely minutes worked are shared out.
const workedPlaces = 6

// expenses are those of one garment with the batch's own; one of the same name as one of the
// style's takes its place.
func (b *BatchCosts) expenses(in costing.Inputs, garments int) []costing.Expense {
	expenses := slices.Clone(in.Expenses)
	for _, e := range b.Noted.Expenses {
		own := costing.Expense{Name: e.Name, Amount: money.NewAmount(e.Amount, in.Currency), Garments: money.Int(int64(garments))}
		at := slices.IndexFunc(expenses, func(known costing.Expense) bool { return strings.EqualFold(known.Name, e.Name) })
		if at >= 0 {
			own.Name = expenses[at].Name
			expenses[at] = own
			continue
		}
		expenses = append(expenses, own)
	}
	return expenses
}

// OwnExpense tells whether an expense of a cost sheet was noted for the batch.
func (b *BatchCosts) OwnExpense(name string) bool {
	return slices.ContainsFunc(b.Noted.Expenses, func(e store.BatchExpense) bool { return strings.EqualFold(e.Name, name) })
}

// NoteMinutes notes minutes that were worked at a batch.
func (s *Service) NoteMinutes(ctx context.Context, workshop, batchID int64, m store.BatchMinutes) (int64, error) {
	if !slices.Contains(Stages(), m.Stage) {
		return 0, store.Wrong("stage", "Choose a stage of the work.")
	}
	if m.WorkedOn.IsZero() {
		m.WorkedOn = s.Today()
	}
	if m.WorkedOn.After(s.Today()) {
		return 0, store.Wrong("worked_on", "This day is still to come.")
	}
	return s.store.AddBatchMinutes(ctx, workshop, batchID, m)
}

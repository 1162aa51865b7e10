package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// minutesOfDay is what one pair of hands can't work more than.
const minutesOfDay = 24 * 60

// CheckSettings refuses what no workshop can have: everything that is wrong at once, each at its
// field. Fields that couldn't be read count as they are in w.
func (s *Service) CheckSettings(ctx context.Context, w store.Workshop, agreed ...Agreed) error {
	fault := &store.Fault{Kind: store.Invalid}
	wrong := func(field, message string) {
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: message})
	}
	checkLengths(w, wrong)
	checkAmounts(w, wrong)
	if _, err := Currency(w); err != nil {
		if err := addProblems(fault, err); err != nil {
			return err
		}
	} else if err := addProblems(fault, s.checkCurrency(ctx, w, slices.Contains(agreed, KeepNumbers))); err != nil {
		return err
	}
	if len(fault.Problems) > 0 {
		return fault
	}
	return nil
}

// addProblems adds what another fault says; what is no fault comes back.
func addProblems(fault *store.Fault, err error) error {
	var more *store.Fault
	if err == nil || !errors.As(err, &more) {
		return err
	}
	fault.Problems = append(fault.Problems, more.Problems...)
	return nil
}

// Bounds of settings that are no lengths.
var (
	mostMoney   = money.Int(1_000_000_000)
	mostPace    = money.Int(3)
	mostMinutes = money.Int(minutesOfDay)
)

// checkAmounts checks money, hours, pace and minutes.
func checkAmounts(w store.Workshop, wrong func(field, message string)) {
	for _, one := range []struct {
		field, message string
		value, most    money.Decimal
		above          bool
	}{
		{"wage", "Write a wage of 0 or more.", w.Wage, mostMoney, false},
		{"overhead_year", "Write an overhead of 0 or more.", w.OverheadYear, mostMoney, false},
		{"efficiency", "Write a pace above 0 and at most 300 %.", w.Efficiency, mostPace, true},
		{"lay_set_up_minutes", "Write minutes from 0 to 1440.", w.LaySetUpMinutes, mostMinutes, false},
		{"spread_minutes", "Write minutes from 0, and at most 1440 for a metre.", w.SpreadMinutes, mostMinutes, false},
		{"cut_minutes", "Write minutes from 0, and at most 1440 for a metre.", w.CutMinutes, mostMinutes, false},
		{"bundle_minutes", "Write minutes from 0 to 1440.", w.BundleMinutes, mostMinutes, false},
	} {
		switch {
		case one.value.Sign() < 0, one.above && one.value.IsZero():
			wrong(one.field, one.message)
		case one.most.Less(one.value):
			message := one.message
			if one.most == mostMoney {
				message = "This is too large."
			}
			wrong(one.field, message)
		}
	}
}

// checkLengths checks what the table and the cutter are.
func checkLengths(w store.Workshop, wrong func(field, message string)) {
	write := Style(w)
	fits := true
	for _, one := range []struct {
		field  string
		value  length.Length
		within length.Between
	}{
		{"table_length", w.TableLength, batch.TableLengths},
		{"end_loss", w.EndLoss, batch.EndLosses},
		{"gap", w.Gap, batch.Gaps},
		{"keep_length", w.KeepLength, batch.LengthsToKeep},
		{"buy_step", w.BuyStep, batch.BuySteps},
		{"cut_tolerance", w.CutTolerance, batch.CutTolerances},
		{"roll_end", w.RollEnd, batch.RollEnds},
	} {
		if !one.within.Has(one.value) {
			fits = fits && one.field != "table_length" && one.field != "end_loss"
			wrong(one.field, "Write a length "+one.within.Words(write)+".")
		}
	}
	if fits && lay.RoomOnTable(w.TableLength, w.EndLoss) < batch.LeastRoom {
		wrong("end_loss", fmt.Sprintf("The two ends of a ply would take %s, and the table is %s long: that leaves no room to lay pieces on. Write a smaller loss, or a longer table.",
			write.PieceRounded(2*w.EndLoss, length.Up), write.PieceRounded(w.TableLength, length.Down)))
	}
}

// handsOf is how many people work, a part of one counted as one; at least one does.
func handsOf(people money.Decimal) int {
	count, _ := people.Round(0, money.Up).Int64()
	return int(max(1, count))
}

// checkCurrency refuses a new currency as long as money is stored in the old one, unless it is
// agreed that all amounts keep their number.
func (s *Service) checkCurrency(ctx context.Context, w store.Workshop, agreed bool) error {
	before, err := s.Workshop(ctx, w.ID)
	if err != nil || before.Currency == w.Currency || agreed {
		return err
	}
	holds, err := s.store.HoldsMoney(ctx, w.ID)
	if err != nil || !holds {
		return err
	}
	return store.Wrong("currency", fmt.Sprintf("Prices, wages and costs are stored here, in %s. Nothing is converted: each keeps its number, so that 15.00 %s becomes 15.00 %s. Issued price lists and kept cost sheets stay in %s. Tick the box below the currency if you want that, and save again.",
		before.Currency, before.Currency, w.Currency, before.Currency))
}

package workshop

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// minutesOfDay is what one pair of hands can't work more than.
const minutesOfDay = 24 * 60

// checkSettings refuses what no workshop can have, at its field.
func (s *Service) checkSettings(ctx context.Context, w store.Workshop) error {
	costs, err := s.CostSettings(ctx, w.ID)
	if err != nil {
		return err
	}
	fault := &store.Fault{Kind: store.Invalid}
	wrong := func(field, message string) {
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: message})
	}
	write := Style(w)
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
	} {
		if !one.within.Has(one.value) {
			wrong(one.field, "Write a length "+one.within.Words(write)+".")
		}
	}
	if len(fault.Problems) == 0 && lay.RoomOnTable(w.TableLength, w.EndLoss) < batch.LeastRoom {
		wrong("end_loss", fmt.Sprintf("The two ends of a ply would take %s, and the table is %s long: that leaves no room to lay pieces on. Write a smaller loss, or a longer table.",
			write.PieceRounded(2*w.EndLoss, length.Up), write.PieceRounded(w.TableLength, length.Down)))
	}
	hands := handsOf(costs.YearPeople)
	for i, minutes := range w.DayMinutes {
		if minutes > hands*minutesOfDay {
			wrong("day."+strconv.Itoa(i), fmt.Sprintf("A %s has %d minutes, and %s: write at most %d. If more people work here, say so under Costs of your year first.",
				time.Weekday(i), minutesOfDay, words.Count(hands, "person works here", "people work here"), hands*minutesOfDay))
		}
	}
	if len(fault.Problems) > 0 {
		return fault
	}
	return nil
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
	holds, err := s.HoldsMoney(ctx, w.ID)
	if err != nil || !holds {
		return err
	}
	return store.Wrong("currency", fmt.Sprintf("Prices, wages and costs are stored here, in %s. Nothing is converted: each keeps its number, so that 15.00 %s becomes 15.00 %s. Issued price lists and kept cost sheets stay in %s. Tick the box below the currency if you want that, and save again.",
		before.Currency, before.Currency, w.Currency, before.Currency))
}

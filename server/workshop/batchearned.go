package workshop

import (
	"context"
	"errors"
	"slices"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Earned is what a batch came to, in one line: what its garments are priced at, how long they really
// took, and what an hour of that earned.
type Earned struct {
	Garments int
	// Style is the name of the style; "" where the batch makes several.
	Style string
	// Priced is the sum of the prices on the tag, typed or worked out, each garment in the channel
	// that it is for; Kept is what is left of them after tax, fees and postage.
	Priced, Kept money.Amount
	// Worked are the minutes; those of stages that nothing was noted for count at the workshop's
	// pace, and are Unnoted.
	Worked, Unnoted money.Decimal
	// All are the minutes really worked: those at the batch, and the unpaid ones and those of selling
	// that go with its garments. Hourly is (kept − cost without work) ÷ hours of them.
	All    money.Decimal
	Hourly money.Amount
	// left is kept − cost without work.
	left money.Amount
}

// Earned sums up a batch once minutes were noted for it; nil before, and where its costs are in
// another currency than prices are by now.
func (s *Service) Earned(ctx context.Context, workshop int64, costs BatchCosts) (*Earned, error) {
	noted := slices.ContainsFunc(costs.Stages, StageMinutes.Noted)
	if !noted || len(costs.Garments) == 0 {
		return nil, nil
	}
	all, err := s.stockOf(ctx, workshop)
	if err != nil || costs.Garments[0].Sheet.Inputs.Currency != all.currency {
		return nil, err
	}
	wanted, err := s.store.BatchWanted(ctx, workshop, costs.Batch.ID)
	if err != nil {
		return nil, err
	}
	pricers, err := costing.Change{}.Pricers(ChannelSettings(all.Channels))
	if err != nil {
		return nil, asFault(err)
	}
	earned := &Earned{Style: costs.Garments[0].Style, Priced: all.currency.Zero(), Kept: all.currency.Zero(), left: all.currency.Zero()}
	priced := map[int64]StylePrices{}
	for _, want := range wanted {
		prices, ok := priced[want.ColourwayID]
		if !ok {
			if prices, err = s.price(ctx, all, want.ColourwayID, costing.Change{}); err != nil {
				return nil, err
			}
			priced[want.ColourwayID] = prices
		}
		if err := earned.sell(prices, pricers, costs, want); err != nil {
			return nil, err
		}
	}
	if err := earned.work(costs); err != nil || earned.All.Sign() <= 0 {
		return nil, err
	}
	hours, err := earned.left.Mul(money.Int(60))
	if err != nil {
		return nil, err
	}
	earned.Hourly, err = hours.DivRound(earned.All, money.HalfUp)
	return earned, err
}

// sell adds garments at the price in the channel that they are for: the first of the customer's kind.
// What a sale leaves is worked out from what the garment took in this batch. Garments that the batch
// asks for, but its plan couldn't cut, are left out.
func (e *Earned) sell(prices StylePrices, pricers []*costing.Pricer, costs BatchCosts, want store.BatchWanted) error {
	size := slices.Index(prices.Sizes, want.Size)
	made := slices.IndexFunc(costs.Garments, func(g BatchGarment) bool { return g.Colourway == want.ColourwayID && g.Size == want.Size })
	if size < 0 || made < 0 || len(pricers) == 0 {
		return nil
	}
	channel := max(0, slices.IndexFunc(prices.Channels, func(c store.Channel) bool { return c.Settings.Kind.String() == want.CustomerKind }))
	garment, price := costs.Garments[made].Sheet.Garment(), prices.Asked[size][channel].Price
	sale, err := pricers[channel].Sale(garment, price)
	if err != nil {
		return asFault(err)
	}
	if prices.Style.Name != e.Style {
		e.Style = ""
	}
	e.Garments += want.Quantity
	count := money.Int(int64(want.Quantity))
	minutes, err := sale.Minutes.Mul(count)
	if err == nil {
		e.All, err = e.All.Add(minutes)
	}
	without, withoutErr := garment.Cost.Sub(garment.Labour)
	left, leftErr := sale.Kept.Sub(without)
	for _, sum := range []struct {
		into *money.Amount
		each money.Amount
	}{{&e.Priced, price}, {&e.Kept, sale.Kept}, {&e.left, left}} {
		several, severalErr := sum.each.Mul(count)
		added, addErr := sum.into.Add(several)
		*sum.into, err = added, errors.Join(err, severalErr, addErr)
	}
	return errors.Join(err, withoutErr, leftErr)
}

// work adds up the minutes at the batch.
func (e *Earned) work(costs BatchCosts) error {
	for _, stage := range costs.Stages {
		minutes := stage.Worked
		var err error
		if !stage.Noted() {
			minutes = stage.Expected
			if e.Unnoted, err = e.Unnoted.Add(minutes); err != nil {
				return err
			}
		}
		if e.Worked, err = e.Worked.Add(minutes); err != nil {
			return err
		}
	}
	return nil
}

// AllStages stands for a note of minutes of all the work together.
const AllStages = "all of it"

// NoteWorked notes minutes of one stage of a batch, or of all the work together. The answer are the
// notes made.
func (s *Service) NoteWorked(ctx context.Context, workshop, batchID int64, m store.BatchMinutes) ([]int64, error) {
	if m.Stage != AllStages {
		made, err := s.NoteMinutes(ctx, workshop, batchID, m)
		return []int64{made}, err
	}
	costs, err := s.BatchCosts(ctx, workshop, batchID)
	if err != nil {
		return nil, err
	}
	return s.noteAllMinutes(ctx, workshop, costs, m)
}

// SetNotes takes notes of minutes out together, or puts them back.
func (s *Service) SetNotes(ctx context.Context, workshop, batchID int64, notes []int64, back bool) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		for _, note := range notes {
			if err := tx.RemoveBatchMinutes(ctx, workshop, batchID, note, back); err != nil {
				return err
			}
		}
		return nil
	})
}

// noteAllMinutes notes minutes of all the work at a batch together, shared out among the stages by
// the minutes that they were expected to take: those without a note yet, or all if each has one. The
// answer are the notes made.
func (s *Service) noteAllMinutes(ctx context.Context, workshop int64, costs BatchCosts, m store.BatchMinutes) (made []int64, err error) {
	stages := slices.DeleteFunc(slices.Clone(costs.Stages), func(stage StageMinutes) bool { return stage.Expected.Sign() <= 0 || stage.Noted() })
	if len(stages) == 0 {
		stages = slices.DeleteFunc(slices.Clone(costs.Stages), func(stage StageMinutes) bool { return stage.Expected.Sign() <= 0 })
	}
	if len(stages) == 0 {
		return nil, store.Wrong("stage", "Choose a stage of the work.")
	}
	parts, err := shareMinutes(m.Minutes, stages)
	if err != nil {
		return nil, err
	}
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		inside := s.within(tx)
		for i, stage := range stages {
			if parts[i].Sign() <= 0 {
				continue
			}
			part := m
			part.Stage, part.Minutes = stage.Stage, parts[i]
			id, err := inside.NoteMinutes(ctx, workshop, costs.Batch.ID, part)
			if err != nil {
				return err
			}
			made = append(made, id)
		}
		return nil
	})
	return made, err
}

// shareMinutes shares minutes out by what the stages were expected to take: whole minutes where they
// are whole, else hundredths. Each part ends where its share of the whole ends, rounded, so that the
// parts sum to the whole.
func shareMinutes(minutes money.Decimal, stages []StageMinutes) ([]money.Decimal, error) {
	var expected, soFar, given money.Decimal
	var err error
	for _, stage := range stages {
		if expected, err = expected.Add(stage.Expected); err != nil {
			return nil, err
		}
	}
	places := 2
	if minutes == minutes.Round(0, money.HalfUp) {
		places = 0
	}
	parts := make([]money.Decimal, len(stages))
	for i, stage := range stages {
		if soFar, err = soFar.Add(stage.Expected); err != nil {
			return nil, err
		}
		end := minutes
		if i < len(stages)-1 {
			product, err := minutes.Mul(soFar)
			if err != nil {
				return nil, err
			}
			if end, err = money.Ratio(product, expected, places, money.HalfUp); err != nil {
				return nil, err
			}
		}
		if parts[i], err = end.Sub(given); err != nil {
			return nil, err
		}
		given = end
	}
	return parts, nil
}

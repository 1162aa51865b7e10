package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// States of an order that people set by hand; the others follow from its batches.
const (
	StateOpen      = "open"
	StateMade      = "made"
	StateDelivered = "delivered"
	StateCancelled = "cancelled"
)

// OrderStateWords is what makers call a state of an order.
func OrderStateWords(state string) string {
	if state == StateDelivered {
		return "handed over"
	}
	return state
}

// moves says from which states people may move an order by hand to which.
var moves = map[string][]string{
	StateOpen:      {StateMade, StateDelivered, StateCancelled},
	"in a batch":   {StateMade},
	"being cut":    {StateMade},
	"being sewn":   {StateMade},
	StateMade:      {StateDelivered, StateOpen, "in a batch", "being cut", "being sewn"},
	StateDelivered: {StateMade, StateOpen},
	StateCancelled: {StateOpen},
}

// MoveOrder moves an order to another state by hand, and returns the state that it had. An
// order that a batch cuts is taken out of the batch before it can be cancelled.
func (s *Service) MoveOrder(ctx context.Context, workshop, id int64, version int, to string) (from string, err error) {
	order, err := s.Order(ctx, workshop, id)
	if err != nil {
		return "", err
	}
	refuse := func(message string) error {
		return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Message: message}}}
	}
	switch batched := slices.ContainsFunc(order.Lines, func(l store.OrderLine) bool { return l.BatchID != nil }); {
	case !slices.Contains(moves[order.State], to):
		return "", refuse(fmt.Sprintf("An order that is %s can't become %s.", OrderStateWords(order.State), OrderStateWords(to)))
	case to == StateCancelled && batched:
		return "", refuse("A batch cuts this order. Take it out of the batch first, then cancel it.")
	case to == "in a batch" && !batched:
		to = StateOpen
	}
	return order.State, s.store.SetOrderState(ctx, workshop, id, version, to)
}

// TakePayment notes money taken for an order, or given back if the amount is negative.
func (s *Service) TakePayment(ctx context.Context, workshop, order int64, p store.Payment) (int64, error) {
	if p.Amount.IsZero() {
		return 0, store.Wrong("amount", "Write how much was paid; with a minus if you gave it back.")
	}
	if !slices.Contains(store.PaidHow, p.How) {
		return 0, store.Wrong("how", "Choose how it was paid.")
	}
	if p.PaidOn.IsZero() {
		p.PaidOn = s.Today()
	}
	return s.store.AddPayment(ctx, workshop, order, p)
}

// Sale is what is sold at a fair.
type Sale struct {
	Customer int64
	Lines    []LineDraft
	// Price in all; nil if none was agreed. Paid is what was taken now.
	Price *money.Decimal
	Paid  money.Decimal
	How   string
	// Taken: the customer has the garments. Otherwise they are to be made by DueOn.
	Taken bool
	DueOn time.Time
	Note  string
	// Key is that of the form: what is sent twice is booked once.
	Key string
	// Corrects is the sale that this one takes the place of; 0 for none.
	Corrects int64
}

// Sell stores a sale: an order that is handed over at once, or one to be made, with what was
// paid. The answer is the order's number, and again that it was booked before.
func (s *Service) Sell(ctx context.Context, workshop int64, sale Sale) (id int64, again bool, err error) {
	answer, again, err := s.store.Once(ctx, workshop, sale.Key, func(tx *store.Store) (string, error) {
		inside := s.within(tx)
		id, err := inside.sell(ctx, workshop, sale)
		return strconv.FormatInt(id, 10), err
	})
	if err != nil {
		return 0, false, err
	}
	id, err = strconv.ParseInt(answer, 10, 64)
	return id, again, err
}

// sell is Sell inside a transaction.
func (s *Service) sell(ctx context.Context, workshop int64, sale Sale) (id int64, err error) {
	if sale.Taken {
		sale.DueOn = s.Today()
	}
	if sale.Corrects != 0 {
		order, err := s.Order(ctx, workshop, sale.Corrects)
		if err != nil {
			return 0, err
		}
		if _, err := s.TakeBackSale(ctx, workshop, order.ID, order.Version); err != nil {
			return 0, err
		}
	}
	if sale.Price != nil && sale.Price.Less(sale.Paid) {
		return 0, store.Wrong("paid", "More was paid than the price in all.")
	}
	if sale.Price != nil && sale.Price.Sign() < 0 {
		return 0, store.Wrong("price", "Write a price of 0 or more.")
	}
	if sale.Paid.Sign() < 0 {
		return 0, store.Wrong("paid", "Write an amount of 0 or more.")
	}
	draft := OrderDraft{Customer: sale.Customer, DueOn: sale.DueOn, Note: sale.Note, Lines: sale.Lines}
	id, err = s.takeOrder(ctx, s.store, workshop, draft)
	if sale.Price == nil && (sale.Taken || sale.Paid.Sign() > 0) {
		err = andWrong(err, "price", "Write what is paid in all; 0 if it is a gift.")
	}
	if err != nil {
		return 0, err
	}
	if sale.Price != nil {
		if err := s.store.SetOrderPrice(ctx, workshop, id, sale.Price); err != nil {
			return 0, err
		}
	}
	if sale.Paid.Sign() > 0 {
		if _, err := s.TakePayment(ctx, workshop, id, store.Payment{Amount: sale.Paid, How: sale.How}); err != nil {
			return 0, atField(err, "amount", "paid")
		}
	}
	if sale.Taken {
		_, err = s.MoveOrder(ctx, workshop, id, 1, StateDelivered)
	}
	return id, err
}

// andWrong adds what is wrong with a field to what is refused anyhow, so that all is told at once.
func andWrong(err error, field, message string) error {
	fault := store.Wrong(field, message)
	var refused *store.Fault
	switch {
	case err == nil:
		return fault
	case errors.As(err, &refused) && refused.Kind == store.Invalid:
		fault.Problems = append(fault.Problems, refused.Problems...)
		return fault
	}
	return err
}

// CanTakeBack tells whether a sale can be taken back: it was handed over, and no batch made it.
func CanTakeBack(order store.Order) bool {
	return order.State == StateDelivered && !slices.ContainsFunc(order.Lines, func(l store.OrderLine) bool { return l.BatchID != nil })
}

// TakeBackSale takes a sale back: the money is given back and the garments are there again. It
// returns the payments that were taken out, for SellAgain.
func (s *Service) TakeBackSale(ctx context.Context, workshop, id int64, version int) (payments []int64, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		order, err := tx.Order(ctx, workshop, id)
		if err != nil {
			return err
		}
		if !CanTakeBack(order) {
			return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Message: "Only what was handed over, and no batch made, can be taken back. Change the payments or the state of the order instead."}}}
		}
		if err := tx.SetOrderState(ctx, workshop, id, version, StateCancelled); err != nil {
			return err
		}
		payments, err = tx.RemovePayments(ctx, workshop, id)
		return err
	})
	return payments, err
}

// SellAgain undoes TakeBackSale.
func (s *Service) SellAgain(ctx context.Context, workshop, id int64, version int, payments []int64) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		order, err := tx.Order(ctx, workshop, id)
		if err != nil {
			return err
		}
		if order.State != StateCancelled {
			return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Message: "This sale is not taken back any more."}}}
		}
		if err := tx.SetOrderState(ctx, workshop, id, version, StateDelivered); err != nil {
			return err
		}
		for _, payment := range payments {
			if err := tx.RemovePayment(ctx, workshop, id, payment, true); err != nil {
				return err
			}
		}
		return nil
	})
}

// TakePaymentOnce is TakePayment for a form with a key: what is sent twice is noted once.
func (s *Service) TakePaymentOnce(ctx context.Context, workshop, order int64, key string, p store.Payment) (id int64, again bool, err error) {
	answer, again, err := s.store.Once(ctx, workshop, key, func(tx *store.Store) (string, error) {
		inside := s.within(tx)
		id, err := inside.TakePayment(ctx, workshop, order, p)
		return strconv.FormatInt(id, 10), err
	})
	if err != nil {
		return 0, false, err
	}
	id, err = strconv.ParseInt(answer, 10, 64)
	return id, again, err
}

// TagPrices returns the price on the tag by colourway and size, in the first channel of a kind: the
// one that the maker typed, or else that of the newest kept prices. What has neither has none.
func (s *Service) TagPrices(ctx context.Context, workshop int64, kind string) (map[int64]map[string]money.Decimal, error) {
	all, err := s.Whole(ctx, workshop)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(all.Channels, func(c store.Channel) bool { return c.Settings.Kind.String() == kind })
	if at < 0 {
		return nil, nil
	}
	prices, err := s.keptIn(ctx, workshop, all.Channels[at].Settings.Name)
	if err != nil {
		return nil, err
	}
	for _, way := range all.Colourways {
		typed := TypedFor(all, way)
		chart := slices.IndexFunc(all.Charts, func(c store.Chart) bool { return c.ID == chartOfStyle(all, way.StyleID) })
		if len(typed) == 0 || chart < 0 {
			continue
		}
		if prices[way.ID] == nil {
			prices[way.ID] = map[string]money.Decimal{}
		}
		for _, size := range all.Charts[chart].SizeNames() {
			if price := typedIn(typed, all.Channels[at].ID, size); price != nil {
				prices[way.ID][size] = *price
			}
		}
	}
	return prices, nil
}

// SuggestedPrice is what an order comes to by the prices on the tags of the channel that its customer
// belongs to; nil where a garment has none.
func (s *Service) SuggestedPrice(ctx context.Context, workshop int64, order store.Order) (*money.Decimal, error) {
	prices, err := s.TagPrices(ctx, workshop, order.CustomerKind)
	if err != nil || len(order.Lines) == 0 {
		return nil, err
	}
	var sum money.Decimal
	for _, line := range order.Lines {
		each, ok := prices[line.ColourwayID][line.Size]
		if !ok {
			return nil, nil
		}
		part, err := each.Mul(money.Int(int64(line.Quantity)))
		if err != nil {
			return nil, err
		}
		if sum, err = sum.Add(part); err != nil {
			return nil, err
		}
	}
	return &sum, nil
}

func chartOfStyle(all *store.Whole, style int64) int64 {
	for i := range all.Styles {
		if all.Styles[i].ID == style {
			return all.Styles[i].ChartID
		}
	}
	return 0
}

// keptIn are the newest kept prices of a channel by colourway and size.
func (s *Service) keptIn(ctx context.Context, workshop int64, channel string) (map[int64]map[string]money.Decimal, error) {
	issued, err := s.IssuedPrices(ctx, workshop)
	if err != nil {
		return nil, err
	}
	prices := map[int64]map[string]money.Decimal{}
	for colourway, content := range issued {
		var sheets []costing.Pricing
		if err := json.Unmarshal(content, &sheets); err != nil {
			return nil, fmt.Errorf("the issued prices of colourway %d can't be read: %w", colourway, err)
		}
		prices[colourway] = map[string]money.Decimal{}
		for _, sheet := range sheets {
			for _, quote := range sheet.Quotes {
				if quote.Channel == channel {
					prices[colourway][quote.Garment.Size] = quote.Price.Number()
				}
			}
		}
	}
	return prices, nil
}

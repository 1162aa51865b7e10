package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"yardwright/costing"
	"yardwright/server/store"
)

// SaveChannelDraft checks and stores a channel, new or changed. A channel that sells at a
// multiple of the wholesale price needs a shop beside it.
func (s *Service) SaveChannelDraft(ctx context.Context, workshop int64, draft store.Channel) (int64, error) {
	draft.Settings.Name = strings.TrimSpace(draft.Settings.Name)
	if draft.Settings.Name == "" {
		return 0, store.Wrong("name", "Write a name.")
	}
	if err := checkChannel(draft.Settings); err != nil {
		return 0, err
	}
	id := draft.ID
	err := s.store.InTx(ctx, func(tx *store.Store) error {
		var err error
		if id != 0 {
			err = tx.SaveChannel(ctx, workshop, draft)
		} else {
			var others []store.Channel
			if others, err = tx.Channels(ctx, workshop); err != nil {
				return err
			}
			for _, other := range others {
				draft.Position = max(draft.Position, other.Position+1)
			}
			id, err = tx.AddChannel(ctx, workshop, draft)
		}
		if err != nil {
			return err
		}
		return checkWholesale(ctx, tx, workshop, id)
	})
	return id, err
}

// DropChannel removes a channel that no other one takes its wholesale price from.
func (s *Service) DropChannel(ctx context.Context, workshop, id int64) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.RemoveChannel(ctx, workshop, id); err != nil {
			return err
		}
		return checkWholesale(ctx, tx, workshop, 0)
	})
}

// checkChannel moves what costing refuses to the fields of the form.
func checkChannel(channel costing.Channel) error {
	err := channel.Check()
	var inputs costing.InputErrors
	if !errors.As(err, &inputs) {
		return err
	}
	fault := &store.Fault{Kind: store.Invalid}
	for _, e := range inputs {
		field := e.Field
		var at int
		if _, scanErr := fmt.Sscanf(field, "fees[%d].", &at); scanErr == nil {
			field = fmt.Sprintf("fee.%d.%s", at, field[strings.Index(field, "].")+2:])
		} else if name, known := channelFields[field]; known {
			field = name
		}
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: "This " + e.Message + "."})
	}
	return fault
}

// channelFields are the fields of the form that hold a part of a channel under another name.
var channelFields = map[string]string{
	"listing.fee": "listing_fee", "listing.per_item": "listings", "postage.cost": "postage_cost", "postage.charged": "postage_charged",
	"tax.rate": "tax", "terms.discount": "prompt_discount", "terms.minimum_order": "minimum_order", "price_point": "price_step",
	"stall.hours": "stall_hours", "stall.sales": "stall_sales",
	"target.rate": "target_value", "target.amount": "target_value", "target.multiple": "target_value", "target.kind": "target", "fees": "fee.0.rate",
}

// checkWholesale makes sure that a wholesale price is there for those who multiply it: the
// first shop's, which itself can't.
func checkWholesale(ctx context.Context, tx *store.Store, workshop, changed int64) error {
	channels, err := tx.Channels(ctx, workshop)
	if err != nil {
		return err
	}
	first := slices.IndexFunc(channels, func(c store.Channel) bool { return c.Settings.Kind == costing.Shop })
	for i, c := range channels {
		if c.Settings.Target.Kind != costing.TargetWholesale || (first >= 0 && first != i) {
			continue
		}
		if first == i {
			return store.Wrong("target", c.Settings.Name+" sets the wholesale price itself, so it can't be a multiple of it. Choose another aim.")
		}
		if c.ID == changed {
			return store.Wrong("target", "There is no channel for shops, so there is no wholesale price to multiply. Choose another aim, or add a shop first.")
		}
		return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Field: "kind", Message: c.Settings.Name + " sells at a multiple of the wholesale price, which would then be gone. Give it another aim first."}}}
	}
	return nil
}

package workshop

import (
	"context"
	"encoding/json"
	"fmt"

	"yardwright/costing"
	"yardwright/server/store"
)

// keepCostsOnceCut keeps the cost sheets of a batch, for good, once all its lays are cut. It
// comes after the transaction that marks the cutting, since laying the cloth of the standard
// sheets may take a while, and what is cut is cut even where a cost can't be worked out: that is
// only noted, and tried again at the next tick.
func (s *Service) keepCostsOnceCut(ctx context.Context, workshop, batchID int64) {
	row, err := s.Batch(ctx, workshop, batchID)
	if err == nil && (row.State == store.BatchCut || row.State == store.BatchDone) {
		err = s.KeepBatchCosts(ctx, workshop, batchID)
	}
	if err != nil {
		s.log.Warn("the costs of a batch could not be kept", "batch", batchID, "error", err)
	}
}

// Kept are cost sheets and prices of a colourway as they were kept.
type Kept struct {
	store.CostSnapshot
	// Pricings are by size, as they were then.
	Pricings []costing.Pricing
}

// Kept returns what was kept of a colourway.
func (s *Service) Kept(ctx context.Context, workshop, id int64) (Kept, error) {
	snapshot, err := s.store.CostSnapshot(ctx, workshop, id)
	if err != nil {
		return Kept{}, err
	}
	kept := Kept{CostSnapshot: snapshot}
	if err := json.Unmarshal(snapshot.Sheets, &kept.Pricings); err != nil {
		return Kept{}, fmt.Errorf("the prices that were kept as %d can't be read: %w", id, err)
	}
	if snapshot.BatchID != nil || len(kept.Pricings) == 0 || len(kept.Pricings[0].Sheet.Lines) == 0 {
		return Kept{}, notThere("page of kept prices")
	}
	return kept, nil
}

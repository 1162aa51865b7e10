package workshop

import (
	"context"

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

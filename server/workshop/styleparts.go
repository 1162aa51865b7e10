package workshop

import (
	"context"

	"yardwright/server/store"
)

// SaveStyleParts checks and stores a style of which steps or notions may have other names now: the
// time studies of a step, and what colourways have chosen for a notion, go with the name.
func (s *Service) SaveStyleParts(ctx context.Context, workshop int64, style store.Style, renamed store.StyleRenames) error {
	chart, err := s.Chart(ctx, workshop, style.ChartID)
	if err != nil {
		return store.Wrong("chart", "Choose a size chart.")
	}
	style.Chart = chart.Name
	if err := style.Check(chart.SizeChart); err != nil {
		return asFault(err)
	}
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveStyle(ctx, workshop, style); err != nil {
			return err
		}
		return tx.RenameParts(ctx, workshop, style, renamed)
	})
}

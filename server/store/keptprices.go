package store

import (
	"context"
	"time"
)

// KeptPrices names cost sheets and prices that were kept of a colourway.
type KeptPrices struct {
	ID int64
	// ColourwayID is nil where the colourway has been removed since.
	ColourwayID *int64
	Label       string
	CreatedAt   time.Time
}

// KeptPrices lists what was kept of colourways, newest first: of all of them, or of those of one
// style if it isn't 0.
func (s *Store) KeptPrices(ctx context.Context, workshop, style int64, most int) ([]KeptPrices, error) {
	return list[KeptPrices](ctx, s.db, `
		SELECT c.id, c.colourway_id, c.label, c.created_at FROM cost_snapshots c LEFT JOIN colourways w ON w.id = c.colourway_id
		WHERE c.workshop_id = @workshop AND c.sheets->0 ? 'sheet' AND (@style::bigint = 0 OR w.style_id = @style) ORDER BY c.id DESC LIMIT @most`,
		args{"workshop": workshop, "style": style, "most": most})
}

// CostSnapshot returns issued cost sheets.
func (s *Store) CostSnapshot(ctx context.Context, workshop, id int64) (CostSnapshot, error) {
	return one[CostSnapshot](ctx, s.db, "page of kept prices", `
		SELECT id, colourway_id, batch_id, label, sheets, created_at FROM cost_snapshots WHERE workshop_id = @workshop AND id = @id`,
		args{"workshop": workshop, "id": id})
}

// ListOfStyle names an issued price list that a style stands on.
type ListOfStyle struct {
	ID       int64
	Channel  string
	Revision int
	IssuedOn time.Time
}

// ListsOfStyle lists the issued price lists that a style stands on by its name, newest first.
func (s *Store) ListsOfStyle(ctx context.Context, workshop int64, style string, most int) ([]ListOfStyle, error) {
	return list[ListOfStyle](ctx, s.db, `
		SELECT id, channel, revision, issued_on FROM price_lists
		WHERE workshop_id = @workshop AND list->'lines' @> jsonb_build_array(jsonb_build_object('style', @style::text)) ORDER BY id DESC LIMIT @most`,
		args{"workshop": workshop, "style": style, "most": most})
}

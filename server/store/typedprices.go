package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"yardwright/costing/money"
)

// TypedPrice is a price on the tag that the maker typed, for a channel.
type TypedPrice struct {
	StyleID, ChannelID int64
	// ColourwayID is nil where it is for every colourway of the style; Size is "" for all sizes.
	ColourwayID *int64
	Size        string
	Price       money.Decimal
}

const typedPrices = `
	SELECT t.style_id, t.channel_id, t.colourway_id, t.size, t.price FROM typed_prices t JOIN styles s ON s.id = t.style_id WHERE s.workshop_id = @workshop`

const typedOrder = ` ORDER BY t.style_id, t.colourway_id NULLS FIRST, t.size, t.channel_id`

// typedFor are the typed prices that a page of one colourway shows: its own, and those of every
// colourway of its style.
func (s *Store) typedFor(ctx context.Context, workshop, style, colourway int64) ([]TypedPrice, error) {
	return list[TypedPrice](ctx, s.db, typedPrices+` AND t.style_id = @style AND (t.colourway_id IS NULL OR t.colourway_id = @colourway)`+typedOrder,
		args{"workshop": workshop, "style": style, "colourway": colourway})
}

// SetTypedPrices replaces the typed prices of a colourway and those of every colourway of its style
// by others; version is ContentVersion of what was looked at, and tells the second of two writers.
func (s *Store) SetTypedPrices(ctx context.Context, workshop, style, colourway int64, version string, prices []TypedPrice) error {
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := scalar[int64](ctx, tx.db, `SELECT w.id FROM styles s JOIN colourways w ON w.style_id = s.id AND w.id = @colourway
			WHERE s.id = @style AND s.workshop_id = @workshop FOR NO KEY UPDATE OF s`, args{"style": style, "colourway": colourway, "workshop": workshop}); err != nil {
			return noRowMissing(err, "colourway")
		}
		now, err := tx.typedFor(ctx, workshop, style, colourway)
		if err != nil {
			return err
		}
		if ContentVersion(now) != version {
			return changedMeanwhile("page of prices")
		}
		queue := &pgx.Batch{}
		queue.Queue(`DELETE FROM typed_prices WHERE style_id = @style AND (colourway_id IS NULL OR colourway_id = @colourway)`, args{"style": style, "colourway": colourway})
		for _, p := range prices {
			queue.Queue(`INSERT INTO typed_prices (style_id, channel_id, colourway_id, size, price)
				SELECT @style, c.id, @colourway, @size, @price FROM channels c WHERE c.id = @channel AND c.workshop_id = @workshop`,
				args{"workshop": workshop, "style": style, "channel": p.ChannelID, "colourway": p.ColourwayID, "size": p.Size, "price": p.Price})
		}
		return sendAll(ctx, tx.db, queue)
	})
}

package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// StyleSize is what the maker said of a size of a style.
type StyleSize struct {
	StyleID int64
	Size    string
	Offered bool
	// Share is the weight of the size in a usual batch; nil where the maker set none.
	Share *int
}

// VersionOfSizes is what a form that changes them begins from.
func VersionOfSizes(sizes []StyleSize) string {
	var version strings.Builder
	for _, size := range sizes {
		share := "-"
		if size.Share != nil {
			share = fmt.Sprint(*size.Share)
		}
		fmt.Fprintf(&version, "%s %t %s, ", size.Size, size.Offered, share)
	}
	return version.String()
}

const styleSizes = `SELECT z.style_id, z.size, z.offered, z.share FROM style_sizes z JOIN styles s ON s.id = z.style_id WHERE s.workshop_id = @workshop`

// StyleSizes lists what was said of the sizes of a style, by name.
func (s *Store) StyleSizes(ctx context.Context, workshop, style int64) ([]StyleSize, error) {
	return list[StyleSize](ctx, s.db, styleSizes+` AND s.id = @style ORDER BY z.size`, args{"workshop": workshop, "style": style})
}

// ChangeStyleSizes replaces what was said of the sizes of a style, for what was looked at in a
// version, and tells the second of two writers.
func (s *Store) ChangeStyleSizes(ctx context.Context, workshop, style int64, version string, sizes []StyleSize) error {
	return s.InTx(ctx, func(tx *Store) error {
		if _, err := scalar[int64](ctx, tx.db, `SELECT id FROM styles WHERE id = @style AND workshop_id = @workshop FOR NO KEY UPDATE`, args{"style": style, "workshop": workshop}); err != nil {
			return noRowMissing(err, "style")
		}
		now, err := tx.StyleSizes(ctx, workshop, style)
		if err != nil {
			return err
		}
		if VersionOfSizes(now) != version {
			return changedMeanwhile("style")
		}
		queue := &pgx.Batch{}
		queue.Queue(`DELETE FROM style_sizes WHERE style_id = @style`, args{"style": style})
		for _, size := range sizes {
			queue.Queue(`INSERT INTO style_sizes (style_id, size, offered, share) VALUES (@style, @size, @offered, @share)`,
				args{"style": style, "size": size.Size, "offered": size.Offered, "share": size.Share})
		}
		return sendAll(ctx, tx.db, queue)
	})
}

// OrderedSize is how many garments of a size of a style were ordered.
type OrderedSize struct {
	StyleID  int64
	Size     string
	Quantity int
}

// OrderedSizes counts what was ordered since a day, that day included, cancelled orders apart.
func (s *Store) OrderedSizes(ctx context.Context, workshop int64, since time.Time) ([]OrderedSize, error) {
	return list[OrderedSize](ctx, s.db, `
		SELECT w.style_id, l.size, sum(l.quantity)::integer AS quantity
		FROM order_lines l JOIN orders o ON o.id = l.order_id JOIN colourways w ON w.id = l.colourway_id
		WHERE o.workshop_id = @workshop AND o.state <> 'cancelled' AND o.taken_on >= @since
		GROUP BY w.style_id, l.size ORDER BY w.style_id, l.size`, args{"workshop": workshop, "since": since})
}

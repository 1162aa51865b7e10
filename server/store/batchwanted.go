package store

import "context"

// BatchWanted is so many of a garment that a batch makes, for customers of a kind.
type BatchWanted struct {
	ColourwayID  int64
	Size         string
	CustomerKind string
	Quantity     int
}

// BatchWanted lists what a batch makes by garment and kind of customer.
func (s *Store) BatchWanted(ctx context.Context, workshop, batch int64) ([]BatchWanted, error) {
	return list[BatchWanted](ctx, s.db, `
		SELECT l.colourway_id, l.size, c.kind AS customer_kind, sum(l.quantity)::integer AS quantity
		FROM batches b JOIN batch_lines bl ON bl.batch_id = b.id JOIN order_lines l ON l.id = bl.order_line_id
			JOIN orders o ON o.id = l.order_id JOIN customers c ON c.id = o.customer_id
		WHERE b.id = @batch AND b.workshop_id = @workshop GROUP BY l.colourway_id, l.size, c.kind ORDER BY l.colourway_id, l.size, c.kind`,
		args{"workshop": workshop, "batch": batch})
}

package store

import "context"

// LetGoCutCosts takes back the costs that were kept of a batch because all of it was cut, before
// a lay of it is taken back. Costs that the maker kept earlier stay.
func (s *Store) LetGoCutCosts(ctx context.Context, workshop, batchID int64) error {
	_, err := s.db.Exec(ctx, `
		DELETE FROM cost_snapshots c WHERE c.workshop_id = @workshop AND c.batch_id = @batch
			AND NOT EXISTS (SELECT FROM batch_lays l WHERE l.batch_id = @batch AND (l.cut_at IS NULL OR l.cut_at > c.created_at))`,
		args{"workshop": workshop, "batch": batchID})
	return fault(err)
}

// PutOrderBack puts the lines of an order that no batch cuts into a draft, undoing TakeOrderOut.
func (s *Store) PutOrderBack(ctx context.Context, workshop, id int64, version int, order int64) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "batch", `UPDATE batches SET version = version + 1 WHERE workshop_id = @workshop AND id = @id AND version = @version AND state = 'draft'`,
			args{"workshop": workshop, "id": id, "version": version})
		if err != nil {
			return err
		}
		orders, err := s.lockOrders(ctx, workshop, `SELECT @order::bigint`, args{"order": order})
		if err != nil {
			return err
		}
		tag, err := s.db.Exec(ctx, `
			INSERT INTO batch_lines (batch_id, order_line_id)
			SELECT @id, l.id FROM order_lines l JOIN orders o ON o.id = l.order_id
			WHERE o.workshop_id = @workshop AND o.id = @order AND o.state = 'open' AND NOT EXISTS (SELECT FROM batch_lines b WHERE b.order_line_id = l.id)`,
			args{"workshop": workshop, "id": id, "order": order})
		if err != nil {
			return fault(err)
		}
		if tag.RowsAffected() == 0 {
			return &Fault{Kind: Conflict, Problems: []Problem{{Message: "This order is in another batch by now, or isn't open any more."}}}
		}
		return s.moveOrders(ctx, orders)
	})
}

package store

import (
	"context"
	"time"
)

// ImportDraft is a file that is being looked at before anything of it is taken.
type ImportDraft struct {
	ID        int64
	Kind      string
	Name      string
	Content   []byte
	CreatedAt time.Time
}

// AddImportDraft keeps a file for a day, and lets go of older ones.
func (s *Store) AddImportDraft(ctx context.Context, workshop int64, draft ImportDraft) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		if _, err := s.db.Exec(ctx, `DELETE FROM import_drafts WHERE workshop_id = @workshop AND created_at < now() - interval '1 day'`, args{"workshop": workshop}); err != nil {
			return fault(err)
		}
		id, err = scalar[int64](ctx, s.db, `INSERT INTO import_drafts (workshop_id, kind, name, content) VALUES (@workshop, @kind, @name, @content) RETURNING id`,
			args{"workshop": workshop, "kind": draft.Kind, "name": draft.Name, "content": draft.Content})
		return err
	})
	return id, err
}

// ImportDraft returns a file that is being looked at.
func (s *Store) ImportDraft(ctx context.Context, workshop, id int64) (ImportDraft, error) {
	return one[ImportDraft](ctx, s.db, "file", `SELECT id, kind, name, content, created_at FROM import_drafts WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// RemoveImportDraft lets go of a file.
func (s *Store) RemoveImportDraft(ctx context.Context, workshop, id int64) error {
	_, err := s.db.Exec(ctx, `DELETE FROM import_drafts WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
	return fault(err)
}

// OrdersNumbered returns the orders that have one of these numbers, whole.
func (s *Store) OrdersNumbered(ctx context.Context, workshop int64, numbers []string) (map[string]Order, error) {
	orders, err := list[Order](ctx, s.db, `SELECT `+orderColumns+` FROM orders o JOIN customers c ON c.id = o.customer_id
		WHERE o.workshop_id = @workshop AND o.number = ANY(@numbers)`, args{"workshop": workshop, "numbers": numbers})
	if err != nil {
		return nil, err
	}
	if err := s.fillLines(ctx, orders); err != nil {
		return nil, err
	}
	found := map[string]Order{}
	for _, order := range orders {
		found[order.Number] = order
	}
	return found, nil
}

// OrdersWithLines lists orders of every state with their lines, first due first.
func (s *Store) OrdersWithLines(ctx context.Context, workshop int64, most int) ([]Order, error) {
	orders, err := s.Orders(ctx, workshop, "", most)
	if err != nil {
		return nil, err
	}
	return orders, s.fillLines(ctx, orders)
}

// fillLines reads the lines of many orders at once.
func (s *Store) fillLines(ctx context.Context, orders []Order) error {
	ids, at := make([]int64, len(orders)), map[int64]*Order{}
	for i := range orders {
		ids[i], at[orders[i].ID] = orders[i].ID, &orders[i]
	}
	lines, err := s.orderLines(ctx, `l.order_id = ANY(@ids)`, args{"ids": ids})
	for _, line := range lines {
		at[line.OrderID].Lines = append(at[line.OrderID].Lines, line)
	}
	return err
}

// WorkOfBatch returns how long a batch takes at the workshop's pace by its newest plan; 0 if
// it was never planned.
func (s *Store) WorkOfBatch(ctx context.Context, workshop, batchID int64) (time.Duration, error) {
	worked, err := scalar[int64](ctx, s.db, `SELECT coalesce((SELECT p.worked FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch AND p.plan IS NOT NULL ORDER BY p.id DESC LIMIT 1), 0)`, args{"workshop": workshop, "batch": batchID})
	return time.Duration(worked), err
}

// CalendarKey returns what opens the calendar of a workshop.
func (s *Store) CalendarKey(ctx context.Context, workshop int64) (string, error) {
	return scalar[string](ctx, s.db, `SELECT calendar_key FROM workshops WHERE id = @workshop`, args{"workshop": workshop})
}

// ChangeCalendarKey closes the calendar to everybody who knows the old key.
func (s *Store) ChangeCalendarKey(ctx context.Context, workshop int64) error {
	_, err := s.db.Exec(ctx, `UPDATE workshops SET calendar_key = DEFAULT WHERE id = @workshop`, args{"workshop": workshop})
	return fault(err)
}

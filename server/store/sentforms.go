package store

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"
)

// Once does what a form asks, unless a form with the same key did it before: then it returns the
// answer of that one, and again is true. Two at the same time take turns. An empty key is none.
func (s *Store) Once(ctx context.Context, workshop int64, key string, do func(*Store) (answer string, err error)) (answer string, again bool, err error) {
	err = s.InTx(ctx, func(tx *Store) error {
		named := args{"workshop": workshop, "key": key}
		if key != "" {
			_, err := scalar[string](ctx, tx.db, `INSERT INTO sent_forms (workshop_id, key) VALUES (@workshop, @key) ON CONFLICT ON CONSTRAINT sent_forms_once DO NOTHING RETURNING key`, named)
			if errors.Is(err, pgx.ErrNoRows) {
				again = true
				answer, err = scalar[string](ctx, tx.db, `SELECT answer FROM sent_forms WHERE workshop_id = @workshop AND key = @key`, named)
				return err
			}
			if err != nil {
				return fault(err)
			}
		}
		var err error
		if answer, err = do(tx); err != nil || key == "" {
			return err
		}
		if _, err = tx.db.Exec(ctx, `DELETE FROM sent_forms WHERE sent_at < now() - interval '60 days'`); err != nil {
			return fault(err)
		}
		named["answer"] = answer
		_, err = tx.db.Exec(ctx, `UPDATE sent_forms SET answer = @answer WHERE workshop_id = @workshop AND key = @key`, named)
		return fault(err)
	})
	return answer, again, err
}

// Sent returns the answer of a form with a key; "" if none was sent.
func (s *Store) Sent(ctx context.Context, workshop int64, key string) (string, error) {
	answer, err := scalar[string](ctx, s.db, `SELECT answer FROM sent_forms WHERE workshop_id = @workshop AND key = @key`, args{"workshop": workshop, "key": key})
	if errors.Is(err, pgx.ErrNoRows) {
		return "", nil
	}
	return answer, err
}

// RemovePayments takes all payments out of an order, and returns which.
func (s *Store) RemovePayments(ctx context.Context, workshop, order int64) ([]int64, error) {
	type row struct{ ID int64 }
	removed, err := list[row](ctx, s.db, `UPDATE payments p SET removed_at = now() FROM orders o
		WHERE o.id = p.order_id AND o.workshop_id = @workshop AND o.id = @order AND p.removed_at IS NULL RETURNING p.id`, args{"workshop": workshop, "order": order})
	ids := make([]int64, len(removed))
	for i, r := range removed {
		ids[i] = r.ID
	}
	return ids, err
}

package store

import (
	"context"
	"time"

	"yardwright/batch"
)

// DueCounts says how much is wanted.
type DueCounts struct {
	// Due orders are not handed over yet; Late ones of them were due before today.
	Due, Late int
	// OpenGarments are wanted in open orders and in no batch yet.
	OpenGarments int
}

// DueCounts counts what is wanted on a day.
func (s *Store) DueCounts(ctx context.Context, workshop int64, today time.Time) (DueCounts, error) {
	return one[DueCounts](ctx, s.db, "workshop", `
		SELECT count(*)::integer AS due, (count(*) FILTER (WHERE o.due_on < @today))::integer AS late,
			(SELECT coalesce(sum(l.quantity), 0) FROM order_lines l JOIN orders p ON p.id = l.order_id LEFT JOIN batch_lines b ON b.order_line_id = l.id
				WHERE p.workshop_id = @workshop AND p.state = 'open' AND b.batch_id IS NULL)::integer AS open_garments
		FROM orders o WHERE o.workshop_id = @workshop AND o.state NOT IN ('delivered', 'cancelled')`, args{"workshop": workshop, "today": today})
}

// PlannedWork is a batch that is planned and not done, with what the plan says that it is cut by.
type PlannedWork struct {
	BatchID  int64
	Name     string
	State    string
	StartsOn time.Time
	// Worked is all its work, at the workroom's own pace.
	Worked   time.Duration
	Shopping []batch.Shopping
}

// PlannedWork lists the batches that are planned and not done, by the day on which they start.
func (s *Store) PlannedWork(ctx context.Context, workshop int64) ([]PlannedWork, error) {
	return list[PlannedWork](ctx, s.db, `
		SELECT b.id AS batch_id, b.name, b.state, b.starts_on, coalesce(p.worked, 0) AS worked, p.shopping
		FROM batches b JOIN batch_plans p ON p.batch_id = b.id AND p.id = b.plan_id AND p.plan IS NOT NULL
		WHERE b.workshop_id = @workshop AND b.state <> 'done' ORDER BY b.starts_on, b.id LIMIT 200`, args{"workshop": workshop})
}

package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
)

// Batch is the orders that are cut together, as stored.
type Batch struct {
	ID        int64
	Name      string
	State     string
	StartsOn  time.Time
	CreatedAt time.Time
	Version   int
	// PlanID is the plan that the batch is cut by; nil if there is none yet.
	PlanID     *int64
	ReleasedAt *time.Time
	Orders     int
	Garments   int
}

// Draft tells whether orders and plan can still change.
func (b Batch) Draft() bool { return b.State == BatchDraft }

const batchColumns = `b.id, b.name, b.state, b.starts_on, b.created_at, b.version, b.plan_id, b.released_at,
	(SELECT count(DISTINCT l.order_id) FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id WHERE bl.batch_id = b.id)::integer AS orders,
	coalesce((SELECT sum(l.quantity) FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id WHERE bl.batch_id = b.id), 0)::integer AS garments`

// Batches lists the batches, newest first.
func (s *Store) Batches(ctx context.Context, workshop int64, most int) ([]Batch, error) {
	return list[Batch](ctx, s.db, `SELECT `+batchColumns+` FROM batches b WHERE b.workshop_id = @workshop ORDER BY b.id DESC LIMIT @most`, args{"workshop": workshop, "most": most})
}

// BatchesPage lists so many batches, newest first, after leaving out some, and says how many
// there are in all.
func (s *Store) BatchesPage(ctx context.Context, workshop int64, most, skip int) (batches []Batch, all int, err error) {
	if all, err = scalar[int](ctx, s.db, `SELECT count(*) FROM batches WHERE workshop_id = @workshop`, args{"workshop": workshop}); err != nil {
		return nil, 0, err
	}
	batches, err = list[Batch](ctx, s.db, `SELECT `+batchColumns+` FROM batches b WHERE b.workshop_id = @workshop ORDER BY b.id DESC LIMIT @most OFFSET @skip`,
		args{"workshop": workshop, "most": most, "skip": skip})
	return batches, all, err
}

// Batch returns one batch.
func (s *Store) Batch(ctx context.Context, workshop, id int64) (Batch, error) {
	return one[Batch](ctx, s.db, "batch", `SELECT `+batchColumns+` FROM batches b WHERE b.workshop_id = @workshop AND b.id = @id`, args{"workshop": workshop, "id": id})
}

// AddBatch makes a batch of order lines. A line that another batch cuts is a conflict.
func (s *Store) AddBatch(ctx context.Context, workshop int64, name string, startsOn time.Time, lines []int64) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		orders, err := s.lockOrders(ctx, workshop, `SELECT order_id FROM order_lines WHERE id = ANY(@lines)`, args{"lines": lines})
		if err != nil {
			return err
		}
		id, err = scalar[int64](ctx, s.db, `INSERT INTO batches (workshop_id, name, starts_on) VALUES (@workshop, @name, @starts_on) RETURNING id`,
			args{"workshop": workshop, "name": name, "starts_on": startsOn})
		if err != nil {
			return err
		}
		queue := &pgx.Batch{}
		for _, line := range lines {
			queue.Queue(`INSERT INTO batch_lines (batch_id, order_line_id)
				SELECT @batch, l.id FROM order_lines l JOIN orders o ON o.id = l.order_id WHERE l.id = @line AND o.workshop_id = @workshop`,
				args{"workshop": workshop, "batch": id, "line": line})
		}
		if err := sendAll(ctx, s.db, queue); err != nil {
			return err
		}
		return s.moveOrders(ctx, orders)
	})
	return id, err
}

// RemoveBatch gives the order lines of a draft free again and removes it with its plans.
func (s *Store) RemoveBatch(ctx context.Context, workshop, id int64, version int) error {
	return s.InTx(ctx, func(s *Store) error {
		orders, err := s.lockOrdersOf(ctx, workshop, id)
		if err != nil {
			return err
		}
		err = changed(ctx, s.db, "batch", `DELETE FROM batches WHERE workshop_id = @workshop AND id = @id AND version = @version AND state = 'draft'`,
			args{"workshop": workshop, "id": id, "version": version})
		if err != nil {
			return err
		}
		return s.moveOrders(ctx, orders)
	})
}

// TakeOrderOut takes the lines of an order out of a draft. The plans of the batch stay; they
// are of more orders than it has now.
func (s *Store) TakeOrderOut(ctx context.Context, workshop, id int64, version int, order int64) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "batch", `UPDATE batches SET version = version + 1 WHERE workshop_id = @workshop AND id = @id AND version = @version AND state = 'draft'`,
			args{"workshop": workshop, "id": id, "version": version})
		if err != nil {
			return err
		}
		if _, err := s.db.Exec(ctx, `DELETE FROM batch_lines WHERE batch_id = @id AND order_line_id IN (SELECT id FROM order_lines WHERE order_id = @order)`,
			args{"id": id, "order": order}); err != nil {
			return fault(err)
		}
		orders, err := s.lockOrders(ctx, workshop, `SELECT @order::bigint`, args{"order": order})
		if err != nil {
			return err
		}
		return s.moveOrders(ctx, orders)
	})
}

// lockOrders keeps the orders that a query lists from changing until the transaction ends. All
// who move orders lock them in the same order.
func (s *Store) lockOrders(ctx context.Context, workshop int64, which string, named args) ([]int64, error) {
	named["workshop"] = workshop
	rows, err := s.db.Query(ctx, `SELECT id FROM orders WHERE workshop_id = @workshop AND id IN (`+which+`) ORDER BY id FOR NO KEY UPDATE`, named)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[int64])
}

func (s *Store) lockOrdersOf(ctx context.Context, workshop, batchID int64) ([]int64, error) {
	return s.lockOrders(ctx, workshop, `SELECT l.order_id FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id WHERE bl.batch_id = @batch`, args{"batch": batchID})
}

// moveOrders keeps the state of orders, which the caller has locked, with the batches of their
// lines: an order is as far as the line that is least far, but being cut as soon as one is.
func (s *Store) moveOrders(ctx context.Context, orders []int64) error {
	_, err := s.db.Exec(ctx, `
		UPDATE orders o SET state = now.state, version = o.version + 1
		FROM (SELECT l.order_id, CASE
				WHEN NOT bool_and(bl.batch_id IS NOT NULL) THEN 'open'
				WHEN bool_and(b.state = 'done') THEN 'made'
				WHEN bool_and(b.state IN ('cut', 'done')) THEN 'being sewn'
				WHEN bool_or(b.state NOT IN ('draft', 'released')) THEN 'being cut'
				ELSE 'in a batch' END AS state
			FROM order_lines l LEFT JOIN batch_lines bl ON bl.order_line_id = l.id LEFT JOIN batches b ON b.id = bl.batch_id
			WHERE l.order_id = ANY(@orders) GROUP BY l.order_id) now
		WHERE o.id = now.order_id AND o.state NOT IN ('delivered', 'cancelled') AND o.state <> now.state`, args{"orders": orders})
	return fault(err)
}

// BatchOrders lists the orders of a batch, first due first; Garments counts what of them is
// in this batch.
func (s *Store) BatchOrders(ctx context.Context, workshop, id int64) ([]BatchOrder, error) {
	return list[BatchOrder](ctx, s.db, ordersOfBatch, args{"workshop": workshop, "batch": id})
}

// BatchOrder is an order of a batch.
type BatchOrder struct {
	ID                   int64
	Number, CustomerName string
	DueOn                time.Time
	State                string
	// Garments counts what of the order is in this batch.
	Garments int
}

const ordersOfBatch = `SELECT o.id, o.number, c.name AS customer_name, o.due_on, o.state, sum(l.quantity)::integer AS garments
	FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id JOIN orders o ON o.id = l.order_id JOIN customers c ON c.id = o.customer_id
	WHERE bl.batch_id = @batch AND o.workshop_id = @workshop GROUP BY o.id, c.id ORDER BY o.due_on, o.number`

// BatchLines lists the order lines of a batch as package batch takes them.
func (s *Store) BatchLines(ctx context.Context, workshop, id int64) ([]batch.Line, error) {
	return list[batch.Line](ctx, s.db, linesOfBatch, args{"workshop": workshop, "batch": id})
}

const linesOfBatch = `
	SELECT l.id AS order_line, o.number AS "order", c.name AS customer, o.due_on AS due, l.colourway_id AS colourway, l.size, l.quantity
	FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id JOIN orders o ON o.id = l.order_id JOIN customers c ON c.id = o.customer_id
	WHERE bl.batch_id = @batch AND o.workshop_id = @workshop ORDER BY o.due_on, o.number, l.id`

// States of a plan.
const (
	PlanWaiting  = "waiting"
	PlanPlanning = "planning"
	PlanPlanned  = "planned"
	PlanStopped  = "stopped"
	PlanFailed   = "failed"
)

// BatchPlan is one planning of a batch: how far it is, and what came out.
type BatchPlan struct {
	ID, BatchID int64
	State       string
	JobID       *int64
	Seed        int64
	Iterations  int
	Share       float32
	Message     string
	CreatedAt   time.Time
	FinishedAt  *time.Time
	// Quiet: nothing has been heard for a while of the program that plans; it has probably
	// ended.
	Quiet bool
	// Told counts what there was to tell of it so far.
	Told int64
	// Continues is the planning whose lays the plan has, with the shelf or the settings of later; nil
	// for a planning. InsteadOf is the planning in whose place this one was taken; nil for none.
	Continues, InsteadOf *int64
}

// Root is the planning that the lays of the plan are of.
func (p BatchPlan) Root() int64 {
	if p.Continues != nil {
		return *p.Continues
	}
	return p.ID
}

// Finished tells whether nothing more will come.
func (p BatchPlan) Finished() bool {
	return p.State == PlanPlanned || p.State == PlanStopped || p.State == PlanFailed
}

const planColumns = `p.id, p.batch_id, p.state, p.job_id, p.seed, p.iterations, p.share, p.message, p.created_at, p.finished_at,
	(p.state = 'planning' AND p.beat_at < now() - interval '20 seconds') AS quiet, p.told, p.continues, p.instead_of`

// AddBatchPlan notes that a batch is to be planned.
func (s *Store) AddBatchPlan(ctx context.Context, workshop, batchID, seed int64, iterations int) (int64, error) {
	id, err := scalar[int64](ctx, s.db, `
		INSERT INTO batch_plans (batch_id, seed, iterations) SELECT b.id, @seed, @iterations FROM batches b WHERE b.id = @batch AND b.workshop_id = @workshop RETURNING id`,
		args{"workshop": workshop, "batch": batchID, "seed": seed, "iterations": iterations})
	return id, noRowMissing(err, "batch")
}

// noRowMissing turns an insert that found nothing to belong to into a NotFound.
func noRowMissing(err error, what string) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return missing(what)
	}
	return err
}

// SetPlanJob notes the job that plans.
func (s *Store) SetPlanJob(ctx context.Context, plan, job int64) error {
	return changed(ctx, s.db, "plan", `UPDATE batch_plans SET job_id = @job WHERE id = @plan`, args{"plan": plan, "job": job})
}

// BeginPlan notes that planning has begun, also again after a crash; a finished plan is a
// conflict.
func (s *Store) BeginPlan(ctx context.Context, plan int64) error {
	return changed(ctx, s.db, "plan", `UPDATE batch_plans SET state = 'planning', beat_at = now(), told = told + 1 WHERE id = @plan AND state IN ('waiting', 'planning')`, args{"plan": plan})
}

// ReportPlan notes how far planning is. It never goes back.
func (s *Store) ReportPlan(ctx context.Context, plan int64, share float32, message string) error {
	_, err := s.db.Exec(ctx, `UPDATE batch_plans SET share = greatest(share, @share), message = @message, beat_at = now(), told = told + 1 WHERE id = @plan AND state = 'planning'`,
		args{"plan": plan, "share": share, "message": message})
	return fault(err)
}

// BeatPlan notes that the program that plans is alive.
func (s *Store) BeatPlan(ctx context.Context, plan int64) error {
	_, err := s.db.Exec(ctx, `UPDATE batch_plans SET beat_at = now() WHERE id = @plan AND state = 'planning'`, args{"plan": plan})
	return fault(err)
}

// FinishPlan stores what came out; a nil plan is allowed unless the state is planned. The batch,
// if it is still a draft, is cut by the new plan from now on if it has none yet, or if the one
// that it has is still the one named, which the new one takes the place of; 0 for none.
func (s *Store) FinishPlan(ctx context.Context, plan int64, state, message string, made *batch.Plan, over int64) error {
	return s.InTx(ctx, func(s *Store) error {
		if err := s.finishPlan(ctx, plan, state, message, made); err != nil || made == nil {
			return err
		}
		taken, err := s.db.Exec(ctx, `
			UPDATE batches b SET plan_id = p.id, version = b.version + 1 FROM batch_plans p
			WHERE p.id = @plan AND b.id = p.batch_id AND b.state = 'draft' AND (b.plan_id IS NULL OR b.plan_id = @over)`, args{"plan": plan, "over": over})
		if err != nil || taken.RowsAffected() == 0 || over == 0 {
			return fault(err)
		}
		_, err = s.db.Exec(ctx, `UPDATE batch_plans p SET instead_of = coalesce(o.continues, o.id) FROM batch_plans o WHERE p.id = @plan AND o.id = @over AND o.batch_id = p.batch_id`,
			args{"plan": plan, "over": over})
		return fault(err)
	})
}

func (s *Store) finishPlan(ctx context.Context, plan int64, state, message string, made *batch.Plan) error {
	var content []byte
	if made != nil {
		var err error
		if content, err = json.Marshal(made); err != nil {
			return fmt.Errorf("plan %d: %w", plan, err)
		}
	}
	share := float32(0)
	if state == PlanPlanned {
		share = 1
	}
	return changed(ctx, s.db, "plan", `
		UPDATE batch_plans SET state = @state, message = @message, plan = @content, finished_at = now(), share = greatest(share, @share), told = told + 1
		WHERE id = @plan AND state IN ('waiting', 'planning')`,
		args{"plan": plan, "state": state, "message": message, "content": content, "share": share})
}

// BatchPlan returns how far a plan is.
func (s *Store) BatchPlan(ctx context.Context, workshop, id int64) (BatchPlan, error) {
	return one[BatchPlan](ctx, s.db, "plan", `SELECT `+planColumns+` FROM batch_plans p JOIN batches b ON b.id = p.batch_id WHERE b.workshop_id = @workshop AND p.id = @id`,
		args{"workshop": workshop, "id": id})
}

// LatestPlan returns the planning of a batch that is under way, or else the newest; nil if it was
// never planned.
func (s *Store) LatestPlan(ctx context.Context, workshop, batchID int64) (*BatchPlan, error) {
	plans, err := list[BatchPlan](ctx, s.db, `SELECT `+planColumns+` FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch AND p.continues IS NULL ORDER BY p.state IN ('waiting', 'planning') DESC, p.id DESC LIMIT 1`, args{"workshop": workshop, "batch": batchID})
	if err != nil || len(plans) == 0 {
		return nil, err
	}
	return &plans[0], nil
}

// ContinuePlan stores what became of a finished plan of a draft without planning again, such as
// with cloth that came in, as a plan of its own, and lets the batch be cut by it. The plan before
// stays as it is.
func (s *Store) ContinuePlan(ctx context.Context, workshop, batchID, plan int64, message string, made batch.Plan) (id int64, err error) {
	content, err := json.Marshal(made)
	if err != nil {
		return 0, fmt.Errorf("plan %d: %w", plan, err)
	}
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO batch_plans (batch_id, seed, iterations, state, message, share, finished_at, plan, continues)
			SELECT p.batch_id, p.seed, p.iterations, 'planned', @message, 1, now(), @content, coalesce(p.continues, p.id) FROM batch_plans p JOIN batches b ON b.id = p.batch_id
			WHERE p.id = @plan AND b.id = @batch AND b.workshop_id = @workshop AND b.state = 'draft' AND p.plan IS NOT NULL RETURNING id`,
			args{"workshop": workshop, "batch": batchID, "plan": plan, "message": message, "content": content})
		if err != nil {
			return noRowMissing(err, "plan")
		}
		return changed(ctx, s.db, "batch", `UPDATE batches SET plan_id = @plan, version = version + 1 WHERE id = @batch AND state = 'draft'`, args{"batch": batchID, "plan": id})
	})
	return id, err
}

// MadePlan returns the plan that a batch is cut by; nil if there is none yet.
func (s *Store) MadePlan(ctx context.Context, workshop, batchID int64) (*batch.Plan, error) {
	_, made, err := s.HeldPlan(ctx, workshop, batchID)
	return made, err
}

// HeldPlan is MadePlan with the number of the plan; 0 if there is none yet.
func (s *Store) HeldPlan(ctx context.Context, workshop, batchID int64) (int64, *batch.Plan, error) {
	var id int64
	var content []byte
	err := s.db.QueryRow(ctx, `SELECT p.id, p.plan FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch AND p.plan IS NOT NULL ORDER BY p.id IS NOT DISTINCT FROM b.plan_id DESC, p.id DESC LIMIT 1`,
		args{"workshop": workshop, "batch": batchID}).Scan(&id, &content)
	if errors.Is(err, pgx.ErrNoRows) {
		return 0, nil, nil
	}
	if err != nil {
		return 0, nil, err
	}
	var made batch.Plan
	if err := json.Unmarshal(content, &made); err != nil {
		return 0, nil, fmt.Errorf("the stored plan of batch %d can't be read: %w", batchID, err)
	}
	return id, &made, nil
}

// KeptPlan is a finished plan of a batch with what came out.
type KeptPlan struct {
	BatchPlan
	Plan batch.Plan
}

// KeptPlans lists what the newest plannings of a batch came to, newest first. Of each only the last
// state is listed: with the cloth that came in for it, and the settings of then.
func (s *Store) KeptPlans(ctx context.Context, workshop, batchID int64, most int) ([]KeptPlan, error) {
	return list[KeptPlan](ctx, s.db, `SELECT `+planColumns+`, p.plan FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch AND p.plan IS NOT NULL
			AND NOT EXISTS (SELECT FROM batch_plans c WHERE c.batch_id = p.batch_id AND c.continues = coalesce(p.continues, p.id) AND c.id > p.id)
		ORDER BY p.id DESC LIMIT @most`,
		args{"workshop": workshop, "batch": batchID, "most": most})
}

// CountPlans counts the plannings of a batch.
func (s *Store) CountPlans(ctx context.Context, workshop, batchID int64) (int, error) {
	return scalar[int](ctx, s.db, `SELECT count(*) FROM batch_plans p JOIN batches b ON b.id = p.batch_id WHERE b.workshop_id = @workshop AND p.batch_id = @batch`,
		args{"workshop": workshop, "batch": batchID})
}

// ChoosePlan makes a finished plan of a draft the one that holds.
func (s *Store) ChoosePlan(ctx context.Context, workshop, id int64, version int, plan int64) error {
	return changed(ctx, s.db, "batch", `
		UPDATE batches b SET plan_id = p.id, version = b.version + 1 FROM batch_plans p
		WHERE b.workshop_id = @workshop AND b.id = @id AND b.version = @version AND b.state = 'draft' AND p.id = @plan AND p.batch_id = b.id AND p.plan IS NOT NULL`,
		args{"workshop": workshop, "id": id, "version": version, "plan": plan})
}

// CostSnapshot is issued cost sheets with their prices.
type CostSnapshot struct {
	ID          int64
	ColourwayID *int64
	BatchID     *int64
	Label       string
	Sheets      json.RawMessage
	CreatedAt   time.Time
}

// AddCostSnapshot stores issued cost sheets for good.
func (s *Store) AddCostSnapshot(ctx context.Context, workshop int64, c CostSnapshot) (int64, error) {
	return scalar[int64](ctx, s.db, `
		INSERT INTO cost_snapshots (workshop_id, colourway_id, batch_id, label, sheets) VALUES (@workshop, @colourway, @batch, @label, @sheets) RETURNING id`,
		args{"workshop": workshop, "colourway": c.ColourwayID, "batch": c.BatchID, "label": c.Label, "sheets": c.Sheets})
}

// CostSnapshots lists issued cost sheets of a colourway, newest first.
func (s *Store) CostSnapshots(ctx context.Context, workshop, colourway int64) ([]CostSnapshot, error) {
	return list[CostSnapshot](ctx, s.db, `
		SELECT id, colourway_id, batch_id, label, sheets, created_at FROM cost_snapshots
		WHERE workshop_id = @workshop AND colourway_id = @colourway ORDER BY id DESC`, args{"workshop": workshop, "colourway": colourway})
}

// BoltNames lists all bolts there have been, by number, for finding a free name.
func (s *Store) BoltNames(ctx context.Context, workshop int64) ([]string, error) {
	rows, err := s.db.Query(ctx, `SELECT name FROM bolts WHERE workshop_id = @workshop ORDER BY id`, args{"workshop": workshop})
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// PlannedDrafts lists the drafts that have a plan, by number.
func (s *Store) PlannedDrafts(ctx context.Context, workshop int64) ([]int64, error) {
	rows, err := s.db.Query(ctx, `SELECT id FROM batches WHERE workshop_id = @workshop AND state = 'draft' AND plan_id IS NOT NULL ORDER BY id`, args{"workshop": workshop})
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[int64])
}

// OpenPlan is the plan of a batch that isn't sewn yet.
type OpenPlan struct {
	BatchID int64
	Name    string
	State   string
	Plan    batch.Plan
}

// OpenPlans lists the batches that are planned and not done with the plans that they are cut by,
// by the day on which they start.
func (s *Store) OpenPlans(ctx context.Context, workshop int64) ([]OpenPlan, error) {
	return list[OpenPlan](ctx, s.db, `
		SELECT b.id AS batch_id, b.name, b.state, p.plan FROM batches b JOIN batch_plans p ON p.batch_id = b.id AND p.id = b.plan_id
		WHERE b.workshop_id = @workshop AND b.state <> 'done' AND p.plan IS NOT NULL ORDER BY b.starts_on, b.id LIMIT 200`, args{"workshop": workshop})
}

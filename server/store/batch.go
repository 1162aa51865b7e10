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
	Orders    int
	Garments  int
}

const batchColumns = `b.id, b.name, b.state, b.starts_on, b.created_at, b.version,
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
		return s.moveOrders(ctx, workshop)
	})
	return id, err
}

// RemoveBatch gives the order lines of a batch free again and removes it with its plans.
func (s *Store) RemoveBatch(ctx context.Context, workshop, id int64) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "batch", `DELETE FROM batches WHERE workshop_id = @workshop AND id = @id AND state = 'draft'`, args{"workshop": workshop, "id": id})
		if err != nil {
			return err
		}
		return s.moveOrders(ctx, workshop)
	})
}

// moveOrders keeps the state of orders with their lines: an order is in a batch when every
// line of it is.
func (s *Store) moveOrders(ctx context.Context, workshop int64) error {
	_, err := s.db.Exec(ctx, `
		UPDATE orders o SET state = now.state, version = o.version + 1
		FROM (SELECT l.order_id, CASE WHEN bool_and(b.batch_id IS NOT NULL) THEN 'in a batch' ELSE 'open' END AS state
			FROM order_lines l LEFT JOIN batch_lines b ON b.order_line_id = l.id GROUP BY l.order_id) now
		WHERE o.id = now.order_id AND o.workshop_id = @workshop AND o.state IN ('open', 'in a batch') AND o.state <> now.state`, args{"workshop": workshop})
	return fault(err)
}

// BatchLines lists the order lines of a batch as package batch takes them.
func (s *Store) BatchLines(ctx context.Context, workshop, id int64) ([]batch.Line, error) {
	return list[batch.Line](ctx, s.db, `
		SELECT l.id AS order_line, o.number AS "order", c.name AS customer, o.due_on AS due, l.colourway_id AS colourway, l.size, l.quantity
		FROM batch_lines bl JOIN order_lines l ON l.id = bl.order_line_id JOIN orders o ON o.id = l.order_id JOIN customers c ON c.id = o.customer_id
		WHERE bl.batch_id = @id AND o.workshop_id = @workshop ORDER BY o.due_on, o.number, l.id`, args{"workshop": workshop, "id": id})
}

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
}

// Finished tells whether nothing more will come.
func (p BatchPlan) Finished() bool {
	return p.State == PlanPlanned || p.State == PlanStopped || p.State == PlanFailed
}

const planColumns = `p.id, p.batch_id, p.state, p.job_id, p.seed, p.iterations, p.share, p.message, p.created_at, p.finished_at,
	(p.state = 'planning' AND p.beat_at < now() - interval '20 seconds') AS quiet`

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
	return changed(ctx, s.db, "plan", `UPDATE batch_plans SET state = 'planning', beat_at = now() WHERE id = @plan AND state IN ('waiting', 'planning')`, args{"plan": plan})
}

// ReportPlan notes how far planning is. It never goes back.
func (s *Store) ReportPlan(ctx context.Context, plan int64, share float32, message string) error {
	_, err := s.db.Exec(ctx, `UPDATE batch_plans SET share = greatest(share, @share), message = @message, beat_at = now() WHERE id = @plan AND state = 'planning'`,
		args{"plan": plan, "share": share, "message": message})
	return fault(err)
}

// BeatPlan notes that the program that plans is alive.
func (s *Store) BeatPlan(ctx context.Context, plan int64) error {
	_, err := s.db.Exec(ctx, `UPDATE batch_plans SET beat_at = now() WHERE id = @plan AND state = 'planning'`, args{"plan": plan})
	return fault(err)
}

// FinishPlan stores what came out. A nil plan is allowed unless the state is planned.
func (s *Store) FinishPlan(ctx context.Context, plan int64, state, message string, made *batch.Plan) error {
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
		UPDATE batch_plans SET state = @state, message = @message, plan = @content, finished_at = now(), share = greatest(share, @share)
		WHERE id = @plan AND state IN ('waiting', 'planning')`,
		args{"plan": plan, "state": state, "message": message, "content": content, "share": share})
}

// BatchPlan returns how far a plan is.
func (s *Store) BatchPlan(ctx context.Context, workshop, id int64) (BatchPlan, error) {
	return one[BatchPlan](ctx, s.db, "plan", `SELECT `+planColumns+` FROM batch_plans p JOIN batches b ON b.id = p.batch_id WHERE b.workshop_id = @workshop AND p.id = @id`,
		args{"workshop": workshop, "id": id})
}

// LatestPlan returns the newest plan of a batch; nil if it was never planned.
func (s *Store) LatestPlan(ctx context.Context, workshop, batchID int64) (*BatchPlan, error) {
	plans, err := list[BatchPlan](ctx, s.db, `SELECT `+planColumns+` FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch ORDER BY p.id DESC LIMIT 1`, args{"workshop": workshop, "batch": batchID})
	if err != nil || len(plans) == 0 {
		return nil, err
	}
	return &plans[0], nil
}

// MadePlan returns what came out of the newest finished planning of a batch; nil if nothing
// has yet.
func (s *Store) MadePlan(ctx context.Context, workshop, batchID int64) (*batch.Plan, error) {
	_, made, err := s.HeldPlan(ctx, workshop, batchID)
	return made, err
}

// HeldPlan is MadePlan with the number of the plan; 0 if there is none yet.
func (s *Store) HeldPlan(ctx context.Context, workshop, batchID int64) (int64, *batch.Plan, error) {
	var id int64
	var content []byte
	err := s.db.QueryRow(ctx, `SELECT p.id, p.plan FROM batch_plans p JOIN batches b ON b.id = p.batch_id
		WHERE b.workshop_id = @workshop AND p.batch_id = @batch AND p.plan IS NOT NULL ORDER BY p.id DESC LIMIT 1`,
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

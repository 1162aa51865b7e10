package workshop

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
	"yardwright/server/job"
	"yardwright/server/store"
)

// BatchDraft is what a maker says of a new batch.
type BatchDraft struct {
	Name     string
	StartsOn time.Time
	// Orders whose open lines are cut together.
	Orders []int64
}

// MakeBatch makes a batch of all open lines of some orders.
func (s *Service) MakeBatch(ctx context.Context, workshop int64, draft BatchDraft) (int64, error) {
	open, err := s.OpenLines(ctx, workshop)
	if err != nil {
		return 0, err
	}
	wanted := map[int64]bool{}
	for _, order := range draft.Orders {
		wanted[order] = true
	}
	var lines []int64
	for _, line := range open {
		if wanted[line.OrderID] {
			lines = append(lines, line.ID)
		}
	}
	if len(lines) == 0 {
		return 0, store.Wrong("orders", "Choose at least one order that no batch cuts yet.")
	}
	if draft.StartsOn.IsZero() {
		draft.StartsOn = s.Today()
	}
	return s.AddBatch(ctx, workshop, draft.Name, draft.StartsOn, lines)
}

// StartPlan queues the planning of a batch and returns the number of the plan. The plan and
// its job come into being in one transaction.
func (s *Service) StartPlan(ctx context.Context, workshop, batchID, seed int64) (plan int64, err error) {
	return s.StartPlanWith(ctx, workshop, batchID, seed, 0)
}

// PlanAgain queues another try, with the next seed.
func (s *Service) PlanAgain(ctx context.Context, workshop, batchID int64) (plan int64, err error) {
	tries, err := s.CountPlans(ctx, workshop, batchID)
	if err != nil {
		return 0, err
	}
	return s.StartPlan(ctx, workshop, batchID, int64(tries)+1)
}

// StartPlanWith is StartPlan with a search budget of so many iterations for each cloth; 0 is
// the usual one.
func (s *Service) StartPlanWith(ctx context.Context, workshop, batchID, seed int64, iterations int) (plan int64, err error) {
	if s.jobs == nil {
		return 0, errors.New("no job queue")
	}
	err = s.Tx(ctx, func(st *store.Store, tx pgx.Tx) error {
		running, err := st.LatestPlan(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		switch {
		case running == nil || running.Finished():
		case running.Quiet:
			if err := st.FinishPlan(ctx, running.ID, store.PlanFailed, "The program that planned this ended before it was done.", nil); err != nil {
				return err
			}
		default:
			plan = running.ID
			return nil
		}
		if plan, err = st.AddBatchPlan(ctx, workshop, batchID, seed, iterations); err != nil {
			return err
		}
		id, err := s.jobs.Add(ctx, tx, job.PlanBatch{Workshop: workshop, Plan: plan})
		if err != nil {
			return err
		}
		return st.SetPlanJob(ctx, plan, id)
	})
	return plan, err
}

// StopPlan cancels a planning. One that runs keeps the best plan so far; one that waits, or
// whose program has ended, ends without a plan.
func (s *Service) StopPlan(ctx context.Context, workshop, plan int64) error {
	return s.Tx(ctx, func(st *store.Store, tx pgx.Tx) error {
		now, err := st.BatchPlan(ctx, workshop, plan)
		if err != nil || now.Finished() {
			return err
		}
		if now.JobID != nil {
			if err := s.jobs.Cancel(ctx, tx, *now.JobID); err != nil {
				return err
			}
		}
		if now.State == store.PlanWaiting || now.Quiet {
			return st.FinishPlan(ctx, plan, store.PlanStopped, "Stopped before there was a plan.", nil)
		}
		return nil
	})
}

// RunPlan does the work of a queued plan and stores what comes out. It can start anew after
// a crash. One that is stopped, or that takes longer than a job may, keeps the best plan so
// far. Its error is for the log; what people need to know stands in the plan's row.
func (s *Service) RunPlan(ctx context.Context, work job.PlanBatch) error {
	now, err := s.BatchPlan(ctx, work.Workshop, work.Plan)
	if err != nil {
		return err
	}
	if now.Finished() {
		return nil
	}
	if err := s.BeginPlan(ctx, work.Plan); err != nil {
		return err
	}
	made, err := s.plan(ctx, work, now)
	// What follows must reach the database although the context may have been cancelled.
	late, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if errors.Is(ctx.Err(), context.Canceled) && !job.Cancelled(ctx) {
		return ctx.Err() // the program is going down: another one starts anew
	}
	var wrong *batch.InputError
	switch {
	case errors.As(err, &wrong):
		return s.FinishPlan(late, work.Plan, store.PlanFailed, wrong.Message, nil)
	case err != nil && ctx.Err() != nil:
		return s.FinishPlan(late, work.Plan, store.PlanStopped, "Stopped before there was a plan.", nil)
	case err != nil:
		failed := s.FinishPlan(late, work.Plan, store.PlanFailed, "Something went wrong while planning. It has been noted; please try again.", nil)
		return errors.Join(err, failed)
	case made.Stopped:
		return s.FinishPlan(late, work.Plan, store.PlanStopped, "Stopped: this is the best plan so far. "+made.Summary()+".", &made)
	default:
		return s.FinishPlan(late, work.Plan, store.PlanPlanned, made.Summary(), &made)
	}
}

func (s *Service) plan(ctx context.Context, work job.PlanBatch, row store.BatchPlan) (batch.Plan, error) {
	input, err := s.planInput(ctx, work.Workshop, row.BatchID)
	if err != nil {
		return batch.Plan{}, err
	}
	reporter := newReporter(ctx, s, work.Plan)
	defer reporter.stop()
	return batch.Make(ctx, input, batch.Params{Seed: uint64(row.Seed), Iterations: row.Iterations, Progress: reporter.report})
}

// planInput reads everything that a batch is planned from.
func (s *Service) planInput(ctx context.Context, workshop, batchID int64) (batch.Input, error) {
	row, err := s.Batch(ctx, workshop, batchID)
	if err != nil {
		return batch.Input{}, err
	}
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return batch.Input{}, err
	}
	lines, err := s.BatchLines(ctx, workshop, batchID)
	if err != nil {
		return batch.Input{}, err
	}
	all.input.Name, all.input.Lines, all.input.Start = row.Name, lines, row.StartsOn
	return all.input, nil
}

// reportEvery is how often progress is written; the planner reports far more often.
const reportEvery = 200 * time.Millisecond

// beatEvery is how often a planning says that it is alive, progress or not.
const beatEvery = 3 * time.Second

// reporter writes the latest progress of a plan, no more often than needed and never in the
// planner's way: what comes too fast is overtaken by what comes next.
type reporter struct {
	mu      sync.Mutex
	latest  batch.Progress
	pending bool
	done    chan struct{}
	ended   chan struct{}
}

func newReporter(ctx context.Context, s *Service, plan int64) *reporter {
	r := &reporter{done: make(chan struct{}), ended: make(chan struct{})}
	go r.run(ctx, s, plan)
	return r
}

func (r *reporter) report(p batch.Progress) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.latest, r.pending = p, true
}

func (r *reporter) run(ctx context.Context, s *Service, plan int64) {
	defer close(r.ended)
	ticker, beat := time.NewTicker(reportEvery), time.NewTicker(beatEvery)
	defer ticker.Stop()
	defer beat.Stop()
	for {
		select {
		case <-r.done:
			return
		case <-ctx.Done():
			return
		case <-ticker.C:
			r.write(ctx, s, plan)
		case <-beat.C:
			if err := s.BeatPlan(ctx, plan); err != nil && ctx.Err() == nil {
				s.log.Warn("the plan's sign of life was not written", "plan", plan, "error", err)
			}
		}
	}
}

func (r *reporter) write(ctx context.Context, s *Service, plan int64) {
	r.mu.Lock()
	progress, pending := r.latest, r.pending
	r.pending = false
	r.mu.Unlock()
	if !pending {
		return
	}
	if err := s.ReportPlan(ctx, plan, float32(min(1, max(0, progress.Share))), progress.Message); err != nil && ctx.Err() == nil {
		s.log.Warn("progress was not written", "plan", plan, "error", err)
	}
}

func (r *reporter) stop() {
	close(r.done)
	<-r.ended
}

// PlanNow plans a batch at once, without the queue, and stores the plan.
func (s *Service) PlanNow(ctx context.Context, workshop, batchID, seed int64) (*batch.Plan, error) {
	id, err := s.AddBatchPlan(ctx, workshop, batchID, seed, 0)
	if err != nil {
		return nil, err
	}
	if err := s.RunPlan(ctx, job.PlanBatch{Workshop: workshop, Plan: id}); err != nil {
		return nil, err
	}
	row, err := s.BatchPlan(ctx, workshop, id)
	if err != nil {
		return nil, err
	}
	if row.State == store.PlanFailed {
		return nil, fmt.Errorf("the batch can't be planned: %s", row.Message)
	}
	return s.MadePlan(ctx, workshop, batchID)
}

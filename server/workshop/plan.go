package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
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
	return s.store.AddBatch(ctx, workshop, draft.Name, draft.StartsOn, lines)
}

// StartPlan queues the planning of a batch and returns the number of the plan. The plan and
// its job come into being in one transaction.
func (s *Service) StartPlan(ctx context.Context, workshop, batchID, seed int64) (plan int64, err error) {
	return s.StartPlanWith(ctx, workshop, batchID, seed, 0)
}

// PlanAgain queues another try, with the next seed, of some cloths only if any are named.
func (s *Service) PlanAgain(ctx context.Context, workshop, batchID int64, cloths ...int64) (plan int64, err error) {
	tries, err := s.store.CountPlans(ctx, workshop, batchID)
	if err != nil {
		return 0, err
	}
	return s.StartPlanWith(ctx, workshop, batchID, int64(tries)+1, 0, cloths...)
}

// StartPlanWith is StartPlan with a search budget of so many iterations for each cloth, 0 for the
// usual one, and for some cloths only if any are named.
func (s *Service) StartPlanWith(ctx context.Context, workshop, batchID, seed int64, iterations int, cloths ...int64) (plan int64, err error) {
	if s.jobs == nil {
		return 0, errors.New("no job queue")
	}
	err = s.store.Tx(ctx, func(st *store.Store, tx pgx.Tx) error {
		running, err := st.LatestPlan(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		switch {
		case running == nil || running.Finished():
		case running.Quiet:
			if err := st.FinishPlan(ctx, running.ID, store.PlanFailed, "The program that planned this ended before it was done.", nil, 0); err != nil {
				return err
			}
		default:
			plan = running.ID
			return nil
		}
		if plan, err = st.AddBatchPlan(ctx, workshop, batchID, seed, iterations); err != nil {
			return err
		}
		id, err := s.jobs.Add(ctx, tx, job.PlanBatch{Workshop: workshop, Plan: plan, Cloths: cloths})
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
	return s.store.Tx(ctx, func(st *store.Store, tx pgx.Tx) error {
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
			return st.FinishPlan(ctx, plan, store.PlanStopped, "Stopped before there was a plan.", nil, 0)
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
	if err := s.store.BeginPlan(ctx, work.Plan); err != nil {
		return err
	}
	made, over, err := s.plan(ctx, work, now)
	// What follows must reach the database although the context may have been cancelled.
	late, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if errors.Is(ctx.Err(), context.Canceled) && !job.Cancelled(ctx) {
		return ctx.Err() // the program is going down: another one starts anew
	}
	var wrong *batch.InputError
	switch {
	case errors.As(err, &wrong):
		return s.store.FinishPlan(late, work.Plan, store.PlanFailed, wrong.Message, nil, 0)
	case err != nil && ctx.Err() != nil:
		return s.store.FinishPlan(late, work.Plan, store.PlanStopped, "Stopped before there was a plan.", nil, 0)
	case err != nil:
		failed := s.store.FinishPlan(late, work.Plan, store.PlanFailed, "Something went wrong while planning. It has been noted; please try again.", nil, 0)
		return errors.Join(err, failed)
	case made.Stopped:
		return s.store.FinishPlan(late, work.Plan, store.PlanStopped, "Stopped: this is the best plan so far. "+made.Summary()+".", &made, over)
	default:
		return s.store.FinishPlan(late, work.Plan, store.PlanPlanned, made.Summary(), &made, over)
	}
}

// plan makes a plan and says in the place of which one it is to be taken; 0 for none.
func (s *Service) plan(ctx context.Context, work job.PlanBatch, row store.BatchPlan) (made batch.Plan, over int64, err error) {
	input, err := s.planInput(ctx, work.Workshop, row.BatchID)
	if err != nil {
		return made, 0, err
	}
	held, before, err := s.HeldPlan(ctx, work.Workshop, row.BatchID)
	if err != nil {
		return made, 0, err
	}
	params := batch.Params{Seed: uint64(row.Seed), Iterations: row.Iterations}
	if before != nil && SameLines(before.Lines, input.Lines) {
		params.Keep, params.Only = before, work.Cloths
	}
	reporter := newReporter(ctx, s, work.Plan)
	defer reporter.stop()
	params.Progress = reporter.report
	if made, err = batch.Make(ctx, input, params); err != nil {
		return made, 0, err
	}
	if params.Keep != nil && params.Only == nil {
		if take, err := TakesOver(input, *before, made); err != nil || !take {
			return made, 0, errors.Join(err, s.follow(ctx, work.Workshop, row.BatchID, held, input, *before))
		}
	}
	return made, held, nil
}

// follow keeps the lays of the plan that a batch has, and works out anew what follows from them
// if settings have changed since: bundles, elastic, minutes, when all is done.
func (s *Service) follow(ctx context.Context, workshop, batchID, plan int64, input batch.Input, before batch.Plan) error {
	now, err := batch.Make(ctx, input, batch.Params{Seed: before.Seed, Keep: &before, Only: []int64{}})
	if err != nil || now.SameWork(before) {
		return err
	}
	_, err = s.store.ContinuePlan(ctx, workshop, batchID, plan, "The same lays, with your settings of now.", now)
	return err
}

// TakesOver tells whether a new plan of a batch takes the place of the one that it has: if that
// can't be carried out any more, if the new one cuts more garments, if it buys no cloth where the
// other one does and costs no more than the tolerance above it, or if it is cheaper by more than a
// step of the shop. Both are valued with the shelf and the prices of the input.
func TakesOver(input batch.Input, before, made batch.Plan) (bool, error) {
	now, broken, err := batch.Restate(input, before)
	if err != nil {
		return false, err
	}
	if len(broken) > 0 || made.Cut() != now.Cut() {
		return len(broken) > 0 || made.Cut() > now.Cut(), nil
	}
	return SavesEnough(input.Workroom, now, made), nil
}

// SavesEnough reports whether a new plan of the same garments saves enough to take the place of
// another one: all that is to be bought, for no more than the tolerance, or more than a step of
// the shop.
func SavesEnough(room batch.Workroom, now, made batch.Plan) bool {
	if now.BuysCloth() && !made.BuysCloth() {
		return slices.EqualFunc(made.Cloths, now.Cloths, func(a, b batch.ClothPlan) bool {
			return a.Plan.Cost <= b.Plan.Cost || a.Plan.Better(b.Plan, room.BuyTolerance)
		})
	}
	return now.Cost()-made.Cost() > stepMoney(room, now, made)
}

// stepMoney is the price of one step of the shop, of the dearest cloth whose plans differ.
func stepMoney(room batch.Workroom, a, b batch.Plan) lay.Money {
	var most lay.Money
	for i, planned := range a.Cloths {
		if planned.Plan.Cost == b.Cloths[i].Plan.Cost {
			continue
		}
		price := length.Length(planned.Cloth.PricePerMetre)
		step, err := price.Scale(int64(room.BuyStep), int64(length.Metre), length.Up)
		if err == nil {
			most = max(most, lay.Money(step))
		}
	}
	return most
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
			if err := s.store.BeatPlan(ctx, plan); err != nil && ctx.Err() == nil {
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
	if err := s.store.ReportPlan(ctx, plan, float32(min(1, max(0, progress.Share))), progress.Message); err != nil && ctx.Err() == nil {
		s.log.Warn("progress was not written", "plan", plan, "error", err)
	}
}

func (r *reporter) stop() {
	close(r.done)
	<-r.ended
}

// PlanNow plans a batch at once, without the queue, and stores the plan.
func (s *Service) PlanNow(ctx context.Context, workshop, batchID, seed int64) (*batch.Plan, error) {
	id, err := s.store.AddBatchPlan(ctx, workshop, batchID, seed, 0)
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

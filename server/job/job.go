package job

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// PlanBatch is the work of planning one batch.
type PlanBatch struct {
	Workshop int64 `json:"workshop"`
	Plan     int64 `json:"plan"`
	// Cloths are those to plan again, the others keep their plan; none means all.
	Cloths []int64 `json:"cloths,omitempty"`
}

// Kind names the work in the database.
func (PlanBatch) Kind() string { return "plan_batch" }

// Planner does the work. A cancelled job ends its context.
type Planner func(ctx context.Context, work PlanBatch) error

// Times that decide how soon the work of a killed program is taken up again. A job is never
// older than longestJob, so one that seems to be is an orphan.
const (
	longestJob = 5 * time.Minute
	orphanAge  = longestJob + 30*time.Second
	softStop   = 3 * time.Second
)

// Migrate brings the tables of the job queue up to date.
func Migrate(ctx context.Context, pool *pgxpool.Pool) error {
	migrator, err := rivermigrate.New(riverpgxv5.New(pool), nil)
	if err != nil {
		return err
	}
	if _, err := migrator.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return fmt.Errorf("the job queue's tables can't be brought up to date: %w", err)
	}
	return nil
}

// Queue takes jobs and, once started, works on them.
type Queue struct {
	client *river.Client[pgx.Tx]
}

type planWorker struct {
	river.WorkerDefaults[PlanBatch]
	plan Planner
}

// Work implements river.Worker. The work notes its own failures where people see them, so
// that an error is final; only a program that is going down gives the job back.
func (w *planWorker) Work(ctx context.Context, job *river.Job[PlanBatch]) (err error) {
	defer func() {
		if broken := recover(); broken != nil {
			err = river.JobCancel(fmt.Errorf("panic: %v\n%s", broken, debug.Stack()))
		}
	}()
	if err := w.plan(ctx, job.Args); err != nil {
		if ctx.Err() != nil && !Cancelled(ctx) {
			return err
		}
		return river.JobCancel(err)
	}
	return nil
}

// Cancelled tells whether the context of a job ended because somebody cancelled the job, and
// not because the program is going down or the job took too long.
func Cancelled(ctx context.Context) bool {
	return ctx.Err() != nil && errors.Is(context.Cause(ctx), river.ErrJobCancelledRemotely)
}

// New returns a queue on a pool. It takes jobs at once and works on them after Start.
func New(pool *pgxpool.Pool, log *slog.Logger, plan Planner) (*Queue, error) {
	workers := river.NewWorkers()
	river.AddWorker(workers, &planWorker{plan: plan})
	client, err := river.NewClient(riverpgxv5.New(pool), &river.Config{
		Logger: log, Workers: workers, JobTimeout: longestJob, RescueStuckJobsAfter: orphanAge, SoftStopTimeout: softStop,
		MaxAttempts: 3, Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: 2}},
		FetchPollInterval: 500 * time.Millisecond,
	})
	if err != nil {
		return nil, fmt.Errorf("the job queue can't be set up: %w", err)
	}
	return &Queue{client: client}, nil
}

// Start begins to work on jobs until Stop, or until the context ends.
func (q *Queue) Start(ctx context.Context) error { return q.client.Start(ctx) }

// Stop lets running jobs finish for a moment, then gives them back for another time.
func (q *Queue) Stop(ctx context.Context) error { return q.client.Stop(ctx) }

// Add queues the planning of a batch in a transaction and returns the job's number.
func (q *Queue) Add(ctx context.Context, tx pgx.Tx, work PlanBatch) (int64, error) {
	inserted, err := q.client.InsertTx(ctx, tx, work, nil)
	if err != nil {
		return 0, fmt.Errorf("the job can't be queued: %w", err)
	}
	return inserted.Job.ID, nil
}

// Cancel ends a job that runs, or keeps one that waits from running.
func (q *Queue) Cancel(ctx context.Context, tx pgx.Tx, id int64) error {
	if _, err := q.client.JobCancelTx(ctx, tx, id); err != nil && !errors.Is(err, river.ErrNotFound) {
		return fmt.Errorf("the job can't be cancelled: %w", err)
	}
	return nil
}

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
	"github.com/riverqueue/river/rivertype"
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

// LayCosting is the work of laying what colourways take in a usual batch.
type LayCosting struct {
	Workshop int64 `json:"workshop"`
	// Colourway is the one that is asked for, with the garments of the batch by size; 0 stands for all
	// that are in use, each in its usual batch, as far as it isn't laid yet.
	Colourway int64          `json:"colourway"`
	Counts    map[string]int `json:"counts,omitempty"`
}

// Kind names the work in the database.
func (LayCosting) Kind() string { return "lay_costing" }

// costingQueue is apart from that of plans, which may take minutes.
const costingQueue = "costing"

// InsertOpts keeps the same work from waiting twice.
func (LayCosting) InsertOpts() river.InsertOpts {
	return river.InsertOpts{Queue: costingQueue, UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: []rivertype.JobState{
		rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRetryable, rivertype.JobStateRunning, rivertype.JobStateScheduled,
	}}}
}

// Worker does the work. A cancelled job ends its context.
type Worker interface {
	RunPlan(ctx context.Context, work PlanBatch) error
	LayCosting(ctx context.Context, work LayCosting) error
}

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

type worker[T river.JobArgs] struct {
	river.WorkerDefaults[T]
	do func(context.Context, T) error
}

// Work implements river.Worker. The work notes its own failures where people see them, so
// that an error is final; only a program that is going down gives the job back.
func (w *worker[T]) Work(ctx context.Context, job *river.Job[T]) (err error) {
	defer func() {
		if broken := recover(); broken != nil {
			err = river.JobCancel(fmt.Errorf("panic: %v\n%s", broken, debug.Stack()))
		}
	}()
	if err := w.do(ctx, job.Args); err != nil {
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
func New(pool *pgxpool.Pool, log *slog.Logger, work Worker) (*Queue, error) {
	workers := river.NewWorkers()
	river.AddWorker(workers, &worker[PlanBatch]{do: work.RunPlan})
	river.AddWorker(workers, &worker[LayCosting]{do: work.LayCosting})
	client, err := river.NewClient(riverpgxv5.New(pool), &river.Config{
		Logger: log, Workers: workers, JobTimeout: longestJob, RescueStuckJobsAfter: orphanAge, SoftStopTimeout: softStop,
		MaxAttempts: 3, Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: 2}, costingQueue: {MaxWorkers: 1}},
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

// AddLaying queues the laying of colourways; what waits already is not queued again.
func (q *Queue) AddLaying(ctx context.Context, work LayCosting) error {
	if _, err := q.client.Insert(ctx, work, nil); err != nil {
		return fmt.Errorf("the laying can't be queued: %w", err)
	}
	return nil
}

// Cancel ends a job that runs, or keeps one that waits from running.
func (q *Queue) Cancel(ctx context.Context, tx pgx.Tx, id int64) error {
	if _, err := q.client.JobCancelTx(ctx, tx, id); err != nil && !errors.Is(err, river.ErrNotFound) {
		return fmt.Errorf("the job can't be cancelled: %w", err)
	}
	return nil
}

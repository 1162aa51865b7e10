package marker

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"yardwright/batch/length"
)

// Solve lays the pieces of an instance as short as it can, or as much value as MaxLength lets
// it. It goes on until the context ends, the iterations are used up or the result is proven to
// be the best, and returns the best that it has found. The first valid marker is always found,
// even if the context ends meanwhile.
//
// The error is that of Check, or the context's if it has ended before the beginning. A result
// that Verify refuses is a fault in this package; it is returned as an error, never as a result.
func Solve(ctx context.Context, in Instance, params Params) (Result, error) {
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	began := time.Now()
	s := newSearch(&in, params)
	s.run(ctx, began)
	r := s.result(ctx)
	r.Stats.Elapsed = time.Since(began)
	if err := Verify(in, r); err != nil {
		return Result{}, fmt.Errorf("the marker found breaks a rule: %w", err)
	}
	return r, nil
}

// workerCount is fixed, so that results do not depend on the machine.
const workerCount = 2

// search shares the work among workers in rounds. Within a round the workers know nothing of
// each other, so that the result does not depend on which of them is faster.
type search struct {
	m          *model
	params     Params
	bound      int64
	valueBound int64
	workers    []*worker
	best       solution
	iterations int
}

func newSearch(in *Instance, params Params) *search {
	m := newModel(in)
	s := &search{m: m, params: params, bound: m.bound()}
	if m.cap < noCap {
		s.valueBound = m.valueBound()
	}
	starts := m.starts()
	for id := range workerCount {
		s.workers = append(s.workers, newWorker(m, id, workerCount, params.Seed, s.bound, starts))
	}
	return s
}

// round is how many steps a worker takes between two looks at the others: about 20 ms of work.
func (s *search) round() int {
	work := s.m.copies*len(s.m.options) + 100*s.m.copies
	return min(max(20_000_000/work, 1), 1000)
}

func (s *search) run(ctx context.Context, began time.Time) {
	var ended atomic.Bool
	stop := context.AfterFunc(ctx, func() { ended.Store(true) })
	defer stop()
	for !s.done(&ended) {
		s.runRound(&ended)
		if s.gather() && s.params.Progress != nil {
			s.params.Progress(s.progress(began))
		}
	}
}

func (s *search) done(ended *atomic.Bool) bool {
	if s.best.engine == "" {
		return false
	}
	return ended.Load() || s.proven(&s.best) || s.params.Iterations > 0 && s.iterations >= s.params.Iterations
}

// proven tells whether a solution cannot be bettered.
func (s *search) proven(found *solution) bool {
	if found.engine == "" {
		return false
	}
	if found.full(s.m) {
		return found.end <= s.bound
	}
	return s.bound > s.m.cap && found.value >= s.valueBound
}

// runRound lets every worker take its steps of one round. If one of them finds a marker that is
// proven to be the best, the others need not go on, but only stop after as many steps: which
// marker is returned then depends on the steps, not on the clock.
func (s *search) runRound(ended *atomic.Bool) {
	var enough atomic.Int64
	enough.Store(int64(s.round()))
	taken := make([]int, len(s.workers))
	var all sync.WaitGroup
	for i, w := range s.workers {
		quota := s.round()
		if s.params.Iterations > 0 {
			// The iterations go round the workers; the first ones get one more of the rest.
			rest := s.params.Iterations - s.iterations
			quota = min(quota, (rest+len(s.workers)-1-i)/len(s.workers))
		}
		all.Go(func() {
			for taken[i] < quota && int64(taken[i]) < enough.Load() {
				if ended.Load() && (w.steps > 0 || i > 0) {
					return
				}
				w.step()
				taken[i]++
				if s.proven(&w.best) {
					lower(&enough, int64(taken[i]))
					return
				}
			}
		})
	}
	all.Wait()
	for _, n := range taken {
		s.iterations += n
	}
}

// lower sets a to v if that is less.
func lower(a *atomic.Int64, v int64) {
	for {
		old := a.Load()
		if v >= old || a.CompareAndSwap(old, v) {
			return
		}
	}
}

// gather takes the best of all workers and tells it to them; it returns whether it is new.
func (s *search) gather() bool {
	found := false
	for _, w := range s.workers {
		if w.best.better(&s.best) {
			s.best, found = w.best, true
		}
	}
	for _, w := range s.workers {
		w.told(&s.best)
	}
	return found
}

func (s *search) progress(began time.Time) Progress {
	return Progress{
		Length:     s.length(s.best.end),
		Bound:      s.length(s.bound),
		Left:       s.m.copies - len(s.best.spots),
		Iterations: s.iterations,
		Elapsed:    time.Since(began),
	}
}

// length returns the length on the cloth of an end in the model.
func (s *search) length(end int64) length.Length { return max(length.Length(end-s.m.gap), 0) }

func (s *search) result(ctx context.Context) Result {
	r := Result{
		Marker: Marker{Placements: s.m.placements(s.best.spots), Length: s.length(s.best.end)},
		Bound:  s.length(s.bound),
		Seed:   s.params.Seed,
		Stats:  Stats{Iterations: s.iterations, Engine: s.best.engine},
	}
	switch {
	case !s.best.full(s.m):
		r.Status = StatusPartial
		r.Left = s.left(r.Placements)
		r.Value, r.ValueBound = s.best.value, s.valueBound
	case r.Length == r.Bound:
		r.Status = StatusOptimal
	case ctx.Err() != nil:
		r.Status = StatusOutOfTime
	default:
		r.Status = StatusWithin
	}
	if s.m.in.StraightCuts {
		r.Cuts = s.cuts(r)
	}
	return r
}

func (s *search) left(placed []Placement) []int {
	left := make([]int, len(s.m.in.Pieces))
	for i := range left {
		left[i] = s.m.in.Pieces[i].Copies
	}
	for _, p := range placed {
		left[p.Piece]--
	}
	return left
}

func (s *search) cuts(r Result) []Cut {
	boxes := make([]rect, len(s.best.spots))
	for i, at := range s.best.spots {
		o := &s.m.options[at.option]
		boxes[i] = rect{at.x, at.y, at.x + o.w - s.m.gap, at.y + o.l - s.m.gap}
	}
	cuts, _ := cutOrder(boxes, int64(s.m.in.Width), int64(r.Length))
	return cuts
}

package marker

import (
	"context"
	"fmt"
	"math"
	"slices"
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
// The error is that of Check, the context's if it has ended before the beginning, or that Params.Without names a
// searcher that there is not. A result
// that Verify refuses is a fault in this package; it is returned as an error, never as a result.
func Solve(ctx context.Context, in Instance, params Params) (Result, error) {
	if err := ctx.Err(); err != nil {
		return Result{}, err
	}
	if err := in.Check(); err != nil {
		return Result{}, err
	}
	for _, name := range params.Without {
		if !slices.Contains(Searchers(in.StraightCuts), name) {
			return Result{}, fmt.Errorf("there is no searcher %q to leave out", name)
		}
	}
	began := time.Now()
	s := newSearch(&in, params)
	s.run(ctx, began)
	r := s.result()
	r.Stats.Elapsed = time.Since(began)
	if err := Verify(in, r); err != nil {
		return Result{}, fmt.Errorf("the marker found breaks a rule: %w", err)
	}
	return r, nil
}

// Bound returns a proven lower bound on the length of any valid marker of all copies of a
// checked instance, whatever its longest length is; see package bound.
func (in Instance) Bound() length.Length {
	r := newRelaxation(newModel(&in))
	known := r.quickBound()
	return length.Length(max(known, r.strongBound(known, maxBarWork))) - in.Gap
}

// workerCount is fixed, so that results do not depend on the machine.
const workerCount = 2

// search shares the work among workers in rounds. Within a round the workers know nothing of
// each other, so that the result does not depend on which of them is faster.
type search struct {
	in         *Instance
	m          *model
	relaxation *relaxation
	params     Params
	bound      int64
	valueBound int64
	workers    []*worker
	best       solution
	iterations int
}

func newSearch(in *Instance, params Params) *search {
	m := newModel(in)
	r := newRelaxation(m)
	s := &search{in: in, m: m, relaxation: r, params: params, bound: r.quickBound()}
	if m.cap < noCap {
		s.valueBound = r.valueBound()
	}
	starts := startsOf(m)
	for id := range workerCount {
		s.workers = append(s.workers, newWorker(m, id, params, s.bound, starts))
	}
	return s
}

// round is how many steps a worker takes between two looks at the others: about 20 ms of work.
func (s *search) round() int { return min(max(20_000_000/s.m.stepWork(), 1), 1000) }

func (s *search) run(ctx context.Context, began time.Time) {
	var ended atomic.Bool
	stop := context.AfterFunc(ctx, func() { ended.Store(true) })
	defer stop()
	defer func() {
		for _, w := range s.workers {
			w.end()
		}
	}()
	round := 0
	for ; !s.done(&ended); round++ {
		improved := s.gather(s.runRound(&ended))
		if round == 0 && !s.params.QuickBound && !s.done(&ended) {
			s.strengthen(maxBarWork)
		}
		if improved && s.params.Progress != nil {
			s.params.Progress(s.progress(began))
		}
	}
	if round == 1 && !s.params.QuickBound && s.used() && !s.proven(&s.best) {
		// It was over too soon for the stronger bound; it gets a little more time than the search.
		s.strengthen(4 * s.iterations * s.m.stepWork())
	}
}

func (s *search) done(ended *atomic.Bool) bool {
	return s.best.engine != "" && (ended.Load() || s.used() || s.proven(&s.best))
}

// used tells whether the iterations are used up.
func (s *search) used() bool {
	return s.params.Iterations > 0 && s.iterations >= s.params.Iterations
}

// strengthen looks for a better bound with at most so many operations.
func (s *search) strengthen(work int) {
	if slices.Contains(s.params.Without, "bars") {
		return
	}
	s.bound = max(s.bound, s.relaxation.strongBound(s.bound, min(work, maxBarWork)))
	for _, w := range s.workers {
		w.learn(&s.best, s.bound)
	}
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
// proven to be the best, the others only take as many steps as it did. Which worker was the
// first, in steps and then in order, is returned, or −1: it does not depend on the clock.
func (s *search) runRound(ended *atomic.Bool) int {
	var enough atomic.Int64
	enough.Store(math.MaxInt64)
	taken, proven := make([]int64, len(s.workers)), make([]bool, len(s.workers))
	var all sync.WaitGroup
	for i, w := range s.workers {
		quota := s.quota(i)
		all.Go(func() {
			for taken[i] < quota && taken[i] < enough.Load() && !proven[i] {
				if ended.Load() && (w.steps > 0 || i > 0) {
					return
				}
				w.step()
				taken[i]++
				if proven[i] = s.proven(&w.best); proven[i] {
					lower(&enough, taken[i])
				}
			}
		})
	}
	all.Wait()
	first := -1
	for i, n := range taken {
		s.iterations += int(min(n, enough.Load()))
		if proven[i] && (first < 0 || n < taken[first]) {
			first = i
		}
	}
	return first
}

// quota is how many steps worker i has in the next round. Iterations go round the workers, so
// that the first of them have one more of the rest.
func (s *search) quota(i int) int64 {
	if s.params.Iterations <= 0 {
		return int64(s.round())
	}
	rest := s.params.Iterations - s.iterations
	return int64(min(s.round(), (rest+len(s.workers)-1-i)/len(s.workers)))
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

// gather takes the best of all workers, that of the first that proved it if there is one, and
// tells it to them; it returns whether it is new.
func (s *search) gather(first int) bool {
	if first >= 0 {
		s.best = s.workers[first].best
		return true
	}
	found := false
	for _, w := range s.workers {
		if w.best.better(&s.best) {
			s.best, found = w.best, true
		}
	}
	for _, w := range s.workers {
		s.bound = max(s.bound, w.refuted+1)
	}
	s.bound = max(s.bound, s.relaxation.roundUp(s.bound))
	for _, w := range s.workers {
		w.learn(&s.best, s.bound)
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

func (s *search) result() Result {
	r := Result{
		Marker: Marker{Placements: placements(s.m, s.best.spots), Length: s.length(s.best.end)},
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
	case s.used():
		r.Status = StatusWithin
	default:
		r.Status = StatusOutOfTime
	}
	if s.in.StraightCuts {
		r.Cuts = cutsOf(s.in, s.m, s.best.spots, r.Length)
	}
	return r
}

func (s *search) left(placed []Placement) []int {
	left := make([]int, len(s.in.Pieces))
	for i := range left {
		left[i] = s.in.Pieces[i].Copies
	}
	for _, p := range placed {
		left[p.Piece]--
	}
	return left
}

// cutsOf returns the straight cuts that part spots on cloth of a length.
func cutsOf(in *Instance, m *model, spots []spot, long length.Length) []Cut {
	boxes := make([]rect, len(spots))
	for i, at := range spots {
		o := &m.options[at.option]
		w, l := m.bare(o)
		boxes[i] = rect{at.x, at.y, at.x + w, at.y + l}
	}
	order, _ := cutOrder(boxes, int64(in.Width), int64(long))
	cuts := make([]Cut, len(order))
	for i, c := range order {
		cuts[i] = Cut{c.across, length.Length(c.x), length.Length(c.y), length.Length(c.span)}
	}
	return cuts
}

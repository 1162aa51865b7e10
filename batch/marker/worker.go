package marker

import "slices"

// worker searches by itself: first it lays its share of the starts, then the table of shares says who has which of
// its steps. What it does depends on the seed, the number of its steps and what it is told between rounds only.
type worker struct {
	*annealing
	id     int
	seed   uint64
	starts []start // of all workers
	steps  int
	shares []given
	// refuted: no marker ends there or before.
	refuted int64
	// idle tells that the search over plans is left out.
	idle bool
}

func newWorker(m *model, id int, params Params, bound int64, starts []start) *worker {
	var e engine
	if m.straight {
		e = newStraight(m)
	} else {
		e = newStripEngine(m)
	}
	return &worker{
		annealing: newAnnealing(m, e, id, params.Seed, bound, params.Without), id: id, seed: params.Seed, starts: starts,
		shares: sharesOf(m, id, params.Without), idle: slices.Contains(params.Without, "sequence"),
	}
}

// step lays one plan, or does as much work otherwise.
func (w *worker) step() {
	at := w.steps*workerCount + w.id
	w.steps++
	switch {
	case at < len(w.starts):
		w.try(&w.starts[at])
	case !w.bySearcher() && !w.idle:
		w.annealing.step()
	}
}

// bySearcher gives the step to the first searcher whose turn it is; false if none takes it.
func (w *worker) bySearcher() bool {
	if !w.seeksShorter() {
		return false
	}
	for i := range w.shares {
		s := &w.shares[i]
		if w.steps <= s.after || !s.takes.take(w.steps) {
			continue
		}
		if !s.begun {
			s.searcher, s.begun = s.begin(w.m, w.id, w.seed), true
		}
		if s.searcher == nil {
			continue
		}
		if found, done := s.searcher.search(w.m.stepWork(), incumbent{w.bestKnown(), w.bound}); !done {
			w.refuted = max(w.refuted, found.refuted)
			if found.spots != nil {
				w.take(found.spots, s.engine)
			}
			return true
		}
	}
	return false
}

// end ends the searchers, some of which hold a coroutine.
func (w *worker) end() {
	for _, s := range w.shares {
		if one, ok := s.searcher.(interface{ stop() }); ok {
			one.stop()
		}
	}
}

package marker

import "math/rand/v2"

// How the steps of a worker are shared among the searches for straight cuts only: as measured on the
// published instances and on cutting jobs.
const (
	// Of eight steps the exact search has exactShare with the first worker, which has no blocks to
	// lay, and of those that are left the search over hierarchies has turningShare of eight where
	// pieces may turn, else fixedShare.
	exactShare   = 7
	turningShare = 6
	fixedShare   = 4
	// exactPace makes steps of the exact search last about as long as the others.
	exactPace = 4
)

// bestKnown returns the shortest end that this worker knows of all copies.
func (w *worker) bestKnown() int64 {
	if w.shared.full(w.m) {
		return min(w.best.end, w.shared.end)
	}
	return w.best.end
}

// seeksShorter tells whether everything is laid and the search is for a shorter end.
func (w *worker) seeksShorter() bool {
	return w.m.in.StraightCuts && !w.partial && w.best.full(w.m) && w.bestKnown() > w.bound
}

// operations is about how many operations a step of these searches takes, that of the other steps.
func (w *worker) operations() int { return w.m.copies*len(w.m.options) + 100*w.m.copies }

// byStraightExact takes the exact search for straight cuts a little further if it is its turn.
func (w *worker) byStraightExact() bool {
	if w.noSets || w.id != 0 || w.steps <= exactAfter || w.steps%8 >= exactShare || !w.seeksShorter() {
		return false
	}
	if w.noSets = !suitsStraightExact(w.m); w.noSets {
		return false
	}
	best := w.bestKnown()
	if w.sets == nil || w.sets.done || w.setsFor > best && w.sets.target >= best {
		target := w.setsTarget(best)
		if target <= w.refuted {
			return false
		}
		w.sets, w.setsFor = newStraightExact(w.m, target, w.sets), best
	}
	w.sets.goOn(w.operations() / exactPace)
	if w.sets.done {
		w.takeSets()
	}
	return true
}

// firstFree is the first share of the pieces' area that the exact search may leave free.
const firstFree = 1.0 / 64

// setsTarget returns the end to decide about next: a little more cloth may be left free than in what
// is refuted, since far more takes far longer, and an end above that of the shortest marker tells
// it all the same.
func (w *worker) setsTarget(best int64) int64 {
	unit, area, more := w.endUnit(), float64(w.m.totalArea()), 2.0
	if w.turns() {
		more = 1.5 // far more frames are found then
	}
	known, width := max(w.bound-1, w.refuted), float64(w.m.width)
	free := max(float64(more*(float64(float64(known)*width)-area)), float64(firstFree*area))
	next, last := max(int64((area+free)/width), known+1), (best-1)/unit*unit
	if next > last-(last-known)/4 {
		return last
	}
	return min((next+unit-1)/unit*unit, last)
}

// turns tells whether some piece may turn.
func (w *worker) turns() bool { return len(w.m.options) > len(w.m.kinds) }

// takeSets takes in the answer of the exact search.
func (w *worker) takeSets() {
	if w.sets.givenUp {
		w.noSets, w.sets = true, nil
		return
	}
	spots := w.sets.shortest()
	proven := w.sets.target
	if spots != nil {
		w.takeFilled(spots, "exact search")
		proven = endOf(w.m, spots) - 1
	}
	// With a gap between the pieces straight cuts may run where boxes grown by it do not leave room,
	// so that nothing is proven.
	if w.m.gap == 0 {
		w.refuted = max(w.refuted, proven)
	} else if spots != nil || w.sets.target >= w.bestKnown()-1 {
		w.noSets, w.sets = true, nil
	}
}

// endOf returns where the last of the spots ends.
func endOf(m *model, spots []spot) int64 {
	end := int64(0)
	for _, s := range spots {
		end = max(end, s.y+m.options[s.option].l)
	}
	return end
}

// hierarchyWork is about how many operations a change of a hierarchy takes.
const hierarchyWork = 3000

// byHierarchy makes some changes to a hierarchy if it is its turn.
func (w *worker) byHierarchy() bool {
	share := fixedShare
	if w.turns() {
		share = turningShare
	}
	if w.noHierarchy || w.steps <= fillAfter || w.steps%8 < 8-share || !w.seeksShorter() {
		return false
	}
	if w.hierarchy == nil {
		w.hierarchy = newHierarchy(w.m, rand.New(rand.NewPCG(w.seed, hierarchySeed+uint64(w.id))))
		if w.noHierarchy = w.hierarchy == nil; w.noHierarchy {
			return false
		}
	}
	if w.hierarchy.step(w.operations()/hierarchyWork+1, w.bestKnown()) {
		w.takeFilled(w.hierarchy.shortest(), "hierarchy")
	}
	return true
}

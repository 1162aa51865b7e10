package marker

// The exact search for straight cuts goes over all sets of copies, the small ones first, and finds
// the frames that hold each set: those of every two sets that make it up, side by side or one
// behind the other. A marker up to the target leaves only so much of the cloth free; a frame that
// leaves more than that free, inside it or beside and behind it where no sizes of pieces add up to
// what is left, can be in no such marker and is forgotten. What remains tells the shortest marker
// up to the target, or that there is none.

// straightExact is the state of the search. A set is a number: the copies of each kind are its
// digits, of which the place of the kind is worth place[kind].
type straightExact struct {
	m       *model
	target  int64
	free    int64 // what a marker up to the target leaves free
	place   []int
	area    []int64 // by set
	least   []int64 // the least area that a frame of a set leaves free, by set
	some    []bool  // whether a set has frames, by set
	from    []int   // where the frames of a set begin; they end where those of the next begin
	frames  []frame
	whole   int
	reachW  reach
	reachL  reach
	set     int     // whose frames are being found
	digits  []int32 // of the set
	part    int     // of the set, the larger one of two that make it up
	partial []int32 // digits of the part
	found   []frame
	listed  int // the first of the found frames are a list of useful ones; the others are not sorted

	// done tells that the search has ended; givenUp, that it found too many frames to go on.
	done, givenUp bool
}

const (
	// mostSets and mostSetPairs bound what the search is tried for: 17 different pieces.
	mostSets, mostSetPairs = 1 << 17, 140_000_000
	// mostFramesKept bounds the memory to some 50 MB.
	mostFramesKept = 3 << 20
	// mostUnlisted frames are found before they are sorted.
	mostUnlisted = 100
)

// suitsStraightExact tells whether the exact search for straight cuts serves: there are few sets
// of copies.
func suitsStraightExact(m *model) bool {
	if !suitsBlocks(m) {
		return false
	}
	sets, pairs := 1, 1
	for _, k := range m.kinds {
		if k.copies >= mostSets {
			return false
		}
		sets *= k.copies + 1
		pairs *= (k.copies + 1) * (k.copies + 2) / 2
		if sets > mostSets || pairs > mostSetPairs {
			return false
		}
	}
	return true
}

// newStraightExact begins a search for a marker up to the target; reuse is an earlier one whose
// room it takes over, or nil.
func newStraightExact(m *model, target int64, reuse *straightExact) *straightExact {
	x := reuse
	if x == nil {
		x = &straightExact{m: m, digits: make([]int32, len(m.kinds)), partial: make([]int32, len(m.kinds))}
		sets := 1
		for _, k := range m.kinds {
			x.place = append(x.place, sets)
			sets *= k.copies + 1
		}
		x.whole = sets - 1
		x.area, x.least, x.some, x.from = make([]int64, sets), make([]int64, sets), make([]bool, sets), make([]int, sets+1)
		x.reachW = m.newReach(m.width, func(o option) int64 { return o.w })
	}
	x.reachL = m.newReach(target, func(o option) int64 { return o.l })
	x.target, x.free = target, target*m.width-m.totalArea()
	x.frames, x.found, x.listed = x.frames[:0], x.found[:0], 0
	x.set, x.done, x.givenUp = 0, x.free < 0, false
	clear(x.digits)
	x.nextSet()
	return x
}

// goOn takes the search about so many operations further.
func (x *straightExact) goOn(work int) {
	for work > 0 && !x.done {
		if x.part*2 < x.set {
			work -= len(x.found)
			x.endSet()
			continue
		}
		work -= 2
		a, b := x.part, x.set-x.part
		if x.some[a] && x.some[b] && x.least[a]+x.least[b] <= x.free {
			work -= x.join(x.framesAt(a), x.framesAt(b))
		}
		x.nextPart()
	}
}

func (x *straightExact) framesAt(set int) []frame { return x.frames[x.from[set]:x.from[set+1]] }

// nextSet goes to the next set and its first parts.
func (x *straightExact) nextSet() {
	x.set++
	k := 0
	for ; x.digits[k] == int32(x.m.kinds[k].copies); k++ {
		x.digits[k] = 0
	}
	x.digits[k]++
	x.area[x.set] = x.area[x.set-x.place[k]] + x.m.kinds[k].area
	x.found, x.listed = x.found[:0], 0
	if x.set == x.place[k] {
		x.found = framesOf(x.m, x.found, int32(k))
		x.keepUseful(0)
	}
	copy(x.partial, x.digits)
	x.part = x.set
	x.nextPart()
}

// nextPart goes to the next smaller part of the set.
func (x *straightExact) nextPart() {
	for k := range x.partial {
		if x.partial[k] > 0 {
			x.partial[k]--
			x.part -= x.place[k]
			return
		}
		x.partial[k] = x.digits[k]
		x.part += int(x.digits[k]) * x.place[k]
	}
	x.part = -1
}

// join finds the frames of two parts of the set together; it returns about how many operations
// that took.
func (x *straightExact) join(p, q []frame) int {
	from := len(x.found)
	x.found = beside(x.found, p, q, x.m.width)
	x.found = behind(x.found, p, q, x.target)
	work := len(x.found) - from
	x.keepUseful(from)
	if len(x.found) > 2*x.listed+mostUnlisted {
		x.found = usefulFrames(x.found)
		x.listed = len(x.found)
	}
	return 2 * work
}

// keepUseful forgets the frames from a place on that can be in no marker up to the target.
func (x *straightExact) keepUseful(from int) {
	kept, area := x.found[:from], x.area[x.set]
	for _, f := range x.found[from:] {
		free := f.w*f.l - area
		if f.w > x.m.width || f.l > x.target || free > x.free {
			continue
		}
		restW, restL := x.m.width-f.w, x.target-f.l
		free += (restW-x.reachW.upTo(restW))*f.l + (restL-x.reachL.upTo(restL))*f.w
		if free <= x.free && !bettered(f, x.found[:x.listed]) {
			kept = append(kept, f)
		}
	}
	x.found = kept
}

// endSet keeps the frames of the set and goes to the next one.
func (x *straightExact) endSet() {
	x.found = usefulFrames(x.found)
	x.from[x.set] = len(x.frames)
	x.frames = append(x.frames, x.found...)
	x.from[x.set+1] = len(x.frames)
	least := noCap
	for _, f := range x.found {
		least = min(least, f.w*f.l-x.area[x.set])
	}
	x.least[x.set], x.some[x.set] = least, len(x.found) > 0
	if len(x.frames) > mostFramesKept {
		x.done, x.givenUp = true, true
	}
	if x.done = x.done || x.set == x.whole; !x.done {
		x.nextSet()
	}
}

// shortest returns the shortest marker; nil if there is none up to the target.
func (x *straightExact) shortest() []spot {
	if !x.done || x.givenUp || x.set < x.whole {
		return nil
	}
	last := x.framesAt(x.whole)
	if len(last) == 0 {
		return nil
	}
	return x.spots(make([]spot, 0, x.m.copies), x.whole, last[len(last)-1], 0, 0)
}

// spots appends the spots of the pieces of a set in a frame that holds them.
func (x *straightExact) spots(to []spot, set int, f frame, atX, atY int64) []spot {
	rest := set
	for k := len(x.place) - 1; k >= 0; k-- {
		x.digits[k] = int32(rest / x.place[k])
		rest %= x.place[k]
		if set == x.place[k] {
			return append(to, spot{optionIn(x.m, int32(k), f), atX, atY})
		}
	}
	copy(x.partial, x.digits)
	x.part = set
	for x.nextPart(); x.part*2 >= set; x.nextPart() {
		part := x.part
		a, b, sideways, ok := partIn(f, x.framesAt(part), x.framesAt(set-part))
		if !ok {
			continue
		}
		to = x.spots(to, part, a, atX, atY)
		if sideways {
			return x.spots(to, set-part, b, atX+a.w, atY)
		}
		return x.spots(to, set-part, b, atX, atY+a.l)
	}
	return to
}

// setsSearcher has the exact search for straight cuts decide about one end after the other.
type setsSearcher struct {
	m       *model
	unit    int64
	sets    *straightExact
	best    int64 // the end of the incumbent when it began
	refuted int64
	off     bool
}

func beginSets(m *model, _ int, _ uint64) searcher {
	if !suitsStraightExact(m) {
		return nil
	}
	unit, _ := m.endUnit()
	return &setsSearcher{m: m, unit: unit}
}

// setsPace makes steps of the exact search last about as long as the others.
const setsPace = 4

func (x *setsSearcher) search(work int, known incumbent) (found finding, done bool) {
	if x.off {
		return found, true
	}
	if x.sets == nil || x.sets.done || x.best > known.end && x.sets.target >= known.end {
		target := x.target(known)
		if target <= x.refuted {
			return found, true
		}
		x.sets, x.best = newStraightExact(x.m, target, x.sets), known.end
	}
	x.sets.goOn(work / setsPace)
	if x.sets.done {
		found.spots = x.conclude(known)
		found.refuted = x.refuted
	}
	return found, false
}

// firstFree is the first share of the pieces' area that the exact search may leave free.
const firstFree = 1.0 / 64

// target returns the end to decide about next: a little more cloth may be left free than in what
// is refuted, since far more takes far longer, and an end above that of the shortest marker tells
// it all the same.
func (x *setsSearcher) target(known incumbent) int64 {
	area, more := float64(x.m.totalArea()), 2.0
	if x.m.turns() {
		more = 1.5 // far more frames are found then
	}
	above, width := max(known.bound-1, x.refuted), float64(x.m.width)
	free := max(float64(more*(float64(float64(above)*width)-area)), float64(firstFree*area))
	next, last := max(int64((area+free)/width), above+1), (known.end-1)/x.unit*x.unit
	if next > last-(last-above)/4 {
		return last
	}
	return min((next+x.unit-1)/x.unit*x.unit, last)
}

// conclude takes in the answer of the exact search; it returns the shortest marker if it has found that.
func (x *setsSearcher) conclude(known incumbent) []spot {
	if x.sets.givenUp {
		x.off, x.sets = true, nil
		return nil
	}
	spots := x.sets.shortest()
	proven := x.sets.target
	if spots != nil {
		proven = endOf(x.m, spots) - 1
	}
	// With a gap between the pieces straight cuts may run where boxes grown by it do not leave room,
	// so that nothing is proven.
	if x.m.gap == 0 {
		x.refuted = max(x.refuted, proven)
	} else if spots != nil || x.sets.target >= known.end-1 {
		x.off, x.sets = true, nil
	}
	return spots
}

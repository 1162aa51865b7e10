package marker

import "math/rand/v2"

// The search over hierarchies changes only which pieces are put together, two groups at a time,
// until all are one. How the two groups at each joint lie, side by side or one behind the other, and
// how each piece is turned, is not chosen: every joint knows the frames that hold what is below it,
// and the shortest that the cloth is wide enough for is the length of the whole. A change moves
// a group to another place or lets two groups change places, and is kept as in annealing: always
// if the length is no longer for it, else by chance, the less the longer the run has gone on.

// hierarchy is the state of one worker's search.
type hierarchy struct {
	m      *model
	rng    *rand.Rand
	joints []joint // the pieces first, then the groups
	root   int32
	frames []frame // of all joints, mostFrames each
	marks  []int32 // by joint, the last change that passed it on its way up
	mark   int32

	length int64 // of the whole
	warm   float64
	runs   int
	at     int // changes of this run
	saved  []savedFrames
	trail  []frame
	// Room for the frames of a joint being found.
	rising, falling, merged []frame
	areas                   []int64
}

// joint is a piece or a group of two.
type joint struct {
	above int32 // −1 at the root
	a, b  int32 // the two below; −1 of a piece
	kind  int32 // of a piece; −1 of a group
	count int32 // of frames
}

// savedFrames are the frames that a joint had before a change, from a place of the trail on.
type savedFrames struct {
	joint, count int32
	from         int
}

const (
	// mostFrames are kept at a joint, those that leave least free.
	mostFrames = 12
	// mostInHierarchy is the most copies that it is tried for: beyond it the other searches did better
	// in the same time, on published instances and cutting jobs.
	mostInHierarchy = 34
	// A run has runLength changes at first and twice as many each time; it passes through runStages,
	// from warmest on, each less warm by cooler. Warmth is in shares of the length.
	runLength, longestRun = 100_000, 3_000_000
	runStages             = 20
	warmest, cooler       = 0.0035, 0.9
)

// hierarchySeed sets the choices of this search apart from the others.
const hierarchySeed = 1 << 34

// newHierarchy returns nil if the instance does not suit.
func newHierarchy(m *model, rng *rand.Rand) *hierarchy {
	if !suitsBlocks(m) || m.copies < 3 || m.copies > mostInHierarchy {
		return nil
	}
	n := 2*m.copies - 1
	h := &hierarchy{
		m: m, rng: rng, joints: make([]joint, n), frames: make([]frame, n*mostFrames), marks: make([]int32, n),
		rising: make([]frame, 0, 2*mostFrames), falling: make([]frame, 0, 2*mostFrames),
		merged: make([]frame, 0, 4*mostFrames), areas: make([]int64, 0, 4*mostFrames),
	}
	at := int32(0)
	for k := range m.kinds {
		for range m.kinds[k].copies {
			h.joints[at] = joint{a: -1, b: -1, kind: int32(k)}
			own := framesOf(m, h.merged[:0], int32(k))
			h.joints[at].count = int32(copy(h.framesAt(at, mostFrames), own))
			at++
		}
	}
	return h
}

// framesAt returns the first frames of the room of a joint.
func (h *hierarchy) framesAt(j, count int32) []frame {
	return h.frames[j*mostFrames : j*mostFrames+count]
}

func (h *hierarchy) framesOf(j int32) []frame { return h.framesAt(j, h.joints[j].count) }

// begin starts a run from groups put together by chance.
func (h *hierarchy) begin() {
	loose := numbersUpTo(h.m.copies)
	for next := int32(h.m.copies); len(loose) > 1; next++ {
		i := h.rng.IntN(len(loose))
		a := loose[i]
		loose[i] = loose[len(loose)-1]
		loose = loose[:len(loose)-1]
		i = h.rng.IntN(len(loose))
		b := loose[i]
		h.joints[next] = joint{a: a, b: b, kind: -1, count: h.joints[next].count}
		h.joints[a].above, h.joints[b].above = next, next
		loose[i] = next
		h.find(next)
	}
	h.root = loose[0]
	h.joints[h.root].above = -1
	h.length = h.lengthOf()
	h.runs++
	h.at = 0
}

// lengthOf returns the length of the whole.
func (h *hierarchy) lengthOf() int64 {
	all := h.framesOf(h.root)
	if len(all) == 0 {
		return noCap
	}
	return all[len(all)-1].l
}

// find finds the frames of a group; it returns whether they differ from what they were.
func (h *hierarchy) find(j int32) bool {
	p, q := h.framesOf(h.joints[j].a), h.framesOf(h.joints[j].b)
	h.rising = beside(h.rising[:0], p, q, h.m.width)
	h.falling = behind(h.falling[:0], p, q, noCap)
	h.merged = mergeFrames(h.merged[:0], h.rising, h.falling)
	if len(h.merged) > mostFrames {
		h.dropLoosest()
	}
	old := h.framesOf(j)
	same := len(old) == len(h.merged)
	for i := 0; same && i < len(old); i++ {
		same = old[i] == h.merged[i]
	}
	if same {
		return false
	}
	h.joints[j].count = int32(copy(h.framesAt(j, mostFrames), h.merged))
	return true
}

// dropLoosest leaves the frames with the least area, and the shortest in any case.
func (h *hierarchy) dropLoosest() {
	h.areas = h.areas[:0]
	for _, f := range h.merged {
		h.areas = append(h.areas, f.w*f.l)
	}
	most := kthLeast(h.areas, mostFrames-1)
	last := h.merged[len(h.merged)-1]
	kept := h.merged[:0]
	for _, f := range h.merged {
		if f.w*f.l <= most && len(kept) < mostFrames {
			kept = append(kept, f)
		}
	}
	if kept[len(kept)-1] != last {
		if len(kept) == mostFrames {
			kept = kept[:mostFrames-1]
		}
		kept = append(kept, last)
	}
	h.merged = kept
}

// kthLeast returns the number that has k others before it in rising order; it changes the order.
func kthLeast(all []int64, k int) int64 {
	low, high := 0, len(all)-1
	for low < high {
		middle := all[(low+high)/2]
		i, j := low, high
		for i <= j {
			for all[i] < middle {
				i++
			}
			for all[j] > middle {
				j--
			}
			if i <= j {
				all[i], all[j] = all[j], all[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return all[k]
		}
	}
	return all[low]
}

// changesOfRun returns how many changes the run that is under way has.
func (h *hierarchy) changesOfRun() int { return min(runLength<<min(h.runs-1, 20), longestRun) }

// step makes some changes; it returns whether the whole has become shorter than best meanwhile, with
// which it then stops.
func (h *hierarchy) step(changes int, best int64) bool {
	if h.runs == 0 || h.at >= h.changesOfRun() {
		h.begin()
	}
	length := h.changesOfRun()
	for range changes {
		if h.at%(length/runStages) == 0 {
			h.warm *= cooler
			if h.at == 0 {
				h.warm = warmest * float64(min(best, h.length))
			}
		}
		h.at++
		h.change()
		if h.length < best {
			return true
		}
	}
	return false
}

// change makes one change, or none if what chance has drawn cannot be changed.
func (h *hierarchy) change() {
	a, b := h.rng.Int32N(int32(len(h.joints))), h.rng.Int32N(int32(len(h.joints)))
	if a == b || a == h.root || b == h.root {
		return
	}
	h.saved, h.trail = h.saved[:0], h.trail[:0]
	if h.rng.Uint64()&1 == 0 {
		h.trySwap(a, b)
	} else {
		h.tryMove(a, b)
	}
}

// over tells whether a joint lies over another or is the same.
func (h *hierarchy) over(upper, lower int32) bool {
	for lower >= 0 && lower != upper {
		lower = h.joints[lower].above
	}
	return lower == upper
}

// trySwap lets two groups change places.
func (h *hierarchy) trySwap(a, b int32) {
	overA, overB := h.joints[a].above, h.joints[b].above
	alike := h.joints[a].kind >= 0 && h.joints[a].kind == h.joints[b].kind
	if overA == overB || alike || h.over(a, b) || h.over(b, a) {
		return
	}
	h.swap(a, b)
	if !h.settle(overA, overB) {
		h.swap(a, b)
		h.restore()
	}
}

func (h *hierarchy) swap(a, b int32) {
	overA, overB := h.joints[a].above, h.joints[b].above
	h.hang(overA, a, b)
	h.hang(overB, b, a)
}

// hang puts a joint in the place of another below a group, or at the root.
func (h *hierarchy) hang(above, old, joint int32) {
	switch {
	case above < 0:
		h.root = joint
	case h.joints[above].a == old:
		h.joints[above].a = joint
	default:
		h.joints[above].b = joint
	}
	h.joints[joint].above = above
}

// tryMove takes a group out of its place and puts it together with another.
func (h *hierarchy) tryMove(a, b int32) {
	group := h.joints[a].above
	other := h.joints[group].a + h.joints[group].b - a
	if b == group || b == other || h.over(a, b) {
		return
	}
	left := h.joints[group].above
	h.move(group, other, b)
	if !h.settle(left, group) {
		h.move(group, b, other)
		h.restore()
	}
}

// move takes a group with one of its two out of its place, where the other stays, and puts it over
// a third joint.
func (h *hierarchy) move(group, stays, joins int32) {
	h.hang(h.joints[group].above, group, stays)
	h.hang(h.joints[joins].above, joins, group)
	if h.joints[group].a == stays {
		h.joints[group].a = joins
	} else {
		h.joints[group].b = joins
	}
	h.joints[joins].above = group
}

// settle finds the frames anew from two joints up, and returns whether the length that they come to
// is accepted.
func (h *hierarchy) settle(i, j int32) bool {
	h.mark++
	for k := j; k >= 0; k = h.joints[k].above {
		h.marks[k] = h.mark
	}
	for i >= 0 && h.marks[i] != h.mark && h.refresh(i) {
		i = h.joints[i].above
	}
	// Where the frames of a joint are what they were, those above it are too: except above j, which
	// may have come from elsewhere, and before what has changed on the way from i has come in.
	common := i >= 0 && h.marks[i] == h.mark
	for k := j; k >= 0; k = h.joints[k].above {
		passed := !common || k == i
		if !h.refresh(k) && passed && k != j {
			break
		}
		common = common && k != i
	}
	length := h.lengthOf()
	if length > h.length+drawRise(h.rng, h.warm) {
		return false
	}
	h.length = length
	return true
}

// refresh finds the frames of a group, keeping those that it had; it returns whether they differ.
func (h *hierarchy) refresh(j int32) bool {
	from, before := len(h.trail), len(h.saved)
	h.trail = append(h.trail, h.framesOf(j)...)
	h.saved = append(h.saved, savedFrames{j, h.joints[j].count, from})
	if !h.find(j) {
		h.trail, h.saved = h.trail[:from], h.saved[:before]
		return false
	}
	return true
}

// restore gives the groups the frames back that they had, the last first.
func (h *hierarchy) restore() {
	for k := len(h.saved) - 1; k >= 0; k-- {
		s := h.saved[k]
		h.joints[s.joint].count = s.count
		copy(h.framesOf(s.joint), h.trail[s.from:])
	}
}

// spots appends the spots of what is below a joint in a frame that holds it.
func (h *hierarchy) spots(to []spot, j int32, f frame, x, y int64) []spot {
	at := &h.joints[j]
	if at.kind >= 0 {
		return append(to, spot{optionIn(h.m, at.kind, f), x, y})
	}
	a, b, sideways, _ := partIn(f, h.framesOf(at.a), h.framesOf(at.b))
	to = h.spots(to, at.a, a, x, y)
	if sideways {
		return h.spots(to, at.b, b, x+a.w, y)
	}
	return h.spots(to, at.b, b, x, y+a.l)
}

// shortest returns the marker of the hierarchy as it is.
func (h *hierarchy) shortest() []spot {
	all := h.framesOf(h.root)
	return h.spots(make([]spot, 0, h.m.copies), h.root, all[len(all)-1], 0, 0)
}

// hierarchyWork is about how many operations a change of a hierarchy takes.
const hierarchyWork = 3000

// Where pieces may turn the search has a larger share than where they may not.
func beginTurningTrees(m *model, worker int, seed uint64) searcher {
	return beginTrees(m, worker, seed, true)
}

func beginFixedTrees(m *model, worker int, seed uint64) searcher {
	return beginTrees(m, worker, seed, false)
}

func beginTrees(m *model, worker int, seed uint64, turning bool) searcher {
	if m.turns() != turning {
		return nil
	}
	if h := newHierarchy(m, rand.New(rand.NewPCG(seed, hierarchySeed+uint64(worker)))); h != nil {
		return h
	}
	return nil
}

func (h *hierarchy) search(work int, known incumbent) (found finding, done bool) {
	if h.step(work/hierarchyWork+1, known.end) {
		found.spots = h.shortest()
	}
	return found, false
}

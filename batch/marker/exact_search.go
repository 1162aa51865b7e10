package marker

import (
	"cmp"
	"iter"
	"slices"
)

// exactSearch decides whether a few pieces can be laid up to a target, for certain. First it
// chooses where along the cloth each piece begins: on the start or on the end of another, as in
// any marker pushed to its start, and so that at no place more width is taken than there is (the
// relaxation of Martello, Monaci and Vigo 2003 to one dimension). Then it looks for places
// across that go with the choice, again for certain: pushed to the left, each piece lies at the
// selvage or against one that it meets. Côté, Dell'Amico and Iori 2014 part the problem likewise.
//
// It can work across as well: then the two directions change roles.
type exactSearch struct {
	m             *model
	across        bool
	target        int64
	room, horizon int64 // the most that sizes side by side, and those in a row, may come to
	side, along   []int64
	left          []int32 // copies left, by kind
	rest          int
	waste         int64 // how much area may still be lost
	slack         exactSlack
	sums          *sideSums
	laid          []exactPiece
	byAlong       []int32 // kinds, the one that is longest at least first
	leastAlong    []int64 // by kind
	leastSide     []int64
	// lower is the largest kind of one copy, −1 if there is none: it is looked for only in the
	// lower half along and the left half across, since every marker can be laid the other way
	// round, and pushed to the start again.
	lower int32

	// Places across for the first settled of the laid pieces, by index of laid.
	at      []int64
	settled int
	// What is tried for all of them.
	try     []int64
	placed  []bool
	moments []exactMoment
	order   [][]exactTry // by depth
	reached [][]int64    // by depth: how far each moment is taken
	low     [][]int64    // by depth: how near to the selvage each piece can lie

	// hopeless are states that no places along go on from, whatever the places across are;
	// misfits counts the choices for which there were none across.
	hopeless [][2]uint64
	misfits  int

	nodes   int
	yield   func(struct{}) bool
	next    func() (struct{}, bool)
	stop    func()
	stopped bool
	done    bool // the answer is known
	found   []spot
}

// exactPiece is a piece whose stretch along is chosen.
type exactPiece struct {
	option   int32
	from, to int64
	side     int64
	index    int    // of laid
	meets    uint32 // pieces whose stretch along it shares
}

// exactMoment is a place along at which the pieces there must lie side by side.
type exactMoment struct {
	pieces uint32
	free   int64 // side of those not placed yet
}

type exactTry struct {
	piece int
	at    int64
}

// maxExactCopies is how many copies the exact search is for; with more it hardly ever ends.
const maxExactCopies = 16

// exactPart is how many nodes are searched between two looks at whether to go on.
const exactPart = 100

// fewHopeless is how many states are remembered at first, mostHopeless at most.
const fewHopeless, mostHopeless = 1 << 10, 1 << 20

// newExactSearch returns nil if the search does not serve.
func newExactSearch(m *model, target int64, across bool) *exactSearch {
	if !m.plain || m.groups > 0 || m.straight || m.copies > maxExactCopies || target >= noCap {
		return nil
	}
	x := &exactSearch{m: m, across: across, target: target, room: m.width, horizon: target, rest: m.copies}
	if across {
		x.room, x.horizon = target, m.width
	}
	for _, o := range m.options {
		side, along := o.w, o.l
		if across {
			side, along = along, side
		}
		x.side, x.along = append(x.side, side), append(x.along, along)
	}
	for i, k := range m.kinds {
		x.left = append(x.left, int32(k.copies))
		x.byAlong = append(x.byAlong, int32(i))
		x.leastAlong = append(x.leastAlong, slices.Min(x.along[k.first:k.last]))
		x.leastSide = append(x.leastSide, slices.Min(x.side[k.first:k.last]))
	}
	slices.SortStableFunc(x.byAlong, func(a, b int32) int { return cmp.Compare(x.leastAlong[b], x.leastAlong[a]) })
	x.lower = -1
	for k := range m.kinds {
		if m.kinds[k].copies == 1 && (x.lower < 0 || m.kinds[k].area > m.kinds[x.lower].area) {
			x.lower = int32(k)
		}
	}
	x.waste = area(x.room, x.horizon) - m.totalArea()
	x.at, x.try, x.placed = make([]int64, m.copies), make([]int64, m.copies), make([]bool, m.copies)
	x.moments, x.order = make([]exactMoment, 0, m.copies), make([][]exactTry, m.copies+1)
	for range m.copies + 1 {
		x.reached, x.low = append(x.reached, make([]int64, m.copies)), append(x.low, make([]int64, m.copies))
	}
	x.sums = newSideSums(m, x.side, x.along, x.room, x.horizon)
	x.hopeless = make([][2]uint64, fewHopeless)
	var possible bool
	if x.slack, possible = newExactSlack(m, x.side, x.along, x.room, x.horizon); !possible {
		x.waste = -1
	}
	x.next, x.stop = iter.Pull(x.run)
	return x
}

// goOn searches a little further; it returns whether the answer is known.
func (x *exactSearch) goOn() bool {
	if !x.done {
		x.next()
	}
	return x.done
}

func (x *exactSearch) run(yield func(struct{}) bool) {
	x.yield = yield
	if x.waste < 0 || !x.choose(0, 0) {
		x.done = !x.stopped
	}
}

// node counts a node; it returns false if the search is to end.
func (x *exactSearch) node() bool {
	x.nodes++
	if x.nodes%exactPart == 0 && !x.stopped && !x.yield(struct{}{}) {
		x.stopped = true
	}
	return !x.stopped
}

// choose lets pieces begin at a place along, in options from the given one on, then goes on to
// the next place. It returns whether to end the search, as a marker is found or it is stopped.
func (x *exactSearch) choose(place int64, from int) bool {
	if !x.node() {
		return true
	}
	free := x.room
	for _, p := range x.laid {
		if p.to > place {
			free -= p.side
		}
	}
	for o := from; o < len(x.side); o++ {
		k := x.m.options[o].kind
		if x.left[k] == 0 || x.side[o] > free || place+x.along[o] > x.horizon {
			continue
		}
		if k == x.lower && 2*place+x.along[o] > x.horizon {
			continue
		}
		if !x.slack.choose(int32(o), 1) {
			x.slack.choose(int32(o), -1)
			continue
		}
		x.lay(int32(o), place)
		if x.rest == 0 {
			if x.arrange() && !x.stopped {
				x.take()
				return true
			}
		} else if x.choose(place, o) {
			return true
		}
		x.takeBack()
		x.slack.choose(int32(o), -1)
		if x.stopped {
			return true
		}
	}
	return x.advance(place, free)
}

// advance goes on to the next end of a piece.
func (x *exactSearch) advance(place, free int64) bool {
	next := int64(noCap)
	for _, p := range x.laid {
		if p.to > place {
			next = min(next, p.to)
		}
	}
	if next == noCap {
		return false
	}
	lost := free * (next - place)
	if lost > x.waste || lost+x.lostBehind(next) > x.waste || !x.fitsBehind(next) {
		return false
	}
	if len(x.laid) > 2 && x.laid[len(x.laid)-1].from == place && !x.arrange() {
		return x.stopped
	}
	state := x.state(next)
	if x.hopeless[state[0]%uint64(len(x.hopeless))] == state {
		return false
	}
	misfits := x.misfits
	if !x.slack.lose(x.laid, place, next) {
		return false
	}
	x.waste -= lost
	ended := x.choose(next, 0)
	x.waste += lost
	x.slack.giveBack()
	if !ended && misfits == x.misfits {
		x.remember(state)
	}
	return ended
}

// remember keeps a state that no places along go on from. A longer search remembers more of them.
func (x *exactSearch) remember(state [2]uint64) {
	if size := len(x.hopeless); size < mostHopeless && x.nodes > 4*size {
		before := x.hopeless
		x.hopeless = make([][2]uint64, 4*size)
		for _, s := range before {
			if s != [2]uint64{} {
				x.hopeless[s[0]%uint64(4*size)] = s
			}
		}
	}
	x.hopeless[state[0]%uint64(len(x.hopeless))] = state
}

// lostBehind returns area that is lost for certain behind a place, beside the laid pieces that reach
// there and behind them, as the pieces left do not fill the room side by side.
func (x *exactSearch) lostBehind(place int64) int64 {
	sums, lost := x.sums.of(x.m, x.left), int64(0)
	for place < x.horizon {
		free, next := x.room, x.horizon
		for i := range x.laid {
			if p := &x.laid[i]; p.to > place {
				free -= p.side
				next = min(next, p.to)
			}
		}
		lost += (free - x.sums.upTo(sums, free)) * (next - place)
		place = next
	}
	return lost
}

// state is a fingerprint, of 128 bits so that no two states will ever share one, of all that
// matters behind a place along: the place, the pieces left, and how much width is taken until where.
func (x *exactSearch) state(place int64) [2]uint64 {
	a, b := mixed(uint64(place)), mixed(^uint64(place))
	for k, n := range x.left {
		a, b = mixed(a^uint64(n)<<8^uint64(k)), mixed(b+uint64(n)<<8+uint64(k))
	}
	// Sums do not depend on the order of the pieces, nor on how many share a width.
	for _, p := range x.laid {
		if p.to > place {
			a, b = a+uint64(p.side)*mixed(uint64(p.to)), b+uint64(p.side)*mixed(^uint64(p.to))
		}
	}
	return [2]uint64{mixed(a), mixed(b)}
}

// mixed spreads the bits of a number over all 64 (the finishing step of SplitMix64).
func mixed(v uint64) uint64 {
	v += 0x9e3779b97f4a7c15
	v = (v ^ v>>30) * 0xbf58476d1ce4e5b9
	v = (v ^ v>>27) * 0x94d049bb133111eb
	return v ^ v>>31
}

// fitsBehind tells whether the pieces left that must all lie at one place along, if they begin
// at or behind the given one, fit side by side there.
func (x *exactSearch) fitsBehind(place int64) bool {
	if !x.wideFitBehind(place) {
		return false
	}
	if k := x.lower; k >= 0 && x.left[k] > 0 && 2*place+x.leastAlong[k] > x.horizon {
		return false
	}
	sum := int64(0)
	for _, k := range x.byAlong {
		if x.left[k] == 0 {
			continue
		}
		least := x.leastAlong[k]
		if place+least > x.horizon {
			return false
		}
		moment := x.horizon - least
		if moment >= place+least {
			return true
		}
		sum += x.leastSide[k] * int64(x.left[k])
		taken := sum
		for _, p := range x.laid {
			if p.to > moment && p.from <= moment {
				taken += p.side
			}
		}
		if taken > x.room {
			return false
		}
	}
	return true
}

// wideFitBehind tells whether the pieces left that can never lie side by side fit one after the
// other.
func (x *exactSearch) wideFitBehind(place int64) bool {
	start := place
	for _, p := range x.laid {
		if 2*p.side >= x.room {
			start = max(start, p.to)
		}
	}
	for k, n := range x.left {
		if 2*x.leastSide[k] > x.room {
			start += x.leastAlong[k] * int64(n)
		}
	}
	return start <= x.horizon
}

func (x *exactSearch) lay(o int32, place int64) {
	p := exactPiece{option: o, from: place, to: place + x.along[o], side: x.side[o], index: len(x.laid)}
	x.laid = append(x.laid, p)
	x.left[x.m.options[o].kind]--
	x.rest--
}

func (x *exactSearch) takeBack() {
	last := len(x.laid) - 1
	x.left[x.m.options[x.laid[last].option].kind]++
	x.rest++
	x.laid = x.laid[:last]
	x.settled = min(x.settled, last)
}

// arrange tells whether the laid pieces have places across.
func (x *exactSearch) arrange() bool {
	if x.addPlaces() {
		return true
	}
	x.moments = x.moments[:0]
	for i := range x.laid {
		p := &x.laid[i]
		m := exactMoment{}
		p.meets = 0
		for j, q := range x.laid {
			if q.from <= p.from && p.from < q.to {
				m.pieces |= 1 << j
				m.free += q.side
			}
			if q.from < p.to && p.from < q.to && i != j {
				p.meets |= 1 << j
			}
		}
		x.moments = append(x.moments, m)
		x.placed[i] = false
	}
	x.moments = slices.CompactFunc(x.moments, func(a, b exactMoment) bool { return a.pieces == b.pieces })
	clear(x.reached[0])
	clear(x.low[0])
	if !x.place(0, 0, -1) {
		x.misfits++
		return false
	}
	copy(x.at, x.try[:len(x.laid)])
	x.settled = len(x.laid)
	return true
}

// addPlaces finds places for the pieces that have none beside those that have, at the selvage or
// against one of them; it returns whether there are.
func (x *exactSearch) addPlaces() bool {
	for ; x.settled < len(x.laid); x.settled++ {
		p := &x.laid[x.settled]
		if !x.addPlace(p, 0) && !slices.ContainsFunc(x.laid[:x.settled], func(q exactPiece) bool {
			return q.from < p.to && p.from < q.to && x.addPlace(p, x.at[q.index]+q.side)
		}) {
			return false
		}
	}
	return true
}

// addPlace puts the next piece at a place if it is free.
func (x *exactSearch) addPlace(p *exactPiece, at int64) bool {
	if at+p.side > x.room {
		return false
	}
	for i, q := range x.laid[:x.settled] {
		if q.from < p.to && p.from < q.to && at < x.at[i]+q.side && x.at[i] < at+p.side {
			return false
		}
	}
	x.at[x.settled] = at
	return true
}

// place gives places to pieces from left to right: after depth of them, the last of them at the
// given place.
func (x *exactSearch) place(depth int, last int64, lastPiece int) bool {
	if depth == len(x.laid) {
		return true
	}
	if !x.node() {
		return false
	}
	reached, low := x.reached[depth], x.low[depth]
	for i := range x.moments {
		if m := &x.moments[i]; m.free > 0 && max(last, reached[i])+m.free > x.room {
			return false
		}
	}
	tries := x.order[depth][:0]
	for i := range x.laid {
		if x.placed[i] {
			continue
		}
		at := low[i]
		if side := x.laid[i].side; at+side > x.room || x.m.options[x.laid[i].option].kind == x.lower && 2*at+side > x.room {
			return false // it can only move further
		}
		if at < last || at == last && i < lastPiece {
			continue
		}
		tries = append(tries, exactTry{i, at})
	}
	x.order[depth] = tries
	for i := 1; i < len(tries); i++ {
		for j := i; j > 0 && tries[j].at < tries[j-1].at; j-- {
			tries[j], tries[j-1] = tries[j-1], tries[j]
		}
	}
	for _, t := range tries {
		x.move(depth, t)
		ok := x.place(depth+1, t.at, t.piece)
		x.freeAt(t.piece, 1)
		x.placed[t.piece] = false
		if ok {
			return true
		}
		if x.stopped {
			return false
		}
	}
	return false
}

// move puts a piece at its place and notes at the next depth what that leaves.
func (x *exactSearch) move(depth int, t exactTry) {
	p := &x.laid[t.piece]
	x.try[t.piece], x.placed[t.piece] = t.at, true
	x.freeAt(t.piece, -1)
	end := t.at + p.side
	reached, low := x.reached[depth+1], x.low[depth+1]
	copy(reached, x.reached[depth])
	copy(low, x.low[depth])
	for i := range x.moments {
		if x.moments[i].pieces>>t.piece&1 == 1 {
			reached[i] = max(reached[i], end)
		}
	}
	for i := range x.laid {
		if p.meets>>i&1 == 1 {
			low[i] = max(low[i], end)
		}
	}
}

// freeAt adds a piece to what is to be placed at its moments, or takes it off.
func (x *exactSearch) freeAt(piece int, sign int64) {
	for i := range x.moments {
		if x.moments[i].pieces>>piece&1 == 1 {
			x.moments[i].free += sign * x.laid[piece].side
		}
	}
}

// take keeps the marker found.
func (x *exactSearch) take() {
	x.found = x.found[:0]
	for i, p := range x.laid {
		at := spot{p.option, x.at[i], p.from}
		if x.across {
			at.x, at.y = at.y, at.x
		}
		x.found = append(x.found, at)
	}
	x.done = true
}

// exactSearcher has the exact search decide about one end after the other: one worker's is the last before the
// incumbent, whose refutation ends it all; the other's half the way from the bound, as what is far from the best is
// refuted soon, and found soon if it is there.
type exactSearcher struct {
	m       *model
	halfway bool // also tells that it searches across
	unit    int64
	exact   *exactSearch
	best    int64 // the end of the incumbent when it began
	refuted int64
}

func beginExact(m *model, worker int, _ uint64) searcher {
	if m.copies > maxExactCopies || m.cap < noCap || !m.plain {
		return nil
	}
	unit, _ := m.endUnit()
	return &exactSearcher{m: m, halfway: worker%2 == 1, unit: unit}
}

func (x *exactSearcher) search(_ int, known incumbent) (found finding, done bool) {
	if x.exact == nil || x.best != known.end || x.exact.done {
		target := x.target(known)
		if x.best == known.end && x.exact != nil && target <= x.exact.target {
			return found, true // it is refuted already
		}
		x.stop()
		x.best, x.exact = known.end, newExactSearch(x.m, target, x.halfway)
	}
	if x.exact == nil || x.exact.done {
		return found, true
	}
	if x.exact.goOn() {
		if len(x.exact.found) > 0 {
			found.spots = x.exact.found
		} else {
			x.refuted = max(x.refuted, x.exact.target)
		}
	}
	found.refuted = x.refuted
	return found, false
}

// target returns the end to decide about.
func (x *exactSearcher) target(known incumbent) int64 {
	last := (known.end - 1) / x.unit * x.unit
	if !x.halfway {
		return last
	}
	first := (max(known.bound, x.refuted+1) + x.unit - 1) / x.unit * x.unit
	return min(max((first+known.end)/2/x.unit*x.unit, first), last)
}

// stop ends the exact search, which holds a coroutine.
func (x *exactSearcher) stop() {
	if x.exact != nil {
		x.exact.stop()
	}
}

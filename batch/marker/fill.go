package marker

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// fill is an exact search for a marker without any waste: one whose pieces cover the cloth up to
// the target wholly. Always the left corner of the lowest step is filled next, as it must be by
// some piece; each piece left is tried there in turn. A branch ends where the widths of the pieces
// left add up to no exact filling of the step, where the lengths of them reach no exact end, and
// where the same pieces were left on the same skyline before. (Lesh, Marks, McMahon and
// Mitzenmacher 2004 searched perfect packings in this way.)
type fill struct {
	cover
	frames       []fillFrame
	found        []fillSpot
	steps        skyline   // of all frames, one after the other
	tries        []fillTry // likewise
	failed       []uint64  // hashes of states that lead nowhere
	nodes, limit int       // since the last beginning
	rounds       int
	exhausted    bool
}

// cover is what the searches that cover the cloth piece by piece share: sizes in the units that all
// of them are multiples of, the copies left, and which sums their sizes come to.
type cover struct {
	m             *model
	across        bool
	rng           *rand.Rand
	unitW, unitL  int64
	width, target int64    // in units
	total         int64    // area of all copies
	w, l          []int64  // by option
	left0, left   []int32  // copies, and copies left, by kind
	rest          int      // copies left of all kinds
	pieceHash     []uint64 // by kind
	sums          []uint64
	byLength      []int32 // kinds, the one that is longest at least first
	byWidth       []int32 // kinds, the one that is narrowest first
	least, narrow []int64 // by kind: of its options, the least length and width
	spots         []spot
}

type fillFrame struct {
	step0       int // index into steps of the frame's first
	at          int // the lowest step, from step0
	try0, tries int // the tries left are tries[try0:tries]
	hash        uint64
	rows        uint64 // hash of the copies left
}

type fillTry struct {
	option int32
	score  int32
}

type fillSpot struct {
	option int32
	x, y   int64
}

const (
	maxFillSums  = 4096
	failedStates = 1 << 18
	// With more pieces neither this search nor that by a beam hardly ever ends.
	maxFillCopies = 250
)

// newCover returns nil if the instance is not for these searches. Across they fill from the left
// selvage on.
func newCover(m *model, across bool, rng *rand.Rand) *cover {
	if !m.plain || m.groups > 0 || m.copies > maxFillCopies {
		return nil
	}
	c := &cover{m: m, across: across, rng: rng, sums: make([]uint64, maxFillSums/64)}
	for _, o := range m.options {
		w, l := o.w, o.l
		if across {
			w, l = l, w
		}
		c.unitW, c.unitL = gcd(c.unitW, w), gcd(c.unitL, l)
		c.w, c.l = append(c.w, w), append(c.l, l)
	}
	for i := range c.w {
		c.w[i], c.l[i] = c.w[i]/c.unitW, c.l[i]/c.unitL
	}
	for k, kd := range m.kinds {
		c.total += c.w[kd.first] * c.l[kd.first] * int64(kd.copies)
		c.left0 = append(c.left0, int32(kd.copies))
		c.pieceHash = append(c.pieceHash, rng.Uint64())
		c.byLength = append(c.byLength, int32(k))
		c.least, c.narrow = append(c.least, slices.Min(c.l[kd.first:kd.last])), append(c.narrow, slices.Min(c.w[kd.first:kd.last]))
	}
	slices.SortFunc(c.byLength, func(a, b int32) int { return cmp.Compare(c.least[b], c.least[a]) })
	c.byWidth = slices.Clone(c.byLength)
	slices.SortFunc(c.byWidth, func(a, b int32) int { return cmp.Compare(c.narrow[a], c.narrow[b]) })
	return c
}

// aim sets the end that all pieces must keep; it returns false if they cannot, or if it is too far
// away for the table of sums.
func (c *cover) aim(target int64) bool {
	if target >= noCap {
		return false
	}
	width := c.m.width
	if c.across {
		width, target = target, width
	}
	c.width, c.target = width/c.unitW, target/c.unitL
	return max(c.width, c.target) < maxFillSums && c.waste() >= 0
}

// waste returns how much area the pieces leave free.
func (c *cover) waste() int64 { return c.width*c.target - c.total }

// newFill returns nil if the cloth up to the target cannot be covered wholly or is not for
// this search.
func newFill(m *model, target int64, across bool, rng *rand.Rand) *fill {
	c := newCover(m, across, rng)
	if c == nil || !c.aim(target) || c.waste() != 0 {
		return nil
	}
	return &fill{cover: *c}
}

// begin starts the search from the top.
func (f *fill) begin() {
	f.left = append(f.left[:0], f.left0...)
	f.rest = f.m.copies
	f.frames, f.found, f.tries = f.frames[:0], f.found[:0], f.tries[:0]
	f.steps = f.steps.flat(f.width)
	rows := uint64(0)
	for k, n := range f.left {
		rows += f.pieceHash[k] * uint64(n)
	}
	f.nodes = 0
	f.rounds++
	f.open(0, rows)
}

// open enters a state: the steps from step0 on, with the tries at the valley that has fewest.
func (f *fill) open(step0 int, rows uint64) {
	steps := f.steps[step0:]
	h := rows
	for _, s := range steps {
		h = (h ^ uint64(s.x)<<32 ^ uint64(s.y)) * 0x9e3779b97f4a7c15
		h ^= h >> 29
	}
	fr := fillFrame{step0: step0, try0: len(f.tries), hash: h, rows: rows}
	f.nodes++
	if f.failed[h%failedStates] != h && f.roomAlong(steps) {
		fr.at, _ = f.narrowestValley(steps)
		if fr.at >= 0 {
			f.list(steps, fr.at)
		}
	}
	fr.tries = len(f.tries)
	f.frames = append(f.frames, fr)
}

// roomAlong tells whether the pieces left that can lie only side by side fit beside each other.
func (f *cover) roomAlong(steps skyline) bool {
	low := f.target
	for _, s := range steps {
		low = min(low, s.y)
	}
	wide := int64(0)
	for _, k := range f.byLength {
		least, narrow := f.least[k], f.narrow[k]
		if 2*least <= f.target-low {
			return true
		}
		if f.left[k] == 0 {
			continue
		}
		wide += narrow * int64(f.left[k])
		room := int64(0)
		for i := range len(steps) - 1 {
			if steps[i].y+least <= f.target {
				room += steps.width(i)
			}
		}
		if wide > room {
			return false
		}
	}
	return true
}

// narrowestValley returns the step between two higher ones with the fewest tries and how many they
// are, or −1 if one has none.
func (f *fill) narrowestValley(steps skyline) (best, fewest int) {
	best, fewest = -1, math.MaxInt
	for i := range len(steps) - 1 {
		if i > 0 && steps[i-1].y < steps[i].y || steps[i+1].y < steps[i].y {
			continue
		}
		g, room := steps.width(i), f.target-steps[i].y
		if !f.fills(g, room) {
			return -1, 0
		}
		n := f.countTries(g, room, fewest)
		if n == 0 {
			return -1, 0
		}
		if n < fewest {
			best, fewest = i, n
		}
	}
	return best, fewest
}

// countTries returns how many options may begin to fill a valley of width g, whose sums are marked,
// or enough if there are as many.
func (f *fill) countTries(g, room int64, enough int) int {
	n := 0
	for _, k := range f.byWidth {
		if f.narrow[k] > g {
			break
		}
		if f.left[k] == 0 {
			continue
		}
		for o := f.m.kinds[k].first; o < f.m.kinds[k].last; o++ {
			if w := f.w[o]; w <= g && f.l[o] <= room && f.sums[(g-w)>>6]>>((g-w)&63)&1 == 1 {
				if n++; n >= enough {
					return n
				}
			}
		}
	}
	return n
}

// fills marks the sums of widths up to g of the pieces left that have room along, and tells whether
// g is one of them.
func (f *cover) fills(g, room int64) bool {
	if g >= 64 {
		f.reach(g, f.w, f.l, room)
		return f.sums[g>>6]>>(g&63)&1 == 1
	}
	s := uint64(1)
	for _, k := range f.byWidth {
		if f.narrow[k] > g {
			break
		}
		kd := &f.m.kinds[k]
		a, b := uint64(64), uint64(64) // a shift by 64 leaves nothing
		if f.l[kd.first] <= room {
			a = uint64(f.w[kd.first])
		}
		if kd.last-kd.first > 1 && f.l[kd.first+1] <= room {
			b = uint64(f.w[kd.first+1])
		}
		for c := f.left[k]; c > 0; c-- {
			more := s | s<<a | s<<b
			if more == s {
				break
			}
			s = more
		}
	}
	f.sums[0] = s
	return s>>g&1 == 1
}

// reach marks the sums up to limit of sizes of pieces left, in the options whose other size has
// room.
func (f *cover) reach(limit int64, sizes, others []int64, room int64) {
	markSums(f.sums[:limit>>6+1], f.m, f.left, sizes, others, room)
}

func (f *fill) list(steps skyline, at int) {
	y, g := steps[at].y, steps.width(at)
	left, right := steps.walls(at)
	if !f.fills(g, f.target-y) {
		return
	}
	from := len(f.tries)
	for _, k := range f.byWidth {
		if f.narrow[k] > g {
			break
		}
		if f.left[k] == 0 {
			continue
		}
		for o := f.m.kinds[k].first; o < f.m.kinds[k].last; o++ {
			w, l := f.w[o], f.l[o]
			if w > g || y+l > f.target {
				continue
			}
			if rest := g - w; f.sums[rest>>6]>>(rest&63)&1 == 0 {
				continue
			}
			score := int32(0)
			if w == g {
				score += 2
				if l == right {
					score += 2
				}
			}
			if l == left {
				score += 2
			}
			if y+l == f.target {
				score++
			}
			score = score<<16 + int32(w*l*1000/(f.width*f.target))<<4 + int32(f.rng.Uint32()>>16)>>4
			f.tries = append(f.tries, fillTry{o, score})
		}
	}
	if f.rest <= 12 && len(f.tries) > from {
		f.reach(f.target-y, f.l, f.w, f.width)
		kept := f.tries[:from]
		for _, t := range f.tries[from:] {
			if above := f.target - y - f.l[t.option]; f.sums[above>>6]>>(above&63)&1 == 1 {
				kept = append(kept, t)
			}
		}
		f.tries = kept
	}
	slices.SortFunc(f.tries[from:], func(a, b fillTry) int { return cmp.Compare(b.score, a.score) })
}

// search goes on for so many nodes; it returns whether a marker is found.
func (f *fill) search(nodes int) bool {
	if f.failed == nil {
		f.failed, f.limit = make([]uint64, failedStates), 2000
		f.begin()
	}
	for ; nodes > 0; nodes-- {
		if f.nodes > f.limit {
			f.limit += f.limit / 2
			f.begin()
		}
		fr := &f.frames[len(f.frames)-1]
		if fr.try0 == fr.tries {
			f.failed[fr.hash%failedStates] = fr.hash
			f.steps = f.steps[:fr.step0]
			if len(f.frames) == 1 {
				f.exhausted = true
				return false
			}
			f.frames = f.frames[:len(f.frames)-1]
			up := &f.frames[len(f.frames)-1]
			f.tries = f.tries[:up.tries]
			last := f.found[len(f.found)-1]
			f.found = f.found[:len(f.found)-1]
			f.left[f.m.options[last.option].kind]++
			f.rest++
			continue
		}
		o := f.tries[fr.try0].option
		fr.try0++
		k := f.m.options[o].kind
		rows := fr.rows - f.pieceHash[k]
		from, at := fr.step0, fr.at
		step0 := len(f.steps)
		f.steps = append(f.steps, f.steps[from:]...)
		s := f.steps[step0+at]
		f.found = append(f.found, fillSpot{o, s.x, s.y})
		f.left[k]--
		f.rest--
		if f.rest == 0 {
			f.take(f.found)
			return true
		}
		f.steps = append(f.steps, step{}) // room
		sky := f.steps[step0 : len(f.steps)-1]
		sky.put(at, s.x, f.w[o], s.y+f.l[o])
		f.steps = f.steps[:step0+len(sky)]
		f.open(step0, rows)
	}
	return false
}

// take turns what is found into spots.
func (f *cover) take(found []fillSpot) {
	f.spots = f.spots[:0]
	for _, p := range found {
		at := spot{p.option, p.x * f.unitW, p.y * f.unitL}
		if f.across {
			at.x, at.y = at.y, at.x
		}
		f.spots = append(f.spots, at)
	}
}

// With so few pieces the search that ends for certain has every other turn of the beam's, with more
// seldom one, as the beam finds more.
const fewToFill = 22

// fillSeed sets the choices of these searches apart from the worker's own.
const fillSeed = 1 << 33

// fillSearcher takes some of the turns of the beam for the search for a marker without waste.
type fillSearcher struct {
	m           *model
	worker      int
	seed        uint64
	fill        *fill
	bound       int64 // that fill is to reach
	asked, each int
}

func beginFill(m *model, worker int, seed uint64) searcher {
	if m.cap < noCap {
		return nil
	}
	f := &fillSearcher{m: m, worker: worker, seed: seed, each: 8}
	if m.copies <= fewToFill {
		f.each = 2
	}
	return f
}

func (f *fillSearcher) search(_ int, known incumbent) (found finding, done bool) {
	if f.bound != known.bound {
		f.bound = known.bound
		f.fill = newFill(f.m, known.bound, f.worker%2 == 1, rand.New(rand.NewPCG(f.seed, fillSeed+uint64(f.worker))))
	}
	f.asked++
	if f.fill == nil || f.fill.exhausted || f.asked%f.each != 0 {
		return found, true
	}
	if f.fill.search(8 + f.m.copies/4) {
		found.spots = f.fill.spots
	}
	return found, false
}

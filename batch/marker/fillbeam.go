package marker

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// fillBeam looks for a marker up to a target by a beam: of all fillings of so many pieces only the
// most promising are followed. What the target leaves free beside the pieces may be lost, no more:
// in each valley of the skyline at least so much is lost as the sums of the widths of the pieces
// left lack. Each beam that fails is followed by another with other weights, in time a wider one.
//
// A level is made in two passes: all that can follow is listed with a quick score, and only the
// best of the list are made and looked at closely.
type fillBeam struct {
	cover
	budget int64 // area that may be lost
	wide   int   // fillings kept at the first levels
	still  int   // pieces left in the fillings that are followed
	turn   int
	taste  fillTaste
	mean   float64 // area of a copy

	level, next []*filled
	spare       []*filled
	listed      []fillChild
	nodes       []fillLink // how each filling came about
	found       []fillSpot
	tries       []int32
	at          int      // the filling to follow next, or the child to make
	making      bool     // whether children are made
	seen        []uint64 // hashes of the fillings of the next level
	stamp       uint64
	scratch     skyline
}

// fillTaste is what counts for a filling beside the area laid: against it each step of the skyline,
// the heights between steps and the area lost, for it the number of pieces that can begin the
// narrowest valley, and chance.
type fillTaste struct {
	step, pit, waste, choice, noise float64
}

// filled is a partly filled cloth.
type filled struct {
	steps skyline
	left  []int32
	rows  uint64
	area  int64
	lost  int64 // for certain, in the valleys to come included
	link  int32
	at    int // the valley to fill next
	score float64
}

// fillChild is a piece that can follow on a filling.
type fillChild struct {
	of     *filled
	option int32
	toLeft bool
	hash   uint64
	score  float64
}

// fillLink is a laid piece and what was laid before it.
type fillLink struct {
	before int32
	piece  fillSpot
}

const (
	seenFillings = 1 << 16
	// The first beams follow so many fillings; after so many beams twice as many.
	firstFillBeam, growAfter = 10, 4
	// With fewer pieces left than these so many times more fillings are kept: they are followed
	// quickly, and it is the last pieces that most beams fail for.
	someLeft, someMore = 30, 4
	fewLeft, fewMore   = 20, 16
	// So many times more children than are kept stay on the list, and are looked at closely.
	listMore, lookMore = 16, 2
	// With at most so many pieces left the room above a piece is looked at, too; before, it costs
	// more than it saves.
	lookAbove = 12
)

// newFillBeam returns nil if the instance is not for this search.
func newFillBeam(m *model, across bool, rng *rand.Rand) *fillBeam {
	c := newCover(m, across, rng)
	if c == nil {
		return nil
	}
	return &fillBeam{cover: *c, mean: float64(c.total) / float64(m.copies)}
}

// begin starts a beam for a target; it returns false if it is not for this search.
func (b *fillBeam) begin(target int64) bool {
	if b.seen == nil {
		b.seen = make([]uint64, seenFillings)
	}
	b.spare = append(append(b.spare, b.level...), b.next...)
	b.level, b.next, b.listed, b.nodes = b.level[:0], b.next[:0], b.listed[:0], b.nodes[:0]
	b.at, b.making = 0, false
	if !b.aim(target) {
		return false
	}
	b.budget = b.waste()
	b.wide = firstFillBeam << min(b.turn/growAfter, 8)
	b.taste = b.drawTaste()
	b.turn++
	b.stamp++
	b.still = b.m.copies
	root := b.room()
	root.steps = root.steps.flat(b.width)
	root.left = append(root.left[:0], b.left0...)
	root.rows, root.area, root.link = 0, 0, -1
	for k, n := range root.left {
		root.rows += b.pieceHash[k] * uint64(n)
	}
	if _, ok := b.judge(root); !ok {
		b.spare = append(b.spare, root)
		return false
	}
	b.level = append(b.level, root)
	return true
}

// drawTaste draws what counts this time: no one mixture does best on all instances (measured on the
// published ones).
func (b *fillBeam) drawTaste() fillTaste {
	t := fillTaste{
		step: 0.1 + float64(0.5*b.rng.Float64()), pit: b.rng.Float64(), waste: float64(int(2) << b.rng.IntN(5)),
		noise: 0.2 + float64(1.6*b.rng.Float64()),
	}
	if b.rng.IntN(5) < 2 {
		t.step = 0.5 + float64(2*b.rng.Float64())
	}
	if b.rng.IntN(5) < 3 {
		t.choice = 0.8 * b.rng.Float64()
	}
	return t
}

// room returns a filling to write into.
func (b *fillBeam) room() *filled {
	if n := len(b.spare); n > 0 {
		f := b.spare[n-1]
		b.spare = b.spare[:n-1]
		return f
	}
	return &filled{}
}

// step follows a filling or makes a child; done tells that the beam has ended, found that a marker
// is found.
func (b *fillBeam) step() (done, found bool) {
	if !b.making {
		if b.at < len(b.level) {
			f := b.level[b.at]
			b.at++
			return false, b.list(f)
		}
		b.trim(len(b.listed))
		b.making, b.at = true, 0
	}
	if b.at < len(b.listed) && len(b.next) < lookMore*b.most(1) {
		b.at++
		b.make(&b.listed[b.at-1])
		return false, false
	}
	b.nextLevel()
	return len(b.level) == 0, false
}

// most returns how many fillings are kept once so many more pieces are laid.
func (b *fillBeam) most(more int) int {
	switch {
	case b.still-more < fewLeft:
		return b.wide * fewMore
	case b.still-more < someLeft:
		return b.wide * someMore
	}
	return b.wide
}

// nextLevel goes on with the most promising of the fillings made.
func (b *fillBeam) nextLevel() {
	b.spare, b.listed = append(b.spare, b.level...), b.listed[:0]
	slices.SortFunc(b.next, func(x, y *filled) int { return cmp.Compare(y.score, x.score) })
	keep := min(len(b.next), b.most(1))
	b.still--
	b.spare = append(b.spare, b.next[keep:]...)
	b.level, b.next = append(b.level[:0], b.next[:keep]...), b.next[:0]
	b.at, b.making = 0, false
	b.stamp++
}

// trim sorts the list of children and keeps the best of it.
func (b *fillBeam) trim(keep int) {
	slices.SortFunc(b.listed, func(x, y fillChild) int { return cmp.Compare(y.score, x.score) })
	b.listed = b.listed[:min(keep, len(b.listed))]
}

// valley returns how wide a step between higher ones is and how far it lies below the lower of
// them, or below the target.
func (b *fillBeam) valley(steps skyline, at int) (g, depth int64) {
	y := steps[at].y
	depth = b.target - y
	if at > 0 {
		depth = min(depth, steps[at-1].y-y)
	}
	return steps[at+1].x - steps[at].x, min(depth, steps[at+1].y-y)
}

// list lists the pieces for the chosen valley of a filling; it returns true if the last one fits.
func (b *fillBeam) list(f *filled) bool {
	b.left = append(b.left[:0], f.left...)
	at, s := f.at, f.steps[f.at]
	b.listTries(f)
	left, right := f.steps.walls(at)
	for _, o := range b.tries {
		if b.still == 1 {
			b.conclude(f, fillSpot{o, s.x, s.y})
			return true
		}
		w, l := b.w[o], b.l[o]
		// A piece goes against the wall as high as it is, else against the taller one.
		toLeft := l == left || left >= right && l != right
		x := s.x
		if !toLeft {
			x = f.steps[at+1].x - w
		}
		sky := append(b.scratch[:0], f.steps...)
		sky.put(at, x, w, s.y+l)
		b.scratch = sky
		h := f.rows - b.pieceHash[b.m.options[o].kind]
		pits, under := int64(0), int64(0)
		for i, s := range sky[:len(sky)-1] {
			h = (h ^ uint64(s.x)<<32 ^ uint64(s.y)) * 0x9e3779b97f4a7c15
			h ^= h >> 29
			under += sky.width(i) * s.y
			if i > 0 {
				d := s.y - sky[i-1].y
				pits += max(d, -d)
			}
		}
		area := f.area + w*l
		// Products are rounded by themselves, so that every machine adds up the same.
		t := &b.taste
		score := float64(area)/b.mean - float64(t.step*float64(len(sky))) - float64(t.pit*float64(pits))/float64(b.target) -
			float64(t.waste*float64(under-area))/b.mean + float64(t.noise*b.rng.Float64())
		b.listed = append(b.listed, fillChild{f, o, toLeft, h ^ b.stamp*0xbf58476d1ce4e5b9, score})
	}
	if most := listMore * b.most(1); len(b.listed) > 2*most {
		b.trim(most)
	}
	return false
}

// listTries finds the options that may begin to fill the chosen valley of a filling.
func (b *fillBeam) listTries(f *filled) {
	g, depth := b.valley(f.steps, f.at)
	room := b.target - f.steps[f.at].y
	b.fills(g, room)
	lost := f.lost - depth*(g-b.sumUpTo(g))
	b.beginners(g, depth, room, lost, math.MaxInt)
	if b.still > lookAbove || len(b.tries) == 0 {
		return
	}
	b.reach(room, b.l, b.w, b.width)
	kept := b.tries[:0]
	for _, o := range b.tries {
		above := room - b.l[o]
		if lost+b.w[o]*(above-b.sumUpTo(above)) <= b.budget {
			kept = append(kept, o)
		}
	}
	b.tries = kept
}

// beginners puts into tries up to enough of the options that may begin to fill a valley of width g,
// whose sums are marked.
func (b *fillBeam) beginners(g, depth, room, lost int64, enough int) {
	b.tries = b.tries[:0]
	for _, k := range b.byWidth {
		if b.narrow[k] > g {
			break
		}
		if b.left[k] == 0 {
			continue
		}
		for o := b.m.kinds[k].first; o < b.m.kinds[k].last; o++ {
			if b.w[o] <= g && b.l[o] <= room && b.affords(o, g, depth, lost) {
				if b.tries = append(b.tries, o); len(b.tries) >= enough {
					return
				}
			}
		}
	}
}

// affords tells whether an option in a valley whose sums are marked leaves no more to be lost there
// than may be.
func (b *fillBeam) affords(o int32, g, depth, lost int64) bool {
	rest := g - b.w[o]
	if b.sums[rest>>6]>>(rest&63)&1 == 1 {
		return true
	}
	return b.budget > 0 && lost+(rest-b.sumUpTo(rest))*min(depth, b.l[o]) <= b.budget
}

// sumUpTo returns the greatest marked sum up to a limit.
func (b *fillBeam) sumUpTo(limit int64) int64 { return greatestSum(b.sums, limit) }

// judge chooses the valley to fill next, gives up those that nothing fits, and finds what is lost for
// certain; it returns how many pieces can begin that valley, and false if too much is lost.
func (b *fillBeam) judge(f *filled) (choices int, ok bool) {
	b.left = append(b.left[:0], f.left...)
	for {
		if !b.roomAlong(f.steps) {
			return 0, false
		}
		dead := b.look(f, &choices)
		if f.lost > b.budget {
			return 0, false
		}
		if dead < 0 {
			return choices, f.at >= 0
		}
		_, depth := b.valley(f.steps, dead)
		f.steps.raise(dead, f.steps[dead].y+depth)
	}
}

// look goes over the valleys of a filling. It returns one that nothing fits and that can be raised,
// or −1.
func (b *fillBeam) look(f *filled, choices *int) (dead int) {
	steps := f.steps
	f.at, f.lost = -1, -f.area
	for i := range len(steps) - 1 {
		f.lost += steps.width(i) * steps[i].y
	}
	fewest := math.MaxInt
	for i := range len(steps) - 1 {
		if i > 0 && steps[i-1].y < steps[i].y || steps[i+1].y < steps[i].y {
			continue
		}
		g, depth := b.valley(steps, i)
		room := b.target - steps[i].y
		b.fills(g, room)
		sum := b.sumUpTo(g)
		if sum == 0 {
			if steps[i].y+depth < b.target {
				return i
			}
			f.lost += g * depth
			continue
		}
		f.lost += (g - sum) * depth
		if f.lost > b.budget {
			return -1
		}
		b.beginners(g, depth, room, f.lost-(g-sum)*depth, fewest)
		n := len(b.tries)
		if n < fewest {
			f.at, fewest = i, n
		}
	}
	*choices = fewest
	return -1
}

// make makes a child and looks at it closely.
func (b *fillBeam) make(c *fillChild) {
	if b.seen[c.hash%seenFillings] == c.hash {
		return
	}
	b.seen[c.hash%seenFillings] = c.hash
	f, o := c.of, c.option
	k := b.m.options[o].kind
	s := f.steps[f.at]
	if !c.toLeft {
		s.x = f.steps[f.at+1].x - b.w[o]
	}
	child := b.room()
	child.steps = append(child.steps[:0], f.steps...)
	child.steps.put(f.at, s.x, b.w[o], s.y+b.l[o])
	child.left = append(child.left[:0], f.left...)
	child.left[k]--
	child.rows, child.area = f.rows-b.pieceHash[k], f.area+b.w[o]*b.l[o]
	choices, ok := b.judge(child)
	if !ok {
		b.spare = append(b.spare, child)
		return
	}
	t := &b.taste
	before := int64(0) // what the quick score knew to be lost
	for i := range len(f.steps) - 1 {
		before += f.steps.width(i) * f.steps[i].y
	}
	before -= f.area
	child.score = c.score + float64(t.choice*float64(min(choices, 8))) - float64(t.waste*float64(child.lost-before))/b.mean
	child.link = int32(len(b.nodes))
	b.nodes = append(b.nodes, fillLink{f.link, fillSpot{o, s.x, s.y}})
	b.next = append(b.next, child)
}

// conclude takes the marker that the last piece completes.
func (b *fillBeam) conclude(f *filled, last fillSpot) {
	b.found = append(b.found[:0], last)
	for at := f.link; at >= 0; at = b.nodes[at].before {
		b.found = append(b.found, b.nodes[at].piece)
	}
	b.take(b.found)
}

// Of few pieces that may cover the cloth up to the bound almost whole, beamSteps steps of the beam go
// into one of a worker: each is far less work than laying a plan, and the beam finds more for its
// time. Elsewhere one does, as the other searches find more (measured on the published instances and
// on cutting jobs).
const beamSteps, maxForBeam = 10, 100

// beamSearcher goes on with beams for one end after the other.
type beamSearcher struct {
	beam   *fillBeam
	target int64 // the end that the beam is to keep; 0 if none is under way
	begun  int
}

func beginBeam(m *model, worker int, seed uint64) searcher {
	if m.cap < noCap {
		return nil
	}
	beam := newFillBeam(m, worker%2 == 1, rand.New(rand.NewPCG(seed, fillSeed+1<<8+uint64(worker))))
	if beam == nil {
		return nil
	}
	return &beamSearcher{beam: beam}
}

func (b *beamSearcher) search(_ int, known incumbent) (found finding, done bool) {
	if b.target == 0 || b.target >= known.end {
		b.target = b.nextTarget(known)
		if !b.beam.begin(b.target) {
			b.target = 0
			return found, true
		}
	}
	ended := false
	for n := b.steps(known.bound); n > 0 && !ended; n-- {
		var all bool
		if ended, all = b.beam.step(); all {
			found.spots, ended = b.beam.spots, true
		}
	}
	if ended {
		b.target = 0
	}
	return found, false
}

// steps returns how many steps of the beam go into one of a worker.
func (b *beamSearcher) steps(bound int64) int {
	m := b.beam.m
	cloth := area(bound, m.width)
	if m.copies > maxForBeam || cloth-m.totalArea() > cloth/100 {
		return 1
	}
	return beamSteps
}

// nextTarget returns the end that the next beam is to keep: the bound where that leaves no waste,
// else the last before the best known or one half the way to the bound.
func (b *beamSearcher) nextTarget(known incumbent) int64 {
	b.begun++
	switch b.begun % 3 {
	case 0:
		return known.bound + (known.end-1-known.bound)/2
	case 1:
		return known.bound
	}
	return known.end - 1
}

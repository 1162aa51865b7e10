package marker

import (
	"cmp"
	"slices"
)

// fillBeam looks for a marker without waste as fill does, but by a beam: of all fillings of so many
// pieces only the most promising are followed, those that have laid the largest pieces and have the
// smoothest skyline. Each beam that fails is followed by a wider one with other weights.
type fillBeam struct {
	*fill
	wide  int // fillings kept at the first levels
	still int // pieces left in the fillings that are followed
	turn  int
	taste fillTaste

	level, next []*filled
	spare       []*filled
	nodes       []fillLink // how each filling came about
	at          int        // the filling to follow next
	seen        []uint64   // hashes of the fillings of the next level
	stamp       uint64
	scratch     []skyStep
}

// fillTaste is what counts for a filling beside the area laid: against it each step of the skyline
// and the heights between steps, for it the number of pieces that can begin the narrowest valley,
// and chance.
type fillTaste struct {
	step, pit, choice, noise float64
}

// filled is a partly filled cloth.
type filled struct {
	steps []skyStep
	left  []int32
	rows  uint64
	area  int64
	link  int32
	at    int // the valley to fill next
	score float64
}

// fillLink is a laid piece and what was laid before it.
type fillLink struct {
	before int32
	piece  fillSpot
}

const (
	firstFillBeam = 10
	seenFillings  = 1 << 16
	// With at most so many pieces left so many times more fillings are kept: these are followed
	// quickly, and it is the last pieces that most beams fail for.
	someLeft, someMore = 30, 4
	fewLeft, fewMore   = 20, 16
)

func newFillBeam(f *fill) *fillBeam {
	b := &fillBeam{fill: f, seen: make([]uint64, seenFillings)}
	b.begin()
	return b
}

// begin starts a beam.
func (b *fillBeam) begin() {
	b.spare = append(append(b.spare, b.level...), b.next...)
	b.level, b.next, b.nodes, b.at = b.level[:0], b.next[:0], b.nodes[:0], 0
	b.wide = firstFillBeam << min(b.turn/4, 8)
	b.taste = b.drawTaste()
	b.turn++
	b.stamp++
	b.still = b.m.copies
	root := b.room()
	root.steps = append(root.steps[:0], skyStep{0, 0}, skyStep{b.width, noCap})
	root.left = append(root.left[:0], b.left0...)
	root.rows, root.area, root.link, root.at = 0, 0, -1, 0
	for k, n := range root.left {
		root.rows += b.pieceHash[k] * uint64(n)
	}
	b.level = append(b.level, root)
}

// drawTaste draws what counts this time: no one mixture does best on all instances (measured on the
// published ones).
func (b *fillBeam) drawTaste() fillTaste {
	t := fillTaste{step: 0.1 + float64(0.5*b.rng.Float64()), pit: b.rng.Float64(), noise: 0.2 + float64(1.6*b.rng.Float64())}
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

// search follows so many fillings; it returns whether a marker is found.
func (b *fillBeam) search(fillings int) bool {
	for ; fillings > 0; fillings-- {
		if b.at == len(b.level) && !b.nextLevel() {
			b.begin()
		}
		f := b.level[b.at]
		b.at++
		if b.follow(f) {
			return true
		}
	}
	return false
}

// nextLevel goes on with the most promising.
func (b *fillBeam) nextLevel() bool {
	b.spare = append(b.spare, b.level...)
	slices.SortFunc(b.next, func(x, y *filled) int { return cmp.Compare(y.score, x.score) })
	keep := min(len(b.next), b.most())
	b.still--
	b.spare = append(b.spare, b.next[keep:]...)
	b.level, b.next = append(b.level[:0], b.next[:keep]...), b.next[:0]
	b.at = 0
	b.stamp++
	return len(b.level) > 0
}

// most returns how many fillings are kept for the next level.
func (b *fillBeam) most() int {
	switch {
	case b.still <= fewLeft:
		return b.wide * fewMore
	case b.still <= someLeft:
		return b.wide * someMore
	}
	return b.wide
}

// follow lays each piece that can lie in the valley of a filling that has the fewest.
func (b *fillBeam) follow(f *filled) bool {
	b.left = append(b.left[:0], f.left...)
	b.rest = b.still
	b.tries = b.tries[:0]
	at := f.at
	b.list(f.steps, at)
	s := f.steps[at]
	for _, t := range b.tries {
		o := t.option
		k := b.m.options[o].kind
		if b.rest == 1 {
			b.conclude(f, fillSpot{o, s.x, s.y})
			return true
		}
		q := indexed{steps: append(b.scratch[:0], f.steps...)}
		q.put(at, true, b.w[o], s.y+b.l[o])
		b.scratch = q.steps
		rows := f.rows - b.pieceHash[k]
		h := rows
		for _, s := range q.steps {
			h = (h ^ uint64(s.x)<<32 ^ uint64(s.y)) * 0x9e3779b97f4a7c15
			h ^= h >> 29
		}
		h ^= b.stamp * 0xbf58476d1ce4e5b9
		if b.seen[h%seenFillings] == h {
			continue
		}
		b.seen[h%seenFillings] = h
		b.left[k]--
		next, choices := -1, 0
		if b.roomAlong(q.steps) {
			next, choices = b.narrowestValley(q.steps)
		}
		b.left[k]++
		if next < 0 {
			continue
		}
		area := f.area + b.w[o]*b.l[o]
		score := b.score(q.steps, area, choices)
		b.keep(f, o, k, s, rows, area, score, next)
	}
	return false
}

func (b *fillBeam) score(steps []skyStep, area int64, choices int) float64 {
	mean := float64(b.width*b.target) / float64(b.m.copies)
	pits := int64(0)
	for i := 1; i < len(steps)-1; i++ {
		d := steps[i].y - steps[i-1].y
		pits += max(d, -d)
	}
	// Products are rounded by themselves, so that every machine adds up the same.
	t := &b.taste
	return float64(area)/mean - float64(t.step*float64(len(steps))) - float64(t.pit*float64(pits))/float64(b.target) +
		float64(t.choice*float64(min(choices, 8))) + float64(t.noise*b.rng.Float64())
}

func (b *fillBeam) keep(f *filled, o, k int32, s skyStep, rows uint64, area int64, score float64, at int) {
	most := b.most()
	if len(b.next) >= 4*most {
		// Half of them go.
		slices.SortFunc(b.next, func(x, y *filled) int { return cmp.Compare(y.score, x.score) })
		b.spare = append(b.spare, b.next[most:]...)
		b.next = b.next[:most]
	}
	child := b.room()
	child.steps = append(child.steps[:0], b.scratch...)
	child.left = append(child.left[:0], f.left...)
	child.left[k]--
	child.rows, child.area, child.score, child.at = rows, area, score, at
	child.link = int32(len(b.nodes))
	b.nodes = append(b.nodes, fillLink{f.link, fillSpot{o, s.x, s.y}})
	b.next = append(b.next, child)
}

func (b *fillBeam) conclude(f *filled, last fillSpot) {
	b.found = append(b.found[:0], last)
	for at := f.link; at >= 0; at = b.nodes[at].before {
		b.found = append(b.found, b.nodes[at].piece)
	}
	b.fill.take()
}

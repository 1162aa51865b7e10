package marker

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// The straight-cut search by blocks fills a rectangle of the cloth, as wide as the cloth and as
// long as the search wants to reach, and puts what is left on a strip behind it. A block laid in
// a rectangle's corner leaves two rectangles, filled in turn, the smaller first. The search is a
// beam: at each level a number of partly filled cloths, each followed by its most promising
// blocks, are filled up greedily, and those that come out fullest make the next level (Araya and
// Riff 2014). The beam widens whenever it fails, and the length to reach falls whenever it wins.

// blockSearch is the state of one worker's search. It works in steps of one filled cloth.
type blockSearch struct {
	m *model
	*library
	rng  *rand.Rand
	goal struct{ main, end int64 } // the end of the rectangle, and the end that all must keep
	wide int                       // nodes kept at a level
	turn int                       // searches begun

	nodes, next []*filling
	spare       []*filling
	at          int // the node being followed
	follow      []candidate
	followAt    int
	scratch     *filling
	taste       taste
}

// taste varies what a search prefers.
type taste struct {
	loss  float64 // what a unit of lost area counts against a unit of laid area
	noise float64 // how far chance may change a score
}

// filling is a partly filled cloth.
type filling struct {
	left  []int32 // copies, by kind
	still int     // copies to lay
	rects []rect  // to fill, the next one last
	laid  []laidBlock
	main  int64 // area laid in the main rectangle
	end   int64
	score int64 // area in the main rectangle once it is filled up
}

type laidBlock struct {
	block int32
	x, y  int64
}

// candidate is a block for a rectangle, with the direction of the first cut.
type candidate struct {
	block int32
	along bool
	score float64
}

const (
	mostFollowed  = 6   // blocks that a node is followed by
	widestBeam    = 200 // nodes at a level at most
	blockNotFound = -1
)

// newBlockSearch returns nil if the instance does not suit. The blocks are made at the first step.
func newBlockSearch(m *model, seed uint64) *blockSearch {
	if !suitsBlocks(m) {
		return nil
	}
	return &blockSearch{m: m, rng: rand.New(rand.NewPCG(seed, blockSeed))}
}

// blockSeed sets the choices of this search apart from those of the workers.
const blockSeed = 1 << 32

func beginBlocks(m *model, _ int, seed uint64) searcher {
	if s := newBlockSearch(m, seed); s != nil {
		return s
	}
	return nil
}

func (s *blockSearch) search(_ int, known incumbent) (found finding, done bool) {
	if f := s.step(known.end, known.bound); f != nil {
		found.spots = s.spotsOf(f)
	}
	return found, false
}

func (s *blockSearch) newFill() *filling {
	if n := len(s.spare); n > 0 {
		f := s.spare[n-1]
		s.spare = s.spare[:n-1]
		return f
	}
	return &filling{left: make([]int32, len(s.m.kinds))}
}

func (f *filling) copyFrom(g *filling) {
	copy(f.left, g.left)
	f.still, f.main, f.end, f.score = g.still, g.main, g.end, g.score
	f.rects, f.laid = append(f.rects[:0], g.rects...), append(f.laid[:0], g.laid...)
}

// begin starts a beam that has to end before best; bound is the length that cannot be beaten.
func (s *blockSearch) begin(best, bound int64) {
	s.spare = append(s.spare, s.nodes...)
	s.spare = append(s.spare, s.next...)
	s.nodes, s.next, s.at, s.follow, s.followAt = s.nodes[:0], s.next[:0], 0, s.follow[:0], 0
	s.wide = min(1<<min(s.turn/6, 20), widestBeam)
	s.taste = taste{loss: 1}
	if s.turn%6 >= 2 {
		s.taste = taste{loss: 0.3 + 1.7*s.rng.Float64(), noise: 0.1 * s.rng.Float64()}
	}
	s.turn++
	s.goal.end = best - 1
	s.goal.main = s.goal.end
	switch s.turn % 3 {
	case 1:
		s.goal.main = bound + (best-bound)/2
	case 2:
		s.goal.main = bound
	}
	root := s.newFill()
	for i, k := range s.m.kinds {
		root.left[i] = int32(k.copies)
	}
	root.still, root.main, root.end = s.m.copies, 0, 0
	root.laid = root.laid[:0]
	root.rects = append(root.rects[:0], rect{0, s.goal.main, s.m.width, s.goal.end}, rect{0, 0, s.m.width, s.goal.main})
	s.nodes = append(s.nodes, root)
}

// step fills one cloth; it returns it if everything is laid on it.
func (s *blockSearch) step(best, bound int64) *filling {
	if s.library == nil {
		s.library, s.scratch = newLibrary(s.m), s.newFill()
	}
	if len(s.nodes) == 0 || best <= s.goal.end {
		s.begin(best, bound)
	}
	for s.followAt >= len(s.follow) {
		if !s.following() {
			s.begin(best, bound)
		}
	}
	c := s.follow[s.followAt]
	s.followAt++
	child := s.newFill()
	child.copyFrom(s.nodes[s.at-1])
	s.lay(child, c)
	s.scratch.copyFrom(child)
	s.fillUp(s.scratch)
	child.score = s.scratch.main
	s.next = append(s.next, child)
	if s.scratch.still == 0 {
		return s.scratch
	}
	return nil
}

// following finds the blocks to follow the next node by; false if the beam has ended.
func (s *blockSearch) following() bool {
	if s.at == len(s.nodes) && !s.nextLevel() {
		return false
	}
	f := s.nodes[s.at]
	s.at++
	s.follow, s.followAt = s.follow[:0], 0
	for len(f.rects) > 1 && len(s.follow) == 0 {
		s.candidates(f, f.rects[len(f.rects)-1])
		if len(s.follow) == 0 {
			f.rects = f.rects[:len(f.rects)-1]
		}
	}
	return true
}

// nextLevel keeps the fullest of the nodes found.
func (s *blockSearch) nextLevel() bool {
	s.spare = append(s.spare, s.nodes...)
	slices.SortStableFunc(s.next, func(a, b *filling) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(b.main, a.main))
	})
	s.nodes, s.at = s.nodes[:0], 0
	for i, f := range s.next {
		alike := i > 0 && f.score == s.next[i-1].score && f.main == s.next[i-1].main
		if len(s.nodes) < s.wide && !alike {
			s.nodes = append(s.nodes, f)
		} else {
			s.spare = append(s.spare, f)
		}
	}
	s.next = s.next[:0]
	return len(s.nodes) > 0
}

// fits tells whether a block fits a rectangle and the copies that are left.
func (s *blockSearch) has(f *filling, k *block) bool {
	for _, u := range k.uses {
		if f.left[u.kind] < u.count {
			return false
		}
	}
	return true
}

// judge returns the score of a block in a rectangle, and whether the first cut runs along.
func (s *blockSearch) judge(k *block, w, l int64) (score float64, along bool) {
	restW, restL := w-k.w, l-k.l
	lostW, lostL := restW-s.reachW.upTo(restW), restL-s.reachL.upTo(restL)
	whenAlong, whenAcross := lostW*l+lostL*k.w, lostW*k.l+lostL*w
	lost := min(whenAlong, whenAcross)
	along = whenAlong < whenAcross
	if whenAlong == whenAcross {
		along = restW*l > restL*w
	}
	return float64(k.area) - float64(s.taste.loss*float64(lost)), along
}

// candidates finds the best blocks for a rectangle.
func (s *blockSearch) candidates(f *filling, r rect) {
	w, l := r.x1-r.x0, r.y1-r.y0
	worst := float64(0)
	for i := range s.blocks {
		k := &s.blocks[i]
		if len(s.follow) == mostFollowed && float64(k.area) <= worst {
			break
		}
		if k.w > w || k.l > l || !s.has(f, k) {
			continue
		}
		score, along := s.judge(k, w, l)
		c := candidate{int32(i), along, score}
		at := len(s.follow)
		for at > 0 && s.follow[at-1].score < score {
			at--
		}
		if at == mostFollowed {
			continue
		}
		if len(s.follow) == mostFollowed {
			s.follow = s.follow[:mostFollowed-1]
		}
		s.follow = slices.Insert(s.follow, at, c)
		worst = s.follow[len(s.follow)-1].score
	}
}

// bestFor finds the best block for a rectangle.
func (s *blockSearch) bestFor(f *filling, r rect) candidate {
	w, l := r.x1-r.x0, r.y1-r.y0
	best := candidate{block: blockNotFound}
	for i := range s.blocks {
		k := &s.blocks[i]
		if best.block >= 0 && float64(k.area) <= best.score {
			break
		}
		if k.w > w || k.l > l {
			continue
		}
		score, along := s.judge(k, w, l)
		if s.taste.noise > 0 {
			score -= float64(float64(k.area) * float64(s.taste.noise*s.rng.Float64()))
		}
		if (best.block < 0 || score > best.score) && s.has(f, k) {
			best = candidate{int32(i), along, score}
		}
	}
	return best
}

// lay puts a block into the last rectangle of a cloth.
func (s *blockSearch) lay(f *filling, c candidate) {
	r := f.rects[len(f.rects)-1]
	f.rects = f.rects[:len(f.rects)-1]
	k := &s.blocks[c.block]
	f.laid = append(f.laid, laidBlock{c.block, r.x0, r.y0})
	for _, u := range k.uses {
		f.left[u.kind] -= u.count
	}
	f.still -= int(k.pieces)
	if r.y0 < s.goal.main {
		f.main += k.area
	}
	f.end = max(f.end, r.y0+k.l)
	beside, behind := rect{r.x0 + k.w, r.y0, r.x1, r.y0 + k.l}, rect{r.x0, r.y0 + k.l, r.x1, r.y1}
	if c.along {
		beside.y1, behind.x1 = r.y1, r.x0+k.w
	}
	if beside.size() < behind.size() {
		beside, behind = behind, beside
	}
	for _, rest := range [2]rect{beside, behind} {
		if rest.x1-rest.x0 >= s.m.narrowest && rest.y1 > rest.y0 {
			f.rects = append(f.rects, rest)
		}
	}
}

func (r rect) size() int64 { return (r.x1 - r.x0) * (r.y1 - r.y0) }

// fillUp goes on greedily until nothing fits any more.
func (s *blockSearch) fillUp(f *filling) {
	for len(f.rects) > 0 && f.still > 0 {
		c := s.bestFor(f, f.rects[len(f.rects)-1])
		if c.block < 0 {
			f.rects = f.rects[:len(f.rects)-1]
			continue
		}
		s.lay(f, c)
	}
}

// spotsOf returns the spots of a filled cloth.
func (s *blockSearch) spotsOf(f *filling) []spot {
	to := make([]spot, 0, s.m.copies)
	for _, b := range f.laid {
		to = s.spots(to, b.block, b.x, b.y)
	}
	return to
}

package marker

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// Blocks. Where only straight cuts are made, equal pieces lie best in columns, rows and grids,
// and unequal ones in pairs that share an edge. A block is a piece, or two blocks side by side or
// one behind the other that leave hardly anything free between them (Wang 1983; as the parts of a
// search, Bortfeldt and Jungmann 2012). The straight-cut search lays whole blocks.

const (
	// mostBlocks is how many blocks are made: those of the fewest pieces come first.
	mostBlocks = 6000
	// leastFree and mostFree are the share of a block that may be free, in hundredths: the least
	// that gives enough blocks to choose from.
	leastFree, mostFree, enoughBlocks = 2, 2, 2000
	// mostBlockKinds is the most kinds of piece that blocks are made for; with more of them
	// there is little to gain and much to look through.
	mostBlockKinds = 700
	// mostBlockArea keeps hundredths of areas inside their integers.
	mostBlockArea = 1 << 55
)

// block is pieces that lie as one.
type block struct {
	w, l, area int64 // area is that of the pieces in it
	// a is the number of the block at the lower left, b of the one beside or behind it; of a
	// single piece, a is its option and b is −1.
	a, b   int32
	beside bool
	pieces int32
	uses   []use
}

// use is how many copies of a kind a block takes.
type use struct{ kind, count int32 }

// library is the blocks of an instance, the largest first. It is shared and never changed.
type library struct {
	m      *model
	blocks []block
	// reachW is, by whole steps of the width, the greatest sum of widths of pieces up to there,
	// reachL likewise of lengths; nil where there would be too many steps.
	reachW, reachL reach
}

// suitsBlocks tells whether an instance is laid by blocks too: one with straight cuts, but without
// faults, repeats and very many kinds of piece.
func suitsBlocks(m *model) bool {
	return m.straight && m.plain && m.groups == 0 && len(m.kinds) <= mostBlockKinds && area(m.longestStack(), m.width) < mostBlockArea
}

// newLibrary makes the blocks.
func newLibrary(m *model) *library {
	b := &library{m: m}
	maker := blockMaker{m: m, known: map[string]bool{}, byWidth: map[int64][]int32{}, byLength: map[int64][]int32{}}
	for i, o := range m.options {
		maker.add(block{w: o.w, l: o.l, area: o.w * o.l, a: int32(i), b: -1, pieces: 1, uses: []use{{o.kind, 1}}})
	}
	for maker.free = leastFree; maker.free <= mostFree && len(maker.blocks) < enoughBlocks; maker.free *= 2 {
		for i := int32(0); int(i) < len(maker.blocks) && len(maker.blocks) < mostBlocks; i++ {
			maker.join(i)
		}
	}
	b.blocks = maker.sorted()
	b.reachW = m.newReach(m.width, func(o option) int64 { return o.w })
	b.reachL = m.newReach(min(m.cap, m.longestStack()), func(o option) int64 { return o.l })
	return b
}

type blockMaker struct {
	m                 *model
	free              int64
	blocks            []block
	known             map[string]bool
	byWidth, byLength map[int64][]int32
}

// join makes the blocks of block i and each that was made no later.
func (b *blockMaker) join(i int32) {
	for j := int32(0); j <= i && len(b.blocks) < mostBlocks; j++ {
		b.pair(i, j, true)
		b.pair(i, j, false)
	}
}

// pair puts two blocks together if hardly anything is free between them and there are copies enough.
func (b *blockMaker) pair(i, j int32, beside bool) {
	p, q := &b.blocks[i], &b.blocks[j]
	made := block{a: i, b: j, beside: beside, area: p.area + q.area, pieces: p.pieces + q.pieces}
	if beside {
		made.w, made.l = p.w+q.w, max(p.l, q.l)
	} else {
		made.w, made.l = max(p.w, q.w), p.l+q.l
	}
	if made.w > b.m.width || made.l > b.m.cap || (made.w*made.l-made.area)*100 > b.free*made.w*made.l {
		return
	}
	uses, ok := together(b.m, p.uses, q.uses)
	if !ok {
		return
	}
	made.uses = uses
	b.add(made)
}

// together adds up what two blocks take; false if there are not so many copies.
func together(m *model, p, q []use) ([]use, bool) {
	all := make([]use, 0, len(p)+len(q))
	for len(p) > 0 || len(q) > 0 {
		var u use
		switch {
		case len(q) == 0 || len(p) > 0 && p[0].kind < q[0].kind:
			u, p = p[0], p[1:]
		case len(p) == 0 || q[0].kind < p[0].kind:
			u, q = q[0], q[1:]
		default:
			u = use{p[0].kind, p[0].count + q[0].count}
			p, q = p[1:], q[1:]
		}
		if int(u.count) > m.kinds[u.kind].copies {
			return nil, false
		}
		all = append(all, u)
	}
	return all, true
}

// add keeps a block unless there is one of the same size and pieces.
func (b *blockMaker) add(made block) {
	var key []byte
	key = binary.AppendVarint(binary.AppendVarint(key, made.w), made.l)
	for _, u := range made.uses {
		key = binary.AppendVarint(binary.AppendVarint(key, int64(u.kind)), int64(u.count))
	}
	if b.known[string(key)] {
		return
	}
	b.known[string(key)] = true
	b.blocks = append(b.blocks, made)
}

// sorted returns the blocks, the largest first.
func (b *blockMaker) sorted() []block {
	order := numbersUpTo(len(b.blocks))
	slices.SortStableFunc(order, func(i, j int32) int { return cmp.Compare(b.blocks[j].area, b.blocks[i].area) })
	at := make([]int32, len(order))
	for i, from := range order {
		at[from] = int32(i)
	}
	sorted := make([]block, len(order))
	for i, from := range order {
		sorted[i] = b.blocks[from]
		if sorted[i].b >= 0 {
			sorted[i].a, sorted[i].b = at[sorted[i].a], at[sorted[i].b]
		}
	}
	return sorted
}

func numbersUpTo(n int) []int32 {
	all := make([]int32, n)
	for i := range all {
		all[i] = int32(i)
	}
	return all
}

// spots appends the spots of the pieces of a block.
func (b *library) spots(to []spot, number int32, x, y int64) []spot {
	k := &b.blocks[number]
	if k.b < 0 {
		return append(to, spot{k.a, x, y})
	}
	to = b.spots(to, k.a, x, y)
	if k.beside {
		return b.spots(to, k.b, x+b.blocks[k.a].w, y)
	}
	return b.spots(to, k.b, x, y+b.blocks[k.a].l)
}

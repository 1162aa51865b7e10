package marker

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

type climber struct {
	m         *model
	sky       *skyline
	rng       *rand.Rand
	seq       []entry
	end       int64
	rule      rule
	best      int64
	bestSpots []spot
	trial     []entry
	stale     int
}

func (m *model) order(by func(a, b kind) int) []entry {
	idx := make([]int32, len(m.kinds))
	for i := range idx {
		idx[i] = int32(i)
	}
	slices.SortStableFunc(idx, func(a, b int32) int { return by(m.kinds[a], m.kinds[b]) })
	var s []entry
	for _, k := range idx {
		for range m.kinds[k].copies {
			s = append(s, entry{k, 1, -1})
		}
	}
	return s
}

func (m *model) dims(k kind) (w, l int64) { o := m.options[k.first]; return o.w, o.l }

func (m *model) orders() [][]entry {
	area := func(a, b kind) int { return cmp.Compare(b.area, a.area) }
	width := func(a, b kind) int {
		aw, al := m.dims(a)
		bw, bl := m.dims(b)
		return cmp.Or(cmp.Compare(bw, aw), cmp.Compare(bl, al))
	}
	long := func(a, b kind) int {
		aw, al := m.dims(a)
		bw, bl := m.dims(b)
		return cmp.Or(cmp.Compare(bl, al), cmp.Compare(bw, aw))
	}
	peri := func(a, b kind) int { aw, al := m.dims(a); bw, bl := m.dims(b); return cmp.Compare(bw+bl, aw+al) }
	return [][]entry{m.order(area), m.order(width), m.order(long), m.order(peri)}
}

func (c *climber) start() {
	c.best = noCap
	for _, o := range c.m.orders() {
		for _, r := range []rule{{true, tallerWall}, {true, lowerWall}, {true, leftWall}, {false, tallerWall}} {
			if end := c.sky.lay(o, len(o), r, noCap-1, false); end < c.best {
				c.best = end
				c.bestSpots = append(c.bestSpots[:0], c.sky.spots...)
				c.seq = append(c.seq[:0], o...)
				c.rule = r
			}
		}
	}
	c.end = c.best
}

func (c *climber) step() {
	n := len(c.seq)
	i, j := c.rng.IntN(n), c.rng.IntN(n)
	if c.seq[i].kind == c.seq[j].kind {
		return
	}
	c.seq[i], c.seq[j] = c.seq[j], c.seq[i]
	end := c.sky.lay(c.seq, n, c.rule, c.end, false)
	if end <= c.end {
		c.end = end
		if end < c.best {
			c.best = end
			c.bestSpots = append(c.bestSpots[:0], c.sky.spots...)
		}
		return
	}
	c.seq[i], c.seq[j] = c.seq[j], c.seq[i]
}

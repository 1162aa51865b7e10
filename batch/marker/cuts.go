package marker

import (
	"cmp"
	"slices"
)

// cut is a straight cut: across at y from x on, or along at x from y on, so far.
type cut struct {
	across     bool
	x, y, span int64
}

// cutOrder returns the straight cuts that part boxes lying on a width by length of cloth, in an
// order in which they can be made: each part is cut across as far as that can be done, from its
// beginning on, then the parts of it along, and so on. It returns false if straight cuts cannot
// part the boxes.
func cutOrder(boxes []rect, width, length int64) ([]cut, bool) {
	c := cutter{boxes: boxes}
	all := make([]int, len(boxes))
	for i := range all {
		all[i] = i
	}
	ok := len(boxes) == 0 || c.part(all, rect{0, 0, width, length})
	return c.cuts, ok
}

// cutter finds the order of straight cuts. Making any cut that can be made never spoils the
// rest, so that no choice has to be taken back.
type cutter struct {
	boxes []rect
	cuts  []cut
}

// part cuts a part of the cloth until each of the boxes in it is free.
func (c *cutter) part(in []int, r rect) bool {
	for _, across := range []bool{true, false} {
		groups := c.groups(in, across)
		from, to := r.span(across)
		if len(groups) > 1 || groups[0].from > from || groups[0].to < to {
			return c.parts(groups, r, across)
		}
	}
	return len(in) == 1
}

// group is a run of boxes that no cut parts in one direction.
type group struct {
	in       []int
	from, to int64
}

// groups splits boxes by the cuts that meet none of them.
func (c *cutter) groups(in []int, across bool) []group {
	slices.SortFunc(in, func(a, b int) int {
		aFrom, _ := c.boxes[a].span(across)
		bFrom, _ := c.boxes[b].span(across)
		return cmp.Compare(aFrom, bFrom)
	})
	var all []group
	for i, b := range in {
		from, to := c.boxes[b].span(across)
		if last := len(all) - 1; last >= 0 && from < all[last].to {
			all[last].to = max(all[last].to, to)
			all[last].in = in[i-len(all[last].in) : i+1]
			continue
		}
		all = append(all, group{in[i : i+1], from, to})
	}
	return all
}

// span is the stretch of a rectangle that cuts in a direction run through or must miss.
func (r rect) span(across bool) (from, to int64) {
	if across {
		return r.y0, r.y1
	}
	return r.x0, r.x1
}

// between is the stretch of a rectangle from one cut to another.
func (r rect) between(from, to int64, across bool) rect {
	if across {
		return rect{r.x0, from, r.x1, to}
	}
	return rect{from, r.y0, to, r.y1}
}

// parts cuts groups apart and what lies between them off, then goes on with each group.
func (c *cutter) parts(groups []group, r rect, across bool) bool {
	at, end := r.span(across)
	for _, g := range groups {
		if g.from > at {
			c.add(g.from, r.between(at, end, across), across)
		}
		if g.to < end {
			c.add(g.to, r.between(g.from, end, across), across)
		}
		at = g.to
	}
	for _, g := range groups {
		if !c.part(g.in, r.between(g.from, g.to, across)) {
			return false
		}
	}
	return true
}

func (c *cutter) add(at int64, r rect, across bool) {
	if across {
		c.cuts = append(c.cuts, cut{true, r.x0, at, r.x1 - r.x0})
		return
	}
	c.cuts = append(c.cuts, cut{false, at, r.y0, r.y1 - r.y0})
}

package marker

import "slices"

// skyline is the upper edge of what is laid, as steps from left to right, each up to the x of the next. One more
// step, as high as can be, stands at the end of the width.
type skyline []step

type step struct{ x, y int64 }

// flat makes the skyline of bare cloth.
func (s skyline) flat(width int64) skyline {
	return append(s[:0], step{0, 0}, step{width, noCap})
}

// width returns how wide step i is.
func (s skyline) width(i int) int64 { return s[i+1].x - s[i].x }

// lowest returns the first of the lowest steps.
func (s skyline) lowest() int {
	at, least := 0, s[0].y
	for i := 1; i < len(s)-1; i++ {
		if s[i].y < least {
			at, least = i, s[i].y
		}
	}
	return at
}

// walls returns how high the skyline stands over step i on its left and right; noCap at a selvage.
func (s skyline) walls(i int) (left, right int64) {
	left, right = noCap, noCap
	if i > 0 {
		left = s[i-1].y - s[i].y
	}
	if i+2 < len(s) {
		right = s[i+1].y - s[i].y
	}
	return left, right
}

// put lays w from x on up to top on step i, which it must not leave.
func (s *skyline) put(i int, x, w, top int64) {
	t := *s
	atLeft, atRight := x == t[i].x, x+w == t[i+1].x
	switch {
	case atLeft && atRight:
		s.raise(i, top)
	case atLeft && i > 0 && t[i-1].y == top:
		t[i].x += w
	case atRight && t[i+1].y == top:
		t[i+1].x = x
	case atLeft:
		*s = slices.Insert(t, i, step{x, top})
		(*s)[i+1].x = x + w
	case atRight:
		*s = slices.Insert(t, i+1, step{x, top})
	default:
		*s = slices.Insert(t, i+1, step{x, top}, step{x + w, t[i].y})
	}
}

// raise lifts the whole of step i and joins it with neighbours as high as it is then.
func (s *skyline) raise(i int, top int64) {
	t := *s
	t[i].y = top
	from, to := i+1, i+1 // what stays begins at from, and comes to lie at to
	if t[from].y == top {
		from++
	}
	if i > 0 && t[i-1].y == top {
		to--
	}
	if from > to {
		*s = t[:to+copy(t[to:], t[from:])]
	}
}

package lay

import (
	"slices"
)

// change returns the stacks with one change, or nil if the change drawn is not possible.
func (p *planner) change(stacks []stack) ([]stack, error) {
	switch roll := p.rng.IntN(100); {
	case roll < 6:
		return p.rebuild(stacks)
	case roll < 20:
		return p.transfer(stacks, false)
	case roll < 34:
		return p.transfer(stacks, true)
	case roll < 55:
		return p.shift(stacks, false)
	case roll < 80:
		return p.shift(stacks, true)
	case roll < 86:
		return p.join(stacks)
	case roll < 90:
		return p.part(stacks)
	case roll < 94:
		return p.splitPlies(stacks)
	case roll < 97:
		return p.fold(stacks)
	default:
		return p.reclass(stacks)
	}
}

// rebuild throws some stacks away and builds what they cut anew.
func (p *planner) rebuild(stacks []stack) ([]stack, error) {
	n := min(len(stacks), 1+p.rng.IntN(3))
	kept := slices.Clone(stacks)
	for range n {
		at := p.rng.IntN(len(kept))
		kept = slices.Delete(kept, at, at+1)
	}
	return p.build(kept, 0.1+0.5*p.rng.Float64())
}

// pair draws two different stacks with the same plies.
func (p *planner) pair(stacks []stack) (a, b int, ok bool) {
	if len(stacks) < 2 {
		return 0, 0, false
	}
	a = p.rng.IntN(len(stacks))
	first := p.rng.IntN(len(stacks))
	for i := range stacks {
		b = (first + i) % len(stacks)
		if b != a && stacks[b].plies == stacks[a].plies {
			return a, b, true
		}
	}
	return 0, 0, false
}

// drawn returns a garment of a ratio.
func (p *planner) drawn(ratio []int) int {
	at := p.rng.IntN(sum(ratio))
	for g, n := range ratio {
		if at < n {
			return g
		}
		at -= n
	}
	return -1
}

// transfer moves a garment from one stack to another of the same plies, or swaps two.
func (p *planner) transfer(stacks []stack, swap bool) ([]stack, error) {
	a, b, ok := p.pair(stacks)
	if !ok {
		return nil, nil
	}
	from, to := slices.Clone(stacks[a].ratio), slices.Clone(stacks[b].ratio)
	g := p.drawn(from)
	if swap {
		h := p.drawn(to)
		if g == h {
			return nil, nil
		}
		to[h]--
		from[h]++
	}
	from[g]--
	to[g]++
	return p.replace(stacks, []int{a, b}, []shape{{stacks[a].class, from, stacks[a].plies}, {stacks[b].class, to, stacks[b].plies}})
}

// maxShift is how many stacks one shift changes at most.
const maxShift = 4

// shift takes a garment out of a stack and puts it into others whose plies add up to the same,
// out of which it may be taken in turn; or it changes places there with another garment.
func (p *planner) shift(stacks []stack, swap bool) ([]stack, error) {
	if len(stacks) < 2 {
		return nil, nil
	}
	a := p.rng.IntN(len(stacks))
	g := p.drawn(stacks[a].ratio)
	at, by := []int{a}, []int{-1}
	need := stacks[a].plies
	for need != 0 && len(at) < maxShift {
		b := p.rng.IntN(len(stacks))
		// Something that ends the shift is looked for first.
		for i := range stacks {
			c := (b + i) % len(stacks)
			if slices.Contains(at, c) {
				continue
			}
			if stacks[c].plies == need || stacks[c].plies == -need && stacks[c].ratio[g] > 0 {
				b = c
				break
			}
		}
		if slices.Contains(at, b) || need < 0 && stacks[b].ratio[g] == 0 {
			return nil, nil
		}
		sign := 1
		if need < 0 {
			sign = -1
		}
		at, by = append(at, b), append(by, sign)
		need -= sign * stacks[b].plies
	}
	if need != 0 {
		return nil, nil
	}
	h := -1
	if swap {
		if h = p.partner(stacks, at, by, g); h < 0 {
			return nil, nil
		}
	}
	shapes := make([]shape, len(at))
	for i, k := range at {
		ratio := slices.Clone(stacks[k].ratio)
		ratio[g] += by[i]
		if h >= 0 {
			ratio[h] -= by[i]
		}
		shapes[i] = shape{stacks[k].class, ratio, stacks[k].plies}
	}
	return p.replace(stacks, at, shapes)
}

// partner draws another garment that can be shifted the opposite way; -1 if there is none.
func (p *planner) partner(stacks []stack, at, by []int, g int) int {
	kinds := len(stacks[at[0]].ratio)
	first := p.rng.IntN(kinds)
	for i := range kinds {
		h := (first + i) % kinds
		able := h != g
		for j, k := range at {
			able = able && (by[j] < 0 || stacks[k].ratio[h] > 0)
		}
		if able {
			return h
		}
	}
	return -1
}

// shape is a stack still to be laid; one without garments is none.
type shape struct {
	class int
	ratio []int
	plies int
}

// replace returns the stacks with some of them replaced; nil if one does not fit.
func (p *planner) replace(stacks []stack, gone []int, shapes []shape) ([]stack, error) {
	var fresh []stack
	for _, sh := range shapes {
		if sum(sh.ratio) == 0 || sh.plies == 0 {
			continue
		}
		s, err := p.stack(sh.class, sh.ratio, sh.plies)
		if s == nil || err != nil {
			return nil, err
		}
		fresh = append(fresh, *s)
	}
	out := make([]stack, 0, len(stacks)+1)
	for k := range stacks {
		if !slices.Contains(gone, k) {
			out = append(out, stacks[k])
		}
	}
	return append(out, fresh...), nil
}

// join lays two stacks of the same plies as one, or two of the same ratio as one thicker.
func (p *planner) join(stacks []stack) ([]stack, error) {
	if len(stacks) < 2 {
		return nil, nil
	}
	a := p.rng.IntN(len(stacks))
	b := (a + 1 + p.rng.IntN(len(stacks)-1)) % len(stacks)
	x, y := &stacks[a], &stacks[b]
	if x.class == y.class && slices.Equal(x.ratio, y.ratio) {
		return p.replace(stacks, []int{a, b}, []shape{{x.class, x.ratio, x.plies + y.plies}})
	}
	a, b, ok := p.pair(stacks)
	if !ok {
		return nil, nil
	}
	both := slices.Clone(stacks[a].ratio)
	for g, n := range stacks[b].ratio {
		both[g] += n
	}
	return p.replace(stacks, []int{a, b}, []shape{{stacks[a].class, both, stacks[a].plies}})
}

// part lays a stack as two of the same plies.
func (p *planner) part(stacks []stack) ([]stack, error) {
	a := p.rng.IntN(len(stacks))
	s := &stacks[a]
	one, two := make([]int, len(s.ratio)), make([]int, len(s.ratio))
	for g, n := range s.ratio {
		for range n {
			if p.rng.IntN(2) == 0 {
				one[g]++
			} else {
				two[g]++
			}
		}
	}
	if sum(one) == 0 || sum(two) == 0 {
		return nil, nil
	}
	return p.replace(stacks, []int{a}, []shape{{s.class, one, s.plies}, {s.class, two, s.plies}})
}

// splitPlies lays a stack as two of the same ratio, and moves a garment between them so that
// something new comes of it.
func (p *planner) splitPlies(stacks []stack) ([]stack, error) {
	a := p.rng.IntN(len(stacks))
	s := &stacks[a]
	if s.plies < 2 {
		return nil, nil
	}
	first := 1 + p.rng.IntN(s.plies-1)
	shapes := []shape{{s.class, s.ratio, first}, {s.class, s.ratio, s.plies - first}}
	// Another stack that has as many plies as one of the parts may take it in.
	for b := range stacks {
		if b == a {
			continue
		}
		for i := range shapes {
			if stacks[b].plies == shapes[i].plies {
				both := slices.Clone(s.ratio)
				for g, n := range stacks[b].ratio {
					both[g] += n
				}
				shapes[i] = shape{stacks[b].class, both, stacks[b].plies}
				return p.replace(stacks, []int{a, b}, shapes)
			}
		}
	}
	return p.replace(stacks, []int{a}, shapes)
}

// fold halves a marker and doubles its plies, or the other way round.
func (p *planner) fold(stacks []stack) ([]stack, error) {
	a := p.rng.IntN(len(stacks))
	s := &stacks[a]
	by := 2 + p.rng.IntN(2)
	even := true
	for _, n := range s.ratio {
		even = even && n%by == 0
	}
	ratio := slices.Clone(s.ratio)
	if even {
		for g := range ratio {
			ratio[g] /= by
		}
		return p.replace(stacks, []int{a}, []shape{{s.class, ratio, s.plies * by}})
	}
	if s.plies%by != 0 {
		return nil, nil
	}
	for g := range ratio {
		ratio[g] *= by
	}
	return p.replace(stacks, []int{a}, []shape{{s.class, ratio, s.plies / by}})
}

// reclass lays a stack on another width.
func (p *planner) reclass(stacks []stack) ([]stack, error) {
	if len(p.layer.classes) < 2 {
		return p.rebuild(stacks)
	}
	a := p.rng.IntN(len(stacks))
	c := p.rng.IntN(len(p.layer.classes))
	if c == stacks[a].class {
		return nil, nil
	}
	return p.replace(stacks, []int{a}, []shape{{c, stacks[a].ratio, stacks[a].plies}})
}

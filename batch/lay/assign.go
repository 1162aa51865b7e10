package lay

import (
	"cmp"
	"slices"

	"yardwright/batch/length"
)

// stack is a lay being planned: a ratio on a class in so many plies.
type stack struct {
	class int
	ratio []int
	plies int
	ply   *laid
}

// pin is a ply that lies at a fixed place on a bolt, over its faults.
type pin struct {
	stack, bolt int
	from        length.Length
	ply         *laid
}

// shelf is the cloth there is, prepared for handing it out again and again.
type shelf struct {
	problem *Problem
	bolts   []shelfBolt
	// orders in which bolts are tried.
	orders [][]int
	// mayCover: as far as the lengths tell, the bolts could give all that is wanted.
	mayCover bool
}

type shelfBolt struct {
	free []stretch
	// at is the end of the last ply in each free stretch, used that of the last one of all.
	at   []length.Length
	used length.Length
}

func newShelf(p *Problem) *shelf {
	s := &shelf{problem: p, bolts: make([]shelfBolt, len(p.Bolts))}
	all := make([]int, 0, len(p.Bolts))
	for b := range p.Bolts {
		s.bolts[b].free = p.Bolts[b].stretches()
		s.bolts[b].at = make([]length.Length, len(s.bolts[b].free))
		if len(s.bolts[b].free) > 0 {
			all = append(all, b)
		}
	}
	shortest := slices.Clone(all)
	slices.SortStableFunc(shortest, func(x, y int) int { return cmp.Compare(p.Bolts[x].Length, p.Bolts[y].Length) })
	longest := slices.Clone(shortest)
	slices.Reverse(longest)
	cheapest := slices.Clone(shortest)
	slices.SortStableFunc(cheapest, func(x, y int) int {
		return cmp.Compare(p.Bolts[x].PricePerMetre, p.Bolts[y].PricePerMetre)
	})
	narrowest := slices.Clone(shortest)
	slices.SortStableFunc(narrowest, func(x, y int) int { return cmp.Compare(p.Bolts[x].Width, p.Bolts[y].Width) })
	for _, order := range [][]int{shortest, longest, cheapest, narrowest} {
		if !slices.ContainsFunc(s.orders, func(o []int) bool { return slices.Equal(o, order) }) {
			s.orders = append(s.orders, order)
		}
	}
	return s
}

// handOut is how plies are given to bolts.
type handOut struct {
	// order in which the stacks got their cloth: on each bolt their plies follow it.
	order []int
	// draws by stack.
	draws [][]Draw
	// used by bolt: where its last ply ends.
	used []length.Length
	// bought is the length of the piece to buy.
	bought length.Length
	// short is how many plies of each stack found no cloth.
	short []int
	// cloth is the money for it, charge what buying must save; see Problem.charge.
	cloth, charge Money
	// missing counts the garments of the plies that found no cloth.
	missing int
}

// try hands the plies out: stacks in one order, bolts in another. What finds no place on a
// bolt is bought, or is missing.
func (s *shelf) try(stacks []stack, stackOrder, boltOrder []int, pins []pin) handOut {
	p := s.problem
	out := handOut{order: slices.Clone(stackOrder), draws: make([][]Draw, len(stacks)), used: make([]length.Length, len(p.Bolts)), short: make([]int, len(stacks))}
	bolts := s.bolts
	for b := range bolts {
		bolts[b].used = 0
		for i, f := range bolts[b].free {
			bolts[b].at[i] = f.from
		}
	}
	pinned := make([]int, len(stacks))
	if len(pins) > 0 {
		bolts = slices.Clone(s.bolts)
	}
	for _, pn := range pins {
		bolts[pn.bolt] = bolts[pn.bolt].without(pn.from, pn.from+pn.ply.plyLength)
		pinned[pn.stack]++
		out.draws[pn.stack] = append(out.draws[pn.stack], Draw{pn.bolt, 1, pn.from, pn.ply.plyLength})
	}
	bought := length.Length(0)
	for _, k := range stackOrder {
		st := &stacks[k]
		left := st.plies - pinned[k]
		for _, b := range boltOrder {
			if left == 0 {
				break
			}
			if p.Bolts[b].Width >= s.widthOf(st) && st.ply.takes(&p.Bolts[b]) {
				left -= bolts[b].give(&out.draws[k], b, st.ply, left, s.repeat(st))
			}
		}
		if left > 0 && p.Rules.BuyWidth >= s.widthOf(st) && st.ply.lot == nil {
			from := bought.RoundTo(s.repeat(st), length.Up)
			pitch := st.ply.plyLength.RoundTo(s.repeat(st), length.Up)
			out.draws[k] = append(out.draws[k], Draw{-1, left, from, pitch})
			bought = from + pitch*length.Length(left-1) + st.ply.plyLength
			left = 0
		}
		out.short[k] = left
		for _, n := range st.ratio {
			out.missing += n * left
		}
	}
	out.bought = bought
	for b := range bolts {
		out.used[b] = bolts[b].used
	}
	out.cloth = p.clothCost(out.used, bought)
	if bought > 0 {
		out.charge = s.charge(out.cloth)
	}
	return out
}

// widthOf returns the usable width that a stack needs.
func (s *shelf) widthOf(st *stack) length.Length {
	if st.ply.way == FoldedLengthwise {
		return 2 * st.ply.instance.Width
	}
	return st.ply.instance.Width
}

// repeat returns the step at which plies of a stack may begin; zero for any place.
func (s *shelf) repeat(st *stack) length.Length {
	if st.ply.matched {
		return s.problem.Rules.Repeat.Length
	}
	return 0
}

// give lays up to n plies into the first places where they fit and returns how many.
func (b *shelfBolt) give(draws *[]Draw, bolt int, ply *laid, n int, repeat length.Length) int {
	given := 0
	pitch := ply.plyLength.RoundTo(repeat, length.Up)
	for i, f := range b.free {
		if given == n {
			break
		}
		from := b.at[i].RoundTo(repeat, length.Up)
		room := f.to - from - ply.plyLength
		if room < 0 {
			continue
		}
		here := min(n-given, 1+int(room/pitch))
		*draws = append(*draws, Draw{bolt, here, from, pitch})
		b.at[i] = from + pitch*length.Length(here-1) + ply.plyLength
		b.used = max(b.used, b.at[i])
		given += here
	}
	return given
}

// without returns the bolt with a part taken out, faults in it included.
func (b shelfBolt) without(from, to length.Length) shelfBolt {
	out := shelfBolt{used: max(b.used, to)}
	for _, f := range b.free {
		for _, part := range []stretch{{f.from, min(f.to, from)}, {max(f.from, to), f.to}} {
			if part.from < part.to {
				out.free = append(out.free, part)
				out.at = append(out.at, part.from)
			}
		}
	}
	return out
}

// clothCost values what is taken: each bolt's length used, its end if that is too short to
// keep, and the piece bought, rounded up to the shop's step, less what its rest is worth.
func (p *Problem) clothCost(used []length.Length, bought length.Length) Money {
	cost := Money(0)
	for b, l := range used {
		if l > 0 {
			_, c := p.boltCost(b, l)
			cost += c
		}
	}
	if bought > 0 {
		purchase := p.purchase(bought)
		cost += purchase.Cost - purchase.RestWorth
	}
	return cost
}

// boltCost returns what is left of a bolt and what its use costs.
func (p *Problem) boltCost(b int, used length.Length) (left length.Length, cost Money) {
	bolt := &p.Bolts[b]
	left = bolt.Length - used
	paid := used
	if !p.keeps(left) {
		paid = bolt.Length
	}
	return left, priced(paid, bolt.PricePerMetre)
}

// keeps tells whether an end is worth keeping.
func (p *Problem) keeps(left length.Length) bool {
	return left > 0 && left >= p.Rules.KeepLength
}

func (p *Problem) purchase(need length.Length) Purchase {
	buy := need.RoundTo(p.Rules.BuyStep, length.Up)
	out := Purchase{Need: need, Buy: buy, Cost: priced(buy, p.Rules.BuyPricePerMetre)}
	if rest := buy - need; p.keeps(rest) {
		out.RestWorth = percentOf(priced(rest, p.Rules.BuyPricePerMetre), p.Rules.RemnantWorth)
	}
	return out
}

// taken is the length of a purchase that a plan uses up: all of it, unless its rest is kept.
func (b *Purchase) taken(p *Problem) length.Length {
	if p.keeps(b.Buy - b.Need) {
		return b.Need
	}
	return b.Buy
}

// percentOf is so many hundredths of a percent of an amount, rounded down.
func percentOf(m Money, hundredths int) Money {
	out, err := length.Length(m).Scale(int64(hundredths), 10_000, length.Down)
	if err != nil {
		panic("lay: a sum passes the limits that Check allows: " + err.Error())
	}
	return Money(out)
}

// priced returns the price of a length, rounded once to the millionth.
func priced(l length.Length, perMetre Money) Money {
	return Money(scale(int64(perMetre), int64(l), int64(length.Metre)))
}

// scale returns a × b / c, rounded to nearest. Check keeps what is scaled within an int64.
func scale(a, b, c int64) int64 {
	out, err := length.Length(a).Scale(b, c, length.Nearest)
	if err != nil {
		panic("lay: a sum passes the limits that Check allows: " + err.Error())
	}
	return int64(out)
}

// hand finds a cheap way of giving the plies to bolts.
func (s *shelf) hand(stacks []stack) handOut {
	order := longestFirst(stacks)
	best := handOut{}
	for i, bolts := range s.orders {
		out := s.try(stacks, order, bolts, nil)
		if i == 0 || out.better(&best) {
			best = out
		}
	}
	return best
}

func (h *handOut) better(other *handOut) bool {
	if h.missing != other.missing {
		return h.missing < other.missing
	}
	return h.cloth+h.charge < other.cloth+other.charge
}

// longestFirst orders stacks by what they need: the widest class, then the longest ply first.
func longestFirst(stacks []stack) []int {
	order := make([]int, len(stacks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		a, b := &stacks[x], &stacks[y]
		if a.class != b.class {
			return cmp.Compare(a.class, b.class)
		}
		return cmp.Compare(b.ply.plyLength, a.ply.plyLength)
	})
	return order
}

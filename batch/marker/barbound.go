package marker

import "yardwright/batch/internal/lp"

// The bar relaxation: at every place along the strip the pieces there form a pattern of widths
// that fits side by side. The least total length of patterns that together hold every piece is
// a linear programme, solved here by column generation (Gilmore and Gomory 1961,
// doi:10.1287/opre.9.6.849; as a bound for strips known as the bar relaxation, Scheithauer 1999, from memory). It is at least as strong as any one dual
// feasible function.
//
// Floating point is used only to find good prices of the pieces. From whole-number prices the
// bound follows by an exact knapsack: no pattern is worth more than the knapsack's best, so the
// worth of all pieces over that best is a length that no marker can beat, whatever rounding did.

// bars is the programme: a row for each kind, whose copies' lengths must add up; a column for
// each pattern used, whose cost is a unit of the strip's length.
type bars struct {
	r      *relaxation
	items  []barItem
	step   int64     // all widths are multiples of it
	cells  int       // the width of the strip in steps
	best   []int64   // by cells: the most that a pattern of this width is worth
	picked [][]int16 // by item and cells: copies of the item in that pattern
	scale  float64   // of whole-number prices
	sums   int       // about how many operations the knapsacks took
	// programme has a row for each kind, in copies times longest, the greatest length of the kind, so that
	// numbers stay small.
	programme *lp.Simplex
	longest   []float64
}

// barItem is an option of a kind.
type barItem struct {
	kind, cells, most int // most copies side by side
	l                 int64
	price             int64 // of a unit of length
}

const (
	// Beyond these the relaxation would take too long: a few tenths of a second.
	maxBarWork  = 60_000_000
	maxBarKinds = 250
	// barSlack is the share of a pattern's worth by which prices may be off the best.
	barSlack = 1e-7
)

// byBars returns the bound of the bar relaxation, in the model, as far as it is found with so
// much work; something up to the known bound if it is not better.
func (r *relaxation) byBars(known int64, most int) int64 {
	b := newBars(r, most)
	if b == nil {
		return 0
	}
	found := int64(0)
	for b.work() < most {
		worth := b.knapsack()
		found = max(found, b.bound())
		if float64(worth) <= b.scale*(1+barSlack) {
			break
		}
		before := b.programme.Pivots()
		b.programme.Add(b.pattern())
		if !b.programme.Solve() || b.programme.Pivots() == before || b.cannotExceed(known) {
			break
		}
	}
	return found
}

// work is about how many operations were done.
func (b *bars) work() int {
	kinds := len(b.longest)
	return b.sums + 3*b.programme.Pivots()*kinds*kinds
}

// cannotExceed tells whether even the best prices would prove no more than the known bound: where
// no faults add to it, the programme's present length is above all that it can prove.
func (b *bars) cannotExceed(known int64) bool {
	return len(b.r.slabs) == 0 && b.programme.Objective() < float64(known)
}

// newBars sets up the programme; nil if it cannot be solved, or not with so much work.
func newBars(r *relaxation, most int) *bars {
	if r.shaped || len(r.m.kinds) > maxBarKinds {
		return nil
	}
	b := &bars{r: r, step: r.width}
	for _, w := range r.widths {
		b.step = gcd(b.step, w)
	}
	// In less than a few rounds by kind it hardly ever becomes good.
	if cells := r.width / b.step; cells >= maxSums || int(cells)*len(r.m.options)*len(r.m.kinds) > most {
		return nil
	}
	b.cells = int(r.width / b.step)
	b.best = make([]int64, b.cells+1)
	b.scale = min(1e9, float64(int64(1)<<60)/float64(r.stack))
	for i, k := range r.m.kinds {
		longest := int64(0)
		for _, o := range k.options {
			longest = max(longest, o.l)
			item := barItem{kind: i, cells: int(o.w / b.step), l: o.l}
			item.most = min(k.copies, b.cells/item.cells)
			if o.onFold {
				item.most = 1
			}
			if last := len(b.items) - 1; last < 0 || b.items[last] != item {
				b.items = append(b.items, item)
			}
		}
		b.longest = append(b.longest, float64(longest))
	}
	for range b.items {
		b.picked = append(b.picked, make([]int16, b.cells+1))
	}
	b.begin()
	return b
}

// begin takes as many copies as fit side by side of each kind as the first patterns. A row may have too much.
func (b *bars) begin() {
	need, basis := make([]float64, len(b.longest)), make([]lp.Column, len(b.longest))
	for _, item := range b.items {
		k := item.kind
		need[k] = float64(float64(b.r.m.kinds[k].copies) * b.longest[k])
		if gives := b.gives(&item, item.most); basis[k].Row == nil || gives > basis[k].Coef[0] {
			basis[k] = lp.Unit(k, gives, 1)
		}
	}
	b.programme = lp.New(need, basis)
	for k := range b.longest {
		b.programme.Add(lp.Unit(k, -1, 0))
	}
}

// gives is what so many copies of an item side by side give the row of its kind by unit of the strip's length.
func (b *bars) gives(item *barItem, copies int) float64 {
	return float64(copies) * b.longest[item.kind] / float64(item.l)
}

// knapsack finds the most that a pattern is worth, exactly, for the duals rounded down.
func (b *bars) knapsack() int64 {
	clear(b.best)
	for i := range b.items {
		item := &b.items[i]
		price := b.programme.Dual(item.kind) * b.longest[item.kind]
		item.price = max(int64(float64(price*b.scale)/float64(item.l)), 0)
		picked := b.picked[i]
		clear(picked)
		if item.price == 0 {
			continue
		}
		for c := b.cells; c >= item.cells; c-- {
			most, times := b.best[c], 0
			for n := 1; n <= item.most && n*item.cells <= c; n++ {
				if v := b.best[c-n*item.cells] + int64(n)*item.price; v > most {
					most, times = v, n
				}
			}
			b.best[c], picked[c] = most, int16(times)
		}
		b.sums += b.cells * item.most
	}
	return b.best[b.cells]
}

// bound returns the bound that the last knapsack proves.
func (b *bars) bound() int64 {
	total := int64(0)
	for i := 0; i < len(b.items); {
		kind, least := b.items[i].kind, int64(noCap)
		for ; i < len(b.items) && b.items[i].kind == kind; i++ {
			least = min(least, b.items[i].price*b.items[i].l)
		}
		total += least * int64(b.r.m.kinds[kind].copies)
	}
	return b.r.lengthFor(total, func(width int64) int64 { return b.best[width/b.step] })
}

// pattern returns the pattern that the last knapsack found as a column.
func (b *bars) pattern() lp.Column {
	column, c := lp.Column{Cost: 1}, b.cells
	for i := len(b.items) - 1; i >= 0; i-- {
		item, n := &b.items[i], int(b.picked[i][c])
		if n == 0 {
			continue
		}
		c -= n * item.cells
		if last := len(column.Row) - 1; last >= 0 && column.Row[last] == int32(item.kind) {
			column.Coef[last] += b.gives(item, n)
			continue
		}
		column.Row, column.Coef = append(column.Row, int32(item.kind)), append(column.Coef, b.gives(item, n))
	}
	return column
}

package marker

// The bar relaxation: at every place along the strip the pieces there form a pattern of widths
// that fits side by side. The least total length of patterns that together hold every piece is
// a linear programme, solved here by column generation (Gilmore and Gomory 1961; as a bound for
// strips known as Scheithauer's bar relaxation). It is at least as strong as any one dual
// feasible function.
//
// Floating point is used only to find good prices of the pieces. From whole-number prices the
// bound follows by an exact knapsack: no pattern is worth more than the knapsack's best, so the
// worth of all pieces over that best is a length that no marker can beat, whatever rounding did.

// bars is the programme: a row for each kind, whose copies' lengths must add up; a column for
// each pattern used, whose cost is a unit of the strip's length.
type bars struct {
	r      *relaxation
	copies []float64 // by kind
	items  []barItem
	step   int64     // all widths are multiples of it
	cells  int       // the width of the strip in steps
	best   []int64   // by cells: the most that a pattern of this width is worth
	picked [][]int16 // by item and cells: copies of the item in that pattern
	scale  float64   // of whole-number prices
	work   int       // about how many operations were done

	// State of the simplex method, by column of the basis: a row of the basis's inverse, the
	// column's cost and how much of it is used.
	inverse [][]float64
	cost    []float64
	use     []float64
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
	for b.work < most {
		prices := b.prices()
		worth := b.knapsack(prices)
		found = max(found, b.bound())
		column, cost, ok := b.entering(prices, worth)
		if !ok || !b.pivot(column, cost) || b.hopeless(known) {
			break
		}
	}
	return found
}

// hopeless tells whether even the best prices would prove no more than the known bound: where
// no faults add to it, the programme's present length is above all that it can prove.
func (b *bars) hopeless(known int64) bool {
	if len(b.r.slabs) > 0 {
		return false
	}
	length := 0.0
	for i, u := range b.use {
		length += float64(u * b.cost[i])
	}
	return length < float64(known)
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
		b.copies = append(b.copies, float64(k.copies))
		for _, o := range k.options {
			item := barItem{kind: i, cells: int(o.w / b.step), l: o.l}
			item.most = min(k.copies, b.cells/item.cells)
			if o.onFold {
				item.most = 1
			}
			if last := len(b.items) - 1; last < 0 || b.items[last] != item {
				b.items = append(b.items, item)
			}
		}
	}
	for range b.items {
		b.picked = append(b.picked, make([]int16, b.cells+1))
	}
	b.begin()
	return b
}

// begin takes as many copies as fit side by side of each kind as the first patterns.
func (b *bars) begin() {
	n := len(b.copies)
	b.inverse, b.cost, b.use = make([][]float64, n), make([]float64, n), make([]float64, n)
	for _, item := range b.items {
		takes := float64(item.most) / float64(item.l)
		if b.inverse[item.kind] == nil {
			b.inverse[item.kind] = make([]float64, n)
		} else if 1/takes >= b.inverse[item.kind][item.kind] {
			continue
		}
		b.inverse[item.kind][item.kind] = 1 / takes
		b.cost[item.kind] = 1
		b.use[item.kind] = float64(b.copies[item.kind] / takes)
	}
}

// prices returns what a copy of each kind is worth to the present patterns.
func (b *bars) prices() []float64 {
	prices := make([]float64, len(b.copies))
	for i, row := range b.inverse {
		for k, v := range row {
			prices[k] += float64(b.cost[i] * v)
		}
	}
	b.work += len(prices) * len(prices)
	return prices
}

// knapsack finds the most that a pattern is worth, exactly, for the prices rounded down.
func (b *bars) knapsack(prices []float64) int64 {
	clear(b.best)
	for i := range b.items {
		item := &b.items[i]
		item.price = max(int64(float64(prices[item.kind]*b.scale)/float64(item.l)), 0)
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
		b.work += b.cells * item.most
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

// entering returns a column that makes the programme cheaper: a pattern worth more than it
// costs, or leaving out what a kind has too much of.
func (b *bars) entering(prices []float64, worth int64) (column []float64, cost float64, ok bool) {
	column = make([]float64, len(prices))
	least, at := -barSlack, -1
	for k, p := range prices {
		if p < least {
			least, at = p, k
		}
	}
	if at >= 0 {
		column[at] = -1
		return column, 0, true
	}
	if float64(worth) <= b.scale*(1+barSlack) {
		return nil, 0, false
	}
	c := b.cells
	for i := len(b.items) - 1; i >= 0; i-- {
		item, n := &b.items[i], int(b.picked[i][c])
		column[item.kind] += float64(n) / float64(item.l)
		c -= n * item.cells
	}
	return column, 1, true
}

// pivot brings a column into the basis; it returns false if none can leave.
func (b *bars) pivot(column []float64, cost float64) bool {
	n := len(column)
	b.work += 2 * n * n
	direction := make([]float64, n)
	for i, row := range b.inverse {
		for k, v := range row {
			direction[i] += float64(v * column[k])
		}
	}
	out := -1
	for i, d := range direction {
		if d > 1e-12 && (out < 0 || float64(b.use[i]*direction[out]) < float64(b.use[out]*d)) {
			out = i
		}
	}
	if out < 0 {
		return false
	}
	share := b.use[out] / direction[out]
	for k := range b.inverse[out] {
		b.inverse[out][k] /= direction[out]
	}
	for i, d := range direction {
		if i == out || d == 0 {
			continue
		}
		b.use[i] = max(b.use[i]-float64(d*share), 0)
		for k, v := range b.inverse[out] {
			b.inverse[i][k] -= float64(d * v)
		}
	}
	b.use[out], b.cost[out] = share, cost
	return true
}

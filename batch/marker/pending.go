package marker

// pending is what is still to lay of a plan, in the order of its sequence: a row for each option
// of each entry, those of an entry side by side. Rows are columns of numbers, since engines
// spend their time going over them.
type pending struct {
	m           *model
	first, last []int32 // options of a kind, for the ways up that are set
	rows        int
	w, l        []int64
	of          []rowOf
	left        []int32 // copies, by entry
	reserved    int     // the first row of the reserve
}

type rowOf struct{ entry, option int32 }

// newPending makes room; begin fills it.
func newPending(m *model) pending {
	return pending{m: m, first: make([]int32, len(m.kinds)), last: make([]int32, len(m.kinds))}
}

// begin takes up a plan.
func (q *pending) begin(p plan) {
	q.setWays(p.ways)
	q.w, q.l, q.of, q.left = q.w[:0], q.l[:0], q.of[:0], q.left[:0]
	for i, e := range p.sequence {
		if i == p.reserve {
			q.reserved = len(q.w)
		}
		q.left = append(q.left, e.count)
		from, to := q.first[e.kind], q.last[e.kind]
		if e.only >= 0 && from+e.only < to {
			from += e.only
			to = from + 1
		}
		for o := from; o < to; o++ {
			q.w, q.l = append(q.w, q.m.options[o].w), append(q.l, q.m.options[o].l)
			q.of = append(q.of, rowOf{int32(i), o})
		}
	}
	q.rows = len(q.w)
	if p.reserve >= len(p.sequence) {
		q.reserved = q.rows
	}
}

// setWays chooses the way up of each nap group that has a choice.
func (q *pending) setWays(ways []int8) {
	if len(ways) == 0 && q.last[0] > 0 {
		return // there is nothing to choose, and all was set before
	}
	for i, k := range q.m.kinds {
		q.first[i], q.last[i] = k.first, k.last
		if k.group < 0 {
			continue
		}
		for q.first[i] < k.last && q.m.options[q.first[i]].way != ways[k.group] {
			q.first[i]++
		}
		for q.last[i] = q.first[i]; q.last[i] < k.last && q.m.options[q.last[i]].way == ways[k.group]; {
			q.last[i]++
		}
	}
}

// take notes that a copy of the entry of a row is laid.
func (q *pending) take(row int) {
	e := q.of[row].entry
	if q.left[e]--; q.left[e] > 0 {
		return
	}
	from, to := row, row+1
	for from > 0 && q.of[from-1].entry == e {
		from--
	}
	for to < q.rows && q.of[to].entry == e {
		to++
	}
	copy(q.w[from:q.rows], q.w[to:q.rows])
	copy(q.l[from:q.rows], q.l[to:q.rows])
	copy(q.of[from:q.rows], q.of[to:q.rows])
	if from < q.reserved {
		q.reserved -= to - from
	}
	q.rows -= to - from
}

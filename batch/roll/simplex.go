package roll

import "math"

// simplex solves the linear relaxation of a covering by patterns: the rows are the items
// still needed and the kinds of roll that are limited. It is the revised primal method with
// an explicit inverse. Every product is rounded by itself (float64(a*b)), so that no machine
// fuses it with the sum that follows and all give the same answer.
type simplex struct {
	rows int
	// rhs is what each row asks for.
	rhs []float64
	// columns known so far; the first 2·rows are the unit columns (see unit).
	columns []column
	basis   []int
	inBasis []bool
	inverse []float64
	x, dual []float64
	alpha   []float64
	pivots  int
	stalled int
}

// column is one column of the relaxation: few rows, a coefficient each, a cost.
type column struct {
	row  []int32
	coef []float64
	cost float64
	// pattern is the index into the pool, or -1.
	pattern int
}

const (
	// tolerance for reduced costs (the costs are scaled to about 1).
	reducedTolerance = 1e-8
	pivotTolerance   = 1e-9
	// refreshAfter so many pivots the inverse is built anew, against drift.
	refreshAfter = 150
	// stallAfter so many steps without gain the first improving column is taken (Bland 1977).
	stallAfter = 40
)

// newSimplex starts with the items unmet: the first items rows ask for at least the demand
// (unmet at the given cost each), the rest allow at most the limit.
func newSimplex(demand, limit []float64, unmetCost []float64) *simplex {
	s := &simplex{rows: len(demand) + len(limit)}
	s.rhs = append(append(s.rhs, demand...), limit...)
	for r := range s.rows {
		cost := 0.0
		if r < len(demand) {
			cost = unmetCost[r]
		}
		s.columns = append(s.columns, column{[]int32{int32(r)}, []float64{1}, cost, -1})
	}
	for r := range demand {
		s.columns = append(s.columns, column{[]int32{int32(r)}, []float64{-1}, 0, -1})
	}
	s.inBasis = make([]bool, len(s.columns))
	s.basis = make([]int, s.rows)
	s.inverse = make([]float64, s.rows*s.rows)
	s.x, s.dual = make([]float64, s.rows), make([]float64, s.rows)
	s.alpha = make([]float64, s.rows)
	for r := range s.rows {
		s.basis[r] = r
		s.inBasis[r] = true
		s.inverse[r*s.rows+r] = 1
		s.x[r] = s.rhs[r]
		s.dual[r] = s.columns[r].cost
	}
	return s
}

func (s *simplex) add(c column) {
	s.columns = append(s.columns, c)
	s.inBasis = append(s.inBasis, false)
}

func (s *simplex) objective() float64 {
	sum := 0.0
	for r, c := range s.basis {
		sum += float64(s.columns[c].cost * s.x[r])
	}
	return sum
}

// solve pivots until no known column improves. It returns false if it gave up.
func (s *simplex) solve() bool {
	for steps := 0; steps < 50*s.rows+2_000; steps++ {
		enter, reduced := s.entering()
		if enter < 0 {
			return true
		}
		if !s.pivot(enter, reduced) {
			return false
		}
	}
	return false
}

func (s *simplex) reduced(c *column) float64 {
	d := c.cost
	for j, r := range c.row {
		d -= float64(s.dual[r] * c.coef[j])
	}
	return d
}

func (s *simplex) entering() (enter int, reduced float64) {
	enter, reduced = -1, -reducedTolerance
	for c := range s.columns {
		if s.inBasis[c] {
			continue
		}
		if d := s.reduced(&s.columns[c]); d < reduced {
			enter, reduced = c, d
			if s.stalled > stallAfter {
				return enter, reduced
			}
		}
	}
	return enter, reduced
}

// pivot brings a column into the basis.
func (s *simplex) pivot(enter int, reduced float64) bool {
	col := &s.columns[enter]
	m := s.rows
	for r := range m {
		sum := 0.0
		row := s.inverse[r*m : (r+1)*m]
		for j, i := range col.row {
			sum += float64(row[i] * col.coef[j])
		}
		s.alpha[r] = sum
	}
	leave, step := -1, math.Inf(1)
	for r, a := range s.alpha {
		if a <= pivotTolerance {
			continue
		}
		ratio := s.x[r] / a
		better := ratio < step-1e-12
		tied := !better && ratio <= step+1e-12 && leave >= 0
		if better || (tied && s.prefer(r, leave)) {
			leave, step = r, min(step, ratio)
		}
	}
	if leave < 0 {
		return false
	}
	if step*-reduced > 1e-12 {
		s.stalled = 0
	} else {
		s.stalled++
	}
	s.exchange(leave, enter, max(0, s.x[leave]/s.alpha[leave]), reduced)
	s.pivots++
	if s.pivots%refreshAfter == 0 {
		return s.refresh()
	}
	return true
}

// prefer settles ties of the ratio test: the larger pivot, or the first column when stalled.
func (s *simplex) prefer(r, leave int) bool {
	if s.stalled > stallAfter {
		return s.basis[r] < s.basis[leave]
	}
	return s.alpha[r] > s.alpha[leave]
}

func (s *simplex) exchange(leave, enter int, step, reduced float64) {
	m := s.rows
	pivotRow := s.inverse[leave*m : (leave+1)*m]
	scale := 1 / s.alpha[leave]
	for i, v := range pivotRow {
		if v != 0 {
			s.dual[i] += float64(float64(reduced*scale) * v)
			pivotRow[i] = v * scale
		}
	}
	for r, a := range s.alpha {
		if r == leave || a == 0 {
			continue
		}
		s.x[r] -= float64(step * a)
		if s.x[r] < 0 {
			s.x[r] = 0
		}
		row := s.inverse[r*m : (r+1)*m]
		for i, v := range pivotRow {
			if v != 0 {
				row[i] -= float64(a * v)
			}
		}
	}
	s.x[leave] = step
	s.inBasis[s.basis[leave]] = false
	s.inBasis[enter] = true
	s.basis[leave] = enter
}

// refresh builds the inverse, the values and the duals anew from the basis.
func (s *simplex) refresh() bool {
	m := s.rows
	work := make([]float64, m*m)
	for r, c := range s.basis {
		col := &s.columns[c]
		for j, i := range col.row {
			work[int(i)*m+r] = col.coef[j]
		}
	}
	inverse := make([]float64, m*m)
	for r := range m {
		inverse[r*m+r] = 1
	}
	for c := range m {
		at := c
		for r := c + 1; r < m; r++ {
			if math.Abs(work[r*m+c]) > math.Abs(work[at*m+c]) {
				at = r
			}
		}
		if math.Abs(work[at*m+c]) < pivotTolerance {
			return false
		}
		if at != c {
			swapRows(work, m, at, c)
			swapRows(inverse, m, at, c)
		}
		scale := 1 / work[c*m+c]
		scaleRow(work[c*m:(c+1)*m], scale)
		scaleRow(inverse[c*m:(c+1)*m], scale)
		for r := range m {
			if f := work[r*m+c]; r != c && f != 0 {
				subtractRow(work[r*m:(r+1)*m], work[c*m:(c+1)*m], f)
				subtractRow(inverse[r*m:(r+1)*m], inverse[c*m:(c+1)*m], f)
			}
		}
	}
	s.inverse = inverse
	for r := range m {
		sum := 0.0
		for i, v := range inverse[r*m : (r+1)*m] {
			sum += float64(v * s.rhs[i])
		}
		s.x[r] = max(0, sum)
	}
	clear(s.dual)
	for r, c := range s.basis {
		if cost := s.columns[c].cost; cost != 0 {
			for i, v := range inverse[r*m : (r+1)*m] {
				s.dual[i] += float64(cost * v)
			}
		}
	}
	return true
}

func swapRows(a []float64, m, i, j int) {
	for k := range m {
		a[i*m+k], a[j*m+k] = a[j*m+k], a[i*m+k]
	}
}

func scaleRow(row []float64, f float64) {
	for i, v := range row {
		if v != 0 {
			row[i] = v * f
		}
	}
}

func subtractRow(row, other []float64, f float64) {
	for i, v := range other {
		if v != 0 {
			row[i] -= float64(f * v)
		}
	}
}

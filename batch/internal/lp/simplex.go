// Package lp solves linear programmes by columns: how much of each column is used, so that every row
// gets at least what it needs at the least cost.
//
// It is the revised primal simplex method with an explicit inverse of the basis (Dantzig 1953, "Computational
// algorithm of the revised simplex method", RAND RM-1266; from memory), made for column generation (Gilmore
// and Gomory 1961, doi:10.1287/opre.9.6.849): the programme is solved for the columns known so far, and whoever
// asks adds others that its duals show to be worth more than they cost. What it finds is floating point; a bound
// that must hold is proven from the duals by whoever asks.
package lp

import "math"

// Simplex is a linear programme and the state of the method. Every product is rounded by itself (float64(a*b)),
// so that no machine fuses it with the sum that follows and all give the same answer.
type Simplex struct {
	rows    int
	need    []float64
	columns []Column
	basis   []int
	inBasis []bool
	inverse []float64
	// used is how much of each column of the basis is used, dual the price of each row.
	used, dual []float64
	alpha      []float64
	pivots     int
	stalled    int
}

// Column is what can be used: few rows, what one unit gives each of them, and what it costs. What a row may have
// too much of is a column that gives it −1 and costs nothing.
type Column struct {
	Row  []int32
	Coef []float64
	Cost float64
}

// Unit is a column of one row.
func Unit(row int, coef, cost float64) Column {
	return Column{[]int32{int32(row)}, []float64{coef}, cost}
}

const (
	// tolerance of reduced costs (costs are to be scaled to about 1).
	reducedTolerance = 1e-8
	pivotTolerance   = 1e-9
	// refreshAfter so many pivots the inverse is built anew, against drift.
	refreshAfter = 150
	// stallAfter so many steps without gain the first improving column is taken (Bland 1977,
	// doi:10.1287/moor.2.2.103).
	stallAfter = 40
)

// New begins a programme with what each row needs and a basis: as many columns, which together give every row
// exactly what it needs. They are the first columns; nil if they depend on each other.
func New(need []float64, basis []Column) *Simplex {
	rows := len(need)
	s := &Simplex{
		rows: rows, need: need, columns: basis, basis: make([]int, rows), inBasis: make([]bool, rows),
		used: make([]float64, rows), dual: make([]float64, rows), alpha: make([]float64, rows),
	}
	for r := range rows {
		s.basis[r], s.inBasis[r] = r, true
	}
	if !s.refresh() {
		return nil
	}
	return s
}

// Add puts in a column, not used as yet.
func (s *Simplex) Add(c Column) {
	s.columns = append(s.columns, c)
	s.inBasis = append(s.inBasis, false)
}

// SetCosts changes what the columns cost, by their number.
func (s *Simplex) SetCosts(cost func(column int) float64) {
	for i := range s.columns {
		s.columns[i].Cost = cost(i)
	}
	s.price()
}

// Columns is the number of columns.
func (s *Simplex) Columns() int { return len(s.columns) }

// Pivots is how many exchanges were made.
func (s *Simplex) Pivots() int { return s.pivots }

// Dual is the price of a row: what one unit of it is worth to the columns that are used.
func (s *Simplex) Dual(row int) float64 { return s.dual[row] }

// Used calls yield with each column of the basis and how much of it is used, which may be nothing.
func (s *Simplex) Used(yield func(column int, used float64) bool) {
	for r, c := range s.basis {
		if !yield(c, s.used[r]) {
			return
		}
	}
}

// Objective is what the columns that are used cost.
func (s *Simplex) Objective() float64 {
	sum := 0.0
	for r, c := range s.basis {
		sum += float64(s.columns[c].Cost * s.used[r])
	}
	return sum
}

// Solve pivots until no known column improves. It returns false if it gave up.
func (s *Simplex) Solve() bool {
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

func (s *Simplex) reduced(c *Column) float64 {
	d := c.Cost
	for j, r := range c.Row {
		d -= float64(s.dual[r] * c.Coef[j])
	}
	return d
}

func (s *Simplex) entering() (enter int, reduced float64) {
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
func (s *Simplex) pivot(enter int, reduced float64) bool {
	col := &s.columns[enter]
	m := s.rows
	for r := range m {
		sum := 0.0
		row := s.inverse[r*m : (r+1)*m]
		for j, i := range col.Row {
			sum += float64(row[i] * col.Coef[j])
		}
		s.alpha[r] = sum
	}
	leave, step := -1, math.Inf(1)
	for r, a := range s.alpha {
		if a <= pivotTolerance {
			continue
		}
		ratio := s.used[r] / a
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
	s.exchange(leave, enter, max(0, s.used[leave]/s.alpha[leave]), reduced)
	s.pivots++
	if s.pivots%refreshAfter == 0 {
		return s.refresh()
	}
	return true
}

// prefer settles ties of the ratio test: the larger pivot, or the first column when stalled.
func (s *Simplex) prefer(r, leave int) bool {
	if s.stalled > stallAfter {
		return s.basis[r] < s.basis[leave]
	}
	return s.alpha[r] > s.alpha[leave]
}

func (s *Simplex) exchange(leave, enter int, step, reduced float64) {
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
		s.used[r] -= float64(step * a)
		if s.used[r] < 0 {
			s.used[r] = 0
		}
		row := s.inverse[r*m : (r+1)*m]
		for i, v := range pivotRow {
			if v != 0 {
				row[i] -= float64(a * v)
			}
		}
	}
	s.used[leave] = step
	s.inBasis[s.basis[leave]] = false
	s.inBasis[enter] = true
	s.basis[leave] = enter
}

// refresh builds the inverse, what is used and the duals anew from the basis; false if its columns depend on
// each other.
func (s *Simplex) refresh() bool {
	m := s.rows
	work := make([]float64, m*m)
	for r, c := range s.basis {
		col := &s.columns[c]
		for j, i := range col.Row {
			work[int(i)*m+r] = col.Coef[j]
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
			sum += float64(v * s.need[i])
		}
		s.used[r] = max(0, sum)
	}
	s.price()
	return true
}

// price finds the duals anew.
func (s *Simplex) price() {
	m := s.rows
	clear(s.dual)
	for r, c := range s.basis {
		if cost := s.columns[c].Cost; cost != 0 {
			for i, v := range s.inverse[r*m : (r+1)*m] {
				s.dual[i] += float64(cost * v)
			}
		}
	}
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

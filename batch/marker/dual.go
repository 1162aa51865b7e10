package marker

import "slices"

// function is a dual feasible function of widths; capacity is its value for the whole width.
type function struct {
	of       func(w int64) int64
	capacity int64
	// outlines tells that it is the width itself, so that the areas of shaped pieces count.
	outlines bool
}

func (r *relaxation) area() function {
	return function{of: func(w int64) int64 { return w }, capacity: r.width, outlines: true}
}

// maxEvaluations bounds the work for very many kinds of piece.
const maxEvaluations = 8_000_000

// eachFunction calls try with functions that may give a good bound.
func (r *relaxation) eachFunction(try func(function)) {
	width := r.width
	most := min(maxEvaluations/(3*(len(r.widths)+len(r.several)+r.stretches+1)), 4000)
	for _, p := range spreadOut(r.thresholds(), most) {
		try(function{of: func(w int64) int64 {
			switch {
			case w > width-p:
				return width
			case w >= p:
				return w
			}
			return 0
		}, capacity: width})
	}
	for _, k := range spreadOut(r.divisors(), most) {
		try(function{of: func(w int64) int64 {
			switch {
			case 2*w > width:
				return 2 * (width/k - (width-w)/k)
			case 2*w == width:
				return width / k
			}
			return 2 * (w / k)
		}, capacity: 2 * (width / k)})
	}
	for k := int64(1); k <= int64(min(most, 60)); k++ {
		try(function{of: func(w int64) int64 {
			if (k+1)*w%width == 0 {
				return k * w
			}
			return (k + 1) * w / width * width
		}, capacity: k * width})
	}
}

// spreadOut takes at most n values, evenly over the whole list.
func spreadOut(values []int64, n int) []int64 {
	slices.Sort(values)
	values = slices.Compact(values)
	if len(values) <= n {
		return values
	}
	picked := make([]int64, n)
	for i := range picked {
		picked[i] = values[i*len(values)/n]
	}
	return picked
}

// thresholds are the values at which the threshold function changes for some width.
func (r *relaxation) thresholds() []int64 {
	var all []int64
	for _, w := range r.widths {
		for _, p := range []int64{w, r.width - w + 1} {
			if p > 0 && 2*p <= r.width {
				all = append(all, p)
			}
		}
	}
	return all
}

// divisors are values at which the division function changes for some width.
func (r *relaxation) divisors() []int64 {
	all := []int64{r.width/2 + 1}
	for _, w := range append([]int64{r.width}, r.widths...) {
		for parts := int64(1); parts <= 6; parts++ {
			for _, k := range []int64{w / parts, (r.width-w)/parts + 1} {
				if k > 0 && k <= r.width {
					all = append(all, k)
				}
			}
		}
	}
	return all
}

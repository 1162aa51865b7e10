package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Variance compares one line of a planned and an actual cost sheet. Difference = ByPrice +
// ByUse, to the cent; more than was planned is positive.
type Variance struct {
	Kind  LineKind `json:"kind"`
	Label string   `json:"label"`
	Role  string   `json:"role"`
	// Planned and Actual are the amounts of the two lines; nothing where a sheet has no such line.
	Planned    money.Amount `json:"planned"`
	Actual     money.Amount `json:"actual"`
	Difference money.Amount `json:"difference"`
	// ByPrice is (actual price − planned price) × actual quantity, rounded half up; ByUse is
	// the rest: more or less was used than planned. A line of one sheet only is all use.
	ByPrice money.Amount `json:"by_price"`
	ByUse   money.Amount `json:"by_use"`
}

// Comparison is a planned and an actual cost sheet side by side.
type Comparison struct {
	Lines   []Variance   `json:"lines"`
	Planned money.Amount `json:"planned"`
	Actual  money.Amount `json:"actual"`
	// Difference is Actual − Planned and the sum of the lines' differences.
	Difference money.Amount `json:"difference"`
	ByPrice    money.Amount `json:"by_price"`
	ByUse      money.Amount `json:"by_use"`
}

// VarianceFormula is how a difference is split, as it is shown.
const VarianceFormula = "by price = (actual price − planned price) × actual quantity; by use = the rest"

// lineKey matches lines of two sheets; repeat tells lines of the same name apart.
type lineKey struct {
	kind        LineKind
	label, role string
	repeat      int
}

// Compare sets an actual cost sheet beside the planned one, line by line, matched by kind,
// label and role: planned lines first, in their order, then lines that were not planned.
func Compare(planned, actual Sheet) (Comparison, error) {
	if planned.Inputs.Currency != actual.Inputs.Currency {
		return Comparison{}, &InputError{Field: "currency", Message: fmt.Sprintf(
			"the planned sheet is in %s, the actual one in %s", planned.Inputs.Currency, actual.Inputs.Currency)}
	}
	actualLines := make(map[lineKey]*Line)
	keys := keysOf(actual.Lines)
	for i, key := range keys {
		actualLines[key] = &actual.Lines[i]
	}
	var c calc
	zero := planned.Inputs.Currency.Zero()
	result := Comparison{Planned: planned.Total, Actual: actual.Total, ByPrice: zero, ByUse: zero}
	for i, key := range keysOf(planned.Lines) {
		result.add(&c, variance(&c, &planned.Lines[i], actualLines[key], zero))
		delete(actualLines, key)
	}
	for i, key := range keys {
		if _, unplanned := actualLines[key]; unplanned {
			result.add(&c, variance(&c, nil, &actual.Lines[i], zero))
		}
	}
	result.Difference = c.minus(result.Actual, result.Planned)
	return result, c.err
}

func keysOf(lines []Line) []lineKey {
	seen := make(map[lineKey]int)
	keys := make([]lineKey, len(lines))
	for i, line := range lines {
		key := lineKey{kind: line.Kind, label: line.Label, role: line.Role}
		seen[key]++
		key.repeat = seen[key] - 1
		keys[i] = key
	}
	return keys
}

func (r *Comparison) add(c *calc, v Variance) {
	r.Lines = append(r.Lines, v)
	r.ByPrice = c.plus(r.ByPrice, v.ByPrice)
	r.ByUse = c.plus(r.ByUse, v.ByUse)
}

func variance(c *calc, planned, actual *Line, zero money.Amount) Variance {
	v := Variance{Planned: zero, Actual: zero, ByPrice: zero}
	if planned != nil {
		v.Kind, v.Label, v.Role, v.Planned = planned.Kind, planned.Label, planned.Role, planned.Amount
	}
	if actual != nil {
		v.Kind, v.Label, v.Role, v.Actual = actual.Kind, actual.Label, actual.Role, actual.Amount
	}
	v.Difference = c.minus(v.Actual, v.Planned)
	if planned != nil && actual != nil && planned.Unit == actual.Unit {
		dearer := c.minus(actual.Price, planned.Price)
		if actual.Unit == unitMinutes { // priced by the hour
			dearer = c.over(dearer, sixty)
		}
		v.ByPrice = c.times(dearer, actual.Quantity).Round(money.HalfUp)
	}
	v.ByUse = c.minus(v.Difference, v.ByPrice)
	return v
}

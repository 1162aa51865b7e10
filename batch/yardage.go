package batch

import "yardwright/batch/length"

// AtWidth says how much of a cloth of another full width holds as much as a length of this
// one: the same area, rounded up to the last unit. It is an estimate, as yardage charts are:
// how the pieces really lie is known only from a marker. Both widths must be above zero.
func AtWidth(need, from, to length.Length) (length.Length, error) {
	return need.Scale(int64(from), int64(to), length.Up)
}

// Alternative is how much of the same cloth to buy in another width.
type Alternative struct {
	FullWidth, Length length.Length
}

// usualWidths are the full widths that shops sell cloth in. Common practice, no source.
var usualWidths = []length.Length{36 * length.Inch, 45 * length.Inch, 54 * length.Inch, 60 * length.Inch}

// sameWidth is a difference that makes no other width of it.
const sameWidth = 3 * length.Inch

// alternatives lists the usual widths that are wide enough for every piece.
func (p *planner) alternatives(planned ClothPlan, need length.Length) ([]Alternative, error) {
	var widest length.Length
	for _, g := range planned.Problem.Garments {
		for _, piece := range g.Pieces {
			widest = max(widest, leastAcross(piece))
		}
	}
	var others []Alternative
	for _, width := range usualWidths {
		difference := width - planned.Cloth.FullWidth
		if max(difference, -difference) < sameWidth || width-2*planned.Cloth.Selvage < widest {
			continue
		}
		other, err := AtWidth(need, planned.Cloth.FullWidth, width)
		if err != nil {
			return nil, err
		}
		others = append(others, Alternative{FullWidth: width, Length: other.RoundTo(p.in.Workroom.BuyStep, length.Up)})
	}
	return others, nil
}

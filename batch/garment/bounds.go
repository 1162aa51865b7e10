package garment

import (
	"fmt"
	"strconv"

	"yardwright/batch/length"
)

// The ranges of allowances are bounds of our own. They are wide on purpose: inside of them the
// maker decides, outside of them it is a slip of the hand or of the unit.

// inches is a range of lengths in quarters of an inch.
func inches(leastQuarters, mostQuarters length.Length) length.Between {
	return length.Between{Least: leastQuarters * quarterInch, Most: mostQuarters * quarterInch}
}

// lengthRanges are the ranges of the length allowances that our starters use.
var lengthRanges = map[string]length.Between{
	"seam": inches(0, 12), "hem": inches(0, 48), "casing": inches(0, 48), "turn_under": inches(0, 12), "casing_ease": inches(0, 8),
	"elastic_width": {Least: length.Inch / 8, Most: 6 * length.Inch}, "comfort": inches(0, 48), "overlap": inches(0, 24),
	"band_depth": inches(1, 160), "pocket_width": inches(2, 120), "pocket_depth": inches(2, 120), "pocket_turn": inches(0, 12), "pocket_top": inches(0, 24),
	"ease": inches(-80, 160), "rise_ease": inches(-40, 80), "inseam": inches(0, 240), "back_lift": inches(0, 40), "side_lift": inches(0, 48),
	"skirt_length": inches(4, 320), "tie_length": inches(4, 800), "strap_length": inches(4, 400), "tie_width": inches(1, 48), "strap_width": inches(1, 48),
	"tail": inches(0, 240),
}

// numberRange is a range of numbers, in thousandths.
type numberRange struct{ least, most int64 }

// numberRanges are the ranges of the number allowances that our starters use. Fullness is the
// width of the cloth over the finished width, so that 1 is not gathered at all.
var numberRanges = map[string]numberRange{
	"fullness": {1_000, 6_000}, "length_share": {50, 1_200}, "front_fork": {0, 500}, "back_fork": {0, 500}, "opening": {1_000, 3_000}, "flare": {500, 6_000},
	"bib_share": {100, 1_000}, "bib_high": {100, 900}, "armhole_deep": {20, 400}, "armhole_wide": {0, 300}, "neck": {100, 2_000},
}

// Ranges of allowances that we don't know.
var (
	anyLength = length.Between{Least: -longestMeasure, Most: longestMeasure}
	anyNumber = numberRange{-1_000_000, 1_000_000}
)

// RangeWords says what an allowance may be, in the workshop's units: "between 0 and 3 in".
func (a Allowance) RangeWords(write length.Style) string {
	if a.Kind == NumberAllowance {
		r := a.numbers()
		return fmt.Sprintf("between %s and %s", thousandthsText(r.least), thousandthsText(r.most))
	}
	return a.lengths().Words(write)
}

// Refusal says what an allowance out of its range must be: "Seam allowance must be between 0
// and 3 in".
func (a Allowance) Refusal(write length.Style) string {
	name := a.Label
	if name == "" {
		name = a.Name
	}
	return name + " must be " + a.RangeWords(write)
}

// InRange tells whether an allowance is within its range.
func (a Allowance) InRange() bool {
	if a.Kind == NumberAllowance {
		r := a.numbers()
		return a.Thousandths >= r.least && a.Thousandths <= r.most
	}
	return a.lengths().Has(a.Length)
}

func (a Allowance) lengths() length.Between {
	if known, ok := lengthRanges[a.Name]; ok {
		return known
	}
	return anyLength
}

func (a Allowance) numbers() numberRange {
	if known, ok := numberRanges[a.Name]; ok {
		return known
	}
	return anyNumber
}

// thousandthsText writes 1,600 as 1.6.
func thousandthsText(n int64) string {
	if n < 0 {
		return "−" + thousandthsText(-n)
	}
	return strconv.FormatFloat(float64(n)/1000, 'f', -1, 64)
}

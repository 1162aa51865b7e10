package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Stitch is one stitch class of ISO 4915 and how much thread it takes.
type Stitch struct {
	// Class is the number of ISO 4915, such as 301 for lockstitch.
	Class string `json:"class"`
	Name  string `json:"name"`
	// Ratio is thread ÷ seam for average cloth and stitch length; 0 where none is known.
	Ratio money.Decimal `json:"ratio"`
	// RatioSource says how the ratio is known.
	RatioSource string `json:"ratio_source"`
	// Thread per seam is also base + stitches × (perThickness × thickness + perWidth × width),
	// all in one unit of length; base is 0 where no formula is known.
	base, perThickness, perWidth money.Decimal
}

const (
	sourceStandardTable = "thread makers' tables of ISO 4915 classes (ratio 1:n)"
	sourceOverlock      = "worked examples of overlock seams"
	sourceMemory        = "thread makers' general table at 7 stitches/cm, from memory"
)

// stitches holds the classes that a sewing workroom uses. Formulas: A. K. Das 2015 and the
// Union Special chart in American & Efird's bulletin on thread consumption; those of 514 and
// 516 are second hand.
var stitches = []Stitch{
	stitch("101", "single-thread chainstitch", "5", sourceStandardTable, 3, 2, 0),
	stitch("301", "lockstitch", "2.5", sourceStandardTable, 2, 2, 0),
	stitch("304", "zigzag lockstitch", "5.5", sourceStandardTable, 0, 0, 0),
	stitch("401", "two-thread chainstitch", "5.4", sourceStandardTable, 4, 2, 0),
	stitch("503", "two-thread overedge", "12", sourceMemory, 0, 0, 0),
	stitch("504", "three-thread overedge", "14", sourceMemory, 3, 4, 4),
	stitch("512", "mock safety", "18", sourceMemory, 0, 0, 0),
	stitch("514", "four-thread overedge", "19", sourceOverlock, 5, 6, 4),
	stitch("516", "five-thread safety", "20", sourceMemory, 9, 6, 4),
}

func stitch(class, name, ratio, source string, base, perThickness, perWidth int64) Stitch {
	return Stitch{class, name, money.MustParse(ratio), source, money.Int(base), money.Int(perThickness), money.Int(perWidth)}
}

// Stitches returns the stitch classes that thread can be worked out for.
func Stitches() []Stitch { return append([]Stitch(nil), stitches...) }

// StitchOf returns a stitch class by its ISO 4915 number.
func StitchOf(class string) (Stitch, bool) {
	for _, s := range stitches {
		if s.Class == class {
			return s, true
		}
	}
	return Stitch{}, false
}

// HasFormula tells whether PerSeam can work out this class.
func (s Stitch) HasFormula() bool { return s.base.Sign() > 0 }

// PerSeam returns thread per length of seam from the stitch itself: stitches per unit of
// length, thickness of the seam and width of the stitch in that unit (0 for straight
// stitches). ok is false for a class without a formula.
func (s Stitch) PerSeam(stitchesPerUnit, thickness, width money.Decimal) (ratio money.Decimal, ok bool, err error) {
	if !s.HasFormula() {
		return ratio, false, nil
	}
	var c calc
	perStitch := c.add(c.mul(s.perThickness, thickness), c.mul(s.perWidth, width))
	ratio = c.add(s.base, c.mul(stitchesPerUnit, perStitch))
	return ratio, true, c.err
}

// RatioFromSample returns thread ÷ seam from unravelling a sample: the thread pulled out of a
// length of seam, in one unit.
func RatioFromSample(thread, seam money.Decimal) (money.Decimal, error) {
	var check checker
	check.notNegative("thread", thread)
	check.positive("seam", seam)
	if err := check.err(); err != nil {
		return money.Decimal{}, err
	}
	return thread.Div(seam)
}

// Seam is one length of stitching in a garment.
type Seam struct {
	Name   string        `json:"name"`
	Class  string        `json:"class"`
	Length money.Decimal `json:"length"`
	// Ratio overrides the class's own thread ÷ seam, if more than 0.
	Ratio money.Decimal `json:"ratio"`
}

// Thread returns the length of thread of each seam, in the seams' unit, and the total with
// wastage added by the rule.
func Thread(seams []Seam, wastage money.Rate, rule WastageRule) (each []money.Decimal, total money.Decimal, err error) {
	var check checker
	var c calc
	each = make([]money.Decimal, len(seams))
	var sum money.Decimal
	for i, seam := range seams {
		check.enter("seams", i)
		check.notNegative("length", seam.Length)
		check.notNegative("ratio", seam.Ratio)
		ratio := seam.Ratio
		if ratio.IsZero() {
			known, ok := StitchOf(seam.Class)
			if !ok {
				check.fail("class", "%s", fmt.Sprintf("%q is not a stitch class with a known ratio: choose one such as 301, or give the ratio", seam.Class))
			}
			ratio = known.Ratio
		}
		each[i] = c.mul(seam.Length, ratio)
		sum = c.add(sum, each[i])
	}
	if err := check.err(); err != nil {
		return nil, total, err
	}
	total, err = WithWastage(sum, wastage, rule)
	c.keep(err)
	return each, total, c.err
}

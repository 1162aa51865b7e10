package costing

import (
	"fmt"
	"math"

	"yardwright/costing/money"
)

// Element is one watched part of an operation.
type Element struct {
	Name string `json:"name"`
	// Rating is the pace of the watched person against the standard one; 0 means 100 %.
	Rating money.Rate `json:"rating"`
	// Readings are the minutes of the watched cycles.
	Readings []money.Decimal `json:"readings"`
	// PerGarment is how often the element comes in one garment; 0 means 1.
	PerGarment money.Decimal `json:"per_garment"`
}

// Study is a time study of one operation.
type Study struct {
	Elements  []Element     `json:"elements"`
	Allowance money.Rate    `json:"allowance"`
	Rule      AllowanceRule `json:"rule"`
}

// ElementTime is what a study found for one element, in minutes.
type ElementTime struct {
	// Observed is the mean reading; Basic is observed × rating × times per garment.
	Observed money.Decimal `json:"observed"`
	Basic    money.Decimal `json:"basic"`
}

// StudyTime is what a study found, in minutes per garment.
type StudyTime struct {
	Elements []ElementTime `json:"elements"`
	Observed money.Decimal `json:"observed"`
	Basic    money.Decimal `json:"basic"`
	// Standard is basic with the allowance by the study's rule.
	Standard money.Decimal `json:"standard"`
}

// Check returns everything that is wrong with the study, as InputErrors, or nil.
func (s Study) Check() error {
	var c checker
	if len(s.Elements) == 0 {
		c.fail("elements", "watch at least one element")
	}
	for i, element := range s.Elements {
		c.enter("elements", i)
		c.addition("rating", element.Rating)
		c.notNegative("per_garment", element.PerGarment)
		if len(element.Readings) == 0 {
			c.fail("readings", "time at least one cycle")
		}
		for n, reading := range element.Readings {
			if reading.Sign() <= 0 {
				c.fail(fmt.Sprintf("readings[%d]", n), "must be more than 0 minutes, but is %s", reading)
			}
		}
	}
	c.leave()
	c.allowance("allowance", s.Allowance, s.Rule)
	return c.err()
}

func (c *checker) allowance(field string, allowance money.Rate, rule AllowanceRule) {
	if rule == AllowanceOfDay {
		c.share(field, allowance)
		return
	}
	c.addition(field, allowance)
}

// Time works the study out.
func (s Study) Time() (StudyTime, error) {
	if err := s.Check(); err != nil {
		return StudyTime{}, err
	}
	var c calc
	result := StudyTime{Elements: make([]ElementTime, len(s.Elements))}
	for i, element := range s.Elements {
		sum, err := money.Sum(element.Readings...)
		c.keep(err)
		rating := element.Rating.Fraction()
		if element.Rating.IsZero() {
			rating = one
		}
		count := money.Int(int64(len(element.Readings)))
		weight := c.mul(rating, orOne(element.PerGarment))
		found := ElementTime{Observed: c.div(sum, count), Basic: c.div(c.mul(sum, weight), count)}
		result.Elements[i] = found
		result.Observed = c.add(result.Observed, c.mul(found.Observed, orOne(element.PerGarment)))
		result.Basic = c.add(result.Basic, found.Basic)
	}
	standard, err := StandardMinutes(result.Basic, s.Allowance, s.Rule)
	c.keep(err)
	result.Standard = standard
	return result, c.err
}

// StandardMinutes adds an allowance to basic minutes by the rule; see AllowanceRule.Formula.
func StandardMinutes(basic money.Decimal, allowance money.Rate, rule AllowanceRule) (money.Decimal, error) {
	var check checker
	check.notNegative("basic", basic)
	check.allowance("allowance", allowance, rule)
	if err := check.err(); err != nil {
		return money.Decimal{}, err
	}
	var c calc
	if rule == AllowanceOfDay {
		standard := c.div(basic, c.sub(one, allowance.Fraction()))
		return standard, c.err
	}
	standard := c.mul(basic, c.add(one, allowance.Fraction()))
	return standard, c.err
}

// BasicMinutes returns observed minutes × rating; neither may be negative.
func BasicMinutes(observed money.Decimal, rating money.Rate) (money.Decimal, error) {
	var check checker
	check.notNegative("observed", observed)
	check.addition("rating", rating)
	if err := check.err(); err != nil {
		return money.Decimal{}, err
	}
	return observed.Mul(rating.Fraction())
}

// MinutesPaid returns standard minutes ÷ efficiency: what is worked and paid for them.
func MinutesPaid(standard money.Decimal, efficiency money.Rate) (money.Decimal, error) {
	var check checker
	check.notNegative("standard", standard)
	if efficiency.Sign() <= 0 {
		check.fail("efficiency", "must be more than 0 %%, but is %s", written(efficiency))
	}
	if err := check.err(); err != nil {
		return money.Decimal{}, err
	}
	return standard.Div(efficiency.Fraction())
}

// LabourCost returns minutes × wage per hour ÷ 60, rounded once by the mode.
func LabourCost(minutes money.Decimal, wage money.Amount, mode money.Rounding) (money.Amount, error) {
	var check checker
	check.notNegative("minutes", minutes)
	check.notNegative("wage", wage.Number())
	if err := check.err(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	cost := c.overRounded(c.times(wage, minutes), sixty, mode)
	return cost, c.err
}

// SeamTime is the time of one seam, in minutes.
type SeamTime struct {
	// Machine is stitches ÷ stitches per minute; Basic is that and handling.
	Machine money.Decimal `json:"machine"`
	Basic   money.Decimal `json:"basic"`
}

// TimeSeam works out a seam: length × stitches per unit of length ÷ stitches per minute (as
// really run, well below the machine's plate on short or curved seams), and handling minutes.
func TimeSeam(length, stitchesPerUnit, stitchesPerMinute, handling money.Decimal) (SeamTime, error) {
	var check checker
	check.notNegative("length", length)
	check.positive("stitches_per_unit", stitchesPerUnit)
	check.positive("stitches_per_minute", stitchesPerMinute)
	check.notNegative("handling", handling)
	if err := check.err(); err != nil {
		return SeamTime{}, err
	}
	var c calc
	machine := c.div(c.mul(length, stitchesPerUnit), stitchesPerMinute)
	return SeamTime{machine, c.add(machine, handling)}, c.err
}

// Cycles is how many cycles a study should watch.
type Cycles struct {
	// Exact is the formula's value to 19 digits; Count is that rounded up.
	Exact money.Decimal `json:"exact"`
	Count int64         `json:"count"`
}

// cycles returns numerator ÷ denominator, rounded up from the exact quotient.
func (c *calc) cycles(numerator, denominator money.Decimal) Cycles {
	exact := c.div(numerator, denominator)
	up := c.ratio(numerator, denominator, 0, money.Up)
	count, ok := up.Int64()
	if !ok {
		c.keep(fmt.Errorf("%s cycles: %w", up, money.ErrOverflow))
	}
	return Cycles{exact, count}
}

// CyclesForAccuracy returns (z × s ÷ (a × mean))²: how many cycles make the mean accurate to
// the share a, where s is the standard deviation of the readings and z the normal deviate of
// the confidence (2 for 95.45 %, see ZForConfidence).
func CyclesForAccuracy(z, deviation, mean money.Decimal, accuracy money.Rate) (Cycles, error) {
	var check checker
	check.positive("mean", mean)
	if accuracy.Sign() <= 0 {
		check.fail("accuracy", "must be more than 0 %%, but is %s", written(accuracy))
	}
	if err := check.err(); err != nil {
		return Cycles{}, err
	}
	largest, err := accuracy.Fraction().Mul(mean)
	if err != nil {
		return Cycles{}, err
	}
	return cyclesFor(z, deviation, largest)
}

// CyclesForError returns (z × s ÷ e)²: how many cycles make the mean accurate to e minutes.
func CyclesForError(z, deviation, largestError money.Decimal) (Cycles, error) {
	return cyclesFor(z, deviation, largestError)
}

func cyclesFor(z, deviation, largestError money.Decimal) (Cycles, error) {
	var check checker
	check.positive("z", z)
	check.notNegative("deviation", deviation)
	check.positive("error", largestError)
	if err := check.err(); err != nil {
		return Cycles{}, err
	}
	var c calc
	spread := c.mul(z, deviation)
	found := c.cycles(c.mul(spread, spread), c.mul(largestError, largestError))
	return found, c.err
}

// CyclesILO returns (40 √(n Σx² − (Σx)²) ÷ Σx)² for n trial readings: how many cycles make the
// mean accurate to 5 % with 95.45 % confidence (ILO, Introduction to Work Study).
func CyclesILO(readings []money.Decimal) (Cycles, error) {
	var check checker
	if len(readings) < 2 {
		check.fail("readings", "time at least two cycles first")
	}
	for i, reading := range readings {
		check.positive(fmt.Sprintf("readings[%d]", i), reading)
	}
	if err := check.err(); err != nil {
		return Cycles{}, err
	}
	var c calc
	count, sum, squares := c.sums(readings)
	found := c.cycles(c.mul(money.Int(1600), c.sub(c.mul(count, squares), c.mul(sum, sum))), c.mul(sum, sum))
	return found, c.err
}

// CyclesForShare returns z² p (1 − p) ÷ e²: how many random looks find the share p of an
// activity to within e (activity sampling).
func CyclesForShare(z money.Decimal, share, largestError money.Rate) (Cycles, error) {
	var check checker
	check.positive("z", z)
	check.share("share", share)
	if largestError.Sign() <= 0 {
		check.fail("error", "must be more than 0 %%, but is %s", written(largestError))
	}
	if err := check.err(); err != nil {
		return Cycles{}, err
	}
	var c calc
	p, e := share.Fraction(), largestError.Fraction()
	found := c.cycles(c.mul(c.mul(z, z), c.mul(p, c.sub(one, p))), c.mul(e, e))
	return found, c.err
}

func (c *calc) sums(readings []money.Decimal) (count, sum, squares money.Decimal) {
	for _, reading := range readings {
		sum = c.add(sum, reading)
		squares = c.add(squares, c.mul(reading, reading))
	}
	return money.Int(int64(len(readings))), sum, squares
}

// Spread returns the mean and the sample standard deviation (divisor n − 1) of at least two
// readings.
func Spread(readings []money.Decimal) (mean, deviation money.Decimal, err error) {
	if len(readings) < 2 {
		return mean, deviation, &InputError{Field: "readings", Message: "time at least two cycles"}
	}
	var c calc
	count, sum, squares := c.sums(readings)
	mean = c.div(sum, count)
	variance := c.div(c.sub(c.mul(count, squares), c.mul(sum, sum)), c.mul(count, c.sub(count, one)))
	deviation = c.sqrt(variance)
	return mean, deviation, c.err
}

// ZForConfidence returns the normal deviate of a two-sided confidence: 1.96 for 95 %.
// It is rounded to 4 decimals. The confidence must lie between 0 % and 100 %.
func ZForConfidence(confidence money.Rate) (money.Decimal, error) {
	level := confidence.Fraction().Float64()
	if level <= 0 || level >= 1 {
		return money.Decimal{}, &InputError{Field: "confidence", Message: "must be between 0 % and 100 %, as in 95 %"}
	}
	return fromFloat(math.Sqrt2*math.Erfinv(level), 4)
}

// cyclesByLength is the General Electric guide to how many cycles to time, as Niebel's
// handbook gives it (from memory): up to so many minutes a cycle, so many cycles.
var cyclesByLength = []struct {
	upTo   money.Decimal
	cycles int64
}{
	{money.MustParse("0.10"), 200},
	{money.MustParse("0.25"), 100},
	{money.MustParse("0.50"), 60},
	{money.MustParse("0.75"), 40},
	{money.MustParse("1"), 30},
	{money.MustParse("2"), 20},
	{money.MustParse("5"), 15},
	{money.MustParse("10"), 10},
	{money.MustParse("20"), 8},
	{money.MustParse("40"), 5},
}

// CyclesByLength returns how many cycles of a given length are usually timed, for want of
// readings to judge by: 8 for a garment of 15 minutes.
func CyclesByLength(minutes money.Decimal) int64 {
	for _, row := range cyclesByLength {
		if minutes.Cmp(row.upTo) <= 0 {
			return row.cycles
		}
	}
	return 3
}

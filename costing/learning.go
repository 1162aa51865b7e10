package costing

import (
	"fmt"
	"math"
	"strconv"

	"yardwright/costing/money"
)

// LearningModel says what gets shorter by the learning rate when the count doubles.
type LearningModel int

const (
	// UnitCurve shortens the time of the n-th garment itself (Crawford); most tables do this.
	UnitCurve LearningModel = iota
	// AverageCurve shortens the average of the first n garments (Wright 1936).
	AverageCurve
)

var learningNames = []string{"unit", "cumulative average"}

// String returns unit or cumulative average.
func (m LearningModel) String() string { return nameOf("learning curve", learningNames, m) }

// Formula returns the rule as it is shown.
func (m LearningModel) Formula() string {
	if m == AverageCurve {
		return "average of the first n = first × n ^ (log rate ÷ log 2)"
	}
	return "minutes of the n-th = first × n ^ (log rate ÷ log 2)"
}

// MarshalText writes what String writes.
func (m LearningModel) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads what String writes.
func (m *LearningModel) UnmarshalText(text []byte) (err error) {
	*m, err = valueNamed[LearningModel]("learning curve", learningNames, string(text))
	return err
}

// Learning says how minutes per garment fall over a run. The same rate means different times
// under the two models, so the model is always named.
type Learning struct {
	// First is the minutes of the first garment.
	First money.Decimal `json:"first"`
	// Rate is what is left of the time when the count doubles: 80 % is usual; 100 % is no
	// learning.
	Rate  money.Rate    `json:"rate"`
	Model LearningModel `json:"model"`
}

// longestRun bounds the run that a curve is added up over.
const longestRun = 10_000_000

// Check returns what is wrong with the curve, as InputErrors, or nil.
func (l Learning) Check() error {
	var c checker
	c.notNegative("first", l.First)
	if l.Rate.Fraction().Cmp(money.New(5, 1)) <= 0 || l.Rate.Fraction().Cmp(one) > 0 {
		c.fail("rate", "must be more than 50 %% and at most 100 %%, but is %s", written(l.Rate))
	}
	return c.err()
}

func (l Learning) checkAt(n int64) error {
	if err := l.Check(); err != nil {
		return err
	}
	if n < 1 || n > longestRun {
		return &InputError{Field: "n", Message: fmt.Sprintf("must be from 1 to %d, but is %d", longestRun, n)}
	}
	return nil
}

func (l Learning) exponent() float64 { return math.Log2(l.Rate.Fraction().Float64()) }

// factor returns the n-th garment's time as a share of the first's.
func (l Learning) factor(n int64) float64 {
	b := l.exponent()
	if l.Model == AverageCurve {
		return math.Pow(float64(n), b+1) - math.Pow(float64(n-1), b+1)
	}
	return math.Pow(float64(n), b)
}

// totalFactor returns the time of the first n garments as a multiple of the first's.
func (l Learning) totalFactor(n int64) float64 {
	if l.Model == AverageCurve {
		return math.Pow(float64(n), l.exponent()+1)
	}
	head := min(n, addedOneByOne)
	total := 0.0
	for i := head; i >= 1; i-- { // small ones first, so that rounding stays small
		total += l.factor(i)
	}
	if n > head {
		total += powersBetween(float64(head), float64(n), l.exponent())
	}
	return total
}

// addedOneByOne is how many garments are added up one by one; a formula gives the rest of a long
// run at once.
const addedOneByOne = 64

// powersBetween returns the sum of i^b for a < i ≤ n, by the formula of Euler and Maclaurin. From
// 64 on its error is below the last digits of a float.
func powersBetween(a, n, b float64) float64 {
	integral := (math.Pow(n, b+1) - math.Pow(a, b+1)) / (b + 1)
	ends := (math.Pow(n, b) - math.Pow(a, b)) / 2
	first := b * (math.Pow(n, b-1) - math.Pow(a, b-1)) / 12
	third := b * (b - 1) * (b - 2) * (math.Pow(n, b-3) - math.Pow(a, b-3)) / 720
	return integral + ends + first - third
}

// Nth returns the minutes of the n-th garment, to 9 decimals.
func (l Learning) Nth(n int64) (money.Decimal, error) {
	if err := l.checkAt(n); err != nil {
		return money.Decimal{}, err
	}
	return fromFloat(l.First.Float64()*l.factor(n), 9)
}

// Total returns the minutes of the first n garments together, to 9 decimals.
func (l Learning) Total(n int64) (money.Decimal, error) {
	if err := l.checkAt(n); err != nil {
		return money.Decimal{}, err
	}
	return fromFloat(l.First.Float64()*l.totalFactor(n), 9)
}

// Average returns the mean minutes of the first n garments, to 9 decimals.
func (l Learning) Average(n int64) (money.Decimal, error) {
	if err := l.checkAt(n); err != nil {
		return money.Decimal{}, err
	}
	return fromFloat(l.First.Float64()*l.totalFactor(n)/float64(n), 9)
}

// Reaching returns the curve whose n-th garment takes the given minutes: for makers who timed
// themselves when they knew the style already.
func (l Learning) Reaching(minutes money.Decimal, n int64) (Learning, error) {
	if err := l.checkAt(n); err != nil {
		return l, err
	}
	first, err := fromFloat(minutes.Float64()/l.factor(n), 9)
	l.First = first
	return l, err
}

// Timed is a garment of a run that was timed: which it was, and its minutes.
type Timed struct {
	N       int64         `json:"n"`
	Minutes money.Decimal `json:"minutes"`
}

// LearningBetween returns the unit curve through two garments of a run, its rate to 9 decimals: what
// a maker finds who timed an early one and a late one. Minutes that grew, or fell by half and more
// at each doubling, lie on no curve and are refused.
func LearningBetween(early, late Timed) (Learning, error) {
	var check checker
	if early.N < 1 || late.N <= early.N || late.N > longestRun {
		check.fail("late.n", "must come after the early one, which is 1 or more: they are number %d and %d", early.N, late.N)
	}
	check.positive("early.minutes", early.Minutes)
	check.positive("late.minutes", late.Minutes)
	if err := check.err(); err != nil {
		return Learning{}, err
	}
	fallen := math.Log(late.Minutes.Float64()/early.Minutes.Float64()) / math.Log(float64(late.N)/float64(early.N))
	rate, err := fromFloat(math.Exp2(fallen), 9)
	if err != nil {
		return Learning{}, err
	}
	curve := Learning{First: early.Minutes, Rate: money.Fraction(rate)}
	if err := curve.Check(); err != nil {
		return Learning{}, err
	}
	return curve.Reaching(early.Minutes, early.N)
}

// Learned is learning as a cost sheet takes it: whatever the minutes of a step are, the garments
// of a batch take a share of them on average. The zero value is no learning.
type Learned struct {
	// Rate is what is left of the time when the count doubles.
	Rate  money.Rate    `json:"rate"`
	Model LearningModel `json:"model"`
	// At is which garment of a run takes the minutes of the steps; 0 means the first.
	At int64 `json:"at"`
}

// LearnedFormula is how the minutes of a batch come about, as it is shown.
const LearnedFormula = "average minutes of the batch = minutes × average of its garments on the curve ÷ the timed garment on the curve"

// On tells whether there is any learning.
func (l Learned) On() bool { return !l.Rate.IsZero() }

func (l Learned) at() int64 { return max(1, l.At) }

// check refuses a curve that makes no sense for so many garments.
func (l Learned) check(c *checker, garments money.Decimal) {
	if !l.On() {
		return
	}
	if err := (Learning{Rate: l.Rate}).Check(); err != nil {
		c.fail("learning.rate", "must be more than 50 %% and at most 100 %%, but is %s", written(l.Rate))
	}
	if l.At < 0 || l.At > longestRun {
		c.fail("learning.at", "must be from 1 to %d, but is %d", longestRun, l.At)
	}
	if money.Int(longestRun).Less(garments) {
		c.fail("garments", "must be at most %d where learning is reckoned with, but is %s", longestRun, garments)
	}
}

// Share returns the average minutes of a run of so many garments as a share of those of garment
// At, to 6 decimals; 1 without learning. It fails with InputErrors.
func (l Learned) Share(garments int64) (money.Decimal, error) {
	if !l.On() {
		return one, nil
	}
	curve := Learning{Rate: l.Rate, Model: l.Model}
	if err := curve.checkAt(garments); err != nil {
		return money.Decimal{}, err
	}
	if err := curve.checkAt(l.at()); err != nil {
		return money.Decimal{}, err
	}
	return fromFloat(curve.totalFactor(garments)/float64(garments)/curve.factor(l.at()), 6)
}

// wholeRun is how many garments a curve runs over.
func wholeRun(garments money.Decimal) int64 {
	n, _ := garments.Round(0, money.HalfUp).Int64() // Check bounds it
	return max(1, n)
}

// fromFloat turns a float of a statistic into a Decimal with so many decimals, fewer where its
// 19 digits don't suffice.
func fromFloat(f float64, places int) (money.Decimal, error) {
	for ; places >= 0; places-- {
		if d, err := money.Parse(strconv.FormatFloat(f, 'f', places, 64)); err == nil {
			return d, nil
		}
	}
	return money.Decimal{}, fmt.Errorf("%g: %w", f, money.ErrOverflow)
}

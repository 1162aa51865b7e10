package costing

import (
	"fmt"
	"math"

	"yardwright/costing/money"
)

// Stake is what is at stake with each garment taken to a fair.
type Stake struct {
	// Under is lost when one too few is taken; Over when one is carried home.
	Under money.Amount `json:"under"`
	Over  money.Amount `json:"over"`
}

// StakeOf returns the stake of a garment: under = price − cost + goodwill lost with a buyer
// sent away, over = cost − salvage, where salvage is what a garment carried home is still
// worth, less handling: often nearly its cost.
func StakeOf(price, cost, salvage, goodwill money.Amount) (Stake, error) {
	var c calc
	s := Stake{Under: c.plus(c.minus(price, cost), goodwill), Over: c.minus(cost, salvage)}
	return s, c.err
}

// Formulas of the fair plan, as they are shown.
const (
	RatioFormula = "lost with one too few ÷ (lost with one too few + lost with one too many)"
	StockFormula = "the smallest number that demand doesn't exceed with at least that chance"
)

// check refuses stakes at which no number is best.
func (s Stake) check() error {
	var c checker
	if s.Under.Sign() < 0 {
		c.fail("under", "is %s: each one sold loses money, so take none", s.Under)
	}
	if s.Over.Sign() < 0 {
		c.fail("over", "is %s: what is carried home is worth more than it costs, so take all you can", s.Over)
	}
	if s.Under.IsZero() && s.Over.IsZero() {
		c.fail("under", "nothing is at stake: any number is as good as another")
	}
	if _, err := s.Under.Cmp(s.Over); err != nil {
		c.fail("over", "is in %s, but under is in %s", s.Over.Currency(), s.Under.Currency())
	}
	return c.err()
}

// sum returns under + over.
func (s Stake) sum(c *calc) money.Decimal { return c.add(s.Under.Number(), s.Over.Number()) }

// Ratio returns the critical ratio to 19 digits, see RatioFormula.
func (s Stake) Ratio() (money.Decimal, error) {
	if err := s.check(); err != nil {
		return money.Decimal{}, err
	}
	var c calc
	ratio := c.div(s.Under.Number(), s.sum(&c))
	return ratio, c.err
}

// Outcome is one possible demand and its weight: a probability, or how often it was seen.
type Outcome struct {
	Demand int64         `json:"demand"`
	Weight money.Decimal `json:"weight"`
}

// Demand is a list of possible demands, in rising order. Weights need not sum to 1.
type Demand []Outcome

// Check returns everything that is wrong with the list, as InputErrors, or nil.
func (d Demand) Check() error {
	var c checker
	some := false
	for i, outcome := range d {
		c.enter("demand", i)
		c.notNegative("weight", outcome.Weight)
		if outcome.Demand < 0 {
			c.fail("demand", "must not be less than 0, but is %d", outcome.Demand)
		}
		if i > 0 && outcome.Demand <= d[i-1].Demand {
			c.fail("demand", "must be more than the one before (%d), but is %d", d[i-1].Demand, outcome.Demand)
		}
		some = some || outcome.Weight.Sign() > 0
	}
	c.leave()
	if !some {
		c.fail("demand", "needs at least one outcome that is possible")
	}
	return c.err()
}

// totals returns Σ weight and Σ weight × demand.
func (d Demand) totals(c *calc) (weight, weighed money.Decimal) {
	for _, outcome := range d {
		weight = c.add(weight, outcome.Weight)
		weighed = c.add(weighed, c.mul(outcome.Weight, money.Int(outcome.Demand)))
	}
	return weight, weighed
}

// Mean returns the expected demand to 19 digits.
func (d Demand) Mean() (money.Decimal, error) {
	if err := d.Check(); err != nil {
		return money.Decimal{}, err
	}
	var c calc
	weight, weighed := d.totals(&c)
	mean := c.div(weighed, weight)
	return mean, c.err
}

// CDF returns the chance that demand doesn't exceed k.
func (d Demand) CDF(k float64) float64 {
	total, upTo := 0.0, 0.0
	for _, outcome := range d {
		weight := outcome.Weight.Float64()
		total += weight
		if float64(outcome.Demand) <= k {
			upTo += weight
		}
	}
	return upTo / total
}

// ExpectedCost returns what a quantity is expected to lose against knowing the demand, to 19
// digits: under for each buyer sent away and over for each garment carried home.
func (d Demand) ExpectedCost(quantity int64, s Stake) (money.Amount, error) {
	if err := d.Check(); err != nil {
		return money.Amount{}, err
	}
	if err := s.check(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	var total money.Amount
	weight, _ := d.totals(&c)
	for _, outcome := range d {
		short := outcome.Demand - quantity
		each, count := s.Under, short
		if short < 0 {
			each, count = s.Over, -short
		}
		total = c.plus(total, c.times(each, c.mul(outcome.Weight, money.Int(count))))
	}
	expected := c.over(total, weight)
	return expected, c.err
}

// Stocking is the best number to take.
type Stocking struct {
	Quantity int64 `json:"quantity"`
	// TiesUpTo is the largest number that is as good; Quantity itself if none is.
	TiesUpTo int64 `json:"ties_up_to"`
	// Ratio is the critical ratio.
	Ratio money.Decimal `json:"ratio"`
	// Expected demand, and what the number is expected to lose against knowing it.
	Mean         money.Decimal `json:"mean"`
	ExpectedCost money.Amount  `json:"expected_cost"`
}

// Best returns the smallest best number to take. The chance of a demand is compared with the
// critical ratio as a fraction, never as a float, so that ties are seen.
func (d Demand) Best(s Stake) (Stocking, error) {
	if err := d.Check(); err != nil {
		return Stocking{}, err
	}
	ratio, err := s.Ratio()
	if err != nil {
		return Stocking{}, err
	}
	var c calc
	best := Stocking{Ratio: ratio}
	if s.Under.Sign() > 0 {
		best.Quantity, best.TiesUpTo = d.quantile(&c, s)
	}
	weight, weighed := d.totals(&c)
	best.Mean = c.div(weighed, weight)
	cost, err := d.ExpectedCost(best.Quantity, s)
	c.keep(err)
	best.ExpectedCost = cost
	return best, c.err
}

// quantile finds the smallest outcome with Σ weight up to it × (under + over) ≥ under × Σ
// weight; where both are equal, everything up to the next possible outcome ties.
func (d Demand) quantile(c *calc, s Stake) (quantity, tiesUpTo int64) {
	weight, _ := d.totals(c)
	wanted := c.mul(s.Under.Number(), weight)
	both := s.sum(c)
	var upTo money.Decimal
	for i, outcome := range d {
		upTo = c.add(upTo, outcome.Weight)
		order := c.mul(upTo, both).Cmp(wanted)
		if order < 0 || outcome.Weight.IsZero() {
			continue
		}
		quantity, tiesUpTo = outcome.Demand, outcome.Demand
		if order > 0 {
			return quantity, tiesUpTo
		}
		for _, next := range d[i+1:] {
			if next.Weight.Sign() > 0 {
				return quantity, next.Demand
			}
		}
		return quantity, tiesUpTo
	}
	return quantity, tiesUpTo
}

// Normal is a demand that spreads evenly around its mean.
type Normal struct {
	Mean      float64 `json:"mean"`
	Deviation float64 `json:"deviation"`
}

// CDF returns the chance that demand doesn't exceed x.
func (n Normal) CDF(x float64) float64 { return standardCDF((x - n.Mean) / n.Deviation) }

// Quantile returns the demand that isn't exceeded with the chance p, between 0 and 1.
func (n Normal) Quantile(p float64) float64 { return n.Mean + n.Deviation*standardQuantile(p) }

// Between returns the chance that demand lies between low and high.
func (n Normal) Between(low, high float64) float64 { return n.CDF(high) - n.CDF(low) }

func standardCDF(z float64) float64      { return 0.5 * math.Erfc(-z/math.Sqrt2) }
func standardQuantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// NormalStocking is the best quantity for a normal demand.
type NormalStocking struct {
	Ratio float64 `json:"ratio"`
	// Quantity is exact; Table uses z rounded up to two decimals, as printed tables do; Whole
	// is the best whole number, never below 0.
	Quantity float64 `json:"quantity"`
	Table    float64 `json:"table"`
	Whole    int64   `json:"whole"`
	// ExpectedLeft is how many are expected to come home with Quantity taken, and
	// ExpectedShort how many buyers to be sent away.
	ExpectedLeft  float64 `json:"expected_left"`
	ExpectedShort float64 `json:"expected_short"`
}

// Best returns the best quantity to take.
func (n Normal) Best(s Stake) (NormalStocking, error) {
	ratio, err := s.Ratio()
	if err != nil {
		return NormalStocking{}, err
	}
	p := ratio.Float64()
	if !(n.Deviation > 0) || p <= 0 || p >= 1 {
		return NormalStocking{}, &InputError{Field: "deviation", Message: fmt.Sprintf(
			"a normal demand needs a deviation above 0 (is %g) and something at stake both ways (ratio %s)", n.Deviation, ratio)}
	}
	z := standardQuantile(p)
	quantity := n.Mean + n.Deviation*z
	short := n.Deviation * (math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) - z*(1-p))
	return NormalStocking{
		Ratio: p, Quantity: quantity, Table: n.Mean + n.Deviation*tableZ(p), Whole: int64(math.Max(0, math.Ceil(quantity-1e-9))),
		ExpectedLeft: quantity - n.Mean + short, ExpectedShort: short,
	}, nil
}

// tableZ returns the smallest z of two decimals with at least the chance p.
func tableZ(p float64) float64 {
	z := math.Floor(standardQuantile(p)*100) / 100
	for standardCDF(z) < p {
		z = math.Round(z*100+1) / 100
	}
	return z
}

// Poisson is a demand of single buyers who come by chance.
type Poisson struct {
	Mean float64 `json:"mean"`
}

// CDF returns the chance that demand doesn't exceed k.
func (p Poisson) CDF(k float64) float64 {
	if k < 0 {
		return 0
	}
	logMean := math.Log(p.Mean)
	sum := 0.0
	for i := 0.0; i <= math.Floor(k); i++ {
		logFactorial, _ := math.Lgamma(i + 1)
		sum += math.Exp(i*logMean - p.Mean - logFactorial)
	}
	return math.Min(sum, 1)
}

// Best returns the best number to take.
func (p Poisson) Best(s Stake) (int64, error) {
	ratio, err := s.Ratio()
	if err != nil {
		return 0, err
	}
	wanted := ratio.Float64()
	if !(p.Mean > 0) || p.Mean > 1e6 || wanted >= 1 {
		return 0, &InputError{Field: "mean", Message: fmt.Sprintf(
			"must be above 0 and at most 1000000 (is %g), and something must be at stake for each one carried home", p.Mean)}
	}
	// Chances are floats here: a ratio that is met to 12 places is met.
	most := int64(p.Mean + 40*math.Sqrt(p.Mean) + 40)
	low, high := int64(0), most
	for low < high {
		middle := (low + high) / 2
		if p.CDF(float64(middle)) >= wanted-1e-12 {
			high = middle
		} else {
			low = middle + 1
		}
	}
	return low, nil
}

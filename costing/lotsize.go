package costing

import (
	"fmt"

	"yardwright/costing/money"
)

// Lot is how much to make or buy at a time.
type Lot struct {
	// Quantity is the cheapest lot, to 19 digits; Whole is the cheapest whole number.
	Quantity money.Decimal `json:"quantity"`
	Whole    int64         `json:"whole"`
	// Lots is how many lots meet the demand.
	Lots money.Decimal `json:"lots"`
	// SetUp and Holding are the costs per period of the demand; they are equal at the
	// cheapest lot. Total is their sum.
	SetUp   money.Amount `json:"set_up"`
	Holding money.Amount `json:"holding"`
	Total   money.Amount `json:"total"`
	// Highest is the most in stock at once. Cycle is the time from lot to lot, Run the time
	// that making one takes, both in the unit of the rates; 0 where no rates were given.
	Highest money.Decimal `json:"highest"`
	Cycle   money.Decimal `json:"cycle"`
	Run     money.Decimal `json:"run"`
}

// Formulas of lots, as they are shown.
const (
	OrderQuantityFormula   = "√(2 × demand × set-up ÷ holding)"
	ProductionQuantityText = "√(2 × demand × set-up ÷ (holding × (1 − use ÷ production)))"
)

// OrderQuantity returns the economic order quantity: demand per period, set-up (or ordering)
// cost of a lot, cost of holding one for the period. All must be more than 0.
func OrderQuantity(demand money.Decimal, setUp, holding money.Amount) (Lot, error) {
	return lot(demand, setUp, holding, one, money.Decimal{}, money.Decimal{})
}

// ProductionQuantity returns the economic production quantity: as OrderQuantity, but the lot
// comes in at a rate of production while it is used at a rate of use. Both rates are per the
// same unit of time, which may differ from the demand's period; production must exceed use.
func ProductionQuantity(demand money.Decimal, setUp, holding money.Amount, production, use money.Decimal) (Lot, error) {
	var check checker
	check.positive("use", use)
	if production.Cmp(use) <= 0 {
		check.fail("production", "must be faster than use (%s), but is %s", use, production)
	}
	if err := check.err(); err != nil {
		return Lot{}, err
	}
	var c calc
	growing := c.div(c.sub(production, use), production)
	if c.err != nil {
		return Lot{}, c.err
	}
	return lot(demand, setUp, holding, growing, production, use)
}

// lot solves for the cheapest lot, of which the share growing is in stock at the most.
func lot(demand money.Decimal, setUp, holding money.Amount, growing, production, use money.Decimal) (Lot, error) {
	var check checker
	check.positive("demand", demand)
	check.positive("set_up", setUp.Number())
	check.positive("holding", holding.Number())
	if _, err := setUp.Cmp(holding); err != nil {
		check.fail("holding", "is in %s, but the set-up is in %s", holding.Currency(), setUp.Currency())
	}
	if err := check.err(); err != nil {
		return Lot{}, err
	}
	var c calc
	perLot := c.mul(c.mul(two, demand), setUp.Number())
	perUnit := c.mul(holding.Number(), growing)
	quantity := c.sqrt(c.div(perLot, perUnit))
	if c.err != nil {
		return Lot{}, c.err
	}
	found := Lot{
		Quantity: quantity,
		Lots:     c.div(demand, quantity),
		SetUp:    c.over(c.times(setUp, demand), quantity),
		Holding:  c.over(c.times(money.NewAmount(perUnit, holding.Currency()), quantity), two),
		Highest:  c.mul(quantity, growing),
	}
	found.Total = c.plus(found.SetUp, found.Holding)
	if use.Sign() > 0 {
		found.Cycle, found.Run = c.div(quantity, use), c.div(quantity, production)
	}
	found.Whole = c.cheapestWhole(perLot, perUnit)
	return found, c.err
}

// cheapestWhole returns the whole n of 1 or more at which a ÷ n + b × n is least, the smaller
// of two that tie: the smallest n with n (n + 1) b ≥ a.
func (c *calc) cheapestWhole(a, b money.Decimal) int64 {
	n, ok := money.MaxDecimal(one, c.sqrt(c.div(a, b)).Round(0, money.Down)).Int64()
	if !ok {
		c.keep(fmt.Errorf("the lot: %w", money.ErrOverflow))
	}
	enough := func(n int64) bool {
		return c.err != nil || c.mul(c.mul(money.Int(n), money.Int(n+1)), b).Cmp(a) >= 0
	}
	for n > 1 && enough(n-1) && c.err == nil {
		n--
	}
	for !enough(n) {
		n++
	}
	return n
}

// BatchCost says what depends on how many garments are made together.
type BatchCost struct {
	// SetUpMinutes and RunMinutes are paid minutes per batch and per garment.
	SetUpMinutes money.Decimal `json:"set_up_minutes"`
	RunMinutes   money.Decimal `json:"run_minutes"`
	// LearnedMinutes are paid minutes per garment besides RunMinutes, which Learning makes
	// shorter the larger the batch is.
	LearnedMinutes money.Decimal `json:"learned_minutes"`
	Learning       Learned       `json:"learning"`
	// HourlyCost is wage and overhead of an hour.
	HourlyCost money.Amount `json:"hourly_cost"`
	// SetUpMoney and RunMoney are other costs per batch and per garment.
	SetUpMoney money.Amount `json:"set_up_money"`
	RunMoney   money.Amount `json:"run_money"`
	// Demand is garments sold per year, and Holding the cost of keeping one for a year
	// (money tied up, room, what goes out of fashion). Without them larger batches are
	// always cheaper.
	Demand  money.Decimal `json:"demand"`
	Holding money.Amount  `json:"holding"`
}

// BatchPoint is what one garment takes in a batch of a given size; amounts are unrounded.
type BatchPoint struct {
	Garments int64         `json:"garments"`
	Minutes  money.Decimal `json:"minutes"`
	SetUp    money.Amount  `json:"set_up"`
	Run      money.Amount  `json:"run"`
	Holding  money.Amount  `json:"holding"`
	Total    money.Amount  `json:"total"`
}

// BatchFormula is how the minutes of a garment come about without learning, as it is shown.
const BatchFormula = "minutes = run + set-up ÷ garments"

// Check returns everything that is wrong, as InputErrors, or nil.
func (b BatchCost) Check() error {
	var c checker
	c.notNegative("set_up_minutes", b.SetUpMinutes)
	c.notNegative("run_minutes", b.RunMinutes)
	c.notNegative("learned_minutes", b.LearnedMinutes)
	b.Learning.check(&c, money.Decimal{})
	c.notNegative("hourly_cost", b.HourlyCost.Number())
	c.notNegative("set_up_money", b.SetUpMoney.Number())
	c.notNegative("run_money", b.RunMoney.Number())
	c.notNegative("demand", b.Demand)
	c.notNegative("holding", b.Holding.Number())
	return c.err()
}

// At returns what one garment takes in a batch of so many.
func (b BatchCost) At(garments int64) (BatchPoint, error) {
	if err := b.Check(); err != nil {
		return BatchPoint{}, err
	}
	if garments < 1 {
		return BatchPoint{}, &InputError{Field: "garments", Message: "must be 1 or more"}
	}
	share, err := b.Learning.Share(garments)
	if err != nil {
		return BatchPoint{}, err
	}
	var c calc
	n := money.Int(garments)
	run := c.add(b.RunMinutes, c.mul(b.LearnedMinutes, share))
	point := BatchPoint{
		Garments: garments,
		Minutes:  c.add(run, c.div(b.SetUpMinutes, n)),
		SetUp:    c.over(b.setUp(&c), n),
		Run:      c.plus(c.over(c.times(b.HourlyCost, run), sixty), b.RunMoney),
	}
	if b.Demand.Sign() > 0 {
		point.Holding = c.over(c.times(b.Holding, n), c.mul(two, b.Demand))
	}
	point.Total = c.plus(c.plus(point.SetUp, point.Run), point.Holding)
	return point, c.err
}

// setUp returns what a batch costs however large it is.
func (b BatchCost) setUp(c *calc) money.Amount {
	return c.plus(c.over(c.times(b.HourlyCost, b.SetUpMinutes), sixty), b.SetUpMoney)
}

// Curve returns the points of a chart, for the given sizes.
func (b BatchCost) Curve(sizes []int64) ([]BatchPoint, error) {
	points := make([]BatchPoint, len(sizes))
	for i, size := range sizes {
		var err error
		if points[i], err = b.At(size); err != nil {
			return nil, err
		}
	}
	return points, nil
}

// Cheapest returns the batch of 1 to most garments in which one costs least, the smaller of
// two that tie. With learning it looks at every batch, so most should be some thousands at most.
func (b BatchCost) Cheapest(most int64) (BatchPoint, error) {
	if err := b.Check(); err != nil {
		return BatchPoint{}, err
	}
	if most < 1 {
		return BatchPoint{}, &InputError{Field: "most", Message: "must be 1 or more"}
	}
	if b.learns() {
		return b.cheapestLearned(most)
	}
	var c calc
	setUp := b.setUp(&c)
	size := most
	switch holds := b.Demand.Sign() > 0 && b.Holding.Sign() > 0; {
	case setUp.IsZero():
		size = 1
	case holds:
		size = min(most, c.cheapestWhole(c.mul(c.mul(two, b.Demand), setUp.Number()), b.Holding.Number()))
	}
	if c.err != nil {
		return BatchPoint{}, c.err
	}
	return b.At(size)
}

func (b BatchCost) learns() bool { return b.Learning.On() && b.LearnedMinutes.Sign() > 0 }

// cheapestLearned looks at every batch: with learning there is no formula for the cheapest.
func (b BatchCost) cheapestLearned(most int64) (BatchPoint, error) {
	best, err := b.At(1)
	for n := int64(2); n <= most && err == nil; n++ {
		var point BatchPoint
		if point, err = b.At(n); err == nil && point.Total.Number().Less(best.Total.Number()) {
			best = point
		}
	}
	return best, err
}

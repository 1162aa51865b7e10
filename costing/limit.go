package costing

import (
	"fmt"
	"math"
	"slices"

	"yardwright/costing/money"
)

// KnownItem is a garment whose demand is known, and that uses up a shared limit.
type KnownItem struct {
	Name string `json:"name"`
	// Contribution is what one earns over its own cost.
	Contribution money.Amount `json:"contribution"`
	// Use is how much of the limit (hours, cloth, room in the car) one takes.
	Use    money.Decimal `json:"use"`
	Demand money.Decimal `json:"demand"`
}

// KnownMix is how much of each to make.
type KnownMix struct {
	// Exact is the best mix with parts of garments, to 19 digits.
	Exact []money.Decimal `json:"exact"`
	// Whole is the mix in whole garments, rounded down; what is then left of the limit goes to
	// the next best that still fits.
	Whole []int64 `json:"whole"`
	// Earned is what Whole contributes, Left what it leaves of the limit.
	Earned money.Amount  `json:"earned"`
	Left   money.Decimal `json:"left"`
}

// LimitFormula is how a known demand shares a limit, as it is shown.
const LimitFormula = "first what earns most per unit of the limit, up to its demand"

// ShareKnown spreads one limit over garments of known demand: by contribution per unit of the
// limit, the first of equal ones first.
func ShareKnown(items []KnownItem, limit money.Decimal) (KnownMix, error) {
	var check checker
	check.notNegative("limit", limit)
	for i, item := range items {
		check.enter("items", i)
		check.positive("use", item.Use)
		check.notNegative("demand", item.Demand)
		if item.Contribution.Currency() != items[0].Contribution.Currency() {
			check.fail("contribution", "is in %s, but the first is in %s", item.Contribution.Currency(), items[0].Contribution.Currency())
		}
	}
	if err := check.err(); err != nil {
		return KnownMix{}, err
	}
	var c calc
	mix := KnownMix{Exact: make([]money.Decimal, len(items)), Whole: make([]int64, len(items))}
	left := limit
	mix.Left = limit
	for _, i := range byContribution(&c, items) {
		item := &items[i]
		if item.Contribution.Sign() <= 0 {
			continue
		}
		if c.mul(item.Use, item.Demand).Cmp(left) <= 0 {
			mix.Exact[i] = item.Demand
			left = c.sub(left, c.mul(item.Use, item.Demand))
		} else {
			mix.Exact[i] = c.div(left, item.Use)
			left = money.Decimal{}
		}
		whole := money.MinDecimal(item.Demand.Round(0, money.Down), c.ratio(mix.Left, item.Use, 0, money.Down))
		mix.Whole[i], _ = whole.Int64()
		mix.Left = c.sub(mix.Left, c.mul(whole, item.Use))
		mix.Earned = c.plus(mix.Earned, c.times(item.Contribution, whole))
	}
	return mix, c.err
}

// byContribution ranks items by contribution ÷ use, compared as fractions.
func byContribution(c *calc, items []KnownItem) []int {
	order := make([]int, len(items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		left := c.mul(items[b].Contribution.Number(), items[a].Use)
		right := c.mul(items[a].Contribution.Number(), items[b].Use)
		return left.Cmp(right)
	})
	return order
}

// Distribution is an uncertain demand: Demand, Normal or Poisson.
type Distribution interface {
	// CDF returns the chance that demand doesn't exceed k.
	CDF(k float64) float64
}

// UncertainItem is a garment of uncertain demand that uses up a shared limit.
type UncertainItem struct {
	Name   string       `json:"name"`
	Demand Distribution `json:"-"`
	Stake  Stake        `json:"stake"`
	// Use is how much of the limit one takes.
	Use money.Decimal `json:"use"`
}

func checkUncertain(items []UncertainItem, limit money.Decimal) error {
	var c checker
	c.notNegative("limit", limit)
	for i, item := range items {
		c.enter("items", i)
		c.positive("use", item.Use)
		if item.Demand == nil {
			c.fail("demand", "is missing")
		}
		if err := item.Stake.check(); err != nil {
			c.fail("stake", "%s", err)
		}
	}
	return c.err()
}

// ShareWhole spreads one limit over garments of uncertain demand, one garment at a time: the
// one whose next piece is expected to earn most per unit of the limit, as long as it fits and
// earns anything. It returns how many of each to take and what is left of the limit.
func ShareWhole(items []UncertainItem, limit money.Decimal) (take []int64, left money.Decimal, err error) {
	if err := checkUncertain(items, limit); err != nil {
		return nil, left, err
	}
	var c calc
	take = make([]int64, len(items))
	left = limit
	gains := make([]float64, len(items))
	for i := range items {
		gains[i] = items[i].gain(0)
	}
	for c.err == nil {
		best := -1
		for i := range items {
			if gains[i] > 1e-12 && items[i].Use.Cmp(left) <= 0 && (best < 0 || gains[i] > gains[best]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		take[best]++
		left = c.sub(left, items[best].Use)
		gains[best] = items[best].gain(take[best])
	}
	return take, left, c.err
}

// gain returns what one more than taken is expected to earn per unit of the limit:
// under × P(demand > taken) − over × P(demand ≤ taken).
func (item *UncertainItem) gain(taken int64) float64 {
	sold := 1 - item.Demand.CDF(float64(taken))
	under, over := item.Stake.Under.Number().Float64(), item.Stake.Over.Number().Float64()
	return (under*sold - over*(1-sold)) / item.Use.Float64()
}

// NormalItem is a garment of normal demand that uses up a shared limit.
type NormalItem struct {
	Name   string        `json:"name"`
	Demand Normal        `json:"demand"`
	Stake  Stake         `json:"stake"`
	Use    money.Decimal `json:"use"`
}

// SharedNormal is the best use of a limit by garments of normal demand.
type SharedNormal struct {
	Quantities []float64 `json:"quantities"`
	// Price is what one more unit of the limit would earn; 0 if there is enough of it.
	Price float64 `json:"price"`
	Used  float64 `json:"used"`
}

// ShareNormal finds quantities with F(Q) = (under − λ use) ÷ (under + over) for one λ at which
// the limit is just used up (0 if it needn't be), by bisection.
func ShareNormal(items []NormalItem, limit money.Decimal) (SharedNormal, error) {
	generic := make([]UncertainItem, len(items))
	for i, item := range items {
		generic[i] = UncertainItem{item.Name, item.Demand, item.Stake, item.Use}
	}
	if err := checkUncertain(generic, limit); err != nil {
		return SharedNormal{}, err
	}
	highest := 0.0
	for i, item := range items {
		if !(item.Demand.Deviation > 0) || item.Stake.Over.Sign() <= 0 {
			return SharedNormal{}, &InputError{Field: fmt.Sprintf("items[%d].demand", i), Message: "needs a deviation above 0 and something lost with each one carried home"}
		}
		highest = math.Max(highest, item.Stake.Under.Number().Float64()/item.Use.Float64())
	}
	most := limit.Float64()
	free := normalQuantities(items, 0)
	if free.Used <= most {
		return free, nil
	}
	low, high := 0.0, highest
	for range 200 {
		middle := (low + high) / 2
		if normalQuantities(items, middle).Used > most {
			low = middle
		} else {
			high = middle
		}
	}
	return normalQuantities(items, high), nil
}

// normalQuantities solves each item at a price of the limit.
func normalQuantities(items []NormalItem, price float64) SharedNormal {
	result := SharedNormal{Price: price, Quantities: make([]float64, len(items))}
	for i, item := range items {
		under, over, use := item.Stake.Under.Number().Float64(), item.Stake.Over.Number().Float64(), item.Use.Float64()
		if chance := (under - price*use) / (under + over); chance > 0 {
			result.Quantities[i] = math.Max(0, item.Demand.Quantile(chance))
		}
		result.Used += result.Quantities[i] * use
	}
	return result
}

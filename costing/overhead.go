package costing

import "yardwright/costing/money"

// YearCost is one cost of keeping the workshop, for a year.
type YearCost struct {
	Name string `json:"name"`
	// Amount is paid per year; for equipment it is the purchase price.
	Amount money.Amount `json:"amount"`
	// Years is how long what was bought lasts; 0 means 1: it is paid every year.
	Years money.Decimal `json:"years"`
	// Share is the part that the workshop bears, such as 15 % of the heating of a house;
	// nothing means all of it.
	Share money.Rate `json:"share"`
}

// WorkingYear says how many hours are worked in a year, and how many of them make garments that sell.
type WorkingYear struct {
	// Hours are worked in a year, by all hands.
	Hours money.Decimal `json:"hours"`
	// Productive is the share of the hours spent making; the rest goes to buying, selling,
	// books and repairs.
	Productive money.Rate `json:"productive"`
}

// OverheadRate is what each productive hour must bear of the year's costs.
type OverheadRate struct {
	Costs []YearCost `json:"costs"`
	// Yearly is each cost's part of the year, rounded half up; Total is their sum.
	Yearly []money.Amount `json:"yearly"`
	Total  money.Amount   `json:"total"`
	// Available is all working hours of the year; Productive is those spent making.
	Available  money.Decimal `json:"available"`
	Productive money.Decimal `json:"productive"`
	// PerHour is Total ÷ Productive to 19 digits.
	PerHour money.Amount `json:"per_hour"`
}

// OverheadFormula is how the rate comes about, as it is shown.
const OverheadFormula = "yearly costs ÷ (hours worked in a year × productive share)"

// Overhead works out the overhead per hour. It fails with InputErrors where a cost is
// negative or no productive hour is left.
func Overhead(costs []YearCost, year WorkingYear, currency money.Currency) (OverheadRate, error) {
	if err := checkOverhead(costs, year, currency); err != nil {
		return OverheadRate{}, err
	}
	var c calc
	rate := OverheadRate{Costs: costs, Yearly: make([]money.Amount, len(costs)), Total: currency.Zero()}
	for i, cost := range costs {
		share := cost.Share.Fraction()
		if cost.Share.IsZero() {
			share = one
		}
		rate.Yearly[i] = c.overRounded(c.times(cost.Amount, share), orOne(cost.Years), money.HalfUp)
		rate.Total = c.plus(rate.Total, rate.Yearly[i])
	}
	rate.Available = year.Hours
	rate.Productive = c.mul(rate.Available, year.Productive.Fraction())
	rate.PerHour = c.over(rate.Total, rate.Productive)
	return rate, c.err
}

func checkOverhead(costs []YearCost, year WorkingYear, currency money.Currency) error {
	var c checker
	for i, cost := range costs {
		c.enter("costs", i)
		c.price("amount", cost.Amount, currency)
		c.notNegative("years", cost.Years)
		if cost.Share.Sign() < 0 || cost.Share.Fraction().Cmp(one) > 0 {
			c.fail("share", "must be from 0 %% to 100 %%, but is %s", written(cost.Share))
		}
	}
	c.leave()
	c.positive("hours", year.Hours)
	if year.Productive.Sign() <= 0 || year.Productive.Fraction().Cmp(one) > 0 {
		c.fail("productive", "must be more than 0 %% and at most 100 %%, but is %s", written(year.Productive))
	}
	return c.err()
}

package costing

import (
	"strings"

	"yardwright/costing/money"
)

// Part is one part of a price: what it pays for.
type Part struct {
	Name   string       `json:"name"`
	Amount money.Amount `json:"amount"`
}

// Names of the parts of a price that are not taken by the channel.
const (
	partMaking   = "to make it"
	partHandling = "for your own work on the sale"
	partTax      = "tax"
	partProfit   = "profit"
	partLoss     = "loss"
)

// Parts says what the price and the postage that the buyer pays on top pay for: they sum to
// Price + Sale.Postage to the cent, since profit is what is left over. Tax is a part where the price holds it. It fails with money's
// errors where an amount is too large.
func (q Quote) Parts() ([]Part, error) {
	var c calc
	rest := c.plus(q.Price, q.Sale.Postage)
	var parts []Part
	put := func(name string, amount money.Amount) {
		if !amount.IsZero() {
			parts, rest = append(parts, Part{name, amount}), c.minus(rest, amount)
		}
	}
	put(partMaking, q.Garment.Cost)
	put(partHandling, c.minus(q.Sale.Cost, q.Garment.Cost))
	if q.TaxIncluded {
		put(partTax, q.Sale.Tax)
	}
	for _, taken := range q.Sale.Taken {
		name := taken.Name
		if name == namePostage || name == namePrompt || name == nameListing {
			name = strings.ToLower(name) // other names are the maker's own and stay as they are
		}
		put(name, taken.Amount)
	}
	if rest.Sign() < 0 {
		put(partLoss, rest)
	} else {
		put(partProfit, rest)
	}
	return parts, c.err
}

// Why says in one sentence, for a reader of a locale such as en-US, what the price is made of,
// why it is what it is, and what it pays. The amounts before "because" sum to the price and the
// postage that the buyer pays.
func (q Quote) Why(locale string) string {
	show := func(a money.Amount) string { return a.Format(locale) }
	var text strings.Builder
	text.WriteString(show(q.Price))
	if !q.Sale.Postage.IsZero() {
		text.WriteString(", and " + show(q.Sale.Postage) + " that the buyer pays for postage, are ")
	} else {
		text.WriteString(" is ")
	}
	parts, err := q.Parts()
	if err != nil {
		return show(q.Price) // an amount too large to add up was refused when it was priced
	}
	if len(parts) == 0 {
		text.WriteString("nothing at all")
	}
	for i, part := range parts {
		switch {
		case i > 0 && i == len(parts)-1:
			text.WriteString(" and ")
		case i > 0:
			text.WriteString(", ")
		}
		text.WriteString(show(part.Amount) + " " + part.Name)
		if part.Name == partHandling {
			text.WriteString(" (" + q.handlingMinutes(locale) + " min)")
		}
	}
	if q.IsTyped() {
		text.WriteString(", the price that you typed" + q.pays(show) + ". Worked out, it would be " + show(q.Worked) + ", because ")
		q.Price = q.Worked
	} else {
		text.WriteString(", because ")
	}
	if q.SharedBy != "" {
		text.WriteString("every size sells at what " + q.SharedBy + " needs, and ")
	}
	text.WriteString(q.aim(locale))
	switch {
	case q.SharedBy != "":
	case q.RaisedToFloor():
		text.WriteString("; that alone would lose money, so the price is raised to the floor of " + show(q.Floor))
		if q.Price != q.Floor {
			text.WriteString(" and up to the next price point")
		}
	case q.Price != q.Wanted:
		text.WriteString("; that needs " + show(q.Wanted) + ", rounded up to the next price point")
	}
	if !q.IsTyped() {
		text.WriteString(q.pays(show))
	}
	return text.String() + "."
}

// pays says what the price leaves for an hour.
func (q Quote) pays(show func(money.Amount) string) string {
	if q.Sale.Minutes.IsZero() {
		return ": no work of yours is in it"
	}
	return ": it pays " + show(q.Sale.Hourly) + " for each hour of work"
}

// handlingMinutes writes the minutes that the channel itself asks of the maker for a garment.
func (q Quote) handlingMinutes(locale string) string {
	minutes, err := q.Sale.Minutes.Sub(q.Garment.Minutes)
	if err != nil {
		return ""
	}
	return minutes.Round(1, money.HalfUp).Format(locale)
}

// aim says what the channel's target asks for.
func (q Quote) aim(locale string) string {
	switch t := q.Target; t.Kind {
	case TargetMarkup:
		if t.Rate.IsZero() {
			return "you want it to pay for itself"
		}
		return "you add " + t.Rate.Format(locale) + " to the cost"
	case TargetMargin:
		return "you want a margin of " + t.Rate.Format(locale)
	case TargetHourly:
		return "you want " + t.Amount.Format(locale) + " for each hour of work"
	case TargetProfit:
		return "you want to keep " + t.Amount.Format(locale) + " more than it costs"
	case TargetWholesale:
		return "you sell at " + t.Multiple.Format(locale) + " × the wholesale price of " + q.Garment.Wholesale.Format(locale)
	}
	return "you want it to pay for itself"
}

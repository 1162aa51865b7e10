package costing

import (
	"strings"

	"yardwright/costing/money"
)

// Why says in one sentence, for a reader of a locale such as en-US, why the price is what it
// is and what it does.
func (q Quote) Why(locale string) string {
	show := func(a money.Amount) string { return a.Format(locale) }
	var text strings.Builder
	text.WriteString(show(q.Price) + " because the garment costs " + show(q.Sale.Cost) + " to make and sell")
	if taken := q.takenTogether(); !taken.IsZero() {
		text.WriteString(", " + show(taken) + " of what the buyer pays goes to " + q.takers())
	}
	text.WriteString(", and " + q.aim(locale))
	switch {
	case q.RaisedToFloor():
		text.WriteString("; that alone would lose money, so the price is raised to the floor of " + show(q.Floor))
		if q.Price != q.Floor {
			text.WriteString(" and up to the next price point")
		}
	case q.Price != q.Wanted:
		text.WriteString("; that needs " + show(q.Wanted) + ", rounded up to the next price point")
	}
	text.WriteString(": it leaves you " + show(q.Sale.Profit) + " and pays " + show(q.Sale.Hourly) + " for each hour of work.")
	return text.String()
}

// takenTogether returns tax, fees, listing and postage; nothing where it can't be added up.
func (q Quote) takenTogether() money.Amount {
	taken, err := q.Sale.Gross.Sub(q.Sale.Kept)
	if err != nil {
		return money.Amount{}
	}
	return taken
}

func (q Quote) takers() string {
	var takers []string
	if !q.Sale.Tax.IsZero() {
		takers = append(takers, "tax")
	}
	for _, part := range q.Sale.Taken {
		name := part.Name
		if name == namePostage || name == namePrompt || name == nameListing {
			name = strings.ToLower(name) // other names are the maker's own and stay as they are
		}
		takers = append(takers, name)
	}
	switch n := len(takers); n {
	case 0:
		return "rounding"
	case 1:
		return takers[0]
	default:
		return strings.Join(takers[:n-1], ", ") + " and " + takers[n-1]
	}
}

// aim says what the channel's target asks for.
func (q Quote) aim(locale string) string {
	switch t := q.Target; t.Kind {
	case TargetMarkup:
		return "you want to keep the cost and " + t.Rate.Format(locale) + " of it on top"
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

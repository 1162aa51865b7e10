package page

import (
	"yardwright/costing"
	"yardwright/costing/money"
)

// MostFees is how many fees a channel may take, and spareRows how many empty rows a form
// offers for more.
const (
	MostFees  = 12
	spareRows = 2
)

// Refill makes the rows of fees anew, with what was typed.
func (c *ChannelEdit) Refill() {
	c.Fees = nil
	rows := len(c.Channel.Settings.Fees) + spareRows
	for row := range MostFees {
		if c.Raw != nil && c.Typed(rowField("fee", row, "name"), "")+c.Typed(rowField("fee", row, "rate"), "")+c.Typed(rowField("fee", row, "fixed"), "") != "" {
			rows = max(rows, row+1)
		}
	}
	for row := range min(rows, MostFees) {
		var fee costing.Fee
		if row < len(c.Channel.Settings.Fees) {
			fee = c.Channel.Settings.Fees[row]
		}
		c.Fees = append(c.Fees, FeeRow{
			Name:  c.TextField(rowField("fee", row, "name"), "Fee", "", fee.Name),
			Rate:  c.ShareField(rowField("fee", row, "rate"), "Share, %", "", fee.Rate.Fraction()),
			On:    c.Choose(rowField("fee", row, "on"), "taken on", "", fee.On, []Option{{Value: "gross", Text: "all that is paid"}, {Value: "net", Text: "that without tax"}}),
			Fixed: c.MoneyField(rowField("fee", row, "fixed"), "and fixed", "", fee.Fixed),
			Per:   c.Choose(rowField("fee", row, "per"), "for each", "", fee.Per, []Option{{Value: "sale", Text: "sale"}, {Value: "item", Text: "garment"}}),
		})
	}
}

// TaxIncluded is how tax stands to the price on the tag.
func (c ChannelEdit) TaxIncluded() string {
	if c.Channel.Settings.Tax.Included {
		return "yes"
	}
	return "no"
}

// YesNo are the two ways of tax.
func (ChannelEdit) YesNo() []Option {
	return []Option{{Value: "yes", Text: "in the price on the tag"}, {Value: "no", Text: "added at the till"}}
}

// Plain writes a number for its box; nothing leaves it empty.
func (Base) Plain(d money.Decimal) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

// PlainInt is Plain for a whole number.
func (Base) PlainInt(n int) string {
	return Base{}.Plain(money.Int(int64(n)))
}

// Quantity writes what a line of a cost sheet pays for. A direct expense is shared, so its
// quantity says nothing to a maker.
func (b Base) Quantity(line *costing.Line) string {
	if line.Kind == costing.ExpenseLine {
		return "shared by " + b.Number(line.Factors[1].Value, 0)
	}
	return b.Number(line.Quantity, 3) + " " + line.Unit
}

// Counted writes what the amount of a line is counted from: 0.25 yd × $9.40 per yd.
func (b Base) Counted(line *costing.Line) string {
	if line.Kind == costing.ExpenseLine {
		return b.ExactMoney(line.Price) + " ÷ " + b.Number(line.Factors[1].Value, 0)
	}
	text := b.Fine(line.Quantity) + " " + line.Unit + " × " + b.ExactMoney(line.Price)
	if line.PriceUnit != "" {
		text += " per " + line.PriceUnit
	}
	return text
}

// KindOf writes what a line of a cost sheet pays for.
func (b Base) KindOf(line *costing.Line) string {
	if line.Kind == costing.ExpenseLine {
		return "direct expense"
	}
	return line.Kind.String()
}

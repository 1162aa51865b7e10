package page

import (
	"fmt"
	"time"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// MostFees is how many fees a channel may take, and spareRows how many empty rows a form
// offers for more.
const (
	MostFees  = 12
	spareRows = 2
)

// ChannelEdit is the page of a channel.
type ChannelEdit struct {
	Base
	Channel store.Channel
}

func (ChannelEdit) page() string { return "channel_edit" }

var channelKinds = []Option{
	{Value: "fair", Text: "fair: you sell face to face"}, {Value: "shop", Text: "shop: buys from you and sells on (wholesale)"}, {Value: "online", Text: "online: you send parcels"},
}

var channelTargets = []Option{
	{Value: "mark-up", Text: "cost plus a percentage of it (mark-up)"},
	{Value: "margin", Text: "a percentage of the price as profit (margin)"},
	{Value: "hourly", Text: "an amount for each hour worked"},
	{Value: "profit", Text: "an amount on top of the cost"},
	{Value: "wholesale", Text: "a multiple of the price to shops (2 is keystone)"},
	{Value: "cost", Text: "just pays for itself"},
}

// Form is the form of the channel: a row for each line of its sections, and the fees as a list.
func (v ChannelEdit) Form() Form {
	c := v.Channel.Settings
	page, action := placesOf("/workshop/channels", v.Channel.ID)
	included := "no"
	if c.Tax.Included {
		included = "yes"
	}
	return v.Base.Form(page, action, v.Channel.Version,
		[]Field{v.TextField("name", "Name", "", c.Name), v.Choose("kind", "What it is", "", c.Kind, channelKinds)},
		[]Field{
			v.Choose("target", "Aim", "", c.Target.Kind, channelTargets),
			v.NumberField("target_value", "Amount", "a percentage, an amount, or times", targetValue(c.Target)),
		},
		[]Field{
			v.NumberField("price_step", "Prices go up in steps of", "empty: any price", v.Plain(c.PricePoint.Step)),
			v.NumberField("price_ending", "and end in", "such as 0.95", v.Plain(c.PricePoint.Ending)),
		},
		[]Field{
			v.MoneyField("listing_fee", "Listing fee", "to show one until it is sold", c.Listing.Fee),
			v.NumberField("listings", "Listings until one is sold", "renewals too", v.Plain(c.Listing.PerItem)),
			v.NumberField("items_per_sale", "Garments in a usual sale", "", v.Plain(c.ItemsPerSale)),
			v.NumberField("handling_minutes", "Extra minutes a garment", "pictures, parcels", v.Plain(c.HandlingMinutes)),
		},
		[]Field{
			v.NumberField("stall_hours", "Hours of a day, all hands", "packing, the way, selling", v.Plain(c.Stall.Hours)),
			v.NumberField("stall_sales", "Garments sold on a usual day", "", v.Plain(c.Stall.Sales)),
		},
		[]Field{
			v.MoneyField("postage_cost", "Postage that you pay", "parcel and all", c.Postage.Cost),
			v.MoneyField("postage_charged", "Postage that the buyer pays", "on top of the price", c.Postage.Charged),
		},
		[]Field{
			v.ShareField("tax", "Sales tax or VAT, %", "empty: none", c.Tax.Rate.Fraction()),
			v.Choose("tax_included", "The tax is", "", included, []Option{{Value: "yes", Text: "in the price on the tag"}, {Value: "no", Text: "added at the till"}}),
		},
		[]Field{
			v.NumberField("days", "Shops pay within, days", "", v.PlainInt(c.Terms.Days)),
			v.ShareField("prompt_discount", "Less if they pay at once, %", "", c.Terms.Discount.Fraction()),
			v.NumberField("prompt_days", "that is within, days", "", v.PlainInt(c.Terms.DiscountDays)),
			v.MoneyField("minimum_order", "Minimum order", "", c.Terms.MinimumOrder),
		},
	).With("fee", v.fees())
}

func (v ChannelEdit) fees() [][]Field {
	list := v.Channel.Settings.Fees
	rows := make([][]Field, v.RowsTyped("fee", len(list)+spareRows, MostFees))
	for row := range rows {
		var fee costing.Fee
		if row < len(list) {
			fee = list[row]
		}
		field := func(part string) string { return rowField("fee", row, part) }
		rows[row] = []Field{
			v.TextField(field("name"), "Fee", "", fee.Name),
			v.ShareField(field("rate"), "Share, %", "", fee.Rate.Fraction()),
			v.Choose(field("on"), "taken on", "", fee.On, []Option{{Value: "gross", Text: "all that is paid"}, {Value: "net", Text: "that without tax"}}),
			v.MoneyField(field("fixed"), "and fixed", "", fee.Fixed),
			v.Choose(field("per"), "for each", "", fee.Per, []Option{{Value: "sale", Text: "sale"}, {Value: "item", Text: "garment"}}),
		}
	}
	return rows
}

func targetValue(t costing.Target) string {
	switch t.Kind {
	case costing.TargetMarkup, costing.TargetMargin:
		return t.Rate.Percent().String()
	case costing.TargetHourly, costing.TargetProfit:
		return t.Amount.Number().String()
	case costing.TargetWholesale:
		return t.Multiple.String()
	}
	return ""
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

// Choices is the page of the choices that sources differ on.
type Choices struct {
	Base
	Settings store.CostSettings
	// Groups are the choices, their options with formulas and what each gives.
	Groups []Field
	// Locales are how money can be written.
	Locales []Option
}

func (Choices) page() string { return "choices" }

// Form is the form of the choices; they are the list "choice".
func (v Choices) Form() Form {
	c := v.Settings
	groups := make([][]Field, len(v.Groups))
	for i, g := range v.Groups {
		groups[i] = []Field{v.RadioField(g.Name, g.Label, g.Hint, g.Saved, g.Options)}
	}
	return v.Base.Form("/workshop/choices", "/workshop/choices", c.Version, []Field{
		v.ShareField("allowance", "Usual allowance of a time study, %", "", c.Allowance),
		v.ShareField("learning_rate", "Each time the count doubles, one takes … % of the time", "100 is no learning", c.LearningRate),
		v.ShareField("holding", "Keeping a garment for a year costs, % of its cost", "money tied up, room, what goes out of fashion", c.Holding),
		v.NumberField("mix_months", "Sizes of a usual batch follow the orders of the last, months", "", c.MixMonths),
		v.Choose("locale", "How money is written", "", v.Locale, v.Locales),
	}).With("choice", groups)
}

// Year is the page of what the overhead of a year is made up of.
type Year struct {
	Base
	Settings store.CostSettings
	Costs    []store.YearCost
	Rate     costing.OverheadRate
	// Now has the hours of the year.
	Now store.Workshop
	// Unpaid says who pays the hours that make no garment; where the overhead does, UnpaidCost is what
	// they cost in a year, and UnpaidEach what each productive hour bears of it.
	Unpaid                 costing.UnpaidRule
	UnpaidCost, UnpaidEach money.Amount
}

func (Year) page() string { return "year" }

// spareCosts is how many empty rows the form of a year offers, and MostCosts how many it takes.
const (
	spareCosts = 3
	MostCosts  = 40
)

var unpaidRules = []Option{
	{Value: costing.UnpaidInOverhead.String(), Text: "garments pay them, as overhead"},
	{Value: costing.UnpaidFromProfit.String(), Text: "profit pays them"},
}

// Form is the form of the year: the minutes of its weekdays, its hours, and the list "cost".
func (v Year) Form() Form {
	days := make([]Field, 0, 7)
	for day := time.Sunday; day <= time.Saturday; day++ {
		days = append(days, v.WholeField(fmt.Sprintf("day.%d", day), day.String(), "", v.Now.DayMinutes[day]))
	}
	return v.Base.Form("/workshop/year", "/workshop/year", v.Settings.Version, days, []Field{
		v.NumberField("weeks", "Weeks worked in a year", "", v.Settings.YearWeeks),
		v.NumberField("people", "People", "", v.Settings.YearPeople),
		v.ShareField("productive", "Of that spent making, %", "the rest is buying, selling, books", v.Settings.YearProductive),
		v.Choose("unpaid_hours", "The other hours", "", v.Settings.UnpaidHours, unpaidRules),
	}).With("cost", v.costs())
}

func (v Year) costs() [][]Field {
	rows := make([][]Field, v.RowsTyped("cost", len(v.Costs)+spareCosts, MostCosts))
	for row := range rows {
		cost := store.YearCost{Share: money.Int(1), Years: money.Int(1)}
		if row < len(v.Costs) {
			cost = v.Costs[row]
		}
		field := func(part string) string { return rowField("cost", row, part) }
		rows[row] = []Field{
			v.TextField(field("name"), "What for", "", cost.Name), v.NumberField(field("amount"), "Amount", "", v.Plain(cost.Amount)),
			v.NumberField(field("years"), "Lasts, years", "", cost.Years), v.ShareField(field("share"), "Your workshop's part, %", "", cost.Share),
		}
	}
	return rows
}

// Yearly is what a cost of the list comes to in a year; empty where there is none yet.
func (v Year) Yearly(row int) string {
	if row >= len(v.Rate.Yearly) || v.Rate.Yearly[row].Sign() == 0 {
		return ""
	}
	return v.Money(v.Rate.Yearly[row])
}

// Formula is how the overhead is worked out.
func (Year) Formula() string { return costing.OverheadFormula }

// InOverhead reports whether garments pay the unpaid hours.
func (v Year) InOverhead() bool { return v.Unpaid == costing.UnpaidInOverhead }

// UnpaidHours are those of the year that make no garment.
func (v Year) UnpaidHours() (money.Decimal, error) {
	return v.Now.HoursWorked.Sub(v.Now.ProductiveHours)
}

// ProductiveRate is the share of the hours worked that makes garments.
func (v Year) ProductiveRate() string { return money.Fraction(v.Now.Productive).Format(v.Locale) }

// ClothValue is the cloth on the shelf, valued.
type ClothValue struct {
	Base
	Values    []workshop.ClothValue
	Total     money.Amount
	Valuation costing.Valuation
}

func (ClothValue) page() string { return "cloth_value" }

// Form is the form of the bolts: a row for each, of when it was bought and what it would fetch.
func (v ClothValue) Form() Form {
	var rows [][]Field
	var costs []store.BoltCost
	for _, cloth := range v.Values {
		for _, b := range cloth.Bolts {
			bought := time.Time{}
			if b.BoughtOn != nil {
				bought = *b.BoughtOn
			}
			day := v.DayField(fmt.Sprintf("bought.%d", b.Bolt.ID), "Bolt "+b.Bolt.Name+" was bought on", "", bought)
			worth := v.NumberField(fmt.Sprintf("worth.%d", b.Bolt.ID), "Bolt "+b.Bolt.Name+" would fetch a "+cloth.Stock.Unit, "", v.OwnCoins(b.Worth))
			day.Class, worth.Class = "short", "minutes"
			rows = append(rows, []Field{day, worth})
			costs = append(costs, store.BoltCost{BoltID: b.Bolt.ID, BoughtOn: b.BoughtOn, Worth: b.Worth})
		}
	}
	return v.Base.Form("/prices/cloth", "/prices/cloth", store.ContentVersion(costs), rows...)
}

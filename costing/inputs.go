package costing

import (
	"slices"

	"yardwright/costing/money"
)

// Inputs is everything that the cost sheet of one garment in one size is made from.
type Inputs struct {
	Style     string         `json:"style"`
	Colourway string         `json:"colourway"`
	Size      string         `json:"size"`
	Currency  money.Currency `json:"currency"`
	// Garments is how many are made together: what is done once per batch is shared over them.
	Garments   money.Decimal `json:"garments"`
	Cloths     []Cloth       `json:"cloths"`
	Notions    []Notion      `json:"notions"`
	Operations []Operation   `json:"operations"`
	// Expenses are direct costs that are neither material nor labour: duty, a bought-in
	// print, the grading of a new pattern.
	Expenses []Expense `json:"expenses"`
	// Packing is what goes out with the garment: bag, hang tag, tissue.
	Packing []Notion `json:"packing"`
	// Wage is paid per hour, for operations without a wage of their own.
	Wage money.Amount `json:"wage"`
	// Efficiency is standard minutes ÷ minutes paid; 0 means 100 %.
	Efficiency money.Rate `json:"efficiency"`
	// Learning makes the steps that learn shorter the more garments are made together.
	Learning Learned `json:"learning"`
	// Overhead is charged per hour paid, see OverheadRate.
	Overhead money.Amount `json:"overhead"`
	// Productive is the share of the hours worked that make garments; 0 means all of them. Who pays
	// the others says Settings.Unpaid.
	Productive money.Rate `json:"productive"`
	Settings   Settings   `json:"settings"`
}

// Cloth is the use of one cloth in one garment.
type Cloth struct {
	// Role is what the cloth does in the style: body, band, pocket, lining.
	Role string `json:"role"`
	Name string `json:"name"`
	// Length is the garment's share of the marker's length, by area, in Unit.
	Length money.Decimal `json:"length"`
	// EndsAndLosses is its share of end loss and other losses of the lays, in Unit.
	EndsAndLosses money.Decimal `json:"ends_and_losses"`
	// Unit is the unit of both lengths and of the price, such as yd or m.
	Unit  string      `json:"unit"`
	Price LandedPrice `json:"price"`
	// Wastage covers what the lays don't know of: flaws, mis-cuts. See Settings.Wastage.
	Wastage money.Rate `json:"wastage"`
}

// Notion is the use in one garment of what is not cloth: elastic, thread, a label, a bag.
type Notion struct {
	Name     string        `json:"name"`
	Quantity money.Decimal `json:"quantity"`
	// Unit is the unit of the quantity and of the price, such as pc or m.
	Unit    string      `json:"unit"`
	Price   LandedPrice `json:"price"`
	Wastage money.Rate  `json:"wastage"`
}

// Operation is one step of making, in standard minutes.
type Operation struct {
	Name string `json:"name"`
	// Stage is the part of the work that it belongs to, such as sew; it changes no amount.
	Stage string `json:"stage,omitempty"`
	// SetUp is spent once per batch.
	SetUp money.Decimal `json:"set_up"`
	// Run is spent on each garment.
	Run money.Decimal `json:"run"`
	// Wage is paid per hour for this step; nothing means Inputs.Wage.
	Wage money.Amount `json:"wage"`
	// Learns tells whether Inputs.Learning makes Run shorter: sewing does, cutting by lays
	// doesn't.
	Learns bool `json:"learns,omitempty"`
	// Worked tells that SetUp and Run are minutes as they were worked, not standard minutes:
	// they are paid as they are, whatever the efficiency.
	Worked bool `json:"worked,omitempty"`
}

// Expense is a direct cost that is shared by some garments.
type Expense struct {
	Name   string       `json:"name"`
	Amount money.Amount `json:"amount"`
	// Garments is how many share it; 0 means that one garment bears it.
	Garments money.Decimal `json:"garments"`
	// PerBatch tells that it is paid anew for every batch: Inputs.Garments share it instead.
	PerBatch bool `json:"per_batch,omitempty"`
}

// Check returns everything that keeps a cost sheet from being made, as InputErrors, or nil.
func (in Inputs) Check() error {
	var c checker
	if in.Currency.IsZero() {
		c.fail("currency", "is missing: choose the currency of the workshop")
	}
	c.positive("garments", in.Garments)
	c.price("wage", in.Wage, in.Currency)
	c.price("overhead", in.Overhead, in.Currency)
	c.addition("efficiency", in.Efficiency)
	if in.Productive.Sign() < 0 || one.Less(in.Productive.Fraction()) {
		c.fail("productive", "must be from 0 %% to 100 %%, but is %s", written(in.Productive))
	}
	in.Learning.check(&c, in.Garments)
	in.Settings.check(&c)
	for i := range in.Cloths {
		f := &in.Cloths[i]
		c.enter("cloths", i)
		c.notNegative("length", f.Length)
		c.notNegative("ends_and_losses", f.EndsAndLosses)
		c.landed(&f.Price, in.Currency)
		c.wastage("wastage", f.Wastage, in.Settings.Wastage)
	}
	in.checkNotions(&c, "notions", in.Notions)
	in.checkNotions(&c, "packing", in.Packing)
	for i := range in.Operations {
		o := &in.Operations[i]
		c.enter("operations", i)
		c.notNegative("set_up", o.SetUp)
		c.notNegative("run", o.Run)
		c.price("wage", o.Wage, in.Currency)
	}
	for i := range in.Expenses {
		e := &in.Expenses[i]
		c.enter("expenses", i)
		c.price("amount", e.Amount, in.Currency)
		c.notNegative("garments", e.Garments)
	}
	return c.err()
}

func (in *Inputs) checkNotions(c *checker, list string, notions []Notion) {
	for i := range notions {
		n := &notions[i]
		c.enter(list, i)
		c.notNegative("quantity", n.Quantity)
		c.landed(&n.Price, in.Currency)
		c.wastage("wastage", n.Wastage, in.Settings.Wastage)
	}
}

// clone returns inputs that share no list with in.
func (in Inputs) clone() Inputs {
	in.Cloths = slices.Clone(in.Cloths)
	in.Notions = slices.Clone(in.Notions)
	in.Operations = slices.Clone(in.Operations)
	in.Expenses = slices.Clone(in.Expenses)
	in.Packing = slices.Clone(in.Packing)
	return in
}

package costing

import "yardwright/costing/money"

// LineKind says what a line of a cost sheet pays for.
type LineKind int

// The kinds of line, in the order of the sheet.
const (
	ClothLine LineKind = iota
	NotionLine
	LabourLine
	ExpenseLine
	OverheadLine
	PackingLine
)

var lineKindNames = []string{"cloth", "notion", "labour", "expense", "overhead", "packing"}

// String returns cloth, notion, labour, expense, overhead or packing.
func (k LineKind) String() string { return nameOf("line kind", lineKindNames, k) }

// MarshalText writes what String writes.
func (k LineKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads what String writes.
func (k *LineKind) UnmarshalText(text []byte) (err error) {
	*k, err = valueNamed[LineKind]("line kind", lineKindNames, string(text))
	return err
}

// Factor is one number that a line was computed from.
type Factor struct {
	Name string `json:"name"`
	// Field is its path in Inputs, with [] where Line.Index goes: cloths[].length, wage.
	Field string        `json:"field"`
	Value money.Decimal `json:"value"`
	// Unit is the unit of the value; where Currency is set the value is money per Unit.
	Unit     string         `json:"unit"`
	Currency money.Currency `json:"currency"`
}

// Line is one line of a cost sheet: Amount = Quantity × Price, rounded to the minor unit from
// the exact product.
type Line struct {
	Kind LineKind `json:"kind"`
	// Index is the place of the line's input in its list of Inputs; −1 for overhead, UnpaidIndex for
	// unpaid hours.
	Index int    `json:"index"`
	Label string `json:"label"`
	// Role is the cloth's role, for cloth lines.
	Role string `json:"role"`
	// Quantity is what is paid for in Unit, wastage, set-up and efficiency included.
	Quantity money.Decimal `json:"quantity"`
	Unit     string        `json:"unit"`
	// Price is paid per PriceUnit (per hour for minutes), unrounded.
	Price     money.Amount `json:"price"`
	PriceUnit string       `json:"price_unit"`
	Amount    money.Amount `json:"amount"`
	// Formula says how Factors make Amount.
	Formula string   `json:"formula"`
	Factors []Factor `json:"factors"`
}

// Formulas of the lines, as they are shown beside the amounts.
const (
	formulaClothAdded  = "(length + ends and losses) × (1 + wastage) × landed price"
	formulaClothShare  = "(length + ends and losses) ÷ (1 − wastage) × landed price"
	formulaNotionAdded = "quantity × (1 + wastage) × landed price"
	formulaNotionShare = "quantity ÷ (1 − wastage) × landed price"
	formulaLabour      = "(minutes per garment + set-up minutes ÷ garments) ÷ efficiency × wage per hour ÷ 60"
	formulaLearned     = "(minutes per garment × share left by learning + set-up minutes ÷ garments) ÷ efficiency × wage per hour ÷ 60"
	formulaWorked      = "minutes worked on a garment × wage per hour ÷ 60"
	formulaExpense     = "amount ÷ garments that share it"
	formulaOverhead    = "minutes paid ÷ 60 × overhead per hour"
	formulaUnpaid      = "minutes paid × (100 % ÷ productive share − 1) ÷ 60 × wage per hour"
	unitMinutes        = "min"
	unitHour           = "h"
	unitGarments       = "garments"
	unitPercent        = "%"
)

// Sheet is the cost sheet of one garment in one size. Every total is the sum of its rounded
// lines.
type Sheet struct {
	Inputs Inputs `json:"inputs"`
	Lines  []Line `json:"lines"`
	// Materials is cloth and notions.
	Materials money.Amount `json:"materials"`
	Labour    money.Amount `json:"labour"`
	Expenses  money.Amount `json:"expenses"`
	// PrimeCost is materials, labour and direct expenses.
	PrimeCost money.Amount `json:"prime_cost"`
	Overhead  money.Amount `json:"overhead"`
	// Unpaid is the part of the overhead that pays the maker's unpaid hours.
	Unpaid money.Amount `json:"unpaid"`
	// ProductionCost is prime cost and overhead.
	ProductionCost money.Amount `json:"production_cost"`
	Packing        money.Amount `json:"packing"`
	// Total is production cost and packing: what the garment costs, ready to sell.
	Total money.Amount `json:"total"`
	// MinutesPaid is run and set-up share as paid: standard minutes ÷ efficiency, and minutes
	// worked. StandardMinutes is that × efficiency.
	StandardMinutes money.Decimal `json:"standard_minutes"`
	MinutesPaid     money.Decimal `json:"minutes_paid"`
	// MinutesWorked is MinutesPaid with the unpaid minutes that go with them.
	MinutesWorked money.Decimal `json:"minutes_worked"`
}

// NewSheet makes the cost sheet of one garment. It fails with InputErrors where Inputs.Check
// does, and with money's errors where an amount is too large.
func NewSheet(in Inputs) (Sheet, error) {
	if err := in.Check(); err != nil {
		return Sheet{}, err
	}
	in = in.clone()
	s := sheetMaker{in: &in}
	s.lines = make([]Line, 0, len(in.Cloths)+len(in.Notions)+len(in.Operations)+len(in.Expenses)+len(in.Packing)+1)
	for i := range in.Cloths {
		s.cloth(i)
	}
	s.notions(NotionLine, in.Notions)
	var err error
	if s.learnt, err = in.Learning.Share(wholeRun(in.Garments)); err != nil {
		return Sheet{}, err
	}
	for i := range in.Operations {
		s.operation(i)
	}
	for i := range in.Expenses {
		s.expense(i)
	}
	s.overhead()
	s.unpaid()
	s.notions(PackingLine, in.Packing)
	sheet := s.totals()
	return sheet, s.err
}

// sheetMaker builds one sheet.
type sheetMaker struct {
	calc
	in    *Inputs
	lines []Line
	// learnt is the share of the minutes that steps which learn take on average.
	learnt money.Decimal
	// batchMinutes is what the whole batch takes × efficiency: standard minutes as they are, and
	// minutes worked at the pace that they were worked at.
	batchMinutes money.Decimal
}

// materialFields are the paths of the inputs of a line for something bought.
type materialFields struct {
	quantity, ends, wastage, list, units, discount, freight, tax string
}

func fieldsIn(list, quantity string) materialFields {
	at := list + "[]."
	return materialFields{
		quantity: at + quantity, ends: at + "ends_and_losses", wastage: at + "wastage",
		list: at + "price.list", units: at + "price.for", discount: at + "price.discount",
		freight: at + "price.freight", tax: at + "price.tax",
	}
}

var fieldsOf = map[LineKind]materialFields{
	ClothLine:   fieldsIn("cloths", "length"),
	NotionLine:  fieldsIn("notions", "quantity"),
	PackingLine: fieldsIn("packing", "quantity"),
}

// material returns a line, but for its label, for a quantity of something bought.
func (s *sheetMaker) material(kind LineKind, index int, quantity money.Decimal, unit string, price *LandedPrice, wastage money.Rate) Line {
	numerator, denominator := s.in.Settings.Wastage.factors(&s.calc, wastage)
	needed := s.mul(quantity, numerator)
	whole, units := price.whole(&s.calc), orOne(price.For)
	line := Line{
		Kind: kind, Index: index, Unit: unit, PriceUnit: unit,
		Quantity: s.div(needed, denominator),
		Price:    s.over(whole, units),
		Amount:   s.overRounded(s.times(whole, needed), s.mul(denominator, units), s.in.Settings.Rounding),
		Formula:  formulaNotionAdded,
	}
	switch share := s.in.Settings.Wastage == WastageShare; {
	case kind == ClothLine && share:
		line.Formula = formulaClothShare
	case kind == ClothLine:
		line.Formula = formulaClothAdded
	case share:
		line.Formula = formulaNotionShare
	}
	return line
}

func (s *sheetMaker) cloth(i int) {
	f := &s.in.Cloths[i]
	fields := fieldsOf[ClothLine]
	line := s.material(ClothLine, i, s.add(f.Length, f.EndsAndLosses), f.Unit, &f.Price, f.Wastage)
	line.Label, line.Role = f.Name, f.Role
	line.Factors = append(make([]Factor, 0, 8),
		Factor{Name: "length", Field: fields.quantity, Value: f.Length, Unit: f.Unit},
		Factor{Name: "ends and losses", Field: fields.ends, Value: f.EndsAndLosses, Unit: f.Unit},
		Factor{Name: "wastage", Field: fields.wastage, Value: f.Wastage.Percent(), Unit: unitPercent})
	line.Factors = s.priceFactors(line.Factors, fields, &f.Price, f.Unit)
	s.lines = append(s.lines, line)
}

func (s *sheetMaker) notions(kind LineKind, notions []Notion) {
	fields := fieldsOf[kind]
	for i := range notions {
		n := &notions[i]
		line := s.material(kind, i, n.Quantity, n.Unit, &n.Price, n.Wastage)
		line.Label = n.Name
		line.Factors = append(make([]Factor, 0, 7),
			Factor{Name: "quantity", Field: fields.quantity, Value: n.Quantity, Unit: n.Unit},
			Factor{Name: "wastage", Field: fields.wastage, Value: n.Wastage.Percent(), Unit: unitPercent})
		line.Factors = s.priceFactors(line.Factors, fields, &n.Price, n.Unit)
		s.lines = append(s.lines, line)
	}
}

func (s *sheetMaker) priceFactors(factors []Factor, fields materialFields, p *LandedPrice, unit string) []Factor {
	factors = append(factors, Factor{Name: "list price", Field: fields.list, Value: p.List.Number(), Unit: unit, Currency: s.in.Currency})
	if !p.For.IsZero() {
		factors = append(factors, Factor{Name: "units in the price", Field: fields.units, Value: p.For, Unit: unit})
	}
	if !p.Discount.IsZero() {
		factors = append(factors, Factor{Name: "discount", Field: fields.discount, Value: p.Discount.Percent(), Unit: unitPercent})
	}
	if !p.Freight.IsZero() {
		factors = append(factors, Factor{Name: "freight", Field: fields.freight, Value: p.Freight.Number(), Unit: unit, Currency: s.in.Currency})
	}
	if !p.Tax.IsZero() {
		factors = append(factors, Factor{Name: "tax not claimed back", Field: fields.tax, Value: p.Tax.Percent(), Unit: unitPercent})
	}
	return factors
}

// efficiency returns the share of paid time that is standard time.
func (in *Inputs) efficiency() money.Rate {
	if in.Efficiency.IsZero() {
		return money.Fraction(one)
	}
	return in.Efficiency
}

func (s *sheetMaker) operation(i int) {
	o := &s.in.Operations[i]
	wage, wageField := o.Wage, "operations[].wage"
	if wage == (money.Amount{}) {
		wage, wageField = s.in.Wage, "wage"
	}
	learns := o.Learns && s.in.Learning.On()
	run := o.Run
	if learns {
		run = s.mul(run, s.learnt)
	}
	ofBatch, efficiency := s.add(s.mul(run, s.in.Garments), o.SetUp), s.in.efficiency().Fraction()
	standard := ofBatch
	if o.Worked {
		standard, efficiency = s.mul(ofBatch, efficiency), one
	}
	s.batchMinutes = s.add(s.batchMinutes, standard)
	paid := s.mul(s.in.Garments, efficiency)
	line := Line{
		Kind: LabourLine, Index: i, Label: o.Name,
		Quantity: s.div(ofBatch, paid), Unit: unitMinutes,
		Price: wage, PriceUnit: unitHour,
		Amount:  s.overRounded(s.times(wage, ofBatch), s.mul(paid, sixty), s.in.Settings.Rounding),
		Formula: formulaLabour,
		Factors: make([]Factor, 0, labourFactors),
	}
	if learns {
		line.Factors = make([]Factor, 0, labourFactors+1)
	}
	minutes := Factor{Name: "minutes per garment", Field: "operations[].run", Value: o.Run, Unit: unitMinutes}
	switch {
	case o.Worked:
		line.Formula, minutes.Name = formulaWorked, "minutes worked on a garment"
		line.Factors = append(line.Factors, minutes)
		if !o.SetUp.IsZero() {
			line.Formula = formulaLabour
			line.Factors = append(line.Factors, s.setUpFactors(o)...)
		}
	case learns:
		line.Formula = formulaLearned
		line.Factors = append(append(line.Factors, minutes,
			Factor{Name: "share left by learning", Field: "learning", Value: s.learnt}), s.setUpFactors(o)...)
	default:
		line.Factors = append(append(line.Factors, minutes), s.setUpFactors(o)...)
	}
	if !o.Worked {
		line.Factors = append(line.Factors, Factor{Name: "efficiency", Field: "efficiency", Value: s.in.efficiency().Percent(), Unit: unitPercent})
	}
	line.Factors = append(line.Factors, Factor{Name: "wage", Field: wageField, Value: wage.Number(), Unit: unitHour, Currency: s.in.Currency})
	s.lines = append(s.lines, line)
}

// labourFactors is how many numbers a step without learning has.
const labourFactors = 5

func (s *sheetMaker) setUpFactors(o *Operation) []Factor {
	return []Factor{
		{Name: "set-up minutes", Field: "operations[].set_up", Value: o.SetUp, Unit: unitMinutes},
		{Name: "garments in the batch", Field: "garments", Value: s.in.Garments, Unit: unitGarments},
	}
}

func (s *sheetMaker) expense(i int) {
	e := &s.in.Expenses[i]
	garments, shared := orOne(e.Garments), Factor{Name: "garments that share it", Field: "expenses[].garments", Unit: unitGarments}
	if e.PerBatch {
		garments, shared.Name, shared.Field = s.in.Garments, "garments in the batch", "garments"
	}
	shared.Value = garments
	s.lines = append(s.lines, Line{
		Kind: ExpenseLine, Index: i, Label: e.Name,
		Quantity: s.div(one, garments), Price: e.Amount,
		Amount:  s.overRounded(e.Amount, garments, s.in.Settings.Rounding),
		Formula: formulaExpense,
		Factors: []Factor{
			{Name: "amount", Field: "expenses[].amount", Value: e.Amount.Number(), Currency: s.in.Currency},
			shared,
		},
	})
}

func (s *sheetMaker) overhead() {
	if s.in.Overhead.IsZero() {
		return
	}
	paid := s.mul(s.in.Garments, s.in.efficiency().Fraction())
	minutes := s.div(s.batchMinutes, paid)
	s.lines = append(s.lines, Line{
		Kind: OverheadLine, Index: -1, Label: "Overhead",
		Quantity: minutes, Unit: unitMinutes,
		Price: s.in.Overhead, PriceUnit: unitHour,
		Amount:  s.overRounded(s.times(s.in.Overhead, s.batchMinutes), s.mul(paid, sixty), s.in.Settings.Rounding),
		Formula: formulaOverhead,
		Factors: []Factor{
			{Name: "minutes paid", Field: "operations", Value: minutes, Unit: unitMinutes},
			{Name: "overhead", Field: "overhead", Value: s.in.Overhead.Number(), Unit: unitHour, Currency: s.in.Currency},
		},
	})
}

// Label and place of the overhead line that pays unpaid hours.
const (
	UnpaidLabel = "Unpaid hours"
	UnpaidIndex = -2
)

// productive returns the share of the hours worked that make garments.
func (in *Inputs) productive() money.Decimal {
	if in.Productive.IsZero() {
		return one
	}
	return in.Productive.Fraction()
}

// unpaid adds the line of the hours that go with those paid and make no garment.
func (s *sheetMaker) unpaid() {
	share := s.in.productive()
	others := s.sub(one, share)
	if s.in.Settings.Unpaid != UnpaidInOverhead || others.IsZero() || s.in.Wage.IsZero() {
		return
	}
	paid := s.mul(s.in.Garments, s.in.efficiency().Fraction())
	s.lines = append(s.lines, Line{
		Kind: OverheadLine, Index: UnpaidIndex, Label: UnpaidLabel,
		Quantity: s.div(s.mul(s.batchMinutes, others), s.mul(paid, share)), Unit: unitMinutes,
		Price: s.in.Wage, PriceUnit: unitHour,
		Amount:  s.overRounded(s.times(s.in.Wage, s.mul(s.batchMinutes, others)), s.mul(s.mul(paid, share), sixty), s.in.Settings.Rounding),
		Formula: formulaUnpaid,
		Factors: []Factor{
			{Name: "minutes paid", Field: "operations", Value: s.div(s.batchMinutes, paid), Unit: unitMinutes},
			{Name: "productive share", Field: "productive", Value: s.in.Productive.Percent(), Unit: unitPercent},
			{Name: "wage", Field: "wage", Value: s.in.Wage.Number(), Unit: unitHour, Currency: s.in.Currency},
		},
	})
}

func (s *sheetMaker) totals() Sheet {
	var byKind [PackingLine + 1]money.Amount
	for i := range byKind {
		byKind[i] = s.in.Currency.Zero()
	}
	for i := range s.lines {
		line := &s.lines[i]
		byKind[line.Kind] = s.plus(byKind[line.Kind], line.Amount)
	}
	sheet := Sheet{
		Inputs: *s.in, Lines: s.lines,
		Materials: s.plus(byKind[ClothLine], byKind[NotionLine]),
		Labour:    byKind[LabourLine], Expenses: byKind[ExpenseLine],
		Overhead: byKind[OverheadLine], Packing: byKind[PackingLine], Unpaid: s.in.Currency.Zero(),
	}
	for _, line := range s.lines {
		if line.Index == UnpaidIndex {
			sheet.Unpaid = line.Amount
		}
	}
	sheet.PrimeCost = s.plus(s.plus(sheet.Materials, sheet.Labour), sheet.Expenses)
	sheet.ProductionCost = s.plus(sheet.PrimeCost, sheet.Overhead)
	sheet.Total = s.plus(sheet.ProductionCost, sheet.Packing)
	sheet.StandardMinutes = s.div(s.batchMinutes, s.in.Garments)
	sheet.MinutesPaid = s.div(s.batchMinutes, s.mul(s.in.Garments, s.in.efficiency().Fraction()))
	sheet.MinutesWorked = s.div(s.batchMinutes, s.mul(s.mul(s.in.Garments, s.in.efficiency().Fraction()), s.in.productive()))
	return sheet
}

// Garment returns what pricing needs to know of the sheet.
func (s Sheet) Garment() Garment {
	return Garment{
		Style: s.Inputs.Style, Colourway: s.Inputs.Colourway, Size: s.Inputs.Size,
		Cost: s.Total, Labour: s.OwnPay(), Minutes: s.MinutesWorked, Wage: s.Inputs.Wage,
	}
}

// OwnPay is what of the cost pays the maker's hours: labour, and her unpaid hours where the overhead
// pays them.
func (s Sheet) OwnPay() money.Amount {
	pay, err := s.Labour.Add(s.Unpaid)
	if err != nil { // both are parts of Total, in its currency
		return s.Labour
	}
	return pay
}

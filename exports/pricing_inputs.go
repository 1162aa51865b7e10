package exports

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"yardwright/costing"
	"yardwright/costing/money"
)

// materialKey tells materials apart that need rows of their own: the same cloth at two prices
// is two rows.
type materialKey struct {
	packing    bool
	name, unit string
	price      costing.LandedPrice
	wastage    money.Rate
}

// materialNames are the named cells of a material.
type materialNames struct{ price, wastage string }

// operationKey tells operations apart: the styles that share a row share its minutes.
type operationKey struct {
	style, name, wageName string
	setUp, run            money.Decimal
	wage                  money.Amount
	learns, worked        bool
}

type operationCells struct{ setUp, run, wage string }

type expenseKey struct {
	style, name string
	amount      money.Amount
	garments    money.Decimal
	// batch is the name of the cell that counts the garments of the batch, where they share it.
	batch string
}

type expenseCells struct{ amount, garments string }

// channelCells are the cells of a channel on the sheet Inputs.
type channelCells struct {
	// number counts the channels from 1.
	number int
	names  map[string]string
}

// cell is the name of the cell of an input, such as tax.
func (c channelCells) cell(input string) string {
	name, ok := c.names[input]
	if !ok {
		panic("no channel has an input " + input)
	}
	return name
}

func (p *pricing) writeInputs() {
	p.inputs = p.page("Inputs", column{30, 44}, column{14, 24}, column{14, 18}, column{14, 18}, column{14, 18}, column{12, 16}, column{12, 16}, column{12, 12}, column{14, 14})
	for len(p.inputs.columns) < len(p.channels)+1 {
		p.inputs.columns = append(p.inputs.columns, column{14, 18})
	}
	p.inputs.landscape = true
	p.inputs.titles("Inputs", p.options.Workshop)
	// The tables below have heads of their own, so what to do with the cells is what stays in sight.
	p.inputs.head = p.inputs.wide("Change the framed cells here, and the lengths on the sheet Cost sheet: everything else follows. Each cell has a name that the formulas use.", lookFaint)
	p.inputs.blank()
	for _, write := range []func(){p.writeWorkroom, p.writeMaterials, p.writeLearning, p.writeOperations, p.writeExpenses, p.writeChannels} {
		first := p.inputs.next()
		write()
		if len(p.inputs.rows) >= first {
			p.inputs.keep(first)
		}
	}
}

// inputCell is a number that a maker may change.
func inputCell(value float64, format string) cell {
	return cell{value: value, look: look{format: format, kind: lookInput}}
}

// atLeast lets a cell hold numbers from least on.
func (p *page) atLeast(name string, least float64) {
	message := "Write a number that is not below 0."
	if least > 0 {
		message = fmt.Sprintf("Write %g or more.", least)
	}
	p.checks = append(p.checks, validation{cell: name, kind: excelize.DataValidationTypeDecimal, operator: excelize.DataValidationOperatorGreaterThanOrEqual, least: least, message: message})
}

// notBelowZero lets cells hold numbers from 0 on.
func notBelowZero(cells string) validation {
	return validation{cell: cells, kind: excelize.DataValidationTypeDecimal, operator: excelize.DataValidationOperatorGreaterThanOrEqual, message: "Write a number that is not below 0."}
}

// above lets a cell hold numbers above nothing.
func (p *page) above(name string) {
	p.checks = append(p.checks, validation{cell: name, kind: excelize.DataValidationTypeDecimal, operator: excelize.DataValidationOperatorGreaterThan, message: "Write a number above 0."})
}

// share lets a cell hold shares from nothing to below all.
func (p *page) share(name string) {
	p.checks = append(p.checks, validation{
		cell: name, kind: excelize.DataValidationTypeDecimal, operator: excelize.DataValidationOperatorBetween, least: 0, most: 0.9999, message: "Write a percentage from 0 % to below 100 %.",
	})
}

// between lets a cell hold numbers from least to most.
func (p *page) between(name string, least, most float64) {
	p.checks = append(p.checks, validation{
		cell: name, kind: excelize.DataValidationTypeDecimal, operator: excelize.DataValidationOperatorBetween, least: least, most: most, message: fmt.Sprintf("Write a number from %g to %g.", least, most),
	})
}

// choice lets a cell hold one of some words.
func (p *page) choice(name string, list ...string) {
	p.checks = append(p.checks, validation{cell: name, list: list, message: "Choose one of the list."})
}

func (p *pricing) writeWorkroom() {
	in := p.inputs
	in.wide("Workroom", lookSection)
	one := money.Int(1)
	p.wage = p.scoped("Wage per hour", "wage", p.perUnit(), p.notNegative, func(i int) money.Decimal { return p.given(i).Wage.Number() })
	p.efficiency = p.scoped("Efficiency: standard minutes ÷ minutes paid", "efficiency", rateFormat, p.aboveNothing, func(i int) money.Decimal {
		if p.given(i).Efficiency.IsZero() {
			return one
		}
		return p.given(i).Efficiency.Fraction()
	})
	p.overhead = p.scoped("Overhead per hour paid", "overhead_per_hour", p.perUnit(), p.notNegative, func(i int) money.Decimal { return p.given(i).Overhead.Number() })
	p.productive = p.scoped("Share of the hours worked that makes garments", "productive_share", rateFormat, func(at string) { p.inputs.between(at, 0.0001, 1) }, func(i int) money.Decimal {
		if p.given(i).Productive.IsZero() {
			return one
		}
		return p.given(i).Productive.Fraction()
	})
	p.garments = p.scoped("Garments made together", "batch_size", generalFormat, p.aboveNothing, func(i int) money.Decimal { return p.given(i).Garments })
	in.blank()
}

// notNegative and aboveNothing are what most inputs are checked for.
func (p *pricing) notNegative(at string)  { p.inputs.atLeast(at, 0) }
func (p *pricing) aboveNothing(at string) { p.inputs.above(at) }

// scoped writes an input that all pricings share as one cell; where they don't, as one for each
// style and colourway, or else for each size. It returns the name of each pricing's cell.
func (p *pricing) scoped(label, name, format string, check func(at string), value func(i int) money.Decimal) []string {
	names := make([]string, len(p.priced))
	write := func(label string, belongs func(i int) bool) {
		first, row := -1, p.inputs.next()
		for i := range p.priced {
			if names[i] == "" && belongs(i) {
				if first < 0 {
					first = i
					names[i] = p.name(p.inputs, cellName(2, row), name, "")
				}
				names[i] = names[first]
			}
		}
		p.inputs.body(textCell(label), inputCell(float(value(first)), format), textCell(names[first]).as(lookFaint))
		check(cellName(2, row))
	}
	same := func(belongs func(i int) bool) bool {
		var first *money.Decimal
		for i := range p.priced {
			if !belongs(i) {
				continue
			}
			v := value(i)
			if first == nil {
				first = &v
			} else if *first != v {
				return false
			}
		}
		return true
	}
	all := func(int) bool { return true }
	if same(all) {
		write(label, all)
		return names
	}
	for i := range p.priced {
		if names[i] != "" {
			continue
		}
		group := func(j int) bool { return p.sameGarment(i, j) }
		if same(group) {
			write(label+", "+p.garmentName(i), group)
			continue
		}
		write(label+", "+p.garmentName(i)+", size "+oneLine(p.given(i).Size), func(j int) bool { return j == i })
	}
	return names
}

func (p *pricing) writeMaterials() {
	p.materials = map[materialKey]materialNames{}
	p.materialRows("Cloths", "cloth", func(in *costing.Inputs) []materialKey {
		var keys []materialKey
		for _, c := range in.Cloths {
			keys = append(keys, materialKey{false, c.Name, c.Unit, c.Price, c.Wastage})
		}
		return keys
	})
	p.materialRows("Notions", "notion", func(in *costing.Inputs) []materialKey { return notionKeys(in.Notions, false) })
	p.materialRows("Packing", "packing", func(in *costing.Inputs) []materialKey { return notionKeys(in.Packing, true) })
}

func notionKeys(notions []costing.Notion, packing bool) []materialKey {
	var keys []materialKey
	for _, n := range notions {
		keys = append(keys, materialKey{packing, n.Name, n.Unit, n.Price, n.Wastage})
	}
	return keys
}

func (p *pricing) materialRows(title, prefix string, list func(*costing.Inputs) []materialKey) {
	in := p.inputs
	started := false
	for i := range p.priced {
		for _, key := range list(p.given(i)) {
			if _, done := p.materials[key]; done {
				continue
			}
			if !started {
				started = true
				in.wide(title, lookSection)
				in.headings("Name", "Unit", "List price", "Buys, units", "Discount", "Freight", "Tax not claimed back", "Wastage", "Landed price of a unit")
			}
			p.materials[key] = p.materialRow(prefix+"_"+key.name, key)
		}
	}
	if started {
		in.blank()
	}
}

func (p *pricing) materialRow(name string, key materialKey) materialNames {
	in := p.inputs
	row := in.next()
	at := func(column int) string { return cellName(column, row) }
	units := orOne(key.price.For)
	landed, err := key.price.PerUnit()
	if err != nil {
		landed = money.Amount{} // costing has used the same price before
	}
	in.body(
		textCell(key.name), textCell(key.unit), inputCell(float(key.price.List.Number()), p.perUnit()), inputCell(float(units), quantityFormat),
		inputCell(float(key.price.Discount.Fraction()), rateFormat), inputCell(float(key.price.Freight.Number()), p.perUnit()),
		inputCell(float(key.price.Tax.Fraction()), rateFormat), inputCell(float(key.wastage.Fraction()), rateFormat),
		formulaCell(fmt.Sprintf("(%s*(1-%s)+%s)*(1+%s)/%s", at(3), at(5), at(6), at(7), at(4)), float(landed.Number()), p.perUnit()),
	)
	for _, column := range []int{3, 6, 7} {
		in.atLeast(at(column), 0)
	}
	in.above(at(4))
	in.share(at(5))
	in.share(at(8))
	base := p.name(in, at(9), name, "")
	p.name(in, at(3), base, "_list")
	return materialNames{price: base, wastage: p.name(in, at(8), base, "_wastage")}
}

func (p *pricing) writeOperations() {
	in := p.inputs
	p.operations = map[operationKey]operationCells{}
	started := false
	for i := range p.priced {
		for _, o := range p.given(i).Operations {
			key := p.operationKey(i, o)
			if _, done := p.operations[key]; done {
				continue
			}
			if !started {
				started = true
				in.wide("Operations", lookSection)
				in.headings("Operation", "Style", "Set-up minutes of a batch", "Minutes a garment", "Wage per hour")
			}
			row := in.next()
			wage := formulaCell(p.wage[i], float(p.given(i).Wage.Number()), p.perUnit())
			if o.Wage != (money.Amount{}) {
				wage = cell{value: float(o.Wage.Number()), look: look{format: p.perUnit()}}
			}
			in.body(textCell(o.Name), textCell(p.given(i).Style),
				inputCell(float(o.SetUp), quantityFormat), inputCell(float(o.Run), quantityFormat), wage.as(lookInput))
			for column := 3; column <= 5; column++ {
				in.atLeast(cellName(column, row), 0)
			}
			p.operations[key] = operationCells{in.ref(3, row), in.ref(4, row), in.ref(5, row)}
		}
	}
	if started {
		in.blank()
	}
}

// operationKey is the row of an operation of a pricing.
func (p *pricing) operationKey(i int, o costing.Operation) operationKey {
	return operationKey{style: p.given(i).Style, name: o.Name, wageName: p.wage[i], setUp: o.SetUp, run: o.Run, wage: o.Wage, learns: o.Learns, worked: o.Worked}
}

// ref is a cell of this page as formulas of other pages write it.
func (p *page) ref(column, row int) string { return p.quoted() + fixed(column, row) }

func (p *pricing) writeExpenses() {
	in := p.inputs
	p.expenses = map[expenseKey]expenseCells{}
	started := false
	for i := range p.priced {
		for _, e := range p.given(i).Expenses {
			key := p.expenseKey(i, e)
			if _, done := p.expenses[key]; done {
				continue
			}
			if !started {
				started = true
				in.wide("Direct expenses", lookSection)
				in.headings("Expense", "Style", "Amount", "Garments that share it")
			}
			row := in.next()
			sharers := inputCell(float(key.garments), generalFormat)
			if e.PerBatch {
				sharers = formulaCell(key.batch, float(key.garments), generalFormat)
			} else {
				in.above(cellName(4, row))
			}
			in.body(textCell(e.Name), textCell(key.style), inputCell(float(e.Amount.Number()), p.perUnit()), sharers)
			in.atLeast(cellName(3, row), 0)
			p.expenses[key] = expenseCells{in.ref(3, row), in.ref(4, row)}
		}
	}
	if started {
		in.blank()
	}
}

// expenseKey is the row of an expense of a pricing.
func (p *pricing) expenseKey(i int, e costing.Expense) expenseKey {
	key := expenseKey{style: p.given(i).Style, name: e.Name, amount: e.Amount, garments: orOne(e.Garments)}
	if e.PerBatch {
		key.garments, key.batch = p.given(i).Garments, p.garments[i]
	}
	return key
}

// writeLearning writes the curves over a batch, as soon as one of the pricings learns. The share
// that is left follows the size of the batch.
func (p *pricing) writeLearning() {
	p.learnt = make([]string, len(p.priced))
	learns := false
	for i := range p.priced {
		learns = learns || p.given(i).Learning.On()
	}
	if !learns {
		return
	}
	in := p.inputs
	in.wide("Learning over a batch", lookSection)
	rates := p.scoped("Left of the minutes when the count doubles", "learning_rate", rateFormat, func(at string) { in.between(at, 0.5001, 1) }, func(i int) money.Decimal {
		if learning := p.given(i).Learning; learning.On() {
			return learning.Rate.Fraction()
		}
		return money.Int(1)
	})
	timed := p.scoped("Which garment of a run takes the minutes below", "timed_garment", generalFormat, func(at string) { in.atLeast(at, 1) }, func(i int) money.Decimal {
		return money.Int(max(1, p.given(i).Learning.At))
	})
	type key struct {
		rate, timed, batch string
		model              costing.LearningModel
	}
	shares := map[key]string{}
	for i := range p.priced {
		learning := p.given(i).Learning
		k := key{rates[i], timed[i], p.garments[i], learning.Model}
		if shares[k] == "" {
			row := in.next()
			share, err := learning.Share(max(1, count(p.given(i).Garments)))
			if err != nil {
				share = money.Int(1) // costing has used the same curve before
			}
			shares[k] = p.name(in, cellName(2, row), "learning_share", "")
			in.body(textCell("Share left of the minutes on average, "+learning.Model.String()+" curve"), formulaCell(shareFormula(k.model, k.rate, k.timed, k.batch), float(share), quantityFormat), textCell(shares[k]).as(lookFaint))
		}
		p.learnt[i] = shares[k]
	}
	in.blank()
}

// count is a number of garments as a whole number.
func count(garments money.Decimal) int64 {
	n, _ := garments.Round(0, money.HalfUp).Int64()
	return n
}

// shareFormula is costing.Learned.Share over named cells.
func shareFormula(model costing.LearningModel, rate, timed, batch string) string {
	exponent := fmt.Sprintf("LN(%s)/LN(2)", rate)
	n := fmt.Sprintf("MAX(1,ROUND(%s,0))", batch)
	if model == costing.AverageCurve {
		return fmt.Sprintf("ROUND(%s^(%s)/(%s^(%s+1)-(%s-1)^(%s+1)),6)", n, exponent, timed, exponent, timed, exponent)
	}
	return fmt.Sprintf(`ROUND(SUMPRODUCT(ROW(INDIRECT("A1:A"&%s))^(%s))/%s/%s^(%s),6)`, n, exponent, n, timed, exponent)
}

// Words for what fees are taken on and for.
var (
	feeBaseWords = [...]string{costing.OnGross: "with tax", costing.OnNet: "without tax"}
	feePerWords  = [...]string{costing.PerSale: "sale", costing.PerItem: "garment"}
)

// spareFees is how many empty rows a maker may write further fees into.
const spareFees = 3

func (p *pricing) writeChannels() {
	in := p.inputs
	if len(p.channels) == 0 {
		return
	}
	in.breaks = append(in.breaks, in.next())
	in.wide("Channels", lookSection)
	head := []string{"What a channel takes and is to reach"}
	for i, ch := range p.channels {
		head = append(head, fmt.Sprintf("%d: %s", i+1, oneLine(ch.Name)))
		p.takes = append(p.takes, channelCells{i + 1, map[string]string{}})
	}
	in.headings(head...)
	p.channelInputs()
	fees := p.feeRows()
	p.channelTakes(fees)
}

// channelRow writes one number of all channels and names its cells after kind and input:
// fair_tax, shop_tax, online_tax, and fair_2_tax for a second fair.
func (p *pricing) channelRow(label, input string, value func(channel int) cell) (row int) {
	row = p.inputs.next()
	cells := []cell{textCell(label)}
	counts := map[costing.ChannelKind]int{}
	for i, ch := range p.channels {
		counts[ch.Kind]++
		prefix := ch.Kind.String()
		if counts[ch.Kind] > 1 {
			prefix = fmt.Sprintf("%s_%d", prefix, counts[ch.Kind])
		}
		p.takes[i].names[input] = p.name(p.inputs, cellName(i+2, row), prefix+"_"+input, "")
		cells = append(cells, value(i))
	}
	return p.inputs.body(cells...)
}

// allow sets what the cells of a row of channels may hold.
func (p *pricing) allow(row int, check func(at string)) {
	for i := range p.channels {
		check(cellName(i+2, row))
	}
}

func (p *pricing) channelInputs() {
	in := p.inputs
	positive := func(at string) { in.atLeast(at, 0) }
	from1 := func(at string) { in.atLeast(at, 1) }
	amount := func(label, input string, value func(ch *costing.Channel) money.Decimal) {
		p.allow(p.channelRow(label, input, func(c int) cell { return inputCell(float(value(&p.channels[c])), p.perUnit()) }), positive)
	}
	rate := func(label, input string, check func(string), value func(ch *costing.Channel) money.Rate) {
		p.allow(p.channelRow(label, input, func(c int) cell { return inputCell(float(value(&p.channels[c]).Fraction()), rateFormat) }), check)
	}
	counted := func(label, input string, check func(string), value func(ch *costing.Channel) money.Decimal) {
		p.allow(p.channelRow(label, input, func(c int) cell { return inputCell(float(value(&p.channels[c])), generalFormat) }), check)
	}
	rate("Tax", "tax", positive, func(ch *costing.Channel) money.Rate { return ch.Tax.Rate })
	p.allow(p.channelRow("Is the tax in the price on the tag?", "tax_included", func(c int) cell {
		return textCell(map[bool]string{true: "yes", false: "no"}[p.channels[c].Tax.Included]).aligned("right").as(lookInput)
	}), func(at string) { in.choice(at, "yes", "no") })
	rate("Discount for prompt payment", "prompt_discount", in.share, func(ch *costing.Channel) money.Rate { return ch.Terms.Discount })
	amount("Listing fee", "listing_fee", func(ch *costing.Channel) money.Decimal { return ch.Listing.Fee.Number() })
	counted("Listings until one is sold", "listings", positive, func(ch *costing.Channel) money.Decimal { return orOne(ch.Listing.PerItem) })
	amount("Postage that you pay, a sale", "postage_cost", func(ch *costing.Channel) money.Decimal { return ch.Postage.Cost.Number() })
	amount("Postage that the buyer pays, a sale", "postage_charged", func(ch *costing.Channel) money.Decimal { return ch.Postage.Charged.Number() })
	counted("Garments in a usual sale", "garments_per_sale", from1, func(ch *costing.Channel) money.Decimal { return orOne(ch.ItemsPerSale) })
	counted("Handling minutes a garment, with its share of a day at the stall", "handling_minutes", positive, func(ch *costing.Channel) money.Decimal {
		minutes, err := ch.MinutesEach()
		if err != nil {
			return ch.HandlingMinutes
		}
		return minutes
	})
	row := p.channelRow("Target", "target", func(c int) cell { return textCell(p.channels[c].Target.Kind.String()).aligned("right").as(lookInput) })
	for c := range p.channels {
		in.choice(cellName(c+2, row), p.targetsOf(c)...)
	}
	rate("… as a percentage, for mark-up and margin", "target_rate", positive, func(ch *costing.Channel) money.Rate { return ch.Target.Rate })
	amount("… as money, for hourly and profit", "target_amount", func(ch *costing.Channel) money.Decimal { return ch.Target.Amount.Number() })
	counted("… as a multiple, for wholesale", "target_multiple", positive, func(ch *costing.Channel) money.Decimal { return ch.Target.Multiple })
	amount("Prices go up in steps of (0: any price)", "price_step", func(ch *costing.Channel) money.Decimal { return ch.PricePoint.Step })
	amount("… and end in", "price_ending", func(ch *costing.Channel) money.Decimal { return ch.PricePoint.Ending })
	in.blank()
}

// orOne reads a count whose zero value stands for one.
func orOne(d money.Decimal) money.Decimal {
	if d.IsZero() {
		return money.Int(1)
	}
	return d
}

// firstShop is the channel whose price is the wholesale price; −1 if there is none.
func (p *pricing) firstShop() int {
	for i, ch := range p.channels {
		if ch.Kind == costing.Shop {
			return i
		}
	}
	return -1
}

// targetsOf lists the targets that a channel can have: a multiple of the wholesale price needs
// a shop before it.
func (p *pricing) targetsOf(channel int) []string {
	var list []string
	for k := costing.TargetCost; k <= costing.TargetWholesale; k++ {
		if k == costing.TargetWholesale && (p.firstShop() < 0 || p.firstShop() == channel) {
			continue
		}
		list = append(list, k.String())
	}
	return list
}

// feeTable are the columns of the fees, for formulas.
type feeTable struct{ channel, share, on, fixed, per string }

func (p *pricing) feeRows() feeTable {
	in := p.inputs
	in.wide("Fees of the channels", lookSection)
	in.headings("Fee", "Number of the channel", "Share", "Taken on the price", "Fixed", "Fixed for each")
	first := in.next()
	row := func(name string, channel any, share float64, on string, fixedFee float64, per string) {
		at := in.next()
		in.add(cell{value: name, look: look{kind: lookInput, wrap: true}}, cell{value: channel, look: look{kind: lookInput, format: wholeFormat}}, inputCell(share, rateFormat),
			textCell(on).aligned("center").as(lookInput), inputCell(fixedFee, p.perUnit()), textCell(per).aligned("center").as(lookInput))
		numbers := make([]string, len(p.channels))
		for i := range p.channels {
			numbers[i] = fmt.Sprint(i + 1)
		}
		in.choice(cellName(2, at), numbers...)
		in.share(cellName(3, at))
		in.choice(cellName(4, at), feeBaseWords[:]...)
		in.atLeast(cellName(5, at), 0)
		in.choice(cellName(6, at), feePerWords[:]...)
	}
	for i := range p.channels {
		for _, fee := range p.channels[i].Fees {
			row(fee.Name, i+1, float(fee.Rate.Fraction()), feeBaseWords[fee.On], float(fee.Fixed.Number()), feePerWords[fee.Per])
		}
	}
	for range spareFees {
		row("", nil, 0, feeBaseWords[0], 0, feePerWords[0])
	}
	last := in.next() - 1
	in.blank()
	whole := func(column int) string { return fixed(column, first) + ":" + fixed(column, last) }
	return feeTable{whole(2), whole(3), whole(4), whole(5), whole(6)}
}

// channelTakes adds up what each channel takes, as costing.Takes does.
func (p *pricing) channelTakes(fees feeTable) {
	p.inputs.wide("What the channels take, added up", lookSection)
	takes := make([]costing.Takes, len(p.channels))
	for i, ch := range p.channels {
		if pricer, err := ch.Pricer(); err == nil { // costing has used the channel before
			takes[i] = pricer.Takes()
		}
	}
	row := func(label, input, format string, text func(n channelCells) string, value func(t costing.Takes) money.Decimal) {
		p.channelRow(label, input, func(c int) cell { return formulaCell(text(p.takes[c]), float(value(takes[c])), format) })
	}
	share := func(n channelCells, on costing.FeeBase) string {
		return fmt.Sprintf(`SUMIFS(%s,%s,%d,%s,"%s")`, fees.share, fees.channel, n.number, fees.on, feeBaseWords[on])
	}
	fixedFees := func(n channelCells, per costing.FeePer) string {
		return fmt.Sprintf(`SUMIFS(%s,%s,%d,%s,"%s")`, fees.fixed, fees.channel, n.number, fees.per, feePerWords[per])
	}
	row("Share of what the buyer pays", "share_with_tax", rateFormat, func(n channelCells) string {
		return share(n, costing.OnGross) + "+" + n.cell("prompt_discount")
	}, func(t costing.Takes) money.Decimal { return t.OnGross.Fraction() })
	row("Share of that without tax", "share_without_tax", rateFormat, func(n channelCells) string {
		return share(n, costing.OnNet)
	}, func(t costing.Takes) money.Decimal { return t.OnNet.Fraction() })
	row("Left of the price without tax", "share_left", rateFormat, func(n channelCells) string {
		return fmt.Sprintf("1-%s-%s*(1+%s)", n.cell("share_without_tax"), n.cell("share_with_tax"), n.cell("tax"))
	}, func(t costing.Takes) money.Decimal { return t.Left.Fraction() })
	row("Taken for each garment", "per_garment", p.perUnit(), func(n channelCells) string {
		return fmt.Sprintf("%s+%s*%s", fixedFees(n, costing.PerItem), n.cell("listing_fee"), n.cell("listings"))
	}, func(t costing.Takes) money.Decimal { return t.PerItem.Number() })
	row("Taken for each sale", "per_sale", p.perUnit(), func(n channelCells) string {
		return fixedFees(n, costing.PerSale) + "+" + n.cell("postage_cost")
	}, func(t costing.Takes) money.Decimal { return t.PerSale.Number() })
}

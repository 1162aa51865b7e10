package exports

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"yardwright/costing"
	"yardwright/costing/money"
)

// The columns of the sheet Working.
const (
	channelCol = iota + 1
	styleCol
	colourwayCol
	sizeCol
	costCol
	labourCol
	minutesCol
	handlingCol
	wholeCostCol
	toKeepCol
	exactCol
	wantedCol
	floorCol
	priceCol
	priceNetCol
	paidCol
	taxCol
	netCol
	keptExactCol
	keptCol
	profitCol
	hourlyCol
	marginCol
	markupCol
	timesCol
)

var workingHeads = []string{
	"Channel", "Style", "Colourway", "Size", "Cost", "Your pay in it", "Minutes worked", "Handling", "Cost with handling", "To keep", "Exact price", "Wanted price",
	"Floor price", "Price", "Price without tax", "Buyer pays", "Tax in it", "Exact without tax", "Exact kept", "Kept", "Profit", "An hour earns", "Margin", "Mark-up", "Times wholesale",
}

func (p *pricing) writeWorking() {
	columns := []column{{16, 24}, {16, 24}, {14, 20}, {8, 14}}
	for len(columns) < len(workingHeads) {
		columns = append(columns, column{11, 11})
	}
	p.workingPage = p.page("Working", columns...)
	w := p.workingPage
	w.landscape, w.side, w.onScreen, w.rowsOnScreen = true, 4, len(workingHeads)-wholeCostCol, true
	w.titles("How the prices come about", p.options.Workshop)
	w.wide("Exact price: "+costing.PriceFormula+". The wanted price is that rounded up to the smallest coin; the price is the higher of wanted and floor price, rounded up to the steps.", lookFaint)
	w.wide("The steps below are for the screen. To print them too, clear the print area of this sheet.", lookFaint)
	if len(p.channels) == 0 {
		none(w, "No channels.")
		return
	}
	head := w.headings(workingHeads...)
	p.placeRows(head + 1)
	for c := range p.channels {
		for i := range p.priced {
			p.ownRow(c, i)
		}
	}
	for g := range p.options.OnePrices {
		for c := range p.channels {
			p.mixRow(g, c)
		}
	}
	for c := range p.channels {
		for i := range p.priced {
			if p.asked[c][i] != p.working[c][i] {
				p.askedRow(c, i)
			}
		}
	}
	w.tabled(head, len(workingHeads))
}

// workingCells are what the rows of the working differ in.
type workingCells struct {
	style, colourway, size string
	cost, labour, minutes  string
	// price is the formula of the price, "" for the channel's own.
	price string
	quote *costing.Quote
	asked money.Amount
	sale  *costing.Sale
}

// ownRow writes the price that a garment has by itself in a channel.
func (p *pricing) ownRow(c, i int) {
	quote := p.quoteOf(c, i)
	given := p.given(i)
	p.workingRow(c, i, p.formulas(c, i, p.working[c][i]), workingCells{
		style: given.Style, colourway: given.Colourway, size: given.Size, cost: p.totals[i].cost, labour: p.totals[i].labour, minutes: p.totals[i].minutes,
		quote: quote, asked: quote.Price, sale: &quote.Sale,
	})
}

// workingRow writes a price step by step, as costing.Pricer solves it.
func (p *pricing) workingRow(c, i int, f priceFormulas, w workingCells) {
	sale, quote := w.sale, w.quote
	values := p.workingValues(c, w)
	paid := func(text string, a money.Amount) cell { return formulaCell(text, float(a.Number()), p.paid()) }
	price := w.price
	if price == "" {
		price = f.price()
	}
	p.workingPage.body(
		textCell(p.channels[c].Name), textCell(w.style), textCell(w.colourway), textCell(w.size),
		paid(w.cost, quote.Garment.Cost), paid(w.labour, quote.Garment.Labour), formulaCell(w.minutes, float(quote.Garment.Minutes), minutesFormat),
		formulaCell(f.handling(), values.handling, p.perUnit()), paid(f.wholeCost(), sale.Cost),
		formulaCell(f.toKeep(), values.toKeep, p.perUnit()), formulaCell(f.exact(), float(quote.Exact.Number()), p.perUnit()),
		paid(f.wanted(), quote.Wanted), paid(f.floor(), quote.Floor), paid(price, w.asked), formulaCell(f.priceNet(), values.priceNet, p.perUnit()),
		paid(f.buyerPays(), sale.Gross), paid(f.taxWithin(), sale.Tax), formulaCell(f.net(), values.net, p.perUnit()),
		formulaCell(f.keptExact(), float(sale.KeptExact.Number()), p.perUnit()), paid(f.kept(), sale.Kept), paid(f.profit(), sale.Profit), paid(f.hourly(), sale.Hourly),
		formulaCell(f.margin(), float(sale.Margin.Fraction()), percentFormat), formulaCell(f.markup(), float(sale.Markup.Fraction()), percentFormat),
		p.timesWholesale(c, i, f.row, values.priceNet),
	)
}

// wholesaleOf is the cell of a garment's wholesale price: the first shop's, without tax.
func (p *pricing) wholesaleOf(c, i int) string {
	shop := p.firstShop()
	if shop < 0 || shop == c {
		return "NA()"
	}
	return cellName(priceNetCol, p.asked[shop][i])
}

// timesWholesale compares a price with the wholesale price, both without tax.
func (p *pricing) timesWholesale(c, i, row int, net float64) cell {
	shop := p.firstShop()
	if shop < 0 || shop == c {
		return cell{}
	}
	price, _ := p.askedOf(shop, i)
	wholesale := p.priceNet(shop, price)
	times := 0.0
	if wholesale > 0 {
		times = net / wholesale
	}
	at := cellName(priceNetCol, p.asked[shop][i])
	return formulaCell(fmt.Sprintf("IF(%[1]s>0,%[2]s/%[1]s,0)", at, cellName(priceNetCol, row)), times, "0.00")
}

// priceNet is a channel's price without its tax.
func (p *pricing) priceNet(c int, price money.Amount) float64 {
	if p.channels[c].Tax.Included {
		return priceWithoutTax(price, p.channels[c].Tax.Rate)
	}
	return float(price.Number())
}

// workingValues are the steps of the working that costing doesn't report.
type workingValues struct{ handling, toKeep, priceNet, net float64 }

func (p *pricing) workingValues(c int, w workingCells) workingValues {
	ch := &p.channels[c]
	sale, garment := w.sale, &w.quote.Garment
	values := workingValues{
		handling: float(sale.Cost.Number()) - float(garment.Cost.Number()),
		toKeep:   float(sale.Cost.Number()), priceNet: p.priceNet(c, w.asked),
	}
	items := float(ch.ItemsPerSale)
	if items == 0 {
		items = 1
	}
	values.net = float(w.asked.Number()) + float(ch.Postage.Charged.Number())/items
	if ch.Tax.Included {
		values.net /= 1 + float(ch.Tax.Rate.Fraction())
	}
	switch ch.Target.Kind {
	case costing.TargetMarkup:
		values.toKeep *= 1 + float(ch.Target.Rate.Fraction())
	case costing.TargetProfit:
		values.toKeep += float(ch.Target.Amount.Number())
	case costing.TargetHourly:
		own, err := ch.MinutesEach()
		if err != nil {
			break
		}
		minutes, err := garment.Minutes.Add(own)
		if err != nil {
			break
		}
		pay, err := ch.Target.Amount.Mul(minutes)
		if err != nil {
			break
		}
		if pay, err = pay.DivRound(money.Int(60), money.Up); err == nil {
			values.toKeep = float(garment.Cost.Number()) - float(garment.Labour.Number()) + float(pay.Number())
		}
	}
	return values
}

// priceWithoutTax is a price on the tag without its tax, rounded half up.
func priceWithoutTax(price money.Amount, rate money.Rate) float64 {
	onePlusTax, err := rate.Fraction().Add(money.Int(1))
	if err != nil {
		return 0
	}
	net, err := price.DivRound(onePlusTax, money.HalfUp)
	if err != nil {
		return 0
	}
	return float(net.Number())
}

// pricesPage puts the prices before their working.
func (p *pricing) pricesPage() *page {
	columns := []column{{16, 26}, {14, 24}, {8, 14}, {10, 10}}
	for range p.channels {
		columns = append(columns, column{10, 10}, column{10, 10}, column{10, 10}, column{10, 10})
	}
	page := p.page("Prices", columns...)
	page.landscape = true
	return page
}

// writePrices lists, for each garment, what it costs and what each channel's price is and does.
func (p *pricing) writePrices(page *page) {
	page.titles("Prices", p.options.Workshop)
	top := make([]cell, 4, 4+4*len(p.channels))
	bottom := []string{"Style", "Colourway", "Size", "Cost"}
	for _, ch := range p.channels {
		top = append(top, cell{value: fmt.Sprintf("%s (%s)", oneLine(ch.Name), priceWord(ch.Kind))}, cell{}, cell{}, cell{})
		bottom = append(bottom, "Floor", "Price", "Kept", "An hour earns")
	}
	for i := range top {
		top[i].look = look{kind: lookHeading, wrap: true}
	}
	row := page.add(top...)
	for c := range p.channels {
		page.merge(5+4*c, 8+4*c, row)
	}
	page.head, page.headRows = page.headings(bottom...), 2
	for i := range p.priced {
		cells := []cell{textCell(p.given(i).Style), textCell(p.given(i).Colourway), textCell(p.given(i).Size), formulaCell(p.totals[i].cost, float(p.priced[i].Sheet.Total.Number()), p.paid())}
		for c := range p.channels {
			quote := p.quoteOf(c, i)
			price, sale := p.askedOf(c, i)
			at := p.asked[c][i]
			for _, shown := range []struct {
				column int
				value  money.Amount
				kind   kind
			}{{floorCol, quote.Floor, lookBody}, {priceCol, price, lookBold}, {keptCol, sale.Kept, lookBody}, {hourlyCol, sale.Hourly, lookBody}} {
				text := fmt.Sprintf(`IFERROR(%s,"none")`, p.workingPage.ref(shown.column, at))
				cells = append(cells, formulaCell(text, float(shown.value.Number()), p.paid()).as(shown.kind))
			}
		}
		page.body(cells...)
	}
	page.blank()
	for _, shared := range p.options.OnePrices {
		page.wide(p.garmentName(shared.First)+": one price for all sizes, "+shared.Found[0].Rule.String()+".", lookFaint)
	}
	for c, channel := range p.channels {
		for i, sale := range p.typed[c] {
			if sale != nil {
				worked := p.workedPrice(c, i)
				page.wide(fmt.Sprintf("%s, size %s, %s: you typed %s; worked out %s.", p.garmentName(i), oneLine(p.given(i).Size), oneLine(channel.Name), sale.Price.Format(p.options.Locale), worked.Format(p.options.Locale)), lookFaint)
			}
		}
	}
	series := []chartSeries{{4, 4, page.head}}
	for c := range p.channels {
		series = append(series, chartSeries{6 + 4*c, 5 + 4*c, page.head - 1})
	}
	page.wide("The floor covers cost, fees, postage and tax, and nothing more; no price that is worked out is below it. Kept is what is left of a sale after tax, fees and postage. An hour earns: (kept − cost without labour) ÷ hours worked.", lookFaint)
	p.drawSizes(page, page.head+1, "cost and prices", excelize.Col, series)
}

// priceWord says what a channel's price is called.
func priceWord(kind costing.ChannelKind) string {
	if kind == costing.Shop {
		return "wholesale"
	}
	return "retail"
}

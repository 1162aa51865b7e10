package exports

import (
	"fmt"

	"yardwright/costing"
)

// sellTyped works out what sales at the prices that the maker typed leave.
func (p *pricing) sellTyped() error {
	p.typed, p.typedCells = make([][]*costing.Sale, len(p.channels)), map[[2]int]string{}
	for c, channel := range p.channels {
		p.typed[c] = make([]*costing.Sale, len(p.priced))
		pricer, err := channel.Pricer()
		if err != nil {
			return fmt.Errorf("channel %s: %w", channel.Name, err)
		}
		for i, pricing := range p.priced {
			price, ok := pricing.TypedIn(c)
			if !ok {
				continue
			}
			sale, err := pricer.Sale(p.quoteOf(c, i).Garment, price)
			if err != nil {
				return fmt.Errorf("channel %s: %w", channel.Name, err)
			}
			p.typed[c][i] = &sale
		}
	}
	return nil
}

// writeTyped writes the prices that the maker typed, to be changed here like every other input.
func (p *pricing) writeTyped() {
	in := p.inputs
	for c, channel := range p.channels {
		for i, sale := range p.typed[c] {
			if sale == nil {
				continue
			}
			if len(p.typedCells) == 0 {
				in.blank()
				in.wide("Prices that you typed", lookSection)
			}
			row, given := in.next(), p.given(i)
			name := p.name(in, cellName(2, row), "typed_"+channel.Name+"_"+given.Colourway+"_"+given.Size, "")
			in.body(textCell(p.garmentName(i)+", size "+oneLine(given.Size)+", "+oneLine(channel.Name)), inputCell(float(sale.Price.Number()), p.paid()), textCell(name).as(lookFaint))
			in.atLeast(cellName(2, row), 0)
			p.typedCells[[2]int{c, i}] = name
		}
	}
}

// typedRow writes what a typed price does; the row of the size itself has what is worked out.
func (p *pricing) typedRow(c, i int) {
	given, sale := p.given(i), p.typed[c][i]
	p.workingRow(c, i, p.formulas(c, i, p.asked[c][i]), workingCells{
		style: given.Style, colourway: given.Colourway, size: given.Size + ", typed price", cost: p.totals[i].cost, labour: p.totals[i].labour, minutes: p.totals[i].minutes,
		price: p.typedCells[[2]int{c, i}], quote: p.quoteOf(c, i), asked: sale.Price, sale: sale,
	})
}

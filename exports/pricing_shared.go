package exports

import (
	"fmt"
	"strings"

	"yardwright/costing"
	"yardwright/costing/money"
)

// checkOnePrices refuses sizes that aren't there or that share two prices.
func checkOnePrices(shared []OnePriced, priced, channels int) error {
	taken := make([]bool, priced)
	for _, one := range shared {
		if one.First < 0 || len(one.Mix) == 0 || one.First+len(one.Mix) > priced {
			return fmt.Errorf("one price is for %d sizes from number %d on, but %d are priced", len(one.Mix), one.First+1, priced)
		}
		if len(one.Found) != channels || channels == 0 {
			return fmt.Errorf("one price was found in %d channels, but %d are given", len(one.Found), channels)
		}
		for i := range one.Mix {
			if taken[one.First+i] {
				return fmt.Errorf("the size number %d has two prices that it shares", one.First+i+1)
			}
			taken[one.First+i] = true
		}
		for _, found := range one.Found {
			if len(found.Quotes) != len(one.Mix) || len(found.Sales) != len(one.Mix) {
				return fmt.Errorf("one price for %d sizes was found for %d", len(one.Mix), len(found.Quotes))
			}
		}
	}
	return nil
}

// sharedBy is the index of the shared price that a pricing belongs to; −1 for none.
func (p *pricing) sharedBy(i int) int {
	for g, one := range p.options.OnePrices {
		if i >= one.First && i < one.First+len(one.Mix) {
			return g
		}
	}
	return -1
}

// quoteOf is what a size would ask by itself.
func (p *pricing) quoteOf(c, i int) *costing.Quote {
	if g := p.sharedBy(i); g >= 0 {
		one := &p.options.OnePrices[g]
		return &one.Found[c].Quotes[i-one.First]
	}
	return &p.priced[i].Quotes[c]
}

// workedPrice is what would be asked for a size, had the maker typed nothing.
func (p *pricing) workedPrice(c, i int) money.Amount {
	if g := p.sharedBy(i); g >= 0 {
		return p.options.OnePrices[g].Found[c].Price
	}
	return p.priced[i].Quotes[c].Price
}

// askedOf is what is really asked for a size, and what it leaves.
func (p *pricing) askedOf(c, i int) (money.Amount, *costing.Sale) {
	if sale := p.typed[c][i]; sale != nil {
		return sale.Price, sale
	}
	if g := p.sharedBy(i); g >= 0 {
		one := &p.options.OnePrices[g]
		return one.Found[c].Price, &one.Found[c].Sales[i-one.First]
	}
	quote := &p.priced[i].Quotes[c]
	return quote.Price, &quote.Sale
}

// writeMixes writes the usual mix of sizes that share a price.
func (p *pricing) writeMixes() {
	in := p.inputs
	for g, one := range p.options.OnePrices {
		if g == 0 {
			in.blank()
			in.wide("Usual mix of sizes that share a price", lookSection)
		}
		p.mix = append(p.mix, nil)
		for i, count := range one.Mix {
			row := in.next()
			name := p.name(in, cellName(2, row), "mix_"+p.given(one.First+i).Colourway+"_"+p.given(one.First+i).Size, "")
			in.body(textCell(p.garmentName(one.First+i)+", size "+oneLine(p.given(one.First+i).Size)), inputCell(float(count), generalFormat), textCell(name).as(lookFaint))
			in.atLeast(cellName(2, row), 0)
			p.mix[g] = append(p.mix[g], name)
		}
	}
}

// placeRows says which row of the working each price will stand in.
func (p *pricing) placeRows(next int) {
	p.working, p.asked = make([][]int, len(p.channels)), make([][]int, len(p.channels))
	for c := range p.channels {
		for range p.priced {
			p.working[c] = append(p.working[c], next)
			next++
		}
	}
	for range p.options.OnePrices {
		var rows []int
		for range p.channels {
			rows = append(rows, next)
			next++
		}
		p.mixed = append(p.mixed, rows)
	}
	for c := range p.channels {
		for i := range p.priced {
			row := p.working[c][i]
			if p.sharedBy(i) >= 0 || p.typed[c][i] != nil {
				row = next
				next++
			}
			p.asked[c] = append(p.asked[c], row)
		}
	}
}

// mixRow writes the price that the mean garment of a mix asks: costs rounded up, labour down,
// as costing rounds them.
func (p *pricing) mixRow(g, c int) {
	one := &p.options.OnePrices[g]
	mean := func(column int) string {
		var sum []string
		for i, count := range p.mix[g] {
			sum = append(sum, fmt.Sprintf("%s*%s", count, cellName(column, p.working[c][one.First+i])))
		}
		return fmt.Sprintf("(%s)/(%s)", strings.Join(sum, "+"), strings.Join(p.mix[g], "+"))
	}
	given := p.given(one.First)
	found := &one.Found[c]
	formulas := p.formulas(c, one.First, p.mixed[g][c])
	if shop := p.firstShop(); shop >= 0 && shop != c {
		var sum []string
		for i, count := range p.mix[g] {
			sum = append(sum, fmt.Sprintf("%s*%s", count, p.wholesaleOf(c, one.First+i)))
		}
		formulas.wholesale = p.rounded(fmt.Sprintf("(%s)/(%s)", strings.Join(sum, "+"), strings.Join(p.mix[g], "+")), money.Up)
	}
	p.workingRow(c, one.First, formulas, workingCells{
		style: given.Style, colourway: given.Colourway, size: "mix",
		cost: p.rounded(mean(costCol), money.Up), labour: p.rounded(mean(labourCol), money.Down), minutes: mean(minutesCol),
		quote: &found.MixQuote, asked: found.MixQuote.Price, sale: &found.MixQuote.Sale,
	})
}

// askedRow writes the price that a size asks together with the others, or that the maker typed.
func (p *pricing) askedRow(c, i int) {
	if p.typed[c][i] != nil {
		p.typedRow(c, i)
		return
	}
	one := &p.options.OnePrices[p.sharedBy(i)]
	found := &one.Found[c]
	price := fmt.Sprintf("MAX(%s:%s)", cellName(priceCol, p.working[c][one.First]), cellName(priceCol, p.working[c][one.First+len(one.Mix)-1]))
	if found.Rule == costing.MixPays {
		price = cellName(priceCol, p.mixed[p.sharedBy(i)][c])
	}
	given := p.given(i)
	p.workingRow(c, i, p.formulas(c, i, p.asked[c][i]), workingCells{
		style: given.Style, colourway: given.Colourway, size: given.Size + ", shared price", cost: p.totals[i].cost, labour: p.totals[i].labour, minutes: p.totals[i].minutes,
		price: price, quote: &found.Quotes[i-one.First], asked: found.Price, sale: &found.Sales[i-one.First],
	})
}

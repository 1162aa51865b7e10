package exports

import (
	"fmt"
	"io"
	"strings"

	"yardwright/costing"
	"yardwright/costing/money"
)

// PricingWorkbook writes cost sheets and prices as a workbook that a maker can go on counting
// in: the sheet Inputs holds wage, efficiency, overhead, batch size, the landed price of each
// material, minutes, and each channel's fees, tax, target and price points, all as named
// cells; the sheets Cost sheet, Prices and Working are formulas over them that round as
// package costing does and keep the values that it worked out.
//
// priced is what costing.Reprice returned for these channels, sizes of one style and colourway
// behind each other. It fails if there is nothing to price, if prices and channels don't belong
// together, or if two currencies meet; and with w's error.
func PricingWorkbook(w io.Writer, priced []costing.Pricing, channels []costing.Channel, options Options) error {
	p, err := pricingBook(priced, channels, options)
	if err != nil {
		return err
	}
	return p.write(w)
}

func pricingBook(priced []costing.Pricing, channels []costing.Channel, options Options) (*pricing, error) {
	if err := checkPriced(priced, channels); err != nil {
		return nil, err
	}
	if err := checkOnePrices(options.OnePrices, len(priced), len(channels)); err != nil {
		return nil, err
	}
	options.Currency = priced[0].Sheet.Inputs.Currency
	p := &pricing{book: newBook(options, "Prices"), priced: priced, channels: channels}
	p.digits = options.Currency.Digits()
	if err := p.sellTyped(); err != nil {
		return nil, err
	}
	p.writeInputs()
	p.writeMixes()
	p.writeTyped()
	p.writeSheets()
	p.writeCosts()
	prices := p.pricesPage()
	p.writeWorking()
	p.writePrices(prices)
	return p, nil
}

func checkPriced(priced []costing.Pricing, channels []costing.Channel) error {
	if len(priced) == 0 {
		return fmt.Errorf("there is nothing to price: choose at least one style and size")
	}
	currency := priced[0].Sheet.Inputs.Currency
	if currency.IsZero() {
		return fmt.Errorf("the prices have no currency")
	}
	for i := range priced {
		in := &priced[i].Sheet.Inputs
		if in.Currency != currency {
			return fmt.Errorf("%s %s, size %s: %s and %s: %w", in.Colourway, in.Style, in.Size, currency, in.Currency, money.ErrMixedCurrencies)
		}
		if len(priced[i].Quotes) != len(channels) {
			return fmt.Errorf("%s %s, size %s has prices of %d channels, but %d channels are given", in.Colourway, in.Style, in.Size, len(priced[i].Quotes), len(channels))
		}
	}
	for _, ch := range channels {
		if ch.Currency != currency {
			return fmt.Errorf("channel %s: %s and %s: %w", ch.Name, currency, ch.Currency, money.ErrMixedCurrencies)
		}
	}
	return nil
}

// pricing is the pricing workbook while it is being written.
type pricing struct {
	*book
	priced   []costing.Pricing
	channels []costing.Channel
	digits   int // of the currency's minor unit
	inputs   *page
	sheets   *page
	// Names of the cells that a pricing takes its wage, efficiency, overhead, productive share and batch size from.
	wage, efficiency, overhead, productive, garments []string
	materials                                        map[materialKey]materialNames
	operations                                       map[operationKey]operationCells
	expenses                                         map[expenseKey]expenseCells
	// learnt are the names of the shares that learning leaves of the minutes, by pricing; empty
	// where no pricing learns.
	learnt []string
	takes  []channelCells
	// totals are where the cost sheets end, by pricing.
	totals []sheetCells
	// working are the rows of the sheet Working, by channel and pricing: what each size would
	// ask by itself. asked are the rows of what is really asked; they differ where sizes share a
	// price. mixed are the rows of the mean garment of such sizes, by OnePriced and channel, and
	// mix the names of the cells that count them.
	working     [][]int
	asked       [][]int
	mixed       [][]int
	mix         [][]string
	workingPage *page
	// typed are what sales at typed prices leave, by channel and pricing, nil elsewhere; typedCells
	// are the names of the cells that hold those prices.
	typed      [][]*costing.Sale
	typedCells map[[2]int]string
}

// given returns what the cost sheet of a pricing was made from.
func (p *pricing) given(i int) *costing.Inputs { return &p.priced[i].Sheet.Inputs }

// money formats: what is paid, and prices per unit with as many decimals as they need.
func (p *pricing) paid() string    { return p.options.moneyFormat(0) }
func (p *pricing) perUnit() string { return p.options.moneyFormat(p.digits + 2) }

// clean takes the noise of binary fractions off a number before it is rounded: digits of
// money and six more are kept, which is finer than any price and coarser than the noise.
func (p *pricing) clean(text string) string {
	return fmt.Sprintf("ROUND(%s,%d)", text, p.digits+6)
}

// rounded rounds a number to the minor unit by a mode, as money.Amount.Round does.
func (p *pricing) rounded(text string, mode money.Rounding) string {
	clean := p.clean(text)
	switch mode {
	case money.Up:
		return fmt.Sprintf("ROUNDUP(%s,%d)", clean, p.digits)
	case money.Down:
		return fmt.Sprintf("ROUNDDOWN(%s,%d)", clean, p.digits)
	case money.HalfEven:
		return fmt.Sprintf("IF(ROUND(MOD(%s*%d,2),6)=0.5,ROUNDDOWN(%s,%d),ROUND(%s,%d))", clean, power(p.digits), clean, p.digits, clean, p.digits)
	}
	return fmt.Sprintf("ROUND(%s,%d)", clean, p.digits)
}

func power(digits int) int {
	n := 1
	for range digits {
		n *= 10
	}
	return n
}

// float is the nearest number that a cell can hold.
func float(d money.Decimal) float64 { return d.Float64() }

// sameGarment tells whether two pricings are sizes of one style and colourway.
func (p *pricing) sameGarment(i, j int) bool {
	return p.given(i).Style == p.given(j).Style && p.given(i).Colourway == p.given(j).Colourway
}

// garmentName names a pricing's style and colourway.
func (p *pricing) garmentName(i int) string {
	return strings.TrimSpace(oneLine(p.given(i).Style) + ", " + oneLine(p.given(i).Colourway))
}

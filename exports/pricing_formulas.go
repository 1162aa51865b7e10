package exports

import (
	"fmt"

	"yardwright/costing"
	"yardwright/costing/money"
)

// priceFormulas are the formulas of a row of the working; cells are those of the row, inputs
// those of its channel.
type priceFormulas struct {
	*pricing
	channelCells
	row, garment int
	wholesale    string
}

// formulas are those of a row for a channel and a pricing.
func (p *pricing) formulas(c, i, row int) priceFormulas {
	return priceFormulas{p, p.takes[c], row, i, p.wholesaleOf(c, i)}
}

// at is a cell of the row.
func (f priceFormulas) at(column int) string { return cellName(column, f.row) }

// is tells, in a formula, whether the channel's target is of a kind.
func (f priceFormulas) is(kind costing.TargetKind) string {
	return fmt.Sprintf(`%s="%s"`, f.cell("target"), kind)
}

// onePlusTax is what makes a price without tax one on the tag.
func (f priceFormulas) onePlusTax() string {
	return fmt.Sprintf(`IF(%s="yes",1+%s,1)`, f.cell("tax_included"), f.cell("tax"))
}

// marginWanted is the share of the price that the target keeps as profit.
func (f priceFormulas) marginWanted() string {
	return fmt.Sprintf("IF(%s,%s,0)", f.is(costing.TargetMargin), f.cell("target_rate"))
}

// priceFor is costing.PriceFormula: the price that keeps an amount.
func (f priceFormulas) priceFor(keep, margin string) string {
	return fmt.Sprintf("((%s*(%s+%s)+%s)*%s-%s*%s)/(%s*(%s-%s))",
		f.cell("garments_per_sale"), keep, f.cell("per_garment"), f.cell("per_sale"), f.onePlusTax(),
		f.cell("postage_charged"), f.cell("share_left"), f.cell("garments_per_sale"), f.cell("share_left"), margin)
}

func (f priceFormulas) minutesWorked() string {
	return fmt.Sprintf("(%s+%s)", f.at(minutesCol), f.cell("handling_minutes"))
}

func (f priceFormulas) handling() string {
	return f.rounded(fmt.Sprintf("%s*%s/60", f.wage[f.garment], f.cell("handling_minutes")), money.HalfUp)
}

func (f priceFormulas) wholeCost() string {
	return fmt.Sprintf("ROUND(%s+%s,%d)", f.at(costCol), f.at(handlingCol), f.digits)
}

func (f priceFormulas) toKeep() string {
	whole := f.at(wholeCostCol)
	pay := f.rounded(fmt.Sprintf("%s*%s/60", f.cell("target_amount"), f.minutesWorked()), money.Up)
	return fmt.Sprintf("IF(%s,%s*(1+%s),IF(%s,%s-%s+%s,IF(%s,%s+%s,%s)))",
		f.is(costing.TargetMarkup), whole, f.cell("target_rate"),
		f.is(costing.TargetHourly), f.at(costCol), f.at(labourCol), pay,
		f.is(costing.TargetProfit), whole, f.cell("target_amount"), whole)
}

// exact has no value where fees leave too little of any price to reach the target.
func (f priceFormulas) exact() string {
	return fmt.Sprintf("IF(%s,%s*%s*%s,IF(%s-%s<=0,NA(),%s))",
		f.is(costing.TargetWholesale), f.wholesale, f.cell("target_multiple"), f.onePlusTax(),
		f.cell("share_left"), f.marginWanted(), f.priceFor(f.at(toKeepCol), f.marginWanted()))
}

func (f priceFormulas) wanted() string {
	return fmt.Sprintf("MAX(0,%s)", f.rounded(f.at(exactCol), money.Up))
}

func (f priceFormulas) floor() string {
	return fmt.Sprintf("IF(%s<=0,NA(),MAX(0,%s))", f.cell("share_left"), f.rounded(f.priceFor(f.at(wholeCostCol), "0"), money.Up))
}

// price is the higher of wanted and floor price, rounded up to the price points.
func (f priceFormulas) price() string {
	higher := fmt.Sprintf("MAX(%s,%s)", f.at(wantedCol), f.at(floorCol))
	step, ending := f.cell("price_step"), f.cell("price_ending")
	steps := fmt.Sprintf("ROUNDUP(%s,0)", f.clean(fmt.Sprintf("MAX(0,%s-%s)/%s", higher, ending, step)))
	return fmt.Sprintf("IF(%s=0,%s,ROUND(%s*%s+%s,%d))", step, higher, steps, step, ending, f.digits)
}

func (f priceFormulas) priceNet() string {
	net := f.rounded(fmt.Sprintf("%s/(1+%s)", f.at(priceCol), f.cell("tax")), money.HalfUp)
	return fmt.Sprintf(`IF(%s="yes",%s,%s)`, f.cell("tax_included"), net, f.at(priceCol))
}

// gross is everything that the buyer pays for one garment, exactly.
func (f priceFormulas) gross() string {
	return fmt.Sprintf("%s*(1+%s)", f.at(netCol), f.cell("tax"))
}

func (f priceFormulas) buyerPays() string { return f.rounded(f.gross(), money.HalfUp) }

func (f priceFormulas) taxWithin() string {
	return f.rounded(fmt.Sprintf("%s*%s", f.at(netCol), f.cell("tax")), money.HalfUp)
}

func (f priceFormulas) net() string {
	return fmt.Sprintf("(%s+%s/%s)/%s", f.at(priceCol), f.cell("postage_charged"), f.cell("garments_per_sale"), f.onePlusTax())
}

func (f priceFormulas) keptExact() string {
	return fmt.Sprintf("%s-%s*%s-%s*%s-%s-%s/%s", f.at(netCol), f.gross(), f.cell("share_with_tax"), f.at(netCol), f.cell("share_without_tax"),
		f.cell("per_garment"), f.cell("per_sale"), f.cell("garments_per_sale"))
}

// kept is what is left once what is taken, tax and all, is rounded as a whole.
func (f priceFormulas) kept() string {
	return fmt.Sprintf("ROUND(%s-%s,%d)", f.at(paidCol), f.rounded(fmt.Sprintf("%s-%s", f.at(paidCol), f.at(keptExactCol)), money.HalfUp), f.digits)
}

func (f priceFormulas) profit() string {
	return fmt.Sprintf("ROUND(%s-%s,%d)", f.at(keptCol), f.at(wholeCostCol), f.digits)
}

func (f priceFormulas) hourly() string {
	earned := fmt.Sprintf("(%s-(%s-%s))*60/%s", f.at(keptCol), f.at(costCol), f.at(labourCol), f.minutesWorked())
	return fmt.Sprintf("IF(%s>0,%s,0)", f.minutesWorked(), f.rounded(earned, money.HalfUp))
}

func (f priceFormulas) margin() string {
	return fmt.Sprintf("IF(%s>0,%s*%s/%s,0)", f.at(priceCol), f.at(profitCol), f.onePlusTax(), f.at(priceCol))
}

func (f priceFormulas) markup() string {
	return fmt.Sprintf("IF(%s>0,%s/%s,0)", f.at(wholeCostCol), f.at(profitCol), f.at(wholeCostCol))
}

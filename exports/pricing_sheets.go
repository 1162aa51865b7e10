package exports

import (
	"fmt"

	"yardwright/costing"
	"yardwright/costing/money"
)

// sheetCells are where a cost sheet's results stand, for other pages.
type sheetCells struct {
	cost, labour, minutes string
	// parts are materials, labour, direct expenses, overhead and packing, which sum to the cost.
	parts [len(costParts)]string
}

// The columns of a cost sheet.
const (
	kindColumn = iota + 1
	lineColumn
	usedColumn
	moreColumn
	wastageColumn
	quantityColumn
	unitColumn
	priceColumn
	perColumn
	exactColumn
	amountColumn
)

func (p *pricing) writeSheets() {
	p.sheets = p.page("Cost sheet", column{11, 11}, column{26, 40}, column{9, 9}, column{10, 10}, column{9, 9}, column{10, 10}, column{6, 10}, column{12, 12}, column{6, 10}, column{12, 12}, column{12, 12})
	p.sheets.together = 2
	p.sheets.titles("Cost sheets", p.options.Workshop)
	p.sheets.wide("Each amount is quantity × price, rounded to the smallest coin; totals add the rounded amounts. Framed cells may be changed.", lookFaint)
	p.sheets.blank()
	// One head for all sheets, which stays in sight and stands on every printed page.
	p.sheets.head = p.sheets.headings("Kind", "Line", "Used", "Ends, losses; set-up", "Wastage", "Quantity", "Unit", "Price", "per", "Exact", "Amount")
	for i := range p.priced {
		first := p.sheets.next()
		p.totals = append(p.totals, p.writeSheet(i))
		p.sheets.keep(first)
		p.sheets.blank()
	}
}

// sheetWriter writes one cost sheet.
type sheetWriter struct {
	*pricing
	at    int // index of the pricing
	in    *costing.Inputs
	sheet *costing.Sheet
	// rows of each kind of line, first and last; 0 for none.
	first, last [costing.PackingLine + 1]int
	// minutesPaid is the row whose quantity they are, unpaid that of unpaid hours; 0 for none.
	minutesPaid, unpaid int
}

// lineOf finds the line of an input; nil if the sheet has none.
func (s *sheetWriter) lineOf(kind costing.LineKind, index int) *costing.Line {
	for i := range s.sheet.Lines {
		if line := &s.sheet.Lines[i]; line.Kind == kind && line.Index == index {
			return line
		}
	}
	return nil
}

func (p *pricing) writeSheet(at int) sheetCells {
	s := &sheetWriter{pricing: p, at: at, in: p.given(at), sheet: &p.priced[at].Sheet}
	p.sheets.wide(p.garmentName(at)+", size "+oneLine(s.in.Size), lookSection)
	for i, c := range s.in.Cloths {
		label := oneLine(c.Name)
		if c.Role != "" {
			label = oneLine(c.Role) + ": " + label
		}
		ends := inputCell(float(c.EndsAndLosses), quantityFormat)
		s.material(costing.ClothLine, i, label, c.Length, &ends, s.materials[materialKey{false, c.Name, c.Unit, c.Price, c.Wastage}], c.Wastage, c.Unit)
	}
	for i, n := range s.in.Notions {
		s.material(costing.NotionLine, i, oneLine(n.Name), n.Quantity, nil, s.materials[materialKey{false, n.Name, n.Unit, n.Price, n.Wastage}], n.Wastage, n.Unit)
	}
	for i, o := range s.in.Operations {
		s.operation(i, o)
	}
	for i, e := range s.in.Expenses {
		s.expense(i, e)
	}
	s.overheadLine()
	for i, n := range s.in.Packing {
		s.material(costing.PackingLine, i, oneLine(n.Name), n.Quantity, nil, s.materials[materialKey{true, n.Name, n.Unit, n.Price, n.Wastage}], n.Wastage, n.Unit)
	}
	return s.sums()
}

// line writes a line: quantity and exact amount are formulas, the amount rounds the latter.
func (s *sheetWriter) line(kind costing.LineKind, index int, label string, used, more, wastage cell, quantity, unit, price, per, exact string) {
	row := s.sheets.next()
	if s.first[kind] == 0 {
		s.first[kind] = row
	}
	s.last[kind] = row
	var amount, quantityValue, priceValue, exactValue float64
	if line := s.lineOf(kind, index); line != nil {
		amount, quantityValue, priceValue = float(line.Amount.Number()), float(line.Quantity), float(line.Price.Number())
		exactValue = quantityValue * priceValue
		if unit == "min" {
			exactValue /= 60
		}
	} else if kind == costing.OverheadLine && index == costing.UnpaidIndex {
		quantityValue, priceValue = float(s.sheet.MinutesWorked)-float(s.sheet.MinutesPaid), float(s.in.Wage.Number())
	} else if kind == costing.OverheadLine {
		quantityValue = float(s.sheet.MinutesPaid)
	}
	if unit == "" && kind == costing.ExpenseLine {
		unit = "share"
	}
	s.sheets.body(textCell(kind.String()), textCell(label), used, more, wastage, formulaCell(quantity, quantityValue, quantityFormat), textCell(unit),
		formulaCell(price, priceValue, s.perUnit()), textCell(per), formulaCell(exact, exactValue, s.perUnit()),
		formulaCell(s.rounded(cellName(exactColumn, row), s.in.Settings.Rounding), amount, s.paid()))
}

func (s *sheetWriter) material(kind costing.LineKind, index int, label string, used money.Decimal, more *cell, names materialNames, wastage money.Rate, unit string) {
	row := s.sheets.next()
	at := func(column int) string { return cellName(column, row) }
	amountUsed, ends := at(usedColumn), cell{}
	s.sheets.atLeast(at(usedColumn), 0)
	if more != nil {
		amountUsed, ends = fmt.Sprintf("(%s+%s)", at(usedColumn), at(moreColumn)), *more
		s.sheets.atLeast(at(moreColumn), 0)
	}
	quantity := fmt.Sprintf("%s*(1+%s)", amountUsed, at(wastageColumn))
	if s.in.Settings.Wastage == costing.WastageShare {
		quantity = fmt.Sprintf("%s/(1-%s)", amountUsed, at(wastageColumn))
	}
	s.line(kind, index, label, inputCell(float(used), quantityFormat), ends, formulaCell(names.wastage, float(wastage.Fraction()), rateFormat),
		quantity, unit, names.price, unit, at(quantityColumn)+"*"+at(priceColumn))
}

func (s *sheetWriter) operation(index int, o costing.Operation) {
	row := s.sheets.next()
	at := func(column int) string { return cellName(column, row) }
	cells := s.operations[s.operationKey(s.at, o)]
	run, minutes := cells.run, float(o.Run)
	if o.Learns && s.learnt[s.at] != "" {
		run += "*" + s.learnt[s.at]
		if share, err := s.in.Learning.Share(max(1, count(s.in.Garments))); err == nil {
			minutes *= float(share)
		}
	}
	quantity := fmt.Sprintf("(%s+%s)/%s", at(usedColumn), at(moreColumn), s.efficiency[s.at])
	if o.Worked {
		quantity = fmt.Sprintf("%s+%s", at(usedColumn), at(moreColumn))
	}
	s.line(costing.LabourLine, index, oneLine(o.Name), formulaCell(run, minutes, quantityFormat),
		formulaCell(cells.setUp+"/"+s.garments[s.at], float(o.SetUp)/float(s.in.Garments), quantityFormat), cell{},
		quantity, "min", cells.wage, "h", fmt.Sprintf("%s*%s/60", at(quantityColumn), at(priceColumn)))
}

func (s *sheetWriter) expense(index int, e costing.Expense) {
	row := s.sheets.next()
	cells := s.expenses[s.expenseKey(s.at, e)]
	s.line(costing.ExpenseLine, index, oneLine(e.Name), cell{}, cell{}, cell{}, "1/"+cells.garments, "", cells.amount, "", cellName(quantityColumn, row)+"*"+cellName(priceColumn, row))
}

// overheadLine stands on every sheet, so that an overhead can be put in where there was none.
func (s *sheetWriter) overheadLine() {
	row := s.sheets.next()
	minutes := "0"
	if s.first[costing.LabourLine] > 0 {
		minutes = fmt.Sprintf("SUM(%s:%s)", cellName(quantityColumn, s.first[costing.LabourLine]), cellName(quantityColumn, s.last[costing.LabourLine]))
	}
	s.minutesPaid = row
	s.line(costing.OverheadLine, -1, "Overhead", cell{}, cell{}, cell{}, minutes, "min", s.overhead[s.at], "h", fmt.Sprintf("%s*%s/60", cellName(quantityColumn, row), cellName(priceColumn, row)))
	if s.in.Settings.Unpaid != costing.UnpaidInOverhead {
		return
	}
	s.unpaid = s.sheets.next()
	minutes = fmt.Sprintf("%s*(1/%s-1)", cellName(quantityColumn, row), s.productive[s.at])
	s.line(costing.OverheadLine, costing.UnpaidIndex, costing.UnpaidLabel, cell{}, cell{}, cell{}, minutes, "min", s.wage[s.at], "h", fmt.Sprintf("%s*%s/60", cellName(quantityColumn, s.unpaid), cellName(priceColumn, s.unpaid)))
}

// sums writes the totals below the lines.
func (s *sheetWriter) sums() sheetCells {
	of := func(kinds ...costing.LineKind) string {
		text := ""
		for _, kind := range kinds {
			if s.first[kind] > 0 {
				text += fmt.Sprintf(",%s:%s", cellName(amountColumn, s.first[kind]), cellName(amountColumn, s.last[kind]))
			}
		}
		if text == "" {
			return "0"
		}
		return fmt.Sprintf("ROUND(SUM(%s),%d)", text[1:], s.digits)
	}
	row := func(label, text string, value money.Amount, k kind) int {
		cells := make([]cell, amountColumn)
		cells[lineColumn-1] = textCell(label)
		cells[amountColumn-1] = formulaCell(text, float(value.Number()), s.paid())
		for i := range cells {
			cells[i].look.kind = k
		}
		return s.sheets.add(cells...)
	}
	at := func(row int) string { return cellName(amountColumn, row) }
	sheet := s.sheet
	materials := row("Materials", of(costing.ClothLine, costing.NotionLine), sheet.Materials, lookPlain)
	labour := row("Labour", of(costing.LabourLine), sheet.Labour, lookPlain)
	expenses := row("Direct expenses", of(costing.ExpenseLine), sheet.Expenses, lookPlain)
	prime := row("Prime cost", fmt.Sprintf("ROUND(%s+%s+%s,%d)", at(materials), at(labour), at(expenses), s.digits), sheet.PrimeCost, lookBody)
	overhead := row("Overhead", of(costing.OverheadLine), sheet.Overhead, lookPlain)
	production := row("Production cost", fmt.Sprintf("ROUND(%s+%s,%d)", at(prime), at(overhead), s.digits), sheet.ProductionCost, lookBody)
	packing := row("Packing", of(costing.PackingLine), sheet.Packing, lookPlain)
	all := row("Cost, ready to sell", fmt.Sprintf("ROUND(%s+%s,%d)", at(production), at(packing), s.digits), sheet.Total, lookTotal)
	minutes := make([]cell, amountColumn)
	minutes[lineColumn-1] = textCell("Minutes worked for it, unpaid ones too")
	minutes[amountColumn-1] = formulaCell(fmt.Sprintf("%s/%s", cellName(quantityColumn, s.minutesPaid), s.productive[s.at]), float(sheet.MinutesWorked), minutesFormat)
	minutesRow := s.sheets.add(minutes...)
	pay := at(labour)
	if s.unpaid > 0 {
		pay = fmt.Sprintf("ROUND(%s+%s,%d)", pay, at(s.unpaid), s.digits)
	}
	ownPay := row("Your pay in it", pay, sheet.OwnPay(), lookPlain)
	ref := func(row int) string { return s.sheets.ref(amountColumn, row) }
	return sheetCells{cost: ref(all), labour: ref(ownPay), minutes: ref(minutesRow), parts: [...]string{ref(materials), ref(labour), ref(expenses), ref(overhead), ref(packing)}}
}

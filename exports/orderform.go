package exports

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"yardwright/costing/money"
)

// OrderForm is what a shop is sent to fill in: a line sheet with boxes for quantities.
type OrderForm struct {
	// Number is the form's own, by which it is known when it comes back.
	Number string
	// Title such as "Spring line"; Note says what shops should know; Contact says where to send
	// the form.
	Title, Note, Contact, Terms string
	// Shop is who the form is for; empty if any shop may fill it in.
	Shop string
	// IssuedOn is the day of its prices, OrderBy the last day to order; zero if there is none.
	IssuedOn, OrderBy time.Time
	// Minimum is the least order at wholesale prices; zero if there is none.
	Minimum money.Amount
	// Items in the order in which they are numbered, those of one style behind each other.
	Items []FormItem
}

// FormItem is one style in one colourway that can be ordered.
type FormItem struct {
	Style, Colourway, Content string
	Sizes                     []LineSize
}

// The sheet of an order form, and the words by which its cells are found again when it comes
// back: they stay as they are, so that forms sent long ago can still be read.
const (
	formSheet      = "Order"
	formNumberWord = "Form number"
	formShopWord   = "Shop"
	formTheirWord  = "Your order number"
	formWantedWord = "Wanted by"
	formShipWord   = "Ship to"
	formMailWord   = "Contact"
	formNoteWord   = "Note"
	formRowWord    = "No."
	formPriceWord  = "wholesale, each"
	formRetailWord = "suggested retail"
	formCountWord  = "Garments"
	formAmountWord = "Amount"
	formTotalWord  = "Your order so far"
	formFootNote   = "Prices are for one garment, without tax. Suggested retail is what it could sell for."
)

// mostOrdered is how many garments a box of an order form holds.
const mostOrdered = 10_000

// mostSizes is how many sizes stand beside each other; a style with more takes more rows.
const mostSizes = 10

// The columns of an order form before the sizes.
const (
	formNumberColumn = iota + 1
	formNameColumn
	formFirstSize
)

// OrderFormWorkbook writes an order form: one sheet on which only the boxes for quantities and
// for who orders can be filled in, with totals that follow. Every row has a number; ReadOrderForm
// finds the boxes by it. It fails if there is nothing to order, and with w's error.
func OrderFormWorkbook(w io.Writer, form OrderForm, options Options) error {
	if len(form.Items) == 0 {
		return fmt.Errorf("there is nothing to order: choose at least one style")
	}
	f := &orderForm{book: newBook(options, "Order form "+oneLine(form.Number)), form: form, digits: options.currency().Digits()}
	f.sheet()
	return f.write(w)
}

// orderForm is an order form while it is being written.
type orderForm struct {
	*book
	form   OrderForm
	digits int
	order  *page
	sizes  int // columns
	// counts and amounts are the cells of every row, for the totals.
	firstRow, lastRow int
}

func (f *orderForm) countColumn() int  { return formFirstSize + f.sizes }
func (f *orderForm) amountColumn() int { return formFirstSize + f.sizes + 1 }

func (f *orderForm) sheet() {
	for _, item := range f.form.Items {
		f.sizes = min(mostSizes, max(f.sizes, len(item.Sizes)))
	}
	f.sizes = max(f.sizes, 3) // room for the boxes at the top
	columns := []column{{5, 5}, {24, 32}}
	for range f.sizes {
		columns = append(columns, column{9, 9})
	}
	columns = append(columns, column{10, 10}, column{13, 13})
	f.order = f.page(formSheet, columns...)
	f.order.locked = true
	f.order.landscape = f.sizes > 5
	totals := f.head()
	f.boxes()
	f.firstRow = f.order.next()
	for i := 0; i < len(f.form.Items); {
		j := i + 1
		for j < len(f.form.Items) && f.form.Items[j].Style == f.form.Items[i].Style {
			j++
		}
		f.style(i, j)
		i = j
	}
	f.lastRow = len(f.order.rows)
	totals()
	f.order.wide(formFootNote, lookFaint)
}

// across is a row of the page with a text at its left and cells in its last two columns.
func (f *orderForm) across(text string, k kind, count, amount cell) int {
	cells := make([]cell, f.amountColumn())
	cells[0] = cell{value: text, look: look{kind: k, align: "right"}}
	for i := 1; i < f.countColumn()-1; i++ {
		cells[i].look = cells[0].look
	}
	count.look.kind, amount.look.kind = k, k
	count.look.align, amount.look.align = "right", "right"
	cells[f.countColumn()-1], cells[f.amountColumn()-1] = count, amount
	row := f.order.add(cells...)
	f.order.merge(1, f.countColumn()-1, row)
	return row
}

// head writes the title and the totals, which stay in sight, and returns what fills the totals
// in once all rows are there.
func (f *orderForm) head() (totals func()) {
	p, form := f.order, f.form
	title := "Order form"
	if t := oneLine(form.Title); t != "" {
		title = t + ": order form"
	}
	p.wide(title+" · "+oneLine(f.options.Workshop), lookTitle)
	total := f.across(formTotalWord, lookTotal, cell{}, cell{})
	least := 0
	if form.Minimum.Sign() > 0 {
		least = f.across("Least order", lookFaint, cell{}, numberCell(float(form.Minimum.Number()), f.paid()))
		f.across("Still to reach it", lookFaint, cell{}, cell{})
		f.name(p, cellName(f.amountColumn(), least), "minimum_order", "")
		f.name(p, cellName(f.amountColumn(), least+1), "still_to_reach", "")
	}
	p.head, p.headRows = len(p.rows), len(p.rows)
	f.name(p, cellName(f.countColumn(), total), "garments_total", "")
	f.name(p, cellName(f.amountColumn(), total), "order_total", "")
	return func() {
		set := func(column, row int, c cell) {
			c.look.kind, c.look.align = p.rows[row-1][column-1].look.kind, "right"
			p.rows[row-1][column-1] = c
		}
		sum := func(column int) string {
			return fmt.Sprintf("SUM(%s:%s)", cellName(column, f.firstRow), cellName(column, f.lastRow))
		}
		set(f.countColumn(), total, formulaCell(sum(f.countColumn()), 0, wholeFormat))
		set(f.amountColumn(), total, formulaCell(fmt.Sprintf("ROUND(%s,%d)", sum(f.amountColumn()), f.digits), 0, f.paid()))
		if least > 0 {
			text := fmt.Sprintf("MAX(0,ROUND(%s-%s,%d))", cellName(f.amountColumn(), least), cellName(f.amountColumn(), total), f.digits)
			set(f.amountColumn(), least+1, formulaCell(text, float(form.Minimum.Number()), f.paid()))
		}
	}
}

func (f *orderForm) paid() string { return f.options.moneyFormat(0) }

// boxes writes what the form says, and the boxes for who orders.
func (f *orderForm) boxes() {
	p, form := f.order, f.form
	p.blank()
	to := "send it back"
	if oneLine(form.Contact) != "" {
		to = "send it back: " + oneLine(form.Contact)
	}
	p.wide("Write how many you want into the framed boxes, save the file, and "+to+".", lookPlain)
	if note := strings.TrimSpace(form.Note); note != "" {
		p.wide(note, lookFaint)
	}
	p.blank()
	fact := func(label string, value cell) int { return f.fact(label, value, false) }
	f.name(p, cellName(formFirstSize, fact(formNumberWord, textCell(form.Number))), "form_number", "")
	if !form.IssuedOn.IsZero() {
		fact("Prices of", dateCell(form.IssuedOn))
	}
	if !form.OrderBy.IsZero() {
		f.name(p, cellName(formFirstSize, fact("Order by", dateCell(form.OrderBy))), "order_by", "")
	}
	if form.Terms != "" {
		fact("Terms", textCell(oneLine(form.Terms)))
	}
	p.blank()
	shop := cell{}
	if form.Shop != "" {
		shop = textCell(form.Shop)
	}
	f.box(formShopWord, "shop", shop, 80)
	f.box(formTheirWord, "shop_order_number", cell{}, 80)
	wanted := f.box(formWantedWord, "wanted_by", cell{look: look{format: dateFormat}}, 0)
	from := excelDay(time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC))
	if !form.IssuedOn.IsZero() {
		from = excelDay(form.IssuedOn)
	}
	p.checks = append(p.checks, validation{
		cell: wanted, kind: excelize.DataValidationTypeDate, operator: excelize.DataValidationOperatorGreaterThanOrEqual, least: float64(from),
		message: "Write the day by which you need the goods, such as 2027-04-30.",
	})
	f.box(formShipWord, "ship_to", cell{}, 300)
	p.tall(len(p.rows), 3)
	f.box(formMailWord, "shop_contact", cell{}, 200)
	f.box(formNoteWord, "shop_note", cell{}, 300)
	p.tall(len(p.rows), 2)
	p.blank()
}

// fact writes a label and its value; an open one may be filled in.
func (f *orderForm) fact(label string, value cell, open bool) int {
	cells := make([]cell, f.amountColumn())
	cells[0] = textCell(label)
	value.look.align, value.look.wrap = "left", true
	if open {
		value.look.kind, value.look.open = lookInput, true
	}
	for i := formFirstSize - 1; i < len(cells); i++ {
		cells[i].look = value.look
	}
	cells[formFirstSize-1] = value
	row := f.order.add(cells...)
	f.order.merge(formNumberColumn, formNameColumn, row)
	f.order.merge(formFirstSize, f.amountColumn(), row)
	return row
}

// box writes a box for words of at most so many letters, and returns its cell.
func (f *orderForm) box(label, name string, value cell, letters float64) string {
	at := cellName(formFirstSize, f.fact(label, value, true))
	f.name(f.order, at, name, "")
	if letters > 0 {
		f.order.checks = append(f.order.checks, validation{
			cell: at, kind: excelize.DataValidationTypeTextLength, operator: excelize.DataValidationOperatorLessThanOrEqual, least: letters,
			message: fmt.Sprintf("Write at most %.0f letters.", letters),
		})
	}
	return at
}

// style writes the items from i to j, which are of one style: the sizes once, then prices and
// boxes of each colourway. Colourways of the same prices share a row of them.
func (f *orderForm) style(from, to int) {
	most := 0
	for i := from; i < to; i++ {
		most = max(most, len(f.form.Items[i].Sizes))
	}
	for start := 0; start < most; start += mostSizes {
		var sizes []string
		first := f.order.next()
		prices := 0 // the row that holds them
		var before []LineSize
		for i := from; i < to; i++ {
			item := f.form.Items[i]
			if start >= len(item.Sizes) {
				continue
			}
			part := item.Sizes[start:min(start+mostSizes, len(item.Sizes))]
			if !sameSizes(part, sizes) {
				if sizes != nil {
					f.order.blank()
				}
				sizes, prices = f.sizeHeads(item.Style, part), 0
			}
			if prices == 0 || !slices.Equal(part, before) {
				prices, before = f.prices(part), part
			}
			f.quantities(i+1, item, part, prices)
		}
		f.order.keep(first)
		f.order.blank()
	}
}

func sameSizes(part []LineSize, names []string) bool {
	if len(part) != len(names) {
		return false
	}
	for i := range part {
		if part[i].Size != names[i] {
			return false
		}
	}
	return true
}

// sizeHeads writes the heading of a style.
func (f *orderForm) sizeHeads(style string, part []LineSize) (sizes []string) {
	heads := make([]cell, f.amountColumn())
	for i := range heads {
		heads[i].look = look{kind: lookHeading, wrap: true, align: "right"}
	}
	heads[0].value, heads[1].value = formRowWord, oneLine(style)
	heads[0].look.align, heads[1].look.align = "left", "left"
	for i, size := range part {
		heads[formFirstSize-1+i].value = size.Size
		sizes = append(sizes, size.Size)
	}
	heads[f.countColumn()-1].value, heads[f.amountColumn()-1].value = formCountWord, formAmountWord
	f.order.add(heads...)
	return sizes
}

// prices writes what one garment of each size costs, and returns the row.
func (f *orderForm) prices(part []LineSize) int {
	wholesale, retail := make([]cell, f.amountColumn()), make([]cell, f.amountColumn())
	wholesale[formNameColumn-1], retail[formNameColumn-1] = textCell(formPriceWord), textCell(formRetailWord)
	suggested := false
	for i, size := range part {
		wholesale[formFirstSize-1+i] = numberCell(float(size.Wholesale.Number()), f.paid())
		if size.Retail.Sign() > 0 {
			suggested = true
			retail[formFirstSize-1+i] = numberCell(float(size.Retail.Number()), f.paid())
		}
	}
	for i := range retail {
		retail[i].look.kind = lookFaint
		if i >= formFirstSize-1 {
			retail[i].look.align, wholesale[i].look.align = "right", "right"
		}
	}
	wholesale[formNameColumn-1].look.kind = lookFaint
	row := f.order.add(wholesale...)
	if suggested {
		f.order.add(retail...)
	}
	return row
}

// quantities writes the boxes of an item with their sum and what they come to.
func (f *orderForm) quantities(number int, item FormItem, part []LineSize, prices int) {
	p := f.order
	row := p.next()
	cells := make([]cell, f.amountColumn())
	for i := range cells {
		cells[i].look.kind = lookBody
	}
	name := oneLine(item.Colourway)
	cells[0] = cell{value: number, look: look{kind: lookBody, format: wholeFormat, align: "left"}}
	cells[1] = cell{value: name, look: look{kind: lookBody, wrap: true}}
	for i := range part {
		cells[formFirstSize-1+i] = cell{look: look{kind: lookInput, format: wholeFormat, open: true}}
	}
	last := formFirstSize + len(part) - 1
	boxes := cellName(formFirstSize, row) + ":" + cellName(last, row)
	amount := fmt.Sprintf("ROUND(SUMPRODUCT(%s,%s:%s),%d)", boxes, cellName(formFirstSize, prices), cellName(last, prices), f.digits)
	cells[f.countColumn()-1] = formulaCell(fmt.Sprintf("SUM(%s)", boxes), 0, wholeFormat).as(lookBody)
	cells[f.amountColumn()-1] = formulaCell(amount, 0, f.paid()).as(lookBody)
	p.add(cells...)
	f.name(p, cellName(f.countColumn(), row), fmt.Sprintf("row_%d_garments", number), "")
	f.name(p, cellName(f.amountColumn(), row), fmt.Sprintf("row_%d_amount", number), "")
	p.checks = append(p.checks, validation{
		cell: boxes, kind: excelize.DataValidationTypeWhole, operator: excelize.DataValidationOperatorBetween, least: 0, most: mostOrdered,
		message: "Write a whole number of garments, or leave the box empty.",
	})
}

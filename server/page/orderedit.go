package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/server/store"
)

// Run is the size run of one style: rows of colourways, columns of sizes.
type Run struct {
	Style string
	Sizes []string
	Rows  []RunRow
	// Totals by size, and of all.
	Totals []int
	Total  int
	Open   bool
}

// RunRow is one colourway.
type RunRow struct {
	Colourway int64
	Name      string
	Cells     []RunCell
	Total     int
}

// RunCell is one colourway in one size.
type RunCell struct {
	Field
	Size string
}

// Orderable is a style with the colourways and sizes that can be ordered of it.
type Orderable struct {
	Style string
	Sizes []string
	Ways  []store.Colourway
}

// MaxOfOne is how many of one size an order line may want.
const MaxOfOne = 10_000

// maxOpenRuns is up to how many styles a new order shows all at once.
const maxOpenRuns = 6

// RunField names the box of a colourway in a size.
func RunField(colourway int64, size string) string { return fmt.Sprintf("q.%d.%s", colourway, size) }

// Runs lays out the size run of every style, with what is saved of it by the names of the boxes, or
// what was typed. Colourways that were put away are left out, unless something is in one of their boxes.
func (b Base) Runs(of []Orderable, saved map[string]string) []Run {
	var runs []Run
	for _, o := range of {
		run := Run{Style: o.Style, Sizes: o.Sizes, Totals: make([]int, len(o.Sizes))}
		for _, way := range o.Ways {
			if row := b.runRow(&run, way, saved); !way.PutAway || row.filled() {
				run.Rows = append(run.Rows, row)
			}
		}
		if len(run.Rows) > 0 {
			runs = append(runs, run)
		}
	}
	if !slices.ContainsFunc(runs, func(run Run) bool { return run.Open }) {
		for i := range runs {
			runs[i].Open = i == 0 || len(runs) <= maxOpenRuns
		}
	}
	return runs
}

func (b Base) runRow(run *Run, way store.Colourway, saved map[string]string) RunRow {
	row := RunRow{Colourway: way.ID, Name: way.Name}
	for i, size := range run.Sizes {
		name := RunField(way.ID, size)
		box := RunCell{b.WholeField(name, way.Name+", "+run.Style+", size "+size, "", saved[name]), size}
		if count, err := strconv.Atoi(strings.TrimSpace(box.Value)); err == nil && count > 0 && count <= MaxOfOne {
			row.Total += count
			run.Totals[i] += count
			run.Total += count
		}
		run.Open = run.Open || box.Value != "" || box.Wrong != ""
		row.Cells = append(row.Cells, box)
	}
	return row
}

func (r RunRow) filled() bool {
	return slices.ContainsFunc(r.Cells, func(c RunCell) bool { return c.Value != "" })
}

// OrderEdit is the page on which an order is entered or changed.
type OrderEdit struct {
	Base
	Order     store.Order
	Customers []store.Customer
	Kinds     []string
	// Of is what can be ordered, Quantities what the order has by the names of the boxes.
	Of         []Orderable
	Quantities map[string]string
	// First is what is to be done before there is anything to order; nil if there is.
	First *Step
}

func (OrderEdit) page() string { return "order_edit" }

// Runs are the size runs to fill in.
func (v OrderEdit) Runs() []Run { return v.Base.Runs(v.Of, v.Quantities) }

// Form is the form of the order.
func (v OrderEdit) Form() Form {
	place, action, number := "/orders/new", "/orders", v.TextField("number", "Number", "empty: the next one", v.Order.Number)
	if v.Order.ID != 0 {
		action = fmt.Sprintf("/orders/%d", v.Order.ID)
		place, number.Hint = action+"/edit", ""
	}
	customers := []Option{{Text: "choose"}}
	for _, c := range v.Customers {
		customers = append(customers, Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name + " (" + c.Kind + ")"})
	}
	var cells [][]Field
	for _, run := range v.Runs() {
		for _, row := range run.Rows {
			var fields []Field
			for _, cell := range row.Cells {
				fields = append(fields, cell.Field)
			}
			cells = append(cells, fields)
		}
	}
	return v.Base.Form(place, action, v.Order.Version,
		[]Field{v.Choose("customer", "Customer", "", v.Order.CustomerID, customers), v.DayField("due_on", "Due on", "", v.Order.DueOn), number},
		[]Field{v.TextField("new_customer", "Name", "", ""), v.Choose("new_kind", "Sold through", "", "fair", Words(v.Kinds...))},
		[]Field{v.LinesField("note", "Note", "", v.Order.Note)},
	).With("q", cells)
}

// PriceForm agrees on the price of an order, PaymentForm takes a payment.
func (o Order) PriceForm() Form {
	place := fmt.Sprintf("/orders/%d", o.Order.ID)
	price := o.NumberField("price", "Price in all", "", o.OwnCoins(o.Till.Price))
	if o.Till.Suggested != nil {
		price.Hint = "by your prices: " + o.Price(*o.Till.Suggested)
		price.Value = o.Typed("price", o.InCoins(*o.Till.Suggested))
	}
	return o.Base.Form(place, place+"/price", o.Order.Version, []Field{price})
}

func (o Order) PaymentForm() Form {
	place := fmt.Sprintf("/orders/%d", o.Order.ID)
	amount := o.TextField("amount", "Deposit or balance taken", "with a minus: given back", "")
	return o.Base.Form(place, place+"/payments", 0,
		[]Field{amount, o.Choose("how", "By", "", "cash", Words(o.Till.How...)), o.DayField("paid_on", "On", "", o.Today)},
		[]Field{o.HiddenField("key", o.Till.Key)},
	)
}

// SellForm books what was tapped at a fair.
func (f Fair) SellForm() Form {
	customers := []Option{{Text: "choose"}}
	for _, c := range f.Customers {
		customers = append(customers, Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name})
	}
	hidden := []Field{{Name: "key", Kind: KindHidden, Value: f.Key}}
	if f.Corrects != 0 {
		hidden = append(hidden, Field{Name: "corrects", Kind: KindHidden, Value: fmt.Sprint(f.Corrects)})
	}
	for _, line := range f.List {
		hidden = append(hidden, Field{Name: line.Field, Kind: KindHidden, Value: strconv.Itoa(line.Count)})
	}
	return f.Base.Form("/orders/fair", "/orders/fair", 0,
		[]Field{f.Choose("customer", "Fair", "", f.Customer, customers), f.NumberField("price", "Price in all", "", f.sum()), f.Choose("how", "Paid by", "", "cash", Words(f.How...))},
	).With("later", [][]Field{{
		f.NumberField("paid", "Deposit taken now", "", ""), f.DayField("due_on", "Due on", "", time.Time{}), f.TextField("note", "For whom, and how to reach them", "", ""),
	}}).With("list", [][]Field{hidden})
}

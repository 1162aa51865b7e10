package workshop

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"yardwright/server/store"
)

// ordersKind is a table of orders.
var ordersKind = ImportKind{
	Name: "orders", Title: "Orders", Back: "/orders",
	About: "One row for each style, colourway and size; rows of one order number make one order. Days are written 2026-12-24.",
	Columns: []ImportColumn{
		{Name: "order", Label: "Order number", Needed: true, Others: []string{"order no", "number", "no"}},
		{Name: "customer", Label: "Customer", Needed: true, Others: []string{"for", "name", "buyer", "shop"}},
		{Name: "kind", Label: "Kind of customer", Others: []string{"sold through", "channel"}},
		{Name: "taken", Label: "Taken on", Others: []string{"ordered", "order date", "date"}},
		{Name: "due", Label: "Due", Needed: true, Others: []string{"due on", "due date", "wanted", "deliver by"}},
		{Name: "style", Label: "Style", Needed: true, Others: []string{"garment", "article", "item"}},
		{Name: "colourway", Label: "Colourway", Needed: true, Others: []string{"colour", "color", "colorway", "fabric", "cloth"}},
		{Name: "size", Label: "Size", Needed: true},
		{Name: "quantity", Label: "Quantity", Needed: true, Others: []string{"qty", "pieces", "count", "how many"}},
		{Name: "note", Label: "Note", Others: []string{"notes", "remark", "comment"}},
	},
}

// ImportOrders reads orders from a table (see ReadTable) with the headings of the orders kind:
// order, customer, due, style, colourway, size, quantity; and if wanted kind (of a new
// customer: fair, shop, online), taken and note. All is taken or, if anything is wrong,
// nothing; each problem names its line and column. An order that is there already is not
// taken again.
func (s *Service) ImportOrders(ctx context.Context, workshop int64, name string, r io.Reader) (Imported, error) {
	content, err := readAll(r)
	if err != nil {
		return Imported{}, err
	}
	table, err := ReadTable(content)
	if err != nil {
		return Imported{}, err
	}
	if table.Guessed {
		return Imported{}, store.Wrong("file", "The file isn't written in UTF-8. Save it as CSV UTF-8 and try again.")
	}
	if err := ordersKind.knowsAll(table.Heading); err != nil {
		return Imported{}, err
	}
	return s.takeTable(ctx, workshop, ordersKind, table, ordersKind.Match(table.Heading))
}

func (im *importer) learn(ctx context.Context) error {
	customers, err := im.tx.Customers(ctx, im.workshop)
	if err != nil {
		return err
	}
	ways, err := im.tx.Colourways(ctx, im.workshop)
	if err != nil {
		return err
	}
	im.customers, im.ways = map[string]int64{}, map[[2]string]int64{}
	for _, c := range customers {
		im.customers[strings.ToLower(c.Name)] = c.ID
	}
	for _, w := range ways {
		im.ways[[2]string{strings.ToLower(w.StyleName), strings.ToLower(w.Name)}] = w.ID
	}
	im.sizes, err = sizesByColourway(ctx, im.tx, im.workshop)
	return err
}

// takeOrders makes an order of the rows of each order number.
func (im *importer) takeOrders(ctx context.Context, rows []ImportRow) error {
	if err := im.learn(ctx); err != nil {
		return err
	}
	drafts := map[string]*OrderDraft{}
	first := map[string]ImportRow{}
	var numbers []string
	for _, row := range rows {
		number := row.fields["order"]
		if number == "" {
			im.wrong(row, "order", "Write the number of the order.")
			continue
		}
		if drafts[number] == nil {
			draft, err := im.begin(ctx, row)
			if err != nil {
				return err
			}
			drafts[number], first[number] = draft, row
			numbers = append(numbers, number)
		} else {
			im.same(row, first[number])
		}
		im.addLine(drafts[number], row)
	}
	if len(im.fault.Problems) > 0 {
		return im.fault
	}
	here, err := im.tx.OrdersNumbered(ctx, im.workshop, numbers)
	if err != nil {
		return err
	}
	for _, number := range numbers {
		if before, ok := here[number]; ok {
			im.meet(before, *drafts[number], first[number])
			continue
		}
		if _, err := im.service.takeOrder(ctx, im.tx, im.workshop, *drafts[number]); err != nil {
			if err := im.refused(err, first[number].line); err != nil {
				return err
			}
			continue
		}
		im.done.Orders++
		for _, line := range drafts[number].Lines {
			im.done.Garments += line.Quantity
		}
	}
	return nil
}

// meet compares an order of the file with the one that has its number already.
func (im *importer) meet(here store.Order, draft OrderDraft, row ImportRow) {
	same := here.CustomerID == draft.Customer && here.DueOn.Equal(draft.DueOn) && len(here.Lines) == len(draft.Lines)
	for _, line := range draft.Lines {
		same = same && slices.ContainsFunc(here.Lines, func(l store.OrderLine) bool {
			return l.ColourwayID == line.Colourway && l.Size == line.Size && l.Quantity == line.Quantity
		})
	}
	if same {
		im.done.Same++
		return
	}
	im.wrong(row, "order", fmt.Sprintf("An order of this number is here already, and differs. Change order %s on its own page, or give this one another number.", here.Number))
}

func (im *importer) begin(ctx context.Context, row ImportRow) (*OrderDraft, error) {
	draft := &OrderDraft{Number: row.fields["order"], Note: row.fields["note"]}
	draft.DueOn = im.day(row, "due")
	if row.fields["taken"] != "" {
		draft.TakenOn = im.day(row, "taken")
	}
	customer, err := im.customer(ctx, row)
	draft.Customer = customer
	return draft, err
}

func (im *importer) customer(ctx context.Context, row ImportRow) (int64, error) {
	name := row.fields["customer"]
	if name == "" {
		im.wrong(row, "customer", "Write the name of the customer.")
		return 0, nil
	}
	if id, ok := im.customers[strings.ToLower(name)]; ok {
		return id, nil
	}
	kind := strings.ToLower(row.fields["kind"])
	if !slices.Contains([]string{"fair", "shop", "online"}, kind) {
		im.wrong(row, "customer", fmt.Sprintf("There is no customer %q. Add the customer first, or write fair, shop or online in the column kind.", name))
		return 0, nil
	}
	id, err := im.tx.AddCustomer(ctx, im.workshop, store.Customer{Name: name, Kind: kind})
	if err != nil {
		return 0, atLine(err, row.line)
	}
	im.customers[strings.ToLower(name)] = id
	im.done.Customers++
	return id, nil
}

// same finds rows of one order that disagree about the order itself.
func (im *importer) same(row, first ImportRow) {
	for _, column := range []string{"customer", "due", "taken"} {
		if row.fields[column] != "" && row.fields[column] != first.fields[column] {
			im.wrong(row, column, fmt.Sprintf("Line %d says %q for the same order.", first.line, first.fields[column]))
		}
	}
}

func (im *importer) addLine(draft *OrderDraft, row ImportRow) {
	style, colourway := row.fields["style"], row.fields["colourway"]
	way, known := im.ways[[2]string{strings.ToLower(style), strings.ToLower(colourway)}]
	size := row.fields["size"]
	switch {
	case !known:
		im.wrong(row, "colourway", fmt.Sprintf("There is no colourway %q of a style %q.", colourway, style))
	case !slices.Contains(im.sizes[way], size):
		im.wrong(row, "size", fmt.Sprintf("%q is not a size of %s; its sizes are %s.", size, style, strings.Join(im.sizes[way], ", ")))
	}
	quantity, ok := im.whole(row, "quantity", 1, 10_000)
	if !known || !ok {
		return
	}
	for _, line := range draft.Lines {
		if line.Colourway == way && line.Size == size {
			im.wrong(row, "size", "The same colourway and size appears twice in this order.")
			return
		}
	}
	draft.Lines = append(draft.Lines, LineDraft{Colourway: way, Size: size, Quantity: quantity})
}

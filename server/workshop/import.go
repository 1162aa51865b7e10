package workshop

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"yardwright/server/store"
)

// Imported says what an import took in.
type Imported struct {
	Orders, Garments, Customers int
}

// largestImport is far more than a workshop's orders of a year.
const largestImport = 8 << 20

// The columns of an orders file. The optional ones may be missing.
var (
	neededColumns   = []string{"order", "customer", "due", "style", "colourway", "size", "quantity"}
	optionalColumns = []string{"kind", "taken", "note"}
)

// OrderRow is one row of an orders file, by column name, with the line it stands on.
type OrderRow struct {
	line   int
	fields map[string]string
}

// ImportOrders reads orders from a table of comma- or semicolon-separated values (RFC 4180)
// with a heading: order, customer, due, style, colourway, size, quantity; and if wanted kind
// (of a new customer: fair, shop, online), taken and note. Days are written 2026-12-24. Rows
// of one order number make one order. All is taken or, if anything is wrong, nothing; each
// problem names its line and column. The same file is not taken twice.
func (s *Service) ImportOrders(ctx context.Context, workshop int64, name string, r io.Reader) (Imported, error) {
	content, err := io.ReadAll(io.LimitReader(r, largestImport+1))
	if err != nil {
		return Imported{}, err
	}
	if len(content) > largestImport {
		return Imported{}, store.Wrong("file", fmt.Sprintf("The file is larger than %d MB; split it.", largestImport>>20))
	}
	rows, err := ReadOrderRows(content)
	if err != nil {
		return Imported{}, err
	}
	var done Imported
	err = s.InTx(ctx, func(tx *store.Store) error {
		digest := sha256.Sum256(content)
		if err := tx.NoteImport(ctx, workshop, name, digest[:]); err != nil {
			return err
		}
		taker := &importer{service: s, tx: tx, workshop: workshop, fault: &store.Fault{Kind: store.Invalid}}
		if err := taker.learn(ctx); err != nil {
			return err
		}
		if err := taker.take(ctx, rows); err != nil {
			return err
		}
		done = taker.done
		return nil
	})
	return done, err
}

// ReadOrderRows reads the rows of an orders file; the error is a Fault at the line.
func ReadOrderRows(content []byte) ([]OrderRow, error) {
	content = bytes.TrimPrefix(content, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(content) {
		return nil, store.Wrong("file", "The file isn't written in UTF-8. Save it as CSV UTF-8 and try again.")
	}
	reader := csv.NewReader(bytes.NewReader(content))
	reader.Comma = separatorOf(content)
	reader.FieldsPerRecord = -1
	reader.TrimLeadingSpace = true
	heading, err := reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, store.Wrong("file", "The file is empty.")
	}
	if err != nil {
		return nil, csvFault(err)
	}
	columns, err := readHeading(heading)
	if err != nil {
		return nil, err
	}
	var rows []OrderRow
	for {
		record, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, csvFault(err)
		}
		line, _ := reader.FieldPos(0)
		row := OrderRow{line: line, fields: map[string]string{}}
		for i, value := range record {
			if i < len(columns) {
				row.fields[columns[i]] = strings.TrimSpace(value)
			}
		}
		if strings.Join(record, "") != "" {
			rows = append(rows, row)
		}
	}
	if len(rows) == 0 {
		return nil, store.Wrong("file", "The file has a heading but no rows.")
	}
	return rows, nil
}

func csvFault(err error) error {
	var broken *csv.ParseError
	if errors.As(err, &broken) {
		return store.Wrong(fmt.Sprintf("line %d", broken.Line), "The quotation marks of this row don't fit together.")
	}
	return store.Wrong("file", "The file can't be read as a table.")
}

// separatorOf guesses what separates the values, from the heading.
func separatorOf(content []byte) rune {
	heading, _ := bufio.NewReader(bytes.NewReader(content)).ReadString('\n')
	separator, most := ',', strings.Count(heading, ",")
	for _, other := range []rune{';', '\t'} {
		if count := strings.Count(heading, string(other)); count > most {
			separator, most = other, count
		}
	}
	return separator
}

func readHeading(heading []string) ([]string, error) {
	known := append(slices.Clone(neededColumns), optionalColumns...)
	columns := make([]string, len(heading))
	for i, name := range heading {
		name = strings.ToLower(strings.TrimSpace(name))
		if !slices.Contains(known, name) {
			return nil, store.Wrong("line 1", fmt.Sprintf("The column %q is not known; known are %s.", heading[i], strings.Join(known, ", ")))
		}
		if slices.Contains(columns[:i], name) {
			return nil, store.Wrong("line 1", fmt.Sprintf("The column %q stands twice.", name))
		}
		columns[i] = name
	}
	for _, name := range neededColumns {
		if !slices.Contains(columns, name) {
			return nil, store.Wrong("line 1", fmt.Sprintf("The column %q is missing.", name))
		}
	}
	return columns, nil
}

// importer takes rows into orders and collects everything that is wrong.
type importer struct {
	service   *Service
	tx        *store.Store
	workshop  int64
	customers map[string]int64
	ways      map[[2]string]int64
	sizes     map[int64][]string
	fault     *store.Fault
	done      Imported
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

func (im *importer) wrong(row OrderRow, column, message string) {
	im.fault.Problems = append(im.fault.Problems, store.Problem{Field: fmt.Sprintf("line %d, %s", row.line, column), Message: message})
}

func (im *importer) take(ctx context.Context, rows []OrderRow) error {
	drafts := map[string]*OrderDraft{}
	first := map[string]OrderRow{}
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
	for _, number := range numbers {
		if _, err := im.service.takeOrder(ctx, im.tx, im.workshop, *drafts[number]); err != nil {
			return atLine(err, first[number].line)
		}
		im.done.Orders++
	}
	return nil
}

// atLine names the line of the file that a refused order begins on.
func atLine(err error, line int) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	for i := range fault.Problems {
		fault.Problems[i].Field = strings.TrimSuffix(fmt.Sprintf("line %d, %s", line, fault.Problems[i].Field), ", ")
	}
	return fault
}

func (im *importer) begin(ctx context.Context, row OrderRow) (*OrderDraft, error) {
	draft := &OrderDraft{Number: row.fields["order"], Note: row.fields["note"]}
	draft.DueOn = im.day(row, "due")
	if row.fields["taken"] != "" {
		draft.TakenOn = im.day(row, "taken")
	}
	customer, err := im.customer(ctx, row)
	draft.Customer = customer
	return draft, err
}

func (im *importer) day(row OrderRow, column string) time.Time {
	day, err := time.Parse("2006-01-02", row.fields[column])
	if err != nil {
		im.wrong(row, column, fmt.Sprintf("%q is not a day; write it like 2026-12-24.", row.fields[column]))
	}
	return day
}

func (im *importer) customer(ctx context.Context, row OrderRow) (int64, error) {
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
func (im *importer) same(row, first OrderRow) {
	for _, column := range []string{"customer", "due", "taken"} {
		if row.fields[column] != "" && row.fields[column] != first.fields[column] {
			im.wrong(row, column, fmt.Sprintf("Line %d says %q for the same order.", first.line, first.fields[column]))
		}
	}
}

func (im *importer) addLine(draft *OrderDraft, row OrderRow) {
	style, colourway := row.fields["style"], row.fields["colourway"]
	way, ok := im.ways[[2]string{strings.ToLower(style), strings.ToLower(colourway)}]
	if !ok {
		im.wrong(row, "colourway", fmt.Sprintf("There is no colourway %q of a style %q.", colourway, style))
		return
	}
	size := row.fields["size"]
	if !slices.Contains(im.sizes[way], size) {
		im.wrong(row, "size", fmt.Sprintf("%q is not a size of %s; its sizes are %s.", size, style, strings.Join(im.sizes[way], ", ")))
	}
	quantity, err := strconv.Atoi(row.fields["quantity"])
	if err != nil || quantity < 1 || quantity > 10_000 {
		im.wrong(row, "quantity", fmt.Sprintf("%q is not a quantity; write a whole number from 1 to 10,000.", row.fields["quantity"]))
		return
	}
	for _, line := range draft.Lines {
		if line.Colourway == way && line.Size == size {
			im.wrong(row, "size", "The same colourway and size stands twice in this order.")
			return
		}
	}
	draft.Lines = append(draft.Lines, LineDraft{Colourway: way, Size: size, Quantity: quantity})
	im.done.Garments += quantity
}

package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Imported says what an import took in.
type Imported struct {
	Orders, Garments, Customers int
	Cloths, Styles              int
	// Changed were here and are now as the file says; Same were here already, just so.
	Changed, Same int
	// Lists are price lists that were issued, with so many changed Prices.
	Lists, Prices int
	// Changes say what becomes of what is here; Notes what is worth knowing, line by line.
	Changes, Notes []store.Problem
}

// NothingNew tells whether all of a file is here already, just so.
func (i Imported) NothingNew() bool {
	return i.Orders+i.Customers+i.Cloths+i.Styles+i.Changed+i.Lists+i.Prices == 0
}

// String says it in a sentence: 12 orders with 40 garments, 2 new customers.
func (i Imported) String() string {
	var parts []string
	add := func(n int, one string, many ...string) {
		if n > 0 {
			parts = append(parts, words.Count(n, one, many...))
		}
	}
	add(i.Orders, "order")
	add(i.Garments, "garment")
	add(i.Customers, "new customer")
	add(i.Cloths, "cloth")
	add(i.Styles, "style")
	add(i.Lists, "new price list")
	add(i.Prices, "changed price")
	add(i.Changed, "change")
	add(i.Same, "that is here already", "that are here already")
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", ")
}

// ImportKinds are the tables that can be taken in.
func ImportKinds() []ImportKind { return []ImportKind{ordersKind, clothsKind, stylesKind, pricesKind} }

// KindOfImport finds a kind by name.
func KindOfImport(name string) (ImportKind, bool) {
	kinds := ImportKinds()
	at := slices.IndexFunc(kinds, func(k ImportKind) bool { return k.Name == name })
	if at < 0 {
		return ImportKind{}, false
	}
	return kinds[at], true
}

// knowsAll refuses a heading with a column that is not ours, or that appears twice.
func (k ImportKind) knowsAll(heading []string) error {
	var names []string
	for _, column := range k.Columns {
		names = append(names, column.Name)
	}
	matching := k.Match(heading)
	for i, name := range heading {
		if name == "" || matching.holds(i) {
			continue
		}
		if slices.ContainsFunc(heading[:i], func(other string) bool { return bareWord(other) == bareWord(name) }) {
			return store.Wrong("line 1", fmt.Sprintf("The column %q appears twice.", name))
		}
		return store.Wrong("line 1", fmt.Sprintf("The column %q is not known; known are %s.%s", name, strings.Join(names, ", "), k.missing(matching)))
	}
	return nil
}

// missing says which needed columns a heading lacks.
func (k ImportKind) missing(matching Matching) string {
	var missing []string
	for _, column := range k.Columns {
		if _, ok := matching[column.Name]; column.Needed && !ok {
			missing = append(missing, column.Name)
		}
	}
	if len(missing) == 0 {
		return ""
	}
	return " Missing are " + strings.Join(missing, ", ") + "."
}

// KeepImport keeps a file so that it can be looked at before anything is taken.
func (s *Service) KeepImport(ctx context.Context, workshop int64, kind, name string, r io.Reader) (int64, error) {
	if _, ok := KindOfImport(kind); !ok {
		return 0, notThere("kind of table")
	}
	content, err := readAll(r)
	if err != nil {
		return 0, err
	}
	if _, err := ReadTable(content); err != nil {
		return 0, err
	}
	return s.store.AddImportDraft(ctx, workshop, store.ImportDraft{Kind: kind, Name: strings.ToValidUTF8(strings.ReplaceAll(name, "\x00", ""), "?"), Content: content})
}

// ImportPreview is what would come of a file.
type ImportPreview struct {
	ID     int64
	Kind   ImportKind
	File   string
	Table  Table
	Choice ImportChoice
	// Slashes: days are written in the file like 1/2/2027, so how they are meant is shown and can be
	// said.
	Slashes bool
	// Would is what would be taken if nothing is wrong.
	Would    Imported
	Problems []store.Problem
}

// errOnlyLooking undoes an import that was only tried.
var errOnlyLooking = errors.New("only looking")

// LookAtImport tries an import and undoes it. With a nil matching the columns are matched by
// their headings.
func (s *Service) LookAtImport(ctx context.Context, workshop, id int64, choice ImportChoice) (ImportPreview, error) {
	preview, err := s.openImport(ctx, workshop, id, choice)
	if err != nil {
		return ImportPreview{}, err
	}
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		preview.Would, err = s.takeRows(ctx, tx, workshop, preview)
		if err != nil {
			return err
		}
		return errOnlyLooking
	})
	var fault *store.Fault
	switch {
	case errors.As(err, &fault):
		preview.Problems = fault.Problems
	case !errors.Is(err, errOnlyLooking):
		return ImportPreview{}, err
	}
	return preview, nil
}

// TakeImport takes what was looked at, all or nothing, and lets go of the file.
func (s *Service) TakeImport(ctx context.Context, workshop, id int64, choice ImportChoice) (Imported, error) {
	preview, err := s.openImport(ctx, workshop, id, choice)
	if err != nil {
		return Imported{}, err
	}
	var done Imported
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		if done, err = s.takeRows(ctx, tx, workshop, preview); err != nil {
			return err
		}
		return tx.RemoveImportDraft(ctx, workshop, id)
	})
	return done, err
}

func (s *Service) openImport(ctx context.Context, workshop, id int64, choice ImportChoice) (ImportPreview, error) {
	draft, err := s.store.ImportDraft(ctx, workshop, id)
	if err != nil {
		return ImportPreview{}, err
	}
	kind, ok := KindOfImport(draft.Kind)
	if !ok {
		return ImportPreview{}, notThere("kind of table")
	}
	table, err := ReadTable(draft.Content)
	if err != nil {
		return ImportPreview{}, err
	}
	if choice.Matching == nil {
		choice.Matching = kind.Match(table.Heading)
	}
	slashes := choice.settle(kind, table)
	return ImportPreview{ID: id, Kind: kind, File: draft.Name, Table: table, Choice: choice, Slashes: slashes}, nil
}

// takeTable takes a table without anybody looking first.
func (s *Service) takeTable(ctx context.Context, workshop int64, kind ImportKind, table Table, matching Matching) (Imported, error) {
	var done Imported
	choice := ImportChoice{Matching: matching}
	choice.settle(kind, table)
	err := s.store.InTx(ctx, func(tx *store.Store) (err error) {
		done, err = s.takeRows(ctx, tx, workshop, ImportPreview{Kind: kind, Table: table, Choice: choice})
		return err
	})
	return done, err
}

func (s *Service) takeRows(ctx context.Context, tx *store.Store, workshop int64, from ImportPreview) (Imported, error) {
	rows, err := from.Kind.rows(from.Table, from.Choice.Matching)
	if err != nil {
		return Imported{}, err
	}
	w, err := tx.Workshop(ctx, workshop)
	if err != nil {
		return Imported{}, err
	}
	taker := &importer{service: s, tx: tx, room: w, workshop: workshop, days: from.Choice.Days, fault: &store.Fault{Kind: store.Invalid}}
	if taker.checkTexts(rows); len(taker.fault.Problems) > 0 {
		return Imported{}, taker.fault
	}
	switch from.Kind.Name {
	case ordersKind.Name:
		err = taker.takeOrders(ctx, rows)
	case clothsKind.Name:
		err = taker.takeCloths(ctx, rows)
	case stylesKind.Name:
		err = taker.takeStyles(ctx, rows)
	case pricesKind.Name:
		err = taker.takePrices(ctx, rows)
	}
	if err == nil && len(taker.fault.Problems) > 0 {
		err = taker.fault
	}
	return taker.done, err
}

// importer takes rows of a table in and collects everything that is wrong.
type importer struct {
	service   *Service
	tx        *store.Store
	room      store.Workshop
	workshop  int64
	days      DayOrder
	customers map[string]int64
	ways      map[[2]string]int64
	sizes     map[int64][]string
	fault     *store.Fault
	done      Imported
}

// checkTexts refuses cells that are too long for what they say, or hold what can't be read.
func (im *importer) checkTexts(rows []ImportRow) {
	for _, row := range rows {
		for _, column := range slices.Sorted(maps.Keys(row.fields)) {
			fault := ""
			switch column {
			case "note":
				fault = words.NoteFault(row.fields[column], words.LongestNote)
			case "content", "care":
				fault = words.LineFault(row.fields[column], words.LongestLine)
			default:
				fault = words.LineFault(row.fields[column], words.LongestName)
			}
			if fault != "" {
				im.wrong(row, column, fault)
			}
		}
	}
}

// wrong notes what is wrong with a cell; the first that is said of one is enough.
func (im *importer) wrong(row ImportRow, column, message string) {
	field := fmt.Sprintf("line %d, %s", row.line, column)
	if n := len(im.fault.Problems); slices.ContainsFunc(im.fault.Problems[max(0, n-len(row.fields)-1):], func(p store.Problem) bool { return p.Field == field }) {
		return
	}
	im.fault.Problems = append(im.fault.Problems, store.Problem{Field: field, Message: message})
}

// atLine names the line of the file that a refused record begins on.
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

// refused collects what is wrong with a record; other errors end the import.
func (im *importer) refused(err error, line int) error {
	var fault *store.Fault
	if err = atLine(err, line); errors.As(err, &fault) {
		im.fault.Problems = append(im.fault.Problems, fault.Problems...)
		return nil
	}
	return err
}

// day reads a day; see DayOrder.
func (im *importer) day(row ImportRow, column string) time.Time {
	text := row.fields[column]
	day, other := im.days.read(text)
	switch {
	case day.IsZero():
		im.wrong(row, column, fmt.Sprintf("%q is not a day; write it like 2026-12-24.", text))
	case !other.IsZero():
		im.wrong(row, column, fmt.Sprintf("%q can be %s or %s. Say whether the day or the month comes first in this file, or write days like 2026-12-24.", text, day.Format(longDay), other.Format(longDay)))
	}
	return day
}

// whole reads a whole number; spreadsheets write 3 as 3.0 or 3,00 as well.
func (im *importer) whole(row ImportRow, column string, least, most int) (int, bool) {
	text := row.fields[column]
	number, err := money.ParseTyped(text)
	if err == nil {
		value, err := strconv.Atoi(strings.TrimRight(strings.TrimRight(pointed(number.String()), "0"), "."))
		if err == nil && value >= least && value <= most {
			return value, true
		}
	}
	im.wrong(row, column, fmt.Sprintf("%q is not a quantity; write a whole number from %d to %s.", text, least, grouped(most)))
	return 0, false
}

// pointed makes sure that there is a point to cut zeros up to.
func pointed(digits string) string {
	if strings.Contains(digits, ".") {
		return digits
	}
	return digits + "."
}

func grouped(n int) string {
	if n < 1000 {
		return strconv.Itoa(n)
	}
	return fmt.Sprintf("%s,%03d", grouped(n/1000), n%1000)
}

// length reads a length; a bare number counts in the small unit of the workshop.
func (im *importer) length(row ImportRow, column string) length.Length {
	text := row.fields[column]
	if text == "" {
		return 0
	}
	value, err := length.Parse(text, im.room.System.Small())
	if err != nil || value < 0 {
		im.wrong(row, column, fmt.Sprintf("%q is not a length; write it like 44 in or 112 cm.", text))
		return 0
	}
	return value
}

func (im *importer) decimal(row ImportRow, column string) money.Decimal {
	text := strings.TrimSpace(strings.TrimSuffix(row.fields[column], "%"))
	if text == "" {
		return money.Decimal{}
	}
	value, err := money.ParseTyped(text)
	if err != nil {
		im.wrong(row, column, err.Error())
	}
	return value
}

// yes reads yes or no; empty is the given answer.
func (im *importer) yes(row ImportRow, column string, otherwise bool) bool {
	switch strings.ToLower(row.fields[column]) {
	case "":
		return otherwise
	case "yes", "y", "true", "1", "x":
		return true
	case "no", "n", "false", "0", "-":
		return false
	}
	im.wrong(row, column, fmt.Sprintf("%q is neither yes nor no.", row.fields[column]))
	return otherwise
}

// choice reads one of a few words; empty is the first.
func (im *importer) choice(row ImportRow, column string, words ...string) string {
	text := strings.ToLower(row.fields[column])
	if text == "" {
		return words[0]
	}
	if !slices.Contains(words, text) {
		im.wrong(row, column, fmt.Sprintf("%q is not known here; known are %s.", row.fields[column], strings.Join(words, ", ")))
		return words[0]
	}
	return text
}

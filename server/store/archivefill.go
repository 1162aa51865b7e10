package store

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// ArchiveSource is where a workshop is filled from.
type ArchiveSource struct {
	// Open returns the lines of a table, or nil if there are none.
	Open func(table string) (io.ReadCloser, error)
	// Tables are those that it has something of.
	Tables []string
	// File names the file of a table, for what is wrong with it.
	File func(table string) string
	// Check tells whether a value of a JSON column is one that the program can read.
	Check func(table, column string, value []byte) error
}

// startTables are filled in a new workshop too; what is in them gives way to the archive.
var startTables = []string{"workshops", "cost_settings", "channels", "size_charts", "size_chart_measures", "sizes", "size_values"}

// MayFill tells whether a workshop is empty, so that an archive may be read into it: nothing
// but the settings, channels and size charts that a new one has. The Fault says what is there.
func (s *Store) MayFill(ctx context.Context, workshop int64) error {
	plan, err := archivePlan(ctx, s.db)
	if err != nil {
		return err
	}
	return mayFill(ctx, s.db, plan, workshop)
}

// belongs tells whether rows of a table belong to a workshop themselves. Those of all others
// belong to a row of such a table.
func (t *archiveTable) belongs() bool {
	_, ok := t.column("workshop_id")
	return ok
}

func mayFill(ctx context.Context, db DB, plan []*archiveTable, workshop int64) error {
	var asked []string
	for _, t := range plan {
		switch {
		case t.name == "size_charts":
			asked = append(asked, fmt.Sprintf(`SELECT '%s' WHERE EXISTS (SELECT FROM %s WHERE %s AND NOT shipped)`, t.name, t.name, t.where))
		case !slices.Contains(startTables, t.name) && t.belongs():
			asked = append(asked, fmt.Sprintf(`SELECT '%s' WHERE EXISTS (SELECT FROM %s WHERE %s)`, t.name, t.name, t.where))
		}
	}
	type row struct{ Name string }
	found, err := list[row](ctx, db, `SELECT name FROM (`+strings.Join(asked, " UNION ALL ")+`) AS f(name)`, args{"workshop": workshop})
	if err != nil || len(found) == 0 {
		return err
	}
	var names []string
	for _, r := range found {
		names = append(names, strings.ReplaceAll(r.Name, "_", " "))
	}
	return &Fault{Kind: Conflict, Problems: []Problem{{Field: "file", Message: "A whole workshop is only read into an empty one, so that nothing is mixed up. Here there is something already: " + strings.Join(names, ", ") + "."}}}
}

// FillFromArchive fills an empty workshop, all or nothing. Rows keep their numbers if no
// other workshop is in this database; else they get new ones. The Fault names every line that
// can't be taken, up to mostArchiveProblems. after is called in the same transaction once all
// is there.
func (s *Store) FillFromArchive(ctx context.Context, workshop int64, from ArchiveSource, after func(*Store) error) error {
	return s.inTx(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, steadyText); err != nil {
			return err
		}
		// Whoever would add something to the workshop waits until it is filled.
		if _, err := scalar[int64](ctx, tx, `SELECT id FROM workshops WHERE id = @id FOR UPDATE`, args{"id": workshop}); err != nil {
			return noRowMissing(err, "workshop")
		}
		plan, err := archivePlan(ctx, tx)
		if err != nil {
			return err
		}
		if err := mayFill(ctx, tx, plan, workshop); err != nil {
			return err
		}
		f := &filling{tx: tx, workshop: workshop, from: from, fault: &Fault{Kind: Invalid}, numbers: map[string]map[int64]int64{}, keys: map[string]map[string]bool{}}
		for _, name := range from.Tables {
			if !slices.ContainsFunc(plan, func(t *archiveTable) bool { return t.name == name }) {
				f.fault.Problems = append(f.fault.Problems, Problem{Field: from.File(name), Message: "There is no such table in a workshop."})
			}
		}
		if len(f.fault.Problems) > 0 {
			return f.fault
		}
		if err := f.clear(ctx, plan); err != nil {
			return err
		}
		for _, t := range plan {
			if err := f.fill(ctx, t, plan); err != nil {
				return err
			}
		}
		if len(f.fault.Problems) > 0 {
			return f.fault
		}
		if err := f.finish(ctx, plan); err != nil {
			return err
		}
		if len(f.fault.Problems) > 0 {
			return f.fault
		}
		return after(New(tx))
	})
}

const (
	// mostArchiveProblems is how many faults are named before reading on is given up.
	mostArchiveProblems = 50
	// longestArchiveLine is more than any row takes.
	longestArchiveLine = 64 << 20
	// largestNumber is the largest number that a row may have.
	largestNumber = 1 << 40
	// rowsAtOnce and bytesAtOnce are what is sent to the database together.
	rowsAtOnce  = 500
	bytesAtOnce = 1 << 20
)

// filling is the reading of an archive.
type filling struct {
	tx       pgx.Tx
	workshop int64
	from     ArchiveSource
	fault    *Fault
	// keep tells that rows keep their numbers.
	keep bool
	// numbers are the new numbers of rows by their old ones, by table.
	numbers map[string]map[int64]int64
	// keys are the values that other tables refer to, by table and columns.
	keys map[string]map[string]bool
	// later are the rows with columns that are set or compared at the end.
	later []laterRow
}

type laterRow struct {
	table  *archiveTable
	line   int
	id     int64
	values map[string]json.RawMessage
}

// archiveRow is a row on its way into the database.
type archiveRow struct {
	line   int
	values map[string]json.RawMessage
	out    []byte
}

func (f *filling) wrong(t *archiveTable, line int, message string) error {
	field := f.from.File(t.name)
	if line > 0 {
		field = fmt.Sprintf("%s, line %d", field, line)
	}
	f.fault.Problems = append(f.fault.Problems, Problem{Field: field, Message: message})
	if len(f.fault.Problems) >= mostArchiveProblems {
		f.fault.Problems = append(f.fault.Problems, Problem{Message: "There may be more; reading stopped here."})
		return f.fault
	}
	return nil
}

// clear takes out what a new workshop starts with, and finds out whether rows may keep their
// numbers: that is so if nobody else's are in the database.
func (f *filling) clear(ctx context.Context, plan []*archiveTable) error {
	f.keep = true
	var lock []string
	for _, t := range slices.Backward(plan) {
		if t.name == "workshops" {
			continue
		}
		if _, err := f.tx.Exec(ctx, `DELETE FROM `+t.name+` WHERE `+t.where, args{"workshop": f.workshop}); err != nil {
			return fault(err)
		}
		lock = append(lock, t.name)
	}
	if _, err := f.tx.Exec(ctx, `LOCK TABLE `+strings.Join(lock, ", ")+` IN SHARE ROW EXCLUSIVE MODE`); err != nil {
		return err
	}
	for _, t := range plan {
		if t.identity() == "" || t.name == "workshops" || !f.keep {
			continue
		}
		taken, err := scalar[bool](ctx, f.tx, `SELECT EXISTS (SELECT FROM `+t.name+`)`, args{})
		if err != nil {
			return err
		}
		f.keep = !taken
	}
	return nil
}

// fill reads the lines of a table.
func (f *filling) fill(ctx context.Context, t *archiveTable, plan []*archiveTable) error {
	f.numbers[t.name] = map[int64]int64{}
	for _, other := range plan {
		for _, ref := range other.refs {
			if ref.To == t.name {
				f.keys[keySet(ref)] = map[string]bool{}
			}
		}
	}
	lines, err := f.from.Open(t.name)
	if err != nil {
		return err
	}
	if lines == nil {
		if t.name == "workshops" {
			return f.wrong(t, 0, "This file is missing.")
		}
		return nil
	}
	defer func() { _ = lines.Close() }() // only read from
	reader := bufio.NewReaderSize(lines, 1<<16)
	var waiting []archiveRow
	size := 0
	for number := 1; ; number++ {
		line, err := readLine(reader)
		if errors.Is(err, io.EOF) {
			if t.name == "workshops" && number != 2 {
				return f.wrong(t, 0, "There must be one line: the settings of the workshop.")
			}
			break
		}
		if err != nil {
			return f.stop(t, number, err)
		}
		row, ok, err := f.read(t, number, line)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		waiting, size = append(waiting, row), size+len(line)
		if len(waiting) >= rowsAtOnce || size >= bytesAtOnce {
			if err := f.insert(ctx, t, waiting); err != nil {
				return err
			}
			waiting, size = nil, 0
		}
	}
	return f.insert(ctx, t, waiting)
}

// stop ends reading at a line that can't be read at all.
func (f *filling) stop(t *archiveTable, line int, err error) error {
	_ = f.wrong(t, line, "This can't be read: "+err.Error()+".")
	return f.fault
}

// readLine reads a line without its end; a last line without an end is cut off.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case err == nil:
			return line[:len(line)-1], nil
		case errors.Is(err, io.EOF) && len(line) > 0:
			return nil, errors.New("the last line is cut off")
		case !errors.Is(err, bufio.ErrBufferFull):
			return nil, err
		case len(line) > longestArchiveLine:
			return nil, errors.New("the line is too long")
		}
	}
}

// read checks a line by itself and against what was read before. ok is false if it can't be
// taken; then that is noted.
func (f *filling) read(t *archiveTable, number int, line []byte) (row archiveRow, ok bool, err error) {
	before := len(f.fault.Problems)
	values, problem := t.parse(line, f.from.Check)
	if problem != "" {
		return row, false, f.wrong(t, number, problem)
	}
	if t.name == "workshops" && number > 1 {
		return row, false, nil // said at the end
	}
	if err := f.refer(t, number, values); err != nil {
		return row, false, err
	}
	if err := f.number(t, number, values); err != nil {
		return row, false, err
	}
	f.learn(t, values)
	return archiveRow{line: number, values: values}, len(f.fault.Problems) == before, nil
}

// parse reads the columns of a line; problem says what is wrong with it.
func (t *archiveTable) parse(line []byte, check func(table, column string, value []byte) error) (values map[string]json.RawMessage, problem string) {
	values, err := readRow(line)
	if err != nil || values == nil {
		return nil, "This is not a row: a line holds one row in braces, as the program writes it."
	}
	for name := range values {
		if !slices.ContainsFunc(t.taken, func(c catalogColumn) bool { return c.Name == name }) {
			return nil, fmt.Sprintf("There is no column %q in this table.", name)
		}
	}
	for _, c := range t.taken {
		value, there := values[c.Name]
		if !there {
			return nil, fmt.Sprintf("The column %q is missing.", c.Name)
		}
		if string(value) == "null" {
			if c.NotNull {
				return nil, fmt.Sprintf("The column %q must not be empty.", c.Name)
			}
			continue
		}
		if reason := wrongValue(c.Type, value); reason != "" {
			return nil, fmt.Sprintf("In the column %q there is %s, but %s is needed.", c.Name, excerpt(value), reason)
		}
		if c.Type == "jsonb" && check != nil {
			if err := check(t.name, c.Name, value); err != nil {
				return nil, fmt.Sprintf("What stands in the column %q can't be used: %v.", c.Name, err)
			}
		}
	}
	return values, ""
}

func excerpt(value []byte) string {
	if len(value) > 40 {
		return strings.ToValidUTF8(string(value[:40]), "") + "…"
	}
	return string(value)
}

// wrongValue tells what a value of a type must be, or "" if it is so. What it lets through the
// database checks once more.
func wrongValue(kind string, value json.RawMessage) string {
	text, isText := "", false
	if value[0] == '"' {
		isText = json.Unmarshal(value, &text) == nil && !strings.Contains(text, "\x00")
	}
	switch kind {
	case "smallint", "integer", "bigint":
		bits := map[string]int{"smallint": 16, "integer": 32, "bigint": 64}[kind]
		if _, err := strconv.ParseInt(string(value), 10, bits); err != nil {
			return "a whole number"
		}
	case "numeric", "real", "double precision":
		if number, err := strconv.ParseFloat(string(value), 64); err != nil || math.IsInf(number, 0) || math.IsNaN(number) {
			return "a number"
		}
	case "boolean":
		if string(value) != "true" && string(value) != "false" {
			return "true or false"
		}
	case "text", "character varying":
		if !isText {
			return "text"
		}
	case "date":
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			return "a day such as 2026-12-24"
		}
	case "timestamp with time zone":
		if _, err := time.Parse(time.RFC3339Nano, text); err != nil {
			return "a moment such as 2026-12-24T18:00:00+00:00"
		}
	case "bytea":
		if bytes, ok := strings.CutPrefix(text, `\x`); !ok || !isHex(bytes) {
			return `bytes such as "\\x00ff"`
		}
	case "integer[]", "bigint[]":
		var list []int64
		if json.Unmarshal(value, &list) != nil {
			return "a list of whole numbers"
		}
	case "jsonb":
		if bytes.Contains(value, []byte(`\u0000`)) {
			return "text without empty letters"
		}
	}
	return ""
}

func isHex(text string) bool {
	_, err := hex.DecodeString(text)
	return err == nil
}

// keySet names the columns that a reference points to.
func keySet(ref catalogRef) string { return ref.To + "(" + strings.Join(ref.ToNames, ",") + ")" }

// keyOf joins the values of columns; ok is false if one of them is empty.
func keyOf(values map[string]json.RawMessage, columns []string) (key string, ok bool) {
	var parts []string
	for _, name := range columns {
		value := values[name]
		if len(value) == 0 || string(value) == "null" {
			return "", false
		}
		if value[0] == '"' { // however it is escaped
			var text string
			_ = json.Unmarshal(value, &text) // it was read before
			value = []byte(strconv.Quote(text))
		}
		parts = append(parts, string(value))
	}
	return strings.Join(parts, ", "), true
}

// learn remembers the values of a row that others refer to, as they stand in the file.
func (f *filling) learn(t *archiveTable, values map[string]json.RawMessage) {
	for set, known := range f.keys {
		name, columns, _ := strings.Cut(strings.TrimSuffix(set, ")"), "(")
		if name != t.name {
			continue
		}
		if key, ok := keyOf(values, strings.Split(columns, ",")); ok {
			known[key] = true
		}
	}
}

// refer checks that what a row refers to is in the archive.
func (f *filling) refer(t *archiveTable, line int, values map[string]json.RawMessage) error {
	for _, ref := range t.refs {
		if slices.ContainsFunc(ref.Columns, func(c string) bool { return laterColumns[t.name][c].set }) {
			continue // checked at the end
		}
		key, ok := keyOf(values, ref.Columns)
		if !ok || f.keys[keySet(ref)][key] {
			continue
		}
		if err := f.wrong(t, line, fmt.Sprintf("It refers to %s of %s, which is not there.", key, f.from.File(ref.To))); err != nil {
			return err
		}
	}
	for _, c := range t.taken {
		ids := jsonIDs[t.name+"."+c.Name]
		if len(ids) == 0 || string(values[c.Name]) == "null" {
			continue
		}
		_, err := mapIDs(values[c.Name], ids, func(table string, id int64) (int64, error) {
			if _, ok := f.numbers[table][id]; id > 0 && !ok {
				return 0, fmt.Errorf("it refers to %d of %s, which is not there", id, f.from.File(table))
			}
			return id, nil
		})
		if err != nil {
			if err := f.wrong(t, line, fmt.Sprintf("In the column %q: %v.", c.Name, err)); err != nil {
				return err
			}
		}
	}
	return nil
}

// number notes the number of a row; a new one is given later.
func (f *filling) number(t *archiveTable, line int, values map[string]json.RawMessage) error {
	own := t.identity()
	if own == "" || t.name == "workshops" {
		return nil
	}
	id, _ := strconv.ParseInt(string(values[own]), 10, 64) // it was checked
	if id < 1 || id > largestNumber {
		return f.wrong(t, line, fmt.Sprintf("%d can't be the number of a row.", id))
	}
	if _, twice := f.numbers[t.name][id]; twice {
		return f.wrong(t, line, fmt.Sprintf("The number %d appears twice.", id))
	}
	f.numbers[t.name][id] = id
	return nil
}

// renumber gives rows of a table new numbers, in their order.
func (f *filling) renumber(ctx context.Context, t *archiveTable, rows []archiveRow) error {
	own := t.identity()
	if f.keep || own == "" || t.name == "workshops" {
		return nil
	}
	fresh, err := f.tx.Query(ctx, `SELECT nextval(pg_get_serial_sequence(@table, @column)) FROM generate_series(1, @n)`, args{"table": t.name, "column": own, "n": len(rows)})
	if err != nil {
		return err
	}
	numbers, err := pgx.CollectRows(fresh, pgx.RowTo[int64])
	if err != nil {
		return err
	}
	slices.Sort(numbers)
	for i, row := range rows {
		id, _ := strconv.ParseInt(string(row.values[own]), 10, 64) // it was checked
		f.numbers[t.name][id] = numbers[i]
	}
	return nil
}

// prepare writes a row as it goes into the database, with the numbers that rows have here.
func (f *filling) prepare(t *archiveTable, row archiveRow) ([]byte, error) {
	out := map[string]json.RawMessage{}
	held := map[string]json.RawMessage{}
	for _, c := range t.taken {
		value := row.values[c.Name]
		if ids := jsonIDs[t.name+"."+c.Name]; len(ids) > 0 && string(value) != "null" {
			mapped, err := mapIDs(value, ids, func(table string, id int64) (int64, error) {
				if id <= 0 {
					return id, nil
				}
				return f.numbers[table][id], nil
			})
			if err != nil {
				return nil, err
			}
			value = mapped
		}
		later, isLater := laterColumns[t.name][c.Name]
		if to := t.domain[c.Name]; to != "" && string(value) != "null" && !isLater {
			id, _ := strconv.ParseInt(string(value), 10, 64) // it was checked
			value = []byte(strconv.FormatInt(f.numbers[to][id], 10))
		}
		if isLater {
			held[c.Name] = value
			first, err := json.Marshal(later.first)
			if err != nil {
				return nil, err
			}
			value = first
		}
		out[c.Name] = value
	}
	if len(held) > 0 {
		old, _ := strconv.ParseInt(string(row.values[t.identity()]), 10, 64) // it was checked
		f.later = append(f.later, laterRow{t, row.line, f.numbers[t.name][old], held})
	}
	return t.writeRow(out), nil
}

// insert sends rows to the database, together, and if that fails one by one, so as to know
// which of them it refuses.
func (f *filling) insert(ctx context.Context, t *archiveTable, rows []archiveRow) error {
	if len(rows) == 0 || len(f.fault.Problems) > 0 { // from the first fault on nothing is saved, only checked
		return nil
	}
	if err := f.renumber(ctx, t, rows); err != nil {
		return err
	}
	var all [][]byte
	for i := range rows {
		var err error
		if rows[i].out, err = f.prepare(t, rows[i]); err != nil {
			return err
		}
		all = append(all, rows[i].out)
	}
	err := f.send(ctx, t, all)
	if err == nil || !refusedRow(err) {
		return err
	}
	for _, row := range rows {
		err := f.send(ctx, t, [][]byte{row.out})
		if err == nil {
			continue
		}
		if !refusedRow(err) {
			return err
		}
		if err := f.wrong(t, row.line, refusal(err)); err != nil {
			return err
		}
	}
	if len(f.fault.Problems) == 0 {
		return fmt.Errorf("%s: %w", t.name, err) // together they fail, alone they don't
	}
	return nil
}

// refusedRow tells whether the database refused what a row holds.
func refusedRow(err error) bool {
	var refused *pgconn.PgError
	return errors.As(err, &refused) && (strings.HasPrefix(refused.Code, "22") || strings.HasPrefix(refused.Code, "23"))
}

// refusal says in words why the database refused a row.
func refusal(err error) string {
	var known *Fault
	if errors.As(fault(err), &known) {
		return known.Problems[0].Message
	}
	var refused *pgconn.PgError
	if errors.As(err, &refused) {
		return "The database refuses it: " + refused.Message + "."
	}
	return err.Error()
}

// send inserts rows inside a savepoint.
func (f *filling) send(ctx context.Context, t *archiveTable, rows [][]byte) error {
	content := append([]byte("["), bytes.Join(rows, []byte(","))...)
	content = append(content, ']')
	part, err := f.tx.Begin(ctx)
	if err != nil {
		return err
	}
	if _, err = part.Exec(ctx, t.insertRows(), pgx.QueryExecModeExec, t.insertArgs(f.workshop, string(content))); err != nil {
		return errors.Join(err, part.Rollback(ctx))
	}
	return part.Commit(ctx)
}

func (t *archiveTable) insertArgs(workshop int64, content string) args {
	named := args{"content": content}
	if _, ok := t.column("workshop_id"); ok || t.name == "workshops" {
		named["workshop"] = workshop
	}
	return named
}

// insertRows is the statement that inserts rows given as JSON; the settings of the workshop are
// changed in place.
func (t *archiveTable) insertRows() string {
	var names []string
	for _, c := range t.taken {
		names = append(names, c.Name)
	}
	if t.name == "workshops" {
		joined := strings.Join(names, ", ")
		return `UPDATE workshops SET (version, ` + joined + `) = (SELECT workshops.version + 1, r.` + strings.Join(names, ", r.") + ` FROM json_populate_recordset(NULL::workshops, @content::json) r) WHERE id = @workshop`
	}
	into, from := strings.Join(names, ", "), "r."+strings.Join(names, ", r.")
	if _, ok := t.column("workshop_id"); ok {
		into, from = "workshop_id, "+into, "@workshop::bigint, "+from
	}
	return fmt.Sprintf(`INSERT INTO %s (%s) OVERRIDING SYSTEM VALUE SELECT %s FROM json_populate_recordset(NULL::%s, @content::json) r`, t.name, into, from, t.name)
}

// finish sets what could not be set at once, compares what triggers have worked out, and lets
// the schema check what it checks at the end.
func (f *filling) finish(ctx context.Context, plan []*archiveTable) error {
	for _, row := range f.later {
		if err := f.settle(ctx, row); err != nil {
			return err
		}
	}
	if len(f.fault.Problems) > 0 {
		return nil
	}
	if _, err := f.tx.Exec(ctx, `SET CONSTRAINTS ALL IMMEDIATE`); err != nil {
		if refusedRow(err) {
			f.fault.Problems = append(f.fault.Problems, Problem{Field: "file", Message: refusal(err)})
			return nil
		}
		return err
	}
	if !f.keep {
		return nil
	}
	for _, t := range plan {
		most := int64(0)
		for id := range f.numbers[t.name] {
			most = max(most, id)
		}
		if own := t.identity(); own != "" && most > 0 { // rows that are added later go on from here
			if _, err := f.tx.Exec(ctx, `SELECT setval(s, greatest(nextval(s), @most)) FROM (SELECT pg_get_serial_sequence(@table, @column)::regclass AS s) q`,
				args{"table": t.name, "column": own, "most": most}); err != nil {
				return err
			}
		}
	}
	return nil
}

// settle sets and compares the later columns of a row.
func (f *filling) settle(ctx context.Context, row laterRow) error {
	t := row.table
	var set, same []string
	for _, c := range t.taken {
		later, ok := laterColumns[t.name][c.Name]
		if !ok {
			continue
		}
		if !later.set {
			same = append(same, fmt.Sprintf("t.%s IS NOT DISTINCT FROM r.%s", c.Name, c.Name))
			continue
		}
		set = append(set, fmt.Sprintf("%s = r.%s", c.Name, c.Name))
		if to := t.domain[c.Name]; to != "" && string(row.values[c.Name]) != "null" {
			old, _ := strconv.ParseInt(string(row.values[c.Name]), 10, 64) // it was checked
			now, ok := f.numbers[to][old]
			if !ok {
				if err := f.wrong(t, row.line, fmt.Sprintf("It refers to %d of %s, which is not there.", old, f.from.File(to))); err != nil {
					return err
				}
				continue
			}
			row.values[c.Name] = []byte(strconv.FormatInt(now, 10))
		}
	}
	content, err := json.Marshal(row.values)
	if err != nil {
		return err
	}
	record := ` FROM json_populate_record(NULL::` + t.name + `, @content::json) r WHERE t.` + t.identity() + ` = @id`
	if len(same) > 0 {
		var fits bool
		if err := f.tx.QueryRow(ctx, `SELECT `+strings.Join(same, " AND ")+` FROM `+t.name+` t, json_populate_record(NULL::`+t.name+`, @content::json) r WHERE t.`+t.identity()+` = @id`,
			pgx.QueryExecModeExec, args{"content": string(content), "id": row.id}).Scan(&fits); err != nil {
			return err
		}
		if !fits {
			return f.wrong(t, row.line, "Its figures don't follow from its history in the archive.")
		}
	}
	if len(set) == 0 {
		return nil
	}
	part, err := f.tx.Begin(ctx)
	if err != nil {
		return err
	}
	if _, err := part.Exec(ctx, `UPDATE `+t.name+` t SET `+strings.Join(set, ", ")+record, pgx.QueryExecModeExec, args{"content": string(content), "id": row.id}); err != nil {
		err = errors.Join(err, part.Rollback(ctx))
		if refusedRow(err) {
			return f.wrong(t, row.line, refusal(err))
		}
		return err
	}
	return part.Commit(ctx)
}

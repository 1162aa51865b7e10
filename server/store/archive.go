package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/jackc/pgx/v5"
)

// ArchiveColumn is a column of a table in an archive, with its type in the words of Postgres.
type ArchiveColumn struct {
	Name string `json:"name"`
	Type string `json:"type"`
}

// ArchiveTable is a table in an archive.
type ArchiveTable struct {
	Name    string
	Columns []ArchiveColumn
	// About is what the schema says of the table; often empty.
	About string
}

// steadyText makes values read the same whatever the settings of the database are.
const steadyText = `SET LOCAL timezone = 'UTC'; SET LOCAL datestyle = 'ISO'; SET LOCAL intervalstyle = 'iso_8601'; SET LOCAL bytea_output = 'hex'; SET LOCAL extra_float_digits = 1`

// WriteArchive hands out everything of a workshop as it is at one moment: the tables, each after
// those that it refers to, as lines of JSON, one row each. begin gives the place for the
// lines of a table. Rows are in order of their key.
func (s *Store) WriteArchive(ctx context.Context, workshop int64, schema func(version int64), begin func(ArchiveTable) (io.Writer, error)) error {
	return s.inTx(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY; `+steadyText); err != nil {
			return err
		}
		version, err := schemaVersion(ctx, tx)
		if err != nil {
			return err
		}
		schema(version)
		plan, err := archivePlan(ctx, tx)
		if err != nil {
			return err
		}
		known := map[string]map[int64]bool{}
		for _, table := range plan {
			about, err := scalar[string](ctx, tx, `SELECT coalesce(obj_description(to_regclass(@table), 'pg_class'), '')`, args{"table": table.name})
			if err != nil {
				return err
			}
			to := ArchiveTable{Name: table.name, About: about}
			for _, c := range table.taken {
				to.Columns = append(to.Columns, ArchiveColumn{c.Name, c.Type})
			}
			w, err := begin(to)
			if err != nil {
				return err
			}
			if known[table.name], err = writeTable(ctx, tx, table, workshop, known, w); err != nil {
				return fmt.Errorf("%s: %w", table.name, err)
			}
		}
		return nil
	})
}

// SchemaVersion is the number of the newest step that the schema has taken.
func (s *Store) SchemaVersion(ctx context.Context) (int64, error) { return schemaVersion(ctx, s.db) }

func schemaVersion(ctx context.Context, db DB) (int64, error) {
	return scalar[int64](ctx, db, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`, args{})
}

// selectRows is the statement that reads the rows of a table as JSON, with their number if they
// have one.
func (t *archiveTable) selectRows() string {
	var names, order []string
	for _, c := range t.taken {
		names = append(names, "t."+c.Name)
	}
	for _, name := range t.key {
		column, _ := t.column(name)
		if column.Type == "text" {
			name += ` COLLATE "C"` // the same order in every database
		}
		order = append(order, name)
	}
	number := "0::bigint"
	if id := t.identity(); id != "" {
		number = "t." + id
	}
	return fmt.Sprintf(`SELECT %s, row_to_json((SELECT r FROM (SELECT %s) r))::text FROM %s t WHERE %s ORDER BY %s`,
		number, strings.Join(names, ", "), t.name, t.where, strings.Join(order, ", "))
}

func writeTable(ctx context.Context, tx pgx.Tx, table *archiveTable, workshop int64, known map[string]map[int64]bool, w io.Writer) (map[int64]bool, error) {
	rows, err := tx.Query(ctx, table.selectRows(), args{"workshop": workshop})
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	seen := map[int64]bool{}
	for rows.Next() {
		var number int64
		var line []byte
		if err := rows.Scan(&number, &line); err != nil {
			return nil, err
		}
		seen[number] = true
		if line, err = table.withoutGone(line, known); err != nil {
			return nil, err
		}
		if _, err := w.Write(append(line, '\n')); err != nil {
			return nil, err
		}
	}
	return seen, rows.Err()
}

// withoutGone puts the numbers inside JSON columns below zero that belong to nothing any more.
func (t *archiveTable) withoutGone(line []byte, known map[string]map[int64]bool) ([]byte, error) {
	for _, c := range t.taken {
		ids := jsonIDs[t.name+"."+c.Name]
		if len(ids) == 0 {
			continue
		}
		row, err := readRow(line)
		if err != nil {
			return nil, err
		}
		if string(row[c.Name]) == "null" {
			continue
		}
		content, err := mapIDs(row[c.Name], ids, func(table string, id int64) (int64, error) {
			if id > 0 && !known[table][id] {
				return -id, nil
			}
			return id, nil
		})
		if err != nil {
			return nil, err
		}
		row[c.Name] = content
		line = t.writeRow(row)
	}
	return line, nil
}

func readRow(line []byte) (map[string]json.RawMessage, error) {
	var row map[string]json.RawMessage
	err := json.Unmarshal(line, &row)
	return row, err
}

// writeRow writes a row in the order of the columns.
func (t *archiveTable) writeRow(row map[string]json.RawMessage) []byte {
	var out bytes.Buffer
	out.WriteByte('{')
	for i, c := range t.taken {
		if i > 0 {
			out.WriteByte(',')
		}
		fmt.Fprintf(&out, "%q:", c.Name) // a column is named in plain letters
		out.Write(row[c.Name])
	}
	out.WriteByte('}')
	return out.Bytes()
}

// mapIDs changes the numbers of rows inside a JSON value, and writes it with its keys in order.
func mapIDs(content json.RawMessage, ids []jsonID, to func(table string, id int64) (int64, error)) (json.RawMessage, error) {
	decoder := json.NewDecoder(bytes.NewReader(content))
	decoder.UseNumber()
	var value any
	if err := decoder.Decode(&value); err != nil {
		return nil, err
	}
	for _, id := range ids {
		err := eachAt(value, strings.Split(id.path, "."), func(number json.Number) (json.Number, error) {
			old, err := number.Int64()
			if err != nil {
				return "", fmt.Errorf("%s: %q is not the number of a row", id.path, number)
			}
			now, err := to(id.table, old)
			if err != nil {
				return "", fmt.Errorf("%s: %w", id.path, err)
			}
			return json.Number(fmt.Sprint(now)), nil
		})
		if err != nil {
			return nil, err
		}
	}
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(value); err != nil {
		return nil, err
	}
	return bytes.TrimSpace(out.Bytes()), nil
}

// eachAt calls change for the numbers at a path. What isn't there is passed over.
func eachAt(value any, path []string, change func(json.Number) (json.Number, error)) error {
	step := path[0]
	if step == "[]" {
		list, _ := value.([]any)
		for _, element := range list {
			if err := eachAt(element, path[1:], change); err != nil {
				return err
			}
		}
		return nil
	}
	object, _ := value.(map[string]any)
	for key := range object {
		if key != step && strings.EqualFold(key, step) { // readers of JSON would take it for the same
			return fmt.Errorf("%q must be written %q", key, step)
		}
	}
	inner, ok := object[step]
	switch {
	case !ok || inner == nil:
		return nil
	case len(path) > 1:
		return eachAt(inner, path[1:], change)
	}
	number, ok := inner.(json.Number)
	if !ok {
		return fmt.Errorf("%v is not the number of a row", inner)
	}
	now, err := change(number)
	object[step] = now
	return err
}

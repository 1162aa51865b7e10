package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// An archive takes along every table of the schema that belongs to a workshop. Which those are, and
// in what order they can be filled, is read from the catalog of the database, so that a table
// or column that is added later comes along by itself; only what stays behind is named here.

// leftOutTables stay behind, each for a reason. A name that ends in * speaks for all tables
// that begin so.
var leftOutTables = map[string]string{
	"sent_forms":       "keys of forms that were sent, for pages that are open now",
	"goose_db_version": "which steps the schema has taken: the manifest says it",
	"river_*":          "long work that is queued",
	"users":            "who may sign in, with passwords: people are invited again",
	"invitations":      "sign-in keys",
	"sign_ins":         "where people are signed in",
	"sessions":         "what the server remembers of browsers, sign-in keys among it",
	"drawings":         "drawings that an outline is being chosen from; they are gone after a day",
	"costing_markers":  "what is laid again from styles, cloths and orders",
	"import_drafts":    "files that are only being looked at; they are gone after a day",
}

// leftOutColumns stay behind, each for a reason; so do workshop_id, columns that the database
// works out by itself, and references to tables that stay behind.
var leftOutColumns = map[string]string{
	"workshops.id":           "the workshop that is filled has its own",
	"workshops.version":      "counts how often the settings were saved here",
	"workshops.calendar_key": "a key that opens the calendar",
	"batch_plans.job_id":     "queued work",
	"batch_plans.beat_at":    "when a program that plans was last heard of",
}

// leftOutRows says which rows of a table are taken along, where not all are.
var leftOutRows = map[string]string{
	"batch_plans": "state NOT IN ('waiting', 'planning')", // what is still being planned
}

// laterColumns are not filled when their row is. Those with a rule are set at the end, since
// triggers of the schema allow them only then or two tables refer to each other; the others are
// filled by triggers, and compared at the end.
var laterColumns = map[string]map[string]laterColumn{
	"batches": {"state": {first: "draft", set: true}, "plan_id": {set: true}, "released_at": {set: true}},
	"bolts":   {"length": {first: 0}, "cut_off": {first: 0}},
}

type laterColumn struct {
	// first is what the column holds until the end.
	first any
	// set tells that it is set at the end, else it is compared.
	set bool
}

// jsonIDs are the numbers of rows that stand inside a JSON column: a path of keys, where [] goes
// into every element of a list, and the table that the number belongs to. A plan may speak of what
// was removed since; such a number is written below zero and belongs to nothing.
var jsonIDs = map[string][]jsonID{
	"batch_plans.plan": {
		{"Lines.[].OrderLine", "order_lines"},
		{"Lines.[].Colourway", "colourways"},
		{"Garments.[].ColourwayID", "colourways"},
		{"Cloths.[].Cloth.ID", "cloths"},
		{"Cloths.[].Problem.Bolts.[].ID", "bolts"},
		{"Cloths.[].Bolts.[].ID", "bolts"},
		{"Cloths.[].Bolts.[].Cloth", "cloths"},
		{"Notions.[].Notion.ID", "notions"},
		{"Fits.[].StyleID", "styles"},
	},
	"order_forms.form": {
		{"Items.[].Colourway", "colourways"},
	},
	"cost_snapshots.sheets": { // where they are the costs of a batch
		{"[].costs.Batch.ID", "batches"},
		{"[].costs.Batch.PlanID", "batch_plans"},
		{"[].costs.Cloths.[].ID", "cloths"},
		{"[].costs.Garments.[].Colourway", "colourways"},
	},
}

type jsonID struct{ path, table string }

// ArchiveNumbers lists the paths inside JSON columns, by table and column, where the number of
// a row stands.
func ArchiveNumbers() map[string][]string {
	paths := map[string][]string{}
	for at, ids := range jsonIDs {
		for _, id := range ids {
			paths[at] = append(paths[at], id.path)
		}
	}
	return paths
}

// catalogTable is one table of the schema.
type catalogTable struct {
	name    string
	columns []catalogColumn
	key     []string // primary key
	refs    []catalogRef
}

type catalogColumn struct {
	Table, Name, Type            string
	NotNull, Identity, Generated bool
}

// catalogRef is a foreign key.
type catalogRef struct {
	Table, To        string
	Columns, ToNames []string
	Cascade          bool
}

func (t *catalogTable) column(name string) (catalogColumn, bool) {
	at := slices.IndexFunc(t.columns, func(c catalogColumn) bool { return c.Name == name })
	if at < 0 {
		return catalogColumn{}, false
	}
	return t.columns[at], true
}

// identity is the column that numbers the rows; "" if there is none.
func (t *catalogTable) identity() string {
	for _, c := range t.columns {
		if c.Identity {
			return c.Name
		}
	}
	return ""
}

func readCatalog(ctx context.Context, db DB) (map[string]*catalogTable, error) {
	columns, err := list[catalogColumn](ctx, db, `
		SELECT c.relname::text AS table, a.attname::text AS name, format_type(a.atttypid, NULL) AS type, a.attnotnull AS not_null,
			a.attidentity <> '' AS identity, a.attgenerated <> '' AS generated
		FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname = current_schema() AND c.relkind IN ('r', 'p') AND a.attnum > 0 AND NOT a.attisdropped ORDER BY c.relname, a.attnum`, args{})
	if err != nil {
		return nil, err
	}
	tables := map[string]*catalogTable{}
	for _, c := range columns {
		if tables[c.Table] == nil {
			tables[c.Table] = &catalogTable{name: c.Table}
		}
		tables[c.Table].columns = append(tables[c.Table].columns, c)
	}
	type keyRow struct {
		Kind, Table, To  string
		Columns, ToNames []string
		Cascade          bool
	}
	keys, err := list[keyRow](ctx, db, `
		SELECT k.contype::text AS kind, c.relname::text AS table, coalesce(f.relname::text, '') AS to,
			array(SELECT a.attname::text FROM unnest(k.conkey) WITH ORDINALITY u(num, at) JOIN pg_attribute a ON a.attrelid = k.conrelid AND a.attnum = u.num ORDER BY u.at) AS columns,
			array(SELECT a.attname::text FROM unnest(k.confkey) WITH ORDINALITY u(num, at) JOIN pg_attribute a ON a.attrelid = k.confrelid AND a.attnum = u.num ORDER BY u.at) AS to_names,
			k.confdeltype = 'c' AS cascade
		FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_namespace n ON n.oid = c.relnamespace LEFT JOIN pg_class f ON f.oid = k.confrelid
		WHERE n.nspname = current_schema() AND k.contype IN ('p', 'f') ORDER BY c.relname, k.conname`, args{})
	if err != nil {
		return nil, err
	}
	for _, k := range keys {
		table := tables[k.Table]
		if k.Kind == "p" {
			table.key = k.Columns
			continue
		}
		table.refs = append(table.refs, catalogRef{Table: k.Table, To: k.To, Columns: k.Columns, ToNames: k.ToNames, Cascade: k.Cascade})
	}
	return tables, nil
}

// LeftOut tells why a table stays behind when a workshop is put into an archive; "" if it
// doesn't.
func LeftOut(table string) string {
	for name, reason := range leftOutTables {
		start, all := strings.CutSuffix(name, "*")
		if name == table || all && strings.HasPrefix(table, start) {
			return reason
		}
	}
	return ""
}

func leftOut(table string) bool { return LeftOut(table) != "" }

// archiveTable is a table that is taken along.
type archiveTable struct {
	*catalogTable
	// taken are the columns in the archive.
	taken []catalogColumn
	// where is the condition for its rows of the workshop @workshop.
	where string
	// domain says of which table a column holds the number of a row, by column.
	domain map[string]string
}

// archivePlan lists the tables that are taken along, each after those that it refers to.
func archivePlan(ctx context.Context, db DB) ([]*archiveTable, error) {
	catalog, err := readCatalog(ctx, db)
	if err != nil {
		return nil, err
	}
	var tables []*archiveTable
	for _, name := range sortedKeys(catalog) {
		if leftOut(name) {
			continue
		}
		table := &archiveTable{catalogTable: catalog[name], domain: map[string]string{}}
		if table.where, err = scope(catalog, name, 0); err != nil {
			return nil, err
		}
		if err := table.choose(catalog); err != nil {
			return nil, err
		}
		tables = append(tables, table)
	}
	return inOrder(tables)
}

func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for key := range m {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

// scope is the condition for the rows of a table that belong to a workshop.
func scope(catalog map[string]*catalogTable, name string, depth int) (string, error) {
	table := catalog[name]
	own := ""
	if rows := leftOutRows[name]; rows != "" {
		own = " AND " + rows
	}
	if name == "workshops" {
		return "id = @workshop", nil
	}
	if _, ok := table.column("workshop_id"); ok {
		return "workshop_id = @workshop" + own, nil
	}
	for _, ref := range table.refs {
		if !ref.Cascade || ref.To == name || depth > 5 || !slices.ContainsFunc(table.columns, func(c catalogColumn) bool { return c.Name == ref.Columns[0] && c.NotNull }) {
			continue
		}
		if leftOut(ref.To) {
			continue
		}
		parent, err := scope(catalog, ref.To, depth+1)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("(%s) IN (SELECT %s FROM %s WHERE %s)", strings.Join(ref.Columns, ", "), strings.Join(ref.ToNames, ", "), ref.To, parent) + own, nil
	}
	return "", fmt.Errorf("table %s belongs to no workshop: name it in leftOutTables with the reason, or give it a reference to what it belongs to", name)
}

// choose says which columns are taken along, and what they refer to.
func (t *archiveTable) choose(catalog map[string]*catalogTable) error {
	if len(t.key) == 0 {
		return fmt.Errorf("table %s has no primary key to put its rows in order", t.name)
	}
	behind := map[string]bool{"workshop_id": true}
	var kept []catalogRef
	for _, ref := range t.refs {
		switch {
		case ref.To == "workshops":
		case leftOut(ref.To):
			for _, name := range ref.Columns {
				if c, _ := t.column(name); c.NotNull {
					return fmt.Errorf("%s.%s refers to %s, which stays behind, and can't be empty", t.name, name, ref.To)
				}
				behind[name] = true
			}
		default:
			kept = append(kept, ref)
		}
	}
	t.refs = kept
	for _, c := range t.columns {
		if _, left := leftOutColumns[t.name+"."+c.Name]; !left && !behind[c.Name] && !c.Generated {
			t.taken = append(t.taken, c)
			if to := numbers(catalog, t.name, c.Name, 0); to != "" {
				t.domain[c.Name] = to
			}
		}
	}
	return nil
}

// numbers is the table whose rows a column numbers: its own, or that of a reference.
func numbers(catalog map[string]*catalogTable, table, column string, depth int) string {
	if catalog[table].identity() == column {
		return table
	}
	for _, ref := range catalog[table].refs {
		at := slices.Index(ref.Columns, column)
		if at < 0 || depth > 5 || (ref.To == table && ref.ToNames[at] == column) {
			continue
		}
		if to := numbers(catalog, ref.To, ref.ToNames[at], depth+1); to != "" {
			return to
		}
	}
	return ""
}

// needs are the tables that must be filled before one.
func (t *archiveTable) needs() []string {
	var before []string
	if t.name != "workshops" {
		before = append(before, "workshops")
	}
	for _, ref := range t.refs {
		later := slices.ContainsFunc(ref.Columns, func(c string) bool { return laterColumns[t.name][c].set })
		if ref.To != t.name && !later {
			before = append(before, ref.To)
		}
	}
	for _, c := range t.taken {
		for _, id := range jsonIDs[t.name+"."+c.Name] {
			before = append(before, id.table)
		}
	}
	return before
}

func inOrder(tables []*archiveTable) ([]*archiveTable, error) {
	var ordered []*archiveTable
	placed := map[string]bool{}
	for len(ordered) < len(tables) {
		before := len(ordered)
		for _, t := range tables {
			ready := !slices.ContainsFunc(t.needs(), func(name string) bool { return !placed[name] })
			if !placed[t.name] && ready {
				ordered, placed[t.name] = append(ordered, t), true
			}
		}
		if len(ordered) == before {
			var left []string
			for _, t := range tables {
				if !placed[t.name] {
					left = append(left, t.name)
				}
			}
			return nil, fmt.Errorf("these tables refer to each other in a circle: %s; name the column that closes it in laterColumns", strings.Join(left, ", "))
		}
	}
	return ordered, nil
}

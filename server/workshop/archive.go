package workshop

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/server/store"
)

// An archive is a zip of plain files: README.txt for people, a file of JSON lines for each table,
// and manifest.json, which says how many rows each has and what its SHA-256 is.

const (
	archiveReadme   = "README.txt"
	archiveManifest = "manifest.json"
	archiveEnding   = ".jsonl"
	// archiveFormat is the number of this way of writing an archive.
	archiveFormat = 1
)

// Limits of what is read as an archive, so that no file can fill memory or disk.
const (
	// LargestArchive is the largest zip that is read.
	LargestArchive = 64 << 20
	// mostArchiveFiles is more than there are tables.
	mostArchiveFiles = 200
	// archiveDirectory is how much is read to learn what is in a zip.
	archiveDirectory = 256 << 10
	// largestArchiveFile and largestUnpacked hold for the files as they are unpacked.
	largestArchiveFile = 512 << 20
	largestUnpacked    = 1 << 30
	largestManifest    = 1 << 20
)

// Manifest says what is in an archive.
type Manifest struct {
	Program string `json:"program"`
	Format  int    `json:"format"`
	// Schema is the number of the newest step of the schema that it was written from.
	Schema  int64     `json:"schema"`
	Written time.Time `json:"written"`
	// Workshop is the name of the workshop.
	Workshop string        `json:"workshop"`
	Files    []ArchiveFile `json:"files"`
}

// ArchiveFile is one file of an archive.
type ArchiveFile struct {
	Name    string                `json:"name"`
	Rows    int64                 `json:"rows"`
	Bytes   int64                 `json:"bytes"`
	SHA256  string                `json:"sha256"`
	Columns []store.ArchiveColumn `json:"columns,omitempty"`
	about   string
}

// archiveProgram stands in every manifest.
const archiveProgram = "Yardwright"

// tableWords says in plain words what is in the file of a table.
var tableWords = map[string]string{
	"workshops": "the settings of the workshop", "days_off": "days without work", "channels": "where you sell, with fees and price rules",
	"cost_settings": "how you count", "year_costs": "the costs of your year", "size_charts": "size charts", "size_chart_measures": "the measures of each size chart",
	"sizes": "the sizes of each size chart", "size_values": "the measures of each size", "cloths": "cloths", "bolts": "bolts and remnants on the shelf",
	"bolt_faults": "faults in bolts", "bolt_costs": "what bolts cost and are worth", "bolt_moves": "the history of each bolt's length", "notions": "notions",
	"notion_rolls": "rolls of notions on the shelf", "styles": "styles", "style_allowances": "the allowances of each style", "style_pieces": "the pieces of each style",
	"style_piece_sizes": "cut sizes of pieces, by size", "style_piece_outlines": "outlines of pieces taken from drawings", "style_notions": "the notions that each style needs", "style_operations": "the steps of making, with their minutes",
	"style_costs": "how each style is priced over its sizes", "style_sizes": "in which sizes each style is offered, and the mix of a usual batch", "style_seams": "seams, for the thread", "time_studies": "time studies", "colourways": "colourways",
	"typed_prices": "prices that you typed", "colourway_cloths": "the cloths of each colourway", "colourway_notions": "the notions of each colourway", "customers": "customers", "orders": "orders",
	"order_lines": "what is ordered, by colourway and size", "payments": "payments", "batches": "batches", "batch_lines": "which order lines each batch makes",
	"batch_plans": "cutting plans, with every lay", "batch_lays": "how far the lays of batches are cut", "batch_lay_draws": "what each lay takes from which bolt",
	"batch_bundles": "which bundles are sewn", "batch_notions": "notions taken for batches", "bolt_reservations": "cloth that is held for batches",
	"notion_reservations": "notions that are held for batches", "cost_snapshots": "kept cost sheets and prices", "price_lists": "issued price lists",
	"order_forms": "order forms that shops were sent", "style_expenses": "direct expenses of styles", "batch_expenses": "direct expenses of batches",
	"batch_minutes": "minutes worked at batches",
}

// ExportArchive writes everything of a workshop as it is at this moment, as a zip of plain files. What
// stays behind: people, their passwords and sign-in keys, the address of the calendar, files that are only being looked at, and
// plans that are still being made.
func (s *Service) ExportArchive(ctx context.Context, out io.Writer, workshop int64) error {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	written := s.now().UTC().Truncate(time.Second)
	zipped := zip.NewWriter(out)
	manifest := Manifest{Program: archiveProgram, Format: archiveFormat, Written: written, Workshop: w.Name}
	var now *countedFile
	finish := func() {
		if now != nil {
			manifest.Files = append(manifest.Files, now.done())
		}
		now = nil
	}
	begin := func(name string) (io.Writer, error) {
		finish()
		file, err := zipped.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: written})
		now = &countedFile{to: file, digest: sha256.New(), file: ArchiveFile{Name: name}}
		return now, err
	}
	err = s.store.WriteArchive(ctx, workshop, func(version int64) { manifest.Schema = version }, func(table store.ArchiveTable) (io.Writer, error) {
		file, err := begin(table.Name + archiveEnding)
		now.file.Columns, now.file.about = table.Columns, tableWords[table.Name]
		if now.file.about == "" {
			now.file.about = strings.ToLower(strings.TrimSuffix(table.About, "."))
		}
		return file, err
	})
	if err != nil {
		return err
	}
	finish()
	if err := writeEntry(begin, archiveReadme, []byte(archiveWords(w, manifest))); err != nil {
		return err
	}
	finish()
	content, err := json.MarshalIndent(manifest, "", "  ")
	if err != nil {
		return err
	}
	if err := writeEntry(begin, archiveManifest, append(content, '\n')); err != nil {
		return err
	}
	return zipped.Close()
}

func writeEntry(begin func(string) (io.Writer, error), name string, content []byte) error {
	file, err := begin(name)
	if err == nil {
		_, err = file.Write(content)
	}
	return err
}

// countedFile passes on what is written and keeps count of it.
type countedFile struct {
	to     io.Writer
	digest hash.Hash
	file   ArchiveFile
}

func (c *countedFile) Write(content []byte) (int, error) {
	c.file.Bytes += int64(len(content))
	c.file.Rows += int64(bytes.Count(content, []byte("\n")))
	_, _ = c.digest.Write(content) // a hash takes everything
	return c.to.Write(content)
}

func (c *countedFile) done() ArchiveFile {
	c.file.SHA256 = hex.EncodeToString(c.digest.Sum(nil))
	return c.file
}

// archiveWords is the README of an archive.
func archiveWords(w store.Workshop, m Manifest) string {
	var b strings.Builder
	fmt.Fprintf(&b, `%s

Everything of this workshop as it was on %s, written by Yardwright.
Keep this file in a safe place: it holds your customers, your prices and your costs.

HOW TO READ IT BACK
Open the pages of an empty workshop, choose Workshop, then "Whole workshop as one file", and
give it this zip as it is. Or: yardwright import archive FILE.zip
Don't change the files in it: each is checked against manifest.json first.

WHAT IS NOT IN IT
People who may sign in, their passwords and sign-in keys (invite them again), the address of
your calendar (it gets a new one), files that you were only looking at, and plans that were
still being made.

HOW TO READ IT WITHOUT YARDWRIGHT
Every file is plain text in UTF-8, and opens in any text editor. Each line is one row, written as
JSON: "name": value. null means that nothing is known. Lengths are whole numbers of
1/8000 mm: 203200 is one inch, 8000 is one millimetre. Money is in %s. Days are written
2026-12-24; moments are in world time (UTC). id is the number of a row; a name that ends in
_id says which row of another file is meant.

THE FILES
`, w.Name, m.Written.Format("2 January 2006, 15:04 UTC"), w.Currency)
	for _, f := range m.Files {
		fmt.Fprintf(&b, "%-28s %7d  %s\n", f.Name, f.Rows, f.about)
	}
	return strings.ReplaceAll(b.String(), "\n", "\r\n")
}

// ImportedArchive says what an archive held.
type ImportedArchive struct {
	Manifest
}

// Rows is the number of rows of a table.
func (i ImportedArchive) Rows(table string) int64 {
	for _, f := range i.Files {
		if f.Name == table+archiveEnding {
			return f.Rows
		}
	}
	return 0
}

// String says the main things in a sentence.
func (i ImportedArchive) String() string {
	var parts []string
	for _, t := range [][2]string{{"styles", "styles"}, {"cloths", "cloths"}, {"bolts", "bolts"}, {"customers", "customers"}, {"orders", "orders"}, {"batches", "batches"}, {"price_lists", "price lists"}} {
		if n := i.Rows(t[0]); n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, t[1]))
		}
	}
	if len(parts) == 0 {
		return fmt.Sprintf("%s, with nothing in it yet", i.Workshop)
	}
	return fmt.Sprintf("%s, with %s", i.Workshop, strings.Join(parts, ", "))
}

// ImportArchive reads an archive into an empty workshop, all or nothing. The Fault says what is
// wrong, by file and line.
func (s *Service) ImportArchive(ctx context.Context, workshop int64, in io.ReaderAt, size int64) (ImportedArchive, error) {
	if err := s.MayFill(ctx, workshop); err != nil {
		return ImportedArchive{}, err
	}
	a, err := openArchive(in, size)
	if err != nil {
		return ImportedArchive{}, err
	}
	version, err := s.store.SchemaVersion(ctx)
	if err != nil {
		return ImportedArchive{}, err
	}
	switch {
	case a.manifest.Schema > version:
		return ImportedArchive{}, store.Wrong("file", "This archive was written by a newer Yardwright than this one. Update this one first, then read it in.")
	case a.manifest.Schema < version:
		return s.importOlder(ctx, workshop, a)
	}
	done := ImportedArchive{a.manifest}
	return done, s.store.FillFromArchive(ctx, workshop, a.source(), func(tx *store.Store) error { return s.readAll(ctx, tx, workshop) })
}

// archive is an opened zip whose files are as its manifest says.
type archive struct {
	manifest Manifest
	files    map[string]*zip.File
}

// budgeted lets a limited number of bytes be read, until it is told that there is no limit.
type budgeted struct {
	io.ReaderAt
	left int64
	free bool
}

var errOverBudget = errors.New("more than may be read")

func (b *budgeted) ReadAt(p []byte, off int64) (int, error) {
	if !b.free {
		if b.left -= int64(len(p)); b.left < 0 {
			return 0, errOverBudget
		}
	}
	return b.ReaderAt.ReadAt(p, off)
}

func brokenFile(message string, values ...any) error {
	return store.Wrong("file", fmt.Sprintf(message, values...))
}

// entryName is what a file in an archive may be called: a plain name without a folder.
var entryName = regexp.MustCompile(`^([a-z][a-z0-9_]{0,62}\.jsonl|README\.txt|manifest\.json)$`)

// openArchive opens a zip and checks all that can be checked without the database.
func openArchive(in io.ReaderAt, size int64) (*archive, error) {
	if size > LargestArchive {
		return nil, brokenFile("The file has %d MB; at most %d MB are read.", size>>20, LargestArchive>>20)
	}
	limited := &budgeted{ReaderAt: in, left: archiveDirectory}
	zipped, err := zip.NewReader(limited, size)
	switch {
	case limited.left < 0:
		return nil, brokenFile("This zip holds more files than an archive of a workshop does.")
	case err != nil:
		return nil, brokenFile("This is not an archive, or it was cut short on its way: %v. Choose the zip as it was written.", err)
	}
	limited.free = true
	a := &archive{files: map[string]*zip.File{}}
	if err := a.list(zipped); err != nil {
		return nil, err
	}
	if err := a.readManifest(); err != nil {
		return nil, err
	}
	return a, a.compare()
}

// list takes up the files of a zip, by name.
func (a *archive) list(zipped *zip.Reader) error {
	if len(zipped.File) > mostArchiveFiles {
		return brokenFile("This zip holds more files than an archive of a workshop does.")
	}
	total := uint64(0)
	for _, file := range zipped.File {
		name := strings.ToValidUTF8(file.Name, "?")
		switch {
		case !entryName.MatchString(file.Name) || !file.Mode().IsRegular():
			return brokenFile("%q does not belong into an archive of a workshop. Choose the zip as it was written.", name)
		case a.files[file.Name] != nil:
			return brokenFile("%s appears twice in this zip.", name)
		case file.Flags&1 != 0:
			return brokenFile("%s is locked with a password. Choose the zip as it was written.", name)
		case file.UncompressedSize64 > largestArchiveFile:
			return brokenFile("%s would unpack to more than %d MB, which is more than is read.", name, largestArchiveFile>>20)
		}
		if total += file.UncompressedSize64; total > largestUnpacked {
			return brokenFile("This zip would unpack to more than %d MB, which is more than is read.", largestUnpacked>>20)
		}
		a.files[file.Name] = file
	}
	return nil
}

func (a *archive) readManifest() error {
	file := a.files[archiveManifest]
	if file == nil {
		return brokenFile("There is no %s in this zip, so it is not an archive of a workshop.", archiveManifest)
	}
	if file.UncompressedSize64 > largestManifest {
		return brokenFile("%s is too long.", archiveManifest)
	}
	content, err := file.Open()
	if err != nil {
		return brokenFile("%s can't be unpacked: %v.", archiveManifest, err)
	}
	defer func() { _ = content.Close() }()                            // only read from
	text, err := io.ReadAll(io.LimitReader(content, largestManifest)) // to its end, so that its sum is checked
	if err == nil {
		err = json.Unmarshal(text, &a.manifest)
	}
	if err != nil {
		return brokenFile("%s can't be read: %v.", archiveManifest, err)
	}
	if a.manifest.Program != archiveProgram || a.manifest.Format < 1 {
		return brokenFile("%s is not that of an archive of a workshop.", archiveManifest)
	}
	if a.manifest.Format > archiveFormat {
		return brokenFile("This archive was written by a newer Yardwright than this one. Update this one first, then read it in.")
	}
	return nil
}

// compare unpacks every file once and checks its length, rows and digest against the manifest.
func (a *archive) compare() error {
	fault := &store.Fault{Kind: store.Invalid}
	wrong := func(name, message string, values ...any) {
		fault.Problems = append(fault.Problems, store.Problem{Field: name, Message: fmt.Sprintf(message, values...)})
	}
	listed := map[string]bool{archiveManifest: true}
	for _, said := range a.manifest.Files {
		name := strings.ToValidUTF8(said.Name, "?")
		file := a.files[said.Name]
		switch {
		case listed[said.Name]:
			wrong(name, "It appears twice in the manifest.")
			continue
		case file == nil:
			wrong(name, "This file is missing.")
			continue
		}
		listed[said.Name] = true
		is, err := count(file)
		switch {
		case err != nil:
			wrong(name, "This file can't be unpacked: %v. Choose the zip as it was written.", err)
		case is.SHA256 != said.SHA256 || is.Bytes != said.Bytes:
			wrong(name, "This file was changed after it was written: it has %d bytes, the manifest says %d; or its SHA-256 is another one. Choose the zip as it was written.", is.Bytes, said.Bytes)
		case is.Rows != said.Rows:
			wrong(name, "This file has %d rows, but the manifest says %d.", is.Rows, said.Rows)
		}
	}
	for _, name := range sortedNames(a.files) {
		if !listed[name] {
			wrong(name, "This file does not stand in the manifest.")
		}
	}
	if len(fault.Problems) > 0 {
		return fault
	}
	return nil
}

func sortedNames[V any](m map[string]V) []string {
	var names []string
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// count unpacks a file and counts it; it never reads more than the zip says there is.
func count(file *zip.File) (ArchiveFile, error) {
	content, err := file.Open()
	if err != nil {
		return ArchiveFile{}, err
	}
	defer func() { _ = content.Close() }() // only read from
	counted := &countedFile{to: io.Discard, digest: sha256.New()}
	if _, err := io.Copy(counted, io.LimitReader(content, int64(file.UncompressedSize64)+1)); err != nil { //nolint:gosec // it is below largestArchiveFile
		return ArchiveFile{}, err
	}
	return counted.done(), nil
}

// source hands the files to the store.
func (a *archive) source() store.ArchiveSource {
	var tables []string
	for _, f := range a.manifest.Files {
		if table, ok := strings.CutSuffix(f.Name, archiveEnding); ok {
			tables = append(tables, table)
		}
	}
	return store.ArchiveSource{
		Tables: tables,
		File:   func(table string) string { return table + archiveEnding },
		Open: func(table string) (io.ReadCloser, error) {
			file := a.files[table+archiveEnding]
			if file == nil {
				return nil, nil
			}
			return file.Open()
		},
		Check: checkArchiveValue,
	}
}

// jsonReaders read the JSON columns as the program does, by table and column.
var jsonReaders = map[string]func() any{
	"channels.settings":           func() any { return new(costing.Channel) },
	"batch_plans.plan":            func() any { return new(batch.Plan) },
	"batch_notions.took":          func() any { return new([]batch.Roll) },
	"style_pieces.points":         func() any { return new([]garment.OutlinePoint) },
	"style_piece_outlines.points": func() any { return new([]garment.Point) },
	"time_studies.study":          func() any { return new(costing.Study) },
	"order_forms.form":            func() any { return new(store.FormContent) },
	"price_lists.list":            func() any { return new(costing.PriceList) },
	// Prices of a colourway, or the costs of a batch.
	"cost_snapshots.sheets": func() any { return new(keptSheets) },
}

// keptSheets is either of what a snapshot of costs may hold.
type keptSheets struct {
	prices []costing.Pricing
	costs  []keptBatch
}

// UnmarshalJSON reads either.
func (k *keptSheets) UnmarshalJSON(content []byte) error {
	if json.Unmarshal(content, &k.costs) == nil && len(k.costs) == 1 {
		return nil
	}
	return json.Unmarshal(content, &k.prices)
}

func checkArchiveValue(table, column string, value []byte) error {
	reader := jsonReaders[table+"."+column]
	if reader == nil {
		return nil
	}
	return json.Unmarshal(value, reader())
}

// readAll reads a filled workshop as its pages do, so that nothing is taken that they could
// not show.
func (s *Service) readAll(ctx context.Context, tx *store.Store, workshop int64) error {
	w, err := tx.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	if _, err := Currency(w); err != nil {
		return store.Wrong("workshops"+archiveEnding+", line 1", "The currency "+w.Currency+" is not known.")
	}
	for _, part := range []struct {
		table string
		read  func() error
	}{
		{"size_charts", func() error { _, err := tx.Charts(ctx, workshop); return err }},
		{"styles", func() error { _, err := tx.Styles(ctx, workshop); return err }},
		{"channels", func() error { _, err := tx.Channels(ctx, workshop); return err }},
		{"cloths", func() error { _, err := tx.Cloths(ctx, workshop); return err }},
		{"notions", func() error { _, err := tx.Notions(ctx, workshop); return err }},
		{"colourways", func() error { _, err := tx.Colourways(ctx, workshop); return err }},
		{"price_lists", func() error { _, err := tx.PriceLists(ctx, workshop); return err }},
		{"bolts", func() error { _, err := tx.Bolts(ctx, workshop); return err }},
		{"bolt_faults", func() error { _, err := tx.BoltFaults(ctx, workshop); return err }},
	} {
		if err := part.read(); err != nil {
			return store.Wrong(part.table+archiveEnding, "What stands in it can't be used: "+err.Error()+".")
		}
	}
	return nil
}

// importOlder reads an archive of an older schema: it is filled into a schema of its own that has
// taken the same steps as the archive, brought up to date there, and read from it.
func (s *Service) importOlder(ctx context.Context, workshop int64, a *archive) (done ImportedArchive, err error) {
	var upgraded bytes.Buffer
	err = s.store.InOlderSchema(ctx, a.manifest.Schema, func(older *store.Store, id int64, update func() (*store.Store, error)) error {
		if err := older.FillFromArchive(ctx, id, a.source(), func(*store.Store) error { return nil }); err != nil {
			return err
		}
		now, err := update()
		if err != nil {
			return err
		}
		inside := s.within(now)
		return inside.ExportArchive(ctx, &upgraded, id)
	})
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return done, brokenFile("This archive was written by a Yardwright (schema %d) that this one knows nothing of.", a.manifest.Schema)
	case err != nil:
		return done, err
	}
	now, err := openArchive(bytes.NewReader(upgraded.Bytes()), int64(upgraded.Len()))
	if err != nil {
		return done, err
	}
	done = ImportedArchive{now.manifest}
	return done, s.store.FillFromArchive(ctx, workshop, now.source(), func(tx *store.Store) error { return s.readAll(ctx, tx, workshop) })
}

package workshop

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	encodings "golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"yardwright/exports"
	"yardwright/server/store"
)

// largestImport is far more than a workshop's orders of a year.
const largestImport = 8 << 20

// mostTableRows keeps a file to what can be looked through.
const mostTableRows = 100_000

// Table is a file of rows that somebody hands in, as it is written there.
type Table struct {
	Heading []string
	Rows    []TableRow
	// Guessed tells that the file is not written in UTF-8 and was read as Windows-1252.
	Guessed bool
}

// TableRow is one row with the line of the file that it begins on.
type TableRow struct {
	Line  int
	Cells []string
}

// readAll reads a file that is handed in, unless it is too large.
func readAll(r io.Reader) ([]byte, error) {
	content, err := io.ReadAll(io.LimitReader(r, largestImport+1))
	if err != nil {
		return nil, err
	}
	if len(content) > largestImport {
		return nil, store.Wrong("file", fmt.Sprintf("The file is larger than %d MB; split it.", largestImport>>20))
	}
	return content, nil
}

// ReadTable reads comma-, semicolon- or tab-separated values (RFC 4180) with a heading, written
// in UTF-8 or UTF-16; anything else is read as Windows-1252, which spreadsheets still write.
// Empty rows are left out. The error is a Fault at the file or the line.
func ReadTable(content []byte) (Table, error) {
	if bytes.HasPrefix(content, []byte("PK\x03\x04")) {
		return Table{}, store.Wrong("file", "This is a workbook or an archive. Save the sheet as CSV and choose that file.")
	}
	text, guessed := decode(content)
	table := Table{Guessed: guessed}
	reader := csv.NewReader(bytes.NewReader(text))
	reader.Comma = separatorOf(text)
	reader.FieldsPerRecord = -1
	reader.TrimLeadingSpace = true
	heading, err := reader.Read()
	if errors.Is(err, io.EOF) {
		return Table{}, store.Wrong("file", "The file is empty.")
	}
	if err != nil {
		return Table{}, csvFault(err)
	}
	table.Heading = trimmed(heading)
	for {
		record, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return Table{}, csvFault(err)
		}
		line, _ := reader.FieldPos(0)
		row := TableRow{Line: line, Cells: trimmed(record)}
		if slices.ContainsFunc(row.Cells, func(cell string) bool { return strings.ContainsFunc(cell, unwritable) }) {
			return Table{}, store.Wrong(fmt.Sprintf("line %d", line), "This row contains a character that can't be printed. Please retype it.")
		}
		if strings.Join(row.Cells, "") != "" {
			table.Rows = append(table.Rows, row)
		}
		if len(table.Rows) > mostTableRows {
			return Table{}, store.Wrong("file", fmt.Sprintf("The file has more than %d rows; split it.", mostTableRows))
		}
	}
	if len(table.Rows) == 0 {
		return Table{}, store.Wrong("file", "The file has a heading but no rows.")
	}
	return table, nil
}

// decode turns a file into UTF-8 without a byte order mark.
func decode(content []byte) (text []byte, guessed bool) {
	utf16 := bytes.HasPrefix(content, []byte{0xff, 0xfe}) || bytes.HasPrefix(content, []byte{0xfe, 0xff})
	if utf16 {
		decoded, _, err := transform.Bytes(encodings.UTF16(encodings.LittleEndian, encodings.UseBOM).NewDecoder(), content)
		if err == nil {
			return bytes.TrimPrefix(decoded, []byte("\ufeff")), false
		}
	}
	content = bytes.TrimPrefix(content, []byte("\ufeff"))
	if utf8.Valid(content) {
		return content, false
	}
	decoded, err := charmap.Windows1252.NewDecoder().Bytes(content)
	if err != nil {
		return bytes.ToValidUTF8(content, []byte("\ufffd")), true
	}
	return decoded, true
}

// trimmed takes off spaces and the apostrophe that keeps a text from being a formula.
func trimmed(record []string) []string {
	cells := make([]string, len(record))
	for i, value := range record {
		cells[i] = exports.Plain(strings.TrimSpace(value))
	}
	return cells
}

func csvFault(err error) error {
	var broken *csv.ParseError
	if errors.As(err, &broken) {
		return store.Wrong(fmt.Sprintf("line %d", broken.StartLine), "The quotation marks of this row don't fit together.")
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

// Matching says in which column of a table (from 0) each of our columns stands; one that is
// missing stands nowhere.
type Matching map[string]int

// Match finds our columns in a heading by their names, or other words for the same.
func (k ImportKind) Match(heading []string) Matching {
	matching := Matching{}
	for _, column := range k.Columns {
		for i, name := range heading {
			if slices.Contains(column.words(), bareWord(name)) && !matching.holds(i) {
				matching[column.Name] = i
				break
			}
		}
	}
	return matching
}

func (m Matching) holds(at int) bool {
	for _, column := range m {
		if column == at {
			return true
		}
	}
	return false
}

// bareWord is a heading as it is compared: small letters and digits alone.
func bareWord(name string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(" _-.:/()", r) {
			return -1
		}
		return r
	}, strings.ToLower(name))
}

// ImportColumn is one of our columns of a table.
type ImportColumn struct {
	Name, Label string
	// Needed columns must be there.
	Needed bool
	// Others are other headings that mean the same.
	Others []string
}

func (c ImportColumn) words() []string {
	words := []string{bareWord(c.Name), bareWord(c.Label)}
	for _, other := range c.Others {
		words = append(words, bareWord(other))
	}
	return words
}

// ImportKind is what a table can hold.
type ImportKind struct {
	Name, Title, About string
	// Back is the page that shows what was taken.
	Back    string
	Columns []ImportColumn
}

// rows names the cells of a table by our columns; the error says which are missing.
func (k ImportKind) rows(table Table, matching Matching) ([]ImportRow, error) {
	fault := &store.Fault{Kind: store.Invalid}
	for _, column := range k.Columns {
		if at, ok := matching[column.Name]; column.Needed && (!ok || at < 0 || at >= len(table.Heading)) {
			fault.Problems = append(fault.Problems, store.Problem{Field: "line 1", Message: fmt.Sprintf("The column %q is missing.", column.Name)})
		}
	}
	for i, column := range k.Columns {
		for _, other := range k.Columns[:i] {
			at, ok := matching[column.Name]
			if before, too := matching[other.Name]; ok && too && at == before {
				fault.Problems = append(fault.Problems, store.Problem{Field: "line 1", Message: fmt.Sprintf("The column %q can't be both %s and %s.", table.Heading[at], other.Label, column.Label)})
			}
		}
	}
	if len(fault.Problems) > 0 {
		return nil, fault
	}
	rows := make([]ImportRow, len(table.Rows))
	for i, row := range table.Rows {
		rows[i] = ImportRow{line: row.Line, fields: map[string]string{}}
		for name, at := range matching {
			if at >= 0 && at < len(row.Cells) {
				rows[i].fields[name] = row.Cells[at]
			}
		}
	}
	return rows, nil
}

// ImportRow is one row of a table, by our columns.
type ImportRow struct {
	line   int
	fields map[string]string
}

// unwritable are control characters other than tabs and line ends.
func unwritable(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' }

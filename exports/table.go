package exports

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
)

// Table writes a heading and rows as comma-separated values (RFC 4180: rows end in CR LF, a
// value with a comma, a quotation mark or a line end is quoted). It begins with a byte order
// mark, by which spreadsheets know that the text is UTF-8. Text that a spreadsheet would take
// for a formula gets an apostrophe before it (see Harmless); nil is empty, and whatever else a
// row holds is written as fmt.Sprint writes it.
func Table(w io.Writer, heading []string, rows [][]any) error {
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(heading); err != nil {
		return err
	}
	record := make([]string, len(heading))
	for i, row := range rows {
		if len(row) != len(heading) {
			return fmt.Errorf("row %d has %d values for %d columns", i, len(row), len(heading))
		}
		for column, value := range row {
			switch value := value.(type) {
			case nil:
				record[column] = ""
			case string:
				record[column] = Harmless(value)
			default:
				record[column] = fmt.Sprint(value)
			}
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// formulaStarts are what a spreadsheet takes for the beginning of a formula or a command when
// it reads a value (OWASP, CSV Injection), their full-width forms included.
const formulaStarts = "=+-@\t\r\n＝＋－＠"

// Harmless puts an apostrophe before text that a spreadsheet might take for a formula.
func Harmless(text string) string {
	if startsFormula(strings.TrimLeft(text, " \u00a0")) || startsQuoted(text) {
		return "'" + text
	}
	return text
}

// Plain undoes Harmless.
func Plain(text string) string {
	if rest, ok := strings.CutPrefix(text, "'"); ok && (startsFormula(strings.TrimLeft(rest, " \u00a0")) || startsQuoted(rest)) {
		return rest
	}
	return text
}

func startsFormula(text string) bool {
	return text != "" && strings.ContainsRune(formulaStarts, []rune(text)[0])
}

// startsQuoted tells whether text already looks as if Harmless had been at it, so that Plain
// gives back exactly what was there.
func startsQuoted(text string) bool {
	rest, ok := strings.CutPrefix(text, "'")
	return ok && (startsFormula(strings.TrimLeft(rest, " \u00a0")) || startsQuoted(rest))
}

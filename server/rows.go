package server

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"yardwright/server/form"
	"yardwright/server/store"
)

// filledRows are the rows of a list in a form of which any of the parts was filled in.
func filledRows(f *form.Form, list string, most int, parts ...string) []int {
	var rows []int
	for row := range most {
		for _, part := range parts {
			if f.Text(fmt.Sprintf("%s.%d.%s", list, row, part)) != "" {
				rows = append(rows, row)
				break
			}
		}
	}
	return rows
}

// atRows moves what is wrong with an entry of a list to the row of the form that it was read
// from: empty rows are left out of lists.
func atRows(err error, list string, rows []int) error {
	return movedProblems(err, func(field string) string {
		var at int
		if _, scanErr := fmt.Sscanf(field, list+".%d.", &at); scanErr != nil || at >= len(rows) {
			return field
		}
		return fmt.Sprintf("%s.%d.%s", list, rows[at], field[strings.LastIndex(field, ".")+1:])
	})
}

// atField moves what is wrong with one field to another one.
func atField(err error, from, to string) error {
	return movedProblems(err, func(field string) string {
		if field == from {
			return to
		}
		return field
	})
}

// movedProblems is a fault with its problems at other fields.
func movedProblems(err error, field func(string) string) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	moved := *fault
	moved.Problems = slices.Clone(fault.Problems)
	for i, p := range moved.Problems {
		moved.Problems[i].Field = field(p.Field)
	}
	return &moved
}

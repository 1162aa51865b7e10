package page

import (
	"bytes"
	"fmt"
	"html/template"
)

// Changed tells the second of two people who change the same thing what the first has saved.
type Changed struct {
	// Gone: the first has removed it.
	Gone bool
	// Differences are the fields in which the two differ; none if both wrote the same.
	Differences []Difference
}

// Difference is a field with what is saved and what stands in the form.
type Difference struct {
	// Field is the id of the field; empty if it has none.
	Field, Label string
	Saved, Typed string
	// Take is the value that puts what is saved into the field; CanTake tells whether that is
	// one value at all.
	Take    string
	CanTake bool
}

// changedParts is the one part that is put into pages after they were rendered.
var changedParts = template.Must(template.ParseFS(templates, "html/changed.html"))

// HTML writes the part of a page that says it.
func (c Changed) HTML() (template.HTML, error) {
	var out bytes.Buffer
	if err := changedParts.ExecuteTemplate(&out, "changed", c); err != nil {
		return "", fmt.Errorf("what somebody else changed: %w", err)
	}
	return template.HTML(out.String()), nil //nolint:gosec // html/template wrote it
}

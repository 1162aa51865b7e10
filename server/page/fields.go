package page

import (
	"html/template"
	"strings"

	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// parts are what templates say counts and lists with: {{count 3 "garment"}} is "3 garments".
var parts = template.FuncMap{
	"lower": strings.ToLower, "count": words.Count, "noun": words.Noun, "verb": words.Verb, "join": words.Join,
	"hintID": hintID, "batchState": store.BatchStateWords, "orderState": workshop.OrderStateWords, "marks": marks, "wrongText": wrongText,
}

// The IDs of what is said beside a field. They have no spaces, since aria-describedby is a list.
func hintID(field string) string  { return "hint-" + strings.Join(strings.Fields(field), "_") }
func wrongID(field string) string { return "wrong-" + strings.Join(strings.Fields(field), "_") }

// marks are the attributes of a control that tie it to its hint and to what is wrong with it.
func marks(field string, wrong, hinted bool) template.HTMLAttr {
	var by []string
	if wrong {
		by = append(by, wrongID(field))
	}
	if hinted {
		by = append(by, hintID(field))
	}
	attributes := ""
	if wrong {
		attributes = ` aria-invalid="true"`
	}
	if len(by) > 0 {
		attributes += ` aria-describedby="` + template.HTMLEscapeString(strings.Join(by, " ")) + `"`
	}
	return template.HTMLAttr(attributes) //nolint:gosec // all of it is escaped above
}

// wrongText is what is wrong with a field, to stand below it; nothing if nothing is.
func wrongText(field, message string) template.HTML {
	if message == "" {
		return ""
	}
	return template.HTML(`<span class="bad" id="` + template.HTMLEscapeString(wrongID(field)) + `">` + template.HTMLEscapeString(message) + `</span>`) //nolint:gosec // escaped
}

// Invalid are the attributes of a control without a hint.
func (b Base) Invalid(field string) template.HTMLAttr {
	return marks(field, b.Wrong(field) != "", false)
}

// Hinted are the attributes of a control whose hint has the ID hint- and the field's name.
func (b Base) Hinted(field string) template.HTMLAttr {
	return marks(field, b.Wrong(field) != "", true)
}

// WrongText is what is wrong with a field, to stand below it.
func (b Base) WrongText(field string) template.HTML { return wrongText(field, b.Wrong(field)) }

// LongUnit is the unit of cloth that a bare number counts in: yd or m.
func (b Base) LongUnit() string { return b.Units.System.Long().Symbol }

// SmallUnit is the unit of pieces and widths that a bare number counts in: in or cm.
func (b Base) SmallUnit() string { return b.Units.System.Small().Symbol }

// LongExample and its like show how a length is typed here.
func (b Base) LongExample() string {
	if b.Units.System == length.Metric {
		return "5.25 m"
	}
	return "5 1/2 yd"
}

// RollExample is a roll of notions as people here buy it.
func (b Base) RollExample() string { return "25 " + b.LongUnit() }

// OwnInput writes a length for a form field that is empty where something has none of its own; a
// length of 0 is written.
func (b Base) OwnInput(l *length.Length) string {
	switch {
	case l == nil:
		return ""
	case *l == 0:
		return "0"
	}
	return b.Input(*l)
}

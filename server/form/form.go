// Package form turns a request into typed values and problems at their fields. The raw texts
// are kept, so that a form that is refused comes back as it was typed.
package form

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing/money"
)

// Problem is what is wrong with one field.
type Problem struct {
	Field, Message string
}

// Form reads fields and collects what is wrong with them.
type Form struct {
	Values   url.Values
	problems []Problem
	currency money.Currency
}

// mostBytes is more than any form of ours needs.
const mostBytes = 4 << 20

// Parse reads the form of a POST request.
func Parse(w http.ResponseWriter, r *http.Request) (*Form, error) {
	r.Body = http.MaxBytesReader(w, r.Body, mostBytes)
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	f := &Form{Values: r.PostForm, currency: currencyOf(r.Context())}
	f.refuseUnwritable()
	return f, nil
}

// longestText is more than any field needs, those with a line for each roll included.
const longestText = 20_000

// refuseUnwritable notes fields with characters that nobody can read or write, which come of
// pasting from elsewhere, and fields that are too long for anything.
func (f *Form) refuseUnwritable() {
	for _, field := range slices.Sorted(maps.Keys(f.Values)) {
		for _, text := range f.Values[field] {
			switch {
			case !utf8.ValidString(text) || strings.ContainsFunc(text, unwritable):
				f.Wrong(field, "This contains a character that can't be printed. Please retype it.")
			case utf8.RuneCountInString(text) > longestText:
				f.Wrong(field, "This is too long. Write at most 20,000 letters.")
			}
		}
	}
}

func unwritable(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' }

// FromQuery reads the query of a GET request.
func FromQuery(r *http.Request) *Form {
	f := &Form{Values: r.URL.Query(), currency: currencyOf(r.Context())}
	f.refuseUnwritable()
	return f
}

// Raw returns a field as it was typed.
func (f *Form) Raw(field string) string { return f.Values.Get(field) }

// Wrong notes a problem at a field.
func (f *Form) Wrong(field, message string) { f.problems = append(f.problems, Problem{field, message}) }

// Problems returns everything that is wrong, in the order in which it was found.
func (f *Form) Problems() []Problem { return f.problems }

// OK tells whether nothing is wrong so far.
func (f *Form) OK() bool { return len(f.problems) == 0 }

// Text returns a field without spaces around it.
func (f *Form) Text(field string) string { return strings.TrimSpace(f.Values.Get(field)) }

// Needed returns a text that must not be empty; message says what to do.
func (f *Form) Needed(field, message string) string {
	text := f.Name(field)
	if text == "" {
		f.Wrong(field, message)
	}
	return text
}

// Name returns a name that may be empty: one line of at most words.LongestName letters.
func (f *Form) Name(field string) string { return f.line(field, words.LongestName) }

// Line returns a text of one line, such as what a cloth is made of; it may be empty.
func (f *Form) Line(field string) string { return f.line(field, words.LongestLine) }

func (f *Form) line(field string, most int) string {
	text := f.Text(field)
	if fault := words.LineFault(text, most); fault != "" && !f.WrongAt(field) {
		f.Wrong(field, fault)
	}
	return text
}

// Note returns a text that may have several lines, or none.
func (f *Form) Note(field string) string {
	text := f.Text(field)
	if fault := words.NoteFault(text, words.LongestNote); fault != "" && !f.WrongAt(field) {
		f.Wrong(field, fault)
	}
	return text
}

// WrongAt tells whether something is wrong with a field already, so that it is said once.
func (f *Form) WrongAt(field string) bool {
	return slices.ContainsFunc(f.problems, func(p Problem) bool { return p.Field == field })
}

// Bool tells whether a box is ticked.
func (f *Form) Bool(field string) bool { return f.Values.Get(field) != "" }

// Length reads a length that may be zero; an empty field is zero.
func (f *Form) Length(field string, bare length.Measure) length.Length {
	text := f.Text(field)
	if text == "" {
		return 0
	}
	value, err := length.Parse(text, bare)
	if err != nil {
		f.Wrong(field, sentence(err.Error()))
		return 0
	}
	if value < 0 {
		f.Wrong(field, "Write a length of 0 or more.")
	}
	return value
}

// LengthNeeded reads a length above zero.
func (f *Form) LengthNeeded(field string, bare length.Measure) length.Length {
	before := len(f.problems)
	value := f.Length(field, bare)
	if value == 0 && len(f.problems) == before {
		f.Wrong(field, "Write a length, such as 44 in or 112 cm.")
	}
	return value
}

// LengthIn reads a length that must lie in a range; an empty field is zero. What is wrong is
// said in the units of write, by which a bare number counts too.
func (f *Form) LengthIn(field string, bare length.Measure, within length.Between, write length.Style) length.Length {
	value := f.Length(field, bare)
	if f.Text(field) != "" && !within.Has(value) && !f.WrongAt(field) {
		f.Wrong(field, "Write a length "+within.Words(write)+".")
	}
	return value
}

// LengthNeededIn is LengthIn for a length above zero that must be given.
func (f *Form) LengthNeededIn(field string, bare length.Measure, within length.Between, write length.Style) length.Length {
	value := f.LengthIn(field, bare, within, write)
	if value == 0 && !f.WrongAt(field) {
		f.Wrong(field, "Write a length "+within.Words(write)+".")
	}
	return value
}

// largest is above every amount, rate and count that a small workshop writes, in any currency.
var largest = money.MustParse("1000000000")

// Decimal reads a number that may be zero; an empty field is zero.
func (f *Form) Decimal(field string) money.Decimal {
	text := strings.TrimSuffix(strings.TrimSpace(f.Text(field)), "%")
	if text == "" {
		return money.Decimal{}
	}
	value, err := money.ParseTyped(strings.TrimSpace(text))
	if err != nil {
		f.Wrong(field, sentence(err.Error()))
	}
	if largest.Less(value) || value.Less(largest.Neg()) {
		f.Wrong(field, "Write a number of at most 1,000,000,000.")
	}
	return value
}

// Int reads a whole number between two limits; an empty field is the lower one if that is 0.
func (f *Form) Int(field string, least, most int) int {
	text := f.Text(field)
	if text == "" && least == 0 {
		return 0
	}
	value, err := strconv.Atoi(text)
	if err != nil || value < least || value > most {
		f.Wrong(field, "Write a whole number from "+strconv.Itoa(least)+" to "+strconv.Itoa(most)+".")
		return least
	}
	return value
}

// ID reads the number of a record that was chosen from a list; 0 if none was.
func (f *Form) ID(field string) int64 {
	id, err := strconv.ParseInt(f.Text(field), 10, 64)
	if err != nil || id < 0 {
		return 0
	}
	return id
}

// IDs reads the numbers of all records that were ticked.
func (f *Form) IDs(field string) []int64 {
	var ids []int64
	for _, text := range f.Values[field] {
		if id, err := strconv.ParseInt(text, 10, 64); err == nil {
			ids = append(ids, id)
		}
	}
	return ids
}

// Day reads a day as browsers send it; zero if the field is empty.
func (f *Form) Day(field string) time.Time {
	text := f.Text(field)
	if text == "" {
		return time.Time{}
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		f.Wrong(field, "Write a day, such as 2026-12-24.")
	}
	return day
}

// Choice reads one of some words.
func (f *Form) Choice(field string, words ...string) string {
	text := f.Text(field)
	if !slices.Contains(words, text) {
		f.Wrong(field, "Choose "+strings.Join(words, ", ")+".")
	}
	return text
}

// sentence makes a message begin with a capital and end with a point.
func sentence(text string) string {
	runes := []rune(text)
	if len(runes) == 0 {
		return text
	}
	text = strings.ToUpper(string(runes[0])) + string(runes[1:])
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return text
}

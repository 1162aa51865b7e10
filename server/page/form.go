package page

import (
	"cmp"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/costing/money"
)

// FieldKind is how a field is filled in.
type FieldKind string

// The kinds of fields. One without a kind is a box for one line.
const (
	KindLines  FieldKind = "lines"
	KindDay    FieldKind = "day"
	KindChoice FieldKind = "choice"
	// Radio is a choice whose options are all in sight.
	KindRadio  FieldKind = "radio"
	KindTick   FieldKind = "tick"
	KindHidden FieldKind = "hidden"
	// What is typed into a password's box is never shown again.
	KindPassword FieldKind = "password"
)

// Field is one box of a form with everything that belongs to it.
type Field struct {
	Name, Label, Hint string
	// HintLink is where the hint leads, and HintMore what that is called; empty for nowhere.
	HintLink, HintMore string
	Kind               FieldKind
	// Saved is what is saved, Value what the box shows: what was typed, or else what is saved. A
	// box to tick has Of where it is ticked, and is empty otherwise.
	Saved, Value string
	Of           string
	// Back is what is sent to take a change back, where that isn't what was saved.
	Back string
	// Wrong is what is wrong with what was typed.
	Wrong string
	// Mode is the keyboard that a phone shows; "" is the usual one. Class is how wide the box is.
	Mode, Class string
	// List is the datalist that proposes words; Fill is what a browser may fill the box in with, "" is
	// nothing.
	List, Fill string
	// bare boxes are called by their label without showing it, as in a table; noted ones have their
	// hint beside them all the same.
	bare, noted bool
	// Options of a list to choose from.
	Options []Option
	// Locked fields can be read but not changed.
	Locked bool
}

// yes is what a box to tick sends that is alone of its name.
const yes = "yes"

// Option is one choice of a list.
type Option struct {
	Value, Text string
	// Formula says what it means, Example what it gives.
	Formula, Example string
	Chosen           bool
}

// ID names the control on its page.
func (f Field) ID() string {
	if f.Kind == KindTick && f.Of != yes {
		return f.Name + "." + f.Of
	}
	return f.Name
}

// Bare is the field without its label in sight, for a table whose heads say what it is.
func (f Field) Bare() Field {
	f.bare = true
	return f
}

// Noted is the field without its label in sight, its hint below it.
func (f Field) Noted() Field {
	f.bare, f.noted = true, true
	return f
}

// Attributes are those of the control: what it is called where no label is in sight, how wide it is,
// and what is said about it.
func (f Field) Attributes() template.HTMLAttr {
	var text strings.Builder
	for _, a := range [][2]string{{"aria-label", f.label()}, {"class", f.Class}, {"inputmode", f.Mode}, {"list", f.List}} {
		if a[1] != "" {
			text.WriteString(" " + a[0] + `="` + template.HTMLEscapeString(a[1]) + `"`)
		}
	}
	if f.Locked {
		text.WriteString(" disabled")
	}
	return template.HTMLAttr(text.String()) + marks(f.Name, f.Wrong != "", f.Hint != "" && (f.noted || !f.bare)) //nolint:gosec // escaped above
}

func (f Field) label() string {
	if f.bare {
		return f.Label
	}
	return ""
}

// Ticked reports whether the box is ticked.
func (f Field) Ticked() bool { return f.Value != "" }

// reads is how a value of the field reads.
func (f Field) reads(value string) string {
	if f.Kind == KindTick {
		if value != "" {
			return "ticked"
		}
		return "not ticked"
	}
	for _, o := range f.Options {
		if o.Value == value {
			return o.Text
		}
	}
	return value
}

// TextField is a box for words.
func (b Base) TextField(name, label, hint string, value any) Field {
	return Field{Name: name, Label: label, Hint: hint, Saved: written(value), Value: b.Typed(name, value), Wrong: b.Wrong(name)}
}

// LinesField is a box for several lines.
func (b Base) LinesField(name, label, hint string, value any) Field {
	field := b.TextField(name, label, hint, value)
	field.Kind = KindLines
	return field
}

// NumberField is a box for a number.
func (b Base) NumberField(name, label, hint string, value any) Field {
	field := b.TextField(name, label, hint, value)
	field.Mode = "decimal"
	return field
}

// WholeField is a box for a whole number.
func (b Base) WholeField(name, label, hint string, value any) Field {
	field := b.TextField(name, label, hint, value)
	field.Mode = "numeric"
	return field
}

// MoneyField is a box for an amount; nothing leaves it empty.
func (b Base) MoneyField(name, label, hint string, value money.Amount) Field {
	if value.IsZero() {
		return b.NumberField(name, label, hint, "")
	}
	return b.NumberField(name, label, hint, b.InCoins(value.Number()))
}

// ShareField is a box for a percentage of a share of one; nothing leaves it empty.
func (b Base) ShareField(name, label, hint string, share money.Decimal) Field {
	if share.IsZero() {
		return b.NumberField(name, label, hint, "")
	}
	return b.NumberField(name, label, hint, money.Fraction(share).Percent())
}

// DayField is a box for a day.
func (b Base) DayField(name, label, hint string, day time.Time) Field {
	field := b.TextField(name, label, hint, b.InputDay(day))
	field.Kind = KindDay
	return field
}

// Choose is a list to choose from.
func (b Base) Choose(name, label, hint string, value any, options []Option) Field {
	field := b.TextField(name, label, hint, value)
	field.Kind = KindChoice
	known := false
	for _, o := range options {
		o.Chosen = o.Value == field.Value
		known = known || o.Value == field.Saved
		field.Options = append(field.Options, o)
	}
	if !known && len(options) > 0 {
		field.Saved = options[0].Value // which the list shows
	}
	return field
}

// RadioField is a choice whose options are all in sight; the hint explains it.
func (b Base) RadioField(name, label, hint string, value any, options []Option) Field {
	field := b.Choose(name, label, hint, value, options)
	field.Kind = KindRadio
	return field
}

// Values are what a list to choose from sends.
func (f Field) Values() []string {
	values := make([]string, len(f.Options))
	for i, o := range f.Options {
		values[i] = o.Value
	}
	return values
}

// TickField is a box to tick, which sends "yes".
func (b Base) TickField(name, label string, ticked bool) Field {
	return b.TickOf(name, yes, label, ticked)
}

// TickOf is one of several boxes to tick that have a name together; it sends of.
func (b Base) TickOf(name, of, label string, ticked bool) Field {
	field := Field{Name: name, Label: label, Kind: KindTick, Of: of, Wrong: b.Wrong(name)}
	if ticked {
		field.Saved = of
	}
	if b.Ticked(name, of, ticked) {
		field.Value = of
	}
	return field
}

// PasswordField is a box for a password, which a browser may fill in with fill.
func (b Base) PasswordField(name, label, hint, fill string) Field {
	return Field{Name: name, Label: label, Hint: hint, Kind: KindPassword, Fill: fill, Wrong: b.Wrong(name)}
}

// HiddenField goes along with a form unseen.
func (b Base) HiddenField(name string, value any) Field {
	return Field{Name: name, Kind: KindHidden, Saved: written(value), Value: b.Typed(name, value)}
}

// Words are options that read as they are sent.
func Words[T ~string](words ...T) []Option {
	options := make([]Option, len(words))
	for i, word := range words {
		options[i] = Option{Value: string(word), Text: string(word)}
	}
	return options
}

// Form is a form as data: what it shows, what of it somebody else changed and how it is taken back
// are read from its fields.
type Form struct {
	// Page is the address of the page that shows the form, Action where it is sent.
	Page, Action string
	// Version names what is saved now of what the form changes: its number, or its content. It is 0 for
	// a form that adds something.
	Version string
	// Rows are the fields as they are laid out.
	Rows [][]Field
	// Locked forms can be read but not sent.
	Locked bool
	lists  []list
	// elsewhere: what was typed and refused belongs to another form of the page.
	elsewhere bool
	// typed is what was typed into the form and refused.
	typed url.Values
}

// list are rows of fields that a page lays out apart, such as the steps of a style.
type list struct {
	name string
	rows [][]Field
}

// Form makes a form of rows of fields.
func (b Base) Form(page, action string, version any, rows ...[]Field) Form {
	f := Form{Page: page, Action: action, Version: written(version), Rows: rows, Locked: !b.Sends(action)}
	if b.Sent == action {
		f.typed = b.Raw
	}
	f.elsewhere = b.Sent != "" && b.Sent != action
	f.settle(rows)
	return f
}

// Question is a form that asks for what a page shows; nothing is saved by it.
func (b Base) Question(page string, rows ...[]Field) Form {
	return Form{Page: page, Action: page, Rows: rows}
}

// Filled reports whether anything is filled in of a list.
func (f Form) Filled(list string) bool {
	return slices.ContainsFunc(f.List(list), func(row []Field) bool {
		return slices.ContainsFunc(row, func(field Field) bool { return field.Value != "" })
	})
}

// Adds reports whether the form adds something, instead of changing what is there.
func (f Form) Adds() bool { return f.Version == "" || f.Version == "0" }

// placesOf are the addresses of the page of a thing among its like at place, and of its form; both
// are those of a new one where id is 0.
func placesOf(place string, id int64) (page, action string) {
	if id == 0 {
		return place + "/new", place
	}
	action = fmt.Sprintf("%s/%d", place, id)
	return action, action
}

// With adds a list, whose rows a page lays out apart.
func (f Form) With(name string, rows [][]Field) Form {
	f.settle(rows)
	f.lists = append(slices.Clip(f.lists), list{name, rows})
	return f
}

// List are the rows of a list.
func (f Form) List(name string) [][]Field {
	for _, l := range f.lists {
		if l.name == name {
			return l.rows
		}
	}
	return nil
}

// settle gives fields what they have of their form.
func (f Form) settle(rows [][]Field) {
	for _, row := range rows {
		for i := range row {
			row[i].Locked = f.Locked
			if f.elsewhere {
				row[i].untype()
			}
		}
	}
}

// untype makes a field show what is saved.
func (f *Field) untype() {
	f.Value, f.Wrong = f.Saved, ""
	for i := range f.Options {
		f.Options[i].Chosen = f.Options[i].Value == f.Saved
	}
}

// Changed is what somebody else has saved since the form was opened that now comes back refused; nil
// where nobody has.
func (f Form) Changed() *Changed {
	if began := f.typed["version"]; len(began) == 0 || began[0] == f.Version || !f.sentIn(f.typed) {
		return nil
	}
	return &Changed{Differences: f.differences()}
}

// sentIn reports whether what was typed was typed into this form, and not into another one of the
// same address.
func (f Form) sentIn(typed url.Values) bool {
	for field := range f.all {
		if field.Kind != KindHidden && typed.Has(field.Name) {
			return true
		}
	}
	return false
}

// all are the fields in their order.
func (f Form) all(yield func(Field) bool) {
	parts := [][][]Field{f.Rows}
	for _, l := range f.lists {
		parts = append(parts, l.rows)
	}
	for _, rows := range parts {
		for _, row := range rows {
			for _, field := range row {
				if !yield(field) {
					return
				}
			}
		}
	}
}

// Field is the field of a name; a template that asks for one that isn't there fails.
func (f Form) Field(name string) (Field, error) {
	for field := range f.all {
		if field.Name == name {
			return field, nil
		}
	}
	return Field{}, &noField{name}
}

// Changed tells the second of two people who change the same thing what the first has saved: the
// fields in which the two differ, none if both wrote the same.
type Changed struct{ Differences []Difference }

// Difference is a field with what is saved and what was typed.
type Difference struct {
	// Field is the ID of the control.
	Field, Label string
	Saved, Typed string
	// Take is the value that puts what is saved into the field, where CanTake says that there is one.
	Take    string
	CanTake bool
}

type noField struct{ name string }

func (e *noField) Error() string { return "the form has no field " + strconv.Quote(e.name) }

// differences are the fields in which what is saved and what was typed differ.
func (f Form) differences() []Difference {
	var list []Difference
	for field := range f.all {
		if field.Saved == field.Value || field.Kind == KindHidden {
			continue
		}
		list = append(list, Difference{
			Field: field.ID(), Label: field.Label, Saved: field.reads(field.Saved), Typed: field.reads(field.Value),
			Take: field.Saved, CanTake: field.Kind != KindTick && field.Kind != KindRadio,
		})
	}
	return list
}

// Saved are the fields that the form sends as it is saved, its version left out.
func (f Form) Saved() []UndoField {
	var fields []UndoField
	for field := range f.all {
		value := cmp.Or(field.Back, field.Saved)
		if field.Locked || value == "" && (field.Kind == KindTick || field.Kind == KindRadio) {
			continue
		}
		fields = append(fields, UndoField{Name: field.Name, Value: value})
	}
	return fields
}

// Changes reports whether what was typed is something else than what is saved.
func (f Form) Changes(typed url.Values) bool {
	saved, sent := url.Values{}, url.Values{}
	for field := range f.all {
		if field.Saved != "" && !field.Locked {
			saved.Add(field.Name, field.Saved)
		}
		sent[field.Name] = slices.DeleteFunc(slices.Clone(typed[field.Name]), func(value string) bool { return value == "" })
	}
	for name, values := range sent {
		if !slices.Equal(saved[name], values) {
			return true
		}
	}
	return false
}

// Undo takes a change of the form back: it is sent again with what is saved now. version is the one
// that the change leaves.
func (f Form) Undo(version string) Undo {
	fields := []UndoField{{Name: "version", Value: version}, {Name: "page", Value: f.Page}}
	return Undo{Action: f.Action, Fields: append(fields, f.Saved()...)}
}

// Again makes what the form shows anew, by the form of a new one at action.
func (f Form) Again(action string, more ...UndoField) Undo {
	return Undo{Action: action, Fields: append(f.Saved(), more...)}
}

// RowsTyped is how many rows a list of a form shows: as many as there are, and as many as were typed,
// up to most.
func (b Base) RowsTyped(list string, rows, most int) int {
	for name, values := range b.Raw {
		parts := strings.Split(name, ".")
		if len(parts) < 3 || parts[0] != list || values[0] == "" {
			continue
		}
		if row, err := strconv.Atoi(parts[1]); err == nil {
			rows = max(rows, row+1)
		}
	}
	return min(rows, most)
}

// Refuse makes the forms of a page show what was sent to an address, and what is wrong with it.
func (b *Base) Refuse(sent string, typed url.Values, problems []Problem) {
	b.Sent, b.Raw, b.Problems = sent, typed, problems
}

// May reports whether whoever looks at the page may send such a request.
func (b Base) May(method, path string) bool { return b.Allows == nil || b.Allows(method, path) }

// Opens reports whether whoever looks at the page may open another one.
func (b Base) Opens(address string) bool {
	path, _, _ := strings.Cut(address, "?")
	path, _, _ = strings.Cut(path, "#")
	return path == "" || b.May(http.MethodGet, path)
}

// Sends reports whether whoever looks at the page may send something to an address.
func (b Base) Sends(path string) bool { return b.May(http.MethodPost, path) }

// Link is a link for those who may open the page, and the text alone for others.
func (b Base) Link(address string, text any) template.HTML {
	shown := template.HTMLEscaper(text)
	if b.Opens(address) {
		shown = `<a href="` + template.HTMLEscapeString(address) + `">` + shown + `</a>`
	}
	return template.HTML(shown) //nolint:gosec // escaped above
}

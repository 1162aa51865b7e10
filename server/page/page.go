// Package page holds what a page shows and how: one struct per page, its template, and the
// static files. Lengths, money and days reach a page only through the formatters of Base, so
// that every number carries its unit and the workshop's way of writing.
package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"math"
	"net/url"
	"strconv"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing/money"
)

// Problem is what is wrong with one field of a form.
type Problem struct {
	Field, Message string
}

// Base is what every page has.
type Base struct {
	// Title of the page; Place is the entry of the menu that it belongs to.
	Title, Place string
	// Room is the name of the workshop.
	Room     string
	Units    length.Style
	Locale   string
	Currency money.Currency
	// Notice says what has just been done.
	Notice   string
	Problems []Problem
	// Asking tells that the page only answers a question, so that there is nothing to be saved.
	Asking bool
	// Raw are the fields of a refused form as they were typed; Sent is where they were sent to.
	Raw  url.Values
	Sent string
	// Allows reports whether whoever looks at the page may send such a request; nil allows all.
	Allows func(method, path string) bool
	// Reader is how days and times are written for whoever reads the page.
	Reader Reader
	// Today is the present day.
	Today time.Time
	// Person is who looks at the page, as far as it is known.
	Person Person
	// Undo takes back what Notice says; nil where that can't be done.
	Undo *Undo
	// Again: the page is to be looked at again in a moment, which browsers do by themselves.
	Again bool
	// Bare pages have no menu: nobody is signed in yet.
	Bare bool
}

// Wrong returns what is wrong with a field; empty if nothing is.
func (b Base) Wrong(field string) string {
	for _, problem := range b.Problems {
		if problem.Field == field {
			return problem.Message
		}
	}
	return ""
}

// Typed returns a field as it was typed, or else the given value.
func (b Base) Typed(field string, otherwise any) string {
	if values, ok := b.Raw[field]; ok && len(values) > 0 {
		return values[0]
	}
	return written(otherwise)
}

// written is a value as it stands in a box.
func written(value any) string {
	if value == nil {
		return ""
	}
	return fmt.Sprint(value)
}

// Ticked tells whether a box was ticked in a refused form, or else the given value.
func (b Base) Ticked(field, value string, otherwise bool) bool {
	if len(b.Raw) == 0 {
		return otherwise
	}
	for _, ticked := range b.Raw[field] {
		if ticked == value {
			return true
		}
	}
	return false
}

// Piece writes the size of a piece: 17⅜ in.
func (b Base) Piece(l length.Length) string { return b.Units.Piece(l) }

// PieceUp writes a short length, rounded up.
func (b Base) PieceUp(l length.Length) string { return b.Units.PieceRounded(l, length.Up) }

// PieceBoth writes the size of a piece in both systems: 17⅜ in (44.1 cm).
func (b Base) PieceBoth(l length.Length) string { return b.Units.PieceBoth(l) }

// CutSize writes a measure of a piece to cut, OtherCutSize the same in the other system.
func (b Base) CutSize(l length.Length, shaped bool) string { return b.Units.Cut(l, shaped) }

func (b Base) OtherCutSize(l length.Length, shaped bool) string { return b.Units.OtherCut(l, shaped) }

// Roll writes how long a roll is, so that the lengths cut from it can be added up.
func (b Base) Roll(l length.Length) string { return b.Units.Roll(l) }

// OtherPiece writes the size of a piece in the other system.
func (b Base) OtherPiece(l length.Length) string { return b.Units.OtherPiece(l) }

// Cut writes a length to cut: as a piece, or in the unit of cloth if it is long.
func (b Base) Cut(l length.Length) string {
	if l > 3*length.Yard {
		return b.Units.Cloth(l, length.Nearest)
	}
	return b.Piece(l)
}

// OtherCut is Cut in the other system.
func (b Base) OtherCut(l length.Length) string {
	if l > 3*length.Yard {
		return b.Units.Other().Cloth(l, length.Nearest)
	}
	return b.OtherPiece(l)
}

// ClothUp writes a length of cloth to be taken or bought, rounded up.
func (b Base) ClothUp(l length.Length) string { return b.Units.Cloth(l, length.Up) }

// ClothUpBoth is ClothUp in both systems.
func (b Base) ClothUpBoth(l length.Length) string { return b.Units.ClothBoth(l, length.Up) }

// Taken writes a length that was taken, to the step of the ruler, in both systems.
func (b Base) Taken(l length.Length) string { return b.Units.TapeBoth(l, length.Nearest) }

// ClothDown writes a length of cloth that is there, rounded down; less than a yard in inches,
// since an eighth of a yard is then too coarse.
func (b Base) ClothDown(l length.Length) string {
	if b.Units.System != length.Metric && l < length.Yard {
		return b.Units.PieceRounded(l, length.Down)
	}
	return b.Units.Cloth(l, length.Down)
}

// Input writes a length for a form field, exact enough to come back as it was.
func (b Base) Input(l length.Length) string {
	if l == 0 {
		return ""
	}
	return l.Text(b.Units.System.Small())
}

// LongInput writes a length of cloth for a form field.
func (b Base) LongInput(l length.Length) string {
	if l == 0 {
		return ""
	}
	return l.Text(b.Units.System.Long())
}

// Money writes an amount. Whoever may not see money sees none, whatever the page asks for.
func (b Base) Money(a money.Amount) string {
	if !b.SeesMoney() {
		return ""
	}
	return a.Round(money.HalfUp).Format(b.Locale)
}

// Exact4 writes a price of a unit: in coins, or as it was typed with up to two decimals more; what is
// below 1 as ExactMoney does.
func (b Base) Exact4(a money.Amount) string {
	exact := a.Number().Round(a.Currency().Digits()+2, money.HalfUp)
	if exact == a.Number() || a.Number().Abs().Less(money.Int(1)) {
		return b.ExactMoney(a)
	}
	return b.Money(a)
}

// ExactMoney writes an amount with the decimals that its unit needs: coins and up to two more, and
// for what is far below a coin, such as the price of a yard of thread, three digits that count.
func (b Base) ExactMoney(a money.Amount) string {
	if !b.SeesMoney() {
		return ""
	}
	return money.NewAmount(fine(a.Number(), a.Currency().Digits()+2), a.Currency()).Format(b.Locale)
}

// Fine writes a quantity with the decimals that a cost sheet needs of it: up to four, which are a
// tenth of a millimetre in yards and metres, and for what is far smaller three digits that count.
func (b Base) Fine(d money.Decimal) string { return fine(d, 4).Format(b.Locale) }

// fine rounds to so many places, or to more where fewer than three digits would be left.
func fine(d money.Decimal, places int) money.Decimal {
	for size := d.Abs(); places < 12 && size.Sign() != 0 && size.Less(money.New(100, places)); {
		places++
	}
	return d.Round(places, money.HalfUp)
}

// Price writes a plain number as money of the workshop.
func (b Base) Price(d money.Decimal) string {
	if !b.SeesMoney() {
		return ""
	}
	return money.NewAmount(d, b.Currency).Format(b.Locale)
}

// Millionths writes what package lay counts as money.
func (b Base) Millionths(m lay.Money) string {
	return b.Money(money.NewAmount(money.New(int64(m), 6), b.Currency))
}

// Coins rounds what package lay counts half up to the smallest coin: what a page shows of each cloth is
// then what it adds up.
func (b Base) Coins(m lay.Money) lay.Money {
	coin := lay.Money(1)
	for range 6 - b.Currency.Digits() {
		coin *= 10
	}
	return (m + coin/2) / coin * coin
}

// Number writes a decimal with at most so many places.
func (b Base) Number(d money.Decimal, places int) string {
	return d.Round(places, money.HalfUp).Format(b.Locale)
}

// InputDay writes a day for a date field.
func (b Base) InputDay(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// Until says how far away a day is.
func (b Base) Until(t time.Time) string {
	switch days := int(t.Sub(b.Today).Hours()) / 24; {
	case days == 0:
		return "today"
	case days == 1:
		return "tomorrow"
	case days < 0:
		return words.Count(-days, "day") + " late"
	default:
		return "in " + words.Count(days, "day")
	}
}

// Late tells whether a day has passed.
func (b Base) Late(t time.Time) bool { return t.Before(b.Today) }

// Minutes writes working time: 2 h 35 min.
func (b Base) Minutes(d time.Duration) string {
	minutes := int64((d + time.Minute/2) / time.Minute)
	if minutes < 60 {
		return strconv.FormatInt(minutes, 10) + " min"
	}
	return fmt.Sprintf("%d h %02d min", minutes/60, minutes%60)
}

// MinutesInput writes a step's minutes for a form field.
func (b Base) MinutesInput(d time.Duration) string {
	return strconv.FormatFloat(float64(d)/float64(time.Minute), 'f', -1, 64)
}

// Percent writes a share of one as percent with one decimal.
func (b Base) Percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) + " %" }

// AtMost is Percent rounded up, for what a bound says: 0.01 % is "0.1 %", never "0.0 %".
func (b Base) AtMost(share float64) string {
	return b.Percent(math.Ceil(max(0, 1000*share-1e-9)) / 1000)
}

// InCoins writes an amount for its box, with the decimals of the currency's coins or more: 8.90.
// No money is shown to who may see none.
func (b Base) InCoins(d money.Decimal) string {
	if !b.SeesMoney() {
		return ""
	}
	return d.StringFixed(b.Currency.Digits())
}

// InCoinsOrEmpty is InCoins; nothing leaves the box empty.
func (b Base) InCoinsOrEmpty(d money.Decimal) string {
	if d.IsZero() {
		return ""
	}
	return b.InCoins(d)
}

// OwnCoins is InCoins for an amount that something may have none of.
func (b Base) OwnCoins(d *money.Decimal) string {
	if d == nil {
		return ""
	}
	return b.InCoins(*d)
}

//go:embed html/*.html
var templates embed.FS

//go:embed static
var static embed.FS

// Static returns the files under /static/.
func Static() fs.FS {
	files, err := fs.Sub(static, "static")
	if err != nil {
		panic(err) // embedded at build time
	}
	return files
}

// Set is all pages, parsed.
type Set struct {
	pages map[string]*template.Template
}

// Load parses every page with the parts that it uses; a missing file or a broken template is
// an error, so that a server with one doesn't start.
func Load() (*Set, error) {
	set := &Set{pages: map[string]*template.Template{}}
	for name, others := range pages {
		files := []string{"html/layout.html", "html/form_parts.html"}
		for _, part := range append(others, name) {
			files = append(files, "html/"+part+".html")
		}
		parsed, err := template.New("layout.html").Option("missingkey=error").Funcs(parts).ParseFS(templates, files...)
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", name, err)
		}
		set.pages[name] = parsed
	}
	return set, nil
}

// Names lists the pages.
func (s *Set) Names() []string {
	names := make([]string, 0, len(s.pages))
	for name := range s.pages {
		names = append(names, name)
	}
	return names
}

// Template returns the template of a page, for checking it.
func (s *Set) Template(name string) *template.Template { return s.pages[name] }

// View is what a page shows; it knows its own template.
type View interface {
	page() string
}

// Render writes a page. Nothing is written if the template fails.
func (s *Set) Render(w io.Writer, view View) error {
	parsed, ok := s.pages[view.page()]
	if !ok {
		return fmt.Errorf("there is no page %q", view.page())
	}
	var buffer bytes.Buffer
	if err := parsed.Execute(&buffer, view); err != nil {
		return fmt.Errorf("page %s: %w", view.page(), err)
	}
	_, err := buffer.WriteTo(w)
	return err
}

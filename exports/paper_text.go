package exports

import (
	_ "embed" // fonts
	"slices"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	fixedpoint "golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// The letters of all PDFs: DejaVu Sans Condensed 2.37, see fonts/LICENSE. It holds Latin,
// Greek, Cyrillic, Hebrew, Arabic and many signs. What it lacks comes from Droid Sans Fallback
// (fonts/LICENSE-fallback):
// Chinese, Japanese and Korean, in one weight, and a document that needs none of it carries none.
//
//go:embed fonts/DejaVuSansCondensed.ttf
var regularFont []byte

//go:embed fonts/DejaVuSansCondensed-Bold.ttf
var boldFont []byte

//go:embed fonts/DroidSansFallback.ttf
var fallbackFont []byte

const (
	fontFamily     = "dejavu"
	fallbackFamily = "droid"
)

// standIn is written for a letter that the font lacks.
const standIn = "□"

func addFonts(pdf *fpdf.Fpdf) {
	// The library writes into the bytes that it is given.
	pdf.AddUTF8FontFromBytes(fontFamily, "", append([]byte(nil), regularFont...))
	pdf.AddUTF8FontFromBytes(fontFamily, "B", append([]byte(nil), boldFont...))
}

// lastRune is the last letter that the PDF library can write; above it, it panics.
const lastRune = 0xFFFF

// advances are how wide each letter runs, in thousandths of its size; −1 if there is none.
type advances [lastRune + 1]int16

// measures holds the advances of both fonts, read once.
var measures = sync.OnceValue(func() *[2]advances { return &[2]advances{advancesOf(regularFont), advancesOf(boldFont)} })

// fallbackMeasures are those of the fallback font, read when a letter is first looked for in it.
var fallbackMeasures = sync.OnceValue(func() *advances {
	all := advancesOf(fallbackFont)
	return &all
})

func advancesOf(content []byte) (all advances) {
	parsed, err := sfnt.Parse(content)
	if err != nil {
		panic(err) // embedded at build time
	}
	var buffer sfnt.Buffer
	unit := parsed.UnitsPerEm()
	for r := range all {
		all[r] = -1
		glyph, err := parsed.GlyphIndex(&buffer, rune(r))
		if err != nil || glyph == 0 {
			continue
		}
		advance, err := parsed.GlyphAdvance(&buffer, glyph, fixedpoint.I(int(unit)), font.HintingNone)
		if err == nil {
			all[r] = int16(advance.Round() * 1000 / int(unit))
		}
	}
	return all
}

// ownLetter tells whether both of the usual fonts have a letter.
func ownLetter(r rune) bool {
	known := measures()
	return r >= ' ' && r < lastRune && known[0][r] >= 0 && known[1][r] >= 0
}

// printable tells whether there is a letter in the usual fonts or in the fallback.
func printable(r rune) bool {
	return ownLetter(r) || (r >= ' ' && r < lastRune && fallbackMeasures()[r] >= 0)
}

// byFont cuts a line where the font changes.
func byFont(line string) (runs []string, fallback []bool) {
	start := 0
	for i, r := range line {
		other := r >= ' ' && !ownLetter(r) // signs below stand for the number of pages
		if len(fallback) > 0 && fallback[len(fallback)-1] == other {
			continue
		}
		if i > start {
			runs = append(runs, line[start:i])
		}
		fallback, start = append(fallback, other), i
	}
	if start < len(line) {
		runs = append(runs, line[start:])
	}
	return runs, fallback
}

// clean makes any text fit to be written: in composed letters, without control signs, with a
// stand-in for each letter that the font lacks, and on one line.
func (s *sheets) clean(text string) string {
	plain := true
	for _, r := range text {
		if r < ' ' || r > '~' {
			plain = false
			break
		}
	}
	if plain {
		return text
	}
	var out strings.Builder
	for _, r := range norm.NFC.String(strings.ToValidUTF8(text, standIn)) {
		switch {
		case r == '\u00a0':
			out.WriteRune(r)
		case unicode.IsSpace(r):
			out.WriteByte(' ')
		case unicode.IsControl(r), unicode.In(r, unicode.Cf, unicode.Variation_Selector):
		case printable(r):
			out.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // a mark on the letter before
			s.lacked = true
		default:
			s.lacked = true
			out.WriteString(standIn)
		}
	}
	return out.String()
}

// name is a text of a maker's on one line.
func (s *sheets) name(text string) string { return strings.Join(strings.Fields(s.clean(text)), " ") }

// textWidth is how wide a text runs, in millimetres.
func (s *sheets) textWidth(text string, letter float64, bold bool) float64 {
	known := &measures()[0]
	if bold {
		known = &measures()[1]
	}
	sum := 0
	for _, r := range text {
		switch {
		case r > lastRune, r < ' ':
		case ownLetter(r):
			sum += int(known[r])
		default:
			sum += max(0, int(fallbackMeasures()[r]))
		}
	}
	return float64(sum) / 1000 * letter * pointMM
}

// fit shortens a text, with an ellipsis, until it is no wider than room.
func (s *sheets) fit(text string, letter float64, bold bool, room float64) string {
	text = s.clean(text)
	if s.textWidth(text, letter, bold) <= room {
		return text
	}
	room -= s.textWidth("…", letter, bold)
	wide, end := 0.0, 0
	for i, r := range text {
		wide += s.textWidth(string(r), letter, bold)
		if wide > room {
			break
		}
		end = i + len(string(r))
	}
	return strings.TrimRight(text[:end], " ") + "…"
}

// wrap breaks a text into at most so many lines no wider than room; a word that is wider is
// broken, and what is left over ends in an ellipsis.
func (s *sheets) wrap(text string, letter float64, bold bool, room float64, most int) []string {
	room = max(room, 2*letter*pointMM)
	var lines []string
	line, wide := "", 0.0
	space := s.textWidth(" ", letter, bold)
	words := strings.FieldsFunc(s.clean(text), func(r rune) bool { return r == ' ' })
	for len(words) > 0 && len(lines) <= most {
		word := words[0]
		width := s.textWidth(word, letter, bold)
		switch {
		case line == "" && width > room:
			head := s.head(word, letter, bold, room)
			lines = append(lines, head)
			words[0] = word[len(head):]
		case line == "":
			line, wide, words = word, width, words[1:]
		case wide+space+width <= room:
			line, wide, words = line+" "+word, wide+space+width, words[1:]
		default:
			lines, line = append(lines, line), ""
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	if len(lines) > most {
		lines = lines[:most]
		last := lines[most-1]
		for last != "" && s.textWidth(last+"…", letter, bold) > room {
			runes := []rune(last)
			last = string(runes[:len(runes)-1])
		}
		lines[most-1] = last + "…"
	}
	return lines
}

// head is as much of a word as fits, at least one letter.
func (s *sheets) head(word string, letter float64, bold bool, room float64) string {
	wide := 0.0
	for i, r := range word {
		wide += s.textWidth(string(r), letter, bold)
		if wide > room && i > 0 {
			return word[:i]
		}
	}
	return word
}

// visual puts the letters of a line in the order in which they are seen, since the PDF library
// writes from left to right only. Arabic letters stay unjoined.
func visual(line string) (seen string) {
	if !strings.ContainsFunc(line, rightToLeft) {
		return line
	}
	defer func() {
		if recover() != nil { // the ordering is not worth a document
			seen = line
		}
	}()
	var paragraph bidi.Paragraph
	if _, err := paragraph.SetString(line); err != nil {
		return line
	}
	order, err := paragraph.Order()
	if err != nil {
		return line
	}
	return inOrder(order)
}

// inOrder joins the runs of a line, which come in the order in which they are read, in the
// order in which they are seen: from the right where the line is read from the right, and so
// are runs from right to left with the numbers between them (Unicode Standard Annex 9, rule L2).
func inOrder(order bidi.Ordering) string {
	var seen, group []string
	flush := func() {
		slices.Reverse(group)
		seen, group = append(seen, group...), nil
	}
	for i := range order.NumRuns() {
		run := order.Run(i)
		text := run.String()
		switch {
		case run.Direction() == bidi.RightToLeft:
			group = append(group, bidi.ReverseString(text))
			continue
		case order.Direction() == bidi.RightToLeft:
			group = append(group, text)
			continue
		case len(group) > 0 && !strings.ContainsFunc(text, unicode.IsLetter):
			group = append(group, text)
			continue
		}
		flush()
		seen = append(seen, text)
	}
	flush()
	return strings.Join(seen, "")
}

func rightToLeft(r rune) bool {
	return (r >= 0x590 && r <= 0x8FF) || (r >= 0xFB1D && r <= 0xFDFF) || (r >= 0xFE70 && r <= 0xFEFF)
}

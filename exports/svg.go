package exports

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"
	"unicode/utf8"

	"yardwright/batch/length"
)

// svgWriter writes elements with their attributes; names of elements and attributes are the
// caller's, values and text are escaped.
type svgWriter struct {
	out  bytes.Buffer
	open []string
}

// attribute is one name="value" of an element.
type attribute struct{ name, value string }

// begin opens an element that end closes.
func (s *svgWriter) begin(element string, attributes ...attribute) {
	s.tag(element, attributes)
	s.out.WriteString(">")
	s.open = append(s.open, element)
}

// end closes the element opened last.
func (s *svgWriter) end() {
	last := len(s.open) - 1
	s.out.WriteString("</" + s.open[last] + ">\n")
	s.open = s.open[:last]
}

// empty writes an element without content.
func (s *svgWriter) empty(element string, attributes ...attribute) {
	s.tag(element, attributes)
	s.out.WriteString("/>\n")
}

// text writes an element that holds text.
func (s *svgWriter) text(element, content string, attributes ...attribute) {
	s.begin(element, attributes...)
	s.out.WriteString(escaped(content))
	s.end()
}

func (s *svgWriter) tag(element string, attributes []attribute) {
	s.out.WriteString("<" + element)
	for _, a := range attributes {
		s.out.WriteString(" " + a.name + `="` + escaped(a.value) + `"`)
	}
}

// escaped makes text safe between tags and in attributes. What XML cannot hold, such as
// control characters, becomes the replacement sign; line ends become spaces.
func escaped(text string) string {
	var out strings.Builder
	_ = xml.EscapeText(&out, []byte(strings.ToValidUTF8(oneLine(text), "\uFFFD"))) // a Builder never fails
	return out.String()
}

// oneLine joins the lines of a text.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// mm writes a coordinate in millimetres, to the micrometre.
func mm(l length.Length) string {
	micrometres := int64(l.RoundTo(length.Micrometre, length.Nearest) / length.Micrometre)
	sign := ""
	if micrometres < 0 {
		sign, micrometres = "-", -micrometres
	}
	text := strconv.FormatInt(micrometres/1000, 10)
	if rest := micrometres % 1000; rest > 0 {
		text += "." + strings.TrimRight(strconv.FormatInt(1000+rest, 10)[1:], "0")
	}
	return sign + text
}

// textWidth is about how wide a text runs in letters of a size. It leans to the wide side,
// since which font a reader has is not known.
func textWidth(text string, letter length.Length) length.Length {
	percent := length.Length(0)
	for _, r := range text {
		percent += runeWidth(r)
	}
	return letter * percent / 100
}

// runeWidth is about how wide a letter is, in hundredths of its size.
func runeWidth(r rune) length.Length {
	switch {
	case strings.ContainsRune(" .,;:'il|!", r):
		return 34
	case r >= '0' && r <= '9', r >= 'a' && r <= 'l', r >= 'n' && r <= 'v', r >= 'x' && r <= 'z':
		return 62
	case r < utf8.RuneSelf:
		return 74
	case r >= 0x1100:
		return 104
	}
	return 72
}

// cutToWidth shortens a text, with an ellipsis, until it is no wider than room.
func cutToWidth(text string, letter, room length.Length) string {
	if textWidth(text, letter) <= room {
		return text
	}
	runes := []rune(text)
	for len(runes) > 0 && textWidth(string(runes)+"…", letter) > room {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimRight(string(runes), " ") + "…"
}

// noBreak is the space that wrapToWidth doesn't break a line at.
const noBreak = "\u00a0"

// wrapToWidth breaks a text at its plain spaces into lines that are no wider than room; a
// longer word stands on a line of its own.
func wrapToWidth(text string, letter, room length.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' }) {
		joined := strings.TrimLeft(line+" "+word, " ")
		if line != "" && textWidth(joined, letter) > room {
			lines, joined = append(lines, line), word
		}
		line = joined
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// wrapInto breaks a text at spaces into at most count lines of about the same width.
func wrapInto(text string, count int) []string {
	words := strings.Fields(text)
	if count <= 1 || len(words) < 2 {
		return []string{strings.Join(words, " ")}
	}
	const letter = length.Millimetre
	least, most := length.Length(0), textWidth(text, letter)
	for _, word := range words {
		least = max(least, textWidth(word, letter))
	}
	for least < most { // the narrowest room that makes no more than count lines
		middle := (least + most) / 2
		if len(wrapToWidth(text, letter, middle)) <= count {
			most = middle
		} else {
			least = middle + 1
		}
	}
	return wrapToWidth(text, letter, least)
}

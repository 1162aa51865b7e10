package words

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// How many letters a text may have: the name of a thing, a line about it, a note.
const (
	LongestName = 80
	LongestLine = 200
	LongestNote = 1000
)

// LineFault says what is wrong with a text of one line that may have so many letters; "" if
// nothing is.
func LineFault(text string, most int) string {
	switch {
	case !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl):
		return "Write it on one line, in letters that can be read."
	case utf8.RuneCountInString(text) > most:
		return "Write at most " + strconv.Itoa(most) + " letters."
	}
	return ""
}

// NoteFault is LineFault for a text that may have several lines.
func NoteFault(text string, most int) string {
	return LineFault(strings.NewReplacer("\n", "", "\r", "", "\t", "").Replace(text), most)
}

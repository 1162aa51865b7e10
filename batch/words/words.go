// Package words writes counts and lists the way people say them, so that pages, sheets,
// workbooks and commands never say "1 garments" or leave a comma before nothing.
package words

import (
	"strconv"
	"strings"
)

// Count writes a number with its noun: "1 garment", "3 garments", "0 plies". The noun is given
// for one; its last word becomes the plural, unless many says how that is written.
func Count(n int, one string, many ...string) string {
	return strconv.Itoa(n) + " " + Noun(n, one, many...)
}

// Noun writes the noun of a count without the number, where that stands apart.
func Noun(n int, one string, many ...string) string {
	switch {
	case n == 1:
		return one
	case len(many) > 0:
		return many[0]
	}
	return plural(one)
}

// Verb writes "is" or "are" and their like for a count.
func Verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// plural follows the rules of spelling: batch, batches; ply, plies; day, days; lay, lays.
func plural(one string) string {
	for _, hissing := range []string{"s", "x", "z", "ch", "sh"} {
		if strings.HasSuffix(one, hissing) {
			return one + "es"
		}
	}
	if stem, ends := strings.CutSuffix(one, "y"); ends && stem != "" && !strings.ContainsAny(stem[len(stem)-1:], "aeiou") {
		return stem + "ies"
	}
	return one + "s"
}

// Join puts a separator between those parts that say something.
func Join(separator string, parts ...string) string {
	var said []string
	for _, part := range parts {
		if part = strings.TrimSpace(part); part != "" {
			said = append(said, part)
		}
	}
	return strings.Join(said, separator)
}

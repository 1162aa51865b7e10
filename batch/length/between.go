package length

import "strings"

// Between is a range of lengths, both ends included. Ranges keep slips of the hand and of the
// unit out; they are no statements about what can be sewn.
type Between struct{ Least, Most Length }

// Has tells whether a length lies in the range.
func (b Between) Has(l Length) bool { return l >= b.Least && l <= b.Most }

// longEnd is from where on an end of a range is written in the unit of cloth.
const longEnd = 3 * Metre

// Words writes the range as people read it, such as `between 0 and 3 in`, rounded inwards, so
// that both ends may be typed as they stand.
func (b Between) Words(s Style) string {
	most := b.write(s, b.Most, Down)
	if b.Least == 0 {
		return "between 0 and " + most
	}
	least := b.write(s, b.Least, Up)
	if bare, unit := cutUnit(least); strings.HasSuffix(most, unit) {
		least = bare
	}
	return "between " + least + " and " + most
}

func (b Between) write(s Style, l Length, mode Rounding) string {
	if l >= longEnd || l <= -longEnd {
		return s.Cloth(l.RoundTo(roundEnd(s, l), mode), mode)
	}
	return s.PieceRounded(l, mode)
}

// roundEnd is the step of a long end of a range: nobody is helped by the eighths of ten thousand
// yards.
func roundEnd(s Style, l Length) Length {
	one := s.System.Long().Size
	switch {
	case l >= 1000*one || l <= -1000*one:
		return 100 * one
	case l >= 100*one || l <= -100*one:
		return one
	}
	return s.ClothStep()
}

// cutUnit parts `17⅜ in` into its number and its unit with the space before it.
func cutUnit(text string) (number, unit string) {
	at := strings.LastIndexByte(text, ' ')
	return text[:at], text[at:]
}

package length

import (
	"math/big"
	"strconv"
	"strings"
)

// System is the measuring system of a workshop.
type System string

const (
	// Imperial writes inches as trade fractions and cloth in yards.
	Imperial System = "imperial"
	// Metric writes centimetres and cloth in metres.
	Metric System = "metric"
)

// Other returns the system shown beside s.
func (s System) Other() System {
	if s == Metric {
		return Imperial
	}
	return Metric
}

// Small returns the unit for pieces: inches or centimetres.
func (s System) Small() Measure {
	if s == Metric {
		return Centimetres
	}
	return Inches
}

// Long returns the unit for cloth: yards or metres.
func (s System) Long() Measure {
	if s == Metric {
		return Metres
	}
	return Yards
}

// Style says how a workshop writes lengths. The zero value writes inches to 1/8 and yards to 1/8.
type Style struct {
	System System
	// Fraction is the denominator of inch fractions, 8 or 16; zero means 8.
	Fraction int
}

// Step returns the smallest difference that Piece shows: 1/8 or 1/16 in, or 0.1 cm.
func (s Style) Step() Length {
	if s.System == Metric {
		return Millimetre
	}
	return Inch / Length(s.fraction())
}

// ClothStep returns the smallest difference that Cloth shows: 1/8 yd, or 0.01 m.
func (s Style) ClothStep() Length {
	if s.System == Metric {
		return Centimetre
	}
	return Yard / 8
}

func (s Style) fraction() int {
	if s.Fraction == 16 {
		return 16
	}
	return 8
}

// Piece writes the size of a piece to the nearest step with its unit: `17⅜ in` or `44.1 cm`.
func (s Style) Piece(l Length) string { return s.PieceRounded(l, Nearest) }

// PieceRounded writes the size of a piece, rounded in the named direction.
func (s Style) PieceRounded(l Length, mode Rounding) string {
	if s.System == Metric {
		return decimal(l, Centimetre, 1, mode) + " cm"
	}
	return fraction(l, Inch, s.fraction(), mode) + " in"
}

// Cloth writes a length of cloth with its unit: `1⅜ yd` or `1.26 m`, rounded in the named
// direction (Up for what is bought or taken, Down for what is left).
func (s Style) Cloth(l Length, mode Rounding) string {
	if s.System == Metric {
		return decimal(l, Metre, 2, mode) + " m"
	}
	return fraction(l, Yard, 8, mode) + " yd"
}

// OtherPiece writes the size of a piece in the other system: that of the size which Piece shows.
// What is marked on the cloth is a whole number of steps of the workshop's ruler, so the size
// in the other system is that one too wherever it stands, and a page and the cut sheet agree.
func (s Style) OtherPiece(l Length) string { return s.other().Piece(l.RoundTo(s.Step(), Nearest)) }

// InOther is the length that OtherPiece writes.
func (s Style) InOther(l Length) Length {
	return l.RoundTo(s.Step(), Nearest).RoundTo(s.other().Step(), Nearest)
}

// Other is the style of the other system.
func (s Style) Other() Style { return s.other() }

// Shaped writes a measure of a shaped piece, which is no whole number of steps of the ruler: to
// the nearest 1/16 in or half a millimetre of what it is exactly.
func (s Style) Shaped(l Length) string {
	if s.System != Metric {
		return fraction(l, Inch, 16, Nearest) + " in"
	}
	return strings.TrimSuffix(decimal(l.RoundTo(s.ShapedStep(), Nearest), Centimetre, 2, Nearest), "0") + " cm"
}

// ShapedStep is the smallest difference that Shaped shows.
func (s Style) ShapedStep() Length {
	if s.System == Metric {
		return Millimetre / 2
	}
	return Inch / 16
}

// Cut writes a measure of a piece to cut: Shaped for a shaped piece, else Piece.
func (s Style) Cut(l Length, shaped bool) string {
	if shaped {
		return s.Shaped(l)
	}
	return s.Piece(l)
}

// OtherCut writes the same in the other system: of a shaped piece what it is exactly, of another
// what the workshop's ruler shows.
func (s Style) OtherCut(l Length, shaped bool) string {
	if shaped {
		return s.other().Shaped(l)
	}
	return s.OtherPiece(l)
}

// Roll writes how long a roll is, rounded down, to the step of the ruler in both systems, so that
// the lengths cut from it can be added up: `3 yd (274.3 cm)`, `27⅜ in (69.5 cm)`.
func (s Style) Roll(l Length) string {
	own := s.PieceRounded(l, Down)
	if l%s.ClothStep() == 0 {
		own = s.Cloth(l, Down)
	}
	return own + " (" + s.other().PieceRounded(l, Down) + ")"
}

// PieceBoth writes the size of a piece in both systems: `17⅜ in (44.1 cm)`.
func (s Style) PieceBoth(l Length) string {
	return s.Piece(l) + " (" + s.OtherPiece(l) + ")"
}

// ClothBoth writes a length of cloth in both systems: `1⅜ yd (1.26 m)`. Each comes from the exact
// length, rounded by its own step in the named direction.
func (s Style) ClothBoth(l Length, mode Rounding) string {
	return s.Cloth(l, mode) + " (" + s.other().Cloth(l, mode) + ")"
}

// Tape writes a length of cloth that is there, is taken or is left over, to the step of the ruler,
// since an eighth of a yard is four inches and a half: `1 yd 8 in`, `17⅜ in`, and `1⅜ yd` where that
// is all of it. In metres it is Cloth.
func (s Style) Tape(l Length, mode Rounding) string {
	l = l.RoundTo(s.tapeStep(), mode)
	switch {
	case l < 0:
		return "−" + s.Tape(-l, Nearest)
	case s.System == Metric || l%s.ClothStep() == 0:
		return s.Cloth(l, Nearest)
	case l < Yard:
		return s.Piece(l)
	}
	return s.Cloth(l-l%Yard, Nearest) + " " + s.Piece(l%Yard)
}

// TapeBoth is Tape in both systems: `1 yd 8 in (1.12 m)`.
func (s Style) TapeBoth(l Length, mode Rounding) string {
	return s.Tape(l, mode) + " (" + s.other().Tape(l, mode) + ")"
}

// tapeStep is the smallest difference that Tape shows.
func (s Style) tapeStep() Length {
	if s.System == Metric {
		return s.ClothStep()
	}
	return s.Step()
}

// TakenBoth writes in both systems what is taken where there is some length of which some is left, so
// that what is taken and left, as written, add up to what there is, as TapeBoth writes both downwards.
func (s Style) TakenBoth(there, left Length) string {
	return s.taken(there, left) + " (" + s.other().taken(there, left) + ")"
}

func (s Style) taken(there, left Length) string {
	step := s.tapeStep()
	return s.Tape(there.RoundTo(step, Down)-left.RoundTo(step, Down), Nearest)
}

func (s Style) other() Style { return Style{System: s.System.Other(), Fraction: s.Fraction} }

// eighths are the signs of n/8.
var eighths = [8]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}

// fraction writes l in units of one as a whole number and a trade fraction.
func fraction(l, one Length, denominator int, mode Rounding) string {
	step := one / Length(denominator)
	steps := int64(l.RoundTo(step, mode) / step)
	sign := ""
	if steps < 0 {
		sign, steps = "−", -steps
	}
	whole, part := steps/int64(denominator), steps%int64(denominator)
	if denominator == 16 && part%2 == 1 {
		text := strconv.FormatInt(part, 10) + "/16"
		if whole == 0 {
			return sign + text
		}
		return sign + strconv.FormatInt(whole, 10) + " " + text
	}
	sign8 := eighths[part*8/int64(denominator)]
	if whole == 0 && sign8 != "" {
		return sign + sign8
	}
	return sign + strconv.FormatInt(whole, 10) + sign8
}

// decimal writes l in units of one with a fixed number of places.
func decimal(l, one Length, places int, mode Rounding) string {
	step := one
	for range places {
		step /= 10
	}
	steps := int64(l.RoundTo(step, mode) / step)
	sign := ""
	if steps < 0 {
		sign, steps = "−", -steps
	}
	digits := strconv.FormatInt(steps, 10)
	for len(digits) <= places {
		digits = "0" + digits
	}
	return sign + digits[:len(digits)-places] + "." + digits[len(digits)-places:]
}

// In returns the exact value of l in a unit, as a decimal text without trailing zeros
// (a fraction of an inch that has no short decimal is cut at 9 places).
func (l Length) In(m Measure) string {
	text := big.NewRat(int64(l), int64(m.Size)).FloatString(9)
	end := len(text)
	for text[end-1] == '0' {
		end--
	}
	if text[end-1] == '.' {
		end--
	}
	return text[:end]
}

// Text writes l the way a maker would type it, so that Parse reads back exactly l: in the unit m
// if that is short (`17 3/8 in`, `0.7 yd`), else in the unit in which it is (`6 in` for a sixth of
// a yard, `52 cm` for what was typed so in a workshop that counts in inches).
func (l Length) Text(m Measure) string {
	first, places := l.typed(m)
	if places <= fewPlaces {
		return first
	}
	shortest := first
	for _, other := range []Measure{Inches, Yards, Centimetres, Millimetres, Metres} {
		if text, _ := l.typed(other); len(text) < len(shortest) {
			shortest = text
		}
	}
	return shortest
}

// fewPlaces is how many decimals a length may have before another unit is tried.
const fewPlaces = 2

// typed writes l in a unit as a fraction of the trade, which has no decimals, or else with the
// fewest decimals from which Parse reads l again.
func (l Length) typed(m Measure) (text string, places int) {
	if text, ok := l.fractionText(m); ok {
		return text, 0
	}
	exact := l.Rat(m)
	for ; ; places++ {
		text = exact.FloatString(places)
		if read, err := Parse(text, m); err == nil && read == l {
			return text + " " + m.Symbol, places
		}
	}
}

// fractionText writes l as a whole number and a fraction, if Parse reads l from it: inches down to
// 1/64, feet and yards down to 1/16, all of them in thirds.
func (l Length) fractionText(m Measure) (string, bool) {
	if m == Millimetres || m == Centimetres || m == Metres || l <= 0 || l%m.Size == 0 {
		return "", false
	}
	finest := int64(16)
	if m == Inches {
		finest = 64
	}
	whole, rest := int64(l/m.Size), l%m.Size
	for _, below := range []int64{2, 3, 4, 8, 16, 32, 64} {
		part, err := rest.Scale(below, int64(m.Size), Nearest)
		if err != nil || below > finest || part == 0 {
			continue
		}
		text := strconv.FormatInt(int64(part), 10) + "/" + strconv.FormatInt(below, 10)
		if whole > 0 {
			text = strconv.FormatInt(whole, 10) + " " + text
		}
		if read, err := Parse(text, m); err == nil && read == l {
			return text + " " + m.Symbol, true
		}
	}
	return "", false
}

// Rat returns the exact value of l in a unit.
func (l Length) Rat(m Measure) *big.Rat { return big.NewRat(int64(l), int64(m.Size)) }

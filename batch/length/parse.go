package length

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"
)

// Measure is a unit that a length is written in.
type Measure struct {
	// Symbol is how the unit is written after a number.
	Symbol string
	// Size is one of the unit.
	Size Length
}

// The units that Yardwright reads and writes.
var (
	Millimetres = Measure{"mm", Millimetre}
	Centimetres = Measure{"cm", Centimetre}
	Metres      = Measure{"m", Metre}
	Inches      = Measure{"in", Inch}
	Feet        = Measure{"ft", Foot}
	Yards       = Measure{"yd", Yard}
)

// measuresByName holds every spelling that Parse knows.
var measuresByName = map[string]Measure{
	"mm": Millimetres, "millimetre": Millimetres, "millimetres": Millimetres, "millimeter": Millimetres, "millimeters": Millimetres,
	"cm": Centimetres, "centimetre": Centimetres, "centimetres": Centimetres, "centimeter": Centimetres, "centimeters": Centimetres,
	"m": Metres, "metre": Metres, "metres": Metres, "meter": Metres, "meters": Metres,
	"in": Inches, "ins": Inches, "inch": Inches, "inches": Inches, `"`: Inches, "″": Inches, "”": Inches, "''": Inches,
	"ft": Feet, "foot": Feet, "feet": Feet, "'": Feet, "′": Feet, "’": Feet,
	"yd": Yards, "yds": Yards, "yard": Yards, "yards": Yards,
}

// MeasureNamed returns the unit with the given name ("in", "yards", "cm" ...).
func MeasureNamed(name string) (Measure, bool) {
	m, ok := measuresByName[strings.ToLower(strings.TrimSpace(name))]
	return m, ok
}

// ParseError says why a text is not a length, in words for the person who typed it.
type ParseError struct {
	Text   string
	Reason string
}

func (e *ParseError) Error() string {
	return fmt.Sprintf("%q is not a length: %s", e.Text, e.Reason)
}

// Parse reads a length as makers write it: `17 3/8 in`, `17⅜"`, `52 cm`, `1.2 m`, `3/4 yd`,
// `1 yd 6 in`, `52,5 cm`, and as the pages write both systems: `17⅜ in (44.1 cm)`, where the
// first counts. A number without a unit is in the given bare unit.
// What is not a whole number of 1/8000 mm goes to the nearest one, a half away from zero.
// The error is a *ParseError.
func Parse(text string, bare Measure) (Length, error) {
	value, err := parseBoth(text, bare)
	if err != nil {
		return 0, &ParseError{Text: text, Reason: err.Error()}
	}
	return value, nil
}

// parseBoth reads one length, and a second one in brackets that says the same in other units.
func parseBoth(text string, bare Measure) (Length, error) {
	first, rest, both := strings.Cut(text, "(")
	value, err := parse(first, bare)
	if err != nil || !both {
		return value, err
	}
	second, closed := strings.CutSuffix(strings.TrimSpace(rest), ")")
	same, err := parse(second, bare)
	if err != nil || !closed {
		return 0, fmt.Errorf("write one number and its unit, for example 17 3/8 in")
	}
	step := Centimetre // both are rounded from the same length, each to a step of its own
	if strings.Contains(text, Yards.Symbol) {
		step += Yard / 8
	}
	if apart := same - value; apart > step || apart < -step {
		return 0, fmt.Errorf("the length in brackets is another one; write the one you mean")
	}
	return value, nil
}

func parse(text string, bare Measure) (Length, error) {
	tokens, err := scan(text)
	if err != nil {
		return 0, err
	}
	if len(tokens) == 0 {
		return 0, fmt.Errorf("write a number and a unit, for example 17 3/8 in or 44 cm")
	}
	negative := tokens[0].kind == tokenMinus
	if negative {
		tokens = tokens[1:]
	}
	total, err := sumTerms(tokens, bare)
	if err != nil {
		return 0, err
	}
	if negative {
		total.Neg(total)
	}
	return nearestLength(total)
}

type tokenKind int

const (
	tokenNumber   tokenKind = iota // a whole or decimal number
	tokenFraction                  // below one: a/b or a fraction sign
	tokenUnit
	tokenMinus
)

type token struct {
	kind    tokenKind
	value   *big.Rat
	whole   bool
	measure Measure
}

// fractionSigns are the fractions that have a sign of their own in Unicode.
var fractionSigns = map[rune][2]int64{
	'½': {1, 2}, '⅓': {1, 3}, '⅔': {2, 3}, '¼': {1, 4}, '¾': {3, 4}, '⅕': {1, 5}, '⅖': {2, 5}, '⅗': {3, 5}, '⅘': {4, 5},
	'⅙': {1, 6}, '⅚': {5, 6}, '⅛': {1, 8}, '⅜': {3, 8}, '⅝': {5, 8}, '⅞': {7, 8}, '⅒': {1, 10},
}

func scan(text string) ([]token, error) {
	var tokens []token
	runes := []rune(strings.TrimSpace(text))
	for i := 0; i < len(runes); {
		r := runes[i]
		switch {
		case unicode.IsSpace(r):
			i++
		case (r == '-' || r == '−') && len(tokens) == 0:
			tokens = append(tokens, token{kind: tokenMinus})
			i++
		case (r == '-' || r == '−') && tokens[len(tokens)-1].kind == tokenNumber:
			// 17-3/8: the dash joins the whole number and its fraction.
			if i++; i == len(runes) || !startsFraction(runes[i:]) {
				return nil, fmt.Errorf("a dash joins a whole number and its fraction, as in 17-3/8")
			}
		case isDigit(r) || r == '.' || r == ',':
			number, next, err := scanNumber(runes, i)
			if err != nil {
				return nil, err
			}
			tokens, i = append(tokens, number), next
		default:
			if sign, ok := fractionSigns[r]; ok {
				tokens = append(tokens, token{kind: tokenFraction, value: big.NewRat(sign[0], sign[1])})
				i++
				continue
			}
			unit, next, err := scanUnit(runes, i)
			if err != nil {
				return nil, err
			}
			tokens, i = append(tokens, unit), next
		}
	}
	return tokens, nil
}

// startsFraction tells whether a fraction stands next, such as 3/8 or ⅜.
func startsFraction(runes []rune) bool {
	i := 0
	for i < len(runes) && isDigit(runes[i]) {
		i++
	}
	if i == 0 {
		_, ok := fractionSigns[runes[0]]
		return ok
	}
	return i < len(runes) && (runes[i] == '/' || runes[i] == '⁄')
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// maxDigits keeps a number of digits from being so long that reading it costs time.
const maxDigits = 18

func scanNumber(runes []rune, start int) (token, int, error) {
	end := start
	for end < len(runes) && (isDigit(runes[end]) || runes[end] == '.' || runes[end] == ',') {
		end++
	}
	digits := string(runes[start:end])
	value, whole, err := decimalValue(digits)
	if err != nil {
		return token{}, 0, err
	}
	if end >= len(runes) || (runes[end] != '/' && runes[end] != '⁄') {
		return token{kind: tokenNumber, value: value, whole: whole}, end, nil
	}
	below := end + 1
	last := below
	for last < len(runes) && isDigit(runes[last]) {
		last++
	}
	under, _, err := decimalValue(string(runes[below:last]))
	if err != nil || !whole || under.Sign() == 0 {
		return token{}, 0, fmt.Errorf("a fraction is written like 3/8")
	}
	return token{kind: tokenFraction, value: value.Quo(value, under)}, last, nil
}

func decimalValue(digits string) (value *big.Rat, whole bool, err error) {
	separators := strings.Count(digits, ".") + strings.Count(digits, ",")
	if len(digits) > maxDigits {
		return nil, false, fmt.Errorf("the number has too many digits")
	}
	if separators > 1 {
		return nil, false, fmt.Errorf("%s has more than one decimal point; leave out thousands separators", digits)
	}
	if comma := strings.IndexByte(digits, ','); comma > 0 && len(digits)-comma == 4 && digits[0] != '0' {
		joined := strings.Replace(digits, ",", "", 1)
		return nil, false, fmt.Errorf("%s can be read in two ways; write %s or %s", digits, joined, strings.Replace(digits, ",", ".", 1))
	}
	plain := strings.Replace(digits, ",", ".", 1)
	value, ok := new(big.Rat).SetString(plain)
	if !ok || plain == "." {
		return nil, false, fmt.Errorf("%s is not a number", digits)
	}
	return value, separators == 0, nil
}

func scanUnit(runes []rune, start int) (token, int, error) {
	end := start
	if unicode.IsLetter(runes[start]) {
		for end < len(runes) && (unicode.IsLetter(runes[end]) || runes[end] == '.') {
			end++
		}
	} else {
		end++
		if end < len(runes) && runes[start] == '\'' && runes[end] == '\'' {
			end++
		}
	}
	name := strings.TrimSuffix(string(runes[start:end]), ".")
	measure, ok := MeasureNamed(name)
	if !ok {
		return token{}, 0, fmt.Errorf("%q is not a unit; use in, yd, cm, mm or m", name)
	}
	return token{kind: tokenUnit, measure: measure}, end, nil
}

// sumTerms adds up terms of [number] [fraction] unit; only a last term may lack its unit.
func sumTerms(tokens []token, bare Measure) (*big.Rat, error) {
	total := new(big.Rat)
	units := 0
	for len(tokens) > 0 {
		number, used, err := takeNumber(tokens)
		if err != nil {
			return nil, err
		}
		tokens = tokens[used:]
		measure := bare
		if len(tokens) > 0 && tokens[0].kind == tokenUnit {
			measure, tokens, units = tokens[0].measure, tokens[1:], units+1
		} else if units > 0 {
			return nil, fmt.Errorf("the last number has no unit")
		} else if len(tokens) > 0 {
			return nil, fmt.Errorf("write one number and its unit, for example 17 3/8 in")
		}
		total.Add(total, number.Mul(number, big.NewRat(int64(measure.Size), 1)))
	}
	return total, nil
}

func takeNumber(tokens []token) (*big.Rat, int, error) {
	first := tokens[0]
	switch {
	case first.kind == tokenFraction:
		return new(big.Rat).Set(first.value), 1, nil
	case first.kind != tokenNumber:
		return nil, 0, fmt.Errorf("a number must stand before the unit")
	case len(tokens) > 1 && tokens[1].kind == tokenFraction:
		if !first.whole || tokens[1].value.Cmp(big.NewRat(1, 1)) >= 0 {
			return nil, 0, fmt.Errorf("a mixed number is written like 17 3/8")
		}
		return new(big.Rat).Add(first.value, tokens[1].value), 2, nil
	default:
		return new(big.Rat).Set(first.value), 1, nil
	}
}

// FromRat returns the Length nearest to a value in 1/8000 mm, a half away from zero;
// ErrOverflow if it does not fit.
func FromRat(value *big.Rat) (Length, error) { return nearestLength(value) }

func nearestLength(value *big.Rat) (Length, error) {
	twice := new(big.Int).Mul(value.Num(), big.NewInt(2))
	shift := value.Denom()
	if value.Sign() < 0 {
		twice.Sub(twice, shift)
	} else {
		twice.Add(twice, shift)
	}
	quotient := twice.Quo(twice, new(big.Int).Mul(value.Denom(), big.NewInt(2)))
	if !quotient.IsInt64() {
		return 0, ErrOverflow
	}
	return Length(quotient.Int64()), nil
}

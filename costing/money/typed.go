package money

import (
	"strings"
	"unicode"
)

// ParseTyped reads a number the way people type it into a form: 1234.5, 12,50, 1.234,50,
// 1,234.50, 1 234,50, 1'234.50. One comma with exactly three digits behind it could be either
// a decimal comma or a thousands comma and is refused with a question. The error is a
// *ParseError.
func ParseTyped(text string) (Decimal, error) {
	plain, reason := plainNumber(text)
	if reason != "" {
		return Decimal{}, &ParseError{Text: text, Reason: reason}
	}
	d, err := Parse(plain)
	if err != nil {
		return Decimal{}, &ParseError{Text: text, Reason: err.(*ParseError).Reason}
	}
	return d, nil
}

// ParseTypedAmount reads an amount of a currency the way people type it, with or without the
// currency's code or symbol: 12.50, $12.50, 12,50 €, USD 12.50. The error is a *ParseError.
func ParseTypedAmount(text string, c Currency) (Amount, error) {
	bare, minus := strings.TrimSpace(text), ""
	for _, sign := range []string{"-", "−"} { // before the symbol, as in -$5
		if rest, ok := strings.CutPrefix(bare, sign); ok {
			bare, minus = strings.TrimSpace(rest), "-"
			break
		}
	}
	for _, sign := range []string{c.Code(), c.Symbol("en"), c.Symbol("en-US"), narrowSymbols[c.Code()]} {
		if sign == "" {
			continue
		}
		bare = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(bare, sign), sign))
	}
	number, err := ParseTyped(minus + bare)
	if err != nil {
		return Amount{}, &ParseError{Text: text, Reason: err.(*ParseError).Reason}
	}
	return Amount{number, c}, nil
}

// narrowSymbols holds what people type at home for currencies whose symbol is longer abroad.
var narrowSymbols = map[string]string{
	"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "SGD": "$", "HKD": "$", "MXN": "$",
	"EUR": "€", "GBP": "£", "JPY": "¥", "CNY": "¥", "SEK": "kr", "NOK": "kr", "DKK": "kr",
	"PLN": "zł", "CZK": "Kč", "CHF": "Fr.",
}

// plainNumber turns a typed number into digits with a point, or says why it can't.
func plainNumber(text string) (plain, reason string) {
	kept := strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, text)
	kept = strings.Replace(kept, "−", "-", 1)
	commas, points := strings.Count(kept, ","), strings.Count(kept, ".")
	switch {
	case commas == 0 && points <= 1:
		return kept, ""
	case commas == 1 && points == 0:
		return decimalComma(kept)
	case commas == 0:
		return ungroup(kept, ".", "")
	case points == 0:
		return ungroup(kept, ",", "")
	case points == 1 && strings.LastIndex(kept, ".") > strings.LastIndex(kept, ","):
		return ungroup(kept, ",", ".")
	case commas == 1 && strings.LastIndex(kept, ",") > strings.LastIndex(kept, "."):
		return ungroup(kept, ".", ",")
	}
	return "", "points and commas are mixed; write it as 1234.50"
}

func decimalComma(kept string) (plain, reason string) {
	whole, fraction, _ := strings.Cut(kept, ",")
	whole = strings.TrimLeft(whole, "+-")
	if len(fraction) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole != "0" {
		return "", "it could be " + whole + fraction + " or " + whole + "." + fraction + "; write the one you mean"
	}
	return strings.Replace(kept, ",", ".", 1), ""
}

// ungroup drops the thousands marks, which must have three digits behind each, and turns the
// decimal mark, if any, into a point.
func ungroup(kept, thousands, mark string) (plain, reason string) {
	whole, fraction := kept, ""
	if mark != "" {
		whole, fraction, _ = strings.Cut(kept, mark)
		fraction = "." + fraction
	}
	groups := strings.Split(whole, thousands)
	for i, group := range groups {
		if i > 0 && len(group) != 3 {
			return "", "thousands have three digits each; write it as 1234.50"
		}
	}
	return strings.Join(groups, "") + fraction, ""
}

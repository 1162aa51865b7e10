package exports

import (
	"strings"

	"yardwright/costing/money"
)

// currencySigns returns what readers of a locale write before and after an amount, its space
// included.
func currencySigns(currency money.Currency, locale string) (before, after string) {
	if locale == "" {
		locale = "en-US"
	}
	shown := money.FromMinor(0, currency).Format(locale)
	first := strings.IndexAny(shown, "0٠۰०০") // a zero of the locale's digits
	last := strings.LastIndexAny(shown, "0٠۰०০")
	if first < 0 {
		return currency.Code() + " ", ""
	}
	_, size := decodeAt(shown, last)
	return shown[:first], shown[last+size:]
}

func decodeAt(text string, at int) (rune, int) {
	for _, r := range text[at:] {
		return r, len(string(r))
	}
	return 0, 0
}

// quotedSign is a sign as a number format writes it.
func quotedSign(sign string) string {
	if sign == "" {
		return ""
	}
	return `"` + strings.ReplaceAll(sign, `"`, "") + `"`
}

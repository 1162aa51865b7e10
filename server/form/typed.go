package form

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode"

	"yardwright/batch/words"
	"yardwright/costing/money"
)

type currencyKey struct{}

// CountingIn returns a context whose forms take amounts of a currency, with its sign or without.
func CountingIn(ctx context.Context, c money.Currency) context.Context {
	return context.WithValue(ctx, currencyKey{}, c)
}

func currencyOf(ctx context.Context) money.Currency {
	c, _ := ctx.Value(currencyKey{}).(money.Currency)
	return c
}

// Money reads an amount of the workshop's currency as it is typed: $28, 28,50, 28.50 USD. An empty
// field is zero.
func (f *Form) Money(field string) money.Decimal {
	text := f.Text(field)
	if text == "" {
		return money.Decimal{}
	}
	amount, err := money.ParseTypedAmount(text, f.currency)
	switch value := amount.Number(); {
	case err != nil && strings.ContainsFunc(text, func(r rune) bool { return unicode.Is(unicode.Sc, r) }):
		f.Wrong(field, "Write the amount in "+f.currency.Code()+", such as 24.50.")
	case err != nil:
		f.Wrong(field, sentence(err.Error()))
	case largest.Less(value) || value.Less(largest.Neg()):
		f.Wrong(field, "Write a number of at most 1,000,000,000.")
	default:
		return value
	}
	return money.Decimal{}
}

// Coins is Money for what changes hands: it has no more decimals than the currency has coins.
func (f *Form) Coins(field string) money.Decimal {
	value := f.Money(field)
	if digits := f.currency.Digits(); f.currency != (money.Currency{}) && value.Round(digits, money.HalfUp) != value {
		f.Wrong(field, fmt.Sprintf("Write at most %s, such as %s.", words.Count(digits, "decimal"), value.Round(digits, money.HalfUp).StringFixed(digits)))
		return money.Decimal{}
	}
	return value
}

// StepMinutes is Minutes for one step at one garment: a colon parts minutes from seconds there, so that
// 3:40 is 3 min 40 s.
func (f *Form) StepMinutes(field string) money.Decimal {
	if minutes, seconds, ok := strings.Cut(f.Text(field), ":"); ok && digits(minutes) && digits(seconds) && len(seconds) == 2 && seconds <= "59" {
		value, err := ParseMinutes(minutes + " min " + seconds)
		if err == nil {
			return value
		}
	}
	return f.Minutes(field)
}

// Hours reads hours as they are typed: 8, 8.5, 8½, 8 h 30, 8:30, 510 min. An empty field is zero.
func (f *Form) Hours(field string) money.Decimal {
	text := f.Text(field)
	if text == "" {
		return money.Decimal{}
	}
	if !strings.ContainsFunc(text, func(r rune) bool { return unicode.IsLetter(r) || r == ':' }) {
		text += " h"
	}
	minutes, err := ParseMinutes(text)
	if err != nil {
		f.Wrong(field, "Write hours, such as 8, 8.5 or 8 h 30.")
		return money.Decimal{}
	}
	hours, err := money.Ratio(minutes, money.Int(60), 4, money.HalfUp)
	if err != nil {
		f.Wrong(field, sentence(err.Error()))
	}
	return hours
}

// Minutes reads working time as it is typed, in minutes to the thousandth: 45, 45 min, 3:40, 3 h 40,
// 3.5 h, 3 min 40 s. An empty field is zero.
func (f *Form) Minutes(field string) money.Decimal {
	text := f.Text(field)
	if text == "" {
		return money.Decimal{}
	}
	value, err := ParseMinutes(text)
	if err != nil {
		f.Wrong(field, sentence(err.Error()))
		return money.Decimal{}
	}
	return value
}

// Units of time that are typed, in seconds.
var timeUnits = map[string]int64{
	"h": 3600, "hr": 3600, "hrs": 3600, "hour": 3600, "hours": 3600,
	"m": 60, "min": 60, "mins": 60, "minute": 60, "minutes": 60,
	"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1,
}

var errMinutes = errors.New("write minutes, such as 45, 3:40 or 3 h 40")

// vulgar are the fractions that keyboards offer.
var vulgar = strings.NewReplacer("¼", ".25", "½", ".5", "¾", ".75")

// mostMinutes is a bound on typed minutes, above every year of a large workshop.
var mostMinutes = money.Int(100_000_000)

// ParseMinutes reads a time in minutes, to the thousandth. A bare number is minutes; one that comes
// after hours is minutes, one after minutes is seconds; a colon parts hours from minutes.
func ParseMinutes(text string) (money.Decimal, error) {
	text = vulgar.Replace(strings.ToLower(strings.TrimSpace(text)))
	if strings.HasPrefix(text, ".") {
		text = "0" + text
	}
	if strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−") {
		return money.Decimal{}, errors.New("write minutes of 0 or more")
	}
	if hours, minutes, ok := strings.Cut(text, ":"); ok {
		if !digits(hours) || !digits(minutes) || len(minutes) != 2 || minutes > "59" {
			return money.Decimal{}, errMinutes
		}
		text = hours + " h " + minutes
	}
	var seconds money.Decimal
	next := int64(60) // seconds in one of what a number without a unit counts
	for first := true; text != "" || first; first = false {
		number, unit, rest := cutTime(text)
		value, err := money.ParseTyped(number)
		size, known := timeUnits[unit]
		if unit == "" {
			size, known = next, rest == ""
		}
		if err != nil || strings.ContainsFunc(number, unicode.IsSpace) || !known || (!first && size > next) || size == 0 || mostMinutes.Less(value) {
			return money.Decimal{}, errMinutes
		}
		part, err := value.Mul(money.Int(size))
		if err == nil {
			seconds, err = seconds.Add(part)
		}
		if err != nil {
			return money.Decimal{}, errMinutes
		}
		text, next = rest, size/60
	}
	minutes, err := money.Ratio(seconds, money.Int(60), 3, money.HalfUp)
	if err != nil || mostMinutes.Less(minutes) {
		return money.Decimal{}, errMinutes
	}
	return minutes, nil
}

func digits(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// cutTime parts the first number and its unit from the rest: "3 h 40" is "3", "h" and "40".
func cutTime(text string) (number, unit, rest string) {
	end := strings.IndexFunc(text, unicode.IsLetter)
	if end < 0 {
		return text, "", ""
	}
	number, rest = strings.TrimSpace(text[:end]), text[end:]
	end = strings.IndexFunc(rest, func(r rune) bool { return !unicode.IsLetter(r) })
	if end < 0 {
		end = len(rest)
	}
	return number, rest[:end], strings.TrimSpace(strings.TrimPrefix(rest[end:], "."))
}

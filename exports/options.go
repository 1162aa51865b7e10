package exports

import (
	"strings"
	"time"

	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
)

// Paper is the size of the sheets that a document is printed on.
type Paper string

// The papers. The zero Paper is the one usual in the region of Options.Locale.
const (
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// Options say for whom a document is written. The zero value writes inches and US dollars
// without a name or a date.
type Options struct {
	// Workshop is the name in the page headers.
	Workshop string
	// Lengths is how the workshop writes lengths.
	Lengths length.Style
	// Locale such as en-US or de says where the currency sign goes and which paper is usual.
	Locale string
	// Currency of all amounts; none means USD.
	Currency money.Currency
	// Date is the day that the document is made; zero leaves it out.
	Date time.Time
	// WithoutMoney leaves out all costs and prices, for those who are not to see them.
	WithoutMoney bool
	// Paper to print on; "" means the usual one of the locale.
	Paper Paper
	// OnePrices are the styles and colourways of a pricing workbook whose sizes share a price.
	OnePrices []OnePriced
}

// OnePriced is one price for several sizes, in every channel.
type OnePriced struct {
	// First is the index of the first of the sizes among what is priced; they stand behind
	// each other.
	First int
	// Mix counts the sizes in a usual batch, as costing.OnePrices was given it.
	Mix []money.Decimal
	// Found is what it returned, by channel.
	Found []costing.OnePrice
}

// letterRegions are the regions where Letter is the usual paper (common practice, no source).
var letterRegions = map[string]bool{"US": true, "CA": true, "MX": true, "PH": true, "CL": true, "CO": true}

// paper returns the paper to print on.
func (o Options) paper() Paper {
	if o.Paper == A4 || o.Paper == Letter {
		return o.Paper
	}
	_, region, _ := strings.Cut(o.Locale, "-")
	if o.Locale == "" || letterRegions[region] {
		return Letter
	}
	return A4
}

var usDollar = money.MustCurrency("USD")

func (o Options) currency() money.Currency {
	if o.Currency.IsZero() {
		return usDollar
	}
	return o.Currency
}

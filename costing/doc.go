// Package costing says what a garment costs and what to charge for it: the cost sheet of one
// garment in one size, the minutes behind it, overhead per hour, prices by channel, price
// lists, cloth in stock, how many to take to a fair, and what is done in time.
//
// Everything here is a pure function of its arguments. Quantities come in as exact decimals
// with the label of their unit, so that the package needs to know nothing of cutting; money
// is exact (package money) and never a float. Floats appear only in statistics: z values,
// learning exponents, probabilities.
//
// Rounding points. A cost sheet rounds each line to the minor unit (Settings.Rounding) and
// adds the rounded lines, so that the sheet sums as it is read. A price is solved exactly and
// rounded up to the minor unit, then up to the channel's price points. What a sale leaves is
// computed exactly; what doesn't stay with the maker is rounded as a whole, and what is kept is
// the remainder of what the buyer pays, so that no line of rounding is needed. Nothing else is rounded.
//
// Promised, and tested: lines sum to totals to the cent; the price keeps the target within
// one minor unit; the floor price is never above the price; a higher cost never lowers a price.
//
// Not promised: what a payment provider's own rounding does with a fee's half cents.
package costing

// Package money holds the exact numbers that costing counts in: Decimal for quantities,
// rates and minutes, Amount for money in one currency, Rate for percentages.
//
// Nothing here is ever a float, in arithmetic, in JSON or on its way to a database: each type
// is read from and written to text exactly. A Decimal holds 19 significant digits; whatever
// would need more before the decimal point is an error, and a product or quotient with more
// digits after it is rounded to the 19th, half to even. Where a quotient is to become money,
// Ratio and Amount.DivRound round once and exactly, by a named mode.
//
// Rounding happens only where a caller asks for it by name; arithmetic on amounts keeps every
// digit. Amounts of two currencies never mix: that is an error, as is an overflow.
package money

package exports

import (
	"math/big"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing/money"
)

// inUnit returns a length as a number of a unit.
func inUnit(l length.Length, unit length.Measure) float64 {
	value, _ := new(big.Rat).SetFrac64(int64(l), int64(unit.Size)).Float64()
	return value
}

// small and long are the workshop's units for pieces and for cloth.
func (o Options) small() length.Measure { return o.Lengths.System.Small() }
func (o Options) long() length.Measure  { return o.Lengths.System.Long() }

// perLong is how many small units make a long one: 36 in or 100 cm.
func (o Options) perLong() int { return int(o.long().Size / o.small().Size) }

// styleIn is how lengths of pieces are written in a system, the workshop's or the other.
func (o Options) styleIn(system length.System) length.Style {
	return length.Style{System: system, Fraction: o.Lengths.Fraction}
}

// pieceFormat is the number format of a size that was rounded to the step of the ruler of a
// system: a trade fraction in inches, tenths in centimetres.
func (o Options) pieceFormat(system length.System) string {
	switch {
	case system == length.Metric:
		return "0.0"
	case o.Lengths.Fraction == 16:
		return "# ??/??"
	}
	return "# ?/?"
}

// pieceCell is the size of a piece in a system, rounded to the step of its ruler.
func (o Options) pieceCell(l length.Length, system length.System) cell {
	// In the other system it is the size that the workshop's ruler shows, as Style.OtherPiece has it.
	rounded := l.RoundTo(o.Lengths.Step(), length.Nearest).RoundTo(o.styleIn(system).Step(), length.Nearest)
	return numberCell(inUnit(rounded, system.Small()), o.pieceFormat(system))
}

// cutCell is a measure of a piece to cut: of a shaped one what it is exactly, as Style.Cut has it.
func (o Options) cutCell(l length.Length, shaped bool, system length.System) cell {
	if !shaped {
		return o.pieceCell(l, system)
	}
	rounded, format := l.RoundTo(o.styleIn(system).ShapedStep(), length.Nearest), "# ??/??"
	if system == length.Metric {
		format = "0.0#"
	}
	return numberCell(inUnit(rounded, system.Small()), format)
}

// exactCell is a length in the workshop's small unit, not rounded: as a trade fraction if it
// is a whole number of steps of the ruler, else with decimals.
func (o Options) exactCell(l length.Length) cell {
	system := o.small()
	format := "0.00"
	if l%o.Lengths.Step() == 0 {
		format = o.pieceFormat(o.system())
	}
	return numberCell(inUnit(l, system), format)
}

func (o Options) system() length.System {
	if o.Lengths.System == length.Metric {
		return length.Metric
	}
	return length.Imperial
}

// clothCell is a length of cloth in the workshop's long unit.
func (o Options) clothCell(l length.Length) cell { return numberCell(inUnit(l, o.long()), longFormat) }

// minutes returns a duration in minutes.
func minutes(d time.Duration) float64 { return float64(d) / float64(time.Minute) }

// amountOf turns what package lay counts into money.
func (o Options) amountOf(m lay.Money) money.Amount {
	return money.NewAmount(money.New(int64(m), 6), o.currency())
}

// coins rounds what package lay counts to the smallest coin.
func (o Options) coins(m lay.Money) lay.Money {
	step := lay.Money(1)
	for range 6 - o.currency().Digits() {
		step *= 10
	}
	return (m + step/2) / step * step
}

// paidCell is an amount rounded to the smallest coin: what is shown is what is counted with.
func (o Options) paidCell(m lay.Money) cell {
	return numberCell(float(o.amountOf(o.coins(m)).Number()), o.moneyFormat(0))
}

// moneyFormat is the number format of amounts: with the currency's sign where readers of the
// locale expect it, and at least as many decimals as its minor unit has, up to more.
func (o Options) moneyFormat(more int) string {
	digits := o.currency().Digits()
	format := "#,##0"
	if digits > 0 || more > 0 {
		format += "."
	}
	for i := range max(digits, more) {
		if i < digits {
			format += "0"
		} else {
			format += "#"
		}
	}
	before, after := currencySigns(o.currency(), o.Locale)
	return quotedSign(before) + format + quotedSign(after)
}

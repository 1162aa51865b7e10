package store

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"github.com/jackc/pgx/v5/pgtype"

	"yardwright/costing/money"
)

// numeric lets pgx read and write a money.Decimal as numeric, without a float in between.
type numeric money.Decimal

// NumericValue implements pgtype.NumericValuer.
func (n numeric) NumericValue() (pgtype.Numeric, error) {
	text := money.Decimal(n).String()
	whole, part, _ := strings.Cut(text, ".")
	digits, ok := new(big.Int).SetString(whole+part, 10)
	if !ok {
		return pgtype.Numeric{}, fmt.Errorf("%q is not a decimal", text)
	}
	return pgtype.Numeric{Int: digits, Exp: -int32(len(part)), Valid: true}, nil
}

// ScanNumeric implements pgtype.NumericScanner.
func (n *numeric) ScanNumeric(v pgtype.Numeric) error {
	if !v.Valid || v.NaN || v.InfinityModifier != pgtype.Finite {
		return errors.New("the number in the database is not a finite decimal")
	}
	digits := new(big.Int).Set(v.Int)
	places := 0
	if v.Exp > 0 {
		digits.Mul(digits, new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(v.Exp)), nil))
	} else {
		places = -int(v.Exp)
	}
	d, err := money.Parse(shifted(digits, places))
	if err != nil {
		return err
	}
	*n = numeric(d)
	return nil
}

// shifted writes digits × 10^−places, without zeros at the end of its decimals.
func shifted(digits *big.Int, places int) string {
	sign := ""
	if digits.Sign() < 0 {
		sign = "-"
	}
	text := new(big.Int).Abs(digits).String()
	if places == 0 {
		return sign + text
	}
	if missing := places + 1 - len(text); missing > 0 {
		text = strings.Repeat("0", missing) + text
	}
	whole, part := text[:len(text)-places], strings.TrimRight(text[len(text)-places:], "0")
	if part == "" {
		return sign + whole
	}
	return sign + whole + "." + part
}

type decimalEncodePlan struct{ next pgtype.EncodePlan }

func (p *decimalEncodePlan) SetNext(next pgtype.EncodePlan) { p.next = next }

// Encode implements pgtype.EncodePlan.
func (p *decimalEncodePlan) Encode(value any, buf []byte) ([]byte, error) {
	return p.next.Encode(numeric(value.(money.Decimal)), buf)
}

func wrapDecimalEncode(value any) (pgtype.WrappedEncodePlanNextSetter, any, bool) {
	d, ok := value.(money.Decimal)
	if !ok {
		return nil, nil, false
	}
	return &decimalEncodePlan{}, numeric(d), true
}

type decimalScanPlan struct{ next pgtype.ScanPlan }

func (p *decimalScanPlan) SetNext(next pgtype.ScanPlan) { p.next = next }

// Scan implements pgtype.ScanPlan.
func (p *decimalScanPlan) Scan(src []byte, dst any) error {
	return p.next.Scan(src, (*numeric)(dst.(*money.Decimal)))
}

func wrapDecimalScan(dst any) (pgtype.WrappedScanPlanNextSetter, any, bool) {
	d, ok := dst.(*money.Decimal)
	if !ok {
		return nil, nil, false
	}
	return &decimalScanPlan{}, (*numeric)(d), true
}

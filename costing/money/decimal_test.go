package money

import (
	"encoding/json"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, text, want string }{
		{"whole", "12", "12"},
		{"zeros at the end don't count", "12.500", "12.5"},
		{"negative", "-0.25", "-0.25"},
		{"plus sign", "+3", "3"},
		{"no digit before the point", ".5", "0.5"},
		{"19 digits", "1234567890.123456789", "1234567890.123456789"},
		{"more than 19 digits, but only zeros", "1.50000000000000000000000", "1.5"},
		{"no negative zero", "-0.00", "0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got, err := Parse(tt.text)
			require.NoError(t, err)
			require.Equal(t, tt.want, got.String())
			require.Equal(t, MustParse(tt.want), got)
		})
	}
}

func TestParseErrors(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, text, message string }{
		{"empty", "", "write digits"},
		{"only a sign", "-", "write digits"},
		{"decimal comma", "12,50", "after a point, as in 12.50"},
		{"letters", "twelve", `'t' has no place`},
		{"two points", "1.2.3", "more than one point"},
		{"exponent", "1e3", `'e' has no place`},
		{"sign inside", "1-2", `'-' has no place`},
		{"not a number", "NaN", `'N' has no place`},
		{"space", "1 000", "has no place"},
		{"20 digits", "12345678901234567890", "more than 19 digits"},
		{"20 digits behind the point", "0.12345678901234567891", "more than 19 digits"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := Parse(tt.text)
			require.ErrorContains(t, err, tt.message)
			var parse *ParseError
			require.ErrorAs(t, err, &parse)
			require.Equal(t, tt.text, parse.Text)
		})
	}
}

func TestParseTyped(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, text, want, message string }{
		{"point", "1234.5", "1234.5", ""},
		{"comma", "12,50", "12.5", ""},
		{"comma after nought", "0,125", "0.125", ""},
		{"comma with many digits", "1234,567", "1234.567", ""},
		{"continental", "1.234,50", "1234.5", ""},
		{"English", "1,234.50", "1234.5", ""},
		{"spaces", "1 234,50", "1234.5", ""},
		{"narrow spaces", "1\u202f234,50", "1234.5", ""},
		{"Swiss", "1'234.50", "1234.5", ""},
		{"millions with commas", "1,234,567", "1234567", ""},
		{"millions with points", "1.234.567,8", "1234567.8", ""},
		{"true minus", "−5,5", "-5.5", ""},
		{"could be either", "1,234", "", "1234 or 1.234"},
		{"wrong groups", "1,23,456", "", "three digits"},
		{"mixed up", "1.234,567.8", "", "mixed"},
		{"words", "about 5", "", "has no place"},
		{"nothing", "  ", "", "write digits"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got, err := ParseTyped(tt.text)
			if tt.message != "" {
				require.ErrorContains(t, err, tt.message)
				return
			}
			require.NoError(t, err)
			require.Equal(t, tt.want, got.String())
		})
	}
}

// IEEE 754 gives half-even; HMRC VATREC12030 half-up (0.5p or more up).
func TestRound(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		number                     string
		places                     int
		halfUp, halfEven, up, down string
	}{
		{"2.5", 0, "3", "2", "3", "2"},
		{"3.5", 0, "4", "4", "4", "3"},
		{"-2.5", 0, "-3", "-2", "-2", "-3"},
		{"-3.5", 0, "-4", "-4", "-3", "-4"},
		{"2.675", 2, "2.68", "2.68", "2.68", "2.67"},
		{"0.125", 2, "0.13", "0.12", "0.13", "0.12"},
		{"2.674999", 2, "2.67", "2.67", "2.68", "2.67"},
		{"2.67", 2, "2.67", "2.67", "2.67", "2.67"},
		{"-0.001", 2, "0", "0", "0", "-0.01"},
		{"999999999999999999.9", 0, "1000000000000000000", "1000000000000000000", "1000000000000000000", "999999999999999999"},
	} {
		t.Run(tt.number, func(t *testing.T) {
			t.Parallel()
			d := MustParse(tt.number)
			require.Equal(t, tt.halfUp, d.Round(tt.places, HalfUp).String())
			require.Equal(t, tt.halfEven, d.Round(tt.places, HalfEven).String())
			require.Equal(t, tt.up, d.Round(tt.places, Up).String())
			require.Equal(t, tt.down, d.Round(tt.places, Down).String())
		})
	}
}

func TestDecimalErrors(t *testing.T) {
	t.Parallel()
	large := MustParse("9999999999999999999")
	_, err := large.Add(Int(1))
	require.ErrorIs(t, err, ErrOverflow)
	_, err = large.Neg().Sub(Int(1))
	require.ErrorIs(t, err, ErrOverflow)
	_, err = large.Mul(Int(2))
	require.ErrorIs(t, err, ErrOverflow)
	_, err = large.Div(MustParse("0.1"))
	require.ErrorIs(t, err, ErrOverflow)
	_, err = Int(1).Div(Int(0))
	require.ErrorIs(t, err, ErrDivisionByZero)
	_, err = Ratio(Int(1), Int(0), 2, Up)
	require.ErrorIs(t, err, ErrDivisionByZero)
	_, err = Ratio(large, Int(1), 2, Up)
	require.ErrorIs(t, err, ErrOverflow)
	_, err = Sum(large, large)
	require.ErrorIs(t, err, ErrOverflow)
}

func TestDecimalJSON(t *testing.T) {
	t.Parallel()
	written, err := json.Marshal(struct{ Rate Decimal }{MustParse("0.10")})
	require.NoError(t, err)
	require.JSONEq(t, `{"Rate":"0.1"}`, string(written))

	var read struct{ Text, Number Decimal }
	require.NoError(t, json.Unmarshal([]byte(`{"Text":"12.50","Number":0.1}`), &read))
	require.Equal(t, MustParse("12.5"), read.Text)
	require.Equal(t, MustParse("0.1"), read.Number)
	require.Error(t, json.Unmarshal([]byte(`{"Number":1e400}`), &read))
	require.Error(t, json.Unmarshal([]byte(`{"Text":"12,50"}`), &read))
}

func TestInt64(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"0", "-7", "9223372036854775807", "-9223372036854775807"} {
		n, ok := MustParse(text).Int64()
		require.True(t, ok, text)
		require.Equal(t, text, Int(n).String())
	}
	for _, text := range []string{"0.5", "9223372036854775808"} {
		_, ok := MustParse(text).Int64()
		require.False(t, ok, text)
	}
}

// anyDecimal draws numbers with up to 9 digits and 6 places.
func anyDecimal(t *rapid.T, label string) Decimal {
	return New(rapid.Int64Range(-999_999_999, 999_999_999).Draw(t, label), rapid.IntRange(0, 6).Draw(t, label+" places"))
}

func exact(t require.TestingT, d Decimal) *big.Rat {
	r, ok := new(big.Rat).SetString(d.String())
	require.True(t, ok)
	return r
}

// The twin: exact rational arithmetic with a plain definition of each mode.
func roundedTwin(r *big.Rat, places int, mode Rounding) *big.Rat {
	scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil))
	scaled := new(big.Rat).Mul(r, scale)
	lower := new(big.Int).Div(scaled.Num(), scaled.Denom()) // floor: the denominator is positive
	rest := new(big.Rat).Sub(scaled, new(big.Rat).SetInt(lower))
	half := rest.Cmp(big.NewRat(1, 2))
	up := false
	switch {
	case rest.Sign() == 0:
	case mode == Up:
		up = true
	case mode == HalfUp:
		up = half > 0 || (half == 0 && r.Sign() > 0)
	case mode == HalfEven:
		up = half > 0 || (half == 0 && lower.Bit(0) == 1)
	}
	if up {
		lower.Add(lower, big.NewInt(1))
	}
	return new(big.Rat).Quo(new(big.Rat).SetInt(lower), scale)
}

func TestArithmeticIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyDecimal(t, "a"), anyDecimal(t, "b")
		sum, err := a.Add(b)
		require.NoError(t, err)
		require.Zero(t, new(big.Rat).Add(exact(t, a), exact(t, b)).Cmp(exact(t, sum)))
		difference, err := a.Sub(b)
		require.NoError(t, err)
		require.Zero(t, new(big.Rat).Sub(exact(t, a), exact(t, b)).Cmp(exact(t, difference)))
		product, err := a.Mul(b)
		require.NoError(t, err)
		require.Zero(t, new(big.Rat).Mul(exact(t, a), exact(t, b)).Cmp(exact(t, product)))
		again, err := Parse(product.String())
		require.NoError(t, err)
		require.Equal(t, product, again)
	})
}

func TestRoundingIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyDecimal(t, "a"), anyDecimal(t, "b")
		places := rapid.IntRange(0, 4).Draw(t, "places")
		mode := Rounding(rapid.IntRange(int(HalfUp), int(Down)).Draw(t, "mode"))
		require.Zero(t, roundedTwin(exact(t, a), places, mode).Cmp(exact(t, a.Round(places, mode))))
		if b.IsZero() {
			return
		}
		quotient, err := Ratio(a, b, places, mode)
		require.NoError(t, err)
		want := roundedTwin(new(big.Rat).Quo(exact(t, a), exact(t, b)), places, mode)
		require.Zero(t, want.Cmp(exact(t, quotient)), "%s / %s = %s, want %s", a, b, quotient, want.FloatString(places))
	})
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"12.50", "-0.1", "1,234", "1.234,5", "٣", "+.", "1'000", "12345678901234567890"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if d, err := Parse(text); err == nil {
			want, ok := new(big.Rat).SetString(text)
			require.True(t, ok)
			require.Zero(t, want.Cmp(exact(t, d)))
		}
		if d, err := ParseTyped(text); err == nil {
			again, err := Parse(d.String())
			require.NoError(t, err)
			require.Equal(t, d, again)
		}
		_, _ = ParseTypedAmount(text, MustCurrency("EUR"))
		_, _ = ParseAmount(text)
		_, _ = ParsePercent(text)
	})
}

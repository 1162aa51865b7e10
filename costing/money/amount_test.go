package money

import (
	"encoding/json"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	usd = MustCurrency("USD")
	eur = MustCurrency("EUR")
	jpy = MustCurrency("JPY")
)

func amount(text string) Amount { return MustParseAmount(text) }

// ISO 4217 minor units (maintenance agency's list): USD and EUR 2, JPY 0, KWD and BHD 3; MGA
// and MRU are counted in fifths and yet listed with 2.
func TestCurrency(t *testing.T) {
	t.Parallel()
	for code, digits := range map[string]int{
		"USD": 2, "EUR": 2, "GBP": 2, "JPY": 0, "KRW": 0, "ISK": 0, "KWD": 3, "BHD": 3, "TND": 3, "MGA": 2, "MRU": 2,
	} {
		c, err := ParseCurrency(code)
		require.NoError(t, err)
		require.Equal(t, digits, c.Digits(), code)
	}
	lower, err := ParseCurrency(" usd ")
	require.NoError(t, err)
	require.Equal(t, usd, lower)
	for _, code := range []string{"", "US", "DOLLAR", "XQZ"} {
		_, err := ParseCurrency(code)
		require.ErrorContains(t, err, "three letters", code)
	}
	require.Equal(t, "0.01 USD", usd.MinorUnit().String())
	require.Equal(t, "1 JPY", jpy.MinorUnit().String())
	require.Contains(t, Currencies(), "USD")
}

func TestAmountText(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ text, want string }{
		{"12.5 USD", "12.50 USD"},
		{"0.0125 USD", "0.0125 USD"},
		{"-3 USD", "-3.00 USD"},
		{"1200 JPY", "1200 JPY"},
		{"1.5 KWD", "1.500 KWD"},
	} {
		got, err := ParseAmount(tt.text)
		require.NoError(t, err)
		require.Equal(t, tt.want, got.String())
	}
	for _, text := range []string{"", "12.50", "12.50 USX", "12,50 USD", "USD 12.50"} {
		_, err := ParseAmount(text)
		require.Error(t, err, text)
	}
}

func TestParseTypedAmount(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		text string
		c    Currency
		want string
	}{
		{"12.50", usd, "12.50 USD"},
		{"$12.50", usd, "12.50 USD"},
		{" 12,50 € ", eur, "12.50 EUR"},
		{"USD 1,234.50", usd, "1234.50 USD"},
		{"¥1200", jpy, "1200 JPY"},
	} {
		got, err := ParseTypedAmount(tt.text, tt.c)
		require.NoError(t, err, tt.text)
		require.Equal(t, tt.want, got.String())
	}
	_, err := ParseTypedAmount("€12.50", usd)
	require.ErrorContains(t, err, "has no place")
}

// The places of symbols and marks are CLDR's, as the formatting library carries them.
func TestFormat(t *testing.T) {
	t.Parallel()
	require.Equal(t, "$1,234.50", amount("1234.5 USD").Format("en-US"))
	require.Equal(t, "1.234,50\u00a0€", amount("1234.5 EUR").Format("de"))
	require.Equal(t, "-$3.00", amount("-3 USD").Format("en-US"))
	require.Equal(t, "¥1,200", amount("1200 JPY").Format("en-US"))
	require.Equal(t, "$0.0125", amount("0.0125 USD").Format("en-US"))
	require.Equal(t, "1.234,5", MustParse("1234.5").Format("de"))
	require.Equal(t, "6.5 %", MustPercent("6.5").Format("en-US"))
	require.Equal(t, "33,33 %", Fraction(MustParse("0.333333")).Format("de"))
}

func TestAmountJSON(t *testing.T) {
	t.Parallel()
	written, err := json.Marshal([]Amount{amount("12.5 USD"), {}, amount("0.0125 EUR")})
	require.NoError(t, err)
	require.Equal(t, `[{"amount":"12.50","currency":"USD"},null,{"amount":"0.0125","currency":"EUR"}]`, string(written))
	var read []Amount
	require.NoError(t, json.Unmarshal(written, &read))
	require.Equal(t, []Amount{amount("12.5 USD"), {}, amount("0.0125 EUR")}, read)

	var one Amount
	require.NoError(t, json.Unmarshal([]byte(`"7 JPY"`), &one))
	require.Equal(t, amount("7 JPY"), one)
	for _, bad := range []string{
		`{"amount":12.34,"currency":"USD"}`, `{"amount":"12.34"}`, `{"amount":"x","currency":"USD"}`,
		`{"amount":"1","currency":"USX"}`, `12.34`, `"12.34"`,
	} {
		require.Error(t, json.Unmarshal([]byte(bad), &one), bad)
	}
}

func TestMixedCurrencies(t *testing.T) {
	t.Parallel()
	dollar, euro := amount("1 USD"), amount("1 EUR")
	_, err := dollar.Add(euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)
	_, err = dollar.Sub(euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)
	_, err = dollar.Cmp(euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)
	_, err = dollar.Per(euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)
	_, err = Max(dollar, euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)
	_, err = SumAmounts(dollar, euro)
	require.ErrorIs(t, err, ErrMixedCurrencies)

	sum, err := Amount{}.Add(euro)
	require.NoError(t, err, "nothing yet takes the other's currency")
	require.Equal(t, euro, sum)
	_, err = usd.Zero().Add(euro)
	require.ErrorIs(t, err, ErrMixedCurrencies, "no dollars are still dollars")
}

func TestAmountArithmetic(t *testing.T) {
	t.Parallel()
	product, err := amount("2.48 USD").Mul(MustParse("3.25"))
	require.NoError(t, err)
	require.Equal(t, "8.06 USD", product.String())
	share, err := amount("285 USD").DivRound(Int(500), HalfUp)
	require.NoError(t, err)
	require.Equal(t, "0.57 USD", share.String())
	third, err := amount("1 KWD").DivRound(Int(3), Up)
	require.NoError(t, err)
	require.Equal(t, "0.334 KWD", third.String())
	_, err = amount("1 USD").Div(Int(0))
	require.ErrorIs(t, err, ErrDivisionByZero)
	units, ok := amount("12.34 USD").Minor()
	require.True(t, ok)
	require.EqualValues(t, 1234, units)
	_, ok = amount("0.005 USD").Minor()
	require.False(t, ok)
	require.Equal(t, amount("12.34 USD"), FromMinor(1234, usd))
	larger, err := Max(amount("1 USD"), amount("2 USD"))
	require.NoError(t, err)
	require.Equal(t, amount("2 USD"), larger)
	smaller, err := Min(amount("1 USD"), amount("2 USD"))
	require.NoError(t, err)
	require.Equal(t, amount("1 USD"), smaller)
	require.Equal(t, "0.30 USD", amount("0.295 USD").Round(HalfUp).String())
	require.Equal(t, "1.235 KWD", amount("1.2345 KWD").Round(HalfUp).String())
}

func TestRate(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"6.5", "6.5%", " 6.5 % "} {
		r, err := ParsePercent(text)
		require.NoError(t, err)
		require.Equal(t, "0.065", r.Fraction().String())
		require.Equal(t, "6.5%", r.String())
	}
	_, err := ParsePercent("a lot")
	require.ErrorContains(t, err, "write a percentage")
	share, err := RateOf(amount("1 USD"), amount("4 USD"))
	require.NoError(t, err)
	require.Equal(t, MustPercent("25"), share)
	part, err := MustPercent("20").Of(amount("100 USD"))
	require.NoError(t, err)
	require.Equal(t, "20.00 USD", part.String())
	written, err := json.Marshal(MustPercent("7.65"))
	require.NoError(t, err)
	require.Equal(t, `"7.65%"`, string(written))
	var read Rate
	require.NoError(t, json.Unmarshal(written, &read))
	require.Equal(t, MustPercent("7.65"), read)
}

func TestNamesRoundTrip(t *testing.T) {
	t.Parallel()
	for _, mode := range []Rounding{HalfUp, HalfEven, Up, Down} {
		text, err := mode.MarshalText()
		require.NoError(t, err)
		var again Rounding
		require.NoError(t, again.UnmarshalText(text))
		require.Equal(t, mode, again)
	}
	for _, rule := range []OddUnit{LargestRemainder, FirstParts, LastParts} {
		text, err := rule.MarshalText()
		require.NoError(t, err)
		var again OddUnit
		require.NoError(t, again.UnmarshalText(text))
		require.Equal(t, rule, again)
	}
	_, err := ParseRounding("sideways")
	require.ErrorContains(t, err, "half up, half even, up or down")
	_, err = ParseOddUnit("me")
	require.ErrorContains(t, err, "largest remainder")
}

func TestRoundUpTo(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, amount, step, ending, want string }{
		{"no points", "21.7112 USD", "0", "0", "21.72 USD"},
		{"already there", "21.95 USD", "1", "0.95", "21.95 USD"},
		{"just past", "21.951 USD", "1", "0.95", "22.95 USD"},
		{"halves", "21.51 USD", "0.5", "0", "22.00 USD"},
		{"fives less one cent", "20.01 USD", "5", "4.99", "24.99 USD"},
		{"below the first point", "0.10 USD", "1", "0.9", "0.90 USD"},
		{"hundreds of yen", "1201 JPY", "100", "80", "1280 JPY"},
		{"less than nothing", "-3 USD", "1", "0.5", "0.50 USD"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got, err := RoundUpTo(amount(tt.amount), PricePoint{MustParse(tt.step), MustParse(tt.ending)})
			require.NoError(t, err)
			require.Equal(t, tt.want, got.String())
		})
	}
	for _, bad := range []PricePoint{
		{MustParse("-1"), MustParse("0")},
		{MustParse("0"), MustParse("0.95")},
		{MustParse("1"), MustParse("1")},
		{MustParse("1"), MustParse("-0.05")},
		{MustParse("0.125"), MustParse("0")},
	} {
		_, err := RoundUpTo(amount("1 USD"), bad)
		require.Error(t, err, "%v", bad)
	}
}

func TestAllocate(t *testing.T) {
	t.Parallel()
	weights := func(texts ...string) []Decimal {
		list := make([]Decimal, len(texts))
		for i, text := range texts {
			list[i] = MustParse(text)
		}
		return list
	}
	for _, tt := range []struct {
		name    string
		rule    OddUnit
		total   string
		weights []Decimal
		want    []string
	}{
		{"three equal parts", LargestRemainder, "100 USD", weights("1", "1", "1"), []string{"33.34", "33.33", "33.33"}},
		{"nothing for nothing", LargestRemainder, "0.05 USD", weights("0", "1", "1"), []string{"0.00", "0.03", "0.02"}},
		{"20, 70, 5, 5 by largest remainder", LargestRemainder, "1027.59 USD", weights("20", "70", "5", "5"), []string{"205.52", "719.31", "51.38", "51.38"}},
		{"20, 70, 5, 5 to the first", FirstParts, "1027.59 USD", weights("20", "70", "5", "5"), []string{"205.52", "719.32", "51.38", "51.37"}},
		{"20, 70, 5, 5 to the last", LastParts, "1027.59 USD", weights("20", "70", "5", "5"), []string{"205.51", "719.32", "51.38", "51.38"}},
		{"a discount", LargestRemainder, "-1 USD", weights("1", "1", "1"), []string{"-0.34", "-0.33", "-0.33"}},
		{"fractions as weights", LargestRemainder, "10 USD", weights("0.5", "0.25", "0.25"), []string{"5.00", "2.50", "2.50"}},
		{"yen", LargestRemainder, "100 JPY", weights("1", "1", "1"), []string{"34", "33", "33"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			total := amount(tt.total)
			parts, err := AllocateBy(tt.rule, total, tt.weights)
			require.NoError(t, err)
			got := make([]string, len(parts))
			for i, part := range parts {
				got[i] = part.Number().StringFixed(total.Currency().Digits())
			}
			require.Equal(t, tt.want, got)
		})
	}
}

func TestAllocateErrors(t *testing.T) {
	t.Parallel()
	_, err := Allocate(amount("1 USD"), nil)
	require.ErrorIs(t, err, ErrNoWeights)
	_, err = Allocate(amount("1 USD"), []Decimal{Int(0), Int(0)})
	require.ErrorIs(t, err, ErrNoWeights)
	_, err = Allocate(amount("1 USD"), []Decimal{Int(2), Int(-1)})
	require.ErrorIs(t, err, ErrNegativeWeight)
	_, err = Allocate(amount("0.005 USD"), []Decimal{Int(1)})
	require.ErrorIs(t, err, ErrNotMinor)
	_, err = Allocate(amount("99999999999999999.99 USD"), []Decimal{Int(1)})
	require.ErrorIs(t, err, ErrOverflow)
}

func TestAllocateProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64().Draw(t, "total")
		rule := OddUnit(rapid.IntRange(0, 2).Draw(t, "rule"))
		weights := make([]Decimal, rapid.IntRange(1, 8).Draw(t, "parts"))
		sum := new(big.Rat)
		for i := range weights {
			weights[i] = New(rapid.Int64Range(0, 1_000_000).Draw(t, "weight"), rapid.IntRange(0, 5).Draw(t, "places"))
			sum.Add(sum, exact(t, weights[i]))
		}
		parts, err := AllocateUnits(rule, total, weights)
		if sum.Sign() == 0 {
			require.ErrorIs(t, err, ErrNoWeights)
			return
		}
		require.NoError(t, err)
		left := total
		for i, part := range parts {
			left -= part
			share := new(big.Rat).Mul(exact(t, weights[i]), new(big.Rat).SetInt64(total))
			share.Quo(share, sum)
			off := new(big.Rat).Sub(share, new(big.Rat).SetInt64(part))
			require.Negative(t, off.Abs(off).Cmp(big.NewRat(1, 1)), "part %d is %d, its exact share %s", i, part, share)
			if weights[i].IsZero() {
				require.Zero(t, part)
			}
		}
		require.Zero(t, left)
	})
}

func BenchmarkRatio(b *testing.B) {
	numerator, denominator := MustParse("1234.5678"), MustParse("0.935")
	for b.Loop() {
		if _, err := Ratio(numerator, denominator, 2, HalfUp); err != nil {
			b.Fatal(err)
		}
	}
}

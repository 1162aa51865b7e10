package page

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
)

// No number has more places than its unit needs.
func TestPlacesOfMoneyAndQuantities(t *testing.T) {
	t.Parallel()
	usd := money.MustCurrency("USD")
	base := Base{Locale: "en-US", Currency: usd}
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), usd) }
	for text, want := range map[string]string{
		"13.2211": "$13.2211", "13.22114": "$13.22", "10.025": "$10.025", "9.4": "$9.40", "0.00420624": "$0.00421", "0.25": "$0.25", "0.333333333": "$0.3333", "0": "$0.00",
	} {
		require.Equal(t, want, base.Exact4(amount(text)), text)
	}
	for text, want := range map[string]string{"4.391743522": "$4.3917", "18": "$18.00", "0.000123456": "$0.000123"} {
		require.Equal(t, want, base.ExactMoney(amount(text)), text)
	}
	for text, want := range map[string]string{"12.083333333": "12.0833", "3": "3", "0.000812345": "0.000812", "-0.166666667": "-0.1667"} {
		require.Equal(t, want, base.Fine(money.MustParse(text)), text)
	}
	require.Empty(t, Base{Locale: "en-US", Person: Person{Role: "helper"}}.ExactMoney(amount("1")))
}

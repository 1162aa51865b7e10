package money

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The odd units go to those who lost most by rounding down: nobody who got one had a smaller
// remainder than somebody who got none.
func TestLargestRemaindersComeFirst(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(0, 1_000_000_000).Draw(t, "total")
		weights := make([]Decimal, rapid.IntRange(1, 8).Draw(t, "parts"))
		sum := new(big.Rat)
		for i := range weights {
			weights[i] = New(rapid.Int64Range(1, 1_000_000).Draw(t, "weight"), rapid.IntRange(0, 3).Draw(t, "places"))
			sum.Add(sum, exact(t, weights[i]))
		}
		parts, err := AllocateUnits(LargestRemainder, total, weights)
		require.NoError(t, err)
		var got, without []*big.Rat
		for i, part := range parts {
			share := new(big.Rat).Mul(exact(t, weights[i]), new(big.Rat).SetInt64(total))
			share.Quo(share, sum)
			whole := new(big.Int).Quo(share.Num(), share.Denom())
			remainder := new(big.Rat).Sub(share, new(big.Rat).SetInt(whole))
			if part > whole.Int64() {
				got = append(got, remainder)
			} else {
				without = append(without, remainder)
			}
		}
		for _, one := range got {
			for _, other := range without {
				require.GreaterOrEqual(t, one.Cmp(other), 0)
			}
		}
	})
}

// A price point is the lowest one that is not below the amount.
func TestRoundUpToIsTheNextPoint(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a := NewAmount(New(rapid.Int64Range(0, 100_000_000).Draw(t, "amount"), 4), MustCurrency("USD"))
		step := rapid.Int64Range(1, 2000).Draw(t, "step")
		point := PricePoint{Step: New(step, 2), Ending: New(rapid.Int64Range(0, step-1).Draw(t, "ending"), 2)}
		got, err := RoundUpTo(a, point)
		require.NoError(t, err)
		require.False(t, got.Number().Less(a.Number()))
		above := new(big.Rat).Sub(exact(t, got.Number()), exact(t, point.Ending))
		require.True(t, above.Quo(above, exact(t, point.Step)).IsInt(), "%s is no point", got)
		lower := new(big.Rat).Sub(exact(t, got.Number()), exact(t, point.Step))
		require.Negative(t, lower.Cmp(exact(t, a.Number())))
	})
}

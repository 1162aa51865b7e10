package marker

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestAddSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.IntRange(0, 300).Draw(t, "limit")
		s := make([]uint64, limit/64+1)
		s[0] = 1
		want := map[int]bool{0: true}
		n := len(s) * 64
		for range 5 {
			a := rapid.IntRange(1, limit+1).Draw(t, "a")
			b := rapid.IntRange(1, limit+1).Draw(t, "b")
			if a > limit || b > limit { continue }
			next := map[int]bool{}
			for v := range want {
				next[v] = true
				next[v+a] = true
				if a != b { next[v+b] = true }
			}
			if a == b {
				addOne(s, int64(a))
			} else {
				addTwo(s, int64(min(a, b)), int64(max(a, b)))
			}
			want = next
		}
		for v := range n {
			require.Equal(t, want[v], s[v>>6]>>(v&63)&1 == 1, v)
		}
	})
}

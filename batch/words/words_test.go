package words_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/words"
)

func TestCount(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name string
		n    int
		one  string
		many []string
		want string
	}{
		{name: "none", n: 0, one: "garment", want: "0 garments"},
		{name: "one", n: 1, one: "garment", want: "1 garment"},
		{name: "more", n: 12, one: "piece", want: "12 pieces"},
		{name: "y after a consonant", n: 2, one: "ply", want: "2 plies"},
		{name: "one of these", n: 1, one: "ply", want: "1 ply"},
		{name: "y after a vowel", n: 3, one: "lay", want: "3 lays"},
		{name: "y alone", n: 2, one: "y", want: "2 ys"},
		{name: "hissing", n: 2, one: "batch", want: "2 batches"},
		{name: "several words", n: 2, one: "more size", want: "2 more sizes"},
		{name: "its own plural", n: 2, one: "half", many: []string{"halves"}, want: "2 halves"},
		{name: "below zero", n: -1, one: "day", want: "-1 days"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.want, words.Count(test.n, test.one, test.many...))
		})
	}
	require.Equal(t, "is", words.Verb(1, "is", "are"))
	require.Equal(t, "are", words.Verb(0, "is", "are"))
}

func TestJoinLeavesOutWhatSaysNothing(t *testing.T) {
	t.Parallel()
	require.Equal(t, "solid · nap either way", words.Join(" · ", "solid", "", "  ", "nap either way"))
	require.Equal(t, "cotton", words.Join(", ", "", "cotton"))
	require.Empty(t, words.Join(", ", "", " "))
}

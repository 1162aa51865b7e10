package length_test

import (
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// International yard and pound agreement, 1959, as in NIST SP 811: 1 yd = 0.9144 m, so
// 1 ft = 0.3048 m and 1 in = 25.4 mm, exactly.
func TestUnitsAgreeWithTheInternationalYard(t *testing.T) {
	t.Parallel()
	require.Equal(t, length.Yard*10_000, length.Metre*9144)
	require.Equal(t, length.Foot*10_000, length.Metre*3048)
	require.Equal(t, length.Inch*10, length.Millimetre*254)
	require.Equal(t, length.Inch, length.SixtyFourth*64)
	require.Equal(t, length.Millimetre, length.Micrometre*1000)
}

func TestParse(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		name, text string
		bare       length.Measure
		want       length.Length
	}{
		{"mixed inches", "17 3/8 in", length.Inches, 17*length.Inch + 3*length.Inch/8},
		{"fraction sign and quote", `17⅜"`, length.Centimetres, 17*length.Inch + 3*length.Inch/8},
		{"dash between", "17-3/8 in", length.Inches, 17*length.Inch + 3*length.Inch/8},
		{"centimetres", "52 cm", length.Inches, 52 * length.Centimetre},
		{"decimal metres", "1.2 m", length.Inches, 1200 * length.Millimetre},
		{"decimal comma", "52,5cm", length.Inches, 525 * length.Millimetre},
		{"yard fraction", "3/4 yd", length.Inches, 27 * length.Inch},
		{"bare inches", "14", length.Inches, 14 * length.Inch},
		{"bare centimetres", "14", length.Centimetres, 14 * length.Centimetre},
		{"bare mixed", "1 1/2", length.Yards, 54 * length.Inch},
		{"yards and inches", "1 yd 6 in", length.Inches, 42 * length.Inch},
		{"feet and inches", `5' 3"`, length.Inches, 63 * length.Inch},
		{"two single quotes", "3 1/2''", length.Centimetres, 7 * length.Inch / 2},
		{"hundredth", "0.01 in", length.Inches, 2032},
		{"sixty-fourth", "1/64 in", length.Inches, 3175},
		{"leading point", ".5 m", length.Inches, 500 * length.Millimetre},
		{"negative", "-1/4 in", length.Inches, -length.Inch / 4},
		{"third of a yard", "1/3 yd", length.Inches, 12 * length.Inch},
		{"third of an inch, nearest unit", "1/3 in", length.Inches, 67733},
		{"zero", "0", length.Inches, 0},
		{"unit words", "2 yards", length.Inches, 2 * length.Yard},
		{"trade abbreviation", "3 yds.", length.Inches, 3 * length.Yard},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			got, err := length.Parse(test.text, test.bare)
			require.NoError(t, err)
			require.Equal(t, test.want, got)
		})
	}
}

func TestParseTellsWhatIsWrong(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ name, text, want string }{
		{"empty", "  ", "write a number and a unit"},
		{"words", "about two", `"about" is not a unit`},
		{"unit alone", "in", "a number must stand before the unit"},
		{"two numbers", "3 4 in", "write one number and its unit"},
		{"no last unit", "1 yd 6", "the last number has no unit"},
		{"zero below", "3/0 in", "a fraction is written like 3/8"},
		{"improper mixed", "1 9/8 in", "a mixed number is written like 17 3/8"},
		{"two points", "1.2.3 cm", "more than one decimal point"},
		{"two ways", "1,200 mm", "can be read in two ways; write 1200 or 1.200"},
		{"endless", "1234567890123456789", "too many digits"},
		{"too large", "99999999999999999 yd", "too large"},
		{"only a point", ". cm", "is not a number"},
		{"other length in brackets", "17 in (52 cm)", "the length in brackets is another one"},
		{"bracket left open", "17 in (43 cm", "write one number and its unit"},
		{"minus inside", "3 - in", "a dash joins a whole number and its fraction"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			_, err := length.Parse(test.text, length.Inches)
			var parseError *length.ParseError
			require.ErrorAs(t, err, &parseError)
			require.ErrorContains(t, err, test.want)
		})
	}
}

func TestFormat(t *testing.T) {
	t.Parallel()
	inches := length.Style{System: length.Imperial}
	sixteenths := length.Style{System: length.Imperial, Fraction: 16}
	metric := length.Style{System: length.Metric}
	for _, test := range []struct{ name, want, got string }{
		{"eighths", "17⅜ in", inches.Piece(17*length.Inch + 3*length.Inch/8)},
		{"half goes up", "⅛ in", inches.Piece(length.Inch / 16)},
		{"whole", "14 in", inches.Piece(14 * length.Inch)},
		{"none", "0 in", inches.Piece(0)},
		{"negative", "−¼ in", inches.Piece(-length.Inch / 4)},
		{"odd sixteenth", "3 5/16 in", sixteenths.Piece(3*length.Inch + 5*length.Inch/16)},
		{"sixteenth alone", "1/16 in", sixteenths.Piece(length.Inch / 16)},
		{"even sixteenth", "3½ in", sixteenths.Piece(7 * length.Inch / 2)},
		{"centimetres", "44.1 cm", metric.Piece(17*length.Inch + 3*length.Inch/8)},
		{"small centimetres", "0.6 cm", metric.Piece(length.Inch / 4)},
		{"yards up", "⅝ yd", inches.Cloth(18*length.Inch+1, length.Up)},
		{"yards down", "½ yd", inches.Cloth(18*length.Inch+1, length.Down)},
		{"metres up", "0.46 m", metric.Cloth(18*length.Inch, length.Up)},
		{"both", "20½ in (52.1 cm)", inches.PieceBoth(41 * length.Inch / 2)},
		{"both cloth", "0.46 m (½ yd)", metric.ClothBoth(18*length.Inch, length.Nearest)},
		// 1.96 m are 2.1435 yd; 114 in are 3.1667 yd and 2.8956 m.
		{"both are exact, up", "2¼ yd (1.96 m)", length.Style{}.ClothBoth(196*length.Centimetre, length.Up)},
		{"both are exact, down", "2⅛ yd (1.96 m)", length.Style{}.ClothBoth(196*length.Centimetre, length.Down)},
		{"cloth up", "3¼ yd (2.90 m)", inches.ClothBoth(114*length.Inch, length.Up)},
		{"tape", "3 yd 6 in (2.90 m)", inches.TapeBoth(114*length.Inch, length.Nearest)},
		{"tape, short", "17⅜ in", inches.Tape(17*length.Inch+3*length.Inch/8, length.Nearest)},
		{"tape, eighths of a yard", "2⅞ yd", inches.Tape(23*length.Yard/8, length.Nearest)},
		{"tape, to the next yard", "2 yd", inches.Tape(2*length.Yard-1, length.Nearest)},
		{"tape, below zero", "−1 yd 8 in", inches.Tape(-44*length.Inch, length.Nearest)},
		{"tape, metric", "1.12 m (1 yd 8 in)", metric.TapeBoth(44*length.Inch, length.Nearest)},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.want, test.got)
		})
	}
}

func TestExactDecimals(t *testing.T) {
	t.Parallel()
	require.Equal(t, "11.5", (23 * length.Inch / 2).In(length.Inches))
	require.Equal(t, "914.4", length.Yard.In(length.Millimetres))
	require.Equal(t, "0", length.Length(0).In(length.Yards))
	require.Equal(t, "-0.25", (-length.Inch / 4).In(length.Inches))
}

func TestTextIsExactAndTypedLikeAMaker(t *testing.T) {
	t.Parallel()
	require.Equal(t, "17 3/8 in", (17*length.Inch + 3*length.Inch/8).Text(length.Inches))
	require.Equal(t, "1/64 in", length.SixtyFourth.Text(length.Inches))
	require.Equal(t, "5 1/2 yd", (198 * length.Inch).Text(length.Yards))
	require.Equal(t, "44 in", (44 * length.Inch).Text(length.Inches))
	require.Equal(t, "2.54 cm", length.Inch.Text(length.Centimetres))
	rapid.Check(t, func(t *rapid.T) {
		value := length.Length(rapid.Int64Range(0, 1e12).Draw(t, "value"))
		value = value.RoundTo(rapid.SampledFrom([]length.Length{1, length.SixtyFourth, length.Millimetre / 10, length.Inch / 100}).Draw(t, "step"), length.Nearest)
		for _, m := range []length.Measure{length.Inches, length.Yards, length.Centimetres, length.Metres, length.Millimetres, length.Feet} {
			text := value.Text(m)
			read, err := length.Parse(text, length.Feet)
			require.NoError(t, err)
			require.Equal(t, value, read, text)
		}
	})
}

// What was typed comes back in its box as short as it was typed, in whatever unit.
func TestTextShowsWhatWasTyped(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		typed string
		box   length.Measure
		want  string
	}{
		{"6 in", length.Yards, "6 in"}, // a sixth of a yard, which was shown as 0.166666667 yd
		{"52 cm", length.Inches, "52 cm"},
		{"2 m", length.Yards, "2 m"},
		{"0.7 yd", length.Yards, "0.7 yd"},
		{"1 yd 6 in", length.Yards, "42 in"},
		{"1/3 yd", length.Yards, "1/3 yd"},
		{"3,5 mm", length.Inches, "3.5 mm"},
		{"17⅜ in", length.Centimetres, "17 3/8 in"},
		{"1/3 in", length.Inches, "1/3 in"},
		{"20.333 in", length.Inches, "20.333 in"},
		{"79.25 in", length.Yards, "79 1/4 in"},
		{"3/16 yd", length.Yards, "3/16 yd"},
		{"1.26 m", length.Metres, "1.26 m"},
		{"17⅜ in (44.1 cm)", length.Inches, "17 3/8 in"},
	} {
		t.Run(test.typed, func(t *testing.T) {
			t.Parallel()
			value, err := length.Parse(test.typed, test.box)
			require.NoError(t, err)
			require.Equal(t, test.want, value.Text(test.box))
		})
	}
}

func TestRoundingHasADirection(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := length.Length(rapid.Int64Range(-1e12, 1e12).Draw(t, "value"))
		step := length.Length(rapid.Int64Range(1, 1e7).Draw(t, "step"))
		up, down, nearest := value.RoundTo(step, length.Up), value.RoundTo(step, length.Down), value.RoundTo(step, length.Nearest)
		require.Zero(t, up%step)
		require.Zero(t, down%step)
		require.LessOrEqual(t, down, value)
		require.GreaterOrEqual(t, up, value)
		require.Less(t, up-down, 2*step)
		require.Contains(t, []length.Length{up, down}, nearest)
		require.LessOrEqual(t, 2*max(nearest-value, value-nearest), step)
		require.Equal(t, -nearest, (-value).RoundTo(step, length.Nearest))
	})
}

func TestScaleAgreesWithRationals(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Int64().Draw(t, "value")
		numerator := rapid.Int64().Draw(t, "numerator")
		denominator := rapid.Int64Range(1, 1<<62).Draw(t, "denominator")
		exact := new(big.Rat).SetFrac(new(big.Int).Mul(big.NewInt(value), big.NewInt(numerator)), big.NewInt(denominator))
		want, wantErr := length.FromRat(exact)
		got, err := length.Length(value).Scale(numerator, denominator, length.Nearest)
		if wantErr != nil {
			require.Error(t, err)
			return
		}
		if err != nil {
			require.True(t, int64(want) == -1<<63, "only the least integer may be refused")
			return
		}
		require.Equal(t, want, got)
		up, err := length.Length(value).Scale(numerator, denominator, length.Up)
		if err == nil {
			require.GreaterOrEqual(t, new(big.Rat).SetInt64(int64(up)).Cmp(exact), 0)
		}
		down, err := length.Length(value).Scale(numerator, denominator, length.Down)
		if err == nil {
			require.LessOrEqual(t, new(big.Rat).SetInt64(int64(down)).Cmp(exact), 0)
		}
	})
}

func TestAreasRefuseToOverflow(t *testing.T) {
	t.Parallel()
	area, err := length.Times(379*length.Metre, 379*length.Metre)
	require.NoError(t, err)
	require.InDelta(t, 379.0*379.0, area.SquareMetres(), 1e-6)
	_, err = length.Times(380*length.Metre, 380*length.Metre)
	require.ErrorIs(t, err, length.ErrOverflow)
	_, err = area.Plus(area)
	require.ErrorIs(t, err, length.ErrOverflow)
	_, err = area.TimesCount(2)
	require.ErrorIs(t, err, length.ErrOverflow)
	_, err = length.Length(1 << 62).Plus(1 << 62)
	require.ErrorIs(t, err, length.ErrOverflow)
	_, err = length.Length(1 << 62).TimesCount(2)
	require.ErrorIs(t, err, length.ErrOverflow)
}

// What is written in a style reads back as the same rounded length.
func TestWrittenLengthsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := length.Length(rapid.Int64Range(0, 1e11).Draw(t, "value"))
		style := length.Style{
			System:   rapid.SampledFrom([]length.System{length.Imperial, length.Metric}).Draw(t, "system"),
			Fraction: rapid.SampledFrom([]int{8, 16}).Draw(t, "fraction"),
		}
		read, err := length.Parse(style.Piece(value), length.Metres)
		require.NoError(t, err)
		require.Equal(t, value.RoundTo(style.Step(), length.Nearest), read)
		read, err = length.Parse(style.Cloth(value, length.Up), length.Metres)
		require.NoError(t, err)
		require.Equal(t, value.RoundTo(style.ClothStep(), length.Up), read)
		mode := rapid.SampledFrom([]length.Rounding{length.Up, length.Down, length.Nearest}).Draw(t, "mode")
		read, err = length.Parse(style.PieceBoth(value), length.Metres)
		require.NoError(t, err)
		require.Equal(t, value.RoundTo(style.Step(), length.Nearest), read)
		read, err = length.Parse(style.ClothBoth(value, mode), length.Metres)
		require.NoError(t, err)
		require.Equal(t, value.RoundTo(style.ClothStep(), mode), read)
		read, err = length.Parse(style.TapeBoth(value, mode), length.Metres)
		require.NoError(t, err)
		require.LessOrEqual(t, max(read-value, value-read), length.Centimetre)
		read, err = length.Parse(style.OtherPiece(value), length.Metres)
		require.NoError(t, err)
		require.Equal(t, style.OtherPiece(value), length.Style{System: style.System.Other(), Fraction: style.Fraction}.Piece(read))
	})
}

// Both units of a printed length come from the exact length: each is rounded to its own step, in the
// direction that the sentence needs, never from what was rounded before.
func TestBothUnitsComeFromTheExactLength(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value := length.Length(rapid.Int64Range(0, 1e11).Draw(t, "value"))
		style := length.Style{
			System:   rapid.SampledFrom([]length.System{length.Imperial, length.Metric}).Draw(t, "system"),
			Fraction: rapid.SampledFrom([]int{8, 16}).Draw(t, "fraction"),
		}
		mode := rapid.SampledFrom([]length.Rounding{length.Up, length.Down, length.Nearest}).Draw(t, "mode")
		tape := func(s length.Style) length.Length {
			if s.System == length.Metric {
				return length.Centimetre
			}
			return s.Step()
		}
		for _, written := range []struct {
			text string
			step func(length.Style) length.Length
			mode length.Rounding
		}{
			{style.ClothBoth(value, mode), length.Style.ClothStep, mode},
			{style.TapeBoth(value, mode), tape, mode},
		} {
			own, other, ok := strings.Cut(strings.TrimSuffix(written.text, ")"), " (")
			require.True(t, ok, written.text)
			for text, in := range map[string]length.Style{own: style, other: style.Other()} {
				read, err := length.Parse(text, length.Feet)
				require.NoError(t, err)
				require.Equal(t, value.RoundTo(written.step(in), written.mode), read, written.text)
			}
		}
	})
}

// What a bolt has, what is taken of it and what is left add up as they are written, in both systems.
func TestTakenAndLeftAddUpToWhatThereIs(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		there := length.Length(rapid.Int64Range(0, 1e10).Draw(t, "there"))
		left := length.Length(rapid.Int64Range(0, int64(there)).Draw(t, "left"))
		style := length.Style{
			System:   rapid.SampledFrom([]length.System{length.Imperial, length.Metric}).Draw(t, "system"),
			Fraction: rapid.SampledFrom([]int{8, 16}).Draw(t, "fraction"),
		}
		both := func(text string) (read [2]length.Length) {
			own, other, _ := strings.Cut(strings.TrimSuffix(text, ")"), " (")
			for i, part := range []string{own, other} {
				var err error
				read[i], err = length.Parse(part, length.Feet)
				require.NoError(t, err)
			}
			return read
		}
		is, taken, rest := both(style.TapeBoth(there, length.Down)), both(style.TakenBoth(there, left)), both(style.TapeBoth(left, length.Down))
		for i := range is {
			require.Equal(t, is[i], taken[i]+rest[i])
			require.InDelta(t, int64(there-left), int64(taken[i]), float64(length.Centimetre))
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"17 3/8 in", `17⅜"`, "1 yd 6 in", "-,5", "1⁄2", "''", "3''", "1/", "9e9 in", "17⅜ in (44.1 cm)", "1 (", "()"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		value, err := length.Parse(text, length.Inches)
		if err != nil {
			var parseError *length.ParseError
			require.ErrorAs(t, err, &parseError)
			require.Zero(t, value)
			return
		}
		for _, m := range []length.Measure{length.Inches, length.Yards, length.Centimetres, length.Metres} {
			read, err := length.Parse(value.Text(m), length.Feet)
			if err == nil { // it may be too long for the digits of another unit
				require.Equal(t, value, read)
			}
		}
	})
}

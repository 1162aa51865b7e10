package marker

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
)

// polygonOf makes a polygon of the independent geometry library (peterstace/simplefeatures),
// in units of scale.
func polygonOf(tb require.TestingT, outline []Point, scale float64) geom.Geometry {
	var xy []float64
	for i := range len(outline) + 1 {
		p := outline[i%len(outline)]
		xy = append(xy, float64(p.X)/scale, float64(p.Y)/scale)
	}
	ring := geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
	polygon := geom.NewPolygon([]geom.LineString{ring})
	require.NoError(tb, polygon.Validate())
	return polygon.AsGeometry()
}

// drawOutline draws a simple polygon on a small grid.
func drawOutline(t *rapid.T, name string) []Point {
	return rapid.Custom(func(t *rapid.T) []Point {
		n := rapid.IntRange(3, 6).Draw(t, "corners")
		outline := make([]Point, n)
		for i := range outline {
			outline[i] = Point{length.Length(rapid.IntRange(0, 6).Draw(t, "x")), length.Length(rapid.IntRange(0, 6).Draw(t, "y"))}
		}
		return outline
	}).Filter(func(outline []Point) bool {
		_, reason := notSimple(outline)
		return reason == ""
	}).Draw(t, name)
}

func TestPolygonsOverlapAgreesWithLibrary(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawOutline(t, "a"), drawOutline(t, "b")
		dx, dy := rapid.IntRange(-6, 6).Draw(t, "dx"), rapid.IntRange(-6, 6).Draw(t, "dy")
		for i := range b {
			b[i] = Point{b[i].X + length.Length(dx), b[i].Y + length.Length(dy)}
		}
		common, err := geom.Intersection(polygonOf(t, a, 1), polygonOf(t, b, 1))
		require.NoError(t, err)
		// The least area that two such polygons can share is far above, what rounding makes far
		// below a millionth.
		require.Equal(t, common.Area() > 1e-6, polygonsOverlap(a, b))
		require.Equal(t, polygonsOverlap(a, b), polygonsOverlap(b, a))
	})
}

func TestNotSimpleAgreesWithLibrary(t *testing.T) {
	t.Parallel()
	simple := 0
	for seed := range uint64(3000) {
		rng := rand.New(rand.NewPCG(seed, 1))
		outline := make([]Point, 3+rng.IntN(4))
		var xy []float64
		for i := range outline {
			outline[i] = Point{length.Length(rng.IntN(5)), length.Length(rng.IntN(5))}
		}
		for i := range len(outline) + 1 {
			p := outline[i%len(outline)]
			xy = append(xy, float64(p.X), float64(p.Y))
		}
		repeated := false
		for i := range outline {
			repeated = repeated || outline[i] == outline[(i+1)%len(outline)]
		}
		ring := geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
		want := geom.NewPolygon([]geom.LineString{ring}).Validate() == nil && !repeated
		_, reason := notSimple(outline)
		require.Equal(t, want, reason == "", "%v: %s", outline, reason)
		if want {
			simple++
		}
	}
	require.Greater(t, simple, 300)
}

// gapBetween measures how near two polygons come, the greater of across and along, from points
// spread evenly over their outlines: never less than the true value, at most 1/8 more.
func gapBetween(a, b []Point) float64 {
	least := 1e9
	const steps = 64
	spreadOver := func(outline []Point) (points [][2]float64) {
		for i, p := range outline {
			q := outline[(i+1)%len(outline)]
			for s := range steps {
				f := float64(s) / steps
				points = append(points, [2]float64{float64(p.X) + f*float64(q.X-p.X), float64(p.Y) + f*float64(q.Y-p.Y)})
			}
		}
		return points
	}
	for _, p := range spreadOver(a) {
		for _, q := range spreadOver(b) {
			dx, dy := max(p[0]-q[0], q[0]-p[0]), max(p[1]-q[1], q[1]-p[1])
			least = min(least, max(dx, dy))
		}
	}
	return least
}

func TestOutlinesApartAgreesWithMeasuring(t *testing.T) {
	t.Parallel()
	yes, no := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawOutline(t, "a"), drawOutline(t, "b")
		dx := rapid.IntRange(0, 9).Draw(t, "dx")
		for i := range b {
			b[i].X += length.Length(dx)
		}
		gap := length.Length(rapid.IntRange(1, 3).Draw(t, "gap"))
		if polygonsOverlap(a, b) {
			require.False(t, outlinesApart(a, b, gap), "they overlap")
			return
		}
		measured, apart := gapBetween(a, b), outlinesApart(a, b, gap)
		if apart {
			yes++
			require.GreaterOrEqual(t, measured, float64(gap)-1e-9)
		} else {
			no++
			require.Less(t, measured, float64(gap)+0.2)
		}
	})
	require.Positive(t, yes)
	require.Positive(t, no)
}

func TestWideAgreesWithBig(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Int64().Draw(t, "a"), rapid.Int64().Draw(t, "b")
		c, d := rapid.Int64().Draw(t, "c"), rapid.Int64().Draw(t, "d")
		ab := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		cd := new(big.Int).Mul(big.NewInt(c), big.NewInt(d))
		require.Equal(t, ab.Sign(), product(a, b).sign())
		require.Equal(t, ab.Cmp(cd) < 0, product(a, b).less(product(c, d)))
		half := product(a/2, b/2).minus(product(c/2, d/2)) // stays inside 128 bits
		wantHalf := new(big.Int).Sub(new(big.Int).Mul(big.NewInt(a/2), big.NewInt(b/2)), new(big.Int).Mul(big.NewInt(c/2), big.NewInt(d/2)))
		require.Equal(t, wantHalf.Sign(), half.sign())
		back := half.plus(product(c/2, d/2))
		require.Equal(t, product(a/2, b/2), back)
	})
}

// TestSideFarAlong: the nearest miss that a cloth of ten kilometres can have, where the products
// leave 64 bits.
func TestSideFarAlong(t *testing.T) {
	t.Parallel()
	a, b := Point{0, 0}, Point{MaxClothLength, MaxClothLength - 1}
	require.Equal(t, 0, side(a, b, b))
	require.Equal(t, 1, side(a, b, Point{MaxClothLength, MaxClothLength}))
	require.Equal(t, -1, side(a, b, Point{MaxClothLength - 1, MaxClothLength - 2}))
}

func TestShape(t *testing.T) {
	t.Parallel()
	in := Instance{Width: 100, Pieces: []Piece{
		{Copies: 1, Width: 4, Length: 3, Turns: []Turn{0}, Outline: []Point{{0, 0}, {4, 0}, {0, 3}}},
		{Copies: 1, Width: 2, Length: 5, Turns: []Turn{0}},
	}}
	for _, test := range []struct {
		name string
		at   Placement
		want []Point
	}{
		{"as drawn", Placement{X: 10, Y: 20}, []Point{{10, 20}, {14, 20}, {10, 23}}},
		{"a quarter", Placement{X: 10, Y: 20, Turn: 90}, []Point{{13, 20}, {13, 24}, {10, 20}}},
		{"a half", Placement{X: 10, Y: 20, Turn: 180}, []Point{{14, 23}, {10, 23}, {14, 20}}},
		{"three quarters", Placement{X: 10, Y: 20, Turn: 270}, []Point{{10, 24}, {10, 20}, {13, 24}}},
		{"mirrored", Placement{X: 10, Y: 20, Mirrored: true}, []Point{{14, 23}, {10, 20}, {14, 20}}},
		{"mirrored, a quarter", Placement{X: 10, Y: 20, Turn: 90, Mirrored: true}, []Point{{10, 24}, {13, 20}, {13, 24}}},
		{"rectangle, a quarter", Placement{Piece: 1, X: 1, Y: 1, Turn: 90}, []Point{{6, 1}, {6, 3}, {1, 3}, {1, 1}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			require.Equal(t, test.want, in.Shape(test.at))
		})
	}
}

func TestPieceArea(t *testing.T) {
	t.Parallel()
	require.Equal(t, length.Area(6), Piece{Width: 4, Length: 3, Outline: []Point{{0, 0}, {4, 0}, {0, 3}}}.Area())
	require.Equal(t, length.Area(6), Piece{Width: 4, Length: 3, Outline: []Point{{0, 3}, {4, 0}, {0, 0}}}.Area())
	require.Equal(t, length.Area(12), Piece{Width: 4, Length: 3}.Area())
	side := 100 * length.Metre
	require.Equal(t, length.Area(side)*length.Area(side), Piece{Width: side, Length: side, Outline: []Point{{0, 0}, {side, 0}, {side, side}, {0, side}}}.Area())
}

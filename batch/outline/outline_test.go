package outline_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/length"
	"yardwright/batch/outline"
)

// drawn reads the only shape of a drawing in which one unit is 1 mm.
func drawn(t require.TestingT, inside string) (outline.Shape, error) {
	d, err := outline.Read(strings.NewReader(`<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="600mm" viewBox="0 0 600 600">` + inside + `</svg>`))
	if err != nil {
		return outline.Shape{}, err
	}
	require.InDelta(t, 1, d.PerUnit, 1e-12)
	require.Len(t, d.Paths, 1)
	return d.Paths[0].Outline(d.PerUnit)
}

func areaOf(s outline.Shape) float64 { return float64(s.Area) / 8000 / 8000 }

// Areas and boxes that follow from geometry: of circles and ellipses πab; of a segment of a
// parabola two thirds of its box (Archimedes); of a cubic Bézier curve over its chord, by Green's
// theorem: with the control points at height h above the ends of a chord c it is 3/5·h·c.
func TestShapesOfKnownAreaAndSize(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, inside     string
		wide, high, area float64
		edge             float64 // about how long the curved edge is
	}{
		{"circle by two arcs", `<path d="M100 200A100 100 0 0 1 300 200A100 100 0 0 1 100 200Z"/>`, 200, 200, math.Pi * 1e4, 628},
		{"circle by relative arcs without room", `<path d="M100,200a100,100 0 01200,0a100,100 0 01-200,0z"/>`, 200, 200, math.Pi * 1e4, 628},
		{"circle", `<circle cx="300" cy="300" r="250"/>`, 500, 500, math.Pi * 62500, 1571},
		{"ellipse", `<ellipse cx="300" cy="300" rx="200" ry="50"/>`, 400, 100, math.Pi * 1e4, 900},
		{"turned ellipse by arcs", `<path d="M200 300A100 50 90 0 1 200 100A100 50 90 0 1 200 300Z"/>`, 100, 200, math.Pi * 5e3, 500},
		{"arcs too small for their ends grow", `<path d="M100 300A1 1 0 0 1 300 300Z"/>`, 200, 100, math.Pi * 5e3, 400},
		{"three quarters of a circle by the large arc", `<path d="M300 200A100 100 0 1 1 200 100L200 200Z"/>`, 200, 200, math.Pi * 7500, 500},
		{"cubic", `<path d="M100 200C100 100 300 100 300 200Z"/>`, 200, 75, 3.0 / 5 * 100 * 200, 400},
		{"the same by relative and smooth curves", `<path d="M100 200c0-50 50-75 100-75s100 25 100 75z"/>`, 200, 75, 3.0 / 5 * 100 * 200, 400},
		{"parabola", `<path d="M100 200Q200 0 300 200Z"/>`, 200, 100, 2.0 / 3 * 200 * 100, 500},
		{"two parabolas by Q and T", `<path d="M100 200Q150 100 200 200T300 200V300H100Z"/>`, 200, 150, 200 * 100, 500},
		{"lines", `<path d="M100 100 300 100v50l-100,50h-100z"/>`, 200, 100, 200*50 + 150*50, 0},
		{"E notation and signs", `<path d="M1e2,1.E2+3e2+1e2v.5e2-0h-200z"/>`, 200, 50, 1e4, 0},
		{"rect", `<rect x="10" y="20" width="300" height="200"/>`, 300, 200, 60000, 0},
		{"rounded rect", `<rect x="10" y="20" width="300" height="200" rx="50"/>`, 300, 200, 60000 - 4*2500 + math.Pi*2500, 314},
		{"polygon", `<polygon points="0,0 100,0 100,100"/>`, 100, 100, 5000, 0},
		{"closed polyline", `<polyline points="0,0 100,0 100,100 0,0"/>`, 100, 100, 5000, 0},
		{"the last point closes it by hand", `<path d="M0 0H100V100L0.01 0.01"/>`, 100, 100, 5000, 0},
		{"groups", `<g transform="translate(300 300)"><g transform="rotate(30) scale(2,.5)"><g transform="rotate(-30)"/><circle r="50"/></g></g>`, 2 * math.Sqrt(1e4*.75+625*.25), 2 * math.Sqrt(1e4*.25+625*.75), math.Pi * 2500, 450},
		{"matrix and skew", `<g transform="matrix(0 1 -1 0 500 0), skewX(45)"><rect width="100" height="50" transform="rotate(90, 50 25)"/></g>`, 100, 150, 5000, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, err := drawn(t, c.inside)
			require.NoError(t, err)
			require.InDelta(t, c.wide, s.Width.Millimetres(), 0.1+1e-9)
			require.InDelta(t, c.high, s.Length.Millimetres(), 0.1+1e-9)
			require.InDelta(t, c.area, areaOf(s), 0.07*c.edge+0.01, "the outline stays within a tenth of a millimetre of the curve")
			require.Equal(t, length.Length(0), s.Points[0].X)
			t.Logf("%d points", len(s.Points))
		})
	}
}

// Every point of a circle's outline lies on it, and no edge leaves it by more than a tenth of a
// millimetre.
func TestOutlinesStayWithinATenthOfAMillimetre(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		radius := rapid.Float64Range(10, 1500).Draw(t, "radius")
		d, err := outline.Read(strings.NewReader(fmt.Sprintf(`<svg viewBox="0 0 1 1" width="1mm" height="1mm"><circle r="%v" cx="7" cy="-3"/></svg>`, radius)))
		require.NoError(t, err)
		s, err := d.Paths[0].Outline(d.PerUnit)
		require.NoError(t, err)
		middle := s.Width.Millimetres() / 2
		for i, p := range s.Points {
			q := s.Points[(i+1)%len(s.Points)]
			at := math.Hypot(p.X.Millimetres()-middle, p.Y.Millimetres()-s.Length.Millimetres()/2)
			half := math.Hypot((p.X+q.X).Millimetres()/2-middle, (p.Y+q.Y).Millimetres()/2-s.Length.Millimetres()/2)
			require.InDelta(t, radius, at, 0.1)
			require.InDelta(t, radius, half, 0.1)
		}
		require.Less(t, len(s.Points), 480)
	})
}

func TestScaleIsThatOfTheDrawingOrStated(t *testing.T) {
	t.Parallel()
	square := `<rect id="test" x="1" y="1" width="283.464567" height="283.464567"/><rect width="566.929134" height="1000"/></svg>` // 1/72 in: 100 mm and 200 mm
	for _, c := range []struct {
		name, head string
		want       float64 // mm per unit; 0 is not known
	}{
		{"millimetres", `<svg width="500mm" height="1000mm" viewBox="0 0 500 1000">`, 1},
		{"centimetres", `<svg width="50cm" height="100 cm" viewBox="0,0,500,1000">`, 1},
		{"inches in points", `<svg width="10in" height="20in" viewBox="0 0 720 1440">`, 25.4 / 72},
		{"points", `<svg width="720pt" height="1440pt" viewBox="0 0 720 1440">`, 25.4 / 72},
		{"pixels are no length", `<svg width="720px" height="1440px" viewBox="0 0 720 1440">`, 0},
		{"nothing is said", `<svg viewBox="0 0 720 1440">`, 0},
		{"no viewBox", `<svg width="500mm" height="1000mm">`, 0},
		{"room beside it", `<svg width="700mm" height="1000mm" viewBox="0 0 500 1000">`, 1},
		{"stretched", `<svg width="700mm" height="1000mm" viewBox="0 0 500 1000" preserveAspectRatio="none">`, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			d, err := outline.Read(strings.NewReader(c.head + square))
			require.NoError(t, err)
			require.InDelta(t, c.want, d.PerUnit, 1e-12)
			if c.want == 0 {
				require.NotEmpty(t, d.WhyNot)
				_, err := d.Paths[1].Outline(d.PerUnit)
				require.ErrorContains(t, err, "scale")
			}
			bySquare, err := d.PerUnitBySquare(0, 100*length.Millimetre)
			require.NoError(t, err)
			s, err := d.Paths[1].Outline(bySquare)
			require.NoError(t, err)
			require.InDelta(t, 200, s.Width.Millimetres(), 0.01)
			stated, err := outline.PerUnitOf(72, length.Inch)
			require.NoError(t, err)
			s, err = d.Paths[1].Outline(stated)
			require.NoError(t, err)
			require.InDelta(t, 200, s.Width.Millimetres(), 0.01)
			require.InDelta(t, 1000*25.4/72, s.Length.Millimetres(), 0.01)
			_, err = d.PerUnitBySquare(1, length.Inch)
			require.ErrorContains(t, err, "not a square")
			_, err = d.PerUnitBySquare(0, 0)
			require.ErrorContains(t, err, "how long")
			_, err = d.PerUnitBySquare(9, length.Inch)
			require.ErrorContains(t, err, "choose the shape")
		})
	}
	_, err := outline.PerUnitOf(72, 0)
	require.ErrorContains(t, err, "how long that is")
}

func TestWhatIsNoOutlineIsRefusedWithTheReason(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, inside, message string }{
		{"open", `<path d="M0 0H100V100"/>`, "not closed: its ends are 141.4 mm apart"},
		{"crossing", `<path d="M0 0L100 100V0L0 100Z"/>`, "crosses or touches itself, 50 mm"},
		{"touching", `<path d="M0 0H100V100H50L50 0L40 100H0Z"/>`, "crosses or touches itself"},
		{"there and back", `<path d="M0 0H100V50H200H100V100H0Z"/>`, "crosses or touches itself"},
		{"a line", `<path d="M0 0H100Z"/>`, "single line"},
		{"too large", `<rect width="6000" height="10"/>`, "6.00 m by 0.01 m; check the scale"},
		{"too small", `<rect width="3" height="3"/>`, "too small"},
		{"hardly any area", `<rect width="100" height="0.2"/>`, "hardly any area"},
		{"two lines", `<path d="M0 0H100V100ZM20 10h5v5z"/>`, "2 separate lines"},
		{"further after closing", `<path d="M0 0H100V100Z L-50 50 L 0 50z"/>`, "2 separate lines"},
		{"no command", `<path d="M0 0X100"/>`, `"X" is no command`},
		{"no number", `<path d="M0 0L100,,3Z"/>`, "a number is missing"},
		{"no beginning", `<path d="L0 0"/>`, "must begin with M"},
		{"no flag", `<path d="M0 0A5 5 0 2 1 9 9Z"/>`, "a 0 or 1 is missing"},
		{"far away", `<path d="M0 0L1e300 3Z"/>`, "too large"},
		{"a copy", `<use href="#x"/>`, "a copy of another shape"},
		{"a drawing inside", `<svg><rect width="9" height="9"/></svg>`, "a drawing inside the drawing"},
		{"moved by a style", `<g style="transform: scale(2)"><rect width="9" height="9"/></g>`, "moved by a style"},
		{"a transform that isn't", `<rect width="9" height="9" transform="spin(3)"/>`, "can't be read"},
		{"a length that isn't", `<rect width="9%" height="9"/>`, "not a plain number"},
		{"a saw", `<path d="M0 0` + strings.Repeat("l1 1l1-1", 300) + `V-50H0Z"/>`, "too many bends"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := drawn(t, c.inside)
			require.ErrorContains(t, err, c.message)
		})
	}
}

func TestFilesThatAreNoDrawingsAreRefused(t *testing.T) {
	t.Parallel()
	bomb := `<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]><svg><path d="&b;"/></svg>`
	for _, c := range []struct{ name, content, message string }{
		{"nothing", "", "holds no drawing"},
		{"text", "hello", "holds no drawing"},
		{"a page", "<html></html>", "doesn't begin with svg"},
		{"cut off", `<svg><path d="M0 0H9V9Z"/>`, "not an SVG drawing"},
		{"entities", bomb, "entities"},
		{"a file from outside", `<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg><desc>&x;</desc></svg>`, "entities"},
		{"an unknown entity", `<svg><desc>&x;</desc></svg>`, "not an SVG drawing"},
		{"no path", `<svg><text>x</text><defs><path d="M0 0H9V9Z"/></defs><path d="M0 0H9V9Z" display="none"/></svg>`, "no path"},
		{"too large", "<svg>" + strings.Repeat(" ", 10<<20) + "</svg>", "more than 10 MB"},
		{"too deep", "<svg>" + strings.Repeat("<g>", 1000), "too deep"},
		{"too many", "<svg>" + strings.Repeat(`<rect width="9" height="9"/>`, 600) + "</svg>", "too many shapes"},
		{"another encoding", `<?xml version="1.0" encoding="utf-16"?><svg/>`, "UTF-8"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := outline.Read(strings.NewReader(c.content))
			require.ErrorContains(t, err, c.message)
		})
	}
	d, err := outline.Read(strings.NewReader(`<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">
		<svg:svg xmlns:svg="http://www.w3.org/2000/svg" xmlns:other="urn:other"><svg:g other:label="Layer"><svg:path id="a" other:label="Sleeve  98" d="M0 0H9V9Z"/><svg:rect id="b" width="9" height="9"/></svg:g></svg:svg>`))
	require.NoError(t, err)
	require.Equal(t, []string{"Sleeve 98", "b"}, []string{d.Paths[0].Name, d.Paths[1].Name})
}

// A piece that is drawn half begins and ends on its straight left edge.
func TestHalfAPiece(t *testing.T) {
	t.Parallel()
	s, err := drawn(t, `<path d="M100 100H150Q180 200 160 300H100.1Z"/>`)
	require.NoError(t, err)
	half, err := s.Half()
	require.NoError(t, err)
	require.Equal(t, length.Length(0), half.Points[0].X)
	require.Equal(t, length.Length(0), half.Points[len(half.Points)-1].X)
	require.Less(t, half.Points[0].Y, half.Points[len(half.Points)-1].Y)
	s, err = drawn(t, `<circle r="100"/>`)
	require.NoError(t, err)
	_, err = s.Half()
	require.ErrorContains(t, err, "straight left edge")
}

func FuzzRead(f *testing.F) {
	f.Add(`<svg width="9mm" height="9mm" viewBox="0 0 9 9"><path transform="rotate(1)" d="M1 1a1 1 0 0 1 2 2q1 1 2 2t1 1c1 2 3 4 5 6s1 2 3 4z"/></svg>`)
	f.Add(`<svg><polygon points="1,2 3,4"/><rect width="1" rx="3"/></svg>`)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := outline.Read(strings.NewReader(text))
		if err != nil {
			return
		}
		for _, p := range d.Paths {
			for _, scale := range []float64{d.PerUnit, 1, 25.4} {
				s, err := p.Outline(scale)
				if err != nil {
					continue
				}
				require.Positive(t, s.Area)
				require.GreaterOrEqual(t, len(s.Points), 3)
				require.LessOrEqual(t, float64(s.Area), float64(s.Width)*float64(s.Length)+1)
			}
		}
	})
}

package exports

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
)

// printedSize finds the sizes out of a text: 20 1/16 in (50.95 cm) × 16 in (40.65 cm).
var printedSize = regexp.MustCompile(`([0-9⅛¼⅜½⅝¾⅞ /.]+ (?:in|cm)) \(([0-9⅛¼⅜½⅝¾⅞ /.]+ (?:in|cm))\)`)

// The printed centimetres of a shaped piece are those of the piece as it is drawn and cut, not of
// inches rounded before: template, cut sheet, workbook and page agree within 0.3 mm, in a workshop
// of inches and in one of centimetres.
func TestPrintedSizesOfShapedPiecesAreExact(t *testing.T) {
	t.Parallel()
	const most = 3 * length.Millimetre / 10
	near := func(text string, exact length.Length) {
		t.Helper()
		read, err := length.Parse(text, length.Inches)
		require.NoError(t, err)
		require.LessOrEqual(t, max(read-exact, exact-read), most, "%s for %s cm", text, exact.In(length.Centimetres))
	}
	shapes := 0
	for _, starter := range garment.Starters() {
		style, chart := styleOf(t, starter.Name)
		colourway := batch.Colourway{Cloths: map[garment.Role]int64{}}
		for _, role := range style.Roles() {
			colourway.Cloths[role] = 1
		}
		for _, size := range chart.SizeNames()[:3] {
			graded, err := style.Grade(chart, size)
			require.NoError(t, err)
			drafts, err := style.DraftsOn(chart, size, nil, length.Inch/8)
			require.NoError(t, err)
			pieces, err := batch.PiecesOn(graded, colourway, batch.Cloth{ID: 1, FullWidth: 60 * inch}, length.Inch/8)
			require.NoError(t, err)
			for _, d := range drafts {
				if style.Pieces[d.Piece].Shape == garment.Rectangle {
					continue
				}
				shapes++
				for _, lengths := range []length.Style{{}, {System: length.Metric}} {
					metric := lengths.Cut
					if lengths.System != length.Metric {
						metric = lengths.OtherCut
					}
					near(metric(d.Width, true), d.Width)
					near(metric(d.Length, true), d.Length)
					var svg bytes.Buffer
					require.NoError(t, TemplatesSVG(&svg, style, chart, TemplateChoice{Sizes: []string{size}, Pieces: []int{d.Piece}}, Options{Lengths: lengths}))
					printed := printedSize.FindAllStringSubmatch(svg.String(), -1)
					found := false
					for _, p := range printed {
						text := p[1]
						if lengths.System != length.Metric {
							text = p[2]
						}
						found = found || text == metric(d.Width, true)
					}
					require.True(t, found, "%s %s of %s: %v", starter.Name, d.Name, size, printed)
					if d.OnFold {
						continue
					}
					for _, piece := range pieces {
						if strings.HasPrefix(piece.Name, d.Name+" "+size) {
							require.NotEmpty(t, piece.Outline)
							near(metric(piece.Width, true), d.Width)
							near(metric(piece.Length, true), d.Length)
						}
					}
				}
			}
		}
	}
	require.Greater(t, shapes, 10)
}

// Every paper warns of plies from several lots, and says which lot a bundle is of.
func TestPapersTellLotsApart(t *testing.T) {
	t.Parallel()
	plan := handPlan()
	sheet, err := cutSheet(plan, handOptions)
	require.NoError(t, err)
	slips, err := tickets(plan, ticketAddress, handOptions)
	require.NoError(t, err)
	_, file := readBook(t, func(w io.Writer) error { return CuttingWorkbook(w, plan, handOptions) })
	plain := func(said []string) string {
		var text strings.Builder
		for _, line := range said {
			_, words, _ := strings.Cut(line, "\t")
			text.WriteString(words + " ")
		}
		return text.String()
	}
	for name, text := range map[string]string{"cut sheet": plain(sheet.said), "workbook": listing(t, file)} {
		require.Contains(t, text, "Plies from several shade lots: ", name)
		require.Contains(t, text, "lot A", name)
		require.Regexp(t, "bought: ________|bought lot", text, name)
	}
	require.Contains(t, plain(slips.said), "Shade lot: =Slate+1: lot A; =Slate+1: bought: ________")
	require.Contains(t, plain(sheet.said), "shade lot: ________________", "a line to write the lot of bought cloth")
}

// A lay's page stands by itself: all its pieces are listed with the place of every copy on the page
// of its drawing, and no page holds only what was left over.
func TestALayStandsOnItsOwnPage(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan := w.plan(t)
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		s, err := cutSheet(plan, options)
		require.NoError(t, err)
		onPage := map[string]string{}
		for _, line := range s.said {
			page, words, _ := strings.Cut(line, "\t")
			onPage[page] += " " + words
		}
		first := 0
		for _, planned := range plan.Cloths {
			for at, l := range planned.Plan.Lays {
				title := fmt.Sprintf("%s, lay %d", planned.Cloth.Name, at+1)
				number := 0
				for page, text := range onPage {
					if strings.Contains(text, " "+title+" Plies") {
						_, err := fmt.Sscan(page, &number)
						require.NoError(t, err)
					}
				}
				require.NotZero(t, number, title)
				if first > 0 {
					require.Equal(t, first+1, number, "%s begins on the page after the lay before it", title)
				}
				first = number
				text := onPage[strconv.Itoa(number)]
				require.Contains(t, text, "Light lines every "+options.Lengths.Piece(map[bool]length.Length{true: 10 * length.Centimetre, false: 6 * inch}[options.Lengths.System == length.Metric]))
				unit := " " + options.small().Symbol
				for _, p := range l.Marker.Placements {
					corner := strings.TrimSuffix(options.Lengths.Piece(p.X), unit) + ",\u00a0" + strings.TrimSuffix(options.Lengths.Piece(p.Y), unit)
					require.Contains(t, text, corner, title)
				}
			}
		}
	}
}

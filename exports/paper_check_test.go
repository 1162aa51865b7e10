package exports

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
)

// poppler runs a program of poppler-utils, another PDF library than the one that wrote.
func poppler(t testing.TB, program string, arguments ...string) []byte {
	t.Helper()
	path, err := exec.LookPath(program)
	require.NoError(t, err, "install poppler-utils")
	var out, problems bytes.Buffer
	run := exec.CommandContext(context.Background(), path, arguments...)
	run.Stdout, run.Stderr = &out, &problems
	require.NoError(t, run.Run(), problems.String())
	require.Empty(t, problems.String(), "%s finds nothing to complain of", program)
	return out.Bytes()
}

func keptFile(t testing.TB, content []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "document.pdf")
	require.NoError(t, os.WriteFile(name, content, 0o600))
	return name
}

// render draws one page in grey at 300 dots per inch.
func render(t testing.TB, file string, page int) *image.Gray {
	t.Helper()
	number := fmt.Sprint(page)
	content := poppler(t, "pdftoppm", "-r", "300", "-gray", "-f", number, "-l", number, file)
	var wide, high, most int
	_, err := fmt.Sscanf(string(content[:min(40, len(content))]), "P5\n%d %d\n%d", &wide, &high, &most)
	require.NoError(t, err)
	pixels := content[len(content)-wide*high:]
	return &image.Gray{Pix: pixels, Stride: wide, Rect: image.Rect(0, 0, wide, high)}
}

const dotsPerMM = 300 / 25.4

// lineAt finds the middle of a line that stands on a page, in millimetres, near where it is
// expected; level tells that the line is level.
func lineAt(t testing.TB, page *image.Gray, expected, reach float64, level bool) float64 {
	t.Helper()
	from, to := int((expected-reach)*dotsPerMM), int((expected+reach)*dotsPerMM)
	dark := make([]float64, to-from+1)
	for i := range dark {
		if level {
			for x := range page.Rect.Dx() {
				dark[i] += float64(255 - page.GrayAt(x, from+i).Y)
			}
		} else {
			for y := range page.Rect.Dy() {
				dark[i] += float64(255 - page.GrayAt(from+i, y).Y)
			}
		}
	}
	best := 0
	for i := range dark {
		if dark[i] > dark[best] {
			best = i
		}
	}
	require.Greater(t, dark[best], 255.0*200, "there is a line near %.1f mm", expected)
	var sum, weighted float64
	for i := max(0, best-4); i <= min(len(dark)-1, best+4); i++ {
		sum += dark[i]
		weighted += dark[i] * (float64(from+i) + 0.5)
	}
	return weighted / sum / dotsPerMM
}

// TestTestSquaresAreTrue measures both squares of the cover at 300 dots per inch.
func TestTestSquaresAreTrue(t *testing.T) {
	t.Parallel()
	style, chart := styleOf(t, "Drawstring bag")
	for _, paper := range []Paper{A4, Letter} {
		content := writePDF(t, func(out io.Writer) error {
			return Templates(out, style, chart, TemplateChoice{Sizes: chart.SizeNames()[:1]}, Options{Paper: paper})
		})
		page := render(t, keptFile(t, content), 1)
		rows, columns := squareLines(page, true), squareLines(page, false)
		for _, lines := range [][]float64{rows, columns} {
			require.Len(t, lines, 3, "one edge in common, then 100 mm and 4 in: %v", lines)
			require.InDelta(t, 100, lines[1]-lines[0], 0.15)
			require.InDelta(t, 101.6, lines[2]-lines[0], 0.15)
		}
	}
}

// squareLines finds the lines of about 100 mm on a page, in millimetres.
func squareLines(page *image.Gray, level bool) []float64 {
	outer, inner := page.Rect.Dx(), page.Rect.Dy()
	if level {
		outer, inner = inner, outer
	}
	var lines []float64
	start, count := 0, 0
	for i := range outer + 1 {
		longest := 0
		if i < outer {
			run := 0
			for j := range inner {
				x, y := i, j
				if level {
					x, y = j, i
				}
				if page.GrayAt(x, y).Y < 128 {
					run++
				} else {
					run = 0
				}
				longest = max(longest, run)
			}
		}
		if long := float64(longest) / dotsPerMM; long > 98 && long < 104 {
			if count == 0 {
				start = i
			}
			count++
		} else if count > 0 {
			lines = append(lines, (float64(start)+float64(count)/2)/dotsPerMM)
			count = 0
		}
	}
	return lines
}

// ribbon is a style with one plain piece of a known size.
func ribbon(wide, long string) (garment.Style, garment.SizeChart) {
	style := garment.Style{Name: "Ribbon", Wearer: garment.NoOne, Pieces: []garment.Piece{{Name: "ribbon", Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Width: wide, Length: long, Grain: garment.Lengthwise}}}
	chart := garment.SizeChart{Name: "one", Sizes: []garment.Size{{Name: "one"}}}
	return style, chart
}

// TestLongEdgesAreTrueAcrossSheets glues the sheets of a long piece as a maker does, each on
// the dashed line of the one before, and measures the piece in the pictures.
func TestLongEdgesAreTrueAcrossSheets(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		paper      Paper
		wide, long string
		shrink     garment.Shrinkage
		want       float64 // across, in mm; it is 150 mm along
	}{
		{A4, "612.3*mm", "150*mm", garment.Shrinkage{}, 612.3},
		{Letter, "612.3*mm", "150*mm", garment.Shrinkage{}, 612.3},
		// As it is cut from a cloth that shrinks by 3 % crosswise and 2 % lengthwise: 600 ÷ 0.97 and 147 ÷ 0.98.
		{A4, "600*mm", "147*mm", garment.Shrinkage{Lengthwise: 200, Crosswise: 300}, 600 / 0.97},
	} {
		options := Options{Paper: c.paper}
		style, chart := ribbon(c.wide, c.long)
		choice := TemplateChoice{Sizes: []string{"one"}, Cloths: map[garment.Role]TemplateCloth{garment.Body: {Name: "Tape", Shrink: c.shrink}}}
		s, err := templates(style, chart, choice, options)
		require.NoError(t, err)
		arts, err := templateArts(style, chart, choice, options)
		require.NoError(t, err)
		tiles := tile(arts[0], s)
		require.Equal(t, 1, tiles.rows)
		require.Len(t, tiles.filled, tiles.columns)
		require.Greater(t, tiles.columns, 2)
		file := keptFile(t, writePDF(t, s.write2(t)))
		glued := 0.0 // where the left frame of the present sheet lies on the glued paper
		var left, right float64
		for i := range tiles.columns {
			page := render(t, file, i+2)
			frame := lineAt(t, page, tileEdge, 1.5, false)
			if i == 0 {
				left = lineAt(t, page, tileEdge+artMargin, 1.5, false) - frame
			}
			if i+1 < tiles.columns {
				glued += lineAt(t, page, tileEdge+tiles.wide-tileOverlap, 1.5, false) - frame
				continue
			}
			origin := tiles.origin(tiles.filled[i])
			right = glued + lineAt(t, page, tileEdge+artMargin+c.want-origin.x, 1.5, false) - frame
			top := lineAt(t, page, tileHead+artMargin, 1.5, true)
			bottom := lineAt(t, page, tileHead+artMargin+150, 1.5, true)
			require.InDelta(t, 150, bottom-top, 0.15)
		}
		require.InDelta(t, c.want, right-left, 0.3, "%s", c.paper)
	}
}

// write2 writes a document that is already made; the second time it is made anew by the library.
func (s *sheets) write2(t testing.TB) func(io.Writer) error {
	var content bytes.Buffer
	require.NoError(t, s.write(&content))
	return func(w io.Writer) error { _, err := w.Write(content.Bytes()); return err }
}

// TestTheDraftsOfCurvesAreTrue compares drawn arcs with circles.
func TestTheDraftsOfCurvesAreTrue(t *testing.T) {
	t.Parallel()
	style, chart := styleOf(t, "Circle skirt")
	arts, err := templateArts(style, chart, TemplateChoice{Sizes: []string{"98"}, Pieces: []int{0}}, Options{})
	require.NoError(t, err)
	graded, err := style.Grade(chart, "98")
	require.NoError(t, err)
	outer := onPaper(graded.Pieces[0].Width) / 2
	middle := artPoint{artMargin + outer, arts[0].high - artMargin}
	for _, line := range arts[0].lines {
		if line.stroke != cutStroke {
			continue
		}
		for i, p := range line.points {
			q := line.points[(i+1)%len(line.points)]
			radius := math.Hypot(p.x-middle.x, p.y-middle.y)
			if radius > outer-20 && math.Hypot(q.x-middle.x, q.y-middle.y) > outer-20 {
				require.InDelta(t, outer, radius, 0.01)
				require.InDelta(t, outer, math.Hypot((p.x+q.x)/2-middle.x, (p.y+q.y)/2-middle.y), 0.05, "between two points")
			}
		}
	}
}

// TestTicketsAreRead reads the QR code of every ticket with another library, from the picture
// of its page.
func TestTicketsAreRead(t *testing.T) {
	t.Parallel()
	plan := handPlan()
	first := plan.Bundles[0]
	for number := 2; number <= 11; number++ {
		first.Number = number
		plan.Bundles = append(plan.Bundles, first)
	}
	for _, paper := range []Paper{A4, Letter} {
		options := handOptions
		options.Paper = paper
		file := keptFile(t, writePDF(t, func(out io.Writer) error { return Tickets(out, plan, ticketAddress, options) }))
		s := newSheets(options, "")
		read := 0
		for sheet := 1; sheet <= 2; sheet++ {
			page := render(t, file, sheet)
			for at := range ticketColumns * ticketRows {
				if read == len(plan.Bundles) {
					break
				}
				x, y, wide, high := s.ticketPlace(at)
				part := page.SubImage(image.Rect(int(x*dotsPerMM), int(y*dotsPerMM), int((x+wide)*dotsPerMM), int((y+high)*dotsPerMM)))
				bitmap, err := gozxing.NewBinaryBitmapFromImage(part)
				require.NoError(t, err)
				result, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
				require.NoError(t, err, "ticket %d", read+1)
				require.Equal(t, ticketAddress(plan.Bundles[read].Number), result.GetText())
				read++
			}
		}
		require.Equal(t, len(plan.Bundles), read)
	}
	require.ErrorContains(t, Tickets(io.Discard, plan, func(int) string { return strings.Repeat("x", 5000) }, handOptions), "doesn't fit")
}

// TestPapersSayEverything looks for every name and number in what another program reads out of
// the PDFs.
func TestPapersSayEverything(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan := w.plan(t)
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		file := keptFile(t, writePDF(t, func(out io.Writer) error { return CutSheet(out, plan, options) }))
		text := strings.Join(strings.Fields(string(poppler(t, "pdftotext", "-layout", file, "-"))), " ")
		// In the order in which it was written a cell of two lines is one text.
		raw := strings.Join(strings.Fields(string(poppler(t, "pdftotext", "-raw", file, "-"))), " ")
		sayCell := func(text string) {
			t.Helper()
			require.Contains(t, raw, strings.Join(strings.Fields(text), " "))
		}
		say := func(format string, values ...any) {
			t.Helper()
			require.Contains(t, text, strings.Join(strings.Fields(fmt.Sprintf(format, values...)), " "))
		}
		say("Cut sheet: %s", plan.Name)
		for _, planned := range plan.Cloths {
			for at, l := range planned.Plan.Lays {
				say("%s, lay %d", planned.Cloth.Name, at+1)
				own, other := batch.MarksOf(l, options.Lengths)
				say("%s (%s)", options.Lengths.Piece(own.Marker), options.Lengths.Other().Piece(other.Marker))
				say("%s (%s)", options.Lengths.Piece(own.Ply), options.Lengths.Other().Piece(other.Ply))
				for g, count := range l.PerPly {
					for _, piece := range planned.Problem.Garments[g].Pieces {
						if count > 0 {
							sayCell(piece.Name)
							shaped := len(piece.Outline) > 0
							sayCell(options.Lengths.Cut(piece.Length, shaped))
							sayCell(options.Lengths.OtherCut(piece.Length, shaped))
						}
					}
				}
			}
			for _, use := range planned.Plan.Uses {
				say("%s %s %s", planned.Bolts[use.Bolt].Name, planned.Bolts[use.Bolt].Lot, planned.Bolts[use.Bolt].Place)
			}
		}
		for _, n := range plan.Notions {
			say("%s", n.Notion.Name)
			for _, cut := range n.Cuts {
				if n.Notion.Kind == batch.FromRoll {
					say("%s %s %d", options.Lengths.Piece(cut.Length), options.Lengths.OtherPiece(cut.Length), cut.Count)
				}
			}
		}
		for _, caution := range plan.Cautions {
			say("%s", strings.Fields(caution.Text)[0])
		}
		say("%s", batch.LocalRules)
		fonts := strings.Split(strings.TrimSpace(string(poppler(t, "pdffonts", file))), "\n")
		require.Len(t, fonts, 4, "two fonts")
		for _, line := range fonts[2:] {
			require.Regexp(t, `utf8dejavuB? .*yes +(yes|no) +yes`, line, "embedded, with its letters named")
		}
		pages := strings.Fields(string(poppler(t, "pdfinfo", file)))
		count := 0
		for i, word := range pages {
			if word == "Pages:" {
				_, err := fmt.Sscan(pages[i+1], &count)
				require.NoError(t, err)
			}
		}
		for n := 1; n <= count; n++ {
			say("page %d of %d", n, count)
		}
	}
}

// Names that a maker could type, or that could have come in with a file.
var strangeNames = []string{
	"", " ", "🪡🧵 sewing 👗", "שמלה כחולה", "فستان أزرق", "العربية mixed with English 123", "青い服のスカート", "한국어 치마", "\x00\x01\x02\x7f\u0018\u0019", "{nb}", "a\u0301e\u0308 combining", "\u202Eright to left override", "\u2028line\u2029separators\r\n",
	"zero\u200bwidth\ufeff", "\xff\xfe broken", "⅛ ⅜ ⅝ ⅞ × ° “quotes” – dash", "\U0001F469\u200D\U0001F527", "\U0010FFFF", "(parentheses) \\ backslash", strings.Repeat("long ", 1000), strings.Repeat("x", 5000), strings.Repeat("🧵", 5000), strings.Repeat("ש", 5000),
}

// named is a plan, a line and a style in which everything bears a strange name.
func named(name string) (batch.Plan, LineSheet, garment.Style, garment.SizeChart, Options) {
	plan := handPlan()
	plan.Name = name
	for i := range plan.Garments {
		plan.Garments[i].Style, plan.Garments[i].Colourway, plan.Garments[i].Size = name, name, name
	}
	for i := range plan.Cloths {
		c := &plan.Cloths[i]
		c.Cloth.Name, c.Cloth.Care, c.Cloth.Content = name, name, name
		for j := range c.Bolts {
			c.Bolts[j].Name, c.Bolts[j].Lot, c.Bolts[j].Place = name, name, name
		}
		for j := range c.Problem.Garments {
			c.Problem.Garments[j].Name = name
			for k := range c.Problem.Garments[j].Pieces {
				c.Problem.Garments[j].Pieces[k].Name = name
			}
		}
		for j := range c.Plan.Lays {
			for k := range c.Plan.Lays[j].Instance.Pieces {
				c.Plan.Lays[j].Instance.Pieces[k].Name = name
			}
		}
	}
	for i := range plan.Notions {
		plan.Notions[i].Notion.Name = name
		for j := range plan.Notions[i].Cuts {
			plan.Notions[i].Cuts[j].Need = name
		}
	}
	for i := range plan.Bundles {
		for j := range plan.Bundles[i].Pieces {
			plan.Bundles[i].Pieces[j].Name = name
		}
	}
	for i := range plan.Steps {
		plan.Steps[i].Style, plan.Steps[i].Name, plan.Steps[i].Basis = name, name, name
	}
	for i := range plan.Shopping {
		plan.Shopping[i].Name, plan.Shopping[i].Note = name, name
	}
	for i := range plan.Uncut {
		plan.Uncut[i].Cloth, plan.Uncut[i].Reason, plan.Uncut[i].Remedy = name, name, name
	}
	for i := range plan.Late {
		plan.Late[i].Order, plan.Late[i].Customer = name, name
	}
	for i := range plan.Cautions {
		plan.Cautions[i].Text, plan.Cautions[i].Source = name, name
	}
	style, chart := ribbon("100*mm", "60*mm")
	style.Name, style.Pieces[0].Name, style.Pieces[0].Note, style.Pieces[0].Role = name, name, name, garment.Role(name)
	chart.Sizes[0].Name = name
	line := LineSheet{Title: name, Note: name, Contact: name, Terms: name, Items: []LineItem{{Style: style, Colourway: name, Content: name, Sizes: []LineSize{{Size: name}}}}}
	options := handOptions
	options.Workshop = name
	return plan, line, style, chart, options
}

// printAll writes every document with a name in all places.
func printAll(name string) error {
	plan, line, style, chart, options := named(name)
	for _, write := range []func() error{
		func() error { return CutSheet(io.Discard, plan, options) },
		func() error { return Tickets(io.Discard, plan, ticketAddress, options) },
		func() error { return LineSheetPDF(io.Discard, line, options) },
		func() error {
			return Templates(io.Discard, style, chart, TemplateChoice{Sizes: []string{name}}, options)
		},
		func() error {
			return TemplatesSVG(io.Discard, style, chart, TemplateChoice{Sizes: []string{name}}, options)
		},
		func() error { return FlatSVG(io.Discard, line.Items[0]) },
	} {
		if err := write(); err != nil {
			return err
		}
	}
	return nil
}

func TestAnyNamePrints(t *testing.T) {
	t.Parallel()
	for _, name := range strangeNames {
		require.NoError(t, printAll(name), "%.40q", name)
	}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringN(0, 60, 400).Draw(t, "name")
		plan, _, _, _, options := named(name)
		require.NoError(t, CutSheet(io.Discard, plan, options))
	})
}

// TestStrangePapers leaves documents full of strange names to be looked at.
func TestStrangePapers(t *testing.T) {
	t.Parallel()
	plan, line, _, _, options := named("🪡 שמלה 104 كحلي 青い " + strings.Repeat("Meadow ", 12))
	keepPicture(t, "strange-cutsheet.pdf", writePDF(t, func(out io.Writer) error { return CutSheet(out, plan, options) }))
	keepPicture(t, "strange-line.pdf", writePDF(t, func(out io.Writer) error { return LineSheetPDF(out, line, options) }))
	keepPicture(t, "strange-tickets.pdf", writePDF(t, func(out io.Writer) error { return Tickets(out, plan, ticketAddress, options) }))
}

// FuzzNames looks for a name that keeps a document from being written. One that takes little time
// stands for all, which TestAnyNamePrints writes.
func FuzzNames(f *testing.F) {
	for _, name := range strangeNames {
		if len(name) < 100 { // longer ones take long to make smaller
			f.Add(name)
		}
	}
	f.Fuzz(func(t *testing.T, name string) {
		_, line, _, _, options := named(name)
		require.NoError(t, LineSheetPDF(io.Discard, line, options))
	})
}

// TestStandIns shows what is written for letters that the font lacks.
func TestStandIns(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ name, text, want string }{
		{"plain", "Slate & moss ⅜", "Slate & moss ⅜"},
		{"an emoji", "🧵 thread", "□ thread"},
		{"Chinese", "藍 blue", "藍 blue"},
		{"Japanese and Korean", "青い 한글 漢字", "青い 한글 漢字"},
		{"a script that no font has", "ꦄꦅ blue", "□□ blue"},
		{"composed", "cafe\u0301", "café"},
		{"control signs and breaks", "a\x00b\nc\td", "ab c d"},
		{"joiners and overrides", "a\u200d\u202eb", "ab"},
		{"broken UTF-8", "a\xffb", "a□b"},
		{"Hebrew is there", "שלום", "שלום"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			var s sheets
			require.Equal(t, test.want, s.clean(test.text))
			require.Equal(t, strings.Contains(test.want, standIn) && !strings.Contains(test.text, "\xff"), s.lacked)
		})
	}
	require.Equal(t, "abc םולש", visual("שלום abc"), "letters stand in the order in which they are seen")
	require.Equal(t, "Skirt 98 םולש", visual("Skirt שלום 98"), "a number after Hebrew is part of it")
	require.Equal(t, "Skirt םולש big 98", visual("Skirt שלום big 98"))
}

// TestLinesKeepTheirRoom: no wrapped or shortened line is wider than its room.
func TestLinesKeepTheirRoom(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var s sheets
		text := rapid.StringN(0, 200, 1000).Draw(t, "text")
		room := rapid.Float64Range(8, 150).Draw(t, "room")
		most := rapid.IntRange(1, 6).Draw(t, "most")
		lines := s.wrap(text, 9, false, room, most)
		require.LessOrEqual(t, len(lines), most)
		for _, line := range lines {
			require.LessOrEqual(t, s.textWidth(line, 9, false), room+0.001)
		}
		require.LessOrEqual(t, s.textWidth(s.fit(text, 9, false, room), 9, false), room+0.001)
	})
}

// TestPaperGolden keeps what the documents say, page by page. -update writes it anew.
func TestPaperGolden(t *testing.T) {
	t.Parallel()
	for _, system := range []length.System{length.Imperial, length.Metric} {
		options := handOptions
		options.Lengths = length.Style{System: system}
		if system == length.Metric {
			options.Locale, options.Paper = "en-GB", A4
		}
		sheet, err := cutSheet(handPlan(), options)
		require.NoError(t, err)
		golden(t, "cutsheet-"+string(system)+".pdf", strings.Join(sheet.said, "\n")+"\n")
	}
	slips, err := tickets(handPlan(), ticketAddress, handOptions)
	require.NoError(t, err)
	golden(t, "tickets.pdf", strings.Join(slips.said, "\n")+"\n")
	golden(t, "line.pdf", strings.Join(lineSheet(sampleLine(t), handOptions).said, "\n")+"\n")
	style, chart := styleOf(t, "Gathered skirt")
	choice := TemplateChoice{Sizes: []string{"98", "104"}, Nested: true}
	glued, err := templates(style, chart, choice, handOptions)
	require.NoError(t, err)
	golden(t, "templates.pdf", strings.Join(glued.said, "\n")+"\n")
	var svg bytes.Buffer
	require.NoError(t, TemplatesSVG(&svg, style, chart, choice, handOptions))
	golden(t, "templates.svg", svg.String())
	parseSVG(t, svg.String())
}

// TestTemplatesSayWhatClothTheyAreFor: pieces are drawn as they are cut, and say of what.
func TestTemplatesSayWhatClothTheyAreFor(t *testing.T) {
	t.Parallel()
	style, chart := styleOf(t, "Gathered skirt")
	choice := TemplateChoice{Sizes: []string{"98"}, Step: length.Inch / 8}
	said := func() string {
		s, err := templates(style, chart, choice, handOptions)
		require.NoError(t, err)
		return strings.Join(strings.Fields(strings.Join(s.said, " ")), " ")
	}
	require.Contains(t, said(), "No shrinkage is in them")
	choice.Cloths = map[garment.Role]TemplateCloth{garment.Body: {Name: "Meadow"}, garment.Band: {Name: "Slate"}}
	require.Contains(t, said(), "since none is needed for Meadow, Slate")
	choice.Cloths[garment.Body] = TemplateCloth{Name: "Meadow", Shrink: garment.Shrinkage{Lengthwise: 250, Crosswise: 100}}
	text := said()
	require.Contains(t, text, "Meadow shrinks by 2.5 % lengthwise and 1 % crosswise: cut larger by that")
	require.Contains(t, text, "There is none for Slate")
	graded, err := style.Grade(chart, "98")
	require.NoError(t, err)
	for _, piece := range graded.Pieces {
		cut, err := choice.Cloths[piece.Role].Shrink.Shrink(piece, choice.Step)
		require.NoError(t, err)
		require.Contains(t, text, handOptions.Lengths.PieceBoth(cut.Width), piece.Name)
		require.Contains(t, text, handOptions.Lengths.PieceBoth(cut.Length), piece.Name)
	}
	var svg bytes.Buffer
	require.NoError(t, TemplatesSVG(&svg, style, chart, choice, handOptions))
	require.Contains(t, svg.String(), "Meadow shrinks by 2.5 % lengthwise")
}

// TestTemplatesAreRefused: what makes no sense is said in words.
func TestTemplatesAreRefused(t *testing.T) {
	t.Parallel()
	style, chart := ribbon("40*metre", "5*metre")
	for _, test := range []struct {
		name, want string
		choice     TemplateChoice
	}{
		{"no size", "Choose at least one size", TemplateChoice{}},
		{"no such piece", "There is no piece number 4", TemplateChoice{Sizes: []string{"one"}, Pieces: []int{3}}},
		{"too many sheets", "sheets. Choose fewer", TemplateChoice{Sizes: []string{"one", "one", "one", "one"}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			err := Templates(io.Discard, style, chart, test.choice, Options{})
			var wrong *ChoiceError
			require.ErrorAs(t, err, &wrong)
			require.ErrorContains(t, err, test.want)
		})
	}
	var problems garment.Problems
	require.ErrorAs(t, Templates(io.Discard, style, chart, TemplateChoice{Sizes: []string{"two"}}, Options{}), &problems)
}

// thousand is a batch of about 1,000 garments.
func thousand(t testing.TB) (testWorkshop, batch.Plan) {
	w := sampleWorkshop(t)
	total := 0
	for i := range w.input.Lines {
		w.input.Lines[i].Quantity = 111 + i%2
		total += w.input.Lines[i].Quantity
	}
	require.GreaterOrEqual(t, total, 1000)
	return w, w.plan(t)
}

// BenchmarkThousandGarments writes the cut sheet and both workbooks of 1,000 garments: at most
// 5 s and 300 MB are allowed.
func BenchmarkThousandGarments(b *testing.B) {
	w, plan := thousand(b)
	priced := w.prices(b)
	require.GreaterOrEqual(b, plan.Cut(), 1000)
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		require.NoError(b, CutSheet(io.Discard, plan, w.options))
		require.NoError(b, CuttingWorkbook(io.Discard, plan, w.options))
		require.NoError(b, PricingWorkbook(io.Discard, priced, w.channels, w.options))
	}
	b.ReportMetric(float64(plan.Cut()), "garments")
	b.ReportMetric(float64(plan.Lays()), "lays")
}

// BenchmarkTemplates writes all sizes of a style, nested.
func BenchmarkTemplates(b *testing.B) {
	style, chart := styleOf(b, "Pull-on shorts")
	for range b.N {
		require.NoError(b, Templates(io.Discard, style, chart, TemplateChoice{Sizes: chart.SizeNames(), Nested: true}, Options{}))
	}
}

// TestEastAsianNamesArePrinted: names in Chinese, Japanese and Korean are in the document as
// letters that another program reads, and only documents that need the fallback font carry it.
func TestEastAsianNamesArePrinted(t *testing.T) {
	t.Parallel()
	names := []string{"青いスカート", "한국어 치마", "汉字裙子 Puddle"}
	for _, name := range names {
		_, line, _, _, options := named(name)
		content := writePDF(t, func(out io.Writer) error { return LineSheetPDF(out, line, options) })
		file := filepath.Join(t.TempDir(), "line.pdf")
		require.NoError(t, os.WriteFile(file, content, 0o600))
		require.Contains(t, string(poppler(t, "pdftotext", file, "-")), name)
		require.Contains(t, string(poppler(t, "pdffonts", file)), "roid")
		require.Less(t, len(content), 300<<10, "the font is cut down to the letters that are used")
	}
	plain := writePDF(t, func(out io.Writer) error { return LineSheetPDF(out, sampleLine(t), handOptions) })
	file := filepath.Join(t.TempDir(), "line.pdf")
	require.NoError(t, os.WriteFile(file, plain, 0o600))
	require.NotContains(t, string(poppler(t, "pdffonts", file)), "roid")
}

// BenchmarkEastAsianNames writes a line sheet that needs the fallback font.
func BenchmarkEastAsianNames(b *testing.B) {
	_, line, _, _, options := named("青いスカート")
	for range b.N {
		require.NoError(b, LineSheetPDF(io.Discard, line, options))
	}
}

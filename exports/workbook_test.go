package exports

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/batch/roll"
	"yardwright/costing"
	"yardwright/costing/money"
)

// handPlan is a small planned batch, written down by hand, with everything that a plan can
// hold; it depends on no solver.
func handPlan() batch.Plan {
	start := time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	panel := lay.Piece{Name: "panel 98", Copies: 2, Width: 17 * inch, Length: 12 * inch}
	leg := lay.Piece{Name: "leg 8", Copies: 1, Width: 20*inch + inch/16, Length: 16 * inch, Outline: []marker.Point{{}, {X: 20*inch + inch/16}, {Y: 16 * inch}}}
	instance, result := plainMarker()
	instance.Pieces = []marker.Piece{
		{Name: panel.Name, Copies: 2, Width: panel.Width, Length: panel.Length}, {Name: leg.Name, Copies: 1, Width: leg.Width, Length: leg.Length, Outline: leg.Outline},
	}
	result.Length, result.Bound, result.Status = 28*inch+inch/3, 26*inch, marker.StatusWithin
	result.Placements = []marker.Placement{{Piece: 0}, {Piece: 0, X: 17 * inch}, {Piece: 1, Y: 12 * inch}}
	thin := batch.Cloth{ID: 1, Name: "=Slate+1", FullWidth: 44 * inch, Selvage: inch, Nap: batch.NapOneWay}
	planned := batch.ClothPlan{
		Cloth: thin, Garments: []int{0, 1},
		Problem: lay.Problem{
			Cloth: thin.Name, Garments: []lay.Garment{{Name: "Slate skirt 98", Quantity: 5, Pieces: []lay.Piece{panel}}, {Name: "Slate shorts 8", Quantity: 5, Pieces: []lay.Piece{leg}}},
			Rules: lay.Rules{BuyWidth: 42 * inch, Spread: lay.FaceToFace, EndLoss: inch / 2},
		},
		Bolts: []batch.Bolt{{ID: 7, Name: "@S1", Lot: "A", Place: "shelf 1"}},
		Plan: lay.Plan{
			Lays: []lay.Lay{{
				PerPly: []int{1, 1}, Instance: instance, Marker: result, Owners: []lay.Owner{{Garment: 0, Piece: 0}, {Garment: 1, Piece: 0}}, Plies: 5,
				Way: lay.FaceToFace, Draws: []lay.Draw{{Bolt: 0, Plies: 3, From: 9 * inch, Pitch: 30 * inch}, {Bolt: -1, Plies: 2, Pitch: result.Length + inch}}, PlyLength: result.Length + inch,
			}},
			Uses:      []lay.BoltUse{{Bolt: 0, Used: 3 * (result.Length + inch), Left: 10 * inch, Keep: false}},
			Purchases: []lay.Purchase{{Need: 2 * (result.Length + inch), Buy: 63 * inch, Cost: 14_990_000}}, ClothCost: 40_120_000,
		},
	}
	elastic := batch.Notion{ID: 1, Name: "Elastic", Kind: batch.FromRoll, Rolls: []batch.Roll{{Length: 200 * inch, Count: 1}}, BuyLength: 10 * length.Yard}
	cut := batch.NotionCut{Garment: 0, Need: "waist elastic", Length: 22*inch + inch/10, Count: 5}
	return batch.Plan{
		Name: "-March & fair", Start: start, DoneBy: start.AddDate(0, 0, 2), Minutes: 90 * time.Minute, Worked: 100 * time.Minute, Stopped: true,
		Garments: []batch.Garment{
			{Style: "skirt", Colourway: "Slate", Size: "98", Wanted: 6, Quantity: 5}, {Style: "shorts", Colourway: "Slate", Size: "8", Wanted: 5, Quantity: 5},
		},
		Cloths: []batch.ClothPlan{planned},
		Notions: []batch.NotionPlan{
			{
				Notion: elastic, Cuts: []batch.NotionCut{cut}, Length: 5 * cut.Length,
				Problem: roll.Problem{Stock: []roll.Stock{{Name: "Elastic", Length: 200 * inch, Count: 1}, {Name: "Elastic, to buy", Length: 10 * length.Yard}}, Cuts: []roll.Cut{{Name: "Elastic", Length: cut.Length, Count: 5}}},
				Rolls:   roll.Plan{Rolls: []roll.Roll{{Stock: 0, Counts: []int{4}, Times: 1, Left: 200*inch - 4*cut.Length}, {Stock: 1, Counts: []int{1}, Times: 1, Left: 10*length.Yard - cut.Length}}},
			},
			{Notion: batch.Notion{ID: 2, Name: "Thread", Kind: batch.ByLength}, Cuts: []batch.NotionCut{{Garment: 1, Need: "thread", Length: 30 * length.Yard, Count: 5}}},
			{Notion: batch.Notion{ID: 3, Name: "Label", Kind: batch.ByCount}, Cuts: []batch.NotionCut{{Garment: 1, Need: "label", Count: 5}}},
		},
		Bundles: []batch.Bundle{{Number: 1, Garment: 0, Quantity: 5, Lays: []batch.BundleLay{{Garments: 3, Lot: batch.Lot{Name: "A"}}, {Garments: 2, Lot: batch.Lot{Bought: true}}}, Pieces: []batch.BundlePiece{{Cloth: thin.Name, Name: "panel 98", Count: 10}}}},
		Steps: []batch.Step{
			{Stage: batch.StageCut, Name: "=Slate+1, lay 1", Times: 1, SetUp: 5 * time.Minute, Each: 25 * time.Minute, Minutes: 30 * time.Minute},
			{Stage: string(garment.Sew), Style: "skirt", Name: "side seams", Times: 5, SetUp: 10 * time.Minute, Each: 10 * time.Minute, Minutes: time.Hour, Basis: "timed"},
		},
		Stages:   []batch.StageMinutes{{Stage: batch.StageCut, Minutes: 30 * time.Minute}, {Stage: string(garment.Sew), Minutes: time.Hour}},
		Shopping: []batch.Shopping{{Name: thin.Name, Length: 63 * inch, Need: 2 * (result.Length + inch), Width: 42 * inch, Cost: 14_990_000, Note: "Buy in one piece.", Alternatives: []batch.Alternative{{FullWidth: 60 * inch, Length: 45 * inch}}}, {Name: "Elastic", Count: 1, RollLength: 10 * length.Yard, Cost: 4_000_000}},
		Uncut:    []batch.Uncut{{Garment: 0, Quantity: 1, Cloth: thin.Name, Piece: "panel 98", Reason: "no bolt of the lot is long enough", Remedy: "Buy 2 yd more."}},
		Cautions: []batch.Caution{{Topic: "cutting", Text: "Close the blade.", Source: "common practice, no source"}},
		Late:     []batch.LateOrder{{Order: "26-001", Customer: "+Osier", Due: start, Days: 2}},
	}
}

var handOptions = Options{Workshop: "Quillfen & Co", Locale: "en-US", Currency: money.MustCurrency("USD"), Date: time.Date(2026, 3, 8, 0, 0, 0, 0, time.UTC)}

// book is a workbook read back.
func readBook(t testing.TB, write func(io.Writer) error) (content []byte, file *excelize.File) {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, write(&out))
	file, err := excelize.OpenReader(bytes.NewReader(out.Bytes()), excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	return out.Bytes(), file
}

// listing writes a workbook as text: every cell with its value, its formula and its format.
func listing(t testing.TB, file *excelize.File) string {
	t.Helper()
	var out strings.Builder
	for _, sheet := range file.GetSheetList() {
		rows, err := file.GetRows(sheet)
		require.NoError(t, err)
		fmt.Fprintf(&out, "[%s]\n", sheet)
		for i, row := range rows {
			for j, value := range row {
				at := cellName(j+1, i+1)
				text, err := file.GetCellFormula(sheet, at)
				require.NoError(t, err)
				if value == "" && text == "" {
					continue
				}
				fmt.Fprintf(&out, "%s: %q", at, value)
				if text != "" {
					fmt.Fprintf(&out, " =%s", text)
				}
				id, err := file.GetCellStyle(sheet, at)
				require.NoError(t, err)
				style, err := file.GetStyle(id)
				require.NoError(t, err)
				if style.CustomNumFmt != nil {
					fmt.Fprintf(&out, " as %s", *style.CustomNumFmt)
				}
				out.WriteString("\n")
			}
		}
	}
	return out.String()
}

func TestCuttingWorkbookGolden(t *testing.T) {
	t.Parallel()
	for _, system := range []length.System{length.Imperial, length.Metric} {
		options := handOptions
		options.Lengths.System = system
		write := func(w io.Writer) error { return CuttingWorkbook(w, handPlan(), options) }
		content, file := readBook(t, write)
		again, _ := readBook(t, write)
		require.True(t, bytes.Equal(content, again), "the same plan gives the same bytes")
		keepPicture(t, "cutting-hand-"+string(system)+".xlsx", content)
		golden(t, "cutting-"+string(system)+".xlsx", listing(t, file))
	}
}

func TestPricingWorkbookGolden(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced := w.prices(t)
	write := func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, w.options) }
	content, file := readBook(t, write)
	again, _ := readBook(t, write)
	require.True(t, bytes.Equal(content, again), "the same prices give the same bytes")
	keepPicture(t, "pricing-sample.xlsx", content)
	golden(t, "pricing.xlsx", listing(t, file))
}

// cellsOf visits every cell of a workbook.
func cellsOf(t testing.TB, file *excelize.File, visit func(sheet, at, value, formula string)) {
	t.Helper()
	for _, sheet := range file.GetSheetList() {
		rows, err := file.GetRows(sheet)
		require.NoError(t, err)
		for i, row := range rows {
			for j, value := range row {
				at := cellName(j+1, i+1)
				text, err := file.GetCellFormula(sheet, at)
				require.NoError(t, err)
				visit(sheet, at, value, text)
			}
		}
	}
}

// allBooks are both workbooks of some random workshops and those written by hand.
func allBooks(t testing.TB) map[string]*excelize.File {
	t.Helper()
	books := map[string]*excelize.File{}
	_, books["hand"] = readBook(t, func(w io.Writer) error { return CuttingWorkbook(w, handPlan(), handOptions) })
	for seed := range uint64(8) {
		w := newTestWorkshop(t, seed)
		_, books[fmt.Sprintf("cutting %d", seed)] = readBook(t, func(out io.Writer) error { return CuttingWorkbook(out, w.plan(t), w.options) })
		_, books[fmt.Sprintf("pricing %d", seed)] = readBook(t, func(out io.Writer) error { return PricingWorkbook(out, w.prices(t), w.channels, w.options) })
	}
	return books
}

// TestTextIsNeverAFormula: text from users that begins like a formula (the OWASP page on CSV
// injection lists = + - @, tab and carriage return) is stored as text and comes back whole.
func TestTextIsNeverAFormula(t *testing.T) {
	t.Parallel()
	found := map[byte]bool{}
	for name, file := range allBooks(t) {
		cellsOf(t, file, func(sheet, at, value, text string) {
			where := name + ", " + sheet + "!" + at
			if text != "" {
				for _, used := range functionCall.FindAllStringSubmatch(quotedText.ReplaceAllString(text, ""), -1) {
					require.True(t, functionsOf2007[used[1]], "%s: %s is not a function of Excel 2007: %s", where, used[1], text)
				}
				require.NotContains(t, text, "cmd|", where)
				require.NotContains(t, text, "HYPERLINK", where)
				return
			}
			kind, err := file.GetCellType(sheet, at)
			require.NoError(t, err)
			if value != "" && strings.ContainsRune("=+-@\t", rune(value[0])) && kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
				require.Equal(t, excelize.CellTypeInlineString, kind, where)
				found[value[0]] = true
			}
		})
	}
	for _, sign := range []byte("=+-@") {
		require.True(t, found[sign], "no workbook has a text that begins with %c: the test sees nothing", sign)
	}
}

// TestStrangeNamesInWorkbooks: whatever a maker types, the parts of both workbooks are XML to an
// independent reader, another program opens them, and names that can be shown come back as typed.
func TestStrangeNamesInWorkbooks(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	var files []string
	for i, name := range strangeNames {
		plan, _, _, _, options := named(name)
		w := newTestWorkshop(t, 4)
		for i := range w.pricing {
			in := &w.pricing[i]
			in.Style, in.Colourway, in.Size = name, name, fmt.Sprintf("%d %s", i, name)
			in.Cloths = slices.Clone(in.Cloths)
			for j := range in.Cloths {
				in.Cloths[j].Name, in.Cloths[j].Role = name, name
			}
			in.Notions = slices.Clone(in.Notions)
			for j := range in.Notions {
				in.Notions[j].Name = name
			}
		}
		for i := range w.channels {
			w.channels[i].Name = name
		}
		w.options.Workshop, options.Workshop = name, name
		priced := w.prices(t)
		for kind, write := range map[string]func(*bytes.Buffer) error{
			"cutting": func(b *bytes.Buffer) error { return CuttingWorkbook(b, plan, options) },
			"pricing": func(b *bytes.Buffer) error { return PricingWorkbook(b, priced, w.channels, w.options) },
		} {
			file := keepBook(t, folder, fmt.Sprintf("%s-%02d.xlsx", kind, i), write)
			wellFormed(t, file)
			if kind == "cutting" && utf8.ValidString(name) && len(name) < 100 && !strings.ContainsFunc(name, func(r rune) bool {
				return r < ' ' || r == 0x7f || unicode.Is(unicode.Zl, r) || unicode.Is(unicode.Zp, r)
			}) {
				value, err := openBook(t, file).GetCellValue("Garments", "A5")
				require.NoError(t, err)
				require.Equal(t, strings.TrimSpace(name), strings.TrimSpace(value))
			}
			if len(name) < 100 && (i%5 == 2 || kind == "cutting" && i%5 == 4) { // opening one takes the other program seconds
				files = append(files, file)
			}
		}
	}
	require.Greater(t, len(files), 4)
	slices.Sort(files)
	out := inLibreOffice(t, files)
	for _, file := range files {
		ours, theirs := openBook(t, file), openBook(t, filepath.Join(out, filepath.Base(file)))
		require.Equal(t, ours.GetSheetList(), theirs.GetSheetList())
		for _, sheet := range ours.GetSheetList() {
			rows, err := ours.GetRows(sheet)
			require.NoError(t, err)
			again, err := theirs.GetRows(sheet)
			require.NoError(t, err)
			require.Len(t, again, len(rows), "%s, %s", filepath.Base(file), sheet)
		}
	}
}

// wellFormed reads every part of a workbook as XML.
func wellFormed(t *testing.T, file string) {
	t.Helper()
	archive, err := zip.OpenReader(file)
	require.NoError(t, err)
	defer func() { require.NoError(t, archive.Close()) }()
	for _, part := range archive.File {
		opened, err := part.Open()
		require.NoError(t, err)
		decoder := xml.NewDecoder(opened)
		for err == nil {
			_, err = decoder.Token()
		}
		require.ErrorIs(t, err, io.EOF, "%s: %s", filepath.Base(file), part.Name)
	}
}

func TestWorkbooksPrint(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name  string
		paper Paper
		size  int // ECMA-376 Part 1, 18.3.1.63: 1 is Letter, 9 is A4
		with  Options
	}{
		{"Letter in the United States", "", 1, Options{Locale: "en-US"}}, {"A4 in Germany", "", 9, Options{Locale: "de"}}, {"A4 where asked for", A4, 9, Options{Locale: "en-US"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			options := handOptions
			options.Locale, options.Paper = tt.with.Locale, tt.paper
			_, file := readBook(t, func(w io.Writer) error { return CuttingWorkbook(w, handPlan(), options) })
			require.Equal(t, []string{"Batch", "Garments", "Lays", "Bolts", "Pieces", "Notions", "Rolls", "Bundles", "Shopping", "Steps"}, file.GetSheetList())
			areas := map[string]string{}
			titles := map[string]string{}
			for _, n := range file.GetDefinedName() {
				switch n.Name {
				case "_xlnm.Print_Area":
					areas[n.Scope] = n.RefersTo
				case "_xlnm.Print_Titles":
					titles[n.Scope] = n.RefersTo
				}
			}
			for _, sheet := range file.GetSheetList() {
				layout, err := file.GetPageLayout(sheet)
				require.NoError(t, err)
				require.Equal(t, tt.size, *layout.Size)
				require.Equal(t, 1, *layout.FitToWidth)
				require.Equal(t, 0, *layout.FitToHeight)
				props, err := file.GetSheetProps(sheet)
				require.NoError(t, err)
				require.True(t, *props.FitToPage)
				header, err := file.GetHeaderFooter(sheet)
				require.NoError(t, err)
				require.Contains(t, header.OddHeader, "Quillfen && Co", "an ampersand of a name is no code")
				require.Contains(t, header.OddFooter, "&P of &N")
				require.NotEmpty(t, areas[sheet])
				if sheet == "Batch" {
					continue
				}
				panes, err := file.GetPanes(sheet)
				require.NoError(t, err)
				require.True(t, panes.Freeze, sheet)
				require.NotEmpty(t, titles[sheet])
				tables, err := file.GetTables(sheet)
				require.NoError(t, err)
				require.Len(t, tables, 1, sheet)
				heads := tableHeads(t, file, sheet, tables[0].Range)
				require.NotContains(t, heads, "")
				slices.Sort(heads)
				require.Len(t, slices.Compact(slices.Clone(heads)), len(heads), "columns of a table have different names: %s", heads)
			}
		})
	}
}

// TestWorkbooksOnPaper prints both workbooks by LibreOffice: the pages are told apart by their
// headers, and hold what a maker wants on paper, whole, and no helpers.
func TestWorkbooksOnPaper(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan, priced := w.plan(t), w.prices(t)
	folder := t.TempDir()
	var files []string
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		files = append(files,
			keepBook(t, folder, "cutting-"+string(paper)+".xlsx", func(b *bytes.Buffer) error { return CuttingWorkbook(b, plan, options) }),
			keepBook(t, folder, "pricing-"+string(paper)+".xlsx", func(b *bytes.Buffer) error { return PricingWorkbook(b, priced, w.channels, options) }))
	}
	out := convert(t, files, "pdf")
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".xlsx")
		pages := map[string][]string{}
		for _, page := range strings.Split(strings.TrimSuffix(string(poppler(t, "pdftotext", "-layout", filepath.Join(out, name+".pdf"), "-")), "\f"), "\f") {
			head, _, _ := strings.Cut(strings.TrimLeft(page, "\n"), "\n")
			parts := regexp.MustCompile(` {2,}`).Split(strings.TrimSpace(head), -1) // workshop, sheet, subject
			require.Len(t, parts, 3, "%s: %q", name, head)
			pages[parts[1]] = append(pages[parts[1]], page)
		}
		if strings.HasPrefix(name, "cutting") {
			require.NotEmpty(t, pages["Lays"], name)
			for _, page := range pages["Lays"] {
				require.Contains(t, page, "Garments per ply", "one page holds all columns that are printed")
				require.NotContains(t, page, "Shortest")
			}
			continue
		}
		require.Len(t, pages["Working"], 1, "the steps are for the screen")
		require.NotContains(t, pages["Working"][0], "Handling")
		require.Contains(t, pages["Working"][0], "clear the print area")
		sheets := 0
		for i, page := range pages["Cost sheet"] {
			begun, ended := strings.Count(page, ", size "), strings.Count(page, "Cost, ready to sell")
			require.Equal(t, begun, ended, "%s: a cost sheet is torn", name)
			if i < len(pages["Cost sheet"])-1 {
				require.GreaterOrEqual(t, begun, 2, "%s: two cost sheets share a page", name)
			}
			sheets += begun
		}
		require.Equal(t, len(priced), sheets)
		require.Len(t, pages["Prices"], 1+len(priced)/40, name)
	}
}

// tableHeads are the names of the columns of a table.
func tableHeads(t testing.TB, file *excelize.File, sheet, area string) []string {
	t.Helper()
	from, to, _ := strings.Cut(area, ":")
	left, top, err := excelize.CellNameToCoordinates(from)
	require.NoError(t, err)
	right, _, err := excelize.CellNameToCoordinates(to)
	require.NoError(t, err)
	var heads []string
	for column := left; column <= right; column++ {
		head, err := file.GetCellValue(sheet, cellName(column, top))
		require.NoError(t, err)
		heads = append(heads, head)
	}
	return heads
}

// TestInputsAreChecked: every framed number and choice is kept within what makes sense.
func TestInputsAreChecked(t *testing.T) {
	t.Parallel()
	w := newTestWorkshop(t, 3)
	priced := w.prices(t)
	p := &pricing{book: newBook(w.options, "Prices"), priced: priced, channels: w.channels, digits: w.options.currency().Digits()}
	p.writeInputs()
	p.writeSheets()
	inputs := 0
	for _, page := range []*page{p.inputs, p.sheets} {
		for i, row := range page.rows {
			for j, c := range row {
				if c.look.kind != lookInput || c.look.wrap { // names of fees are free text
					continue
				}
				at := cellName(j+1, i+1)
				require.True(t, slices.ContainsFunc(page.checks, func(v validation) bool { return v.cell == at }), "%s!%s may hold anything", page.name, at)
				inputs++
			}
		}
	}
	require.Greater(t, inputs, 50)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, w.options) })
	validations, err := file.GetDataValidations("Inputs")
	require.NoError(t, err)
	require.NotEmpty(t, validations, "checks reach the file")
}

func TestPricingWorkbookNames(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, w.prices(t), w.channels, w.options) })
	names := map[string]string{}
	for _, n := range file.GetDefinedName() {
		names[n.Name] = n.RefersTo
	}
	for name, want := range map[string]string{
		"wage": "18", "efficiency": "0.9", "overhead_per_hour": "4.41", "batch_size": "24", "cloth_slate_poplin": "8.639", "cloth_slate_poplin_list": "7.8",
		"notion_elastic_in": "0.24", "packing_hang_tag": "0.09", "fair_target": "hourly", "fair_target_amount": "22", "shop_prompt_discount": "0.02",
		"online_postage_cost": "4.6", "online_price_ending": "0.95", "online_tax_included": "no",
	} {
		require.NotEmpty(t, names[name], name)
		sheet, cell := refOf(t, file, name)
		value, err := file.GetCellValue(sheet, cell)
		require.NoError(t, err)
		require.Equal(t, want, value, name)
	}
}

// TestPricingWorkbookScopes: inputs that styles don't share get cells of their own.
func TestPricingWorkbookScopes(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	w.pricing[2].Style, w.pricing[2].Garments = "Long skirt", money.Int(6)
	w.pricing[1].Wage = money.NewAmount(money.Int(20), w.options.Currency)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, w.prices(t), w.channels, w.options) })
	values := map[string]string{}
	for _, name := range []string{"batch_size", "batch_size_2", "wage", "wage_2", "wage_3", "efficiency"} {
		sheet, cell := refOf(t, file, name)
		value, err := file.GetCellValue(sheet, cell)
		require.NoError(t, err)
		values[name] = value
	}
	require.Equal(t, map[string]string{"batch_size": "24", "batch_size_2": "6", "wage": "18", "wage_2": "20", "wage_3": "18", "efficiency": "0.9"}, values)
}

func TestPricingWorkbookRefuses(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced := w.prices(t)
	euro := slices.Clone(w.channels)
	euro[1].Currency = money.MustCurrency("EUR")
	mixed := slices.Clone(priced)
	mixed[1].Sheet.Inputs.Currency = money.MustCurrency("EUR")
	for _, tt := range []struct {
		name     string
		priced   []costing.Pricing
		channels []costing.Channel
		message  string
	}{
		{"nothing", nil, w.channels, "nothing to price"},
		{"channels of other prices", priced, w.channels[:2], "3 channels, but 2"},
		{"channel in another currency", priced, euro, "channel Lantern Street Shop: USD and EUR"},
		{"prices in two currencies", mixed, w.channels, "USD and EUR"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			require.ErrorContains(t, PricingWorkbook(io.Discard, tt.priced, tt.channels, w.options), tt.message)
		})
	}
	require.ErrorIs(t, PricingWorkbook(brokenWriter{}, priced, w.channels, w.options), errBroken)
	require.ErrorIs(t, CuttingWorkbook(brokenWriter{}, handPlan(), handOptions), errBroken)
}

// Sizes that share a price show it, with what each of them then earns.
func TestPricingWorkbookOfOnePrice(t *testing.T) {
	t.Parallel()
	for _, rule := range []costing.OnePriceRule{costing.EverySizePays, costing.MixPays} {
		w := newTestWorkshop(t, 3)
		priced := w.prices(t)
		options := w.options
		options.OnePrices = w.onePrices(t, priced, rule)
		require.Greater(t, len(options.OnePrices[0].Mix), 1)
		_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, options) })
		rows, err := file.GetRows("Prices", excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		var prices []string
		for _, row := range rows {
			if len(row) > 5 && row[0] == priced[0].Sheet.Inputs.Style && row[1] == priced[0].Sheet.Inputs.Colourway {
				prices = append(prices, row[5])
			}
		}
		want := options.OnePrices[0].Found[0].Price.Number().Float64()
		for i := range options.OnePrices[0].Mix {
			got, err := strconv.ParseFloat(prices[i], 64)
			require.NoError(t, err)
			require.InDelta(t, want, got, 1e-9, rule)
		}
	}
	w := newTestWorkshop(t, 3)
	priced := w.prices(t)
	for _, spoil := range []func(o *OnePriced){
		func(o *OnePriced) { o.First = len(priced) },
		func(o *OnePriced) { o.Mix = nil },
		func(o *OnePriced) { o.Found = nil },
		func(o *OnePriced) { o.Mix = o.Mix[:1] },
	} {
		options := w.options
		options.OnePrices = w.onePrices(t, priced, costing.MixPays)
		spoil(&options.OnePrices[0])
		require.Error(t, PricingWorkbook(io.Discard, priced, w.channels, options))
	}
	options := w.options
	options.OnePrices = append(w.onePrices(t, priced, costing.MixPays), w.onePrices(t, priced, costing.MixPays)...)
	require.ErrorContains(t, PricingWorkbook(io.Discard, priced, w.channels, options), "two prices")
}

func TestPricingWorkbookWithoutChannels(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced, err := costing.Reprice(w.pricing, nil, costing.Change{})
	require.NoError(t, err)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, nil, w.options) })
	require.Equal(t, []string{"Inputs", "Cost sheet", "Cost by size", "Prices", "Working"}, file.GetSheetList())
}

// Every page of the pricing workbook has something that stays in sight when it is scrolled, and
// that each printed page begins with.
func TestPricingWorkbookHeadsStayInSight(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	priced, err := costing.Reprice(w.pricing, w.channels, costing.Change{})
	require.NoError(t, err)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, w.options) })
	titles := map[string]string{}
	for _, name := range file.GetDefinedName() {
		if name.Name == "_xlnm.Print_Titles" {
			titles[name.Scope] = name.RefersTo
		}
	}
	for _, sheet := range file.GetSheetList() {
		panes, err := file.GetPanes(sheet)
		require.NoError(t, err)
		require.True(t, panes.Freeze, sheet)
		require.Positive(t, panes.YSplit, sheet)
		require.Less(t, panes.YSplit, 8, "%s: there is room left below the head", sheet)
		require.NotEmpty(t, titles[sheet], sheet)
	}
	rows, err := file.GetRows("Cost sheet")
	require.NoError(t, err)
	panes, err := file.GetPanes("Cost sheet")
	require.NoError(t, err)
	heads := 0
	for i, row := range rows {
		if len(row) > usedColumn && row[usedColumn-1] == "Used" {
			heads++
			require.Equal(t, panes.YSplit, i+1, "the head of the lines is the last frozen row")
		}
	}
	require.Equal(t, 1, heads, "one head for all cost sheets")
}

func TestEmptyPlan(t *testing.T) {
	t.Parallel()
	_, file := readBook(t, func(w io.Writer) error { return CuttingWorkbook(w, batch.Plan{Name: "empty"}, Options{}) })
	value, err := file.GetCellValue("Shopping", "A4")
	require.NoError(t, err)
	require.Contains(t, value, "Nothing to buy")
}

func TestMoneyFormat(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		currency, locale string
		more             int
		want             string
	}{
		{"USD", "en-US", 0, `"$"#,##0.00`},
		{"USD", "en-US", 6, `"$"#,##0.00####`},
		{"EUR", "de", 0, "#,##0.00\"\u00a0€\""},
		{"JPY", "en-US", 0, `"¥"#,##0`},
		{"JPY", "en-US", 2, `"¥"#,##0.##`},
		{"KWD", "en-US", 0, "\"KWD\u00a0\"#,##0.000"},
		{"USD", "", 0, `"$"#,##0.00`},
	} {
		options := Options{Currency: money.MustCurrency(tt.currency), Locale: tt.locale}
		require.Equal(t, tt.want, options.moneyFormat(tt.more), "%s in %s", tt.currency, tt.locale)
	}
}

func TestExcelDay(t *testing.T) {
	t.Parallel()
	// ECMA-376 Part 1, 18.17.4.1: 1 January 1900 is day 1 and 29 February 1900 is counted, so
	// that 1 March 1900 is 61. 1 January 2000 is 36526 (from memory).
	require.Equal(t, 61, excelDay(time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC)))
	require.Equal(t, 36526, excelDay(time.Date(2000, 1, 1, 23, 0, 0, 0, time.FixedZone("west", -8*3600))))
}

func TestSlug(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"cloth_Fern print": "cloth_fern_print", "wage": "wage", "fee1": "n_fee1", "r": "n_r", "R1C1": "n_r1c1", "": "n_", "麻布": "n_", "3 yards": "n_3_yards",
		"a_x0041_b": "a_x_0041_b", "a_x0041": "a_x_0041", "=cmd|' /C calc'!A0": "cmd_c_calc_a0", strings.Repeat("long ", 20): "long_long_long_long_long_long_long_long",
	} {
		require.Equal(t, want, slug(text), text)
	}
}

// BenchmarkCuttingWorkbook writes a batch of 1,000 garments; BenchmarkPricingWorkbook prices 40
// style-colourways in 10 sizes.
func BenchmarkCuttingWorkbook(b *testing.B) {
	plan := largePlan()
	b.ReportAllocs()
	for b.Loop() {
		require.NoError(b, CuttingWorkbook(io.Discard, plan, handOptions))
	}
}

// largePlan is a plan of 1,000 garments in 100 lays, copied from the one by hand.
func largePlan() batch.Plan {
	plan := handPlan()
	planned := plan.Cloths[0]
	plan.Cloths, plan.Bundles, plan.Steps = nil, nil, nil
	for i := range 100 {
		next := planned
		next.Cloth.Name = fmt.Sprintf("cloth %d", i)
		next.Garments = []int{2 * i, 2*i + 1}
		plan.Cloths = append(plan.Cloths, next)
		if i > 0 {
			plan.Garments = append(plan.Garments, plan.Garments[0], plan.Garments[1])
		}
		plan.Steps = append(plan.Steps, handPlan().Steps...)
		for j := range 10 {
			plan.Bundles = append(plan.Bundles, batch.Bundle{Number: 10*i + j, Garment: 2 * i, Quantity: 1, Pieces: []batch.BundlePiece{{Name: "panel", Count: 2}}})
		}
	}
	return plan
}

func BenchmarkPricingWorkbook(b *testing.B) {
	w := sampleWorkshop(b)
	var line []costing.Inputs
	for i := range 40 {
		for j := range 10 {
			in := w.pricing[j%3]
			in.Style, in.Size = fmt.Sprintf("style %d", i), fmt.Sprintf("size %d", j)
			line = append(line, in)
		}
	}
	w.pricing = line
	priced := w.prices(b)
	b.ReportAllocs()
	for b.Loop() {
		require.NoError(b, PricingWorkbook(io.Discard, priced, w.channels, w.options))
	}
}

func BenchmarkMarkerSVG(b *testing.B) {
	instance, result := fullMarker()
	for b.Loop() {
		require.NoError(b, MarkerSVG(io.Discard, instance, result, fullDrawing))
	}
}

// A price that the maker typed is asked on the page of prices, and can be changed among the inputs.
func TestPricingWorkbookOfTypedPrices(t *testing.T) {
	t.Parallel()
	w := newTestWorkshop(t, 3)
	priced := w.typedPrices(t, w.prices(t))
	typed, ok := priced[0].TypedIn(0)
	require.True(t, ok)
	require.NotEqual(t, typed, priced[0].Quotes[0].Price)
	_, file := readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, w.options) })
	rows, err := file.GetRows("Prices", excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	head := slices.IndexFunc(rows, func(row []string) bool { return len(row) > 0 && row[0] == "Style" })
	got, err := strconv.ParseFloat(rows[head+1][5], 64)
	require.NoError(t, err)
	require.InDelta(t, typed.Number().Float64(), got, 1e-9)
	require.True(t, slices.ContainsFunc(file.GetDefinedName(), func(name excelize.DefinedName) bool { return strings.HasPrefix(name.Name, "typed_") }))
	require.Contains(t, fmt.Sprint(rows), "you typed "+typed.Format(w.options.Locale)+"; worked out "+priced[0].Quotes[0].Price.Format(w.options.Locale))
}

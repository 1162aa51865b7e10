package exports

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
)

// randomWorkshops is how many made-up workshops are recomputed: 6 in every run of the tests,
// 200 by make recompute.
var randomWorkshops = flag.Uint64("workshops", 6, "how many made-up workshops are recomputed by other programs")

// firstWorkshop is the seed of the first of them, so that a run can try others than the last one did.
var firstWorkshop = flag.Uint64("first-workshop", 0, "seed of the first made-up workshop that is recomputed by other programs")

// installOracles is what a machine without the spreadsheet programs is told.
const installOracles = "this test recomputes workbooks: apt-get install --no-install-recommends libreoffice-calc-nogui gnumeric"

// recalcProfile makes LibreOffice compute every formula anew when it opens a workbook, instead
// of believing the values kept in it.
const recalcProfile = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
`

// booksOfRun is how many workbooks one run of LibreOffice is given: starting it takes seconds,
// and it was seen to give up, without a word, when it was given hundreds.
const booksOfRun = 61

// inLibreOffice recomputes workbooks and returns the folder of the results.
func inLibreOffice(t *testing.T, files []string) string { return convert(t, files, "xlsx") }

// convert has LibreOffice write workbooks in another format, recomputed, and returns the folder.
func convert(t *testing.T, files []string, format string) string {
	t.Helper()
	program, err := exec.LookPath("soffice")
	require.NoError(t, err, installOracles)
	home := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(home, "user"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(home, "user", "registrymodifications.xcu"), []byte(recalcProfile), 0o644))
	out := t.TempDir()
	for some := range slices.Chunk(files, booksOfRun) {
		arguments := append([]string{"-env:UserInstallation=file://" + home, "--headless", "--norestore", "--convert-to", format, "--outdir", out}, some...)
		message, err := exec.CommandContext(t.Context(), program, arguments...).CombinedOutput()
		require.NoError(t, err, string(message))
		for _, file := range some {
			require.FileExists(t, filepath.Join(out, strings.TrimSuffix(filepath.Base(file), ".xlsx")+"."+format), string(message))
		}
	}
	return out
}

// inGnumeric recomputes workbooks and returns the folder of the results.
func inGnumeric(t *testing.T, files []string) string {
	t.Helper()
	program, err := exec.LookPath("ssconvert")
	require.NoError(t, err, installOracles)
	out := t.TempDir()
	for _, file := range files {
		message, err := exec.CommandContext(t.Context(), program, "--recalc", "--export-type=Gnumeric_Excel:xlsx2", file, filepath.Join(out, filepath.Base(file))).CombinedOutput()
		require.NoError(t, err, string(message))
	}
	return out
}

func openBook(t require.TestingT, path string) *excelize.File {
	file, err := excelize.OpenFile(path, excelize.Options{RawCellValue: true})
	require.NoError(t, err)
	return file
}

// sameCells compares every cell of a workbook of ours with another program's: text to the
// letter, numbers to a hundredth of a cent. It returns how many formulas were compared.
func sameCells(t *testing.T, want, got *excelize.File, what string) (formulas int) {
	t.Helper()
	require.Equal(t, want.GetSheetList(), got.GetSheetList(), what)
	for _, sheet := range want.GetSheetList() {
		rows, err := want.GetRows(sheet)
		require.NoError(t, err)
		theirs, err := got.GetRows(sheet)
		require.NoError(t, err)
		for i, row := range rows {
			for j, value := range row {
				at := cellName(j+1, i+1)
				where := fmt.Sprintf("%s, %s!%s", what, sheet, at)
				other := ""
				if i < len(theirs) && j < len(theirs[i]) {
					other = theirs[i][j]
				}
				text, err := want.GetCellFormula(sheet, at)
				require.NoError(t, err)
				if text != "" {
					formulas++
					where += " =" + text
					kind, err := got.GetCellType(sheet, at)
					require.NoError(t, err)
					require.NotEqual(t, excelize.CellTypeError, kind, "%s: %s", where, other)
				}
				sameValue(t, want, sheet, at, value, other, where)
			}
		}
	}
	return formulas
}

func sameValue(t *testing.T, file *excelize.File, sheet, at, want, got, where string) {
	t.Helper()
	kind, err := file.GetCellType(sheet, at)
	require.NoError(t, err)
	wantNumber, err := strconv.ParseFloat(want, 64)
	if kind == excelize.CellTypeInlineString || kind == excelize.CellTypeFormula || err != nil {
		require.Equal(t, plainText(want), plainText(got), where)
		return
	}
	gotNumber, err := strconv.ParseFloat(got, 64)
	require.NoError(t, err, where)
	require.LessOrEqual(t, math.Abs(wantNumber-gotNumber), 1e-4*math.Max(1, math.Abs(wantNumber)*1e-6), "%s: ours %s, theirs %s", where, want, got)
}

// plainText forgets spaces at the ends, which programs keep or drop as they like.
func plainText(text string) string { return strings.TrimSpace(text) }

// keepBook writes a workbook into a folder and returns its path.
func keepBook(t testing.TB, folder, name string, write func(*bytes.Buffer) error) string {
	t.Helper()
	var content bytes.Buffer
	require.NoError(t, write(&content))
	path := filepath.Join(folder, name)
	require.NoError(t, os.WriteFile(path, content.Bytes(), 0o644))
	return path
}

// change is an edit of an input cell, and the same change of what costing is given.
type change struct {
	name string
	// cell is a defined name, or firstLength.
	cell string
	// value to write, and what it does to the inputs.
	value any
	apply func(w *testWorkshop)
}

// changesOf lists edits that a maker might make.
func changesOf(w *testWorkshop) []change {
	currency := w.pricing[0].Currency
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), currency) }
	cloth := w.pricing[0].Cloths[0]
	prefix := w.channels[0].Kind.String()
	changes := []change{
		{"wage", "wage", 23.45, func(w *testWorkshop) {
			for i := range w.pricing {
				w.pricing[i].Wage = amount("23.45")
			}
		}},
		{"efficiency", "efficiency", 0.77, func(w *testWorkshop) {
			for i := range w.pricing {
				w.pricing[i].Efficiency = money.MustPercent("77")
			}
		}},
		{"overhead", "overhead_per_hour", 6.789, func(w *testWorkshop) {
			for i := range w.pricing {
				w.pricing[i].Overhead = amount("6.789")
			}
		}},
		{"cloth price", slug("cloth_"+cloth.Name) + "_list", 12.345, func(w *testWorkshop) {
			for i := range w.pricing {
				for j := range w.pricing[i].Cloths {
					if c := &w.pricing[i].Cloths[j]; c.Name == cloth.Name && c.Unit == cloth.Unit && c.Price == cloth.Price && c.Wastage == cloth.Wastage {
						c.Price.List = amount("12.345")
					}
				}
			}
		}},
		{"cloth length", firstLength, 0.875, func(w *testWorkshop) { w.pricing[0].Cloths[0].Length = money.MustParse("0.875") }},
		{"fee", firstFee, 0.033, func(w *testWorkshop) {
			if at := w.firstFee(); at >= 0 {
				w.channels[at].Fees[0].Rate = money.MustPercent("3.3")
			}
		}},
		{"tax", prefix + "_tax", 0.19, func(w *testWorkshop) { w.channels[0].Tax.Rate = money.MustPercent("19") }},
		{"tax in the price", prefix + "_tax_included", map[bool]string{true: "no", false: "yes"}[w.channels[0].Tax.Included], func(w *testWorkshop) {
			w.channels[0].Tax.Included = !w.channels[0].Tax.Included
		}},
		{"handling", prefix + "_handling_minutes", 4.5, func(w *testWorkshop) {
			w.channels[0].HandlingMinutes, w.channels[0].Stall = money.MustParse("4.5"), costing.Stall{}
		}},
		{"productive share", "productive_share", 0.55, func(w *testWorkshop) {
			for i := range w.pricing {
				w.pricing[i].Productive = money.MustPercent("55")
			}
		}},
		{"price step", prefix + "_price_step", 5, func(w *testWorkshop) { w.channels[0].PricePoint.Step = money.Int(5) }},
		{"postage", prefix + "_postage_cost", 3.21, func(w *testWorkshop) { w.channels[0].Postage.Cost = amount("3.21") }},
	}
	for _, target := range []costing.Target{
		{Kind: costing.TargetCost},
		{Kind: costing.TargetMarkup, Rate: money.MustPercent("35")},
		{Kind: costing.TargetMargin, Rate: money.MustPercent("21")},
		{Kind: costing.TargetHourly, Amount: amount("31.5")},
		{Kind: costing.TargetProfit, Amount: amount("7.25")},
	} {
		changes = append(changes, change{"target " + target.Kind.String(), "", target, func(w *testWorkshop) { w.channels[0].Target = target }})
	}
	return changes
}

// firstLength stands for the length of the first cloth on the first cost sheet, firstFee for the
// share of the first fee.
const (
	firstLength = "first length"
	firstFee    = "first fee"
)

// firstFee is the channel whose fee stands first; −1 if no channel takes any.
func (w *testWorkshop) firstFee() int {
	return slices.IndexFunc(w.channels, func(c costing.Channel) bool { return len(c.Fees) > 0 })
}

// asked are the changes that each workbook is tried with first; others are added in turn.
var asked = []string{"wage", "cloth price", "cloth length", "fee"}

// edit makes a change in a workbook.
func (c change) edit(t require.TestingT, file *excelize.File, w *testWorkshop) {
	set := func(name string, value any) {
		sheet, cell := refOf(t, file, name)
		require.NoError(t, file.SetCellValue(sheet, cell, value))
	}
	if target, ok := c.value.(costing.Target); ok {
		prefix := w.channels[0].Kind.String() + "_target"
		set(prefix, target.Kind.String())
		set(prefix+"_rate", float(target.Rate.Fraction()))
		set(prefix+"_amount", float(target.Amount.Number()))
		set(prefix+"_multiple", float(target.Multiple))
		return
	}
	set(c.cell, c.value)
}

// refOf finds the cell of a name.
func refOf(t require.TestingT, file *excelize.File, name string) (sheet, cell string) {
	for special, place := range map[string]struct {
		sheet, head string
		column      int
		below       int // rows from the head to the first number
	}{firstLength: {"Cost sheet", "Used", usedColumn, 2}, firstFee: {"Inputs", "Share", 3, 1}} {
		if name != special {
			continue
		}
		rows, err := file.GetRows(place.sheet)
		require.NoError(t, err)
		for i, row := range rows {
			if len(row) >= place.column && row[place.column-1] == place.head {
				return place.sheet, cellName(place.column, i+1+place.below)
			}
		}
	}
	for _, defined := range file.GetDefinedName() {
		if defined.Name == name {
			sheet, cell, _ := strings.Cut(defined.RefersTo, "!")
			return strings.Trim(sheet, "'"), strings.ReplaceAll(cell, "$", "")
		}
	}
	require.FailNow(t, "no such name", name)
	return "", ""
}

// clone copies what changes may touch.
func (w testWorkshop) clone() testWorkshop {
	w.pricing = append([]costing.Inputs(nil), w.pricing...)
	for i := range w.pricing {
		w.pricing[i].Cloths = append([]costing.Cloth(nil), w.pricing[i].Cloths...)
	}
	w.channels = append([]costing.Channel(nil), w.channels...)
	for i := range w.channels {
		w.channels[i].Fees = slices.Clone(w.channels[i].Fees)
	}
	return w
}

// onePrices gives the first style and colourway one price for all its sizes.
func (w testWorkshop) onePrices(t *testing.T, priced []costing.Pricing, rule costing.OnePriceRule) []OnePriced {
	t.Helper()
	first := w.pricing[0]
	var mix []money.Decimal
	for i, in := range w.pricing {
		if i == len(mix) && in.Style == first.Style && in.Colourway == first.Colourway {
			mix = append(mix, money.Int(int64(i)*3%5+1))
		}
	}
	found, err := costing.OnePrices(priced[:len(mix)], w.channels, costing.Change{}, mix, rule)
	require.NoError(t, err)
	return []OnePriced{{First: 0, Mix: mix, Found: found}}
}

// typedPrices has the maker type a price, below or above what is worked out, for some garments in
// each channel.
func (w testWorkshop) typedPrices(t *testing.T, priced []costing.Pricing) []costing.Pricing {
	t.Helper()
	typed := make(costing.TypedPrices, len(priced))
	for i, pricing := range priced {
		typed[i] = make([]money.Amount, len(w.channels))
		for c, quote := range pricing.Quotes {
			if (i+c)%3 != 0 || quote.Price.Sign() <= 0 {
				continue
			}
			price, err := quote.Price.Mul(money.New(int64(8+i%5), 1))
			require.NoError(t, err)
			typed[i][c] = price.Round(money.Up)
		}
	}
	again, err := costing.RepriceTyped(w.pricing, w.channels, costing.Change{}, typed)
	require.NoError(t, err)
	return again
}

// editedBook makes a few changes in the file of a workshop's prices, and the file that costing
// gives after the same changes.
func editedBook(t *testing.T, folder string, w testWorkshop, original string, tried map[string]int) (edited, want string) {
	t.Helper()
	changed := w.clone()
	file := openBook(t, original)
	all := changesOf(&w)
	var chosen []change
	for _, c := range all {
		if slices.Contains(asked, c.name) && (c.name != "fee" || w.firstFee() >= 0) {
			chosen = append(chosen, c)
		}
	}
	for i := range 3 {
		if c := all[(int(w.seed)*3+i*5)%len(all)]; !slices.Contains(asked, c.name) {
			chosen = append(chosen, c)
		}
	}
	for _, c := range chosen {
		trial := changed.clone()
		c.apply(&trial)
		if _, err := costing.Reprice(trial.pricing, trial.channels, costing.Change{}); err != nil {
			continue // no price can reach it; costing says so, and the workbook shows "none"
		}
		c.edit(t, file, &w)
		tried[c.name]++
		changed = trial
	}
	edited = filepath.Join(folder, fmt.Sprintf("edited-%02d.xlsx", w.seed))
	require.NoError(t, file.SaveAs(edited))
	want = keepBook(t, folder, fmt.Sprintf("want-%02d.xlsx", w.seed), func(b *bytes.Buffer) error {
		return PricingWorkbook(b, changed.prices(t), changed.channels, changed.options)
	})
	return edited, want
}

// plantWrongValue writes a workbook whose kept value is wrong: 1+2+3 with 999 beside it.
func plantWrongValue(t *testing.T, folder string) string {
	t.Helper()
	b := newBook(Options{}, "Planted")
	b.page("Planted", column{10, 10}).add(formulaCell("1+2+3", 999, ""))
	return keepBook(t, folder, "planted.xlsx", func(out *bytes.Buffer) error { return b.write(out) })
}

// editedCutting makes the changes in the file of a batch that a maker might make, and the file
// that the batch gives after the same changes: the marker of the first lay and its ends turn out
// otherwise, a step takes other minutes, the pace is another, and what is bought has another price.
func editedCutting(t *testing.T, folder string, w testWorkshop, plan batch.Plan, original string, tried map[string]int) (edited, want string) {
	t.Helper()
	file := openBook(t, original)
	set := func(sheet string, column, row int, value any) {
		require.NoError(t, file.SetCellValue(sheet, cellName(column, row), value))
	}
	headOf := func(sheet, first string) int {
		rows, err := file.GetRows(sheet)
		require.NoError(t, err)
		return 1 + slices.IndexFunc(rows, func(row []string) bool { return len(row) > 0 && row[0] == first })
	}
	plan.Cloths = slices.Clone(plan.Cloths)
	for i := range plan.Cloths {
		lays := slices.Clone(plan.Cloths[i].Plan.Lays)
		if len(lays) == 0 {
			continue
		}
		plan.Cloths[i].Plan.Lays = lays
		l := &lays[0]
		end, before := (l.PlyLength-l.Marker.Length)/2+length.Inch/8, l.PlyLength
		l.Marker.Length -= length.Inch / 2
		l.PlyLength = l.Marker.Length + 2*end
		l.Draws = slices.Clone(l.Draws)
		head := headOf("Lays", "Cloth")
		for j := range l.Draws {
			if l.Draws[j].Pitch == before { // where plies begin is a remark, and stays
				l.Draws[j].Pitch = l.PlyLength
			}
			set("Lays", markerColumn, head+1+j, inUnit(l.Marker.Length, w.options.small()))
			set("Lays", endColumn, head+1+j, inUnit(end, w.options.small()))
		}
		tried["marker and ends"]++
		break
	}
	if len(plan.Steps) > 0 {
		plan.Steps, plan.Stages = slices.Clone(plan.Steps), slices.Clone(plan.Stages)
		step := &plan.Steps[0]
		more := 90 * time.Second * time.Duration(step.Times)
		step.Each += 90 * time.Second
		step.Minutes += more
		plan.Minutes += more
		for i := range plan.Stages {
			if plan.Stages[i].Stage == step.Stage {
				plan.Stages[i].Minutes += more
			}
		}
		set("Steps", 6, headOf("Steps", "Stage")+1, minutes(step.Each))
		plan.Worked = time.Duration(float64(plan.Minutes) / 0.8)
		sheet, cell := refOf(t, file, "pace")
		require.NoError(t, file.SetCellValue(sheet, cell, 0.8))
		tried["minutes and pace"]++
	}
	if at := slices.IndexFunc(plan.Shopping, func(s batch.Shopping) bool { return s.Count > 0 }); at >= 0 {
		plan.Shopping = slices.Clone(plan.Shopping)
		plan.Shopping[at].Cost = 3_450_000 * lay.Money(plan.Shopping[at].Count)
		set("Shopping", priceOfShopping, headOf("Shopping", "Buy")+1+at, 3.45)
		tried["price of what is bought"]++
	}
	edited = filepath.Join(folder, fmt.Sprintf("cutting-edited-%02d.xlsx", w.seed))
	require.NoError(t, file.SaveAs(edited))
	want = keepBook(t, folder, fmt.Sprintf("cutting-want-%02d.xlsx", w.seed), func(b *bytes.Buffer) error { return CuttingWorkbook(b, plan, w.options) })
	return edited, want
}

// TestWorkbooksRecomputed gives both workbooks of random workshops, and the same with changed
// inputs, to LibreOffice and gnumeric, which compute every formula anew: each must come to what
// costing and batch worked out. -workshops says of how many, -first-workshop which one is first.
func TestWorkbooksRecomputed(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	planted := plantWrongValue(t, folder)
	wants, tried := map[string]string{}, map[string]int{}
	for seed := *firstWorkshop; seed < *firstWorkshop+*randomWorkshops; seed++ {
		w := newTestWorkshop(t, seed)
		plan, priced := w.plan(t), w.prices(t)
		cutting := keepBook(t, folder, fmt.Sprintf("cutting-%02d.xlsx", seed), func(b *bytes.Buffer) error { return CuttingWorkbook(b, plan, w.options) })
		pricing := keepBook(t, folder, fmt.Sprintf("pricing-%02d.xlsx", seed), func(b *bytes.Buffer) error {
			return PricingWorkbook(b, priced, w.channels, w.options)
		})
		edited, want := editedBook(t, folder, w, pricing, tried)
		recut, wantCut := editedCutting(t, folder, w, plan, cutting, tried)
		wants[cutting], wants[pricing], wants[edited], wants[recut] = cutting, pricing, want, wantCut
		typed := keepBook(t, folder, fmt.Sprintf("typed-%02d.xlsx", seed), func(b *bytes.Buffer) error {
			options, priced := w.options, w.typedPrices(t, priced)
			if seed%2 == 0 {
				options.OnePrices = w.onePrices(t, priced, costing.OnePriceRule(seed/2%2))
			}
			return PricingWorkbook(b, priced, w.channels, options)
		})
		wants[typed] = typed
		if seed%3 == 0 {
			shared := keepBook(t, folder, fmt.Sprintf("shared-%02d.xlsx", seed), func(b *bytes.Buffer) error {
				options := w.options
				options.OnePrices = w.onePrices(t, priced, costing.OnePriceRule(seed/3%2))
				return PricingWorkbook(b, priced, w.channels, options)
			})
			wants[shared] = shared
		}
	}
	t.Logf("%d workshops from seed %d; changed in their files: %v", *randomWorkshops, *firstWorkshop, tried)
	for _, name := range append([]string{"marker and ends", "minutes and pace"}, asked...) {
		require.Positive(t, tried[name], "no workbook was tried with another %s", name)
	}
	// Two halves go side by side, each with a start of its own of the other program.
	for half := range slices.Chunk(slices.Sorted(maps.Keys(wants)), (len(wants)+1)/2) {
		for name, recompute := range map[string]func(*testing.T, []string) string{"LibreOffice": inLibreOffice, "gnumeric": inGnumeric} {
			t.Run(name+" from "+filepath.Base(half[0]), func(t *testing.T) {
				t.Parallel()
				out := recompute(t, append([]string{planted}, half...))
				value, err := openBook(t, filepath.Join(out, filepath.Base(planted))).GetCellValue("Planted", "A1")
				require.NoError(t, err)
				require.Equal(t, "6", value, "%s believed a wrong kept value: it proves nothing", name)
				formulas := 0
				for _, file := range half {
					ours, theirs := openBook(t, wants[file]), openBook(t, filepath.Join(out, filepath.Base(file)))
					formulas += sameCells(t, ours, theirs, filepath.Base(file))
					require.NoError(t, ours.Close())
					require.NoError(t, theirs.Close())
				}
				require.Greater(t, formulas, 10*len(half))
				t.Logf("%s agreed on %d formulas of %d workbooks", name, formulas, len(half))
			})
		}
	}
}

// functionsOf2007 are the functions that formulas may use; all are in Excel 2007
// (ECMA-376 Part 1, 18.17.7).
var functionsOf2007 = map[string]bool{
	"SUM": true, "SUMPRODUCT": true, "SUBTOTAL": true, "SUMIF": true, "SUMIFS": true, "ROUND": true, "ROUNDUP": true, "ROUNDDOWN": true,
	"IF": true, "IFERROR": true, "MAX": true, "MOD": true, "NA": true,
	"INDIRECT": true, "LN": true, "ROW": true,
}

var functionCall = regexp.MustCompile(`([A-Za-z_.][A-Za-z0-9_.]*)\(`)

// quotedText is text and sheet names inside formulas.
var quotedText = regexp.MustCompile(`"[^"]*"|'[^']*'`)

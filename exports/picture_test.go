package exports

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/costing"
	"yardwright/costing/money"
)

// pictures names a folder that TestPictures leaves its drawings and workbooks in, to be looked
// at: go test ./exports -run TestPictures -pictures FOLDER.
var pictures = flag.String("pictures", "", "folder to leave drawings and workbooks in")

// chartNamed returns a shipped size chart.
func chartNamed(t testing.TB, name string) garment.SizeChart {
	t.Helper()
	for _, chart := range garment.ShippedCharts() {
		if chart.Name == name {
			return chart
		}
	}
	require.FailNow(t, "no chart", name)
	return garment.SizeChart{}
}

// starterMarker lays garments of a starter style in some sizes of its shipped chart.
func starterMarker(t testing.TB, starter garment.Starter, cloth batch.Cloth, sizes []int, perSize int) (marker.Instance, marker.Result) {
	t.Helper()
	style, chart := starter.Style(nil), chartNamed(t, starter.Chart)
	cloths := map[garment.Role]int64{}
	for _, role := range style.Roles() {
		cloths[role] = cloth.ID
	}
	instance := marker.Instance{Width: cloth.UsableWidth(), Repeat: cloth.Repeat}
	for _, at := range sizes {
		graded, err := style.Grade(chart, chart.SizeNames()[at])
		require.NoError(t, err)
		pieces, err := batch.PiecesOn(graded, batch.Colourway{Cloths: cloths}, cloth, length.Inch/8)
		require.NoError(t, err)
		for _, p := range pieces {
			instance.Pieces = append(instance.Pieces, marker.Piece{
				Name: p.Name, Copies: p.Copies * perSize, Width: p.Width, Length: p.Length, Outline: p.Outline, Turns: p.Turns, MayMirror: p.MayMirror, Match: p.Match,
			})
		}
	}
	result, err := marker.Solve(context.Background(), instance, marker.Params{Seed: 1, Iterations: 300})
	require.NoError(t, err)
	return instance, result
}

func keepPicture(t testing.TB, name string, content []byte) {
	t.Helper()
	if *pictures != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*pictures, name), content, 0o644))
	}
}

// TestPictures draws a marker of every starter style both ways.
func TestPictures(t *testing.T) {
	t.Parallel()
	cloths := []batch.Cloth{
		{ID: 1, Name: "Slate poplin", FullWidth: 44 * length.Inch, Selvage: length.Inch, Nap: batch.NapEitherWay},
		{ID: 2, Name: "Sparrow print", FullWidth: 44 * length.Inch, Selvage: length.Inch, Nap: batch.NapOneWay, Directional: true, Repeat: marker.Repeat{Length: 6 * length.Inch}},
		{ID: 3, Name: "Moss needlecord", FullWidth: 1500 * length.Millimetre, Selvage: 10 * length.Millimetre, Nap: batch.NapUpAndDown},
	}
	for i, starter := range garment.Starters() {
		cloth := cloths[i%len(cloths)]
		if starter.Name == "Circle skirt" {
			cloth = cloths[2]
		}
		instance, result := starterMarker(t, starter, cloth, []int{0, 1, 2}, 1)
		for _, direction := range []Direction{LengthUp, LengthRight} {
			var svg bytes.Buffer
			system := []length.System{length.Imperial, length.Metric}[i%2]
			require.NoError(t, MarkerSVG(&svg, instance, result, Drawing{
				ID: fmt.Sprintf("m%d-%s", i, direction), Title: cloth.Name + ", lay 1: " + starter.Name, Lengths: length.Style{System: system},
				Direction: direction, Nap: cloth.Nap, EndLoss: length.Inch / 2, Cuts: true, Standalone: true,
			}))
			keepPicture(t, fmt.Sprintf("marker-%d-%s.svg", i, direction), svg.Bytes())
			root := parseSVG(t, svg.String())
			require.Len(t, root.classed("marker-piece"), len(result.Placements))
			text := strings.Join(strings.Fields(allText(root)), " ")
			for _, piece := range instance.Pieces {
				require.Contains(t, text, piece.Name, "every piece is named")
			}
		}
	}
}

// TestSampleWorkbooks writes both workbooks of the sample on both papers.
func TestSampleWorkbooks(t *testing.T) {
	t.Parallel()
	w := sampleWorkshop(t)
	plan, priced := w.plan(t), w.prices(t)
	pieces := 0
	for _, planned := range plan.Cloths {
		for g, garment := range planned.Problem.Garments {
			for _, piece := range garment.Pieces {
				pieces += garment.Quantity * piece.Copies
			}
			pieces += planned.Plan.OverCut[g] * len(garment.Pieces)
		}
		for at, l := range planned.Plan.Lays {
			svg := draw(t, l.Instance, l.Marker, LayDrawing(planned, at, w.options.Lengths))
			require.Contains(t, svg, fmt.Sprintf("%s, lay %d", planned.Cloth.Name, at+1))
			keepPicture(t, fmt.Sprintf("lay-%d-%d.svg", planned.Cloth.ID, at+1), []byte(svg))
		}
	}
	for _, paper := range []Paper{A4, Letter} {
		options := w.options
		options.Paper = paper
		content, file := readBook(t, func(out io.Writer) error { return CuttingWorkbook(out, plan, options) })
		keepPicture(t, "cutting-"+string(paper)+".xlsx", content)
		cut, err := file.GetCellValue("Batch", "B8")
		require.NoError(t, err)
		require.Equal(t, strconv.Itoa(plan.Cut()), cut)
		rows, err := file.GetRows("Pieces")
		require.NoError(t, err)
		last := slices.IndexFunc(rows, func(row []string) bool { return len(row) > 0 && row[0] == "All" })
		require.Equal(t, strconv.Itoa(pieces), rows[last][13], "every piece of every garment is on the list")
		content, file = readBook(t, func(out io.Writer) error { return PricingWorkbook(out, priced, w.channels, options) })
		keepPicture(t, "pricing-"+string(paper)+".xlsx", content)
		price, err := file.GetCellValue("Prices", "F6")
		require.NoError(t, err)
		require.Equal(t, priced[0].Quotes[0].Price.Number().String(), price)
	}
}

// sampleWorkshop is a workshop as there could be one, for looking at; invented.
func sampleWorkshop(t testing.TB) testWorkshop {
	usd := money.MustCurrency("USD")
	start := time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	w := testWorkshop{options: Options{Workshop: "Quillfen Workroom", Locale: "en-US", Currency: usd, Date: start}}
	in := batch.Input{Name: "March fair", Start: start, Workroom: batch.Workroom{
		TableLength: 90 * length.Inch, MaxPlies: map[batch.Thickness]int{batch.Thin: 6, batch.Medium: 4, batch.Thick: 2}, EndLoss: length.Inch / 2, KeepLength: length.Foot,
		CutStep: length.Inch / 8, BuyStep: length.Yard / 8, BundleSize: 6, PerBundle: time.Minute, Efficiency: 900, Spread: lay.FaceOneWay,
		Rates:    lay.Rates{SetUp: 5 * time.Minute, SpreadPerMetre: 30 * time.Second, CutPerMetre: 27 * time.Second, PerHour: 25_000_000},
		Calendar: batch.Calendar{Minutes: [7]int{0, 600, 600, 600, 600, 540, 240}},
	}}
	in.Cloths = []batch.Cloth{
		{ID: 1, Name: "Slate poplin", FullWidth: 44 * length.Inch, Selvage: length.Inch, PricePerMetre: 8_530_184, PreWashed: true, Nap: batch.NapEitherWay, Thickness: batch.Thin, CanBuy: true},
		{ID: 2, Name: "Sparrow print", FullWidth: 44 * length.Inch, Selvage: length.Inch, PricePerMetre: 11_154_856, PreWashed: true, Nap: batch.NapOneWay, Directional: true, Thickness: batch.Thin, CanBuy: true},
		{ID: 3, Name: "Moss needlecord", FullWidth: 56 * length.Inch, Selvage: length.Inch, PricePerMetre: 14_107_612, PreWashed: true, Nap: batch.NapUpAndDown, Thickness: batch.Medium, CanBuy: true},
	}
	in.Bolts = []batch.Bolt{
		{ID: 1, Cloth: 1, Name: "S1", Lot: "A", Length: 6 * length.Yard, PricePerMetre: 8_530_184, Place: "shelf 1"},
		{ID: 2, Cloth: 1, Name: "S2", Lot: "B", Length: 7 * length.Yard / 2, PricePerMetre: 8_530_184, Place: "shelf 1"},
		{ID: 3, Cloth: 2, Name: "P1", Lot: "24-03", Length: 4 * length.Yard, PricePerMetre: 11_154_856, Place: "shelf 2"},
		{ID: 4, Cloth: 3, Name: "N1", Lot: "7", Length: 5 * length.Yard, PricePerMetre: 14_107_612, Place: "rail"},
	}
	in.Notions = []batch.Notion{
		{ID: 1, Name: "Elastic ¾ in", Kind: batch.FromRoll, Rolls: []batch.Roll{{Length: 10 * length.Yard, Count: 1}, {Length: 40 * length.Inch, Count: 2}}, BuyLength: 50 * length.Yard, BuyPrice: 12_000_000},
		{ID: 2, Name: "Thread, grey", Kind: batch.ByLength, Rolls: []batch.Roll{{Length: 1000 * length.Yard, Count: 1}}, BuyLength: 1000 * length.Yard, BuyPrice: 4_800_000},
		{ID: 3, Name: "Woven label", Kind: batch.ByCount, Count: 12, BuyCount: 50, BuyPrice: 9_000_000},
	}
	ways := []struct {
		starter, name string
		cloths        []int64
	}{{"Gathered skirt", "Slate and sparrow", []int64{1, 2, 2}}, {"Pillow-slip dress", "Sparrow", []int64{2, 1}}, {"Pull-on shorts", "Moss", []int64{3}}}
	for i, way := range ways {
		for _, starter := range garment.Starters() {
			if starter.Name != way.starter {
				continue
			}
			style := starter.Style(nil)
			in.Styles = append(in.Styles, batch.Style{ID: int64(i + 1), Style: style, Chart: chartNamed(t, starter.Chart)})
			colourway := batch.Colourway{ID: int64(i + 1), Style: int64(i + 1), Name: way.name, Cloths: map[garment.Role]int64{}, Notions: map[string]int64{"elastic": 1, "thread": 2, "label": 3}}
			for j, role := range style.Roles() {
				colourway.Cloths[role] = way.cloths[j]
			}
			in.Colourways = append(in.Colourways, colourway)
			for j, size := range chartNamed(t, starter.Chart).SizeNames()[1:4] {
				in.Lines = append(in.Lines, batch.Line{Order: fmt.Sprintf("26-%03d", 10*i+j), Customer: []string{"Osier Green Fair", "Lantern Street Shop", "Web"}[j], Due: start.AddDate(0, 0, 1+3*j), Colourway: int64(i + 1), Size: size, Quantity: 3 + j})
			}
		}
	}
	w.input = in
	w.channels = sampleChannels(usd)
	w.pricing = samplePricing(usd)
	return w
}

func sampleChannels(usd money.Currency) []costing.Channel {
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), usd) }
	percent := money.MustPercent
	return []costing.Channel{
		{
			Name: "Osier Green Fair", Kind: costing.Fair, Currency: usd, Fees: []costing.Fee{{Name: "Card fee", Rate: percent("2.6"), Fixed: amount("0.1")}},
			Target: costing.Target{Kind: costing.TargetHourly, Amount: amount("22")}, PricePoint: money.PricePoint{Step: money.Int(1)},
		},
		{
			Name: "Lantern Street Shop", Kind: costing.Shop, Currency: usd, Terms: costing.Terms{Days: 30, Discount: percent("2"), DiscountDays: 10, MinimumOrder: amount("150")},
			Target: costing.Target{Kind: costing.TargetMarkup, Rate: percent("20")}, PricePoint: money.PricePoint{Step: money.MustParse("0.5")},
		},
		{
			Name: "Quillfen web shop", Kind: costing.Online, Currency: usd, Fees: []costing.Fee{{Name: "Selling fee", Rate: percent("6.5")}, {Name: "Payment fee", Rate: percent("3"), Fixed: amount("0.25")}},
			Listing: costing.Listing{Fee: amount("0.2"), PerItem: money.MustParse("1.5")}, Postage: costing.Postage{Cost: amount("4.6"), Charged: amount("3.9")}, HandlingMinutes: money.Int(6),
			Target: costing.Target{Kind: costing.TargetWholesale, Multiple: money.Int(2)}, PricePoint: money.PricePoint{Step: money.Int(1), Ending: money.MustParse("0.95")},
		},
	}
}

func samplePricing(usd money.Currency) []costing.Inputs {
	amount := func(text string) money.Amount { return money.NewAmount(money.MustParse(text), usd) }
	number := money.MustParse
	var all []costing.Inputs
	for i, size := range []string{"92", "98", "104"} {
		more := money.New(int64(17*i), 3)
		longer := func(text string) money.Decimal {
			sum, err := number(text).Add(more)
			if err != nil {
				panic(err)
			}
			return sum
		}
		all = append(all, costing.Inputs{
			Style: "Gathered skirt", Colourway: "Slate and sparrow", Size: size, Currency: usd, Garments: number("24"),
			Cloths: []costing.Cloth{
				{Role: "body", Name: "Slate poplin", Length: longer("0.252"), EndsAndLosses: number("0.021"), Unit: "yd", Price: costing.LandedPrice{List: amount("7.8"), Freight: amount("0.35"), Tax: money.MustPercent("6")}},
				{Role: "band and pockets", Name: "Sparrow print", Length: longer("0.221"), EndsAndLosses: number("0.018"), Unit: "yd", Price: costing.Priced(amount("10.20"))},
			},
			Notions: []costing.Notion{
				{Name: "Elastic ¾ in", Quantity: longer("0.521"), Unit: "yd", Price: costing.LandedPrice{List: amount("12"), For: number("50")}},
				{Name: "Thread, grey", Quantity: number("38.5"), Unit: "yd", Price: costing.LandedPrice{List: amount("4.8"), For: number("1000"), Discount: money.MustPercent("10")}, Wastage: money.MustPercent("15")},
				{Name: "Woven label", Quantity: number("1"), Unit: "pc", Price: costing.LandedPrice{List: amount("9"), For: number("50")}},
			},
			Operations: []costing.Operation{
				{Name: "spread and cut", Run: number("2.117")},
				{Name: "press the band in half", SetUp: number("2"), Run: number("1")},
				{Name: "side seams", SetUp: number("3"), Run: number("2.5")},
				{Name: "casing", SetUp: number("3"), Run: number("3")},
				{Name: "press", SetUp: number("3"), Run: number("1.5")},
				{Name: "trim threads, check for pins and needles, tag", SetUp: number("1"), Run: number("1.5")},
			},
			Expenses: []costing.Expense{{Name: "Pattern grading", Amount: amount("60"), Garments: number("80")}},
			Packing:  []costing.Notion{{Name: "Hang tag", Quantity: number("1"), Unit: "pc", Price: costing.LandedPrice{List: amount("9"), For: number("100")}}},
			Wage:     amount("18"), Efficiency: money.MustPercent("90"), Overhead: amount("4.41"),
		})
	}
	return all
}

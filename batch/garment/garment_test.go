package garment_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"yardwright/batch/garment"
	"yardwright/batch/length"
)

func chartNamed(t *testing.T, name string) garment.SizeChart {
	t.Helper()
	for _, chart := range garment.ShippedCharts() {
		if chart.Name == name {
			return chart
		}
	}
	t.Fatalf("no shipped chart %q", name)
	return garment.SizeChart{}
}

func starterNamed(t *testing.T, name string) garment.Starter {
	t.Helper()
	for _, starter := range garment.Starters() {
		if starter.Name == name {
			return starter
		}
	}
	t.Fatalf("no starter %q", name)
	return garment.Starter{}
}

func pieceNamed(t *testing.T, graded garment.Graded, name string) garment.CutPiece {
	t.Helper()
	for _, piece := range graded.Pieces {
		if piece.Name == name {
			return piece
		}
	}
	t.Fatalf("no piece %q", name)
	return garment.CutPiece{}
}

func inches(t *testing.T, text string) length.Length {
	t.Helper()
	value, err := length.Parse(text, length.Inches)
	require.NoError(t, err)
	return value
}

func setNumber(style *garment.Style, name string, thousandths int64) {
	for i := range style.Allowances {
		if style.Allowances[i].Name == name {
			style.Allowances[i].Thousandths = thousandths
		}
	}
}

// chartOf is a chart of one size.
func chartOf(measures map[string]length.Length) garment.SizeChart {
	chart := garment.SizeChart{Name: "one", Sizes: []garment.Size{{Name: "one", Values: map[string]garment.Value{}}}}
	for name, value := range measures {
		chart.Measures = append(chart.Measures, garment.Measure{Name: name, Label: name})
		chart.Sizes[0].Values[name] = garment.Value{Length: value}
	}
	return chart
}

func TestEveryStarterGradesInEverySizeOfItsChart(t *testing.T) {
	t.Parallel()
	for _, starter := range garment.Starters() {
		combinations := 1 << len(starter.Options)
		for bits := range combinations {
			on := map[string]bool{}
			for i, option := range starter.Options {
				on[option.Name] = bits&(1<<i) != 0
			}
			style := starter.Style(on)
			chart := chartNamed(t, starter.Chart)
			require.NoError(t, style.Check(chart), starter.Name)
			for _, need := range starter.Needs {
				require.Contains(t, measureNames(chart), need, starter.Name)
			}
			var before garment.Graded
			for _, size := range chart.SizeNames() {
				graded, err := style.Grade(chart, size)
				require.NoError(t, err)
				require.Len(t, graded.Pieces, len(style.Pieces))
				for i, piece := range graded.Pieces {
					if before.Pieces != nil {
						require.GreaterOrEqual(t, piece.Width, before.Pieces[i].Width, "%s %s grows with the size", starter.Name, piece.Name)
					}
				}
				before = graded
			}
		}
	}
}

func measureNames(chart garment.SizeChart) []string {
	var names []string
	for _, measure := range chart.Measures {
		names = append(names, measure.Name)
	}
	return names
}

// common practice, no source: a child's gathered skirt with a folded contrast band and two
// patch pockets for a 24 in waist.
func TestGatheredSkirtForA24InchWaist(t *testing.T) {
	t.Parallel()
	style := starterNamed(t, "Gathered skirt").Style(nil)
	// Panels of 20½ in hold 20 in of cloth each between ¼ in seams: 40 in round for 24 in, a
	// fullness of 5/3. The length is set so that the panel comes to 14 in.
	setNumber(&style, "length_share", 1000)
	chart := chartOf(map[string]length.Length{"waist": inches(t, "24"), "height": inches(t, "15 1/4")})
	style.Allowances = append(style.Allowances, garment.Allowance{Name: "flat", Kind: garment.LengthAllowance, Length: inches(t, "40")})
	for i := range style.Pieces {
		style.Pieces[i].Width = strings.ReplaceAll(style.Pieces[i].Width, "waist*fullness", "flat")
	}
	graded, err := style.Grade(chart, "one")
	require.NoError(t, err)

	panel, band, pocket := pieceNamed(t, graded, "panel"), pieceNamed(t, graded, "band"), pieceNamed(t, graded, "pocket")
	require.Equal(t, []length.Length{inches(t, "20 1/2"), inches(t, "14")}, []length.Length{panel.Width, panel.Length})
	require.Equal(t, []length.Length{inches(t, "20 1/2"), inches(t, "6")}, []length.Length{band.Width, band.Length})
	require.Equal(t, []length.Length{inches(t, "6"), inches(t, "7")}, []length.Length{pocket.Width, pocket.Length})
	require.Equal(t, []int{2, 2, 2}, []int{panel.Copies, band.Copies, pocket.Copies})
	require.Equal(t, garment.Body, panel.Role)
	require.Equal(t, garment.Band, band.Role)

	// A band of 6 in folded along its length with ¼ in seams finishes 2¾ in deep.
	finished, ok := style.Allowance("band_depth")
	require.True(t, ok)
	require.Equal(t, inches(t, "2 3/4"), finished.Length)
	// A ¾ in elastic goes in a casing of 1 in after a ¼ in turn-under.
	width, _ := style.Allowance("elastic_width")
	ease, _ := style.Allowance("casing_ease")
	turn, _ := style.Allowance("turn_under")
	require.Equal(t, inches(t, "3/4"), width.Length)
	require.Equal(t, inches(t, "1"), width.Length+ease.Length)
	require.Equal(t, inches(t, "1/4"), turn.Length)
	// Elastic is cut at the waist measure; the ends overlap an inch each, which makes 22 in.
	overlap, _ := style.Allowance("overlap")
	require.Equal(t, inches(t, "24"), graded.Notions[0].Length)
	require.Equal(t, inches(t, "22"), graded.Notions[0].Length-overlap.Length)
	// A patch pocket turns ¼ + ¼ in on sides and bottom, ¼ + ¾ to 1 in at the top.
	side, _ := style.Allowance("pocket_turn")
	top, _ := style.Allowance("pocket_top")
	require.Equal(t, inches(t, "1/2"), side.Length)
	require.GreaterOrEqual(t, top.Length, inches(t, "1"))
	require.LessOrEqual(t, top.Length, inches(t, "1 1/4"))
}

// A sector drawn with straight edges holds the true ring: its area is a little more, never less.
func TestSectorHoldsTheTrueRing(t *testing.T) {
	t.Parallel()
	chart := chartOf(map[string]length.Length{"waist": inches(t, "24")})
	style := garment.Style{Name: "ring", Pieces: []garment.Piece{{
		Name: "half", Role: garment.Body, Copies: 1, Shape: garment.Sector, Angle: 180, Grain: garment.Lengthwise, Inner: "4*inch", Outer: "20*inch",
	}}}
	graded, err := style.Grade(chart, "one")
	require.NoError(t, err)
	true2 := 3.14159265358979 * (20*20 - 4*4) // twice the area of the half ring
	drawn2 := twiceArea(graded.Pieces[0].Outline) / float64(length.Inch) / float64(length.Inch)
	require.GreaterOrEqual(t, drawn2, true2)
	require.Less(t, drawn2, true2*1.002)
	require.Equal(t, 40*length.Inch, graded.Pieces[0].Width)
	require.Equal(t, 20*length.Inch, graded.Pieces[0].Length)
}

func twiceArea(outline []garment.Point) float64 {
	sum := 0.0
	for i, point := range outline {
		next := outline[(i+1)%len(outline)]
		sum += float64(point.X)*float64(next.Y) - float64(next.X)*float64(point.Y)
	}
	return max(sum, -sum)
}

// Every sewing example of testdata/trade/worked-examples.json (grades A and B, each with its
// source) that has numbers going in and a size or a count coming out, as a formula of a style.
func TestFormulasGiveThePublishedAnswers(t *testing.T) {
	t.Parallel()
	examples := workedExamples(t)
	for _, test := range []struct{ id, formula, answer string }{
		{"G1", "finished_width_m*fullness", "cut_width_m"},
		{"G1", "ceil(finished_width_m*fullness/fabric_width_m)", "strips"},
		{"G1", "finished_depth_cm + allowance_depth_cm", "strip_depth_cm"},
		{"G1", "ceil(finished_width_m*fullness/fabric_width_m)*(finished_depth_cm + allowance_depth_cm)", "fabric_cm"},
		{"P1", "round(section_cm/pleat_width_cm)", "pleats"},
		{"P1", "2*pleat_depth_cm*round(section_cm/pleat_width_cm) + section_cm", "cut_width_cm"},
		{"P1", "ceil((2*pleat_depth_cm*round(section_cm/pleat_width_cm) + section_cm)/(fabric_width_cm - seam_allow_per_strip_cm))", "strips"},
		{"P1", "ceil((2*pleat_depth_cm*round(section_cm/pleat_width_cm) + section_cm)/(fabric_width_cm - seam_allow_per_strip_cm))*pleat_length_cm", "fabric_cm"},
		{"P2", "section_cm/pleat_width_cm", "pleats"},
		{"P2", "3*section_cm", "cut_width_cm"},
		{"P2", "3*section_cm + allowance_cm", "with_allowance_cm"},
		{"P3", "finished_cm + 4*pleat_depth_cm", "cut_width_cm"},
		{"P4", "finished_cm + 4*pleat_depth_cm", "cut_width_cm"},
		{"P5", "(width_cm - 2*edge_cm)/gap_cm + 1", "tucks"},
		{"P6", "ceil((width_cm - 2*edge_cm)/(gap_cm + tuck_mm))", "gaps"},
		{"P6", "width_cm + 2*tuck_mm*(ceil((width_cm - 2*edge_cm)/(gap_cm + tuck_mm)) + 1)", "cut_width_cm"},
		{"P8", "half_cloth_in - half_waist_in", "waist"},
		{"P8", "half_cloth_in - half_hip_in", "hip"},
		{"P8", "half_cloth_in - half_hem_in", "hem"},
		{"P9", "(to_pleat_hip_in - first_pleat_in)/other_pleats", "each"},
		{"Y1", "roundUp(breadths*(finished_length_in + hem_in), yard/8)", "yards"},
		{"Y5", "width_in*fullness", "cut_in"},
		{"Y5", "ceil(width_in*fullness/fabric_in)", "widths"},
		{"Y5", "ceil(width_in*fullness/fabric_in)*(drop_in + allowance_in)", "yards"},
		{"R1", "roundUp(needed_in, repeat_in)", "cut_in"},
		{"R2", "roundUp(needed_in, repeat_in)", "cut_in"},
		{"R3", "roundUp(finished_in + allow_in, repeat_in)", "repeat_cut"},
		{"R3", "ceil(overall_in*fullness/fabric_in)", "widths"},
		{"R3", "ceil(overall_in*fullness/fabric_in)*roundUp(finished_in + allow_in, repeat_in)", "total_in"},
		{"R4", "ceil(3*outside_in/fabric_in)", "widths"},
		{"R4", "ceil(unfinished_in/repeat_in)", "repeats"},
		{"R4", "ceil(3*outside_in/fabric_in)*unfinished_in", "plain_yd"},
		{"C1", "waist_in/(2*pi)", "radius_in"},
		{"C2", "circumference_in/6.28", "radius_in"},
		{"C4", "waist_in/(2*pi)", "full"},
		{"C4", "2*waist_in/(2*pi)", "half"},
		{"C4", "3*waist_in/(2*pi)", "third"},
		{"C4", "4*waist_in/(2*pi)", "quarter"},
		{"K1", "elastic_in + 1/4*inch + 1/4*inch", "total_allowance"},
		{"T7", "seam_cm*ratio", "total_cm"},
		{"T6", "(round(10*needle_cm/sample_cm) + round(10*looper_cm/sample_cm))/10*seam_cm*(1 + waste)", "with_waste_cm"},
	} {
		t.Run(test.id+" "+test.answer, func(t *testing.T) {
			t.Parallel()
			example, ok := examples[test.id]
			require.True(t, ok)
			style := garment.Style{Name: "example", Pieces: []garment.Piece{{
				Name: "piece", Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Width: test.formula, Length: "1*cm", Grain: garment.Lengthwise,
			}}}
			for name, raw := range example.Inputs {
				style.Allowances = append(style.Allowances, exampleAllowance(t, name, raw))
			}
			want, isLength := exampleAnswer(t, test.answer, example.Published[test.answer])
			if !isLength {
				// A count times a centimetre is a length that shows the count.
				style.Pieces[0].Width = "(" + test.formula + ")*cm"
			}
			chart := chartOf(map[string]length.Length{"girth": length.Metre})
			require.NoError(t, style.Check(chart))
			graded, err := style.Grade(chart, "one")
			require.NoError(t, err)
			tolerance := max(8, example.Tolerance*float64(want)/max(0.1, exampleNumber(t, example.Published[test.answer])))
			require.InDelta(t, float64(want), float64(graded.Pieces[0].Width), tolerance, example.Source)
		})
	}
}

type workedExample struct {
	ID, Source        string
	Inputs, Published map[string]json.RawMessage
	Tolerance         float64
}

func workedExamples(t *testing.T) map[string]workedExample {
	t.Helper()
	content, err := os.ReadFile("../../testdata/trade/worked-examples.json")
	require.NoError(t, err)
	var list []workedExample
	require.NoError(t, json.Unmarshal(content, &list))
	byID := map[string]workedExample{}
	for _, example := range list {
		byID[example.ID] = example
	}
	return byID
}

func exampleNumber(t *testing.T, raw json.RawMessage) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(string(raw), 64)
	require.NoError(t, err)
	return value
}

// exampleUnit reads the unit at the end of a name such as finished_width_m.
func exampleUnit(name string) (length.Measure, bool) {
	if name == "yards" {
		return length.Yards, true
	}
	if name == "waist" || name == "hip" || name == "hem" || name == "each" || name == "repeat_cut" || name == "total_allowance" ||
		name == "full" || name == "half" || name == "third" || name == "quarter" {
		return length.Inches, true
	}
	at := strings.LastIndexByte(name, '_')
	if at < 0 {
		return length.Measure{}, false
	}
	switch unit := name[at+1:]; unit {
	case "m", "cm", "mm", "in", "yd":
		return length.MeasureNamed(unit)
	}
	return length.Measure{}, false
}

func exampleAllowance(t *testing.T, name string, raw json.RawMessage) garment.Allowance {
	t.Helper()
	if measure, ok := exampleUnit(name); ok {
		value, err := length.Parse(string(raw), measure)
		require.NoError(t, err)
		return garment.Allowance{Name: name, Kind: garment.LengthAllowance, Length: value}
	}
	return garment.Allowance{Name: name, Kind: garment.NumberAllowance, Thousandths: int64(math.Round(exampleNumber(t, raw) * 1000))}
}

func exampleAnswer(t *testing.T, name string, raw json.RawMessage) (want length.Length, isLength bool) {
	t.Helper()
	measure, isLength := exampleUnit(name)
	if !isLength {
		measure = length.Centimetres
	}
	want, err := length.Parse(string(raw), measure)
	require.NoError(t, err)
	return want, isLength
}

// S3 of testdata/trade (grade A, arithmetic): cut = finished / (1 − s).
func TestShrinkage(t *testing.T) {
	t.Parallel()
	piece := garment.CutPiece{Name: "panel", Width: inches(t, "24"), Length: inches(t, "10"), Grain: garment.Lengthwise}
	exact, err := garment.Shrinkage{Crosswise: 300}.Shrink(piece, 1)
	require.NoError(t, err)
	require.InDelta(t, 24.742, exact.Width.Inches(), 0.0005)
	require.Equal(t, piece.Length, exact.Length)

	ruled, err := garment.Shrinkage{Crosswise: 300, Lengthwise: 500}.Shrink(piece, length.Inch/8)
	require.NoError(t, err)
	require.Equal(t, inches(t, "24 3/4"), ruled.Width)
	require.Equal(t, inches(t, "10 1/2"), ruled.Length)

	piece.Grain = garment.Crosswise
	turned, err := garment.Shrinkage{Lengthwise: 300}.Shrink(piece, 1)
	require.NoError(t, err)
	require.InDelta(t, 24.742, turned.Width.Inches(), 0.0005, "a crosswise piece has its width along the warp")

	shaped := garment.CutPiece{Width: 100, Length: 100, Grain: garment.Lengthwise, Outline: []garment.Point{{X: 0, Y: 0}, {X: 100, Y: 0}, {X: 0, Y: 100}}}
	grown, err := garment.Shrinkage{Lengthwise: 1000}.Shrink(shaped, length.Inch/8)
	require.NoError(t, err)
	require.Equal(t, length.Length(111), grown.Length, "a shaped piece keeps its true size")

	require.Error(t, garment.Shrinkage{Lengthwise: -1}.Check())
	require.Error(t, garment.Shrinkage{Crosswise: 3001}.Check())
	require.NoError(t, garment.Shrinkage{Crosswise: 3000}.Check())
}

func TestBadStylesSayWhatIsWrongAtTheField(t *testing.T) {
	t.Parallel()
	chart := chartOf(map[string]length.Length{"waist": inches(t, "24")})
	good := func() garment.Style {
		return garment.Style{
			Name:       "skirt",
			Allowances: []garment.Allowance{{Name: "seam", Kind: garment.LengthAllowance, Length: inches(t, "1/4")}, {Name: "fullness", Kind: garment.NumberAllowance, Thousandths: 1500}},
			Pieces:     []garment.Piece{{Name: "panel", Role: garment.Body, Copies: 2, Shape: garment.Rectangle, Width: "waist + seam", Length: "10*inch", Grain: garment.Lengthwise}},
			Notions:    []garment.NotionNeed{{Notion: "elastic", Length: "waist", Count: 1}},
			Operations: []garment.Operation{{Name: "sew", Stage: garment.Sew}},
		}
	}
	require.NoError(t, good().Check(chart))
	for _, test := range []struct {
		name        string
		spoil       func(*garment.Style)
		field, want string
	}{
		{"no name", func(s *garment.Style) { s.Name = " " }, "name", "write a name"},
		{"unknown name", func(s *garment.Style) { s.Pieces[0].Width = "wiast + seam" }, "pieces[0].width", `"wiast" is not a measure`},
		{"bare number", func(s *garment.Style) { s.Pieces[0].Width = "waist + 2" }, "pieces[0].width", "write a unit"},
		{"number for a length", func(s *garment.Style) { s.Pieces[0].Width = "fullness" }, "pieces[0].width", "write a unit"},
		{"negative", func(s *garment.Style) { s.Pieces[0].Width = "waist - 30*inch" }, "pieces[0].width", "a piece must have some size"},
		{"divides by zero", func(s *garment.Style) { s.Pieces[0].Width = "waist/(fullness - fullness)" }, "pieces[0].width", "divide by zero"},
		{"half a formula", func(s *garment.Style) { s.Pieces[0].Width = "waist +" }, "pieces[0].width", "can't be read"},
		{"empty formula", func(s *garment.Style) { s.Pieces[0].Length = "" }, "pieces[0].length", "write a formula"},
		{"text", func(s *garment.Style) { s.Pieces[0].Length = `"ten"` }, "pieces[0].length", "plain arithmetic"},
		{"list", func(s *garment.Style) { s.Pieces[0].Length = `[1,2]` }, "pieces[0].length", "plain arithmetic"},
		{"huge", func(s *garment.Style) { s.Pieces[0].Length = "waist*100" }, "pieces[0].length", "more than 50 m"},
		{"endless", func(s *garment.Style) { s.Pieces[0].Length = strings.Repeat("waist+", 100) + "waist" }, "pieces[0].length", "at most 400 letters"},
		{"wrong arguments", func(s *garment.Style) { s.Pieces[0].Length = "roundUp(waist)" }, "pieces[0].length", "roundUp takes 2 values"},
		{"reserved", func(s *garment.Style) { s.Allowances[0].Name = "inch" }, "allowances[0].name", "already means something"},
		{"twice", func(s *garment.Style) { s.Allowances[0].Name = "waist" }, "allowances[0].name", "appears twice"},
		{"capital", func(s *garment.Style) { s.Allowances[0].Name = "Seam" }, "allowances[0].name", "small letters"},
		{"kind", func(s *garment.Style) { s.Allowances[0].Kind = "weight" }, "allowances[0].kind", "length or number"},
		{"copies", func(s *garment.Style) { s.Pieces[0].Copies = 0 }, "pieces[0].copies", "from 1 to 100"},
		{"odd pair", func(s *garment.Style) { s.Pieces[0].Copies, s.Pieces[0].Pair = 3, true }, "pieces[0].copies", "even number"},
		{"grain", func(s *garment.Style) { s.Pieces[0].Grain = "up" }, "pieces[0].grain", "choose lengthwise"},
		{"shape", func(s *garment.Style) { s.Pieces[0].Shape = "blob" }, "pieces[0].shape", "choose rectangle"},
		{"gathered", func(s *garment.Style) { s.Pieces[0].Gathered = "seam" }, "pieces[0].gathered", "not a number allowance"},
		{"same piece twice", func(s *garment.Style) { s.Pieces = append(s.Pieces, s.Pieces[0]) }, "pieces[1].name", "appears twice"},
		{"no pieces", func(s *garment.Style) { s.Pieces = nil }, "pieces", "1 to 60 pieces"},
		{"size missing in a table", func(s *garment.Style) {
			s.Pieces[0].Table = map[string]garment.Cut{"two": {Width: length.Inch, Length: length.Inch}}
		}, "pieces[0].table", "cut width and length of this size"},
		{"crossing outline", func(s *garment.Style) {
			s.Pieces[0].Shape = garment.Outlined
			s.Pieces[0].Points = []garment.OutlinePoint{{X: "0", Y: "0"}, {X: "waist", Y: "waist"}, {X: "waist", Y: "0"}, {X: "0", Y: "waist"}}
		}, "pieces[0].points", "crosses itself"},
		{"two points", func(s *garment.Style) {
			s.Pieces[0].Shape = garment.Outlined
			s.Pieces[0].Points = []garment.OutlinePoint{{X: "0", Y: "0"}, {X: "waist", Y: "waist"}}
		}, "pieces[0].points", "3 to 200 points"},
		{"unknown name in a point", func(s *garment.Style) {
			s.Pieces[0].Shape = garment.Outlined
			s.Pieces[0].Points = []garment.OutlinePoint{{X: "0", Y: "0"}, {X: "hips", Y: "0"}, {X: "waist", Y: "waist"}}
		}, "pieces[0].points[1].x", `"hips" is not`},
		{"ring inside out", func(s *garment.Style) {
			s.Pieces[0].Shape, s.Pieces[0].Angle, s.Pieces[0].Inner, s.Pieces[0].Outer = garment.Sector, 90, "waist", "waist/2"
		}, "pieces[0].outer", "larger than the inner"},
		{"angle", func(s *garment.Style) {
			s.Pieces[0].Shape, s.Pieces[0].Angle = garment.Sector, 45
		}, "pieces[0].angle", "90, 180 or 360"},
		{"elastic", func(s *garment.Style) { s.Notions[0].Length = "waist - 30*inch" }, "notions[0].length", "nothing or less"},
		{"elastic count", func(s *garment.Style) { s.Notions[0].Count = 0 }, "notions[0].count", "from 1 to 100"},
		{"minutes", func(s *garment.Style) { s.Operations[0].Each = -1 }, "operations[0].each", "0 to 1440"},
		{"stage", func(s *garment.Style) { s.Operations[0].Stage = "dream" }, "operations[0].stage", "choose prepare"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			style := good()
			test.spoil(&style)
			err := style.Check(chart)
			var problems garment.Problems
			require.ErrorAs(t, err, &problems)
			for _, problem := range problems {
				if problem.Field == test.field && strings.Contains(problem.Message, test.want) {
					return
				}
			}
			t.Fatalf("want %s: %s, got\n%v", test.field, test.want, err)
		})
	}
}

// Where a piece has one size, it can be written as the pages write it, without a formula.
func TestAWrittenLengthIsAFormula(t *testing.T) {
	t.Parallel()
	chart := chartOf(map[string]length.Length{"girth": length.Metre})
	width := func(text string) (length.Length, error) {
		style := garment.Style{Name: "apron", Pieces: []garment.Piece{{
			Name: "panel", Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Width: text, Length: "10*inch", Grain: garment.Lengthwise,
		}}}
		if err := style.Check(chart); err != nil {
			return 0, err
		}
		graded, err := style.Grade(chart, "one")
		require.NoError(t, err)
		return graded.Pieces[0].Width, nil
	}
	for text, want := range map[string]length.Length{"17⅜ in": 139 * length.Inch / 8, "44.1 cm": 441 * length.Millimetre, "17⅜ in (44.1 cm)": 139 * length.Inch / 8, "17 3/8 in": 139 * length.Inch / 8} {
		got, err := width(text)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	for text, want := range map[string]string{"18": "write a unit", "60 m": "more than 50 m", "0 in": "a piece must have some size"} {
		_, err := width(text)
		require.ErrorContains(t, err, want)
	}
}

func TestAFormulaThatFailsInOneSizeNamesTheSize(t *testing.T) {
	t.Parallel()
	chart := chartNamed(t, "Children by height")
	style := garment.Style{Name: "skirt", Pieces: []garment.Piece{{
		Name: "panel", Role: garment.Body, Copies: 2, Shape: garment.Rectangle, Width: "waist - 48*cm", Length: "10*inch", Grain: garment.Lengthwise,
	}}}
	var problems garment.Problems
	require.ErrorAs(t, style.Check(chart), &problems)
	require.Len(t, problems, 1)
	require.Equal(t, "86", problems[0].Size)
}

func TestBadCharts(t *testing.T) {
	t.Parallel()
	good := func() garment.SizeChart { return chartOf(map[string]length.Length{"waist": length.Metre}) }
	require.NoError(t, good().Check())
	for _, test := range []struct {
		name        string
		spoil       func(*garment.SizeChart)
		field, want string
	}{
		{"no name", func(c *garment.SizeChart) { c.Name = "" }, "name", "write a name"},
		{"no sizes", func(c *garment.SizeChart) { c.Sizes = nil }, "sizes", "at least one size"},
		{"no measures", func(c *garment.SizeChart) { c.Measures = nil }, "measures", "at least one measure"},
		{"reserved", func(c *garment.SizeChart) { c.Measures[0].Name = "pi" }, "measures[0].name", "already means"},
		{"two sizes alike", func(c *garment.SizeChart) { c.Sizes = append(c.Sizes, c.Sizes[0]) }, "sizes[1].name", "appears twice"},
		{"zero", func(c *garment.SizeChart) { c.Sizes[0].Values["waist"] = garment.Value{} }, "sizes[0].waist", "above zero"},
		{"unknown measure", func(c *garment.SizeChart) { c.Sizes[0].Values["hip"] = garment.Value{Length: 1} }, "sizes[0].hip", "not a measure"},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			chart := good()
			test.spoil(&chart)
			var problems garment.Problems
			require.ErrorAs(t, chart.Check(), &problems)
			require.Equal(t, test.field, problems[0].Field)
			require.Contains(t, problems[0].Message, test.want)
		})
	}
}

// The shipped rows against the published tables: Snyder et al. 1977 and NHANES 2017-2020
// (public domain; statistics of the micro-data), PS 42-70 (from memory).
func TestShippedChartsAgreeWithTheirSources(t *testing.T) {
	t.Parallel()
	children := chartNamed(t, "Children by height")
	require.GreaterOrEqual(t, len(children.Sizes), 10)
	waists, knees := map[string]string{}, map[string]string{}
	for _, row := range readCSV(t, "../../testdata/sizes/open-anthropometry-by-height-band.csv") {
		if strings.HasPrefix(row["source"], "NHANES") && row["sex"] == "both" && row["measure"] == "waist_girth" {
			waists[row["height_band_centre_cm"]] = row["p50_cm"]
		}
	}
	for _, row := range readCSV(t, "../../testdata/sizes/snyder-1977-knee-height-by-stature.csv") {
		knees[row["stature_band_centre_cm"]] = row["mean_knee_height_cm"]
	}
	for _, size := range children.Sizes {
		require.Equal(t, centimetres(t, waists[size.Name]), size.Values["waist"].Length, size.Name)
		require.Equal(t, centimetres(t, knees[size.Name]), size.Values["knee_height"].Length, size.Name)
		require.Equal(t, centimetres(t, size.Name), size.Values["height"].Length)
		require.Contains(t, size.Values["waist"].Source, "NHANES")
		require.Contains(t, size.Values["knee_height"].Source, "Snyder")
	}
	women := chartNamed(t, "Women by number")
	rows := readCSV(t, "../../testdata/sizes/women-waist-hip.csv")
	require.Len(t, women.Sizes, len(rows))
	for i, row := range rows {
		require.Equal(t, row["size"], women.Sizes[i].Name)
		for _, measure := range []string{"bust", "waist", "hip"} {
			require.Equal(t, inches(t, row[measure+"_in"]), women.Sizes[i].Values[measure].Length)
			require.Contains(t, women.Sizes[i].Values[measure].Source, "from memory")
		}
	}
	for _, chart := range garment.ShippedCharts() {
		require.NoError(t, chart.Check())
		for _, size := range chart.Sizes {
			for _, value := range size.Values {
				require.NotEmpty(t, value.Source, "every row names its source")
			}
		}
	}
}

func readCSV(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, file.Close()) }()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var named []map[string]string
	for _, row := range rows[1:] {
		record := map[string]string{}
		for i, name := range rows[0] {
			record[name] = row[i]
		}
		named = append(named, record)
	}
	return named
}

func centimetres(t *testing.T, text string) length.Length {
	t.Helper()
	value, err := length.Parse(text, length.Centimetres)
	require.NoError(t, err)
	return value
}

// A piece on the fold comes out whole and symmetric, a bias piece at 45 degrees.
func TestFoldAndBias(t *testing.T) {
	t.Parallel()
	chart := chartOf(map[string]length.Length{"waist": inches(t, "24")})
	style := garment.Style{Name: "s", Pieces: []garment.Piece{
		{Name: "half", Role: garment.Body, Copies: 1, Shape: garment.Outlined, Grain: garment.Lengthwise, Fold: true, Points: []garment.OutlinePoint{
			{X: "0", Y: "0"}, {X: "12*inch", Y: "0"}, {X: "8*inch", Y: "20*inch"}, {X: "0", Y: "20*inch"},
		}},
		{Name: "folded rectangle", Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Width: "10*inch", Length: "4*inch", Grain: garment.Lengthwise, Fold: true},
		{Name: "binding", Role: garment.Band, Copies: 1, Shape: garment.Rectangle, Width: "2*inch", Length: "30*inch", Grain: garment.Bias},
	}}
	require.NoError(t, style.Check(chart))
	graded, err := style.Grade(chart, "one")
	require.NoError(t, err)
	require.Equal(t, 24*length.Inch, graded.Pieces[0].Width)
	require.InDelta(t, 2*20*20, twiceArea(graded.Pieces[0].Outline)/float64(length.Inch)/float64(length.Inch), 1e-6)
	require.Equal(t, 20*length.Inch, graded.Pieces[1].Width)
	binding := graded.Pieces[2]
	require.InDelta(t, 32/1.41421356, binding.Width.Inches(), 0.001)
	require.InDelta(t, binding.Width.Inches(), binding.Length.Inches(), 0.001)
	require.InDelta(t, 2*60, twiceArea(binding.Outline)/float64(length.Inch)/float64(length.Inch), 0.001)

	style.Pieces[0].Points[0].X = "1*inch"
	var problems garment.Problems
	require.ErrorAs(t, style.Check(chart), &problems)
	require.Contains(t, problems[0].Message, "fold")
}

// More of a measure never makes a piece smaller in the starters, whatever the waist.
func TestStartersGrowWithTheBody(t *testing.T) {
	t.Parallel()
	style := starterNamed(t, "Gathered skirt").Style(nil)
	rapid.Check(t, func(t *rapid.T) {
		waist := length.Length(rapid.Int64Range(int64(30*length.Centimetre), int64(120*length.Centimetre)).Draw(t, "waist"))
		height := length.Length(rapid.Int64Range(int64(70*length.Centimetre), int64(180*length.Centimetre)).Draw(t, "height"))
		more := length.Length(rapid.Int64Range(8, int64(20*length.Centimetre)).Draw(t, "more"))
		small, err := style.Grade(chartOf(map[string]length.Length{"waist": waist, "height": height}), "one")
		require.NoError(t, err)
		large, err := style.Grade(chartOf(map[string]length.Length{"waist": waist + more, "height": height + more}), "one")
		require.NoError(t, err)
		for i := range small.Pieces {
			require.GreaterOrEqual(t, large.Pieces[i].Width, small.Pieces[i].Width)
			require.GreaterOrEqual(t, large.Pieces[i].Length, small.Pieces[i].Length)
		}
		require.Greater(t, large.Notions[0].Length, small.Notions[0].Length)
	})
}

func BenchmarkCheckStyle(b *testing.B) {
	starter := garment.Starters()[0]
	var chart garment.SizeChart
	for _, c := range garment.ShippedCharts() {
		if c.Name == starter.Chart {
			chart = c
		}
	}
	style := starter.Style(nil)
	for b.Loop() {
		if err := style.Check(chart); err != nil {
			b.Fatal(err)
		}
	}
}

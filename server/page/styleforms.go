package page

import (
	"fmt"
	"strconv"
	"strings"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

func (s Style) address() string { return fmt.Sprintf("/styles/%d", s.Style.ID) }

// AllowancesForm is the form of the allowances of the style.
func (s Style) AllowancesForm() Form {
	rows := make([][]Field, len(s.Style.Allowances))
	for i, a := range s.Style.Allowances {
		field := s.TextField("allowance."+a.Name, a.Label, a.RangeWords(s.Units)+"; called "+a.Name+" in formulas", s.allowance(a))
		field.Class = "short"
		rows[i] = []Field{field}
	}
	return s.Base.Form(s.address(), s.address(), s.Style.Version, rows...)
}

// allowance writes an allowance for its box.
func (s Style) allowance(a garment.Allowance) string {
	if a.Kind == garment.NumberAllowance {
		return money.New(a.Thousandths, 3).String()
	}
	if a.Length == 0 {
		return "0"
	}
	return s.Input(a.Length)
}

// MixField and OfferedField are the boxes of a size of the chart.
func MixField(size int) string     { return fmt.Sprintf("mix.%d", size) }
func OfferedField(size int) string { return fmt.Sprintf("offered.%d", size) }

// MixForm is the form of the sizes in a usual batch.
func (s Style) MixForm() Form {
	rows := make([][]Field, len(s.Mix.Sizes))
	for i, size := range s.Mix.Sizes {
		var share any
		if size.Share != nil {
			share = *size.Share
		}
		number := s.WholeField(MixField(i), "How many of size "+size.Size+" in a usual batch", "", share)
		number.Class = "minutes"
		rows[i] = []Field{s.TickField(OfferedField(i), size.Size, size.Offered), number}
	}
	return s.Base.Form(s.address(), s.address()+"/sizes", s.Mix.Version, rows...)
}

// StepsForm is the form of the minutes of the steps.
func (s Style) StepsForm() Form {
	rows := make([][]Field, len(s.Style.Operations))
	for i, o := range s.Style.Operations {
		rows[i] = []Field{
			s.NumberField(StepField(i, "set_up"), "Set-up minutes of "+o.Name, "", s.MinutesInput(o.SetUp)),
			s.NumberField(StepField(i, "each"), "Minutes of "+o.Name+" for each garment", "", s.MinutesInput(o.Each)),
		}
		rows[i][0].Class, rows[i][1].Class = "minutes", "minutes"
	}
	return s.Base.Form(s.address(), s.address()+"/steps", s.Style.Version, rows...)
}

// StyleEdit is the page of a style's name, steps and notions.
type StyleEdit struct {
	Base
	Style   store.Style
	Wearers []Option
	// Known are the names that formulas may use.
	Known []string
}

func (StyleEdit) page() string { return "style_edit" }

// How many steps and notions a style takes on its page, and how many empty rows are offered.
const (
	MaxSteps    = 60
	MaxNeeds    = 30
	spareOfEach = 2
)

// StepField names a box of a step, NeedField one of a notion that a garment takes.
func StepField(row int, part string) string { return rowField("step", row, part) }
func NeedField(row int, part string) string { return rowField("need", row, part) }

// KnownWords are the names that formulas may use, in one line.
func (v StyleEdit) KnownWords() string { return strings.Join(v.Known, ", ") }

// Form is the form of the style.
func (v StyleEdit) Form() Form {
	place := fmt.Sprintf("/styles/%d/edit", v.Style.ID)
	return v.Base.Form(place, place, v.Style.Version,
		[]Field{v.TextField("name", "Name", "", v.Style.Name), v.Choose("wearer", "Worn by", "decides which cautions are shown", v.Style.Wearer, v.Wearers)},
		[]Field{v.LinesField("note", "Note", "", v.Style.Note)},
	).With("step", v.steps()).With("need", v.needs())
}

func (v StyleEdit) steps() [][]Field {
	rows := make([][]Field, v.RowsTyped("step", len(v.Style.Operations)+spareOfEach, MaxSteps))
	for row := range rows {
		var name, setUp, each, stage any = nil, nil, nil, garment.Sew
		if row < len(v.Style.Operations) {
			o := v.Style.Operations[row]
			name, setUp, each, stage = o.Name, v.MinutesInput(o.SetUp), v.MinutesInput(o.Each), o.Stage
		}
		rows[row] = []Field{
			v.NumberField(StepField(row, "place"), "Place", "", row+1), v.TextField(StepField(row, "name"), "Step", "", name),
			v.Choose(StepField(row, "stage"), "Stage", "", stage, Words(garment.Stages()...)),
			v.NumberField(StepField(row, "set_up"), "Set-up, min", "", setUp), v.NumberField(StepField(row, "each"), "Each, min", "", each),
		}
	}
	return rows
}

func (v StyleEdit) needs() [][]Field {
	rows := make([][]Field, v.RowsTyped("need", len(v.Style.Notions)+spareOfEach, MaxNeeds))
	for row := range rows {
		var name, length, count any
		if row < len(v.Style.Notions) {
			n := v.Style.Notions[row]
			name, length, count = n.Notion, n.Length, n.Count
		}
		rows[row] = []Field{
			v.TextField(NeedField(row, "name"), "Notion", "", name), v.TextField(NeedField(row, "length"), "Length, as a formula", "empty: counted", length),
			v.NumberField(NeedField(row, "count"), "How many", "of a garment", count),
		}
	}
	return rows
}

// PieceEdit is the page of a piece of a style.
type PieceEdit struct {
	Base
	Style store.Style
	Piece garment.Piece
	// At is the place of the piece in its style; a new one comes last.
	At int
	// Known are the names that formulas may use.
	Known  []string
	Sizes  []string
	Grains []garment.Grain
}

func (PieceEdit) page() string { return "piece_edit" }

// New reports whether the piece is a new one.
func (v PieceEdit) New() bool { return v.At == len(v.Style.Pieces) }

// CanRemove reports whether the piece can be taken out of its style.
func (v PieceEdit) CanRemove() bool { return !v.New() && len(v.Style.Pieces) > 1 }

// Address is that of the page.
func (v PieceEdit) Address() string {
	if v.New() {
		return fmt.Sprintf("/styles/%d/pieces/new", v.Style.ID)
	}
	return fmt.Sprintf("/styles/%d/pieces/%d", v.Style.ID, v.At)
}

// Rectangle reports whether the piece has formulas or a table of cut sizes.
func (v PieceEdit) Rectangle() bool { return v.Piece.Shape == garment.Rectangle }

// Form is the form of the piece.
func (v PieceEdit) Form() Form {
	p := v.Piece
	rows := [][]Field{{
		v.TextField("name", "Name", "", p.Name), v.TextField("role", "Cut from the cloth for the", "", p.Role),
		v.WholeField("copies", "How many per garment", "", p.Copies), v.Choose("grain", "Grain", "", p.Grain, Words(v.Grains...)),
	}}
	rows[0][1].List = "roles"
	if v.Rectangle() {
		rows = append(rows, []Field{v.TextField("width", "Across", "", p.Width), v.TextField("length", "Along", "", p.Length)}, []Field{v.TickField("fold", "This is half of it: the left edge lies on a fold", p.Fold)})
	}
	rows = append(rows, []Field{v.TextField("note", "Note for the cut sheet", "", p.Note)})
	form := v.Base.Form(v.Address(), v.Address(), v.Style.Version, rows...)
	if v.Rectangle() {
		form = form.With("cut", v.cuts())
	}
	if v.Rectangle() || p.Drawn != nil {
		form = form.With("seam", [][]Field{v.SeamWidths(p)})
	}
	return form
}

// SeamWidths are the boxes of the allowances that lie within an outline or a table of cut sizes.
func (b Base) SeamWidths(p garment.Piece) []Field {
	return []Field{
		b.TextField("seam", "Seam allowance in it, at the sides", "then the seam line is drawn on templates", b.Input(p.Seam)),
		b.TextField("seam_top", "at the top", "empty: as at the sides; 0: none", b.OwnInput(p.SeamTop)),
		b.TextField("seam_bottom", "at the bottom, or the hem", "empty: as at the sides; 0: none", b.OwnInput(p.SeamBottom)),
	}
}

func (v PieceEdit) cuts() [][]Field {
	rows := make([][]Field, len(v.Sizes))
	for i, size := range v.Sizes {
		cut := v.Piece.Table[size]
		rows[i] = []Field{
			v.TextField(fmt.Sprintf("cut.%d.width", i), "Across, size "+size, "", v.Input(cut.Width)), v.TextField(fmt.Sprintf("cut.%d.length", i), "Along, size "+size, "", v.Input(cut.Length)),
		}
		rows[i][0].Class, rows[i][1].Class = "wide", "wide"
	}
	return rows
}

// ColourwayEdit is the page of a colourway.
type ColourwayEdit struct {
	Base
	Style     store.Style
	Colourway store.Colourway
	Roles     []garment.Role
	Cloths    []store.Cloth
	Notions   []store.Notion
	// Missing leads to a form for each need of the style that no notion has the name of.
	Missing []Step
}

func (ColourwayEdit) page() string { return "colourway_edit" }

// Form is the form of the colourway.
func (v ColourwayEdit) Form() Form {
	place, action := fmt.Sprintf("/styles/%d/colourways/new", v.Style.ID), fmt.Sprintf("/styles/%d/colourways", v.Style.ID)
	if v.Colourway.ID != 0 {
		action = fmt.Sprintf("%s/%d", action, v.Colourway.ID)
		place = action
	}
	cloths, notions := []Option{{Text: "choose"}}, []Option{{Text: "choose"}}
	for _, c := range v.Cloths {
		cloths = append(cloths, Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name + ", " + c.Design + ", " + v.Piece(c.FullWidth) + " wide"})
	}
	for _, n := range v.Notions {
		notions = append(notions, Option{Value: strconv.FormatInt(n.ID, 10), Text: n.Name})
	}
	rows := [][]Field{{v.TextField("name", "Name", "", v.Colourway.Name)}}
	for _, role := range v.Roles {
		rows = append(rows, []Field{v.Choose("cloth."+string(role), "Cloth for the "+string(role), "", v.Colourway.Cloths[role], cloths)})
	}
	for _, need := range v.Style.Notions {
		rows = append(rows, []Field{v.Choose("notion."+need.Notion, need.Notion, "", v.Colourway.Notions[need.Notion], notions)})
	}
	return v.Base.Form(place, action, v.Colourway.Version, rows...)
}

// ChartEdit is the page of a chart of the maker's own.
type ChartEdit struct {
	Base
	Chart store.Chart
}

func (ChartEdit) page() string { return "chart_edit" }

// Form is the form of the chart.
func (v ChartEdit) Form() Form {
	action := fmt.Sprintf("/charts/%d", v.Chart.ID)
	rows := make([][]Field, len(v.Chart.Sizes))
	for i, size := range v.Chart.Sizes {
		for _, m := range v.Chart.Measures {
			field := v.TextField(fmt.Sprintf("value.%d.%s", i, m.Name), m.Label+" of size "+size.Name, "", v.Input(size.Values[m.Name].Length))
			field.Class = "wide"
			rows[i] = append(rows[i], field)
		}
	}
	return v.Base.Form(action+"/edit", action, v.Chart.Version, []Field{v.TextField("name", "Name", "", v.Chart.Name)}).With("value", rows)
}

// CopyForm is the form that makes a chart the maker's own.
func (c Chart) CopyForm() Form {
	place := fmt.Sprintf("/charts/%d", c.Chart.ID)
	return c.Base.Form(place, place+"/copy", 0, []Field{c.TextField("name", "Name of the copy", "", "Our "+c.Chart.Name)})
}

// StyleNew is the page that begins a style.
type StyleNew struct {
	Base
	Starters []garment.Starter
	Starter  garment.Starter
	Charts   []store.Chart
}

func (StyleNew) page() string { return "style_new" }

// Form is the form that begins a style.
func (v StyleNew) Form() Form {
	chart := ""
	options := make([]Option, len(v.Charts))
	for i, c := range v.Charts {
		options[i] = Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name}
		if c.Name == v.Starter.Chart {
			chart = options[i].Value
		}
	}
	ticks := make([]Field, len(v.Starter.Options))
	for i, o := range v.Starter.Options {
		ticks[i] = v.TickOf("option", o.Name, o.Label, o.On)
	}
	return v.Base.Form("/styles/new?starter="+v.Starter.Name, "/styles", 0,
		[]Field{v.HiddenField("starter", v.Starter.Name), v.TextField("name", "Your name for it", "", v.Starter.Name)},
		[]Field{v.Choose("chart", "Size chart", "it must have "+strings.Join(v.Starter.Needs, " and "), chart, options)},
	).With("option", [][]Field{ticks})
}

// Seams is the page of a style's seams, for its thread.
type Seams struct {
	Base
	Style store.Style
	Seams []store.Seam
	// Formula is the one that the style has now.
	Formula  string
	Known    []string
	Sizes    []string
	Measured []MeasuredSeam
	Totals   []string
	Stitches []costing.Stitch
}

func (Seams) page() string { return "seams" }

// MeasuredSeam is a seam in all sizes.
type MeasuredSeam struct {
	Name, Class, Ratio string
	Cells              []string
}

// MaxSeams is how many seams the form takes, and spareSeams how many empty rows it offers.
const (
	MaxSeams   = 16
	spareSeams = 3
)

// SeamField names a box of a seam.
func SeamField(row int, part string) string { return rowField("seam", row, part) }

// Form is the form of the seams.
func (v Seams) Form() Form {
	stitches := []Option{{Text: "choose"}}
	for _, st := range v.Stitches {
		stitches = append(stitches, Option{Value: st.Class, Text: st.Class + " " + st.Name + ", " + st.Ratio.String() + " × seam"})
	}
	rows := make([][]Field, v.RowsTyped("seam", len(v.Seams)+spareSeams, MaxSeams))
	for row := range rows {
		var seam store.Seam
		if row < len(v.Seams) {
			seam = v.Seams[row]
		}
		rows[row] = []Field{
			v.TextField(SeamField(row, "name"), "Seam", "", seam.Name), v.Choose(SeamField(row, "class"), "Stitch", "", seam.Class, stitches),
			v.TextField(SeamField(row, "length"), "Length, as a formula", "", seam.Length), v.NumberField(SeamField(row, "count"), "How often", "", v.PlainInt(seam.Count)),
			v.NumberField(SeamField(row, "ratio"), "Your own × seam", "empty: the stitch's", v.Plain(seam.Ratio)),
		}
	}
	place := fmt.Sprintf("/styles/%d/seams", v.Style.ID)
	return v.Base.Form(place, place, v.Style.Version, rows...)
}

package page

import (
	"html/template"
	"slices"
	"strconv"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/server/workshop"
)

// OutlineFile is the form for a drawing from which a piece takes its outline.
type OutlineFile struct {
	PieceEdit
	// Back is the page that led here.
	Back string
}

func (OutlineFile) page() string { return "outline_file" }

// OutlineLook shows the shapes of a drawing at a scale, to choose from.
type OutlineLook struct {
	PieceEdit
	// Drawing is the number of the kept drawing.
	Drawing int64
	Seen    workshop.SeenDrawing
	// Scale is how the scale is known.
	Scale  string
	Shapes []OutlineShape
	// More shapes are not shown.
	More int
	// Usable shapes can be an outline; Only is the only one of them, by index, or −1.
	Usable, Only int
	// Named are the shapes that are named after the sizes, by index; −1 for none.
	Named []int
}

func (OutlineLook) page() string { return "outline_look" }

// Address is that of the page.
func (v OutlineLook) Address() string {
	return v.PieceEdit.Address() + "/outline/" + strconv.FormatInt(v.Drawing, 10)
}

// shapes are the shapes to choose from; drawn leaves out those that can't be an outline.
func (v OutlineLook) shapes(none string, drawn bool) []Option {
	options := []Option{{Text: none}}
	for _, shape := range v.Shapes {
		if !drawn || shape.Drawing != "" {
			options = append(options, Option{Value: strconv.Itoa(shape.Number), Text: strconv.Itoa(shape.Number) + " · " + shape.Name})
		}
	}
	return options
}

// ScaleForm asks how large the drawing is.
func (v OutlineLook) ScaleForm() Form {
	return v.Base.Form(v.Address(), v.Address(), 0,
		[]Field{v.NumberField("units", "So many units of the drawing", "", "1"), v.TextField("together", "are as long as", "such as 1 mm", "")},
		[]Field{v.Choose("square", "Which shape is the square", "", "", v.shapes("none", false)), v.TextField("edge", "Its edge is", "such as 4 in or 10 cm", "")},
	)
}

// TakeForm is the form that takes outlines for the piece.
func (v OutlineLook) TakeForm() Form {
	var named [][]Field
	if v.New() {
		named = [][]Field{
			{
				v.TextField("name", "Name", "", ""), v.TextField("role", "Cut from the cloth for the", "", garment.Body),
				v.WholeField("copies", "How many per garment", "", 1), v.Choose("grain", "Grain", "", garment.Lengthwise, Words(v.Grains...)),
			},
			{v.TickField("pair", "Left and right: half of them are cut face down", false)},
		}
		named[0][1].List = "roles"
	}
	all := ""
	if v.Only >= 0 {
		all = strconv.Itoa(v.Only + 1)
	}
	sizes := make([]Field, len(v.Sizes))
	for i, size := range v.Sizes {
		own := ""
		if v.Named[i] >= 0 && v.Usable > 1 {
			own = strconv.Itoa(v.Named[i] + 1)
		}
		sizes[i] = v.Choose("size."+strconv.Itoa(i), size, "", own, v.shapes("as for all sizes", true))
	}
	return v.Base.Form(v.Address(), v.Address(), v.Style.Version,
		[]Field{v.HiddenField("scale", v.Scale), v.HiddenField("units", "1"), v.HiddenField("together", ""), v.HiddenField("square", ""), v.HiddenField("edge", "")},
	).With("named", named).With("all", [][]Field{{v.Choose("all", "Shape for all sizes", "", all, v.shapes("none", true))}, v.SeamWidths(v.Piece)}).
		With("size", [][]Field{sizes}).With("fold", [][]Field{{v.TickField("fold", "This is half of it: the straight left edge lies on a fold", v.Piece.Fold)}})
}

// BySize reports whether a size has a shape of its own.
func (v OutlineLook) BySize(f Form) bool {
	return slices.ContainsFunc(f.List("size")[0], func(field Field) bool { return field.Value != "" || field.Wrong != "" })
}

// OutlineShape is one shape of a drawing; it has a picture once its size is known.
type OutlineShape struct {
	Number        int
	Name, Problem string
	Width, Length length.Length
	// Exact is its size in the drawing, to hold against a ruler.
	Exact   string
	Drawing template.HTML
}

func init() { pages["outline_file"], pages["outline_look"] = nil, nil }

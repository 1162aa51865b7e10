package page

import (
	"html/template"
	"strconv"

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

// ForAll is the number of the shape for all sizes, as it was chosen or as there is only one.
func (v OutlineLook) ForAll() string {
	if _, typed := v.Raw["all"]; !typed && v.Only >= 0 {
		return strconv.Itoa(v.Only + 1)
	}
	return v.Typed("all", "")
}

// Chosen is the number of the shape for a size, as it was chosen or as one is named after it.
func (v OutlineLook) Chosen(size int) string {
	field := "size." + strconv.Itoa(size)
	if _, typed := v.Raw[field]; !typed && size < len(v.Named) && v.Named[size] >= 0 && v.Usable > 1 {
		return strconv.Itoa(v.Named[size] + 1)
	}
	return v.Typed(field, "")
}

// BySize tells whether a size has a shape of its own.
func (v OutlineLook) BySize() bool {
	for i := range v.Sizes {
		if v.Chosen(i) != "" || v.Wrong("size."+strconv.Itoa(i)) != "" {
			return true
		}
	}
	return false
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

func init() { pages["outline_file"], pages["outline_look"] = nil, []string{"form_parts"} }

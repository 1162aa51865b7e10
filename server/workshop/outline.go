package workshop

import (
	"bytes"
	"context"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/outline"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// How the scale of a drawing is known.
const (
	ScaleOfDrawing = "drawing"
	ScaleOfUnits   = "units"
	ScaleOfSquare  = "square"
)

// OutlineScale says how large a drawing is.
type OutlineScale struct {
	// By is one of the three above.
	By string
	// Units together are as long as Together.
	Units    money.Decimal
	Together length.Length
	// Square is the path that is a test square with edges of length Edge.
	Square int
	Edge   length.Length
}

// perUnit is what one unit measures, in mm; the Fault names the field.
func (s OutlineScale) perUnit(d *outline.Drawing) (float64, error) {
	switch s.By {
	case ScaleOfUnits:
		units, err := strconv.ParseFloat(s.Units.String(), 64)
		if err != nil {
			return 0, err
		}
		per, err := outline.PerUnitOf(units, s.Together)
		if err != nil {
			return 0, store.Wrong("together", asSentence(err))
		}
		return per, nil
	case ScaleOfSquare:
		per, err := d.PerUnitBySquare(s.Square, s.Edge)
		if err != nil {
			return 0, store.Wrong("edge", asSentence(err))
		}
		return per, nil
	case ScaleOfDrawing:
		if d.PerUnit > 0 {
			return d.PerUnit, nil
		}
		return 0, store.Wrong("scale", d.WhyNot+" State it below.")
	}
	return 0, store.Wrong("scale", "Choose how the scale is known.")
}

// asSentence begins an error with a capital and ends it with a full stop.
func asSentence(err error) string {
	text := []rune(err.Error())
	text[0] = unicode.ToUpper(text[0])
	return strings.TrimSuffix(string(text), ".") + "."
}

// SeenDrawing is a drawing with its shapes at their true size.
type SeenDrawing struct {
	Name    string
	Drawing *outline.Drawing
	PerUnit float64
	Shapes  []SeenShape
}

// SeenShape is a shape of a drawing: its outline, or why it can't be one.
type SeenShape struct {
	outline.Shape
	Name    string
	Problem string
}

// TakeDrawing keeps an SVG drawing, once it has been read, until an outline is chosen from it.
func (s *Service) TakeDrawing(ctx context.Context, workshop int64, name string, r io.Reader) (int64, error) {
	content, err := io.ReadAll(io.LimitReader(r, outline.LargestFile+1))
	if err != nil {
		return 0, err
	}
	if _, err := outline.Read(bytes.NewReader(content)); err != nil {
		return 0, store.Wrong("file", asSentence(err))
	}
	return s.store.KeepDrawing(ctx, workshop, strings.ToValidUTF8(strings.ReplaceAll(name, "\x00", ""), "?"), content)
}

// SeeDrawing reads a kept drawing. A Fault about the scale comes with the drawing, whose shapes
// then have no size yet.
func (s *Service) SeeDrawing(ctx context.Context, workshop, id int64, scale OutlineScale) (SeenDrawing, error) {
	kept, err := s.store.Drawing(ctx, workshop, id)
	if err != nil {
		return SeenDrawing{}, err
	}
	seen := SeenDrawing{Name: kept.Name}
	if seen.Drawing, err = outline.Read(bytes.NewReader(kept.Content)); err != nil {
		return seen, err
	}
	if scale.By == "" { // nobody has said anything yet
		scale.By = ScaleOfDrawing
	}
	seen.PerUnit, err = scale.perUnit(seen.Drawing)
	for i, path := range seen.Drawing.Paths {
		shape := SeenShape{Name: path.Name}
		if shape.Name == "" {
			shape.Name = path.Kind + " " + strconv.Itoa(i+1)
		}
		if err == nil {
			var wrong error
			if shape.Shape, wrong = path.Outline(seen.PerUnit); wrong != nil {
				shape.Problem = asSentence(wrong)
			}
		}
		seen.Shapes = append(seen.Shapes, shape)
	}
	return seen, err
}

// ShapeForSize finds the shape that is named after a size, such as "98" or "sleeve 98"; −1 if
// there is none, or more than one.
func (d SeenDrawing) ShapeForSize(size string) int {
	found := -1
	for i, shape := range d.Shapes {
		words := strings.FieldsFunc(shape.Name, func(r rune) bool { return r == ' ' || r == '_' || r == '-' || r == ',' })
		named := strings.EqualFold(shape.Name, size) || slices.ContainsFunc(words, func(word string) bool { return strings.EqualFold(word, size) })
		if !named || shape.Problem != "" {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = i
	}
	return found
}

// OutlineChoice says which shapes become the outline of a piece.
type OutlineChoice struct {
	// All is the shape for every size that BySize doesn't name; −1 for none.
	All int
	// BySize are shapes by size name.
	BySize map[string]int
	// Half: the shapes are half the piece; their left edge lies on the fold.
	Half bool
	// Seam is the allowance at the sides within the shapes, 0 if that isn't known; SeamTop and
	// SeamBottom are those at the top and the bottom, nil where they are as at the sides.
	Seam                length.Length
	SeamTop, SeamBottom *length.Length
}

// Outlined gives a piece the outlines that were chosen from a drawing. The Fault names the fields
// all and size.N, by the order of sizes.
func (d SeenDrawing) Outlined(piece garment.Piece, sizes []string, choice OutlineChoice) (garment.Piece, error) {
	fault := &store.Fault{Kind: store.Invalid}
	piece.Shape, piece.Points, piece.Table = garment.Outlined, nil, nil
	piece.Width, piece.Length, piece.Inner, piece.Outer, piece.Angle = "", "", "", "", 0
	piece.Fold, piece.Drawn = choice.Half, map[string][]garment.Point{}
	piece.Seam, piece.SeamTop, piece.SeamBottom = choice.Seam, choice.SeamTop, choice.SeamBottom
	take := func(field, size string, at int) {
		points, problem := d.points(at, choice.Half)
		if problem != "" {
			fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: problem})
			return
		}
		piece.Drawn[size] = points
	}
	if choice.All >= 0 {
		take("all", "", choice.All)
	}
	for i, size := range sizes {
		if at, ok := choice.BySize[size]; ok && at >= 0 {
			take("size."+strconv.Itoa(i), size, at)
		} else if choice.All < 0 {
			fault.Problems = append(fault.Problems, store.Problem{Field: "size." + strconv.Itoa(i), Message: "Choose a shape for this size, or one for all sizes."})
		}
	}
	if choice.All < 0 && len(choice.BySize) == 0 {
		fault.Problems = []store.Problem{{Field: "all", Message: "Choose the shape that is the outline."}}
	}
	if len(fault.Problems) > 0 {
		return piece, fault
	}
	return piece, nil
}

func (d SeenDrawing) points(at int, half bool) (points []garment.Point, problem string) {
	if at >= len(d.Shapes) {
		return nil, "This shape isn't there."
	}
	shape := d.Shapes[at].Shape
	if d.Shapes[at].Problem != "" {
		return nil, d.Shapes[at].Problem
	}
	if half {
		var err error
		if shape, err = shape.Half(); err != nil {
			return nil, asSentence(err)
		}
	}
	for _, p := range shape.Points {
		points = append(points, garment.Point(p))
	}
	return points, ""
}

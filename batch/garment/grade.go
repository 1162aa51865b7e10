package garment

import (
	"fmt"
	"math"

	"yardwright/batch/length"
	"yardwright/batch/outline"
)

// Point is a place on a piece; X across, Y along, from the lower left corner of the piece's
// bounding box.
type Point struct {
	X, Y length.Length
}

// CutPiece is one piece of a style in one size, before the cloth's shrinkage.
type CutPiece struct {
	// Piece is the index into Style.Pieces.
	Piece  int
	Name   string
	Role   Role
	Copies int
	Grain  Grain
	Pair   bool
	// Width across and Length along the warp when the piece lies upright.
	Width, Length length.Length
	// Outline of a shaped piece, counter-clockwise or clockwise, its bounding box's lower
	// left corner at (0, 0); nil for a rectangle.
	Outline []Point
	Note    string
}

// CutNotion is what one garment of a size takes of a notion.
type CutNotion struct {
	Notion string
	// Length of each cut; zero for counted notions.
	Length length.Length
	Count  int
}

// Graded is a style in one size.
type Graded struct {
	Size    string
	Pieces  []CutPiece
	Notions []CutNotion
}

// Grade works out one size of the style. The error is Problems, at the piece and size.
func (s Style) Grade(chart SizeChart, sizeName string) (Graded, error) {
	size, ok := chart.Size(sizeName)
	if !ok {
		return Graded{}, Problems{{Field: "size", Size: sizeName, Message: fmt.Sprintf("%q is not a size of the chart %s", sizeName, chart.Name)}}
	}
	known := s.names(size)
	var problems Problems
	graded := Graded{Size: sizeName}
	for i, piece := range s.Pieces {
		cut, err := gradePiece(piece, sizeName, known)
		if err != nil {
			problems = append(problems, Problem{Field: fmt.Sprintf("pieces[%d].%s", i, err.field), Size: sizeName, Message: err.message})
			continue
		}
		cut.Piece = i
		graded.Pieces = append(graded.Pieces, cut)
	}
	for i, need := range s.Notions {
		cut := CutNotion{Notion: need.Notion, Count: need.Count}
		if need.Length != "" {
			value, err := evaluateLength(need.Length, known)
			if err == nil && value <= 0 {
				err = fmt.Errorf("comes to nothing or less")
			}
			if err != nil {
				problems = append(problems, Problem{Field: fmt.Sprintf("notions[%d].length", i), Size: sizeName, Message: err.Error()})
			}
			cut.Length = value
		}
		graded.Notions = append(graded.Notions, cut)
	}
	if len(problems) > 0 {
		return Graded{}, problems
	}
	return graded, nil
}

func (s Style) names(size Size) names {
	known := names{lengths: map[string]float64{}, numbers: map[string]float64{}}
	for name, value := range size.Values {
		known.lengths[name] = value.Length.Millimetres()
	}
	for _, allowance := range s.Allowances {
		if allowance.Kind == NumberAllowance {
			known.numbers[allowance.Name] = allowance.Number()
		} else {
			known.lengths[allowance.Name] = allowance.Length.Millimetres()
		}
	}
	return known
}

// fieldError is what is wrong with one field of a piece.
type fieldError struct{ field, message string }

func gradePiece(piece Piece, size string, known names) (CutPiece, *fieldError) {
	cut := CutPiece{Name: piece.Name, Role: piece.Role, Copies: piece.Copies, Grain: piece.Grain, Pair: piece.Pair, Note: piece.Note}
	var failed *fieldError
	switch piece.Shape {
	case Rectangle:
		cut.Width, cut.Length, failed = gradeRectangle(piece, size, known)
	case Outlined:
		cut.Outline, failed = gradeOutline(piece, size, known)
	case Sector:
		cut.Outline, failed = gradeSector(piece, known)
	}
	if failed != nil {
		return CutPiece{}, failed
	}
	if piece.Grain == Bias {
		cut.Outline = onTheBias(cut)
	}
	if cut.Outline != nil {
		cut.Outline, cut.Width, cut.Length = normalise(cut.Outline)
		if crossesItself(cut.Outline) {
			return CutPiece{}, &fieldError{"points", "the outline crosses itself"}
		}
	}
	if cut.Width <= 0 || cut.Length <= 0 {
		return CutPiece{}, &fieldError{"points", "the outline has no area"}
	}
	return cut, nil
}

func positive(field, formula string, known names) (length.Length, *fieldError) {
	value, err := evaluateLength(formula, known)
	if err != nil {
		return 0, &fieldError{field, err.Error()}
	}
	if value <= 0 {
		return 0, &fieldError{field, fmt.Sprintf("comes to %s; a piece must have some size", length.Style{}.PieceBoth(value))}
	}
	return value, nil
}

func gradeRectangle(piece Piece, size string, known names) (width, long length.Length, failed *fieldError) {
	if len(piece.Table) > 0 {
		cut, ok := piece.Table[size]
		if !ok {
			return 0, 0, &fieldError{"table", "write the cut width and length of this size"}
		}
		if cut.Width <= 0 || cut.Length <= 0 {
			return 0, 0, &fieldError{"table", "write a width and a length above zero"}
		}
		width, long = cut.Width, cut.Length
	} else {
		if width, failed = positive("width", piece.Width, known); failed != nil {
			return 0, 0, failed
		}
		if long, failed = positive("length", piece.Length, known); failed != nil {
			return 0, 0, failed
		}
	}
	if piece.Fold {
		width *= 2
	}
	return width, long, nil
}

// curveSteps is into how many straight edges a curve is cut; at garment size the edges then
// leave the curve by less than half a millimetre.
const curveSteps = 12

func gradeOutline(piece Piece, size string, known names) ([]Point, *fieldError) {
	if len(piece.Drawn) > 0 {
		outline, failed := piece.drawnIn(size)
		if failed != nil || !piece.Fold {
			return outline, failed
		}
		return unfold(outline)
	}
	points := make([][2]float64, len(piece.Points))
	for i, point := range piece.Points {
		for axis, formula := range []string{point.X, point.Y} {
			value, err := evaluateCoordinate(formula, known)
			if err != nil {
				return nil, &fieldError{fmt.Sprintf("points[%d].%s", i, []string{"x", "y"}[axis]), err.Error()}
			}
			points[i][axis] = value
		}
	}
	var outline []Point
	for i, point := range piece.Points {
		if !point.Curve {
			outline = append(outline, millimetrePoint(points[i][0], points[i][1]))
			continue
		}
		outline = append(outline, curve(points[i-1], points[i], points[i+1])...)
	}
	if piece.Fold {
		return unfold(outline)
	}
	return outline, nil
}

// evaluateCoordinate is evaluateLength, but zero and negative values are fine.
func evaluateCoordinate(formula string, known names) (float64, error) {
	if formula == "0" {
		return 0, nil
	}
	value, err := evaluateLength(formula, known)
	return value.Millimetres(), err
}

// curve returns the inner points of a quadratic Bézier curve.
func curve(from, control, to [2]float64) []Point {
	var inner []Point
	for step := 1; step < curveSteps; step++ {
		t := float64(step) / curveSteps
		at := func(axis int) float64 {
			return (1-t)*(1-t)*from[axis] + 2*t*(1-t)*control[axis] + t*t*to[axis]
		}
		inner = append(inner, millimetrePoint(at(0), at(1)))
	}
	return inner
}

func millimetrePoint(x, y float64) Point {
	return Point{length.Length(math.Round(x * float64(length.Millimetre))), length.Length(math.Round(y * float64(length.Millimetre)))}
}

// unfold mirrors a half outline at its left edge. The outline must start and end on it.
func unfold(half []Point) ([]Point, *fieldError) {
	axis := half[0].X
	for _, point := range half {
		if point.X < axis {
			return nil, &fieldError{"points", "a piece on the fold lies to the right of its first point"}
		}
	}
	last := len(half) - 1
	if half[last].X != axis {
		return nil, &fieldError{"points", "a piece on the fold starts and ends on the fold line"}
	}
	whole := append([]Point(nil), half...)
	for i := last - 1; i > 0; i-- {
		if half[i].X != axis {
			whole = append(whole, Point{2*axis - half[i].X, half[i].Y})
		}
	}
	return whole, nil
}

// arcSteps is into how many edges a quarter circle is cut.
const arcSteps = 16

// gradeSector draws a part of a ring. The outer edge is drawn around the true arc and the
// inner edge across it, so that the true piece always lies inside the outline.
func gradeSector(piece Piece, known names) ([]Point, *fieldError) {
	inner, failed := positive("inner", piece.Inner, known)
	if failed != nil {
		return nil, failed
	}
	outer, failed := positive("outer", piece.Outer, known)
	if failed != nil {
		return nil, failed
	}
	if outer <= inner {
		return nil, &fieldError{"outer", "the outer radius must be larger than the inner one"}
	}
	steps := piece.Angle / 90 * arcSteps
	step := math.Pi / 2 / arcSteps
	around := outer.Millimetres() / math.Cos(step/2)
	var outline []Point
	at := func(radius, angle float64) {
		outline = append(outline, millimetrePoint(radius*math.Cos(angle), radius*math.Sin(angle)))
	}
	whole := piece.Angle == 360
	if !whole {
		at(outer.Millimetres(), 0)
	}
	for i := range steps {
		at(around, (float64(i)+0.5)*step)
	}
	if whole {
		return outline, nil // the hole in the middle is left as cloth
	}
	at(outer.Millimetres(), float64(steps)*step)
	for i := steps; i >= 0; i-- {
		at(inner.Millimetres(), float64(i)*step)
	}
	return outline, nil
}

// onTheBias turns a piece by 45 degrees.
func onTheBias(cut CutPiece) []Point {
	outline := cut.Outline
	if outline == nil {
		outline = []Point{{0, 0}, {cut.Width, 0}, {cut.Width, cut.Length}, {0, cut.Length}}
	}
	turned := make([]Point, len(outline))
	for i, point := range outline {
		x, y := point.X.Millimetres(), point.Y.Millimetres()
		turned[i] = millimetrePoint((x-y)*math.Sqrt2/2, (x+y)*math.Sqrt2/2)
	}
	return turned
}

// normalise moves the outline's bounding box to (0, 0) and leaves out repeated points.
func normalise(outline []Point) (moved []Point, width, long length.Length) {
	least, most := outline[0], outline[0]
	for _, point := range outline {
		least.X, least.Y = min(least.X, point.X), min(least.Y, point.Y)
		most.X, most.Y = max(most.X, point.X), max(most.Y, point.Y)
	}
	for _, point := range outline {
		next := Point{point.X - least.X, point.Y - least.Y}
		if len(moved) == 0 || moved[len(moved)-1] != next {
			moved = append(moved, next)
		}
	}
	if len(moved) > 1 && moved[0] == moved[len(moved)-1] {
		moved = moved[:len(moved)-1]
	}
	return moved, most.X - least.X, most.Y - least.Y
}

// crossesItself tells whether two edges that are not neighbours meet, or there are none.
func crossesItself(points []Point) bool {
	line := make([]outline.Point, len(points))
	for i, point := range points {
		line[i] = outline.Point(point)
	}
	_, _, crosses := outline.Crossing(line)
	return crosses || len(line) < 3
}

// Shrinkage of a cloth in hundredths of a percent: 300 is 3 %. Zero if it is pre-washed.
type Shrinkage struct {
	Lengthwise, Crosswise int
}

// mostShrinkage is more than any cloth shrinks; above it the number is a slip.
const mostShrinkage = 3000

// Check returns an error if a shrinkage is out of range.
func (s Shrinkage) Check() error {
	if s.Lengthwise < 0 || s.Crosswise < 0 || s.Lengthwise > mostShrinkage || s.Crosswise > mostShrinkage {
		return fmt.Errorf("write a shrinkage from 0 to %d %%", mostShrinkage/100)
	}
	return nil
}

// Shrink enlarges a piece so that it has its size after the cloth has shrunk:
// cut = finished / (1 − s), each direction by itself, and rounds a rectangle to the nearest
// step of the workshop's ruler. The piece is taken to lie upright; one that is laid crosswise
// swaps the two shrinkages.
func (s Shrinkage) Shrink(cut CutPiece, step length.Length) (CutPiece, error) {
	across, along := s.Crosswise, s.Lengthwise
	if cut.Grain == Crosswise {
		across, along = along, across
	}
	enlarge := func(l length.Length, shrink int) (length.Length, error) {
		return l.Scale(10_000, int64(10_000-shrink), length.Nearest)
	}
	var err error
	if cut.Width, err = enlarge(cut.Width, across); err != nil {
		return CutPiece{}, err
	}
	if cut.Length, err = enlarge(cut.Length, along); err != nil {
		return CutPiece{}, err
	}
	if cut.Outline == nil {
		cut.Width = max(step, cut.Width.RoundTo(step, length.Nearest))
		cut.Length = max(step, cut.Length.RoundTo(step, length.Nearest))
		return cut, nil
	}
	outline := make([]Point, len(cut.Outline))
	for i, point := range cut.Outline {
		if outline[i].X, err = enlarge(point.X, across); err != nil {
			return CutPiece{}, err
		}
		if outline[i].Y, err = enlarge(point.Y, along); err != nil {
			return CutPiece{}, err
		}
	}
	cut.Outline, cut.Width, cut.Length = normalise(outline)
	return cut, nil
}

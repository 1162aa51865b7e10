package server

import (
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/outline"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) outlineRoutes(r chi.Router) {
	r.Get("/styles/{id}/pieces/{piece}/outline", s.handle(s.outlineForm))
	r.Post("/styles/{id}/pieces/{piece}/outline", s.handle(s.keepDrawing))
	r.Get("/styles/{id}/pieces/{piece}/outline/{drawing}", s.handle(s.lookAtDrawing))
	r.Post("/styles/{id}/pieces/{piece}/outline/{drawing}", s.handle(s.takeOutline))
}

func (s *Server) outlineForm(w http.ResponseWriter, r *http.Request) error {
	view, err := s.pieceForm(r)
	if err != nil {
		return err
	}
	return s.show(w, r, page.OutlineFile{PieceEdit: *view, Back: pieceBack(view)})
}

// pieceBack is the page that leads to the drawing of a piece.
func pieceBack(view *page.PieceEdit) string {
	if view.Piece.Name == "" {
		return fmt.Sprintf("/styles/%d", view.Style.ID)
	}
	return fmt.Sprintf("/styles/%d/pieces/%d", view.Style.ID, slices.IndexFunc(view.Style.Pieces, func(p garment.Piece) bool { return p.Name == view.Piece.Name }))
}

func (s *Server) keepDrawing(w http.ResponseWriter, r *http.Request) error {
	view, err := s.pieceForm(r)
	if err != nil {
		return err
	}
	f := &form.Form{}
	var drawing int64
	if r.ContentLength > outline.LargestFile {
		f.Wrong("file", fmt.Sprintf("The drawing has %d MB; at most %d MB are read. Save the outline by itself.", r.ContentLength>>20, outline.LargestFile>>20))
	} else {
		err = upload(w, r, f, func(name string, file multipartFile) error {
			drawing, err = s.service.TakeDrawing(r.Context(), s.workshop, name, file)
			return err
		})
	}
	if err == nil && f.OK() {
		http.Redirect(w, r, fmt.Sprintf("%s/%d", r.URL.Path, drawing), http.StatusSeeOther)
		return nil
	}
	if view.Problems, err = problemsOf(f, err); err != nil {
		return err
	}
	return s.refuse(w, r, page.OutlineFile{PieceEdit: *view, Back: pieceBack(view)})
}

// mostShown is how many shapes of a drawing are shown.
const mostShown = 60

// drawingView fills the page of a drawing with what was said of its scale.
func (s *Server) drawingView(r *http.Request, f *form.Form) (*page.OutlineLook, error) {
	piece, err := s.pieceForm(r)
	if err != nil {
		return nil, err
	}
	view := &page.OutlineLook{PieceEdit: *piece}
	view.Drawing, err = id(r, "drawing")
	if err != nil {
		return nil, err
	}
	view.Refuse(view.Address(), f.Values, nil)
	unit := view.Units.System.Small()
	scale := workshop.OutlineScale{By: f.Text("scale"), Units: f.Decimal("units"), Together: f.Length("together", unit), Square: shapeNumber(f, "square"), Edge: f.Length("edge", unit)}
	var fault *store.Fault
	view.Seen, err = s.service.SeeDrawing(r.Context(), s.workshop, view.Drawing, scale)
	switch {
	case errors.As(err, &fault) && view.Seen.Drawing != nil:
		for _, p := range fault.Problems {
			f.Wrong(p.Field, p.Message)
		}
	case err != nil:
		return nil, err
	}
	if view.Problems, err = problemsOf(f, nil); err != nil {
		return nil, err
	}
	view.Scale = scale.By
	if view.Scale == "" {
		view.Scale = workshop.ScaleOfDrawing
		if view.Seen.Drawing.PerUnit == 0 {
			view.Scale = workshop.ScaleOfUnits
		}
	}
	view.Shapes = shapesOf(view.Base, view.Seen)
	view.More = len(view.Seen.Shapes) - len(view.Shapes)
	view.Only = -1
	for _, shape := range view.Shapes {
		if shape.Problem == "" && shape.Drawing != "" {
			view.Usable++
			view.Only = shape.Number - 1
		}
	}
	if view.Usable != 1 {
		view.Only = -1
	}
	for _, size := range view.Sizes {
		view.Named = append(view.Named, view.Seen.ShapeForSize(size))
	}
	return view, nil
}

// shapeNumber reads the number of a shape, from 1; −1 is none.
func shapeNumber(f *form.Form, field string) int {
	number, err := strconv.Atoi(f.Text(field))
	if err != nil || number < 1 || number > 1<<20 {
		return -1
	}
	return number - 1
}

// shapesOf draws the shapes to one scale, so that they can be compared.
func shapesOf(base page.Base, seen workshop.SeenDrawing) []page.OutlineShape {
	var largest length.Length
	for _, shape := range seen.Shapes {
		largest = max(largest, shape.Width, shape.Length)
	}
	var shapes []page.OutlineShape
	for i, shape := range seen.Shapes {
		if len(shapes) == mostShown {
			break
		}
		shown := page.OutlineShape{Number: i + 1, Name: shape.Name, Problem: shape.Problem, Width: shape.Width, Length: shape.Length}
		if len(shape.Points) > 0 {
			shown.Drawing = drawShape(base, shape, largest)
			shown.Exact = fmt.Sprintf("%.1f × %.1f mm", shape.Width.Millimetres(), shape.Length.Millimetres())
		}
		shapes = append(shapes, shown)
	}
	return shapes
}

func drawShape(base page.Base, shape workshop.SeenShape, largest length.Length) template.HTML {
	cut := garment.CutPiece{Name: shape.Name, Width: shape.Width, Length: shape.Length}
	for _, p := range shape.Points {
		cut.Outline = append(cut.Outline, garment.Point(p))
	}
	return drawPiece(base, cut, max(largest, 1))
}

func (s *Server) lookAtDrawing(w http.ResponseWriter, r *http.Request) error {
	view, err := s.drawingView(r, form.FromQuery(r))
	if err != nil {
		return err
	}
	if r.URL.RawQuery == "" { // nobody has said anything yet, so nothing of it is wrong
		view.Problems = nil
	}
	return s.show(w, r, view)
}

func (s *Server) takeOutline(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	view, err := s.drawingView(r, f)
	if err != nil {
		return err
	}
	choice := workshop.OutlineChoice{All: shapeNumber(f, "all"), BySize: map[string]int{}, Half: f.Bool("fold")}
	choice.Seam, choice.SeamTop, choice.SeamBottom = readSeamWidths(f, view.Units.System.Small())
	for i, size := range view.Sizes {
		if shape := shapeNumber(f, fmt.Sprintf("size.%d", i)); shape >= 0 {
			choice.BySize[size] = shape
		}
	}
	piece := view.Piece
	fresh := view.New()
	if fresh {
		piece.Name, piece.Role = f.Needed("name", "Write a name."), garment.Role(f.Needed("role", "Write which cloth it is cut from, such as body."))
		piece.Copies, piece.Grain, piece.Pair = f.Int("copies", 1, 100), garment.Grain(f.Text("grain")), f.Bool("pair")
	}
	changedMeanwhile(f, view.TakeForm())
	var refused error
	if f.OK() {
		piece, refused = view.Seen.Outlined(piece, view.Sizes, choice)
	}
	style := view.Style
	if f.OK() && refused == nil {
		style.Version = f.Int("version", 0, 1<<30)
		style.Pieces = slices.Clone(style.Pieces)
		if fresh {
			style.Pieces = append(style.Pieces, piece)
		} else {
			style.Pieces[view.At] = piece
		}
		if _, refused = s.service.SaveStyleDraft(r.Context(), s.workshop, style); refused == nil {
			if err := s.service.RemoveDrawing(r.Context(), s.workshop, view.Drawing); err != nil {
				return err
			}
			return done(w, r, fmt.Sprintf("/styles/%d", style.ID), "outline")
		}
		refused = atPiece(refused, view.At)
	}
	if view.Problems, err = problemsOf(f, refused); err != nil {
		return err
	}
	known := []string{"scale", "together", "edge", "square", "units", "all", "seam", "seam_top", "seam_bottom", "name", "role", "copies", "grain"}
	for i, p := range view.Problems {
		if !slices.Contains(known, p.Field) && !strings.HasPrefix(p.Field, "size.") {
			view.Problems[i].Field = "all"
		}
	}
	return s.refuse(w, r, view)
}

package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

var grains = []garment.Grain{garment.Lengthwise, garment.Crosswise, garment.AnyGrain, garment.Bias}

// pieceForm fills the form for the piece in the path, or for a new one.
func (s *Server) pieceForm(r *http.Request) (*page.PieceEdit, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	view := &page.PieceEdit{Grains: grains}
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return nil, err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, view.Style.ChartID)
	if err != nil {
		return nil, err
	}
	title := "Add a piece"
	view.At = len(view.Style.Pieces)
	view.Piece = garment.Piece{Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Grain: garment.Lengthwise}
	if word := chi.URLParam(r, "piece"); word != "new" {
		view.At, err = strconv.Atoi(word)
		if err != nil || view.At < 0 || view.At >= len(view.Style.Pieces) {
			return nil, notFound("piece")
		}
		view.Piece = view.Style.Pieces[view.At]
		title = "Change the piece " + view.Piece.Name
	}
	view.Sizes, view.Known = chart.SizeNames(), knownTo(view.Style, chart)
	view.Base, err = s.base(r, title, "styles")
	return view, err
}

// knownTo are the names that the formulas of a style may use.
func knownTo(style store.Style, chart store.Chart) []string {
	var known []string
	for _, m := range chart.Measures {
		known = append(known, m.Name)
	}
	for _, a := range style.Allowances {
		known = append(known, a.Name)
	}
	return known
}

func (s *Server) savePiece(r *http.Request, f *form.Form, view *page.PieceEdit) (saved, error) {
	style := view.Style
	style.Version = f.Int("version", 0, 1<<30)
	style.Pieces = slices.Clone(style.Pieces)
	switch {
	case f.Bool("remove") && view.CanRemove():
		style.Pieces = slices.Delete(style.Pieces, view.At, view.At+1)
	case view.New():
		style.Pieces = append(style.Pieces, readPiece(f, view))
	default:
		style.Pieces[view.At] = readPiece(f, view)
	}
	if !f.OK() {
		return saved{}, nil
	}
	_, err := s.service.SaveStyleDraft(r.Context(), s.workshop, style)
	return saved{fmt.Sprintf("/styles/%d", style.ID), "style"}, atPiece(err, view.At)
}

func readPiece(f *form.Form, view *page.PieceEdit) garment.Piece {
	piece := view.Piece
	piece.Name, piece.Role, piece.Note = f.Name("name"), garment.Role(strings.ToLower(f.Name("role"))), f.Note("note")
	piece.Copies, piece.Grain = f.Int("copies", 1, 100), garment.Grain(f.Text("grain"))
	if piece.Drawn != nil || piece.Shape == garment.Rectangle {
		piece.Seam, piece.SeamTop, piece.SeamBottom = readSeamWidths(f, view.Units.System.Small())
	}
	if piece.Shape != garment.Rectangle {
		return piece
	}
	piece.Width, piece.Length, piece.Fold = f.Note("width"), f.Note("length"), f.Bool("fold")
	piece.Table = readCuts(f, view.Units.System.Small(), view.Sizes)
	if piece.Width != "" && piece.Table != nil {
		f.Wrong("table", "Write formulas or fill in the table, not both.")
	}
	return piece
}

// readSeamWidths reads the allowances that lie within an outline or a table of cut sizes: at the
// sides, and at the top and the bottom where they differ.
func readSeamWidths(f *form.Form, unit length.Measure) (sides length.Length, top, bottom *length.Length) {
	own := func(field string) *length.Length {
		if f.Text(field) == "" {
			return nil
		}
		width := f.Length(field, unit)
		return &width
	}
	return f.Length("seam", unit), own("seam_top"), own("seam_bottom")
}

// readCuts reads the table of cut sizes; nil if it is empty.
func readCuts(f *form.Form, unit length.Measure, sizes []string) map[string]garment.Cut {
	var table map[string]garment.Cut
	for i, size := range sizes {
		width, long := fmt.Sprintf("cut.%d.width", i), fmt.Sprintf("cut.%d.length", i)
		if f.Text(width) == "" && f.Text(long) == "" {
			continue
		}
		if table == nil {
			table = map[string]garment.Cut{}
		}
		table[size] = garment.Cut{Width: f.LengthNeeded(width, unit), Length: f.LengthNeeded(long, unit)}
	}
	return table
}

// atPiece moves what is wrong with the piece on the form to its fields.
func atPiece(err error, at int) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	moved := *fault
	moved.Problems = nil
	said := map[string]bool{}
	for _, p := range fault.Problems {
		p.Field = strings.TrimPrefix(p.Field, fmt.Sprintf("pieces[%d].", at))
		p.Message = strings.ToUpper(p.Message[:1]) + p.Message[1:]
		if !said[p.Field] { // a formula that fails in every size is said once
			said[p.Field] = true
			moved.Problems = append(moved.Problems, p)
		}
	}
	return &moved
}

func (s *Server) saveSteps(r *http.Request, f *form.Form, view *page.Style) (saved, error) {
	style := view.Style
	style.Version = f.Int("version", 0, 1<<30)
	style.Operations = s.readSteps(f, style.Operations)
	if !f.OK() {
		return saved{}, nil
	}
	_, err := s.service.SaveStyleDraft(r.Context(), s.workshop, style)
	return saved{fmt.Sprintf("/styles/%d", style.ID), "style"}, err
}

// readSteps reads the minutes of the steps; what the maker changed is from then on timed.
func (s *Server) readSteps(f *form.Form, operations []garment.Operation) []garment.Operation {
	read := slices.Clone(operations)
	for i, o := range read {
		read[i].SetUp = readMinutes(f, fmt.Sprintf("step.%d.set_up", i))
		read[i].Each = readMinutes(f, fmt.Sprintf("step.%d.each", i))
		if read[i].SetUp != o.SetUp || read[i].Each != o.Each {
			read[i].Basis = "timed by you, " + s.service.Today().Format("2 Jan 2006")
		}
	}
	return read
}

// mostMinutes is a day.
var mostMinutes = money.Int(1440)

func readMinutes(f *form.Form, field string) time.Duration {
	value := f.StepMinutes(field)
	minutes, err := store.Minutes(value)
	if err != nil || value.Sign() < 0 || mostMinutes.Less(value) {
		f.Wrong(field, "Write minutes from 0 to 1440.")
		return 0
	}
	return minutes
}

package server

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/marker"
	"yardwright/exports"
	"yardwright/server/form"
	"yardwright/server/page"
)

func (s *Server) markerRoutes(r chi.Router) {
	r.Get("/batches/{id}/drawing.svg", s.handle(s.markerFile))
}

// Widths that drawings are made for, in CSS pixels.
const (
	wideDrawing   = 1040
	narrowDrawing = 390
	paperDrawing  = 720
)

// The two ways in which a cloth can lie.
const (
	lyingRight = "right"
	lyingUp    = "up"
)

// drawingKind is one drawing of a marker: Class says when it is shown. At first those of the
// classes wide and narrow are, each on its screens; once a reader has chosen a way, those of
// that way with at-wide and at-narrow.
type drawingKind struct {
	class, way string
	width      int
	// paper has light lines, since nobody can point at it.
	paper bool
}

// kindsOf says which drawings of a lay a page has. A short lay is wider than long, and is
// drawn with its length up the page at first.
func kindsOf(l lay.Lay) []drawingKind {
	if l.Marker.Length < l.Instance.Width {
		return []drawingKind{
			{class: "wide at-wide", way: lyingUp, width: wideDrawing}, {class: "narrow at-narrow", way: lyingUp, width: narrowDrawing}, {class: "other at-wide at-narrow", way: lyingRight, width: wideDrawing},
		}
	}
	return []drawingKind{{class: "wide at-wide at-narrow", way: lyingRight, width: wideDrawing}, {class: "narrow at-wide at-narrow", way: lyingUp, width: narrowDrawing}}
}

// markerView makes a lay ready to be looked at closely. Cloth and at are the indices of its
// cloth in the plan and of the lay in that cloth's.
func markerView(base page.Base, plan batch.Plan, cloth, at int) (*page.MarkerView, error) {
	planned := plan.Cloths[cloth]
	view := &page.MarkerView{
		ID: fmt.Sprintf("marker-c%d-l%d", planned.Cloth.ID, at+1), Name: fmt.Sprintf("%s, lay %d", planned.Cloth.Name, at+1),
		For: forWhom(plan, cloth, at),
	}
	view.Pieces = laidPieces(base, planned, at, view.For)
	notes := notesOf(planned.Plan.Lays[at], planned, plan.Lines, plan.Garments)
	for i, kind := range kindsOf(planned.Plan.Lays[at]) {
		drawn, err := drawMarker(base, planned, at, kind, fmt.Sprintf("c%d-l%d-%d", planned.Cloth.ID, at+1, i), notes)
		if err != nil {
			return nil, err
		}
		view.Drawings = append(view.Drawings, page.MarkerDrawing{Class: kind.class, Way: kind.way, SVG: drawn})
	}
	return view, nil
}

// drawMarker draws a lay once.
func drawMarker(base page.Base, planned batch.ClothPlan, at int, kind drawingKind, id string, notes []string) (template.HTML, error) {
	l := planned.Plan.Lays[at]
	options := exports.LayDrawing(planned, at, base.Units)
	options.ID, options.ShownWidth, options.Title, options.Notes = id, kind.width, "", notes
	options.Direction = exports.LengthUp
	if kind.paper {
		options.Grid = exports.GridStep(base.Units.System)
	}
	if kind.way == lyingRight {
		options.Direction = exports.LengthRight
	}
	var drawn bytes.Buffer
	if err := exports.MarkerSVG(&drawn, l.Instance, l.Marker, options); err != nil {
		return "", err
	}
	return template.HTML(drawn.String()), nil //nolint:gosec // the writer escapes names
}

// forWhom lists the garments of a lay with the orders that want them and the bundles that
// their pieces go into.
func forWhom(plan batch.Plan, cloth, at int) []page.ForWhom {
	var list []page.ForWhom
	planned := plan.Cloths[cloth]
	for i, count := range planned.Plan.Lays[at].PerPly {
		if count == 0 {
			continue
		}
		number := planned.Garments[i]
		whom := page.ForWhom{Number: number, Garment: planned.Problem.Garments[i].Name}
		if number < len(plan.Garments) { // a costing marker is laid for no order
			whom.Orders, whom.Bundles = ordersOf(plan.Lines, plan.Garments[number]), bundlesOf(plan.Bundles, number, cloth, at)
		}
		list = append(list, whom)
	}
	return list
}

// wanted is how many of a garment an order wants.
type wanted struct {
	order, customer string
	count           int
}

// wantedBy lists the orders that want a garment.
func wantedBy(lines []batch.Line, g batch.Garment) []wanted {
	var orders []wanted
	for _, line := range lines {
		if line.Colourway != g.ColourwayID || line.Size != g.Size {
			continue
		}
		same := slices.IndexFunc(orders, func(w wanted) bool { return w.order == line.Order })
		if same < 0 {
			same = len(orders)
			orders = append(orders, wanted{order: line.Order, customer: line.Customer})
		}
		orders[same].count += line.Quantity
	}
	return orders
}

// ordersOf names the orders that want a garment: order 12 (Lantern Street Shop) 7.
func ordersOf(lines []batch.Line, g batch.Garment) string {
	var texts []string
	for _, w := range wantedBy(lines, g) {
		texts = append(texts, fmt.Sprintf("order %s (%s) %d", w.order, w.customer, w.count))
	}
	return strings.Join(texts, ", ")
}

// bundlesOf names the bundles that take pieces of a garment from a lay.
func bundlesOf(bundles []batch.Bundle, number, cloth, at int) string {
	var numbers []string
	for _, b := range bundles {
		if b.Garment == number && slices.ContainsFunc(b.Lays, func(from batch.BundleLay) bool { return from.Cloth == cloth && from.Lay == at }) {
			numbers = append(numbers, strconv.Itoa(b.Number))
		}
	}
	switch len(numbers) {
	case 0:
		return ""
	case 1:
		return "bundle " + numbers[0]
	}
	return "bundles " + strings.Join(numbers, ", ")
}

// notesOf says for each piece of a lay which orders it is for, to be told with its drawing.
func notesOf(l lay.Lay, planned batch.ClothPlan, lines []batch.Line, garments []batch.Garment) []string {
	notes := make([]string, len(l.Owners))
	for i, owner := range l.Owners {
		number := planned.Garments[owner.Garment]
		if number >= len(garments) {
			continue
		}
		if orders := wantedBy(lines, garments[number]); len(orders) > 0 {
			notes[i] = "For order " + shortened(orders) + "."
		}
	}
	return notes
}

// mostNoted is how many orders a drawing tells of a piece; the list below it tells all.
const mostNoted = 4

func shortened(orders []wanted) string {
	var numbers []string
	for _, w := range orders[:min(mostNoted, len(orders))] {
		numbers = append(numbers, w.order)
	}
	text := strings.Join(numbers, ", ")
	if more := len(orders) - len(numbers); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// laidPieces says of each piece of a lay what it is and how it lies, along the cloth.
func laidPieces(base page.Base, planned batch.ClothPlan, at int, whom []page.ForWhom) []page.LaidPiece {
	l := planned.Plan.Lays[at]
	copies := make([]int, len(l.Instance.Pieces))
	pieces := make([]page.LaidPiece, 0, len(l.Marker.Placements))
	for _, p := range l.Marker.Placements {
		copies[p.Piece]++
		piece := l.Instance.Pieces[p.Piece]
		shaped := len(piece.Outline) > 0
		laid := page.LaidPiece{
			Piece: p.Piece, Copy: copies[p.Piece], Name: piece.Name, Garment: -1,
			Size: base.CutSize(piece.Width, shaped) + " × " + base.CutSize(piece.Length, shaped), Other: base.OtherCutSize(piece.Width, shaped) + " × " + base.OtherCutSize(piece.Length, shaped),
			Lies: liesHow(p), Where: base.Piece(p.X) + " from the left selvage, " + base.Piece(p.Y) + " from the start",
		}
		if p.Piece < len(l.Owners) {
			laid.Garment = planned.Garments[l.Owners[p.Piece].Garment]
		}
		for _, w := range whom {
			if w.Number == laid.Garment {
				laid.Of = w.Garment
			}
		}
		pieces = append(pieces, laid)
	}
	return pieces
}

// liesHow says how a piece is turned.
func liesHow(p marker.Placement) string {
	words := "not turned"
	if p.Turn != 0 {
		words = fmt.Sprintf("turned %d°", p.Turn)
	}
	if p.Mirrored {
		words += ", face down"
	}
	return words
}

// markerFileOf is the address of a lay's drawing as a file.
func markerFileOf(batchID, cloth int64, lay int) string {
	query := url.Values{"cloth": {strconv.FormatInt(cloth, 10)}, "lay": {strconv.Itoa(lay)}}
	return fmt.Sprintf("/batches/%d/drawing.svg?%s", batchID, query.Encode())
}

// markerFile sends the drawing of one lay by itself, which a browser can show at any size.
func (s *Server) markerFile(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	_, plan, err := s.service.HeldPlan(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	clothID, at := f.ID("cloth"), int(f.ID("lay"))-1
	if plan == nil {
		return notFound("plan")
	}
	cloth := slices.IndexFunc(plan.Cloths, func(c batch.ClothPlan) bool { return c.Cloth.ID == clothID })
	if cloth < 0 || at < 0 || at >= len(plan.Cloths[cloth].Plan.Lays) {
		return notFound("lay")
	}
	base, err := s.base(r, "Marker", "batches")
	if err != nil {
		return err
	}
	planned := plan.Cloths[cloth]
	l := planned.Plan.Lays[at]
	options := exports.LayDrawing(planned, at, base.Units)
	options.Standalone, options.Notes = true, notesOf(l, planned, plan.Lines, plan.Garments)
	options.Direction, options.ShownWidth = exports.LengthRight, wideDrawing
	if way := f.Text("way"); way == lyingUp || way == "" && l.Marker.Length < l.Instance.Width {
		options.Direction = exports.LengthUp
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	var drawn bytes.Buffer
	if err := exports.MarkerSVG(&drawn, l.Instance, l.Marker, options); err != nil {
		return err
	}
	if _, err := drawn.WriteTo(w); err != nil {
		s.log.Info("a drawing was broken off", "error", err)
	}
	return nil
}

package server

import (
	"bytes"
	"errors"
	"html/template"
	"io"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/exports"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) paperRoutes(r chi.Router) {
	r.Get("/batches/{id}/cut-sheet.pdf", s.handle(s.cutSheetPDF))
	r.Get("/batches/{id}/tickets", s.handle(s.ticketsForm))
	r.Get("/batches/{id}/tickets.pdf", s.handle(s.ticketsPDF))
	r.Get("/batches/{id}/bundles/{number}", s.handle(s.showBundle))
	r.Get("/styles/{id}/templates", s.handle(s.templatesForm))
	r.Get("/styles/{id}/templates.pdf", s.handle(s.templatesPDF))
	r.Get("/styles/{id}/templates.svg", s.handle(s.templatesSVG))
	r.Get("/prices/line-sheet", s.handle(s.showLineSheet))
	r.Get("/prices/line-sheet.pdf", s.handle(s.lineSheetPDF))
}

// paperOf reads which paper is wanted; none means the usual one.
func paperOf(r *http.Request) exports.Paper {
	switch r.URL.Query().Get("paper") {
	case "a4", "A4":
		return exports.A4
	case "letter", "Letter":
		return exports.Letter
	}
	return ""
}

// document sends a document whole, or the error.
func (s *Server) document(w http.ResponseWriter, name, kind string, write func(io.Writer) error) error {
	var buffer bytes.Buffer
	if err := write(&buffer); err != nil {
		return err
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `inline; filename="`+name+`"`)
	if _, err := buffer.WriteTo(w); err != nil {
		s.log.Info("a document was broken off", "name", name, "error", err)
	}
	return nil
}

func (s *Server) pdf(w http.ResponseWriter, name string, write func(io.Writer) error) error {
	return s.document(w, name, "application/pdf", write)
}

func (s *Server) cutSheetPDF(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	return s.pdf(w, "cut-sheet.pdf", func(out io.Writer) error {
		return s.service.CutSheetPDF(r.Context(), out, s.workshop, number, paperOf(r))
	})
}

// addressOf is the address at which the reader has reached the program.
func addressOf(r *http.Request) string {
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	return scheme + "://" + r.Host
}

func (s *Server) ticketsForm(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	view := page.Tickets{Address: addressOf(r)}
	if view.Batch, err = s.service.Batch(r.Context(), s.workshop, number); err != nil {
		return err
	}
	if view.Base, err = s.base(r, "Bundle tickets: "+view.Batch.Name, "batches"); err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) ticketsPDF(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	base := r.URL.Query().Get("base")
	if base == "" {
		base = addressOf(r)
	}
	return s.pdf(w, "tickets.pdf", func(out io.Writer) error {
		return s.service.TicketsPDF(r.Context(), out, s.workshop, number, base, paperOf(r))
	})
}

// showBundle is the page that a ticket opens.
func (s *Server) showBundle(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	bundle, err := strconv.Atoi(chi.URLParam(r, "number"))
	if err != nil {
		return notFound("bundle")
	}
	plan, err := s.service.MadePlan(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	if plan == nil {
		return notFound("bundle")
	}
	view := page.Bundle{}
	for _, b := range plan.Bundles {
		if b.Number != bundle || b.Garment < 0 || b.Garment >= len(plan.Garments) {
			continue
		}
		view.Bundle, view.Garment, view.Plan = b, plan.Garments[b.Garment], *plan
		if view.Batch, err = s.service.Batch(r.Context(), s.workshop, number); err != nil {
			return err
		}
		if view.Base, err = s.base(r, "Bundle "+strconv.Itoa(bundle)+": "+view.Batch.Name, "batches"); err != nil {
			return err
		}
		return s.show(w, r, view)
	}
	return notFound("bundle")
}

func (s *Server) templatesForm(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	var view page.Templates
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, view.Style.ChartID)
	if err != nil {
		return err
	}
	view.Sizes = chart.SizeNames()
	if view.Colourways, view.Colourway, err = s.templateColourways(r, number); err != nil {
		return err
	}
	if view.Size = r.URL.Query().Get("of"); !slices.Contains(view.Sizes, view.Size) {
		view.Size = view.Sizes[len(view.Sizes)/2]
	}
	var fault *store.Fault
	view.Pieces, err = s.service.TemplatePieces(r.Context(), s.workshop, view.Style, chart.SizeChart, view.Size, view.Colourway)
	if errors.As(err, &fault) && fault.Kind == store.Invalid {
		view.Broken = fault.Error()
	} else if err != nil {
		return err
	}
	if view.Base, err = s.base(r, "Templates: "+view.Style.Name, "styles"); err != nil {
		return err
	}
	return s.show(w, r, view)
}

// templateColourways are the colourways of a style, and the one whose cloths templates are for: the
// one that was asked for, or the first; 0 is cloth that doesn't shrink.
func (s *Server) templateColourways(r *http.Request, style int64) (ways []store.Colourway, chosen int64, err error) {
	all, err := s.service.Colourways(r.Context(), s.workshop)
	if err != nil {
		return nil, 0, err
	}
	for _, way := range all {
		if way.StyleID == style {
			ways = append(ways, way)
		}
	}
	text := r.URL.Query().Get("colourway")
	if text == "" {
		if len(ways) > 0 {
			chosen = ways[0].ID
		}
		return ways, chosen, nil
	}
	chosen, err = strconv.ParseInt(text, 10, 64)
	if err != nil || chosen != 0 && !slices.ContainsFunc(ways, func(w store.Colourway) bool { return w.ID == chosen }) {
		return nil, 0, notFound("colourway")
	}
	return ways, chosen, nil
}

// templateChoice reads which pieces and sizes are wanted; no piece means all.
func templateChoice(r *http.Request) (exports.TemplateChoice, error) {
	query := r.URL.Query()
	choice := exports.TemplateChoice{Sizes: query["size"], Nested: query.Get("nested") != ""}
	for _, text := range query["piece"] {
		piece, err := strconv.Atoi(text)
		if err != nil {
			return choice, notFound("piece")
		}
		choice.Pieces = append(choice.Pieces, piece)
	}
	return choice, nil
}

func (s *Server) templates(w http.ResponseWriter, r *http.Request, name, kind string, svg bool) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	choice, err := templateChoice(r)
	if err != nil {
		return err
	}
	_, colourway, err := s.templateColourways(r, number)
	if err != nil {
		return err
	}
	return s.document(w, name, kind, func(out io.Writer) error {
		return s.service.Templates(r.Context(), out, s.workshop, number, colourway, choice, paperOf(r), svg)
	})
}

func (s *Server) templatesPDF(w http.ResponseWriter, r *http.Request) error {
	return s.templates(w, r, "templates.pdf", "application/pdf", false)
}

func (s *Server) templatesSVG(w http.ResponseWriter, r *http.Request) error {
	return s.templates(w, r, "templates.svg", "image/svg+xml", true)
}

// lineDraft reads what is said of a line sheet.
func lineDraft(f *form.Form) workshop.LineSheetDraft {
	return workshop.LineSheetDraft{Title: f.Name("title"), Contact: f.Line("contact"), Note: f.Note("note"), OrderBy: f.Day("order_by")}
}

func (s *Server) showLineSheet(w http.ResponseWriter, r *http.Request) error {
	f := form.FromQuery(r)
	draft := lineDraft(f)
	base, err := s.base(r, "Line sheet", "prices")
	if err != nil {
		return err
	}
	if !f.OK() {
		if base.Problems, err = problemsOf(f, nil); err != nil {
			return err
		}
	}
	base.Raw = f.Values
	view := page.LineSheet{Base: base, Query: template.URL(r.URL.Query().Encode())} //nolint:gosec // encoded
	if view.Line, view.Left, err = s.service.LineSheet(r.Context(), s.workshop, draft); err != nil {
		return err
	}
	for _, item := range view.Line.Items {
		var drawing bytes.Buffer
		if err := exports.FlatSVG(&drawing, item); err != nil {
			return err
		}
		view.Drawings = append(view.Drawings, template.HTML(drawing.String())) //nolint:gosec // the writer escapes names
	}
	return s.show(w, r, view)
}

func (s *Server) lineSheetPDF(w http.ResponseWriter, r *http.Request) error {
	draft := lineDraft(form.FromQuery(r))
	return s.pdf(w, "line-sheet.pdf", func(out io.Writer) error {
		return s.service.LineSheetPDF(r.Context(), out, s.workshop, draft, paperOf(r))
	})
}

package server

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/server/form"
	"yardwright/server/page"
)

func (s *Server) keptPriceRoutes(r chi.Router) {
	r.Get("/prices/kept/{id}", s.handle(s.showKept))
}

// keptShown is how many kept prices a list names.
const keptShown = 100

// showKept shows the cost sheets and prices that were kept of a colourway, as they were then, with
// what a garment costs now beside them.
func (s *Server) showKept(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	kept, err := s.service.Kept(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	view := page.Kept{Kept: kept}
	if view.Base, err = s.base(r, "Kept prices: "+kept.Label, "prices"); err != nil {
		return err
	}
	for _, pricing := range kept.Pricings {
		row := page.KeptRow{Size: pricing.Sheet.Inputs.Size, Sheet: pricing.Sheet, Quotes: pricing.Quotes}
		for i := range pricing.Sheet.Lines {
			line := &pricing.Sheet.Lines[i]
			row.Lines = append(row.Lines, page.SheetLine{Line: line, Factors: origins{base: view.Base}.then(line)})
		}
		view.Rows = append(view.Rows, row)
	}
	if kept.ColourwayID == nil {
		return s.show(w, r, view)
	}
	now, err := s.service.PriceStyle(r.Context(), s.workshop, *kept.ColourwayID, costing.Change{})
	if problems, failed := problemsOf(&form.Form{}, err); failed != nil {
		return failed
	} else if len(problems) > 0 { // what was kept is shown even where today's prices can't be worked out
		return s.show(w, r, view)
	}
	view.Comparable = now.Workshop.Currency == kept.Pricings[0].Sheet.Inputs.Currency.String()
	for i := range view.Rows {
		if at := slices.Index(now.Sizes, view.Rows[i].Size); at >= 0 && view.Comparable {
			view.Rows[i].Now = &now.Pricings[at].Sheet.Total
		}
	}
	return s.show(w, r, view)
}

// then are the numbers of a line of a kept cost sheet. They lead nowhere: what they came from may be
// another by now.
func (o origins) then(line *costing.Line) []page.FactorView {
	shown := make([]page.FactorView, len(line.Factors))
	for i, factor := range line.Factors {
		shown[i] = page.FactorView{Name: factor.Name, Value: o.value(factor)}
		o.perUnit(&shown[i], line, factor, nil)
	}
	return shown
}

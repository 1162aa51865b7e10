package server

import (
	"fmt"
	"io"
	"net/http"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
)

func (s *Server) priceRoutes(r chi.Router) {
	r.Get("/prices", s.handle(s.listPrices))
	r.Get("/prices/{id}", s.handle(s.showPrice))
	r.Post("/prices/{id}/issue", s.handle(s.issuePrices))
	r.Get("/prices/{id}/pricing.xlsx", s.handle(s.pricingWorkbook))
}

func (s *Server) listPrices(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Prices", "prices")
	if err != nil {
		return err
	}
	rows, err := s.styleRows(r)
	if err != nil {
		return err
	}
	return s.show(w, r, page.Prices{Base: base, Styles: rows})
}

// readChange reads a what-if from the query; asked tells whether there is one.
func readChange(f *form.Form) (change costing.Change, asked bool) {
	percent := func(field string) money.Rate {
		asked = asked || f.Text(field) != ""
		return money.Percent(f.Decimal(field))
	}
	change = costing.Change{Cloth: percent("cloth"), Wage: percent("wage"), Minutes: percent("minutes")}
	if f.Text("batch") != "" {
		asked = true
		change.Batch = f.Decimal("batch")
	}
	return change, asked
}

func (s *Server) showPrice(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	f := form.FromQuery(r)
	change, asked := readChange(f)
	if !f.OK() {
		change, asked = costing.Change{}, false
	}
	prices, priceErr := s.service.PriceStyle(r.Context(), s.workshop, number, change)
	if priceErr != nil && asked {
		// The question was at fault: show the real prices, and what is wrong beside the form.
		problems, err := problemsOf(f, priceErr)
		if err != nil {
			return err
		}
		for _, p := range problems {
			f.Wrong(p.Field, p.Message)
		}
		asked = false
		prices, priceErr = s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	}
	if priceErr != nil {
		return priceErr
	}
	base, err := s.base(r, prices.Style.Name+", "+prices.Colourway.Name, "prices")
	if err != nil {
		return err
	}
	base.Raw = f.Values
	view := page.Price{Base: base, Prices: prices, Change: change, Asked: asked}
	for _, p := range f.Problems() {
		view.Problems = append(view.Problems, page.Problem{Field: p.Field, Message: p.Message})
	}
	for i, size := range prices.Sizes {
		row := page.PriceRow{Size: size, Sheet: prices.Pricings[i].Sheet, Quotes: prices.Pricings[i].Quotes}
		view.Rows = append(view.Rows, row)
	}
	if view.Issued, err = s.service.CostSnapshots(r.Context(), s.workshop, number); err != nil {
		return err
	}
	status := http.StatusOK
	if len(view.Problems) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.render(w, r, status, view)
	return nil
}

func (s *Server) issuePrices(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	if _, err := s.service.IssueCosts(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return done(w, r, fmt.Sprintf("/prices/%d", number), "prices")
}

func (s *Server) pricingWorkbook(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	return s.download(w, "pricing.xlsx", func(out io.Writer) error { return s.service.PricingWorkbook(r.Context(), out, s.workshop, number) })
}

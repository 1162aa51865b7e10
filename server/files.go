package server

import (
	"bytes"
	"context"
	"crypto/subtle"
	"io"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"
)

func (s *Server) fileRoutes(r chi.Router) {
	r.Get("/orders.csv", s.handle(s.table("orders.csv", s.service.OrdersTable)))
	r.Get("/styles.csv", s.handle(s.table("cut-sizes.csv", s.service.StylesTable)))
	r.Get("/cloths.csv", s.handle(s.table("cloths.csv", s.service.ClothsTable)))
	r.Get("/prices.csv", s.handle(s.table("prices-with-costs.csv", s.service.PricesTable)))
	r.Get("/prices/lists/{id}/prices.csv", s.handle(s.listTable("price-list.csv", s.service.PriceListTable)))
	r.Get("/prices/lists/{id}/with-costs.csv", s.handle(s.listTable("price-list-with-costs.csv", s.service.PriceListCostsTable)))
	r.Get("/calendar/{key}", s.handle(s.calendar))
	r.Post("/workshop/calendar", s.handle(s.changeCalendarKey))
}

// table answers with a table as CSV, whole, or the error.
func (s *Server) table(name string, write func(ctx context.Context, out io.Writer, workshop int64) error) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		var buffer bytes.Buffer
		if err := write(r.Context(), &buffer, s.workshop); err != nil {
			return err
		}
		s.send(w, &buffer, "text/csv; charset=utf-8", name)
		return nil
	}
}

// listTable answers with a table of one issued price list.
func (s *Server) listTable(name string, write func(ctx context.Context, out io.Writer, workshop, list int64) error) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		number, err := id(r, "id")
		if err != nil {
			return err
		}
		return s.table(name, func(ctx context.Context, out io.Writer, workshop int64) error {
			return write(ctx, out, workshop, number)
		})(w, r)
	}
}

// send sends a file.
func (s *Server) send(w http.ResponseWriter, content *bytes.Buffer, kind, name string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	if _, err := content.WriteTo(w); err != nil {
		s.log.Info("a download was broken off", "name", name, "error", err)
	}
}

// calendar answers with the feed of due days and working days. Programs that read it can't
// sign in: the key in the address opens it.
func (s *Server) calendar(w http.ResponseWriter, r *http.Request) error {
	key, err := s.service.CalendarKey(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	asked, _ := strings.CutSuffix(chi.URLParam(r, "key"), ".ics")
	if subtle.ConstantTimeCompare([]byte(asked), []byte(key)) != 1 {
		return notFound("calendar")
	}
	var buffer bytes.Buffer
	if err := s.service.Calendar(r.Context(), &buffer, s.workshop, addressOf(r)); err != nil {
		return err
	}
	s.send(w, &buffer, "text/calendar; charset=utf-8", "workroom.ics")
	return nil
}

func (s *Server) changeCalendarKey(w http.ResponseWriter, r *http.Request) error {
	if err := s.service.ChangeCalendarKey(r.Context(), s.workshop); err != nil {
		return err
	}
	return done(w, r, "/workshop", "calendar")
}

package server

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"yardwright/server/store"
)

// open routes are for everybody, signed in or not.
var open = map[string]bool{
	"GET /sign-in": true, "POST /sign-in": true, "GET /join/{word}": true, "POST /join/{word}": true,
	// Programs that read a calendar can't sign in; the key in the address opens it.
	"GET /calendar/{key}": true,
}

// forHelpers are the routes that a helper may use: what cutting and sewing needs. Every route
// that stands neither here nor in open is for owners, so that a new one shows nothing to
// helpers by accident.
var forHelpers = map[string]bool{
	"GET /":        true,
	"GET /account": true, "POST /account/password": true, "POST /account/end": true, "POST /sign-out": true,
	"GET /orders": true, "GET /orders/{id}": true,
	"GET /styles": true, "GET /styles/{id}": true, "GET /charts/{id}": true,
	"GET /shelf": true, "GET /shopping": true,
	"GET /batches": true, "GET /batches/{id}": true, "GET /batches/{id}/sheet": true, "GET /batches/{id}/cutting.xlsx": true, "GET /batches/{id}/progress": true,
	"GET /batches/{id}/drawing.svg":   true,
	"GET /batches/{id}/cut-sheet.pdf": true, "GET /batches/{id}/tickets": true, "GET /batches/{id}/tickets.pdf": true, "GET /batches/{id}/bundles/{number}": true,
	// Cutting and sewing is ticked off by whoever does it; releasing a batch is for owners.
	"POST /batches/{id}/lays/{part}/cut": true, "POST /batches/{id}/lays/{part}/undo": true,
	"POST /batches/{id}/notions/{part}/take": true, "POST /batches/{id}/notions/{part}/undo": true,
	"POST /batches/{id}/bundles": true, "POST /batches/{id}/bundles/undo": true,
	// Whoever did the work notes how long it took; what a batch cost besides stays with owners.
	"GET /batches/{id}/took": true, "POST /batches/{id}/minutes": true,
	"POST /batches/{id}/minutes/{entry}/remove": true, "POST /batches/{id}/minutes/{entry}/restore": true,
	"GET /styles/{id}/templates": true, "GET /styles/{id}/templates.pdf": true, "GET /styles/{id}/templates.svg": true,
}

// helperMay tells whether a helper may send such a request.
func (s *Server) helperMay(method, path string) bool {
	pattern := s.routes.Find(chi.NewRouteContext(), method, path)
	return forHelpers[method+" "+pattern]
}

// routeOf names the route that a request takes, such as "GET /orders/{id}"; empty if there is
// none.
func routeOf(pages *chi.Mux, r *http.Request) string {
	pattern := pages.Find(chi.NewRouteContext(), r.Method, r.URL.Path)
	if pattern == "" {
		return ""
	}
	return r.Method + " " + pattern
}

// permit lets through whoever may use a page. Others are led to the sign-in, or told that it
// isn't for them.
func (s *Server) permit(pages *chi.Mux) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		person, route := whoOf(r.Context()), routeOf(pages, r)
		switch {
		case open[route]:
		case !person.known:
			s.sendToSignIn(w, r)
			return
		case person.Role == store.Helper && route != "" && !forHelpers[route]:
			s.answer(w, r, &store.Fault{Kind: store.Forbidden, Problems: []store.Problem{{Message: "This page is for owners: it shows money, or changes what only an owner may. Ask an owner if you need something from it."}}})
			return
		}
		if r.Method == http.MethodPost && person.known {
			s.forgetKept(r)
			s.sessions.Remove(r.Context(), "undo")
			s.sessions.Remove(r.Context(), "said")
		}
		pages.ServeHTTP(w, afresh(r))
		if r.Method == http.MethodPost && person.known {
			if err := s.service.CostingMayHaveChanged(context.WithoutCancel(r.Context()), s.workshop); err != nil {
				s.log.Warn("costing markers were not queued", "error", err)
			}
		}
	})
}

// afresh is a request whose way through the routes begins anew.
func afresh(r *http.Request) *http.Request {
	return r.WithContext(withoutRoute(r.Context()))
}

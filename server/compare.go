package server

import (
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) compareRoutes(r chi.Router) {
	r.Get("/batches/{id}/compare", s.handle(s.compareBatch))
}

// compareBatch shows what other choices would change in a batch. With "from" and "to" it plans
// the batch with another cloth.
func (s *Server) compareBatch(w http.ResponseWriter, r *http.Request) error {
	view, err := s.compareView(r)
	if err != nil {
		return err
	}
	query := r.URL.Query()
	if view.Plan == nil || !view.Batch.Draft() || query.Get("from") == "" && query.Get("to") == "" {
		return s.show(w, r, view)
	}
	from, fromErr := strconv.ParseInt(query.Get("from"), 10, 64)
	to, toErr := strconv.ParseInt(query.Get("to"), 10, 64)
	if fromErr != nil || toErr != nil {
		return notFound("cloth")
	}
	view.From, view.To = from, to
	choice, err := s.service.CompareCloths(r.Context(), s.workshop, view.Batch.ID, from, to)
	if err != nil {
		if view.Problems, err = problemsOf(&form.Form{}, err); err != nil {
			return err
		}
		return s.refuse(w, r, view)
	}
	view.Choice = &choice
	return s.show(w, r, view)
}

// compareView reads a batch, its plan and the cloths that can be compared.
func (s *Server) compareView(r *http.Request) (page.BatchCompare, error) {
	number, err := id(r, "id")
	if err != nil {
		return page.BatchCompare{}, err
	}
	var view page.BatchCompare
	if view.Batch, err = s.service.Batch(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, "Other choices for "+view.Batch.Name, "batches"); err != nil {
		return view, err
	}
	if _, view.Plan, err = s.service.HeldPlan(r.Context(), s.workshop, number); err != nil || view.Plan == nil {
		return view, err
	}
	if view.Others, err = s.service.Cloths(r.Context(), s.workshop); err != nil {
		return view, err
	}
	for _, cloth := range view.Others {
		if slices.ContainsFunc(view.Plan.Cloths, func(p batch.ClothPlan) bool { return p.Cloth.ID == cloth.ID }) {
			view.Cloths = append(view.Cloths, cloth)
		}
	}
	// To begin with, another cloth than the first is proposed: none is compared with itself.
	if len(view.Cloths) > 0 {
		if at := slices.IndexFunc(view.Others, func(c store.Cloth) bool { return c.ID != view.Cloths[0].ID }); at >= 0 {
			view.To = view.Others[at].ID
		}
	}
	return view, nil
}

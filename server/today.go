package server

import (
	"context"
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) todayRoutes(r chi.Router) { r.Get("/", s.handle(s.showToday)) }

// dueShown is how many orders the first page lists.
const dueShown = 12

func (s *Server) showToday(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Today", "today")
	if err != nil {
		return err
	}
	view := page.Today{Base: base}
	orders, err := s.service.Orders(r.Context(), s.workshop, store.Due, mostRows)
	if err != nil {
		return err
	}
	for _, o := range orders {
		if base.Late(o.DueOn) {
			view.LateOrders++
		}
	}
	view.DueOrders, view.Due = len(orders), orders[:min(dueShown, len(orders))]
	if view.Batches, err = s.service.Batches(r.Context(), s.workshop, 6); err != nil {
		return err
	}
	if view.OpenGarments, err = s.openGarments(r.Context()); err != nil {
		return err
	}
	view.Next, err = s.nextStep(r.Context(), view)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) openGarments(ctx context.Context) (int, error) {
	lines, err := s.service.OpenLines(ctx, s.workshop)
	if err != nil {
		return 0, err
	}
	garments := 0
	for _, line := range lines {
		garments += line.Quantity
	}
	return garments, nil
}

// nextStep says what to do next; an empty workshop is led through its first steps.
func (s *Server) nextStep(ctx context.Context, view page.Today) (page.Step, error) {
	counts, err := s.service.Counts(ctx, s.workshop)
	if err != nil {
		return page.Step{}, err
	}
	switch {
	case counts.Cloths == 0:
		return page.Step{Text: "Begin with a cloth that you use: its width, its price, and which way its print runs.", Link: "/shelf/cloths/new", Label: "Add a cloth"}, nil
	case counts.Notions == 0:
		return page.Step{Text: "Add the notions that you use: elastic, thread, labels.", Link: "/shelf/notions/new", Label: "Add a notion"}, nil
	case counts.Styles == 0:
		return page.Step{Text: "Start your first style from a draft: a skirt, shorts, an apron or a bag.", Link: "/styles/new", Label: "Start a style"}, nil
	case counts.Colourways == 0:
		return page.Step{Text: "Choose cloths for your style: that makes a colourway, which can be ordered and priced.", Link: "/styles", Label: "Choose a style"}, nil
	case counts.Orders == 0:
		return page.Step{Text: "Enter your first order, or see what your style costs.", Link: "/orders/new", Label: "Enter an order"}, nil
	case view.OpenGarments > 0:
		return page.Step{Text: garmentsWanted(view.OpenGarments), Link: "/batches/new", Label: "Make a batch"}, nil
	}
	for _, b := range view.Batches {
		if b.State == "draft" {
			return page.Step{Text: "The batch " + b.Name + " is ready to look at and to print.", Link: fmt.Sprintf("/batches/%d", b.ID), Label: "See the batch"}, nil
		}
	}
	return page.Step{Text: "Nothing is waiting. Enter the next order when it comes.", Link: "/orders/new", Label: "Enter an order"}, nil
}

func garmentsWanted(n int) string {
	if n == 1 {
		return "One garment is wanted and in no batch yet."
	}
	return fmt.Sprintf("%d garments are wanted and in no batch yet. Cut them together.", n)
}

// mostRows is how many rows a list shows.
const mostRows = 2000

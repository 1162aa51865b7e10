package server

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/words"
	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) todayRoutes(r chi.Router) { r.Get("/", s.handle(s.showToday)) }

// dueShown is how many orders the first page lists.
const dueShown = 12

// daysShown is how many days it looks ahead.
const daysShown = 7

func (s *Server) showToday(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Today", "today")
	if err != nil {
		return err
	}
	view := page.Today{Base: base}
	counts, err := s.service.DueCounts(r.Context(), s.workshop, base.Today)
	if err != nil {
		return err
	}
	view.DueOrders, view.LateOrders, view.OpenGarments = counts.Due, counts.Late, counts.OpenGarments
	if view.Due, _, err = s.service.FindOrders(r.Context(), s.workshop, store.OrderSearch{State: store.Due, Most: dueShown}); err != nil {
		return err
	}
	room, err := s.service.Workshop(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	if view.Load, err = s.service.Load(r.Context(), room, daysShown); err != nil {
		return err
	}
	view.Week = drawWeek(base, view.Load.Days)
	if view.Batches, err = s.service.Batches(r.Context(), s.workshop, 6); err != nil {
		return err
	}
	view.Next, err = s.nextStep(r.Context(), view)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) openGarments(ctx context.Context) (int, error) {
	counts, err := s.service.DueCounts(ctx, s.workshop, s.service.Today())
	return counts.OpenGarments, err
}

// firstSteps lead a newcomer to a style of their own with its prices.
var firstSteps = []struct {
	page.Step
	done func(counts store.Counts, issued int) bool
}{
	{page.Step{Text: "Begin with a cloth that you use: its width, its price, and which way its print runs.", Link: "/shelf/cloths/new", Label: "Add a cloth"}, func(c store.Counts, _ int) bool { return c.Cloths > 0 }},
	{page.Step{Text: "Add the notions that you use: elastic, thread, labels.", Link: "/shelf/notions/new", Label: "Add a notion"}, func(c store.Counts, _ int) bool { return c.Notions > 0 }},
	{page.Step{Text: "Start your first style from a draft: a skirt, shorts, an apron or a bag.", Link: "/styles/new", Label: "Start a style"}, func(c store.Counts, _ int) bool { return c.Styles > 0 }},
	{page.Step{Text: "Choose cloths for your style: that makes a colourway, which can be ordered and priced.", Link: "/styles", Label: "Choose a style"}, func(c store.Counts, _ int) bool { return c.Colourways > 0 }},
	{page.Step{Text: "See what your style costs in each size and what to charge for it; then keep those prices.", Link: "/prices", Label: "Price your style"}, func(_ store.Counts, issued int) bool { return issued > 0 }},
}

// nextStep says what to do next; an empty workshop is led through its first steps.
func (s *Server) nextStep(ctx context.Context, view page.Today) (page.Step, error) {
	counts, err := s.service.Counts(ctx, s.workshop)
	if err != nil {
		return page.Step{}, err
	}
	issued, err := s.service.IssuedPrices(ctx, s.workshop)
	if err != nil {
		return page.Step{}, err
	}
	for i, step := range firstSteps {
		if !step.done(counts, len(issued)) {
			next := step.Step
			next.Number, next.Of = i+1, len(firstSteps)
			return next, nil
		}
		if counts.Orders > 0 {
			break // at work: no more leading by the hand
		}
	}
	if counts.Orders == 0 {
		return page.Step{Text: "Your first style is priced. Enter your first order, or sell at a fair.", Link: "/orders/new", Label: "Enter an order"}, nil
	}
	return s.nextWork(ctx, view)
}

func garmentsWanted(n int) string {
	if n == 1 {
		return "One garment is wanted and in no batch yet."
	}
	return words.Count(n, "garment") + " are wanted and in no batch yet. Cut them together."
}

// mostRows is how many rows a list shows.
const mostRows = 2000

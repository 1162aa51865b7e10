package server

import (
	"context"
	"fmt"
	"time"

	"yardwright/batch/words"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// nextWork says what to do next in a workshop that is at work: what is finished goes out, what
// is begun goes on, then comes what is late, then what is planned, and what isn't yet.
func (s *Server) nextWork(ctx context.Context, view page.Today) (page.Step, error) {
	if step, ok := handOver(view); ok {
		return step, nil
	}
	for _, b := range view.Load.Planned {
		if b.State == "draft" {
			continue
		}
		step, err := s.goOnWith(ctx, b)
		if err != nil || step.Text != "" {
			return step, err
		}
	}
	if view.OpenGarments > 0 {
		return page.Step{Text: garmentsWanted(view.OpenGarments) + lateOrders(view.LateOrders), Link: "/batches/new", Label: "Make a batch"}, nil
	}
	if step, ok := withDraft(view); ok {
		return step, nil
	}
	if step, ok := handOverEarly(view); ok {
		return step, nil
	}
	return page.Step{Text: "Nothing is waiting. Enter the next order when it comes.", Link: "/orders/new", Label: "Enter an order"}, nil
}

func lateOrders(count int) string {
	if count == 0 {
		return ""
	}
	return fmt.Sprintf(" %s %s late.", words.Count(count, "order"), words.Verb(count, "is", "are"))
}

// handOver is the step for the first order that is made and due, handOverEarly for the first that is made.
func handOver(view page.Today) (page.Step, bool) {
	return handOverIf(view, func(order store.Order) bool { return !order.DueOn.After(view.Today) })
}

func handOverEarly(view page.Today) (page.Step, bool) {
	return handOverIf(view, func(store.Order) bool { return true })
}

func handOverIf(view page.Today, now func(store.Order) bool) (page.Step, bool) {
	for _, order := range view.Due {
		if order.State == workshop.StateMade && now(order) {
			return page.Step{
				Text: fmt.Sprintf("Order %s for %s is made and due %s: hand it over.", order.Number, order.CustomerName, dueWhen(view.Base, order.DueOn)),
				Link: fmt.Sprintf("/orders/%d", order.ID), Label: "To the order",
			}, true
		}
	}
	return page.Step{}, false
}

// goOnWith is the step for a batch that is released; none if all of it is cut and sewn.
func (s *Server) goOnWith(ctx context.Context, b store.PlannedWork) (page.Step, error) {
	read, err := s.service.BatchWork(ctx, s.workshop, b.BatchID)
	if err != nil {
		return page.Step{}, err
	}
	work := page.NewWork(read.Lays, read.Bundles, read.Notions)
	link := fmt.Sprintf("/batches/%d", b.BatchID)
	switch {
	case work.LaysCut < work.Lays:
		return page.Step{Text: fmt.Sprintf("%s: %d of %d lays are cut. Cut the next one.", b.Name, work.LaysCut, work.Lays), Link: link, Label: "To the batch"}, nil
	case work.BundlesSewn < work.Bundles:
		return page.Step{Text: fmt.Sprintf("%s is cut; %d of %d bundles are sewn. Sew the next one.", b.Name, work.BundlesSewn, work.Bundles), Link: link + "#bundles", Label: "To the bundles"}, nil
	}
	return page.Step{}, nil
}

// withDraft is the step for the first batch that isn't released.
func withDraft(view page.Today) (page.Step, bool) {
	for _, b := range view.Load.Planned {
		if b.State != "draft" {
			continue
		}
		link := fmt.Sprintf("/batches/%d", b.BatchID)
		if missing := missingFor(view.Load.Short, b.BatchID); missing > 0 {
			return page.Step{Text: fmt.Sprintf("%s is planned; buy %s for it first. Enter what you got on its page, and the plan takes it as it stands.", b.Name, words.Count(missing, "cloth")), Link: link, Label: "See what it needs"}, true
		}
		return page.Step{Text: "The plan of " + b.Name + " is ready. Look it over, then start cutting.", Link: link, Label: "See the batch"}, true
	}
	for _, b := range view.Batches {
		if b.State == "draft" { // it has no plan yet
			return page.Step{Text: "The batch " + b.Name + " isn't planned yet.", Link: fmt.Sprintf("/batches/%d", b.ID), Label: "See the batch"}, true
		}
	}
	return page.Step{}, false
}

func missingFor(short []workshop.Short, batchID int64) int {
	count := 0
	for _, item := range short {
		if item.BatchID == batchID {
			count++
		}
	}
	return count
}

// dueWhen says when something was due, within a sentence.
func dueWhen(base page.Base, day time.Time) string {
	if base.Late(day) {
		return "since " + base.Day(day)
	}
	return base.Until(day)
}

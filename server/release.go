package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/length"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// releaseRoutes are what is done with a batch once it is planned.
func (s *Server) releaseRoutes(r chi.Router) {
	r.Get("/batches/{id}/plans", s.handle(s.comparePlans))
	r.Post("/batches/{id}/plans/{part}/choose", s.batchStep("chosen", func(r *http.Request, f *form.Form, batchID, plan int64) (string, error) {
		before, _, err := s.service.HeldPlan(r.Context(), s.workshop, batchID)
		if err != nil {
			return "", err
		}
		version := f.Int("version", 0, 1<<30)
		if err := s.service.ChoosePlan(r.Context(), s.workshop, batchID, version, plan); err != nil {
			return "", err
		}
		if before != plan {
			s.canUndo(r, fmt.Sprintf("/batches/%d/plans/%d/choose", batchID, before), "version", strconv.Itoa(version+1))
		}
		return "", nil
	}))
	r.Post("/batches/{id}/release", s.batchStep("released", func(r *http.Request, f *form.Form, batchID, _ int64) (string, error) {
		version := f.Int("version", 0, 1<<30)
		if err := s.service.Release(r.Context(), s.workshop, batchID, version, f.ID("plan")); err != nil {
			return "", err
		}
		s.canUndo(r, fmt.Sprintf("/batches/%d/undo", batchID), "version", strconv.Itoa(version+1))
		return "", nil
	}))
	r.Post("/batches/{id}/undo", s.batchStep("unreleased", func(r *http.Request, f *form.Form, batchID, _ int64) (string, error) {
		return "", s.service.UndoRelease(r.Context(), s.workshop, batchID, f.Int("version", 0, 1<<30))
	}))
	r.Post("/batches/{id}/orders/{part}/out", s.batchStep("out", func(r *http.Request, f *form.Form, batchID, order int64) (string, error) {
		version := f.Int("version", 0, 1<<30)
		if err := s.service.TakeOrderOut(r.Context(), s.workshop, batchID, version, order); err != nil {
			return "", err
		}
		s.canUndo(r, fmt.Sprintf("/batches/%d/orders/%d/in", batchID, order), "version", strconv.Itoa(version+1))
		return "", nil
	}))
	r.Post("/batches/{id}/orders/{part}/in", s.batchStep("in", func(r *http.Request, f *form.Form, batchID, order int64) (string, error) {
		return "", s.service.PutOrderBack(r.Context(), s.workshop, batchID, f.Int("version", 0, 1<<30), order)
	}))
	r.Post("/batches/{id}/remove", s.handle(s.removeBatch))
	r.Post("/batches/{id}/lays/{part}/cut", s.handle(s.cutLay))
	r.Post("/batches/{id}/lays/{part}/undo", s.batchStep("uncut", func(r *http.Request, _ *form.Form, batchID, lay int64) (string, error) {
		return fmt.Sprintf("lay-%d", lay), s.service.UndoCut(r.Context(), s.workshop, batchID, lay)
	}))
	r.Post("/batches/{id}/notions/{part}/take", s.batchStep("notion_taken", func(r *http.Request, _ *form.Form, batchID, notion int64) (string, error) {
		if err := s.service.TakeNotion(r.Context(), s.workshop, batchID, notion); err != nil {
			return "", err
		}
		s.canUndo(r, fmt.Sprintf("/batches/%d/notions/%d/undo", batchID, notion))
		return workshop.NotionField(notion), nil
	}))
	r.Post("/batches/{id}/notions/{part}/undo", s.batchStep("returned", func(r *http.Request, _ *form.Form, batchID, notion int64) (string, error) {
		return workshop.NotionField(notion), s.service.GiveNotionBack(r.Context(), s.workshop, batchID, notion)
	}))
	r.Post("/batches/{id}/bundles", s.batchStep("sewn", func(r *http.Request, f *form.Form, batchID, _ int64) (string, error) {
		fresh, err := s.service.SewBundles(r.Context(), s.workshop, batchID, bundleNumbers(f))
		if err != nil {
			return "", err
		}
		if len(fresh) > 0 {
			s.canUndo(r, fmt.Sprintf("/batches/%d/bundles/undo", batchID), bundlePairs(fresh)...)
		}
		return "bundles", nil
	}))
	r.Post("/batches/{id}/bundles/undo", s.batchStep("unsewn", func(r *http.Request, f *form.Form, batchID, _ int64) (string, error) {
		numbers := bundleNumbers(f)
		if err := s.service.UnsewBundles(r.Context(), s.workshop, batchID, numbers); err != nil {
			return "", err
		}
		s.canUndo(r, fmt.Sprintf("/batches/%d/bundles", batchID), bundlePairs(numbers)...)
		return "bundles", nil
	}))
}

// bundleNumbers are the bundles that a form names.
func bundleNumbers(f *form.Form) []int {
	var numbers []int
	for _, number := range f.IDs("bundles") {
		numbers = append(numbers, int(number))
	}
	return numbers
}

// bundlePairs names bundles in the hidden fields of an undo.
func bundlePairs(numbers []int) []string {
	var pairs []string
	for _, number := range numbers {
		pairs = append(pairs, "bundles", strconv.Itoa(number))
	}
	return pairs
}

// batchStep handles a form of the batch page that has nothing to type in: it does one thing to
// the batch, or to the part of it that the path names, and shows the batch at the place where
// that was. What is refused comes back on the page of the batch.
func (s *Server) batchStep(what string, do func(r *http.Request, f *form.Form, batchID, part int64) (place string, err error)) http.HandlerFunc {
	return s.handle(func(w http.ResponseWriter, r *http.Request) error {
		batchID, f, err := idAndForm(w, r)
		if err != nil {
			return err
		}
		var part int64
		if chi.URLParam(r, "part") != "" {
			if part, err = id(r, "part"); err != nil {
				return err
			}
		}
		place, err := do(r, f, batchID, part)
		if err != nil {
			return s.refuseOnBatch(w, r, f, err)
		}
		return doneAt(w, r, batchID, what, place)
	})
}

// doneAt shows a batch again, at a place of its page, with a word about what was done.
func doneAt(w http.ResponseWriter, r *http.Request, batchID int64, what, place string) error {
	path := fmt.Sprintf("/batches/%d?done=%s", batchID, what)
	if place != "" {
		path += "#" + place
	}
	http.Redirect(w, r, path, http.StatusSeeOther)
	return nil
}

// refuseOnBatch shows the batch as it is now, with what was typed and what is wrong with it.
func (s *Server) refuseOnBatch(w http.ResponseWriter, r *http.Request, f *form.Form, refused error) error {
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	view, err := s.batchView(r)
	if err != nil {
		return err
	}
	view.Raw, view.Problems, view.Notice = f.Values, problems, ""
	return s.refuse(w, r, view)
}

func (s *Server) removeBatch(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	row, err := s.service.Batch(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	orders, err := s.service.BatchOrders(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	if err := s.service.RemoveBatch(r.Context(), s.workshop, number, f.Int("version", 0, 1<<30)); err != nil {
		return s.refuseOnBatch(w, r, f, err)
	}
	if len(orders) == 0 {
		return done(w, r, "/batches", "removed")
	}
	again := []string{"name", row.Name, "starts_on", row.StartsOn.Format(time.DateOnly)}
	for _, order := range orders {
		again = append(again, "orders", strconv.FormatInt(order.ID, 10))
	}
	return s.doneUndo(w, r, "/batches", "removed", "/batches", again...)
}

func (s *Server) cutLay(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	lay, err := id(r, "part")
	if err != nil {
		return err
	}
	base, err := s.base(r, "", "batches")
	if err != nil {
		return err
	}
	var said []workshop.LayCut
	for _, draw := range f.IDs("draw") {
		field := func(name string) string { return name + "." + strconv.FormatInt(draw, 10) }
		said = append(said, workshop.LayCut{
			Draw: draw, Taken: f.LengthNeeded(field("taken"), base.Units.System.Long()), Rest: f.Text(field("rest")), Place: f.Name(field("place")),
		})
	}
	if f.OK() {
		err = s.service.CutLay(r.Context(), s.workshop, number, lay, said)
	}
	if err != nil || !f.OK() {
		return s.refuseOnBatch(w, r, f, err)
	}
	s.canUndo(r, fmt.Sprintf("/batches/%d/lays/%d/undo", number, lay))
	return doneAt(w, r, number, "cut", fmt.Sprintf("lay-%d", lay))
}

// putBeside puts how far a released batch is beside its lays. The drawn lays are kept for other
// pages, so this page gets copies of them.
func putBeside(planned *page.Planned, work store.BatchWork, keep length.Length) {
	planned.Work = page.NewWork(work.Lays, work.Bundles, work.Notions)
	planned.Lays = slices.Clone(planned.Lays)
	for i := range planned.Lays {
		planned.Lays[i].Lays = slices.Clone(planned.Lays[i].Lays)
	}
	for _, l := range work.Lays {
		cloth := planned.Plan.Cloths[l.Cloth].Cloth
		shown := page.NewLayWork(l, fmt.Sprintf("%s, lay %d", cloth.Name, l.Lay+1), keep)
		if planned.Work.Next == nil && l.CutAt == nil {
			planned.Work.Next = shown
		}
		at := slices.IndexFunc(planned.Lays, func(c page.ClothLays) bool { return c.Plan.Cloth.ID == cloth.ID })
		planned.Lays[at].Lays[l.Lay].Work = shown
	}
}

// plansShown is how many plans of a batch stand side by side.
const plansShown = 4

func (s *Server) comparePlans(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	view := page.BatchPlans{}
	if view.Batch, err = s.service.Batch(r.Context(), s.workshop, number); err != nil {
		return err
	}
	if view.Base, err = s.base(r, "Plans of "+view.Batch.Name, "batches"); err != nil {
		return err
	}
	kept, err := s.service.KeptPlans(r.Context(), s.workshop, number, plansShown)
	if err != nil {
		return err
	}
	lines, err := s.service.BatchLines(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	held, _, err := s.service.HeldPlan(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	for _, k := range kept {
		column := view.NewPlanColumn(k)
		column.Holds, column.Stale = k.ID == held, !workshop.SameLines(k.Plan.Lines, lines)
		view.Plans = append(view.Plans, column)
	}
	markBest(view.Plans)
	return s.show(w, r, view)
}

// markBest marks which plans cut most, and which of those cost least and take least time.
func markBest(plans []page.PlanColumn) {
	most := 0
	for _, p := range plans {
		if !p.Stale {
			most = max(most, p.Cut)
		}
	}
	var cheapest, quickest *page.PlanColumn
	for i := range plans {
		p := &plans[i]
		if p.Stale || p.Cut < most {
			continue
		}
		p.Most = true
		if cheapest == nil || p.Cost < cheapest.Cost {
			cheapest = p
		}
		if quickest == nil || p.CuttingTime < quickest.CuttingTime {
			quickest = p
		}
	}
	for i := range plans {
		p := &plans[i]
		p.Cheapest = p.Most && p.Cost == cheapest.Cost
		p.Quickest = p.Most && p.CuttingTime == quickest.CuttingTime
	}
}

var errNoPlan = errors.New("a released batch without its plan")

// batchView fills the page of a batch.
func (s *Server) batchView(r *http.Request) (page.Batch, error) {
	planned, err := s.planned(r, "", false)
	if err != nil {
		return page.Batch{}, err
	}
	if planned.Plan == nil && !planned.Batch.Draft() {
		return page.Batch{}, errNoPlan
	}
	work, err := s.service.BatchWork(r.Context(), s.workshop, planned.Batch.ID)
	if err != nil {
		return page.Batch{}, err
	}
	if !planned.Batch.Draft() {
		w, err := s.service.Workshop(r.Context(), s.workshop)
		if err != nil {
			return page.Batch{}, err
		}
		putBeside(&planned, work, w.KeepLength)
		if planned.Work.Earned, err = s.earnedLine(r, planned.Base, planned.Batch.ID, planned.Work); err != nil {
			return page.Batch{}, err
		}
	}
	view := page.Batch{Planned: planned, Orders: work.Orders, Plans: work.Plans}
	if view.Planning, err = s.service.LatestPlan(r.Context(), s.workshop, planned.Batch.ID); err != nil {
		return view, err
	}
	view.Stale = planned.Plan != nil && planned.Batch.Draft() && !workshop.SameLines(planned.Plan.Lines, work.Lines)
	if planned.Plan == nil {
		return view, nil
	}
	if view.ToBuy, err = s.service.ShoppingList(r.Context(), s.workshop, planned.Batch.ID); err != nil || !planned.Batch.Draft() {
		return view, err
	}
	return view, s.fillNext(r, &view)
}

// fillNext says what stands in the way of releasing a draft, and which newer plan it doesn't use.
func (s *Server) fillNext(r *http.Request, view *page.Batch) error {
	w, err := s.service.Workshop(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	problems, err := s.service.ReleaseProblems(r.Context(), w, *view.Plan)
	if err != nil {
		return err
	}
	view.ToDo = page.NewToDo(problems, view.Planned)
	if view.Stale || view.Planning == nil || !view.Planning.Finished() {
		return nil
	}
	kept, err := s.service.KeptPlans(r.Context(), s.workshop, view.Batch.ID, plansShown)
	if err != nil {
		return err
	}
	view.Newer = page.NewNewer(view.Planned, *view.Planning, kept)
	return nil
}

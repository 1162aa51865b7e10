package server

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) batchRoutes(r chi.Router) {
	r.Get("/batches", s.handle(s.listBatches))
	fresh := editing[*page.BatchNew]{s.batchNew, (*page.BatchNew).Form, s.makeBatch}
	r.Get("/batches/new", fresh.showing(s))
	r.Post("/batches", fresh.saving(s))
	r.Get("/batches/{id}", s.handle(s.showBatch))
	r.Post("/batches/{id}/plan", s.handle(s.planBatch))
	r.Post("/batches/{id}/stop", s.handle(s.stopPlan))
	r.Get("/batches/{id}/progress", s.handle(s.progress))
	r.Get("/batches/{id}/sheet", s.handle(s.cutSheet))
	r.Get("/batches/{id}/cutting.xlsx", s.handle(s.cuttingWorkbook))
	s.releaseRoutes(r)
	s.compareRoutes(r)
	s.markerRoutes(r)
}

func (s *Server) listBatches(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Batches", "batches")
	if err != nil {
		return err
	}
	view := page.Batches{Base: base}
	number, err := strconv.Atoi(r.URL.Query().Get("page"))
	if err != nil || number < 1 || number > mostRows {
		number = 1
	}
	view.Pager.Number = number
	if view.Batches, view.Pager.All, err = s.service.BatchesPage(r.Context(), s.workshop, ordersShown, (number-1)*ordersShown); err != nil {
		return err
	}
	view.Pager.Pages = (view.Pager.All + ordersShown - 1) / ordersShown
	if view.OpenGarments, err = s.openGarments(r.Context()); err != nil {
		return err
	}
	if view.OpenGarments == 0 && view.Pager.All == 0 {
		if view.First, err = s.firstOrder(r.Context()); err != nil {
			return err
		}
	}
	return s.show(w, r, view)
}

// batchNew lists the orders with garments that no batch cuts yet, with the cloths that they
// take.
func (s *Server) batchNew(r *http.Request) (*page.BatchNew, error) {
	base, err := s.base(r, "Make a batch", "batches")
	if err != nil {
		return nil, err
	}
	ctx, view := r.Context(), &page.BatchNew{Base: base, Name: "Run of " + base.Today.Format("2 January")}
	lines, err := s.service.OpenLines(ctx, s.workshop)
	if err != nil {
		return view, err
	}
	orders, err := s.service.Orders(ctx, s.workshop, "open", mostRows)
	if err != nil {
		return view, err
	}
	names, err := s.clothNames(ctx)
	if err != nil {
		return view, err
	}
	for _, order := range orders {
		open := page.OpenOrder{Order: order}
		var cloths []string
		for _, line := range lines {
			if line.OrderID != order.ID {
				continue
			}
			open.Garments += line.Quantity
			for _, name := range names[line.ColourwayID] {
				if !slices.Contains(cloths, name) {
					cloths = append(cloths, name)
				}
			}
		}
		if open.Garments > 0 {
			open.Cloths = strings.Join(cloths, ", ")
			view.Orders = append(view.Orders, open)
		}
	}
	if len(view.Orders) == 0 {
		view.First, err = s.firstOrder(ctx)
	}
	return view, err
}

// clothNames lists the cloths of each colourway.
func (s *Server) clothNames(ctx context.Context) (map[int64][]string, error) {
	ways, err := s.service.Colourways(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	cloths, err := s.service.Cloths(ctx, s.workshop)
	if err != nil {
		return nil, err
	}
	names := map[int64][]string{}
	for _, way := range ways {
		for _, cloth := range cloths {
			if uses(way.Cloths, cloth.ID) {
				names[way.ID] = append(names[way.ID], cloth.Name)
			}
		}
	}
	return names, nil
}

func uses(cloths map[garment.Role]int64, cloth int64) bool {
	for _, used := range cloths {
		if used == cloth {
			return true
		}
	}
	return false
}

func (s *Server) makeBatch(r *http.Request, f *form.Form, _ *page.BatchNew) (saved, error) {
	draft := workshop.BatchDraft{Name: f.Needed("name", "Write a name."), StartsOn: f.Day("starts_on"), Orders: f.IDs("orders")}
	if !f.OK() {
		return saved{}, nil
	}
	made, err := s.service.MakeBatch(r.Context(), s.workshop, draft)
	if err == nil {
		_, err = s.service.StartPlan(r.Context(), s.workshop, made, 1)
	}
	return saved{fmt.Sprintf("/batches/%d", made), "batch"}, err
}

// planned reads a batch with what came out of its newest planning, drawn for the screen or
// for paper.
func (s *Server) planned(r *http.Request, title string, paper bool) (page.Planned, error) {
	number, err := id(r, "id")
	if err != nil {
		return page.Planned{}, err
	}
	view := page.Planned{LocalRules: batch.LocalRules}
	if view.Batch, err = s.service.Batch(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, title+view.Batch.Name, "batches"); err != nil {
		return view, err
	}
	if view.PlanID, view.Plan, err = s.service.HeldPlan(r.Context(), s.workshop, number); err != nil || view.Plan == nil {
		return view, err
	}
	view.Lays, err = s.drawn.lays(view, paper)
	return view, err
}

func (s *Server) showBatch(w http.ResponseWriter, r *http.Request) error {
	view, err := s.batchView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) cutSheet(w http.ResponseWriter, r *http.Request) error {
	planned, err := s.planned(r, "Cut sheet: ", true)
	if err != nil {
		return err
	}
	if planned.Plan == nil {
		return notFound("plan")
	}
	return s.show(w, r, page.CutSheet{Planned: planned})
}

// clothLays makes the lays of a plan ready to show.
func clothLays(base page.Base, plan batch.Plan, paper bool) ([]page.ClothLays, error) {
	var shown []page.ClothLays
	for at, planned := range plan.Cloths {
		if len(planned.Plan.Lays) == 0 {
			continue
		}
		cloth := page.ClothLays{Plan: planned}
		for i := range planned.Plan.Lays {
			view, err := layView(base, plan, at, i+1, paper)
			if err != nil {
				return nil, err
			}
			cloth.Lays = append(cloth.Lays, view)
		}
		shown = append(shown, cloth)
	}
	return shown, nil
}

func layView(base page.Base, plan batch.Plan, cloth, number int, paper bool) (page.LayView, error) {
	planned := plan.Cloths[cloth]
	l := planned.Plan.Lays[number-1]
	view := page.LayView{SeveralLots: len(planned.LotsOf(l)) > 1, Number: number, Cloth: planned.Cloth.Name, Lay: l, Efficiency: batch.Efficiency(l), Narrow: goodness(base, l)}
	var err error
	if paper {
		view.Drawing, err = drawOnPaper(base, planned, number-1)
	} else {
		view.View, err = markerView(base, plan, cloth, number-1)
	}
	if err != nil {
		return page.LayView{}, err
	}
	for at, count := range l.PerPly {
		if count > 0 {
			view.Garments = append(view.Garments, page.CountOf{Count: count, Name: planned.Problem.Garments[at].Name})
		}
	}
	for _, draw := range l.Draws {
		shown := page.DrawView{Plies: draw.Plies, Buy: draw.Bolt < 0}
		if !shown.Buy {
			bolt := planned.Bolts[draw.Bolt]
			shown.Bolt, shown.Lot, shown.Place = bolt.Name, bolt.Lot, bolt.Place
		}
		view.Draws = append(view.Draws, shown)
	}
	for at, count := range l.PerPly {
		if count == 0 {
			continue
		}
		for i, piece := range planned.Problem.Garments[at].Pieces {
			view.Pieces = append(view.Pieces, page.PieceCount{
				Name: piece.Name, Garment: planned.Problem.Garments[at].Name, Piece: piece, PerPly: piece.Copies * count, Total: piece.Copies * count * l.Plies,
				Corners: cornersOf(base, l, lay.Owner{Garment: at, Piece: i}),
			})
		}
	}
	return view, nil
}

// cornersOf lists where the copies of a piece lie in a marker, from the left selvage and the start.
func cornersOf(base page.Base, l lay.Lay, piece lay.Owner) (corners []string) {
	for _, p := range l.Marker.Placements {
		if p.Piece < len(l.Owners) && l.Owners[p.Piece] == piece {
			corners = append(corners, base.Piece(p.X)+", "+base.Piece(p.Y))
		}
	}
	return corners
}

// goodness says in the maker's units how good a marker is known to be: its length is rounded up and
// the bound down to what cloth is measured in, so that neither promises too much.
func goodness(base page.Base, l lay.Lay) string {
	used := base.ClothUp(l.Marker.Length)
	if l.Marker.Length <= l.Marker.Bound {
		return used + ": the shortest possible."
	}
	return fmt.Sprintf("%s; could be shorter by at most %s (%.1f %%).", used, base.PieceUp(l.Marker.Length-l.Marker.Bound), l.Marker.GapPercent())
}

func (s *Server) planBatch(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	if _, err := s.service.PlanAgain(r.Context(), s.workshop, number, f.IDs("cloth")...); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/batches/%d", number), http.StatusSeeOther)
	return nil
}

func (s *Server) stopPlan(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	if err := s.service.StopPlan(r.Context(), s.workshop, f.ID("plan")); err != nil {
		return err
	}
	return done(w, r, fmt.Sprintf("/batches/%d", number), "stopped")
}

func (s *Server) cuttingWorkbook(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	return s.download(w, "cutting.xlsx", func(out io.Writer) error {
		return s.service.CuttingWorkbookFor(r.Context(), out, s.workshop, number, paperOf(r), whoOf(r.Context()).Role != store.Helper)
	})
}

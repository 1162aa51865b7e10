package server

import (
	"net/http"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/server/page"
	"yardwright/server/workshop"
)

// WithParts shows developers the page of parts, at /parts.
func WithParts() Option {
	return func(s *Server) { s.parts = true }
}

func (s *Server) partRoutes(r chi.Router) {
	if s.parts {
		r.Get("/parts", s.handle(s.showParts))
	}
}

// partsDay is the day on the page of parts, so that its pictures stay the same.
var partsDay = time.Date(2030, 5, 8, 0, 0, 0, 0, time.UTC)

// showParts shows every part of pages with made-up content. Nothing on it is of the workshop
// but the name, the units and the money.
func (s *Server) showParts(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Parts of pages", "")
	if err != nil {
		return err
	}
	base.Today, base.Notice, base.Undo = partsDay, "The order is moved on.", &page.Undo{Action: "/parts"}
	base.Problems = []page.Problem{{Field: "part-width", Message: `"wide" is not a unit.`}, {Field: "q.1.small", Message: `"two" is not a quantity; write a whole number from 1 to 10,000.`}}
	base.Raw = map[string][]string{"part-width": {"44 wide"}}
	view := page.Parts{
		Base: base, At: partsDay.Add(15*time.Hour + 4*time.Minute), States: []string{"planning", "ready to cut", "cutting", "cut", "sewn"},
		Fields: []page.Field{
			base.TextField("part-name", "Name", "", "Meadow print"), base.NumberField("part-price", "Price on the bill", "without postage", "7.50"),
			base.TextField("part-width", "Full width", "such as 44 in", ""), base.DayField("part-day", "Bought on", "", partsDay),
		},
		Chosen: base.Choose("part-nap", "Nap", "may pieces lie upside down?", "one way", []page.Option{{Value: "either way", Text: "either way"}, {Value: "one way", Text: "one way"}}),
		Run:    partsRun(),
		Changed: page.Changed{Differences: []page.Difference{
			{Field: "part-name", Label: "Name", Saved: "Meadow print, washed", Typed: "Meadow print", Take: "Meadow print, washed", CanTake: true}, {Label: "How plies are spread", Saved: "face to face", Typed: "face one way"},
		}},
	}
	for i, order := range []string{"A-1", "A-2", "A-3"} {
		view.Orders = append(view.Orders, page.PartOrder{Number: order, Customer: "Osier Green Fair", Garments: 12 + i, Due: partsDay.AddDate(0, 0, 7*i-2), State: "open"})
	}
	for i := range 3 {
		width := length.Length(16+i) * length.Inch
		view.Grading = append(view.Grading, page.PartSize{Size: strconv.Itoa(98 + 6*i), Cells: []string{
			base.PieceBoth(width) + " × " + base.PieceBoth(width/2), base.PieceBoth(width) + " × " + base.PieceBoth(6*length.Inch), base.PieceBoth(6*length.Inch) + " × " + base.PieceBoth(7*length.Inch), base.PieceBoth(width),
		}})
	}
	if view.Marker.View, err = markerView(base, partsPlan(), 0, 0); err != nil {
		return err
	}
	view.Pieces = drawPieces(base, partsPieces, []garment.CutPiece{
		{Piece: 0, Name: "panel", Width: 18 * length.Inch, Length: 12 * length.Inch}, {Piece: 1, Name: "pocket", Width: 6 * length.Inch, Length: 7 * length.Inch},
	})
	view.Plots = []page.PartPlot{
		{Name: "Minutes by day", Plot: drawWeek(base, partsWeek())},
		{Name: "Bars", Plot: page.Bars("Shares", []page.Bar{{Name: "Meadow print, lay 1", Value: "92.4 %", Share: 0.924}, {Name: "Meadow print, lay 2", Value: "61.0 %", Share: 0.61}})},
	}
	return s.show(w, r, view)
}

func partsRun() page.Run {
	cells := func(way string, values ...string) []page.RunCell {
		var row []page.RunCell
		for i, size := range []string{"small", "medium", "large"} {
			row = append(row, page.RunCell{Field: page.Field{Name: "q." + way + "." + size, Label: "size " + size, Value: values[i], Mode: "numeric"}, Size: size})
		}
		return row
	}
	run := page.Run{Style: "Kindling bag", Sizes: []string{"small", "medium", "large"}, Totals: []int{3, 4, 0}, Total: 7, Rows: []page.RunRow{
		{Colourway: 1, Name: "Sparrow", Cells: cells("1", "two", "4", ""), Total: 4}, {Colourway: 2, Name: "Oat and ticking, a long name that breaks", Cells: cells("2", "3", "", ""), Total: 3},
	}}
	run.Rows[0].Cells[0].Wrong = `"two" is not a quantity; write a whole number from 1 to 10,000.`
	return run
}

var partsPieces = []garment.Piece{{Name: "panel", Copies: 2, Grain: garment.Lengthwise}, {Name: "pocket", Copies: 2, Grain: garment.AnyGrain}}

func partsWeek() []workshop.DayLoad {
	var days []workshop.DayLoad
	for i, booked := range []time.Duration{8, 5, 0, 3, 0} {
		days = append(days, workshop.DayLoad{Day: partsDay.AddDate(0, 0, i), There: 8 * time.Hour, Booked: booked * time.Hour})
	}
	days[4].There = 0
	return days
}

// partsPlan is a batch with one lay, laid by hand: two panels, one turned over and by half, two
// pockets, and a fault to lie around.
func partsPlan() batch.Plan {
	const inch = length.Inch
	turns := []marker.Turn{0, 180}
	instance := marker.Instance{Width: 42 * inch, Faults: []marker.Fault{{X: 36 * inch, Y: 15 * inch, Width: 4 * inch, Length: 3 * inch}}, Pieces: []marker.Piece{
		{Name: "panel 98", Copies: 2, Width: 18 * inch, Length: 22 * inch, Turns: turns, MayMirror: true}, {Name: "pocket 98", Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: turns},
	}}
	placed := []marker.Placement{{Piece: 0}, {Piece: 0, X: 18 * inch, Turn: 180, Mirrored: true}, {Piece: 1, X: 36 * inch}, {Piece: 1, X: 36 * inch, Y: 7 * inch, Turn: 180}}
	planned := batch.ClothPlan{
		Cloth: batch.Cloth{ID: 1, Name: "Meadow print", Nap: batch.NapEitherWay}, Garments: []int{0},
		Problem: lay.Problem{Garments: []lay.Garment{{Name: "Meadow Puddle skirt 98", Quantity: 3}}},
		Plan: lay.Plan{Lays: []lay.Lay{{
			PerPly: []int{1}, Instance: instance, Marker: marker.Result{Marker: marker.Marker{Length: 50 * inch, Placements: placed}},
			Owners: []lay.Owner{{}, {Piece: 1}}, Plies: 3, PlyLength: 51 * inch,
		}}},
	}
	return batch.Plan{
		Cloths: []batch.ClothPlan{planned}, Garments: []batch.Garment{{Style: "Puddle skirt", Colourway: "Meadow", ColourwayID: 1, Size: "98", Wanted: 3, Quantity: 3}},
		Lines:   []batch.Line{{Order: "A-1", Customer: "Osier Green Fair", Colourway: 1, Size: "98", Quantity: 2}, {Order: "A-2", Customer: "Web orders", Colourway: 1, Size: "98", Quantity: 1}},
		Bundles: []batch.Bundle{{Number: 1, Quantity: 3, Lays: []batch.BundleLay{{Garments: 3}}}},
	}
}

package server

import (
	"fmt"
	"net/http"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

// mostShare is the largest weight of a size in a usual batch.
const mostShare = 10_000

// saveSizeMix stores in which sizes a style is offered, and the mix of its usual batch.
func (s *Server) saveSizeMix(r *http.Request, f *form.Form, view *page.Style) (saved, error) {
	var sizes []store.StyleSize
	for i, name := range view.Chart.SizeNames() {
		size := store.StyleSize{Size: name, Offered: f.Bool(page.OfferedField(i))}
		if field := page.MixField(i); f.Text(field) != "" {
			share := f.Int(field, 0, mostShare)
			size.Share = &share
		}
		if !size.Offered || size.Share != nil {
			sizes = append(sizes, size)
		}
	}
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.SaveSizeMix(r.Context(), s.workshop, view.Style.ID, f.Text("version"), sizes, len(view.Chart.Sizes))
	return saved{fmt.Sprintf("/styles/%d#mix", view.Style.ID), "sizes"}, err
}

package server

import (
	"fmt"
	"net/http"

	"yardwright/server/page"
	"yardwright/server/store"
)

// mostShare is the largest weight of a size in a usual batch.
const mostShare = 10_000

// saveSizeMix stores in which sizes a style is offered, and the mix of its usual batch.
func (s *Server) saveSizeMix(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	style, err := s.service.Style(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	base, err := s.base(r, style.Name, "styles")
	if err != nil {
		return err
	}
	view, err := s.styleView(r, base, style)
	if err != nil {
		return err
	}
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
	var refused error
	if f.OK() {
		if refused = s.service.SaveSizeMix(r.Context(), s.workshop, number, f.Text("version"), sizes, len(view.Chart.Sizes)); refused == nil {
			return done(w, r, fmt.Sprintf("/styles/%d#mix", number), "sizes")
		}
	}
	if view.Problems, err = problemsOf(f, refused); err != nil {
		return err
	}
	view.Raw = f.Values
	return s.refuse(w, r, view)
}

package server

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch/words"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

// putAwayRoutes are what is done with things that are no longer used: put away and brought back,
// or removed if nothing ever used them.
func (s *Server) putAwayRoutes(r chi.Router) {
	for _, kind := range []string{"cloths", "notions"} {
		r.Post("/shelf/"+kind+"/{id}/away", s.handle(s.putAway(kind, true)))
		r.Post("/shelf/"+kind+"/{id}/back", s.handle(s.putAway(kind, false)))
	}
	r.Post("/styles/{id}/colourways/{colourway}/away", s.handle(s.putColourwayAway(true)))
	r.Post("/styles/{id}/colourways/{colourway}/back", s.handle(s.putColourwayAway(false)))
	r.Post("/styles/{id}/remove", s.handle(s.removeStyle))
	r.Post("/shelf/cloths/{id}/remove", s.handle(s.removeCloth))
	r.Post("/shelf/bolts/{id}/remove", s.handle(s.removeBolt))
	r.Post("/shelf/notions/{id}/remove", s.handle(s.removeNotion))
}

// putAway handles putting a thing of the shelf away, and bringing it back.
func (s *Server) putAway(kind string, away bool) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		number, f, err := idAndForm(w, r)
		if err != nil {
			return err
		}
		put := s.service.PutAwayCloth
		if kind == "notions" {
			put = s.service.PutAwayNotion
		}
		if err := put(r.Context(), s.workshop, number, away); err != nil {
			return s.refuseOnShelf(w, r, f, kind, err)
		}
		notice, opposite := "away", "back"
		if !away {
			notice, opposite = "brought_back", "away"
		}
		return s.doneUndo(w, r, "/shelf", notice, fmt.Sprintf("/shelf/%s/%d/%s", kind, number, opposite))
	}
}

// refuseOnShelf shows the form of a thing again, with what is wrong.
func (s *Server) refuseOnShelf(w http.ResponseWriter, r *http.Request, f *form.Form, kind string, refused error) error {
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	var view editView
	switch kind {
	case "cloths":
		view, err = s.clothForm(r)
	case "bolts":
		view, err = s.boltForm(r)
	default:
		view, err = s.notionForm(r)
	}
	if err != nil {
		return err
	}
	view.Refuse("", nil, problems)
	return s.refuse(w, r, view)
}

func (s *Server) removeCloth(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	before, err := s.clothForm(r)
	if err != nil {
		return err
	}
	if err := s.service.RemoveCloth(r.Context(), s.workshop, number); err != nil {
		return s.refuseOnShelf(w, r, f, "cloths", err)
	}
	return s.doneBy(w, r, "/shelf", "cloth_gone", before.Form().Again("/shelf/cloths"))
}

func (s *Server) removeBolt(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	before, err := s.boltForm(r)
	if err != nil {
		return err
	}
	planned, err := s.service.RemoveBolt(r.Context(), s.workshop, number)
	if err != nil {
		return s.refuseOnShelf(w, r, f, "bolts", err)
	}
	if len(planned) > 0 {
		s.say(r, fmt.Sprintf("The bolt is removed. %s %s to be cut from it: this cloth is being planned again.", strings.Join(planned, " and "), words.Verb(len(planned), "was", "were")))
	}
	if before.Bolt.Length == 0 { // received anew it would have to have a length
		return done(w, r, "/shelf", "bolt_gone")
	}
	return s.doneBy(w, r, "/shelf", "bolt_gone", before.Form().Again("/shelf/bolts", page.UndoField{Name: "cloth", Value: fmt.Sprint(before.Bolt.ClothID)}))
}

func (s *Server) removeNotion(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	before, err := s.notionForm(r)
	if err != nil {
		return err
	}
	if err := s.service.RemoveNotion(r.Context(), s.workshop, number); err != nil {
		return s.refuseOnShelf(w, r, f, "notions", err)
	}
	return s.doneBy(w, r, "/shelf", "notion_gone", before.Form().Again("/shelf/notions"))
}

// offeredCloths leaves out what was put away, except what is chosen already.
func offeredCloths(cloths []store.Cloth, chosen func(int64) bool) []store.Cloth {
	var offered []store.Cloth
	for _, c := range cloths {
		if !c.PutAway || chosen(c.ID) {
			offered = append(offered, c)
		}
	}
	return offered
}

// offeredNotions is offeredCloths for notions.
func offeredNotions(notions []store.Notion, chosen func(int64) bool) []store.Notion {
	var offered []store.Notion
	for _, n := range notions {
		if !n.PutAway || chosen(n.ID) {
			offered = append(offered, n)
		}
	}
	return offered
}

// putColourwayAway handles putting a colourway away, and bringing it back.
func (s *Server) putColourwayAway(away bool) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		style, err := id(r, "id")
		if err != nil {
			return err
		}
		way, err := id(r, "colourway")
		if err != nil {
			return err
		}
		if err := s.service.PutAwayColourway(r.Context(), s.workshop, way, away); err != nil {
			return err
		}
		notice, opposite := "way_away", "back"
		if !away {
			notice, opposite = "way_back", "away"
		}
		place := fmt.Sprintf("/styles/%d", style)
		return s.doneUndo(w, r, place, notice, fmt.Sprintf("%s/colourways/%d/%s", place, way, opposite))
	}
}

// removeStyle removes a style that has no colourway.
func (s *Server) removeStyle(w http.ResponseWriter, r *http.Request) error {
	style, err := id(r, "id")
	if err != nil {
		return err
	}
	if err := s.service.RemoveStyle(r.Context(), s.workshop, style); err != nil {
		return err
	}
	return done(w, r, "/styles", "style_gone")
}

package server

import (
	"fmt"
	"net/http"
	"strconv"

	"yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/store"
)

// What is changed by a form is taken back by sending the form once more, with what it held
// before. The lists below are those forms as they are typed, in pairs of a field and its value.

// ticked is a box of a form; one that isn't ticked is not sent.
func ticked(field string, on bool) []string {
	if !on {
		return nil
	}
	return []string{field, "yes"}
}

// percent writes a share of one as it is typed.
func percent(share money.Decimal) string {
	if share.IsZero() {
		return ""
	}
	return money.Fraction(share).Percent().String()
}

// colourwayAsTyped is the form of a colourway.
func colourwayAsTyped(way store.Colourway, version int) []string {
	typed := []string{"version", strconv.Itoa(version), "name", way.Name}
	for role, cloth := range way.Cloths {
		typed = append(typed, "cloth."+string(role), strconv.FormatInt(cloth, 10))
	}
	for need, notion := range way.Notions {
		typed = append(typed, "notion."+need, strconv.FormatInt(notion, 10))
	}
	return typed
}

// removeColourway removes a colourway that no order asks for.
func (s *Server) removeColourway(w http.ResponseWriter, r *http.Request) error {
	style, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	view, err := s.colourwayForm(r, page.Base{})
	if err != nil {
		return err
	}
	if err := s.service.RemoveColourway(r.Context(), s.workshop, view.Colourway.ID); err != nil {
		problems, err := problemsOf(f, err)
		if err != nil {
			return err
		}
		view.Problems = problems
		return s.refuse(w, r, view)
	}
	place := fmt.Sprintf("/styles/%d", style)
	return s.doneUndo(w, r, place, "colourway_gone", place+"/colourways", colourwayAsTyped(view.Colourway, 0)...)
}

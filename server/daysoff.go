package server

import (
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
)

// daysOffRoutes are the page of the days without work.
func (s *Server) daysOffRoutes(r chi.Router) {
	r.Get("/workshop/days", s.handle(s.showDaysOff))
	r.Post("/workshop/days", s.handle(s.addDaysOff))
	r.Post("/workshop/days/work", s.handle(s.removeDaysOff))
}

// longestOff is how many days can be taken off at once.
const longestOff = 366

func (s *Server) daysOffView(r *http.Request, f *form.Form) (page.DaysOff, error) {
	base, err := s.base(r, "Days off", "workshop")
	if err != nil {
		return page.DaysOff{}, err
	}
	view := page.DaysOff{Base: base}
	if f != nil {
		view.Raw, view.Problems = f.Values, pageProblems(f)
	}
	days, err := s.service.DaysOff(r.Context(), s.workshop)
	if err != nil {
		return view, err
	}
	if view.Workshop, err = s.service.Workshop(r.Context(), s.workshop); err != nil {
		return view, err
	}
	for _, day := range days {
		if last := len(view.Spans) - 1; last >= 0 && day.Equal(view.Spans[last].To.AddDate(0, 0, 1)) {
			view.Spans[last].To = day
			view.Spans[last].Days = append(view.Spans[last].Days, day)
			continue
		}
		view.Spans = append(view.Spans, page.DaySpan{From: day, To: day, Days: []time.Time{day}})
	}
	return view, nil
}

func (s *Server) showDaysOff(w http.ResponseWriter, r *http.Request) error {
	view, err := s.daysOffView(r, nil)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// addDaysOff takes a day off, or all days from one to another.
func (s *Server) addDaysOff(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	days := readDays(f)
	if !f.Values.Has("day") {
		from, to := f.Day("from"), f.Day("to")
		if to.IsZero() {
			to = from
		}
		switch {
		case !f.OK():
		case from.IsZero():
			f.Wrong("from", "Choose a day.")
		case to.Before(from):
			f.Wrong("to", "This is before the first day.")
		case to.Sub(from) >= longestOff*24*time.Hour:
			f.Wrong("to", "At most a year at once.")
		default:
			for day := from; !day.After(to); day = day.AddDate(0, 0, 1) {
				days = append(days, day)
			}
		}
	}
	if !f.OK() {
		view, err := s.daysOffView(r, f)
		if err != nil {
			return err
		}
		return s.refuse(w, r, view)
	}
	fresh, err := s.service.AddDaysOff(r.Context(), s.workshop, days)
	if err != nil {
		return err
	}
	if len(fresh) == 0 {
		return done(w, r, "/workshop/days", "days_off")
	}
	return s.doneUndo(w, r, "/workshop/days", "days_off", "/workshop/days/work", dayPairs(fresh)...)
}

// removeDaysOff makes days working days again.
func (s *Server) removeDaysOff(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	gone, err := s.service.RemoveDaysOff(r.Context(), s.workshop, readDays(f))
	if err != nil {
		return err
	}
	if len(gone) == 0 {
		return done(w, r, "/workshop/days", "days_work")
	}
	return s.doneUndo(w, r, "/workshop/days", "days_work", "/workshop/days", dayPairs(gone)...)
}

// readDays reads the days that hidden fields name.
func readDays(f *form.Form) []time.Time {
	var days []time.Time
	for _, text := range f.Values["day"] {
		if day, err := time.Parse(time.DateOnly, text); err == nil {
			days = append(days, day)
		}
	}
	return days
}

func dayPairs(days []time.Time) []string {
	var pairs []string
	for _, day := range days {
		pairs = append(pairs, "day", day.Format(time.DateOnly))
	}
	return pairs
}

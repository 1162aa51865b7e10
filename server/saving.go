package server

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

// editView is a page with forms that change what is saved.
type editView interface {
	page.View
	Refuse(sent string, typed url.Values, problems []page.Problem)
}

// saved is where to go once a form is saved, and what to say there.
type saved struct{ place, notice string }

// editing is one form that changes what is saved, in parts that differ from form to form.
type editing[V editView] struct {
	// load reads what is saved now into the page that shows the form.
	load func(*http.Request) (V, error)
	// form is the form on that page.
	form func(V) page.Form
	// save reads what was typed and saves it, unless something is wrong with it.
	save func(*http.Request, *form.Form, V) (saved, error)
}

// showing shows the page.
func (e editing[V]) showing(s *Server) http.HandlerFunc {
	return s.handle(func(w http.ResponseWriter, r *http.Request) error {
		view, err := e.load(r)
		if err != nil {
			return err
		}
		return s.show(w, r, view)
	})
}

// saving takes the form that was sent. What somebody else saved since the form was opened is never
// overwritten unseen; what is refused comes back as it was typed; what is saved can be taken back.
func (e editing[V]) saving(s *Server) http.HandlerFunc {
	return s.handle(func(w http.ResponseWriter, r *http.Request) error {
		f, err := form.Parse(w, r)
		if err != nil {
			return err
		}
		view, err := e.load(r)
		if err != nil {
			return err
		}
		before := e.form(view)
		changed := changedMeanwhile(f, before)
		to, refused := e.save(r, f, view)
		if refused == nil && f.OK() {
			if err := e.canTakeBack(s, r, f, before); err != nil {
				return err
			}
			return done(w, r, to.place, to.notice)
		}
		var fault *store.Fault
		if errors.As(refused, &fault) && fault.Kind == store.Conflict {
			if changed { // which is said already
				refused = nil
			} else if view, err = e.load(r); err != nil { // somebody was quicker, just now
				return err
			}
		}
		problems, err := problemsOf(f, refused)
		if err != nil {
			return err
		}
		view.Refuse(r.URL.Path, f.Values, problems)
		return s.refuse(w, r, view)
	})
}

// canTakeBack keeps what the form held before, unless it added something, changed nothing, or took a
// row out, which leaves its place to the next one.
func (e editing[V]) canTakeBack(s *Server, r *http.Request, f *form.Form, before page.Form) error {
	if before.Adds() || !before.Changes(f.Values) || f.Values.Has("remove") {
		return nil
	}
	after := ""
	if number, err := strconv.Atoi(before.Version); err == nil {
		after = strconv.Itoa(number + 1)
	} else {
		view, err := e.load(r)
		if err != nil {
			return err
		}
		after = e.form(view).Version
	}
	s.sessions.Put(r.Context(), "undo", before.Undo(after))
	return nil
}

// changedMeanwhile notes that somebody else has saved what a form changes since it was opened.
func changedMeanwhile(f *form.Form, now page.Form) bool {
	if began := f.Raw("version"); began == "" || began == now.Version {
		return false
	}
	f.Wrong("", "Somebody else has saved this in the meantime: see below what, then save again.")
	return true
}

// editsAt are the routes of a form that is sent to the page that shows it.
func editsAt[V editView](s *Server, r chi.Router, place string, e editing[V]) {
	r.Get(place, e.showing(s))
	r.Post(place, e.saving(s))
}

// editsOf are the routes of things that have a page of their own at place/one, and a new one at
// place/new.
func editsOf[V editView](s *Server, r chi.Router, place, one string, e editing[V]) {
	r.Get(place+"/new", e.showing(s))
	r.Post(place, e.saving(s))
	editsAt(s, r, place+"/"+one, e)
}

// doneBy is done, with the form that takes it back.
func (s *Server) doneBy(w http.ResponseWriter, r *http.Request, path, what string, undo page.Undo) error {
	s.sessions.Put(r.Context(), "undo", undo)
	return done(w, r, path, what)
}

package server

import (
	"context"
	"encoding/gob"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"yardwright/server/page"
)

// keptForm is a form from somebody who had been signed out. It waits in the session until they have
// signed in; the page that shows the form then shows what was typed, and nothing is saved before they
// say so.
type keptForm struct {
	// Page shows the form, Action is where it was sent.
	Page, Action string
	Values       string
	Until        time.Time
}

// maxKept is more bytes than any of our forms needs, but few for a database.
const maxKept = 256 << 10

// notSaved is said above a form that comes back after the sign-in.
const notSaved = "You had been signed out, so this was not saved. Look at it once more, then save it."

func init() {
	gob.Register(keptForm{})
	gob.Register(page.Undo{})
}

func withoutRoute(ctx context.Context) context.Context {
	return context.WithValue(ctx, chi.RouteCtxKey, (*chi.Context)(nil))
}

// sendToSignIn leads to the sign-in page, and from there to the page that was asked for, or that shows
// the form that was sent.
func (s *Server) sendToSignIn(w http.ResponseWriter, r *http.Request) {
	next := r.URL.RequestURI()
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		next = s.keep(w, r)
	}
	if r.Header.Get("Accept") == "text/event-stream" {
		http.Error(w, "signed out", http.StatusUnauthorized)
		return
	}
	http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(next), http.StatusSeeOther)
}

// ourPath returns a path of ours as it is, and anything else as empty.
func ourPath(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\n\r\t") {
		return ""
	}
	return path
}

// keep stores a form for after the sign-in, if it can be, and returns the page that shows it; the start
// for a button alone.
func (s *Server) keep(w http.ResponseWriter, r *http.Request) (next string) {
	s.sessions.Remove(r.Context(), "kept")
	if !strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") || r.ContentLength > maxKept {
		return "/"
	}
	if s.keeps.OnLimit(w, r, middleware.GetClientIP(r.Context())) {
		return "/"
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxKept)
	if r.ParseForm() != nil {
		return "/"
	}
	shown := ourPath(r.PostForm.Get("page"))
	if shown == "" {
		return "/"
	}
	r.PostForm.Del("password")
	r.PostForm.Del("old_password")
	s.sessions.SetDeadline(r.Context(), time.Now().Add(passing).UTC())
	s.sessions.Put(r.Context(), "kept", keptForm{Page: shown, Action: r.URL.Path, Values: r.PostForm.Encode(), Until: time.Now().Add(passing)})
	return shown
}

func (s *Server) kept(r *http.Request) (keptForm, bool) {
	form, ok := s.sessions.Get(r.Context(), "kept").(keptForm)
	return form, ok && time.Now().Before(form.Until)
}

// forgetKept drops a kept form once its like has been sent.
func (s *Server) forgetKept(r *http.Request) {
	if form, ok := s.sessions.Get(r.Context(), "kept").(keptForm); ok && form.Action == r.URL.Path {
		s.sessions.Remove(r.Context(), "kept")
	}
}

// refill shows a kept form on its page as it was typed.
func (s *Server) refill(r *http.Request, base *page.Base) {
	if r.Method != http.MethodGet || r.Context().Value(whoKey{}) == nil {
		return
	}
	form, ok := s.kept(r)
	if !ok || form.Page != r.URL.RequestURI() {
		return
	}
	values, err := url.ParseQuery(form.Values)
	if err != nil {
		return
	}
	base.Refuse(form.Action, values, []page.Problem{{Message: notSaved}})
	base.Asking = false
}

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
	"yardwright/server/store"
)

// keptForm is a form that came from somebody who had been signed out. It waits in the session
// until they have signed in, and is then shown again, not saved.
type keptForm struct {
	Path string
	// From is the page that the form stood on.
	From   string
	Values string
	Until  time.Time
}

// largestKept is more than any of our forms needs, but little for a database.
const largestKept = 256 << 10

func init() {
	gob.Register(keptForm{})
	gob.Register(page.Undo{})
}

func withoutRoute(ctx context.Context) context.Context {
	return context.WithValue(ctx, chi.RouteCtxKey, (*chi.Context)(nil))
}

// sendToSignIn leads to the sign-in page and keeps what was typed, or the page that was asked
// for.
func (s *Server) sendToSignIn(w http.ResponseWriter, r *http.Request) {
	next := r.URL.RequestURI()
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		next = from(r)
		if s.keep(w, r) {
			next = "/again"
		} else {
			s.sessions.Remove(r.Context(), "kept")
		}
	}
	if r.Header.Get("Accept") == "text/event-stream" {
		http.Error(w, "signed out", http.StatusUnauthorized)
		return
	}
	http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(next), http.StatusSeeOther)
}

// from is the page that a form stood on; empty if the browser doesn't tell.
func from(r *http.Request) string {
	referer, err := url.Parse(r.Referer())
	if err != nil || referer.Host != r.Host {
		return ""
	}
	return ourPath(referer.RequestURI())
}

// ourPath returns a path of ours as it is, and anything else as empty.
func ourPath(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\n\r") {
		return ""
	}
	return path
}

// keep stores a form for after the sign-in, and tells whether it could.
func (s *Server) keep(w http.ResponseWriter, r *http.Request) bool {
	if !strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") || r.ContentLength > largestKept {
		return false
	}
	if s.keeps.OnLimit(w, r, middleware.GetClientIP(r.Context())) {
		return false
	}
	r.Body = http.MaxBytesReader(w, r.Body, largestKept)
	if r.ParseForm() != nil {
		return false
	}
	r.PostForm.Del("password")
	r.PostForm.Del("old_password")
	s.sessions.SetDeadline(r.Context(), time.Now().Add(passing).UTC())
	s.sessions.Put(r.Context(), "kept", keptForm{Path: r.URL.RequestURI(), From: from(r), Values: r.PostForm.Encode(), Until: time.Now().Add(passing)})
	return true
}

func (s *Server) kept(r *http.Request) (keptForm, bool) {
	form, ok := s.sessions.Get(r.Context(), "kept").(keptForm)
	return form, ok && time.Now().Before(form.Until)
}

// forgetKept drops a kept form once its like has been sent.
func (s *Server) forgetKept(r *http.Request) {
	if form, ok := s.sessions.Get(r.Context(), "kept").(keptForm); ok && form.Path == r.URL.RequestURI() {
		s.sessions.Remove(r.Context(), "kept")
	}
}

type keptKey struct{}

// keptFrom is the page that a form that is shown again stood on.
func (s *Server) keptFrom(r *http.Request) string {
	path, _ := r.Context().Value(keptKey{}).(string)
	return path
}

// showAgain shows a kept form as it was typed. It goes the way of the form itself, with a
// database that refuses every change, so that each page shows its form in its own manner and
// nothing is saved before the person has looked.
func (s *Server) showAgain(w http.ResponseWriter, r *http.Request, pages *chi.Mux) {
	form, ok := s.kept(r)
	if !ok {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	ctx := context.WithValue(store.ReadOnly(withoutRoute(r.Context())), keptKey{}, form.From)
	again, err := http.NewRequestWithContext(ctx, http.MethodPost, form.Path, strings.NewReader(form.Values))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	again.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	again.Header.Set("Accept-Language", r.Header.Get("Accept-Language"))
	again.Host, again.RemoteAddr = r.Host, r.RemoteAddr
	route := routeOf(pages, again)
	if whoOf(ctx).Role == store.Helper && !forHelpers[route] || open[route] || route == "" {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	pages.ServeHTTP(w, again)
}

// Package server is the web pages: routes, handlers, one file per page of the menu. A handler
// parses, calls a use case of package workshop, and renders a page; it decides nothing itself.
package server

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"runtime/debug"
	"strconv"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Server answers the requests for one workshop.
type Server struct {
	service  *workshop.Service
	workshop int64
	pages    *page.Set
	log      *slog.Logger
	// broken is the page for internal errors, made at start so that it can't fail then.
	broken []byte
	people
	drawn drawnLays
	// parts: developers are shown the page of parts.
	parts bool
	// routes are all pages, to look routes up in.
	routes *chi.Mux
}

// New makes a server for a workshop. It fails if a page can't be parsed.
func New(service *workshop.Service, workshopID int64, log *slog.Logger, options ...Option) (*Server, error) {
	pages, err := page.Load()
	if err != nil {
		return nil, err
	}
	s := &Server{service: service, workshop: workshopID, pages: pages, log: log}
	var broken bytes.Buffer
	err = pages.Render(&broken, page.Message{
		Base: page.Base{Title: "Something went wrong", Room: "Yardwright"},
		Text: "This is our mistake, not yours. It has been noted. Nothing was saved; please go back and try again.",
	})
	s.broken = broken.Bytes()
	for _, option := range options {
		option(s)
	}
	s.setUpPeople()
	return s, err
}

// Handler returns everything that the server answers.
func (s *Server) Handler() http.Handler {
	r := chi.NewRouter()
	r.Use(middleware.RequestID, s.recoverer, secure, s.clientAddress(), http.NewCrossOriginProtection().Handler, middleware.Compress(2, "text/html", "text/css", "text/javascript", "image/svg+xml"))
	r.Handle("/static/*", cached(http.StripPrefix("/static/", http.FileServerFS(page.Static()))))
	// Browsers ask for it beside what is no page, such as a drawing by itself.
	r.Handle("/favicon.ico", http.RedirectHandler("/static/icon.svg", http.StatusMovedPermanently))
	r.Get("/healthz", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("ok\n")) })
	pages := s.pageRoutes()
	s.routes = pages
	r.Handle("/*", s.sessions.LoadAndSave(s.identify(s.permit(pages))))
	return r
}

// pageRoutes are all pages. Who may see which stands in roles.go.
func (s *Server) pageRoutes() *chi.Mux {
	r := chi.NewRouter()
	r.Use(s.counting)
	s.todayRoutes(r)
	s.orderRoutes(r)
	s.importRoutes(r)
	s.orderFormRoutes(r)
	s.archiveRoutes(r)
	s.outlineRoutes(r)
	s.fileRoutes(r)
	s.styleRoutes(r)
	s.shelfRoutes(r)
	s.shoppingRoutes(r)
	s.batchRoutes(r)
	s.paperRoutes(r)
	s.priceRoutes(r)
	s.workshopRoutes(r)
	s.peopleRoutes(r)
	s.partRoutes(r)
	r.NotFound(s.handle(func(http.ResponseWriter, *http.Request) error { return notFound("page") }))
	return r
}

// counting tells forms in which currency amounts are typed.
func (s *Server) counting(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost {
			room, err := s.service.Workshop(r.Context(), s.workshop)
			if err != nil {
				s.answer(w, r, err)
				return
			}
			if currency, err := workshop.Currency(room); err == nil { // else whoever needs it says so
				r = r.WithContext(form.CountingIn(r.Context(), currency))
			}
		}
		next.ServeHTTP(w, r)
	})
}

// policy lets a page use nothing but our own files.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; font-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

func secure(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

func cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "public, max-age=300")
		next.ServeHTTP(w, r)
	})
}

func (s *Server) recoverer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			broken := recover()
			if broken == nil {
				return
			}
			if broken == http.ErrAbortHandler { //nolint:errorlint // net/http compares it like this
				panic(broken)
			}
			s.fail(w, r, fmt.Errorf("panic: %v\n%s", broken, debug.Stack()))
		}()
		next.ServeHTTP(w, r)
	})
}

// handle turns a function that may fail into a handler.
func (s *Server) handle(f func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := f(w, r); err != nil {
			s.answer(w, r, err)
		}
	}
}

// statuses says how each kind of refusal is answered.
var statuses = map[string]int{
	string(store.NotFound): http.StatusNotFound, string(store.Invalid): http.StatusUnprocessableEntity,
	string(store.Conflict): http.StatusConflict, string(store.Forbidden): http.StatusForbidden,
	(*workshop.BeingLaid)(nil).FaultKind(): http.StatusAccepted,
}

// titles are the headings of refusals.
var titles = map[int]string{
	http.StatusNotFound: "Not there", http.StatusUnprocessableEntity: "That can't be done", http.StatusConflict: "That can't be done just now", http.StatusForbidden: "Not for you",
	http.StatusAccepted: "Being worked out",
}

// refusal is what the server knows of errors that people may read.
type refusal interface {
	error
	FaultKind() string
}

func (s *Server) answer(w http.ResponseWriter, r *http.Request, err error) {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		err = &store.Fault{Kind: store.Invalid, Problems: []store.Problem{{Message: "That upload is too large."}}}
	}
	var refused refusal
	if !errors.As(store.AsFault(err), &refused) {
		s.fail(w, r, err)
		return
	}
	status := statuses[refused.FaultKind()]
	base, baseErr := s.base(r, titles[status], "")
	if baseErr != nil {
		s.fail(w, r, baseErr)
		return
	}
	if status == http.StatusAccepted {
		base.Again = r.Method == http.MethodGet
		w.Header().Set("Retry-After", "2")
	}
	s.render(w, r, status, page.Message{Base: base, Text: refused.Error()})
}

// fail logs an internal error and answers with a neutral page.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	if r.Context().Err() != nil {
		return // nobody is there any more
	}
	s.log.Error("request failed", "request", middleware.GetReqID(r.Context()), "method", r.Method, "path", r.URL.Path, "error", err)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusInternalServerError)
	_, _ = w.Write(s.broken)
}

func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, view page.View) {
	var buffer bytes.Buffer
	if err := s.pages.Render(&buffer, view); err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = buffer.WriteTo(w)
}

func (s *Server) show(w http.ResponseWriter, r *http.Request, view page.View) error {
	s.forgetNotice(r)
	s.render(w, r, http.StatusOK, view)
	return nil
}

// shown is show for a view that may have failed.
func (s *Server) shown(w http.ResponseWriter, r *http.Request, view page.View, err error) error {
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// refused is refuse for a view that may have failed.
func (s *Server) refused(w http.ResponseWriter, r *http.Request, view page.View, err error) error {
	if err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

// refuse shows a form again, as it was typed, with what is wrong.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, view page.View) error {
	s.render(w, r, http.StatusUnprocessableEntity, view)
	return nil
}

// done sends the browser on after a change, with a word about it.
func done(w http.ResponseWriter, r *http.Request, path, what string) error {
	http.Redirect(w, r, path+"?done="+what, http.StatusSeeOther)
	return nil
}

// notices are the words that may stand at the top of a page after a change.
var notices = map[string]string{
	"order": "The order is saved.", "orders": "The orders are taken.", "cloths": "The cloths are taken.", "styles": "The styles are taken.", "style": "The style is saved.", "outline": "The outline is taken. Print a template and lay it on a piece that you know before you cut.", "colourway": "The colourway is saved.",
	"chart": "The size chart is saved.", "cloth": "The cloth is saved.", "bolt": "The bolt is saved.", "notion": "The notion is saved.",
	"batch": "The batch is made.", "typed_prices": "Your prices are saved. They stay until you change them.", "prices": "These cost sheets and prices are kept with today's date.", "workshop": "The settings are saved.", "calendar": "The calendar has a new address.",
	"channel": "The channel is saved.", "channel_gone": "The channel is removed. Its issued price lists stay.", "choices": "How you count is saved.", "year": "The costs of your year are saved.",
	"study": "The time study is kept.", "study_gone": "The time study is removed.", "study_taken": "The step has its minutes from this study.", "seams": "The seams are saved; the thread follows them.",
	"style_costs": "That is saved.", "sizes": "The sizes are saved; costs and prices follow.", "list": "The price list is issued. It won't change any more.", "price_file": "The prices of the file are taken.", "order_form": "The form is made. Send the workbook to the shop.", "form_taken": "The order is taken from its form.", "value": "The bolts are saved.", "batch_costs": "These costs are kept with today's date.", "expenses": "The expenses are saved; the cost sheets follow.", "minutes": "The minutes are noted.", "minutes_gone": "The minutes are taken out.", "stopped": "Planning is being stopped.",
	"password": "Your password is changed.", "ended": "Signed out there.", "person-removed": "This person can no longer sign in.", "person-restored": "This person can sign in again.",
	"moved": "The order is moved on.", "agreed": "The price is agreed.", "paid": "The payment is noted.", "unpaid": "The payment is taken out.", "sold": "Sold. The next one?", "sold_before": "This list was sold already, as the order below. Nothing was booked twice.", "taken_back": "The sale is taken back: its payments are taken out.", "paid_before": "This payment was noted already. Nothing was booked twice.",
	"owner":   "You are the owner now. From now on everybody signs in; add the others here.",
	"removed": "The batch is removed, and its orders are free again.", "out": "The order is out of this batch. Plan the rest again.", "in": "The order is in this batch again.",
	"colourway_gone": "The colourway is removed.",
	"bought":         "It is on the shelf. The plan takes it in the place of the cloth to buy, as far as it is long and wide enough.", "bought_notion": "It is on the shelf.", "unbought": "It is off the shelf again.",
	"chosen": "The batch will be cut by this plan.", "released": "Ready to cut: its cloth is kept for this batch.", "unreleased": "Back to planning: the cloth is free again.",
	"cut": "The lay is marked as cut, and the bolts are shorter by it.", "uncut": "The tick is taken back: the cloth is on its bolts again.",
	"notion_taken": "It is taken from the shelf.", "returned": "It is back on the shelf, and held for this batch.",
	"archive": "All that was in the file is here now. Look through it, and invite the people who work with you.",
	"away":    "It is put away; it stands at the end of the shelf.", "brought_back": "It is back.", "way_away": "The colourway is put away; it isn't offered for orders any more.", "way_back": "The colourway is back.", "style_gone": "The style is removed.",
	"cloth_gone": "The cloth is removed.", "bolt_gone": "The bolt is removed.", "notion_gone": "The notion is removed.",
	"days_off": "Days off saved.", "days_work": "These are working days again.",
	"sewn": "The bundles are ticked off.", "unsewn": "The tick of the bundle is taken back.",
}

// base fills in what every page has.
func (s *Server) base(r *http.Request, title, place string) (page.Base, error) {
	w, err := s.service.Workshop(r.Context(), s.workshop)
	if err != nil {
		return page.Base{}, err
	}
	currency, err := workshop.Currency(w)
	if err != nil {
		return page.Base{}, err
	}
	notice, undo := s.notice(r)
	var allows func(method, path string) bool
	if whoOf(r.Context()).Role == store.Helper {
		allows = s.helperMay
	}
	base := page.Base{
		Allows: allows, Person: personOf(r.Context()), Undo: undo, Asking: r.Method == http.MethodGet,
		Title: title, Place: place, Room: w.Name, Units: workshop.Style(w), Locale: w.Locale, Currency: currency,
		Notice: notice, Today: s.service.Today(), Reader: page.ReaderOf(r.Header.Get("Accept-Language"), w.Locale),
	}
	s.refill(r, &base)
	return base, nil
}

// refusedBase is base for a form that comes back.
func (s *Server) refusedBase(r *http.Request, title, place string, f *form.Form, problems []page.Problem) (page.Base, error) {
	base, err := s.base(r, title, place)
	base.Raw, base.Problems = f.Values, problems
	return base, err
}

// problemsOf returns what a form or a use case refuses at its fields; other errors are not
// for the form.
func problemsOf(f *form.Form, err error) ([]page.Problem, error) {
	var problems []page.Problem
	for _, p := range f.Problems() {
		problems = append(problems, page.Problem{Field: p.Field, Message: p.Message})
	}
	var fault *store.Fault
	switch {
	case err == nil:
	case errors.As(store.AsFault(err), &fault) && (fault.Kind == store.Invalid || fault.Kind == store.Conflict):
		for _, p := range fault.Problems {
			problems = append(problems, page.Problem{Field: p.Field, Message: p.Message})
		}
	default:
		return nil, err
	}
	return problems, nil
}

// download sends a workbook whole, or the error.
func (s *Server) download(w http.ResponseWriter, name string, write func(io.Writer) error) error {
	var buffer bytes.Buffer
	if err := write(&buffer); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, err := buffer.WriteTo(w)
	if err != nil {
		s.log.Info("a download was broken off", "name", name, "error", err)
	}
	return nil
}

func notFound(what string) error {
	return &store.Fault{Kind: store.NotFound, Problems: []store.Problem{{Message: "This " + what + " was not found; it may have been removed."}}}
}

// id reads the number in the path of a request.
func id(r *http.Request, name string) (int64, error) {
	value, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || value <= 0 {
		return 0, notFound("page")
	}
	return value, nil
}

// idAndForm reads the number in the path and the form of a POST request.
func idAndForm(w http.ResponseWriter, r *http.Request) (int64, *form.Form, error) {
	number, err := id(r, "id")
	if err != nil {
		return 0, nil, err
	}
	f, err := form.Parse(w, r)
	return number, f, err
}

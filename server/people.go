package server

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) peopleRoutes(r chi.Router) {
	r.Get("/sign-in", s.handle(s.signInForm))
	r.Post("/sign-in", s.handle(s.takeSignIn))
	r.Post("/sign-out", s.handle(s.signOut))
	r.Get("/join/{word}", s.handle(s.joinForm))
	r.Post("/join/{word}", s.handle(s.join))
	r.Get("/account", s.handle(s.showAccount))
	r.Post("/account/password", s.handle(s.changePassword))
	r.Post("/account/end", s.handle(s.endSignIn))
	r.Get("/people", s.handle(s.listPeople))
	r.Post("/people", s.handle(s.addPerson))
	r.Post("/people/first", editing[*page.Workshop]{s.workshopForm, (*page.Workshop).OwnerForm, s.addFirstOwner}.saving(s))
	r.Post("/people/{id}/link", s.handle(s.linkFor))
	r.Post("/people/{id}/remove", s.handle(s.removePerson))
	r.Post("/people/{id}/restore", s.handle(s.restorePerson))
}

func (s *Server) signInView(r *http.Request, next string) (page.SignIn, error) {
	base, err := s.base(r, "Sign in", "")
	base.Bare = true
	form, kept := s.kept(r)
	return page.SignIn{Base: base, Next: ourPath(next), Kept: kept && next == form.Page}, err
}

func (s *Server) signInForm(w http.ResponseWriter, r *http.Request) error {
	next := r.URL.Query().Get("next")
	if person := whoOf(r.Context()); person.known {
		http.Redirect(w, r, orToday(ourPath(next)), http.StatusSeeOther)
		return nil
	}
	view, err := s.signInView(r, next)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func orToday(path string) string {
	if path == "" || strings.HasPrefix(path, "/sign-in") {
		return "/"
	}
	return path
}

// tooMany is said when somebody tries too often.
var tooMany = page.Problem{Field: "password", Message: "That was too often. Wait five minutes, then try again."}

func (s *Server) takeSignIn(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	name := f.Text("name")
	limited := s.byAddress.OnLimit(w, r, middleware.GetClientIP(r.Context())) || s.byName.OnLimit(w, r, strings.ToLower(name))
	var refused error
	if !limited {
		var user store.User
		if user, refused = s.service.CheckPassword(r.Context(), s.workshop, name, f.Raw("password")); refused == nil {
			if err := s.signIn(r, user); err != nil {
				return err
			}
			http.Redirect(w, r, orToday(ourPath(f.Text("next"))), http.StatusSeeOther)
			return nil
		}
	}
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	view, err := s.signInView(r, f.Text("next"))
	if err != nil {
		return err
	}
	f.Values.Del("password")
	view.Raw, view.Problems = f.Values, problems
	if limited {
		view.Problems = []page.Problem{tooMany}
		s.render(w, r, http.StatusTooManyRequests, view)
		return nil
	}
	return s.refuse(w, r, view)
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	person := whoOf(r.Context())
	if err := s.service.EndSignIn(r.Context(), person.UserID, person.ID); err != nil {
		return err
	}
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

func (s *Server) joinView(r *http.Request) (page.Join, error) {
	word := chi.URLParam(r, "word")
	user, err := s.service.Invitation(r.Context(), s.workshop, word)
	if err != nil {
		return page.Join{}, err
	}
	base, err := s.base(r, "Choose a password", "")
	base.Bare = true
	return page.Join{Base: base, Name: user.Name, Word: word}, err
}

func (s *Server) joinForm(w http.ResponseWriter, r *http.Request) error {
	view, err := s.joinView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) join(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	view, err := s.joinView(r)
	if err != nil {
		return err
	}
	if s.byAddress.OnLimit(w, r, middleware.GetClientIP(r.Context())) {
		view.Problems = []page.Problem{tooMany}
		s.render(w, r, http.StatusTooManyRequests, view)
		return nil
	}
	user, err := s.service.Join(r.Context(), s.workshop, view.Word, f.Raw("password"))
	if err == nil {
		if err := s.signIn(r, user); err != nil {
			return err
		}
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	if view.Problems, err = problemsOf(f, err); err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

func (s *Server) accountView(r *http.Request) (page.Account, error) {
	person := whoOf(r.Context())
	if person.UserID == 0 {
		return page.Account{}, notFound("page")
	}
	base, err := s.base(r, "Your sign-in", "account")
	if err != nil {
		return page.Account{}, err
	}
	view := page.Account{Base: base, Current: person.ID}
	view.SignIns, err = s.service.SignIns(r.Context(), person.UserID)
	return view, err
}

func (s *Server) showAccount(w http.ResponseWriter, r *http.Request) error {
	view, err := s.accountView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) changePassword(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	view, err := s.accountView(r)
	if err != nil {
		return err
	}
	if s.byName.OnLimit(w, r, strings.ToLower(view.Person.Name)) {
		view.Problems = []page.Problem{{Field: "old_password", Message: tooMany.Message}}
		s.render(w, r, http.StatusTooManyRequests, view)
		return nil
	}
	err = s.service.ChangePassword(r.Context(), s.workshop, whoOf(r.Context()).SignIn, f.Raw("old_password"), f.Raw("password"))
	if err == nil {
		if err := s.sessions.RenewToken(r.Context()); err != nil {
			return err
		}
		return done(w, r, "/account", "password")
	}
	if view.Problems, err = problemsOf(f, err); err != nil {
		return err
	}
	return s.refuse(w, r, view)
}

// endSignIn signs out in one other browser, or in all others.
func (s *Server) endSignIn(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	person := whoOf(r.Context())
	if other := f.ID("sign_in"); other != 0 {
		err = s.service.EndSignIn(r.Context(), person.UserID, other)
	} else {
		err = s.service.EndOtherSignIns(r.Context(), person.UserID, person.ID)
	}
	if err != nil {
		return err
	}
	return done(w, r, "/account", "ended")
}

func (s *Server) peopleView(r *http.Request) (page.People, error) {
	base, err := s.base(r, "People", "workshop")
	if err != nil {
		return page.People{}, err
	}
	view := page.People{Base: base, Self: whoOf(r.Context()).UserID}
	view.People, err = s.service.Users(r.Context(), s.workshop)
	return view, err
}

func (s *Server) listPeople(w http.ResponseWriter, r *http.Request) error {
	if owned, err := s.mustSignIn(r.Context()); err != nil || !owned {
		http.Redirect(w, r, "/workshop#owner", http.StatusSeeOther)
		return err
	}
	view, err := s.peopleView(r)
	if err != nil {
		return err
	}
	if view.Link = s.sessions.PopString(r.Context(), "link"); view.Link != "" {
		view.LinkFor = s.sessions.PopString(r.Context(), "link_for")
	}
	return s.show(w, r, view)
}

// giveLink shows a link once, on the page of people.
func (s *Server) giveLink(w http.ResponseWriter, r *http.Request, name, word string) error {
	scheme := "http"
	if r.TLS != nil || len(s.proxies) > 0 {
		scheme = "https"
	}
	s.sessions.Put(r.Context(), "link", scheme+"://"+r.Host+"/join/"+word)
	s.sessions.Put(r.Context(), "link_for", name)
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (s *Server) addPerson(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	name, role := f.Needed("name", "Write a name."), f.Choice("role", store.Helper, store.Owner)
	if f.OK() {
		var word string
		if word, err = s.service.AddPerson(r.Context(), s.workshop, name, role); err == nil {
			return s.giveLink(w, r, name, word)
		}
	}
	problems, err := problemsOf(f, err)
	if err != nil {
		return err
	}
	view, err := s.peopleView(r)
	if err != nil {
		return err
	}
	view.Raw, view.Problems = f.Values, problems
	return s.refuse(w, r, view)
}

func (s *Server) linkFor(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	user, err := s.service.User(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	word, err := s.service.NewLink(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	return s.giveLink(w, r, user.Name, word)
}

func (s *Server) removePerson(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	if err := s.service.RemoveUser(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return s.doneUndo(w, r, "/people", "person-removed", fmt.Sprintf("/people/%d/restore", number))
}

func (s *Server) restorePerson(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	if err := s.service.PutBackUser(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return done(w, r, "/people", "person-restored")
}

// addFirstOwner ends the time in which nobody has to sign in.
func (s *Server) addFirstOwner(r *http.Request, f *form.Form, _ *page.Workshop) (saved, error) {
	name := f.Needed("owner_name", "Write your name.")
	if !f.OK() {
		return saved{}, nil
	}
	made, err := s.service.AddFirstOwner(r.Context(), s.workshop, name, f.Raw("password"))
	if err != nil {
		return saved{}, atField(err, "name", "owner_name")
	}
	return saved{"/people", "owner"}, s.signIn(r, store.User{ID: made})
}

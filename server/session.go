package server

import (
	"context"
	"errors"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/httprate"

	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Option changes how a server works.
type Option func(*Server)

// BehindProxy says that browsers reach the server over https through a proxy at one of these
// networks (such as 127.0.0.1/32). Cookies are then for https only, and the proxy is believed
// who the client is.
func BehindProxy(networks ...string) Option {
	return func(s *Server) { s.proxies = networks }
}

// people is what the server keeps to know who is there.
type people struct {
	sessions *scs.SessionManager
	proxies  []string
	// owned: there is an owner, so that people have to sign in. The last owner can't be
	// removed, so it never goes back.
	owned atomic.Bool
	// tries limit sign-ins by address and by name; keeps limit how many forms are kept for
	// people who are not signed in.
	byAddress, byName, keeps *httprate.RateLimiter
}

// Limits of the sign-in page.
const (
	triesLast     = 5 * time.Minute
	mostByAddress = 30
	mostByName    = 10
	mostKeeps     = 20
	sessionLasts  = 30 * 24 * time.Hour
	// passing is how long the server remembers a browser in which nobody is signed in.
	passing = 30 * time.Minute
	// seenEvery is how often it is noted that a sign-in is in use.
	seenEvery = 5 * time.Minute
)

func (s *Server) setUpPeople() {
	s.sessions = scs.New()
	s.sessions.Lifetime = sessionLasts
	s.sessions.HashTokenInStore = true
	s.sessions.Cookie.Name = "yardwright"
	s.sessions.Cookie.HttpOnly = true
	s.sessions.Cookie.SameSite = http.SameSiteLaxMode
	s.sessions.Cookie.Secure = len(s.proxies) > 0
	s.sessions.ErrorFunc = s.fail
	if pool := s.service.Pool(); pool != nil {
		// Expired sessions are removed at each sign-in, without a task of the store's own.
		s.sessions.Store = pgxstore.NewWithCleanupInterval(pool, 0)
	}
	s.byAddress = httprate.NewRateLimiter(mostByAddress, triesLast)
	s.byName = httprate.NewRateLimiter(mostByName, triesLast)
	s.keeps = httprate.NewRateLimiter(mostKeeps, triesLast)
}

// clientAddress notes where a request comes from.
func (s *Server) clientAddress() func(http.Handler) http.Handler {
	if len(s.proxies) > 0 {
		return middleware.ClientIPFromXFF(s.proxies...)
	}
	return middleware.ClientIPFromRemoteAddr
}

// who is the person behind a request.
type who struct {
	store.SignIn
	// known: somebody is signed in, or nobody has to be.
	known bool
}

type whoKey struct{}

func whoOf(ctx context.Context) who {
	person, _ := ctx.Value(whoKey{}).(who)
	return person
}

func personOf(ctx context.Context) page.Person {
	person := whoOf(ctx)
	return page.Person{Name: person.Name, Role: person.Role}
}

// mustSignIn tells whether there is an owner.
func (s *Server) mustSignIn(ctx context.Context) (bool, error) {
	if s.owned.Load() {
		return true, nil
	}
	owned, err := s.service.HasOwner(ctx, s.workshop)
	if owned {
		s.owned.Store(true)
	}
	return owned, err
}

// identify finds out who is there.
func (s *Server) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		person, err := s.personBehind(r)
		if err != nil {
			s.answer(w, r, err)
			return
		}
		ctx := context.WithValue(r.Context(), whoKey{}, person)
		if r.Method == http.MethodGet {
			ctx = store.Remember(ctx)
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

func (s *Server) personBehind(r *http.Request) (who, error) {
	owned, err := s.mustSignIn(r.Context())
	if err != nil {
		return who{}, err
	}
	if !owned {
		// A page of a stranger whose name was made to point to this machine must not get in.
		if !localHost(r.Host) {
			return who{}, &store.Fault{Kind: store.Forbidden, Problems: []store.Problem{{Message: "Nobody has to sign in yet, so these pages are shown at 127.0.0.1 only. Make an owner first, on the page Workshop."}}}
		}
		return who{known: true}, nil
	}
	number := s.sessions.GetInt64(r.Context(), "sign_in")
	if number == 0 {
		return who{}, nil
	}
	in, err := s.service.SignedIn(r.Context(), s.workshop, number, workshop.SignInIdles)
	var fault *store.Fault
	switch {
	case errors.As(err, &fault) && fault.Kind == store.NotFound:
		s.sessions.Remove(r.Context(), "sign_in")
		return who{}, nil
	case err != nil:
		return who{}, err
	}
	if time.Since(in.SeenAt) > seenEvery {
		if err := s.service.SeenSignIn(r.Context(), in.ID); err != nil {
			return who{}, err
		}
	}
	return who{SignIn: in, known: true}, nil
}

// localHost tells whether a request was sent to this machine by a name that only it can have.
func localHost(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// signIn makes the browser one in which a person is signed in. Its session gets a new name,
// so that one that somebody planted is worth nothing.
func (s *Server) signIn(r *http.Request, user store.User) error {
	ctx := r.Context()
	number, err := s.service.AddSignIn(ctx, user.ID, browserName(r.UserAgent()), middleware.GetClientIP(ctx), workshop.SignInIdles)
	if err != nil {
		return err
	}
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.SetDeadline(ctx, time.Now().Add(sessionLasts).UTC())
	s.sessions.Put(ctx, "sign_in", number)
	return nil
}

// browserName says in words what a browser calls itself.
func browserName(agent string) string {
	find := func(otherwise string, names ...string) string {
		for _, name := range names {
			mark, word, ok := strings.Cut(name, "=")
			if !ok {
				word = mark
			}
			if strings.Contains(agent, mark) {
				return word
			}
		}
		return otherwise
	}
	// The order matters: most call themselves by the names of others, too.
	browser := find("A browser", "Edg=Edge", "Firefox", "Chrome", "Safari")
	return browser + find("", "Android= on Android", "iPhone= on an iPhone", "iPad= on an iPad", "Windows= on Windows", "Mac OS= on a Mac", "Linux= on Linux")
}

// notice says what has just been done, and how to take it back.
func (s *Server) notice(r *http.Request) (string, *page.Undo) {
	done := r.URL.Query().Get("done")
	if done == "" || r.Context().Value(whoKey{}) == nil {
		return notices[done], nil
	}
	said := notices[done]
	if own := s.sessions.PopString(r.Context(), "said"); own != "" {
		said = own
	}
	undo, _ := s.sessions.Pop(r.Context(), "undo").(page.Undo)
	if undo.Action == "" {
		return said, nil
	}
	return said, &undo
}

// say is said, in place of the usual notice, on the page that comes next.
func (s *Server) say(r *http.Request, text string) { s.sessions.Put(r.Context(), "said", text) }

// doneUndo is done, with a form that takes it back, such as action and pairs of names and
// values of hidden fields.
func (s *Server) doneUndo(w http.ResponseWriter, r *http.Request, path, what, action string, pairs ...string) error {
	s.canUndo(r, action, pairs...)
	return done(w, r, path, what)
}

// canUndo notes how what is just being done can be taken back, for the notice about it.
func (s *Server) canUndo(r *http.Request, action string, pairs ...string) {
	undo := page.Undo{Action: action}
	for i := 0; i+1 < len(pairs); i += 2 {
		undo.Fields = append(undo.Fields, page.UndoField{Name: pairs[i], Value: pairs[i+1]})
	}
	s.sessions.Put(r.Context(), "undo", undo)
}

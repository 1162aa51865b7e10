package server_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/server/store"
)

const ownersPassword = "four calm chalk lines"

// owned is a demo whose first owner, Marlo, is made on the page Workshop and signed in.
func owned(t *testing.T) site { return owner(t, serveDemo(t)) }

// owner makes Marlo the first owner of a site and signs in.
func owner(t *testing.T, s site) site {
	t.Helper()
	text := s.post(t, "/people/first", url.Values{"owner_name": {"Marlo"}, "password": {ownersPassword}}, http.StatusOK)
	require.Contains(t, text, "You are the owner now")
	return s
}

// another is the same site in another browser, in which nobody is signed in.
func (s site) another(t *testing.T) site {
	t.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	s.client = &http.Client{Jar: jar}
	return s
}

// helper is the same site in the browser of Ines, whom the owner has just added.
func (s site) helper(t *testing.T) site {
	t.Helper()
	text := s.post(t, "/people", url.Values{"name": {"Ines"}, "role": {"helper"}}, http.StatusOK)
	link := regexp.MustCompile(`/join/[\w-]+`).FindString(text)
	require.NotEmpty(t, link)
	require.NotContains(t, s.get(t, "/people", http.StatusOK), link, "a link is shown once")
	ines := s.another(t)
	require.Contains(t, ines.get(t, link, http.StatusOK), "Welcome, Ines")
	require.Contains(t, ines.post(t, link, url.Values{"password": {"short"}}, http.StatusUnprocessableEntity), "at least 8 characters")
	require.Contains(t, ines.post(t, link, url.Values{"password": {"pins and needles"}}, http.StatusOK), "Today,")
	require.Contains(t, s.another(t).get(t, link, http.StatusNotFound), "was not found")
	return ines
}

func TestWithAnOwnerEverybodySignsIn(t *testing.T) {
	t.Parallel()
	s := owned(t)
	stranger := s.another(t)
	for _, path := range []string{"/", "/orders", "/prices", "/nothing", "/people", "/batches/1/cutting.xlsx"} {
		require.Contains(t, stranger.get(t, path, http.StatusOK), "Sign in to Quillfen Workroom", path)
	}
	require.NotContains(t, stranger.get(t, "/orders", http.StatusOK), "Q-101")
	require.Contains(t, stranger.post(t, "/people/first", url.Values{"owner_name": {"Mallory"}, "password": {"eight letters"}}, http.StatusOK), "Sign in to")
	for _, wrong := range []url.Values{{"name": {"Marlo"}, "password": {"wrong"}}, {"name": {"Nobody"}, "password": {ownersPassword}}, {}} {
		text := stranger.post(t, "/sign-in", wrong, http.StatusUnprocessableEntity)
		require.Contains(t, text, "don&#39;t go together")
		require.NotContains(t, text, `value="wrong"`)
	}
	text := stranger.post(t, "/sign-in", url.Values{"name": {" marlo"}, "password": {ownersPassword}, "next": {"/orders?state=open"}}, http.StatusOK)
	require.Contains(t, text, "<strong>open</strong>")
	require.Contains(t, stranger.post(t, "/sign-out", nil, http.StatusOK), "Sign in to")
	require.Contains(t, stranger.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}, "next": {"//elsewhere.example/"}}, http.StatusOK), "Today,")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

func TestCookieOfTheSession(t *testing.T) {
	t.Parallel()
	s := owned(t)
	before := cookieOf(t, s)
	stranger := s.another(t)
	stranger.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	// A session from before the sign-in, with a form in it, gets a new name.
	response, err := stranger.client.PostForm(s.URL+"/shelf/cloths", url.Values{"name": {"Felt"}, "page": {"/shelf/cloths/new"}})
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	planted := response.Cookies()[0]
	require.True(t, planted.HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, planted.SameSite)
	response, err = stranger.client.PostForm(s.URL+"/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}})
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusSeeOther, response.StatusCode)
	require.NotEqual(t, planted.Value, response.Cookies()[0].Value)
	var kept []string
	rows, err := s.pool.Query(t.Context(), `SELECT token FROM sessions`)
	require.NoError(t, err)
	for rows.Next() {
		var token string
		require.NoError(t, rows.Scan(&token))
		kept = append(kept, token)
	}
	require.NoError(t, rows.Err())
	require.NotContains(t, kept, before, "the database holds digests, not cookies")
	require.NotContains(t, kept, response.Cookies()[0].Value)
}

func cookieOf(t *testing.T, s site) string {
	t.Helper()
	at, err := url.Parse(s.URL)
	require.NoError(t, err)
	for _, cookie := range s.browser().Jar.Cookies(at) {
		if cookie.Name == "yardwright" {
			return cookie.Value
		}
	}
	require.Fail(t, "no cookie")
	return ""
}

func TestSignInIsLimitedByName(t *testing.T) {
	t.Parallel()
	s := owned(t)
	stranger := s.another(t)
	for range 10 {
		stranger.post(t, "/sign-in", url.Values{"name": {"Ines"}, "password": {"guess"}}, http.StatusUnprocessableEntity)
	}
	require.Contains(t, stranger.post(t, "/sign-in", url.Values{"name": {"ines"}, "password": {"guess"}}, http.StatusTooManyRequests), "too often")
	stranger.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}}, http.StatusOK)
	for i := range 18 {
		stranger.post(t, "/sign-in", url.Values{"name": {fmt.Sprint("name ", i)}, "password": {"guess"}}, http.StatusUnprocessableEntity)
	}
	stranger.post(t, "/sign-in", url.Values{"name": {"one more"}, "password": {"guess"}}, http.StatusTooManyRequests)
}

func TestSignInsAreListedAndEnded(t *testing.T) {
	t.Parallel()
	s := owned(t)
	phone, laptop := s.another(t), s.another(t)
	for _, browser := range []site{phone, laptop} {
		browser.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}}, http.StatusOK)
	}
	text := s.get(t, "/account", http.StatusOK)
	ends := regexp.MustCompile(`name="sign_in" value="(\d+)"`).FindAllStringSubmatch(text, -1)
	require.Len(t, ends, 2)
	require.Contains(t, s.post(t, "/account/end", url.Values{"sign_in": {ends[0][1]}}, http.StatusOK), "Signed out there.")
	require.Contains(t, laptop.get(t, "/orders", http.StatusOK), "Sign in to")
	require.Contains(t, phone.get(t, "/orders", http.StatusOK), "Q-101")

	for _, test := range []struct{ old, password, want string }{
		{"wrong", "eight letters", "not your present password"}, {ownersPassword, "marlo", "at least 8"}, {ownersPassword, "aaaaaaaaa", "too easy"},
	} {
		require.Contains(t, s.post(t, "/account/password", url.Values{"old_password": {test.old}, "password": {test.password}}, http.StatusUnprocessableEntity), test.want)
	}
	require.Contains(t, s.post(t, "/account/password", url.Values{"old_password": {ownersPassword}, "password": {"new thread on the spool"}}, http.StatusOK), "Your password is changed.")
	require.Contains(t, phone.get(t, "/orders", http.StatusOK), "Sign in to", "a new password signs out elsewhere")
	phone.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}}, http.StatusUnprocessableEntity)
	phone.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {"new thread on the spool"}}, http.StatusOK)
	require.Contains(t, s.post(t, "/account/end", nil, http.StatusOK), "Signed out there.")
	require.Contains(t, phone.get(t, "/orders", http.StatusOK), "Sign in to")
}

func TestPeopleAreRemovedAndPutBack(t *testing.T) {
	t.Parallel()
	s := owned(t)
	ines := s.helper(t)
	text := s.get(t, "/people", http.StatusOK)
	remove := regexp.MustCompile(`action="(/people/\d+/remove)"[^>]*><button[^>]*aria-label="Remove (\w+)"`).FindAllStringSubmatch(text, -1)
	require.Len(t, remove, 2)
	require.Equal(t, "Marlo", remove[0][2])
	require.Contains(t, s.post(t, remove[0][1], nil, http.StatusConflict), "the last owner")
	text = s.post(t, remove[1][1], nil, http.StatusOK)
	require.Contains(t, text, "can no longer sign in")
	undo := regexp.MustCompile(`action="(/people/\d+/restore)"`).FindStringSubmatch(text)[1]
	require.Contains(t, ines.get(t, "/orders", http.StatusOK), "Sign in to")
	require.Contains(t, s.post(t, undo, nil, http.StatusOK), "can sign in again")
	require.NotContains(t, s.get(t, "/people?done=person-removed", http.StatusOK), "Undo", "an undo is offered once")
	ines.post(t, "/sign-in", url.Values{"name": {"Ines"}, "password": {"pins and needles"}}, http.StatusOK)
	require.Contains(t, s.post(t, "/people", url.Values{"name": {"ines"}, "role": {"helper"}}, http.StatusUnprocessableEntity), "a person of this name already")
	require.Contains(t, s.post(t, "/people", url.Values{"name": {" "}, "role": {"king"}}, http.StatusUnprocessableEntity), "Write a name.")
	// A new link serves whoever has forgotten the password.
	text = s.post(t, strings.Replace(remove[1][1], "/remove", "/link", 1), nil, http.StatusOK)
	link := regexp.MustCompile(`/join/[\w-]+`).FindString(text)
	ines.post(t, link, url.Values{"password": {"another good one"}}, http.StatusOK)
	s.another(t).post(t, "/sign-in", url.Values{"name": {"Ines"}, "password": {"pins and needles"}}, http.StatusUnprocessableEntity)
}

// money is an amount as the demo writes it, or a word about it.
var money = regexp.MustCompile(`\$\s?\d|\bUSD\b|(?i:landed|wage|profit|margin|overhead|price it)`)

// Whatever a helper can reach shows no money, and what is for owners says so.
func TestAHelperSeesNoMoney(t *testing.T) {
	t.Parallel()
	s := owner(t, servePlanned(t))
	ines := s.helper(t)
	paths := ines.follow(t, func(path, text string) {
		if strings.Contains(path, ".pdf") {
			read := exec.CommandContext(t.Context(), "pdftotext", "-", "-")
			read.Stdin = strings.NewReader(text)
			said, err := read.Output()
			require.NoError(t, err, "pdftotext reads %s", path)
			require.NotEmpty(t, said)
			text = string(said)
		}
		require.Empty(t, money.FindString(text), path)
	})
	for _, want := range []string{"/", "/orders", "/styles", "/shelf", "/batches", "/batches/1", "/batches/1/sheet", "/batches/1/cutting.xlsx", "/account"} {
		require.Contains(t, paths, want)
	}
	for _, path := range paths {
		if !strings.Contains(path, ".xlsx") {
			continue
		}
		book, err := excelize.OpenReader(strings.NewReader(ines.get(t, path, http.StatusOK)))
		require.NoError(t, err)
		for _, sheet := range book.GetSheetList() {
			rows, err := book.GetRows(sheet)
			require.NoError(t, err)
			require.Empty(t, money.FindString(fmt.Sprint(rows)), "%s, %s", path, sheet)
			require.NotRegexp(t, `(?i)\bcosts?\b|spend`, fmt.Sprint(rows), "%s, %s", path, sheet)
		}
		require.NoError(t, book.Close())
	}
	for _, path := range []string{"/prices", "/prices/1", "/prices/1/pricing.xlsx", "/workshop", "/people", "/shelf/cloths/1", "/shelf/bolts/1", "/shelf/notions/1", "/orders/new", "/styles/new"} {
		text := ines.get(t, path, http.StatusForbidden)
		require.Contains(t, text, "This page is for owners", path)
		require.Empty(t, money.FindString(text), path)
	}
	ines.post(t, "/orders", url.Values{}, http.StatusForbidden)
	ines.post(t, "/people", url.Values{"name": {"Me"}, "role": {"owner"}}, http.StatusForbidden)
	style := regexp.MustCompile(`/styles/\d+`).FindString(ines.get(t, "/styles", http.StatusOK))
	text := ines.get(t, style, http.StatusOK)
	require.NotContains(t, text, "<form", "what a helper may not send is not offered")
	require.Contains(t, text, "disabled")
	require.NotContains(t, text, "Save")
}

// A form from somebody who has been signed out comes back after the sign-in, as it was typed
// and not saved.
func TestNothingTypedIsLostWhenSignedOut(t *testing.T) {
	t.Parallel()
	s := owned(t)
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.98)"`).FindStringSubmatch(text)[1]
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(text)[1]
	order := url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 9).Format(time.DateOnly)}, "number": {"LOST-1"}, box: {"7"}, "note": {"mind the \"pins\""}, "page": {"/orders/new"}}
	_, err := s.pool.Exec(t.Context(), `DELETE FROM sign_ins`)
	require.NoError(t, err)

	text = s.post(t, "/orders", order, http.StatusOK)
	require.Contains(t, text, "Nothing that you typed is lost")
	next := regexp.MustCompile(`name="next" value="([^"]*)"`).FindStringSubmatch(text)[1]
	require.Equal(t, "/orders/new", next)
	// A slip in the password loses nothing either.
	require.Contains(t, s.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {"slip"}, "next": {next}}, http.StatusUnprocessableEntity), "Nothing that you typed is lost")
	text = s.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}, "next": {next}}, http.StatusOK)
	for _, want := range []string{"You had been signed out", `action="/orders"`, `value="LOST-1"`, `value="7"`, "mind the &#34;pins&#34;", `value="` + customer + `" selected`} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, s.get(t, "/orders?state=", http.StatusOK), "LOST-1", "it is not saved before the person says so")
	require.Contains(t, s.get(t, "/orders/new", http.StatusOK), `value="LOST-1"`, "it may be looked at again")
	require.NotContains(t, s.get(t, "/shelf/cloths/new", http.StatusOK), "LOST-1", "and stands on no other page")
	require.Contains(t, s.post(t, "/orders", order, http.StatusOK), "Order LOST-1")
	require.NotContains(t, s.get(t, "/orders/new", http.StatusOK), "LOST-1", "once sent, it is forgotten")

	// Every form does so; a button alone leads to the start.
	for _, test := range []struct {
		path, page string
		values     url.Values
		want       string
	}{
		{"/shelf/cloths", "/shelf/cloths/new", url.Values{"name": {"Felt"}, "full_width": {"44 in"}, "price": {"3.21"}, "design": {"solid"}, "price_unit": {"yd"}, "nap": {"one way"}, "thickness": {"thin"}}, `value="3.21"`},
		{"/workshop", "/workshop", url.Values{"name": {"Other room"}}, "Other room"},
		{"/batches", "/batches/new", url.Values{"name": {"Lost run"}, "orders": {"1"}}, "Lost run"},
		{"/people", "/people", url.Values{"name": {"Tilda"}, "role": {"owner"}}, "Tilda"},
		{"/batches/1/plan", "", url.Values{}, "Today,"},
	} {
		_, err := s.pool.Exec(t.Context(), `DELETE FROM sign_ins`)
		require.NoError(t, err)
		if test.page != "" {
			test.values.Set("page", test.page)
		}
		text := s.post(t, test.path, test.values, http.StatusOK)
		require.Equal(t, test.page != "", strings.Contains(text, "Nothing that you typed is lost"), test.path)
		next := regexp.MustCompile(`name="next" value="([^"]*)"`).FindStringSubmatch(text)[1]
		text = s.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}, "next": {next}}, http.StatusOK)
		require.Contains(t, text, test.want, test.path)
		require.Equal(t, test.page != "", strings.Contains(text, "You had been signed out, so this was not saved"), test.path)
	}
	// No form leads anywhere else but to our own pages.
	_, err = s.pool.Exec(t.Context(), `DELETE FROM sign_ins`)
	require.NoError(t, err)
	text = s.post(t, "/people", url.Values{"name": {"Tilda"}, "page": {"//elsewhere.example/"}}, http.StatusOK)
	require.NotContains(t, text, "elsewhere")
	s.post(t, "/sign-in", url.Values{"name": {"Marlo"}, "password": {ownersPassword}, "next": {"/"}}, http.StatusOK)
	cloths, err := s.service.Cloths(t.Context(), s.id)
	require.NoError(t, err)
	for _, cloth := range cloths {
		require.NotEqual(t, "Felt", cloth.Name)
	}
	users, err := s.service.Users(t.Context(), s.id)
	require.NoError(t, err)
	require.Len(t, users, 1)

	// What is too large to keep is not kept; the way back to its page is.
	_, err = s.pool.Exec(t.Context(), `DELETE FROM sign_ins`)
	require.NoError(t, err)
	require.NotContains(t, s.post(t, "/orders", url.Values{"note": {strings.Repeat("x", 300<<10)}}, http.StatusOK), "Nothing that you typed is lost")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// Without an owner the pages are for this machine only, by whatever name they are asked for.
func TestWithoutAnOwnerOnlyThisMachineIsServed(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.URL+"/orders", nil)
	require.NoError(t, err)
	request.Host = "rebound.example"
	response, err := s.Client().Do(request)
	require.NoError(t, err)
	text := s.read(t, response, http.StatusForbidden, "/orders")
	require.Contains(t, text, "Nobody has to sign in yet")
	require.NotContains(t, text, "Q-101")
	text = s.post(t, "/people/first", url.Values{"owner_name": {"Marlo"}, "password": {"short"}}, http.StatusUnprocessableEntity)
	require.Contains(t, text, `href="#password"`)
	require.Contains(t, text, `value="Marlo"`)
	require.NotContains(t, text, `value="short"`)
	has, err := s.service.HasOwner(t.Context(), s.id)
	require.NoError(t, err)
	require.False(t, has)
}

func TestTheWorkbookOfAnOwnerHasItsCosts(t *testing.T) {
	t.Parallel()
	s := owner(t, servePlanned(t))
	book, err := excelize.OpenReader(bytes.NewReader([]byte(s.get(t, "/batches/1/cutting.xlsx", http.StatusOK))))
	require.NoError(t, err)
	rows, err := book.GetRows("Batch")
	require.NoError(t, err)
	require.Contains(t, fmt.Sprint(rows), "Cost of the cloth")
	require.NoError(t, book.Close())
	require.Equal(t, "owner", store.Owner)
}

package server_test

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"yardwright/server"
)

// The page of parts shows each part in its states, to whoever asked for it at the start and
// may see what owners see; without that there is no such page.
func TestThePageOfParts(t *testing.T) {
	t.Parallel()
	s := owned(t)
	text := s.get(t, "/parts", http.StatusOK)
	document, err := html.Parse(strings.NewReader(text))
	require.NoError(t, err)
	for _, class := range []string{
		"button", "plain", "note", "warn", "wrong", "changed", "sheet", "facts", "figures", "tag", "late", "good", "way", "formula", "field-row", "hint", "bad", "check", "search",
		"stack", "brief", "run", "columns", "marker-view", "marker-drawing", "piece-row", "week", "bars", "sketch", "empty", "subnav", "lede", "crumb", "tick",
	} {
		require.NotEmpty(t, findAll(document, classed(class)), class)
	}
	require.NotEmpty(t, findAll(document, func(n *html.Node) bool { return attr(n, "aria-invalid") == "true" }))
	for _, link := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(text, -1) {
		require.NotEmpty(t, findAll(document, func(n *html.Node) bool { return attr(n, "id") == link[1] }), "#%s leads nowhere", link[1])
	}
	s.helper(t).get(t, "/parts", http.StatusForbidden)
	require.Contains(t, s.another(t).get(t, "/parts", http.StatusOK), "Sign in")

	plain, err := server.New(s.service, s.id, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	without := httptest.NewServer(plain.Handler())
	t.Cleanup(without.Close)
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, without.URL+"/parts", nil)
	require.NoError(t, err)
	for _, cookie := range s.Client().Jar.Cookies(request.URL) {
		request.AddCookie(cookie)
	}
	response, err := without.Client().Do(request)
	require.NoError(t, err)
	_, err = io.Copy(io.Discard, response.Body)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusNotFound, response.StatusCode)
}

// Every class that the sheets of style know is used by a page, so that none is left behind.
func TestNoStyleIsLeftBehind(t *testing.T) {
	t.Parallel()
	var used strings.Builder
	for _, place := range []string{"page/html", "page/static", ".", "page", "../exports"} {
		files, err := os.ReadDir(place)
		require.NoError(t, err)
		for _, file := range files {
			if file.IsDir() || strings.HasSuffix(file.Name(), ".css") || strings.HasSuffix(file.Name(), "_test.go") {
				continue
			}
			content, err := os.ReadFile(place + "/" + file.Name())
			require.NoError(t, err)
			used.Write(content)
		}
	}
	words := map[string]bool{}
	for _, word := range regexp.MustCompile(`[A-Za-z][A-Za-z0-9-]*`).FindAllString(used.String(), -1) {
		words[word] = true
	}
	var left []string
	for _, sheet := range []string{"page/static/view.css"} {
		content, err := os.ReadFile(sheet)
		require.NoError(t, err)
		for _, class := range regexp.MustCompile(`\.([a-z][a-z-]*[a-z])\b`).FindAllStringSubmatch(string(content), -1) {
			if !words[class[1]] && !slices.Contains(left, class[1]) {
				left = append(left, class[1])
			}
		}
	}
	require.Empty(t, left)
}

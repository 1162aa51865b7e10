package server_test

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// offered walks through all pages that a person is led to, and returns where their links and forms go:
// addresses to open, and addresses to send something to, with the pages that offer them.
func (s site) offered(t *testing.T) (open, send map[string]string) {
	t.Helper()
	open, send = map[string]string{"/": "the start"}, map[string]string{}
	for todo := []string{"/"}; len(todo) > 0; todo = todo[1:] {
		response, err := s.browser().Get(s.URL + todo[0])
		require.NoError(t, err)
		document, err := html.Parse(response.Body)
		require.NoError(t, err)
		require.NoError(t, response.Body.Close())
		if response.StatusCode != http.StatusOK || !strings.HasPrefix(response.Header.Get("Content-Type"), "text/html") {
			continue
		}
		for node := range document.Descendants() {
			if node.Data == "form" && attr(node, "method") == "post" {
				send[attr(node, "action")] = todo[0]
			}
			target := attr(node, "href")
			if node.Data == "form" && attr(node, "method") != "post" {
				target = attr(node, "action")
			}
			target, _, _ = strings.Cut(target, "#")
			path, _, _ := strings.Cut(target, "?")
			if !strings.HasPrefix(target, "/") || strings.HasPrefix(target, "/static/") || slices.Contains([]string{".pdf", ".csv", ".xlsx", ".svg"}, path[max(0, strings.LastIndex(path, ".")):]) {
				continue
			}
			if _, known := open[path]; !known {
				open[path] = todo[0]
				todo = append(todo, target)
			}
		}
	}
	return open, send
}

// Nothing leads a helper to what only owners may see or do: pages offer what whoever looks may open and
// send, and no more.
func TestHelpersAreOfferedWhatTheyMay(t *testing.T) {
	t.Parallel()
	s := owned(t)
	helper := s.helper(t)
	path := s.bagBatch(t)
	offered := func(of site) (open, send map[string]string) {
		open, send = of.offered(t)
		for address, page := range open {
			response, err := of.browser().Get(of.URL + address)
			require.NoError(t, err)
			require.NoError(t, response.Body.Close())
			if response.StatusCode == http.StatusForbidden {
				t.Errorf("%s leads to %s", page, address)
			}
		}
		return open, send
	}
	open, sendDraft := offered(helper)
	require.Greater(t, len(open), 20)
	s.post(t, path+"/release", hidden(t, s.get(t, path, http.StatusOK), path+"/release"), http.StatusOK)
	_, sendReleased := offered(helper)
	require.Contains(t, sendReleased, path+"/bundles")
	for _, send := range []map[string]string{sendDraft, sendReleased} {
		for address, page := range send {
			if regexp.MustCompile(`/(sign-out|account/.*|undo)$`).MatchString(address) {
				continue
			}
			response, err := helper.browser().PostForm(s.URL+address, url.Values{})
			require.NoError(t, err)
			require.NoError(t, response.Body.Close())
			require.NotEqual(t, http.StatusForbidden, response.StatusCode, "%s has a form to %s", page, address)
		}
	}
	ownerOpens, ownerSends := s.offered(t)
	require.Greater(t, len(ownerOpens), 2*len(open))
	require.Greater(t, len(ownerSends), 3*len(sendReleased))
}

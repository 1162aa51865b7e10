package server

import (
	"net/http"
	"testing"

	"github.com/go-chi/chi/v5"
	"github.com/stretchr/testify/require"
)

// What stands in the lists of routes is there, so that a renamed page doesn't vanish for
// helpers unseen, and nothing of money is on the list.
func TestListedRoutesAreThere(t *testing.T) {
	t.Parallel()
	there := map[string]bool{}
	err := chi.Walk((&Server{}).pageRoutes(), func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		there[method+" "+route] = true
		return nil
	})
	require.NoError(t, err)
	for _, list := range []map[string]bool{open, forHelpers} {
		for route := range list {
			require.True(t, there[route], route)
			require.NotRegexp(t, `/prices|/payments|/price\b|pricing|/workshop|/people|cost`, route)
		}
	}
}

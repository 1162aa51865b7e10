package server_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/server/store"
	"yardwright/server/workshop"
)

// told is one server-sent event.
type told struct {
	id, name, message, state string
	share                    int
}

// listen opens the stream of a planning after what was told last, and returns what gives the
// next event and what drops the connection. An event without a name is the end of the stream.
func (s site) listen(t *testing.T, batchID, plan int64, last string) (next func() told, drop func()) {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, fmt.Sprintf("%s/batches/%d/progress?plan=%d", s.URL, batchID, plan), nil)
	require.NoError(t, err)
	if last != "" {
		request.Header.Set("Last-Event-ID", last)
	}
	response, err := s.Client().Do(request)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, response.StatusCode)
	require.Equal(t, "text/event-stream", response.Header.Get("Content-Type"))
	lines := bufio.NewScanner(response.Body)
	require.True(t, lines.Scan())
	require.Regexp(t, `^retry: \d+$`, lines.Text(), "a browser is told when to come back")
	next = func() told {
		var event told
		for lines.Scan() {
			field, text, _ := strings.Cut(lines.Text(), ": ")
			switch field {
			case "id":
				event.id = text
			case "event":
				event.name = text
			case "data":
				var data struct {
					Share          int
					Message, State string
				}
				require.NoError(t, json.Unmarshal([]byte(text), &data))
				event.share, event.message, event.state = data.Share, data.Message, data.State
			case "":
				if event.name != "" {
					return event
				}
			}
		}
		return told{}
	}
	return next, func() { _ = response.Body.Close() } // dropped as a lost connection is
}

// A listener whose connection broke off goes on after what it was told last, hears nothing
// twice and misses no state; the end is told to whoever asks.
func TestProgressGoesOnWhereItBrokeOff(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	ctx := t.Context()
	orders, err := s.service.Orders(ctx, s.id, "open", 1)
	require.NoError(t, err)
	batchID, err := s.service.MakeBatch(ctx, s.id, workshop.BatchDraft{Name: "broken off", Orders: []int64{orders[0].ID}})
	require.NoError(t, err)
	// The planning is played here, so that each state comes when it is wanted.
	plan, err := s.store().AddBatchPlan(ctx, s.id, batchID, 1, 0)
	require.NoError(t, err)

	next, drop := s.listen(t, batchID, plan, "")
	require.Equal(t, told{id: "0", name: "progress", state: "waiting"}, next())
	require.NoError(t, s.store().BeginPlan(ctx, plan))
	require.Equal(t, told{id: "1", name: "progress", state: "planning"}, next())
	drop()

	for i, message := range []string{"first", "second", "third"} {
		require.NoError(t, s.store().ReportPlan(ctx, plan, 0.25*float32(i+1), message))
	}
	next, drop = s.listen(t, batchID, plan, "1")
	require.Equal(t, told{id: "4", name: "progress", state: "planning", message: "third", share: 75}, next(), "the newest state, once")
	drop()

	next, drop = s.listen(t, batchID, plan, "4")
	require.NoError(t, s.store().ReportPlan(ctx, plan, 0.8, "fourth"))
	require.Equal(t, told{id: "5", name: "progress", state: "planning", message: "fourth", share: 80}, next(), "nothing is told twice")
	_, err = s.pool.Exec(ctx, `UPDATE batch_plans SET beat_at = now() - interval '1 minute' WHERE id = $1`, plan)
	require.NoError(t, err)
	quiet := next()
	require.Equal(t, "progress", quiet.name)
	require.Contains(t, quiet.message, "may have ended")
	require.NoError(t, s.store().FinishPlan(ctx, plan, store.PlanFailed, "It can't be.", nil, 0))
	ended := told{id: "6", name: "ended", state: "failed", message: "It can't be.", share: 80}
	require.Equal(t, ended, next())
	require.Equal(t, told{}, next(), "the stream ends with the planning")
	drop()

	for _, last := range []string{"", "2", "6", "900", "-4", "what?"} {
		next, drop = s.listen(t, batchID, plan, last)
		require.Equal(t, ended, next(), "after the end it is said to one who comes back from %q", last)
		require.Equal(t, told{}, next())
		drop()
	}
	for _, wrong := range []string{fmt.Sprintf("/batches/%d/progress?plan=%d", batchID+1, plan), fmt.Sprintf("/batches/%d/progress?plan=%d", batchID, plan+1), fmt.Sprintf("/batches/%d/progress", batchID)} {
		s.get(t, wrong, http.StatusNotFound)
	}

	// A signed-out listener is told so at once, and not led to a page that it can't read.
	s.post(t, "/people/first", url.Values{"owner_name": {"Marlo"}, "password": {ownersPassword}}, http.StatusOK)
	stranger := s.another(t)
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, fmt.Sprintf("%s/batches/%d/progress?plan=%d", s.URL, batchID, plan), nil)
	require.NoError(t, err)
	request.Header.Set("Accept", "text/event-stream")
	response, err := stranger.browser().Do(request)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusUnauthorized, response.StatusCode)
}

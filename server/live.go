package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"yardwright/server/store"
)

// Times of the live progress. A page that is open longer asks anew, as one whose connection
// broke off does, and goes on after what it was told last.
const (
	lookEvery   = 300 * time.Millisecond
	signEvery   = 15 * time.Second
	askAgain    = 2 * time.Second
	longestLive = 10 * time.Minute
)

// progress sends how far a planning is, as server-sent events, until it has ended. An event
// tells the latest state of the planning's row and bears the number of what was told; a
// browser that comes back with that number (Last-Event-ID) is told only what is newer. The end
// is told to whoever asks, however late.
func (s *Server) progress(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	plan, err := strconv.ParseInt(r.URL.Query().Get("plan"), 10, 64)
	if err != nil {
		return notFound("plan")
	}
	now, err := s.service.BatchPlan(r.Context(), s.workshop, plan)
	if err != nil {
		return err
	}
	if now.BatchID != number {
		return notFound("plan")
	}
	out := http.NewResponseController(w)
	if err := out.SetWriteDeadline(time.Now().Add(longestLive + time.Minute)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.WriteHeader(http.StatusOK)
	ctx, cancel := context.WithTimeout(r.Context(), longestLive)
	defer cancel()
	told, err := strconv.ParseInt(r.Header.Get("Last-Event-ID"), 10, 64)
	if err != nil || told < 0 {
		told = -1 // nothing yet
	}
	s.sendProgress(ctx, w, out, now, told)
	return nil
}

// sendProgress writes events until the planning has ended or nobody listens any more. Told is
// the number of what the listener knows already.
func (s *Server) sendProgress(ctx context.Context, w http.ResponseWriter, out *http.ResponseController, now store.BatchPlan, told int64) {
	ticker, sign := time.NewTicker(lookEvery), time.NewTicker(signEvery)
	defer ticker.Stop()
	defer sign.Stop()
	// At first, how long to wait before asking again; it also opens the stream at once.
	quiet := false
	text := fmt.Sprintf("retry: %d\n\n", askAgain.Milliseconds())
	for {
		if now.Finished() || now.Told > told || now.Quiet != quiet {
			event, err := eventOf(now)
			if err != nil {
				s.log.Error("progress can't be told", "plan", now.ID, "error", err)
				return
			}
			text += event
			told, quiet = now.Told, now.Quiet
		}
		if text != "" {
			if _, err := w.Write([]byte(text)); err != nil || out.Flush() != nil {
				return // nobody listens any more
			}
		}
		if now.Finished() {
			return
		}
		text = ""
		select {
		case <-ctx.Done():
			return
		case <-sign.C:
			text = ": still here\n\n"
		case <-ticker.C:
		}
		var err error
		if now, err = s.service.BatchPlan(ctx, s.workshop, now.ID); err != nil {
			return
		}
	}
}

// quietPlanning is told when nothing is heard of a planning any more.
const quietPlanning = "Nothing has been heard of the planning for a while: the program that did it may have ended. Stop it, then plan again."

// eventOf writes the state of a planning as a server-sent event.
func eventOf(now store.BatchPlan) (string, error) {
	name, message := "progress", now.Message
	if now.Finished() {
		name = "ended"
	} else if now.Quiet {
		message = quietPlanning
	}
	content, err := json.Marshal(map[string]any{"share": int(100 * now.Share), "message": message, "state": now.State})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("id: %d\nevent: %s\ndata: %s\n\n", now.Told, name, content), nil
}

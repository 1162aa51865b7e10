package server

import (
	"net/http"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"yardwright/server/form"
	"yardwright/server/page"
)

// undoable lets every form that changes what is saved, and begins from a version, be taken back: it
// keeps what the form held before, and offers to send that again once the change is done. Forms that
// know a better way to be taken back have noted it themselves by then. ok is false where the request
// is answered already.
func (s *Server) undoable(w http.ResponseWriter, r *http.Request) (writer http.ResponseWriter, ok bool) {
	if !strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") {
		return w, true
	}
	f, err := form.Parse(w, r)
	if err != nil {
		s.answer(w, r, err)
		return w, false
	}
	s.sessions.Remove(r.Context(), "undo")
	// A part that is taken out of a list leaves its place to the next one.
	if !f.Values.Has("version") || f.Values.Has("remove") || f.Values.Has("page") {
		return w, true
	}
	before, _ := s.freshForm(r)
	if before == nil || attribute(controlOf(before, "version"), "value") != f.Values.Get("version") {
		return w, true // somebody else was quicker, which the form is told
	}
	if _, names := holds(rootOf(before), before); len(names) == 0 {
		return w, true // a button alone
	}
	return &undoWriter{ResponseWriter: w, server: s, request: r, before: sends(before)}, true
}

// undoWriter notes how a change can be taken back just before the browser is sent on.
type undoWriter struct {
	http.ResponseWriter
	server  *Server
	request *http.Request
	before  []page.UndoField
}

// Unwrap is for http.ResponseController.
func (u *undoWriter) Unwrap() http.ResponseWriter { return u.ResponseWriter }

func (u *undoWriter) WriteHeader(status int) {
	if status == http.StatusSeeOther {
		u.note()
	}
	u.ResponseWriter.WriteHeader(status)
}

func (u *undoWriter) note() {
	ctx := u.request.Context()
	if u.server.sessions.Exists(ctx, "undo") {
		return
	}
	after, _ := u.server.freshForm(u.request)
	if after == nil || slices.Equal(sends(after), u.before) {
		return
	}
	undo := page.Undo{Action: u.request.URL.Path, Fields: append([]page.UndoField{{Name: "version", Value: attribute(controlOf(after, "version"), "value")}}, u.before...)}
	// What was agreed to for the change is agreed to for taking it back.
	if u.request.PostForm.Has("keep_numbers") {
		undo.Fields = append(undo.Fields, page.UndoField{Name: "keep_numbers", Value: "yes"})
	}
	u.server.sessions.Put(ctx, "undo", undo)
}

// sends are the fields that a form sends as it stands, its version left out.
func sends(f *html.Node) []page.UndoField {
	var fields []page.UndoField
	for _, c := range controls(f) {
		name, value := attribute(c, "name"), attribute(c, "value")
		switch kind := attribute(c, "type"); {
		case name == "version", hasAttribute(c, "disabled"):
			continue
		case kind == "checkbox" || kind == "radio":
			if !hasAttribute(c, "checked") {
				continue
			}
		case c.DataAtom == atom.Select:
			option := chosenOption(c)
			if option == nil {
				continue
			}
			value = optionValue(option)
		case c.DataAtom == atom.Textarea:
			value = strings.TrimPrefix(rawText(c), "\n")
		}
		fields = append(fields, page.UndoField{Name: name, Value: value})
	}
	return fields
}

package server_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A maker makes a draft their own: its name, the steps of making, and the notions that it takes.
// Studies and choices go with a name that changes.
func TestAStyleIsMadeOnesOwn(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := linkTo(t, s.get(t, "/styles", http.StatusOK), "Puddle skirt")
	way := regexp.MustCompile(style + `/colourways/\d+`).FindString(s.get(t, style, http.StatusOK))
	study := style + "/steps/0/study"
	form := formOf(t, s.get(t, study, http.StatusOK), study, "watched_on")
	form.Set("element.0.readings", "1.1 1.2 1.1")
	s.post(t, study, form, http.StatusOK)
	edit := style + "/edit"
	began := typedIn(s.get(t, edit, http.StatusOK))
	require.Equal(t, "elastic", began.Get("need.0.name"))
	elastic := typedIn(s.get(t, way, http.StatusOK)).Get("notion.elastic")
	require.NotEmpty(t, elastic)

	for _, test := range []struct{ name, field, typed, says string }{
		{"no name", "name", "", "Write a name"},
		{"minutes", "step.0.each", "long", "Write minutes, such as 45"},
		{"a step without a name", "step.1.name", "", "Say what is done"},
		{"a step twice", "step.1.name", began.Get("step.0.name"), "step of this name already"},
		{"stage", "step.0.stage", "dance", "Choose prepare"},
		{"place", "step.0.place", "first", "whole number"},
		{"formula", "need.0.length", "wiast", "is not a measure"},
		{"a notion twice", "need.1.name", "elastic", "stands here already"},
		{"how many", "need.0.count", "0", "from 1 to 100"},
	} {
		t.Run(test.name, func(t *testing.T) {
			values := typedIn(s.get(t, edit, http.StatusOK))
			values.Set(test.field, test.typed)
			text := s.post(t, edit, values, http.StatusUnprocessableEntity)
			require.Contains(t, text, test.says)
			require.Contains(t, text, `href="#`+test.field+`"`)
		})
	}

	last := 0
	for began.Get("step."+string(rune('0'+last))+".name") != "" {
		last++
	}
	values := typedIn(s.get(t, edit, http.StatusOK))
	values.Set("name", "Rain skirt")
	values.Set("step.0.name", "fold and press the band")
	values.Set("step.1.name", "") // taken out
	values.Set("step.1.set_up", "")
	values.Set("step.1.each", "")
	values.Set("step.10.name", "embroider the pocket")
	values.Set("step.10.each", "6.5")
	values.Set("step.10.place", "1")
	values.Set("need.0.name", "waist elastic")
	values.Set("need.3.name", "button")
	values.Set("need.3.count", "2")
	text := s.post(t, edit, values, http.StatusOK)
	require.Contains(t, text, "<h1>Rain skirt</h1>")
	first, second := strings.Index(text, "embroider the pocket"), strings.Index(text, "fold and press the band")
	require.Positive(t, first)
	require.Less(t, first, second, "in the order of their places")
	require.NotContains(t, text, began.Get("step.1.name")+"<")
	require.Contains(t, s.get(t, style+"/steps/1/study", http.StatusOK), "1.2", "the study goes with its step")
	after := typedIn(s.get(t, way, http.StatusOK))
	require.Equal(t, elastic, after.Get("notion.waist elastic"), "so does the choice of a colourway")
	require.Contains(t, s.get(t, way, http.StatusOK), `name="notion.button"`)

	// Taken back, all of it is as it was: the step that was taken out with it, and the names.
	s.undo(t, text)
	was, is := began, typedIn(s.get(t, edit, http.StatusOK))
	was.Del("version")
	is.Del("version")
	require.Equal(t, was, is)
	require.Contains(t, s.get(t, study, http.StatusOK), "1.2", "the study is back at its step")
	require.Equal(t, elastic, typedIn(s.get(t, way, http.StatusOK)).Get("notion.elastic"))

	// Two notions that swap names: what a colourway chose belongs to the name.
	thread := typedIn(s.get(t, way, http.StatusOK)).Get("notion.thread")
	values = typedIn(s.get(t, edit, http.StatusOK))
	values.Set("need.0.name", "thread")
	values.Set("need.1.name", "elastic")
	s.post(t, edit, values, http.StatusOK)
	after = typedIn(s.get(t, way, http.StatusOK))
	require.Equal(t, [2]string{elastic, thread}, [2]string{after.Get("notion.elastic"), after.Get("notion.thread")})
	require.NotContains(t, s.log.String(), "level=ERROR")
}

package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"yardwright/batch/garment"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

func stepRows(f *form.Form) []int {
	return filledRows(f, "step", page.MaxSteps, "name", "set_up", "each")
}

func needRows(f *form.Form) []int {
	return filledRows(f, "need", page.MaxNeeds, "name", "length", "count")
}

// styleEditView is the page on which a style gets its name, its steps and what it takes besides cloth.
func (s *Server) styleEditView(r *http.Request) (*page.StyleEdit, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	view := &page.StyleEdit{Wearers: []page.Option{
		{Value: string(garment.Child), Text: "a child"}, {Value: string(garment.Adult), Text: "an adult"}, {Value: string(garment.NoOne), Text: "nobody: a thing"},
	}}
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, "Change "+view.Style.Name, "styles"); err != nil {
		return view, err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, view.Style.ChartID)
	view.Known = knownTo(view.Style, chart)
	return view, err
}

func (s *Server) saveStyleEdit(r *http.Request, f *form.Form, view *page.StyleEdit) (saved, error) {
	style := view.Style
	style.Version = f.Int("version", 0, 1<<30)
	style.Name, style.Note = f.Needed("name", "Write a name."), f.Note("note")
	style.Wearer = garment.Wearer(f.Choice("wearer", string(garment.Child), string(garment.Adult), string(garment.NoOne)))
	var renamed store.StyleRenames
	style.Operations, renamed.Steps = s.readStyleSteps(f, style.Operations)
	style.Notions, renamed.Needs = readNeeds(f, style.Notions)
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.SaveStyleParts(r.Context(), s.workshop, style, renamed)
	return saved{fmt.Sprintf("/styles/%d", style.ID), "style"}, atNeeds(err, needRows(f))
}

// atNeeds moves what is wrong with a need to its row.
func atNeeds(err error, rows []int) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	moved := *fault
	moved.Problems = nil
	said := map[string]bool{}
	for _, p := range fault.Problems {
		var at int
		if _, scanErr := fmt.Sscanf(p.Field, "notions[%d].", &at); scanErr == nil && at < len(rows) {
			p.Field = fmt.Sprintf("need.%d.length", rows[at])
			p.Message = strings.ToUpper(p.Message[:1]) + p.Message[1:]
		}
		if !said[p.Field] { // a formula that fails in every size is said once
			said[p.Field] = true
			moved.Problems = append(moved.Problems, p)
		}
	}
	return &moved
}

// readStyleSteps reads the steps in the order of their places. What is new or takes other minutes
// counts as timed by the maker; renamed tells which steps have another name now.
func (s *Server) readStyleSteps(f *form.Form, before []garment.Operation) (steps []garment.Operation, renamed map[string]string) {
	type placed struct {
		garment.Operation
		place int
	}
	var read []placed
	renamed = map[string]string{}
	seen := map[string]bool{}
	for _, row := range stepRows(f) {
		field := func(part string) string { return page.StepField(row, part) }
		step := placed{place: 2 * (row + 1)}
		step.Name = f.Needed(field("name"), "Say what is done, or empty the row to take the step out.")
		if seen[strings.ToLower(step.Name)] && step.Name != "" {
			f.Wrong(field("name"), "There is a step of this name already; choose another name.")
		}
		seen[strings.ToLower(step.Name)] = true
		stages := make([]string, 0, len(garment.Stages()))
		for _, stage := range garment.Stages() {
			stages = append(stages, string(stage))
		}
		step.Stage = garment.Stage(f.Choice(field("stage"), stages...))
		step.SetUp, step.Each = readMinutes(f, field("set_up")), readMinutes(f, field("each"))
		if f.Text(field("place")) != "" {
			step.place = sortPlace(f.Int(field("place"), 1, 1000), row+1)
		}
		step.Basis = "timed by you, " + s.service.Today().Format("2 Jan 2006")
		at := slices.IndexFunc(before, func(o garment.Operation) bool { return o.Name == step.Name })
		if at < 0 && row < len(before) {
			at = row
			renamed[before[row].Name] = step.Name
		}
		if at >= 0 && before[at].SetUp == step.SetUp && before[at].Each == step.Each {
			step.Basis = before[at].Basis
		}
		read = append(read, step)
	}
	for _, step := range read { // what is still there has not got another name
		delete(renamed, step.Name)
	}
	slices.SortStableFunc(read, func(a, b placed) int { return a.place - b.place })
	for _, step := range read {
		steps = append(steps, step.Operation)
	}
	return steps, renamed
}

// sortPlace sorts a step that was at one place to another: before the one that stands there if it
// moves up, behind it if it moves down.
func sortPlace(place, was int) int {
	switch {
	case place < was:
		return 2*place - 1
	case place > was:
		return 2*place + 1
	}
	return 2 * place
}

// readNeeds reads what a garment takes besides cloth; renamed tells which needs have another name now.
func readNeeds(f *form.Form, before []garment.NotionNeed) (needs []garment.NotionNeed, renamed map[string]string) {
	renamed = map[string]string{}
	seen := map[string]bool{}
	for _, row := range needRows(f) {
		field := func(part string) string { return page.NeedField(row, part) }
		need := garment.NotionNeed{Notion: f.Needed(field("name"), "Name it, such as zip, or empty the row to take it out."), Length: f.Note(field("length")), Count: 1}
		if f.Text(field("count")) != "" {
			need.Count = f.Int(field("count"), 1, 100)
		}
		if seen[strings.ToLower(need.Notion)] && need.Notion != "" {
			f.Wrong(field("name"), "This stands here already; write how many under it.")
		}
		seen[strings.ToLower(need.Notion)] = true
		known := slices.ContainsFunc(before, func(n garment.NotionNeed) bool { return n.Notion == need.Notion })
		if !known && row < len(before) {
			renamed[before[row].Notion] = need.Notion
		}
		needs = append(needs, need)
	}
	for _, need := range needs { // what is still there has not got another name
		delete(renamed, need.Notion)
	}
	return needs, renamed
}

package server

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// studyRows is how many parts of an operation can be watched in one study.
const studyRows = 4

func (s *Server) studyView(r *http.Request, f *form.Form) (page.Study, error) {
	var view page.Study
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	view.Step, err = strconv.Atoi(chi.URLParam(r, "step"))
	if err != nil || view.Step < 0 || view.Step >= len(view.Style.Operations) {
		return view, notFound("step")
	}
	view.Operation = view.Style.Operations[view.Step]
	if view.Base, err = s.base(r, "Time: "+view.Operation.Name, "styles"); err != nil {
		return view, err
	}
	if view.Settings, err = s.service.CostSettings(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if f != nil {
		view.Raw, view.Problems = f.Values, pageProblems(f)
	}
	settings, err := workshop.Choices(view.Settings)
	if err != nil {
		return view, err
	}
	view.Rule = settings.Allowance
	for _, rule := range []costing.AllowanceRule{costing.AllowanceOfJob, costing.AllowanceOfDay} {
		view.Rules = append(view.Rules, page.Option{Value: rule.String(), Text: "of the " + rule.String() + ": " + rule.Formula()})
	}
	view.Guide = costing.CyclesByLength(store.DecimalMinutes(view.Operation.Each))
	view.Rows, view.Usual = studyForm(view)
	studies, err := s.service.TimeStudies(r.Context(), s.workshop, number)
	if err != nil {
		return view, err
	}
	for _, study := range studies {
		if study.Operation == view.Operation.Name {
			found, err := studied(study)
			if err != nil {
				return view, err
			}
			view.Studies = append(view.Studies, found)
		}
	}
	return view, nil
}

func studyForm(view page.Study) ([]page.StudyRow, []page.UsualRow) {
	var rows []page.StudyRow
	for row := range studyRows {
		field := func(part string) string { return fmt.Sprintf("element.%d.%s", row, part) }
		name := ""
		if row == 0 {
			name = view.Operation.Name
		}
		rows = append(rows, page.StudyRow{
			Name:     view.TextField(field("name"), "Part of the step", "", name),
			Readings: view.TextField(field("readings"), "Minutes of each time watched", "such as 1.2  1.35  1:20", ""),
			Rating:   view.NumberField(field("rating"), "Pace, %", "100 is steady, practised work", ""),
			Times:    view.NumberField(field("per_garment"), "Times a garment", "", ""),
		})
	}
	var usual []page.UsualRow
	for i, a := range costing.UsualAllowances() {
		usual = append(usual, page.UsualRow{
			Group: a.Group, Name: a.Name, Value: a.Rate.Format(view.Locale), FromMemory: a.FromMemory,
			Ticked: slices.Contains(view.Raw["usual"], strconv.Itoa(i)),
		})
	}
	return rows, usual
}

// studied works a study out, with how many cycles would have been enough.
func studied(study store.TimeStudy) (page.StudyView, error) {
	view := page.StudyView{Study: study}
	var err error
	if view.Found, err = study.Study.Time(); err != nil {
		return view, err
	}
	for i, element := range study.Study.Elements {
		shown := page.StudiedElement{Element: element, Found: view.Found.Elements[i]}
		view.Cycles = max(view.Cycles, len(element.Readings))
		if len(element.Readings) > 1 {
			cycles, err := costing.CyclesILO(element.Readings)
			if err != nil {
				return view, err
			}
			if _, shown.Spread, err = costing.Spread(element.Readings); err != nil {
				return view, err
			}
			shown.HasSpread, shown.Enough = true, max(2, cycles.Count)
			view.Enough = max(view.Enough, shown.Enough)
		}
		view.Elements = append(view.Elements, shown)
	}
	return view, nil
}

func (s *Server) showStudy(w http.ResponseWriter, r *http.Request) error {
	view, err := s.studyView(r, nil)
	return s.shown(w, r, view, err)
}

func (s *Server) addStudy(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	view, err := s.studyView(r, nil)
	if err != nil {
		return err
	}
	study := store.TimeStudy{Operation: view.Operation.Name, WatchedOn: f.Day("watched_on"), Note: f.Note("note"), Study: readStudy(f)}
	if f.OK() {
		_, err := s.service.AddStudy(r.Context(), s.workshop, view.Style.ID, study)
		if err == nil {
			return done(w, r, r.URL.Path, "study")
		}
		if err := saySo(f, atRows(err, "element", elementRows(f))); err != nil {
			return err
		}
	}
	view, err = s.studyView(r, f)
	return s.refused(w, r, view, err)
}

func readStudy(f *form.Form) costing.Study {
	var study costing.Study
	if err := study.Rule.UnmarshalText([]byte(f.Text("rule"))); err != nil {
		f.Wrong("rule", "Choose what the allowance means.")
	}
	study.Allowance = money.Percent(f.Decimal("allowance"))
	if ticked := f.Values["usual"]; len(ticked) > 0 {
		study.Allowance = tickedAllowance(f, ticked)
	}
	for _, row := range elementRows(f) {
		field := func(part string) string { return fmt.Sprintf("element.%d.%s", row, part) }
		element := costing.Element{Name: f.Needed(field("name"), "Say what was watched."), Rating: money.Percent(f.Decimal(field("rating"))), PerGarment: f.Decimal(field("per_garment"))}
		for _, text := range strings.Fields(strings.ReplaceAll(f.Raw(field("readings")), ";", " ")) {
			minutes, err := readReading(text)
			if err != nil {
				f.Wrong(field("readings"), fmt.Sprintf("%q is not a time: write minutes with spaces between, such as 1.2 1.35, or 1:20 for 1 minute 20 seconds.", text))
				break
			}
			element.Readings = append(element.Readings, minutes)
		}
		if len(element.Readings) > mostReadings {
			f.Wrong(field("readings"), fmt.Sprintf("Write at most %d times.", mostReadings))
		}
		study.Elements = append(study.Elements, element)
	}
	return study
}

// elementRows are the rows of a study that were filled in; the first one always counts.
func elementRows(f *form.Form) []int {
	rows := filledRows(f, "element", studyRows, "name", "readings")
	if len(rows) == 0 || rows[0] != 0 {
		rows = append([]int{0}, rows...)
	}
	return rows
}

// mostReadings is more than any guide asks for.
const mostReadings = 500

// tickedAllowance adds up the usual allowances that were ticked.
func tickedAllowance(f *form.Form, ticked []string) money.Rate {
	usual := costing.UsualAllowances()
	var rates []money.Rate
	for _, text := range ticked {
		if at, err := strconv.Atoi(text); err == nil && at >= 0 && at < len(usual) {
			rates = append(rates, usual[at].Rate)
		}
	}
	total, err := costing.TotalAllowance(rates...)
	if err != nil {
		f.Wrong("allowance", "These allowances can't be added up.")
	}
	return total
}

// readReading reads minutes, or minutes and seconds with a colon.
func readReading(text string) (money.Decimal, error) {
	whole, seconds, colon := strings.Cut(text, ":")
	minutes, err := money.ParseTyped(whole)
	if err != nil || !colon {
		return minutes, err
	}
	count, err := money.ParseTyped(seconds)
	if err != nil || count.Sign() < 0 || money.Int(59).Less(count.Round(0, money.Down)) {
		return minutes, &money.ParseError{Text: text, Reason: "seconds go from 0 to 59"}
	}
	part, err := money.Ratio(count, money.Int(60), 6, money.HalfUp)
	if err != nil {
		return minutes, err
	}
	return minutes.Add(part)
}

// takeStudy takes the minutes of a study over into its step, or removes the study.
func (s *Server) takeStudy(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Parse(w, r)
	if err != nil {
		return err
	}
	view, err := s.studyView(r, nil)
	if err != nil {
		return err
	}
	number, err := id(r, "study")
	if err != nil {
		return err
	}
	back := fmt.Sprintf("/styles/%d/steps/%d/study", view.Style.ID, view.Step)
	if f.Bool("remove") {
		if err := s.service.RemoveTimeStudy(r.Context(), s.workshop, view.Style.ID, number); err != nil {
			return err
		}
		return done(w, r, back, "study_gone")
	}
	study, err := s.service.TimeStudy(r.Context(), s.workshop, view.Style.ID, number)
	if err != nil {
		return err
	}
	if err := s.service.TakeStudy(r.Context(), s.workshop, view.Style, study); err != nil {
		return err
	}
	return done(w, r, back, "study_taken")
}

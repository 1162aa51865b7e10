package server

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) styleRoutes(r chi.Router) {
	r.Get("/styles", s.handle(s.listStyles))
	start := editing[*page.StyleNew]{s.styleNew, (*page.StyleNew).Form, s.startStyle}
	r.Get("/styles/new", start.showing(s))
	r.Post("/styles", start.saving(s))
	allowances := editing[*page.Style]{s.styleView, (*page.Style).AllowancesForm, s.saveAllowances}
	r.Get("/styles/{id}", allowances.showing(s))
	r.Post("/styles/{id}", allowances.saving(s))
	r.Post("/styles/{id}/steps", editing[*page.Style]{s.styleView, (*page.Style).StepsForm, s.saveSteps}.saving(s))
	r.Post("/styles/{id}/sizes", editing[*page.Style]{s.styleView, (*page.Style).MixForm, s.saveSizeMix}.saving(s))
	editsAt(s, r, "/styles/{id}/edit", editing[*page.StyleEdit]{s.styleEditView, (*page.StyleEdit).Form, s.saveStyleEdit})
	editsAt(s, r, "/styles/{id}/seams", editing[*page.Seams]{s.seamsView, (*page.Seams).Form, s.saveSeams})
	editsAt(s, r, "/styles/{id}/pieces/{piece}", editing[*page.PieceEdit]{s.pieceForm, (*page.PieceEdit).Form, s.savePiece})
	editsOf(s, r, "/styles/{id}/colourways", "{colourway}", editing[*page.ColourwayEdit]{s.colourwayForm, (*page.ColourwayEdit).Form, s.saveColourway})
	r.Post("/styles/{id}/colourways/{colourway}/remove", s.handle(s.removeColourway))
	copied := editing[*page.Chart]{s.chartView, (*page.Chart).CopyForm, s.copyChart}
	r.Get("/charts/{id}", copied.showing(s))
	r.Post("/charts/{id}/copy", copied.saving(s))
	chart := editing[*page.ChartEdit]{s.chartEdit, (*page.ChartEdit).Form, s.saveChart}
	r.Get("/charts/{id}/edit", chart.showing(s))
	r.Post("/charts/{id}", chart.saving(s))
}

// styleRows lists the styles with their colourways.
func (s *Server) styleRows(r *http.Request) ([]page.StyleRow, error) {
	styles, err := s.service.Styles(r.Context(), s.workshop)
	if err != nil {
		return nil, err
	}
	ways, err := s.service.Colourways(r.Context(), s.workshop)
	if err != nil {
		return nil, err
	}
	rows := make([]page.StyleRow, len(styles))
	for i, style := range styles {
		rows[i].Style = style
		for _, way := range ways {
			if way.StyleID == style.ID {
				rows[i].Colourways = append(rows[i].Colourways, way)
			}
		}
	}
	return rows, nil
}

func (s *Server) listStyles(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Styles", "styles")
	if err != nil {
		return err
	}
	view := page.Styles{Base: base}
	rows, err := s.styleRows(r)
	if err != nil {
		return err
	}
	for _, row := range rows {
		if row.Away() {
			view.Away = append(view.Away, row)
			continue
		}
		view.Styles = append(view.Styles, row)
	}
	if view.Charts, err = s.service.Charts(r.Context(), s.workshop); err != nil {
		return err
	}
	return s.show(w, r, view)
}

// styleNew is the page that begins a style from the draft that was chosen.
func (s *Server) styleNew(r *http.Request) (*page.StyleNew, error) {
	base, err := s.base(r, "Start a style", "styles")
	if err != nil {
		return nil, err
	}
	view := &page.StyleNew{Base: base, Starters: garment.Starters()}
	view.Starter = view.Starters[0]
	chosen := r.URL.Query().Get("starter")
	if r.Method == http.MethodPost {
		chosen = r.PostForm.Get("starter")
	}
	for _, known := range view.Starters {
		if known.Name == chosen {
			view.Starter = known
		}
	}
	charts, err := s.service.Charts(r.Context(), s.workshop)
	for _, chart := range charts {
		if hasMeasures(chart, view.Starter.Needs) {
			view.Charts = append(view.Charts, chart)
		}
	}
	return view, err
}

func hasMeasures(chart store.Chart, needs []string) bool {
	for _, need := range needs {
		if !slices.ContainsFunc(chart.Measures, func(m garment.Measure) bool { return m.Name == need }) {
			return false
		}
	}
	return true
}

func (s *Server) startStyle(r *http.Request, f *form.Form, view *page.StyleNew) (saved, error) {
	options := map[string]bool{}
	for _, option := range view.Starter.Options {
		options[option.Name] = slices.Contains(f.Values["option"], option.Name)
	}
	made, err := s.service.StartStyle(r.Context(), s.workshop, view.Starter.Name, f.Name("name"), f.ID("chart"), options)
	return saved{fmt.Sprintf("/styles/%d", made), "style"}, err
}

func (s *Server) styleView(r *http.Request) (*page.Style, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	style, err := s.service.Style(r.Context(), s.workshop, number)
	if err != nil {
		return nil, err
	}
	base, err := s.base(r, style.Name, "styles")
	if err != nil {
		return nil, err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, style.ChartID)
	if err != nil {
		return nil, err
	}
	mix, err := s.service.SizeMix(r.Context(), s.workshop, style.ID)
	if err != nil {
		return nil, err
	}
	view := &page.Style{Base: base, Style: style, Chart: chart, Mix: mix, LocalRules: batch.LocalRules, Cautions: batch.CautionsFor(style.Style)}
	for _, o := range style.Operations {
		view.MakingTime += o.Each
	}
	if err := grade(view, r.URL.Query().Get("size")); err != nil {
		return nil, err
	}
	if view.Colourways, err = s.colourwayRows(r, style); err != nil || !base.SeesMoney() {
		return view, err
	}
	kept, err := s.service.KeptPrices(r.Context(), s.workshop, style.ID, keptShown)
	if err != nil {
		return view, err
	}
	for i, row := range view.Colourways {
		view.Colourways[i].Kept = slices.DeleteFunc(slices.Clone(kept), func(k store.KeptPrices) bool { return *k.ColourwayID != row.Colourway.ID })
	}
	view.Lists, err = s.service.ListsOfStyle(r.Context(), s.workshop, style.Name, listsShown)
	return view, err
}

// listsShown is how many price lists the page of a style names.
const listsShown = 12

// grade fills in the cut sizes and the drawings of a style's page.
// The pieces are drawn in the size that was asked for, or else in the middle one.
func grade(view *page.Style, drawn string) error {
	for _, piece := range view.Style.Pieces {
		view.Grading = append(view.Grading, page.GradingRow{Piece: piece})
	}
	for _, need := range view.Style.Notions {
		view.Notions = append(view.Notions, page.NotionRow{Need: need})
	}
	sizes := view.Chart.SizeNames()
	middle := slices.Index(sizes, drawn)
	if middle < 0 {
		middle = len(sizes) / 2
	}
	for i, size := range sizes {
		graded, err := view.Style.Grade(view.Chart.SizeChart, size)
		if err != nil {
			return err
		}
		for p, cut := range graded.Pieces {
			view.Grading[p].Cuts = append(view.Grading[p].Cuts, cut)
		}
		for n, cut := range graded.Notions {
			view.Notions[n].Cuts = append(view.Notions[n].Cuts, cut)
		}
		if i == middle {
			view.DrawnSize, view.Drawings = size, drawPieces(view.Base, view.Style.Pieces, graded.Pieces)
		}
	}
	return nil
}

func (s *Server) colourwayRows(r *http.Request, style store.Style) ([]page.ColourwayRow, error) {
	ways, err := s.service.Colourways(r.Context(), s.workshop)
	if err != nil {
		return nil, err
	}
	cloths, err := s.service.Cloths(r.Context(), s.workshop)
	if err != nil {
		return nil, err
	}
	notions, err := s.service.Notions(r.Context(), s.workshop)
	if err != nil {
		return nil, err
	}
	var rows []page.ColourwayRow
	for _, way := range ways {
		if way.StyleID != style.ID {
			continue
		}
		row := page.ColourwayRow{Colourway: way}
		for _, role := range style.Roles() {
			at := slices.IndexFunc(cloths, func(c store.Cloth) bool { return c.ID == way.Cloths[role] })
			row.Choices = append(row.Choices, page.Choice{Name: string(role), Chosen: nameAt(cloths, at, func(c store.Cloth) string { return c.Name })})
		}
		for _, need := range style.Notions {
			at := slices.IndexFunc(notions, func(n store.Notion) bool { return n.ID == way.Notions[need.Notion] })
			row.Choices = append(row.Choices, page.Choice{Name: need.Notion, Chosen: nameAt(notions, at, func(n store.Notion) string { return n.Name })})
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func nameAt[T any](list []T, at int, name func(T) string) string {
	if at < 0 {
		return "not chosen yet"
	}
	return name(list[at])
}

func (s *Server) saveAllowances(r *http.Request, f *form.Form, view *page.Style) (saved, error) {
	style := view.Style
	style.Version = f.Int("version", 0, 1<<30)
	style.Allowances = readAllowances(f, view.Units, style.Allowances)
	if !f.OK() {
		return saved{}, nil
	}
	_, err := s.service.SaveStyleDraft(r.Context(), s.workshop, style)
	return saved{fmt.Sprintf("/styles/%d", style.ID), "style"}, atAllowances(err, style, view.Style)
}

func readAllowances(f *form.Form, write length.Style, allowances []garment.Allowance) []garment.Allowance {
	read := slices.Clone(allowances)
	for i, a := range read {
		field := "allowance." + a.Name
		if a.Kind == garment.NumberAllowance {
			thousandths, err := f.Decimal(field).Mul(money.Int(1000))
			count, whole := thousandths.Int64()
			if err != nil || !whole {
				f.Wrong(field, "Write a number with at most three decimals.")
			}
			read[i].Thousandths = count
		} else {
			value, err := length.Parse(f.Text(field), write.System.Small())
			if err != nil {
				f.Wrong(field, "Write a length, such as 1/4 in or 6 mm.")
				continue
			}
			read[i].Length = value
		}
		if !read[i].InRange() && !f.WrongAt(field) {
			f.Wrong(field, read[i].Refusal(write)+".")
		}
	}
	return read
}

// atAllowances moves what is wrong with an allowance to its field. What is wrong with a piece or
// with how much of a notion it takes is said once, for the first size in which it shows, at the
// allowance that was changed.
func atAllowances(err error, style, before store.Style) error {
	var fault *store.Fault
	if !errors.As(err, &fault) {
		return err
	}
	moved := *fault
	moved.Problems = nil
	said := map[string]bool{}
	for _, p := range fault.Problems {
		var at int
		what := ""
		switch {
		case numbered(p.Field, "allowances[%d]", &at, len(style.Allowances)):
			p.Field = "allowance." + style.Allowances[at].Name
		case numbered(p.Field, "pieces[%d]", &at, len(style.Pieces)):
			what = "The piece " + style.Pieces[at].Name
		case numbered(p.Field, "notions[%d]", &at, len(style.Notions)):
			what = "The " + style.Notions[at].Notion
		}
		if what != "" {
			if said[what] {
				continue
			}
			said[what] = true
			p = store.Problem{Field: changedAllowance(style, before), Message: what + " would not come out, " + p.Message + "."}
		}
		moved.Problems = append(moved.Problems, p)
	}
	return &moved
}

// numbered reads the number out of a field such as pieces[2].width; false if it is another field
// or the number is too large.
func numbered(field, pattern string, at *int, below int) bool {
	_, err := fmt.Sscanf(field, pattern, at)
	return err == nil && *at < below
}

// changedAllowance is the field of the first allowance that was changed; "" if none was.
func changedAllowance(style, before store.Style) string {
	for i, a := range style.Allowances {
		if i < len(before.Allowances) && a != before.Allowances[i] {
			return "allowance." + a.Name
		}
	}
	return ""
}

// likelyNotions proposes, for each need of a style, the only notion that has its name.
func likelyNotions(style store.Style, notions []store.Notion) map[string]int64 {
	likely := map[string]int64{}
	for _, need := range style.Notions {
		if named := notionsNamed(notions, need.Notion); len(named) == 1 {
			likely[need.Notion] = named[0].ID
		}
	}
	return likely
}

func notionsNamed(notions []store.Notion, need string) []store.Notion {
	var named []store.Notion
	for _, n := range notions {
		if strings.Contains(strings.ToLower(n.Name), strings.ToLower(need)) {
			named = append(named, n)
		}
	}
	return named
}

// missingNotions leads to a form for each need of a style that no notion has the name of.
func missingNotions(style store.Style, notions []store.Notion) []page.Step {
	var missing []page.Step
	for _, need := range style.Notions {
		if len(notionsNamed(notions, need.Notion)) == 0 {
			query := url.Values{"style": {strconv.FormatInt(style.ID, 10)}, "need": {need.Notion}}
			missing = append(missing, page.Step{Link: "/shelf/notions/new?" + query.Encode(), Label: "Add " + need.Notion})
		}
	}
	return missing
}

// needsInWords lists what a style takes besides cloth.
func needsInWords(style store.Style) string {
	names := make([]string, len(style.Notions))
	for i, need := range style.Notions {
		names[i] = need.Notion
	}
	return strings.Join(names, ", ")
}

// colourwayForm fills the form for the colourway in the path, or for a new one.
func (s *Server) colourwayForm(r *http.Request) (*page.ColourwayEdit, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	view := &page.ColourwayEdit{}
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	view.Roles = view.Style.Roles()
	if chi.URLParam(r, "colourway") != "" {
		if view.Colourway, err = s.colourway(r); err != nil {
			return view, err
		}
	}
	title := "New colourway of " + view.Style.Name
	if view.Colourway.ID != 0 {
		title = "Change " + view.Colourway.Name
	}
	if view.Base, err = s.base(r, title, "styles"); err != nil {
		return view, err
	}
	cloths, err := s.service.Cloths(r.Context(), s.workshop)
	if err != nil {
		return view, err
	}
	notions, err := s.service.Notions(r.Context(), s.workshop)
	view.Cloths = offeredCloths(cloths, func(id int64) bool { return uses(view.Colourway.Cloths, id) })
	if view.Colourway.ID == 0 {
		view.Missing, view.Colourway.Notions = missingNotions(view.Style, notions), likelyNotions(view.Style, notions)
	}
	view.Notions = offeredNotions(notions, func(id int64) bool { return slices.Contains(slices.Collect(maps.Values(view.Colourway.Notions)), id) })
	return view, err
}

func (s *Server) colourway(r *http.Request) (store.Colourway, error) {
	number, err := id(r, "colourway")
	if err != nil {
		return store.Colourway{}, err
	}
	ways, err := s.service.Colourways(r.Context(), s.workshop)
	if err != nil {
		return store.Colourway{}, err
	}
	at := slices.IndexFunc(ways, func(w store.Colourway) bool { return w.ID == number })
	if at < 0 {
		return store.Colourway{}, notFound("colourway")
	}
	return ways[at], nil
}

func (s *Server) saveColourway(r *http.Request, f *form.Form, view *page.ColourwayEdit) (saved, error) {
	way := store.Colourway{
		ID: view.Colourway.ID, StyleID: view.Style.ID, Version: f.Int("version", 0, 1<<30), Name: f.Needed("name", "Write a name."),
		Cloths: map[garment.Role]int64{}, Notions: map[string]int64{},
	}
	for _, role := range view.Roles {
		way.Cloths[role] = f.ID("cloth." + string(role))
	}
	for _, need := range view.Style.Notions {
		way.Notions[need.Notion] = f.ID("notion." + need.Notion)
	}
	_, err := s.service.SaveColourwayDraft(r.Context(), s.workshop, way)
	return saved{fmt.Sprintf("/styles/%d", view.Style.ID), "colourway"}, err
}

func (s *Server) chartView(r *http.Request) (*page.Chart, error) {
	number, err := id(r, "id")
	if err != nil {
		return nil, err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, number)
	if err != nil {
		return nil, err
	}
	base, err := s.base(r, chart.Name, "styles")
	view := &page.Chart{Base: base, Chart: chart}
	for _, size := range chart.Sizes {
		for _, measure := range chart.Measures {
			if source := size.Values[measure.Name].Source; source != "" && view.SourceOf(source) == 0 {
				view.Sources = append(view.Sources, page.Source{Number: len(view.Sources) + 1, Text: source})
			}
		}
	}
	return view, err
}

func (s *Server) copyChart(r *http.Request, f *form.Form, view *page.Chart) (saved, error) {
	made, err := s.service.CopyChart(r.Context(), s.workshop, view.Chart.ID, f.Text("name"))
	return saved{fmt.Sprintf("/charts/%d/edit", made), "chart"}, err
}

func (s *Server) chartEdit(r *http.Request) (*page.ChartEdit, error) {
	view, err := s.chartView(r)
	if err != nil {
		return nil, err
	}
	return &page.ChartEdit{Base: view.Base, Chart: view.Chart}, nil
}

func (s *Server) saveChart(r *http.Request, f *form.Form, view *page.ChartEdit) (saved, error) {
	chart := view.Chart
	chart.Name, chart.Version = f.Needed("name", "Write a name."), f.Int("version", 0, 1<<30)
	s.readChart(f, view, &chart)
	if !f.OK() {
		return saved{}, nil
	}
	_, err := s.service.SaveChartDraft(r.Context(), s.workshop, chart)
	return saved{fmt.Sprintf("/charts/%d", chart.ID), "chart"}, err
}

// removeColourway removes a colourway that no order asks for.
func (s *Server) removeColourway(w http.ResponseWriter, r *http.Request) error {
	style, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	view, err := s.colourwayForm(r)
	if err != nil {
		return err
	}
	if err := s.service.RemoveColourway(r.Context(), s.workshop, view.Colourway.ID); err != nil {
		if view.Problems, err = problemsOf(f, err); err != nil {
			return err
		}
		return s.refuse(w, r, view)
	}
	place := fmt.Sprintf("/styles/%d", style)
	return s.doneBy(w, r, place, "colourway_gone", view.Form().Again(place+"/colourways"))
}

// readChart reads the values of a chart; one that the maker changed is from then on theirs.
func (s *Server) readChart(f *form.Form, view *page.ChartEdit, chart *store.Chart) {
	unit := view.Units.System.Small()
	sizes := make([]garment.Size, len(chart.Sizes))
	for i, size := range chart.Sizes {
		sizes[i] = garment.Size{Name: size.Name, Values: map[string]garment.Value{}}
		for _, measure := range chart.Measures {
			field := fmt.Sprintf("value.%d.%s", i, measure.Name)
			if f.Text(field) == "" {
				continue
			}
			value := size.Values[measure.Name]
			if typed := f.LengthNeeded(field, unit); typed != value.Length && f.Text(field) != strings.TrimSpace(view.Input(value.Length)) {
				value = garment.Value{Length: typed, Source: "measured or changed by you, " + s.service.Today().Format(time.DateOnly)}
			}
			sizes[i].Values[measure.Name] = value
		}
	}
	chart.Sizes = sizes
}

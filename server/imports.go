package server

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/workshop"
)

func (s *Server) importRoutes(r chi.Router) {
	r.Get("/imports/{kind}", s.handle(s.importForm))
	r.Post("/imports/{kind}", s.handle(s.keepImport))
	r.Get("/imports/drafts/{id}", s.handle(s.lookAtImport))
	r.Post("/imports/drafts/{id}", s.handle(s.takeImport))
}

// largestUpload is the largest file that is read; a larger one is refused before it is.
const largestUpload = 10 << 20

// upload reads the file of a form. A problem is noted at the field; the error is for others.
func upload(w http.ResponseWriter, r *http.Request, f *form.Form, take func(name string, file multipartFile) error) error {
	if r.ContentLength > largestUpload {
		f.Wrong("file", fmt.Sprintf("The file has %d MB; at most %d MB are read. Split it.", r.ContentLength>>20, largestUpload>>20))
		return nil
	}
	r.Body = http.MaxBytesReader(w, r.Body, largestUpload)
	file, header, err := r.FormFile("file")
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		f.Wrong("file", fmt.Sprintf("The file is too large; at most %d MB are read. Split it.", largestUpload>>20))
		return nil
	case err != nil:
		f.Wrong("file", "Choose a file.")
		return nil
	}
	defer func() { _ = file.Close() }() // only read from
	return take(header.Filename, file)
}

type multipartFile interface {
	Read(p []byte) (int, error)
	ReadAt(p []byte, off int64) (int, error)
}

// looksLikeWorkbook tells whether a file that is to be read may be a workbook: among orders, an
// order form that came back.
func looksLikeWorkbook(file multipartFile) bool {
	start := make([]byte, 4)
	n, err := file.ReadAt(start, 0)
	return (err == nil || n == len(start)) && workshop.IsWorkbook(start)
}

func importKind(r *http.Request) (workshop.ImportKind, error) {
	kind, ok := workshop.KindOfImport(chi.URLParam(r, "kind"))
	if !ok {
		return kind, notFound("page")
	}
	return kind, nil
}

func (s *Server) importForm(w http.ResponseWriter, r *http.Request) error {
	kind, err := importKind(r)
	if err != nil {
		return err
	}
	base, err := s.base(r, "Take "+kind.Name+" from a file", placeOf(kind))
	if err != nil {
		return err
	}
	return s.show(w, r, page.Import{Base: base, Kind: kind, Kinds: workshop.ImportKinds()})
}

// placeOf is the entry of the menu that a kind of table belongs to.
func placeOf(kind workshop.ImportKind) string {
	place, _, _ := strings.Cut(strings.TrimPrefix(kind.Back, "/"), "/")
	return place
}

func (s *Server) keepImport(w http.ResponseWriter, r *http.Request) error {
	kind, err := importKind(r)
	if err != nil {
		return err
	}
	f := &form.Form{}
	var draft int64
	place := "/imports/drafts/%d"
	err = upload(w, r, f, func(name string, file multipartFile) error {
		if kind.Name == "orders" && looksLikeWorkbook(file) {
			place = "/order-forms/back/%d"
			if draft, err = s.service.KeepOrderForm(r.Context(), s.workshop, name, file); err != nil {
				f.Wrong("file", "If it is a table of orders and no order form, save the sheet as CSV and choose that file.")
			}
			return err
		}
		draft, err = s.service.KeepImport(r.Context(), s.workshop, kind.Name, name, file)
		return err
	})
	if err == nil && f.OK() {
		http.Redirect(w, r, fmt.Sprintf(place, draft), http.StatusSeeOther)
		return nil
	}
	problems, err := problemsOf(f, err)
	if err != nil {
		return err
	}
	for i, problem := range problems {
		if problem.Field != "file" {
			problems[i] = page.Problem{Field: "file", Message: capital(problem.Field) + ": " + problem.Message}
		}
	}
	base, err := s.refusedBase(r, "Take "+kind.Name+" from a file", placeOf(kind), f, problems)
	if err != nil {
		return err
	}
	return s.refuse(w, r, page.Import{Base: base, Kind: kind, Kinds: workshop.ImportKinds()})
}

func capital(text string) string {
	if text == "" {
		return "The file"
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// importChoice reads what was said of a file: which column is which, none if nothing was said, and how
// days are meant.
func importChoice(values url.Values) workshop.ImportChoice {
	choice := workshop.ImportChoice{Days: workshop.DayOrder(values.Get("days"))}
	matching := workshop.Matching{}
	said := false
	for field := range values {
		name, ok := strings.CutPrefix(field, "c.")
		if !ok {
			continue
		}
		said = true
		if at, err := strconv.Atoi(values.Get(field)); err == nil && at >= 0 {
			matching[name] = at
		}
	}
	if said {
		choice.Matching = matching
	}
	return choice
}

func (s *Server) lookAtImport(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	preview, err := s.service.LookAtImport(r.Context(), s.workshop, number, importChoice(r.URL.Query()))
	if err != nil {
		return err
	}
	return s.showLook(w, r, http.StatusOK, preview)
}

// mostLookRows and mostMistakes are shown of a file.
const (
	mostLookRows = 20
	mostMistakes = 50
)

func (s *Server) showLook(w http.ResponseWriter, r *http.Request, status int, preview workshop.ImportPreview) error {
	base, err := s.base(r, preview.File, placeOf(preview.Kind))
	if err != nil {
		return err
	}
	view := page.ImportLook{Base: base, Preview: preview, Mistakes: preview.Problems}
	if len(view.Mistakes) > mostMistakes {
		view.Mistakes, view.Unlisted = view.Mistakes[:mostMistakes], len(view.Mistakes)-mostMistakes
	}
	for _, box := range []page.ImportSaid{{ID: "changes", Title: "What would change", Said: preview.Would.Changes}, {ID: "notes", Title: "Worth knowing", Said: preview.Would.Notes}} {
		if len(box.Said) > mostMistakes {
			box.Said, box.More = box.Said[:mostMistakes], len(box.Said)-mostMistakes
		}
		if len(box.Said) > 0 && len(preview.Problems) == 0 {
			view.Said = append(view.Said, box)
		}
	}
	for _, column := range preview.Kind.Columns {
		at, ok := preview.Choice.Matching[column.Name]
		if !ok || at >= len(preview.Table.Heading) {
			at = -1
		}
		view.Columns = append(view.Columns, page.ImportColumn{ImportColumn: column, At: at})
	}
	view.More = max(0, len(preview.Table.Rows)-mostLookRows)
	for _, row := range preview.Table.Rows[:len(preview.Table.Rows)-view.More] {
		shown := page.ImportLookRow{Line: row.Line}
		for _, column := range view.Columns {
			switch {
			case column.At < 0:
			case column.At < len(row.Cells):
				shown.Cells = append(shown.Cells, cmp.Or(preview.Choice.DayRead(column.Name, row.Cells[column.At]), row.Cells[column.At]))
			default:
				shown.Cells = append(shown.Cells, "")
			}
		}
		view.Rows = append(view.Rows, shown)
	}
	s.render(w, r, status, view)
	return nil
}

// takenNotice is the word of what is said once a table is taken.
func takenNotice(kind workshop.ImportKind) string {
	if kind.Name == "prices" {
		return "price_file"
	}
	return kind.Name
}

func (s *Server) takeImport(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	choice := importChoice(f.Values)
	preview, err := s.service.LookAtImport(r.Context(), s.workshop, number, choice)
	if err != nil {
		return err
	}
	if len(preview.Problems) > 0 {
		return s.showLook(w, r, http.StatusUnprocessableEntity, preview)
	}
	if _, err := s.service.TakeImport(r.Context(), s.workshop, number, choice); err != nil {
		return err
	}
	return done(w, r, preview.Kind.Back, takenNotice(preview.Kind))
}

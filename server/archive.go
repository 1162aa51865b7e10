package server

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"regexp"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) archiveRoutes(r chi.Router) {
	r.Get("/workshop/archive", s.handle(s.showArchive))
	r.Post("/workshop/archive", s.handle(s.readArchive))
	r.Post("/workshop/archive.zip", s.handle(s.writeArchive))
}

// archivePatience is how long an archive may take on its way.
const archivePatience = 15 * time.Minute

// patient gives a request more time than others have.
func patient(w http.ResponseWriter) {
	until := time.Now().Add(archivePatience)
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(until) // a writer that knows no deadlines has none
	_ = control.SetWriteDeadline(until)
}

func (s *Server) archiveView(r *http.Request) (page.Archive, error) {
	view := page.Archive{Largest: workshop.LargestArchive >> 20}
	var err error
	if view.Base, err = s.base(r, "Whole workshop as one file", "workshop"); err != nil {
		return view, err
	}
	var fault *store.Fault
	if err := s.service.MayFill(r.Context(), s.workshop); errors.As(err, &fault) {
		view.Full = fault.Problems[0].Message
	} else if err != nil {
		return view, err
	}
	return view, nil
}

func (s *Server) showArchive(w http.ResponseWriter, r *http.Request) error {
	view, err := s.archiveView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// writeArchive writes the archive to a temporary file first, so that a download is whole or
// says what went wrong, and a slow one keeps no transaction open.
func (s *Server) writeArchive(w http.ResponseWriter, r *http.Request) error {
	patient(w)
	room, err := s.service.Workshop(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	file, err := os.CreateTemp("", "yardwright-archive-")
	if err != nil {
		return err
	}
	defer func() {
		_ = file.Close() // it is gone anyway
		_ = os.Remove(file.Name())
	}()
	if err := s.service.ExportArchive(r.Context(), file, s.workshop); err != nil {
		return err
	}
	size, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Length", fmt.Sprint(size))
	w.Header().Set("Content-Disposition", `attachment; filename="`+archiveName(room.Name, s.service.Today())+`"`)
	if _, err := io.Copy(w, file); err != nil {
		s.log.Info("a download was broken off", "name", "archive", "error", err)
	}
	return nil
}

var notPlain = regexp.MustCompile(`[^a-z0-9]+`)

// archiveName is a name for an archive that every system takes: quillfen-workroom-2026-11-25.zip.
func archiveName(room string, day time.Time) string {
	name := strings.Trim(notPlain.ReplaceAllString(strings.ToLower(room), "-"), "-")
	if name == "" {
		name = "workshop"
	}
	return name[:min(len(name), 60)] + "-" + day.Format(time.DateOnly) + ".zip"
}

func (s *Server) readArchive(w http.ResponseWriter, r *http.Request) error {
	patient(w)
	f := &form.Form{}
	var refused error
	switch file, size, problem := archiveUpload(w, r); {
	case problem != "":
		f.Wrong("file", problem)
	default:
		_, refused = s.service.ImportArchive(r.Context(), s.workshop, file, size)
		_ = file.Close() // only read from
	}
	if f.OK() && refused == nil {
		return done(w, r, "/", "archive")
	}
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	view, err := s.archiveView(r)
	if err != nil {
		return err
	}
	for _, p := range problems {
		if p.Field == "file" {
			view.Problems = append(view.Problems, p)
		} else {
			view.Mistakes = append(view.Mistakes, p)
		}
	}
	return s.refuse(w, r, view)
}

// archiveUpload reads the file of the form; problem says in words what is wrong with it. One
// that is too large is refused before it is read.
func archiveUpload(w http.ResponseWriter, r *http.Request) (file multipart.File, size int64, problem string) {
	const overhead = 64 << 10 // what a form has around its file
	if r.ContentLength > workshop.LargestArchive+overhead {
		return nil, 0, fmt.Sprintf("The file has %d MB; at most %d MB are read.", r.ContentLength>>20, workshop.LargestArchive>>20)
	}
	r.Body = http.MaxBytesReader(w, r.Body, workshop.LargestArchive+overhead)
	file, header, err := r.FormFile("file")
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge):
		return nil, 0, fmt.Sprintf("The file is too large; at most %d MB are read.", workshop.LargestArchive>>20)
	case err != nil:
		return nil, 0, "Choose a file."
	}
	return file, header.Size, ""
}

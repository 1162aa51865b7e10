package server

import (
	"net/http"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) seamsView(r *http.Request) (*page.Seams, error) {
	view := &page.Seams{Stitches: costing.Stitches()}
	number, err := id(r, "id")
	if err != nil {
		return view, err
	}
	if view.Style, err = s.service.Style(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	chart, err := s.service.Chart(r.Context(), s.workshop, view.Style.ChartID)
	if err != nil {
		return view, err
	}
	if view.Base, err = s.base(r, "Seams and thread: "+view.Style.Name, "styles"); err != nil {
		return view, err
	}
	for _, need := range view.Style.Notions {
		if need.Notion == workshop.ThreadNeed {
			view.Formula = need.Length
		}
	}
	view.Known = knownTo(view.Style, chart)
	view.Sizes = chart.SizeNames()
	if view.Seams, err = s.service.Seams(r.Context(), s.workshop, number); err != nil {
		return view, err
	}
	return view, measureSeams(view, chart.SizeChart, view.Seams)
}

func measureSeams(view *page.Seams, chart garment.SizeChart, seams []store.Seam) error {
	if len(seams) == 0 {
		return nil
	}
	measured, err := workshop.MeasureSeams(view.Style.Style, chart, seams)
	if err != nil {
		return err
	}
	for i, seam := range seams {
		shown := page.MeasuredSeam{Name: seam.Name, Class: seam.Class, Ratio: view.Number(workshop.SeamRatio(seam), 2)}
		for _, size := range view.Sizes {
			shown.Cells = append(shown.Cells, view.Cut(measured[size][i].Length))
		}
		view.Measured = append(view.Measured, shown)
	}
	for _, size := range view.Sizes {
		total := measured[size][0].Thread
		for _, one := range measured[size][1:] {
			total += one.Thread
		}
		view.Totals = append(view.Totals, view.ClothUp(total))
	}
	return nil
}

func (s *Server) saveSeams(r *http.Request, f *form.Form, view *page.Seams) (saved, error) {
	style := view.Style
	style.Version = f.Int("version", 0, 1<<30)
	seams := readSeams(f)
	if !f.OK() {
		return saved{}, nil
	}
	return saved{r.URL.Path, "seams"}, atRows(s.service.SaveSeams(r.Context(), s.workshop, style, seams), "seam", seamsFilled(f))
}

func seamsFilled(f *form.Form) []int { return filledRows(f, "seam", page.MaxSeams, "name", "length") }

// readSeams reads the seams; rows without a name and a length are left out.
func readSeams(f *form.Form) []store.Seam {
	var seams []store.Seam
	for _, row := range seamsFilled(f) {
		field := func(part string) string { return page.SeamField(row, part) }
		seam := store.Seam{Name: f.Needed(field("name"), "Name the seam."), Class: f.Text(field("class")), Length: f.Needed(field("length"), "Write how long it is, such as waist/2 + 2*seam."), Count: 1, Ratio: f.Decimal(field("ratio"))}
		if f.Text(field("count")) != "" {
			seam.Count = f.Int(field("count"), 1, 100)
		}
		if seam.Ratio.Sign() < 0 || money.Int(1000).Less(seam.Ratio) {
			f.Wrong(field("ratio"), "Write how many times the seam's length, from 0 to 1,000.")
		}
		seams = append(seams, seam)
	}
	return seams
}

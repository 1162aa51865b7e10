package page

import (
	"html/template"
	"time"
)

// Parts is the developers' page: every part that pages are built of, with made-up content, so
// that a change of one can be looked at in all of its states at once.
type Parts struct {
	Base
	Fields  []Field
	Chosen  Field
	Run     Run
	Changed Changed
	At      time.Time
	Marker  LayView
	Pieces  []PieceDrawing
	Plots   []PartPlot
	Orders  []PartOrder
	States  []string
	Grading []PartSize
}

// PartPlot is a plot with its name.
type PartPlot struct {
	Name string
	Plot template.HTML
}

// PartOrder is a row of the tables on the page of parts.
type PartOrder struct {
	Number, Customer, State string
	Garments                int
	Due                     time.Time
}

// PartSize is a row of the wide table on the page of parts.
type PartSize struct {
	Size  string
	Cells []string
}

// Sketches are all sketches of allowances, by name.
func (Parts) Sketches() []PartPlot {
	var list []PartPlot
	for _, name := range SketchNames() {
		sketch, _ := SketchOf(name)
		list = append(list, PartPlot{name, sketch.SVG()})
	}
	return list
}

func (Parts) page() string { return "parts" }

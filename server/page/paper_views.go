package page

import (
	"html/template"
	"slices"
	"time"

	"yardwright/batch"
	"yardwright/exports"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Tickets is the form for bundle tickets.
type Tickets struct {
	Base
	Batch   store.Batch
	Address string
}

func (Tickets) page() string { return "tickets" }

// Bundle is what a bundle ticket opens.
type Bundle struct {
	Base
	Batch   store.Batch
	Plan    batch.Plan
	Bundle  batch.Bundle
	Garment batch.Garment
}

func (Bundle) page() string { return "bundle" }

// LotWords says which shade lot the bundle is of.
func (b Bundle) LotWords(bundle batch.Bundle) string { return bundle.LotWords(b.Plan, batch.Lot.Words) }

// Cloth names the cloth that part of the bundle comes out of.
func (b Bundle) Cloth(l batch.BundleLay) string {
	if l.Cloth < 0 || l.Cloth >= len(b.Plan.Cloths) {
		return ""
	}
	return b.Plan.Cloths[l.Cloth].Cloth.Name
}

// LayNumber counts lays from 1.
func (Bundle) LayNumber(l batch.BundleLay) int { return l.Lay + 1 }

// Steps are those of the bundle's style.
func (b Bundle) Steps() []batch.Step {
	return slices.DeleteFunc(slices.Clone(b.Plan.Steps), func(s batch.Step) bool { return s.Style != b.Garment.Style })
}

// Time is how long a step takes for the bundle, its set-up left aside.
func (b Bundle) Time(s batch.Step) time.Duration { return s.Each * time.Duration(b.Bundle.Quantity) }

// Templates is the form for pieces at true size.
type Templates struct {
	Base
	Style store.Style
	Sizes []string
	// Colourways to cut from, and the chosen one; 0 is cloth that doesn't shrink.
	Colourways []store.Colourway
	Colourway  int64
	// Pieces as they are drawn in Size.
	Size   string
	Pieces []workshop.TemplatePiece
	// Broken says why they can't be drawn in that size.
	Broken string
}

// Shrinks tells whether any piece has room for shrinking.
func (v Templates) Shrinks() bool {
	return slices.ContainsFunc(v.Pieces, func(p workshop.TemplatePiece) bool { return p.Cloth.Shrinks() })
}

func (Templates) page() string { return "templates" }

// LineSheet is what is offered to shops.
type LineSheet struct {
	Base
	Line     exports.LineSheet
	Drawings []template.HTML
	// Left says what can't be offered, and why.
	Left  []string
	Query template.URL
}

func (LineSheet) page() string { return "line_sheet" }

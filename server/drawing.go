package server

import (
	"bytes"
	"fmt"
	"html/template"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/server/page"
)

// drawPieces draws the pieces of a style to one scale, so that they can be compared.
func drawPieces(base page.Base, pieces []garment.Piece, cuts []garment.CutPiece) []page.PieceDrawing {
	var largest length.Length
	for _, cut := range cuts {
		largest = max(largest, cut.Width, cut.Length)
	}
	drawings := make([]page.PieceDrawing, len(cuts))
	for i, cut := range cuts {
		drawings[i] = page.PieceDrawing{Piece: pieces[cut.Piece], Drawing: drawPiece(base, cut, largest)}
	}
	return drawings
}

// largestDrawing is how many pixels the largest piece of a style takes.
const largestDrawing = 210

func drawPiece(base page.Base, cut garment.CutPiece, largest length.Length) template.HTML {
	outline := cut.Outline
	if outline == nil {
		outline = []garment.Point{{X: 0, Y: 0}, {X: cut.Width, Y: 0}, {X: cut.Width, Y: cut.Length}, {X: 0, Y: cut.Length}}
	}
	scale := float64(largestDrawing) / float64(largest)
	var svg bytes.Buffer
	wide, high := float64(cut.Width)*scale, float64(cut.Length)*scale
	fmt.Fprintf(&svg, `<svg role="img" width="%.0f" height="%.0f" viewBox="-2 -2 %.1f %.1f" aria-label="%s, %s by %s">`,
		wide+4, high+4, wide+4, high+4, template.HTMLEscapeString(cut.Name), base.CutSize(cut.Width, cut.Outline != nil), base.CutSize(cut.Length, cut.Outline != nil))
	svg.WriteString(`<polygon fill="#e3ebf3" stroke="#2a5a8c" stroke-width="1.5" stroke-linejoin="round" points="`)
	for _, point := range outline {
		fmt.Fprintf(&svg, "%.1f,%.1f ", float64(point.X)*scale, high-float64(point.Y)*scale)
	}
	svg.WriteString(`"/></svg>`)
	return template.HTML(svg.String()) //nolint:gosec // numbers, and a name that was escaped
}

// drawOnPaper draws the marker of a lay to scale for paper: upright.
func drawOnPaper(base page.Base, planned batch.ClothPlan, at int) (template.HTML, error) {
	drawn, err := drawMarker(base, planned, at, drawingKind{way: lyingUp, width: paperDrawing, paper: true}, fmt.Sprintf("c%d-l%d-paper", planned.Cloth.ID, at+1), nil)
	return `<div class="drawing paper">` + drawn + `</div>`, err
}

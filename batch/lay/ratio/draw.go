package ratio

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// Sizes of the drawing, in its own units.
const (
	drawWidth  = 1000
	drawMargin = 20
	drawRow    = 24
	drawBar    = 40
)

// Draw draws a plan as SVG: a bar for each marker, as long as the marker
// to scale, with a block for each garment, its size, and the number of plies.
func Draw(w io.Writer, p Problem, unit length.Measure, plan Plan) error {
	longest := length.Length(1)
	for _, m := range plan.Markers {
		longest = max(longest, p.markerLength(m))
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" font-family="sans-serif" font-size="12">`,
		drawWidth, 2*drawMargin+(drawRow+drawBar)*len(plan.Markers))
	fmt.Fprintf(&b, `<title>%s</title>`, words.Count(len(plan.Markers), "marker"))
	scale := float64(drawWidth-2*drawMargin) / float64(longest)
	for i, m := range plan.Markers {
		y := drawMargin + i*(drawRow+drawBar)
		label := fmt.Sprintf("Marker %d, %s", i+1, words.Count(m.Plies, "ply"))
		if p.Length != nil {
			label += fmt.Sprintf(", %s %s", p.markerLength(m).In(unit), unit.Symbol)
		}
		fmt.Fprintf(&b, `<text x="%d" y="%d">%s</text>`, drawMargin, y+14, escape(label))
		at := length.Length(0)
		for s, n := range m.Ratio {
			for range n {
				x, width := drawMargin+float64(at)*scale, float64(p.garmentLength(s))*scale
				fmt.Fprintf(&b, `<rect x="%.2f" y="%d" width="%.2f" height="%d" fill="#fff" stroke="#222"/>`, x, y+drawRow-4, width, drawBar-8)
				if width > 7*float64(len([]rune(p.Sizes[s]))) {
					fmt.Fprintf(&b, `<text x="%.2f" y="%d" text-anchor="middle">%s</text>`, x+width/2, y+drawRow+drawBar/2-4, escape(p.Sizes[s]))
				}
				at += p.garmentLength(s)
			}
		}
	}
	b.WriteString("</svg>\n")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("write the drawing: %w", err)
	}
	return nil
}

// garmentLength is the length of one garment, or one unit where only garments count.
func (p Problem) garmentLength(size int) length.Length {
	if p.Length == nil {
		return length.Metre
	}
	return p.Length[size]
}

func (p Problem) markerLength(m Marker) length.Length {
	total := length.Length(0)
	for s, n := range m.Ratio {
		total += p.garmentLength(s) * length.Length(n)
	}
	return total
}

func escape(text string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(text)) // a buffer takes everything
	return b.String()
}

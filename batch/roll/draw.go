package roll

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
	drawBar    = 34
	drawRow    = 58
)

// DrawPlan draws the rolls to scale as SVG, one bar for each roll (or for several cut alike),
// with the cuts in it and what is left hatched.
func DrawPlan(w io.Writer, p Problem, unit length.Measure, plan Plan) error {
	longest := length.Length(1)
	for _, s := range p.Stock {
		longest = max(longest, s.Length)
	}
	var b bytes.Buffer
	height := 2*drawMargin + drawRow*len(plan.Rolls)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" font-family="sans-serif" font-size="12">`, drawWidth, height)
	fmt.Fprintf(&b, `<title>%s opened</title>`, words.Count(plan.Opened, "roll"))
	b.WriteString(`<defs><pattern id="left" width="6" height="6" patternUnits="userSpaceOnUse"><path d="M0 6L6 0" stroke="#777"/></pattern></defs>`)
	scale := float64(drawWidth-2*drawMargin) / float64(longest)
	for i, r := range plan.Rolls {
		drawRoll(&b, p, unit, r, scale, drawMargin+i*drawRow)
	}
	b.WriteString("</svg>\n")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("write the drawing: %w", err)
	}
	return nil
}

func drawRoll(b *bytes.Buffer, p Problem, unit length.Measure, r Roll, scale float64, y int) {
	whole := p.Stock[r.Stock].Length
	label := fmt.Sprintf("%d × %s %s", r.Times, whole.In(unit), unit.Symbol)
	if name := p.Stock[r.Stock].Name; name != "" {
		label += ", " + name
	}
	label += fmt.Sprintf("; left %s %s", r.Left.In(unit), unit.Symbol)
	fmt.Fprintf(b, `<text x="%d" y="%d">%s</text>`, drawMargin, y+12, escape(label))
	fmt.Fprintf(b, `<rect x="%d" y="%d" width="%.2f" height="%d" fill="url(#left)" stroke="#222"/>`, drawMargin, y+18, float64(whole)*scale, drawBar)
	at := length.Length(0)
	for c, n := range r.Counts {
		for range n {
			x, width := drawMargin+float64(at)*scale, float64(p.Cuts[c].Length)*scale
			name := p.Cuts[c].Name
			if name == "" {
				name = p.Cuts[c].Length.In(unit)
			}
			fmt.Fprintf(b, `<g><title>%s: %s %s</title><rect x="%.2f" y="%d" width="%.2f" height="%d" fill="#fff" stroke="#222"/>`,
				escape(name), p.Cuts[c].Length.In(unit), unit.Symbol, x, y+18, width, drawBar)
			if width > 7*float64(len([]rune(name))) {
				fmt.Fprintf(b, `<text x="%.2f" y="%d" text-anchor="middle">%s</text>`, x+width/2, y+18+drawBar/2+4, escape(name))
			}
			b.WriteString(`</g>`)
			at += p.Cuts[c].Length + p.Kerf
		}
	}
}

func escape(text string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(text)) // a buffer takes everything
	return b.String()
}

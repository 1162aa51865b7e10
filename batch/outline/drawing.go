package outline

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"yardwright/batch/length"
)

// Limits of what is read.
const (
	// LargestFile is the largest drawing that is read, in bytes.
	LargestFile = 10 << 20
	mostPaths   = 500
	mostDepth   = 200
	mostAll     = 200_000 // edges of all paths
)

// Drawing is what an SVG file holds of outlines.
type Drawing struct {
	// Paths are all shapes in it, in order.
	Paths []Path
	// PerUnit is what one unit of the paths measures by the drawing's own words, in mm; 0 if it
	// doesn't say, and WhyNot says what is missing.
	PerUnit float64
	WhyNot  string
}

// Path is one shape of a drawing.
type Path struct {
	// Name is what the drawing calls it; empty if it has no name.
	Name string
	// Kind is the name of its element: path, rect, circle, ellipse, polygon or polyline.
	Kind string
	// Unreadable says why it can't be used at all; empty if it can be read.
	Unreadable string
	runs       []run
}

// Read reads a drawing. The error says in words for the maker what is wrong with it.
func Read(r io.Reader) (*Drawing, error) {
	content, err := io.ReadAll(io.LimitReader(r, LargestFile+1))
	switch {
	case err != nil:
		return nil, err
	case len(content) > LargestFile:
		return nil, fmt.Errorf("the drawing has more than %d MB; save the outline by itself", LargestFile>>20)
	case bytes.Contains(content, []byte("<!ENTITY")):
		return nil, errors.New("the drawing defines entities, which are not read; save it as plain SVG")
	}
	p := &parser{decoder: xml.NewDecoder(bytes.NewReader(content)), drawing: &Drawing{}}
	p.decoder.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("it is written in %s; save it in UTF-8", charset)
	}
	if err := p.read(); err != nil {
		return nil, err
	}
	if len(p.drawing.Paths) == 0 {
		return nil, errors.New("there is no path in this drawing: pictures and text have no outline; turn them into paths first")
	}
	return p.drawing, nil
}

type parser struct {
	decoder *xml.Decoder
	drawing *Drawing
	root    bool // the svg element was read
	edges   int
}

// level is what an element hands down to those inside it.
type level struct {
	matrix     matrix
	unreadable string
}

// skipped are elements whose content is not drawn where it stands.
var skipped = map[string]bool{
	"defs": true, "clipPath": true, "mask": true, "marker": true, "pattern": true, "symbol": true, "metadata": true, "style": true, "script": true,
	"foreignObject": true, "title": true, "desc": true, "linearGradient": true, "radialGradient": true, "filter": true, "text": true,
}

func (p *parser) read() error {
	levels := []level{{matrix: identity}}
	for {
		token, err := p.decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("this is not an SVG drawing: %w", err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			if !p.root && t.Name.Local != "svg" {
				return errors.New("this is not an SVG drawing: it doesn't begin with svg")
			}
			if len(levels) > mostDepth {
				return errors.New("the groups of this drawing lie too deep in each other; ungroup them")
			}
			inner := levels[len(levels)-1]
			if skipped[t.Name.Local] || attr(t, "display") == "none" || strings.Contains(squeezed(attr(t, "style")), "display:none") {
				if err := p.decoder.Skip(); err != nil {
					return fmt.Errorf("this is not an SVG drawing: %w", err)
				}
				continue
			}
			if err := p.element(t, &inner); err != nil {
				return err
			}
			levels = append(levels, inner)
		case xml.EndElement:
			levels = levels[:len(levels)-1]
		}
	}
	if !p.root {
		return errors.New("this is not an SVG drawing: it holds no drawing at all")
	}
	return nil
}

func squeezed(style string) string { return strings.Join(strings.Fields(style), "") }

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name && a.Name.Space == "" {
			return strings.TrimSpace(a.Value)
		}
	}
	return ""
}

// label is what people called an element.
func label(e xml.StartElement) string {
	for _, a := range e.Attr {
		if a.Name.Local == "label" && a.Value != "" { // as drawing programs write it, in spaces of their own
			return oneLine(a.Value)
		}
	}
	return oneLine(attr(e, "id"))
}

func oneLine(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if runes := []rune(text); len(runes) > 60 {
		text = string(runes[:60]) + "…"
	}
	return text
}

func (p *parser) element(e xml.StartElement, now *level) error {
	if e.Name.Local == "svg" {
		if !p.root {
			p.root = true
			p.scale(e)
			return nil
		}
		now.unreadable = "it lies in a drawing inside the drawing; ungroup it"
	}
	if strings.Contains(squeezed(attr(e, "style")), "transform:") {
		now.unreadable = "it is moved by a style, which is not followed; save it with plain transforms"
	}
	if text := attr(e, "transform"); text != "" {
		m, err := parseTransform(text)
		if err != nil {
			now.unreadable = err.Error()
		}
		now.matrix = now.matrix.then(m)
	}
	var data string
	switch e.Name.Local {
	case "path":
		data = attr(e, "d")
	case "rect", "circle", "ellipse", "polygon", "polyline":
		var err error
		if data, err = shape(e); err != nil {
			return p.add(Path{Name: label(e), Kind: e.Name.Local, Unreadable: err.Error()})
		}
	case "use":
		return p.add(Path{Name: label(e), Kind: "use", Unreadable: "it is a copy of another shape; make it a shape of its own"})
	default:
		return nil
	}
	path := Path{Name: label(e), Kind: e.Name.Local, Unreadable: now.unreadable}
	runs, err := parsePath(data)
	switch {
	case path.Unreadable != "":
	case err != nil:
		path.Unreadable = err.Error()
	default:
		for _, r := range runs {
			if len(r.edges) > 0 {
				path.runs = append(path.runs, now.matrix.run(r))
				p.edges += len(r.edges)
			}
		}
		if len(path.runs) == 0 {
			return nil // draws nothing
		}
	}
	return p.add(path)
}

func (p *parser) add(path Path) error {
	p.drawing.Paths = append(p.drawing.Paths, path)
	if len(p.drawing.Paths) > mostPaths || p.edges > mostAll {
		return fmt.Errorf("there are too many shapes in this drawing (at most %d are read); save the outline by itself", mostPaths)
	}
	return nil
}

// shape writes a basic shape as path data (SVG 2, chapter 10).
func shape(e xml.StartElement) (string, error) {
	var failed error
	get := func(name string) float64 {
		text := attr(e, name)
		if text == "" || text == "auto" {
			return 0
		}
		value, err := strconv.ParseFloat(strings.TrimSuffix(text, "px"), 64)
		if err != nil || math.IsNaN(value) || math.Abs(value) > largestNumber {
			failed = fmt.Errorf("its %s, %q, is not a plain number", name, oneLine(text))
		}
		return value
	}
	switch e.Name.Local {
	case "polygon", "polyline":
		data := "M" + attr(e, "points")
		if e.Name.Local == "polygon" {
			data += "Z"
		}
		return data, nil
	case "circle", "ellipse":
		x, y, rx, ry := get("cx"), get("cy"), get("rx"), get("ry")
		if e.Name.Local == "circle" {
			rx = get("r")
			ry = rx
		}
		if failed != nil || rx <= 0 || ry <= 0 {
			return "", failed
		}
		return fmt.Sprintf("M%v %vA%v %v 0 0 1 %v %vA%v %v 0 0 1 %v %vZ", x+rx, y, rx, ry, x-rx, y, rx, ry, x+rx, y), nil
	}
	x, y, w, h, rx, ry := get("x"), get("y"), get("width"), get("height"), get("rx"), get("ry")
	if failed != nil || w <= 0 || h <= 0 {
		return "", failed
	}
	if rx == 0 {
		rx = ry
	}
	if ry == 0 {
		ry = rx
	}
	rx, ry = min(rx, w/2), min(ry, h/2)
	if rx <= 0 || ry <= 0 {
		return fmt.Sprintf("M%v %vh%vv%vh%vZ", x, y, w, h, -w), nil
	}
	corner := func(dx, dy float64) string { return fmt.Sprintf("a%v %v 0 0 1 %v %v", rx, ry, dx, dy) }
	return fmt.Sprintf("M%v %vh%v%sv%v%sh%v%sv%v%sZ", x+rx, y, w-2*rx, corner(rx, ry), h-2*ry, corner(-rx, ry), -(w - 2*rx), corner(-rx, -ry), -(h - 2*ry), corner(rx, -ry)), nil
}

// physical are the units that are lengths on paper, in mm. px is none: programs disagree about it.
var physical = map[string]float64{"mm": 1, "cm": 10, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}

// scale finds out what one unit measures by the size of the drawing and its viewBox.
func (p *parser) scale(e xml.StartElement) {
	wide, okWide := paperLength(attr(e, "width"))
	high, okHigh := paperLength(attr(e, "height"))
	if !okWide || !okHigh {
		p.drawing.WhyNot = "The drawing doesn't say its width and height in mm, cm or in, so its scale is not known."
		return
	}
	r := &pathReader{text: attr(e, "viewBox")}
	var box [4]float64
	r.space()
	if err := r.numbers(box[:]); err != nil || box[2] <= 0 || box[3] <= 0 {
		p.drawing.WhyNot = "The drawing says how large it is, but not how many units that are (viewBox), so its scale is not known."
		return
	}
	across, along := wide/box[2], high/box[3]
	if math.Abs(across-along) > 1e-3*along {
		if strings.HasPrefix(attr(e, "preserveAspectRatio"), "none") {
			p.drawing.WhyNot = "The drawing is stretched: one unit is not the same across and along."
			return
		}
		across = min(across, along)
	}
	p.drawing.PerUnit = across
}

func paperLength(text string) (mm float64, ok bool) {
	text = strings.ToLower(strings.TrimSpace(text))
	for unit, size := range physical {
		if number, has := strings.CutSuffix(text, unit); has {
			value, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
			if err == nil && value > 0 && value < largestNumber {
				return value * size, true
			}
		}
	}
	return 0, false
}

// PerUnitOf is what one unit measures, in mm, if so many units are stated to have a length
// together: 72 units are 1 in.
func PerUnitOf(units float64, together length.Length) (float64, error) {
	switch {
	case !(units > 0 && units < largestNumber):
		return 0, errors.New("write how many units of the drawing you know the length of, such as 72")
	case together <= 0:
		return 0, errors.New("write how long that is, such as 1 in")
	}
	return together.Millimetres() / units, nil
}

// PerUnitBySquare is what one unit measures, in mm, if a path of the drawing is a test square with
// edges of the given length.
func (d *Drawing) PerUnitBySquare(path int, edge length.Length) (float64, error) {
	if edge <= 0 {
		return 0, errors.New("write how long the edge of the test square is")
	}
	if path < 0 || path >= len(d.Paths) || d.Paths[path].Unreadable != "" {
		return 0, errors.New("choose the shape that is the test square")
	}
	low, high := d.Paths[path].box()
	wide, tall := high.x-low.x, high.y-low.y
	if wide <= 0 || math.Abs(wide-tall) > 0.005*max(wide, tall) {
		return 0, fmt.Errorf("this is not a square: it is %s by %s units large", short(wide), short(tall))
	}
	return edge.Millimetres() / ((wide + tall) / 2), nil
}

func short(value float64) string { return strconv.FormatFloat(value, 'g', 5, 64) }

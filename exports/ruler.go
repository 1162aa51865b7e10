package exports

import (
	"fmt"
	"strconv"
	"strings"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// rulerSteps are the distances, in inches or centimetres, at which a ruler is marked; each
// divides some later one.
var rulerSteps = map[length.System][]length.Length{
	length.Imperial: {1, 2, 3, 6, 12, 18, 36, 72, 180, 360, 1800, 3600, 36000},
	length.Metric:   {1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000, 10000, 100000},
}

// ruler is one scale along two opposite edges of the cloth.
type ruler struct {
	unit, end length.Length
	// tick and named are the steps of its marks and of its numbers, in units.
	tick, named length.Length
}

// newRuler chooses steps so that marks and numbers keep their distances.
func (d *drawing) newRuler(end, betweenTicks, betweenNumbers length.Length) ruler {
	system := d.Lengths.System
	if system != length.Metric {
		system = length.Imperial
	}
	steps := rulerSteps[system]
	r := ruler{unit: system.Small().Size, end: end, named: steps[len(steps)-1]}
	for i := len(steps) - 1; i >= 0; i-- {
		if steps[i]*r.unit >= betweenNumbers {
			r.named = steps[i]
		}
	}
	r.tick = r.named
	for i := len(steps) - 1; i >= 0; i-- {
		if steps[i]*r.unit >= betweenTicks && r.named%steps[i] == 0 {
			r.tick = steps[i]
		}
	}
	return r
}

// writeRulers draws rulers along all four edges, with numbers on the left and at the start.
func (d *drawing) writeRulers() {
	level := d.part(260) // numbers side by side need more room than numbers above each other
	upright := d.part(200)
	across, along := level, upright
	if d.Direction == LengthRight {
		across, along = upright, level
	}
	d.writeRuler(d.newRuler(d.instance.Width, d.part(35), across), d.instance.Width, true)
	d.writeRuler(d.newRuler(d.long, d.part(35), along), d.result.Length, false)
}

// writeRuler draws a ruler across or along the cloth; the last number is the exact measure.
func (d *drawing) writeRuler(r ruler, measure length.Length, across bool) {
	var path strings.Builder
	mark := func(at length.Length, size length.Length) {
		for _, far := range []bool{false, true} {
			from := d.edge(across, at, far)
			out := d.outward(across, far)
			fmt.Fprintf(&path, "M%s %sl%s %s", mm(from.X), mm(from.Y), mm(out.X*d.part(size)), mm(out.Y*d.part(size)))
		}
	}
	class := "marker-ruler marker-ruler-along"
	if across {
		class = "marker-ruler marker-ruler-across"
	}
	d.svg.begin("g", attribute{"class", class})
	d.svg.out.WriteString("\n")
	distance := d.part(170)
	if d.levelEdge(across) {
		distance = d.part(330)
	}
	for at := length.Length(0); at*r.unit <= r.end; at += r.tick {
		named := at%r.named == 0
		size := length.Length(25)
		if named {
			size = 50
		}
		mark(at*r.unit, size)
		if named && (measure <= 0 || measure-at*r.unit >= distance) {
			d.rulerNumber(across, at*r.unit, strconv.FormatInt(int64(at), 10), false)
		}
	}
	if measure > 0 {
		mark(measure, 70)
		unit := " " + d.Lengths.System.Small().Symbol
		text := d.Lengths.Piece(measure)
		if !d.levelEdge(across) {
			text = strings.TrimSuffix(text, unit)
		}
		d.rulerNumber(across, measure, text, true)
	}
	d.svg.empty("path", attribute{"d", path.String()}, attribute{"stroke", ink}, attribute{"stroke-width", mm(d.part(5))})
	d.svg.end()
}

// levelEdge tells whether the edge of a ruler is level on the page.
func (d *drawing) levelEdge(across bool) bool { return across == (d.Direction != LengthRight) }

// edge returns the place on the page of a measure along an edge of the cloth with its ends.
// The near edges are the left one and the lower one on the page.
func (d *drawing) edge(across bool, at length.Length, far bool) marker.Point {
	switch {
	case across && far:
		return d.at(marker.Point{X: at, Y: d.long + d.EndLoss})
	case across:
		return d.at(marker.Point{X: at, Y: -d.EndLoss})
	case far == (d.Direction == LengthRight):
		return d.at(marker.Point{Y: at})
	}
	return d.at(marker.Point{X: d.instance.Width, Y: at})
}

// outward returns the direction on the page away from the cloth.
func (d *drawing) outward(across, far bool) marker.Point {
	sign := length.Length(1)
	if far {
		sign = -1
	}
	if d.levelEdge(across) {
		return marker.Point{Y: sign}
	}
	return marker.Point{X: -sign}
}

func (d *drawing) rulerNumber(across bool, at length.Length, text string, exact bool) {
	p := d.edge(across, at, false)
	attributes := []attribute{{"text-anchor", "middle"}}
	x, y := min(p.X, d.width-textWidth(text, d.part(115))/2), p.Y+d.part(165)
	if !d.levelEdge(across) {
		attributes = []attribute{{"text-anchor", "end"}}
		x, y = p.X-d.part(75), p.Y+d.part(35)
	}
	if exact {
		attributes = append(attributes, attribute{"font-weight", "bold"})
	}
	d.words("marker-number", text, x, y, d.letter, attributes...)
}

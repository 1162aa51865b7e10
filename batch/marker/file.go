package marker

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"yardwright/batch/length"
)

// FileUnit is the unit that the lengths of a marker file are numbers of: length.Millimetres
// or length.Inches.
type FileUnit = length.Measure

// ReadInstance reads a marker file and checks it. The file is one JSON object such as
//
//	{"unit": "in", "width": 43, "folded": false, "max_length": 96, "gap": 0, "straight_cuts": false,
//	 "repeat": {"length": 0, "width": 0},
//	 "faults": [{"x": 0, "y": 30, "width": 4, "length": 3}],
//	 "pieces": [{"name": "panel 98", "copies": 2, "width": 19, "length": 11.5, "turns": [0, 180]},
//	            {"name": "pocket", "copies": 2, "outline": [[0,0],[5,0],[5,4],[2.5,5.5],[0,4]],
//	             "turns": [0], "mirror": false, "match": [0,0], "nap_group": 1, "value": 3}]}
//
// Lengths are decimal numbers in the file's unit, read exactly and rounded once to the nearest
// 1/8000 mm. What may be left out: max_length, gap, repeat, faults, straight_cuts, folded (none); of a
// piece name, copies (1), turns (only 0), mirror (no), on_fold (no), match (free of the repeat),
// nap_group (none), value (by area). On folded cloth width is that from the selvages to the fold. A piece has width and length, or an outline, or both if they agree.
//
// The error is an *InputError or InputErrors with the field and the line, unless reading
// itself fails.
func ReadInstance(r io.Reader) (Instance, FileUnit, error) {
	root, err := readTree(r)
	if err != nil {
		return Instance{}, FileUnit{}, err
	}
	f := &fileReader{}
	in := f.instance(root)
	if len(f.errors) > 0 {
		return Instance{}, FileUnit{}, f.errors
	}
	if err := in.Check(); err != nil {
		return Instance{}, FileUnit{}, withLines(err, root)
	}
	return in, f.unit, nil
}

// withLines adds to the errors of Check the lines of the fields that they name.
func withLines(err error, root *fileNode) error {
	var all InputErrors
	if !errors.As(err, &all) {
		return err
	}
	for _, e := range all {
		e.Line = root.lineOf(e.Field)
	}
	return all
}

// lineOf returns the line of a field such as pieces[2].outline[1], or of the innermost part of
// it that stands in the file.
func (n *fileNode) lineOf(field string) int {
	for _, step := range strings.FieldsFunc(field, func(r rune) bool { return r == '.' || r == '[' || r == ']' }) {
		var next *fileNode
		if at, err := strconv.Atoi(step); err == nil && n.array {
			if at < len(n.nodes) {
				next = n.nodes[at]
			}
		} else {
			next = n.member(step)
		}
		if next == nil {
			break
		}
		n = next
	}
	return n.line
}

// fileReader turns nodes into an instance and gathers what is wrong.
type fileReader struct {
	unit   FileUnit
	errors InputErrors
}

func (f *fileReader) add(n *fileNode, field, format string, values ...any) {
	if len(f.errors) < maxErrors {
		f.errors = append(f.errors, &InputError{Field: field, Line: n.line, Message: fmt.Sprintf(format, values...)})
	}
}

// object checks that a node is an object with no other than the named fields.
func (f *fileReader) object(n *fileNode, field string, names ...string) bool {
	if !n.object {
		f.add(n, field, "must be an object, { ... }")
		return false
	}
	for i, name := range n.names {
		if !slices.Contains(names, name) {
			f.add(n.nodes[i], joinField(field, name), "this field is not known; known here are %s", strings.Join(names, ", "))
		}
	}
	return true
}

// list returns the elements of an array; none if it is left out.
func (f *fileReader) list(n *fileNode, field string) []*fileNode {
	if n == nil {
		return nil
	}
	if !n.array {
		f.add(n, field, "must be a list, [ ... ]")
		return nil
	}
	return n.nodes
}

func (f *fileReader) instance(root *fileNode) Instance {
	var in Instance
	if !f.object(root, "", "unit", "width", "folded", "max_length", "gap", "straight_cuts", "repeat", "faults", "pieces") {
		return in
	}
	if !f.readUnit(root) {
		return in
	}
	in.Width = f.length(root, "", "width", true)
	in.Folded = f.yes(root, "", "folded")
	in.MaxLength = f.length(root, "", "max_length", false)
	in.Gap = f.length(root, "", "gap", false)
	in.StraightCuts = f.yes(root, "", "straight_cuts")
	if n := root.member("repeat"); n != nil && f.object(n, "repeat", "length", "width") {
		in.Repeat = Repeat{Width: f.length(n, "repeat", "width", false), Length: f.length(n, "repeat", "length", false)}
	}
	for i, n := range f.list(root.member("faults"), "faults") {
		in.Faults = append(in.Faults, f.fault(n, fmt.Sprintf("faults[%d]", i)))
	}
	for i, n := range f.list(root.member("pieces"), "pieces") {
		in.Pieces = append(in.Pieces, f.piece(n, fmt.Sprintf("pieces[%d]", i)))
	}
	return in
}

func (f *fileReader) readUnit(root *fileNode) bool {
	n := root.member("unit")
	if n == nil {
		f.add(root, "unit", `is missing; write "in" or "mm"`)
		return false
	}
	switch n.scalar {
	case "in":
		f.unit = length.Inches
	case "mm":
		f.unit = length.Millimetres
	default:
		f.add(n, "unit", `must be "in" or "mm"`)
		return false
	}
	return true
}

func (f *fileReader) fault(n *fileNode, field string) Fault {
	if !f.object(n, field, "x", "y", "width", "length") {
		return Fault{}
	}
	return Fault{
		X: f.length(n, field, "x", true), Y: f.length(n, field, "y", true),
		Width: f.length(n, field, "width", true), Length: f.length(n, field, "length", true),
	}
}

func (f *fileReader) piece(n *fileNode, field string) Piece {
	p := Piece{Copies: 1, Turns: []Turn{0}}
	if !f.object(n, field, "name", "copies", "width", "length", "outline", "turns", "mirror", "on_fold", "match", "nap_group", "value") {
		return p
	}
	p.Name = f.text(n, field, "name")
	if n.member("copies") != nil {
		p.Copies = int(f.whole(n, field, "copies", 1, MaxCopies))
	}
	p.Outline = f.outline(n, field)
	p.Width = f.length(n, field, "width", len(p.Outline) == 0)
	p.Length = f.length(n, field, "length", len(p.Outline) == 0)
	for _, q := range p.Outline {
		if n.member("width") == nil {
			p.Width = max(p.Width, q.X)
		}
		if n.member("length") == nil {
			p.Length = max(p.Length, q.Y)
		}
	}
	if turns := n.member("turns"); turns != nil {
		p.Turns = f.turns(turns, field+".turns")
	}
	p.MayMirror = f.yes(n, field, "mirror")
	p.OnFold = f.yes(n, field, "on_fold")
	if match := n.member("match"); match != nil && match.scalar != nil || match != nil && match.array {
		at := f.point(match, field+".match")
		p.Match = &at
	}
	p.NapGroup = int(f.whole(n, field, "nap_group", 0, 1<<31-1))
	p.Value = f.whole(n, field, "value", 0, maxValue)
	return p
}

func (f *fileReader) outline(n *fileNode, field string) []Point {
	outline := n.member("outline")
	if outline == nil {
		return nil
	}
	var points []Point
	for i, q := range f.list(outline, field+".outline") {
		points = append(points, f.point(q, fmt.Sprintf("%s.outline[%d]", field, i)))
	}
	if outline.array && len(points) == 0 {
		f.add(outline, field+".outline", "an outline has at least 3 points; leave it out for a rectangle")
	}
	return points
}

// point reads [across, along].
func (f *fileReader) point(n *fileNode, field string) Point {
	if !n.array || len(n.nodes) != 2 {
		f.add(n, field, "must be a point, [across, along]")
		return Point{}
	}
	return Point{f.lengthOf(n.nodes[0], field+"[0]"), f.lengthOf(n.nodes[1], field+"[1]")}
}

func (f *fileReader) turns(n *fileNode, field string) []Turn {
	turns := []Turn{}
	for i, t := range f.list(n, field) {
		degrees, ok := f.wholeOf(t, fmt.Sprintf("%s[%d]", field, i), 0, 360)
		if !ok {
			return []Turn{0} // said already
		}
		turns = append(turns, Turn(degrees))
	}
	return turns
}

func (f *fileReader) text(n *fileNode, field, name string) string {
	child := n.member(name)
	if child == nil {
		return ""
	}
	text, ok := child.scalar.(string)
	if !ok {
		f.add(child, joinField(field, name), `must be a text, "..."`)
	}
	return text
}

func (f *fileReader) yes(n *fileNode, field, name string) bool {
	child := n.member(name)
	if child == nil {
		return false
	}
	yes, ok := child.scalar.(bool)
	if !ok {
		f.add(child, joinField(field, name), "must be true or false")
	}
	return yes
}

// whole reads a whole number from least to most; 0 if it is left out.
func (f *fileReader) whole(n *fileNode, field, name string, least, most int64) int64 {
	child := n.member(name)
	if child == nil {
		return 0
	}
	value, _ := f.wholeOf(child, joinField(field, name), least, most)
	return value
}

func (f *fileReader) wholeOf(n *fileNode, field string, least, most int64) (int64, bool) {
	number, ok := n.scalar.(json.Number)
	value, err := strconv.ParseInt(string(number), 10, 64)
	if !ok || err != nil || value < least || value > most {
		f.add(n, field, "must be a whole number from %d to %d", least, most)
		return 0, false
	}
	return value, true
}

func (f *fileReader) length(n *fileNode, field, name string, needed bool) length.Length {
	child := n.member(name)
	if child == nil {
		if needed {
			f.add(n, joinField(field, name), "is missing; write a number of %s", f.unit.Symbol)
		}
		return 0
	}
	return f.lengthOf(child, joinField(field, name))
}

// maxNumber is the longest number that is read, in characters.
const maxNumber = 40

// lengthOf reads an exact decimal number of the file's unit.
func (f *fileReader) lengthOf(n *fileNode, field string) length.Length {
	number, ok := n.scalar.(json.Number)
	if !ok {
		f.add(n, field, "must be a number of %s, such as 14.5", f.unit.Symbol)
		return 0
	}
	if len(number) > maxNumber || strings.ContainsAny(string(number), "eE") {
		f.add(n, field, "write the number plainly, such as 14.5, with at most %d digits", maxNumber)
		return 0
	}
	value, ok := new(big.Rat).SetString(string(number))
	if !ok {
		f.add(n, field, "%s is not a number", number)
		return 0
	}
	l, err := length.FromRat(value.Mul(value, new(big.Rat).SetInt64(int64(f.unit.Size))))
	if err != nil {
		f.add(n, field, "%s %s is too long", number, f.unit.Symbol)
		return 0
	}
	return l
}

// fileResult is the answer as it is written; lengths are decimal numbers.
type fileResult struct {
	Unit       string          `json:"unit"`
	Length     json.Number     `json:"length"`
	Bound      json.Number     `json:"bound"`
	GapPercent json.Number     `json:"gap_percent"`
	Efficiency json.Number     `json:"efficiency"`
	Status     Status          `json:"status"`
	Seed       uint64          `json:"seed"`
	Iterations int             `json:"iterations"`
	Seconds    json.Number     `json:"seconds"`
	Value      *int64          `json:"value,omitempty"`
	ValueBound *int64          `json:"value_bound,omitempty"`
	Left       []int           `json:"left,omitempty"`
	Placements []filePlacement `json:"placements"`
	Cuts       []fileCut       `json:"cuts,omitempty"`
}

type filePlacement struct {
	Piece    int         `json:"piece"`
	X        json.Number `json:"x"`
	Y        json.Number `json:"y"`
	Turn     Turn        `json:"turn"`
	Mirrored bool        `json:"mirrored"`
}

type fileCut struct {
	Across bool        `json:"across"`
	X      json.Number `json:"x"`
	Y      json.Number `json:"y"`
	Span   json.Number `json:"span"`
}

// WriteResult writes a result as JSON with its lengths as decimal numbers of the unit, one
// placement or cut a line. gap_percent is that of Result.GapPercent; left, by piece, value and
// value_bound are there only if the longest length leaves copies out, values that are areas in
// squares of 1/8000 mm; cuts only if straight cuts are asked for, in the order in which they can
// be made.
func WriteResult(w io.Writer, in Instance, r Result, unit FileUnit) error {
	number := func(l length.Length) json.Number { return json.Number(l.In(unit)) }
	out := fileResult{
		Unit: unit.Symbol, Length: number(r.Length), Bound: number(r.Bound),
		GapPercent: rounded(r.GapPercent(), 3), Efficiency: rounded(in.Efficiency(r.Marker), 4),
		Status: r.Status, Seed: r.Seed, Iterations: r.Stats.Iterations, Seconds: rounded(r.Stats.Elapsed.Seconds(), 3),
		Left: r.Left, Placements: []filePlacement{},
	}
	if r.Status == StatusPartial {
		out.Value, out.ValueBound = &r.Value, &r.ValueBound
	}
	for _, p := range r.Placements {
		out.Placements = append(out.Placements, filePlacement{p.Piece, number(p.X), number(p.Y), p.Turn, p.Mirrored})
	}
	for _, c := range r.Cuts {
		out.Cuts = append(out.Cuts, fileCut{c.Across, number(c.X), number(c.Y), number(c.Span)})
	}
	text, err := json.Marshal(out)
	if err != nil {
		return err
	}
	_, err = w.Write(onLines(text))
	return err
}

// onLines breaks compact JSON so that every placement and cut has a line of its own.
func onLines(text []byte) []byte {
	for _, list := range []string{`"placements":[`, `"cuts":[`} {
		text = bytes.Replace(text, []byte(`,`+list), []byte(",\n"+list+"\n"), 1)
	}
	text = bytes.ReplaceAll(text, []byte(`},{`), []byte("},\n{"))
	return append(text, '\n')
}

func rounded(value float64, places int) json.Number {
	text := strconv.FormatFloat(value, 'f', places, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return json.Number(text)
}

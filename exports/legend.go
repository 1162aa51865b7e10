package exports

import (
	"fmt"
	"slices"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// sign is a kind of mark that the key below a drawing explains.
type sign int

const (
	signGrain sign = iota
	signTurned
	signFaceDown
	signMatch
	signRepeat
	signFault
	signEndLoss
	signFold
	signCut
)

// signMeanings are the words of the key.
var signMeanings = [...]string{
	signGrain: "grain, to the top of the piece", signTurned: "turned", signFaceDown: "face down",
	signMatch: "match point", signRepeat: "repeat of the print", signFault: "fault", signEndLoss: "end loss",
	signFold: "fold", signCut: "straight cut, in this order",
}

// legendKey is a sign with its meaning at its place on the page.
type legendKey struct {
	sign sign
	x, y length.Length // left end of the sign's middle line
}

// signWidth is how wide a sign of the key is, in hundredths of a letter.
const signWidth = 200

// fillLegend lists the signs that occur and what else is to be said, and ends the page.
func (d *drawing) fillLegend() {
	y := d.legendTop + d.letter
	x := d.letter / 2
	for _, s := range d.signs() {
		width := d.letter*(signWidth+50)/100 + textWidth(signMeanings[s], d.letter)
		if x > d.letter/2 && x+width > d.width-d.letter/2 {
			x, y = d.letter/2, y+d.letter*lineHeight/100
		}
		d.keys = append(d.keys, legendKey{s, x, y})
		x += width + d.letter
	}
	for _, note := range d.noteTexts() {
		d.notes = append(d.notes, wrapToWidth(note, d.letter, d.width-d.letter)...)
	}
	d.height = y + d.letter*length.Length(lineHeight*len(d.notes)+100)/100
}

// signs lists the signs that occur in the drawing.
func (d *drawing) signs() []sign {
	present := map[sign]bool{
		signGrain: len(d.pieces) > 0, signFault: len(d.faults()) > 0, signEndLoss: d.EndLoss > 0,
		signFold: d.Spread == lay.FoldedLengthwise, signCut: d.Cuts && len(d.result.Cuts) > 0,
		signRepeat: d.gridDrawn(d.instance.Repeat.Width) || d.gridDrawn(d.instance.Repeat.Length),
	}
	for _, p := range d.result.Placements {
		present[signTurned] = present[signTurned] || p.Turn != 0
		present[signFaceDown] = present[signFaceDown] || p.Mirrored
		present[signMatch] = present[signMatch] || d.instance.Pieces[p.Piece].Match != nil
	}
	var signs []sign
	for s := signGrain; s <= signCut; s++ {
		if present[s] {
			signs = append(signs, s)
		}
	}
	return signs
}

// gridDrawn tells whether lines of the print's grid at a distance can be told apart.
func (d *drawing) gridDrawn(distance length.Length) bool { return distance >= d.letter/2 }

// foldedNotes say what the places of a marker on folded cloth give.
func foldedNotes(instance marker.Instance, placed []marker.Placement) []string {
	notes := []string{"Folded: each place gives two pieces, the second one mirrored."}
	if slices.ContainsFunc(instance.Pieces, func(p marker.Piece) bool { return p.OnFold }) {
		notes[0] += " A place on the fold gives one piece, twice as wide as drawn: do not cut along the fold there."
	}
	touches := func(p marker.Placement) bool {
		return !instance.Pieces[p.Piece].OnFold && slices.ContainsFunc(instance.Shape(p), func(q marker.Point) bool { return q.X == instance.Width })
	}
	if slices.ContainsFunc(placed, touches) {
		notes = append(notes, "Where any other piece touches the fold, cut the fold open as well.")
	}
	return notes
}

// noteTexts says what the drawing itself has no room for.
func (d *drawing) noteTexts() []string {
	var notes []string
	for i := range d.instance.Pieces {
		if slices.ContainsFunc(d.pieces, func(p drawnPiece) bool { return p.placement.Piece == i && p.label.number }) {
			text := d.labelText(marker.Placement{Piece: i})
			notes = append(notes, fmt.Sprintf("%s: %s, %s", text.number, text.name, text.size))
		}
	}
	repeat := d.instance.Repeat
	for _, fine := range []struct {
		distance length.Length
		way      string
	}{{repeat.Length, "along"}, {repeat.Width, "across"}} {
		if fine.distance > 0 && !d.gridDrawn(fine.distance) {
			notes = append(notes, fmt.Sprintf("The print comes again every %s %s: too fine to draw.", d.Lengths.Piece(fine.distance), fine.way))
		}
	}
	switch d.Spread {
	case lay.FaceToFace:
		notes = append(notes, "Spread face to face: on every second ply the pieces come out mirrored and turned by half.")
	case lay.FoldedLengthwise:
		notes = append(notes, foldedNotes(d.instance, d.result.Placements)...)
	}
	if left := d.leftOut(); left != "" {
		notes = append(notes, left)
	}
	return notes
}

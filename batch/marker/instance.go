package marker

import (
	"yardwright/batch/length"
)

// Turn is a turn of a piece, counter-clockwise, in degrees: 0, 90, 180 or 270.
type Turn int

// Point is a place on a piece or on the cloth; X across, Y along.
type Point struct {
	X, Y length.Length
}

// Piece is one pattern piece with the number of its copies; a type, not a placed copy.
type Piece struct {
	// Name is shown in messages and drawings.
	Name string
	// Copies to lay; at least one.
	Copies int
	// Width across and Length along the cloth at turn 0, of a rectangle. For a shaped
	// piece they are those of its outline's bounding box.
	Width, Length length.Length
	// Outline is the simple polygon of a shaped piece at turn 0, in either direction, with
	// its bounding box's lower left corner at (0, 0). Empty means a rectangle.
	Outline []Point
	// Turns that grain and nap allow; at least one.
	Turns []Turn
	// MayMirror tells whether the piece may be laid face down (left-right mirrored).
	MayMirror bool
	// OnFold marks half of a symmetric piece, that to the left of its centre, on folded cloth: it
	// lies with its right edge (at turn 0) on the fold and gives one whole piece. At a half turn
	// it lies mirrored, so that the same edge comes to the fold; it cannot lie at quarter turns.
	OnFold bool
	// NapGroup joins pieces that must lie the same way up (all turned 0 or 90, or all
	// turned 180 or 270), as the pieces of one garment do on cloth with an up-and-down nap.
	// Zero means no group.
	NapGroup int
	// Match is the point of the piece, at turn 0, that must fall on the repeat's grid;
	// nil if the piece is free of the repeat. It may lie beside the piece, as the point
	// where a side seam meets a hem may.
	Match *Point
	// Value of one copy, for choosing what to lay when the longest length is too short for
	// everything. If no piece has a value, the value of each is its area; otherwise zero
	// means that a copy is worth nothing and is laid only where it costs no other.
	Value int64
}

// Fault is a rectangle of the cloth that no piece may cover any of; pieces may lie against
// it. Beyond the longest length it does not matter.
type Fault struct {
	X, Y, Width, Length length.Length
}

// Repeat is the distance after which the print comes again; zero in a direction means that
// it does not matter there. The grid passes through (0, 0).
type Repeat struct {
	Width, Length length.Length
}

// Instance is one laying problem. Check it with Check before use; Solve does so itself.
type Instance struct {
	// Width is the usable width, selvages already taken off; of folded cloth, from the selvages
	// to the fold.
	Width length.Length
	// Folded is cloth folded along its length, the fold at the right (x = Width): a piece gives
	// two, the second one mirrored, and a piece on the fold gives one.
	Folded bool
	// MaxLength is the longest marker allowed (table or bolt); zero means no limit.
	MaxLength length.Length
	// Gap is the least distance between two pieces, across or along. It is not needed to
	// the edges of the cloth, nor to faults; to the fold half of it is, since the piece lies on
	// the other side too.
	Gap length.Length
	// StraightCuts demands that every cut runs edge to edge.
	StraightCuts bool
	Repeat       Repeat
	Faults       []Fault
	Pieces       []Piece
}

// copies returns how many copies all pieces have together.
func (in Instance) copies() int {
	n := 0
	for i := range in.Pieces {
		n += in.Pieces[i].Copies
	}
	return n
}

// mayLie tells whether a piece may lie at a turn, mirrored or not, as far as mirroring and fold go.
func (p *Piece) mayLie(turn Turn, mirrored bool) bool {
	if p.OnFold {
		return turn == 0 && !mirrored || turn == 180 && mirrored
	}
	return !mirrored || p.MayMirror
}

// Efficiency is the area of the placed pieces over that of the cloth that the marker takes,
// between 0 and 1; zero for an empty marker.
func (in Instance) Efficiency(m Marker) float64 {
	if m.Length <= 0 || in.Width <= 0 {
		return 0
	}
	laid := 0.0
	for _, p := range m.Placements {
		laid += float64(in.Pieces[p.Piece].Area())
	}
	return laid / (float64(in.Width) * float64(m.Length))
}

package page

import "html/template"

// MarkerView is a marker to be looked at closely: its drawings, of which one is shown at a
// time, and the same in words.
type MarkerView struct {
	// ID is the id of the figure on its page.
	ID string
	// Name says which marker it is, such as "Meadow print, lay 1".
	Name     string
	Drawings []MarkerDrawing
	Pieces   []LaidPiece
	For      []ForWhom
	// File is the address of the drawing as a file of its own; empty if there is none.
	File string
}

// MarkerDrawing is one drawing of a marker. Class says on which screens it is shown.
type MarkerDrawing struct {
	Class string
	// Way is how the cloth lies: "right" with its length to the right, "up" away from the
	// reader.
	Way string
	SVG template.HTML
}

// LaidPiece is one piece as it lies in a marker, in words.
type LaidPiece struct {
	// Piece and Copy are those of the drawing, which tie it to these words.
	Piece, Copy int
	Name        string
	Size, Other string
	// Lies says how it is turned, Where its place on the cloth.
	Lies, Where string
	// Garment is the number of its garment in MarkerView.For.
	Garment int
	Of      string
}

// ForWhom says for whom the pieces of one garment in a marker are.
type ForWhom struct {
	Number int
	// Garment is colourway, style and size.
	Garment string
	// Orders lists order, customer and how many; Bundles the bundles that the pieces go into.
	Orders, Bundles string
}

package batch

import (
	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// Marks are what is marked on the table for a lay: the length of its marker, the loss at each
// end, and where the ply ends, which is their sum as they are written.
type Marks struct{ Marker, EndLoss, Ply length.Length }

// MarksOf returns the marks of a lay as a ruler shows them, that of the workshop and that of the
// other system. A marker is marked to the nearest step where the ends leave room for what that
// cuts off, else to the next one.
func MarksOf(l lay.Lay, units length.Style) (own, other Marks) {
	step := units.Step()
	own.EndLoss = ((l.PlyLength - l.Marker.Length) / 2).RoundTo(step, length.Nearest)
	own.Marker = l.Marker.Length.RoundTo(step, length.Nearest)
	if own.Marker+own.EndLoss < l.Marker.Length {
		own.Marker = l.Marker.Length.RoundTo(step, length.Up)
	}
	other.Marker, other.EndLoss = units.InOther(own.Marker), units.InOther(own.EndLoss)
	own.Ply, other.Ply = own.Marker+2*own.EndLoss, other.Marker+2*other.EndLoss
	return own, other
}

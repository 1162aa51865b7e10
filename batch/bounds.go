package batch

import (
	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// Ranges of what a workshop has. They are bounds of our own, wide enough for any sewing room;
// outside of them a number is a slip of the hand or of the unit.
var (
	ClothWidths   = length.Between{Least: length.Centimetre, Most: 10 * length.Metre}
	Selvages      = length.Between{Most: length.Metre}
	Repeats       = length.Between{Most: 10 * length.Metre}
	BoltLengths   = length.Between{Most: 10_000 * length.Metre}
	RollLengths   = length.Between{Least: length.Millimetre, Most: 100_000 * length.Metre}
	TableLengths  = length.Between{Least: 20 * length.Centimetre, Most: 100 * length.Metre}
	EndLosses     = length.Between{Most: lay.MostEndLoss}
	Gaps          = length.Between{Most: 20 * length.Centimetre}
	LengthsToKeep = length.Between{Most: 100 * length.Metre}
	CutTolerances = length.Between{Most: 10 * length.Centimetre}
	RollEnds      = length.Between{Most: length.Metre}
	BuySteps      = length.Between{Least: length.Millimetre, Most: 100 * length.Metre}
)

// LeastRoom is what the losses at the ends of a ply must leave of the table to lay pieces on.
const LeastRoom = 10 * length.Centimetre

// Package roll cuts lengths from rolls: elastic, ties, binding. It opens as few rolls as it
// can, and of those ways it takes one that leaves the longest single leftover.
package roll

import "yardwright/batch/length"

// Stock is a kind of roll on the shelf.
type Stock struct {
	// Name is shown in messages and lists.
	Name   string
	Length length.Length
	// Count of such rolls; zero means as many as wanted (to be bought).
	Count int
}

// Cut is a length needed some number of times.
type Cut struct {
	Name   string
	Length length.Length
	Count  int
}

// Problem asks for every cut from the rolls in stock.
type Problem struct {
	Stock []Stock
	Cuts  []Cut
	// Kerf is the length lost at each cut; zero for scissors.
	Kerf length.Length
}

// Params are the budget of a search.
type Params struct {
	Seed       uint64
	Iterations int
}

// Roll is one opened roll (or several opened alike) and what is cut from it.
type Roll struct {
	// Stock is the index into Problem.Stock.
	Stock int
	// Counts is how many of each cut, by index into Problem.Cuts, come from one such roll.
	Counts []int
	// Times is how many rolls are cut like this.
	Times int
	// Left is what remains of one such roll.
	Left length.Length
}

// Status tells how good a plan is known to be.
type Status string

const (
	// StatusOptimal: no plan opens less.
	StatusOptimal Status = "optimal"
	// StatusWithin: the bound says how far the plan may be from the best.
	StatusWithin Status = "within"
	// StatusShort: the rolls in stock cannot hold every cut; Unmet says what is missing.
	StatusShort Status = "short"
)

// Plan is what Solve returns.
type Plan struct {
	Rolls []Roll
	// Opened is the number of rolls opened, OpenedLength their total length.
	Opened       int
	OpenedLength length.Length
	// Bound is a proven lower bound on the number of rolls opened.
	Bound  int
	Status Status
	// Unmet counts, by cut, what the stock cannot hold; nil if all is met.
	Unmet []int
	Seed  uint64
}

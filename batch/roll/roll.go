// Package roll cuts lengths from rolls: elastic, ties, binding.
//
// The problem. Every cut is to come from one roll of the stock. The objective has three
// parts, the earlier always before the later:
//
//  1. the total length of cuts that cannot be met is least (zero if the stock holds all);
//  2. the total length of the rolls opened is least; for rolls of one length this is the
//     same as the fewest rolls opened;
//  3. the longest single leftover of an opened roll is longest, so that the waste comes
//     together in one end worth keeping.
//
// Invariants. Every cut is in the plan or in Unmet. No roll gives more than its length less End, and no
// stock more rolls than it has. The bounds are proven in integers and never exceed the best
// plan. The same problem, seed and iteration budget give the same plan on every machine.
//
// Not promised: the least length opened, unless Status says StatusOptimal; and the longest
// leftover, unless LeftoverProven says so.
//
// The method: first-fit decreasing and sequential value correction make the first plans;
// column generation on the ways of filling a roll (Gilmore and Gomory 1961) gives the bound,
// made safe in whole numbers (Farley 1990), and dives with limited discrepancies give better
// plans. What is still open is branched on the number of rolls of each length, and small
// choices of rolls are searched to their end.
package roll

import (
	"yardwright/batch/length"
)

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
	// Kerf is the length lost at each cut; zero for scissors. The last piece of a roll
	// needs no cut when it ends where the roll ends.
	Kerf length.Length
	// End is kept back of each roll opened, beyond what is cut: its ends are crooked, and a roll
	// may be shorter than its label says. It counts as left.
	End length.Length
}

// Params are the budget of a search.
type Params struct {
	// Seed of all random choices; the same seed and Iterations give the same plan.
	Seed uint64
	// Iterations is the most steps to take; zero means a fixed default budget. A step is
	// about two million elementary operations or eight small linear relaxations, a few
	// milliseconds.
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
	// StatusOutOfTime: the context ended the search; otherwise as StatusWithin.
	StatusOutOfTime Status = "out_of_time"
	// StatusShort: some cuts are unmet; Unmet says which, ShortProven whether the stock
	// surely cannot hold more.
	StatusShort Status = "short"
)

// Plan is what Solve returns.
type Plan struct {
	// Rolls are ordered by stock, then by what is left.
	Rolls []Roll
	// Opened is the number of rolls opened, OpenedLength their total length.
	Opened       int
	OpenedLength length.Length
	// Bound is a proven lower bound on the number of rolls that hold the cuts met,
	// BoundLength one on the total length of the rolls.
	Bound       int
	BoundLength length.Length
	// LongestLeft is the longest leftover of one roll; LeftoverProven tells that no plan
	// that opens as little leaves a longer one.
	LongestLeft    length.Length
	LeftoverProven bool
	Status         Status
	// Unmet counts, by cut, what the stock cannot hold; nil if all is met.
	Unmet []int
	// ShortProven tells that no plan leaves a smaller total length of cuts unmet.
	ShortProven bool
	Seed        uint64
}

package marker

import (
	"time"

	"yardwright/batch/length"
)

// Placement is one laid copy of a piece.
type Placement struct {
	// Piece is the index into Instance.Pieces.
	Piece    int
	X, Y     length.Length
	Turn     Turn
	Mirrored bool
}

// Marker is the laid cloth: the placements and the length that they reach.
type Marker struct {
	Placements []Placement
	Length     length.Length
	// Cuts is the order of the straight cuts, when the instance asks for them.
	Cuts []Cut
}

// Cut is one straight cut, edge to edge of the part of the cloth being cut. A cut with
// Across runs at Y from X to X+Span; one without runs at X from Y to Y+Span.
//
// The first part is the cloth of the marker, usable width by marker length, already cut off
// the bolt. The cuts stand in an order in which they can be made; after the last one every
// piece is a part of its own, cut along all four edges of its bounding box.
type Cut struct {
	Across bool
	X, Y   length.Length
	Span   length.Length
}

// Status tells how good a result is known to be.
type Status string

const (
	// StatusOptimal: the length equals a proven lower bound.
	StatusOptimal Status = "optimal"
	// StatusWithin: the search used its budget; the gap to the bound says how far it may be off.
	StatusWithin Status = "within"
	// StatusOutOfTime: the context ended the search; otherwise as StatusWithin.
	StatusOutOfTime Status = "out_of_time"
	// StatusPartial: the longest length is too short for everything; Left says what is left.
	StatusPartial Status = "partial"
)

// Params are the budget of a search. The zero value searches until the context ends or the
// bound is met.
type Params struct {
	// Seed of all random choices; the same seed and Iterations give the same result.
	Seed uint64
	// Iterations is the most steps to take; zero or less means no limit. A step lays all pieces
	// once.
	Iterations int
	// QuickBound leaves out the stronger of the bounds, which takes as long as some dozens of
	// steps: for markers of which very many are compared and no proof is wanted.
	QuickBound bool
	// Without names searchers to leave out, for measuring what each of them earns; see Searchers.
	Without []string
	// Progress is called from one goroutine at each improvement; nil is allowed.
	Progress func(Progress)
}

// Progress is a report of an improved marker.
type Progress struct {
	Length, Bound length.Length
	// Left is how many copies are left out, where there is a longest length.
	Left       int
	Iterations int
	Elapsed    time.Duration
}

// Stats tells what a search did.
type Stats struct {
	Iterations int
	Elapsed    time.Duration
	// Engine names the construction that found the marker.
	Engine string
}

// Result is what Solve returns.
type Result struct {
	Marker
	// Bound is a proven lower bound on the length of any marker that holds every copy of the
	// instance, whatever MaxLength says. A Bound above MaxLength proves that not all fit.
	Bound  length.Length
	Status Status
	Stats  Stats
	Seed   uint64
	// Left counts, by piece, the copies that MaxLength leaves out; nil if all are laid.
	Left []int
	// Value is that of the copies laid (see Piece.Value), ValueBound a proven upper bound on
	// the value that MaxLength lets any marker have. Both are zero if all copies are laid.
	Value, ValueBound int64
}

// GapPercent is how far the length may be above the shortest, in percent of the bound; of a
// partial marker, how far its value may be below the greatest, in percent of the greatest.
func (r Result) GapPercent() float64 {
	if r.Status == StatusPartial {
		if r.ValueBound <= 0 {
			return 0
		}
		return 100 * float64(r.ValueBound-r.Value) / float64(r.ValueBound)
	}
	if r.Bound <= 0 {
		return 0
	}
	return 100 * float64(r.Length-r.Bound) / float64(r.Bound)
}

package roll

import (
	"errors"
	"fmt"

	"yardwright/batch/length"
)

// InputError names the part of a Problem that is wrong, in words for the person who can mend it.
type InputError struct {
	// Field is the path in the rolls file, such as "cuts[2].length", or "line 7".
	Field   string
	Message string
}

func (e *InputError) Error() string { return e.Field + ": " + e.Message }

// Place is the field or line that is wrong.
func (e *InputError) Place() string { return e.Field }

// InputFault tells commands and pages that the error is one of the input.
func (e *InputError) InputFault() bool { return true }

// The largest problem taken. They keep every sum inside an int64 and a search inside memory.
const (
	maxLength = 100_000 * length.Metre
	maxKinds  = 2_000
	maxPieces = 200_000
)

// Check returns every fault of the problem, joined; each is an *InputError.
func (p Problem) Check() error {
	var faults []error
	add := func(field, format string, args ...any) {
		faults = append(faults, &InputError{field, fmt.Sprintf(format, args...)})
	}
	if len(p.Stock) == 0 {
		add("stock", "name at least one roll with its length")
	}
	if len(p.Cuts) == 0 {
		add("cuts", "name at least one cut with its length and count")
	}
	if len(p.Stock) > maxKinds || len(p.Cuts) > maxKinds {
		add("cuts", "at most %d kinds of rolls and of cuts can be planned at once; split the work", maxKinds)
	}
	if p.Kerf < 0 || p.Kerf > maxLength {
		add("kerf", "the length lost at each cut must be zero or more")
	}
	if p.End < 0 || p.End > maxLength {
		add("end", "the length kept back of each roll must be zero or more")
	}
	for i, s := range p.Stock {
		if s.Length <= 0 || s.Length > maxLength {
			add(fmt.Sprintf("stock[%d].length", i), "a roll must be longer than zero and at most 100 km")
		}
		if s.Count < 0 || s.Count > maxPieces {
			add(fmt.Sprintf("stock[%d].count", i), "give a count from 1 to %d, or 0 for as many as wanted", maxPieces)
		}
	}
	pieces := 0
	for i, c := range p.Cuts {
		if c.Length <= 0 || c.Length > maxLength {
			add(fmt.Sprintf("cuts[%d].length", i), "a cut must be longer than zero and at most 100 km")
		}
		if c.Count < 0 || c.Count > maxPieces {
			add(fmt.Sprintf("cuts[%d].count", i), "give a count from 0 to %d", maxPieces)
			continue
		}
		pieces += c.Count
	}
	if pieces > maxPieces {
		add("cuts", "%d pieces are too many for one plan; the most is %d", pieces, maxPieces)
	}
	return errors.Join(faults...)
}

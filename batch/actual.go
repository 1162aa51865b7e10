package batch

import (
	"slices"
	"time"

	"yardwright/batch/length"
)

// Taken is what all garments of one kind in a planned batch take of one cloth.
type Taken struct {
	// Garment is the index into Plan.Garments.
	Garment int
	// Marker is their share of the lays' markers, Losses their share of the ends of the plies
	// and of bolt ends too short to keep, both by the area of the pieces, to the last unit.
	Marker, Losses length.Length
	// Cutting is their share of the minutes of the lays, by the cloth they take.
	Cutting time.Duration
}

// TakenOf shares the cloth of a planned cloth out to its garments, lay by lay. What buying in
// whole steps leaves over stays on the shelf and is no one's. The lengths sum to what is cut
// from bolts, with ends that are not kept, and what must be bought.
func TakenOf(planned ClothPlan) ([]Taken, error) {
	areas, err := areasOf(planned)
	if err != nil {
		return nil, err
	}
	markers := make([]length.Length, len(areas))
	losses := make([]length.Length, len(areas))
	cutting := make([]length.Length, len(areas))
	all := make([]length.Area, len(areas))
	var plies length.Length
	for _, l := range planned.Plan.Lays {
		weights := make([]length.Area, len(areas))
		for i, count := range l.PerPly {
			if weights[i], err = areas[i].TimesCount(count * l.Plies); err != nil {
				return nil, err
			}
			if all[i], err = all[i].Plus(weights[i]); err != nil {
				return nil, err
			}
		}
		marker, whole := l.Marker.Length*length.Length(l.Plies), l.PlyLength*length.Length(l.Plies)
		plies += whole
		for _, part := range []struct {
			into  []length.Length
			total length.Length
		}{{markers, marker}, {losses, whole - marker}, {cutting, length.Length(l.SetUp + l.Spread + l.Cut)}} {
			if err := shareInto(part.into, part.total, weights); err != nil {
				return nil, err
			}
		}
	}
	if err := shareInto(losses, max(0, ClothTaken(planned)-plies), all); err != nil {
		return nil, err
	}
	var taken []Taken
	for i, g := range planned.Garments {
		at := slices.IndexFunc(taken, func(t Taken) bool { return t.Garment == g })
		if at < 0 {
			at = len(taken)
			taken = append(taken, Taken{Garment: g})
		}
		taken[at].Marker += markers[i]
		taken[at].Losses += losses[i]
		taken[at].Cutting += time.Duration(cutting[i])
	}
	return taken, nil
}

// ClothTaken is all cloth that a plan of one cloth takes: cut from bolts, bolt ends that are
// too short to keep, and what must be bought.
func ClothTaken(planned ClothPlan) length.Length {
	taken := FromShelf(planned)
	for _, p := range planned.Plan.Purchases {
		taken += p.Need
	}
	return taken
}

// FromShelf is the part of ClothTaken that comes from bolts on the shelf.
func FromShelf(planned ClothPlan) length.Length {
	var taken length.Length
	for _, use := range planned.Plan.Uses {
		taken += use.Used
		if !use.Keep {
			taken += use.Left
		}
	}
	return taken
}

package batch

import (
	"fmt"
	"slices"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// Taken is what all garments of one kind in a planned batch take of one cloth.
type Taken struct {
	// Garment is the index into Plan.Garments.
	Garment int
	// Marker is their share of the markers of the lays that they lie in, Losses their share of the
	// ends of those plies and of what else is lost of the bolts that they are cut from.
	Marker, Losses length.Length
	// SetUp and Cutting are their share of the minutes of those lays.
	SetUp, Cutting time.Duration
	// Cost is their share of what each of those bolts counts for, and of what is bought.
	Cost lay.Money
}

// TakenOf shares a planned cloth out to its garments. What a lay takes is shared among the garments
// in that lay, by the area of their pieces; what is lost of a bolt besides, and what the bolt costs,
// among those that are cut from it; all to the last unit. What buying in whole steps leaves over
// stays on the shelf: its length is no one's. The lengths sum to ClothTaken, the costs to what the
// cloth costs in the plan.
func TakenOf(planned ClothPlan) ([]Taken, error) {
	s, err := newSharing(planned)
	if err != nil {
		return nil, err
	}
	for i := range planned.Plan.Lays {
		if err := s.lay(&planned.Plan.Lays[i]); err != nil {
			return nil, err
		}
	}
	for _, from := range s.sources {
		if err := s.rest(from); err != nil {
			return nil, err
		}
	}
	return s.byGarment(planned.Garments), nil
}

// sharing shares a planned cloth among the garments of its problem; its lists are by garment.
type sharing struct {
	// areas of the pieces of one garment.
	areas                                []length.Area
	marker, losses, setUp, cutting, cost []length.Length
	sources                              []*source
}

// source is a bolt, or what is bought, with what a plan takes of it.
type source struct {
	bolt   int
	length length.Length
	cost   lay.Money
	// plies, by garment, is what its plies take, and areas the area of the pieces cut from it.
	plies []length.Length
	areas []length.Area
}

// toBuy stands for the index of a bolt where cloth is to be bought, as in lay.Draw.
const toBuy = -1

func newSharing(planned ClothPlan) (*sharing, error) {
	areas, err := areasOf(planned)
	if err != nil {
		return nil, err
	}
	none := func() []length.Length { return make([]length.Length, len(areas)) }
	s := &sharing{areas: areas, marker: none(), losses: none(), setUp: none(), cutting: none(), cost: none()}
	add := func(bolt int, taken length.Length, cost lay.Money) {
		s.sources = append(s.sources, &source{bolt: bolt, length: taken, cost: cost, plies: none(), areas: make([]length.Area, len(areas))})
	}
	rest := planned.Plan.ClothCost
	for _, use := range planned.Plan.Uses {
		add(use.Bolt, TakenFrom(use), use.Cost)
		rest -= use.Cost
	}
	if need := ClothTaken(planned) - FromShelf(planned); need > 0 {
		add(toBuy, need, rest)
	}
	return s, nil
}

// lay shares what one lay takes.
func (s *sharing) lay(l *lay.Lay) error {
	weights, err := times(s.areas, l.PerPly)
	if err != nil {
		return err
	}
	for _, draw := range l.Draws {
		at := slices.IndexFunc(s.sources, func(from *source) bool { return from.bolt == draw.Bolt })
		if at < 0 {
			return fmt.Errorf("a lay is cut from bolt %d, of which the plan takes nothing", draw.Bolt)
		}
		from, plies := s.sources[at], length.Length(draw.Plies)
		if err := shareInto(l.Marker.Length*plies, weights, s.marker, from.plies); err != nil {
			return err
		}
		if err := shareInto((l.PlyLength-l.Marker.Length)*plies, weights, s.losses, from.plies); err != nil {
			return err
		}
		for g, weight := range weights {
			cut, err := weight.TimesCount(draw.Plies)
			if err != nil {
				return err
			}
			if from.areas[g], err = from.areas[g].Plus(cut); err != nil {
				return err
			}
		}
	}
	if err := shareInto(length.Length(l.SetUp), weights, s.setUp); err != nil {
		return err
	}
	return shareInto(length.Length(l.Spread+l.Cut), weights, s.cutting)
}

// rest shares what is lost of a bolt besides its plies, and what the bolt costs.
func (s *sharing) rest(from *source) error {
	lost := from.length
	for _, plies := range from.plies {
		lost -= plies
	}
	if err := shareInto(max(0, lost), from.areas, s.losses, from.plies); err != nil {
		return err
	}
	weights := make([]length.Area, len(from.plies))
	for g, own := range from.plies {
		weights[g] = length.Area(own)
	}
	return shareInto(length.Length(from.cost), weights, s.cost)
}

// byGarment joins the parts of each garment of a batch, given what garment of the batch each of the
// problem belongs to.
func (s *sharing) byGarment(of []int) []Taken {
	var taken []Taken
	for i, g := range of {
		at := slices.IndexFunc(taken, func(t Taken) bool { return t.Garment == g })
		if at < 0 {
			at = len(taken)
			taken = append(taken, Taken{Garment: g})
		}
		t := &taken[at]
		t.Marker += s.marker[i]
		t.Losses += s.losses[i]
		t.SetUp += time.Duration(s.setUp[i])
		t.Cutting += time.Duration(s.cutting[i])
		t.Cost += lay.Money(s.cost[i])
	}
	return taken
}

// LayShare is the part of a lay that the garments of one kind in it bear.
type LayShare struct {
	// Garment is the index into Plan.Garments, Garments how many of them the lay gives.
	Garment, Garments int
	// Share is by the area of their pieces, 0 to 1.
	Share float64
}

// SharesOfLay says how what a lay takes is shared among the garments in it.
func SharesOfLay(planned ClothPlan, l lay.Lay) ([]LayShare, error) {
	areas, err := areasOf(planned)
	if err != nil {
		return nil, err
	}
	if areas, err = times(areas, l.PerPly); err != nil {
		return nil, err
	}
	var shares []LayShare
	var all float64
	for i, count := range l.PerPly {
		if count > 0 {
			shares = append(shares, LayShare{planned.Garments[i], count * l.Plies, areas[i].SquareMetres()})
			all += areas[i].SquareMetres()
		}
	}
	for i := range shares {
		shares[i].Share /= all
	}
	return shares, nil
}

func times(areas []length.Area, counts []int) ([]length.Area, error) {
	all := make([]length.Area, len(areas))
	for i, count := range counts {
		var err error
		if all[i], err = areas[i].TimesCount(count); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// shareInto shares a total out by weight and adds the parts to each of the lists.
func shareInto(total length.Length, weights []length.Area, lists ...[]length.Length) error {
	parts, err := length.Share(total, weights)
	if err != nil {
		return err
	}
	for _, list := range lists {
		for i, part := range parts {
			list[i] += part
		}
	}
	return nil
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
		taken += TakenFrom(use)
	}
	return taken
}

// TakenFrom is what a plan takes of a bolt: what it uses, and the end that is too short to keep.
func TakenFrom(use lay.BoltUse) length.Length {
	if use.Keep {
		return use.Used
	}
	return use.Used + use.Left
}

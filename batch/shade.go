package batch

import (
	"slices"
	"strings"

	"yardwright/batch/lay"
)

// Lot is a shade lot of cloth: what was dyed together. Cloth to buy has a lot of its own, which
// is only known once it is bought; bolts whose lot was not noted count as one.
type Lot struct {
	Name   string
	Bought bool
}

// Words says which lot it is.
func (l Lot) Words() string {
	switch {
	case l.Bought && l.Name == "":
		return "lot of the cloth to buy"
	case l.Name == "":
		return "lot not noted"
	}
	return "lot " + l.Name
}

// LotsApart is what to do where the plies of a lay come from several shade lots. Common practice,
// no source.
const LotsApart = "Plies from several shade lots: lay a sheet of paper between the lots, and keep their pieces apart. No garment mixes them."

// LotOf is the shade lot that a draw comes from.
func (c ClothPlan) LotOf(draw lay.Draw) Lot {
	if draw.Bolt < 0 || draw.Bolt >= len(c.Bolts) {
		return Lot{Bought: true}
	}
	return Lot{Name: strings.TrimSpace(c.Bolts[draw.Bolt].Lot)}
}

// LotsOf lists the shade lots that the plies of a lay come from, each once.
func (c ClothPlan) LotsOf(l lay.Lay) []Lot {
	var lots []Lot
	for _, draw := range l.Draws {
		if lot := c.LotOf(draw); !slices.Contains(lots, lot) {
			lots = append(lots, lot)
		}
	}
	return lots
}

// LotWords says which shade lot a bundle is of, as words has it: by cloth where its pieces come out
// of several.
func (b Bundle) LotWords(plan Plan, words func(Lot) string) string {
	var said []string
	for c, planned := range plan.Cloths {
		for _, lot := range b.LotsIn(c) {
			said = append(said, planned.Cloth.Name+": "+words(lot))
		}
	}
	return strings.Join(said, "; ")
}

// lotSource is how many of a garment, or of a part of it, the plies of one lot of a lay give.
type lotSource struct {
	lay  int
	lot  Lot
	left int
}

// supply is what the lays of one cloth give of a garment: whole ones, and for those that are cut
// in parts the sources of each part.
type supply struct {
	cloth  int
	whole  []lotSource
	parts  [][]lotSource
	called []string // the pieces of each part
}

// supplyOf collects where the pieces of a garment come from in one cloth.
func supplyOf(c int, planned ClothPlan, garment int) (supply, bool) {
	whole := slices.Index(planned.Garments, garment)
	if whole < 0 {
		return supply{}, false
	}
	from := supply{cloth: c, whole: sourcesOf(planned, whole)}
	for at, part := range planned.Parts {
		if part.Of == whole && at != whole {
			var names []string
			for _, piece := range planned.Problem.Garments[at].Pieces {
				names = append(names, piece.Name)
			}
			from.parts, from.called = append(from.parts, sourcesOf(planned, at)), append(from.called, strings.Join(names, ", "))
		}
	}
	return from, true
}

func sourcesOf(planned ClothPlan, at int) []lotSource {
	var sources []lotSource
	for number, l := range planned.Plan.Lays {
		for _, draw := range l.Draws {
			count, lot := l.PerPly[at]*draw.Plies, planned.LotOf(draw)
			last := len(sources) - 1
			switch {
			case count == 0:
			case last >= 0 && sources[last].lay == number && sources[last].lot == lot:
				sources[last].left += count
			default:
				sources = append(sources, lotSource{number, lot, count})
			}
		}
	}
	return sources
}

func leftOf(sources []lotSource, lot Lot) (count int) {
	for _, s := range sources {
		if s.lot == lot {
			count += s.left
		}
	}
	return count
}

// next is the lot that still gives most garments, and how many.
func (s *supply) next() (lot Lot, most int) {
	for _, sources := range append([][]lotSource{s.whole}, s.parts...) {
		for _, one := range sources {
			count := leftOf(s.whole, one.lot)
			if len(s.parts) > 0 {
				inParts := leftOf(s.parts[0], one.lot)
				for _, part := range s.parts[1:] {
					inParts = min(inParts, leftOf(part, one.lot))
				}
				count += inParts
			}
			if count > most {
				lot, most = one.lot, count
			}
		}
	}
	return lot, most
}

// take adds so many garments of one lot to a bundle: whole ones first.
func (s *supply) take(b *Bundle, lot Lot, need int) {
	need = takeFrom(b, s.cloth, s.whole, lot, need, "")
	for i, part := range s.parts {
		takeFrom(b, s.cloth, part, lot, need, s.called[i])
	}
}

// takeFrom takes from the sources of one lot, and returns how many are still needed.
func takeFrom(b *Bundle, cloth int, sources []lotSource, lot Lot, need int, part string) int {
	for i := range sources {
		s := &sources[i]
		if from := min(need, s.left); from > 0 && s.lot == lot {
			s.left -= from
			need -= from
			b.Lays = append(b.Lays, BundleLay{Cloth: cloth, Lay: s.lay, Garments: from, Part: part, Lot: lot})
		}
	}
	return need
}

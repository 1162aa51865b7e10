package lay

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"yardwright/batch/internal/jsonfile"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// InputError names the part of a problem that is wrong, in words for the person who can mend it. Its field is a
// path such as "garments[2].pieces[0].width".
type InputError = jsonfile.Fault

// The largest problem taken. Together they keep every sum of length, time and money inside an
// int64.
const (
	maxGarments = 50_000
	maxKinds    = 2_000
	maxBolts    = 2_000
	maxPlies    = 1_000
	maxPiece    = 100 * length.Metre
	maxCloth    = marker.MaxClothLength
	maxPrice    = Money(10_000_000_000)
	maxTime     = 24 * time.Hour
	// maxInARow is the most length of all pieces laid one behind the other, and half the most
	// length of their edges.
	maxInARow = 500_000 * length.Metre
	// maxWork is the longest that all cutting may take: about 70 years.
	maxWork = time.Duration(1 << 61)
)

// MostEndLoss is more than anybody loses at one end of a ply.
const MostEndLoss = length.Metre

// RoomOnTable is how long a marker on a table can be, when so much is lost at each end of a
// ply; nothing or less if the ends take the whole table.
func RoomOnTable(table, endLoss length.Length) length.Length { return table - 2*endLoss }

// anyUnits write limits that hold for everybody: inches and yards first.
var anyUnits Rules

type checker struct{ faults []error }

func (c *checker) add(field, format string, args ...any) {
	c.faults = append(c.faults, &InputError{Field: field, Message: fmt.Sprintf(format, args...)})
}

func (c *checker) lengthIn(field string, l, least, most length.Length) {
	if l < least || l > most {
		c.add(field, "must be from %s to %s", anyUnits.pieceBoth(least, length.Up), anyUnits.clothBoth(most, length.Down))
	}
}

// Check returns every fault of the problem, joined; each is an *InputError. A garment that
// cannot be cut from this cloth is no fault; the plan says so.
func (p Problem) Check() error {
	c := &checker{}
	if len(p.Garments) > maxKinds {
		c.add("garments", "at most %d kinds of garments can be planned at once; split the batch", maxKinds)
		return errors.Join(c.faults...)
	}
	if len(p.Bolts) > maxBolts {
		c.add("bolts", "at most %d bolts can be planned at once", maxBolts)
		return errors.Join(c.faults...)
	}
	total := 0
	for i, g := range p.Garments {
		c.garment(fmt.Sprintf("garments[%d]", i), g)
		total += max(0, min(g.Quantity, maxGarments+1))
	}
	if total > maxGarments {
		c.add("garments", "%d garments are too many for one plan; the most is %d", total, maxGarments)
	}
	for i, b := range p.Bolts {
		c.bolt(fmt.Sprintf("bolts[%d]", i), b)
	}
	c.rules(p.Rules)
	c.rates(p.Rates)
	if len(c.faults) == 0 {
		c.whole(p, total)
	}
	return errors.Join(c.faults...)
}

// whole checks the length and the work of all garments together.
func (c *checker) whole(p Problem, garments int) {
	inARow, ok := p.inARow()
	if !ok {
		c.add("garments", "the pieces are too long together for one plan; split the batch")
		return
	}
	metres := float64(inARow+2*p.Rules.EndLoss*length.Length(garments)) / float64(length.Metre)
	perMetre := float64(p.Rates.SpreadPerMetre) + 2*float64(p.Rates.CutPerMetre)
	if work := metres*perMetre + float64(p.Rates.SetUp)*float64(garments); work > float64(maxWork) {
		c.add("per_metre", "with so much cloth the work takes years; give shorter times, or split the batch")
	}
}

// inARow returns the length of all pieces laid one behind the other, or half that of their
// edges if that is more; false if it is beyond maxInARow.
func (p Problem) inARow() (length.Length, bool) {
	total := length.Length(0)
	for _, g := range p.Garments {
		for _, piece := range g.Pieces {
			copies := length.Length(piece.Copies * g.Quantity)
			each := max(piece.Width, piece.Length, piece.edge()/2)
			if copies > 0 && each > maxInARow/copies {
				return 0, false
			}
			total += each * copies
			if total > maxInARow {
				return 0, false
			}
		}
	}
	return total, true
}

func (c *checker) garment(field string, g Garment) {
	if g.Quantity < 0 || g.Quantity > maxGarments {
		c.add(field+".quantity", "give a quantity from 0 to %d", maxGarments)
	}
	if len(g.Pieces) == 0 {
		c.add(field+".pieces", "%s takes no piece from this cloth; leave it out", g.Name)
		return
	}
	probe := marker.Instance{Width: marker.MaxClothWidth}
	for _, p := range g.Pieces {
		probe.Pieces = append(probe.Pieces, p.laid(p.Copies))
	}
	var faults marker.InputErrors
	if errors.As(probe.Check(), &faults) {
		for _, f := range faults {
			c.add(field+"."+f.Field, "%s", f.Message)
		}
		return
	}
	for i, p := range g.Pieces {
		if p.Width > maxPiece || p.Length > maxPiece || p.Copies > 1000 {
			c.add(fmt.Sprintf("%s.pieces[%d]", field, i), "at most 1000 copies and 100 m are possible")
		}
	}
}

// laid returns the piece as the marker takes it, with so many copies.
func (p Piece) laid(copies int) marker.Piece {
	return marker.Piece{
		Name: p.Name, Copies: copies, Width: p.Width, Length: p.Length, Outline: p.Outline,
		Turns: p.Turns, MayMirror: p.MayMirror, Match: p.Match,
	}
}

func (c *checker) bolt(field string, b Bolt) {
	c.lengthIn(field+".width", b.Width, 1, marker.MaxClothWidth)
	c.lengthIn(field+".length", b.Length, 0, maxCloth)
	c.price(field+".price", b.PricePerMetre)
	for i, f := range b.Faults {
		if f.X < 0 || f.Y < 0 || f.Width <= 0 || f.Length <= 0 || f.X > marker.MaxClothWidth || f.Y > maxCloth || f.Width > marker.MaxClothWidth || f.Length > maxCloth {
			c.add(fmt.Sprintf("%s.faults[%d]", field, i), "a fault lies on the bolt and is longer and wider than zero")
		}
	}
}

func (c *checker) rules(r Rules) {
	c.lengthIn("table_length", r.TableLength, 0, maxCloth)
	if r.MaxPlies < 1 || r.MaxPlies > maxPlies {
		c.add("max_plies", "give the most plies, from 1 to %d", maxPlies)
	}
	if r.Spread != FaceOneWay && r.Spread != FaceToFace && r.Spread != FoldedLengthwise {
		c.add("spread", "must be %q, %q or %q", FaceOneWay, FaceToFace, FoldedLengthwise)
	}
	c.lengthIn("end_loss", r.EndLoss, 0, MostEndLoss)
	if r.TableLength > 0 && RoomOnTable(r.TableLength, r.EndLoss) <= 0 {
		c.add("table_length", "the table is no longer than what is lost at the two ends of a ply")
	}
	c.lengthIn("gap", r.Gap, 0, length.Metre)
	c.lengthIn("repeat.width", r.Repeat.Width, 0, marker.MaxClothWidth)
	c.lengthIn("repeat.length", r.Repeat.Length, 0, maxCloth)
	c.lengthIn("keep_length", r.KeepLength, 0, maxCloth)
	if r.OverCut < 0 || r.OverCut > maxGarments {
		c.add("over_cut", "must be from 0 to %d", maxGarments)
	}
	c.lengthIn("buy_width", r.BuyWidth, 0, marker.MaxClothWidth)
	c.lengthIn("buy_step", r.BuyStep, 0, maxCloth)
	c.price("buy_price", r.BuyPricePerMetre)
	c.percent("remnant_worth", r.RemnantWorth)
	c.percent("buy_tolerance", r.BuyTolerance)
}

func (c *checker) percent(field string, hundredths int) {
	if hundredths < 0 || hundredths > 10_000 {
		c.add(field, "must be from 0 to 100 percent")
	}
}

func (c *checker) rates(r Rates) {
	for _, one := range []struct {
		field string
		time  time.Duration
	}{{"set_up", r.SetUp}, {"spread_per_metre", r.SpreadPerMetre}, {"cut_per_metre", r.CutPerMetre}} {
		if one.time < 0 || one.time > maxTime {
			c.add(one.field, "must be from zero to a day")
		}
	}
	c.price("per_hour", r.PerHour)
}

func (c *checker) price(field string, m Money) {
	if m < 0 || m > maxPrice {
		c.add(field, "must be from 0 to %d", maxPrice/1_000_000)
	}
}

// pieceBoth writes a size of a piece or of a width in both systems, such as "20½ in (52.1 cm)",
// rounded as said: a need up and what there is down, so that the two never look alike when
// they are not.
func (r *Rules) pieceBoth(l length.Length, mode length.Rounding) string {
	other := length.Style{System: r.Units.System.Other(), Fraction: r.Units.Fraction}
	return r.Units.PieceRounded(l, mode) + " (" + other.PieceRounded(l, mode) + ")"
}

// clothBoth writes a length of cloth in both systems, such as "2½ yd (2.29 m)".
func (r *Rules) clothBoth(l length.Length, mode length.Rounding) string {
	return r.Units.ClothBoth(l, mode)
}

func listed(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

package lay

import (
	"context"
	"errors"
	"fmt"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// fitting lays a garment by itself to find out which classes it can be cut from at all; if
// none, why not.
func (l *layer) fitting(ctx context.Context, g, iterations int) (classes []int, why *Uncut, err error) {
	ratio := l.one(g)
	shortest := length.Length(-1)
	widest := -1
	for c := range l.classes {
		if l.tooWide(g, c) != nil {
			continue
		}
		if widest < 0 {
			widest = c
		}
		ply, err := l.lay(ctx, c, ratio, iterations)
		if err != nil {
			return nil, nil, err
		}
		if ply.fits && l.hasLot(g, c, ply.plyLength) {
			classes = append(classes, c)
		} else if shortest < 0 || ply.plyLength < shortest {
			shortest, widest = ply.plyLength, c
		}
	}
	switch {
	case len(classes) > 0:
		return classes, nil, nil
	case len(l.classes) == 0:
		return nil, l.noCloth(g), nil
	case widest < 0:
		return nil, l.tooWide(g, 0), nil
	}
	return nil, l.tooLong(g, widest, shortest), nil
}

// hasLot tells whether the shade lot that a garment is bound to has a stretch long enough.
func (l *layer) hasLot(g, c int, long length.Length) bool {
	lot := l.problem.Garments[g].FromLot
	if lot == nil {
		return true
	}
	for b := range l.problem.Bolts {
		bolt := &l.problem.Bolts[b]
		if bolt.Lot == *lot && bolt.Width >= l.classes[c].width && bolt.longestStretch() >= long {
			return true
		}
	}
	return false
}

// tooWide tells why a garment has no place across a class; nil if it has.
func (l *layer) tooWide(g, c int) *Uncut {
	garment := l.problem.Garments[g]
	width := l.classes[c].width
	for i := range garment.Pieces {
		p := &garment.Pieces[i]
		if least := p.leastWidth(); least > width {
			return &Uncut{
				Garment: g, Quantity: garment.Quantity, Piece: i,
				Reason: fmt.Sprintf("%s is wider than the cloth: it needs %s across, and %s has %s of usable width at most",
					p.Name, l.problem.Rules.pieceBoth(least, length.Up), l.problem.Cloth, l.problem.Rules.pieceBoth(width, length.Down)),
				Remedy: l.widthRemedy(p, least, width),
			}
		}
	}
	return l.noPlace(g, c)
}

// noPlace tells why print or nap leave a garment without a place on a class; nil if they do not.
func (l *layer) noPlace(g, c int) *Uncut {
	ply := l.ply(c, l.one(g))
	var fault *marker.InputError
	if !errors.As(ply.instance.Check(), &fault) {
		return nil
	}
	u := &Uncut{
		Garment: g, Quantity: l.problem.Garments[g].Quantity, Piece: -1,
		Reason: fmt.Sprintf("it cannot lie on %s: %s", l.problem.Cloth, fault.Message),
		Remedy: "Use a wider cloth, free the piece from matching the print, or allow it more turns if the nap permits.",
	}
	var at int
	if _, err := fmt.Sscanf(fault.Field, "pieces[%d]", &at); err == nil && at < len(ply.owners) {
		u.Piece = ply.owners[at].Piece
		u.Reason = fmt.Sprintf("%s cannot lie on %s: %s", l.problem.Garments[g].Pieces[u.Piece].Name, l.problem.Cloth, fault.Message)
	}
	return u
}

func (l *layer) widthRemedy(p *Piece, least, width length.Length) string {
	remedy := fmt.Sprintf("Use a cloth with at least %s of usable width, ", l.problem.Rules.pieceBoth(least, length.Up))
	if min(p.Width, p.Length) <= width {
		remedy += "turn the piece a quarter if its grain and the print allow it, "
	}
	return remedy + "or cut the piece in narrower parts and seam them."
}

func (l *layer) noCloth(g int) *Uncut {
	return &Uncut{
		Garment: g, Quantity: l.problem.Garments[g].Quantity, Piece: -1,
		Reason: fmt.Sprintf("there is no %s on the shelf, and it is not to be bought", l.problem.Cloth),
		Remedy: fmt.Sprintf("Put a bolt of %s on the shelf, or allow it to be bought.", l.problem.Cloth),
	}
}

// tooLong tells why a garment that lies across a class is too long for it.
func (l *layer) tooLong(g, c int, need length.Length) *Uncut {
	p, rules := l.problem, &l.problem.Rules
	u := &Uncut{Garment: g, Quantity: p.Garments[g].Quantity, Piece: l.tooLongPiece(g, c)}
	what := "one " + p.Garments[g].Name
	if u.Piece >= 0 {
		what = p.Garments[g].Pieces[u.Piece].Name
		need = l.shortestPly(g, u.Piece, c)
	}
	needs := l.problem.Rules.pieceBoth(need, length.Up)
	if rules.TableLength > 0 && need > rules.TableLength {
		u.Reason = fmt.Sprintf("the table is too short: %s in %s takes %s with the ends, and the table has %s",
			what, p.Cloth, needs, l.problem.Rules.pieceBoth(rules.TableLength, length.Down))
		u.Remedy = fmt.Sprintf("Use a table of at least %s, or a wider cloth.", needs)
		return u
	}
	longest, faulty := length.Length(0), false
	for b := range p.Bolts {
		if p.Bolts[b].Width >= l.classes[c].width {
			longest = max(longest, p.Bolts[b].longestStretch())
			faulty = faulty || p.Bolts[b].Length >= need
		}
	}
	u.Reason = fmt.Sprintf("no bolt of %s is long enough: %s takes %s in one length with the ends, and the longest has %s",
		p.Cloth, what, needs, l.problem.Rules.pieceBoth(longest, length.Down))
	without := ""
	if faulty {
		u.Reason += " between faults"
		without = " without a fault"
	}
	u.Remedy = fmt.Sprintf("Put a bolt of at least %s of %s%s on the shelf, or allow it to be bought.", l.problem.Rules.clothBoth(need, length.Up), p.Cloth, without)
	return u
}

// tooLongPiece returns a piece that is too long by itself, or -1.
func (l *layer) tooLongPiece(g, c int) int {
	for i := range l.problem.Garments[g].Pieces {
		if l.shortestPly(g, i, c)-2*l.problem.Rules.EndLoss > l.classes[c].longest {
			return i
		}
	}
	return -1
}

// shortestPly returns the ply that one copy of a piece needs by itself.
func (l *layer) shortestPly(g, i, c int) length.Length {
	p := &l.problem.Garments[g].Pieces[i]
	least := length.Length(-1)
	for _, t := range p.Turns {
		across, along := p.Width, p.Length
		if t%180 == 90 {
			across, along = along, across
		}
		if across <= l.classes[c].width && (least < 0 || along < least) {
			least = along
		}
	}
	return least + 2*l.problem.Rules.EndLoss
}

// shortage tells of garments for which the bolts did not suffice.
func (l *layer) shortage(g, quantity int) Uncut {
	p := l.problem
	few := make([]int, len(p.Garments))
	few[g] = quantity
	return Uncut{
		Garment: g, Quantity: quantity, Piece: -1,
		Reason: fmt.Sprintf("the bolts of %s do not suffice for %d of %d", p.Cloth, quantity, p.Garments[g].Quantity),
		Remedy: fmt.Sprintf("Put more %s on the shelf, at least %s, or allow it to be bought.", p.Cloth, l.problem.Rules.clothBoth(l.boundsOf(few).length, length.Up)),
	}
}

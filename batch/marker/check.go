package marker

import (
	"fmt"
	"math"
	"slices"

	"yardwright/batch/length"
)

// The largest instance that Check accepts. Within these limits all sums and products that laying
// needs stay inside their integers.
const (
	MaxPieces        = 20_000
	MaxCopies        = 100_000
	MaxOutlinePoints = 1_000
	MaxFaults        = 1_000
	MaxClothWidth    = 20 * length.Metre
	MaxClothLength   = 10_000 * length.Metre
	MaxPieceLength   = 1_000 * length.Metre
	maxValue         = math.MaxInt64 / 4
	maxErrors        = 20
)

// Check tells what is wrong with an instance: nil, or InputErrors with the first 20 wrong
// fields in the order of the marker file. It refuses a piece that no allowed turn lets lie
// on the cloth at all; a piece longer than the longest length is not refused, as it can be
// left out.
func (in Instance) Check() error {
	c := checker{in: in}
	c.cloth()
	c.clothGood = len(c.errors) == 0
	c.faults()
	if len(in.Pieces) == 0 {
		c.add("pieces", "give at least one piece to lay")
	}
	if len(in.Pieces) > MaxPieces {
		c.add("pieces", "there are %d pieces; at most %d can be laid at once", len(in.Pieces), MaxPieces)
	}
	for i := range in.Pieces {
		if len(c.errors) >= maxErrors {
			break
		}
		c.piece(i)
	}
	if len(c.errors) == 0 {
		c.sums()
		c.napGroups()
	}
	if len(c.errors) == 0 {
		return nil
	}
	return c.errors[:min(len(c.errors), maxErrors)]
}

type checker struct {
	in        Instance
	errors    InputErrors
	clothGood bool
}

func (c *checker) add(field, format string, values ...any) {
	c.errors = append(c.errors, &InputError{Field: field, Message: fmt.Sprintf(format, values...)})
}

// size checks a length that must be above zero and returns whether it is good.
func (c *checker) size(field string, value, most length.Length) bool {
	switch {
	case value <= 0:
		c.add(field, "must be above zero")
	case value > most:
		c.add(field, "%s is too much; the most is %s", need(value), room(most))
	default:
		return true
	}
	return false
}

// amount checks a length that may be zero.
func (c *checker) amount(field string, value, most length.Length) bool {
	switch {
	case value < 0:
		c.add(field, "must not be below zero")
	case value > most:
		c.add(field, "%s is too much; the most is %s", need(value), room(most))
	default:
		return true
	}
	return false
}

func (c *checker) cloth() {
	c.size("width", c.in.Width, MaxClothWidth)
	c.amount("max_length", c.in.MaxLength, MaxClothLength)
	c.amount("gap", c.in.Gap, length.Metre)
	c.amount("repeat.width", c.in.Repeat.Width, MaxClothWidth)
	c.amount("repeat.length", c.in.Repeat.Length, MaxClothLength)
}

func (c *checker) faults() {
	if len(c.in.Faults) > MaxFaults {
		c.add("faults", "there are %d faults; at most %d can be laid around", len(c.in.Faults), MaxFaults)
		return
	}
	for i, f := range c.in.Faults {
		field := fmt.Sprintf("faults[%d]", i)
		good := c.amount(field+".x", f.X, MaxClothWidth)
		good = c.amount(field+".y", f.Y, MaxClothLength) && good
		good = c.size(field+".width", f.Width, MaxClothWidth) && good
		good = c.size(field+".length", f.Length, MaxClothLength) && good
		if good && c.in.Width > 0 && f.X+f.Width > c.in.Width {
			c.add(field, "the fault ends %s from the left selvage, beside the cloth, which is %s wide; give the part that lies on the cloth",
				need(f.X+f.Width), room(c.in.Width))
		}
	}
}

func (c *checker) piece(i int) {
	p := c.in.Pieces[i]
	field := fmt.Sprintf("pieces[%d]", i)
	if p.Copies < 1 || p.Copies > MaxCopies {
		c.add(field+".copies", "give a number of copies from 1 to %d", MaxCopies)
	}
	good := c.size(field+".width", p.Width, MaxPieceLength)
	good = c.size(field+".length", p.Length, MaxPieceLength) && good
	good = c.turns(field, p) && good
	if p.OnFold {
		good = c.onFold(field, p) && good
	}
	if p.NapGroup < 0 {
		c.add(field+".nap_group", "must not be below zero; zero means no group")
	}
	if p.Value < 0 {
		c.add(field+".value", "must not be below zero")
	}
	if p.Match != nil && (beyond(p.Match.X) || beyond(p.Match.Y)) {
		c.add(field+".match", "the match point is too far from the piece")
		good = false
	}
	if len(p.Outline) > 0 {
		good = c.outline(field+".outline", p) && good
	}
	if good && c.clothGood {
		c.fits(field, p)
	}
}

// onFold checks what a piece on the fold needs beside others.
func (c *checker) onFold(field string, p Piece) bool {
	switch {
	case !c.in.Folded:
		c.add(field+".on_fold", "the cloth is not folded; fold it, or give the whole piece")
		return false
	case !slices.Contains(p.Turns, 0) && !slices.Contains(p.Turns, 180):
		c.add(field+".turns", "a piece on the fold lies along it; allow it the turn 0 or 180")
		return false
	case len(p.Outline) > 0 && !hasEdgeAt(p.Outline, p.Width):
		c.add(field+".outline", "a piece on the fold needs a straight edge at its right side, %s from its left, to lie on the fold", both(p.Width))
		return false
	}
	return true
}

// hasEdgeAt tells whether some edge of an outline runs along at x.
func hasEdgeAt(outline []Point, x length.Length) bool {
	for i, a := range outline {
		if b := outline[(i+1)%len(outline)]; a.X == x && b.X == x && a.Y != b.Y {
			return true
		}
	}
	return false
}

func beyond(l length.Length) bool { return l < -MaxClothLength || l > MaxClothLength }

func (c *checker) turns(field string, p Piece) bool {
	if len(p.Turns) == 0 {
		c.add(field+".turns", "name at least one of 0, 90, 180, 270")
		return false
	}
	for j, turn := range p.Turns {
		if turn != 0 && turn != 90 && turn != 180 && turn != 270 {
			c.add(fmt.Sprintf("%s.turns[%d]", field, j), "%d is not a turn; use 0, 90, 180 or 270", turn)
			return false
		}
		if slices.Index(p.Turns, turn) < j {
			c.add(fmt.Sprintf("%s.turns[%d]", field, j), "the turn %d is named twice", turn)
			return false
		}
	}
	return true
}

func (c *checker) outline(field string, p Piece) bool {
	n := len(p.Outline)
	if n < 3 {
		c.add(field, "an outline has at least 3 points; leave it out for a rectangle")
		return false
	}
	if n > MaxOutlinePoints {
		c.add(field, "the outline has %d points; at most %d can be used", n, MaxOutlinePoints)
		return false
	}
	low, high := p.Outline[0], p.Outline[0]
	for _, q := range p.Outline {
		low = Point{min(low.X, q.X), min(low.Y, q.Y)}
		high = Point{max(high.X, q.X), max(high.Y, q.Y)}
	}
	if low != (Point{}) {
		c.add(field, "the outline must begin at 0 across and along: its least x is %s and its least y is %s", both(low.X), both(low.Y))
		return false
	}
	if high.X != p.Width || high.Y != p.Length {
		c.add(field, "the outline is %s wide and %s long, but the piece is said to be %s by %s",
			both(high.X), both(high.Y), both(p.Width), both(p.Length))
		return false
	}
	if at, reason := notSimple(p.Outline); reason != "" {
		c.add(fmt.Sprintf("%s[%d]", field, at), "%s", reason)
		return false
	}
	return true
}

// notSimple returns the first point at which an outline is not a simple polygon, and why.
func notSimple(outline []Point) (int, string) {
	n := len(outline)
	for i, a := range outline {
		b, c := outline[(i+1)%n], outline[(i+2)%n]
		if a == b {
			return (i + 1) % n, "this point is the same as the one before it"
		}
		if side(a, b, c) == 0 && (within(a, b, c) || within(b, c, a)) {
			return (i + 1) % n, "the outline goes back over itself at this point"
		}
	}
	for i, a := range outline {
		b := outline[(i+1)%n]
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if meeting(a, b, outline[j], outline[(j+1)%n]) {
				return j, fmt.Sprintf("the edge from this point meets the edge from point %d; an outline must not cross or touch itself", i)
			}
		}
	}
	return 0, ""
}

// fits checks that at least one allowed turn lets a piece lie on the cloth by itself.
func (c *checker) fits(field string, p Piece) {
	if c.someTurnFits(p, p.Turns, true) {
		return
	}
	label := p.label(field)
	if p.OnFold && c.someTurnFits(p, p.Turns, false) {
		c.add(field+".match", "%s lies on the fold, where its match point is off the print's repeat; move the match point or the fold", label)
		return
	}
	if c.someTurnFits(p, p.Turns, false) {
		c.add(field+".match", "%s has no place across the cloth where its match point falls on the print's repeat; it would lie if the match point is moved, or on cloth %s wider",
			label, need(c.in.Repeat.Width))
		return
	}
	least := length.Length(math.MaxInt64)
	for _, turn := range p.Turns {
		width, _ := turnedSize(p, turn)
		least = min(least, width)
	}
	remedy := fmt.Sprintf("it needs cloth %s wide", need(least))
	if c.in.Folded {
		remedy = fmt.Sprintf("it needs %s from the selvages to the fold, or cloth spread open", need(least))
	}
	if c.someTurnFits(p, []Turn{0, 90}, false) {
		remedy += ", or leave to be turned a quarter if its grain and the print allow it"
	} else {
		remedy += ", or must be cut in narrower parts with a seam"
	}
	c.add(field+".width", "%s is wider than the cloth in every turn that is allowed: %s across, on a usable width of %s; %s",
		label, need(least), room(c.in.Width), remedy)
}

func (p Piece) label(field string) string {
	if p.Name == "" {
		return field
	}
	return fmt.Sprintf("%q", p.Name)
}

func (c *checker) someTurnFits(p Piece, turns []Turn, matched bool) bool {
	for _, turn := range turns {
		for _, mirrored := range []bool{false, true} {
			if !p.mayLie(turn, mirrored) {
				continue
			}
			if c.turnFits(p, turn, mirrored, matched) {
				return true
			}
		}
	}
	return false
}

func (c *checker) turnFits(p Piece, turn Turn, mirrored, matched bool) bool {
	width, _ := turnedSize(p, turn)
	if p.OnFold {
		repeat := c.in.Repeat.Width
		return width <= c.in.Width && (!matched || p.Match == nil || repeat == 0 || (c.in.Width-width+turnedMatch(p, turn, mirrored).X)%repeat == 0)
	}
	if c.in.Folded {
		width += (c.in.Gap + 1) / 2
	}
	first := length.Length(0)
	if repeat := c.in.Repeat.Width; matched && p.Match != nil && repeat > 0 {
		// The least x ≥ 0 at which x + match is a multiple of the repeat.
		first = (repeat - turnedMatch(p, turn, mirrored).X%repeat) % repeat
	}
	return first+width <= c.in.Width
}

func turnedSize(p Piece, turn Turn) (width, along length.Length) {
	if turn == 90 || turn == 270 {
		return p.Length, p.Width
	}
	return p.Width, p.Length
}

func turnedMatch(p Piece, turn Turn, mirrored bool) Point {
	x, y := p.Match.X, p.Match.Y
	if mirrored {
		x = p.Width - x
	}
	switch turn {
	case 90:
		return Point{p.Length - y, x}
	case 180:
		return Point{p.Width - x, p.Length - y}
	case 270:
		return Point{y, p.Width - x}
	}
	return Point{x, y}
}

// sums checks that nothing that laying adds up can leave its integer.
func (c *checker) sums() {
	copies, area, value := 0, length.Area(0), int64(0)
	for i, p := range c.in.Pieces {
		field := fmt.Sprintf("pieces[%d]", i)
		copies += p.Copies
		if copies > MaxCopies {
			c.add(field+".copies", "all pieces up to here have %d copies together; at most %d can be laid at once", copies, MaxCopies)
			return
		}
		one, err := length.Times(p.Width+c.in.Gap, p.Length+c.in.Gap)
		if err == nil {
			one, err = one.TimesCount(p.Copies)
		}
		if err == nil {
			area, err = area.Plus(one)
		}
		if err != nil || area > maxArea {
			c.add(field, "the pieces up to here cover more than %.0f m² together; lay them in several markers", length.Area(maxArea).SquareMetres())
			return
		}
		all, err := length.Times(length.Length(p.Value), length.Length(p.Copies))
		if err != nil || int64(all) > maxValue-value {
			c.add(field+".value", "the values of all copies are too large together; give smaller values")
			return
		}
		value += int64(all)
	}
}

// napGroups checks that each group has a way up in which all its pieces can lie.
func (c *checker) napGroups() {
	ways := map[int][2]bool{}
	for i, p := range c.in.Pieces {
		if p.NapGroup == 0 {
			continue
		}
		var own [2]bool
		for _, turn := range p.Turns {
			if c.someTurnFits(p, []Turn{turn}, true) {
				own[turn/180] = true
			}
		}
		shared, known := ways[p.NapGroup]
		if known {
			own = [2]bool{own[0] && shared[0], own[1] && shared[1]}
		}
		if !own[0] && !own[1] {
			c.add(fmt.Sprintf("pieces[%d].turns", i), "%s cannot lie the same way up as the other pieces of nap group %d; allow it a half turn more, or take it out of the group",
				p.label(fmt.Sprintf("pieces[%d]", i)), p.NapGroup)
		}
		ways[p.NapGroup] = own
	}
}

// need writes a length that must be found, room one that is there and both one that is;
// always in both systems, as an instance has no unit of its own.
func need(l length.Length) string { return written(l, length.Up) }
func room(l length.Length) string { return written(l, length.Down) }
func both(l length.Length) string { return written(l, length.Nearest) }

func written(l length.Length, mode length.Rounding) string {
	inches, metric := length.Style{Fraction: 16}, length.Style{System: length.Metric}
	return inches.PieceRounded(l, mode) + " (" + metric.PieceRounded(l, mode) + ")"
}

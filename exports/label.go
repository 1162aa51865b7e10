package exports

import (
	"cmp"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// place is a free rectangle's centre on the page, and how wide the room around it is.
type place struct {
	x, y  length.Length
	width length.Length
}

// bandsTried is at how many heights of a piece a label is tried.
const bandsTried = 25

// roomFor finds the place inside an outline for a rectangle that is nearest to the middle of
// its height; ok is false if there is none.
func roomFor(outline []marker.Point, width, height length.Length) (at place, ok bool) {
	low, high := bounds(outline)
	middle := (low.Y + high.Y) / 2
	reach := high.Y - low.Y - height
	if reach < 0 || high.X-low.X < width {
		return place{}, false
	}
	for i := range bandsTried {
		step := reach * length.Length((i+1)/2) / (bandsTried - 1)
		if i%2 == 1 {
			step = -step
		}
		at, found := widestInBand(outline, middle+step, height)
		if found && at.width >= width {
			return at, true
		}
	}
	return place{}, false
}

// widestInBand finds the widest stretch of a horizontal band that lies wholly inside an
// outline: no edge enters it and its middle is inside.
func widestInBand(outline []marker.Point, y, height length.Length) (best place, ok bool) {
	type stretch struct{ from, to length.Length }
	bottom, top := y-height/2, y+height/2
	var blocked []stretch
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if a.Y > b.Y {
			a, b = b, a
		}
		if b.Y <= bottom || a.Y >= top {
			continue
		}
		from, to := a.X, b.X // of a level edge
		if b.Y > a.Y {
			from, to = xAt(a, b, max(a.Y, bottom)), xAt(a, b, min(b.Y, top))
		}
		blocked = append(blocked, stretch{min(from, to), max(from, to)})
	}
	slices.SortFunc(blocked, func(a, b stretch) int { return cmp.Compare(a.from, b.from) })
	for i := 1; i < len(blocked); i++ {
		reach := blocked[i-1].to
		blocked[i].to = max(blocked[i].to, reach)
		free := blocked[i].from - reach
		x := reach + free/2
		if free > best.width && inside(outline, x, y) {
			best, ok = place{x, y, free}, true
		}
	}
	return best, ok
}

// xAt returns where the line from a up to b, which is not level, is at a height between theirs.
func xAt(a, b marker.Point, y length.Length) length.Length {
	return a.X + (b.X-a.X)*(y-a.Y)/(b.Y-a.Y)
}

// inside tells whether a point that is on no edge lies inside an outline.
func inside(outline []marker.Point, x, y length.Length) bool {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if a.Y > b.Y {
			a, b = b, a
		}
		if a.Y <= y && y < b.Y && xAt(a, b, y) > x {
			in = !in
		}
	}
	return in
}

// bounds returns the corners of the box around an outline.
func bounds(outline []marker.Point) (low, high marker.Point) {
	low, high = outline[0], outline[0]
	for _, p := range outline {
		low.X, low.Y = min(low.X, p.X), min(low.Y, p.Y)
		high.X, high.Y = max(high.X, p.X), max(high.Y, p.Y)
	}
	return low, high
}

// swapped exchanges across and up, for text that runs up the page.
func swapped(outline []marker.Point) []marker.Point {
	over := make([]marker.Point, len(outline))
	for i, p := range outline {
		over[i] = marker.Point{X: p.Y, Y: p.X}
	}
	return over
}

// label is the text of a piece and where it stands on the page.
type label struct {
	lines []string
	// names is how many of the lines are the name.
	names   int
	letter  length.Length
	x, y    length.Length
	upright bool // the text runs up the page
	// number tells that the piece is too small for its name and bears its number instead.
	number bool
}

const (
	lineHeight = 125 // of a line of text, in hundredths of its letters
	arrowShare = 150 // of the room for the grain arrow beside the text
	boldLetter = 112 // how much wider bold letters run
)

// size returns how wide and high a block of text with its grain arrow is.
func (l label) size() (width, height length.Length) {
	for i, line := range l.lines {
		letter := l.letter
		if i < l.names {
			letter = letter * boldLetter / 100
		}
		width = max(width, textWidth(line, letter))
	}
	return width + l.letter*arrowShare/100 + l.letter/2, l.letter*length.Length(lineHeight*len(l.lines))/100 + l.letter/2
}

// labelText is what a label says: the name, the size and the marks of turning.
type labelText struct {
	name, size, marks string
	number            string
}

// variants lists the ways to break a label into lines, best first, at each level of detail:
// with the size, then without.
func (t labelText) variants() [2][]label {
	var levels [2][]label
	for count := range 4 {
		name := wrapInto(t.name, count+1)
		if len(name) != count+1 {
			break
		}
		levels[0] = append(levels[0], label{lines: withMarks(append(slices.Clone(name), t.size), t.marks), names: len(name)})
		levels[1] = append(levels[1], label{lines: withMarks(name, t.marks), names: len(name)})
	}
	return levels
}

func withMarks(lines []string, marks string) []string {
	if marks == "" {
		return lines
	}
	return append(lines, marks)
}

// preferLevel is how much smaller the letters of a level label may be than those of one that
// runs up the page and still be preferred, in hundredths.
const preferLevel = 140

// leastLetter is how small the letters of each level of detail may become, and leastNumber
// those of the number of a piece before it sticks out; in hundredths.
var leastLetter = [2]length.Length{70, 55}

const leastNumber = 40

// fitLabel finds the fullest label that an outline on the page has room for, in letters as
// large as can be up to most hundredths of letter; where there is no room for the name it is
// the number.
func fitLabel(outline []marker.Point, text labelText, letter, most length.Length) label {
	for detail, variants := range text.variants() {
		if l, ok := largest(variants, outline, letter, most, leastLetter[detail]); ok {
			return l
		}
	}
	number := label{lines: []string{text.number}, names: 1, number: true}
	if l, ok := largest([]label{number}, outline, letter, 100, leastNumber); ok {
		return l
	}
	low, high := bounds(outline)
	number.letter, number.x, number.y = letter*leastNumber/100, (low.X+high.X)/2, (low.Y+high.Y)/2
	return number
}

// largest finds the variant that fits an outline in the largest letters, from most down to
// least hundredths of letter.
func largest(variants []label, outline []marker.Point, letter, most, least length.Length) (best label, ok bool) {
	level, isLevel := largestLevel(variants, outline, letter, most, least)
	if isLevel && level.letter*preferLevel/100 >= letter*most/100 {
		return level, true
	}
	upright, isUpright := largestLevel(variants, swapped(outline), letter, most, least)
	if isUpright && (!isLevel || upright.letter*100 > level.letter*preferLevel) {
		upright.x, upright.y, upright.upright = upright.y, upright.x, true
		return upright, true
	}
	return level, isLevel
}

func largestLevel(variants []label, outline []marker.Point, letter, most, least length.Length) (best label, ok bool) {
	for percent := most; percent >= least; percent -= 5 {
		for _, l := range variants {
			l.letter = letter * percent / 100
			width, height := l.size()
			if at, fits := roomFor(outline, width, height); fits {
				l.x, l.y = at.x, at.y
				return l, true
			}
		}
	}
	return label{}, false
}

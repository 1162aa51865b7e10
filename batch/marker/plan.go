package marker

import (
	"slices"
)

// plan is what the search changes; an engine turns a plan into a laid marker.
type plan struct {
	sequence []entry
	// reserve is the first of the entries that are laid only where none before them fits.
	reserve int
	// ways is the way up of each nap group that has a choice: 0, or 1 for turned by a half.
	ways []int8
	rule rule
	// skips are numbers of spots: before the one with that number is laid, the skyline engine
	// gives up the lowest step though something fits it. −1 is none.
	skips [maxSkips]int32
}

const maxSkips = 2

var noSkips = [maxSkips]int32{-1, -1}

func (p plan) clone() plan {
	p.sequence, p.ways = slices.Clone(p.sequence), slices.Clone(p.ways)
	return p
}

// entry is a number of copies of one kind that have one place in the sequence.
type entry struct {
	kind, count int32
	// only is the option that these copies must lie in, counted from the kind's first;
	// −1 leaves the choice to the engine.
	only int32
	// split is how the straight-cut engine parts what such a copy leaves of its place.
	split split
}

// rule is a variant of an engine.
type rule struct {
	// fit prefers matching edges; without it the sequence alone decides.
	fit bool
	// even makes the skyline engine count every matching edge alike and care for no slivers.
	even bool
	// left makes the skyline engine put a piece that does not fill its step against the left
	// wall; otherwise it goes to the taller one.
	left bool
	// across makes the skyline engine lay from the left selvage on, up to the target along the
	// cloth, where it can.
	across bool
	// split is how the straight-cut engine parts what a piece leaves of its place, and whole
	// lets it fill the cloth up to the target as one place before it opens strips.
	split split
	whole bool
}

// split is a way to part the rest of a rectangle whose corner a piece has taken: by a cut
// beside the piece that runs the whole length, or by one above it that runs the whole width.
type split uint8

const (
	asRule split = iota
	// largeRest makes one of the two rests as large as can be.
	largeRest
	cutAlong
	cutAcross
	// leastLost loses the least area to widths and lengths that no pieces add up to.
	leastLost
)

// engine lays plans. An engine reuses its room, and serves one goroutine.
type engine interface {
	lay(p plan, g goal) outcome
	// laid returns the spots of the last plan, valid until the next.
	laid() []spot
	name() string
}

// goal is what a marker is to reach.
type goal struct {
	// room is where the cloth ends; what would go beyond is left out.
	room int64
	// target is the end to reach, and excess the most area of pieces that may lie beyond it:
	// laying stops where it is more.
	target, excess int64
}

// outcome is how far a laid marker reaches the goal.
type outcome struct {
	end int64
	// excess is the area of pieces beyond the target.
	excess int64
	// stopped tells that laying stopped since the excess was too much.
	stopped bool
}

// add notes a piece of width w that ends at top, and returns whether to go on.
func (o *outcome) add(g goal, top, w int64) bool {
	o.end = max(o.end, top)
	if top > g.target {
		o.excess = min(o.excess+area(top-g.target, w), noCap)
		o.stopped = o.excess > g.excess
	}
	return !o.stopped
}

package marker

// A plan is what the search changes; an engine turns a plan into a laid marker.
type plan struct {
	sequence []entry
	// reserve is the first of the entries that are laid only where none before them fits.
	reserve int
	// ways is the way up of each nap group that has a choice.
	ways []int8
	rule rule
	// skips are numbers of spots: before the one with that number is laid, the lowest step is
	// given up though something fits it. −1 is none.
	skips [maxSkips]int32
}

const maxSkips = 2

var noSkips = [maxSkips]int32{-1, -1}

// entry is a number of copies of one kind that have one place in the sequence.
type entry struct {
	kind, count int32
	// only is the option that these copies must lie in, counted from the kind's first;
	// −1 leaves the choice to the engine.
	only int32
	// split is, with straight cuts, how the rest of the place is parted.
	split wall
}

// rule is a variant of an engine.
type rule struct {
	// fit prefers matching edges; without it the sequence alone decides.
	fit bool
	// wall is where a piece that does not fill its place goes; with straight cuts, how the
	// rest of the place is parted.
	wall wall
	// whole fills the cloth up to the target as one place before it opens strips.
	whole bool
}

type wall uint8

const (
	tallerWall wall = iota
	lowerWall
	leftWall
	rightWall
	asRule // as the plan's rule says
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
		o.excess += (top - g.target) * w
		o.stopped = o.excess > g.excess
	}
	return !o.stopped
}

package marker

import "slices"

// searcher is one way of looking for a marker shorter than the shortest known, which the literature calls the
// incumbent. It serves one worker. What it does depends on what it is given only, never on the clock.
type searcher interface {
	// search goes on for about so many operations. It is done if there is nothing that it can do beside this
	// incumbent; then it has done nothing.
	search(work int, known incumbent) (found finding, done bool)
}

// incumbent is the end of the shortest marker known, and where no marker can end before.
type incumbent struct{ end, bound int64 }

// finding is what a searcher has found: a marker of all copies, if any, and that no marker ends at refuted or before.
type finding struct {
	spots   []spot
	refuted int64
}

// share is a searcher's share of the steps of a worker. What none of them takes goes to the search over plans.
type share struct {
	name string
	// engine is what Stats.Engine calls it.
	engine string
	// workers are those that it is given to.
	workers []int
	// after is how many steps go before it begins.
	after int
	// takes tells which steps it may take.
	takes turns
	// begin returns nil where it does not serve.
	begin func(m *model, worker int, seed uint64) searcher
}

// turns are the first so many of so many steps, or those that a pattern marks.
type turns struct {
	first, of int
	pattern   string
}

func (t turns) take(step int) bool {
	if t.pattern != "" {
		return t.pattern[step%len(t.pattern)] == 'x'
	}
	return step%t.of < t.first
}

var bothWorkers = []int{0, 1}

// sharesOfStrips and sharesOfStraightCuts say who takes which steps, in this order, as measured on the published
// instances and on cutting jobs.
var (
	sharesOfStrips = []share{
		{"exact", "exact search", bothWorkers, exactAfter, turns{pattern: "-xxx-xxx"}, beginExact},
		{"fill", "no waste", bothWorkers, fillAfter, turns{pattern: "xxxx-x-x"}, beginFill},
		{"beam", "beam", bothWorkers, fillAfter, turns{pattern: "xxxx-x-x"}, beginBeam},
	}
	sharesOfStraightCuts = []share{
		{"blocks", "blocks", []int{1}, 0, turns{first: 20, of: 100}, beginBlocks},
		{"sets", "exact search", []int{0}, exactAfter, turns{pattern: "xxxxxxx-"}, beginSets},
		{"trees", "hierarchy", bothWorkers, fillAfter, turns{pattern: "--xxxxxx"}, beginTurningTrees},
		{"trees", "hierarchy", bothWorkers, fillAfter, turns{pattern: "----xxxx"}, beginFixedTrees},
	}
)

// exactAfter and fillAfter are how many steps go before these searches begin: few enough are left to those who ask for
// few.
const exactAfter, fillAfter = 100, 300

// Searchers names all that Params.Without can leave out.
func Searchers(straightCuts bool) []string {
	names := []string{"bars", "sequence"}
	shares := sharesOfStrips
	if straightCuts {
		shares = sharesOfStraightCuts
	} else {
		names = append(names, "across", "even", "skips")
	}
	for _, s := range shares {
		names = append(names, s.name)
	}
	return slices.Compact(names)
}

// given is a share with its searcher, which is begun when it is first needed.
type given struct {
	*share
	searcher searcher
	begun    bool
}

func sharesOf(m *model, worker int, without []string) []given {
	all := sharesOfStrips
	if m.straight {
		all = sharesOfStraightCuts
	}
	var own []given
	for i := range all {
		if s := &all[i]; slices.Contains(s.workers, worker) && !slices.Contains(without, s.name) {
			own = append(own, given{share: s})
		}
	}
	return own
}

package ratio

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// workOfStep is how much elementary work counts as one step of Params.Iterations, and
// defaultIterations the budget when Params gives none.
const (
	workOfStep        = 20_000
	defaultIterations = 2_000
)

// Solve plans by size ratios. For one, two, three ... markers it goes through the choices
// of plies, exactly where there are few enough, else at random, and for each through the
// ratios (see vector); larger plans are begun greedily and ended exactly. What is proven on
// the way is in the plan's bounds and status.
//
// The error is the problem's Check; *NoPlanError if no plan can meet the demand within the
// over-cut allowed; or the context's if it had ended before.
func Solve(ctx context.Context, p Problem, params Params) (Plan, error) {
	if err := ctx.Err(); err != nil {
		return Plan{}, err
	}
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	m := newModel(&p)
	if len(m.demand) == 0 {
		return Plan{Status: StatusOptimal, Seed: params.Seed}, nil
	}
	if err := m.possible(); err != nil {
		return Plan{}, err
	}
	s := newSearch(ctx, m, params, 0x726174)
	s.run()
	if !s.found {
		return Plan{}, &NoPlanError{"no plan was found within the over-cut allowed; allow more, or fewer plies at least"}
	}
	plan := s.plan(params.Seed)
	if err := Verify(p, plan); err != nil {
		return Plan{}, fmt.Errorf("the plan failed its check: %w", err)
	}
	return plan, nil
}

func newSearch(ctx context.Context, m *model, params Params, stream uint64) *search {
	iterations := params.Iterations
	if iterations <= 0 {
		iterations = defaultIterations
	}
	return &search{ctx: ctx, m: m, rng: rand.New(rand.NewPCG(params.Seed, stream)), work: int64(iterations) * workOfStep}
}

// Costs are those of a plan in whole units of the caller's own: for each marker, for each ply, and for each
// garment of a ratio, by size of the problem, for each ply and once.
type Costs struct {
	Marker, Ply    int64
	PerPly, PerCut []int64
}

// Begin returns markers for a problem that make costs of the caller's own least, instead of the money by the
// problem's prices. The problem needs no names of sizes, and is not checked; there are no markers if none were found.
func Begin(ctx context.Context, p Problem, costs Costs, params Params) []Marker {
	m := newModel(&p)
	for j, size := range m.size {
		m.perPly[j], m.perCut[j] = costs.PerPly[size], costs.PerCut[size]
	}
	m.ply, m.marker = costs.Ply, costs.Marker
	s := newSearch(ctx, m, params, 0x62790a)
	s.run()
	return s.markersFound(len(p.Demand))
}

// possible tells whether the over-cut allowed suffices for the fewest plies.
func (m *model) possible() error {
	need := 0
	for j := range m.demand {
		need += m.leastOver(j)
	}
	if m.problem.OverCut != AnyOverCut && need > m.problem.OverCut {
		return &NoPlanError{fmt.Sprintf("with at least %s of each marker, at least %s %s cut beyond the demand; allow that many, or fewer plies",
			words.Count(m.minPly, "ply"), words.Count(need, "garment"), words.Verb(need, "is", "are"))}
	}
	return nil
}

// search looks for the best markers.
type search struct {
	ctx context.Context
	m   *model
	rng *rand.Rand
	// work left in this round, and left for later rounds.
	work, left int64
	plies      []int
	ratios     [][]int
	// cost of the best, without that of the number of markers.
	cost  int64
	found bool
	// fewest is a proven lower bound on the number of markers.
	fewest int
	// next: all plans of fewer markers have been searched.
	next int
	// proven: the best is proven, whatever its number of markers.
	proven bool
}

// total is what the objective compares: the smaller, the better.
func (s *search) total(markers int, cost int64) [2]int64 {
	switch s.m.problem.Objective {
	case ObjectiveMarkers:
		return [2]int64{int64(markers), cost}
	case ObjectiveLength:
		return [2]int64{cost, int64(markers)}
	}
	return [2]int64{cost + s.m.marker*int64(markers), int64(markers)}
}

func less(a, b [2]int64) bool { return a[0] < b[0] || a[0] == b[0] && a[1] < b[1] }

// offer keeps a plan if it is better than the best.
func (s *search) offer(plies []int, ratios [][]int) {
	cost := s.m.cost(plies, ratios)
	if s.found && !less(s.total(len(plies), cost), s.total(len(s.plies), s.cost)) {
		return
	}
	s.plies, s.cost, s.found = slices.Clone(plies), cost, true
	s.ratios = nil
	for _, r := range ratios {
		s.ratios = append(s.ratios, slices.Clone(r))
	}
}

// cutoff is the cost below which a plan of so many markers is better than the best.
func (s *search) cutoff(markers int) int64 {
	if !s.found {
		return noLimit
	}
	now := s.total(len(s.plies), s.cost)
	switch s.m.problem.Objective {
	case ObjectiveMarkers:
		if markers < len(s.plies) {
			return noLimit
		}
		if markers == len(s.plies) {
			return s.cost
		}
		return 0
	case ObjectiveLength:
		if markers < len(s.plies) {
			return s.cost + 1
		}
		return s.cost
	}
	cut := now[0] - s.m.marker*int64(markers)
	if markers < len(s.plies) {
		cut++
	}
	return cut
}

func (s *search) out() bool { return s.work <= 0 || s.ctx.Err() != nil }

// firstRound is the work of the first round; each next one has twice as much.
const firstRound = 8_000_000

// run searches in rounds of growing work, so that no number of markers takes all of it.
func (s *search) run() {
	s.fewest = s.m.fewestMarkers()
	s.next = s.fewest
	s.trivial()
	s.greedy(greedyRounds)
	s.left = s.work
	for round := int64(firstRound); !s.proven && s.left > 0 && s.ctx.Err() == nil; round *= 2 {
		s.work = min(round, s.left)
		s.left -= s.work
		s.round()
		s.left += max(0, s.work)
	}
}

// round goes through the numbers of markers.
func (s *search) round() {
	least := s.m.leastCost()
	for k := s.next; k <= maxVector && !s.out() && s.cutoff(k) > least; k++ {
		done := s.markers(k, least)
		if !done || s.next != k {
			continue
		}
		s.next = k + 1
		if s.m.problem.Objective == ObjectiveMarkers && (!s.found || len(s.plies) > k) {
			s.fewest = s.next
		}
	}
	// The cutoff falls with the number of markers, so that no plan of next or more is better.
	for {
		s.proven = s.found && s.cutoff(s.next) <= least
		if s.proven || s.out() {
			return
		}
		s.greedy(1)
	}
}

// markers searches the plans of k markers that are better than the best; it tells whether all
// have been searched.
func (s *search) markers(k int, least int64) bool {
	share := s.work / 3
	if s.countVectors(k, exactVectors) <= exactVectors {
		return s.sample(k, least, s.work-min(share/8, firstRound/4)) || s.everyVector(k, least, 2*share)
	}
	return s.sample(k, least, s.work-share)
}

// exactVectors is the most choices of plies that are gone through one by one.
const exactVectors = 3_000_000

// eachVector goes through the choices of plies for k markers, the most plies first, that have
// places enough; it stops when visit returns false.
func (s *search) eachVector(k int, visit func(plies []int) bool) {
	need := s.m.fewestPlies()
	plies := make([]int, k)
	var fill func(at, most int, sum int64) bool
	fill = func(at, most int, sum int64) bool {
		if at == k {
			return visit(plies)
		}
		for p := most; p >= s.m.minPly; p-- {
			if sum+int64(p)*int64(k-at) < need {
				return true
			}
			plies[at] = p
			if !fill(at+1, p, sum+int64(p)) {
				return false
			}
		}
		return true
	}
	fill(0, s.m.plies, 0)
}

func (s *search) countVectors(k, most int) int {
	n := 0
	s.eachVector(k, func([]int) bool {
		n++
		return n <= most
	})
	return n
}

// everyVector searches all choices of plies while the work lasts down to a limit.
func (s *search) everyVector(k int, least, work int64) bool {
	limit := s.work - work
	done := true
	reach := newReach(s.m, k)
	s.eachVector(k, func(plies []int) bool {
		s.work -= 20
		if s.work <= limit || s.ctx.Err() != nil {
			done = false
			return false
		}
		if !reach.possible(plies, s.cutoff(k)) {
			return true
		}
		if !s.try(plies, k, s.work-limit, nil) {
			done = false
		}
		return s.cutoff(k) > least
	})
	return done
}

// try searches one choice of plies; it tells whether it was searched to its end.
func (s *search) try(plies []int, k int, most int64, rng *rand.Rand) bool {
	work := most
	v := vector{m: s.m, plies: slices.Clone(plies), cutoff: s.cutoff(k), work: &work}
	ratios, _, done := v.solve(rng)
	s.work -= most - max(0, work)
	if ratios != nil {
		s.offerVector(v.plies, ratios)
	}
	return done
}

// offerVector offers a plan without the markers that hold nothing.
func (s *search) offerVector(plies []int, ratios [][]int) {
	var p []int
	var r [][]int
	for k := range plies {
		if sum(ratios[k]) > 0 {
			p, r = append(p, plies[k]), append(r, ratios[k])
		}
	}
	s.offer(p, r)
}

// sampleWork is what one random choice of plies may take.
const sampleWork = 60_000

// sample tries random choices of plies down to a limit of work; it tells whether the best
// reached the least cost.
func (s *search) sample(k int, least, limit int64) bool {
	reach := newReach(s.m, k)
	for s.work > limit && s.ctx.Err() == nil {
		s.work -= 100
		if s.cutoff(k) <= least {
			return true
		}
		plies := s.randomVector(k)
		if plies == nil || !reach.possible(plies, s.cutoff(k)) {
			continue
		}
		s.try(plies, k, sampleWork, s.rng)
	}
	return s.cutoff(k) <= least
}

// randomVector draws plies for k markers that have places enough; nil if the draw fails.
func (s *search) randomVector(k int) []int {
	slack := int64(k)*int64(s.m.plies) - s.m.fewestPlies()
	if slack < 0 {
		return nil
	}
	// What is taken off the most plies, in all and shared out by random cuts.
	off := s.rng.Int64N(slack + 1)
	cuts := make([]int64, k+1)
	for i := 1; i < k; i++ {
		cuts[i] = s.rng.Int64N(off + 1)
	}
	cuts[k] = off
	slices.Sort(cuts)
	plies := make([]int, k)
	for i := range plies {
		plies[i] = s.m.plies - int(cuts[i+1]-cuts[i])
		if plies[i] < s.m.minPly {
			return nil
		}
	}
	slices.SortFunc(plies, func(a, b int) int { return cmp.Compare(b, a) })
	return plies
}

// reach tells quickly which choices of plies cannot meet a demand: it keeps the sums that the
// first so many plies can add up to.
type reach struct {
	m    *model
	most int
	// sums[k] are the sums that the first k of last can add up to.
	sums [][]bool
	last []int
}

func newReach(m *model, k int) *reach {
	r := &reach{m: m, most: slices.Max(m.demand) + m.plies, last: make([]int, k)}
	if r.most > 1<<16 {
		return r
	}
	for range k + 1 {
		r.sums = append(r.sums, make([]bool, r.most+1))
	}
	r.sums[0][0] = true
	return r
}

// possible tells whether every size can be met within over-cut and cutoff if places were free.
func (r *reach) possible(plies []int, cutoff int64) bool {
	if r.sums == nil {
		return true
	}
	k := 0
	for k < len(plies) && r.last[k] == plies[k] {
		k++
	}
	for ; k < len(plies); k++ {
		r.extend(k, plies[k])
	}
	cost, over := int64(0), 0
	for _, p := range plies {
		cost += r.m.ply * int64(p)
	}
	sums := r.sums[len(plies)]
	for j, d := range r.m.demand {
		made := d
		for made <= r.most && !sums[made] {
			made++
		}
		over += made - d
		cost += int64(made) * r.m.perPly[j]
		if made > r.most || over > r.m.over || cost >= cutoff {
			return false
		}
	}
	return true
}

func (r *reach) extend(k, p int) {
	from, to := r.sums[k], r.sums[k+1]
	copy(to, from)
	for v := p; v <= r.most; v++ {
		if to[v-p] {
			to[v] = true
		}
	}
	r.last[k] = p
	if k+1 < len(r.last) {
		r.last[k+1] = -1
	}
}

// markersFound are the best markers, with a ratio for each of so many sizes.
func (s *search) markersFound(sizes int) []Marker {
	var all []Marker
	for k := range s.plies {
		one := Marker{Plies: s.plies[k], Ratio: make([]int, sizes)}
		for j, n := range s.ratios[k] {
			one.Ratio[s.m.size[j]] = n
		}
		all = append(all, one)
	}
	return all
}

// plan turns the best markers into a plan.
func (s *search) plan(seed uint64) Plan {
	p := s.m.problem
	plan := Plan{Seed: seed, Status: StatusWithin, BoundMarkers: min(s.fewest, len(s.plies))}
	plan.Markers = s.markersFound(len(p.Sizes))
	plies := 0
	cutLength := length.Length(0)
	for _, m := range plan.Markers {
		for size, n := range m.Ratio {
			plan.OverCut += n * m.Plies
			if p.Length != nil {
				cutLength += p.Length[size] * length.Length(n)
				plan.Length += p.Length[size] * length.Length(n*m.Plies)
			}
		}
		plies += m.Plies
	}
	slices.SortStableFunc(plan.Markers, func(a, b Marker) int { return cmp.Compare(b.Plies, a.Plies) })
	plan.OverCut -= int(s.m.garments)
	if p.Length != nil {
		plan.Length += 2 * p.EndLoss * length.Length(plies)
		plan.BoundLength = s.m.leastLength()
	}
	if p.Objective == ObjectiveMoney {
		plan.Cloth = p.Prices.of(plan.Length, p.Prices.Cloth)
		plan.Work = p.Prices.Marker*Money(len(s.plies)) + p.Prices.Ply*Money(plies) + p.Prices.of(cutLength, p.Prices.Cut)
		plan.Cost = plan.Cloth + plan.Work
		plan.BoundCost = s.boundCost(plan.Cost)
	}
	switch {
	case s.proven:
		plan.Status = StatusOptimal
	case s.ctx.Err() != nil:
		plan.Status = StatusOutOfTime
	}
	return plan
}

// boundCost is the proven least money. The model rounds the price of each garment to the
// millionth, which is taken off again.
func (s *search) boundCost(cost Money) Money {
	if s.proven {
		return cost
	}
	least := Money(s.m.leastCost() + s.m.marker*int64(s.m.fewestMarkers()) - 2*s.m.garments)
	return max(0, min(cost, least))
}

// leastLength bounds the cloth spread.
func (m *model) leastLength() length.Length {
	total := 2 * m.problem.EndLoss * length.Length(m.fewestPlies())
	for j, d := range m.demand {
		total += m.problem.Length[m.size[j]] * length.Length(d+m.leastOver(j))
	}
	return total
}

func sum(all []int) int {
	total := 0
	for _, n := range all {
		total += n
	}
	return total
}

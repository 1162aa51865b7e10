package lay

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// defaultIterations and defaultMarkerIterations are the budgets when Params gives none.
const (
	defaultIterations       = 3_000
	defaultMarkerIterations = 1_500
)

// Solve plans how the garments are cut from the cloth of a problem; see the package. What
// cannot be cut stands in Plan.Uncut, and the rest is planned. The context is the time limit:
// when it ends, the best plan so far is returned with StatusOutOfTime. The error is the
// Problem's Check, or the context's if it had ended before there was any plan.
func Solve(ctx context.Context, p Problem, params Params) (Plan, error) {
	if err := ctx.Err(); err != nil {
		return Plan{}, err
	}
	if err := p.Check(); err != nil {
		return Plan{}, err
	}
	s := newPlanner(ctx, &p, params)
	uncut, err := s.refuse()
	if err != nil {
		return Plan{}, s.endedOr(err)
	}
	if sum(s.demand) > 0 {
		if err := s.run(); err != nil && !s.ended(err) {
			return Plan{}, err
		}
		if len(s.best.stacks) == 0 {
			return Plan{}, s.endedOr(errors.New("no plan was found"))
		}
		if err := s.polish(params); err != nil && !s.ended(err) {
			return Plan{}, err
		}
	}
	plan := s.plan(uncut)
	plan.Seed = params.Seed
	if err := VerifyPlan(p, plan); err != nil {
		return Plan{}, fmt.Errorf("the plan failed its check: %w", err)
	}
	return plan, nil
}

func newPlanner(ctx context.Context, p *Problem, params Params) *planner {
	s := &planner{
		ctx: ctx, problem: p, layer: newLayer(p, params.Seed), shelf: newShelf(p),
		rng:  rand.New(rand.NewPCG(params.Seed, 0x6c6179)),
		most: params.Iterations, progress: params.Progress,
	}
	if s.most <= 0 {
		s.most = defaultIterations
	}
	return s
}

// ended tells whether an error only says that the time is over.
func (p *planner) ended(err error) bool {
	return p.ctx.Err() != nil && errors.Is(err, p.ctx.Err())
}

func (p *planner) endedOr(err error) error {
	if p.ctx.Err() != nil {
		return p.ctx.Err()
	}
	return err
}

// refuse sets the demand aside that cannot be cut at all.
func (p *planner) refuse() ([]Uncut, error) {
	var uncut []Uncut
	p.demand = make([]int, len(p.problem.Garments))
	p.gives = make([][]bool, len(p.problem.Garments))
	for g, garment := range p.problem.Garments {
		p.gives[g] = make([]bool, len(p.layer.classes))
		if garment.Quantity == 0 {
			continue
		}
		classes, why, err := p.layer.fitting(p.ctx, g)
		if err != nil {
			return nil, err
		}
		if why != nil {
			uncut = append(uncut, *why)
			continue
		}
		p.demand[g] = garment.Quantity
		for _, c := range classes {
			p.gives[g][c] = true
			if cost, err := p.costByItself(g, c); err == nil {
				p.missingPrice = max(p.missingPrice, 5*cost)
			}
		}
	}
	return uncut, nil
}

// costByItself is what one garment costs by itself.
func (p *planner) costByItself(g, c int) (float64, error) {
	ratio := make([]int, len(p.problem.Garments))
	ratio[g] = 1
	ply, err := p.layer.lay(p.ctx, c, ratio, quickIterations)
	if err != nil {
		return 0, err
	}
	_, _, _, cutting := p.problem.times(ply, 1)
	return 1 + float64(cutting) + float64(priced(ply.plyLength, Money(p.clothPrice(c)))), nil
}

// polish lays the markers of the best candidate with a larger budget, and tries more ways of
// handing the cloth out.
func (p *planner) polish(params Params) error {
	iterations := params.MarkerIterations
	if iterations <= 0 {
		iterations = defaultMarkerIterations
	}
	stacks := slices.Clone(p.best.stacks)
	for k := range stacks {
		ply, err := p.layer.lay(p.ctx, stacks[k].class, stacks[k].ratio, iterations)
		if err != nil {
			return err
		}
		stacks[k].ply = ply
	}
	polished := p.price(stacks)
	if polished.better(&p.best) {
		p.best = polished
	}
	p.shuffle(stacks)
	return p.overFaults(iterations)
}

// shuffles is how many random orders of handing out are tried for the final stacks.
const shuffles = 200

// shuffle tries random orders of stacks and bolts.
func (p *planner) shuffle(stacks []stack) {
	if len(p.problem.Bolts) < 2 && len(stacks) < 2 {
		return
	}
	order := longestFirst(stacks)
	bolts := slices.Clone(p.shelf.orders[0])
	for range shuffles {
		p.rng.Shuffle(len(bolts), func(i, j int) { bolts[i], bolts[j] = bolts[j], bolts[i] })
		p.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		c := candidate{stacks: stacks, hand: p.shelf.try(stacks, order, bolts, nil)}
		p.sum(&c)
		if c.better(&p.best) {
			p.best = c
		}
	}
}

// overFaults tries to lay a stack of one ply over the first fault of a bolt, its pieces around
// the fault, where skipping the fault costs more.
func (p *planner) overFaults(iterations int) error {
	for b := range p.problem.Bolts {
		free := p.shelf.bolts[b].free
		if len(p.problem.Bolts[b].Faults) == 0 || len(free) < 2 || p.best.hand.used[b] <= free[0].to {
			continue
		}
		for k := range p.best.stacks {
			if err := p.overFault(b, k, iterations); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *planner) overFault(b, k, iterations int) error {
	s := p.best.stacks[k]
	bolt := &p.problem.Bolts[b]
	if s.plies != 1 || s.ply.matched || s.ply.way == FoldedLengthwise || bolt.Width < s.ply.instance.Width || len(s.ply.instance.Faults) > 0 {
		return nil
	}
	// The ply begins where the plies before the fault end now.
	from := p.shelf.bolts[b].free[0].from
	for other := range p.best.stacks {
		for _, d := range p.best.hand.draws[other] {
			end := d.From + d.Pitch*length.Length(d.Plies-1) + p.best.stacks[other].ply.plyLength
			if other != k && d.Bolt == b && end <= p.shelf.bolts[b].free[0].to {
				from = max(from, end)
			}
		}
	}
	ply, err := p.layer.around(p.ctx, s, bolt, from, iterations)
	if ply == nil || err != nil {
		return err
	}
	stacks := slices.Clone(p.best.stacks)
	stacks[k].ply = ply
	for _, bolts := range p.shelf.orders {
		c := candidate{stacks: stacks}
		c.hand = p.shelf.try(stacks, longestFirst(stacks), bolts, []pin{{k, b, from, ply}})
		p.sum(&c)
		if c.better(&p.best) {
			p.best = c
		}
	}
	return nil
}

// around lays a ratio at a place of a bolt, its faults in their place; nil if it does not fit.
func (l *layer) around(ctx context.Context, s stack, bolt *Bolt, from length.Length, iterations int) (*laid, error) {
	ends := l.problem.Rules.EndLoss
	ply := l.ply(s.class, s.ratio)
	room := min(l.classes[s.class].longest, bolt.Length-from-2*ends)
	if room <= 0 {
		return nil, nil
	}
	ply.instance.Faults = faultsFrom(bolt, from+ends, ply.instance.Width)
	if len(ply.instance.Faults) == 0 {
		return nil, nil
	}
	result, err := marker.Solve(ctx, ply.instance, marker.Params{Seed: l.seed, Iterations: iterations})
	if err != nil || result.Length > room {
		return nil, err
	}
	ply.result, ply.fits, ply.iterations = result, true, iterations
	ply.plyLength = result.Length + 2*ends
	return ply, nil
}

// faultsFrom lists the faults of a bolt as they lie on a marker that begins at a place of it.
func faultsFrom(bolt *Bolt, start, width length.Length) []marker.Fault {
	var faults []marker.Fault
	for _, f := range bolt.Faults {
		if f.Y+f.Length <= start || f.X >= width {
			continue
		}
		f.Length += min(0, f.Y-start)
		f.Y = max(0, f.Y-start)
		f.Width = min(f.Width, width-f.X)
		faults = append(faults, f)
	}
	return faults
}

// plan turns the best candidate into a plan.
func (p *planner) plan(uncut []Uncut) Plan {
	plan := Plan{Uncut: uncut, OverCut: make([]int, len(p.problem.Garments)), Status: StatusWithin}
	cut := make([]int, len(p.problem.Garments))
	for _, k := range p.best.hand.order {
		if l, ok := p.lay(p.best.stacks[k], k); ok {
			plan.Lays = append(plan.Lays, l)
			plan.CutCost += l.Cost
			for g, n := range l.PerPly {
				cut[g] += n * l.Plies
			}
		}
	}
	p.takeCloth(&plan)
	met := slices.Clone(p.demand)
	for g, n := range p.demand {
		if cut[g] < n {
			met[g] = cut[g]
			plan.Uncut = append(plan.Uncut, p.layer.shortage(g, n-cut[g], p.singleLength(g)))
		}
		plan.OverCut[g] = max(0, cut[g]-n)
	}
	plan.Cost = plan.ClothCost + plan.CutCost
	b := p.layer.boundsOf(met)
	plan.Bound, plan.LengthBound = b.cost, b.length
	switch {
	case plan.Cost == plan.Bound:
		plan.Status = StatusOptimal
	case p.ctx.Err() != nil:
		plan.Status = StatusOutOfTime
	}
	plan.Limits = p.limits(&plan)
	return plan
}

// singleLength is the ply of one garment by itself, in the widest class that gives it.
func (p *planner) singleLength(g int) length.Length {
	ratio := make([]int, len(p.problem.Garments))
	ratio[g] = 1
	for c, gives := range p.gives[g] {
		if known := p.layer.laid[ratioKey(c, ratio)]; gives && known != nil {
			return known.plyLength
		}
	}
	return 0
}

// lay turns a stack into a lay; false if no ply of it found cloth.
func (p *planner) lay(s stack, k int) (Lay, bool) {
	plies := s.plies - p.best.hand.short[k]
	if plies == 0 {
		return Lay{}, false
	}
	l := Lay{
		PerPly: slices.Clone(s.ratio), Instance: s.ply.instance, Marker: s.ply.result, Owners: s.ply.owners,
		Way: s.ply.way, Plies: plies, Draws: p.best.hand.draws[k], PlyLength: s.ply.plyLength, CutEdge: s.ply.cutEdge,
	}
	// How long the search took is no part of the plan, which must not depend on the machine.
	l.Marker.Stats = marker.Stats{Engine: s.ply.result.Stats.Engine}
	l.SetUp, l.Spread, l.Cut, l.Cost = p.problem.times(s.ply, plies)
	return l, true
}

// takeCloth fills in what the plan takes from each bolt and what is to be bought.
func (p *planner) takeCloth(plan *Plan) {
	for b, used := range p.best.hand.used {
		if used == 0 {
			continue
		}
		left, cost := p.problem.boltCost(b, used)
		use := BoltUse{Bolt: b, Used: used, Left: left, Keep: p.problem.keeps(left), Cost: cost}
		plan.Uses = append(plan.Uses, use)
		plan.ClothCost += cost
		plan.LengthUsed += used
		if !use.Keep {
			plan.LengthUsed += left
		}
	}
	if p.best.hand.bought > 0 {
		purchase := p.problem.purchase(p.best.hand.bought)
		plan.Purchases = append(plan.Purchases, purchase)
		plan.ClothCost += purchase.Cost
		plan.LengthUsed += purchase.Buy
	}
}

// limits says in words what holds the plan back.
func (p *planner) limits(plan *Plan) []string {
	var out []string
	rules := &p.problem.Rules
	byTable, byPlies, open := 0, 0, 0
	for i := range plan.Lays {
		l := &plan.Lays[i]
		if rules.TableLength > 0 && l.PlyLength+p.shortestMore(l) > rules.TableLength {
			byTable++
		}
		layers := l.Plies
		if l.Way == FoldedLengthwise {
			layers *= 2
		}
		if layers+1 > rules.MaxPlies {
			byPlies++
		}
		if l.Way != rules.Spread {
			open++
		}
	}
	if len(plan.Lays) > 1 && byTable > 0 {
		out = append(out, fmt.Sprintf("Table: %d of %d lays are as long as the table of %s allows.", byTable, len(plan.Lays), words.ClothBoth(rules.TableLength, length.Down)))
	}
	if len(plan.Lays) > 1 && byPlies > 0 {
		out = append(out, fmt.Sprintf("Plies: %d of %d lays are as thick as the cutter takes, %d layers.", byPlies, len(plan.Lays), rules.MaxPlies))
	}
	if open > 0 {
		out = append(out, fmt.Sprintf("Spread: %d of %d lays are spread face one way, as %s would turn or mirror a piece that may not be, or does not fit.", open, len(plan.Lays), rules.Spread))
	}
	return append(out, p.clothLimits(plan)...)
}

// shortestMore is about the least length that one more garment of a lay's kinds would add.
func (p *planner) shortestMore(l *Lay) length.Length {
	least := length.Length(0)
	for g, n := range l.PerPly {
		if n > 0 {
			more := length.Length(float64(p.layer.area[g]) / float64(max(1, l.Instance.Width)))
			if least == 0 || more < least {
				least = more
			}
		}
	}
	return least
}

func (p *planner) clothLimits(plan *Plan) []string {
	var out []string
	lost := length.Length(0)
	lots := map[string]bool{}
	for _, u := range plan.Uses {
		if !u.Keep {
			lost += u.Left
		}
		lots[p.problem.Bolts[u.Bolt].Lot] = true
	}
	if lost > 0 {
		out = append(out, fmt.Sprintf("Bolts: ends of %s in all are too short to keep.", words.ClothBoth(lost, length.Up)))
	}
	for _, purchase := range plan.Purchases {
		out = append(out, fmt.Sprintf("Bolts: what is on the shelf does not suffice; %s is to be bought.", words.ClothBoth(purchase.Buy, length.Up)))
	}
	if sources := len(lots) + len(plan.Purchases); sources > 1 {
		out = append(out, fmt.Sprintf("Lots: the cloth comes from %d shade lots; each ply is of one lot and gives whole garments, so keep the pieces of a ply together.", sources))
	}
	return out
}

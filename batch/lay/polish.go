package lay

import (
	"context"
	"slices"

	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// polish lays the markers of the best candidate with a larger budget, and tries more ways of
// handing the cloth out.
func (p *planner) polish() error {
	stacks := slices.Clone(p.best.stacks)
	for k := range stacks {
		p.share = runShare + (1-runShare)*float64(k)/float64(len(stacks))
		p.report()
		ply, err := p.layer.lay(p.work, stacks[k].class, stacks[k].ratio, p.markerMost)
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
	err := p.overFaults()
	p.share = 1
	p.report()
	return err
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

// maxOverFaults is how often laying around a fault is tried.
const maxOverFaults = 60

// overFaults tries to lay a stack of one ply over the first fault of a bolt, its pieces around
// the fault, where skipping the fault costs more.
func (p *planner) overFaults() error {
	tries := 0
	for b := range p.problem.Bolts {
		free := p.shelf.bolts[b].free
		if len(p.problem.Bolts[b].Faults) == 0 || len(free) < 2 || p.best.hand.used[b] <= free[0].to {
			continue
		}
		for k := range p.best.stacks {
			if !p.mayGoAround(k, b) {
				continue
			}
			if tries++; tries > maxOverFaults {
				return nil
			}
			if err := p.overFault(b, k); err != nil {
				return err
			}
		}
	}
	return nil
}

// mayGoAround tells whether a stack can be laid around the faults of a bolt.
func (p *planner) mayGoAround(k, b int) bool {
	s := &p.best.stacks[k]
	return s.plies == 1 && !s.ply.matched && s.ply.way != FoldedLengthwise && len(s.ply.instance.Faults) == 0 &&
		p.problem.Bolts[b].Width >= s.ply.instance.Width && s.ply.takes(&p.problem.Bolts[b])
}

// overFault lays a stack where the plies before the first fault of a bolt end now.
func (p *planner) overFault(b, k int) error {
	bolt, before := &p.problem.Bolts[b], p.shelf.bolts[b].free[0]
	from := before.from
	for other := range p.best.stacks {
		for _, d := range p.best.hand.draws[other] {
			end := d.From + d.Pitch*length.Length(d.Plies-1) + p.best.stacks[other].ply.plyLength
			if other != k && d.Bolt == b && end <= before.to {
				from = max(from, end)
			}
		}
	}
	ply, err := p.layer.around(p.work, p.best.stacks[k], bolt, from, p.markerMost)
	if ply == nil || err != nil {
		return err
	}
	stacks := slices.Clone(p.best.stacks)
	stacks[k].ply = ply
	for _, bolts := range p.shelf.orders {
		c := candidate{stacks: stacks, hand: p.shelf.try(stacks, longestFirst(stacks), bolts, []pin{{k, b, from, ply}})}
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

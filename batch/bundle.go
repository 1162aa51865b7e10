package batch

import (
	"bytes"
	"context"
	"encoding/json"
	"slices"
	"strconv"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/words"
)

// BundleLay says how many garments' pieces a bundle takes from a lay.
type BundleLay struct {
	// Cloth is the index into Plan.Cloths, Lay into its plan's lays.
	Cloth, Lay int
	// Garments is how many garments' pieces come from there.
	Garments int
	// Part names the pieces, where others of the same garments come from another lay; empty
	// for whole garments.
	Part string
	// Lot is the shade lot of their plies; none in plans that were made before bundles had one.
	Lot Lot
}

// Bundle is the pieces of some garments of one colourway, size and shade lot, tied together.
type Bundle struct {
	Number int
	// Garment is the index into Plan.Garments.
	Garment  int
	Quantity int
	// Lays that its pieces come out of, in all cloths.
	Lays []BundleLay
	// Pieces lists what must be in it: name and count.
	Pieces []BundlePiece
}

// BundlePiece is one kind of piece in a bundle.
type BundlePiece struct {
	Cloth string
	Name  string
	Count int
}

// LotsIn lists the shade lots of a bundle in one cloth: one, but for plans that were made before
// bundles were kept to one lot.
func (b Bundle) LotsIn(cloth int) []Lot {
	var lots []Lot
	for _, from := range b.Lays {
		if from.Cloth == cloth && !slices.Contains(lots, from.Lot) {
			lots = append(lots, from.Lot)
		}
	}
	return lots
}

// bundles ties the garments of each colourway and size in bundles of at most BundleSize, each of
// one shade lot in every cloth, and says which lays their pieces come from, lay by lay.
func (p *planner) bundles() {
	size := max(1, p.in.Workroom.BundleSize)
	for i, g := range p.plan.Garments {
		var supplies []supply
		for c, planned := range p.plan.Cloths {
			if from, ok := supplyOf(c, planned, i); ok {
				supplies = append(supplies, from)
			}
		}
		for left := g.Quantity; left > 0; {
			bundle := Bundle{Number: len(p.plan.Bundles) + 1, Garment: i, Quantity: min(size, left)}
			lots := make([]Lot, len(supplies))
			for c := range supplies {
				count := 0
				if lots[c], count = supplies[c].next(); count > 0 {
					bundle.Quantity = min(bundle.Quantity, count)
				}
			}
			for c := range supplies {
				supplies[c].take(&bundle, lots[c], bundle.Quantity)
				bundle.list(p.plan.Cloths[supplies[c].cloth])
			}
			left -= bundle.Quantity
			p.plan.Bundles = append(p.plan.Bundles, bundle)
		}
	}
}

// list adds what must be in the bundle of one cloth.
func (b *Bundle) list(planned ClothPlan) {
	whole := slices.Index(planned.Garments, b.Garment)
	for _, piece := range planned.Problem.Garments[whole].Pieces {
		b.Pieces = append(b.Pieces, BundlePiece{Cloth: planned.Cloth.Name, Name: piece.Name, Count: piece.Copies * b.Quantity})
	}
}

// Step is one step of the work with its minutes at standard pace.
type Step struct {
	// Stage is "cut", "bundle" or a stage of a style's operations.
	Stage string
	// Style is empty for cutting.
	Style string
	Name  string
	// Times it is done, SetUp once and Each every time.
	Times       int
	SetUp, Each time.Duration
	Minutes     time.Duration
	Basis       string
}

// StageMinutes sums the steps of a stage.
type StageMinutes struct {
	Stage   string
	Minutes time.Duration
}

// The stages that come before a style's own operations.
const (
	StageCut    = "cut"
	StageBundle = "bundle"
)

// steps lists all work: each lay, the bundles, then the operations of each style with their
// set-up once for the batch.
func (p *planner) steps() {
	for _, planned := range p.plan.Cloths {
		for i, l := range planned.Plan.Lays {
			each := l.Spread + l.Cut
			p.plan.Steps = append(p.plan.Steps, Step{
				Stage: StageCut, Name: planned.Cloth.Name + ", lay " + strconv.Itoa(i+1), Times: 1, SetUp: l.SetUp, Each: each, Minutes: l.SetUp + each,
			})
		}
	}
	if count := len(p.plan.Bundles); count > 0 {
		each := p.in.Workroom.PerBundle
		p.plan.Steps = append(p.plan.Steps, Step{Stage: StageBundle, Name: "tie and ticket bundles", Times: count, Each: each, Minutes: time.Duration(count) * each})
	}
	for _, style := range p.in.Styles {
		quantity := 0
		for _, g := range p.plan.Garments {
			if _, s := p.styleOf(g); s.ID == style.ID {
				quantity += g.Quantity
			}
		}
		if quantity == 0 {
			continue
		}
		for _, o := range style.Operations {
			p.plan.Steps = append(p.plan.Steps, Step{
				Stage: string(o.Stage), Style: style.Name, Name: o.Name, Times: quantity, SetUp: o.SetUp, Each: o.Each,
				Minutes: o.SetUp + time.Duration(quantity)*o.Each, Basis: o.Basis,
			})
		}
	}
	p.sumStages()
}

func (p *planner) sumStages() {
	stages := []string{StageCut, StageBundle}
	for _, stage := range garment.Stages() {
		stages = append(stages, string(stage))
	}
	for _, stage := range stages {
		total := StageMinutes{Stage: stage}
		for _, step := range p.plan.Steps {
			if step.Stage == stage {
				total.Minutes += step.Minutes
			}
		}
		if total.Minutes > 0 {
			p.plan.Stages = append(p.plan.Stages, total)
			p.plan.Minutes += total.Minutes
		}
	}
	efficiency := p.in.Workroom.Efficiency
	if efficiency <= 0 {
		efficiency = 1000
	}
	p.plan.Worked = p.plan.Minutes * 1000 / time.Duration(efficiency)
}

// finish fills in everything that follows from the lays.
func (p *planner) finish(ctx context.Context) (Plan, error) {
	if err := p.notions(context.WithoutCancel(ctx)); err != nil {
		return Plan{}, err
	}
	if err := p.follow(); err != nil {
		return Plan{}, err
	}
	p.plan.Cautions = cautionsFor(p.in, p.plan)
	if err := p.choices(ctx); err != nil {
		return Plan{}, err
	}
	if p.params.Progress != nil {
		p.params.Progress(Progress{Share: 1, Message: p.plan.Summary()})
	}
	return p.plan, nil
}

// follow works out what follows from the lays and notions: bundles, steps, when all is done, and
// what is to be bought.
func (p *planner) follow() error {
	plan := &p.plan
	plan.Bundles, plan.Steps, plan.Stages, plan.Minutes, plan.Shopping = nil, nil, nil, 0, nil
	plan.DoneBy, plan.Late = time.Time{}, nil
	p.bundles()
	p.steps()
	if done, ok := p.in.Workroom.Calendar.DoneBy(plan.Start, plan.Worked); ok {
		plan.DoneBy = done
		p.late(done)
	}
	return p.shopping()
}

// late lists the orders that are due before the batch is done, each once.
func (p *planner) late(done time.Time) {
	seen := map[string]bool{}
	for _, line := range p.plan.Lines {
		if line.Due.IsZero() || seen[line.Order] || sameDay(line.Due, done) || !line.Due.Before(done) {
			continue
		}
		seen[line.Order] = true
		p.plan.Late = append(p.plan.Late, LateOrder{
			Order: line.Order, Customer: line.Customer, Due: line.Due, Days: int(done.Sub(line.Due).Hours()+12) / 24,
		})
	}
}

// Lays counts the lays of all cloths.
func (p Plan) Lays() int {
	count := 0
	for _, planned := range p.Cloths {
		count += len(planned.Plan.Lays)
	}
	return count
}

// Cut counts the garments that the plan cuts for its orders.
func (p Plan) Cut() int {
	count := 0
	for _, g := range p.Garments {
		count += g.Quantity
	}
	return count
}

// ClothCost is what all cloth of the plan costs.
func (p Plan) ClothCost() lay.Money {
	var total lay.Money
	for _, planned := range p.Cloths {
		total += planned.Plan.ClothCost
	}
	return total
}

// BuysCloth reports whether some cloth of the plan is still to be bought.
func (p Plan) BuysCloth() bool {
	return slices.ContainsFunc(p.Cloths, func(c ClothPlan) bool { return len(c.Plan.Purchases) > 0 })
}

// Cost is what cloth and cutting of the plan cost.
func (p Plan) Cost() lay.Money {
	var total lay.Money
	for _, planned := range p.Cloths {
		total += planned.Plan.Cost
	}
	return total
}

// SameWork reports whether two plans of the same lays also agree in what the cloths cost, in
// bundles, notions, steps and when all is done.
func (p Plan) SameWork(other Plan) bool {
	work := func(p Plan) Plan {
		out := Plan{Notions: p.Notions, Bundles: p.Bundles, Steps: p.Steps, Worked: p.Worked, DoneBy: p.DoneBy, Late: p.Late, Shopping: p.Shopping}
		for _, planned := range p.Cloths {
			out.Cloths = append(out.Cloths, ClothPlan{Plan: lay.Plan{Cost: planned.Plan.Cost, ClothCost: planned.Plan.ClothCost}})
		}
		return out
	}
	// Written, as a plan is stored.
	a, errA := json.Marshal(work(p))
	b, errB := json.Marshal(work(other))
	return errA == nil && errB == nil && bytes.Equal(a, b)
}

// Summary says in a few words what the plan holds.
func (p Plan) Summary() string {
	return words.Count(p.Cut(), "garment") + " in " + words.Count(p.Lays(), "lay") + " of " + words.Count(len(p.Cloths), "cloth")
}

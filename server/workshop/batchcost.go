package workshop

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// BatchCosts is what the garments of a planned batch cost, beside their standard cost sheets.
type BatchCosts struct {
	Batch    store.Batch
	Garments []BatchGarment
	Cloths   []BatchCloth
	// Cloth is what all cloth of the batch counts for, the sum of the garments' parts.
	Cloth money.Amount
	// Standard and Actual are the sums over all garments; Difference is Actual − Standard.
	Standard, Actual, Difference money.Amount
	// Kept is the day on which these were kept for good; nil where they follow the shelf.
	Kept *time.Time
	// Stages sets the minutes worked, as far as they were noted, beside the standard; Noted is
	// what was noted of the batch.
	Stages []StageMinutes     `json:"-"`
	Noted  store.BatchActuals `json:"-"`
}

// BatchGarment is one colourway and size of a batch.
type BatchGarment struct {
	Colourway                  int64
	Style, ColourwayName, Size string
	Quantity                   int
	// Cloth is the part of the batch's cloth that all garments of this kind bear, to the cent.
	Cloth           money.Amount
	Compared        costing.Comparison
	Sheet, Standard costing.Sheet
}

// BatchCloth is the cloth of a batch and what it counts for.
type BatchCloth struct {
	Cloth string
	ID    int64
	// Unit is that of all its lengths; empty in costs that were kept before it was noted.
	Unit  string
	Drawn Drawn
	// Parts is the cost shared out to the garments of the plan to the cent.
	Parts []money.Amount
}

// Planned tells that the costs are those of a plan: not all of the batch is cut yet.
func (b BatchCosts) Planned() bool { return b.Batch.State == "draft" || b.Batch.State == "released" }

// Heading is what the costs are called: those of a draft, or of a batch that isn't all cut yet, are not
// actual.
func (b BatchCosts) Heading() string {
	if b.Planned() {
		return "As planned"
	}
	return "Actual"
}

// BatchCosts costs a batch by its plan, cloth at what the plan counts it for, with the minutes
// worked and the expenses that were noted of it, and compares it with the standard cost sheets.
// Once costs have been kept, prices and lengths are those that were kept.
func (s *Service) BatchCosts(ctx context.Context, workshop, batchID int64) (BatchCosts, error) {
	row, err := s.Batch(ctx, workshop, batchID)
	if err != nil {
		return BatchCosts{}, err
	}
	kept, err := s.store.BatchSnapshots(ctx, workshop, batchID)
	if err != nil {
		return BatchCosts{}, err
	}
	var costs BatchCosts
	if len(kept) > 0 {
		costs, err = keptCosts(row, kept[0])
	} else {
		costs, err = s.batchCosts(ctx, workshop, row)
	}
	if err != nil {
		return BatchCosts{}, err
	}
	if costs.Noted, err = s.store.BatchActuals(ctx, workshop, batchID); err != nil {
		return BatchCosts{}, err
	}
	return costs, costs.take()
}

func (s *Service) batchCosts(ctx context.Context, workshop int64, row store.Batch) (BatchCosts, error) {
	plan, err := s.MadePlan(ctx, workshop, row.ID)
	if err != nil {
		return BatchCosts{}, err
	}
	if plan == nil {
		return BatchCosts{}, notThere("plan")
	}
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return BatchCosts{}, err
	}
	coster := &batchCoster{service: s, all: all, plan: plan, costs: BatchCosts{Batch: row, Cloth: all.currency.Zero(), Standard: all.currency.Zero(), Actual: all.currency.Zero()}}
	if coster.settings, err = Choices(all.Settings); err != nil {
		return BatchCosts{}, err
	}
	if err := coster.cloths(); err != nil {
		return BatchCosts{}, err
	}
	for i := range plan.Garments {
		if plan.Garments[i].Quantity > 0 {
			if err := coster.garment(ctx, i); err != nil {
				return BatchCosts{}, err
			}
		}
	}
	coster.costs.Difference, err = coster.costs.Actual.Sub(coster.costs.Standard)
	return coster.costs, err
}

// batchCoster works out the actual cost sheets of one batch.
type batchCoster struct {
	service  *Service
	all      stock
	settings costing.Settings
	plan     *batch.Plan
	// taken and prices by cloth, in the order of the plan.
	taken [][]batch.Taken
	costs BatchCosts
	// standards by colourway, so that each is laid once.
	standards map[int64]standardLine
}

type standardLine struct {
	prices StylePrices
	inputs []costing.Inputs
}

func (b *batchCoster) cloths() error {
	for _, planned := range b.plan.Cloths {
		taken, err := batch.TakenOf(planned)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(b.all.Cloths, func(c store.Cloth) bool { return c.ID == planned.Cloth.ID })
		if at < 0 {
			return store.Wrong("", "The cloth "+planned.Cloth.Name+" of this plan is gone. Plan the batch again.")
		}
		cloth := BatchCloth{Cloth: planned.Cloth.Name, ID: planned.Cloth.ID, Unit: unitNamed(b.all.Cloths[at].PriceUnit).Symbol}
		if cloth.Drawn, err = drawn(planned, cloth.Unit, b.all.currency); err != nil {
			return err
		}
		weights := make([]money.Decimal, len(b.plan.Garments))
		for _, t := range taken {
			weights[t.Garment] = money.Int(int64(t.Cost))
		}
		if cloth.Drawn.Cost.Sign() > 0 {
			if cloth.Parts, err = money.AllocateBy(b.settings.OddCent, cloth.Drawn.Cost, weights); err != nil {
				return err
			}
		}
		if b.costs.Cloth, err = b.costs.Cloth.Add(cloth.Drawn.Cost); err != nil {
			return err
		}
		b.taken = append(b.taken, taken)
		b.costs.Cloths = append(b.costs.Cloths, cloth)
	}
	return nil
}

// drawn is what a plan takes of a cloth, bolt by bolt, and what it counts that for.
func drawn(planned batch.ClothPlan, unit string, currency money.Currency) (Drawn, error) {
	d := Drawn{Cost: InCoins(planned.Plan.ClothCost, currency)}
	var cost lay.Money
	var err error
	for _, use := range planned.Plan.Uses {
		bolt := planned.Bolts[use.Bolt]
		one := costing.Drawn{Layer: use.Bolt, Label: bolt.Name}
		if one.Quantity, err = InPriceUnit(batch.TakenFrom(use), unit); err != nil {
			return d, err
		}
		if one.UnitCost, err = perUnit(bolt.PricePerMetre, unit, currency); err != nil {
			return d, err
		}
		d.Draw.Drawn, cost = append(d.Draw.Drawn, one), cost+use.Cost
	}
	if d.Draw.Quantity, err = InPriceUnit(batch.FromShelf(planned), unit); err != nil {
		return d, err
	}
	if d.Total, err = InPriceUnit(batch.ClothTaken(planned), unit); err != nil {
		return d, err
	}
	if d.Short, err = InPriceUnit(batch.ClothTaken(planned)-batch.FromShelf(planned), unit); err != nil {
		return d, err
	}
	d.Draw.Cost = InCoins(cost, currency)
	d.Bought, err = d.Cost.Sub(d.Draw.Cost)
	return d, err
}

// perUnit turns what package lay counts per metre into money per price unit.
func perUnit(perMetre lay.Money, unit string, currency money.Currency) (money.Amount, error) {
	price := Money(perMetre, currency)
	if unit != "yd" {
		return price, nil
	}
	yard, err := price.Mul(money.MustParse("0.9144"))
	return yard.RoundTo(5, money.HalfUp), err // a price per yard had fewer decimals than that
}

func (b *batchCoster) garment(ctx context.Context, at int) error {
	g := b.plan.Garments[at]
	line, err := b.standard(ctx, g.ColourwayID)
	if err != nil {
		return err
	}
	size := slices.Index(line.prices.Sizes, g.Size)
	if size < 0 {
		return store.Wrong("", fmt.Sprintf("%s has no size %s any more. Plan the batch again.", g.Style, g.Size))
	}
	standard, err := costing.NewSheet(line.inputs[size])
	if err != nil {
		return asFault(err)
	}
	in := line.inputs[size]
	if err := b.actual(&in, at, line); err != nil {
		return err
	}
	sheet, err := costing.NewSheet(in)
	if err != nil {
		return asFault(err)
	}
	compared, err := costing.Compare(standard, sheet)
	if err != nil {
		return err
	}
	count := money.Int(int64(g.Quantity))
	for _, sum := range []struct {
		into *money.Amount
		one  money.Amount
	}{{&b.costs.Standard, standard.Total}, {&b.costs.Actual, sheet.Total}} {
		several, err := sum.one.Mul(count)
		if err != nil {
			return err
		}
		if *sum.into, err = sum.into.Add(several); err != nil {
			return err
		}
	}
	part := b.all.currency.Zero()
	for _, cloth := range b.costs.Cloths {
		if len(cloth.Parts) > at {
			if part, err = part.Add(cloth.Parts[at]); err != nil {
				return err
			}
		}
	}
	b.costs.Garments = append(b.costs.Garments, BatchGarment{
		Cloth:     part,
		Colourway: g.ColourwayID, Style: g.Style, ColourwayName: g.Colourway, Size: g.Size, Quantity: g.Quantity,
		Compared: compared, Sheet: sheet, Standard: standard,
	})
	return nil
}

func (b *batchCoster) standard(ctx context.Context, colourway int64) (standardLine, error) {
	if line, known := b.standards[colourway]; known {
		return line, nil
	}
	var sizes []string
	for _, g := range b.plan.Garments {
		if g.ColourwayID == colourway {
			sizes = append(sizes, g.Size) // also those that the style isn't offered in
		}
	}
	prices, inputs, err := b.service.standard(ctx, b.all, colourway, sizes...)
	if err != nil {
		return standardLine{}, err
	}
	if b.standards == nil {
		b.standards = map[int64]standardLine{}
	}
	b.standards[colourway] = standardLine{prices, inputs}
	return b.standards[colourway], nil
}

// actual turns standard inputs into those of the batch: its own cloth, lays, bundles and size.
func (b *batchCoster) actual(in *costing.Inputs, at int, line standardLine) error {
	g := b.plan.Garments[at]
	quantity := money.Int(int64(g.Quantity))
	ofStyle := 0
	for _, other := range b.plan.Garments {
		if other.Style == g.Style {
			ofStyle += other.Quantity
		}
	}
	in.Garments = money.Int(int64(ofStyle))
	b.shareExpenses(in, line, g.ColourwayID)
	in.Cloths = nil
	var cutting time.Duration
	for c, planned := range b.plan.Cloths {
		for _, t := range b.taken[c] {
			if t.Garment != at {
				continue
			}
			cloth, err := b.cloth(c, t, quantity)
			if err != nil {
				return err
			}
			cloth.Role = roleOf(line.prices, g.Size, planned.Cloth.ID)
			in.Cloths = append(in.Cloths, cloth)
			cutting += t.SetUp + t.Cutting
		}
	}
	slices.SortStableFunc(in.Cloths, func(x, y costing.Cloth) int {
		return indexOfRole(line.inputs[0].Cloths, x) - indexOfRole(line.inputs[0].Cloths, y)
	})
	var bundles int
	for _, bundle := range b.plan.Bundles {
		if bundle.Garment == at {
			bundles++
		}
	}
	in.Operations = slices.Clone(in.Operations)
	for i := range in.Operations {
		var whole money.Decimal
		switch in.Operations[i].Name {
		case CuttingName:
			whole = store.DecimalMinutes(cutting)
		case BundlingName:
			whole = store.DecimalMinutes(time.Duration(bundles) * b.all.input.Workroom.PerBundle)
		default:
			continue
		}
		var err error
		if in.Operations[i].Run, err = money.Ratio(whole, quantity, 3, money.HalfUp); err != nil {
			return err
		}
		in.Operations[i].SetUp = money.Decimal{} // it is among the minutes of the batch's own lays
	}
	return nil
}

// shareExpenses has what is paid for each batch of one colourway shared by its garments alone.
func (b *batchCoster) shareExpenses(in *costing.Inputs, line standardLine, colourway int64) {
	garments := 0
	for _, other := range b.plan.Garments {
		if other.ColourwayID == colourway {
			garments += other.Quantity
		}
	}
	in.Expenses = slices.Clone(in.Expenses)
	known := b.all.ExpensesOf(line.prices.Style.ID)
	for i, at := range line.prices.Sources.Expenses {
		if e := &in.Expenses[i]; e.PerBatch && known[at].ColourwayID != nil {
			e.PerBatch, e.Garments = false, money.Int(int64(garments))
		}
	}
}

func indexOfRole(cloths []costing.Cloth, cloth costing.Cloth) int {
	return slices.IndexFunc(cloths, func(c costing.Cloth) bool { return c.Role == cloth.Role && c.Name == cloth.Name })
}

func roleOf(prices StylePrices, size string, cloth int64) string {
	for _, use := range prices.Use.Uses[size] {
		if use.Cloth.ID == cloth {
			return string(use.Role)
		}
	}
	return string(garment.Body)
}

// cloth is what one garment takes of a cloth of the batch, at what its kind's part of it counts for.
func (b *batchCoster) cloth(c int, t batch.Taken, quantity money.Decimal) (costing.Cloth, error) {
	planned := b.costs.Cloths[c]
	each := func(l length.Length) (money.Decimal, error) {
		whole, err := InPriceUnit(l, planned.Unit)
		if err != nil {
			return whole, err
		}
		return whole.Div(quantity)
	}
	cloth := costing.Cloth{Name: planned.Cloth, Unit: planned.Unit, Price: costing.LandedPrice{List: b.all.currency.Zero()}}
	var err error
	if cloth.Length, err = each(t.Marker); err != nil {
		return cloth, err
	}
	if cloth.EndsAndLosses, err = each(t.Losses); err != nil {
		return cloth, err
	}
	if len(planned.Parts) > 0 {
		cloth.Price.List = planned.Parts[t.Garment]
	}
	if cloth.Price.For, err = cloth.Length.Add(cloth.EndsAndLosses); err != nil {
		return cloth, err
	}
	cloth.Price.For, err = cloth.Price.For.Mul(quantity)
	return cloth, err
}

// ClothNamed is the number of a cloth of the batch; 0 if it has none of that name.
func (b *BatchCosts) ClothNamed(name string) int64 {
	for _, cloth := range b.Cloths {
		if cloth.Cloth == name {
			return cloth.ID
		}
	}
	return 0
}

// keptBatch is how the costs of a batch are written into a snapshot.
type keptBatch struct {
	Costs BatchCosts `json:"costs"`
}

// KeepBatchCosts stores the cost sheets of a batch as they are now, for good. Costs that were kept
// before stay. What is noted of the batch is not part of them: it may still come.
func (s *Service) KeepBatchCosts(ctx context.Context, workshop, batchID int64) error {
	row, err := s.Batch(ctx, workshop, batchID)
	if err != nil {
		return err
	}
	kept, err := s.store.BatchSnapshots(ctx, workshop, batchID)
	if err != nil || len(kept) > 0 {
		return err
	}
	costs, err := s.batchCosts(ctx, workshop, row)
	if err != nil {
		return err
	}
	content, err := json.Marshal([]keptBatch{{costs}})
	if err != nil {
		return err
	}
	_, err = s.store.AddCostSnapshot(ctx, workshop, store.CostSnapshot{BatchID: &batchID, Label: row.Name, Sheets: content})
	return err
}

func keptCosts(row store.Batch, snapshot store.CostSnapshot) (BatchCosts, error) {
	var kept []keptBatch
	if err := json.Unmarshal(snapshot.Sheets, &kept); err != nil || len(kept) != 1 {
		return BatchCosts{}, fmt.Errorf("the costs that were kept of batch %d can't be read: %w", row.ID, err)
	}
	costs := kept[0].Costs
	costs.Batch, costs.Kept = row, &snapshot.CreatedAt
	return costs, nil
}

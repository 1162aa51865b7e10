package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"yardwright/batch"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// LinePrices are the prices of one colourway as they are and as they would be; Problem says
// why it can't be priced.
type LinePrices struct {
	Colourway  store.Colourway
	Now, Asked StylePrices
	Problem    string
}

// PriceLine prices every colourway that is not put away, as it is and after a change.
func (s *Service) PriceLine(ctx context.Context, workshop int64, change costing.Change) ([]LinePrices, error) {
	if err := change.Check(); err != nil {
		return nil, asFault(err)
	}
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return nil, err
	}
	if err := s.prime(ctx, workshop); err != nil {
		return nil, err
	}
	ways := all.InUse()
	lines := make([]LinePrices, len(ways))
	for i, way := range ways {
		lines[i].Colourway = way
		now, inputs, err := s.standard(ctx, all, way.ID)
		if err == nil {
			lines[i].Asked = now
			if err = now.reprice(inputs, costing.Change{}); err == nil && change != (costing.Change{}) {
				err = lines[i].Asked.reprice(inputs, change)
			}
			lines[i].Now = now
		}
		var fault *store.Fault
		switch {
		case errors.As(err, &fault):
			lines[i].Problem = fault.Error()
		case err != nil:
			return nil, err
		}
	}
	return lines, nil
}

// IssuePriceList issues the prices of a channel as they are now, of the colourways given, with
// today's date. It is a new revision if the channel has a list already. Shops are told what we
// ask at retail ourselves, so that nobody undercuts the other.
func (s *Service) IssuePriceList(ctx context.Context, workshop, channel int64, colourways []int64) (int64, error) {
	row, err := s.Channel(ctx, workshop, channel)
	if err != nil {
		return 0, err
	}
	if len(colourways) == 0 {
		return 0, store.Wrong("colourways", "Choose at least one colourway.")
	}
	priced, err := s.PriceLine(ctx, workshop, costing.Change{})
	if err != nil {
		return 0, err
	}
	var lines []costing.PriceLine
	for _, line := range priced {
		if !slices.Contains(colourways, line.Colourway.ID) {
			continue
		}
		if line.Problem != "" {
			return 0, store.Wrong("colourways", line.Colourway.StyleName+", "+line.Colourway.Name+" has no price yet: "+line.Problem)
		}
		lines = append(lines, listLines(line.Now, channel)...)
	}
	latest, err := s.store.LatestPriceList(ctx, workshop, row.Settings.Name)
	if err != nil {
		return 0, err
	}
	var list costing.PriceList
	if list, err = costing.IssuePriceList(row.Settings, s.Today(), lines); err == nil && latest != nil {
		list, err = list.Numbered(latest.Revision + 1)
	}
	if err != nil {
		return 0, asFault(err)
	}
	return s.store.AddPriceList(ctx, workshop, list)
}

// listLines are the lines of a channel's list for one colourway.
func listLines(prices StylePrices, channel int64) []costing.PriceLine {
	at := slices.IndexFunc(prices.Channels, func(c store.Channel) bool { return c.ID == channel })
	retail := slices.IndexFunc(prices.Channels, func(c store.Channel) bool { return c.Settings.Kind != costing.Shop })
	var lines []costing.PriceLine
	for i := range prices.Sizes {
		line := prices.Pricings[i].Quotes[at].ListPrice()
		line.Price = prices.Asked[i][at].Price
		if prices.Channels[at].Settings.Kind == costing.Shop && retail >= 0 {
			line.Suggested = prices.Asked[i][retail].Price
		}
		lines = append(lines, line)
	}
	return lines
}

// BasketLine is so many of one colourway and size, at a price on the tag; no price means the
// one that is asked.
type BasketLine struct {
	Colourway int64
	Size      string
	Count     int
	Price     *money.Amount
}

// BasketResult is what a mixed sale leaves.
type BasketResult struct {
	Items  []costing.BasketItem
	Basket costing.Basket
	// Short is what lacks to the channel's minimum order; nothing if it is reached.
	Short money.Amount
}

// Basket works out one sale of several garments in a channel.
func (s *Service) Basket(ctx context.Context, workshop, channel int64, lines []BasketLine) (BasketResult, error) {
	if len(lines) == 0 {
		return BasketResult{}, store.Wrong("item.0.garment", "Choose at least one garment.")
	}
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return BasketResult{}, err
	}
	at := slices.IndexFunc(all.Channels, func(c store.Channel) bool { return c.ID == channel })
	if at < 0 {
		return BasketResult{}, notThere("channel")
	}
	row := all.Channels[at]
	var result BasketResult
	for i, line := range lines {
		prices, err := s.price(ctx, all, line.Colourway, costing.Change{})
		if err != nil {
			return BasketResult{}, err
		}
		size := slices.Index(prices.Sizes, line.Size)
		if size < 0 {
			return BasketResult{}, store.Wrong(fmt.Sprintf("item.%d.garment", i), "Choose a garment and its size.")
		}
		item := costing.BasketItem{Counted: costing.Counted{Garment: prices.Pricings[size].Quotes[at].Garment, Count: money.Int(int64(line.Count))}, Price: prices.Asked[size][at].Price}
		if line.Price != nil {
			item.Price = *line.Price
		}
		result.Items = append(result.Items, item)
	}
	settings, err := Choices(all.Settings)
	if err != nil {
		return BasketResult{}, err
	}
	pricer, err := row.Settings.Pricer()
	if err != nil {
		return BasketResult{}, asFault(err)
	}
	if result.Basket, err = pricer.Basket(result.Items, settings.OddCent); err != nil {
		return BasketResult{}, asFault(err)
	}
	result.Short, err = row.Settings.Terms.Short(result.Basket.Sale.Price)
	return result, err
}

// Tried is what every size leaves in a channel at a price that was typed.
type Tried struct {
	Channel store.Channel
	Price   money.Amount
	Sales   []costing.Sale
	Floors  []money.Amount
}

// TryPrice says what each size of a priced colourway leaves at any price on the tag.
func (p StylePrices) TryPrice(channel int64, price money.Amount) (Tried, error) {
	at := slices.IndexFunc(p.Channels, func(c store.Channel) bool { return c.ID == channel })
	if at < 0 {
		return Tried{}, store.Wrong("try_channel", "Choose a channel.")
	}
	if price.Sign() < 0 {
		return Tried{}, store.Wrong("try", "Write a price of 0 or more.")
	}
	pricer, err := p.Channels[at].Settings.Pricer()
	if err != nil {
		return Tried{}, asFault(err)
	}
	tried := Tried{Channel: p.Channels[at], Price: price}
	for _, pricing := range p.Pricings {
		sale, err := pricer.Sale(pricing.Quotes[at].Garment, price)
		if err != nil {
			return Tried{}, asFault(err)
		}
		tried.Sales, tried.Floors = append(tried.Sales, sale), append(tried.Floors, pricing.Quotes[at].Floor)
	}
	return tried, nil
}

// BatchSizes is what one garment costs by how many are made together.
type BatchSizes struct {
	Cost     costing.BatchCost
	Points   []costing.BatchPoint
	Cheapest costing.BatchPoint
	// Usual is the point of the usual batch.
	Usual costing.BatchPoint
}

// mostInBatch bounds the batches that are looked at.
const mostInBatch = 240

// BatchSizes sets set-up against run: wage and overhead of the minutes of a cost sheet, what is
// paid for each batch, and keeping the garments until they are sold, over batches of up to several
// times the usual one.
func (p StylePrices) BatchSizes(sheet costing.Sheet) (BatchSizes, error) {
	sheet.Inputs.Operations = p.AverageWork(sheet.Inputs.Operations)
	cost, err := batchCost(sheet.Inputs)
	if err != nil {
		return BatchSizes{}, err
	}
	if cost.HourlyCost, err = HourlyCost(p.Workshop, sheet.Inputs.Settings.Unpaid); err != nil {
		return BatchSizes{}, err
	}
	if cost.Holding, err = sheet.Total.Mul(p.Settings.Holding); err != nil {
		return BatchSizes{}, err
	}
	cost.Demand = money.Int(int64(p.Costs.YearSales))
	sizes := BatchSizes{Cost: cost}
	if sizes.Cheapest, err = sizes.Cost.Cheapest(mostInBatch); err != nil {
		return BatchSizes{}, asFault(err)
	}
	usual := int64(p.Use.Garments)
	if sizes.Usual, err = sizes.Cost.At(usual); err != nil {
		return BatchSizes{}, asFault(err)
	}
	most := min(mostInBatch, max(2*usual, 24))
	if p.Costs.YearSales > 0 {
		most = min(mostInBatch, max(most, 2*sizes.Cheapest.Garments))
	}
	var counts []int64
	for n := int64(1); n <= most; n++ {
		counts = append(counts, n)
	}
	sizes.Points, err = sizes.Cost.Curve(counts)
	return sizes, asFault(err)
}

// AverageWork are the steps of a cost sheet with the minutes of cutting and bundling that a garment of
// the usual batch takes on the average, whatever its size.
func (p StylePrices) AverageWork(operations []costing.Operation) []costing.Operation {
	var all batch.CutWork
	for _, size := range p.Sizes {
		if p.Use.Counts[size] > 0 {
			work := p.Use.Work[size]
			all.SetUp, all.Cutting, all.Bundling = all.SetUp+work.SetUp, all.Cutting+work.Cutting, all.Bundling+work.Bundling
		}
	}
	each := func(work time.Duration) money.Decimal {
		minutes, _ := minutesEach(work, p.Use.Garments) // a usual batch has garments
		return minutes
	}
	operations = slices.Clone(operations)
	for i := range operations {
		switch o := &operations[i]; o.Name {
		case CuttingName:
			o.SetUp, o.Run = store.DecimalMinutes(all.SetUp), each(all.Cutting)
		case BundlingName:
			o.Run = each(all.Bundling)
		}
	}
	return operations
}

// batchCost is the part of a cost sheet that depends on the size of the batch.
func batchCost(in costing.Inputs) (costing.BatchCost, error) {
	cost := costing.BatchCost{Learning: in.Learning, SetUpMoney: in.Currency.Zero(), RunMoney: in.Currency.Zero()}
	for _, o := range in.Operations {
		run := &cost.RunMinutes
		if o.Learns {
			run = &cost.LearnedMinutes
		}
		var err error
		if cost.SetUpMinutes, err = cost.SetUpMinutes.Add(o.SetUp); err == nil {
			*run, err = run.Add(o.Run)
		}
		if err != nil {
			return cost, err
		}
	}
	for _, e := range in.Expenses {
		if !e.PerBatch {
			continue
		}
		var err error
		if cost.SetUpMoney, err = cost.SetUpMoney.Add(e.Amount); err != nil {
			return cost, err
		}
	}
	return cost, nil
}

package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// ClothUse is the cloth, and the cutting, that a colourway takes in a usual batch.
type ClothUse struct {
	batch.Usual
	// Counts are the garments of the usual batch by size.
	Counts map[string]int
}

// StylePrices are the cost sheets and prices of a colourway in all its sizes.
type StylePrices struct {
	Workshop  store.Workshop
	Colourway store.Colourway
	Style     store.Style
	Channels  []store.Channel
	// Sizes are the size names in the chart's order, Pricings what they cost and sell at.
	Sizes    []string
	Pricings []costing.Pricing
	// Floors by size and channel, as in Pricings.
	Use ClothUse
}

// usualIterations is the search budget of costing markers: enough that more changes the
// length by less than the step that cloth is sold in.
const usualIterations = 400

// PriceStyle costs and prices a colourway in every size, with cloth from real markers of a
// usual batch. A change is a question of what if; the zero Change asks nothing.
func (s *Service) PriceStyle(ctx context.Context, workshop, colourway int64, change costing.Change) (StylePrices, error) {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return StylePrices{}, err
	}
	channels, err := s.Channels(ctx, workshop)
	if err != nil {
		return StylePrices{}, err
	}
	return s.price(ctx, all, channels, colourway, change)
}

func (s *Service) price(ctx context.Context, all stock, channels []store.Channel, colourway int64, change costing.Change) (StylePrices, error) {
	prices := StylePrices{Workshop: all.workshop, Channels: channels}
	at := slices.IndexFunc(all.colourways, func(w store.Colourway) bool { return w.ID == colourway })
	if at < 0 {
		return StylePrices{}, notThere("colourway")
	}
	prices.Colourway = all.colourways[at]
	at = slices.IndexFunc(all.styles, func(style store.Style) bool { return style.ID == prices.Colourway.StyleID })
	if at < 0 {
		return StylePrices{}, notThere("style")
	}
	prices.Style = all.styles[at]
	use, err := s.clothUse(ctx, all, prices.Colourway, prices.Style)
	if err != nil {
		return StylePrices{}, err
	}
	prices.Use = *use
	chart := chartOf(all, prices.Style)
	var line []costing.Inputs
	for _, size := range chart.SizeNames() {
		in, err := sheetInputs(all, prices, chart, size)
		if err != nil {
			return StylePrices{}, err
		}
		prices.Sizes, line = append(prices.Sizes, size), append(line, in)
	}
	settings := make([]costing.Channel, len(channels))
	for i, c := range channels {
		settings[i] = c.Settings
	}
	prices.Pricings, err = costing.Reprice(line, settings, change)
	return prices, asFault(err)
}

func chartOf(all stock, style store.Style) garment.SizeChart {
	for _, c := range all.charts {
		if c.ID == style.ChartID {
			return c.SizeChart
		}
	}
	return garment.SizeChart{}
}

func notThere(what string) error {
	return &store.Fault{Kind: store.NotFound, Problems: []store.Problem{{Message: "This " + what + " isn't there, or not any more."}}}
}

// asFault turns what the pure packages refuse into a Fault at the field.
func asFault(err error) error {
	var wrong *batch.InputError
	var inputs costing.InputErrors
	var problems garment.Problems
	fault := &store.Fault{Kind: store.Invalid}
	switch {
	case errors.As(err, &wrong):
		fault.Problems = append(fault.Problems, store.Problem{Field: wrong.Field, Message: wrong.Message})
	case errors.As(err, &inputs):
		for _, e := range inputs {
			fault.Problems = append(fault.Problems, store.Problem{Field: e.Field, Message: e.Message})
		}
	case errors.As(err, &problems):
		for _, p := range problems {
			message := p.Message
			if p.Size != "" {
				message = "in size " + p.Size + ": " + message
			}
			fault.Problems = append(fault.Problems, store.Problem{Field: p.Field, Message: message})
		}
	default:
		return err
	}
	return fault
}

// clothUse lays the colourway in its usual batch, or remembers how it came out.
func (s *Service) clothUse(ctx context.Context, all stock, way store.Colourway, style store.Style) (*ClothUse, error) {
	chart := chartOf(all, style)
	counts := spreadEvenly(all.workshop.UsualBatch, chart.SizeNames())
	key, err := useKey(all, way, style, chart)
	if err != nil {
		return nil, err
	}
	if use, ok := s.uses.get(key); ok {
		return use, nil
	}
	usual, err := batch.PlanUsual(ctx, all.input, way.ID, counts, batch.Params{Seed: 1, MarkerIterations: usualIterations})
	if err != nil {
		return nil, asFault(err)
	}
	use := &ClothUse{Usual: usual, Counts: counts}
	s.uses.put(key, use)
	return use, nil
}

// spreadEvenly makes a batch of at least one garment in each size, the middle sizes first
// where it doesn't come out even.
func spreadEvenly(total int, sizes []string) map[string]int {
	counts := map[string]int{}
	if len(sizes) == 0 {
		return counts
	}
	for _, size := range sizes {
		counts[size] = max(1, total/len(sizes))
	}
	left := total - len(sizes)*counts[sizes[0]]
	middle := len(sizes) / 2
	for step := 0; left > 0; step++ {
		at := middle + (step+1)/2
		if step%2 == 1 {
			at = middle - (step+1)/2
		}
		if at >= 0 && at < len(sizes) {
			counts[sizes[at]]++
			left--
		}
	}
	return counts
}

// useKey digests everything that the cloth of a colourway depends on.
func useKey(all stock, way store.Colourway, style store.Style, chart garment.SizeChart) ([32]byte, error) {
	room := all.input.Workroom
	room.Calendar = batch.Calendar{}
	room.Rates.PerHour /= 1_000_000 // the lays hardly depend on cents of the wage
	var cloths []batch.Cloth
	for _, c := range all.input.Cloths {
		for _, id := range way.Cloths {
			if c.ID == id {
				c.PricePerMetre /= 1_000_000
				cloths = append(cloths, c)
			}
		}
	}
	content, err := json.Marshal([]any{style.Style, chart, cloths, room, all.workshop.UsualBatch, way.Cloths})
	if err != nil {
		return [32]byte{}, err
	}
	return sha256.Sum256(content), nil
}

// sheetInputs joins cloth lengths, notions and minutes of one size with their prices.
func sheetInputs(all stock, prices StylePrices, chart garment.SizeChart, size string) (costing.Inputs, error) {
	w := all.workshop
	currency, err := Currency(w)
	if err != nil {
		return costing.Inputs{}, err
	}
	in := costing.Inputs{
		Style: prices.Style.Name, Colourway: prices.Colourway.Name, Size: size, Currency: currency,
		Garments: money.Int(int64(prices.Use.Garments)), Wage: money.NewAmount(w.Wage, currency), Efficiency: money.Fraction(w.Efficiency),
	}
	overhead, err := w.OverheadYear.Div(w.ProductiveHours)
	if err != nil {
		return costing.Inputs{}, err
	}
	in.Overhead = money.NewAmount(overhead, currency)
	if in.Cloths, err = clothInputs(all, prices, currency, size); err != nil {
		return costing.Inputs{}, err
	}
	graded, err := prices.Style.Grade(chart, size)
	if err != nil {
		return costing.Inputs{}, asFault(err)
	}
	if in.Notions, in.Packing, err = notionInputs(all, prices, currency, graded); err != nil {
		return costing.Inputs{}, err
	}
	in.Operations, err = operationInputs(prices)
	return in, err
}

func clothInputs(all stock, prices StylePrices, currency money.Currency, size string) ([]costing.Cloth, error) {
	var inputs []costing.Cloth
	for _, use := range prices.Use.Uses[size] {
		at := slices.IndexFunc(all.cloths, func(c store.Cloth) bool { return c.ID == use.Cloth.ID })
		if at < 0 {
			return nil, notThere("cloth")
		}
		cloth := all.cloths[at]
		unit := unitNamed(cloth.PriceUnit)
		marker, err := decimalLength(use.Marker, unit)
		if err != nil {
			return nil, err
		}
		losses, err := decimalLength(use.Losses, unit)
		if err != nil {
			return nil, err
		}
		inputs = append(inputs, costing.Cloth{
			Role: string(use.Role), Name: cloth.Name, Length: marker, EndsAndLosses: losses, Unit: unit.Symbol,
			Price: costing.Priced(money.NewAmount(cloth.Price, currency)),
		})
	}
	return inputs, nil
}

// notionInputs are the notions of one garment, and what it is packed in.
func notionInputs(all stock, prices StylePrices, currency money.Currency, graded garment.Graded) (notions, packing []costing.Notion, err error) {
	for _, need := range graded.Notions {
		at := slices.IndexFunc(all.notions, func(n store.Notion) bool { return n.ID == prices.Colourway.Notions[need.Notion] })
		if at < 0 {
			return nil, nil, store.Wrong("notions", fmt.Sprintf("Choose the %s of %s %s.", need.Notion, prices.Colourway.Name, prices.Style.Name))
		}
		input, err := notionInput(all.workshop, all.notions[at], currency, need.Length, need.Count)
		if err != nil {
			return nil, nil, err
		}
		notions = append(notions, input)
	}
	for _, n := range all.notions {
		if n.Packing {
			input, err := notionInput(all.workshop, n, currency, 0, 1)
			if err != nil {
				return nil, nil, err
			}
			packing = append(packing, input)
		}
	}
	return notions, packing, nil
}

func notionInput(w store.Workshop, n store.Notion, currency money.Currency, each length.Length, count int) (costing.Notion, error) {
	price := costing.LandedPrice{List: money.NewAmount(n.BuyPrice, currency)}
	if n.Kind == batch.ByCount {
		price.For = money.Int(int64(n.BuyCount))
		return costing.Notion{Name: n.Name, Quantity: money.Int(int64(count)), Unit: "pc", Price: price}, nil
	}
	unit := w.System.Long()
	quantity, err := decimalLength(each*length.Length(count), unit)
	if err != nil {
		return costing.Notion{}, err
	}
	price.For, err = decimalLength(n.BuyLength, unit)
	return costing.Notion{Name: n.Name, Quantity: quantity, Unit: unit.Symbol, Price: price}, err
}

// operationInputs are the minutes of one garment: cutting and bundling as its share of the
// usual batch, then the operations of the style.
func operationInputs(prices StylePrices) ([]costing.Operation, error) {
	use := prices.Use
	garments := money.Int(int64(use.Garments))
	var inputs []costing.Operation
	for _, step := range []struct {
		name    string
		minutes money.Decimal
	}{{"spread and cut", store.DecimalMinutes(use.Cutting)}, {"bundle", store.DecimalMinutes(use.Bundling)}} {
		each, err := money.Ratio(step.minutes, garments, 3, money.HalfUp)
		if err != nil {
			return nil, err
		}
		inputs = append(inputs, costing.Operation{Name: step.name, Run: each})
	}
	for _, o := range prices.Style.Operations {
		inputs = append(inputs, costing.Operation{Name: o.Name, SetUp: store.DecimalMinutes(o.SetUp), Run: store.DecimalMinutes(o.Each)})
	}
	return inputs, nil
}

// IssueCosts stores the cost sheets and prices of a colourway as they are now, for good.
func (s *Service) IssueCosts(ctx context.Context, workshop, colourway int64) (int64, error) {
	prices, err := s.PriceStyle(ctx, workshop, colourway, costing.Change{})
	if err != nil {
		return 0, err
	}
	sheets, err := json.Marshal(prices.Pricings)
	if err != nil {
		return 0, err
	}
	return s.AddCostSnapshot(ctx, workshop, store.CostSnapshot{
		ColourwayID: &colourway, Label: prices.Colourway.Name + " " + prices.Style.Name, Sheets: sheets,
	})
}

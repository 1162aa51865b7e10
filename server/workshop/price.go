package workshop

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

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
	// Counts are the garments of the usual batch by size, 0 of a size that is only offered.
	Counts map[string]int
}

// StylePrices are the cost sheets and prices of a colourway in all its sizes.
type StylePrices struct {
	Workshop  store.Workshop
	Settings  store.CostSettings
	Colourway store.Colourway
	Style     store.Style
	// Costs says whether all sizes share a price, and how many sell in a year.
	Costs    store.StyleCosts
	Channels []store.Channel
	// Mix says how the sizes of the usual batch came about.
	Mix SizeMix
	// Sizes are those that the style is offered in, in the chart's order, Pricings what they cost and
	// sell at.
	Sizes    []string
	Pricings []costing.Pricing
	// Asked is what is really asked, by size and channel: the price of the quote, or one price
	// for all sizes, or the price that the maker typed.
	Asked [][]Asked
	// Typed are the prices that the maker typed.
	Typed []store.TypedPrice
	// OnePrices by channel; empty where each size has its own.
	OnePrices []costing.OnePrice
	// Sources says where the inputs of a cost sheet were entered.
	Sources Sources
	Use     ClothUse
}

// Asked is a price on the tag and what it leaves.
type Asked struct {
	Price money.Amount
	Sale  costing.Sale
	// Own is the price that the size would have by itself.
	Own money.Amount
	// Worked is the price that would be asked, had the maker not typed Price; none where it wasn't
	// typed.
	Worked money.Amount
}

// IsTyped tells whether the maker typed the price.
func (a Asked) IsTyped() bool { return a.Worked != (money.Amount{}) }

// Shared tells whether one price for all sizes is asked.
func (p StylePrices) Shared() bool { return len(p.OnePrices) > 0 }

// Sources are the records that the lines of a cost sheet come from, by index in Inputs.
type Sources struct {
	Cloths, Notions, Packing []int64
	// Operations are places among the style's operations; −1 for cutting, −2 for bundling.
	Operations []int
	// Expenses are places among the style's direct expenses.
	Expenses []int
}

// Work that is not among the operations of a style, in Sources.Operations.
const (
	CuttingWork  = -1
	BundlingWork = -2
)

// usualIterations is the search budget of costing markers: enough that more changes the
// length by less than the step that cloth is sold in.
const usualIterations = 400

// PriceStyle costs and prices a colourway in every size, with cloth from real markers of a
// usual batch. A change is a question of what if; the zero Change asks nothing. Sizes of the chart that
// the style isn't offered in are priced if they are asked for.
func (s *Service) PriceStyle(ctx context.Context, workshop, colourway int64, change costing.Change, also ...string) (StylePrices, error) {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return StylePrices{}, err
	}
	return s.price(ctx, all, colourway, change, also...)
}

func (s *Service) price(ctx context.Context, all stock, colourway int64, change costing.Change, also ...string) (StylePrices, error) {
	prices, line, err := s.standard(ctx, all, colourway, also...)
	if err != nil {
		return StylePrices{}, err
	}
	return prices, prices.reprice(line, change)
}

// standard works out the inputs of a colourway's standard cost sheets, by size.
func (s *Service) standard(ctx context.Context, all stock, colourway int64, also ...string) (StylePrices, []costing.Inputs, error) {
	prices := StylePrices{Workshop: all.workshop, Settings: all.Settings, Channels: all.Channels}
	at := slices.IndexFunc(all.Colourways, func(w store.Colourway) bool { return w.ID == colourway })
	if at < 0 {
		return StylePrices{}, nil, notThere("colourway")
	}
	prices.Colourway = all.Colourways[at]
	at = slices.IndexFunc(all.Styles, func(style store.Style) bool { return style.ID == prices.Colourway.StyleID })
	if at < 0 {
		return StylePrices{}, nil, notThere("style")
	}
	prices.Style = all.Styles[at]
	prices.Costs, prices.Typed = all.costsOf(prices.Style.ID), TypedFor(all.Whole, prices.Colourway)
	chart := chartOf(all, prices.Style)
	var err error
	if prices.Mix, err = sizeMix(all, prices.Style.ID, chart); err != nil {
		return StylePrices{}, nil, err
	}
	use, err := s.clothUse(ctx, all, prices.Colourway, prices.Style, prices.Mix.counts(also))
	if err != nil {
		return StylePrices{}, nil, err
	}
	prices.Use = *use
	var line []costing.Inputs
	for _, size := range chart.SizeNames() {
		if _, priced := use.Counts[size]; !priced {
			continue
		}
		in, sources, err := sheetInputs(all, prices, chart, size)
		if err != nil {
			return StylePrices{}, nil, err
		}
		prices.Sizes, prices.Sources, line = append(prices.Sizes, size), sources, append(line, in)
	}
	return prices, line, nil
}

// reprice fills in cost sheets and prices after a change.
func (p *StylePrices) reprice(line []costing.Inputs, change costing.Change) error {
	settings := ChannelSettings(p.Channels)
	currency, err := Currency(p.Workshop)
	if err != nil {
		return err
	}
	if p.Pricings, err = costing.RepriceTyped(line, settings, change, p.typedPrices(currency)); err != nil {
		return asFault(err)
	}
	p.Asked = make([][]Asked, len(p.Sizes))
	for i, pricing := range p.Pricings {
		for _, q := range pricing.Quotes {
			p.Asked[i] = append(p.Asked[i], Asked{Price: q.Price, Sale: q.Sale, Own: q.Price})
		}
	}
	if err := p.askTogether(settings, change); err != nil {
		return err
	}
	return p.askTyped(change)
}

// askTogether asks one price for all sizes, where the style is sold so.
func (p *StylePrices) askTogether(settings []costing.Channel, change costing.Change) error {
	rule, shared, err := oneRule(p.Costs.OnePrice)
	if err != nil || !shared {
		return err
	}
	if p.OnePrices, err = costing.OnePrices(p.Pricings, settings, change, p.mix(), rule); err != nil {
		return asFault(err)
	}
	for i := range p.Asked {
		for c, one := range p.OnePrices {
			p.Asked[i][c] = Asked{Price: one.Price, Sale: one.Sales[i], Own: one.Quotes[i].Price}
		}
	}
	return nil
}

// mix counts the sizes of the usual batch.
func (p *StylePrices) mix() []money.Decimal {
	mix := make([]money.Decimal, len(p.Sizes))
	for i, size := range p.Sizes {
		mix[i] = money.Int(int64(p.Use.Counts[size]))
	}
	return mix
}

// EachItsOwn is the rule of a style whose sizes have prices of their own.
const EachItsOwn = "each size its own"

// OnePriceRules are the rules to choose from.
func OnePriceRules() []string {
	return []string{EachItsOwn, costing.EverySizePays.String(), costing.MixPays.String()}
}

func oneRule(name string) (rule costing.OnePriceRule, shared bool, err error) {
	if name == EachItsOwn {
		return 0, false, nil
	}
	return rule, true, rule.UnmarshalText([]byte(name))
}

// ChannelSettings are the channels as package costing knows them.
func ChannelSettings(channels []store.Channel) []costing.Channel {
	settings := make([]costing.Channel, len(channels))
	for i, c := range channels {
		settings[i] = c.Settings
	}
	return settings
}

func chartOf(all stock, style store.Style) garment.SizeChart {
	for _, c := range all.Charts {
		if c.ID == style.ChartID {
			return c.SizeChart
		}
	}
	return garment.SizeChart{}
}

func notThere(what string) error {
	return &store.Fault{Kind: store.NotFound, Problems: []store.Problem{{Message: "This " + what + " was not found; it may have been removed."}}}
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
			fault.Problems = append(fault.Problems, store.Problem{Field: e.Field, Message: "This " + e.Message + "."})
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

// Choices turns the settings of a workshop into those of package costing.
func Choices(c store.CostSettings) (costing.Settings, error) {
	var settings costing.Settings
	rounding, err := money.ParseRounding(c.Rounding)
	settings.Rounding = rounding
	err = errors.Join(err,
		settings.Wastage.UnmarshalText([]byte(c.WastageRule)), settings.Allowance.UnmarshalText([]byte(c.AllowanceRule)),
		settings.Profit.UnmarshalText([]byte(c.ProfitRule)), settings.OddCent.UnmarshalText([]byte(c.OddCent)),
		settings.Valuation.UnmarshalText([]byte(c.Valuation)), settings.Unpaid.UnmarshalText([]byte(c.UnpaidHours)))
	return settings, err
}

// sheetInputs joins cloth lengths, notions and minutes of one size with their prices.
func sheetInputs(all stock, prices StylePrices, chart garment.SizeChart, size string) (costing.Inputs, Sources, error) {
	w := all.workshop
	in := costing.Inputs{
		Style: prices.Style.Name, Colourway: prices.Colourway.Name, Size: size, Currency: all.currency,
		Garments: money.Int(int64(prices.Use.Garments)), Wage: money.NewAmount(w.Wage, all.currency), Efficiency: money.Fraction(w.Efficiency),
		Productive: money.Fraction(w.Productive),
	}
	var sources Sources
	var err error
	if in.Settings, err = Choices(all.Settings); err != nil {
		return in, sources, err
	}
	overhead, err := overheadOf(w)
	if err != nil {
		return in, sources, err
	}
	in.Overhead = money.NewAmount(overhead, all.currency)
	if err := addCloths(&in, &sources, all, prices, size); err != nil {
		return in, sources, err
	}
	graded, err := prices.Style.Grade(chart, size)
	if err != nil {
		return in, sources, asFault(err)
	}
	if err := addNotions(&in, &sources, all, prices, graded); err != nil {
		return in, sources, err
	}
	in.Expenses, sources.Expenses = expenseInputs(all, prices)
	if in.Learning, err = learned(prices.Costs); err != nil {
		return in, sources, err
	}
	in.Operations, sources.Operations, err = operationInputs(prices, size)
	return in, sources, err
}

// learned is the learning of a style as cost sheets take it.
func learned(c store.StyleCosts) (costing.Learned, error) {
	if c.Learning == store.LearningOff {
		return costing.Learned{}, nil
	}
	learning := costing.Learned{Rate: money.Fraction(c.LearningRate), At: int64(c.TimedGarment)}
	return learning, learning.Model.UnmarshalText([]byte(c.Learning))
}

// expenseInputs are the direct expenses of a colourway, with their places among the style's.
func expenseInputs(all stock, prices StylePrices) (inputs []costing.Expense, at []int) {
	for i, e := range all.ExpensesOf(prices.Style.ID) {
		if e.ColourwayID != nil && *e.ColourwayID != prices.Colourway.ID {
			continue
		}
		inputs = append(inputs, costing.Expense{
			Name: e.Name, Amount: money.NewAmount(e.Amount, all.currency), Garments: money.Int(int64(e.Garments)), PerBatch: e.PaidFor == store.ForEachBatch,
		})
		at = append(at, i)
	}
	return inputs, at
}

func addCloths(in *costing.Inputs, sources *Sources, all stock, prices StylePrices, size string) error {
	for _, use := range prices.Use.Uses[size] {
		at := slices.IndexFunc(all.Cloths, func(c store.Cloth) bool { return c.ID == use.Cloth.ID })
		if at < 0 {
			return notThere("cloth")
		}
		cloth := all.Cloths[at]
		unit := unitNamed(cloth.PriceUnit)
		marker, err := decimalLength(use.Marker, unit)
		if err != nil {
			return err
		}
		losses, err := decimalLength(use.Losses, unit)
		if err != nil {
			return err
		}
		price, err := landed(cloth, all.currency)
		if err != nil {
			return err
		}
		in.Cloths = append(in.Cloths, costing.Cloth{
			Role: string(use.Role), Name: cloth.Name, Length: marker, EndsAndLosses: losses, Unit: unit.Symbol,
			Price: price, Wastage: money.Fraction(cloth.Wastage),
		})
		sources.Cloths = append(sources.Cloths, cloth.ID)
	}
	return nil
}

// addNotions adds the notions of one garment, and what it is packed in.
func addNotions(in *costing.Inputs, sources *Sources, all stock, prices StylePrices, graded garment.Graded) error {
	for _, need := range graded.Notions {
		at := slices.IndexFunc(all.Notions, func(n store.Notion) bool { return n.ID == prices.Colourway.Notions[need.Notion] })
		if at < 0 {
			return store.Wrong("notions", fmt.Sprintf("Choose the %s of %s %s.", need.Notion, prices.Colourway.Name, prices.Style.Name))
		}
		input, err := notionInput(all, all.Notions[at], need.Length, need.Count)
		if err != nil {
			return err
		}
		in.Notions, sources.Notions = append(in.Notions, input), append(sources.Notions, all.Notions[at].ID)
	}
	for _, n := range all.Notions {
		if !n.Packing {
			continue
		}
		input, err := notionInput(all, n, 0, 1)
		if err != nil {
			return err
		}
		in.Packing, sources.Packing = append(in.Packing, input), append(sources.Packing, n.ID)
	}
	return nil
}

func notionInput(all stock, n store.Notion, each length.Length, count int) (costing.Notion, error) {
	wastage := money.Fraction(n.Wastage)
	if n.Kind == batch.ByCount {
		price := landedPack(n, all.currency, money.Int(int64(n.BuyCount)))
		return costing.Notion{Name: n.Name, Quantity: money.Int(int64(count)), Unit: "pc", Price: price, Wastage: wastage}, nil
	}
	unit := all.workshop.System.Long()
	quantity, err := decimalLength(each*length.Length(count), unit)
	if err != nil {
		return costing.Notion{}, err
	}
	units, err := decimalLength(n.BuyLength, unit)
	return costing.Notion{Name: n.Name, Quantity: quantity, Unit: unit.Symbol, Price: landedPack(n, all.currency, units), Wastage: wastage}, err
}

// operationInputs are the minutes of one garment of a size: cutting and bundling as its share of the
// usual batch, then the operations of the style. Setting up the lays is set-up: a batch of another
// size is reckoned to take as many lays, with more or fewer plies or garments in each. Inputs share
// set-up among all garments alike, so it is what a batch would take of which each garment bore as much.
func operationInputs(prices StylePrices, size string) (inputs []costing.Operation, at []int, err error) {
	work, garments := prices.Use.Work[size], prices.Use.Garments
	for _, step := range []struct {
		name, stage    string
		setUp, minutes time.Duration
		at             int
	}{
		{CuttingName, StageCut, work.SetUp * time.Duration(garments), work.Cutting, CuttingWork},
		{BundlingName, StageBundle, 0, work.Bundling, BundlingWork},
	} {
		setUp, err := minutesEach(step.setUp, work.Garments)
		if err != nil {
			return nil, nil, err
		}
		each, err := minutesEach(step.minutes, work.Garments)
		if err != nil {
			return nil, nil, err
		}
		inputs, at = append(inputs, costing.Operation{Name: step.name, Stage: step.stage, SetUp: setUp, Run: each}), append(at, step.at)
	}
	for i, o := range prices.Style.Operations {
		inputs = append(inputs, costing.Operation{Name: o.Name, Stage: string(o.Stage), SetUp: store.DecimalMinutes(o.SetUp), Run: store.DecimalMinutes(o.Each), Learns: true})
		at = append(at, i)
	}
	return inputs, at, nil
}

// minutesEach are minutes shared by some garments.
func minutesEach(work time.Duration, garments int) (money.Decimal, error) {
	return money.Ratio(store.DecimalMinutes(work), money.Int(int64(garments)), 3, money.HalfUp)
}

// Names of the work that is not among the operations of a style.
const (
	CuttingName  = "spread and cut"
	BundlingName = "bundle"
)

// IssueCosts stores the cost sheets and prices of a colourway as they are now, or would be after a
// change, for good.
func (s *Service) IssueCosts(ctx context.Context, workshop, colourway int64, change costing.Change) (int64, error) {
	prices, err := s.PriceStyle(ctx, workshop, colourway, change)
	if err != nil {
		return 0, err
	}
	sheets, err := json.Marshal(prices.tagged())
	if err != nil {
		return 0, err
	}
	return s.store.AddCostSnapshot(ctx, workshop, store.CostSnapshot{
		ColourwayID: &colourway, Label: prices.Colourway.Name + " " + prices.Style.Name + changeWords(change), Sheets: sheets,
	})
}

// tagged are the pricings with what is really asked.
func (p StylePrices) tagged() []costing.Pricing {
	tagged := slices.Clone(p.Pricings)
	for i := range tagged {
		tagged[i].Quotes = p.Tagged(i)
	}
	return tagged
}

// Tagged are the quotes of a size, by channel, with what is really asked.
func (p StylePrices) Tagged(size int) []costing.Quote {
	quotes := slices.Clone(p.Pricings[size].Quotes)
	for c, one := range p.OnePrices {
		quotes[c] = one.Asked(size)
	}
	for c, asked := range p.Asked[size] {
		if asked.IsTyped() {
			quotes[c].Price, quotes[c].Sale, quotes[c].Worked = asked.Price, asked.Sale, asked.Worked
		}
	}
	return quotes
}

package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// millionths turns a price into the exact integers that package lay compares.
func millionths(price money.Decimal) (lay.Money, error) {
	scaled, err := price.Mul(money.Int(1_000_000))
	if err != nil {
		return 0, err
	}
	count, ok := scaled.Round(0, money.HalfUp).Int64()
	if !ok {
		return 0, money.ErrOverflow
	}
	return lay.Money(count), nil
}

// Money turns what package lay counts back into money.
func Money(m lay.Money, currency money.Currency) money.Amount {
	return money.NewAmount(money.New(int64(m), 6), currency)
}

// InCoins is Money rounded half up to the smallest coin: what pages, papers and workbooks show of one
// cloth, one lay or one hour, and what their sums add up.
func InCoins(m lay.Money, currency money.Currency) money.Amount {
	return Money(m, currency).Round(money.HalfUp)
}

// perMetre turns a price per yard or metre into one per metre, in millionths.
func perMetre(price money.Decimal, unit string) (lay.Money, error) {
	if unit == "yd" {
		metres, err := price.Div(money.MustParse("0.9144"))
		if err != nil {
			return 0, err
		}
		price = metres
	}
	return millionths(price)
}

// directional tells which designs look different turned by a quarter.
func directional(design string) bool { return design != "solid" && design != "all-over print" }

// hundredths turns percent into hundredths of a percent.
func hundredths(percent money.Decimal) (int, error) {
	scaled, err := percent.Mul(money.Int(100))
	if err != nil {
		return 0, err
	}
	count, _ := scaled.Round(0, money.HalfUp).Int64()
	return int(count), nil
}

// landed is what a cloth costs on the shelf, per price unit.
func landed(c store.Cloth, currency money.Currency) (costing.LandedPrice, error) {
	price := costing.LandedPrice{List: money.NewAmount(c.Price, currency), Discount: money.Fraction(c.Discount), Tax: money.Fraction(c.Tax)}
	if c.Freight.IsZero() {
		return price, nil
	}
	var err error
	if price.For, err = decimalLength(c.FreightLength, unitNamed(c.PriceUnit)); err != nil {
		return price, err
	}
	price.Freight = money.NewAmount(c.Freight, currency)
	price.List, err = price.List.Mul(price.For)
	return price, err
}

// Landed is what one price unit of a cloth costs on the shelf: the price on the bill less
// discount, with freight and tax.
func Landed(c store.Cloth, currency money.Currency) (money.Amount, error) {
	price, err := landed(c, currency)
	if err != nil {
		return money.Amount{}, err
	}
	return price.PerUnit()
}

func shrinkageOf(c store.Cloth) (s garment.Shrinkage, err error) {
	if s.Lengthwise, err = hundredths(c.ShrinkLength); err != nil {
		return s, err
	}
	s.Crosswise, err = hundredths(c.ShrinkWidth)
	return s, err
}

func toCloth(c store.Cloth, currency money.Currency) (batch.Cloth, error) {
	onShelf, err := Landed(c, currency)
	if err != nil {
		return batch.Cloth{}, fmt.Errorf("cloth %s: %w", c.Name, err)
	}
	price, err := perMetre(onShelf.Number(), c.PriceUnit)
	if err != nil {
		return batch.Cloth{}, fmt.Errorf("cloth %s: %w", c.Name, err)
	}
	shrink, err := shrinkageOf(c)
	if err != nil {
		return batch.Cloth{}, err
	}
	return batch.Cloth{
		ID: c.ID, Name: c.Name, Content: c.Content, FullWidth: c.FullWidth, Selvage: c.Selvage, PricePerMetre: price,
		Shrink: shrink, PreWashed: c.PreWashed, Nap: c.Nap, Directional: directional(c.Design),
		Repeat: marker.Repeat{Width: c.RepeatWidth, Length: c.RepeatLength}, Thickness: c.Thickness, Care: c.Care, CanBuy: c.CanBuy,
	}, nil
}

// boltCost is what one price unit of a bolt costs on the shelf: its own price, which is
// landed already, or else its cloth's.
func boltCost(b store.Bolt, cloth store.Cloth, currency money.Currency) (money.Amount, error) {
	if b.Price != nil {
		return money.NewAmount(*b.Price, currency), nil
	}
	return Landed(cloth, currency)
}

func toBolt(b store.Bolt, cloth store.Cloth, currency money.Currency, faults []store.BoltFault) (batch.Bolt, error) {
	price, err := boltCost(b, cloth, currency)
	if err != nil {
		return batch.Bolt{}, fmt.Errorf("bolt %s: %w", b.Name, err)
	}
	perMetre, err := perMetre(price.Number(), cloth.PriceUnit)
	if err != nil {
		return batch.Bolt{}, fmt.Errorf("bolt %s: %w", b.Name, err)
	}
	bolt := batch.Bolt{
		ID: b.ID, Cloth: b.ClothID, Name: b.Name, Lot: b.Lot, Length: b.Free(), PricePerMetre: perMetre, Place: b.Place, Remnant: b.Remnant,
	}
	if b.FullWidth != nil {
		bolt.FullWidth = *b.FullWidth
	}
	for _, f := range faults {
		if f.BoltID == b.ID {
			bolt.Faults = append(bolt.Faults, toFault(f))
		}
	}
	return bolt, nil
}

func toFault(f store.BoltFault) marker.Fault {
	return marker.Fault{X: f.FromWidth, Y: f.FromLength, Width: f.ToWidth - f.FromWidth, Length: f.ToLength - f.FromLength}
}

// landedPack is what one roll or pack of a notion costs on the shelf, for so many units.
func landedPack(n store.Notion, currency money.Currency, units money.Decimal) costing.LandedPrice {
	return costing.LandedPrice{
		List: money.NewAmount(n.BuyPrice, currency), For: units, Discount: money.Fraction(n.Discount),
		Freight: money.NewAmount(n.Freight, currency), Tax: money.Fraction(n.Tax),
	}
}

func toNotion(n store.Notion, currency money.Currency) (batch.Notion, error) {
	pack, err := landedPack(n, currency, money.Int(1)).PerUnit()
	if err != nil {
		return batch.Notion{}, fmt.Errorf("notion %s: %w", n.Name, err)
	}
	price, err := millionths(pack.Number())
	if err != nil {
		return batch.Notion{}, fmt.Errorf("notion %s: %w", n.Name, err)
	}
	return batch.Notion{
		ID: n.ID, Name: n.Name, Kind: n.Kind, Rolls: n.Rolls, Count: n.InStock, BuyLength: n.BuyLength, BuyCount: n.BuyCount, BuyPrice: price,
	}, nil
}

// toWorkroom turns the settings of a workshop into what planning needs.
func toWorkroom(w store.Workshop, unpaid costing.UnpaidRule, off []time.Time) (batch.Workroom, error) {
	room := batch.Workroom{
		TableLength: w.TableLength, Spread: w.Spread, EndLoss: w.EndLoss, Gap: w.Gap, StraightCuts: w.StraightCuts, KeepLength: w.KeepLength,
		CutTolerance: w.CutTolerance, RollEnd: w.RollEnd,
		Units: Style(w), CutStep: w.CutStep, BuyStep: w.BuyStep, BundleSize: w.BundleSize,
		MaxPlies: map[batch.Thickness]int{batch.Thin: w.PliesThin, batch.Medium: w.PliesMedium, batch.Thick: w.PliesThick},
	}
	var err error
	if room.Calendar, err = calendarOf(w, off); err != nil {
		return batch.Workroom{}, err
	}
	if room.RemnantWorth, err = hundredths(w.RemnantWorth); err != nil {
		return batch.Workroom{}, err
	}
	if room.BuyTolerance, err = hundredths(w.BuyTolerance); err != nil {
		return batch.Workroom{}, err
	}
	for _, m := range []struct {
		from money.Decimal
		to   *time.Duration
	}{
		{w.LaySetUpMinutes, &room.Rates.SetUp}, {w.SpreadMinutes, &room.Rates.SpreadPerMetre}, {w.CutMinutes, &room.Rates.CutPerMetre}, {w.BundleMinutes, &room.PerBundle},
	} {
		minutes, err := store.Minutes(m.from)
		if err != nil {
			return batch.Workroom{}, err
		}
		*m.to = minutes
	}
	thousandths, err := w.Efficiency.Mul(money.Int(1000))
	if err != nil {
		return batch.Workroom{}, err
	}
	count, _ := thousandths.Round(0, money.HalfUp).Int64()
	room.Efficiency = int(count)
	hour, err := HourlyCost(w, unpaid)
	if err != nil {
		return batch.Workroom{}, err
	}
	room.Rates.PerHour, err = millionths(hour.Number())
	return room, err
}

// overheadOf is what a productive hour must bear of the overhead of a year, unpaid hours apart.
func overheadOf(w store.Workshop) (money.Decimal, error) {
	return w.OverheadYear.Div(w.ProductiveHours)
}

// HourlyCost is what a productive hour costs: wage and overhead, at the workroom's own pace. Where
// the overhead pays unpaid hours, the wage is paid for every hour worked.
func HourlyCost(w store.Workshop, unpaid costing.UnpaidRule) (money.Amount, error) {
	currency, err := Currency(w)
	if err != nil {
		return money.Amount{}, err
	}
	overhead, err := overheadOf(w)
	if err != nil {
		return money.Amount{}, err
	}
	wage := w.Wage
	if unpaid == costing.UnpaidInOverhead {
		if wage, err = wage.Div(w.Productive); err != nil {
			return money.Amount{}, err
		}
	}
	hour, err := wage.Add(overhead)
	if err != nil {
		return money.Amount{}, err
	}
	paid, err := hour.Div(w.Efficiency)
	return money.NewAmount(paid, currency), err
}

// stock is everything of a workshop that plans and prices are made from.
type stock struct {
	workshop store.Workshop
	*store.Whole
	currency money.Currency
	input    batch.Input
	// ordered is what the orders of the last months ask for, by style and size.
	ordered []store.OrderedSize
}

// stockOf reads a workshop whole.
func (s *Service) stockOf(ctx context.Context, workshop int64) (stock, error) {
	var all stock
	var err error
	if all.workshop, err = s.Workshop(ctx, workshop); err != nil {
		return stock{}, err
	}
	if all.currency, err = Currency(all.workshop); err != nil {
		return stock{}, err
	}
	if all.Whole, err = s.Whole(ctx, workshop); err != nil {
		return stock{}, err
	}
	if all.ordered, err = s.store.OrderedSizes(ctx, workshop, s.Today().AddDate(0, -all.Settings.MixMonths, 0)); err != nil {
		return stock{}, err
	}
	return all, all.fillInput()
}

// costsOf is what costing knows of a style.
func (all *stock) costsOf(style int64) store.StyleCosts {
	at := slices.IndexFunc(all.Costs, func(c store.StyleCosts) bool { return c.StyleID == style })
	if at < 0 { // the style was added while the workshop was being read
		return store.StyleCosts{StyleID: style, OnePrice: EachItsOwn, Learning: store.LearningOff}
	}
	return all.Costs[at]
}

// fillInput turns what was read into what planning takes.
func (all *stock) fillInput() error {
	settings, err := Choices(all.Settings)
	if err != nil {
		return err
	}
	if all.input.Workroom, err = toWorkroom(all.workshop, settings.Unpaid, all.DaysOff); err != nil {
		return err
	}
	charts := map[int64]garment.SizeChart{}
	for _, c := range all.Charts {
		charts[c.ID] = c.SizeChart
	}
	for _, style := range all.Styles {
		all.input.Styles = append(all.input.Styles, batch.Style{ID: style.ID, Style: style.Style, Chart: charts[style.ChartID]})
	}
	for _, w := range all.Colourways {
		all.input.Colourways = append(all.input.Colourways, batch.Colourway{ID: w.ID, Name: w.Name, Style: w.StyleID, Cloths: w.Cloths, Notions: w.Notions})
	}
	byID := map[int64]store.Cloth{}
	for _, c := range all.Cloths {
		byID[c.ID] = c
		cloth, err := toCloth(c, all.currency)
		if err != nil {
			return err
		}
		all.input.Cloths = append(all.input.Cloths, cloth)
	}
	for _, n := range all.Notions {
		notion, err := toNotion(n.Free(), all.currency)
		if err != nil {
			return err
		}
		all.input.Notions = append(all.input.Notions, notion)
	}
	return all.fillBolts(byID)
}

func (all *stock) fillBolts(cloths map[int64]store.Cloth) error {
	average, err := all.averages()
	if err != nil {
		return err
	}
	for _, b := range all.Bolts {
		if b.Free() <= 0 {
			continue
		}
		bolt, err := toBolt(b, cloths[b.ClothID], all.currency, all.Faults)
		if err != nil {
			return err
		}
		if price, ok := average[b.ClothID]; ok {
			bolt.PricePerMetre = price
		}
		all.input.Bolts = append(all.input.Bolts, bolt)
	}
	return nil
}

// averages are the prices per metre that all bolts of a cloth count at, where the workshop values
// cloth by the weighted average.
func (all *stock) averages() (map[int64]lay.Money, error) {
	if all.Settings.Valuation != costing.WeightedAverage.String() {
		return nil, nil
	}
	values, err := clothValues(*all)
	if err != nil {
		return nil, err
	}
	average := map[int64]lay.Money{}
	for _, v := range values {
		if average[v.Cloth.ID], err = perMetre(v.NextAverage.Number(), v.Cloth.PriceUnit); err != nil {
			return nil, err
		}
	}
	return average, nil
}

// decimalLength is a length in a unit as an exact decimal (cut at 9 places where a unit has
// no short decimal for it).
func decimalLength(l length.Length, unit length.Measure) (money.Decimal, error) {
	return money.Parse(l.In(unit))
}

// InPriceUnit writes a length in the unit that a cloth is priced in, by the unit's symbol.
func InPriceUnit(l length.Length, symbol string) (money.Decimal, error) {
	return decimalLength(l, unitNamed(symbol))
}

// unitNamed is the unit that a cloth or notion is priced in.
func unitNamed(name string) length.Measure {
	if name == "m" {
		return length.Metres
	}
	return length.Yards
}

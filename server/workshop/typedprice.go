package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// TypedFor are the prices that the maker typed for a colourway and for every colourway of its style.
func TypedFor(all *store.Whole, way store.Colourway) []store.TypedPrice {
	var typed []store.TypedPrice
	for _, p := range all.Typed {
		if p.StyleID == way.StyleID && (p.ColourwayID == nil || *p.ColourwayID == way.ID) {
			typed = append(typed, p)
		}
	}
	return typed
}

// typedIn is the typed price of a size in a channel: what is said of a colourway goes before what
// is said of every colourway, and what is said of a size before what is said of all sizes.
func typedIn(typed []store.TypedPrice, channel int64, size string) *money.Decimal {
	var found *store.TypedPrice
	weight := func(p *store.TypedPrice) int {
		w := 0
		if p.ColourwayID != nil {
			w += 2
		}
		if p.Size != "" {
			w++
		}
		return w
	}
	for i := range typed {
		p := &typed[i]
		if p.ChannelID == channel && (p.Size == "" || p.Size == size) && (found == nil || weight(p) > weight(found)) {
			found = p
		}
	}
	if found == nil {
		return nil
	}
	return &found.Price
}

// typedPrices are the typed prices by size and channel, as package costing takes them.
func (p *StylePrices) typedPrices(currency money.Currency) costing.TypedPrices {
	if len(p.Typed) == 0 {
		return nil
	}
	prices := make(costing.TypedPrices, len(p.Sizes))
	for i, size := range p.Sizes {
		prices[i] = make([]money.Amount, len(p.Channels))
		for c, channel := range p.Channels {
			if price := typedIn(p.Typed, channel.ID, size); price != nil {
				prices[i][c] = money.NewAmount(*price, currency)
			}
		}
	}
	return prices
}

// askTyped puts the typed prices in place of those that are worked out.
func (p *StylePrices) askTyped(change costing.Change) error {
	pricers, err := change.Pricers(ChannelSettings(p.Channels))
	if err != nil {
		return asFault(err)
	}
	for i := range p.Asked {
		for c := range p.Asked[i] {
			price, ok := p.Pricings[i].TypedIn(c)
			if !ok {
				continue
			}
			asked := &p.Asked[i][c]
			sale, err := pricers[c].Sale(p.Pricings[i].Quotes[c].Garment, price)
			if err != nil {
				return asFault(err)
			}
			asked.Worked, asked.Price, asked.Sale = asked.Price, price, sale
		}
	}
	return nil
}

// SaveTypedPrices keeps the prices that the maker typed for a colourway and for every colourway of
// its style, in place of those typed before; version is store.ContentVersion of what was looked at.
func (s *Service) SaveTypedPrices(ctx context.Context, workshop, colourway int64, version string, prices []store.TypedPrice) error {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(all.Colourways, func(w store.Colourway) bool { return w.ID == colourway })
	if at < 0 {
		return notThere("colourway")
	}
	fault := &store.Fault{Kind: store.Invalid}
	for i, p := range prices {
		if amount := money.NewAmount(p.Price, all.currency); p.Price.Sign() <= 0 || !amount.IsMinor() {
			message := fmt.Sprintf("Write a price that can be paid, such as %s.", money.NewAmount(money.MustParse("24.50"), all.currency).Round(money.HalfUp).Format(all.workshop.Locale))
			fault.Problems = append(fault.Problems, store.Problem{Field: fmt.Sprintf("lines[%d]", i), Message: message})
		}
	}
	if len(fault.Problems) > 0 {
		return fault
	}
	return s.store.SetTypedPrices(ctx, workshop, all.Colourways[at].StyleID, colourway, version, prices)
}

// changeWords says in the label of kept prices what was asked, if they answer a what-if.
func changeWords(change costing.Change) string {
	var said []string
	for _, part := range []struct {
		name string
		by   money.Rate
	}{
		{"cloth", change.Cloth},
		{"notions", change.Notions},
		{"packing", change.Packing},
		{"wage", change.Wage},
		{"overhead", change.Overhead},
		{"minutes", change.Minutes},
		{"postage", change.Postage},
	} {
		switch part.by.Fraction().Sign() {
		case 1:
			said = append(said, part.name+" +"+part.by.String())
		case -1:
			said = append(said, part.name+" "+part.by.String())
		}
	}
	if !change.Batch.IsZero() {
		said = append(said, "batch × "+change.Batch.String())
	}
	if len(said) == 0 {
		return ""
	}
	return ", what if: " + strings.Join(said, ", ")
}

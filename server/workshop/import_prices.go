package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// pricesKind is a table of prices.
var pricesKind = ImportKind{
	Name: "prices", Title: "Prices", Back: "/prices/lists",
	About: "One row for each style, colourway, size and channel. Prices that differ from what holds now are issued as a new price list of the channel, with today's date; prices that the file lacks stay as they are on its newest list. A channel whose prices are all as they are already gets no new list.",
	Columns: []ImportColumn{
		{Name: "style", Label: "Style", Needed: true, Others: []string{"garment", "article", "item"}},
		{Name: "colourway", Label: "Colourway", Needed: true, Others: []string{"colour", "color", "colorway", "fabric", "cloth"}},
		{Name: "size", Label: "Size", Needed: true},
		{Name: "channel", Label: "Channel", Needed: true, Others: []string{"sold through", "list", "price list"}},
		{Name: "price", Label: "Price", Needed: true, Others: []string{"amount", "each", "unit price"}},
		{Name: "suggested", Label: "Suggested retail", Others: []string{"suggested retail price", "retail", "we ask at retail"}},
		{Name: "currency", Label: "Currency"},
	},
}

// priceTaker takes a table of prices in.
type priceTaker struct {
	*importer
	currency money.Currency
	all      stock
	// priced are the prices of today by colourway, as far as they were asked for.
	priced map[int64]*StylePrices
	// read are the prices of the file by channel.
	read map[int64][]readPrice
	seen map[priceKey]int
}

type priceKey struct {
	channel, colourway int64
	size               string
}

// readPrice is one row of the file with what holds today.
type readPrice struct {
	row  ImportRow
	line costing.PriceLine
	// now is the price that is worked out today, suggestedNow the retail price beside it.
	now, suggestedNow money.Amount
}

func (im *importer) takePrices(ctx context.Context, rows []ImportRow) error {
	inside := im.service.within(im.tx)
	p := &priceTaker{importer: im, priced: map[int64]*StylePrices{}, read: map[int64][]readPrice{}, seen: map[priceKey]int{}}
	var err error
	if p.currency, err = Currency(im.room); err != nil {
		return err
	}
	if p.all, err = inside.stockOf(ctx, im.workshop); err != nil {
		return err
	}
	for _, row := range rows {
		if err := p.readRow(ctx, inside, row); err != nil {
			return err
		}
	}
	if len(im.fault.Problems) > 0 {
		return nil
	}
	for at, channel := range p.all.Channels {
		if err := p.issue(ctx, at, p.read[channel.ID]); err != nil {
			return err
		}
	}
	return nil
}

// find looks a name up, in any case.
func find[T any](all []T, name string, nameOf func(T) string) int {
	return slices.IndexFunc(all, func(one T) bool { return strings.EqualFold(nameOf(one), name) })
}

func (p *priceTaker) readRow(ctx context.Context, service *Service, row ImportRow) error {
	channel := find(p.all.Channels, row.fields["channel"], func(c store.Channel) string { return c.Settings.Name })
	if channel < 0 {
		var names []string
		for _, c := range p.all.Channels {
			names = append(names, c.Settings.Name)
		}
		p.wrong(row, "channel", fmt.Sprintf("There is no channel %q; there are %s.", row.fields["channel"], strings.Join(names, ", ")))
	}
	way := slices.IndexFunc(p.all.Colourways, func(w store.Colourway) bool {
		return strings.EqualFold(w.StyleName, row.fields["style"]) && strings.EqualFold(w.Name, row.fields["colourway"])
	})
	if way < 0 {
		p.wrong(row, "colourway", fmt.Sprintf("There is no colourway %q of a style %q.", row.fields["colourway"], row.fields["style"]))
	}
	if currency := row.fields["currency"]; currency != "" && !strings.EqualFold(currency, p.currency.Code()) {
		p.wrong(row, "currency", fmt.Sprintf("The file says %s, but the workshop counts in %s.", currency, p.currency.Code()))
	}
	price, suggested := p.amount(row, "price"), money.Amount{}
	if row.fields["suggested"] != "" {
		suggested = p.amount(row, "suggested")
	}
	if channel < 0 || way < 0 {
		return nil
	}
	prices, err := p.pricesOf(ctx, service, p.all.Colourways[way], row)
	if err != nil || prices == nil {
		return err
	}
	size := slices.Index(prices.Sizes, row.fields["size"])
	if size < 0 {
		p.wrong(row, "size", fmt.Sprintf("%q is not a size of %s; its sizes are %s.", row.fields["size"], prices.Style.Name, strings.Join(prices.Sizes, ", ")))
		return nil
	}
	id := p.all.Channels[channel].ID
	key := priceKey{id, p.all.Colourways[way].ID, row.fields["size"]}
	if line, twice := p.seen[key]; twice {
		p.wrong(row, "size", fmt.Sprintf("The price of this garment stands on line %d as well.", line))
		return nil
	}
	p.seen[key] = row.line
	line := listLines(*prices, id)[size]
	made := readPrice{row: row, now: line.Price, suggestedNow: line.Suggested}
	line.Price = price
	if suggested.Sign() > 0 {
		line.Suggested = suggested
	}
	made.line = line
	p.read[id] = append(p.read[id], made)
	return nil
}

// amount reads a price that can be paid.
func (p *priceTaker) amount(row ImportRow, column string) money.Amount {
	amount, err := money.ParseTypedAmount(row.fields[column], p.currency)
	if err != nil || amount.Sign() <= 0 || !amount.IsMinor() {
		p.wrong(row, column, fmt.Sprintf("%q is not a price; write an amount above 0 that can be paid, such as %s.", row.fields[column], money.FromMinor(2450, p.currency).Number()))
		return p.currency.Zero()
	}
	return amount
}

// pricesOf works the prices of a colourway out, once; nil if they can't be, which is said at the
// row.
func (p *priceTaker) pricesOf(ctx context.Context, service *Service, way store.Colourway, row ImportRow) (*StylePrices, error) {
	if prices, done := p.priced[way.ID]; done {
		return prices, nil
	}
	prices, err := service.price(ctx, p.all, way.ID, costing.Change{})
	var fault *store.Fault
	switch {
	case errors.As(err, &fault):
		p.wrong(row, "colourway", fmt.Sprintf("%s, %s can't be costed yet: %s", way.StyleName, way.Name, fault.Error()))
		p.priced[way.ID] = nil
		return nil, nil
	case err != nil:
		return nil, err
	}
	p.priced[way.ID] = &prices
	return &prices, nil
}

// issue makes a new list of a channel, unless the file says only what holds already: what is
// worked out today, or what is on the newest list.
func (p *priceTaker) issue(ctx context.Context, at int, read []readPrice) error {
	channel := p.all.Channels[at]
	if len(read) == 0 {
		return nil
	}
	latest, err := p.tx.LatestPriceList(ctx, p.workshop, channel.Settings.Name)
	if err != nil {
		return err
	}
	var listed []costing.PriceLine
	if latest != nil && latest.List.Currency() == p.currency {
		listed = latest.List.Lines()
	}
	asNow, asListed := true, true
	for _, r := range read {
		asNow = asNow && same(r.line.Price, r.now)
		old := lineOf(listed, r.line)
		asListed = asListed && old >= 0 && same(listed[old].Price, r.line.Price) && (r.row.fields["suggested"] == "" || same(listed[old].Suggested, r.line.Suggested))
	}
	if asListed || (asNow && !newSuggested(read)) {
		p.done.Same += len(read)
		return nil
	}
	lines := p.stillMade(listed)
	for _, r := range read {
		p.say(channel, r, listed)
		if old := lineOf(lines, r.line); old >= 0 {
			lines[old] = r.line
		} else {
			lines = append(lines, r.line)
		}
	}
	list, err := costing.IssuePriceList(channel.Settings, p.service.Today(), lines)
	if err == nil && latest != nil {
		list, err = list.Numbered(latest.Revision + 1)
	}
	if err != nil {
		return p.refused(asFault(err), read[0].row.line)
	}
	if _, err := p.tx.AddPriceList(ctx, p.workshop, list); err != nil {
		return p.refused(err, read[0].row.line)
	}
	p.done.Lists++
	return nil
}

// newSuggested tells whether the file suggests another retail price than would be.
func newSuggested(read []readPrice) bool {
	return slices.ContainsFunc(read, func(r readPrice) bool {
		return r.row.fields["suggested"] != "" && !same(r.line.Suggested, r.suggestedNow)
	})
}

func same(a, b money.Amount) bool { return a.Number().Cmp(b.Number()) == 0 }

// lineOf finds the price of a garment on a list; −1 if it isn't there.
func lineOf(lines []costing.PriceLine, line costing.PriceLine) int {
	return slices.IndexFunc(lines, func(l costing.PriceLine) bool {
		return l.Style == line.Style && l.Colourway == line.Colourway && l.Size == line.Size
	})
}

// stillMade are the lines of a list without what isn't made any more, which is said.
func (p *priceTaker) stillMade(listed []costing.PriceLine) (lines []costing.PriceLine) {
	for _, line := range listed {
		if slices.ContainsFunc(p.all.Colourways, func(w store.Colourway) bool { return w.StyleName == line.Style && w.Name == line.Colourway }) {
			lines = append(lines, line)
			continue
		}
		p.done.Notes = append(p.done.Notes, store.Problem{Message: fmt.Sprintf("%s, %s, size %s isn't made any more, so it is left off the new list.", line.Style, line.Colourway, line.Size)})
	}
	return lines
}

// say counts a price, and says how it changes and when it is below the floor.
func (p *priceTaker) say(channel store.Channel, r readPrice, listed []costing.PriceLine) {
	before, how := r.now, "worked out today"
	if old := lineOf(listed, r.line); old >= 0 {
		before, how = listed[old].Price, "on the newest list"
	}
	if same(before, r.line.Price) {
		p.done.Same++
	} else {
		p.done.Prices++
		p.done.Changes = append(p.done.Changes, store.Problem{Field: fmt.Sprintf("line %d", r.row.line), Message: fmt.Sprintf("%s: %s, %s, size %s from %s (%s) to %s.",
			channel.Settings.Name, r.line.Style, r.line.Colourway, r.line.Size, before.Format(p.room.Locale), how, r.line.Price.Format(p.room.Locale))})
	}
	if r.line.Price.Number().Less(r.line.Floor.Number()) {
		p.done.Notes = append(p.done.Notes, store.Problem{Field: fmt.Sprintf("line %d, price", r.row.line), Message: fmt.Sprintf("%s is below the floor of %s: every sale would cost you money.",
			r.line.Price.Format(p.room.Locale), r.line.Floor.Format(p.room.Locale))})
	}
}

// PriceListTable writes an issued price list for customers, so that an import can read it. It
// holds nothing of what a garment costs.
func (s *Service) PriceListTable(ctx context.Context, out io.Writer, workshop, id int64) error {
	return s.listTable(ctx, out, workshop, id, []string{"price", "suggested", "currency"})
}

// PriceListCostsTable writes an issued price list for the maker alone, with costs and floor then.
func (s *Service) PriceListCostsTable(ctx context.Context, out io.Writer, workshop, id int64) error {
	return s.listTable(ctx, out, workshop, id, []string{"costs", "floor", "price", "suggested", "currency"})
}

// listTable writes an issued price list with the columns named.
func (s *Service) listTable(ctx context.Context, out io.Writer, workshop, id int64, columns []string) error {
	list, err := s.PriceList(ctx, workshop, id)
	if err != nil {
		return err
	}
	var rows [][]any
	for _, line := range list.List.Lines() {
		values := map[string]any{"costs": line.Cost.Number(), "floor": line.Floor.Number(), "price": line.Price.Number(), "currency": list.List.Currency().Code()}
		if line.Suggested.Sign() > 0 {
			values["suggested"] = line.Suggested.Number()
		}
		row := []any{line.Style, line.Colourway, line.Size, list.Channel}
		for _, column := range columns {
			row = append(row, values[column])
		}
		rows = append(rows, row)
	}
	return exports.Table(out, append([]string{"style", "colourway", "size", "channel"}, columns...), rows)
}

package costing

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"yardwright/costing/money"
)

// PriceLine is one price on a list.
type PriceLine struct {
	Style     string       `json:"style"`
	Colourway string       `json:"colourway"`
	Size      string       `json:"size"`
	Price     money.Amount `json:"price"`
	// Suggested is the retail price suggested to shops; nothing if there is none.
	Suggested money.Amount `json:"suggested"`
	// Floor and Cost are what they were on the day of issue; they are not for print.
	Floor money.Amount `json:"floor"`
	Cost  money.Amount `json:"cost"`
}

// ListPrice makes the line of a quote.
func (q Quote) ListPrice() PriceLine {
	g := q.Garment
	return PriceLine{Style: g.Style, Colourway: g.Colourway, Size: g.Size, Price: q.Price, Floor: q.Floor, Cost: q.Sale.Cost}
}

// PriceList is a list of prices issued for a channel on a day. It never changes: a correction
// is a new revision.
type PriceList struct {
	list priceList
}

// priceList is what is kept and written of a PriceList.
type priceList struct {
	Channel  string         `json:"channel"`
	Kind     ChannelKind    `json:"kind"`
	Currency money.Currency `json:"currency"`
	Tax      Tax            `json:"tax"`
	Terms    Terms          `json:"terms"`
	Issued   time.Time      `json:"issued"`
	Revision int            `json:"revision"`
	Lines    []PriceLine    `json:"lines"`
}

// IssuePriceList issues revision 1 of a channel's prices on a day. Every price must be in the
// channel's currency and payable, and no garment may stand on the list twice.
func IssuePriceList(channel Channel, issued time.Time, lines []PriceLine) (PriceList, error) {
	return issue(priceList{
		Channel: channel.Name, Kind: channel.Kind, Currency: channel.Currency, Tax: channel.Tax, Terms: channel.Terms,
		Issued: issued, Revision: 1, Lines: lines,
	})
}

// Revise issues the next revision with other lines; the list itself stays as it is.
func (p PriceList) Revise(issued time.Time, lines []PriceLine) (PriceList, error) {
	next := p.list
	next.Issued, next.Revision, next.Lines = issued, next.Revision+1, lines
	if issued.Before(p.list.Issued) {
		return PriceList{}, &InputError{Field: "issued", Message: fmt.Sprintf(
			"is before revision %d of %s", p.list.Revision, p.list.Issued.Format(time.DateOnly))}
	}
	return issue(next)
}

// Numbered returns the list as a later revision, for channels whose earlier list can't be
// revised because it is in another currency or under other terms.
func (p PriceList) Numbered(revision int) (PriceList, error) {
	if revision < p.list.Revision {
		return PriceList{}, &InputError{Field: "revision", Message: fmt.Sprintf("must be %d or more, but is %d", p.list.Revision, revision)}
	}
	next := p.list
	next.Revision = revision
	return issue(next)
}

func issue(list priceList) (PriceList, error) {
	list.Lines = slices.Clone(list.Lines)
	var c checker
	if list.Issued.IsZero() {
		c.fail("issued", "is missing: a price list has a date")
	}
	if len(list.Lines) == 0 {
		c.fail("lines", "a price list needs at least one price")
	}
	seen := make(map[[3]string]int)
	for i, line := range list.Lines {
		c.enter("lines", i)
		c.price("price", line.Price, list.Currency)
		c.price("suggested", line.Suggested, list.Currency)
		if line.Price.Sign() <= 0 || !line.Price.IsMinor() {
			c.fail("price", "must be an amount that can be paid, but is %s", line.Price)
		}
		key := [3]string{line.Style, line.Colourway, line.Size}
		if first, twice := seen[key]; twice {
			c.fail("size", "stands on the list already, in line %d", first+1)
		}
		seen[key] = i
	}
	if err := c.err(); err != nil {
		return PriceList{}, err
	}
	return PriceList{list}, nil
}

// Channel returns the name of the channel.
func (p PriceList) Channel() string { return p.list.Channel }

// Kind returns the kind of the channel.
func (p PriceList) Kind() ChannelKind { return p.list.Kind }

// Currency returns the currency of all prices.
func (p PriceList) Currency() money.Currency { return p.list.Currency }

// Tax returns the tax rule that the prices are meant with.
func (p PriceList) Tax() Tax { return p.list.Tax }

// Terms returns the terms for shops.
func (p PriceList) Terms() Terms { return p.list.Terms }

// Issued returns the day of issue.
func (p PriceList) Issued() time.Time { return p.list.Issued }

// Revision counts from 1.
func (p PriceList) Revision() int { return p.list.Revision }

// Lines returns a copy of the prices, in order.
func (p PriceList) Lines() []PriceLine { return slices.Clone(p.list.Lines) }

// Price returns the price of one garment; ok is false if it isn't on the list.
func (p PriceList) Price(style, colourway, size string) (price money.Amount, ok bool) {
	for _, line := range p.list.Lines {
		if line.Style == style && line.Colourway == colourway && line.Size == size {
			return line.Price, true
		}
	}
	return money.Amount{}, false
}

// MarshalJSON writes everything that was issued.
func (p PriceList) MarshalJSON() ([]byte, error) { return json.Marshal(p.list) }

// UnmarshalJSON reads a list that was issued, and checks it as issuing does.
func (p *PriceList) UnmarshalJSON(data []byte) error {
	var list priceList
	if err := json.Unmarshal(data, &list); err != nil {
		return err
	}
	issued, err := issue(list)
	*p = issued
	return err
}

package page

import (
	"fmt"
	"net/url"

	"yardwright/costing/money"
	"yardwright/server/store"
)

// Pager leads through a long list.
type Pager struct {
	Number, Pages, All int
	State, Text        string
}

// Link is the address of another page of the list.
func (p Pager) Link(number int) string {
	query := url.Values{"state": {p.State}, "page": {fmt.Sprint(number)}}
	if p.Text != "" {
		query.Set("q", p.Text)
	}
	return "/orders?" + query.Encode()
}

// Before and After are the neighbours of a page; 0 if there is none.
func (p Pager) Before() int { return p.Number - 1 }

// After is the page after this one; 0 if it is the last.
func (p Pager) After() int {
	if p.Number >= p.Pages {
		return 0
	}
	return p.Number + 1
}

// Till is what is agreed and paid for an order.
type Till struct {
	Price      *money.Decimal
	Payments   []store.Payment
	Paid       money.Decimal
	Balance    money.Decimal
	HasBalance bool
	How        []string
	// Suggested is what the order comes to by the maker's prices, while none is agreed; nil where a
	// garment has no price.
	Suggested *money.Decimal
	// Closed orders are cancelled: nothing is to be paid any more.
	Closed bool
	// Key makes that a payment that is sent twice is noted once.
	Key string
	// Correction is where a sale is corrected; "" where it can't be taken back.
	Correction string
}

// OrderMove is a button that moves an order to another state.
type OrderMove struct{ To, Label string }

// Fair is the page for selling at a fair, made for a thumb.
type Fair struct {
	Base
	Customers []store.Customer
	Customer  int64
	Styles    []FairStyle
	List      []FairLine
	Garments  int
	// Sum of the tags; Unpriced garments have no issued price.
	Sum      money.Decimal
	Unpriced int
	How      []string
	// Key makes that what is sent twice is booked once; Sold is the order that it booked, 0 if none
	// yet.
	Key  string
	Sold int64
	// Corrects is the sale that this one takes the place of; 0 for none.
	Corrects       int64
	CorrectsNumber string
}

// FairStyle is a style with its colourways to tap.
type FairStyle struct {
	Name string
	Ways []FairWay
}

// FairWay is a colourway with its sizes to tap.
type FairWay struct {
	ID    int64
	Name  string
	Sizes []FairSize
	Open  bool
	Count int
}

// FairSize is one size to tap.
type FairSize struct {
	Size, Field string
	Price       *money.Decimal
	Count       int
}

// FairLine is one line of the running list.
type FairLine struct {
	Field, Name string
	Way         int64
	Count       int
	Each        *money.Decimal
}

// sum writes the sum for its box; empty if a price is missing.
func (f Fair) sum() string {
	if f.Sum.IsZero() || f.Unpriced > 0 {
		return ""
	}
	return f.InCoins(f.Sum)
}

func (Fair) page() string { return "fair" }

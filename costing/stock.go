package costing

import (
	"fmt"
	"slices"

	"yardwright/costing/money"
)

// Valuation says which of several purchases a length taken from the shelf is counted from.
type Valuation int

// The ways of valuing stock. IAS 2 allows the first two.
const (
	// FirstInFirstOut counts from the oldest purchase on.
	FirstInFirstOut Valuation = iota
	// WeightedAverage counts at total cost ÷ total quantity, kept to 19 digits; only the
	// extended value is rounded.
	WeightedAverage
	// LastInFirstOut counts from the newest purchase on. IAS 2 doesn't allow it; it is here
	// for comparison with older books.
	LastInFirstOut
)

var valuationNames = []string{"first in, first out", "weighted average", "last in, first out"}

// String returns first in, first out; weighted average; or last in, first out.
func (v Valuation) String() string { return nameOf("way of valuing stock", valuationNames, v) }

// Formula returns the rule as it is shown.
func (v Valuation) Formula() string {
	switch v {
	case WeightedAverage:
		return "quantity × (total cost ÷ total quantity)"
	case LastInFirstOut:
		return "quantity at the prices of the newest purchases"
	}
	return "quantity at the prices of the oldest purchases"
}

// MarshalText writes what String writes.
func (v Valuation) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads what String writes.
func (v *Valuation) UnmarshalText(text []byte) (err error) {
	*v, err = valueNamed[Valuation]("way of valuing stock", valuationNames, string(text))
	return err
}

// Layer is one purchase of a cloth or notion that is at least partly on the shelf: a bolt, or
// a remnant that went back.
type Layer struct {
	// Label says which, such as the bolt's number.
	Label    string        `json:"label"`
	Quantity money.Decimal `json:"quantity"`
	// UnitCost is the landed price of one unit.
	UnitCost money.Amount `json:"unit_cost"`
	Remnant  bool         `json:"remnant"`
	// Realisable is what one unit would fetch, less the cost of selling it, where that is
	// known; a layer is never valued above it (lower of cost and net realisable value, IAS 2).
	Realisable money.Amount `json:"realisable"`
}

// value returns what one unit is valued at.
func (l Layer) value() money.Decimal {
	if l.Realisable == (money.Amount{}) {
		return l.UnitCost.Number()
	}
	return money.MinDecimal(l.UnitCost.Number(), l.Realisable.Number())
}

// Stock is what is on the shelf of one cloth or notion, in one unit, oldest purchase first.
type Stock struct {
	Currency  money.Currency `json:"currency"`
	Unit      string         `json:"unit"`
	Valuation Valuation      `json:"valuation"`
	Layers    []Layer        `json:"layers"`
}

// Check returns everything that is wrong with the stock, as InputErrors, or nil.
func (s Stock) Check() error {
	var c checker
	for i, layer := range s.Layers {
		c.enter("layers", i)
		c.notNegative("quantity", layer.Quantity)
		c.price("unit_cost", layer.UnitCost, s.Currency)
		c.price("realisable", layer.Realisable, s.Currency)
	}
	return c.err()
}

// Quantity returns how much is on the shelf.
func (s Stock) Quantity() (money.Decimal, error) {
	quantities := make([]money.Decimal, len(s.Layers))
	for i, layer := range s.Layers {
		quantities[i] = layer.Quantity
	}
	return money.Sum(quantities...)
}

// Value returns what is on the shelf, each layer at the lower of cost and realisable value,
// rounded half up to the minor unit.
func (s Stock) Value() (money.Amount, error) {
	if err := s.Check(); err != nil {
		return money.Amount{}, err
	}
	var c calc
	total := s.exactValue(&c)
	return money.NewAmount(total, s.Currency).Round(money.HalfUp), c.err
}

// Values shares Value out to the layers, to the minor unit: the parts sum to it.
func (s Stock) Values(odd money.OddUnit) ([]money.Amount, error) {
	total, err := s.Value()
	if err != nil {
		return nil, err
	}
	var c calc
	worth := make([]money.Decimal, len(s.Layers))
	for i, layer := range s.Layers {
		worth[i] = c.mul(layer.Quantity, layer.value())
	}
	if c.err != nil {
		return nil, c.err
	}
	if total.IsZero() {
		parts := make([]money.Amount, len(s.Layers))
		for i := range parts {
			parts[i] = s.Currency.Zero()
		}
		return parts, nil
	}
	return money.AllocateBy(odd, total, worth)
}

func (s Stock) exactValue(c *calc) money.Decimal {
	var total money.Decimal
	for _, layer := range s.Layers {
		total = c.add(total, c.mul(layer.Quantity, layer.value()))
	}
	return total
}

// UnitCost returns total value ÷ total quantity to 19 digits; nothing for an empty shelf.
func (s Stock) UnitCost() (money.Amount, error) {
	var c calc
	quantity, err := s.Quantity()
	if err != nil || quantity.IsZero() {
		return s.Currency.Zero(), err
	}
	unit := c.div(s.exactValue(&c), quantity)
	return money.NewAmount(unit, s.Currency), c.err
}

// Drawn is what was taken from one layer.
type Drawn struct {
	Layer    int           `json:"layer"`
	Label    string        `json:"label"`
	Quantity money.Decimal `json:"quantity"`
	UnitCost money.Amount  `json:"unit_cost"`
}

// Draw is a quantity taken from the shelf and what it counts for.
type Draw struct {
	Quantity money.Decimal `json:"quantity"`
	// Cost is rounded half up to the minor unit from the exact sum.
	Cost  money.Amount `json:"cost"`
	Drawn []Drawn      `json:"drawn"`
}

// Take draws a quantity in the order of the stock's valuation and returns what it costs and
// what is left on the shelf. Under WeightedAverage everything drawn counts at the average, and
// what is left keeps it. Taking more than there is fails and says how much is there.
func (s Stock) Take(quantity money.Decimal) (Draw, Stock, error) {
	var check checker
	check.notNegative("quantity", quantity)
	if err := check.err(); err != nil {
		return Draw{}, s, err
	}
	if err := s.Check(); err != nil {
		return Draw{}, s, err
	}
	onShelf, err := s.Quantity()
	if err != nil {
		return Draw{}, s, err
	}
	if onShelf.Less(quantity) {
		return Draw{}, s, &InputError{
			Field:   "quantity",
			Message: fmt.Sprintf("%s %s are asked for, but only %s are on the shelf", quantity, s.Unit, onShelf),
		}
	}
	left := s
	left.Layers = slices.Clone(s.Layers)
	if s.Valuation != WeightedAverage || onShelf.IsZero() {
		draw, err := left.draw(quantity)
		return draw, left, err
	}
	var c calc
	cost := c.ratio(c.mul(s.exactValue(&c), quantity), onShelf, s.Currency.Digits(), money.HalfUp)
	left.levelOut(c.div(s.exactValue(&c), onShelf))
	draw, err := left.draw(quantity)
	c.keep(err)
	draw.Cost = money.NewAmount(cost, s.Currency)
	return draw, left, c.err
}

// levelOut gives every layer the average cost.
func (s *Stock) levelOut(average money.Decimal) {
	for i := range s.Layers {
		s.Layers[i].UnitCost, s.Layers[i].Realisable = money.NewAmount(average, s.Currency), money.Amount{}
	}
}

// draw takes from the layers in order and drops those that are used up.
func (s *Stock) draw(quantity money.Decimal) (Draw, error) {
	var c calc
	draw := Draw{Quantity: quantity}
	var cost money.Decimal
	for n := range s.Layers {
		i := n
		if s.Valuation == LastInFirstOut {
			i = len(s.Layers) - 1 - n
		}
		layer := &s.Layers[i]
		part := money.MinDecimal(quantity, layer.Quantity)
		if part.IsZero() {
			continue
		}
		draw.Drawn = append(draw.Drawn, Drawn{i, layer.Label, part, money.NewAmount(layer.value(), s.Currency)})
		cost = c.add(cost, c.mul(part, layer.value()))
		layer.Quantity = c.sub(layer.Quantity, part)
		quantity = c.sub(quantity, part)
	}
	s.Layers = slices.DeleteFunc(s.Layers, func(l Layer) bool { return l.Quantity.IsZero() })
	draw.Cost = money.NewAmount(cost, s.Currency).Round(money.HalfUp)
	return draw, c.err
}

// Return puts a remnant back as the newest layer. It keeps the unit cost of the bolt that it
// was cut from only if it will be used: give what it would fetch as realisable otherwise.
func (s Stock) Return(label string, quantity money.Decimal, unitCost, realisable money.Amount) Stock {
	s.Layers = append(slices.Clone(s.Layers), Layer{
		Label: label, Quantity: quantity, UnitCost: unitCost, Remnant: true, Realisable: realisable,
	})
	return s
}

// ClothPrice returns the price to put into Inputs for cloth drawn for a batch: exactly the
// draw's cost for its quantity.
func (d Draw) ClothPrice() LandedPrice { return LandedPrice{List: d.Cost, For: d.Quantity} }

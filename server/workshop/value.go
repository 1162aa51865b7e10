package workshop

import (
	"context"
	"slices"
	"time"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// ClothValue is what is on the shelf of one cloth, valued.
type ClothValue struct {
	Cloth store.Cloth
	// Bolts are the layers of Stock, oldest first, with what was said of each.
	Bolts []ValuedBolt
	Stock costing.Stock
	// Value is the lower of cost and what it would fetch, over all bolts and remnants.
	Value money.Amount
	// Next is what the next price unit that is cut counts for, by each way of valuing.
	NextFirstIn, NextAverage money.Amount

	oddCent money.OddUnit
}

// ValuedBolt is a bolt with what valuing knows of it.
type ValuedBolt struct {
	Bolt     store.Bolt
	BoughtOn *time.Time
	Worth    *money.Decimal
	// UnitCost is what a price unit cost; Value the bolt's part of what all of them count for, to
	// the smallest coin, so that the parts sum to the whole.
	UnitCost, Value money.Amount
}

// ClothValues values all cloth on the shelf by the workshop's way.
func (s *Service) ClothValues(ctx context.Context, workshop int64) ([]ClothValue, error) {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return nil, err
	}
	return clothValues(all)
}

func clothValues(all stock) ([]ClothValue, error) {
	settings, err := Choices(all.Settings)
	if err != nil {
		return nil, err
	}
	var values []ClothValue
	for _, cloth := range all.Cloths {
		value := ClothValue{Cloth: cloth, oddCent: settings.OddCent, Stock: costing.Stock{Currency: all.currency, Unit: unitNamed(cloth.PriceUnit).Symbol, Valuation: settings.Valuation}}
		for _, bolt := range all.Bolts {
			if bolt.ClothID == cloth.ID {
				if err := value.add(bolt, all.BoltCosts, all.currency); err != nil {
					return nil, err
				}
			}
		}
		if err := value.sum(); err != nil {
			return nil, err
		}
		values = append(values, value)
	}
	return values, nil
}

func (v *ClothValue) add(bolt store.Bolt, said []store.BoltCost, currency money.Currency) error {
	cost, err := boltCost(bolt, v.Cloth, currency)
	if err != nil {
		return err
	}
	valued := ValuedBolt{Bolt: bolt, UnitCost: cost}
	for _, known := range said {
		if known.BoltID == bolt.ID {
			valued.BoughtOn, valued.Worth = known.BoughtOn, known.Worth
		}
	}
	v.Bolts = append(v.Bolts, valued)
	return nil
}

// sum puts the bolts in the order of purchase and values them.
func (v *ClothValue) sum() error {
	slices.SortStableFunc(v.Bolts, olderFirst)
	for i := range v.Bolts {
		b := &v.Bolts[i]
		quantity, err := decimalLength(b.Bolt.Length, unitNamed(v.Cloth.PriceUnit))
		if err != nil {
			return err
		}
		layer := costing.Layer{Label: b.Bolt.Name, Quantity: quantity, UnitCost: b.UnitCost, Remnant: b.Bolt.Remnant}
		if b.Worth != nil {
			layer.Realisable = money.NewAmount(*b.Worth, v.Stock.Currency)
		}
		v.Stock.Layers = append(v.Stock.Layers, layer)
	}
	var err error
	if v.Value, err = v.Stock.Value(); err != nil {
		return err
	}
	parts, err := v.Stock.Values(v.oddCent)
	if err != nil {
		return err
	}
	for i := range v.Bolts {
		v.Bolts[i].Value = parts[i]
	}
	if v.NextAverage, err = v.Stock.UnitCost(); err != nil || len(v.Stock.Layers) == 0 {
		v.NextFirstIn = v.NextAverage
		return err
	}
	first := v.Stock
	first.Layers = v.Stock.Layers[:1]
	v.NextFirstIn, err = first.UnitCost()
	return err
}

// olderFirst orders bolts by the day they were bought; those without one count in the order
// in which they were received, before those with one.
func olderFirst(a, b ValuedBolt) int {
	switch {
	case a.BoughtOn != nil && b.BoughtOn != nil && !a.BoughtOn.Equal(*b.BoughtOn):
		return a.BoughtOn.Compare(*b.BoughtOn)
	case a.BoughtOn == nil && b.BoughtOn != nil:
		return -1
	case a.BoughtOn != nil && b.BoughtOn == nil:
		return 1
	}
	return int(a.Bolt.ID - b.Bolt.ID)
}

// Drawn is what a plan takes of a cloth and counts it for.
type Drawn struct {
	// Total is the length in price units; Short the part of it that is to be bought.
	Total, Short money.Decimal
	// Draw is what the shelf gives; Bought what the rest counts for, with what is bought beyond it
	// because the shop cuts in whole steps.
	Draw   costing.Draw
	Bought money.Amount
	// Cost is both.
	Cost money.Amount
}

// ValuedAt says in words what cloth from the shelf counts for in a batch. A batch names its bolts, so
// each counts at what it cost (specific identification, IAS 2.23, from memory), unless all bolts of a
// cloth count alike.
func ValuedAt(v costing.Valuation) string {
	if v == costing.WeightedAverage {
		return "every bolt at the average of its cloth"
	}
	return "each bolt at what it cost"
}

// SaveClothValues stores when bolts were bought and what they would fetch.
func (s *Service) SaveClothValues(ctx context.Context, workshop int64, costs []store.BoltCost) error {
	for _, c := range costs {
		if c.BoughtOn != nil && c.BoughtOn.After(s.Today()) {
			return store.Wrong("", "A bolt can't have been bought on a day that is still to come.")
		}
		if c.Worth != nil && c.Worth.Sign() < 0 {
			return store.Wrong("", "What a bolt would fetch can't be less than 0.")
		}
	}
	return s.store.SetBoltCosts(ctx, workshop, costs)
}

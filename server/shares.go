package server

import (
	"fmt"
	"slices"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// sharedAnchor names the row that says what the garments at a place take of a cloth, on the page of
// the lays of the usual batch and on that of the costs of a batch.
func sharedAnchor(cloth int64, at int) string { return fmt.Sprintf("share-%d-%d", cloth, at) }

// cuttingAnchor names the row of the minutes of cutting of the garments at a place in a batch.
func cuttingAnchor(at int) string { return fmt.Sprintf("cutting-%d", at) }

// usualCuttingAnchor names the row of the minutes of cutting of a size in the usual batch.
func usualCuttingAnchor(size int) string { return fmt.Sprintf("usual-cutting-%d", size) }

// fillMarkers shows the lays of the usual batch, and how their cloth and their minutes are shared
// out to the sizes, in the numbers that the cost sheets have.
func fillMarkers(view *page.CostingMarkers) error {
	use := view.Prices.Use
	for c, planned := range use.Plans {
		cloth, err := costingCloth(view, c)
		if err != nil {
			return err
		}
		for i, l := range planned.Plan.Lays {
			drawn, err := markerView(view.Base, batch.Plan{Cloths: use.Plans}, c, i)
			if err != nil {
				return err
			}
			shown := costingLay(view.Base, i, l, drawn)
			if shown.Shares, err = sharesOfLay(use, planned, l); err != nil {
				return err
			}
			cloth.Lays = append(cloth.Lays, shown)
		}
		view.Cloths = append(view.Cloths, cloth)
	}
	for i, size := range view.Prices.Sizes {
		part := page.CuttingPart{Anchor: usualCuttingAnchor(i), Name: size, Garments: use.Counts[size]}
		part.SetUp, part.Cut, part.Bundle = cuttingOf(view.Prices.Pricings[i].Sheet.Inputs.Operations)
		view.Cutting = append(view.Cutting, part)
	}
	return nil
}

// sharesOfLay says which garments are in a lay, and what part of it each size bears.
func sharesOfLay(use workshop.ClothUse, planned batch.ClothPlan, l lay.Lay) ([]page.LayShare, error) {
	shares, err := batch.SharesOfLay(planned, l)
	if err != nil {
		return nil, err
	}
	var shown []page.LayShare
	for _, share := range shares {
		shown = append(shown, page.LayShare{Size: use.Kinds[share.Garment].Size, Garments: share.Garments, Share: share.Share})
	}
	return shown, nil
}

func costingLay(base page.Base, at int, l lay.Lay, drawn *page.MarkerView) page.CostingLay {
	return page.CostingLay{
		Number: at + 1, Plies: l.Plies, View: drawn,
		Length: fmt.Sprintf("marker %s, each ply %s", base.PieceBoth(l.Marker.Length), base.ClothUpBoth(l.PlyLength)),
		SetUp:  store.DecimalMinutes(l.SetUp), Spread: store.DecimalMinutes(l.Spread), Cut: store.DecimalMinutes(l.Cut),
	}
}

// costingCloth is how one cloth of the usual batch is shared among the sizes.
func costingCloth(view *page.CostingMarkers, c int) (page.CostingCloth, error) {
	prices := view.Prices
	planned, shared := prices.Use.Plans[c], prices.Use.Shares[c]
	cloth := page.CostingCloth{Name: planned.Cloth.Name, ID: planned.Cloth.ID}
	for _, size := range shared.Sizes {
		at := slices.Index(prices.Sizes, size.Size)
		if at < 0 {
			continue
		}
		inputs := prices.Pricings[at].Sheet.Inputs
		n := slices.Index(prices.Sources.Cloths, planned.Cloth.ID)
		if n < 0 || n >= len(inputs.Cloths) {
			continue
		}
		one := inputs.Cloths[n]
		cloth.Unit = one.Unit
		part, err := clothPart(one, size.Garments)
		if err != nil {
			return cloth, err
		}
		part.Anchor, part.Name = sharedAnchor(planned.Cloth.ID, at), size.Size
		cloth.Sizes = append(cloth.Sizes, part)
	}
	slices.SortStableFunc(cloth.Sizes, func(a, b page.ClothPart) int {
		return slices.Index(prices.Sizes, a.Name) - slices.Index(prices.Sizes, b.Name)
	})
	var err error
	if cloth.Markers, err = workshop.InPriceUnit(shared.Markers, cloth.Unit); err != nil {
		return cloth, err
	}
	cloth.Losses, err = workshop.InPriceUnit(shared.Losses, cloth.Unit)
	return cloth, err
}

// clothPart is what so many garments take of a cloth of their cost sheet.
func clothPart(one costing.Cloth, garments int) (page.ClothPart, error) {
	part := page.ClothPart{Garments: garments, Length: one.Length, Ends: one.EndsAndLosses}
	each, err := one.Length.Add(one.EndsAndLosses)
	if err != nil {
		return part, err
	}
	part.All, err = each.Mul(money.Int(int64(garments)))
	return part, err
}

// counts is what a length of a cloth of a cost sheet counts for.
func counts(one costing.Cloth, all money.Decimal) (money.Amount, error) {
	unit, err := one.Price.PerUnit()
	if err != nil {
		return unit, err
	}
	amount, err := unit.Mul(all)
	return amount.Round(money.HalfUp), err
}

// cuttingOf are the minutes of a garment to cut and to bundle it, and those of set-up that its cost
// sheet shares; nothing where minutes that were worked took their place.
func cuttingOf(operations []costing.Operation) (setUp, cut, bundle money.Decimal) {
	for _, o := range operations {
		switch {
		case o.Worked:
		case o.Name == workshop.CuttingName:
			setUp, cut = o.SetUp, o.Run
		case o.Name == workshop.BundlingName:
			bundle = o.Run
		}
	}
	return setUp, cut, bundle
}

// sharedOut says how the cloth of a batch was shared out to its garments, and the minutes of its
// lays, in the numbers that their cost sheets have.
func sharedOut(view *page.BatchCosts) error {
	for _, cloth := range view.Costs.Cloths {
		shared := page.SharedCloth{Cloth: cloth.Cloth, Unit: cloth.Unit}
		for g, garment := range view.Costs.Garments {
			for _, one := range garment.Sheet.Inputs.Cloths {
				if one.Name != cloth.Cloth {
					continue
				}
				part, err := clothPart(one, garment.Quantity)
				if err != nil {
					return err
				}
				if part.Counts, err = counts(one, part.All); err != nil {
					return err
				}
				part.Anchor, part.Name, shared.Unit = sharedAnchor(cloth.ID, g), garmentName(garment), one.Unit
				if shared.All, err = shared.All.Add(part.All); err != nil {
					return err
				}
				shared.Parts = append(shared.Parts, part)
			}
		}
		view.Shared = append(view.Shared, shared)
	}
	for g, garment := range view.Costs.Garments {
		part := page.CuttingPart{Anchor: cuttingAnchor(g), Name: garmentName(garment), Garments: garment.Quantity}
		_, part.Cut, part.Bundle = cuttingOf(garment.Sheet.Inputs.Operations)
		view.Cutting = append(view.Cutting, part)
	}
	return nil
}

func garmentName(g workshop.BatchGarment) string {
	return g.ColourwayName + " " + g.Style + " " + g.Size
}

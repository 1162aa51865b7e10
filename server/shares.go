package server

import (
	"fmt"
	"slices"
	"strconv"

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
			cloth.Lays = append(cloth.Lays, costingLay(view.Base, i, l, drawn))
		}
		view.Cloths = append(view.Cloths, cloth)
	}
	view.SetUp, view.Cutting, view.Bundling = store.DecimalMinutes(use.SetUp), store.DecimalMinutes(use.Cutting), store.DecimalMinutes(use.Bundling)
	if len(view.Prices.Pricings) > 0 {
		view.CutEach, view.BundleEach = cuttingOf(view.Prices.Pricings[0].Sheet.Inputs.Operations)
	}
	return nil
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
	var area float64
	for _, size := range shared.Sizes {
		area += size.Area.SquareMetres()
	}
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
		part.Area = strconv.FormatFloat(100*size.Area.SquareMetres()/area, 'f', 3, 64) + " %"
		cloth.Sizes = append(cloth.Sizes, part)
	}
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

// cuttingOf are the minutes of a garment to cut and to bundle it; nothing where minutes that were
// worked took their place.
func cuttingOf(operations []costing.Operation) (cut, bundle money.Decimal) {
	for _, o := range operations {
		switch {
		case o.Worked:
		case o.Name == workshop.CuttingName:
			cut = o.Run
		case o.Name == workshop.BundlingName:
			bundle = o.Run
		}
	}
	return cut, bundle
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
		part.Cut, part.Bundle = cuttingOf(garment.Sheet.Inputs.Operations)
		view.Cutting = append(view.Cutting, part)
	}
	return nil
}

func garmentName(g workshop.BatchGarment) string {
	return g.ColourwayName + " " + g.Style + " " + g.Size
}

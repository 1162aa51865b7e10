package workshop

import (
	"context"
	"io"

	"yardwright/costing"
	"yardwright/exports"
	"yardwright/server/store"
)

// exportOptions say for whom a document of a workshop is written.
func (s *Service) exportOptions(w store.Workshop) (exports.Options, error) {
	currency, err := Currency(w)
	return exports.Options{Workshop: w.Name, Lengths: Style(w), Locale: w.Locale, Currency: currency, Date: s.Today()}, err
}

// CuttingWorkbook writes the workbook of a batch's newest plan.
func (s *Service) CuttingWorkbook(ctx context.Context, out io.Writer, workshop, batchID int64) error {
	return s.CuttingWorkbookFor(ctx, out, workshop, batchID, "", true)
}

// CuttingWorkbookFor is CuttingWorkbook for a paper, "" for the usual one, with or without money.
func (s *Service) CuttingWorkbookFor(ctx context.Context, out io.Writer, workshop, batchID int64, paper exports.Paper, money bool) error {
	plan, err := s.MadePlan(ctx, workshop, batchID)
	if err != nil {
		return err
	}
	if plan == nil {
		return notThere("plan")
	}
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	options, err := s.exportOptions(w)
	if err != nil {
		return err
	}
	options.WithoutMoney, options.Paper = !money, paper
	return exports.CuttingWorkbook(out, *plan, options)
}

// PricingWorkbook writes the cost sheets and prices of a colourway, or of all that are not put
// away, one behind the other, if it is 0; to be printed on a paper, "" for the usual one.
func (s *Service) PricingWorkbook(ctx context.Context, out io.Writer, workshop, colourway int64, paper exports.Paper) error {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return err
	}
	var priced []costing.Pricing
	var shared []exports.OnePriced
	for _, way := range all.Colourways {
		if colourway != 0 && way.ID != colourway || colourway == 0 && way.PutAway {
			continue
		}
		prices, err := s.price(ctx, all, way.ID, costing.Change{})
		if err != nil {
			return err
		}
		if prices.Shared() {
			shared = append(shared, exports.OnePriced{First: len(priced), Mix: prices.mix(), Found: prices.OnePrices})
		}
		priced = append(priced, prices.Pricings...)
	}
	if len(priced) == 0 {
		return notThere("colourway")
	}
	options, err := s.exportOptions(all.workshop)
	if err != nil {
		return err
	}
	options.OnePrices, options.Paper = shared, paper
	return exports.PricingWorkbook(out, priced, ChannelSettings(all.Channels), options)
}

package workshop

import (
	"context"
	"io"
	"slices"
	"time"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// OrderFormDraft is what a maker says of an order form for shops.
type OrderFormDraft struct {
	LineSheetDraft
	// Customer is the shop that it is for; 0 if any shop may fill it in.
	Customer int64
}

// MakeOrderForm makes an order form of the colourways of a draft, at the wholesale prices of
// today, and keeps it: it has a number of its own, and its prices hold whatever costs do later.
func (s *Service) MakeOrderForm(ctx context.Context, workshop int64, draft OrderFormDraft) (int64, error) {
	if len(draft.Colourways) == 0 {
		return 0, store.Wrong("colourways", "Choose at least one colourway.")
	}
	if !draft.OrderBy.IsZero() && draft.OrderBy.Before(s.Today()) {
		return 0, store.Wrong("order_by", "This day has passed. Choose a later one, or leave it empty.")
	}
	all, shop, err := s.shopPrices(ctx, workshop)
	if err != nil {
		return 0, err
	}
	terms := all.Channels[shop].Settings.Terms
	form := store.OrderForm{IssuedOn: s.Today(), Form: store.FormContent{
		Title: draft.Title, Contact: draft.Contact, Note: draft.Note, Terms: termsWords(terms), Currency: all.workshop.Currency, Minimum: terms.MinimumOrder.Number(),
	}}
	if !draft.OrderBy.IsZero() {
		form.Form.OrderBy = &draft.OrderBy
	}
	if draft.Customer != 0 {
		form.CustomerID = &draft.Customer
	}
	for _, way := range all.Colourways {
		if !slices.Contains(draft.Colourways, way.ID) {
			continue
		}
		item, err := s.lineItem(ctx, all, shop, way)
		if err != nil {
			return 0, atField(err, "", "colourways")
		}
		offered := store.FormItem{Colourway: way.ID, Style: item.Style.Name, Name: way.Name, Content: item.Content}
		for _, size := range item.Sizes {
			offered.Sizes = append(offered.Sizes, store.FormSize{Size: size.Size, Wholesale: size.Wholesale.Number(), Retail: size.Retail.Number()})
		}
		form.Form.Items = append(form.Form.Items, offered)
	}
	if len(form.Form.Items) == 0 {
		return 0, store.Wrong("colourways", "Choose at least one colourway.")
	}
	slices.SortStableFunc(form.Form.Items, func(a, b store.FormItem) int {
		return firstOf(form.Form.Items, a.Style) - firstOf(form.Form.Items, b.Style)
	})
	return s.store.AddOrderForm(ctx, workshop, form)
}

// firstOf is where a style stands first, so that its colourways can be put behind each other.
func firstOf(items []store.FormItem, style string) int {
	return slices.IndexFunc(items, func(i store.FormItem) bool { return i.Style == style })
}

// shopPrices reads what wholesale prices are made from; shop is the index of the first channel
// for shops.
func (s *Service) shopPrices(ctx context.Context, workshop int64) (all stock, shop int, err error) {
	if all, err = s.stockOf(ctx, workshop); err != nil {
		return all, 0, err
	}
	shop = slices.IndexFunc(all.Channels, func(c store.Channel) bool { return c.Settings.Kind == costing.Shop })
	if shop < 0 {
		return all, 0, store.Wrong("channels", "There is no shop among the channels, and so no wholesale price. Add one first.")
	}
	return all, shop, nil
}

// OrderFormWorkbook writes an order form to be sent to a shop.
func (s *Service) OrderFormWorkbook(ctx context.Context, out io.Writer, workshop, id int64, paper exports.Paper) error {
	form, err := s.OrderForm(ctx, workshop, id)
	if err != nil {
		return err
	}
	options, err := s.paperOptions(ctx, workshop, paper)
	if err != nil {
		return err
	}
	if options.Currency, err = money.ParseCurrency(form.Form.Currency); err != nil {
		return err
	}
	options.Date = form.IssuedOn // so that the form is the same whenever it is written
	return exports.OrderFormWorkbook(out, formOf(form, options.Currency), options)
}

// formOf is a kept form as it is written.
func formOf(form store.OrderForm, currency money.Currency) exports.OrderForm {
	content := form.Form
	written := exports.OrderForm{
		Number: form.Number, Title: content.Title, Note: content.Note, Contact: content.Contact, Terms: content.Terms, Shop: form.CustomerName,
		IssuedOn: form.IssuedOn, OrderBy: orderBy(form), Minimum: money.NewAmount(content.Minimum, currency),
	}
	for _, item := range content.Items {
		line := exports.FormItem{Style: item.Style, Colourway: item.Name, Content: item.Content}
		for _, size := range item.Sizes {
			line.Sizes = append(line.Sizes, exports.LineSize{Size: size.Size, Wholesale: money.NewAmount(size.Wholesale, currency), Retail: money.NewAmount(size.Retail, currency)})
		}
		written.Items = append(written.Items, line)
	}
	return written
}

// orderBy is the last day to order; zero if there is none.
func orderBy(form store.OrderForm) time.Time {
	if form.Form.OrderBy == nil {
		return time.Time{}
	}
	return *form.Form.OrderBy
}

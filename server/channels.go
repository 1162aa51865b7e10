package server

import (
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
)

func (s *Server) costingRoutes(r chi.Router) {
	editsOf(s, r, "/workshop/channels", "{id}", editing[*page.ChannelEdit]{s.channelForm, (*page.ChannelEdit).Form, s.saveChannel})
	r.Post("/workshop/channels/{id}/remove", s.handle(s.removeChannel))
	editsAt(s, r, "/workshop/choices", editing[*page.Choices]{s.choicesForm, (*page.Choices).Form, s.saveChoices})
	editsAt(s, r, "/workshop/year", editing[*page.Year]{s.yearForm, (*page.Year).Form, s.saveYear})
	r.Get("/styles/{id}/steps/{step}/study", s.handle(s.showStudy))
	r.Post("/styles/{id}/steps/{step}/study", s.handle(s.addStudy))
	r.Post("/styles/{id}/steps/{step}/study/{study}", s.handle(s.takeStudy))
}

// channelForm fills the form for the channel in the path, or for a new one.
func (s *Server) channelForm(r *http.Request) (*page.ChannelEdit, error) {
	view := &page.ChannelEdit{}
	title := "Add a channel"
	view.Channel.Settings.Target = costing.Target{Kind: costing.TargetMarkup, Rate: money.MustPercent("25")}
	if chi.URLParam(r, "id") != "" {
		number, err := id(r, "id")
		if err != nil {
			return view, err
		}
		if view.Channel, err = s.service.Channel(r.Context(), s.workshop, number); err != nil {
			return view, err
		}
		title = "Channel " + view.Channel.Settings.Name
	}
	var err error
	view.Base, err = s.base(r, title, "workshop")
	view.Channel.Settings.Currency = view.Currency
	return view, err
}

func (s *Server) saveChannel(r *http.Request, f *form.Form, view *page.ChannelEdit) (saved, error) {
	draft := readChannel(f, view)
	if !f.OK() {
		return saved{}, nil
	}
	_, err := s.service.SaveChannelDraft(r.Context(), s.workshop, draft)
	return saved{"/workshop", "channel"}, atRows(err, "fee", feeRows(f))
}

func readChannel(f *form.Form, view *page.ChannelEdit) store.Channel {
	draft := view.Channel
	draft.Version = f.Int("version", 0, 1<<30)
	amount := func(field string) money.Amount {
		if f.Text(field) == "" {
			return money.Amount{}
		}
		a, err := money.ParseTypedAmount(f.Text(field), view.Currency)
		if err != nil {
			f.Wrong(field, "Write an amount, such as 4.50.")
		}
		return a
	}
	percent := func(field string) money.Rate { return money.Percent(f.Decimal(field)) }
	c := costing.Channel{Name: f.Needed("name", "Write a name."), Currency: view.Currency}
	if err := c.Kind.UnmarshalText([]byte(f.Text("kind"))); err != nil {
		f.Wrong("kind", "Choose fair, shop or online.")
	}
	c.Fees = readFees(f, amount)
	c.Listing = costing.Listing{Fee: amount("listing_fee"), PerItem: f.Decimal("listings")}
	c.Postage = costing.Postage{Cost: amount("postage_cost"), Charged: amount("postage_charged")}
	c.Tax = costing.Tax{Rate: percent("tax"), Included: f.Text("tax_included") == "yes"}
	c.Terms = costing.Terms{
		Days: f.Int("days", 0, 3650), Discount: percent("prompt_discount"), DiscountDays: f.Int("prompt_days", 0, 3650), MinimumOrder: amount("minimum_order"),
	}
	c.ItemsPerSale, c.HandlingMinutes = f.Decimal("items_per_sale"), f.Minutes("handling_minutes")
	if c.Kind == costing.Fair {
		c.Stall = costing.Stall{Hours: f.Hours("stall_hours"), Sales: f.Decimal("stall_sales")}
	}
	c.PricePoint = money.PricePoint{Step: f.Money("price_step"), Ending: f.Money("price_ending")}
	if err := c.Target.Kind.UnmarshalText([]byte(f.Text("target"))); err != nil {
		f.Wrong("target", "Choose what you want from each sale.")
	}
	switch c.Target.Kind {
	case costing.TargetMarkup, costing.TargetMargin:
		c.Target.Rate = percent("target_value")
	case costing.TargetHourly, costing.TargetProfit:
		c.Target.Amount = money.NewAmount(f.Money("target_value"), view.Currency)
	case costing.TargetWholesale:
		c.Target.Multiple = f.Decimal("target_value")
	}
	draft.Settings = c
	return draft
}

// readFees reads the fees of a channel; rows without a name and without a number are left out.
func readFees(f *form.Form, amount func(field string) money.Amount) []costing.Fee {
	var fees []costing.Fee
	for _, row := range feeRows(f) {
		field := func(part string) string { return fmt.Sprintf("fee.%d.%s", row, part) }
		fee := costing.Fee{Name: f.Needed(field("name"), "Say what the fee is for."), Rate: money.Percent(f.Decimal(field("rate"))), Fixed: amount(field("fixed"))}
		if f.Text(field("on")) == "net" {
			fee.On = costing.OnNet
		}
		if f.Text(field("per")) == "item" {
			fee.Per = costing.PerItem
		}
		fees = append(fees, fee)
	}
	return fees
}

func feeRows(f *form.Form) []int { return filledRows(f, "fee", page.MostFees, "name", "rate", "fixed") }

func (s *Server) removeChannel(w http.ResponseWriter, r *http.Request) error {
	number, _, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	if err := s.service.DropChannel(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return done(w, r, "/workshop", "channel_gone")
}

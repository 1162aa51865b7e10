package server

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) workshopRoutes(r chi.Router) {
	editsAt(s, r, "/workshop", editing[*page.Workshop]{s.workshopForm, (*page.Workshop).Form, s.saveWorkshop})
	s.daysOffRoutes(r)
}

// workshopForm fills the page of the settings.
func (s *Server) workshopForm(r *http.Request) (*page.Workshop, error) {
	view := &page.Workshop{}
	var err error
	if view.Base, err = s.base(r, "Workshop", "workshop"); err != nil {
		return view, err
	}
	if view.CalendarKey, err = s.service.CalendarKey(r.Context(), s.workshop); err != nil {
		return view, err
	}
	if view.Workshop, err = s.service.Workshop(r.Context(), s.workshop); err != nil {
		return view, err
	}
	costs, err := s.service.CostSettings(r.Context(), s.workshop)
	if err != nil {
		return view, err
	}
	choices, err := workshop.Choices(costs)
	if err != nil {
		return view, err
	}
	if view.Hourly, err = workshop.HourlyCost(view.Workshop, choices.Unpaid); err != nil {
		return view, err
	}
	if view.Channels, err = s.service.Channels(r.Context(), s.workshop); err != nil {
		return view, err
	}
	owned, err := s.mustSignIn(r.Context())
	if err != nil {
		return view, err
	}
	view.NewOwner = !owned
	for _, c := range view.Channels {
		view.Takes = append(view.Takes, takes(view.Base, c.Settings))
	}
	return view, nil
}

// takes says in words what a channel takes and what its prices aim at.
func takes(base page.Base, c costing.Channel) page.ChannelTakes {
	var fees []string
	for _, fee := range c.Fees {
		text := fee.Name
		if !fee.Rate.IsZero() {
			text += " " + fee.Rate.Format(base.Locale)
		}
		if fee.Fixed.Sign() > 0 {
			text += " + " + fee.Fixed.Format(base.Locale) + " per " + fee.Per.String()
		}
		fees = append(fees, text)
	}
	if c.Listing.Fee.Sign() > 0 {
		fees = append(fees, "listing "+c.Listing.Fee.Format(base.Locale))
	}
	if len(fees) == 0 {
		fees = append(fees, "nothing")
	}
	target := c.Target.Formula()
	switch c.Target.Kind {
	case costing.TargetMarkup:
		target = "cost and " + c.Target.Rate.Format(base.Locale) + " of it on top"
	case costing.TargetMargin:
		target = c.Target.Rate.Format(base.Locale) + " of the price as profit"
	case costing.TargetWholesale:
		target = c.Target.Multiple.Format(base.Locale) + " × the price to shops"
	case costing.TargetHourly:
		target = c.Target.Amount.Format(base.Locale) + " for each hour worked"
	}
	return page.ChannelTakes{Name: c.Name, Kind: c.Kind.String(), Fees: strings.Join(fees, ", "), Target: target}
}

func (s *Server) saveWorkshop(r *http.Request, f *form.Form, view *page.Workshop) (saved, error) {
	changed := readWorkshop(f, view.Workshop)
	var agreed []workshop.Agreed
	if f.Bool("keep_numbers") {
		agreed = append(agreed, workshop.KeepNumbers)
	}
	if !f.OK() {
		return saved{}, alsoWrong(f, s.service.CheckSettings(r.Context(), changed, agreed...))
	}
	return saved{"/workshop", "workshop"}, s.service.SaveSettings(r.Context(), changed, agreed...)
}

// perMetre reads minutes for a yard or a metre, as the page showed them; left as it was it stays
// exactly what it is.
func perMetre(f *form.Form, field string, long length.Measure, before money.Decimal) money.Decimal {
	typed := f.Minutes(field)
	if typed.Cmp(page.MinutesPer(long, before)) == 0 {
		return before
	}
	return page.MinutesPerMetre(long, typed)
}

// percentage reads a number of percent from 0 to 100.
func percentage(f *form.Form, field string) money.Decimal {
	typed := f.Decimal(field)
	if typed.Sign() < 0 || typed.Cmp(money.Int(100)) > 0 {
		f.Wrong(field, "Enter a percentage from 0 to 100.")
		return money.Decimal{}
	}
	return typed
}

// dayMinutes reads the working time of a weekday, in whole minutes.
func dayMinutes(f *form.Form, field string) int {
	minutes, whole := f.Minutes(field).Int64()
	if !whole || minutes > 10_000 {
		f.Wrong(field, "Write whole minutes from 0 to 10000, such as 360 or 6 h.")
	}
	return int(minutes)
}

func readWorkshop(f *form.Form, w store.Workshop) store.Workshop {
	// What is typed counts in the units that the page showed, also if others are chosen on it, or have
	// been since.
	if shown := length.System(f.Text("counted_in")); shown == length.Imperial || shown == length.Metric {
		w.System = shown
	}
	unit, long, write := w.System.Small(), w.System.Long(), workshop.Style(w)
	w.Version = f.Int("version", 0, 1<<30)
	w.Name = f.Needed("name", "Write a name.")
	w.System = length.System(f.Choice("system", string(length.Imperial), string(length.Metric)))
	w.Fraction = f.Int("fraction", 8, 16)
	w.Currency = strings.ToUpper(f.Name("currency"))
	if f.Text("wage") == "" {
		f.Wrong("wage", "Write what an hour of sewing is paid: cost sheets and prices are worked out from it, so that your own hours count too.")
	}
	w.Wage, w.OverheadYear = f.Money("wage"), f.Money("overhead_year")
	w.Efficiency = money.Percent(f.Decimal("efficiency")).Fraction()
	if w.Efficiency.Cmp(money.Int(3)) > 0 { // far above, it would not even fit into its column
		f.Wrong("efficiency", "Write an efficiency above 0 and at most 300 %.")
	}
	w.UsualBatch = f.Int("usual_batch", 1, 10_000)
	w.TableLength = f.LengthNeededIn("table_length", unit, batch.TableLengths, write)
	w.PliesThin, w.PliesMedium, w.PliesThick = f.Int("plies_thin", 1, 500), f.Int("plies_medium", 1, 500), f.Int("plies_thick", 1, 500)
	w.EndLoss, w.Gap = f.LengthIn("end_loss", unit, batch.EndLosses, write), f.LengthIn("gap", unit, batch.Gaps, write)
	w.KeepLength, w.BuyStep = f.LengthIn("keep_length", unit, batch.LengthsToKeep, write), f.LengthNeededIn("buy_step", unit, batch.BuySteps, write)
	w.RemnantWorth, w.BuyTolerance = percentage(f, "remnant_worth"), percentage(f, "buy_tolerance")
	w.CutTolerance, w.RollEnd = f.LengthIn("cut_tolerance", unit, batch.CutTolerances, write), f.LengthIn("roll_end", unit, batch.RollEnds, write)
	w.StraightCuts = f.Bool("straight_cuts")
	w.Spread = lay.Spread(f.Choice("spread", string(lay.FaceOneWay), string(lay.FaceToFace), string(lay.FoldedLengthwise)))
	w.LaySetUpMinutes, w.BundleMinutes = f.Minutes("lay_set_up_minutes"), f.Minutes("bundle_minutes")
	w.SpreadMinutes, w.CutMinutes = perMetre(f, "spread_minutes", long, w.SpreadMinutes), perMetre(f, "cut_minutes", long, w.CutMinutes)
	w.BundleSize = f.Int("bundle_size", 1, 1000)
	return w
}

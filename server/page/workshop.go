package page

import (
	"strings"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Workshop is the page of the settings.
type Workshop struct {
	Base
	Workshop store.Workshop
	// Hourly is what an hour costs with overhead.
	Hourly   money.Amount
	Channels []store.Channel
	Takes    []ChannelTakes
	// CalendarKey opens the calendar feed.
	CalendarKey string
	// NewOwner: the first owner is still to be made.
	NewOwner bool
}

func (Workshop) page() string { return "workshop" }

// ChannelTakes says in words what a channel takes and aims at.
type ChannelTakes struct {
	Name, Kind, Fees, Target string
}

var (
	systems   = []Option{{Value: string(length.Imperial), Text: "inches and yards"}, {Value: string(length.Metric), Text: "centimetres and metres"}}
	fractions = []Option{{Value: "8", Text: "⅛ in"}, {Value: "16", Text: "1/16 in"}}
	spreads   = []Option{
		{Value: string(lay.FaceOneWay), Text: "face one way: every ply lies face up"},
		{Value: string(lay.FaceToFace), Text: "face to face: every second ply is folded back, face down"},
		{Value: string(lay.FoldedLengthwise), Text: "folded lengthwise: the cloth doubled along its length"},
	}
)

// Form is the form of the settings: name and units, money, the table, its minutes.
func (v Workshop) Form() Form {
	w := v.Workshop
	overhead := v.NumberField("overhead_year", "Overhead of a year", "rent, machines, power, stalls", v.InCoins(w.OverheadYear))
	overhead.HintLink, overhead.HintMore = "/workshop/year", "add it up"
	long := "yard"
	if w.System == length.Metric {
		long = "metre"
	}
	per := func(perMetre money.Decimal) money.Decimal { return MinutesPer(w.System.Long(), perMetre) }
	return v.Base.Form("/workshop", "/workshop", w.Version,
		[]Field{
			v.TextField("name", "Name", "", w.Name), v.Choose("system", "Units", "", w.System, systems),
			v.Choose("fraction", "Inches to the nearest", "", w.Fraction, fractions), v.TextField("currency", "Currency", "three letters", w.Currency),
		},
		[]Field{
			v.NumberField("wage", "Wage per hour", "", v.InCoins(w.Wage)), v.NumberField("efficiency", "Your pace, % of standard", "", money.Fraction(w.Efficiency).Percent()),
			overhead, v.WholeField("usual_batch", "Garments in a usual batch", "", w.UsualBatch),
		},
		[]Field{
			v.TextField("table_length", "Table length", "", v.LongInput(w.TableLength)), v.WholeField("plies_thin", "Most plies, thin cloth", "", w.PliesThin),
			v.WholeField("plies_medium", "medium", "", w.PliesMedium), v.WholeField("plies_thick", "thick", "", w.PliesThick),
			v.TextField("end_loss", "Lost at each end of a ply", "", v.Input(w.EndLoss)), v.TextField("gap", "Gap between pieces", "", v.Input(w.Gap)),
			v.TextField("keep_length", "Shortest end to keep", "", v.Input(w.KeepLength)), v.TextField("buy_step", "Shops cut in steps of", "", v.LongInput(w.BuyStep)),
			v.NumberField("remnant_worth", "A rest of bought cloth counts, % of its price", "if it is long enough to keep", w.RemnantWorth),
			v.NumberField("buy_tolerance", "Buy only to save more than, % of the cloth", "otherwise cut from the shelf", w.BuyTolerance),
			v.TextField("cut_tolerance", "Each elastic may come out too long by", "elastic, cord, binding: for every length cut", v.Input(w.CutTolerance)),
			v.TextField("roll_end", "Kept back of each roll", "crooked ends, a roll shorter than its label", v.Input(w.RollEnd)),
		},
		[]Field{v.Choose("spread", "How plies are spread", "where that won't work, plies lie face up, unfolded", w.Spread, spreads)},
		[]Field{
			v.NumberField("lay_set_up_minutes", "Minutes to set up a lay", "", w.LaySetUpMinutes), v.NumberField("spread_minutes", "to spread a "+long+" of ply", "", per(w.SpreadMinutes)),
			v.NumberField("cut_minutes", "to cut a "+long+" of edge", "", per(w.CutMinutes)), v.NumberField("bundle_minutes", "to tie a bundle", "", w.BundleMinutes),
			v.WholeField("bundle_size", "Garments in a bundle", "", w.BundleSize),
		},
	).With("besides", [][]Field{{v.HiddenField("counted_in", w.System), v.keepNumbers(), v.TickField("straight_cuts", "Only straight cuts from edge to edge (ruler and rotary cutter)", w.StraightCuts)}})
}

// keepNumbers agrees to another currency; what is agreed to for a change is for taking it back.
func (v Workshop) keepNumbers() Field {
	field := v.TickField("keep_numbers", "All amounts keep their numbers in the new currency; nothing is converted", false)
	field.Back = yes
	return field
}

// NewCurrency reports whether another currency was typed, which has to be agreed to.
func (v Workshop) NewCurrency() bool {
	return v.Raw.Has("currency") && strings.ToUpper(strings.TrimSpace(v.Raw.Get("currency"))) != v.Workshop.Currency
}

// OwnerForm is the form that makes the first owner.
func (v Workshop) OwnerForm() Form {
	name := v.TextField("owner_name", "Your name", "", "")
	name.Fill = "username"
	return v.Base.Form("/workshop", "/people/first", 0, []Field{name, v.newPassword("Password")})
}

// newPassword is the box of a password that is being chosen.
func (b Base) newPassword(label string) Field {
	return b.PasswordField("password", label, "at least 8 characters; three or four words do well", "new-password")
}

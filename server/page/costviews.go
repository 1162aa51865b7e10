package page

import (
	"html/template"
	"slices"
	"strconv"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Rate writes a share of one as percent.
func (b Base) Rate(r money.Rate) string { return r.Round(1).Format(b.Locale) }

// PerHour writes what an hour earns.
func (b Base) PerHour(a money.Amount) string { return b.Money(a) + " an hour" }

// costPages names the pages of costing with the parts that their templates use.
var costPages = map[string][]string{
	"prices": {"price_parts"}, "price": {"price_parts"}, "cost_sheet": {"price_parts"}, "costing_markers": {"price_parts", "marker_view"},
	"minutes": {"price_parts"}, "price_lists": {"price_parts"}, "price_list": {"price_parts"},
	"basket": {"price_parts"}, "cloth_value": {"price_parts"}, "batch_costs": {"price_parts"},
	"channel_edit": {"price_parts"}, "choices": {"price_parts"}, "year": {"price_parts"},
	"study": nil, "seams": nil, "expenses": {"price_parts"}, "kept": {"price_parts"}, "took": {"price_parts"},
}

func init() {
	for name, parts := range costPages {
		pages[name] = parts
	}
}

// costViews are the views of costPages.
func costViews() []View {
	return []View{
		Prices{},
		Price{},
		CostSheet{},
		CostingMarkers{},
		Minutes{},
		PriceLists{},
		PriceList{},
		Basket{},
		ClothValue{},
		BatchCosts{},
		ChannelEdit{},
		Choices{},
		Year{},
		Study{},
		Seams{},
		Expenses{},
		Kept{},
		Took{},
	}
}

// WhatIf is a question that was asked of prices.
type WhatIf struct {
	Change costing.Change
	// Asked tells whether there is one.
	Asked bool
	// Form is what asks it, of the page where the real prices are.
	Form Form
}

// Prices is the list of what can be priced, with what it costs and sells at.
type Prices struct {
	Base
	WhatIf
	Lines    []PricedLine
	Channels []store.Channel
	Steps    []FirstStep
}

// FirstStep is one thing that a newcomer's first price needs.
type FirstStep struct {
	Done       bool
	Text, Link string
	Label      string
}

// PricedLine is one colourway of the list.
type PricedLine struct {
	workshop.LinePrices
	// Cost, and Prices by channel, from the least to the most over the sizes.
	Cost, CostAsked     Span
	Prices, PricesAsked []Span
}

// Span is from the least to the most.
type Span struct{ Least, Most money.Amount }

// Span writes amounts from the least to the most.
func (b Base) Span(s Span) string {
	if s.Least == s.Most {
		return b.Money(s.Least)
	}
	return b.Money(s.Least) + " to " + b.Money(s.Most)
}

func (Prices) page() string { return "prices" }

// Kept are cost sheets and prices as they were kept.
type Kept struct {
	Base
	workshop.Kept
	Rows []KeptRow
	// Comparable: what it costs now is in the same currency.
	Comparable bool
}

// KeptRow is one size as it was kept. Now is what it costs today; nil where that isn't known.
type KeptRow struct {
	Size   string
	Sheet  costing.Sheet
	Quotes []costing.Quote
	Lines  []SheetLine
	Now    *money.Amount
}

func (Kept) page() string { return "kept" }

// PriceRow is one size.
type PriceRow struct {
	Size  string
	Sheet costing.Sheet
	Cells []PriceCell
}

// PriceCell is one size in one channel.
type PriceCell struct {
	Quote costing.Quote
	Asked workshop.Asked
	// Profit is mark-up or margin, as the workshop speaks of it.
	Profit money.Rate
	Why    string
}

// BelowFloor tells whether the maker typed less than covers everything.
func (c PriceCell) BelowFloor() bool { return c.Asked.IsTyped() && c.Loses() }

// Loses tells whether the asked price doesn't cover the size.
func (c PriceCell) Loses() bool { return c.Asked.Sale.BelowCost() }

// CostSheet is the cost sheet of one garment in one size, standard and, if a batch is chosen,
// actual beside it.
type CostSheet struct {
	Base
	Prices  workshop.StylePrices
	Size    string
	Sheet   costing.Sheet
	Lines   []SheetLine
	Batches []store.Batch
	// Batch and Actual are those of the chosen batch; nil if none is.
	Batch  *store.Batch
	Actual *workshop.BatchGarment
	Costs  workshop.BatchCosts
	Totals []SheetTotal
	// Choices that the sheet follows, with their formulas.
	Followed []Followed
}

// Followed is a choice with its formula.
type Followed struct{ Name, Formula, Link string }

// SheetLine is a line of a cost sheet that opens to its numbers.
type SheetLine struct {
	Line, Actual               *costing.Line
	Factors, ActualFactors     []FactorView
	Difference, ByPrice, ByUse money.Amount
	// Unplanned tells that only the batch has this line.
	Unplanned bool
	// Notes say more of where the numbers come from.
	Notes []Note
}

// Note is a remark with a link.
type Note struct{ Text, Link, Label string }

// FactorView is one number of a line and where it comes from.
type FactorView struct{ Name, Value, Link, From string }

// SheetTotal is one sum below the lines.
type SheetTotal struct {
	Name             string
	Standard, Actual string
	Last             bool
	// Parts are what the standard sums up, each with the line that it stands in.
	Parts []SheetPart
}

// SheetPart is a part of a sum, with a link to where it stands.
type SheetPart struct{ Text, Link string }

func (CostSheet) page() string { return "cost_sheet" }

// CostingMarkers are the lays of the usual batch, which cost sheets take their cloth from.
type CostingMarkers struct {
	Base
	Prices workshop.StylePrices
	Cloths []CostingCloth
	// Cutting are the minutes of cutting and bundling by size.
	Cutting []CuttingPart
}

// CostingCloth are the lays of one cloth.
type CostingCloth struct {
	Name string
	ID   int64
	Lays []CostingLay
	// Unit is that of all lengths; Markers and Losses are shared out to Sizes.
	Unit            string
	Markers, Losses money.Decimal
	Sizes           []ClothPart
}

// Rare tells that some size is in none of its lays.
func (c CostingCloth) Rare() bool {
	return slices.ContainsFunc(c.Sizes, func(size ClothPart) bool { return size.Garments == 0 })
}

// ClothPart is what the garments of one row take of a cloth: Length and Ends are those of one
// garment, in the unit of the cloth.
type ClothPart struct {
	// Anchor is the name of the row.
	Anchor, Name string
	Garments     int
	Length, Ends money.Decimal
	// All is what all of them take together, and Counts what that counts for in the costs of a batch.
	All    money.Decimal
	Counts money.Amount
}

// CuttingPart is the minutes of cutting and bundling of one garment of a batch.
type CuttingPart struct {
	Anchor, Name string
	Garments     int
	// Cut and Bundle are minutes of one garment; nothing where minutes worked were noted instead. SetUp
	// is what a cost sheet shares among all garments of the usual batch.
	SetUp, Cut, Bundle money.Decimal
}

// SharedCloth is how a cloth of a batch was shared out to its garments.
type SharedCloth struct {
	Cloth, Unit string
	Parts       []ClothPart
	All         money.Decimal
}

// CostingLay is one lay of the usual batch.
type CostingLay struct {
	Number, Plies int
	Length        string
	Drawing       template.HTML
	View          *MarkerView
	// SetUp, Spread and Cut are the minutes of the lay.
	SetUp, Spread, Cut money.Decimal
	// Shares says what part of the lay each size in it bears.
	Shares []LayShare
}

// LayShare is what part of a lay the garments of one size in it bear, 0 to 1.
type LayShare struct {
	Size     string
	Garments int
	Share    float64
}

func (CostingMarkers) page() string { return "costing_markers" }

// MinuteRow is one operation.
type MinuteRow struct {
	Name, Link, Basis string
	SetUp, Run, Share money.Decimal
	// Learns tells whether the step gets quicker where learning is on.
	Learns bool
}

// LearnedRow is how long garments take by then.
type LearnedRow struct {
	Count               int64
	Nth, Average, Total money.Decimal
	Cost                money.Amount
}

// PriceLists are all lists that were issued, and the form that issues one.
type PriceLists struct {
	Base
	Lists      []store.IssuedList
	Channels   []Option
	Colourways []store.Colourway
	// Kept are the cost sheets and prices that were kept of colourways.
	Kept []store.KeptPrices
}

func (PriceLists) page() string { return "price_lists" }

// PriceList is one issued list, to print.
type PriceList struct {
	Base
	List   store.IssuedList
	Groups []ListGroup
	// Suggested tells whether shops are told our own retail price.
	Suggested bool
	Older     []store.IssuedList
}

// ListGroup is one style-colourway of a list.
type ListGroup struct {
	Style, Colourway string
	Lines            []costing.PriceLine
}

func (PriceList) page() string { return "price_list" }

// Basket is a mixed sale.
type Basket struct {
	Base
	Channels []Option
	Garments []Option
	Rows     []int
	Result   *workshop.BasketResult
}

// Garment is the list of garments of a row.
func (b Basket) Garment(row int) Field {
	return b.Choose(rowField("item", row, "garment"), "Garment", "", "", b.Garments)
}

// Count is the box for how many.
func (b Basket) Count(row int) Field {
	return b.NumberField(rowField("item", row, "count"), "How many", "", "")
}

// PriceOf is the box for a price of its own.
func (b Basket) PriceOf(row int) Field {
	return b.NumberField(rowField("item", row, "price"), "At", "empty: your price", "")
}

func (Basket) page() string { return "basket" }

// BatchCosts is what a batch costs beside its standard.
type BatchCosts struct {
	Base
	Costs workshop.BatchCosts
	// Valued says what cloth from the shelf counts for.
	Valued  string
	OddCent string
	// Shared is how each cloth was shared out, and Cutting the minutes of cutting and bundling.
	Shared  []SharedCloth
	Cutting []CuttingPart
}

func (BatchCosts) page() string { return "batch_costs" }

// Study is the time studies of one operation, and the form of a new one.
type Study struct {
	Base
	Style     store.Style
	Step      int
	Operation garment.Operation
	Settings  store.CostSettings
	Rule      costing.AllowanceRule
	Rules     []Option
	Rows      []StudyRow
	Guide     int64
	Studies   []StudyView
	Usual     []UsualRow
}

// StudyRow are the boxes of one element.
type StudyRow struct{ Name, Readings, Rating, Times Field }

// UsualRow is a usual allowance to tick.
type UsualRow struct {
	Group, Name, Value string
	FromMemory, Ticked bool
}

// StudyView is a study with what it found.
type StudyView struct {
	Study store.TimeStudy
	Found costing.StudyTime
	// Cycles is the most that an element was watched, Enough how many it takes for the mean to
	// be right within 5 %, at 95 % confidence; 0 where one cycle alone was timed.
	Cycles int
	Enough int64
	// Mean and Spread are of the element that varies most.
	Elements []StudiedElement
}

// StudiedElement is one element of a study.
type StudiedElement struct {
	Element   costing.Element
	Found     costing.ElementTime
	Spread    money.Decimal
	HasSpread bool
	Enough    int64
}

// Parts tells whether more than one part of the step was filled in.
func (s Study) Parts() bool {
	for _, row := range s.Rows[min(1, len(s.Rows)):] {
		if row.Name.Value != "" || row.Readings.Value != "" {
			return true
		}
	}
	return false
}

// Watched is Cycles, to be compared with Enough.
func (v StudyView) Watched() int64 { return int64(v.Cycles) }

func (Study) page() string { return "study" }

// rowField names a box of a row of a form.
func rowField(list string, row int, part string) string {
	return list + "." + strconv.Itoa(row) + "." + part
}

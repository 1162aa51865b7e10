package page

import (
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// pages names every page with the parts that its template uses besides the layout.
var pages = map[string][]string{
	"today": nil, "orders": nil, "order": nil, "order_edit": {"first_step", "run_parts"}, "import": nil, "import_look": nil,
	"styles": nil, "style": nil, "style_new": nil, "style_edit": nil, "piece_edit": nil, "colourway_edit": nil, "chart": nil, "chart_edit": nil,
	"shelf": nil, "cloth_edit": nil, "bolt_edit": nil, "notion_edit": nil,
	"batches": {"first_step"}, "batch_new": {"first_step"}, "batch": {"plan_parts", "batch_parts", "marker_view", "to_buy"}, "cut_sheet": {"plan_parts", "marker_view"}, "batch_plans": nil, "shopping": {"to_buy"},
	"workshop": nil, "message": nil, "parts": {"run_parts", "marker_view"},
	"tickets": nil, "bundle": nil, "templates": nil, "line_sheet": nil,
	"fair": nil, "sign_in": nil, "join": nil, "people": nil, "account": nil,
}

// Today is the first page: what is due, what is in work, what to do next.
type Today struct {
	Base
	Due     []store.Order
	Batches []store.Batch
	// OpenGarments are wanted in open orders and in no batch yet.
	OpenGarments int
	DueOrders    int
	LateOrders   int
	Next         Step
	// Load is how busy the next days are, Week a drawing of it.
	Load workshop.Load
	Week template.HTML
}

// Step is what to do next.
type Step struct {
	Text, Link, Label string
	// Number of the step in the walk of a newcomer, and how many there are; 0 outside of it.
	Number, Of int
}

func (Today) page() string { return "today" }

// Orders is the list of orders.
type Orders struct {
	Base
	State  string
	States []string
	Orders []store.Order
	Ready  bool
	Pager  Pager
}

func (Orders) page() string { return "orders" }

// Order is one order.
type Order struct {
	Base
	Order  store.Order
	Runs   []Run
	Locked bool
	// Till is its money; nil for those who see none.
	Till  *Till
	Moves []OrderMove
}

// Batches are those that cut the order.
func (o Order) Batches() []int64 {
	var ids []int64
	for _, line := range o.Order.Lines {
		if line.BatchID != nil && !slices.Contains(ids, *line.BatchID) {
			ids = append(ids, *line.BatchID)
		}
	}
	return ids
}

func (Order) page() string { return "order" }

// Styles is the list of styles with their colourways.
type Styles struct {
	Base
	// Styles are those in use, Away those of which every colourway is put away.
	Styles, Away []StyleRow
	Charts       []store.Chart
}

// StyleRow is one style in a list.
type StyleRow struct {
	Style      store.Style
	Colourways []store.Colourway
}

// Away tells whether all colourways of the style are put away.
func (r StyleRow) Away() bool {
	return len(r.Colourways) > 0 && !slices.ContainsFunc(r.Colourways, func(w store.Colourway) bool { return !w.PutAway })
}

// InUse are the colourways that are not put away.
func (r StyleRow) InUse() []store.Colourway {
	return slices.DeleteFunc(slices.Clone(r.Colourways), func(w store.Colourway) bool { return w.PutAway })
}

func (Styles) page() string { return "styles" }

// Style is one style: its pieces, grading, allowances and operations.
type Style struct {
	Base
	Style      store.Style
	Chart      store.Chart
	Drawings   []PieceDrawing
	Grading    []GradingRow
	Notions    []NotionRow
	Colourways []ColourwayRow
	MakingTime time.Duration
	// DrawnSize is the size that Drawings show.
	DrawnSize string
	// Mix are its sizes in a usual batch.
	Mix workshop.SizeMix
	// Lists are the issued price lists that it stands on.
	Lists      []store.ListOfStyle
	Cautions   []batch.Caution
	LocalRules string
}

func (Style) page() string { return "style" }

// PieceDrawing is a piece drawn to scale in one size.
type PieceDrawing struct {
	Piece   garment.Piece
	Drawing template.HTML
}

// GradingRow is one piece in all sizes.
type GradingRow struct {
	Piece garment.Piece
	Cuts  []garment.CutPiece
}

// NotionRow is one notion in all sizes.
type NotionRow struct {
	Need garment.NotionNeed
	Cuts []garment.CutNotion
}

// ColourwayRow names the cloths and notions of a colourway.
type ColourwayRow struct {
	Colourway store.Colourway
	Choices   []Choice
	// Kept are the prices that were kept of it.
	Kept []store.KeptPrices
}

// Choice is a role or need with what was chosen for it.
type Choice struct {
	Name, Chosen string
}

// Chart is one size chart with the source of every value.
type Chart struct {
	Base
	Chart   store.Chart
	Sources []Source
}

// Source numbers the sources of a chart's values.
type Source struct {
	Number int
	Text   string
}

// SourceOf returns the number of the source of a value.
func (c Chart) SourceOf(text string) int {
	for _, source := range c.Sources {
		if source.Text == text {
			return source.Number
		}
	}
	return 0
}

func (Chart) page() string { return "chart" }

// Shelf is what is in stock.
type Shelf struct {
	Base
	Cloths  []ClothRow
	Notions []store.Notion
	// ClothsAway and NotionsAway are put away.
	ClothsAway  []ClothRow
	NotionsAway []store.Notion
}

// ClothRow is one cloth with its bolts, and those that are used up.
type ClothRow struct {
	Cloth  store.Cloth
	Bolts  []store.Bolt
	UsedUp []store.Bolt
}

func (Shelf) page() string { return "shelf" }

// Batches is the list of batches.
type Batches struct {
	Base
	Batches      []store.Batch
	OpenGarments int
	Pager        Pager
	// First is what is to be done before there is anything to cut; nil if there is.
	First *Step
}

func (Batches) page() string { return "batches" }

// BatchNew is the form that makes a batch of open orders.
type BatchNew struct {
	Base
	Name   string
	Orders []OpenOrder
	// First is what is to be done before there is anything to cut; nil if there is.
	First *Step
}

// OpenOrder is an order with garments that no batch cuts yet.
type OpenOrder struct {
	Order    store.Order
	Garments int
	Cloths   string
}

func (BatchNew) page() string { return "batch_new" }

// Form is the form that makes the batch.
func (v BatchNew) Form() Form {
	ticks := make([][]Field, len(v.Orders))
	for i, o := range v.Orders {
		ticks[i] = []Field{v.TickOf("orders", strconv.FormatInt(o.Order.ID, 10), o.Order.Number, true)}
	}
	return v.Base.Form("/batches/new", "/batches", 0,
		[]Field{v.TextField("name", "Name", "", v.Name), v.DayField("starts_on", "Work starts on", "", v.Today)},
	).With("orders", ticks)
}

// Planned is what the page of a batch and its cut sheet have in common.
type Planned struct {
	Base
	Batch store.Batch
	Plan  *batch.Plan
	// PlanID is the number of Plan, the one that holds; 0 if there is none.
	PlanID     int64
	Lays       []ClothLays
	LocalRules string
	// Work is how far the batch is; nil unless it is released, and on paper.
	Work *Work
}

// With joins a lay with the page, for the part that shows one lay.
func (p Planned) With(l LayView) LayOnPage { return LayOnPage{Page: p, Lay: l} }

// EndLoss writes what each end of a ply loses.
func (p Planned) EndLoss(l lay.Lay) string { return p.Piece((l.PlyLength - l.Marker.Length) / 2) }

// LayOnPage is one lay with the page that it stands on.
type LayOnPage struct {
	Page Planned
	Lay  LayView
}

// Batch is one batch with its plan.
type Batch struct {
	Planned
	// Planning is the newest planning; nil if it was never planned.
	Planning *store.BatchPlan
	// Plans is how many plans are kept.
	Plans  int
	Orders []store.BatchOrder
	// Stale: the batch has other orders than the plan.
	Stale bool
	// ToBuy is what this batch still has to buy, ToDo what else stands in the way of its release.
	ToBuy workshop.ShoppingList
	ToDo  ToDo
	// Newer is a newer plan that isn't in use; nil if there is none.
	Newer *Newer
}

// ToHandOver are the orders of the batch that are made and not handed over yet.
func (b Batch) ToHandOver() []store.BatchOrder {
	return slices.DeleteFunc(slices.Clone(b.Orders), func(o store.BatchOrder) bool { return o.State != workshop.StateMade })
}

// Whole writes a share of one as whole percent.
func (Batch) Whole(share float32) int { return int(100 * share) }

func (Batch) page() string { return "batch" }

// ClothLays are the lays of one cloth, ready to show.
type ClothLays struct {
	Plan batch.ClothPlan
	Lays []LayView
}

// LayView is one lay, ready to show.
type LayView struct {
	Number int
	Cloth  string
	Lay    lay.Lay
	// SeveralLots tells that its plies come from several shade lots.
	SeveralLots bool
	// Drawing is for paper; on a screen it is View.
	Drawing    template.HTML
	View       *MarkerView
	Efficiency float64
	Garments   []CountOf
	Draws      []DrawView
	Pieces     []PieceCount
	Narrow     string
	// Work is how far the lay is; nil unless its batch is released.
	Work *LayWork
}

// CountOf is so many of something.
type CountOf struct {
	Count int
	Name  string
}

// DrawView says which bolt gives how many plies.
type DrawView struct {
	Plies            int
	Bolt, Lot, Place string
	Buy              bool
}

// PieceCount is one kind of piece in a lay.
type PieceCount struct {
	Name          string
	Garment       string
	Piece         lay.Piece
	PerPly, Total int
	// Corners are where its copies lie: from the left selvage and from the start; on paper.
	Corners []string
}

// OnPaper tells whether the lay is shown for printing.
func (l LayView) OnPaper() bool { return l.View == nil }

// CutSheet is the printed sheet of a batch.
type CutSheet struct{ Planned }

func (CutSheet) page() string { return "cut_sheet" }

// metresPer is how many metres a unit of cloth has.
func metresPer(long length.Measure) money.Decimal {
	return money.MustParse(long.Size.In(length.Metres))
}

// MinutesPer turns minutes for a metre into those for a unit of cloth, with three decimals.
func MinutesPer(long length.Measure, perMetre money.Decimal) money.Decimal {
	minutes, err := perMetre.Mul(metresPer(long))
	if err != nil {
		return perMetre
	}
	return money.MustParse(plainDigits(minutes.Round(3, money.HalfUp)))
}

// MinutesPerMetre turns minutes for a unit of cloth into those for a metre.
func MinutesPerMetre(long length.Measure, minutes money.Decimal) money.Decimal {
	perMetre, err := minutes.Div(metresPer(long))
	if err != nil {
		return minutes
	}
	return perMetre.Round(6, money.HalfUp)
}

// plainDigits writes a number without zeros at its end.
func plainDigits(d money.Decimal) string {
	text := d.String()
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// Message is a page that says one thing, such as an error.
type Message struct {
	Base
	Text, Detail string
}

func (Message) page() string { return "message" }

// Views returns an empty view of every page, by name, for checking the templates.
func Views() map[string]View {
	views := map[string]View{}
	for _, view := range []View{
		Today{},
		Orders{},
		Order{},
		OrderEdit{},
		Import{},
		ImportLook{},
		Archive{},
		OutlineFile{},
		OutlineLook{},
		Styles{},
		Style{},
		StyleNew{},
		StyleEdit{},
		PieceEdit{},
		ColourwayEdit{},
		Chart{},
		ChartEdit{},
		Shelf{},
		ClothEdit{},
		BoltEdit{},
		NotionEdit{},
		Batches{},
		BatchNew{},
		Batch{},
		CutSheet{},
		BatchPlans{},
		Shopping{},
		BatchCompare{},
		Workshop{},
		DaysOff{},
		Message{},
		Parts{},
		Tickets{},
		Bundle{},
		Templates{},
		LineSheet{},
		OrderForms{},
		OrderForm{},
		OrderFormFile{},
		OrderFormLook{},
		Fair{},
		SignIn{},
		Join{},
		People{},
		Account{},
	} {
		views[view.page()] = view
	}
	for _, view := range costViews() {
		views[view.page()] = view
	}
	return views
}

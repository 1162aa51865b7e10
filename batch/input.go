package batch

import (
	"slices"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Nap says whether pieces may lie upside down on a cloth.
type Nap string

// The naps.
const (
	NapEitherWay Nap = "either way"
	NapOneWay    Nap = "one way"
	NapUpAndDown Nap = "up and down"
)

// Thickness is a cloth's class for the most plies that the cutter takes.
type Thickness string

// The classes.
const (
	Thin   Thickness = "thin"
	Medium Thickness = "medium"
	Thick  Thickness = "thick"
)

// Cloth is a fabric as bought.
type Cloth struct {
	ID      int64
	Name    string
	Content string
	// FullWidth is from edge to edge; Selvage is what each edge takes off.
	FullWidth, Selvage length.Length
	// PricePerMetre is what it costs when bought, landed.
	PricePerMetre lay.Money
	// Shrink applies unless the cloth is pre-washed.
	Shrink    garment.Shrinkage
	PreWashed bool
	Nap       Nap
	// Directional: print, stripe or weave look different turned by a quarter, so that a
	// piece of any grain keeps upright.
	Directional bool
	Repeat      marker.Repeat
	Thickness   Thickness
	Care        string
	// CanBuy tells whether more of it can be had.
	CanBuy bool
}

// UsableWidth is the full width less both selvages.
func (c Cloth) UsableWidth() length.Length { return c.FullWidth - 2*c.Selvage }

// shrinkage that cut sizes must allow for.
func (c Cloth) shrinkage() garment.Shrinkage {
	if c.PreWashed {
		return garment.Shrinkage{}
	}
	return c.Shrink
}

// Bolt is one roll or cut length in stock. A remnant is the same record.
type Bolt struct {
	ID    int64
	Cloth int64
	Name  string
	Lot   string
	// FullWidth of this bolt; zero means the cloth's.
	FullWidth length.Length
	// Length that is free to cut.
	Length        length.Length
	Faults        []marker.Fault
	PricePerMetre lay.Money
	Place         string
	Remnant       bool
}

// NotionKind says how a notion is used.
type NotionKind string

// The kinds of notion.
const (
	// FromRoll is cut to length from rolls: elastic, cord, binding.
	FromRoll NotionKind = "cut from a roll"
	// ByLength is used by the metre without cutting: thread.
	ByLength NotionKind = "used by length"
	// ByCount is counted: labels, buttons, hang tags.
	ByCount NotionKind = "counted"
)

// Roll is a length of a notion on the shelf, so many times.
type Roll struct {
	Length length.Length
	Count  int
}

// Notion is what is not cloth.
type Notion struct {
	ID   int64
	Name string
	Kind NotionKind
	// Rolls in stock, for FromRoll and ByLength; Count in stock, for ByCount.
	Rolls []Roll
	Count int
	// BuyLength is the length of one roll when bought; BuyCount of one pack.
	BuyLength length.Length
	BuyCount  int
	// BuyPrice is what one roll or pack costs.
	BuyPrice lay.Money
}

// Style is a garment.Style with its chart and its identity.
type Style struct {
	ID int64
	garment.Style
	Chart garment.SizeChart
}

// Colourway is a style in chosen cloths and notions.
type Colourway struct {
	ID    int64
	Name  string
	Style int64
	// Cloths by role; Notions by need, both by ID.
	Cloths  map[garment.Role]int64
	Notions map[string]int64
}

// Line is an order line that goes into the batch: so many of one colourway and size.
type Line struct {
	OrderLine int64
	Order     string
	Customer  string
	Due       time.Time
	Colourway int64
	Size      string
	Quantity  int
}

// Workroom is what table, cutter and people allow.
type Workroom struct {
	// Units write the lengths in what the plan says.
	Units       length.Style
	TableLength length.Length
	// MaxPlies by thickness.
	MaxPlies     map[Thickness]int
	Spread       lay.Spread
	EndLoss      length.Length
	Gap          length.Length
	StraightCuts bool
	KeepLength   length.Length
	// CutTolerance is what a length cut from a roll may come out too long, RollEnd what is kept
	// back at the ends of each roll.
	CutTolerance, RollEnd length.Length
	// CutStep is the step that cut sizes are rounded to; BuyStep that of the shop.
	CutStep, BuyStep length.Length
	// RemnantWorth and BuyTolerance are as in lay.Rules.
	RemnantWorth, BuyTolerance int
	Rates                      lay.Rates
	// BundleSize is the most garments in a bundle, PerBundle the minutes to tie and ticket it.
	BundleSize int
	PerBundle  time.Duration
	// Efficiency is standard minutes ÷ minutes worked, in thousandths; 1000 is standard pace.
	Efficiency int
	Calendar   Calendar
	// OverCut is how many garments may be cut beyond the orders, in all.
	OverCut int
}

// Input is everything that a batch is planned from.
type Input struct {
	Name       string
	Lines      []Line
	Styles     []Style
	Colourways []Colourway
	Cloths     []Cloth
	Bolts      []Bolt
	Notions    []Notion
	Workroom   Workroom
	// Start is the first day of work.
	Start time.Time
}

// Params are the budget of planning.
type Params struct {
	Seed uint64
	// Iterations of the search over lays of each cloth; zero means lay's default.
	Iterations int
	// MarkerIterations of each marker; zero means lay's default.
	MarkerIterations int
	// Keep is the plan that the batch has, nil if none. A cloth keeps its plan from there where a
	// new one is no better; and where that buys nothing, no new one does.
	Keep *Plan
	// Only, unless nil, are the cloths to plan again; the others keep their plan from Keep where it
	// still holds.
	Only []int64
	// Progress is called as the plan comes along; nil is allowed.
	Progress func(Progress)
}

// Progress is a report on the way.
type Progress struct {
	// Share of the work done, 0 to 1.
	Share   float64
	Message string
}

func find[T any](list []T, match func(T) bool) (T, bool) {
	if i := slices.IndexFunc(list, match); i >= 0 {
		return list[i], true
	}
	var none T
	return none, false
}

func (in Input) style(id int64) (Style, bool) {
	return find(in.Styles, func(s Style) bool { return s.ID == id })
}

func (in Input) colourway(id int64) (Colourway, bool) {
	return find(in.Colourways, func(c Colourway) bool { return c.ID == id })
}

func (in Input) cloth(id int64) (Cloth, bool) {
	return find(in.Cloths, func(c Cloth) bool { return c.ID == id })
}

func (in Input) notion(id int64) (Notion, bool) {
	return find(in.Notions, func(n Notion) bool { return n.ID == id })
}

// Package lay plans how the pieces that a batch needs are cut from the bolts of one cloth.
//
// The problem. A lay is one marker spread in some plies and cut at once. Choose the lays and
// the bolts that their plies come from, so that every garment needed is cut, nothing is
// over-cut unless stock is allowed, all pieces of one garment in this cloth come from one
// shade lot, no ply crosses two bolts, no marker is longer than the table and no lay thicker
// than allowed, and cloth money plus cutting money is least.
//
// A ply gives whole garments, so that all pieces of a garment come from one ply and with it
// from one bolt and one shade lot.
//
// How the cloth is spread matters to nap and to left and right. Face one way, every ply gives
// what the marker shows. Face to face, every second ply is folded back: it lies face down and
// end for end, so that a piece in it comes out mirrored and turned half round. Rectangles and
// symmetric pieces may lie so where their turns allow the half turn (never on a one-way nap or
// print), pieces with a partner of the other hand too, since the two change places; nothing is
// saved by it in cloth. A lay with a garment that may not lie so is spread face one way. Folded
// lengthwise, the marker lies on half the width and each place gives two pieces, the second one
// mirrored: half of the copies, or one of each left and right pair, are laid. The nap runs the
// same way in both halves. A symmetric piece that is wider than the half, or left over from pairs,
// is laid by half with its middle on the fold. A lay that cannot be folded (a piece that is not
// symmetric and wider than the half, or odd) is spread open, face one way. MaxPlies counts layers of cloth, two for a folded ply.
//
// Cloth is taken from the shelf first, and only what the bolts cannot give is bought. Cloth money
// is what leaves the workshop: a bolt counts for what is used of it, and for its end if that is
// too short to keep; cloth to buy counts whole, rounded up to the shop's step, less what its rest
// is worth as a remnant. A plan that buys is taken only if it saves more than BuyTolerance against
// one that the shelf covers. Each bolt is cut from its beginning; what lies before its last ply is
// used, skipped faults included.
// On cloth with a repeat, a ply with matched pieces begins where the print begins anew.
//
// Invariants. Every plan accounts for every garment: cut, to be cut from cloth to buy, or in
// Uncut with the reason and the remedy. No bolt gives more than its length. Every marker has
// passed marker.Verify. The same problem, seed and iteration budget give the same plan.
//
// Not promised: the least cost, unless Status says StatusOptimal; and the same plan when the
// context, not the iterations, ends the search.
//
// The method: plans are begun by size ratios, as if the lengths of garments added up, and built
// lay by lay, the garments that were dear to lay being looked at first the next time (sequential
// value correction, after Mukhacheva 1973). Simulated annealing changes the best of them; its
// markers are really laid, those of plans near the best with the whole budget, so that real
// lengths decide; on the way very many ratios are compared by a rough layout. Shaped pieces are
// laid by the rectangle around them, and the bound is for that. One bound puts all pieces on one
// marker of the widest cloth and adds the least setting up and cutting that any choice of numbers
// of plies needs; where the ratios that the table can hold can be listed, another one covers the
// demand by plies of these ratios (see layBound).
//
// Package ratio plans by size ratios alone, where markers are no more than lengths that add up.
package lay

import (
	"time"

	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Money is an exact amount in millionths of the workshop's currency unit.
type Money = ratio.Money

// Piece is a pattern piece that one garment takes from this cloth, in one size.
type Piece struct {
	// Name is shown on drawings, such as "panel 98".
	Name string
	// Copies per garment.
	Copies int
	// Width, Length, Outline, Turns, MayMirror and Match are as in marker.Piece.
	Width, Length length.Length
	Outline       []marker.Point
	Turns         []marker.Turn
	MayMirror     bool
	Match         *marker.Point
}

// Garment is a demand: so many garments of one style, colourway and size.
type Garment struct {
	Name     string
	Quantity int
	Pieces   []Piece
	// FromLot, unless nil, is the only shade lot that these garments may be cut from; none of
	// them is then cut from bought cloth. See WithRemnants.
	FromLot *string
}

// Bolt is cloth on the shelf.
type Bolt struct {
	// ID is the caller's; it comes back in the plan.
	ID   int64
	Name string
	Lot  string
	// Width is the usable width, Length what is free to cut.
	Width, Length length.Length
	Faults        []marker.Fault
	// PricePerMetre is what a metre of this bolt is worth.
	PricePerMetre Money
}

// Spread is the way of laying plies.
type Spread string

const (
	// FaceOneWay: every ply lies the same way up.
	FaceOneWay Spread = "face one way"
	// FaceToFace: every second ply is folded back, face down and end for end.
	FaceToFace Spread = "face to face"
	// FoldedLengthwise: the cloth is folded along its length; markers lie on half the width.
	FoldedLengthwise Spread = "folded lengthwise"
)

// Rules are what cloth, table and cutter allow.
type Rules struct {
	// TableLength is the longest marker with its end losses; zero means no limit.
	TableLength length.Length
	// MaxPlies is how many layers of this cloth the cutter takes; at least 1.
	MaxPlies int
	Spread   Spread
	// EndLoss is lost at each of the two ends of each ply.
	EndLoss length.Length
	// Gap between pieces.
	Gap          length.Length
	StraightCuts bool
	Repeat       marker.Repeat
	// NapUpAndDown: all pieces of one garment lie the same way up; see marker.Piece.NapGroup.
	NapUpAndDown bool
	// KeepLength is the shortest end worth keeping as a remnant.
	KeepLength length.Length
	// OverCut is how many garments may be cut beyond the demand, in all.
	OverCut int
	// BuyWidth is the usable width of this cloth when it is bought; zero means that none
	// can be bought and what the bolts cannot give stays uncut.
	BuyWidth length.Length
	// BuyStep is the step in which the shop cuts; what is bought is rounded up to it.
	BuyStep length.Length
	// BuyPricePerMetre is what a bought metre costs.
	BuyPricePerMetre Money
	// RemnantWorth is what a metre of the rest of bought cloth counts for, in hundredths of a
	// percent of BuyPricePerMetre, if the rest is long enough to keep; a shorter rest counts for
	// nothing.
	RemnantWorth int
	// BuyTolerance is what a plan that the shelf covers may cost more than one that buys, in
	// hundredths of a percent of the cloth's money, and still be preferred.
	BuyTolerance int
	// Units write the lengths in the plan's sentences: the workshop's own first and the other
	// system behind it, so that a plan stays readable when the workshop changes its units.
	Units length.Style
}

// Rates turn cutting work into time and money.
type Rates struct {
	// SetUp of each lay: marker out, bolt fetched, ends squared.
	SetUp time.Duration
	// SpreadPerMetre of each ply, CutPerMetre of cut edge, once per lay.
	SpreadPerMetre, CutPerMetre time.Duration
	// PerHour is what an hour of cutting costs.
	PerHour Money
}

// Problem is the planning of one cloth.
type Problem struct {
	// Cloth is the name shown in messages.
	Cloth    string
	Garments []Garment
	Bolts    []Bolt
	Rules    Rules
	Rates    Rates
}

// Params are the budget of a search.
type Params struct {
	Seed uint64
	// Iterations of the search over lays; zero means a fixed default budget.
	Iterations int
	// MarkerIterations is the budget of each marker of the plans near the best; zero means a
	// fixed default budget. Others are laid quickly.
	MarkerIterations int
	// QuickBound leaves the stronger of the bounds out, for plans that are only compared.
	QuickBound bool
	// Progress is called at each improvement and now and then; nil is allowed. The share never
	// falls, and the cost never rises but for a garment more that is cut.
	Progress func(Progress)
}

// Progress is a report on the way.
type Progress struct {
	// Share of the budget used, 0 to 1.
	Share float64
	// Message in plain words, such as "12 lays, 8.4 m".
	Message string
	// Cost of the best plan so far, with what buying must save (see Rules.BuyTolerance) on top if
	// it buys.
	Cost Money
}

// Draw is cloth taken by a lay: plies one after the other from one bolt.
type Draw struct {
	// Bolt is the index into Problem.Bolts; -1 means cloth to buy.
	Bolt  int
	Plies int
	// From is where the first of the plies begins, measured from the bolt's beginning, and
	// Pitch the distance from the beginning of one ply to that of the next.
	From, Pitch length.Length
}

// Lay is one marker and its plies.
type Lay struct {
	// PerPly is how many of each garment, by index into Problem.Garments, one ply gives.
	PerPly []int
	// Instance is what was laid, Marker how; Owners says for each Instance piece which
	// garment and which of its pieces it is.
	Instance marker.Instance
	Marker   marker.Result
	Owners   []Owner
	// Way is how this lay is spread: as in the rules, or FaceOneWay where that is not allowed.
	Way Spread
	// Plies spread; a ply folded lengthwise is two layers.
	Plies int
	Draws []Draw
	// PlyLength is the marker's length with both end losses.
	PlyLength length.Length
	// CutEdge is the length of all cut edges of one ply.
	CutEdge length.Length
	// SetUp, Spread and Cut are the minutes of this lay, Cost is their money.
	SetUp, Spread, Cut time.Duration
	Cost               Money
}

// Owner says where a piece of a marker comes from.
type Owner struct {
	Garment, Piece int
}

// BoltUse is what a plan takes from one bolt.
type BoltUse struct {
	// Bolt is the index into Problem.Bolts.
	Bolt int
	// Used is the length taken, Left what remains; Keep tells whether it is worth keeping.
	Used, Left length.Length
	Keep       bool
	// Cost of the length used, and of what remains unless it is worth keeping.
	Cost Money
}

// Purchase is cloth to buy in one piece.
type Purchase struct {
	// Need is the length needed, Buy the same rounded up to the shop's step.
	Need, Buy length.Length
	// Cost is what is paid, RestWorth what of it the rest is worth as a remnant; see
	// Rules.RemnantWorth.
	Cost, RestWorth Money
}

// Uncut is demand that the plan does not meet.
type Uncut struct {
	Garment  int
	Quantity int
	// Piece is the index of the piece that does not fit, or -1.
	Piece int
	// Reason says why, Remedy what would make it possible, in words for the maker.
	Reason, Remedy string
}

// Status tells how good a plan is known to be.
type Status string

const (
	// StatusOptimal: cost equals the proven bound.
	StatusOptimal Status = "optimal"
	// StatusWithin: the bound says how far the plan may be from the best.
	StatusWithin Status = "within"
	// StatusOutOfTime: the context ended the search; otherwise as StatusWithin.
	StatusOutOfTime Status = "out_of_time"
)

// Practice is what the garments of a plan take when they are cut in a plain way: every garment
// by itself in one ply, or every kind of garment by itself, one garment to a ply and as many plies
// as the cutter takes. Cloth is valued at what a metre of the plan costs on the average.
type Practice struct {
	Length length.Length
	// Work is the time for setting up, spreading and cutting.
	Work               time.Duration
	ClothCost, CutCost Money
	Cost               Money
}

// Plan is what Solve returns.
type Plan struct {
	Lays      []Lay
	Uses      []BoltUse
	Purchases []Purchase
	Uncut     []Uncut
	// OverCut counts, by garment, what is cut beyond the demand.
	OverCut []int
	// ClothCost values what is used of bolts, ends too short to keep included, and what is paid
	// for cloth to buy less what its rest is worth;
	// CutCost the cutting minutes; Cost is their sum and Bound a proven lower bound on the
	// cost of any plan that cuts the same garments.
	ClothCost, CutCost, Cost, Bound Money
	// ByGarment and BySize are what plain practice takes for the same garments; see Practice.
	ByGarment, BySize Practice
	// LengthUsed is all cloth taken (used, lost in ends too short to keep, and bought, but not
	// a rest that is kept), LengthBound a proven lower bound on it.
	LengthUsed, LengthBound length.Length
	// Limits says in words what holds the plan back: table, plies, lots, bolts.
	Limits []string
	Status Status
	Seed   uint64
}

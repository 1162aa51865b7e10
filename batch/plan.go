package batch

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

// Garment is one style, colourway and size of the batch.
type Garment struct {
	Style, Colourway string
	ColourwayID      int64
	Size             string
	Wearer           garment.Wearer
	// Wanted is what the orders ask for, Quantity what the plan cuts for them.
	Wanted, Quantity int
}

// Name is how the garment is called on sheets: colourway, style and size.
func (g Garment) Name() string { return g.Colourway + " " + g.Style + " " + g.Size }

// ClothPlan is the plan of one cloth.
type ClothPlan struct {
	Cloth Cloth
	// Garments are the indices into Plan.Garments, in the order of Problem.Garments.
	Garments []int
	Problem  lay.Problem
	Plan     lay.Plan
	// Bolts are those of the problem with their place on the shelf.
	Bolts []Bolt
	// Parts says what each of Problem.Garments is, where the small pieces of some garments are
	// cut from a remnant; nil where all garments are whole. See lay.WithRemnants.
	Parts []lay.Part
}

// Uncut is what can't be made, and why.
type Uncut struct {
	// Garment is the index into Plan.Garments.
	Garment  int
	Quantity int
	Cloth    string
	Piece    string
	Reason   string
	Remedy   string
}

// Plan is a planned batch.
type Plan struct {
	Name     string
	Lines    []Line
	Garments []Garment
	Cloths   []ClothPlan
	Notions  []NotionPlan
	Bundles  []Bundle
	Steps    []Step
	Stages   []StageMinutes
	Shopping []Shopping
	Uncut    []Uncut
	Cautions []Caution
	// Fits are gathered panels of which one more would fit across with a little less fullness.
	Fits []Fit
	// Minutes is all work at standard pace; Worked the same at the workroom's own pace.
	Minutes, Worked time.Duration
	Start           time.Time
	// DoneBy is the day on which all is done; zero if the calendar has no such day.
	DoneBy time.Time
	// Late are the orders that are due before DoneBy.
	Late []LateOrder
	Seed uint64
	// Stopped tells that planning was cancelled and the plan is the best so far.
	Stopped bool
}

// LateOrder is an order that is due before the batch is done.
type LateOrder struct {
	Order, Customer string
	Due             time.Time
	// Days late.
	Days int
}

// InputError says what of the input keeps a batch from being planned at all.
type InputError struct {
	// Field is a path such as "lines[3].size".
	Field   string
	Message string
}

func (e *InputError) Error() string { return e.Field + ": " + e.Message }

// Make plans a batch. The error is *InputError for input that makes no sense, or the
// context's if it ended before there was any plan. What can't be cut is not an error: it
// stands in Plan.Uncut, and the rest is planned.
func Make(ctx context.Context, in Input, params Params) (Plan, error) {
	planner, err := newPlanner(ctx, in, params)
	if err != nil {
		return Plan{}, err
	}
	return planner.finish(ctx)
}

// newPlanner lays all cloths of a batch.
func newPlanner(ctx context.Context, in Input, params Params) (*planner, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p := &planner{in: in, params: params}
	if err := p.collect(); err != nil {
		return nil, err
	}
	p.refuseTooWide()
	return p, p.layAll(ctx)
}

// planner carries a plan while it is being made.
type planner struct {
	in     Input
	params Params
	plan   Plan
	graded map[gradeKey]garment.Graded
	// pieces by garment and cloth.
	pieces map[pieceKey][]lay.Piece
	cloths []Cloth
	// trier makes the plans of a quick planning, of these cloths only; nil in a whole one.
	trier *trier
	only  []int64
}

type gradeKey struct {
	style int64
	size  string
}

type pieceKey struct {
	garment int
	cloth   int64
}

// collect turns order lines into garments, and garments into pieces per cloth.
func (p *planner) collect() error {
	p.plan = Plan{Name: p.in.Name, Lines: p.in.Lines, Start: p.in.Start, Seed: p.params.Seed}
	p.graded = map[gradeKey]garment.Graded{}
	p.pieces = map[pieceKey][]lay.Piece{}
	if len(p.in.Lines) == 0 {
		return &InputError{"lines", "choose at least one order line"}
	}
	for i, line := range p.in.Lines {
		if err := p.addLine(fmt.Sprintf("lines[%d]", i), line); err != nil {
			return err
		}
	}
	slices.SortStableFunc(p.plan.Garments, p.order)
	for i := range p.plan.Garments {
		if err := p.addPieces(i); err != nil {
			return err
		}
	}
	slices.SortFunc(p.cloths, func(a, b Cloth) int { return strings.Compare(a.Name, b.Name) })
	return nil
}

func (p *planner) addLine(field string, line Line) error {
	if line.Quantity < 1 {
		return &InputError{field + ".quantity", "write a quantity of at least 1"}
	}
	colourway, ok := p.in.colourway(line.Colourway)
	if !ok {
		return &InputError{field + ".colourway", "this colourway is gone"}
	}
	style, ok := p.in.style(colourway.Style)
	if !ok {
		return &InputError{field + ".style", "this style is gone"}
	}
	if _, err := p.grade(style, line.Size); err != nil {
		return &InputError{field + ".size", fmt.Sprintf("%s can't be graded: %v", style.Name, err)}
	}
	at := slices.IndexFunc(p.plan.Garments, func(g Garment) bool {
		return g.ColourwayID == line.Colourway && g.Size == line.Size
	})
	if at < 0 {
		at = len(p.plan.Garments)
		p.plan.Garments = append(p.plan.Garments, Garment{
			Style: style.Name, Colourway: colourway.Name, ColourwayID: colourway.ID, Size: line.Size, Wearer: style.Wearer,
		})
	}
	p.plan.Garments[at].Wanted += line.Quantity
	p.plan.Garments[at].Quantity += line.Quantity
	return nil
}

func (p *planner) grade(style Style, size string) (garment.Graded, error) {
	key := gradeKey{style.ID, size}
	if graded, ok := p.graded[key]; ok {
		return graded, nil
	}
	graded, err := style.Grade(style.Chart, size)
	if err == nil {
		p.graded[key] = graded
	}
	return graded, err
}

// order sorts garments by style, colourway and place in the size chart.
func (p *planner) order(a, b Garment) int {
	if c := strings.Compare(a.Style, b.Style); c != 0 {
		return c
	}
	if c := strings.Compare(a.Colourway, b.Colourway); c != 0 {
		return c
	}
	if a.ColourwayID != b.ColourwayID {
		return int(a.ColourwayID - b.ColourwayID)
	}
	return p.sizeIndex(a) - p.sizeIndex(b)
}

func (p *planner) sizeIndex(g Garment) int {
	_, style := p.styleOf(g)
	return slices.Index(style.Chart.SizeNames(), g.Size)
}

func (p *planner) styleOf(g Garment) (Colourway, Style) {
	colourway, _ := p.in.colourway(g.ColourwayID)
	style, _ := p.in.style(colourway.Style)
	return colourway, style
}

func (p *planner) addPieces(i int) error {
	g := p.plan.Garments[i]
	colourway, style := p.styleOf(g)
	graded := p.graded[gradeKey{style.ID, g.Size}]
	for _, role := range style.Roles() {
		cloth, ok := p.in.cloth(colourway.Cloths[role])
		if !ok {
			return &InputError{fmt.Sprintf("colourways[%s].%s", colourway.Name, role), fmt.Sprintf("choose a cloth for the %s of %s %s", role, colourway.Name, style.Name)}
		}
		if _, done := p.pieces[pieceKey{i, cloth.ID}]; done {
			continue
		}
		pieces, err := PiecesOn(graded, colourway, cloth, p.in.Workroom.CutStep)
		if err != nil {
			return &InputError{"styles[" + style.Name + "]", err.Error()}
		}
		p.pieces[pieceKey{i, cloth.ID}] = pieces
		if !slices.ContainsFunc(p.cloths, func(c Cloth) bool { return c.ID == cloth.ID }) {
			p.cloths = append(p.cloths, cloth)
		}
	}
	return nil
}

// refuseTooWide takes garments out that no bolt and no bought cloth is wide enough for, so
// that no other cloth is cut for them.
func (p *planner) refuseTooWide() {
	for i := range p.plan.Garments {
		for _, cloth := range p.cloths {
			for _, piece := range p.pieces[pieceKey{i, cloth.ID}] {
				width := p.widest(cloth)
				if fitsAcross(piece, width) || p.plan.Garments[i].Quantity == 0 {
					continue
				}
				p.refuse(Uncut{
					Garment: i, Quantity: p.plan.Garments[i].Quantity, Cloth: cloth.Name, Piece: piece.Name,
					Reason: fmt.Sprintf("%s is wider than the usable width of %s", piece.Name, cloth.Name),
					Remedy: p.widthRemedy(piece, width),
				})
			}
		}
	}
}

func (p *planner) widthRemedy(piece lay.Piece, width length.Length) string {
	style := length.Style{System: length.Imperial}
	return fmt.Sprintf("It needs %s across and there are %s: use a wider cloth, less fullness or more panels.",
		style.PieceBoth(leastAcross(piece)), style.PieceBoth(width))
}

// widest is the largest usable width at which the cloth is in stock or can be bought.
func (p *planner) widest(cloth Cloth) length.Length {
	width := length.Length(0)
	if cloth.CanBuy {
		width = cloth.UsableWidth()
	}
	for _, bolt := range p.in.Bolts {
		if bolt.Cloth == cloth.ID {
			width = max(width, boltWidth(bolt, cloth))
		}
	}
	return width
}

func boltWidth(bolt Bolt, cloth Cloth) length.Length {
	if bolt.FullWidth > 0 {
		return bolt.FullWidth - 2*cloth.Selvage
	}
	return cloth.UsableWidth()
}

// refuse takes garments out of the plan and says why.
func (p *planner) refuse(uncut Uncut) {
	g := &p.plan.Garments[uncut.Garment]
	uncut.Quantity = min(uncut.Quantity, g.Quantity)
	if uncut.Quantity > 0 {
		g.Quantity -= uncut.Quantity
		p.plan.Uncut = append(p.plan.Uncut, uncut)
	}
}

// layAll plans every cloth. A garment that one cloth cannot give is taken out of the others,
// which are then planned anew; each round takes some garment out, so that it ends.
func (p *planner) layAll(ctx context.Context) error {
	stale := make([]bool, len(p.cloths))
	for i, cloth := range p.cloths {
		stale[i] = p.trier == nil || slices.Contains(p.only, cloth.ID)
	}
	p.plan.Cloths = make([]ClothPlan, len(p.cloths))
	for slices.Contains(stale, true) {
		at := slices.Index(stale, true)
		planned, err := p.layCloth(ctx, at)
		if err != nil {
			return err
		}
		p.plan.Cloths[at], stale[at] = planned, false
		for _, uncut := range planned.Plan.Uncut {
			i := planned.Garments[uncut.Garment]
			p.refuse(p.named(planned, uncut))
			for other, cloth := range p.cloths {
				if other != at && len(p.pieces[pieceKey{i, cloth.ID}]) > 0 && p.plan.Cloths[other].Plan.Status != "" {
					stale[other] = true
				}
			}
		}
	}
	return nil
}

func (p *planner) named(planned ClothPlan, uncut lay.Uncut) Uncut {
	piece := ""
	if uncut.Piece >= 0 {
		piece = planned.Problem.Garments[uncut.Garment].Pieces[uncut.Piece].Name
	}
	return Uncut{
		Garment: planned.Garments[uncut.Garment], Quantity: uncut.Quantity, Cloth: planned.Cloth.Name,
		Piece: piece, Reason: uncut.Reason, Remedy: uncut.Remedy,
	}
}

func (p *planner) layCloth(ctx context.Context, at int) (ClothPlan, error) {
	cloth := p.cloths[at]
	planned := p.clothPlan(cloth)
	if len(planned.Garments) == 0 {
		planned.Plan.Status = lay.StatusOptimal
		return planned, nil
	}
	kept := p.standing(cloth)
	if kept != nil && p.params.Only != nil && !slices.Contains(p.params.Only, cloth.ID) {
		return *kept, nil
	}
	if kept != nil && len(kept.Plan.Purchases) == 0 && len(kept.Plan.Uncut) == 0 {
		planned.Problem.Rules.BuyWidth = 0 // what the batch needs is on the shelf: no reason to buy more
	}
	var err error
	if planned.Plan, err = p.solve(ctx, at, planned.Problem); err != nil {
		return ClothPlan{}, p.layError(ctx, cloth, err)
	}
	if err := p.useRemnants(ctx, &planned); err != nil {
		return ClothPlan{}, p.layError(ctx, cloth, err)
	}
	planned.Problem.Rules.BuyWidth = p.rules(cloth).BuyWidth
	if kept != nil && !planned.Plan.Better(kept.Plan, p.in.Workroom.BuyTolerance) {
		return *kept, nil
	}
	return planned, nil
}

// clothPlan is what of the batch is cut from a cloth, and the bolts of it, not planned yet.
func (p *planner) clothPlan(cloth Cloth) ClothPlan {
	planned := ClothPlan{Cloth: cloth}
	planned.Problem = lay.Problem{Cloth: cloth.Name, Rules: p.rules(cloth), Rates: p.in.Workroom.Rates}
	for i, g := range p.plan.Garments {
		pieces := p.pieces[pieceKey{i, cloth.ID}]
		if g.Quantity > 0 && len(pieces) > 0 {
			planned.Garments = append(planned.Garments, i)
			planned.Problem.Garments = append(planned.Problem.Garments, lay.Garment{Name: g.Name(), Quantity: g.Quantity, Pieces: pieces})
		}
	}
	for _, bolt := range p.in.Bolts {
		if bolt.Cloth == cloth.ID && bolt.Length > 0 {
			planned.Bolts = append(planned.Bolts, bolt)
			planned.Problem.Bolts = append(planned.Problem.Bolts, p.layBolt(bolt))
		}
	}
	return planned
}

func (p *planner) layBolt(bolt Bolt) lay.Bolt {
	return lay.Bolt{
		ID: bolt.ID, Name: bolt.Name, Lot: bolt.Lot, Width: boltWidth(bolt, p.clothOf(bolt)), Length: bolt.Length,
		Faults: bolt.Faults, PricePerMetre: bolt.PricePerMetre,
	}
}

// clothOf is the cloth of a bolt as it is, whatever width is planned with.
func (p *planner) clothOf(bolt Bolt) Cloth {
	cloth, _ := p.in.cloth(bolt.Cloth)
	return cloth
}

// useRemnants cuts small pieces from remnants where that saves money.
func (p *planner) useRemnants(ctx context.Context, planned *ClothPlan) error {
	if p.trier != nil || ctx.Err() != nil || planned.Plan.Status == lay.StatusOutOfTime {
		return nil
	}
	params := lay.Params{Seed: p.params.Seed, Iterations: p.params.Iterations, MarkerIterations: p.params.MarkerIterations}
	problem, plan, parts, err := lay.WithRemnants(ctx, planned.Problem, planned.Plan, params)
	if err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return nil // the plan without remnants stands
	}
	if err != nil || parts == nil {
		return err
	}
	planned.Problem, planned.Plan, planned.Parts = problem, plan, parts
	for _, part := range parts[len(planned.Garments):] {
		planned.Garments = append(planned.Garments, planned.Garments[part.Of])
	}
	return nil
}

// solve plans the lays of one cloth. Once somebody has stopped the batch, the cloths that are
// left are laid as quickly as can be, so that the plan is still whole.
func (p *planner) solve(ctx context.Context, at int, problem lay.Problem) (lay.Plan, error) {
	if p.trier != nil {
		return p.trier.solve(ctx, problem)
	}
	params := lay.Params{Seed: p.params.Seed, Iterations: p.params.Iterations, MarkerIterations: p.params.MarkerIterations, Progress: p.layProgress(at)}
	if ctx.Err() != nil {
		p.plan.Stopped = true
		params.Iterations, params.MarkerIterations = 1, 1
		return lay.Solve(context.WithoutCancel(ctx), problem, params)
	}
	plan, err := lay.Solve(ctx, problem, params)
	if err == nil && plan.Status == lay.StatusOutOfTime {
		p.plan.Stopped = true
	}
	return plan, err
}

// layError turns an error of the lay planner into one at the cloth.
func (p *planner) layError(ctx context.Context, cloth Cloth, err error) error {
	if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return err
	}
	return &InputError{"cloths[" + cloth.Name + "]", err.Error()}
}

func (p *planner) layProgress(at int) func(lay.Progress) {
	if p.params.Progress == nil {
		return nil
	}
	return func(progress lay.Progress) {
		p.params.Progress(Progress{
			Share:   (float64(at) + progress.Share) / float64(len(p.cloths)) * 0.95,
			Message: p.cloths[at].Name + ": " + progress.Message,
		})
	}
}

func (p *planner) rules(cloth Cloth) lay.Rules {
	room := p.in.Workroom
	rules := lay.Rules{
		TableLength: room.TableLength, MaxPlies: max(1, room.MaxPlies[cloth.Thickness]), Spread: room.Spread, EndLoss: room.EndLoss,
		Gap: room.Gap, StraightCuts: room.StraightCuts, Repeat: cloth.Repeat, NapUpAndDown: cloth.Nap == NapUpAndDown,
		KeepLength: room.KeepLength, OverCut: room.OverCut, BuyStep: room.BuyStep, BuyPricePerMetre: cloth.PricePerMetre, Units: room.Units,
		RemnantWorth: room.RemnantWorth, BuyTolerance: room.BuyTolerance,
	}
	if cloth.CanBuy {
		rules.BuyWidth = cloth.UsableWidth()
	}
	return rules
}

// areasOf returns the area of the pieces that one of each garment takes from a cloth.
func areasOf(planned ClothPlan) ([]length.Area, error) {
	areas := make([]length.Area, len(planned.Garments))
	for i, g := range planned.Problem.Garments {
		var err error
		if areas[i], err = areaOf(g.Pieces); err != nil {
			return nil, err
		}
	}
	return areas, nil
}

// areaOf returns the area of all copies of pieces.
func areaOf(pieces []lay.Piece) (length.Area, error) {
	var sum length.Area
	for _, piece := range pieces {
		area, err := pieceArea(piece)
		if err != nil {
			return 0, err
		}
		if area, err = area.TimesCount(piece.Copies); err != nil {
			return 0, err
		}
		if sum, err = sum.Plus(area); err != nil {
			return 0, err
		}
	}
	return sum, nil
}

// efficiencyOf returns the share of a marker's cloth that its pieces cover.
func efficiencyOf(instance marker.Instance, result marker.Result) float64 {
	var covered float64
	for _, placement := range result.Placements {
		piece := instance.Pieces[placement.Piece]
		area, err := pieceArea(lay.Piece{Width: piece.Width, Length: piece.Length, Outline: piece.Outline})
		if err != nil {
			return 0
		}
		covered += float64(area)
	}
	whole := float64(instance.Width) * float64(result.Length)
	if whole == 0 {
		return 0
	}
	return covered / whole
}

// Efficiency returns the share of a lay's cloth that its pieces cover, 0 to 1.
func Efficiency(l lay.Lay) float64 { return efficiencyOf(l.Instance, l.Marker) }

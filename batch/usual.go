package batch

import (
	"context"
	"fmt"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/length"
)

// Use is what one garment of a size takes of one cloth in a usual batch.
type Use struct {
	Role  garment.Role
	Cloth Cloth
	// Marker and Losses are what one garment bears of SizeShare.Marker and Losses, rounded up to the
	// last unit.
	Marker, Losses length.Length
}

// Usual is what a style takes in a batch of its usual size: the base of a standard cost sheet.
type Usual struct {
	// Uses by size name, one for each cloth; roles that share a cloth are one use under the
	// first role.
	Uses map[string][]Use
	// Work by size name is what the garments of a size take to be cut, at standard pace.
	Work map[string]CutWork
	// Garments is how many the usual batch cuts; Kinds are they by size, for ClothPlan.Garments.
	Garments int
	Kinds    []Garment
	// Plans by cloth, for showing the costing markers, and how each cloth is shared.
	Plans  []ClothPlan
	Shares []ClothShare
}

// CutWork is the minutes of cutting so many garments of one size.
type CutWork struct {
	// Garments of the size that bear it; 1 for a size that the usual batch has none of.
	Garments int
	// SetUp is their share of setting up the lays that they lie in, Cutting of spreading and cutting
	// them; Bundling is for tying and ticketing their bundles.
	SetUp, Cutting, Bundling time.Duration
}

// ClothShare is how one cloth of a usual batch is shared among its garments.
type ClothShare struct {
	// Markers is the length of all markers, once for each ply; Losses is what the plies take
	// besides.
	Markers, Losses length.Length
	Sizes           []SizeShare
}

// SizeShare is what the garments of one size bear of a cloth: see TakenOf.
type SizeShare struct {
	Size string
	// Garments is how many of the size there are. Where the usual batch has none of it, one bears
	// what as much area of the others does.
	Garments       int
	Marker, Losses length.Length
}

// PlanUsual lays a colourway in its usual mix of sizes on whole cloth, as if it were all
// bought, and shares the cloth out by size. Counts are garments by size name; of a size that is
// offered and not in the usual batch it has 0.
func PlanUsual(ctx context.Context, in Input, colourway int64, counts map[string]int, params Params) (Usual, error) {
	way, ok := in.colourway(colourway)
	if !ok {
		return Usual{}, &InputError{"colourway", "this colourway is gone"}
	}
	style, ok := in.style(way.Style)
	if !ok {
		return Usual{}, &InputError{"style", "this style is gone"}
	}
	usual, rare := in, in
	usual.Bolts, usual.Lines, rare.Lines = nil, nil, nil
	usual.Cloths = make([]Cloth, len(in.Cloths))
	for i, cloth := range in.Cloths {
		cloth.CanBuy = true
		usual.Cloths[i] = cloth
	}
	rare.Bolts, rare.Cloths = nil, usual.Cloths
	for _, size := range style.Chart.SizeNames() {
		switch count, offered := counts[size]; {
		case count > 0:
			usual.Lines = append(usual.Lines, Line{Colourway: colourway, Size: size, Quantity: count})
		case offered:
			rare.Lines = append(rare.Lines, Line{Colourway: colourway, Size: size, Quantity: 1})
		}
	}
	planner, err := newPlanner(ctx, usual, params)
	if err != nil {
		return Usual{}, err
	}
	if err := planner.plan.wholly(); err != nil {
		return Usual{}, err
	}
	u := Usual{Uses: map[string][]Use{}, Work: map[string]CutWork{}, Kinds: planner.plan.Garments, Plans: planner.plan.Cloths}
	if err := u.share(planner.plan, way, usual.Workroom); err != nil || len(rare.Lines) == 0 {
		return u, err
	}
	return u, u.addRare(rare, way)
}

// wholly returns why some of a plan can't be cut, or nil.
func (p Plan) wholly() error {
	if len(p.Uncut) == 0 {
		return nil
	}
	first := p.Uncut[0]
	return &InputError{"cloths[" + first.Cloth + "]", fmt.Sprintf("%s can't be cut: %s. %s", p.Garments[first.Garment].Name(), first.Reason, first.Remedy)}
}

func (u *Usual) share(plan Plan, way Colourway, room Workroom) error {
	for _, g := range plan.Garments {
		u.Garments += g.Quantity
		bundles := (g.Quantity + room.BundleSize - 1) / max(1, room.BundleSize)
		u.Work[g.Size] = CutWork{Garments: g.Quantity, Bundling: time.Duration(bundles) * room.PerBundle}
	}
	for _, planned := range plan.Cloths {
		if err := u.addCloth(plan, planned, firstRole(way, planned.Cloth.ID)); err != nil {
			return err
		}
	}
	return nil
}

// addCloth shares one cloth out. What buying in whole steps leaves over stays on the shelf and is no
// one's.
func (u *Usual) addCloth(plan Plan, planned ClothPlan, role garment.Role) error {
	taken, err := TakenOf(planned)
	if err != nil {
		return err
	}
	var shared ClothShare
	for _, t := range taken {
		g := plan.Garments[t.Garment]
		shared.Markers += t.Marker
		shared.Losses += t.Losses
		u.add(&shared, SizeShare{g.Size, g.Quantity, t.Marker, t.Losses}, role, planned.Cloth)
		u.work(g.Size, t.SetUp, t.Cutting)
	}
	u.Shares = append(u.Shares, shared)
	return nil
}

func (u *Usual) add(shared *ClothShare, own SizeShare, role garment.Role, cloth Cloth) {
	shared.Sizes = append(shared.Sizes, own)
	count := length.Length(max(1, own.Garments))
	u.Uses[own.Size] = append(u.Uses[own.Size], Use{Role: role, Cloth: cloth, Marker: ceilDivide(own.Marker, count), Losses: ceilDivide(own.Losses, count)})
}

func (u *Usual) work(size string, setUp, cutting time.Duration) {
	work := u.Work[size]
	work.SetUp += setUp
	work.Cutting += cutting
	u.Work[size] = work
}

// addRare has one garment of each size that the usual batch has none of bear, of each cloth, what
// garments of as much area bear there.
func (u *Usual) addRare(in Input, way Colourway) error {
	p := &planner{in: in}
	if err := p.collect(); err != nil {
		return err
	}
	p.refuseTooWide()
	if err := p.plan.wholly(); err != nil {
		return err
	}
	var bundling time.Duration
	for _, work := range u.Work {
		bundling += work.Bundling
	}
	for _, g := range p.plan.Garments {
		u.Work[g.Size] = CutWork{Garments: 1, Bundling: bundling / time.Duration(u.Garments)}
	}
	for c := range u.Plans {
		if err := u.addRareOf(p, c, firstRole(way, u.Plans[c].Cloth.ID)); err != nil {
			return err
		}
	}
	return nil
}

func (u *Usual) addRareOf(p *planner, c int, role garment.Role) error {
	planned, shared := u.Plans[c], &u.Shares[c]
	var all length.Area
	var setUp, cutting time.Duration
	areas, err := areasOf(planned)
	if err != nil {
		return err
	}
	for at, g := range planned.Problem.Garments {
		area, err := areas[at].TimesCount(g.Quantity)
		if err != nil {
			return err
		}
		if all, err = all.Plus(area); err != nil {
			return err
		}
	}
	for _, l := range planned.Plan.Lays {
		setUp += l.SetUp
		cutting += l.Spread + l.Cut
	}
	for i, g := range p.plan.Garments {
		area, err := areaOf(p.pieces[pieceKey{i, planned.Cloth.ID}])
		if err != nil {
			return err
		}
		own := SizeShare{Size: g.Size}
		var ownSetUp, ownCutting length.Length
		for _, part := range []struct {
			of   length.Length
			into *length.Length
		}{{shared.Markers, &own.Marker}, {shared.Losses, &own.Losses}, {length.Length(setUp), &ownSetUp}, {length.Length(cutting), &ownCutting}} {
			if *part.into, err = part.of.Scale(int64(area), int64(all), length.Up); err != nil {
				return err
			}
		}
		u.add(shared, own, role, planned.Cloth)
		u.work(g.Size, time.Duration(ownSetUp), time.Duration(ownCutting))
	}
	return nil
}

func ceilDivide(l, by length.Length) length.Length { return (l + by - 1) / by }

func firstRole(way Colourway, cloth int64) garment.Role {
	for _, role := range []garment.Role{garment.Body, garment.Band, garment.Pocket, garment.Lining} {
		if way.Cloths[role] == cloth {
			return role
		}
	}
	least := garment.Role("")
	for role, id := range way.Cloths {
		if id == cloth && (least == "" || role < least) {
			least = role
		}
	}
	return least
}

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
	// Marker is the garment's share of the markers' length, by area; Losses its share of
	// ends and of what is too short to keep. Both are of a whole batch, shared out and divided
	// by the garments, rounded up to the last unit.
	Marker, Losses length.Length
}

// Usual is what a style takes in a batch of its usual size: the base of a standard cost sheet.
type Usual struct {
	// Uses by size name, one for each cloth; roles that share a cloth are one use under the
	// first role.
	Uses map[string][]Use
	// SetUp is the minutes to set up all lays, which a smaller batch takes too; Cutting those to
	// spread and cut them, at standard pace. Garments is how many they cut.
	SetUp, Cutting time.Duration
	Garments       int
	// Bundling is the minutes to tie and ticket their bundles.
	Bundling time.Duration
	// Plans by cloth, for showing the costing markers, and how each cloth is shared.
	Plans  []ClothPlan
	Shares []ClothShare
}

// ClothShare is how one cloth of a usual batch is shared among its garments.
type ClothShare struct {
	// Markers is the length of all markers, once for each ply; Losses is what the plies take
	// besides.
	Markers, Losses length.Length
	// Sizes bear both by the area of their pieces, as Use.Marker and Use.Losses say.
	Sizes []SizeShare
}

// SizeShare is the part of one size.
type SizeShare struct {
	Size     string
	Garments int
	// Area is that of all pieces of its garments in the cloth.
	Area length.Area
}

// PlanUsual lays a colourway in its usual mix of sizes on whole cloth, as if it were all
// bought, and shares the cloth out by size. Counts are garments by size name.
func PlanUsual(ctx context.Context, in Input, colourway int64, counts map[string]int, params Params) (Usual, error) {
	way, ok := in.colourway(colourway)
	if !ok {
		return Usual{}, &InputError{"colourway", "this colourway is gone"}
	}
	style, ok := in.style(way.Style)
	if !ok {
		return Usual{}, &InputError{"style", "this style is gone"}
	}
	usual := in
	usual.Bolts, usual.Lines = nil, nil
	usual.Cloths = make([]Cloth, len(in.Cloths))
	for i, cloth := range in.Cloths {
		cloth.CanBuy = true
		usual.Cloths[i] = cloth
	}
	for _, size := range style.Chart.SizeNames() {
		if counts[size] > 0 {
			usual.Lines = append(usual.Lines, Line{Colourway: colourway, Size: size, Quantity: counts[size]})
		}
	}
	planner, err := newPlanner(ctx, usual, params)
	if err != nil {
		return Usual{}, err
	}
	plan := planner.plan
	if len(plan.Uncut) > 0 {
		first := plan.Uncut[0]
		return Usual{}, &InputError{"cloths[" + first.Cloth + "]", fmt.Sprintf("%s can't be cut: %s. %s", plan.Garments[first.Garment].Name(), first.Reason, first.Remedy)}
	}
	return share(plan, way, usual.Workroom)
}

func share(plan Plan, way Colourway, room Workroom) (Usual, error) {
	usual := Usual{Uses: map[string][]Use{}, Plans: plan.Cloths}
	for _, g := range plan.Garments {
		usual.Garments += g.Quantity
		bundles := (g.Quantity + room.BundleSize - 1) / max(1, room.BundleSize)
		usual.Bundling += time.Duration(bundles) * room.PerBundle
	}
	for _, planned := range plan.Cloths {
		if err := usual.addCloth(plan, planned, firstRole(way, planned.Cloth.ID)); err != nil {
			return Usual{}, err
		}
	}
	return usual, nil
}

// addCloth shares the cloth of all lays among all garments by the area of their pieces, so
// that a size costs the same whichever lay it happens to be cut in. What buying in whole
// steps leaves over stays on the shelf and is no one's.
func (u *Usual) addCloth(plan Plan, planned ClothPlan, role garment.Role) error {
	areas, err := areasOf(planned)
	if err != nil {
		return err
	}
	for at, i := range planned.Garments {
		if areas[at], err = areas[at].TimesCount(plan.Garments[i].Quantity); err != nil {
			return err
		}
	}
	var markers, losses length.Length
	for _, l := range planned.Plan.Lays {
		markers += l.Marker.Length * length.Length(l.Plies)
		losses += (l.PlyLength - l.Marker.Length) * length.Length(l.Plies)
		u.SetUp += l.SetUp
		u.Cutting += l.Spread + l.Cut
	}
	ownMarker, err := length.Share(markers, areas)
	if err != nil {
		return err
	}
	ownLosses, err := length.Share(losses, areas)
	if err != nil {
		return err
	}
	shared := ClothShare{Markers: markers, Losses: losses}
	for at, i := range planned.Garments {
		g := plan.Garments[i]
		count := length.Length(g.Quantity)
		shared.Sizes = append(shared.Sizes, SizeShare{Size: g.Size, Garments: g.Quantity, Area: areas[at]})
		u.Uses[g.Size] = append(u.Uses[g.Size], Use{
			Role: role, Cloth: planned.Cloth, Marker: ceilDivide(ownMarker[at], count), Losses: ceilDivide(ownLosses[at], count),
		})
	}
	u.Shares = append(u.Shares, shared)
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

package batch

import (
	"context"
	"fmt"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
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
	// Cutting is the minutes of all lays at standard pace, Garments how many they cut.
	Cutting  time.Duration
	Garments int
	// Bundling is the minutes to tie and ticket their bundles.
	Bundling time.Duration
	// Plans by cloth, for showing the costing markers.
	Plans []ClothPlan
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
	for i, g := range plan.Garments {
		usual.Garments += g.Quantity
		for _, planned := range plan.Cloths {
			use, err := useOf(planned, i, g.Quantity)
			if err != nil {
				return Usual{}, err
			}
			if use.Cloth.ID != 0 {
				use.Role = firstRole(way, planned.Cloth.ID)
				usual.Uses[g.Size] = append(usual.Uses[g.Size], use)
			}
		}
		bundles := (g.Quantity + room.BundleSize - 1) / max(1, room.BundleSize)
		usual.Bundling += time.Duration(bundles) * room.PerBundle
	}
	for _, planned := range plan.Cloths {
		for _, l := range planned.Plan.Lays {
			usual.Cutting += l.SetUp + l.Spread + l.Cut
		}
	}
	return usual, nil
}

// useOf is what one garment takes of a planned cloth; the zero Use if it takes none.
func useOf(planned ClothPlan, garmentIndex, quantity int) (Use, error) {
	for at, i := range planned.Garments {
		if i != garmentIndex || quantity == 0 {
			continue
		}
		markers, err := markerShare(planned)
		if err != nil {
			return Use{}, err
		}
		count := length.Length(quantity)
		all := ceilDivide(planned.UsedBy[at], count)
		own := min(ceilDivide(markers[at], count), all)
		return Use{Cloth: planned.Cloth, Marker: own, Losses: all - own}, nil
	}
	return Use{}, nil
}

func ceilDivide(l, by length.Length) length.Length { return (l + by - 1) / by }

// markerShare shares the markers' length alone, without end losses, among the garments.
func markerShare(planned ClothPlan) ([]length.Length, error) {
	bare := planned
	bare.Plan.Lays = make([]lay.Lay, len(planned.Plan.Lays))
	bare.Plan.LengthUsed = 0
	for i, l := range planned.Plan.Lays {
		l.PlyLength = l.Marker.Length
		bare.Plan.Lays[i] = l
		bare.Plan.LengthUsed += l.PlyLength * length.Length(l.Plies)
	}
	return usedBy(bare)
}

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

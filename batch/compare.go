package batch

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// ClothSide is what a batch takes if the pieces in question are cut from one of two cloths.
type ClothSide struct {
	Cloth Cloth
	// Totals are what these pieces take, beside what other pieces of the batch take of the same
	// cloth anyway; Uncut counts all garments of the batch.
	Totals
	// OnShelf is how much of the cloth is on the shelf and not taken by those other pieces.
	OnShelf length.Length
}

// ClothChoice is a batch planned with one cloth and with another in its place.
type ClothChoice struct {
	Now, Then ClothSide
	// Garments is how many garments are cut from the cloth in question.
	Garments int
}

// CompareCloths plans a batch twice: as it is, and with the cloth `to` in the place of `from`
// in every colourway of the batch. Both plans take what is on the shelf first and have the same
// budget of params. The error is *InputError at "from" or "to", or the context's.
func CompareCloths(ctx context.Context, in Input, from, to int64, params Params) (ClothChoice, error) {
	params.Progress, params.Keep, params.Only = nil, nil, nil
	try := &trier{params: params, known: map[[sha256.Size]byte]lay.Plan{}}
	var choice ClothChoice
	var ok bool
	if choice.Now.Cloth, ok = in.cloth(from); !ok {
		return choice, &InputError{"from", "choose a cloth that the batch is cut from"}
	}
	if choice.Then.Cloth, ok = in.cloth(to); !ok || from == to {
		return choice, &InputError{"to", "choose another cloth to compare it with"}
	}
	choice.Now.OnShelf, choice.Then.OnShelf = in.onShelf(from), in.onShelf(to)
	if !choice.Then.Cloth.CanBuy && choice.Then.OnShelf == 0 {
		return choice, &InputError{"to", fmt.Sprintf("there is no %s on the shelf, and it is not to be bought", choice.Then.Cloth.Name)}
	}
	now, err := try.plan(ctx, in, []int64{from, to})
	if err != nil {
		return choice, err
	}
	for i := range now.plan.Garments {
		if len(now.pieces[pieceKey{i, from}]) > 0 {
			choice.Garments += now.plan.Garments[i].Wanted
		}
	}
	if choice.Garments == 0 {
		return choice, &InputError{"from", fmt.Sprintf("nothing of this batch is cut from %s", choice.Now.Cloth.Name)}
	}
	then, err := try.plan(ctx, in.withCloth(from, to), []int64{from, to})
	if err != nil {
		return choice, err
	}
	others := now.totals(to)
	choice.Now.Totals, choice.Then.Totals = now.totals(from), then.totals(to).without(others)
	choice.Then.OnShelf = max(0, choice.Then.OnShelf-(others.Length-others.Bought))
	return choice, nil
}

// withCloth is the input with a cloth in the place of another.
func (in Input) withCloth(from, to int64) Input {
	in.Colourways = slices.Clone(in.Colourways)
	for i := range in.Colourways {
		cloths := map[garment.Role]int64{}
		for role, cloth := range in.Colourways[i].Cloths {
			if cloth == from {
				cloth = to
			}
			cloths[role] = cloth
		}
		in.Colourways[i].Cloths = cloths
	}
	return in
}

func (in Input) onShelf(cloth int64) length.Length {
	var total length.Length
	for _, bolt := range in.Bolts {
		if bolt.Cloth == cloth {
			total += bolt.Length
		}
	}
	return total
}

package batch

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"yardwright/batch/garment"
	"yardwright/batch/lay"
	"yardwright/batch/length"
)

// Fit is what less fullness of a style would save in a batch, because one more of its gathered
// panels then lies across the cloth.
type Fit struct {
	Style   string
	StyleID int64
	// Allowance is the number allowance of the style that is the fullness, Label what people
	// read, Fullness its value now in thousandths.
	Allowance, Label string
	Fullness         int64
	// Garments is how many of the style the batch cuts.
	Garments int
	Panels   []PanelFit
	// Options are the nearest values at which one more of some panel fits, the fullest first.
	Options []FitOption
}

// PanelFit is one gathered panel in one size on one cloth.
type PanelFit struct {
	// Piece and Size name it; Garments is how many garments of this size and cloth there are.
	Piece, Size, Cloth string
	Garments           int
	// Width is its cut size across, Usable the width of the cloth, Across how many lie side by
	// side.
	Width, Usable length.Length
	Across        int
	// Next is the greatest fullness in thousandths at which Across+1 fit; 0 if none down to 1,
	// below which the panel would no longer go round.
	Next int64
}

// FitOption is what the batch takes at another fullness. Both plans are made quickly and in the
// same way; what they save is their difference. Only cloth and cutting are counted.
type FitOption struct {
	// Fullness in thousandths.
	Fullness int64
	// OneMore says in words of which panels one more fits.
	OneMore []string
	// Now and Then are the totals of the cloths that the style is cut from.
	Now, Then Totals
}

// Saves is the money for cloth and cutting that the option saves; below zero if it costs more.
func (o FitOption) Saves() lay.Money { return o.Now.Cost() - o.Then.Cost() }

// SavesCloth is the cloth that the option saves.
func (o FitOption) SavesCloth() length.Length { return o.Now.Length - o.Then.Length }

// How many values of fullness are tried for a style, in batches of up to so many garments; the
// nearest one in larger batches, none in those that are larger still.
const (
	mostFitOptions = 3
	manyGarments   = 400
	mostGarments   = 2000
)

// fits finds, for every gathered panel, the next fullness at which one more fits across, and
// plans the batch with it.
func (p *planner) fits(ctx context.Context, try *trier) ([]Fit, error) {
	var fits []Fit
	for _, style := range p.in.Styles {
		for _, allowance := range style.Allowances {
			fit, err := p.fitOf(style, allowance)
			if err != nil {
				return nil, err
			}
			if len(fit.Panels) == 0 {
				continue
			}
			if err := p.tryFit(ctx, try, style, &fit); err != nil {
				return nil, err
			}
			fits = append(fits, fit)
		}
	}
	return fits, nil
}

// fitOf lists the panels of a style that an allowance gathers.
func (p *planner) fitOf(style Style, allowance garment.Allowance) (Fit, error) {
	fit := Fit{Style: style.Name, StyleID: style.ID, Allowance: allowance.Name, Label: allowance.Label, Fullness: allowance.Thousandths}
	gathers := slices.ContainsFunc(style.Pieces, func(piece garment.Piece) bool { return piece.Gathered == allowance.Name })
	if allowance.Kind != garment.NumberAllowance || !gathers {
		return fit, nil
	}
	for _, g := range p.plan.Garments {
		colourway, of := p.styleOf(g)
		if of.ID != style.ID || g.Quantity == 0 {
			continue
		}
		fit.Garments += g.Quantity
		for _, piece := range style.Pieces {
			cloth, ok := p.in.cloth(colourway.Cloths[piece.Role])
			if piece.Gathered != allowance.Name || !ok {
				continue
			}
			panel, err := p.panelFit(style, allowance, piece, g, cloth)
			if err != nil {
				return fit, err
			}
			fit.add(panel)
		}
	}
	return fit, nil
}

// add counts a panel; the same size of another colourway on the same cloth is the same panel.
func (f *Fit) add(panel PanelFit) {
	if panel.Across == 0 {
		return
	}
	at := slices.IndexFunc(f.Panels, func(o PanelFit) bool {
		return o.Piece == panel.Piece && o.Size == panel.Size && o.Cloth == panel.Cloth
	})
	if at >= 0 {
		f.Panels[at].Garments += panel.Garments
		return
	}
	f.Panels = append(f.Panels, panel)
}

// fitStep is the step of fullness that is looked at: a hundredth.
const fitStep = 10

// panelFit looks for the next fullness of one panel; Across is 0 if the panel may lie across the
// cloth either way, so that its width decides nothing.
func (p *planner) panelFit(style Style, allowance garment.Allowance, piece garment.Piece, g Garment, cloth Cloth) (PanelFit, error) {
	panel := PanelFit{Piece: piece.Name, Size: g.Size, Cloth: cloth.Name, Garments: g.Quantity, Usable: p.widest(cloth)}
	for _, turn := range Turns(piece.Grain, cloth.Nap, cloth.Directional) {
		if turn%180 != 0 {
			return panel, nil
		}
	}
	width := func(fullness int64) (length.Length, error) {
		return p.panelWidth(style, allowance.Name, fullness, piece.Name, g.Size, cloth)
	}
	across := func(w length.Length) int { return acrossOf(panel.Usable, w, p.in.Workroom) }
	var err error
	if panel.Width, err = width(allowance.Thousandths); err != nil {
		return panel, err
	}
	if panel.Across = across(panel.Width); panel.Across == 0 {
		return panel, nil
	}
	// A panel grows with its fullness, so that the greatest that fits is found by halving.
	low, high := int64(1000/fitStep)-1, (allowance.Thousandths-1)/fitStep
	for low < high {
		middle := (low + high + 1) / 2
		w, err := width(middle * fitStep)
		if err != nil {
			return panel, err
		}
		if across(w) > panel.Across {
			low = middle
		} else {
			high = middle - 1
		}
	}
	if low >= 1000/fitStep {
		panel.Next = low * fitStep
	}
	return panel, nil
}

// acrossOf is how many pieces of a width lie side by side.
func acrossOf(usable, width length.Length, room Workroom) int {
	if width <= 0 {
		return 0
	}
	layers := 1
	if room.Spread == lay.FoldedLengthwise {
		usable, layers = usable/2, 2
	}
	return layers * int((usable+room.Gap)/(width+room.Gap))
}

// panelWidth is the cut width of a piece at another fullness, with shrinkage.
func (p *planner) panelWidth(style Style, allowance string, fullness int64, piece, size string, cloth Cloth) (length.Length, error) {
	graded, err := withFullness(style, allowance, fullness).Grade(style.Chart, size)
	if err != nil {
		return 0, fmt.Errorf("%s at another fullness: %w", style.Name, err)
	}
	for _, cut := range graded.Pieces {
		if cut.Name == piece {
			shrunk, err := cloth.shrinkage().Shrink(cut, p.in.Workroom.CutStep)
			return shrunk.Width, err
		}
	}
	return 0, nil
}

// withFullness is a style with another value of an allowance.
func withFullness(style Style, allowance string, fullness int64) Style {
	style.Allowances = slices.Clone(style.Allowances)
	for i := range style.Allowances {
		if style.Allowances[i].Name == allowance {
			style.Allowances[i].Thousandths = fullness
		}
	}
	return style
}

// tryFit plans the batch with the nearest values of fullness.
func (p *planner) tryFit(ctx context.Context, try *trier, style Style, fit *Fit) error {
	most := mostFitOptions
	switch count := p.in.garments(); {
	case count > mostGarments:
		return nil
	case count > manyGarments:
		most = 1
	}
	var values []int64
	for _, panel := range fit.Panels {
		if panel.Next > 0 && !slices.Contains(values, panel.Next) {
			values = append(values, panel.Next)
		}
	}
	slices.Sort(values)
	slices.Reverse(values)
	for _, value := range values[:min(most, len(values))] {
		option, err := p.tryFullness(ctx, try, style, fit, value)
		if err != nil {
			return err
		}
		fit.Options = append(fit.Options, option)
	}
	return nil
}

func (p *planner) tryFullness(ctx context.Context, try *trier, style Style, fit *Fit, value int64) (FitOption, error) {
	option := FitOption{Fullness: value}
	for _, panel := range fit.Panels {
		if panel.Next >= value {
			option.OneMore = append(option.OneMore, fmt.Sprintf("%s %s on %s: %d across instead of %d", panel.Piece, panel.Size, panel.Cloth, panel.Across+1, panel.Across))
		}
	}
	cloths := p.clothsOf(style)
	now, err := try.plan(ctx, p.in, cloths)
	if err != nil {
		return option, err
	}
	changed := p.in
	changed.Styles = slices.Clone(p.in.Styles)
	for i := range changed.Styles {
		if changed.Styles[i].ID == style.ID {
			changed.Styles[i] = withFullness(style, fit.Allowance, value)
		}
	}
	then, err := try.plan(ctx, changed, cloths)
	if err != nil {
		return option, err
	}
	option.Now, option.Then = now.totals(cloths...), then.totals(cloths...)
	return option, nil
}

// clothsOf lists the cloths that the batch cuts a style from.
func (p *planner) clothsOf(style Style) []int64 {
	var cloths []int64
	for _, g := range p.plan.Garments {
		if colourway, of := p.styleOf(g); of.ID == style.ID {
			for _, cloth := range colourway.Cloths {
				cloths = append(cloths, cloth)
			}
		}
	}
	slices.Sort(cloths)
	return slices.Compact(cloths)
}

// choices adds what other choices would save. It is left out where there is no time for it any
// more: a batch that was stopped is planned all the same.
func (p *planner) choices(ctx context.Context) error {
	if ctx.Err() != nil {
		return nil
	}
	try := newTrier(p.params)
	fits, err := p.fits(ctx, try)
	if err == nil {
		p.plan.Fits = fits
		err = p.otherWidths(ctx, try)
	}
	if err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return nil
	}
	return err
}

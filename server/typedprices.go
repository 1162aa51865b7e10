package server

import (
	"fmt"
	"net/http"
	"strings"

	"yardwright/costing"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// saveTypedPrices keeps the maker's own prices of a colourway, and those of every colourway of its
// style. An empty box asks for what is worked out.
func (s *Server) saveTypedPrices(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	before, err := s.service.PriceStyle(r.Context(), s.workshop, number, costing.Change{})
	if err != nil {
		return err
	}
	typed, fields := readTyped(f, before)
	if f.OK() {
		err := s.service.SaveTypedPrices(r.Context(), s.workshop, number, f.Text("version"), typed)
		if err == nil {
			return s.typedSaved(w, r, before)
		}
		if err := saySo(f, atBoxes(err, fields)); err != nil {
			return err
		}
	}
	return s.pricePage(w, r, number, f)
}

// typedSaved leads back to the prices and offers to take back what was typed before.
func (s *Server) typedSaved(w http.ResponseWriter, r *http.Request, before workshop.StylePrices) error {
	now, err := s.service.PriceStyle(r.Context(), s.workshop, before.Colourway.ID, costing.Change{})
	if err != nil {
		return err
	}
	fields := []string{"version", store.ContentVersion(now.Typed)}
	for _, p := range before.Typed {
		fields = append(fields, page.TypedField(p.ColourwayID == nil, p.Size, p.ChannelID), p.Price.String())
	}
	place := fmt.Sprintf("/prices/%d", before.Colourway.ID)
	return s.doneUndo(w, r, place, "typed_prices", place+"/typed", fields...)
}

// readTyped reads the boxes of typed prices; fields are theirs, in the same order.
func readTyped(f *form.Form, prices workshop.StylePrices) (typed []store.TypedPrice, fields []string) {
	own := &prices.Colourway.ID
	for _, scope := range []*int64{nil, own} {
		for _, size := range append([]string{""}, prices.Sizes...) {
			for _, channel := range prices.Channels {
				field := page.TypedField(scope == nil, size, channel.ID)
				if f.Text(field) == "" {
					continue
				}
				typed = append(typed, store.TypedPrice{StyleID: prices.Style.ID, ChannelID: channel.ID, ColourwayID: scope, Size: size, Price: f.Coins(field)})
				fields = append(fields, field)
			}
		}
	}
	return typed, fields
}

// typedScopes are the boxes of typed prices: for this colourway, and for all of its style.
func typedScopes(base page.Base, prices workshop.StylePrices) []page.TypedScope {
	scopes := []page.TypedScope{{Name: "Only " + prices.Colourway.Name}, {Name: "Every colourway of " + prices.Style.Name, Every: true}}
	for s := range scopes {
		scope := &scopes[s]
		for at, size := range append([]string{""}, prices.Sizes...) {
			row := page.TypedRow{Size: size}
			for c, channel := range prices.Channels {
				box := page.TypedBox{Field: page.TypedField(scope.Every, size, channel.ID), Channel: channel.Settings.Name, Worked: workedOut(base, prices, c, at-1)}
				stored := ""
				box.Label = strings.Join([]string{scope.Name, sizeWords(size), channel.Settings.Name}, ", ")
				for _, p := range prices.Typed {
					if (p.ColourwayID == nil) == scope.Every && p.Size == size && p.ChannelID == channel.ID {
						stored = base.InCoins(p.Price)
					}
				}
				box.Value, box.Wrong = base.Typed(box.Field, stored), base.Wrong(box.Field)
				scope.Any = scope.Any || box.Value != ""
				row.Boxes = append(row.Boxes, box)
			}
			scope.Rows = append(scope.Rows, row)
		}
	}
	return scopes
}

func sizeWords(size string) string {
	if size == "" {
		return "all sizes"
	}
	return "size " + size
}

// workedOut is what would be asked of a size without a typed price; of all sizes from the least to
// the most if it is −1.
func workedOut(base page.Base, prices workshop.StylePrices, channel, size int) string {
	var span page.Span
	first := true
	for i := range prices.Sizes {
		if size >= 0 && i != size {
			continue
		}
		asked := prices.Asked[i][channel]
		if asked.IsTyped() {
			asked.Price = asked.Worked
		}
		widen(&span, asked.Price, first)
		first = false
	}
	return base.Span(span)
}

package server

import (
	"net/http"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// saveTypedPrices keeps the maker's own prices of a colourway, and those of every colourway of its
// style. An empty box asks for what is worked out.
func (s *Server) saveTypedPrices(r *http.Request, f *form.Form, view *page.Price) (saved, error) {
	typed, fields := readTyped(f, view.Prices)
	if !f.OK() {
		return saved{}, nil
	}
	err := s.service.SaveTypedPrices(r.Context(), s.workshop, view.Prices.Colourway.ID, f.Text("version"), typed)
	return saved{view.Place(), "typed_prices"}, atBoxes(err, fields)
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

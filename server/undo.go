package server

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"yardwright/batch"
	"yardwright/costing/money"
	"yardwright/server/page"
	"yardwright/server/store"
)

// What is changed by a form is taken back by sending the form once more, with what it held
// before. The lists below are those forms as they are typed, in pairs of a field and its value.

// ticked is a box of a form; one that isn't ticked is not sent.
func ticked(field string, on bool) []string {
	if !on {
		return nil
	}
	return []string{field, "yes"}
}

// percent writes a share of one as it is typed.
func percent(share money.Decimal) string {
	if share.IsZero() {
		return ""
	}
	return money.Fraction(share).Percent().String()
}

// asTyped is the form of a cloth.
func asTyped(base page.Base, c store.Cloth, version int) []string {
	return slices.Concat([]string{
		"version", strconv.Itoa(version), "name", c.Name, "content", c.Content, "design", c.Design,
		"full_width", base.Input(c.FullWidth), "selvage", base.Input(c.Selvage), "price", c.Price.String(), "price_unit", c.PriceUnit,
		"discount", percent(c.Discount), "tax", percent(c.Tax), "wastage", percent(c.Wastage), "freight", c.Freight.String(), "freight_length", base.LongInput(c.FreightLength),
		"shrink_length", c.ShrinkLength.String(), "shrink_width", c.ShrinkWidth.String(), "nap", string(c.Nap),
		"repeat_length", base.Input(c.RepeatLength), "repeat_width", base.Input(c.RepeatWidth), "thickness", string(c.Thickness), "care", c.Care,
	}, ticked("pre_washed", c.PreWashed), ticked("can_buy", c.CanBuy))
}

// boltAsTyped is the form of a bolt; its history says why the length goes back.
func boltAsTyped(view page.BoltEdit, version int) []string {
	b := view.Bolt
	return slices.Concat([]string{
		"version", strconv.Itoa(version), "name", b.Name, "lot", b.Lot, "length", view.LongInput(b.Length), "full_width", view.WidthInput(),
		"price", view.PriceInput(), "place", b.Place, "reason", "taken back",
	}, ticked("remnant", b.Remnant), faultsAsTyped(view))
}

// faultsAsTyped are the rows of the faults of a bolt.
func faultsAsTyped(view page.BoltEdit) []string {
	var typed []string
	for row, fault := range view.Faults {
		typed = append(typed, page.FaultField(row, "from"), view.AlongInput(fault.FromLength), page.FaultField(row, "to"), view.AlongInput(fault.ToLength),
			page.FaultField(row, "left"), view.Input(fault.FromWidth), page.FaultField(row, "right"), view.Input(fault.ToWidth), page.FaultField(row, "note"), fault.Note)
	}
	return typed
}

// notionAsTyped is the form of a notion.
func notionAsTyped(view page.NotionEdit, version int) []string {
	n := view.Notion
	typed := []string{
		"version", strconv.Itoa(version), "name", n.Name, "kind", string(n.Kind), "buy_price", n.BuyPrice.String(), "in_stock", strconv.Itoa(n.InStock),
		"discount", percent(n.Discount), "tax", percent(n.Tax), "wastage", percent(n.Wastage), "freight", n.Freight.String(),
	}
	if n.Kind == batch.ByCount {
		typed = append(typed, "buy_count", strconv.Itoa(n.BuyCount))
	} else {
		typed = append(typed, "buy_length", view.LongInput(n.BuyLength), "rolls", view.RollsInput())
	}
	return slices.Concat(typed, ticked("packing", n.Packing))
}

// colourwayAsTyped is the form of a colourway.
func colourwayAsTyped(way store.Colourway, version int) []string {
	typed := []string{"version", strconv.Itoa(version), "name", way.Name}
	for role, cloth := range way.Cloths {
		typed = append(typed, "cloth."+string(role), strconv.FormatInt(cloth, 10))
	}
	for need, notion := range way.Notions {
		typed = append(typed, "notion."+need, strconv.FormatInt(notion, 10))
	}
	return typed
}

// removeColourway removes a colourway that no order asks for.
func (s *Server) removeColourway(w http.ResponseWriter, r *http.Request) error {
	style, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	view, err := s.colourwayForm(r, page.Base{})
	if err != nil {
		return err
	}
	if err := s.service.RemoveColourway(r.Context(), s.workshop, view.Colourway.ID); err != nil {
		problems, err := problemsOf(f, err)
		if err != nil {
			return err
		}
		view.Problems = problems
		return s.refuse(w, r, view)
	}
	place := fmt.Sprintf("/styles/%d", style)
	return s.doneUndo(w, r, place, "colourway_gone", place+"/colourways", colourwayAsTyped(view.Colourway, 0)...)
}

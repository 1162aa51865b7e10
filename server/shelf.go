package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) shelfRoutes(r chi.Router) {
	r.Get("/shelf", s.handle(s.showShelf))
	editsOf(s, r, "/shelf/cloths", "{id}", editing[*page.ClothEdit]{s.clothForm, (*page.ClothEdit).Form, s.saveCloth})
	editsOf(s, r, "/shelf/bolts", "{id}", editing[*page.BoltEdit]{s.boltForm, (*page.BoltEdit).Form, s.saveBolt})
	editsOf(s, r, "/shelf/notions", "{id}", editing[*page.NotionEdit]{s.notionForm, (*page.NotionEdit).Form, s.saveNotion})
	s.putAwayRoutes(r)
}

// usedUpShown is how many bolts without cloth the shelf still names, for their history.
const usedUpShown = 200

func (s *Server) showShelf(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "Shelf", "shelf")
	if err != nil {
		return err
	}
	view := page.Shelf{Base: base}
	cloths, err := s.service.Cloths(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	bolts, err := s.service.Bolts(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	gone, err := s.service.UsedUp(r.Context(), s.workshop, usedUpShown)
	if err != nil {
		return err
	}
	for _, cloth := range cloths {
		row := page.ClothRow{Cloth: cloth}
		for _, bolt := range gone {
			if bolt.ClothID == cloth.ID {
				row.UsedUp = append(row.UsedUp, bolt)
			}
		}
		for _, bolt := range bolts {
			if bolt.ClothID == cloth.ID {
				row.Bolts = append(row.Bolts, bolt)
			}
		}
		// What lies on the shelf is shown, whatever was put away before it came there.
		if cloth.PutAway && len(row.Bolts) == 0 {
			view.ClothsAway = append(view.ClothsAway, row)
			continue
		}
		view.Cloths = append(view.Cloths, row)
	}
	notions, err := s.service.Notions(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	for _, notion := range notions {
		if notion.PutAway {
			view.NotionsAway = append(view.NotionsAway, notion)
			continue
		}
		view.Notions = append(view.Notions, notion)
	}
	return s.show(w, r, view)
}

// clothForm fills the form for the cloth in the path, or for a new one.
func (s *Server) clothForm(r *http.Request) (*page.ClothEdit, error) {
	view := &page.ClothEdit{Designs: workshop.Designs, Cloth: store.Cloth{Design: "solid", PriceUnit: "yd", Nap: batch.NapEitherWay, Thickness: batch.Thin, CanBuy: true}}
	title := "Add a cloth"
	if chi.URLParam(r, "id") != "" {
		number, err := id(r, "id")
		if err != nil {
			return view, err
		}
		if view.Cloth, err = s.service.Cloth(r.Context(), s.workshop, number); err != nil {
			return view, err
		}
		title = view.Cloth.Name
	}
	var err error
	if view.Base, err = s.base(r, title, "shelf"); err != nil {
		return view, err
	}
	if view.Landed, err = workshop.Landed(view.Cloth, view.Currency); err != nil {
		return view, err
	}
	if view.Cloth.ID == 0 && view.Units.System == length.Metric {
		view.Cloth.PriceUnit = "m"
	}
	return view, err
}

func (s *Server) saveCloth(r *http.Request, f *form.Form, view *page.ClothEdit) (saved, error) {
	cloth := readCloth(f, view.Units)
	cloth.ID = view.Cloth.ID
	if !f.OK() {
		return saved{}, nil
	}
	if cloth.ID != 0 {
		return saved{"/shelf", "cloth"}, s.service.SaveCloth(r.Context(), s.workshop, cloth)
	}
	_, err := s.service.AddCloth(r.Context(), s.workshop, cloth)
	return saved{"/shelf", "cloth"}, err
}

// share reads a percentage as a share of one.
func share(f *form.Form, field string) money.Decimal {
	return money.Percent(f.Decimal(field)).Fraction()
}

func readCloth(f *form.Form, write length.Style) store.Cloth {
	unit := write.System.Small()
	return store.Cloth{
		Version: f.Int("version", 0, 1<<30), Name: f.Needed("name", "Write a name."), Content: f.Line("content"), Design: f.Choice("design", workshop.Designs...),
		FullWidth: f.LengthNeededIn("full_width", unit, batch.ClothWidths, write), Selvage: f.LengthIn("selvage", unit, batch.Selvages, write), Price: f.Money("price"), PriceUnit: f.Choice("price_unit", "yd", "m"),
		Discount: share(f, "discount"), Tax: share(f, "tax"), Wastage: share(f, "wastage"), Freight: f.Money("freight"),
		FreightLength: f.LengthIn("freight_length", write.System.Long(), batch.RollLengths, write),
		ShrinkLength:  f.Decimal("shrink_length"), ShrinkWidth: f.Decimal("shrink_width"), PreWashed: f.Bool("pre_washed"),
		Nap:          batch.Nap(f.Choice("nap", string(batch.NapEitherWay), string(batch.NapOneWay), string(batch.NapUpAndDown))),
		RepeatLength: f.LengthIn("repeat_length", unit, batch.Repeats, write), RepeatWidth: f.LengthIn("repeat_width", unit, batch.Repeats, write),
		Thickness: batch.Thickness(f.Choice("thickness", string(batch.Thin), string(batch.Medium), string(batch.Thick))), Care: f.Line("care"), CanBuy: f.Bool("can_buy"),
	}
}

// boltForm fills the form for the bolt in the path, or for a new one.
func (s *Server) boltForm(r *http.Request) (*page.BoltEdit, error) {
	view := &page.BoltEdit{}
	title := "Receive a bolt"
	if chi.URLParam(r, "id") != "" {
		number, err := id(r, "id")
		if err != nil {
			return view, err
		}
		if view.Bolt, err = s.service.Bolt(r.Context(), s.workshop, number); err != nil {
			return view, err
		}
		if view.Moves, err = s.service.BoltMoves(r.Context(), s.workshop, number); err != nil {
			return view, err
		}
		if view.Holds, err = s.service.BoltHolds(r.Context(), s.workshop, []int64{number}); err != nil {
			return view, err
		}
		if view.Faults, err = s.service.FaultsOf(r.Context(), s.workshop, number); err != nil {
			return view, err
		}
		title = "Bolt " + view.Bolt.Name
	}
	var err error
	if view.Base, err = s.base(r, title, "shelf"); err != nil {
		return view, err
	}
	cloths, err := s.service.Cloths(r.Context(), s.workshop)
	for _, cloth := range cloths {
		if !cloth.PutAway || cloth.ID == view.Bolt.ClothID {
			view.Cloths = append(view.Cloths, cloth)
		}
	}
	return view, err
}

func (s *Server) saveBolt(r *http.Request, f *form.Form, view *page.BoltEdit) (saved, error) {
	bolt := readBolt(f, view)
	if !f.OK() {
		return saved{}, nil
	}
	if bolt.ID != 0 {
		return saved{"/shelf", "bolt"}, s.service.SaveBolt(r.Context(), s.workshop, bolt)
	}
	_, settled, err := s.service.Bought(r.Context(), s.workshop, bolt, bolt.Faults)
	if len(settled) > 0 {
		s.say(r, page.Arrived(view.Base, "It", bolt.Length, settled))
	}
	return saved{"/shelf", "bolt"}, err
}

func readBolt(f *form.Form, view *page.BoltEdit) store.Bolt {
	bolt := store.Bolt{
		ID: view.Bolt.ID, ClothID: view.Bolt.ClothID, Version: f.Int("version", 0, 1<<30), Name: f.Needed("name", "Write a name or number for the bolt."),
		Lot: f.Name("lot"), Place: f.Name("place"), Remnant: f.Bool("remnant"),
	}
	if bolt.ID == 0 {
		if bolt.ClothID = f.ID("cloth"); bolt.ClothID == 0 {
			f.Wrong("cloth", "Choose a cloth.")
		}
		bolt.Length = f.LengthNeededIn("length", view.Units.System.Long(), batch.BoltLengths, view.Units)
	} else {
		if f.Text("length") == "" {
			f.Wrong("length", "Write the length that is on it; 0 if it is used up.")
		}
		bolt.Length, bolt.Reason = f.LengthIn("length", view.Units.System.Long(), batch.BoltLengths, view.Units), f.Line("reason")
	}
	if f.Text("full_width") != "" {
		width := f.LengthNeededIn("full_width", view.Units.System.Small(), batch.ClothWidths, view.Units)
		bolt.FullWidth = &width
	}
	if f.Text("price") != "" {
		price := f.Money("price")
		bolt.Price = &price
	}
	bolt.Faults = readFaults(f, view, bolt)
	return bolt
}

// usableWidth is how wide a bolt can be used; 0 where that isn't known, since its cloth isn't chosen.
func usableWidth(view *page.BoltEdit, bolt store.Bolt) length.Length {
	for _, cloth := range view.Cloths {
		if cloth.ID != bolt.ClothID {
			continue
		}
		if bolt.FullWidth != nil {
			return *bolt.FullWidth - 2*cloth.Selvage
		}
		return cloth.FullWidth - 2*cloth.Selvage
	}
	return 0
}

// readFaults reads the damaged places of a bolt; rows with nothing in them are left out.
func readFaults(f *form.Form, view *page.BoltEdit, bolt store.Bolt) []store.BoltFault {
	faults := []store.BoltFault{}
	long, small, width := view.Units.System.Long(), view.Units.System.Small(), usableWidth(view, bolt)
	for _, row := range filledRows(f, "fault", page.MostFaults, "from", "to", "left", "right", "note") {
		field := func(part string) string { return page.FaultField(row, part) }
		fault := store.BoltFault{
			BoltID: bolt.ID, FromLength: f.LengthIn(field("from"), long, batch.BoltLengths, view.Units), ToLength: f.LengthIn(field("to"), long, batch.BoltLengths, view.Units),
			FromWidth: f.LengthIn(field("left"), small, length.Between{Most: batch.ClothWidths.Most}, view.Units), ToWidth: width, Note: f.Line(field("note")),
		}
		if f.Text(field("right")) != "" {
			fault.ToWidth = f.LengthIn(field("right"), small, batch.ClothWidths, view.Units)
		}
		faults = append(faults, fault)
		along := !f.WrongAt(field("from")) && !f.WrongAt(field("to"))
		across := !f.WrongAt(field("left")) && !f.WrongAt(field("right")) && width > 0
		switch {
		case along && f.Text(field("to")) == "":
			f.Wrong(field("to"), "Write where the fault ends along the bolt.")
		case along && fault.ToLength <= fault.FromLength:
			f.Wrong(field("to"), "The fault must end after it begins.")
		case along && !f.WrongAt("length") && bolt.Length > 0 && bolt.Length >= view.Bolt.Length && fault.FromLength >= bolt.Length: // a bolt that is shorter now may have lost its faults
			f.Wrong(field("from"), "The bolt ends before this: "+view.ClothDown(bolt.Length)+" are on it.")
		}
		switch {
		case across && fault.ToWidth > width:
			f.Wrong(field("right"), "The usable width is "+view.PieceBoth(width)+".")
		case across && fault.ToWidth <= fault.FromWidth:
			f.Wrong(field("left"), "The fault must begin left of where it ends; the usable width is "+view.PieceBoth(width)+".")
		}
	}
	return faults
}

var notionKinds = []batch.NotionKind{batch.FromRoll, batch.ByLength, batch.ByCount}

// notionForm fills the form for the notion in the path, or for a new one.
func (s *Server) notionForm(r *http.Request) (*page.NotionEdit, error) {
	view := &page.NotionEdit{Kinds: notionKinds, Notion: store.Notion{Kind: batch.FromRoll, BuyCount: 1}}
	title := "Add a notion"
	if chi.URLParam(r, "id") != "" {
		number, err := id(r, "id")
		if err != nil {
			return view, err
		}
		notions, err := s.service.Notions(r.Context(), s.workshop)
		if err != nil {
			return view, err
		}
		view.Notion = store.Notion{}
		for _, n := range notions {
			if n.ID == number {
				view.Notion = n
			}
		}
		if view.Notion.ID == 0 {
			return view, notFound("notion")
		}
		title = view.Notion.Name
	}
	var err error
	if view.Base, err = s.base(r, title, "shelf"); err != nil {
		return view, err
	}
	if view.Notion.ID == 0 {
		err = s.forStyle(r, view)
	}
	return view, err
}

// forStyle begins a notion that a style takes, when its colourway is being made.
func (s *Server) forStyle(r *http.Request, view *page.NotionEdit) error {
	number, err := strconv.ParseInt(r.URL.Query().Get("style"), 10, 64)
	if err != nil {
		return nil
	}
	style, err := s.service.Style(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	view.ForStyle = style.ID
	for _, need := range style.Notions {
		if need.Notion != r.URL.Query().Get("need") {
			continue
		}
		view.Notion.Name = need.Notion
		switch {
		case need.Length == "":
			view.Notion.Kind = batch.ByCount
		case need.Notion == workshop.ThreadNeed:
			view.Notion.Kind = batch.ByLength
		}
	}
	return nil
}

func (s *Server) saveNotion(r *http.Request, f *form.Form, view *page.NotionEdit) (saved, error) {
	notion := readNotion(f, view)
	if !f.OK() {
		return saved{}, nil
	}
	if notion.ID != 0 {
		return saved{"/shelf", "notion"}, s.service.SaveNotion(r.Context(), s.workshop, notion)
	}
	to := saved{"/shelf", "notion"}
	if style := f.ID("style"); style != 0 {
		to.place = fmt.Sprintf("/styles/%d/colourways/new", style)
	}
	_, err := s.service.AddNotion(r.Context(), s.workshop, notion)
	return to, err
}

func readNotion(f *form.Form, view *page.NotionEdit) store.Notion {
	unit := view.Units.System.Long()
	n := store.Notion{
		ID: view.Notion.ID, Version: f.Int("version", 0, 1<<30), Name: f.Needed("name", "Write a name."), Packing: f.Bool("packing"),
		Kind:     batch.NotionKind(f.Choice("kind", string(batch.FromRoll), string(batch.ByLength), string(batch.ByCount))),
		BuyPrice: f.Money("buy_price"), InStock: f.Int("in_stock", 0, 1_000_000), BuyCount: 1,
		Discount: share(f, "discount"), Tax: share(f, "tax"), Wastage: share(f, "wastage"), Freight: f.Money("freight"),
	}
	if n.Kind == batch.ByCount {
		n.BuyCount = f.Int("buy_count", 1, 1_000_000)
		return n
	}
	if f.Text("buy_count") != "" { // not needed for what has a length, but nothing typed is passed over
		f.Int("buy_count", 1, 1_000_000)
	}
	n.BuyLength = f.LengthNeededIn("buy_length", unit, batch.RollLengths, view.Units)
	n.Rolls = readRolls(f, view.Units)
	return n
}

// readRolls reads rolls in stock, one kind a line: 2 x 25 yd, or just 25 yd.
func readRolls(f *form.Form, write length.Style) []batch.Roll {
	unit := write.System.Long()
	var rolls []batch.Roll
	for _, line := range strings.Split(f.Raw("rolls"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		count := 1
		if before, after, found := strings.Cut(strings.ReplaceAll(line, "×", "x"), "x"); found {
			number, err := strconv.Atoi(strings.TrimSpace(before))
			if err != nil || number < 1 || number > 100_000 {
				f.Wrong("rolls", fmt.Sprintf("%q is not understood; write a line like 2 x 25 %s.", line, unit.Symbol))
				continue
			}
			count, line = number, after
		}
		value, err := length.Parse(line, unit)
		if err != nil || value <= 0 {
			f.Wrong("rolls", fmt.Sprintf("%q is not a length; write a line like 2 x 25 %s.", strings.TrimSpace(line), unit.Symbol))
			continue
		}
		if !batch.RollLengths.Has(value) {
			f.Wrong("rolls", fmt.Sprintf("%q: a roll has %s.", strings.TrimSpace(line), batch.RollLengths.Words(write)))
			continue
		}
		rolls = append(rolls, batch.Roll{Length: value, Count: count})
	}
	return rolls
}

package server

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) shoppingRoutes(r chi.Router) {
	r.Get("/shopping", s.handle(s.showShopping))
	r.Post("/shopping/cloths/{id}", s.handle(s.boughtCloth))
	r.Post("/shopping/bolts/{id}/undo", s.handle(s.unboughtCloth))
	r.Post("/shopping/notions/{id}", s.handle(s.boughtNotion))
	r.Post("/shopping/notions/{id}/undo", s.handle(s.unboughtNotion))
}

func (s *Server) shoppingView(r *http.Request) (page.Shopping, error) {
	view := page.Shopping{}
	var err error
	if view.Base, err = s.base(r, "Shopping list", "shelf"); err != nil {
		return view, err
	}
	view.ToBuy, err = s.service.ShoppingList(r.Context(), s.workshop, 0)
	return view, err
}

func (s *Server) showShopping(w http.ResponseWriter, r *http.Request) error {
	view, err := s.shoppingView(r)
	if err != nil {
		return err
	}
	return s.show(w, r, view)
}

// bought answers a form of the shopping list: back to the batch that it was sent from, or to the
// list; what is refused comes back on the list.
func (s *Server) bought(w http.ResponseWriter, r *http.Request, f *form.Form, what string, refused error) error {
	if refused == nil && f.OK() {
		if back := f.ID("back"); back != 0 {
			return doneAt(w, r, back, what, page.PartShopping)
		}
		return done(w, r, "/shopping", what)
	}
	problems, err := problemsOf(f, refused)
	if err != nil {
		return err
	}
	view, err := s.shoppingView(r)
	if err != nil {
		return err
	}
	view.Raw, view.Problems, view.Notice = f.Values, problems, ""
	return s.refuse(w, r, view)
}

func (s *Server) boughtCloth(w http.ResponseWriter, r *http.Request) error {
	cloth, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	row, err := s.service.Cloth(r.Context(), s.workshop, cloth)
	if err != nil {
		return err
	}
	base, err := s.base(r, "", "shelf")
	if err != nil {
		return err
	}
	bolt := readBought(f, base, row)
	if !f.OK() {
		return s.bought(w, r, f, "", nil)
	}
	taken, err := s.service.BoltNames(r.Context(), s.workshop)
	if err != nil {
		return err
	}
	bolt.Name = workshop.BoltName(row.Name, taken)
	id, settled, err := s.service.Bought(r.Context(), s.workshop, bolt, nil)
	if err == nil {
		s.say(r, page.Arrived(base, row.Name, bolt.Length, settled))
		s.canUndo(r, fmt.Sprintf("/shopping/bolts/%d/undo", id), "back", strconv.FormatInt(f.ID("back"), 10))
	}
	return s.bought(w, r, f, "bought", atRow(err, cloth))
}

// readBought reads what was bought of a cloth.
func readBought(f *form.Form, base page.Base, cloth store.Cloth) store.Bolt {
	field := func(part string) string { return page.BuyField(part, cloth.ID) }
	bolt := store.Bolt{
		ClothID: cloth.ID, Length: f.LengthNeededIn(field("length"), base.Units.System.Long(), batch.BoltLengths, base.Units),
		Lot: f.Name(field("lot")), Place: f.Name(field("place")),
	}
	if f.Text(field("width")) != "" {
		if width := f.LengthNeededIn(field("width"), base.Units.System.Small(), batch.ClothWidths, base.Units); width != cloth.FullWidth {
			bolt.FullWidth = &width
		}
	}
	if f.Text(field("price")) != "" {
		price := f.Money(field("price"))
		bolt.Price = &price
	}
	return bolt
}

// atRow names the fields of a refused bolt as its row on the shopping list does.
func atRow(err error, id int64) error {
	var fault *store.Fault
	if err == nil || !errors.As(store.AsFault(err), &fault) {
		return err
	}
	named := &store.Fault{Kind: fault.Kind}
	for _, p := range fault.Problems {
		if p.Field != "" {
			p.Field = page.BuyField(p.Field, id)
		}
		named.Problems = append(named.Problems, p)
	}
	return named
}

func (s *Server) unboughtCloth(w http.ResponseWriter, r *http.Request) error {
	bolt, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	return s.bought(w, r, f, "unbought", s.service.ReturnBolt(r.Context(), s.workshop, bolt))
}

func (s *Server) boughtNotion(w http.ResponseWriter, r *http.Request) error {
	id, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	base, err := s.base(r, "", "shelf")
	if err != nil {
		return err
	}
	field := func(part string) string { return page.BuyField(part, id) }
	got := workshop.NotionBought{Notion: id, Count: f.Int(field("count"), 1, 1_000_000)}
	if f.Text(field("length")) != "" {
		got.Length = f.LengthNeededIn(field("length"), base.Units.System.Long(), batch.RollLengths, base.Units)
	}
	if f.Text(field("price")) != "" {
		price := f.Money(field("price"))
		got.Price = &price
	}
	if !f.OK() {
		return s.bought(w, r, f, "", nil)
	}
	if err = s.service.ReceiveNotion(r.Context(), s.workshop, got); err == nil {
		s.canUndo(r, fmt.Sprintf("/shopping/notions/%d/undo", id), "back", strconv.FormatInt(f.ID("back"), 10),
			"count", strconv.Itoa(got.Count), "length", strconv.FormatInt(int64(got.Length), 10))
	}
	return s.bought(w, r, f, "bought_notion", err)
}

func (s *Server) unboughtNotion(w http.ResponseWriter, r *http.Request) error {
	id, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	got := workshop.NotionBought{Notion: id, Count: -f.Int("count", 1, 1_000_000), Length: length.Length(f.ID("length"))}
	return s.bought(w, r, f, "unbought", s.service.ReceiveNotion(r.Context(), s.workshop, got))
}

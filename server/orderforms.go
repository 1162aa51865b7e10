package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"yardwright/server/form"
	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func (s *Server) orderFormRoutes(r chi.Router) {
	editsAt(s, r, "/order-forms", editing[*page.OrderForms]{s.orderFormsView, (*page.OrderForms).MakeForm, s.makeOrderForm})
	r.Get("/order-forms/back", s.handle(s.orderFormFile))
	r.Post("/order-forms/back", s.handle(s.keepOrderForm))
	r.Get("/order-forms/back/{id}", s.handle(s.lookAtOrderForm))
	r.Post("/order-forms/back/{id}", s.handle(s.takeOrderForm))
	r.Get("/order-forms/{id}", s.handle(s.showOrderForm))
	r.Get("/order-forms/{id}/order-form.xlsx", s.handle(s.orderFormWorkbook))
}

// formsShown is how many order forms are listed.
const formsShown = 200

func (s *Server) orderFormsView(r *http.Request) (*page.OrderForms, error) {
	base, err := s.base(r, "Order forms for shops", "orders")
	view := &page.OrderForms{Base: base}
	if err != nil {
		return view, err
	}
	if view.Forms, err = s.service.OrderForms(r.Context(), s.workshop, formsShown); err != nil {
		return view, err
	}
	if view.Shops, err = s.shopOptions(r, page.Option{Value: "0", Text: "any shop"}); err != nil {
		return view, err
	}
	ways, err := s.service.Colourways(r.Context(), s.workshop)
	view.Colourways = slices.DeleteFunc(ways, func(w store.Colourway) bool { return w.PutAway })
	return view, err
}

// shopOptions are the customers to choose from, shops alone, after what else can be chosen.
func (s *Server) shopOptions(r *http.Request, first ...page.Option) ([]page.Option, error) {
	customers, err := s.service.Customers(r.Context(), s.workshop)
	for _, c := range customers {
		if c.Kind == "shop" {
			first = append(first, page.Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name})
		}
	}
	return first, err
}

func (s *Server) makeOrderForm(r *http.Request, f *form.Form, _ *page.OrderForms) (saved, error) {
	draft := workshop.OrderFormDraft{LineSheetDraft: lineDraft(f), Customer: f.ID("customer")}
	draft.Colourways = f.IDs("colourways")
	if !f.OK() {
		return saved{}, nil
	}
	made, err := s.service.MakeOrderForm(r.Context(), s.workshop, draft)
	return saved{fmt.Sprintf("/order-forms/%d", made), "order_form"}, err
}

func (s *Server) showOrderForm(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	var view page.OrderForm
	if view.Form, err = s.service.OrderForm(r.Context(), s.workshop, number); err != nil {
		return err
	}
	if view.Base, err = s.base(r, "Order form "+view.Form.Number, "orders"); err != nil {
		return err
	}
	if view.Orders, err = s.service.OrdersOfForm(r.Context(), s.workshop, number); err != nil {
		return err
	}
	return s.show(w, r, view)
}

func (s *Server) orderFormWorkbook(w http.ResponseWriter, r *http.Request) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	kept, err := s.service.OrderForm(r.Context(), s.workshop, number)
	if err != nil {
		return err
	}
	return s.download(w, "order-form-"+kept.Number+".xlsx", func(out io.Writer) error {
		return s.service.OrderFormWorkbook(r.Context(), out, s.workshop, number, paperOf(r))
	})
}

func (s *Server) orderFormFile(w http.ResponseWriter, r *http.Request) error {
	base, err := s.base(r, "An order form came back", "orders")
	if err != nil {
		return err
	}
	return s.show(w, r, page.OrderFormFile{Base: base})
}

func (s *Server) keepOrderForm(w http.ResponseWriter, r *http.Request) error {
	f := &form.Form{}
	var draft int64
	var err error
	err = upload(w, r, f, func(name string, file multipartFile) (err error) {
		draft, err = s.service.KeepOrderForm(r.Context(), s.workshop, name, file)
		return err
	})
	if err == nil && f.OK() {
		http.Redirect(w, r, fmt.Sprintf("/order-forms/back/%d", draft), http.StatusSeeOther)
		return nil
	}
	problems, err := problemsOf(f, err)
	if err != nil {
		return err
	}
	base, err := s.refusedBase(r, "An order form came back", "orders", f, problems)
	if err != nil {
		return err
	}
	return s.refuse(w, r, page.OrderFormFile{Base: base})
}

// formChoice reads what is said of an order form that came back.
func formChoice(values url.Values) (choice workshop.FormChoice, typed bool) {
	f := &form.Form{Values: values}
	choice = workshop.FormChoice{Customer: f.ID("customer"), NewShop: f.Text("customer") == "new", Due: f.Day("due_on"), Checked: f.Bool("checked")}
	return choice, f.OK()
}

func (s *Server) lookAtOrderForm(w http.ResponseWriter, r *http.Request) error {
	return s.showForm(w, r, http.StatusOK, r.URL.Query())
}

func (s *Server) showForm(w http.ResponseWriter, r *http.Request, status int, values url.Values) error {
	number, err := id(r, "id")
	if err != nil {
		return err
	}
	choice, typed := formChoice(values)
	var view page.OrderFormLook
	if view.Preview, err = s.service.LookAtOrderForm(r.Context(), s.workshop, number, choice); err != nil {
		return err
	}
	if view.Base, err = s.base(r, view.Preview.File, "orders"); err != nil {
		return err
	}
	view.Raw = values
	view.Mistakes = view.Preview.Problems
	if !typed {
		view.Mistakes = append(view.Mistakes, store.Problem{Field: "Due", Message: "Write a day, such as 2026-12-24."})
	}
	if len(view.Mistakes) > mostMistakes {
		view.Mistakes, view.Unlisted = view.Mistakes[:mostMistakes], len(view.Mistakes)-mostMistakes
	}
	first := []page.Option{{Value: "0", Text: "choose"}}
	if view.Preview.NewShop {
		first = []page.Option{{Value: "new", Text: "a new shop: " + view.Preview.Shop}}
	}
	if view.Shops, err = s.shopOptions(r, first...); err != nil {
		return err
	}
	s.render(w, r, status, view)
	return nil
}

func (s *Server) takeOrderForm(w http.ResponseWriter, r *http.Request) error {
	number, f, err := idAndForm(w, r)
	if err != nil {
		return err
	}
	choice, typed := formChoice(f.Values)
	if !typed {
		return s.showForm(w, r, http.StatusUnprocessableEntity, f.Values)
	}
	order, err := s.service.TakeOrderForm(r.Context(), s.workshop, number, choice)
	var fault *store.Fault
	switch {
	case err == nil:
		return done(w, r, fmt.Sprintf("/orders/%d", order), "form_taken")
	case errors.As(err, &fault) && fault.Kind == store.Invalid:
		return s.showForm(w, r, http.StatusUnprocessableEntity, f.Values)
	}
	return err
}

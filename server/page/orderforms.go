package page

import (
	"fmt"
	"strconv"
	"time"

	"yardwright/server/store"
	"yardwright/server/workshop"
)

// OrderForms lists the order forms for shops, with the form for a new one.
type OrderForms struct {
	Base
	Forms      []store.OrderForm
	Shops      []Option
	Colourways []store.Colourway
}

func (OrderForms) page() string { return "order_forms" }

// MakeForm is the form that makes an order form.
func (v OrderForms) MakeForm() Form {
	ticks := make([]Field, len(v.Colourways))
	for i, way := range v.Colourways {
		ticks[i] = v.TickOf("colourways", strconv.FormatInt(way.ID, 10), way.StyleName+", "+way.Name, true)
	}
	return v.Base.Form("/order-forms", "/order-forms", 0, []Field{
		v.Choose("customer", "For", "", "0", v.Shops), v.TextField("title", "Title", "such as Spring line", ""), v.DayField("order_by", "Order by", "", time.Time{}),
		v.TextField("contact", "Where to send it back", "such as your e-mail address", ""), v.TextField("note", "Note to the shop", "", ""),
	}).With("colourways", [][]Field{ticks})
}

// OrderForm is one order form and what came in on it.
type OrderForm struct {
	Base
	Form   store.OrderForm
	Orders []store.Order
}

func (OrderForm) page() string { return "order_form" }

// Sizes counts the sizes that a form offers.
func (f OrderForm) Sizes() (n int) {
	for _, item := range f.Form.Form.Items {
		n += len(item.Sizes)
	}
	return n
}

// OrderFormFile is the form for a file that a shop sent back.
type OrderFormFile struct{ Base }

func (OrderFormFile) page() string { return "order_form_file" }

// OrderFormLook shows what would come of an order form before anything is taken.
type OrderFormLook struct {
	Base
	Preview  workshop.OrderFormPreview
	Shops    []Option
	Mistakes []store.Problem
	// Unlisted counts mistakes that are not shown.
	Unlisted int
}

func (OrderFormLook) page() string { return "order_form_look" }

// AskForm asks whose the order is, and when it is due.
func (v OrderFormLook) AskForm() Form {
	place := fmt.Sprintf("/order-forms/back/%d", v.Preview.ID)
	return v.Base.Form(place, place, 0, []Field{v.Choose("customer", "Shop", "", v.Preview.Customer, v.Shops), v.DayField("due_on", "Due", "", v.Preview.Due)})
}

// orderFormPages names the pages of order forms with the parts that their templates use.
var orderFormPages = map[string][]string{
	"order_forms": nil, "order_form": nil, "order_form_file": nil, "order_form_look": nil,
}

func init() {
	for name, parts := range orderFormPages {
		pages[name] = parts
	}
}

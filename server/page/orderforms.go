package page

import (
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

// orderFormPages names the pages of order forms with the parts that their templates use.
var orderFormPages = map[string][]string{
	"order_forms": nil, "order_form": nil, "order_form_file": nil, "order_form_look": nil,
}

func init() {
	for name, parts := range orderFormPages {
		pages[name] = parts
	}
}

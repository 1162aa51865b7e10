package store

import (
	"context"
	"encoding/json"
	"time"

	"yardwright/costing/money"
)

// OrderForm is a form that a shop was sent, with the prices of its day.
type OrderForm struct {
	ID     int64
	Number string
	// CustomerID is the shop that it is for; nil if any shop may fill it in.
	CustomerID   *int64
	CustomerName string
	IssuedOn     time.Time
	Form         FormContent
	// Orders is how many orders came in on it.
	Orders int
}

// FormContent is what an order form offers. It never changes.
type FormContent struct {
	Title, Contact, Note, Terms string
	Currency                    string
	// OrderBy is nil if there is no last day.
	OrderBy *time.Time
	Minimum money.Decimal
	// Items are numbered from 1 on the form.
	Items []FormItem
}

// FormItem is one colourway on an order form.
type FormItem struct {
	Colourway            int64
	Style, Name, Content string
	Sizes                []FormSize
}

// FormSize is one size of an item with its prices.
type FormSize struct {
	Size              string
	Wholesale, Retail money.Decimal
}

const formColumns = `f.id, f.number, f.customer_id, coalesce(c.name, '') AS customer_name, f.issued_on, f.form,
	(SELECT count(*) FROM orders o WHERE o.order_form_id = f.id)::integer AS orders`

// OrderForms lists the newest order forms.
func (s *Store) OrderForms(ctx context.Context, workshop int64, most int) ([]OrderForm, error) {
	return list[OrderForm](ctx, s.db, `SELECT `+formColumns+` FROM order_forms f LEFT JOIN customers c ON c.id = f.customer_id
		WHERE f.workshop_id = @workshop ORDER BY f.id DESC LIMIT @most`, args{"workshop": workshop, "most": most})
}

// OrderForm returns one order form.
func (s *Store) OrderForm(ctx context.Context, workshop, id int64) (OrderForm, error) {
	return one[OrderForm](ctx, s.db, "order form", `SELECT `+formColumns+` FROM order_forms f LEFT JOIN customers c ON c.id = f.customer_id
		WHERE f.workshop_id = @workshop AND f.id = @id`, args{"workshop": workshop, "id": id})
}

// OrderFormNumbered returns the order form of a number. Locked, it is so for the rest of the
// transaction, so that two who take it in at once take turns.
func (s *Store) OrderFormNumbered(ctx context.Context, workshop int64, number string, lock bool) (OrderForm, error) {
	sql := `SELECT ` + formColumns + ` FROM order_forms f LEFT JOIN customers c ON c.id = f.customer_id WHERE f.workshop_id = @workshop AND f.number = @number`
	if lock {
		sql += ` FOR NO KEY UPDATE OF f`
	}
	return one[OrderForm](ctx, s.db, "order form", sql, args{"workshop": workshop, "number": number})
}

// AddOrderForm stores a form for good; it gets the next number that is free in its year.
func (s *Store) AddOrderForm(ctx context.Context, workshop int64, f OrderForm) (int64, error) {
	content, err := json.Marshal(f.Form)
	if err != nil {
		return 0, err
	}
	return scalar[int64](ctx, s.db, `
		INSERT INTO order_forms (workshop_id, number, customer_id, issued_on, form)
		SELECT @workshop, @prefix || to_char(1 + coalesce(max(substr(f.number, length(@prefix) + 1)::integer), 0), 'FM9000'),
			(SELECT c.id FROM customers c WHERE c.id = @customer AND c.workshop_id = @workshop), @issued_on, @form
		FROM order_forms f WHERE f.workshop_id = @workshop AND starts_with(f.number, @prefix) AND substr(f.number, length(@prefix) + 1) ~ '^[0-9]{1,6}$' RETURNING id`,
		args{"workshop": workshop, "prefix": "F" + f.IssuedOn.Format("2006") + "-", "customer": f.CustomerID, "issued_on": f.IssuedOn, "form": content})
}

// OrdersOfForm lists the orders that came in on a form, oldest first, whole.
func (s *Store) OrdersOfForm(ctx context.Context, workshop, form int64) ([]Order, error) {
	orders, err := list[Order](ctx, s.db, `SELECT `+orderColumns+` FROM orders o JOIN customers c ON c.id = o.customer_id
		WHERE o.workshop_id = @workshop AND o.order_form_id = @form ORDER BY o.id`, args{"workshop": workshop, "form": form})
	if err != nil || len(orders) == 0 {
		return nil, err
	}
	return orders, s.fillLines(ctx, orders)
}

// SetOrderForm notes on which form an order came in.
func (s *Store) SetOrderForm(ctx context.Context, workshop, order, form int64) error {
	return changed(ctx, s.db, "order", `UPDATE orders SET order_form_id = f.id FROM order_forms f
		WHERE orders.workshop_id = @workshop AND orders.id = @order AND f.id = @form AND f.workshop_id = @workshop`, args{"workshop": workshop, "order": order, "form": form})
}

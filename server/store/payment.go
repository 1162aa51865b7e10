package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"yardwright/costing/money"
)

// Ways of paying.
var PaidHow = []string{"cash", "card", "transfer", "other"}

// Payment is money taken for an order; negative if it was given back.
type Payment struct {
	ID     int64
	PaidOn time.Time
	Amount money.Decimal
	How    string
}

// OrderMoney is what is agreed and paid for an order.
type OrderMoney struct {
	// Price is what the customer pays in all; nil if nothing was agreed.
	Price    *money.Decimal
	Payments []Payment
}

// OrderMoney returns what is agreed and paid for an order.
func (s *Store) OrderMoney(ctx context.Context, workshop, order int64) (m OrderMoney, err error) {
	type row struct{ Price *money.Decimal }
	found, err := one[row](ctx, s.db, "order", `SELECT price FROM orders WHERE workshop_id = @workshop AND id = @order`, args{"workshop": workshop, "order": order})
	if err != nil {
		return m, err
	}
	m.Price = found.Price
	m.Payments, err = list[Payment](ctx, s.db, `SELECT id, paid_on, amount, how FROM payments WHERE order_id = @order AND removed_at IS NULL ORDER BY paid_on, id`, args{"order": order})
	return m, err
}

// AgreeOrderPrice is SetOrderPrice for an order that was looked at in a version.
func (s *Store) AgreeOrderPrice(ctx context.Context, workshop, order int64, version int, price *money.Decimal) error {
	return changed(ctx, s.db, "order", `UPDATE orders SET price = @price, version = version + 1 WHERE workshop_id = @workshop AND id = @order AND version = @version`,
		args{"workshop": workshop, "order": order, "version": version, "price": price})
}

// SetOrderPrice agrees on what the customer pays in all; nil is nothing yet.
func (s *Store) SetOrderPrice(ctx context.Context, workshop, order int64, price *money.Decimal) error {
	return changed(ctx, s.db, "order", `UPDATE orders SET price = @price WHERE workshop_id = @workshop AND id = @order`, args{"workshop": workshop, "order": order, "price": price})
}

// AddPayment notes money that was taken or given back.
func (s *Store) AddPayment(ctx context.Context, workshop, order int64, p Payment) (int64, error) {
	id, err := scalar[int64](ctx, s.db, `INSERT INTO payments (order_id, paid_on, amount, how)
		SELECT o.id, @paid_on, @amount, @how FROM orders o WHERE o.id = @order AND o.workshop_id = @workshop RETURNING id`,
		args{"workshop": workshop, "order": order, "paid_on": p.PaidOn, "amount": p.Amount, "how": p.How})
	return id, noRowMissing(err, "order")
}

// RemovePayment takes a payment out of an order, or puts it back.
func (s *Store) RemovePayment(ctx context.Context, workshop, order, id int64, back bool) error {
	return changed(ctx, s.db, "payment", `UPDATE payments p SET removed_at = CASE WHEN @back THEN NULL ELSE now() END
		FROM orders o WHERE o.id = p.order_id AND o.workshop_id = @workshop AND o.id = @order AND p.id = @id AND (p.removed_at IS NOT NULL) = @back`,
		args{"workshop": workshop, "order": order, "id": id, "back": back})
}

// OrderSearch says which orders are looked for.
type OrderSearch struct {
	// State as in Orders. Text is a part of a number or a customer's name; or words, each of which
	// is a size or a part of a number, a customer's name, a style or a colourway: an order is found
	// if one of its lines has all of them.
	State, Text string
	// Most is how many are returned, after leaving out Skip of them.
	Most, Skip int
}

// FindOrders returns one page of the orders that are looked for, first due first, without
// their lines, and how many there are in all.
func (s *Store) FindOrders(ctx context.Context, workshop int64, search OrderSearch) (orders []Order, all int, err error) {
	where := `o.workshop_id = @workshop AND (@state = '' OR o.state = @state OR (@state = 'due' AND o.state NOT IN ('delivered', 'cancelled')))`
	named := args{"workshop": workshop, "state": search.State}
	where += searchText(search.Text, named)
	if all, err = scalar[int](ctx, s.db, `SELECT count(*) FROM orders o JOIN customers c ON c.id = o.customer_id WHERE `+where, named); err != nil {
		return nil, 0, err
	}
	named["most"], named["skip"] = search.Most, search.Skip
	orders, err = list[Order](ctx, s.db, `SELECT `+orderColumns+` FROM orders o JOIN customers c ON c.id = o.customer_id WHERE `+where+`
		ORDER BY o.due_on, o.number LIMIT @most OFFSET @skip`, named)
	return orders, all, err
}

// mostWords is how many words of a search are looked at.
const mostWords = 6

// searchText writes the condition for the text that is looked for, and names its values.
func searchText(text string, named args) string {
	words := strings.Fields(text)
	if len(words) == 0 {
		return ""
	}
	like := func(text string) string {
		return "%" + strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(text) + "%"
	}
	named["text"] = like(strings.Join(words, " "))
	// With one word, what an order's head has needs no look at its lines.
	head := ""
	if len(words) > 1 {
		head = ` OR oc.name ILIKE @%[1]s OR oo.number ILIKE @%[1]s`
	}
	var lines []string
	for i, word := range words[:min(mostWords, len(words))] {
		part, size := fmt.Sprintf("word_%d", i), fmt.Sprintf("size_%d", i)
		named[part], named[size] = like(word), word
		lines = append(lines, fmt.Sprintf(`(w.name ILIKE @%[1]s OR s.name ILIKE @%[1]s OR lower(l.size) = lower(@%[2]s)`+head+`)`, part, size))
	}
	return ` AND (o.number ILIKE @text OR c.name ILIKE @text OR o.id IN (SELECT l.order_id FROM order_lines l JOIN orders oo ON oo.id = l.order_id JOIN customers oc ON oc.id = oo.customer_id
		JOIN colourways w ON w.id = l.colourway_id JOIN styles s ON s.id = w.style_id WHERE w.workshop_id = @workshop AND ` + strings.Join(lines, " AND ") + `))`
}

// IssuedPrices returns the newest issued cost sheets of every colourway, as they were stored.
func (s *Store) IssuedPrices(ctx context.Context, workshop int64) (map[int64]json.RawMessage, error) {
	type row struct {
		ColourwayID int64
		Sheets      json.RawMessage
	}
	rows, err := list[row](ctx, s.db, `SELECT DISTINCT ON (colourway_id) colourway_id, sheets FROM cost_snapshots
		WHERE workshop_id = @workshop AND colourway_id IS NOT NULL ORDER BY colourway_id, id DESC`, args{"workshop": workshop})
	issued := map[int64]json.RawMessage{}
	for _, r := range rows {
		issued[r.ColourwayID] = r.Sheets
	}
	return issued, err
}

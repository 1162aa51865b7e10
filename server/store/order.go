package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
)

// Customer is who orders.
type Customer struct {
	ID            int64
	Name          string
	Kind          string
	Contact, Note string
	Version       int
}

// Customers lists the customers by name.
func (s *Store) Customers(ctx context.Context, workshop int64) ([]Customer, error) {
	return list[Customer](ctx, s.db, `SELECT id, name, kind, contact, note, version FROM customers WHERE workshop_id = @workshop ORDER BY name`, args{"workshop": workshop})
}

// AddCustomer stores a new customer.
func (s *Store) AddCustomer(ctx context.Context, workshop int64, c Customer) (int64, error) {
	return scalar[int64](ctx, s.db, `
		INSERT INTO customers (workshop_id, name, kind, contact, note) VALUES (@workshop, @name, @kind, @contact, @note) RETURNING id`,
		args{"workshop": workshop, "name": c.Name, "kind": c.Kind, "contact": c.Contact, "note": c.Note})
}

// Order is an order with its lines, as stored.
type Order struct {
	ID           int64
	CustomerID   int64
	CustomerName string
	CustomerKind string
	Number       string
	TakenOn      time.Time
	DueOn        time.Time
	State        string
	Note         string
	Version      int
	Garments     int
	Lines        []OrderLine `db:"-"`
}

// OrderLine is so many of one colourway and size.
type OrderLine struct {
	ID, OrderID   int64
	ColourwayID   int64
	ColourwayName string
	StyleName     string
	Size          string
	Quantity      int
	// BatchID is the batch that cuts the line; nil if none does yet.
	BatchID *int64
}

const orderColumns = `o.id, o.customer_id, c.name AS customer_name, c.kind AS customer_kind, o.number, o.taken_on, o.due_on, o.state, o.note, o.version,
	coalesce((SELECT sum(l.quantity) FROM order_lines l WHERE l.order_id = o.id), 0)::integer AS garments`

// Due is the state to ask for orders that still have to be made or handed over.
const Due = "due"

// Orders lists orders without their lines, first due first; an empty state lists all.
func (s *Store) Orders(ctx context.Context, workshop int64, state string, most int) ([]Order, error) {
	return list[Order](ctx, s.db, `SELECT `+orderColumns+` FROM orders o JOIN customers c ON c.id = o.customer_id
		WHERE o.workshop_id = @workshop AND (@state = '' OR o.state = @state OR (@state = 'due' AND o.state IN ('open', 'in a batch', 'being cut', 'being sewn', 'made'))) ORDER BY o.due_on, o.number LIMIT @most`,
		args{"workshop": workshop, "state": state, "most": most})
}

// Order returns one order with its lines.
func (s *Store) Order(ctx context.Context, workshop, id int64) (Order, error) {
	order, err := one[Order](ctx, s.db, "order", `SELECT `+orderColumns+` FROM orders o JOIN customers c ON c.id = o.customer_id
		WHERE o.workshop_id = @workshop AND o.id = @id`, args{"workshop": workshop, "id": id})
	if err != nil {
		return Order{}, err
	}
	order.Lines, err = s.orderLines(ctx, `l.order_id = @id`, args{"id": id})
	return order, err
}

// orderLines reads lines in the order in which they were written.
func (s *Store) orderLines(ctx context.Context, where string, named args) ([]OrderLine, error) {
	return list[OrderLine](ctx, s.db, `
		SELECT l.id, l.order_id, l.colourway_id, w.name AS colourway_name, s.name AS style_name, l.size, l.quantity, b.batch_id
		FROM order_lines l JOIN colourways w ON w.id = l.colourway_id JOIN styles s ON s.id = w.style_id
		LEFT JOIN batch_lines b ON b.order_line_id = l.id
		WHERE `+where+` ORDER BY l.id`, named)
}

// OpenLines lists the lines of open orders that no batch cuts yet.
func (s *Store) OpenLines(ctx context.Context, workshop int64) ([]OrderLine, error) {
	return s.orderLines(ctx, `b.batch_id IS NULL AND l.order_id IN (SELECT id FROM orders WHERE workshop_id = @workshop AND state = 'open')`, args{"workshop": workshop})
}

// AddOrder stores a new order with its lines.
func (s *Store) AddOrder(ctx context.Context, workshop int64, o Order) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO orders (workshop_id, customer_id, number, taken_on, due_on, note)
			SELECT @workshop, c.id, @number, @taken_on, @due_on, @note FROM customers c WHERE c.id = @customer AND c.workshop_id = @workshop RETURNING id`,
			args{"workshop": workshop, "customer": o.CustomerID, "number": o.Number, "taken_on": o.TakenOn, "due_on": o.DueOn, "note": o.Note})
		if err != nil {
			return noRow(err, Wrong("customer", "Choose a customer."))
		}
		return s.writeLines(ctx, workshop, id, o.Lines)
	})
	return id, err
}

// SaveOrder changes an order and its lines if nobody else has in the meantime. A line that a
// batch cuts can't be changed any more.
func (s *Store) SaveOrder(ctx context.Context, workshop int64, o Order) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "order", `
			UPDATE orders SET customer_id = @customer, number = @number, due_on = @due_on, note = @note, version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND version = @version`,
			args{"workshop": workshop, "id": o.ID, "version": o.Version, "customer": o.CustomerID, "number": o.Number, "due_on": o.DueOn, "note": o.Note})
		if err != nil {
			return err
		}
		if _, err := s.db.Exec(ctx, `DELETE FROM order_lines WHERE order_id = @id`, args{"id": o.ID}); err != nil {
			return fault(err)
		}
		return s.writeLines(ctx, workshop, o.ID, o.Lines)
	})
}

func (s *Store) writeLines(ctx context.Context, workshop, order int64, lines []OrderLine) error {
	queue := &pgx.Batch{}
	for _, line := range lines {
		queue.Queue(`INSERT INTO order_lines (order_id, colourway_id, size, quantity)
			SELECT @order, w.id, @size, @quantity FROM colourways w WHERE w.id = @colourway AND w.workshop_id = @workshop`,
			args{"workshop": workshop, "order": order, "colourway": line.ColourwayID, "size": line.Size, "quantity": line.Quantity})
	}
	return sendAll(ctx, s.db, queue)
}

// SetOrderState moves an order on if nobody else has in the meantime.
func (s *Store) SetOrderState(ctx context.Context, workshop, id int64, version int, state string) error {
	return changed(ctx, s.db, "order", `UPDATE orders SET state = @state, version = version + 1 WHERE workshop_id = @workshop AND id = @id AND version = @version`,
		args{"workshop": workshop, "id": id, "version": version, "state": state})
}

// LastOrderNumber returns the largest number after a prefix such as "2026-"; 0 if there is
// none.
func (s *Store) LastOrderNumber(ctx context.Context, workshop int64, prefix string) (int, error) {
	return scalar[int](ctx, s.db, `
		SELECT coalesce(max(substr(number, length(@prefix) + 1)::integer), 0) FROM orders
		WHERE workshop_id = @workshop AND starts_with(number, @prefix) AND substr(number, length(@prefix) + 1) ~ '^[0-9]{1,6}$'`,
		args{"workshop": workshop, "prefix": prefix})
}

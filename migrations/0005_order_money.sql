-- +goose Up

ALTER TABLE orders ADD COLUMN price numeric(18,6) CONSTRAINT orders_price_not_negative CHECK (price >= 0);
COMMENT ON COLUMN orders.price IS 'What the customer pays in all, as agreed; null if nothing was agreed yet.';

CREATE TABLE payments (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    order_id   bigint NOT NULL REFERENCES orders ON DELETE CASCADE,
    paid_on    date NOT NULL,
    amount     numeric(18,6) NOT NULL CONSTRAINT payments_amount_not_zero CHECK (amount <> 0),
    how        text NOT NULL CONSTRAINT payments_how_known CHECK (how IN ('cash', 'card', 'transfer', 'other')),
    removed_at timestamptz
);
COMMENT ON TABLE payments IS 'Money taken for an order: the deposit, the balance; negative where it was given back.';
CREATE INDEX payments_by_order ON payments (order_id) WHERE removed_at IS NULL;

-- Lists stay quick with many thousand orders.
CREATE INDEX order_lines_by_colourway ON order_lines (colourway_id);
CREATE INDEX orders_by_day ON orders (workshop_id, due_on, number);
CREATE INDEX orders_by_customer ON orders (customer_id);
CREATE INDEX batch_lines_by_line ON batch_lines (order_line_id, batch_id);
CREATE INDEX cost_snapshots_by_colourway ON cost_snapshots (colourway_id, id DESC);

-- What the page Today needs of each plan, without reading the whole of it.
ALTER TABLE batch_plans
    ADD COLUMN worked bigint GENERATED ALWAYS AS ((plan ->> 'Worked')::bigint) STORED,
    ADD COLUMN shopping jsonb GENERATED ALWAYS AS (plan -> 'Shopping') STORED;
COMMENT ON COLUMN batch_plans.worked IS 'All work of the plan at the workroom''s own pace, in nanoseconds.';

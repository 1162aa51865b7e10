-- +goose Up

CREATE TABLE order_forms (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    workshop_id bigint NOT NULL REFERENCES workshops ON DELETE CASCADE,
    number      text NOT NULL CONSTRAINT order_forms_number_given CHECK (btrim(number) <> ''),
    CONSTRAINT order_forms_number_line CHECK (is_line(number, 80)),
    customer_id bigint REFERENCES customers ON DELETE SET NULL,
    issued_on   date NOT NULL,
    form        jsonb NOT NULL CONSTRAINT order_forms_form_object CHECK (jsonb_typeof(form) = 'object'),
    created_at  timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT order_forms_number_once UNIQUE (workshop_id, number)
);
COMMENT ON TABLE order_forms IS 'Order forms that shops were sent, with the prices of their day.';
COMMENT ON COLUMN order_forms.customer_id IS 'The shop that the form is for; null if any shop may fill it in.';

ALTER TABLE orders ADD COLUMN order_form_id bigint REFERENCES order_forms ON DELETE SET NULL;
COMMENT ON COLUMN orders.order_form_id IS 'The form that the order came in on, so that the same form is not taken twice.';
CREATE INDEX orders_by_form ON orders (order_form_id) WHERE order_form_id IS NOT NULL;

ALTER TABLE import_drafts DROP CONSTRAINT import_drafts_kind_known;
ALTER TABLE import_drafts ADD CONSTRAINT import_drafts_kind_known CHECK (kind IN ('orders', 'cloths', 'styles', 'prices', 'order form'));

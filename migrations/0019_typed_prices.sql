-- +goose Up

ALTER TABLE colourways ADD CONSTRAINT colourways_with_style UNIQUE (id, style_id);

-- What the maker asks, in place of what is worked out.
CREATE TABLE typed_prices (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    style_id     bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    channel_id   bigint NOT NULL REFERENCES channels ON DELETE CASCADE,
    colourway_id bigint,
    size         text NOT NULL DEFAULT '',
    price        numeric(18,6) NOT NULL CONSTRAINT typed_prices_price_positive CHECK (price > 0),
    CONSTRAINT typed_prices_colourway_of_style FOREIGN KEY (colourway_id, style_id) REFERENCES colourways (id, style_id) ON DELETE CASCADE
);
COMMENT ON TABLE typed_prices IS 'Prices that the maker typed. They stand until they are changed.';
COMMENT ON COLUMN typed_prices.colourway_id IS 'Null: every colourway of the style.';
COMMENT ON COLUMN typed_prices.size IS 'Name of a size; empty: all sizes.';
COMMENT ON COLUMN typed_prices.price IS 'On the tag, in the currency of the workshop.';
CREATE UNIQUE INDEX typed_prices_once ON typed_prices (style_id, channel_id, coalesce(colourway_id, 0), size);
CREATE INDEX typed_prices_by_channel ON typed_prices (channel_id);

-- +goose Up

-- Which sizes a style is offered in, and in what mix a usual batch makes them.
CREATE TABLE style_sizes (
    style_id bigint NOT NULL REFERENCES styles ON DELETE CASCADE,
    size     text NOT NULL CONSTRAINT style_sizes_size_given CHECK (btrim(size) <> ''),
    offered  boolean NOT NULL DEFAULT true,
    share    integer CONSTRAINT style_sizes_share_range CHECK (share BETWEEN 0 AND 10000),
    PRIMARY KEY (style_id, size)
);
COMMENT ON TABLE style_sizes IS 'What the maker said of the sizes of a style. A size without a row is offered.';
COMMENT ON COLUMN style_sizes.share IS 'Weight of the size in a usual batch, set by the maker; with none set, the mix follows the orders.';

ALTER TABLE cost_settings
    ADD mix_months integer NOT NULL DEFAULT 12 CONSTRAINT cost_settings_mix_months_range CHECK (mix_months BETWEEN 1 AND 120);
COMMENT ON COLUMN cost_settings.mix_months IS 'The mix of sizes of a usual batch follows the orders of so many months.';

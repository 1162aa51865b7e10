-- +goose Up

-- Bounds of our own that keep slips of the hand out. They hold for what is written from now on
-- (NOT VALID): what a workshop stored before stays readable as it is.

-- +goose StatementBegin
CREATE FUNCTION is_line(said text, most integer) RETURNS boolean LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
    SELECT char_length(said) <= most AND said !~ '[\x01-\x1f\x7f]'
$$;
-- +goose StatementEnd
COMMENT ON FUNCTION is_line IS 'One line of at most so many letters, without control characters.';

ALTER TABLE workshops ADD CONSTRAINT workshops_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE channels ADD CONSTRAINT channels_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE size_charts ADD CONSTRAINT size_charts_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE sizes ADD CONSTRAINT sizes_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE cloths
    ADD CONSTRAINT cloths_name_line CHECK (is_line(name, 80)) NOT VALID,
    ADD CONSTRAINT cloths_content_line CHECK (is_line(content, 200)) NOT VALID,
    ADD CONSTRAINT cloths_care_line CHECK (is_line(care, 200)) NOT VALID;
ALTER TABLE bolts
    ADD CONSTRAINT bolts_name_line CHECK (is_line(name, 80)) NOT VALID,
    ADD CONSTRAINT bolts_lot_line CHECK (is_line(lot, 80)) NOT VALID,
    ADD CONSTRAINT bolts_place_line CHECK (is_line(place, 80)) NOT VALID;
ALTER TABLE notions ADD CONSTRAINT notions_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE styles
    ADD CONSTRAINT styles_name_line CHECK (is_line(name, 80)) NOT VALID,
    ADD CONSTRAINT styles_note_length CHECK (char_length(note) <= 1000) NOT VALID;
ALTER TABLE style_pieces
    ADD CONSTRAINT style_pieces_name_line CHECK (is_line(name, 80)) NOT VALID,
    ADD CONSTRAINT style_pieces_role_line CHECK (is_line(role, 80)) NOT VALID,
    ADD CONSTRAINT style_pieces_note_length CHECK (char_length(note) <= 1000) NOT VALID;
ALTER TABLE style_notions ADD CONSTRAINT style_notions_need_line CHECK (is_line(need, 80)) NOT VALID;
ALTER TABLE style_operations ADD CONSTRAINT style_operations_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE style_seams ADD CONSTRAINT style_seams_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE style_allowances ADD CONSTRAINT style_allowances_range
    CHECK (length BETWEEN -160000000 AND 160000000 AND thousandths IS NULL OR thousandths BETWEEN -1000000 AND 1000000 AND length IS NULL) NOT VALID;
ALTER TABLE colourways ADD CONSTRAINT colourways_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE customers
    ADD CONSTRAINT customers_name_line CHECK (is_line(name, 80)) NOT VALID,
    ADD CONSTRAINT customers_contact_line CHECK (is_line(contact, 200)) NOT VALID,
    ADD CONSTRAINT customers_note_length CHECK (char_length(note) <= 1000) NOT VALID;
ALTER TABLE orders
    ADD CONSTRAINT orders_number_line CHECK (is_line(number, 80)) NOT VALID,
    ADD CONSTRAINT orders_note_length CHECK (char_length(note) <= 1000) NOT VALID;
ALTER TABLE batches ADD CONSTRAINT batches_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE year_costs ADD CONSTRAINT year_costs_name_line CHECK (is_line(name, 80)) NOT VALID;
ALTER TABLE time_studies ADD CONSTRAINT time_studies_note_length CHECK (char_length(note) <= 1000) NOT VALID;
ALTER TABLE bolt_moves ADD CONSTRAINT bolt_moves_note_line CHECK (is_line(note, 200)) NOT VALID;

-- Lengths are in 1/8000 mm: 1 cm is 80,000.
ALTER TABLE cloths
    ADD CONSTRAINT cloths_width_range CHECK (full_width BETWEEN 80000 AND 80000000) NOT VALID,
    ADD CONSTRAINT cloths_repeat_length_range CHECK (repeat_length <= 80000000) NOT VALID,
    ADD CONSTRAINT cloths_repeat_width_range CHECK (repeat_width <= 80000000) NOT VALID;
ALTER TABLE bolts
    ADD CONSTRAINT bolts_width_range CHECK (full_width BETWEEN 80000 AND 80000000) NOT VALID,
    ADD CONSTRAINT bolts_length_range CHECK (length <= 80000000000) NOT VALID;
ALTER TABLE notions ADD CONSTRAINT notions_buy_length_range CHECK (buy_length <= 800000000000) NOT VALID;
ALTER TABLE notion_rolls ADD CONSTRAINT notion_rolls_length_range CHECK (length <= 800000000000) NOT VALID;
ALTER TABLE workshops
    ADD CONSTRAINT workshops_table_range CHECK (table_length BETWEEN 1600000 AND 800000000) NOT VALID,
    ADD CONSTRAINT workshops_end_loss_range CHECK (end_loss <= 8000000) NOT VALID,
    ADD CONSTRAINT workshops_room_on_table CHECK (table_length - 2 * end_loss >= 800000) NOT VALID,
    ADD CONSTRAINT workshops_gap_range CHECK (gap <= 1600000) NOT VALID,
    ADD CONSTRAINT workshops_keep_range CHECK (keep_length <= 800000000) NOT VALID,
    ADD CONSTRAINT workshops_buy_step_range CHECK (buy_step BETWEEN 8000 AND 800000000) NOT VALID;

-- Minutes per metre that were typed per yard come back as they were typed.
ALTER TABLE workshops ALTER COLUMN spread_minutes TYPE numeric(12,6), ALTER COLUMN cut_minutes TYPE numeric(12,6);
